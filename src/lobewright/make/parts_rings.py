"""Rigid rings as parts: internal teeth, a plain rim with bolt holes, and a notch that marks the middle of a tooth space."""

from __future__ import annotations

import math

from lobewright.assessment.results import Assessment, RingMesh
from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.design.holding import bolt_circle_radius_mm, clearance_hole_mm, no_bolt_holes
from lobewright.make.bodies import Body, Feature, Group, Loop, Part, Slab, exact, made_of
from lobewright.make.layout import nuts_on_top, sinks_nuts, sunk_nut_fault
from lobewright.make.outlines import bolt_circle, circle, notched_circle
from lobewright.make.standards import nut_trap, trap_depth_mm
from lobewright.make.toothing import rigid_pitch

NOTCH_MM = 1.0
NOTCH_SHARE = 0.2
"""Of the rim, at most, for the notch that marks the zero."""


def rim_holes(design: m.Design, ring: m.RigidRing, root_mm: float) -> tuple[tuple[Loop, ...], str]:
    """Bolt holes in a ring's rim, and what to know of them; none where the rim is too narrow.

    The first stands half a step from the notch.
    """
    reason = no_bolt_holes(design, ring, root_mm)
    if reason:
        return (), reason
    hole, radius = clearance_hole_mm(ring.bolt), bolt_circle_radius_mm(ring, root_mm)
    holes = bolt_circle(radius, hole, ring.bolts, math.pi / ring.bolts)
    note = f"{ring.bolts} holes ø{hole:g} mm ({ring.bolt}, ISO 273 medium) on a circle of ø{2 * radius:.2f} mm"
    return tuple(exact(one, Feature.BOLT_HOLE) for one in holes), note


def nut_traps(design: m.Design, ring: m.RigidRing, root_mm: float) -> tuple[tuple[Slab, ...], str, bool]:
    """Pockets for the bolts' nuts on the side of the other ring, which stands too close for nuts; what to know of them; and
    whether they open at the top. None where nuts can stand out, or where the ring has no room for them."""
    if not sinks_nuts(design, ring):
        return (), "", True
    on_top, reason = nuts_on_top(design, ring), sunk_nut_fault(design, ring, root_mm)
    if reason:
        return (), f"; no nut pockets: {reason}" if ring.bolts else "", on_top
    bolt, radius = catalogue.bolt(ring.bolt), bolt_circle_radius_mm(ring, root_mm)
    depth = trap_depth_mm(bolt)
    ends = (ring.width_mm - depth, ring.width_mm) if on_top else (0.0, depth)
    hole = bolt.hole_medium_mm / 2
    pockets = []
    for k in range(ring.bolts):
        turn = (2 * k + 1) * math.pi / ring.bolts
        x, y = radius * math.cos(turn), radius * math.sin(turn)
        pockets.append(Slab(nut_trap(bolt, x, y), (exact(circle(hole, x, y), Feature.BOLT_HOLE),), *ends))
    return (
        tuple(pockets),
        f"; {ring.bolts} pockets for nuts {bolt.size}, {depth:g} mm deep, face the other ring",
        on_top,
    )


def rigid_ring(a: Assessment, ring: m.RigidRing, mesh: RingMesh) -> Part:
    """One rigid ring, its axis at 0, lying on z = 0."""
    root = mesh.space.root_radius_mm
    outer = root + ring.rim_mm
    notch = min(NOTCH_MM, NOTCH_SHARE * ring.rim_mm)
    holes, note = rim_holes(a.design, ring, root)
    rim = exact(notched_circle(outer, notch))
    traps, sunk, on_top = nut_traps(a.design, ring, root)
    teeth = rigid_pitch(mesh.space).loop()
    return Part(
        name=f"ring_{ring.name}",
        words=f"rigid ring {ring.name}, {ring.teeth} teeth",
        quantity=1,
        body=Body((Slab(rim, (teeth, *holes), 0.0, ring.width_mm),), traps),
        material=ring.material or made_of(a.design),
        note=f"{note}; the notch outside marks the middle of a tooth space{sunk}",
        drawn=True,
        turned_over=bool(traps) and not on_top,
        group=Group.RIGID_RING,
    )
