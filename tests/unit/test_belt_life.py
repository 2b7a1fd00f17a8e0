"""What a belt bears: bends under torque, tension by width, tooth shear from the owner's tests; and what is not made."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from lobewright.assessment.results import Assessment
from lobewright.assessment.stiffness import loaded_drive
from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.design.workshop import BeltToothTest, Workshop
from lobewright.errors import CatalogueFault
from lobewright.strength import belt_bend, belt_life
from lobewright.strength.belt_bend import smallest_bend
from lobewright.strength.belt_life import allowed_tension_n, belt_items
from lobewright.strength.duty import Duty, DutyPart
from lobewright.strength.items import Item, NotMade, SafetyItem
from lobewright.torque.belt import belt_stiffness
from lobewright.torque.inputs import DriveInput
from lobewright.torque.results import Health, LoadShare, RowLoad

NAMES = ["belt_bend_radius", "belt_cord_tension", "belt_tooth_shear", "belt_life"]
HEALTH = Health(4, 1, 1, 0.0, 0.0, 0.0, 0.0)


@pytest.fixture(scope="module")
def drive(assessed_starter: Callable[[str], Assessment]) -> DriveInput:
    return loaded_drive(assessed_starter("belt"))


def row(name: str, moment: float, normal: float, tangential: float) -> RowLoad:
    """A row with these largest values; the rest is zero."""
    none = np.zeros(3)
    return RowLoad(
        name=name,
        label_deg=none,
        force_n=none,
        tangential_n=np.array([0.0, 0.5 * tangential, -tangential]),
        outward_n=none,
        torque_nmm=none,
        pressure_mpa=none,
        place=("", "", ""),
        lean_mm=none,
        section_label_deg=none,
        moment_nmm=np.array([0.0, moment, -2.0 * moment]),
        normal_n=np.array([-9.0 * normal, normal, 0.0]),
        inner_stress_mpa=none,
        outer_stress_mpa=none,
        positions_mm=np.zeros((3, 2)),
    )


def share(
    drive: DriveInput, torque: float, moment: float = 0.0, normal: float = 0.0, tangential: float = 0.0
) -> LoadShare:
    """A state; the second row bears half of the first."""
    rows = tuple(row(one.name, moment / k, normal / k, tangential / k) for k, one in enumerate(drive.rows, start=1))
    none = np.zeros(2)
    return LoadShare(torque, 0.0, {}, rows, np.zeros((1, 2, 2)), none, none, none, none, none, np.zeros((2, 0)), HEALTH)


def duty(peak: float) -> Duty:
    part = DutyPart("invented", 0.5 * peak, peak, 1.0, 60.0, 1.0, 120.0, 1.0, None, 0.0, 0.0, 0.0)
    return Duty(2, (part,), None)


def named(items: tuple[Item, ...], name: str) -> Item:
    return next(item for item in items if item.name == name)


def safety_of(items: tuple[Item, ...], name: str) -> SafetyItem:
    found = named(items, name)
    assert isinstance(found, SafetyItem), found
    return found


def shaped(drive: DriveInput, **change: object) -> DriveInput:
    ring = drive.design.flexible_ring.model_copy(update=change)
    return replace(drive, design=drive.design.model_copy(update={"flexible_ring": ring}))


def with_tests(drive: DriveInput, *tests: BeltToothTest) -> DriveInput:
    owned = Workshop(schema_version=1, belt_tooth_shear=tests)
    return replace(drive, design=drive.design.model_copy(update={"owned": owned}))


def half_mm(drive: DriveInput) -> float:
    belt = drive.design.flexible_ring
    assert isinstance(belt, m.Belt)
    return 0.5 * belt.width_mm


def test_four_items_for_a_belt_and_none_for_others(
    drive: DriveInput, assessed_starter: Callable[[str], Assessment]
) -> None:
    assert [item.name for item in belt_items(drive, (share(drive, 100.0),), duty(100.0))] == NAMES
    cup = loaded_drive(assessed_starter("printed_cup"))
    assert belt_items(cup, (), duty(100.0)) == ()


def test_at_rest_the_bend_is_the_generator_s(drive: DriveInput) -> None:
    found = safety_of(belt_items(drive, (share(drive, 0.0),), duty(0.0)), "belt_bend_radius")
    rest = float(drive.shape.curvature_1_per_mm.max())
    assert found.load == pytest.approx(1 / rest)
    usual = smallest_bend(drive.design.flexible_ring)
    assert usual is not None
    limit = usual.radius_mm
    assert found.strength == pytest.approx(limit.middle)
    assert found.safety.middle == pytest.approx(1 / rest / limit.middle)
    # the shape does not hang on the belt's stiffness: only the limit is uncertain
    assert found.safety.high / found.safety.middle == pytest.approx(belt_bend.LIMIT_SPREAD)


def test_torque_bends_a_soft_belt_more_and_its_band_is_the_stiffness_s(drive: DriveInput) -> None:
    stiffness = belt_stiffness(drive.design).bending_nmm2_per_mm
    rest, free = float(drive.shape.curvature_1_per_mm.max()), 1 / drive.geometry.neutral_radius_mm
    moment = (0.05 - free) * stiffness.middle * half_mm(drive)
    found = safety_of(belt_items(drive, (share(drive, 100.0, moment=moment),), duty(100.0)), "belt_bend_radius")
    assert found.load == pytest.approx(20.0)
    worst = rest + (0.05 - rest) * stiffness.middle / stiffness.low
    spread = math.hypot(math.log(worst / 0.05), math.log(belt_bend.LIMIT_SPREAD))
    assert found.safety.middle / found.safety.low == pytest.approx(math.exp(spread))


def test_limits_of_the_bend() -> None:
    def belt(name: str) -> m.Belt:
        return m.Belt(kind="belt", designation=name, teeth=100, width_mm=10.0)

    # an idler of 30 mm under a back of 2.2 − 1.2 − 0.5 mm
    t5 = smallest_bend(belt("T5"))
    assert t5 is not None and t5.known and t5.radius_mm.middle == pytest.approx(15.5)
    c3m = smallest_bend(belt("C3M"))
    assert c3m is not None and not c3m.known and c3m.radius_mm.middle == pytest.approx(2 * 16 * 3 / (2 * math.pi))
    assert (c3m.radius_mm.low, c3m.radius_mm.high) == pytest.approx(
        (c3m.radius_mm.middle / 1.3, c3m.radius_mm.middle * 1.3)
    )


def test_the_rule_for_belts_without_an_idler_is_the_scatter_of_those_with_one() -> None:
    ratios = []
    for row_ in catalogue.belt_profiles():
        if row_.min_back_idler_mm is not None and row_.min_pulley_teeth is not None:
            pulley = row_.pitch_mm * row_.min_pulley_teeth / (2 * math.pi)
            ratios.append((0.5 * row_.min_back_idler_mm + row_.back_offset_mm) / pulley)
    logs = np.log(ratios)
    assert len(ratios) == 6
    assert math.exp(logs.mean()) == pytest.approx(belt_bend.BACK_BEND, rel=0.05)
    assert math.exp(1.645 * logs.std(ddof=1)) == pytest.approx(belt_bend.LIMIT_SPREAD, rel=0.05)


def test_tension_of_the_worst_section_over_the_whole_belt(drive: DriveInput) -> None:
    found = safety_of(belt_items(drive, (share(drive, 100.0, normal=30.0),), duty(100.0)), "belt_cord_tension")
    belt = drive.design.flexible_ring
    assert isinstance(belt, m.Belt)
    # the two rows share the belt by halves, so its worst half stands for the whole
    assert found.load == pytest.approx(60.0)
    assert found.strength == pytest.approx(allowed_tension_n(belt.designation, belt.width_mm))
    assert found.safety.middle == pytest.approx(found.strength / 60.0)
    spread = math.hypot(math.log(belt_life.TENSION_SPREAD), math.log(belt_life.LOAD_SPREAD))
    assert found.safety.low == pytest.approx(found.safety.middle * math.exp(-spread))


def test_no_tension_is_no_load(drive: DriveInput) -> None:
    found = safety_of(belt_items(drive, (share(drive, 100.0, normal=-5.0),), duty(100.0)), "belt_cord_tension")
    assert found.load >= 0.0
    slack = safety_of(belt_items(drive, (share(drive, 100.0),), duty(100.0)), "belt_cord_tension")
    assert slack.safety.low == math.inf


@pytest.mark.parametrize("name", ["MXL", "T5", "C3M", "H5M"])
def test_narrow_belts_carry_less_than_in_proportion(name: str) -> None:
    told = catalogue.belt_profile(name)
    assert told.tension_n_per_mm is not None and told.tension_width_mm is not None
    whole = allowed_tension_n(name, told.tension_width_mm)
    assert whole == pytest.approx(told.tension_n_per_mm * told.tension_width_mm)
    assert allowed_tension_n(name, 0.5 * told.tension_width_mm) == pytest.approx(whole * 0.5**1.14)


def test_shear_against_the_owner_s_tests(drive: DriveInput) -> None:
    own = with_tests(
        drive, BeltToothTest(designation="c3m", width_mm=9.0, shear_force_N=180.0, shear_force_uncertainty_N=18.0)
    )
    face = drive.rows[0].width_mm
    found = safety_of(belt_items(own, (share(own, 100.0, tangential=14.0),), duty(100.0)), "belt_tooth_shear")
    assert found.load == pytest.approx(14.0)
    assert found.strength == pytest.approx(20.0 * face)
    assert found.safety.middle == pytest.approx(20.0 * face / 14.0)
    spread = math.hypot(1.645 * 0.1, math.log(belt_life.LOAD_SPREAD))
    assert found.safety.low == pytest.approx(found.safety.middle * math.exp(-spread), rel=1e-3)


def test_tests_that_scatter_widen_the_band(drive: DriveInput) -> None:
    def tested(*forces: float) -> SafetyItem:
        rows = (
            BeltToothTest(designation="C3M", width_mm=9.0, shear_force_N=force, shear_force_uncertainty_N=1.0)
            for force in forces
        )
        own = with_tests(drive, *rows)
        return safety_of(belt_items(own, (share(own, 100.0, tangential=14.0),), duty(100.0)), "belt_tooth_shear")

    alike, apart = tested(180.0, 180.0, 180.0), tested(150.0, 180.0, 216.0)
    assert alike.safety.middle == pytest.approx(apart.safety.middle)
    # ln 1.2 from tooth to tooth, three tests: Student's 2.92 for the next tooth
    spread = math.hypot(math.log(1.3), 2.92 * math.log(1.2) * math.sqrt(4 / 3))
    assert apart.safety.low == pytest.approx(apart.safety.middle * math.exp(-spread), rel=0.01)
    assert "3 tests" in apart.working.numbers


def test_without_a_test_of_this_belt_shear_is_not_made(drive: DriveInput) -> None:
    other = BeltToothTest(designation="T5", width_mm=9.0, shear_force_N=180.0, shear_force_uncertainty_N=1.0)
    for one in (drive, with_tests(drive, other)):
        found = named(belt_items(one, (share(one, 100.0),), duty(100.0)), "belt_tooth_shear")
        assert isinstance(found, NotMade) and not found.of_life
        assert "no tooth shear strength is known for C3M" in found.why and "[[belt_tooth_shear]]" in found.why


def test_states_count_up_to_the_first_that_reaches_the_peak(drive: DriveInput) -> None:
    states = tuple(share(drive, torque, normal=normal) for torque, normal in ((-300.0, 9.0), (0.0, 1.0), (100.0, 2.0)))
    asked = {
        peak: safety_of(belt_items(drive, states, duty(peak)), "belt_cord_tension").load for peak in (0.0, 60.0, 250.0)
    }
    assert list(asked.values()) == pytest.approx([2.0, 4.0, 18.0])


def test_a_peak_that_was_not_reached_is_not_judged(drive: DriveInput) -> None:
    found = belt_items(drive, (share(drive, 100.0, normal=1.0),), duty(2000.0))
    assert [item.name for item in found] == NAMES
    assert all(isinstance(item, NotMade) for item in found)
    assert "2 N·m was not reached: solved up to 0.1 N·m" in found[0].why


def test_life_is_not_made_and_says_why(drive: DriveInput) -> None:
    found = belt_items(drive, (share(drive, 100.0),), duty(100.0))[-1]
    assert isinstance(found, NotMade) and found.of_life and "no published life" in found.why


def test_belts_of_which_too_little_is_known(drive: DriveInput, monkeypatch: pytest.MonkeyPatch) -> None:
    # the catalogue knows no tension of AT5
    at5 = shaped(drive, designation="AT5")
    found = belt_items(at5, (share(at5, 100.0),), duty(100.0))
    assert named(found, "belt_cord_tension") == NotMade(
        "belt_cord_tension", "Tension of the belt's cords", "belt", "no allowed tension is known for AT5"
    )
    bare = replace(catalogue.belt_profile("C3M"), min_pulley_teeth=None)
    monkeypatch.setattr(belt_bend, "belt_heights", lambda belt: (bare, 0.381, 1.14, 2.4))
    why = named(belt_items(drive, (share(drive, 100.0),), duty(100.0)), "belt_bend_radius")
    assert isinstance(why, NotMade) and "no smallest pulley and no smallest idler" in why.why


def test_an_unknown_belt_is_refused() -> None:
    with pytest.raises(CatalogueFault):
        allowed_tension_n("C7Q", 10.0)


def test_the_quick_check_holds_the_belt_to_the_same_limit(
    drive: DriveInput, assessed_starter: Callable[[str], Assessment]
) -> None:
    quick = next(one for one in assessed_starter("belt").verdicts if one.name == "belt_bend")
    item = safety_of(belt_items(drive, (share(drive, 0.0),), duty(0.0)), "belt_bend_radius")
    assert (quick.value, quick.limit) == pytest.approx((item.load, item.strength))
    assert "teeth outward" in quick.sentence and "by comparison" in quick.sentence
