"""What holds bearings, rings and shafts: the plain measures that making and checking share.

Thicknesses, walls and the shaft are common practice for a home workshop, no source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.errors import DesignFault, Fault

LEAST_WALL_MM = 1.2
"""Material left on either side of a bolt hole: three beads of a usual nozzle (common practice)."""
PLATE_MM = 5.0
SHAFT_MM = 8.0
HUB_BOLT = "M3"
HUB_BOLTS = 4
HUB_CIRCLE_MM = 16.0
"""A flange for an 8 mm shaft usually has four M3 holes on this circle."""
GAP_MM = 1.0
"""Kept between a carrier's edge and the flexible ring."""
SHOULDER_MM = 0.6


def rolling_bearing(generator: m.Generator) -> catalogue.Bearing:
    """The bearing that a roller is, or that a disc runs on. Not for cams."""
    assert not isinstance(generator, m.Cam), "a cam has neither rollers nor discs"
    return catalogue.bearing(generator.bearing)


@dataclass(frozen=True)
class Axle:
    """How a bearing's bore is held: a bolt straight through, or with a sleeve between both. Lengths in mm."""

    bolt: catalogue.Bolt
    hole_mm: float
    sleeve: bool


def axle(bearing: catalogue.Bearing) -> Axle:
    """The largest bolt that goes through the bore, directly or in a sleeve with a printable wall.

    Raises DesignFault when the bore is too small for any bolt of the catalogue.
    """
    for bolt in reversed(catalogue.bolts()):
        if abs(bolt.diameter_mm - bearing.bore_mm) < 0.05:
            return Axle(bolt, bolt.hole_fine_mm, False)
        if bolt.hole_fine_mm + 2 * LEAST_WALL_MM <= bearing.bore_mm:
            return Axle(bolt, bolt.hole_fine_mm, True)
    what = f"no bolt of the catalogue goes through bearing {bearing.designation}"
    least = catalogue.bolts()[0]
    value, allowed = f"bore {bearing.bore_mm:g} mm", f"a bore of at least {least.diameter_mm:g} mm"
    raise DesignFault([Fault(what, "generator.bearing", value=value, allowed=allowed)])


def face_mm(design: m.Design) -> float:
    """Width of the flexible ring's teeth, all rows: what the generator has to carry."""
    second = getattr(design.flexible_ring, "second_row", None)
    return design.flexible_ring.width_mm + (second.width_mm if second else 0.0)


def bearings_on_an_axle(design: m.Design, bearing: catalogue.Bearing) -> int:
    """As many bearings side by side as the ring's face has room for, at least one."""
    return max(1, int(face_mm(design) / bearing.width_mm + 1e-9))


def clearance_hole_mm(size: str) -> float:
    """Diameter of a clearance hole, ISO 273 medium."""
    return catalogue.bolt(size).hole_medium_mm


def least_wall_mm(design: m.Design) -> float:
    """Thinnest wall round a hole: two beads, and never below ``LEAST_WALL_MM``."""
    process = design.process
    return max(LEAST_WALL_MM, 2 * process.extrusion_width_mm) if isinstance(process, m.Printer) else LEAST_WALL_MM


def hub_mm(room_mm: float) -> tuple[float, bool]:
    """Radius of a generator's hub within a free radius, and whether it has the bolts of a flange."""
    wide = HUB_CIRCLE_MM / 2 + clearance_hole_mm(HUB_BOLT) / 2 + LEAST_WALL_MM
    return (wide, True) if room_mm >= wide else (SHAFT_MM / 2 + 2 * LEAST_WALL_MM, False)


def bolt_circle_radius_mm(ring: m.RigidRing, root_mm: float) -> float:
    """Radius of the circle on which a rigid ring's bolts and dowels stand: the middle of its rim."""
    return root_mm + ring.rim_mm / 2


def no_bolt_holes(design: m.Design, ring: m.RigidRing, root_mm: float) -> str:
    """Why a rigid ring has no bolt holes, in words; empty where it has them."""
    if ring.bolts == 0:
        return "no bolt holes asked for"
    hole, wall = clearance_hole_mm(ring.bolt), least_wall_mm(design)
    if ring.rim_mm < hole + 2 * wall:
        least = hole + 2 * wall
        return (
            f"bolt holes left out: {ring.bolt} needs a rim of {least:.1f} mm (hole {hole:g} mm and two walls of "
            f"{wall:g} mm), rigid_ring.rim_mm is {ring.rim_mm:g} mm"
        )
    radius = bolt_circle_radius_mm(ring, root_mm)
    if ring.bolts > 1 and 2 * radius * math.sin(math.pi / ring.bolts) < hole + wall:
        most = int(math.pi / math.asin((hole + wall) / (2 * radius)))
        return f"bolt holes left out: {ring.bolts} of {ring.bolt} run into each other, {most} have room"
    return ""
