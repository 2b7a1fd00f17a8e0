"""Checks of all ball bearings of a drive over its duty: rollers or discs, a thin bearing under a cam, the output's bearings.

A life is told by the first bearing of its kind to fail. Low, middle and high of its band are the lives by which 5, 50 and 95 % of
drives so loaded have had that failure: spread of load and rating, and the scatter of ISO 281:2007 itself.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from lobewright.design import model as m
from lobewright.errors import DesignFault
from lobewright.strength import bearing_life as life
from lobewright.strength import bearing_rating, thin_race
from lobewright.strength.bearing_load import RollerBearings, roller_bearings
from lobewright.strength.bearing_made import (
    NO_DUTY,
    STATIC_EQUATION,
    Asked,
    Loaded,
    asked_of,
    attempt,
    beyond,
    capacity_n,
    cubed_log_sd,
    force_log_sd,
    life_item,
    safety_item,
    swing_remark,
)
from lobewright.strength.duty import Duty
from lobewright.strength.items import Item, NotMade, Span
from lobewright.strength.output_bearing import output_items
from lobewright.strength.remark import Remark, joined, rough
from lobewright.torque.inputs import DriveInput
from lobewright.torque.interval import NORMAL_95
from lobewright.torque.results import LoadShare
from lobewright.verdict import Working

Array = NDArray[np.float64]

AS_SOLVED = Span(1.0, 1.0, 1.0)
GUESSED = 1.3
"""90 % band, a factor either way, of a rating whose grooves are not known."""
UNHOUSED = "its outer ring runs without a housing and bends, which no rating counts"


def bearing_items(
    drive: DriveInput,
    shares: Sequence[LoadShare],
    duty: Duty | None,
    *,
    reliability_percent: float = 90.0,
    force_factor: Span = AS_SOLVED,
) -> tuple[Item, ...]:
    """Every check of the drive's ball bearings. ``shares``: settled states by torque, the first without any;
    ``force_factor``: 90 % band of the true forces over those of the states. What cannot be checked says why."""
    asked = None if duty is None else asked_of(duty)
    generator = drive.design.generator
    if not isinstance(generator, m.Cam):
        what = "discs" if isinstance(generator, m.Discs) else "rollers"
        titles = (f"Bearings of the {what}", f"Static load of the {what}' bearings")
        named = (("roller_bearing", titles[0], True), ("roller_bearing_static", titles[1], False))
        made = attempt(named, lambda: _rollers(drive, shares, asked, reliability_percent, force_factor, titles))
    elif generator.under is m.CamUnder.PLAIN:
        why = "the ring slides on a plain cam: there is no bearing to check, and wear is not computed"
        made = (NotMade("roller_bearing", "Bearings of the generator", "bearing", why, True),)
    else:
        made = _thin(drive, generator, shares, asked, reliability_percent, force_factor)
    return made + output_items(drive.design, duty, reliability_percent)


def roller_hours_at(
    drive: DriveInput,
    shares: Sequence[LoadShare],
    torque_nmm: float,
    against_ring_rpm: float,
    force_factor: Span = AS_SOLVED,
) -> Span | None:
    """Hours until the first bearing of a roller or disc fails if the drive ran on and on so; None where there is no such bearing
    or no rating of it, for which the check has the reason. ``against_ring_rpm``: speed of the generator seen from the flexible
    ring."""
    if isinstance(drive.design.generator, m.Cam):
        return None
    made = roller_bearings(drive, shares)
    try:
        rating = bearing_rating.rating_of(drive.design, made.bearing.designation)
    except DesignFault:
        return None
    if rating.dynamic_n is None:
        return None
    force = made.forces.at(np.array([torque_nmm]))[0] * force_factor.middle
    speed = abs(against_ring_rpm) * made.turns_factor
    if speed == 0.0:
        return Span(math.inf, math.inf, math.inf)
    capacity = capacity_n(rating.dynamic_n, made.count)
    hours = np.array([1e6 * life.rating_life_mrev(capacity, float(one)) / (60.0 * speed) for one in force])
    return life.band_of(hours, cubed_log_sd(rating.dynamic_n, force_factor))


# --- rollers and discs -----------------------------------------------------------------------------------------------


def _rollers(
    drive: DriveInput,
    shares: Sequence[LoadShare],
    asked: Asked | None,
    reliability_percent: float,
    factor: Span,
    titles: tuple[str, str],
) -> tuple[Item, ...]:
    made = roller_bearings(drive, shares)
    rating = bearing_rating.rating_of(drive.design, made.bearing.designation)
    title, static_title = titles
    count = f"{made.count} × {rating.designation} on each axle" if made.count > 1 else rating.designation
    items: list[Item] = []
    if asked is None:
        items.append(NotMade("roller_bearing", title, "bearing", NO_DUTY, True))
    elif rating.dynamic_n is None:
        items.append(NotMade("roller_bearing", title, "bearing", bearing_rating.lacking(rating), True))
    else:
        capacity = capacity_n(rating.dynamic_n, made.count)
        loaded = Loaded(
            made.forces.at(asked.torque_nmm) * factor.middle,
            asked.turns * made.turns_factor,
            asked.hours,
            rating.pitch_mm,
            capacity,
            cubed_log_sd(rating.dynamic_n, factor),
            f"{count}, C = {capacity:.4g} N ({rating.words})",
            rating.dynamic_n.source_key,
            _roller_remarks(drive, made, rating, asked),
        )
        items.append(life_item("roller_bearing", title, loaded, reliability_percent))
    if rating.static_n is None:
        items.append(NotMade("roller_bearing_static", static_title, "bearing", bearing_rating.lacking(rating)))
        return tuple(items)
    peak = float(made.forces.torque_nmm[-1]) if asked is None else asked.peak_nmm
    load = float(made.forces.at(np.array([peak, -peak])).max()) * factor.middle
    strength = rating.static_n.middle * made.count
    numbers = f"{count}, C0 = {strength:.4g} N ({rating.words}), P0 = {load:.4g} N at {peak / 1000.0:.4g} N·m"
    sources = (rating.static_n.source_key, "iso_76_2006")
    spread = math.hypot(rating.static_n.log_spread, force_log_sd(factor))
    working = Working(STATIC_EQUATION, numbers, sources)
    noted = Remark(beyond(made.forces, peak))
    items.append(safety_item("roller_bearing_static", static_title, load, strength, "N", spread, working, noted))
    return tuple(items)


def _roller_remarks(
    drive: DriveInput, made: RollerBearings, rating: bearing_rating.BearingRating, asked: Asked
) -> tuple[str, ...]:
    """Where the life of a roller's bearing is weak."""
    remarks = [] if isinstance(drive.design.generator, m.Discs) else [UNHOUSED]
    remarks.append(beyond(made.forces, float(np.abs(asked.torque_nmm).max(initial=0.0))))
    swing = None if asked.swing_rad is None else asked.swing_rad * made.turns_factor
    remarks.append(swing_remark(swing, rating.balls))
    return tuple(remarks)


