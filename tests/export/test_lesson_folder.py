"""The folder of a lesson: whole or not there, and made anew from its own starter."""

from __future__ import annotations

import datetime
import re
import shutil
import xml.etree.ElementTree as ElementTree
from dataclasses import replace
from html import escape
from pathlib import Path

import pytest
from PIL import Image

from lobewright import cli
from lobewright.design.files import read
from lobewright.errors import ConvergenceFault, DesignFault, FileFault, LobewrightError
from lobewright.lesson_folder import STARTER, TEACHER, write_lesson
from lobewright.lesson_words import asked_lesson, day, lesson_text, narrowed, students
from lobewright.own_files import NOTE
from lobewright.report.results_json import read_results
from lobewright.teach.cautions import cautions
from lobewright.teach.language import Language
from lobewright.teach.lesson_file import Lesson, Part, plain_lesson, read_lesson
from lobewright.teach.scenes import SCENES

EXAMPLE = Path(__file__).parents[2] / "examples" / "azimuth_belt.toml"


def copied(folder: Path) -> Path:
    """The example and the workshop file that it names, in a folder of their own."""
    shutil.copy(EXAMPLE.parent / "workshop.toml", folder)
    return Path(shutil.copy(EXAMPLE, folder / "mirror.toml"))


WRITTEN = """
design = "mirror.toml"
language = "de"
title = "Gezählt <b>"

[[part]]
text = "before.md"

[[part]]
scene = "count"
stills = ["tooth_3"]
stops = ["tooth_3"]
stop_seconds = 7
"""


@pytest.fixture
def lesson(tmp_path: Path) -> Lesson:
    copied(tmp_path)
    (tmp_path / "before.md").write_text("# Vorher\n\n![Der dritte Zahn](count/tooth_3)\n", encoding="utf-8")
    (tmp_path / "lesson.toml").write_text(WRITTEN, encoding="utf-8")
    return read_lesson(tmp_path / "lesson.toml")


@pytest.mark.parametrize(
    "trouble", [ConvergenceFault("the ring did not settle"), ZeroDivisionError("by zero"), TypeError("nothing")]
)
def test_a_scene_that_cannot_be_computed_is_told_and_the_others_are_there(
    tmp_path: Path, lesson: Lesson, monkeypatch: pytest.MonkeyPatch, trouble: Exception
) -> None:
    def fails(*_: object) -> None:
        raise trouble

    monkeypatch.setitem(SCENES, "members", fails)
    both = replace(lesson, parts=(*lesson.parts, Part(scene="members")), paper=False, stills=False)
    made = write_lesson(read(lesson.design), both, tmp_path / "out")
    ((title, why),) = made.not_shown
    assert title == Language("de").say("members", "title") and str(trouble) in why
    assert ("Fehler des Programms" in why) == (not isinstance(trouble, LobewrightError))
    page = (tmp_path / "out" / "lesson.html").read_text("utf-8")
    assert escape(why) in re.sub(r'<span lang="en">|</span>', "", page) and 'id="scene-2"' in page


def test_a_class_reads_all_cautions_before_the_first_picture(tmp_path: Path, lesson: Lesson) -> None:
    made = write_lesson(read(lesson.design), replace(lesson, paper=False, stills=False), tmp_path / "out")
    said = cautions(made.found, Language("de"))
    assert any("Sonnenlicht" in line for line in said) and any("fallen" in line for line in said)
    for name, first in (("lesson.html", "Bevor jemand dieses Getriebe anfasst"), ("scenes/count.html", "Gib acht")):
        page = (tmp_path / "out" / name).read_text("utf-8")
        block = page[page.index(first) : page.index("<lobewright-scene")]
        assert all(escape(line) in block for line in said)
        assert all(page.count(escape(line)) == 1 for line in said), "said once, not again beside the scene"
        shown = block[: block.index("<details")]
        assert escape(said[0]) in shown and "Quetschstellen" in shown, (
            "the most serious one, and that of the scenes, not folded"
        )
        assert sum(escape(line) in shown for line in said) <= 3 < len(said)
        assert (
            f"„{made.found.design.name}“, ein Wellgetriebe: ein Zahnriemen mit 100 Zähnen in Ringen mit 102 und 100"
            in page
        )
        assert f'<span lang="">{escape(made.found.design.about)}</span>' in page


class Stop(Exception):
    """Somebody stops it."""


def test_a_lesson_holds_what_its_file_asks_for(tmp_path: Path, lesson: Lesson) -> None:
    out = tmp_path / "out"
    told: list[float] = []
    made = write_lesson(read(lesson.design), replace(lesson, paper=False), out, lambda word, share: told.append(share))
    assert sorted(path.relative_to(out).as_posix() for path in out.rglob("*") if path.is_file()) == sorted(
        [*made.files, "results.json", NOTE]
    )
    page = (out / "lesson.html").read_text("utf-8")
    assert '<html lang="de">' in page and "<h2>Vorher</h2>" in page and "data:image/svg+xml;base64," in page
    assert "Gezählt &lt;b&gt;" in page and "<b>" not in page
    assert [path.name for path in sorted((out / "stills").iterdir())] == [
        "count_turn_tooth_3.png",
        "count_turn_tooth_3.svg",
    ]
    root = ElementTree.fromstring((out / "stills" / "count_turn_tooth_3.svg").read_text("utf-8"))
    words = [text.text or "" for text in root.iter("{http://www.w3.org/2000/svg}text")]
    assert any("−0,21°" in line for line in words), "the figure of the moment, as German writes it"
    with Image.open(out / "stills" / "count_turn_tooth_3.png") as image:
        assert (image.size, image.mode) == ((1920, 1080), "RGBA")
    assert (out / "captions" / "count_turn.vtt").read_text("utf-8").startswith("WEBVTT")
    assert read_results(out / "results.json").design.name == made.found.design.name
    assert told == sorted(told) and told[-1] <= 1.0


