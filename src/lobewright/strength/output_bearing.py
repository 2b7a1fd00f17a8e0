"""Loads of the bearings that carry the member that is read: a pair or one bearing, under moment, axial and radial load.

Loads of the duty act in the middle between both bearings, and moment and radial load pull the same way: the worst case. The
mesh itself loads them not: its forces balance over the lobes.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from lobewright.design import model as m
from lobewright.errors import DesignFault, Fault
from lobewright.strength import bearing_life as life
from lobewright.strength import bearing_rating
from lobewright.strength.bearing_made import (
    NO_DUTY,
    STATIC_EQUATION,
    Loaded,
    attempt,
    life_item,
    safety_item,
    swing_remark,
)
from lobewright.strength.duty import Duty
from lobewright.strength.items import Item, NotMade
from lobewright.verdict import Working

AXIAL_SHARE = 0.25
"""Axial load over static rating that a deep groove bearing of a small series takes: common practice."""


@dataclass(frozen=True)
class Reaction:
    """Radial and axial load of one bearing."""

    radial_n: float
    axial_n: float


def reactions(
    count: int, spacing_mm: float, overturning_nmm: float, axial_n: float, radial_n: float
) -> tuple[Reaction, ...]:
    """Loads of each bearing, the more loaded one first; it takes the whole axial load.

    Statics of a pair: F/2 ± M/s. Raises DesignFault for a negative load, and for a moment on one bearing or on a pair without
    distance: ISO 281 rates no single radial ball bearing for a moment.
    """
    loads = {"overturning_moment_Nm": overturning_nmm, "axial_force_N": axial_n, "radial_force_N": radial_n}
    for name, value in loads.items():
        if not value >= 0.0:
            raise DesignFault([Fault("a load is out of range", name, 0, f"{value:g}", "0 or more")])
    if overturning_nmm > 0.0 and (count == 1 or spacing_mm <= 0.0):
        what = "one ball bearing alone is not rated for an overturning moment by ISO 281"
        found = f"{count} bearing{'s' if count > 1 else ''}, {spacing_mm:g} mm apart"
        allowed = "two bearings with a spacing_mm above 0"
        raise DesignFault([Fault(what, "output_bearing", 0, found, allowed)])
    if count == 1:
        return (Reaction(radial_n, axial_n),)
    couple = overturning_nmm / spacing_mm if overturning_nmm > 0.0 else 0.0
    return Reaction(0.5 * radial_n + couple, axial_n), Reaction(abs(0.5 * radial_n - couple), 0.0)


def output_items(design: m.Design, duty: Duty | None, reliability_percent: float) -> tuple[Item, ...]:
    """Life and static safety of the bearings that carry the member that is read, or why they were not checked."""
    title, static_title = "Bearings of the output", "Static load of the output's bearings"
    named = (("output_bearing", title, True), ("output_bearing_static", static_title, False))
    given = design.output_bearing
    loads = [] if duty is None else [(p.overturning_nmm, p.axial_n, p.radial_n) for p in duty.parts]
    why = ""
    if given is None:
        why = "the design names no [output_bearing]"
    elif duty is None:
        why = NO_DUTY
    elif not any(any(load) for load in loads):
        why = "no step of the duty names an outside load at the output"
    if why or given is None or duty is None:
        return tuple(NotMade(name, words, "bearing", why, of_life) for name, words, of_life in named)
    return attempt(named, lambda: _output_made(design, given, duty, reliability_percent, title, static_title))


def _output_made(
    design: m.Design, given: m.OutputBearing, duty: Duty, reliability_percent: float, title: str, static_title: str
) -> tuple[Item, ...]:
    rating = bearing_rating.rating_of(design, given.bearing)
    if rating.dynamic_n is None or rating.static_n is None:
        why = bearing_rating.lacking(rating)
        return (
            NotMade("output_bearing", title, "bearing", why, True),
            NotMade("output_bearing_static", static_title, "bearing", why),
        )
    static = rating.static_n.middle
    each = [reactions(given.count, given.spacing_mm, p.overturning_nmm, p.axial_n, p.radial_n) for p in duty.parts]
    loads = np.array(
        [[life.equivalent_load_n(r.radial_n, r.axial_n, static, rating.static_factor) for r in both] for both in each]
    )
    turns = np.array([part.read_turns for part in duty.parts])
    remarks = ["moment and radial load taken to pull the same way"]
    if max(r.axial_n for both in each for r in both) > AXIAL_SHARE * static:
        remarks.append("axial load above a quarter of the static rating")
    swings = [
        part.swing_rad * part.read_turns * duty.lobes / part.bends
        for part in duty.parts
        if part.swing_rad is not None and part.bends > 0.0
    ]
    remarks.append(swing_remark(min(swings, default=None), rating.balls))
    if duty.record is not None:
        remarks.append("the recorded motion names no outside load")
    words = f"{given.count} × {rating.designation}, C = {rating.dynamic_n.middle:.4g} N, C0 = {static:.4g} N ({rating.words})"
    loaded = Loaded(
        loads,
        turns,
        math.fsum(part.hours for part in duty.parts),
        rating.pitch_mm,
        rating.dynamic_n.middle,
        life.EXPONENT * rating.dynamic_n.log_spread,
        words,
        rating.dynamic_n.source_key,
        tuple(remarks),
        "turns of the output",
    )
    load = max(life.static_equivalent_n(r.radial_n, r.axial_n) for both in each for r in both)
    working = Working(STATIC_EQUATION, f"{words}, P0 = {load:.4g} N", (rating.static_n.source_key, "iso_76_2006"))
    return (
        life_item("output_bearing", title, loaded, reliability_percent),
        safety_item("output_bearing_static", static_title, load, static, "N", rating.static_n.log_spread, working),
    )
