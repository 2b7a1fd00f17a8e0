"""A ring left standing: shares, bands, advice, remarks, and where nothing can be said."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from lobewright.design.files import design_from_data
from lobewright.design.model import Design
from lobewright.design.starters import starter_data
from lobewright.sources import Flag
from lobewright.strength.creep import set_after_hold
from lobewright.strength.items import NotMade, SafetyItem
from lobewright.strength.material import REMEMBERED, CreepLaw, Direction, StrengthData
from lobewright.strength.parked import Parked, parked, parked_items, time_words
from lobewright.strength.remark import Remark
from lobewright.torque.interval import Interval


def design(days: float = 30.0, kind: str = "printed_cup-paired_rollers") -> Design:
    return design_from_data(starter_data(kind) | {"strength": {"parked_days": days}})


def interval(low: float, middle: float, high: float) -> Interval:
    return Interval("exponent", low, middle, high, False, "memory", Flag.REMEMBERED)


DATA = StrengthData(
    material="invented",
    words="an invented plastic",
    direction=Direction.IN_LAYERS,
    temperature_k=295.0,
    metal=False,
    modulus_mpa=interval(900.0, 1000.0, 1100.0),
    ultimate_mpa=None,
    yield_mpa=None,
    curve=None,
    curve_words="",
    creep=CreepLaw(interval(0.07, 0.09, 0.12), 0.01, 1000.0),
    lacking=(("creep", "nobody has bent it for long"),),
    remarks=(),
    source_keys=("memory",),
)


def stood(days: float = 30.0, **change: object) -> Parked:
    found = parked(design(days), replace(DATA, **change))
    assert isinstance(found, Parked)
    return found


def law(low: float, middle: float, high: float, from_h: float = 0.01, to_h: float = 1000.0) -> CreepLaw:
    return CreepLaw(interval(low, middle, high), from_h, to_h)


def test_stress_and_set_over_the_time() -> None:
    found = stood()
    assert found.hours[0] == pytest.approx(1 / 60) and found.hours[-1] == found.asked_hours == 720.0
    assert np.all(np.diff(found.hours) > 0)
    assert found.stress_left[0] == pytest.approx([1, 1, 1])
    assert found.stress_left[-1] == pytest.approx([43200**-n for n in (0.12, 0.09, 0.07)])
    assert found.set_share[-1] == pytest.approx([set_after_hold(n, 720.0, 1 / 60) for n in (0.07, 0.09, 0.12)])
    for band in (found.stress_left, found.set_share):
        assert np.all(np.diff(band, axis=1) >= 0)
    assert np.all(np.diff(found.stress_left[:, 1]) < 0) and np.all(np.diff(found.set_share[:, 1]) > 0)


def test_the_asked_time_is_on_the_axis_also_when_it_is_short() -> None:
    found = stood(0.25)
    assert 6.0 in found.hours and found.hours[-1] == 24.0


def test_advice_tells_numbers_and_what_to_do() -> None:
    advice = stood().advice
    assert "After 30 days in one place 62 % (53 to 73 %)" in advice
    # two lobes stand 180° apart
    assert "turn the generator by 45°" in advice and "at least every 4.4 hours" in advice
    assert "store the ring round" in advice and "below 10 % after 16 days" in advice


def test_a_ring_that_hardly_sets_may_stand() -> None:
    advice = stood(creep=law(0.02, 0.026, 0.035)).advice
    assert "it may stand so" in advice and "turn the generator" not in advice


def test_three_lobes_turn_by_thirty_degrees() -> None:
    made = design()
    other = made.model_copy(update={"generator": made.generator.model_copy(update={"lobes": 3})})
    found = parked(other, DATA)
    assert isinstance(found, Parked) and "by 30°" in found.advice


@pytest.mark.parametrize(
    ("creep", "remark", "words"),
    [
        (law(0.07, 0.09, 0.12), None, ""),
        (law(0.07, 0.09, 0.12, to_h=100.0), None, "beyond the longest test of 4.2 days"),
        (law(0.07, 0.09, 0.12, from_h=1.0), None, "the time before 1 hour is read back from later tests"),
        (law(0.07, 0.09, 0.12), REMEMBERED, "creep remembered"),
        (law(0.07, 0.09, 0.12, 1.0, 100.0), Remark("one source"), "4.2 days; the time before 1 hour"),
    ],
)
def test_what_lies_outside_the_evidence_is_said(creep: CreepLaw, remark: Remark | None, words: str) -> None:
    found = stood(creep=creep, remarks=(("creep", remark),) if remark else ()).remark
    assert words in found and (found == "") is (words == "")


def test_set_against_half() -> None:
    (item,) = parked_items(design(), DATA)
    assert isinstance(item, SafetyItem)
    low, middle, high = (100 * set_after_hold(n, 720.0, 1 / 60) for n in (0.07, 0.09, 0.12))
    assert (item.name, item.unit, item.strength) == ("parked_set", "%", 50.0)
    assert item.load == pytest.approx(middle)
    assert (item.safety.low, item.safety.middle, item.safety.high) == pytest.approx((50 / high, 50 / middle, 50 / low))
    assert "trade_practice" in item.working.sources and "custom" in item.working.numbers


def test_a_drive_that_never_stands_asks_nothing() -> None:
    assert parked_items(design(0.0), DATA) == ()
    assert "After 24 hours" in stood(0.0).advice


@pytest.mark.parametrize(("kind", "part"), [("printed_cup-paired_rollers", "ring"), ("belt-paired_rollers", "belt")])
def test_without_a_law_the_reason_is_the_material_s(kind: str, part: str) -> None:
    made, data = design(kind=kind), replace(DATA, creep=None)
    why = NotMade("parked_set", "Set of the ring after it has stood still", part, "nobody has bent it for long")
    assert parked(made, data) == why
    assert parked_items(made, data) == (why,)


def test_a_material_that_may_flow_is_not_told() -> None:
    found = parked(design(), replace(DATA, creep=law(0.3, 0.6, 1.2), temperature_k=353.15))
    assert isinstance(found, NotMade)
    assert "an invented plastic may flow at 80 °C (exponent of creep up to 1.2)" in found.why


@pytest.mark.parametrize(
    ("hours", "words"),
    [
        (1 / 60, "1 minute"),
        (0.5, "30 minutes"),
        (1.0, "1 hour"),
        (4.44, "4.4 hours"),
        (24.0, "24 hours"),
        (720.0, "30 days"),
    ],
)
def test_times_in_words(hours: float, words: str) -> None:
    assert time_words(hours) == words
    assert time_words(24 * 365.0) == "365 days"


def test_no_time_is_refused() -> None:
    with pytest.raises(ValueError, match="not a time"):
        time_words(-1.0)
