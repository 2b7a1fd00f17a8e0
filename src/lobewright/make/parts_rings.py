"""Rigid rings as parts: internal teeth, a plain rim with bolt holes, and a notch that marks the middle of a tooth space."""

from __future__ import annotations

import math

from lobewright.assessment.results import Assessment, RingMesh
from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.make.bodies import Body, Loop, Part, Slab, exact, made_of
from lobewright.make.outlines import bolt_circle, notched_circle
from lobewright.make.toothing import rigid_pitch

LEAST_WALL_MM = 1.2
"""Material left on either side of a bolt hole: three beads of a usual nozzle (common practice)."""
NOTCH_MM = 1.0
NOTCH_SHARE = 0.2
"""Of the rim, at most, for the notch that marks the zero."""


def least_wall_mm(design: m.Design) -> float:
    """Thinnest wall round a hole: two beads, and never below ``LEAST_WALL_MM``."""
    process = design.process
    return max(LEAST_WALL_MM, 2 * process.extrusion_width_mm) if isinstance(process, m.Printer) else LEAST_WALL_MM


def clearance_hole_mm(size: str) -> float:
    """Diameter of a clearance hole, ISO 273 medium."""
    return catalogue.bolt(size).hole_medium_mm


def rim_holes(design: m.Design, ring: m.RigidRing, root_mm: float, shrunk_mm: float) -> tuple[tuple[Loop, ...], str]:
    """Bolt holes in a ring's rim, and what to know of them; none where the rim is too narrow.

    The first stands half a step from the notch. Positions are the same in the nominal part and the print file.
    """
    if ring.bolts == 0:
        return (), "no bolt holes asked for"
    hole, wall = clearance_hole_mm(ring.bolt), least_wall_mm(design)
    if ring.rim_mm < hole + 2 * wall:
        least = hole + 2 * wall
        return (), (
            f"bolt holes left out: {ring.bolt} needs a rim of {least:.1f} mm (hole {hole:g} mm and two walls of "
            f"{wall:g} mm), rigid_ring.rim_mm is {ring.rim_mm:g} mm"
        )
    radius = root_mm + ring.rim_mm / 2
    if ring.bolts > 1 and 2 * radius * math.sin(math.pi / ring.bolts) < hole + wall:
        most = int(math.pi / math.asin((hole + wall) / (2 * radius)))
        return (), f"bolt holes left out: {ring.bolts} of {ring.bolt} run into each other, {most} have room"
    holes = bolt_circle(radius, hole + 2 * shrunk_mm, ring.bolts, math.pi / ring.bolts)
    note = f"{ring.bolts} holes ø{hole:g} mm ({ring.bolt}, ISO 273 medium) on a circle of ø{2 * radius:.2f} mm"
    return tuple(exact(one) for one in holes), note


def rigid_ring(a: Assessment, ring: m.RigidRing, mesh: RingMesh, shrunk_mm: float = 0.0) -> Part:
    """One rigid ring, its axis at 0, lying on z = 0."""
    root = mesh.space.root_radius_mm
    outer = root + ring.rim_mm
    notch = min(NOTCH_MM, NOTCH_SHARE * ring.rim_mm)
    holes, note = rim_holes(a.design, ring, root, shrunk_mm)
    rim = exact(notched_circle(outer - shrunk_mm, notch))
    teeth = rigid_pitch(mesh.space, shrunk_mm).loop()
    return Part(
        name=f"ring_{ring.name}",
        words=f"rigid ring {ring.name}, {ring.teeth} teeth",
        quantity=1,
        body=Body((Slab(rim, (teeth, *holes), 0.0, ring.width_mm),)),
        material=made_of(a.design),
        note=f"{note}; the notch outside marks the middle of a tooth space",
        drawn=True,
    )
