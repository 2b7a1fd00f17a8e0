"""The roller carrier: arms of its two plates, axle holes, axle bolts and the hub's flange bolts.

Geometry as it is made (:mod:`lobewright.design.holding`): two plates, bolts as axles through stacked bearings. Each plate takes
half of a roller's force. An arm is pressed along its line and bent at the hub's edge by what pushes sideways; its narrowest
sections are the one through the axle hole and the strip between hub and axle, taken as narrow as the smaller of both rounds. An
axle is a beam on the middles of both plates under the even load of its bearings; the clamp of its nut, which makes it stiffer,
is left out. Discs and cams are told as not made. Source: beam theory, derived; pins as in :mod:`lobewright.strength.fasteners`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.design.holding import (
    GAP_MM,
    HUB_BOLT,
    HUB_BOLTS,
    HUB_CIRCLE_MM,
    PLATE_MM,
    SHOULDER_MM,
    Axle,
    axle,
    bearings_on_an_axle,
    hub_mm,
    rolling_bearing,
)
from lobewright.errors import DesignFault
from lobewright.motion import GENERATOR
from lobewright.ring.generator import lobe_angles_rad
from lobewright.strength.fasteners import GRADES, UNEVEN, bolt_area_mm2, pin_force_n, pin_pressure_mpa
from lobewright.strength.items import Item, Span
from lobewright.strength.material import StrengthData
from lobewright.strength.remark import joined
from lobewright.strength.rigid_part import STANDING_LOAD, Check, exactly
from lobewright.torque.inputs import DriveInput
from lobewright.torque.results import LoadShare

Array = NDArray[np.float64]

ROLLER_SPREAD = 1.2
"""Factor either way, 90 %, of a roller's force: the loaded ring's model (1.08) and its weak inputs; a judgement."""
PLATES = Span(1.0, 1.1, 1.4)
"""The more loaded plate over half the force: rows and rollers stand uneven along the axis; a judgement."""
AXLE_CLASS = m.BoltClass.A2_70
"""A design names no class for the axles: the weakest that socket head bolts are usually sold in."""
DERIVED = ("derived_here",)


@dataclass(frozen=True)
class Arms:
    """What is made of a carrier. Lengths in mm: axles ``distance_mm`` from the axis, rounds of ``edge_mm`` about them, a hub of
    ``hub_mm`` (with a ``flange``), the narrowest strip between both ``strip_mm``."""

    held: Axle
    bearings: int
    bearing_width_mm: float
    distance_mm: float
    edge_mm: float
    hub_mm: float
    flange: bool
    strip_mm: float

    @property
    def loaded_mm(self) -> float:
        """Length of an axle that its bearings load."""
        return self.bearings * self.bearing_width_mm

    @property
    def span_mm(self) -> float:
        """Between the middles of both plates."""
        return self.loaded_mm + 2.0 * SHOULDER_MM + PLATE_MM


def arms_of(drive: DriveInput) -> Arms:
    """The carrier of a drive with rollers. Raises DesignFault where no axle goes through the bearing."""
    bearing = rolling_bearing(drive.design.generator)
    held, distance = axle(bearing), float(drive.setting.distance_mm)
    room = float(np.hypot(drive.shape.x_mm, drive.shape.y_mm).min()) - drive.geometry.inner_offset_mm - GAP_MM
    hub, flange = hub_mm(room)
    edge = bearing.outer_mm / 2 - GAP_MM
    angles = np.array(lobe_angles_rad(drive.setting))
    half = np.mod(np.roll(angles, -1) - angles, 2.0 * math.pi) / 2.0
    round_hub = bool((distance * np.cos(half) + edge < hub).any())
    count = bearings_on_an_axle(drive.design, bearing)
    strip = 2.0 * (min(edge, hub) if round_hub else edge)
    return Arms(held, count, bearing.width_mm, distance, edge, hub, flange, strip)


def axle_moment_nmm(force_n: float, span_mm: float, loaded_mm: float) -> float:
    """Largest moment of a beam on two supports under an even load over its middle: F·(L/4 − w/8)."""
    return force_n * (span_mm / 4.0 - loaded_mm / 8.0)


def round_bending_mpa(moment_nmm: float, diameter_mm: float) -> float:
    """Bending stress of a round bar, 32·M/(π·d³)."""
    return 32.0 * moment_nmm / (math.pi * diameter_mm**3)


def arm_stress_mpa(arms: Arms, along_n: float, sideways_n: float) -> tuple[float, str]:
    """Stress of an arm under half of a roller's force, and which section bears it.

    Of the section through the axle hole (pressed) and the strip at the hub's edge (pressed and bent) the worse one.
    """
    hole = along_n / 2.0 / ((2.0 * arms.edge_mm - arms.held.hole_mm) * PLATE_MM)
    lever = max(arms.distance_mm - arms.hub_mm, 0.0)
    strip = along_n / 2.0 / (arms.strip_mm * PLATE_MM) + 3.0 * sideways_n * lever / (PLATE_MM * arms.strip_mm**2)
    words = f"at the hub's edge, strip {arms.strip_mm:.1f} mm wide, {lever:.1f} mm from the axle"
    return (hole, "through the axle hole") if hole >= strip else (strip, words)


def carrier_items(
    drive: DriveInput, shares: tuple[LoadShare, ...], factor: float, data: StrengthData | None
) -> tuple[Item, ...]:
    """All checks of the generator's carrier at the worst of the shares, forces times ``factor``; ``data`` of its plates, None
    where nothing tells their material."""
    generator = drive.design.generator
    if isinstance(generator, m.Discs):
        why = "there is no model yet of the eccentric or crank under two discs"
        return (Check("generator_discs", "What carries the discs", "", "", ()).not_made(why),)
    if isinstance(generator, m.Cam):
        why = "a cam is a solid body under pressure; there is no model of its contact"
        return (Check("generator_cam", "Cam under the ring", "", "", ()).not_made(why),)
    if data is None:
        why = "nothing names the material of the generator's parts: neither a printer nor the flexible ring"
        return (Check("carrier", "Roller carrier", "", "", ()).not_made(why),)
    try:
        arms = arms_of(drive)
    except DesignFault as fault:
        return (Check("carrier_arm", "Arms of the roller carrier", "", "", ()).not_made(fault.sentences()[0]),)
    forces = np.vstack([share.body_force_n.sum(axis=1) for share in shares]) * factor
    angles = np.tile(lobe_angles_rad(drive.setting), len(shares))
    turn = max((abs(share.member_torque_nmm[GENERATOR]) for share in shares), default=0.0) * factor
    return (
        _arm(arms, forces, angles, data),
        *_axle(arms, float(np.hypot(*forces.T).max()), data),
        _hub(arms, turn, data),
    )


def _uncertain(value: float) -> Span:
    """A plate's or axle's load with the band of the roller's force and of its share."""
    spread = math.log(ROLLER_SPREAD)
    low = math.exp(-math.hypot(spread, math.log(PLATES.middle / PLATES.low)))
    high = math.exp(math.hypot(spread, math.log(PLATES.high / PLATES.middle)))
    return Span(low, 1.0, high).scaled(PLATES.middle * value)