def test_a_stopped_lesson_leaves_everything_as_it_was(tmp_path: Path, lesson: Lesson) -> None:
    out, design, bare = tmp_path / "out", read(lesson.design), replace(lesson, paper=False, stills=False)
    write_lesson(design, bare, out)
    before = {path: path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()}

    def stop(word: str, share: float) -> None:
        if word.startswith("film"):
            raise Stop

    with pytest.raises(Stop):
        write_lesson(design, narrowed(bare, "en", (), ("gif",)), out, stop)
    assert {path: path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()} == before


def test_the_starter_of_a_lesson_makes_the_same_lesson(tmp_path: Path) -> None:
    design = copied(tmp_path)
    plain = replace(plain_lesson(design, "en", ("count",)), paper=False, stills=False)
    first = write_lesson(read(design), plain, tmp_path / "a")
    shutil.copy(tmp_path / "a" / STARTER, tmp_path / "lesson.toml")
    again = replace(read_lesson(tmp_path / "lesson.toml"), paper=False, stills=False)
    second = write_lesson(read(again.design), again, tmp_path / "b")
    assert [name for name in first.files if not name.startswith(TEACHER)] == list(second.files)
    assert (tmp_path / "a" / "lesson.html").read_bytes() == (tmp_path / "b" / "lesson.html").read_bytes()
    assert str(tmp_path / "a" / STARTER) in lesson_text(first, tmp_path / "a")
    assert "each scene as a page of its own (1 file)" in lesson_text(first, tmp_path / "a")


def test_moments_that_there_are_not_are_told_before_anything_is_written(tmp_path: Path, lesson: Lesson) -> None:
    lost = replace(lesson, parts=(lesson.parts[0], lesson.scenes[0].model_copy(update={"stops": ("tooth_33",)})))
    with pytest.raises(
        DesignFault, match=r"lesson\.toml, line \d+: part\[2\]\.stops: there is no such moment \(found tooth_33\)"
    ):
        write_lesson(read(lesson.design), lost, tmp_path / "out")
    assert not (tmp_path / "out").exists()


def test_a_drive_that_fails_is_still_taught_and_what_goes_wrong_is_said(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    design = copied(tmp_path)
    text = design.read_text("utf-8")
    design.write_text(text.replace("[generator]", "[generator]\nset_deflection_mm = 1.1"), encoding="utf-8")
    asked = [str(design), "--out", str(tmp_path / "out"), "--scene", "count", "--no-paper", "--no-stills"]
    assert cli.main(["lesson", *asked]) == 1
    said = capsys.readouterr().out
    assert said.startswith("This drive would fail as it is") and "Smallest gap" in said
    told = (tmp_path / "out" / "captions" / "count_turn.txt").read_text("utf-8")
    page = (tmp_path / "out" / "lesson.html").read_text("utf-8")
    wrong = told.split("\n\n")[2]
    assert wrong.strip() and escape(wrong.splitlines()[0]) in page


def test_words_of_the_command_are_checked(tmp_path: Path, lesson: Lesson, capsys: pytest.CaptureFixture[str]) -> None:
    assert students("3") == ("1", "2", "3")
    (tmp_path / "names.txt").write_text("Ada\n\n Bo \n", encoding="utf-8")
    assert students(str(tmp_path / "names.txt")) == ("Ada", "Bo")
    for asked in ("0", "201"):
        with pytest.raises(FileFault, match="this is no count of students"):
            students(asked)
    with pytest.raises(FileFault, match="this is no day"):
        day("7.12.2026")
    for far in ("0001-01-03", "1999-12-31", "2200-01-01"):
        with pytest.raises(FileFault, match="this day lies too far away"):
            day(far)
    assert narrowed(lesson, None, ("count",), ("gif",)).parts == (
        lesson.scenes[0].model_copy(update={"films": ("gif",)}),
    )
    asked = asked_lesson(str(tmp_path / "lesson.toml"), asked_students="2", date="2026-12-07")
    assert asked == replace(lesson, students=("1", "2"), date=datetime.date(2026, 12, 7))
    status = cli.main(
        ["lesson", str(EXAMPLE), "--out", str(tmp_path / "o"), "--scene", "cuont", "--film", "avi", "--language", "fr"]
    )
    told = capsys.readouterr().err
    assert status == 2 and not (tmp_path / "o").exists()
    for words in (
        "--scene: there is none of that name (found cuont)",
        "--film: there is none",
        "--language: lessons are not",
    ):
        assert words in told


def test_faults_of_file_text_and_command_line_are_told_together(
    tmp_path: Path, lesson: Lesson, capsys: pytest.CaptureFixture[str]
) -> None:
    written = tmp_path / "lesson.toml"
    words = [
        "lesson",
        str(written),
        "--out",
        str(tmp_path / "o"),
        "--students",
        "0",
        "--date",
        "7.12.",
        "--film",
        "avi",
    ]
    assert cli.main(words) == 2
    sound = capsys.readouterr().err
    written.write_text(WRITTEN.replace('language = "de"', 'language = "fr"'), encoding="utf-8")
    assert cli.main([*words[:5], str(tmp_path / "nobody.txt"), *words[6:]]) == 2
    broken = capsys.readouterr().err
    for told in (sound, broken):
        assert (
            "--date: this is no day (found 7.12.)" in told and "--film: there is none of that name (found avi)" in told
        )
    assert "--students: this is no count of students (found 0)" in sound
    assert "language: lessons are not written in this language (found fr)" in broken
    assert f"{tmp_path / 'nobody.txt'}: there is no such file" in broken