# --- a thin bearing under a cam ----------------------------------------------------------------------------------------


def _thin(
    drive: DriveInput,
    cam: m.Cam,
    shares: Sequence[LoadShare],
    asked: Asked | None,
    reliability_percent: float,
    factor: Span,
) -> tuple[Item, ...]:
    race, inner = "Outer race of the thin bearing, bent by the wave", "Inner race of the thin bearing, bent on the cam"
    items: list[Item] = []
    why = thin_race.lacking(cam, ("race_wall_mm",))
    if why:
        items += [NotMade("thin_race", race, "bearing", why)]
    else:
        items += attempt(
            [("thin_race", race, False), ("thin_race_inner", inner, False)], lambda: _races(drive, cam, race, inner)
        )
    title, static_title = "Thin bearing under the cam", "Static load of the thin bearing under the cam"
    why = thin_race.lacking(cam, ("race_balls", "race_ball_mm"))
    if why or asked is None:
        items.append(NotMade("thin_bearing", title, "bearing", why or NO_DUTY, True))
    else:
        items += attempt(
            [("thin_bearing", title, True)],
            lambda: (_thin_life(drive, cam, shares, asked, reliability_percent, factor, title),),
        )
    if why:
        return (*items, NotMade("thin_bearing_static", static_title, "bearing", why))
    items += attempt(
        [("thin_bearing_static", static_title, False)],
        lambda: (_thin_static(drive, cam, shares, asked, factor, static_title),),
    )
    return tuple(items)


