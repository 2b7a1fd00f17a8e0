"""What a duty asks: turns, bends, hours from steps and from a recorded motion; recorded motions that cannot be used."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from lobewright.design.edits import Edit, apply
from lobewright.design.files import design_from_data
from lobewright.design.model import Design
from lobewright.design.starters import starter_data
from lobewright.errors import DesignFault
from lobewright.motion import motion
from lobewright.strength.duty import Duty, duty_of

STEP = {"name": "invented step", "torque_Nm": 2.0, "peak_torque_Nm": 3.0, "speed_rpm": 2.0, "hours": 10.0}


def drive(**more: object) -> Design:
    """A cup of 100 teeth in a held ring of 102: −50 : 1, two lobes."""
    data = starter_data("printed_cup-paired_rollers") | {"duty": [STEP]} | more
    return design_from_data(data)


def asked(design: Design) -> Duty:
    found = duty_of(design, motion(design))
    assert found is not None
    return found


def test_turns_and_bends_of_a_step_follow_from_the_ratio() -> None:
    found = asked(drive())
    (part,) = found.parts
    assert part.read_turns == pytest.approx(2 * 60 * 10)
    assert part.generator_turns == pytest.approx(50 * 1200)
    # two lobes, and the ring turns back once in fifty turns: 2 · 51/50 bends a turn of the generator
    assert part.bends == pytest.approx(2 * (51 / 50) * 50 * 1200)
    assert (part.torque_nmm, part.peak_nmm, part.swing_rad) == (2000.0, 3000.0, None)
    assert found.peak_nmm == 3000.0 and found.hours == 10.0


def test_swing_is_told_against_the_ring() -> None:
    (part,) = asked(drive(duty=[STEP | {"travel_deg": 7.2}])).parts
    assert part.swing_rad == pytest.approx(2 * math.pi * 51 / 50)


def test_a_ring_swings_past_a_generator_that_is_held() -> None:
    held = {"fixed": "generator", "driven": "flexible_ring", "read": "housing"}
    (part,) = asked(drive(duty=[STEP | {"travel_deg": 20.0}], motion=held)).parts
    assert part.generator_turns == 0.0 and part.bends > 0.0
    # 102 teeth of the housing go by while 100 of the ring do
    assert part.swing_rad == pytest.approx(math.radians(20.0) * 102 / 100)


def test_no_duty_is_none() -> None:
    design = drive(duty=[])
    assert duty_of(design, motion(design)) is None


def recorded(folder: Path, text: str) -> Design:
    (folder / "motion.csv").write_text(text, encoding="utf-8")
    data = starter_data("printed_cup-paired_rollers") | {"recorded_motion": {"file": "motion.csv", "repeats": 100.0}}
    return design_from_data(data | {"duty": []}, folder=folder)


def test_a_recorded_motion_counts_the_way_to_and_fro(tmp_path: Path) -> None:
    design = recorded(tmp_path, "time_s,turn_deg,torque_Nm\n0,0,1\n1,36,-2\n2,0,1.5\n")
    found = asked(design)
    assert found.record is not None
    assert found.hours == pytest.approx(100 * 2 / 3600)
    # 72 degrees of the cup, to and fro, are ten turns of the generator, a hundred times
    assert found.generator_turns == pytest.approx(100 * 10)
    assert found.bends == pytest.approx(100 * 2 * 10 * 51 / 50)
    assert found.peak_nmm == 2000.0
    edited = apply(design, (Edit("recorded_motion.repeats", 200.0),))
    assert asked(edited).generator_turns == pytest.approx(2 * found.generator_turns)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("0,0,1\n0,1,1\n", "line 2: time does not rise (found 0 s); allowed: more than 0 s"),
        ("0,0,1\n-1,1,1\n", "time does not rise"),
        (
            "0,0,1\n1,x,1\n",
            "line 2: this is no row of a recorded motion (found 1, x, 1); allowed: a heading time_s,turn_deg",
        ),
        (
            "time_s,torque_Nm,turn_deg\n0,0,1\n1,1,1\n",
            "line 1: this is no row of a recorded motion (found time_s, torque_Nm",
        ),
        ("0,0,1\n1,1\n", "line 2: this is no row"),
        ("time_s;turn_deg;torque_Nm\n0;0;1\n", "line 1: this is no row"),
        ("0,0,1\n1,nan,1\n", "line 2: a number is out of range"),
        ("0,0,1\n", "unusable number of rows (found 1); allowed: 2 to"),
        ("", "unusable number of rows (found 0)"),
    ],
)
def test_a_recorded_motion_that_cannot_be_used_says_why(tmp_path: Path, text: str, said: str) -> None:
    with pytest.raises(DesignFault) as caught:
        recorded(tmp_path, text)
    (sentence,) = caught.value.sentences()
    assert "recorded_motion.file" in sentence
    assert said in sentence, sentence


def test_a_recorded_motion_that_is_not_there_says_so(tmp_path: Path) -> None:
    data = starter_data("printed_cup-paired_rollers") | {"recorded_motion": {"file": "none.csv", "repeats": 1.0}}
    with pytest.raises(DesignFault, match=r"none\.csv"):
        design_from_data(data, folder=tmp_path)


@pytest.mark.parametrize("hours", [0.0, -1.0])
def test_a_step_without_time_is_refused(hours: float) -> None:
    with pytest.raises(DesignFault, match=r"duty\[1\].hours.*more than 0"):
        drive(duty=[STEP | {"hours": hours}])


def test_a_pair_of_bearings_needs_room_and_a_known_bearing() -> None:
    with pytest.raises(DesignFault, match="two bearings need room"):
        drive(output_bearing={"bearing": "6804", "count": 2})
    with pytest.raises(DesignFault, match="no bearing of this name"):
        drive(output_bearing={"bearing": "nothing", "count": 1})
