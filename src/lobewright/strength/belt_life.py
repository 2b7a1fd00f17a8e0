"""What a timing belt bears as the flexible ring: bends of its cords, their tension, the shear of its teeth; and its life, which
nobody can tell.

A belt turned inside out lies with its back on the generator, so its bends are those of a back idler, for which larger radii
are asked than for pulleys. All limits are of ordinary drives: pulleys, speed, thousands of hours.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.design.workshop import BeltToothTest
from lobewright.strength.belt_bend import smallest_bend
from lobewright.strength.duty import Duty
from lobewright.strength.items import Item, NotMade, SafetyItem, Span
from lobewright.strength.remark import Remark
from lobewright.torque.belt import belt_stiffness, shared_widths_mm
from lobewright.torque.inputs import DriveInput
from lobewright.torque.interval import NORMAL_95
from lobewright.torque.measured import student_95
from lobewright.torque.results import LoadShare
from lobewright.verdict import Working

WIDTH_EXPONENT = 1.14
"""Allowed tension grows with this power of the width. Source: ISO 5295:1987 (remembered)."""
TENSION_SPREAD = 2.0
"""Factor either way at 90 % of an allowed tension: two tables in print differ by 0.7 to 2.5 for the same belts."""
LOAD_SPREAD = 1.3
"""Factor either way at 90 % of a computed tension or tooth force: an estimate, neither has been measured."""

BEND = ("belt_bend_radius", "Tightest bend of the belt under torque")
RADIUS = "mm radius"
TENSION = ("belt_cord_tension", "Tension of the belt's cords")
SHEAR = ("belt_tooth_shear", "Shear of the belt's teeth")
LIFE = ("belt_life", "Life of the belt in bends")
NO_LIFE = (
    "no published life of timing belts bent so is known: what is in print are hours of whole drives on pulleys at speed, and "
    "laws of V-belts, which do not hold for them; look at the belt from time to time, and find out on the bench"
)


@dataclass(frozen=True)
class _Loaded:
    """The drive in the states that count: up to the first that reaches the duty's peak. ``widths_mm``: of belt, by row."""

    drive: DriveInput
    belt: m.Belt
    profile: catalogue.BeltProfile
    states: tuple[LoadShare, ...]
    widths_mm: tuple[float, ...]

    @property
    def reached(self) -> str:
        return f"up to {max(abs(state.torque_nmm) for state in self.states) / 1000.0:.3g} N·m"


def belt_items(drive: DriveInput, shares: tuple[LoadShare, ...], duty: Duty) -> tuple[Item, ...]:
    """Bend, tension, tooth shear and life of the belt of a drive; nothing for other rings.

    ``shares``: the drive solved at some torques, in any order; all up to the first that reaches the duty's peak count. Where none
    reaches it, what the torque loads is not made. Units N, mm; the bend is told as the cord's radius, larger is gentler. Raises
    CatalogueFault for an unknown belt.
    """
    belt = drive.design.flexible_ring
    if not isinstance(belt, m.Belt):
        return ()
    life = NotMade(*LIFE, "belt", NO_LIFE, of_life=True)
    states = _up_to_peak(shares, duty.peak_nmm)
    if not states:
        most = max((abs(share.torque_nmm) for share in shares), default=0.0) / 1000.0
        why = f"the duty's largest torque of {duty.peak_nmm / 1000.0:.3g} N·m was not reached: solved up to {most:.3g} N·m"
        return (*(NotMade(*names, "belt", why) for names in (BEND, TENSION, SHEAR)), life)
    profile = catalogue.belt_profile(belt.designation)
    widths = shared_widths_mm(drive.design, (row.width_mm for row in drive.rows))
    loaded = _Loaded(drive, belt, profile, states, widths)
    return (_bend(loaded), _tension(loaded), _shear(loaded), life)


def allowed_tension_n(designation: str, width_mm: float) -> float:
    """Allowed working tension of a belt of this width: (width / w₀)^1.14 times that of the width w₀ it was told for; NaN where
    no figure is known. Raises CatalogueFault for an unknown designation.

    Figures of ordinary drives at low speed. Exponent: ISO 5295 (remembered); the standard's own torque ratings at three widths
    follow it within 5 %.
    """
    profile = catalogue.belt_profile(designation)
    if profile.tension_n_per_mm is None or profile.tension_width_mm is None:
        return math.nan
    told = profile.tension_width_mm
    return profile.tension_n_per_mm * told * (width_mm / told) ** WIDTH_EXPONENT


# --- the three strengths ------------------------------------------------------------------------------------------


def _bend(loaded: _Loaded) -> Item:
    """Curvature on the exact shape, and what the sections' moments add to it under torque."""
    usual = smallest_bend(loaded.belt)
    if usual is None:
        why = f"no smallest pulley and no smallest idler is known for {loaded.profile.designation}"
        return NotMade(*BEND, "belt", why)
    limit = usual.radius_mm
    rest = max(0.0, float(loaded.drive.shape.curvature_1_per_mm.max()))
    free = 1.0 / loaded.drive.geometry.neutral_radius_mm
    stiffness = belt_stiffness(loaded.drive.design).bending_nmm2_per_mm
    moments = [
        float(row.moment_nmm.max()) / width
        for state in loaded.states
        for row, width in zip(state.rows, loaded.widths_mm, strict=True)
    ]
    most = max(moments)
    # the shape at rest is given by the generator whatever the belt's stiffness; what the teeth bend goes with 1/EI
    added = max(0.0, free + most / stiffness.middle - rest)
    ends = (stiffness.middle / stiffness.high, 1.0, stiffness.middle / stiffness.low)
    curvature = Span(*(rest + added * one for one in ends))
    allowed = Span(1.0 / limit.high, 1.0 / limit.middle, 1.0 / limit.low)
    working = Working(
        "κ = largest curvature of the cord on the generator + what M/EI adds under torque; against the cord's on a back idler",
        f"radius {1.0 / rest:.1f} mm at rest, {1.0 / curvature.middle:.1f} mm ({1.0 / curvature.high:.1f} to "
        f"{1.0 / curvature.low:.1f}) {loaded.reached}; {usual.how}: {limit.middle:.1f} mm",
        tuple(dict.fromkeys((usual.source_key, "trade_practice", stiffness.source_key, "derived_here"))),
    )
    safety = _over(allowed, curvature)
    noted = Remark(
        "limit by custom" if usual.known else "limit by custom, for bends over the back by comparison with other belts"
    )
    told = (1.0 / curvature.middle, 1.0 / allowed.middle)
    return SafetyItem(*BEND, "belt", safety, *told, RADIUS, working, noted)