def _races(drive: DriveInput, cam: m.Cam, race: str, inner: str) -> tuple[Item, ...]:
    assert cam.race_wall_mm is not None
    bent = thin_race.race_bending(drive.shape, drive.geometry.inner_offset_mm, cam.race_height_mm, cam.race_wall_mm)
    equation = "safety = strength / (E·t/2·largest change of curvature of a line parallel to the ring's)"
    numbers = f"E = {thin_race.RACE_MODULUS_MPA:.0f} MPa, t = {cam.race_wall_mm:g} mm, race of hardened bearing steel"
    noted = Remark("groove, balls and residual stress are not counted")
    made = []
    for name, title, stress, strength in (
        ("thin_race", race, bent.outer_mpa, thin_race.BENDING_ENDURANCE),
        ("thin_race_inner", inner, bent.inner_mpa, thin_race.BREAKING),
    ):
        working = Working(equation, f"{numbers}, stress {stress:.4g} MPa", (strength.source_key, "derived_here"))
        made.append(safety_item(name, title, stress, strength.middle, "MPa", strength.log_spread, working, noted))
    return tuple(made)


def _thin_life(
    drive: DriveInput,
    cam: m.Cam,
    shares: Sequence[LoadShare],
    asked: Asked,
    reliability_percent: float,
    factor: Span,
    title: str,
) -> Item:
    assert cam.race_balls is not None and cam.race_ball_mm is not None
    pitch = _thin_pitch_mm(drive, cam)
    capacity = bearing_rating.dynamic_rating_n(cam.race_balls, cam.race_ball_mm, pitch)
    left = thin_race.LEFT_OUT
    load = thin_race.lobe_forces(drive, shares).at(asked.torque_nmm) * factor.middle * left.middle
    spread = life.EXPONENT * math.hypot(math.log(GUESSED) / NORMAL_95, force_log_sd(factor), left.log_spread)
    # each lobe loads the races like a bearing of its own: they fail like as many bearings
    loaded = Loaded(
        load,
        asked.turns,
        asked.hours,
        pitch,
        capacity,
        spread,
        f"{cam.race_balls} balls of {cam.race_ball_mm:g} mm on {pitch:.4g} mm, C = {capacity:.4g} N",
        "iso_281_2007",
        (rough("its races are bent, where ISO 281 holds not"),),
        "turns of the cam",
    )
    return life_item("thin_bearing", title, loaded, reliability_percent)


def _thin_static(
    drive: DriveInput, cam: m.Cam, shares: Sequence[LoadShare], asked: Asked | None, factor: Span, title: str
) -> Item:
    """Dents by the balls at the largest torque: each lobe loads the races like a bearing of its own."""
    assert cam.race_balls is not None and cam.race_ball_mm is not None
    pitch = _thin_pitch_mm(drive, cam)
    strength = bearing_rating.static_rating_n(cam.race_balls, cam.race_ball_mm, pitch)
    left, forces = thin_race.LEFT_OUT, thin_race.lobe_forces(drive, shares)
    peak = float(forces.torque_nmm[-1]) if asked is None else asked.peak_nmm
    load = float(forces.at(np.array([peak, -peak])).max()) * factor.middle * left.middle
    spread = math.hypot(math.log(GUESSED) / NORMAL_95, force_log_sd(factor), left.log_spread)
    numbers = (
        f"{cam.race_balls} balls of {cam.race_ball_mm:g} mm on {pitch:.4g} mm, C0 = {strength:.4g} N, "
        f"P0 = {load:.4g} N at {peak / 1000.0:.4g} N·m"
    )
    noted = joined(rough("its races are bent, where ISO 76 holds not"), beyond(forces, peak))
    working = Working(STATIC_EQUATION, numbers, ("iso_76_2006", "derived_here"))
    return safety_item("thin_bearing_static", title, load, strength, "N", spread, working, noted)


def _thin_pitch_mm(drive: DriveInput, cam: m.Cam) -> float:
    """Diameter through the balls' centres, midway between ring and cam."""
    return 2.0 * (drive.shape.radius_mm - drive.geometry.inner_offset_mm) - cam.race_height_mm
