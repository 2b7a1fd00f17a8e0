"""Rigid rings as parts: internal teeth, a plain rim with bolt holes, and a notch that marks the middle of a tooth space."""

from __future__ import annotations

import math

import shapely

from lobewright.assessment.results import Assessment, RingMesh
from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.design.holding import bolt_circle_radius_mm, clearance_hole_mm, least_wall_mm, no_bolt_holes
from lobewright.make.arranging import Arrangement, arrangement, nuts_on_top, sinks_nuts, sunk_nut_fault
from lobewright.make.bodies import Body, Feature, Group, Loop, Part, Slab, exact, made_of
from lobewright.make.outlines import bolt_circle, circle, notched_circle
from lobewright.make.standards import nut_trap, trap_depth_mm
from lobewright.make.toothing import rigid_pitch

NOTCH_MM = 1.0
NOTCH_SHARE = 0.2
"""Of the rim, at most, for the notch that marks the zero."""
CENTRING_DOWELS = 2
DOWEL_FLOOR_MM, DEEPEST_DOWEL_MM = 1.2, 6.0
"""Left of a ring in front of a dowel, and how deep its hole is at most."""


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


def notch_mm(ring: m.RigidRing) -> float:
    """Radius of the notch that marks the zero."""
    return min(NOTCH_MM, NOTCH_SHARE * ring.rim_mm)


def centred(design: m.Design, ring: m.RigidRing) -> bool:
    """Whether a ring is held or read in an assembly, so that dowels centre it on its bearing plate."""
    return arrangement(design)[0] is not None and ring.name in (design.motion.fixed, design.motion.read)


def dowel_spots(design: m.Design, ring: m.RigidRing, root_mm: float) -> tuple[tuple[tuple[float, float], ...], str]:
    """Where a ring's dowels stand on the bolts' circle, evenly spaced and midway between bolts where the counts allow; with
    what to know where they are left out. A ring of an assembly has two where the design asks for none.

    None where they would leave less than a wall to a bolt hole, to the rim's edges or to the notch at angle 0.
    """
    count = ring.dowels or (CENTRING_DOWELS if centred(design, ring) and ring.bolts else 0)
    if count == 0:
        return (), ""
    wall, radius = least_wall_mm(design), bolt_circle_radius_mm(ring, root_mm)
    if ring.rim_mm < ring.dowel_mm + 2 * wall:
        return (), f"dowel holes left out: ø{ring.dowel_mm:g} mm needs a rim of {ring.dowel_mm + 2 * wall:.1f} mm"
    rim = shapely.Point(0.0, 0.0).buffer(radius + ring.rim_mm / 2, quad_segs=64)
    notch = shapely.Point(radius + ring.rim_mm / 2, 0.0).buffer(notch_mm(ring))
    bolts = rim_holes(design, ring, root_mm)[0]
    kept = shapely.union_all([rim.exterior.buffer(1e-3), notch, *(loop.contour.polygon() for loop in bolts)])
    steps = max(ring.bolts, 1)
    for k in range(steps):
        turns = [2 * math.pi * (k / steps + n / count) for n in range(count)]
        spots = tuple((radius * math.cos(turn), radius * math.sin(turn)) for turn in turns)
        if all(circle(ring.dowel_mm / 2, *spot).polygon().distance(kept) >= wall - 2e-3 for spot in spots):
            return spots, ""
    return (), f"dowel holes left out: {count} of ø{ring.dowel_mm:g} mm have no room beside {ring.bolts} bolt holes"


def dowel_pocket_mm(ring: m.RigidRing) -> float:
    """How deep the holes for dowels are: blind, but for dowels that the design asks for, which carry the torque."""
    return ring.width_mm if ring.dowels else min(ring.width_mm - DOWEL_FLOOR_MM, DEEPEST_DOWEL_MM)


def dowel_holes(design: m.Design, ring: m.RigidRing, root_mm: float) -> tuple[tuple[Loop, ...], tuple[Slab, ...], str]:
    """Holes for dowels, right through where the design asks for them, else blind ones from the face on the bearing plate; and
    a note."""
    spots, told = dowel_spots(design, ring, root_mm)
    if not spots:
        return (), (), told
    loops = tuple(exact(circle(ring.dowel_mm / 2, *spot), Feature.SEAT) for spot in spots)
    note = f"{len(loops)} holes ø{ring.dowel_mm:g} mm for dowels (ISO 8734) on the same circle"
    if ring.dowels:
        return loops, (), note
    on_top = arrangement(design)[0] is Arrangement.TWO_RINGS and not nuts_on_top(design, ring)
    deep = dowel_pocket_mm(ring)
    ends = (ring.width_mm - deep, ring.width_mm) if on_top else (0.0, deep)
    return (), tuple(Slab(loop, (), *ends) for loop in loops), f"{note}, {deep:g} mm deep: they centre it on its plate"


def rigid_ring(a: Assessment, ring: m.RigidRing, mesh: RingMesh) -> Part:
    """One rigid ring, its axis at 0, lying on z = 0."""
    root = mesh.space.root_radius_mm
    outer = root + ring.rim_mm
    holes, note = rim_holes(a.design, ring, root)
    dowels, blind, told = dowel_holes(a.design, ring, root)
    note = f"{note}; {told}" if told else note
    rim = exact(notched_circle(outer, notch_mm(ring)))
    traps, sunk, on_top = nut_traps(a.design, ring, root)
    teeth = rigid_pitch(mesh.space).loop()
    return Part(
        name=f"ring_{ring.name}",
        words=f"rigid ring {ring.name}, {ring.teeth} teeth",
        quantity=1,
        body=Body((Slab(rim, (teeth, *holes, *dowels), 0.0, ring.width_mm),), (*traps, *blind)),
        material=ring.material or made_of(a.design),
        note=f"{note}; the notch outside marks the middle of a tooth space{sunk}",
        drawn=True,
        turned_over=bool(traps) and not on_top,
        group=Group.RIGID_RING,
    )
