"""Strength and life of whole drives: which checks are asked, how they are ordered and graded, what one change would do."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from lobewright.assessment.life import Life, check_materials, life
from lobewright.assessment.life_verdicts import life_verdicts
from lobewright.assessment.loaded_states import LoadedStates, solve_states
from lobewright.assessment.results import Assessment
from lobewright.assessment.run import assess
from lobewright.design.edits import Edit, apply
from lobewright.design.files import design_from_data
from lobewright.design.model import Design
from lobewright.design.starters import starter_data
from lobewright.design.workshop import OwnedBearings, Workshop
from lobewright.errors import DesignFault
from lobewright.life_advice import WhatIf, life_suggestions, weakest_of
from lobewright.strength.items import Item, LifeItem, NotMade, SafetyItem, Span
from lobewright.strength.remark import Remark
from lobewright.verdict import State, Working

OUTPUT = {"bearing": "6001", "count": 2, "spacing_mm": 30.0}
STEP = {"name": "invented step", "torque_Nm": 0.5, "peak_torque_Nm": 0.8, "speed_rpm": 2.0, "hours": 5.0}
GENTLE = STEP | {"torque_Nm": 0.05, "peak_torque_Nm": 0.1}
"""What a belt carries."""
HOW = Working("a / b", "a 1, b 2", ("derived_here",))


def drive(kind: str = "printed_ring-paired_rollers", **more: object) -> Design:
    step = GENTLE if kind == "belt" else STEP
    data = starter_data(kind) | {"duty": [step], "output_bearing": OUTPUT} | more
    return design_from_data(data)


@cache
def solved(kind: str = "printed_ring-paired_rollers") -> tuple[Assessment, LoadedStates]:
    found = assess(drive(kind))
    (step,) = found.design.duty
    return found, solve_states(found, 1000.0 * step.torque_Nm, 1000.0 * step.peak_torque_Nm)


@cache
def lasting(kind: str = "printed_ring-paired_rollers") -> Life:
    return life(*solved(kind))


def changed(**more: object) -> Life:
    """The same loaded states under another duty or rule of judging."""
    _, states = solved()
    return life(assess(drive(**more)), states)


def band(item: Item) -> Span:
    assert isinstance(item, LifeItem | SafetyItem)
    return item.duties if isinstance(item, LifeItem) else item.safety


def named(found: Life, name: str) -> Item:
    return next(one for one in found.items if one.name == name)


def test_every_part_is_asked_and_the_weakest_stands_first() -> None:
    found = lasting()
    made = [item for item in found.items if not isinstance(item, NotMade)]
    assert {item.part for item in made} == {"ring", "bearing", "rigid"}
    assert [band(item).low for item in made] == sorted(band(item).low for item in made)
    assert all(isinstance(item, NotMade) for item in found.items[len(made) :])
    assert {course.name.split(":")[0] for course in found.courses} == {"rim_root", "rim_inside"}
    assert len({item.name for item in found.items}) == len(found.items)


def test_every_verdict_grades_the_weakest_of_its_part() -> None:
    found = lasting()
    names = [verdict.name for verdict in found.verdicts]
    assert names[:5] == ["ring_life", "bearing_life", "ring_strength", "bearing_strength", "rigid_strength"]
    lives = [item.duties for item in found.items if isinstance(item, LifeItem) and item.part == "ring"]
    weakest = min(lives, key=lambda span: span.low)
    verdict = next(one for one in found.verdicts if one.name == "ring_life")
    assert verdict.value == pytest.approx(weakest.middle)
    assert verdict.unit == "times the duty" and verdict.limit == 1.0
    for one in found.verdicts:
        assert one.sentence.endswith(".") and one.sentence[0].isupper()


def test_twice_the_hours_are_half_the_life_and_the_same_strength() -> None:
    before, after = lasting(), changed(duty=[STEP | {"hours": 10.0}])
    for item in before.items:
        if isinstance(item, LifeItem):
            assert band(named(after, item.name)).middle == pytest.approx(0.5 * item.duties.middle, rel=1e-6), item.name
        elif isinstance(item, SafetyItem) and item.name != "parked_set":
            assert band(named(after, item.name)).middle == pytest.approx(item.safety.middle, rel=1e-9), item.name


def test_two_equal_steps_are_one_of_twice_the_hours() -> None:
    once, twice = changed(duty=[STEP | {"hours": 10.0}]), changed(duty=[STEP, STEP | {"name": "the same again"}])
    for item in once.items:
        if isinstance(item, LifeItem):
            assert band(named(twice, item.name)).middle == pytest.approx(item.duties.middle, rel=1e-6), item.name


def test_the_criterion_is_switched_in_the_design() -> None:
    lives = {
        rule: min(
            band(item).middle for item in changed(strength={"criterion": rule}).items if isinstance(item, LifeItem)
        )
        for rule in ("soderberg", "modified_goodman", "gerber")
    }
    assert lives["soderberg"] < lives["modified_goodman"] < lives["gerber"]


def test_life_over_torque_and_speed_falls_with_both() -> None:
    found = lasting().life_map
    assert found is not None and found.names == ("ring", "bearings")
    assert (np.diff(found.hours[:, :, :, 1], axis=2) <= 1e-9 * found.hours[:, :, 1:, 1]).all()
    assert np.allclose(found.hours[0, 0], 4.0 * found.hours[0, 1])  # speeds stand 1 : 4 : 16
    at_duty = np.interp(500.0, found.torque_nmm, np.log(found.hours[0, 1, :, 1]))
    least = min(item.duties.middle for item in lasting().items if isinstance(item, LifeItem) and item.part == "ring")
    assert math.exp(at_duty) == pytest.approx(5.0 * least, rel=0.1)


def test_counted_balls_that_have_no_room_cost_only_the_checks_of_their_bearing() -> None:
    found, states = solved()
    drawer = OwnedBearings(designation=found.design.generator.bearing, count=4, balls=40)
    design = found.design.model_copy(update={"owned": Workshop(schema_version=1, bearings=(drawer,))})
    after = life(replace(found, design=design), replace(states, drive=replace(states.drive, design=design)))
    missed = {one.name: one.why for one in after.items if isinstance(one, NotMade)}
    assert "at most" in missed["roller_bearing"] and "at most" in missed["roller_bearing_static"]
    assert after.points and after.life_map is not None and after.life_map.names == ("ring",)


def test_without_a_duty_nothing_is_graded() -> None:
    found = changed(duty=[])
    assert found.duty is None and found.points == () and found.life_map is None
    assert found.courses
    graded = [one for one in found.verdicts if one.state is not State.NOT_MADE]
    assert [one.name for one in graded] in ([], ["parked_set"])
    assert all("no duty" in one.sentence for one in found.verdicts if one.name.endswith(("life", "strength")))


def test_a_belt_has_no_fatigue_and_says_so() -> None:
    found = lasting("belt")
    assert found.courses == () and found.profile is None and found.parked is None
    verdict = next(one for one in found.verdicts if one.name == "ring_life")
    assert verdict.state is State.NOT_MADE and "no published life" in verdict.sentence.lower()
    tooth = named(found, "belt_tooth_shear")
    assert isinstance(tooth, NotMade) and "[[belt_tooth_shear]]" in tooth.why


def test_a_material_out_of_its_temperatures_is_refused_with_the_range() -> None:
    found, states = solved()
    warm = assess(drive(ambient_temperature_C=149.0))
    with pytest.raises(DesignFault, match=r"ambient_temperature_C.*149.*°C"):
        life(warm, states)
    with pytest.raises(DesignFault, match=r"ambient_temperature_C.*149.*°C"):
        check_materials(warm.design)
    check_materials(found.design)
    assert found.design.ambient_temperature_C < 149.0


# --- verdicts ---------------------------------------------------------------------------------------------------------


def safe(low: float, middle: float, name: str = "bolt") -> SafetyItem:
    return SafetyItem(name, name, "rigid", Span(low, middle, 2 * middle), 1.0, middle, "MPa", HOW)


@pytest.mark.parametrize(
    ("low", "middle", "state"), [(1.0, 2.0, State.PASS), (0.9, 2.0, State.WARN), (0.1, 0.99, State.FAIL)]
)
def test_a_band_fails_by_its_middle_and_warns_by_its_low_end(low: float, middle: float, state: State) -> None:
    (verdict,) = life_verdicts([safe(low, middle), safe(5.0, 6.0, "pin")])
    assert (verdict.name, verdict.state, verdict.value) == ("rigid_strength", state, middle)
    assert "bolt" in verdict.sentence


def test_a_number_that_is_capped_says_so() -> None:
    (many,) = life_verdicts([safe(900.0, 5000.0)])
    (few,) = life_verdicts([safe(900.0, 1000.0)])
    assert (many.value, many.unit) == (1000.0, "times the load, or more")
    assert (few.value, few.unit) == (1000.0, "times the load")


def test_what_was_not_made_is_told_beside_what_was() -> None:
    missed = NotMade("pin", "Pins", "rigid", "no strength is known for cheese")
    (verdict,) = life_verdicts([safe(2.0, 3.0), missed])
    assert verdict.state is State.PASS and "not made: no strength is known for cheese" in verdict.sentence
    (alone,) = life_verdicts([missed])
    assert alone.state is State.NOT_MADE and alone.value is None
    of_life = NotMade("roll", "Rollers", "bearing", "no rating", of_life=True)
    assert [one.name for one in life_verdicts([of_life])] == ["bearing_life"]


def test_a_set_warns_and_never_fails() -> None:
    item = SafetyItem("parked_set", "Set", "ring", Span(0.1, 0.2, 0.3), 90.0, 50.0, "%", HOW, Remark("a guess"))
    (verdict,) = life_verdicts([item])
    assert (verdict.name, verdict.state, verdict.value, verdict.limit) == ("parked_set", State.WARN, 90.0, 50.0)
    assert verdict.margin == -40.0 and "a guess" in verdict.sentence


# --- what if ------------------------------------------------------------------------------------------------------------


def test_the_first_change_that_turns_a_verdict_and_breaks_nothing_is_advised() -> None:
    weak = changed(duty=[STEP | {"hours": 1e6}])
    assert next(one for one in weak.verdicts if one.name == "ring_life").state is State.FAIL
    before = weakest_of(weak)

    def tried(words: str, turns: tuple[str, ...], breaks: tuple[str, ...]) -> WhatIf:
        return WhatIf(words, (Edit("flexible_ring.wall_mm", 1.0),), before, before, turns, breaks)

    assert life_suggestions(weak, (tried("no use", (), ()), tried("breaks", ("ring_life",), ("bed",)))) == ()
    good = tried("good", ("ring_life",), ())
    assert [one.edits for one in life_suggestions(weak, (good,))] == [good.edits]
    assert life_suggestions(lasting("belt"), (good,)) == ()


def test_slower_lasts_as_many_bends_as_before() -> None:
    design = apply(drive(), (Edit("duty[1].speed_rpm", 1.0),))
    found, states = solved()
    slow = life(assess(design), states)
    ring = [item.name for item in slow.items if isinstance(item, LifeItem) and item.part == "ring"]
    for name in ring:
        assert band(named(slow, name)).middle == pytest.approx(2.0 * band(named(lasting(), name)).middle, rel=1e-6)
    assert found.design != design


@pytest.mark.parametrize(
    ("why", "told"),
    [
        ("generator.race_wall_mm: no room", "generator.race_wall_mm: no room."),
        ("output_bearing: one alone", "output_bearing: one alone."),
        ("no rating", "No rating."),
    ],
)
def test_a_key_of_the_file_keeps_its_small_letter(why: str, told: str) -> None:
    (verdict,) = life_verdicts([NotMade("roll", "Rollers", "bearing", why, of_life=True)])
    assert verdict.sentence == told
