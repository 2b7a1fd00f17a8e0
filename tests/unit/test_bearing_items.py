"""Checks of all ball bearings of a drive: what is made, what says why it is not, and where a number is called weak."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from lobewright.assessment.stiffness import loaded_drive
from lobewright.design import model as m
from lobewright.design.workshop import OwnedBearings, Workshop
from lobewright.errors import DesignFault
from lobewright.motion import motion
from lobewright.strength import bearing_life as bl
from lobewright.strength import bearing_rating as br
from lobewright.strength.bearing_items import bearing_items, roller_hours_at
from lobewright.strength.bearing_load import roller_bearings, turns_factor
from lobewright.strength.duty import Duty, duty_of
from lobewright.strength.items import Item, LifeItem, NotMade, SafetyItem, Span
from lobewright.strength.output_bearing import reactions
from lobewright.strength.remark import Weak
from lobewright.strength.thin_race import lobe_force_n, race_bending
from lobewright.torque.ask import load_share
from lobewright.torque.inputs import DriveInput, estimated_inputs

STEP = m.DutyStep(name="invented step", torque_Nm=1.0, peak_torque_Nm=2.0, speed_rpm=2.0, hours=200.0)
RATED, PEAK = 1000.0, 2000.0


def state(torque_nmm: float, forces_n: list[list[float]]) -> SimpleNamespace:
    """A solved state as far as bearings read it: outward force of each body on each row."""
    angle = np.linspace(0.0, 2.0 * math.pi, len(forces_n), endpoint=False)
    size = np.array(forces_n)
    return SimpleNamespace(
        torque_nmm=torque_nmm,
        body_force_n=np.stack((size * np.cos(angle)[:, None], size * np.sin(angle)[:, None]), axis=2),
    )


def changed(drive: DriveInput, **what: object) -> DriveInput:
    return replace(drive, design=drive.design.model_copy(update={"duty": (STEP,)} | what))


@pytest.fixture(scope="module")
def pairs(assessed_starter) -> DriveInput:
    return changed(loaded_drive(assessed_starter("printed_cup-paired_rollers")))


@pytest.fixture(scope="module")
def thin(assessed_starter) -> DriveInput:
    return changed(loaded_drive(assessed_starter("metal_cup-cam_thin_bearing")))


STATES = [
    state(0.0, [[5.0]] * 4),
    state(RATED, [[1.0], [60.0], [1.0], [50.0]]),
    state(PEAK, [[0.0], [110.0], [0.0], [90.0]]),
]


def duty(drive: DriveInput) -> Duty:
    found = duty_of(drive.design, motion(drive.design))
    assert found is not None
    return found


def named(items: tuple[Item, ...], name: str) -> Item:
    return next(item for item in items if item.name == name)


def life(items: tuple[Item, ...], name: str = "roller_bearing") -> LifeItem:
    found = named(items, name)
    assert isinstance(found, LifeItem), found
    return found


def safety(items: tuple[Item, ...], name: str) -> SafetyItem:
    found = named(items, name)
    assert isinstance(found, SafetyItem), found
    return found


# --- rollers and discs -----------------------------------------------------------------------------------------------


def test_a_roller_turns_as_the_back_of_the_ring_runs_past_it(pairs: DriveInput) -> None:
    radius, h = pairs.shape.radius_mm, pairs.geometry.inner_offset_mm
    assert turns_factor(pairs) == pytest.approx((radius - h) / 11.0, rel=2e-3)


def test_the_life_of_rollers_is_that_of_the_sum_over_the_duty(pairs: DriveInput) -> None:
    items = bearing_items(pairs, STATES, duty(pairs))
    found, made = life(items), roller_bearings(pairs, STATES)
    turns = duty(pairs).bends / 2 * made.turns_factor
    assert found.asked == pytest.approx(turns) and found.counted == "turns of a roller" and made.count == 1
    # 608 as printed: 3296 and 3350 N
    lives = np.array([1e6 / turns * (math.sqrt(3296.0 * 3350.0) / load) ** 3 for load in (60.0, 50.0)])
    log_sd = 3.0 * math.log(1.1**2 * 3350.0 / 3296.0) / (2.0 * 1.6448536)
    assert found.duties.middle == pytest.approx(bl.band_of(lives, log_sd).middle, rel=1e-4)
    assert found.duties.low == pytest.approx(bl.band_of(lives, log_sd).low, rel=1e-4)
    held = safety(items, "roller_bearing_static")
    assert held.load == pytest.approx(110.0) and held.safety.middle == pytest.approx(held.strength / held.load)


def test_forces_taken_larger_cost_life_with_the_cube(pairs: DriveInput) -> None:
    once = life(bearing_items(pairs, STATES, duty(pairs)))
    twice = life(bearing_items(pairs, STATES, duty(pairs), force_factor=Span(2.0, 2.0, 2.0)))
    wide = life(bearing_items(pairs, STATES, duty(pairs), force_factor=Span(0.5, 1.0, 2.0)))
    assert twice.duties.middle == pytest.approx(once.duties.middle / 8.0)
    assert wide.duties.low < 0.5 * once.duties.low and wide.duties.high > 2.0 * once.duties.high


def test_more_reliability_asks_for_an_earlier_end(pairs: DriveInput) -> None:
    sure, surer = (life(bearing_items(pairs, STATES, duty(pairs), reliability_percent=r)) for r in (90.0, 99.0))
    assert sure.duties == surer.duties
    spread = 3.0 * math.log(1.1**2 * 3350.0 / 3296.0) / (2.0 * 1.6448536)
    for found, share in ((sure, 0.1), (surer, 0.01)):
        lives = np.array([1e6 / found.asked * (math.sqrt(3296.0 * 3350.0) / load) ** 3 for load in (60.0, 50.0)])
        told = re.search(r"(\d+) % of drives have no failure before (\S+) duties", found.working.numbers)
        assert told is not None and int(told[1]) == round(100 * (1 - share))
        assert float(told[2]) == pytest.approx(bl.quantile(lives, spread, share), rel=1e-3)


def test_a_record_counts_like_the_step_that_it_tells(pairs: DriveInput) -> None:
    drive = changed(pairs, duty=(), recorded_motion=m.RecordedMotion(
        file="record.csv", repeats=1.0, points=((0.0, 0.0, 1.0), (200 * 3600.0, 2.0 * 60 * 200 * 360.0, 1.0))
    ))  # fmt: skip
    told, recorded = (life(bearing_items(one, STATES, duty(one))) for one in (pairs, drive))
    assert recorded.duties.middle == pytest.approx(told.duties.middle) and recorded.asked == pytest.approx(told.asked)


def test_a_torque_the_other_way_loads_the_other_rollers(pairs: DriveInput) -> None:
    points = tuple(
        (t, turn, torque)
        for t, turn, torque in ((0.0, 0.0, 1.0), (100.0, 3600.0, 1.0), (100.1, 3600.1, -1.0), (200.0, 7200.0, -1.0))
    )
    both = changed(pairs, duty=(), recorded_motion=m.RecordedMotion(file="record.csv", repeats=1.0, points=points))
    one = changed(pairs, duty=(), recorded_motion=m.RecordedMotion(
        file="record.csv", repeats=1.0, points=tuple((t, turn, 1.0) for t, turn, _ in points)
    ))  # fmt: skip
    shared, alone = (life(bearing_items(d, STATES, duty(d))).duties.middle for d in (both, one))
    assert shared > 1.2 * alone


def test_bearings_side_by_side_share_and_rows_load_them_unevenly(assessed_starter) -> None:
    drive = changed(loaded_drive(assessed_starter("belt-paired_rollers")))
    even, uneven = (roller_bearings(drive, [state(RATED, rows)]) for rows in ([[10.0, 10.0]] * 4, [[0.0, 20.0]] * 4))
    assert even.count > 1
    assert even.forces.force_n == pytest.approx(20.0, rel=0.05)
    assert (uneven.forces.force_n > 1.2 * even.forces.force_n).all()
    items = bearing_items(drive, [state(RATED, [[10.0, 10.0]] * 4)], duty(drive))
    single = br.rating_of(drive.design, even.bearing.designation)
    assert single.dynamic_n is not None and single.static_n is not None
    # n bearings that run as one are rated n^0.7 times one of them, at rest n times
    assert f"C = {single.dynamic_n.middle * even.count**0.7:.4g} N" in life(items).working.numbers
    assert safety(items, "roller_bearing_static").strength == pytest.approx(even.count * single.static_n.middle)


def test_discs_turn_on_their_bearings_a_little_faster_than_the_generator(assessed_starter) -> None:
    drive = changed(loaded_drive(assessed_starter("printed_ring-discs")))
    generator = drive.design.generator
    assert isinstance(generator, m.Discs)
    expected = drive.shape.radius_mm / (generator.disc_radius_mm + drive.geometry.inner_offset_mm)
    assert turns_factor(drive) == pytest.approx(expected, rel=1e-4) and 1.0 < expected < 1.3
    items = bearing_items(drive, [state(RATED, [[20.0], [20.0]])], duty(drive))
    assert "housing" not in life(items).remark and "discs" in life(items).title


def test_weak_numbers_say_so(pairs: DriveInput) -> None:
    slow = changed(pairs, duty=(STEP.model_copy(update={"speed_rpm": 0.001, "travel_deg": 0.3}),))
    remark = life(bearing_items(slow, STATES, duty(slow))).remark
    for word in ("without a housing", "no film", "false brinelling", "million hours"):
        assert word in remark, word
    assert "last state solved" not in remark
    heavy = [state(RATED, [[3000.0]] * 4)]
    remark = life(bearing_items(pairs, heavy, duty(pairs))).remark
    assert "half of its rating" in remark and "false brinelling" not in remark
    assert "last state solved" in safety(bearing_items(pairs, heavy, duty(pairs)), "roller_bearing_static").remark


def test_forces_go_on_beyond_the_last_state(pairs: DriveInput) -> None:
    found = roller_bearings(pairs, STATES).forces.at(np.array([500.0, 3000.0]))
    assert found[:, 1] == pytest.approx([32.5, 160.0]) and found[1, 0] == 0.0


def test_hours_at_a_torque_and_speed(pairs: DriveInput) -> None:
    once = roller_hours_at(pairs, STATES, RATED, 100.0)
    fast = roller_hours_at(pairs, STATES, RATED, 200.0)
    hard = roller_hours_at(pairs, STATES, PEAK, 100.0)
    assert once is not None and fast is not None and hard is not None
    assert fast.middle == pytest.approx(0.5 * once.middle) and hard.high < once.high
    still = roller_hours_at(pairs, STATES, RATED, 0.0)
    assert still is not None and math.isinf(still.low)
    steady = life(bearing_items(pairs, STATES, duty(pairs)))
    rpm = duty(pairs).bends / 2 / (60.0 * 200.0)
    at_duty = roller_hours_at(pairs, STATES, RATED, rpm)
    assert at_duty is not None and at_duty.middle == pytest.approx(200.0 * steady.duties.middle)


def test_no_rating_no_duty_no_room_say_why(pairs: DriveInput) -> None:
    bare = changed(pairs, generator=pairs.design.generator.model_copy(update={"bearing": "696"}))
    for name in ("roller_bearing", "roller_bearing_static"):
        found = named(bearing_items(bare, STATES, duty(bare)), name)
        assert isinstance(found, NotMade) and "696" in found.why and found.of_life == (name == "roller_bearing")
    assert roller_hours_at(bare, STATES, RATED, 100.0) is None
    items = bearing_items(pairs, STATES, None)
    assert isinstance(named(items, "roller_bearing"), NotMade) and safety(items, "roller_bearing_static").load == 110.0
    shop = Workshop(schema_version=1, bearings=(OwnedBearings(designation="608", count=4, balls=50),))
    wrong = named(bearing_items(changed(pairs, owned=shop), STATES, duty(pairs)), "roller_bearing")
    assert isinstance(wrong, NotMade) and "at most" in wrong.why
    with pytest.raises(DesignFault, match="no solved state"):
        roller_bearings(pairs, [])


# --- cams --------------------------------------------------------------------------------------------------------------


def test_a_plain_cam_has_no_bearing(thin: DriveInput) -> None:
    plain = changed(thin, generator=thin.design.generator.model_copy(update={"under": m.CamUnder.PLAIN}))
    found = named(bearing_items(plain, STATES, duty(plain)), "roller_bearing")
    assert isinstance(found, NotMade) and "slides" in found.why
    assert roller_hours_at(plain, STATES, RATED, 100.0) is None
    with pytest.raises(DesignFault, match="no roller bearings"):
        roller_bearings(plain, STATES)


def test_a_thin_bearing_says_which_keys_it_lacks(thin: DriveInput) -> None:
    items = bearing_items(thin, STATES, duty(thin))
    race, bearing = named(items, "thin_race"), named(items, "thin_bearing")
    assert isinstance(race, NotMade) and "race_wall_mm" in race.why and not race.of_life
    assert isinstance(bearing, NotMade) and "race_balls" in bearing.why and bearing.of_life
    static = named(items, "thin_bearing_static")
    assert isinstance(static, NotMade) and "race_balls" in static.why and not static.of_life


def test_a_thin_race_is_bent_by_the_shape_and_its_wall(thin: DriveInput) -> None:
    bends = [race_bending(thin.shape, 0.3, 5.0, wall) for wall in (0.5, 1.0)]
    assert bends[1].outer_mpa == pytest.approx(2.0 * bends[0].outer_mpa, rel=0.05)
    # thin and just inside the neutral line: E·t/2·(κ − 1/R)
    change = np.abs(thin.shape.curvature_1_per_mm - 1.0 / thin.shape.radius_mm).max()
    assert race_bending(thin.shape, 0.0, 5.0, 1e-3).outer_mpa == pytest.approx(208e3 * 0.5e-3 * change, rel=1e-3)
    # further inside the same wave is a tighter bend
    assert bends[1].inner_mpa > bends[1].outer_mpa
    with pytest.raises(DesignFault, match="do not fit"):
        race_bending(thin.shape, 0.3, 2.0, 1.0)


def test_a_thick_race_breaks_where_a_thin_one_holds(thin: DriveInput) -> None:
    cam = thin.design.generator.model_copy(update={"race_height_mm": 30.0})
    thick, slim = (
        safety(
            bearing_items(changed(thin, generator=cam.model_copy(update={"race_wall_mm": wall})), STATES, None),
            "thin_race",
        )
        for wall in (12.0, 1.0)
    )
    assert thick.safety.middle < 1.0 < slim.safety.low
    refused = bearing_items(changed(thin, generator=cam.model_copy(update={"race_wall_mm": 18.0})), STATES, None)
    assert all(isinstance(named(refused, name), NotMade) for name in ("thin_race", "thin_race_inner"))


def test_the_cut_ring_tells_what_the_rollers_push(assessed_starter) -> None:
    """On rollers the force at a lobe is known; the cut, that a cam needs, must give it: an open ring has no shell to pull."""
    drive = loaded_drive(assessed_starter("printed_ring-rollers"))
    share = load_share(drive, estimated_inputs(drive), 1500.0)
    known = share.body_force_n.sum(axis=1)
    for lobe, along in enumerate((known[0, 0], -known[1, 0])):
        assert lobe_force_n(share, 2, lobe) == pytest.approx(along, rel=0.03)
    cam = thin_cam(drive, 30, 2.0)
    items = bearing_items(cam, [share], duty(cam))
    found = life(items, "thin_bearing")
    assert (
        "order of magnitude" in found.remark
        and found.noted.weak == {Weak.ROUGH}
        and found.asked == pytest.approx(duty(cam).bends / 2)
    )
    # the cut, a factor 1.2 for what it lacks, and the rating of 30 balls of 2 mm midway between ring and cam
    pitch = 2.0 * (drive.shape.radius_mm - drive.geometry.inner_offset_mm) - 6.0
    forces = 1.2 * np.array([lobe_force_n(share, 2, lobe) for lobe in (0, 1)])
    lives = 1e6 / found.asked * (br.dynamic_rating_n(30, 2.0, pitch) / forces) ** 3
    told = re.search(r"rating life L10 (\S+) duties", found.working.numbers)
    assert told is not None and float(told[1]) == pytest.approx(lives.min(), rel=1e-3)
    fewer = life(bearing_items(thin_cam(drive, 15, 2.0), [share], duty(cam)), "thin_bearing")
    assert fewer.duties.middle == pytest.approx(0.25 * found.duties.middle)
    # dents: f0·Z·D² of ISO 76 by its table, once with a duty and once with none
    for static in (
        safety(items, "thin_bearing_static"),
        safety(bearing_items(cam, [share], None), "thin_bearing_static"),
    ):
        factor = np.interp(2.0 / pitch, (0.0, 0.05), (14.7, 15.7))
        assert static.safety.middle == pytest.approx(factor * 30 * 2.0**2 / forces.max(), rel=1e-3)
        assert static.safety.low < static.safety.middle < static.safety.high and static.noted.weak == {Weak.ROUGH}


def thin_cam(drive: DriveInput, balls: int, ball_mm: float) -> DriveInput:
    """The same solved ring over a thin bearing with these balls."""
    cam = m.Cam(
        kind="cam",
        curve="ellipse",
        under="thin_bearing",
        race_height_mm=6.0,
        race_wall_mm=1.2,
        race_balls=balls,
        race_ball_mm=ball_mm,
    )
    return changed(drive, generator=cam)


# --- the output --------------------------------------------------------------------------------------------------------


def loaded_output(drive: DriveInput, **more: float) -> DriveInput:
    step = STEP.model_copy(update={"overturning_moment_Nm": 3.0, "radial_force_N": 20.0} | more)
    return changed(drive, duty=(step,), output_bearing=m.OutputBearing(bearing="6004", count=2, spacing_mm=30.0))


def test_a_pair_at_the_output_carries_the_moment_over_its_spacing(pairs: DriveInput) -> None:
    drive = loaded_output(pairs)
    items = bearing_items(drive, STATES, duty(drive))
    assert safety(items, "output_bearing_static").load == pytest.approx(110.0)
    found = life(items, "output_bearing")
    assert found.asked == pytest.approx(2.0 * 60.0 * 200.0)
    lives = np.array([1e6 / found.asked * (9360.0 / load) ** 3 for load in (110.0, 90.0)])
    log_sd = 3.0 * math.log(1.1**2) / (2.0 * 1.6448536)
    assert found.duties.middle == pytest.approx(bl.band_of(lives, log_sd).middle, rel=1e-4)


def test_an_output_that_swings_a_little_says_what_its_balls_do(pairs: DriveInput) -> None:
    for travel, told in ((20.0, True), (200.0, False), (None, False)):
        drive = loaded_output(pairs, overturning_moment_Nm=1.5, travel_deg=travel)
        remark = life(bearing_items(drive, (state(0.0, [[1.0, 0.0]] * 4),), duty(drive)), "output_bearing").remark
        assert ("swings by 20° only" in remark and "false brinelling" in remark) is told


def test_thrust_at_the_output_counts_and_much_of_it_is_told(pairs: DriveInput) -> None:
    light, heavy = (loaded_output(pairs, axial_force_N=force) for force in (500.0, 2000.0))
    lives = [life(bearing_items(d, STATES, duty(d)), "output_bearing") for d in (light, heavy)]
    assert lives[1].duties.middle < 0.1 * lives[0].duties.middle
    assert "quarter" in lives[1].remark and "quarter" not in lives[0].remark


@pytest.mark.parametrize(
    ("given", "moment", "word"),
    [
        (None, 3.0, "names no [output_bearing]"),
        (m.OutputBearing(bearing="6004", count=1), 3.0, "not rated for an overturning moment"),
        (m.OutputBearing(bearing="6004", count=2, spacing_mm=0.0), 3.0, "spacing_mm above 0"),
        (m.OutputBearing(bearing="6004", count=2, spacing_mm=30.0), 0.0, "no step of the duty names an outside load"),
        (m.OutputBearing(bearing="696", count=2, spacing_mm=30.0), 3.0, "no load rating of bearing 696"),
    ],
)
def test_an_output_that_cannot_be_checked_says_why(
    pairs: DriveInput, given: m.OutputBearing | None, moment: float, word: str
) -> None:
    drive = changed(pairs, duty=(STEP.model_copy(update={"overturning_moment_Nm": moment}),), output_bearing=given)
    items = bearing_items(drive, STATES, duty(drive))
    for name in ("output_bearing", "output_bearing_static"):
        found = named(items, name)
        assert isinstance(found, NotMade) and word in found.why and found.of_life == (name == "output_bearing")


def test_one_bearing_bears_what_pulls_straight(pairs: DriveInput) -> None:
    drive = changed(
        pairs,
        duty=(STEP.model_copy(update={"radial_force_N": 40.0}),),
        output_bearing=m.OutputBearing(bearing="6004", count=1),
    )
    assert safety(bearing_items(drive, STATES, duty(drive)), "output_bearing_static").load == 40.0


@pytest.mark.parametrize("loads", [(-1.0, 0.0, 0.0), (0.0, -1.0, 0.0), (0.0, 0.0, -1.0), (math.nan, 0.0, 0.0)])
def test_negative_loads_are_refused(loads: tuple[float, float, float]) -> None:
    with pytest.raises(DesignFault, match="out of range"):
        reactions(2, 30.0, *loads)