def _standing(data: StrengthData) -> str:
    return "" if data.metal else STANDING_LOAD


def _arm(arms: Arms, forces: Array, angles: Array, data: StrengthData) -> Item:
    outward = np.column_stack((np.cos(angles), np.sin(angles)))
    along = np.abs((forces * outward).sum(axis=1))
    sideways = np.abs(forces[:, 1] * outward[:, 0] - forces[:, 0] * outward[:, 1])
    stresses = [arm_stress_mpa(arms, float(a), float(s)) for a, s in zip(along, sideways, strict=True)]
    worst = max(range(len(stresses)), key=lambda k: stresses[k][0])
    stress, where = stresses[worst]
    check = Check(
        "carrier_arm",
        "Arms of the roller carrier",
        "σ = F/2/(w·t) + 6·(S/2)·a/(t·w²), worse section of one of two plates; F along the arm, S sideways",
        f"F {along[worst]:.3g} N, S {sideways[worst]:.3g} N, t {PLATE_MM:g} mm; {where}; one plate bears {PLATES.middle:g} times "
        f"half ({PLATES.low:g} to {PLATES.high:g})",
        DERIVED,
        _standing(data),
    )
    return check.in_material(data, _uncertain(stress))


def _axle(arms: Arms, force: float, data: StrengthData) -> tuple[Item, ...]:
    bolt, grade = arms.held.bolt, GRADES[AXLE_CLASS]
    area = bolt_area_mm2(bolt)
    core = math.sqrt(4.0 * area / math.pi)
    moment = axle_moment_nmm(force, arms.span_mm, arms.loaded_mm)
    bending, shear = round_bending_mpa(moment, core), math.sqrt(3.0) * force / 2.0 / area
    bent = Check(
        "carrier_axle",
        "Axle bolts of the roller carrier",
        "σ = 32·F·(L/4 − w/8)/(π·d³) or √3·F/(2·A_s), the larger; d of the thread's stress area",
        f"F {force:.3g} N, {bolt.size}, L {arms.span_mm:.1f} mm, w {arms.loaded_mm:.1f} mm: bending {bending:.3g} MPa, shear as "
        f"much as {shear:.3g} MPa; class {AXLE_CLASS.value} yields at {grade.yield_mpa:.0f} MPa",
        (*DERIVED, *grade.source_keys),
        joined(
            f"the design names no class for axles: {AXLE_CLASS.value} taken", "threaded all along, nut's clamp left out"
        ),
    )
    pressed = Check(
        "carrier_axle_hole",
        "Axle holes of the roller carrier",
        "p = F/2/(d·t), on the bolt's projected area in one of two plates",
        f"F {force:.3g} N, {bolt.size}, t {PLATE_MM:g} mm; one plate bears {PLATES.middle:g} times half",
        DERIVED,
        _standing(data),
    )
    load = _uncertain(max(bending, shear)).scaled(1.0 / PLATES.middle)
    pressure = pin_pressure_mpa(force / 2.0, bolt.diameter_mm, PLATE_MM)
    return bent.against(exactly(grade.yield_mpa), load), pressed.in_material(data, _uncertain(pressure))


def _hub(arms: Arms, torque: float, data: StrengthData) -> Item:
    name, title = "carrier_hub", "Flange bolts of the generator's hub"
    if not arms.flange:
        return Check(name, title, "", "", ()).not_made("the hub has no room for a flange: glue or pin the shaft")
    bolt, radius = catalogue.bolt(HUB_BOLT), HUB_CIRCLE_MM / 2.0
    force = pin_force_n(torque, HUB_BOLTS, radius)
    check = Check(
        name,
        title,
        "p = T/(n·R·d·t), on the bolt's projected area; one plate takes all",
        f"T {torque / 1000:.3g} N·m on {HUB_BOLTS} {HUB_BOLT} at R {radius:g} mm, t {PLATE_MM:g} mm; the most loaded bears "
        f"{UNEVEN.middle:g} times its share ({UNEVEN.low:g} to {UNEVEN.high:g})",
        (*DERIVED, "trade_practice"),
        _standing(data),
    )
    return check.in_material(data, UNEVEN.scaled(pin_pressure_mpa(force, bolt.diameter_mm, PLATE_MM)))
