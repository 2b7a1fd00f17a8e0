"""Nothing that is somebody's own goes with a result folder that is replaced."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from pathlib import Path

import pytest

from lobewright import cli
from lobewright.assessment.run import assess
from lobewright.design.files import design_from_data
from lobewright.design.named import files_of
from lobewright.design.starters import starter_data
from lobewright.errors import OutputFault
from lobewright.own_files import NOTE, own_files
from lobewright.report.results_json import results_text
from lobewright.whole_folder import RESULTS, check_target, replacing

RESULTS_TEXT = results_text(assess(design_from_data(starter_data("belt"))), "2026-01-01T00:00:00Z")
EXAMPLES = Path(__file__).parents[2] / "examples"


def write(out: Path) -> None:
    with replacing(out) as fresh:
        (fresh / "teacher").mkdir()
        (fresh / "teacher" / "lesson.toml").write_text("as written", "utf-8")
        (fresh / "übung.txt").write_text("as written", "utf-8")
        (fresh / RESULTS).write_text(RESULTS_TEXT, "utf-8")


@pytest.fixture
def out(tmp_path: Path) -> Path:
    write(tmp_path / "out")
    return tmp_path / "out"


def everything(folder: Path) -> dict[str, bytes]:
    return {str(path): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def test_what_a_run_wrote_is_replaced(out: Path) -> None:
    (out / "Thumbs.db").write_bytes(b"what a system puts there")
    check_target(out)
    write(out)
    assert own_files(out) == () and not (out / "Thumbs.db").exists() and os.listdir(out.parent) == ["out"]


def test_the_note_is_one_that_the_usual_tool_reads(out: Path) -> None:
    if shutil.which("sha256sum") is None:
        pytest.skip("there is no sha256sum")
    told = subprocess.run(["sha256sum", "--check", NOTE], cwd=out, capture_output=True, text=True, check=True).stdout
    assert told.count(": OK") == 3


def added(out: Path) -> str:
    (out / "teacher" / "notes.md").write_text("mine", "utf-8")
    return "teacher/notes.md"


def changed(out: Path) -> str:
    (out / "teacher" / "lesson.toml").write_text("mine", "utf-8")
    return "teacher/lesson.toml"


def linked(out: Path) -> str:
    (out / "link").symlink_to(out.parent)
    return "link"


def swapped(out: Path) -> str:
    (out / "übung.txt").unlink()
    (out / "übung.txt").symlink_to(out / "teacher" / "lesson.toml")
    return "übung.txt"


@pytest.mark.parametrize("mine", [added, changed, linked, swapped])
def test_own_files_are_told_and_left_alone(out: Path, mine) -> None:
    name = mine(out)
    before = everything(out.parent)
    assert own_files(out) == (name,)
    for run in (check_target, write):
        with pytest.raises(OutputFault) as caught:
            run(out)
        assert "put into the folder out or changed" in str(caught.value)
        assert f"(found {name})" in str(caught.value) and "left alone" in str(caught.value)
    assert everything(out.parent) == before and os.listdir(out.parent) == ["out"]


def test_a_file_that_comes_while_the_results_are_made_is_kept(out: Path) -> None:
    with pytest.raises(OutputFault, match=r"found late\.txt"), replacing(out) as fresh:
        (fresh / RESULTS).write_text(RESULTS_TEXT, "utf-8")
        (out / "late.txt").write_text("mine", "utf-8")
    assert (out / "late.txt").read_text("utf-8") == "mine" and (out / "teacher" / "lesson.toml").exists()


def test_many_own_files_are_counted(out: Path) -> None:
    for number in range(6):
        (out / f"{number}.txt").write_text("mine", "utf-8")
    with pytest.raises(OutputFault, match=r"found 0\.txt, 1\.txt, 2\.txt and 3 more\)"):
        check_target(out)


def test_what_is_read_does_not_lie_in_what_is_replaced(out: Path, tmp_path: Path) -> None:
    (tmp_path / "way").symlink_to(out)
    (tmp_path / "far.toml").symlink_to(out / "teacher" / "lesson.toml")
    (out / "near.toml").symlink_to(tmp_path / "beside.toml")
    for path in (out / "x.toml", tmp_path / "way" / "x.toml", tmp_path / "far.toml", out / "near.toml"):
        with pytest.raises(OutputFault, match="this file is read now and lies in the folder out, which"):
            check_target(out, (tmp_path / "other.toml", path))
    (out / "near.toml").unlink()
    check_target(out, (tmp_path / "beside.toml", tmp_path / "output.toml", out / "teacher" / ".." / ".." / "up.toml"))


@pytest.mark.parametrize("command", ["make", "build"])
def test_a_design_in_the_folder_of_its_results_is_kept(
    out: Path, command: str, capsys: pytest.CaptureFixture[str]
) -> None:
    for name in ("azimuth_belt.toml", "workshop.toml"):
        shutil.copy(EXAMPLES / name, out)
    before = everything(out)
    assert cli.main([command, str(out / "azimuth_belt.toml"), "--out", str(out)]) == 2
    told = capsys.readouterr().err
    assert "(found azimuth_belt.toml)" in told and "(found workshop.toml)" in told and everything(out) == before


def test_all_files_that_a_design_names_are_known(tmp_path: Path) -> None:
    design = tmp_path / "x.toml"
    design.write_text('workshop = "a"\n[tooth]\nfile = "b"\n[recorded_motion]\nfile = "c"\n[[rigid_ring]]\n'
                      '[[rigid_ring]]\noutline = "d"\n', "utf-8")  # fmt: skip
    assert files_of(design) == (design, *(tmp_path / name for name in "abcd"))
    for text in ("no [ toml", "workshop = 3"):
        design.write_text(text, "utf-8")
        assert files_of(design) == (design,)
    assert files_of(tmp_path / "none.toml") == (tmp_path / "none.toml",)


@pytest.mark.parametrize("place", ["out", "deep/er/out"])
def test_what_cannot_be_written_is_told_before_the_work(
    tmp_path: Path, place: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whoever runs the tests may be allowed everything: the system's answer is put in its place."""
    asked = []

    def refuses(prefix: str, dir: Path) -> None:
        asked.append(dir)
        raise PermissionError(13, "Permission denied")

    with monkeypatch.context() as patch:
        patch.setattr(tempfile, "TemporaryDirectory", refuses)
        with pytest.raises(OutputFault, match="the folder cannot be used: Permission denied"):
            check_target(tmp_path / place)
    assert asked == [tmp_path]
    check_target(tmp_path / place)
    assert os.listdir(tmp_path) == []


def test_a_folder_that_cannot_be_moved_is_told_before_the_work(out: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "access", lambda path, mode: Path(path) != out)
    with pytest.raises(OutputFault, match="Permission denied"):
        check_target(out)
