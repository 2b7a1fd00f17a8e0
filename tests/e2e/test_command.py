"""The command as a person meets it: one process where the process matters, else its main function."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from lobewright import __version__
from lobewright.assessment.results import Assessment
from lobewright.cli import main, parser
from lobewright.design.starters import KINDS, starter
from lobewright.verdict import State

EXAMPLES = Path(__file__).parents[2] / "examples"


def command(*words: str, **options: object) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run([sys.executable, "-m", "lobewright.cli", *words], capture_output=True, timeout=100, **options)  # type: ignore[call-overload,no-any-return]


@pytest.fixture
def belt(tmp_path: Path) -> Path:
    path = tmp_path / "turntable belt.toml"
    path.write_text(starter("belt", "turntable belt"), "utf-8")
    return path


def with_clearance(text: str, first: float, second: float) -> str:
    """The design's text with other clearances of its two rings."""
    values = iter((first, second))
    return re.sub(r"clearance_mm = [0-9.]+", lambda _: f"clearance_mm = {next(values)}", text)


def test_version() -> None:
    found = command("--version")
    assert (found.returncode, found.stdout.decode().strip()) == (0, f"lobewright {__version__}")


def test_a_new_file_is_named_after_itself_and_can_be_checked(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "turntable belt.toml"
    assert main(["new", "belt", str(path)]) == 0
    assert f"lobewright check {path}" in capsys.readouterr().out
    assert main(["check", str(path)]) == 0
    text = capsys.readouterr().out
    assert text.startswith("turntable belt: −50 : 1, ratio of generator to output, base held")
    for words in ("Cautions:", "Pinch points", "Smallest gap of teeth, ring base", "lobewright life"):
        assert words in text
    assert max(len(line) for line in text.splitlines()) < 140


def test_every_verdict_is_printed_with_its_state(
    belt: Path, capsys: pytest.CaptureFixture[str], assessed_starter: Callable[[str], Assessment]
) -> None:
    main(["check", str(belt)])
    text = capsys.readouterr().out
    marks = {State.PASS: "pass", State.WARN: "warn", State.FAIL: "FAIL", State.NOT_MADE: "not made"}
    for verdict in assessed_starter("belt").verdicts:
        assert re.search(rf"^{marks[verdict.state]} +{re.escape(verdict.title)}", text, re.MULTILINE), verdict.title


def test_a_file_in_the_way_is_left_alone(belt: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = belt.read_bytes()
    assert main(["new", "printed_cup", str(belt)]) == 2
    assert "left alone" in capsys.readouterr().err
    assert belt.read_bytes() == before


def test_exit_status(belt: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", "--strict", str(belt)]) == 0
    text = belt.read_text("utf-8")
    belt.write_text(with_clearance(text, 0.01, 0.1), "utf-8")
    assert main(["check", str(belt)]) == 1
    assert "FAIL" in capsys.readouterr().out
    belt.write_text(text.replace('"625"', '"no"'), "utf-8")
    assert main(["check", str(belt)]) == 2


def test_json_is_the_same_as_the_assessment(
    belt: Path, capsys: pytest.CaptureFixture[str], assessed_starter: Callable[[str], Assessment]
) -> None:
    assert main(["check", "--json", str(belt)]) == 0
    data = json.loads(capsys.readouterr().out)
    found = assessed_starter("belt")
    assert [v["name"] for v in data["verdicts"]] == [v.name for v in found.verdicts]
    for row, verdict in zip(data["verdicts"], found.verdicts, strict=True):
        assert (row["state"], row["value"], row["limit"]) == (verdict.state.value, verdict.value, verdict.limit)
        assert row["working"]["equation"]
        assert all(line.endswith(")") for line in row["working"]["sources"])  # each ends with its flag
    assert data["ratio_exact"] == "-50"
    assert len(data["cautions"]) == len(found.cautions)


def test_suggestions_are_printed_as_sentences_and_as_data(belt: Path, capsys: pytest.CaptureFixture[str]) -> None:
    belt.write_text(with_clearance(belt.read_text("utf-8"), 0.03, 0.1), "utf-8")
    assert main(["check", str(belt)]) == 1
    text = capsys.readouterr().out
    assert main(["check", "--json", str(belt)]) == 1
    (one,) = [s for s in json.loads(capsys.readouterr().out)["suggestions"] if s["verdict"] == "flank_gap:base"]
    (edit,) = one["edits"]
    assert edit["place"] == "rigid_ring[1].clearance_mm"
    assert f"flank_gap:base: set rigid_ring[1].clearance_mm = {edit['value']:g}" in text


def test_same_file_same_bytes(belt: Path, capsys: pytest.CaptureFixture[str]) -> None:
    texts = []
    for _ in range(2):
        capsys.readouterr()
        main(["check", "--json", str(belt)])
        texts.append(capsys.readouterr().out)
    assert texts[0] == texts[1]


def test_compare_says_what_changed(belt: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    other = tmp_path / "other.toml"
    other.write_text(with_clearance(belt.read_text("utf-8"), 0.02, 0.1), "utf-8")
    capsys.readouterr()
    assert main(["compare", str(belt), str(other)]) == 0
    text = capsys.readouterr().out
    assert re.search(r"Turns of the generator for one of output +-50 +-50 +same", text)
    assert re.search(r"flank_gap:base: (pass|warn) → fail", text)
    assert main(["compare", "--json", str(belt), str(belt)]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["verdicts"] == []
    assert all(row["difference"] == 0 for row in data["numbers"])


def test_compare_names_the_file_that_is_wrong(belt: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    bad = tmp_path / "bad.toml"
    bad.write_text(starter("printed_ring").replace("addendum_factor = 0.6 ", "addendum_factor = 2.0 "), "utf-8")
    capsys.readouterr()
    assert main(["compare", str(belt), str(bad)]) == 2
    assert re.search(r"bad\.toml, line \d+: tooth\.addendum_factor", capsys.readouterr().err)


def test_two_designs_of_different_kind_are_compared(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for kind in ("belt", "metal_cup"):
        assert main(["new", kind, str(tmp_path / f"{kind}.toml")]) == 0
    assert main(["compare", str(tmp_path / "belt.toml"), str(tmp_path / "metal_cup.toml")]) == 0
    text = capsys.readouterr().out
    assert "belt_bend: pass → no such check" in text
    assert "flexible_strain: no such check → pass" in text


def test_belts_are_found_from_readings(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["belts", "--pitch", "3.0", "--thickness", "2.4", "--tooth", "round"]) == 0
    assert "C3M" in capsys.readouterr().out
    assert main(["belts", "--pitch", "nan", "--thickness", "2.4", "--tooth", "round", "--json"]) == 2
    out, err = capsys.readouterr()
    assert json.loads(out)["faults"][0]["sentence"] == err.strip()
    with pytest.raises(SystemExit) as caught:
        main(["belts", "--pitch", "3", "--thickness", "2", "--tooth", "square"])
    assert caught.value.code == 2


def test_a_wrong_word_gives_status_2_and_the_usage(capsys: pytest.CaptureFixture[str]) -> None:
    for words in (["chek", "a"], [], ["check"], ["build", "a.toml"]):
        with pytest.raises(SystemExit) as caught:
            main(words)
        assert caught.value.code == 2
        assert "usage: lobewright" in capsys.readouterr().err


def test_build_refuses_a_folder_of_other_things_before_it_computes(
    belt: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "mine.txt").write_text("", "utf-8")
    assert main(["build", str(belt), "--out", str(tmp_path / "out")]) == 2
    assert "holds no earlier build; it is left alone" in capsys.readouterr().err


LONG = ["check", str(EXAMPLES / "azimuth_belt.toml")]
SHORT = ["belts", "--pitch", "3", "--thickness", "2.4", "--tooth", "round"]


@pytest.mark.skipif(os.name == "nt", reason="pipes behave otherwise there")
@pytest.mark.parametrize("words", [LONG, SHORT], ids=["long", "short"])
def test_a_reader_that_goes_away_is_no_error(words: list[str]) -> None:
    """A long answer fails while it is printed, a short one only when it is flushed."""
    gone, pipe = os.pipe()
    os.close(gone)
    buffered = {key: value for key, value in os.environ.items() if key != "PYTHONUNBUFFERED"}
    call = [sys.executable, "-m", "lobewright.cli", *words]
    found = subprocess.run(call, stdout=pipe, stderr=subprocess.PIPE, timeout=100, check=False, env=buffered)
    os.close(pipe)
    assert found.returncode == 0
    assert b"Error" not in found.stderr
    assert b"Exception" not in found.stderr


def test_output_is_utf8_whatever_the_code_page(belt: Path) -> None:
    found = command("check", str(belt), env={**os.environ, "PYTHONIOENCODING": "cp1252"})
    assert found.returncode == 0
    assert "−50 : 1" in found.stdout.decode("utf-8")


def test_a_key_pressed_stops_quietly(
    belt: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def stopped(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("lobewright.assessment.run.assess", stopped)
    assert main(["check", str(belt)]) == 130
    assert capsys.readouterr().err == "Stopped; nothing was left half-written.\n"


def test_examples_are_found_good_by_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Copied away, to see that they need nothing but each other."""
    shutil.copytree(EXAMPLES, tmp_path / "garden")
    for path in sorted((tmp_path / "garden").glob("*.toml")):
        if path.name != "workshop.toml":
            assert main(["check", "--strict", str(path)]) == 0, path.name
    text = capsys.readouterr().out
    assert "falling" in text or "fall" in text  # the arm's caution
    assert "sun" in text  # the mirror's


def test_help_names_every_command_and_every_kind_of_ring() -> None:
    text = parser().format_help()
    for name in ("new", "check", "build", "compare", "belts", "evidence"):
        assert name in text
    assert all(kind.count("-") == 1 for kind in KINDS)
