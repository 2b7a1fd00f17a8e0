"""`lobewright life` from the file to the last line; the bands under torque, which take a minute, are left out of the loads."""

from __future__ import annotations

import contextlib
import json
from pathlib import Path
from types import SimpleNamespace

import pytest

import lobewright.assessment.load
import lobewright.workers
from lobewright.assessment.loaded_states import solve_states
from lobewright.assessment.results import Assessment
from lobewright.cli import main
from lobewright.design.starters import starter

DUTY = """
[output_bearing]
bearing = "6001"
spacing_mm = 30.0

[[duty]]
name = "invented turns"
torque_Nm = 0.05
peak_torque_Nm = 0.1
speed_rpm = 1.0
hours = 100.0
"""
NAMED = """
[checks_not_expected]
ring_life = "a spare belt is at hand"
"""


def quick_load(a: Assessment, *_: object) -> SimpleNamespace:
    """The states under torque and nothing else that `load` would find."""
    states = solve_states(a, 50.0, 100.0)
    rest, *others = states.shares
    return SimpleNamespace(
        drive=states.drive,
        stiffness=states.stiffness,
        at_rest=rest,
        shares=tuple(others),
        band=lambda name: None,
        rated_nmm=50.0,
        peak_nmm=100.0,
        verdicts=(),
    )


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(lobewright.assessment.load, "load", quick_load)
    monkeypatch.setattr(lobewright.workers, "all_cores", lambda: contextlib.nullcontext(map))


@pytest.fixture
def belt(tmp_path: Path, quick: None) -> Path:
    path = tmp_path / "turntable belt.toml"
    text = starter("belt", "turntable belt")
    path.write_text(text[: text.index("[[duty]]")] + DUTY, "utf-8")
    return path


def test_life_says_what_lasts_and_what_was_not_made(belt: Path, capsys: pytest.CaptureFixture[str]) -> None:
    belt.write_text(belt.read_text("utf-8") + NAMED, "utf-8")
    assert main(["life", "--strict", str(belt)]) == 0
    text = capsys.readouterr().out
    assert text.startswith("turntable belt: strength and life")
    for words in (
        "Life budget, the weakest first",
        "Bearings of the rollers",
        "Strength at the peak",
        "What if one thing were changed",
        "half as fast",
        "not made  Life of the flexible ring",
        "pass      Life of the bearings",
        "[[belt_tooth_shear]]",
        "Cautions:",
        "Local codes and licensed practice come first",
    ):
        assert words in text, words
    assert "The design says: a spare belt is at hand" in " ".join(text.split())


def test_life_as_data(belt: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["life", "--strict", "--json", str(belt)]) == 1  # the ring's life is not made and nobody says why
    data = json.loads(capsys.readouterr().out)
    assert data["name"] == "turntable belt"
    names = {verdict["name"]: verdict["state"] for verdict in data["verdicts"]}
    assert names["ring_life"] == "not made" and names["bearing_life"] == "pass"


@pytest.mark.parametrize(
    ("before", "after", "said"),
    [
        ("hours = 100.0", "hours = 0.0", "duty[1].hours"),
        ("hours = 100.0", "hours = -3.0", "duty[1].hours"),
        ('bearing = "6001"', 'bearing = "none"', "output_bearing.bearing"),
    ],
)
def test_a_duty_that_cannot_be_is_one_sentence(
    belt: Path, capsys: pytest.CaptureFixture[str], before: str, after: str, said: str
) -> None:
    belt.write_text(belt.read_text("utf-8").replace(before, after), "utf-8")
    assert main(["life", str(belt)]) == 2
    found = capsys.readouterr()
    assert said in found.err and found.err.count("\n") == 1 and found.out == ""


def test_a_material_beyond_its_temperatures_is_one_sentence(
    tmp_path: Path, quick: None, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "hot ring.toml"
    text = starter("printed_ring", "hot ring")
    text = text[: text.index("[[duty]]")] + DUTY
    path.write_text(text.replace("temperature_C = 25.0", "temperature_C = 140.0"), "utf-8")
    assert main(["life", str(path)]) == 2
    found = capsys.readouterr().err.splitlines()[-1]
    assert "hot ring.toml, line" in found and "ambient_temperature_C" in found and "140" in found and "°C" in found
