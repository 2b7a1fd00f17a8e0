"""Rigid rings as parts: internal teeth, a plain rim with bolt holes, and a notch that marks the middle of a tooth space."""

from __future__ import annotations

import math

from lobewright.assessment.results import Assessment, RingMesh
from lobewright.design import model as m
from lobewright.design.holding import bolt_circle_radius_mm, clearance_hole_mm, no_bolt_holes
from lobewright.make.bodies import Body, Loop, Part, Slab, exact, made_of
from lobewright.make.outlines import bolt_circle, notched_circle
from lobewright.make.toothing import rigid_pitch

NOTCH_MM = 1.0
NOTCH_SHARE = 0.2
"""Of the rim, at most, for the notch that marks the zero."""


def rim_holes(design: m.Design, ring: m.RigidRing, root_mm: float, shrunk_mm: float) -> tuple[tuple[Loop, ...], str]:
    """Bolt holes in a ring's rim, and what to know of them; none where the rim is too narrow.

    The first stands half a step from the notch. Positions are the same in the nominal part and the print file.
    """
    reason = no_bolt_holes(design, ring, root_mm)
    if reason:
        return (), reason
    hole, radius = clearance_hole_mm(ring.bolt), bolt_circle_radius_mm(ring, root_mm)
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
        material=ring.material or made_of(a.design),
        note=f"{note}; the notch outside marks the middle of a tooth space",
        drawn=True,
    )
