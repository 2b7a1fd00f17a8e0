"""Every pair has a starter that works, or a sentence why not; the shipped examples pass every check."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from lobewright.advice import suggestions
from lobewright.assessment.life import life
from lobewright.assessment.loaded_states import solve_states
from lobewright.assessment.results import Assessment
from lobewright.assessment.run import assess
from lobewright.command_words import exit_status
from lobewright.design.files import design_from_data, read, read_workshop
from lobewright.design.rules import PAIRS_REFUSED
from lobewright.design.starters import GENERATORS, KINDS, RINGS, USUAL_GENERATOR, starter, starter_data
from lobewright.errors import DesignFault, FileFault
from lobewright.verdict import State, Verdict, Working

EXAMPLES = sorted(p for p in (Path(__file__).parents[2] / "examples").glob("*.toml") if p.name != "workshop.toml")
PAIRS = [(ring, generator) for ring in RINGS for generator in GENERATORS]


@pytest.mark.parametrize(("ring", "generator"), PAIRS)
def test_every_pair_works_or_says_why_not(
    ring: str, generator: str, assessed_starter: Callable[[str], Assessment]
) -> None:
    kind = f"{ring}-{generator}"
    if (ring, generator) in PAIRS_REFUSED:
        with pytest.raises(FileFault, match=r"cannot be built: .{20,}"):
            starter(kind)
        return
    found = assessed_starter(kind)
    failed = [verdict.name for verdict in found.verdicts if verdict.state is State.FAIL]
    assert failed == []
    assert found.motion.ratio == (-80 if ring == "metal_cup" else -50)


def test_a_refused_pair_is_refused_by_the_reader_too() -> None:
    data = starter_data("belt-cam_thin_bearing")
    data["generator"] |= {"under": "plain", "race_height_mm": 0.0}
    with pytest.raises(DesignFault, match="belt with cam_plain: a rubber belt back cannot slide on a plain cam"):
        design_from_data(data)


def test_a_ring_alone_takes_its_usual_generator() -> None:
    for ring in RINGS:
        assert starter(ring) == starter(f"{ring}-{USUAL_GENERATOR[ring]}")


@pytest.mark.parametrize("kind", KINDS)
def test_a_starter_is_commented_and_says_what_to_do_next(kind: str) -> None:
    text = starter(kind)
    assert "{" not in text
    lines = [line for line in text.splitlines() if "=" in line and not line.startswith("#")]
    assert sum("#" in line for line in lines) > len(lines) / 4
    assert "lobewright check" in text
    assert "invented" in text


@pytest.mark.parametrize("kind", [*KINDS, "workshop"])
def test_lines_that_a_starter_offers_can_be_taken(kind: str, tmp_path: Path) -> None:
    offered = re.compile(r'^# (\[+[a-z_]+\]|[A-Za-z_]+ = [\["\d-])', re.MULTILINE)
    text, taken = offered.subn(r"\1", starter(kind))
    assert taken > 8
    path = tmp_path / "all.toml"
    path.write_text(text, "utf-8")
    (tmp_path / "one_day.csv").write_text("time_s,turn_deg,torque_Nm\n0,0,1\n60,1,1.5\n", "utf-8")
    if kind == "workshop":
        assert read_workshop(path).coupon[0].fatigue_cycles
        return
    design = read(path)
    assert design.output_bearing is not None and design.recorded_motion is not None
    assert design.duty[0].travel_deg and design.strength.parked_days


def test_names_of_starters_survive_their_file() -> None:
    for name in ('a "quoted" one', "back\\slash", "{teeth}", "größer µ", "x" * 80, "#", "'''"):
        assert tomllib.loads(starter("belt", name))["name"] == name
    for name in ("", "x" * 81, "two\nlines", "bell\a"):
        with pytest.raises(FileFault, match="this name cannot be given"):
            starter("belt", name)


@pytest.mark.parametrize(("kind", "near"), [("blet", "belt"), ("belt-roller", "belt-rollers"), ("cup", "printed_cup")])
def test_an_unknown_kind_names_the_nearest(kind: str, near: str) -> None:
    with pytest.raises(FileFault, match=near):
        starter(kind)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.name)
def test_examples_fail_nothing_and_name_every_check_that_is_not_made(path: Path) -> None:
    found = assess(read(path))
    duty = found.design.duty
    torque = [1000.0 * max(getattr(step, key) for step in duty) for key in ("torque_Nm", "peak_torque_Nm")]
    lasting = life(found, solve_states(found, *torque))
    found = replace(found, verdicts=(*found.verdicts, *lasting.verdicts))
    assert [v.name for v in found.verdicts if v.state is State.FAIL] == []
    assert exit_status(found, strict=True) == 0
    not_made = {v.name for v in found.verdicts if v.state is State.NOT_MADE}
    assert set(found.design.checks_not_expected) == not_made  # no reason without its check either
    assert all(len(reason.split()) >= 4 for reason in found.design.checks_not_expected.values())
    assert "nvented" in found.design.about
    assert suggestions(found) == ()


def test_there_are_examples_of_three_kinds() -> None:
    kinds = {read(path).flexible_ring.kind for path in EXAMPLES}
    assert {"belt", "printed_cup", "metal_cup"} <= kinds


def test_a_check_that_nobody_expected_makes_strict_fail(assessed_starter: Callable[[str], Assessment]) -> None:
    found = assessed_starter("printed_ring")
    assert exit_status(found, strict=True) == 0
    unasked = Verdict("ring_life", "Life of the flexible ring", State.NOT_MADE, "Nobody asked.", Working("none", ""))
    found = replace(found, verdicts=(*found.verdicts, unasked))
    assert exit_status(found, strict=False) == 0
    assert exit_status(found, strict=True) == 1
    data = starter_data("printed_ring")
    data["checks_not_expected"] = {"skip_torque": ""}
    with pytest.raises(DesignFault, match=r"checks_not_expected\.skip_torque"):
        design_from_data(data)
