"""Strength and life as data: the part fits the schema, holds the numbers, has no infinity, and keeps loading."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path

import jsonschema
import numpy as np
import pytest
from life_results import ENDLESS, invented_duty, invented_items, invented_life, invented_point

from lobewright.assessment.life import Life
from lobewright.assessment.results import Assessment
from lobewright.report.life_json import life_part
from lobewright.report.results_json import read_results, results_json, results_text, schema_text
from lobewright.strength.items import LifeItem, NotMade, SafetyItem, Span

UNITS = ("_MPa", "_Nm", "_mm", "_rpm", "_K", "_hours", "hours", "_share", "_cycles", "cycles", "_turns", "bends")
PURE = {"low", "middle", "high", "asked", "load", "strength", "notch_factor", "model_spread", "beyond_slope", "spread"}
PURE |= {"damage", "stress_spread", "fatigue_notch_factor"}


@pytest.fixture(scope="module")
def ring(assessed: dict[str, Assessment]) -> Assessment:
    return assessed["printed_ring"]


def odd() -> Life:
    """A life with everything endless or without room."""
    life = invented_life()
    point = invented_point(
        life.courses[0],
        equivalent_mpa=np.array([1.0, math.inf, 1.0, 1.0, 1.0]),
        damage=np.array([0.0, math.inf, 0.0, 0.0, 0.0]),
        duties=Span(0.0, 0.0, math.inf),
        first_cycle=ENDLESS,
    )
    return invented_life(points=(point,))


@pytest.mark.parametrize(
    "life", [invented_life(), odd(), invented_life(duty=None, profile=None, life_map=None, parked=None)]
)
def test_part_fits_the_schema_and_comes_back(ring: Assessment, life: Life, tmp_path: Path) -> None:
    text = results_text(ring, None, life=life)
    data = json.loads(text, parse_constant=lambda word: pytest.fail(f"{word} is no number of JSON"))
    validator = jsonschema.Draft202012Validator(json.loads(schema_text()))
    assert [error.message for error in validator.iter_errors(data)] == []
    path = tmp_path / "results.json"
    path.write_text(text, "utf-8")
    assert read_results(path).model_dump(mode="json") == data
    assert [one["course"] for one in data["life"]["points"]] == [one.course.name for one in life.points]


def test_a_life_that_was_not_asked_is_null(ring: Assessment) -> None:
    assert results_json(ring, None)["life"] is None
    assert results_json(ring, None, life="the ring was not solved")["life"] is None


def test_items_keep_numbers_order_and_reasons() -> None:
    part = life_part(invented_life())
    items = invented_items()
    for kind, found in ((LifeItem, part.lives), (SafetyItem, part.strengths), (NotMade, part.not_made)):
        assert [one.name for one in found] == [item.name for item in items if isinstance(item, kind)]
    root = part.lives[0]
    assert (root.duties.low, root.duties.middle, root.duties.high, root.duties.endless) == (0.3, 2.7, 31.0, False)
    assert (root.asked, root.counted) == (5.7e6, "bends") and root.remark.startswith("mainly remembered")
    assert root.working.sources[0].endswith("(derived)")
    assert part.not_made[0].why == "this drive has no belt"


def test_endless_is_null_and_said() -> None:
    part = life_part(odd())
    half, whole = part.lives[2].duties, part.lives[3].duties
    assert (half.low, half.middle, half.high, half.endless) == (40.0, 1.4e6, None, False)
    assert (whole.low, whole.middle, whole.high, whole.endless) == (None, None, None, True)
    step = part.points[0].steps[1]
    assert step.equivalent_MPa is None and step.damage is None
    assert part.points[0].duties.low == 0.0 and part.points[0].first_cycle.endless
    assert part.courses[1].notch_radius_mm is None and part.courses[0].notch_radius_mm == 0.25
    assert part.life_map.hours[2][0][0] == (None, None, None)


@pytest.mark.parametrize("bad", [math.nan, -math.inf])
def test_other_numbers_that_are_none_are_refused(bad: float) -> None:
    life = invented_life()
    broken = replace(life.points[0], damage=np.full(5, bad))
    with pytest.raises(ValueError, match="finite"):
        life_part(replace(life, points=(broken,)))


def test_courses_are_told_by_their_extremes() -> None:
    life = invented_life()
    part = life_part(life)
    for told, course in zip(part.courses, life.courses, strict=True):
        assert [row.torque_Nm for row in told.at] == pytest.approx(course.torque_nmm / 1000)
        for row, stress in zip(told.at, course.stress_mpa, strict=True):
            assert row.hoop_most_MPa == pytest.approx(stress[:, 1].max(), rel=1e-5)
            assert row.meridional_least_MPa == pytest.approx(stress[:, 0].min(), rel=1e-5)
            assert row.shear_most_MPa == pytest.approx(stress[:, 2].max(), rel=1e-5)


def test_points_map_and_parked_hold_the_numbers() -> None:
    life = invented_life()
    part = life_part(life)
    point, told = life.points[1], part.points[1]
    assert [step.cycles for step in told.steps] == pytest.approx(point.cycles)
    assert [step.damage for step in told.steps] == pytest.approx(point.damage)
    assert told.curve.tested_to_cycles == 1e6 and set(told.safety) == {one.value for one in point.safety}
    assert part.duty.bends == invented_duty().bends and part.duty.peak_Nm == 4.2
    hours = life.life_map.hours[1, 2, 5]
    assert part.life_map.hours[1][2][5] == pytest.approx(tuple(hours), rel=1e-5)
    assert part.parked.stress_left_share[10] == pytest.approx(tuple(life.parked.stress_left[10]), rel=1e-5)
    assert part.cup_profile.equivalent_outside_MPa == pytest.approx(life.profile.equivalent_mpa[:, 1], rel=1e-5)


def test_numbers_say_their_units() -> None:
    def walk(data: object, key: str) -> None:
        if isinstance(data, dict):
            for name, inner in data.items():
                walk(inner, name if key not in ("safety",) else key)
        elif isinstance(data, list):
            for inner in data:
                walk(inner, key)
        elif isinstance(data, float):
            assert key.endswith(UNITS) or key in PURE | {"safety"}, key

    walk(life_part(invented_life()).model_dump(mode="json"), "")
