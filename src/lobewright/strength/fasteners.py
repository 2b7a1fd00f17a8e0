"""Bolts, dowels and pins in shear and in their holes: what holds a rigid ring against the torque.

A torque T on n pins of a circle of radius R loads each by T/(n·R) (rigid flanges). Shear is judged on the thread's stress area,
as bolts of a home workshop are threaded to the head; pressure in the hole on the projected area d·t. Dowels take the torque
alone where there are any. Bolts are judged as plain pins: the clamp of their heads, which holds the ring by friction as long as
it lasts, is told beside, not counted, since plastic creeps from under the heads.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.design.holding import bolt_circle_radius_mm, clearance_hole_mm, least_wall_mm, no_bolt_holes
from lobewright.errors import DesignFault, Fault
from lobewright.strength.items import Item, Span
from lobewright.strength.material import StrengthData
from lobewright.strength.remark import joined, remembered
from lobewright.strength.rigid_part import STANDING_LOAD, Check, exactly, limit_of

ISO_898, ISO_3506, EN_1993 = "iso_898_1_2013", "iso_3506_1979", "en_1993_1_8_2005"
TEXTBOOK = "budynas_nisbett_2011_ch8"
UNEVEN = Span(1.0, 1.2, 1.5)
"""The most loaded pin over an equal share: holes are not placed exactly and not all pins touch at once. Common practice."""
TIGHTENED = 0.75
"""Share of the proof load to which a joint that is opened again is tightened (the textbook's eq. 8-31)."""
FRICTION = 0.15
"""Between ring and what it is screwed to, dry; remembered, 0.1 to 0.3."""
DOWEL_ULTIMATE_MPA, DOWEL_SHEAR = 400.0, 0.6
"""A dowel that is not hardened, as unhardened pins are at the least (remembered); shear as for bolts."""


@dataclass(frozen=True)
class Grade:
    """Least strengths of a bolt's property class. ``shear_factor``: shear strength of its thread over its tensile strength."""

    ultimate_mpa: float
    yield_mpa: float
    proof_mpa: float
    shear_factor: float
    source_keys: tuple[str, ...]


STEEL = (ISO_898, EN_1993)
GRADES = {
    m.BoltClass.CLASS_4_6: Grade(400.0, 240.0, 225.0, 0.6, STEEL),
    m.BoltClass.CLASS_5_6: Grade(500.0, 300.0, 280.0, 0.6, STEEL),
    m.BoltClass.CLASS_8_8: Grade(800.0, 640.0, 580.0, 0.6, STEEL),
    m.BoltClass.CLASS_10_9: Grade(1000.0, 900.0, 830.0, 0.5, STEEL),
    # the shear factor's standard ends at 10.9; the next class gets the same
    m.BoltClass.CLASS_12_9: Grade(1200.0, 1080.0, 970.0, 0.5, (*STEEL, "memory")),
    # a standard for stainless connections takes 0.5 where the thread is sheared (remembered)
    m.BoltClass.A2_70: Grade(700.0, 450.0, 450.0, 0.5, (ISO_3506, "memory")),
}
"""Sizes up to M16."""


def stress_area_mm2(diameter_mm: float, thread_pitch_mm: float) -> float:
    """Stress area of an ISO metric thread, π/4·((d₂ + d₃)/2)², with d₂ = d − 3H/4, d₃ = d₁ − H/6, d₁ = d − 5H/4, H = √3/2·P.

    Source: ISO 898-1:2013, basic sizes after ISO 724. Raises DesignFault unless 0 < P and P < d/2.
    """
    if not (0.0 < thread_pitch_mm < 0.5 * diameter_mm and math.isfinite(diameter_mm)):
        value, allowed = f"{diameter_mm:g} × {thread_pitch_mm:g} mm", "a pitch above 0 and under half the diameter"
        raise DesignFault([Fault("this is no thread", "thread_pitch_mm", 0, value, allowed)])
    height = 0.5 * math.sqrt(3.0) * thread_pitch_mm
    pitch_diameter = diameter_mm - 0.75 * height
    ground_diameter = diameter_mm - 1.25 * height - height / 6.0
    return 0.25 * math.pi * (0.5 * (pitch_diameter + ground_diameter)) ** 2


def bolt_area_mm2(bolt: catalogue.Bolt) -> float:
    """Stress area of a bolt of the catalogue."""
    return stress_area_mm2(bolt.diameter_mm, bolt.thread_pitch_mm)


def proof_load_n(bolt: catalogue.Bolt, bolt_class: m.BoltClass) -> float:
    """What a bolt bears in tension without set, by its class. Source: ISO 898-1:2013; ISO 3506 for A2-70 (its 0.2 % stress)."""
    return bolt_area_mm2(bolt) * GRADES[bolt_class].proof_mpa


def pin_force_n(torque_nmm: float, pins: int, radius_mm: float) -> float:
    """Equal share of each of ``pins`` on a circle under a torque. Raises DesignFault without pins or radius."""
    if pins < 1 or not radius_mm > 0.0:
        value, allowed = f"{pins} on a radius of {radius_mm:g} mm", "1 or more, above 0 mm"
        raise DesignFault([Fault("these pins take no torque", "pins", 0, value, allowed)])
    return abs(torque_nmm) / (pins * radius_mm)


def pin_pressure_mpa(force_n: float, diameter_mm: float, length_mm: float) -> float:
    """Mean pressure of a pin in its hole, on the projected area. Raises DesignFault unless both lengths are above 0."""
    if not (diameter_mm > 0.0 and length_mm > 0.0):
        value = f"ø{diameter_mm:g} × {length_mm:g} mm"
        raise DesignFault([Fault("this pin has no bearing area", "diameter_mm", 0, value, "above 0 mm")])
    return abs(force_n) / (diameter_mm * length_mm)


def clamp_n(bolt: catalogue.Bolt, bolt_class: m.BoltClass, hole_mm: float, under_head_mpa: float) -> float:
    """Clamp force of one bolt: three quarters of its proof load, or less where its head would sink in.

    ``under_head_mpa``: pressure that the clamped material bears under the head's ring (head diameter less the hole).
    """
    ring_mm2 = 0.25 * math.pi * (bolt.head_diameter_mm**2 - hole_mm**2)
    return min(TIGHTENED * proof_load_n(bolt, bolt_class), under_head_mpa * ring_mm2)


def ring_pins(
    design: m.Design, ring: m.RigidRing, root_mm: float, torque_nmm: float, data: StrengthData
) -> tuple[Item, ...]:
    """What holds one rigid ring under a torque: shear of its dowels or bolts, and their pressure in the ring.

    ``data``: the ring's material for stress across its axis.
    """
    radius = bolt_circle_radius_mm(ring, root_mm)
    if ring.dowels:
        return _dowels(ring, radius, torque_nmm, data, least_wall_mm(design))
    shear = Check(f"bolt_shear:{ring.name}", f"Bolts of rigid ring {ring.name} in shear", "", "", ())
    if ring.bolts == 0:
        return (shear.not_made(f"rigid ring {ring.name} is held by neither bolts nor dowels"),)
    missing = no_bolt_holes(design, ring, root_mm)
    if missing:
        return (shear.not_made(missing),)
    return _bolts(ring, radius, torque_nmm, data)


def _numbers(kind: str, count: int, radius: float, torque: float, force: float) -> str:
    return (
        f"T {abs(torque) / 1000:.3g} N·m on {count} {kind} at R {radius:.2f} mm: {force:.3g} N each; the most loaded bears "
        f"{UNEVEN.middle:g} times that ({UNEVEN.low:g} to {UNEVEN.high:g})"
    )


def _bolts(ring: m.RigidRing, radius: float, torque: float, data: StrengthData) -> tuple[Item, ...]:
    bolt, grade = catalogue.bolt(ring.bolt), GRADES[ring.bolt_class]
    area, force = bolt_area_mm2(bolt), pin_force_n(torque, ring.bolts, radius)
    numbers = _numbers(f"{ring.bolt} class {ring.bolt_class.value}", ring.bolts, radius, torque, force)
    strength = grade.shear_factor * grade.ultimate_mpa
    shear = Check(
        f"bolt_shear:{ring.name}",
        f"Bolts of rigid ring {ring.name} in shear",
        "τ = T/(n·R·A_s), against a share of the class's tensile strength",
        f"{numbers}; A_s {area:.3g} mm²; {grade.shear_factor:g} · {grade.ultimate_mpa:.0f} MPa",
        (*grade.source_keys, TEXTBOOK, "trade_practice"),
        joined("as plain pins, one shear plane through the thread", _clamp_words(ring, bolt, radius, torque, data)),
    )
    pressure = Check(
        f"bolt_pressure:{ring.name}",
        f"Bolt holes of rigid ring {ring.name}",
        "p = T/(n·R·d·t), on the bolt's projected area",
        f"{numbers}; d {bolt.diameter_mm:g} mm, t {ring.width_mm:g} mm",
        (TEXTBOOK, "trade_practice"),
        "" if data.metal else STANDING_LOAD,
    )
    bearing = pin_pressure_mpa(force, bolt.diameter_mm, ring.width_mm)
    return (
        shear.against(exactly(strength), UNEVEN.scaled(force / area)),
        pressure.in_material(data, UNEVEN.scaled(bearing)),
    )


def _clamp_words(ring: m.RigidRing, bolt: catalogue.Bolt, radius: float, torque: float, data: StrengthData) -> str:
    limit = limit_of(data)
    if limit is None or torque == 0.0:
        return ""
    clamp = clamp_n(bolt, ring.bolt_class, clearance_hole_mm(ring.bolt), limit.stress_mpa.low)
    times = FRICTION * clamp * ring.bolts * radius / abs(torque)
    told = f"{times:.0f}" if times >= 10.0 else f"{times:.2g}"
    lasts = "" if data.metal else " until the clamp creeps away"
    return f"tightened to {clamp:.0f} N each, friction ({FRICTION:g}) alone holds about {told} times the torque{lasts}"


def _dowels(ring: m.RigidRing, radius: float, torque: float, data: StrengthData, wall: float) -> tuple[Item, ...]:
    name, title = f"dowel_shear:{ring.name}", f"Dowels of rigid ring {ring.name} in shear"
    least = ring.dowel_mm + 2.0 * wall
    if ring.rim_mm < least:
        why = f"dowels of {ring.dowel_mm:g} mm need a rim of {least:.1f} mm, rigid_ring.rim_mm is {ring.rim_mm:g} mm"
        return (Check(name, title, "", "", ()).not_made(why),)
    area, force = 0.25 * math.pi * ring.dowel_mm**2, pin_force_n(torque, ring.dowels, radius)
    numbers = _numbers(f"dowels ø{ring.dowel_mm:g} mm", ring.dowels, radius, torque, force)
    shear = Check(
        name,
        title,
        "τ = T/(n·R·π·d²/4), against a share of the pin's tensile strength",
        f"{numbers}; {DOWEL_SHEAR:g} · {DOWEL_ULTIMATE_MPA:.0f} MPa",
        ("memory", TEXTBOOK, "trade_practice"),
        joined(remembered("an unhardened pin, its strength"), "dowels take the torque alone"),
    )
    pressure = Check(
        f"dowel_pressure:{ring.name}",
        f"Dowel holes of rigid ring {ring.name}",
        "p = T/(n·R·d·t), on the dowel's projected area",
        f"{numbers}; t {ring.width_mm:g} mm",
        (TEXTBOOK, "trade_practice"),
        joined("dowels as long as the ring is wide", "" if data.metal else STANDING_LOAD),
    )
    bearing = pin_pressure_mpa(force, ring.dowel_mm, ring.width_mm)
    return (
        shear.against(exactly(DOWEL_SHEAR * DOWEL_ULTIMATE_MPA), UNEVEN.scaled(force / area)),
        pressure.in_material(data, UNEVEN.scaled(bearing)),
    )
