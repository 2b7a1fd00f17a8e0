"""Outlines from files: good ones are taken whichever way they run, others are refused with what is wrong."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from lobewright.assessment.run import assess
from lobewright.design.files import design_from_data
from lobewright.design.model import Design
from lobewright.design.starters import starter_data
from lobewright.errors import DesignFault, LobewrightError

Points = list[list[float]]
TOOTH: Points = [[-1.0, 0.6], [-0.7, 0.6], [-0.4, 1.6], [0.4, 1.6], [0.7, 0.6], [1.0, 0.6]]
SPACE: Points = [[49.5, -0.8], [51.0, -0.5], [51.2, 0.0], [51.0, 0.5], [49.5, 0.8]]


def with_tooth(points: Points, kind: str = "printed_ring") -> Design:
    data: dict[str, Any] = starter_data(kind)
    data["tooth"] = {"form": "outline", "file": "tooth.csv", "points": points}
    return design_from_data(data)


def with_space(points: Points) -> Design:
    data: dict[str, Any] = starter_data("printed_ring")
    data["rigid_ring"][1] |= {"outline": "space.csv", "outline_points": points}
    return design_from_data(data)


def test_a_drawn_tooth_is_taken_from_either_end() -> None:
    one, other = assess(with_tooth(TOOTH)), assess(with_tooth(TOOTH[::-1]))
    assert one.rings[0].outline.height_mm == pytest.approx(1.0, abs=1e-3)
    assert [v.value for v in one.verdicts] == pytest.approx([v.value for v in other.verdicts], abs=1e-9)


def test_a_drawn_space_is_taken_from_either_end_and_its_gap_found() -> None:
    one, other = assess(with_space(SPACE)), assess(with_space(SPACE[::-1]))
    space = one.rings[1].space
    assert (space.tip_limited_by, space.clearance_mm) == ("given", 0.0)
    assert space.tip_radius_mm == pytest.approx(math.hypot(49.5, 0.8))
    assert other.rings[1].cases[0].smallest_gap_mm == pytest.approx(one.rings[1].cases[0].smallest_gap_mm, abs=1e-6)


def moved(points: Points, index: int, x: float, y: float) -> Points:
    return [[x, y] if i == index else point for i, point in enumerate(points)]


BAD_TEETH = {
    "crosses itself": [TOOTH[0], TOOTH[3], TOOTH[2], TOOTH[1], TOOTH[4], TOOTH[5]],
    "reaches farther to the side": moved(TOOTH, 2, -1.4, 1.2),
    "does not begin and end at the root": moved(TOOTH, 5, 1.0, 1.2),
    "does not lie on the wall": [[x, y + 1.0] for x, y in TOOTH],
    "wider at its root than one pitch": [[2 * x, y] for x, y in TOOTH],
    "is flat or has no width": [[x, 0.6] for x, _ in TOOTH],
}
BAD_SPACES = {
    "crosses itself": [SPACE[0], SPACE[3], SPACE[2], SPACE[1], SPACE[4]],
    "wider than its pitch": [[x, 5 * y] for x, y in SPACE],
    "has no depth or does not run across": [[x, y + 2.0] for x, y in SPACE],
    "wider than its pitch .found 180": moved(SPACE, 2, -51.0, 0.0),
}


@pytest.mark.parametrize("words", BAD_TEETH)
def test_a_tooth_that_is_none(words: str) -> None:
    with pytest.raises(DesignFault, match=words) as caught:
        assess(with_tooth(BAD_TEETH[words]))
    assert all(fault.place.startswith("tooth") and fault.allowed for fault in caught.value.faults)


def test_a_belt_tooth_drawn_below_the_cord() -> None:
    with pytest.raises(DesignFault, match="does not stand above the land between teeth"):
        assess(with_tooth([[x, y - 2.0] for x, y in TOOTH], "belt"))


@pytest.mark.parametrize("words", BAD_SPACES)
def test_a_space_that_is_none(words: str) -> None:
    with pytest.raises(DesignFault, match=words) as caught:
        assess(with_space(BAD_SPACES[words]))
    assert caught.value.faults[0].place == "rigid_ring[2].outline"


SMALL = st.floats(-0.3, 0.3)


@settings(max_examples=20, derandomize=True, deadline=None, suppress_health_check=list(HealthCheck))
@given(
    st.lists(st.tuples(SMALL, SMALL), min_size=6, max_size=6), st.lists(st.tuples(SMALL, SMALL), min_size=5, max_size=5)
)
def test_bent_drawings_give_numbers_or_sentences(
    tooth: list[tuple[float, float]], space: list[tuple[float, float]]
) -> None:
    data: dict[str, Any] = starter_data("printed_ring")
    shifted = [
        [[x + dx, y + dy] for (x, y), (dx, dy) in zip(base, by, strict=True)]
        for base, by in ((TOOTH, tooth), (SPACE, space))
    ]
    data["tooth"] = {"form": "outline", "file": "tooth.csv", "points": shifted[0]}
    data["rigid_ring"][1] |= {"outline": "space.csv", "outline_points": shifted[1]}
    try:
        found = assess(design_from_data(data))
    except LobewrightError as error:
        assert error.sentences()
    else:
        assert all(v.value is None or math.isfinite(v.value) for v in found.verdicts)