def _tension(loaded: _Loaded) -> Item:
    """Largest tension a mm of width of any section, carried on over the whole belt."""
    whole = loaded.belt.width_mm
    allowed = allowed_tension_n(loaded.profile.designation, whole)
    if math.isnan(allowed):
        return NotMade(*TENSION, "belt", f"no allowed tension is known for {loaded.profile.designation}")
    per_mm = max(
        float(row.normal_n.max()) / width
        for state in loaded.states
        for row, width in zip(state.rows, loaded.widths_mm, strict=True)
    )
    load = max(0.0, per_mm) * whole
    cell = loaded.profile.origin("tension_n_per_mm")
    working = Working(
        "largest tension of a section, a mm of its share of the belt, × width; allowed T₀ w₀ (w/w₀)^1.14",
        f"{per_mm:.3g} N/mm × {whole:g} mm {loaded.reached}; {loaded.profile.tension_n_per_mm:g} N/mm allowed at "
        f"{loaded.profile.tension_width_mm:g} mm",
        (cell.source.key, "iso_5295", "derived_here"),
    )
    safety = _over(_around(allowed, TENSION_SPREAD), _around(load, LOAD_SPREAD))
    noted = Remark("tables of allowed tension differ by 2 and more")
    return SafetyItem(*TENSION, "belt", safety, load, allowed, "N", working, noted)


def _shear(loaded: _Loaded) -> Item:
    """Largest tangential force of a tooth, a mm of its face, against what teeth of this belt bore on the bench."""
    name = loaded.profile.designation
    owned = loaded.drive.design.owned
    known = () if owned is None else owned.belt_tooth_shear
    tests = [one for one in known if catalogue.belt_profile(one.designation).designation == name]
    if not tests:
        why = f"no tooth shear strength is known for {name}: measure it and name it as [[belt_tooth_shear]] in the workshop file"
        return NotMade(*SHEAR, "belt", why)
    strength = _tooth_strength_n_per_mm(tests)
    faces = [row.width_mm for row in loaded.drive.rows]
    found = [
        (float(np.abs(row.tangential_n).max()) / face, face)
        for state in loaded.states
        for row, face in zip(state.rows, faces, strict=True)
    ]
    per_mm, face = max(found)
    working = Working(
        "largest tangential force of one tooth, a mm of the face in mesh, against the measured shear force a mm of width",
        f"{per_mm:.3g} N/mm over a face of {face:g} mm {loaded.reached}; {strength.middle:.3g} N/mm "
        f"({strength.low:.3g} to {strength.high:.3g}) from {len(tests)} test{'s' if len(tests) > 1 else ''}",
        ("derived_here",),
    )
    safety = _over(strength, _around(per_mm, LOAD_SPREAD))
    noted = Remark("against one pull: how much less teeth bear that are loaded again and again is not known")
    return SafetyItem(*SHEAR, "belt", safety, per_mm * face, strength.middle * face, "N", working, noted)


def _tooth_strength_n_per_mm(tests: list[BeltToothTest]) -> Span:
    """Strength of the next tooth a mm of width: geometric mean; uncertainty of the readings joined with their scatter."""
    values = np.log([one.shear_force_N / one.width_mm for one in tests])
    readings = np.array([one.shear_force_uncertainty_N / one.shear_force_N for one in tests])
    wide = NORMAL_95 * float(np.sqrt(np.mean(readings**2)))
    if len(tests) > 1:
        scatter = float(values.std(ddof=1)) * math.sqrt(1.0 + 1.0 / len(tests))
        wide = math.hypot(wide, student_95(len(tests) - 1.0) * scatter)
    return _around(math.exp(float(values.mean())), math.exp(wide))


# --- bands --------------------------------------------------------------------------------------------------------


def _up_to_peak(shares: tuple[LoadShare, ...], peak_nmm: float) -> tuple[LoadShare, ...]:
    rising = sorted(shares, key=lambda share: abs(share.torque_nmm))
    reaching = [abs(share.torque_nmm) >= peak_nmm * (1.0 - 1e-6) for share in rising]
    return tuple(rising[: reaching.index(True) + 1]) if any(reaching) else ()


def _around(middle: float, spread: float) -> Span:
    return Span(middle / spread, middle, middle * spread)


def _over(strength: Span, load: Span) -> Span:
    """Strength over load, their bands independent and log-normal; endless where there is no load."""
    if load.middle <= 0.0:
        return Span(math.inf, math.inf, math.inf)
    middle = strength.middle / load.middle
    down = math.hypot(math.log(strength.middle / strength.low), math.log(load.high / load.middle))
    up = math.hypot(math.log(strength.high / strength.middle), math.log(load.middle / load.low))
    return Span(middle * math.exp(-down), middle, middle * math.exp(up))
