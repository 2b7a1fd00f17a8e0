"""Dowels that centre a rigid ring on the plate that carries it.

Bolts in clearance holes leave a ring tenths of a millimetre off the axis, as much as the teeth's clearance. Two dowels (ISO
8734) on the bolts' circle join ring and bearing plate straight; what lies between them has clearance holes and centres nothing.
Both ends are blind, so that a dowel cannot wander into the mesh. Common practice, no source; lengths of dowels are remembered.
"""

from __future__ import annotations

import math

from lobewright.assessment.results import Assessment
from lobewright.design import model as m
from lobewright.make.bodies import Feature, Loop, Part, Slab, exact
from lobewright.make.bought import bought, tube
from lobewright.make.layout import FLOOR_MM, root_radius_mm
from lobewright.make.outlines import circle
from lobewright.make.parts_rings import dowel_pocket_mm, dowel_spots

DOWEL_LENGTHS_MM = (8, 10, 12, 14, 16, 18, 20, 22, 24, 26, 28, 30, 32, 35, 40, 45, 50, 55, 60, 65, 70, 75, 80)
PLATE_FLOOR_MM = 1.0
"""Left of a bearing plate behind a dowel."""
LEAST_IN_MM, SHORT_MM = 2.0, 0.5
"""A dowel reaches this far into either part at least, wherever it has slid to; one through plates between them is shorter than
its two holes by no more than this."""
ROD_SHORT_MM = 0.2
"""A piece of rod is shorter than both its holes by this at least."""
PASS_MM = 0.4
"""A hole that a dowel only passes is wider by this."""
POSITION_SHARE = 0.2
"""Of the teeth's clearance, for where dowels stand to the teeth on one side and to the seat on the other (common practice): what
is left over is for the bearings' own run-out."""
USUAL_SLENDER = 10.0
"""Dowels longer than this many diameters are seldom sold."""
Spots = tuple[tuple[float, float], ...]


def position_mm(ring: m.RigidRing) -> float:
    """How far a cut ring's dowels, teeth and seat may stand off one another: ``POSITION_SHARE`` of the clearance a flank, in
    steps of 0.005 mm, 0.005 mm at least."""
    return max(0.005, math.floor(POSITION_SHARE * ring.clearance_mm / 0.005 + 1e-9) * 0.005)


def ring_dowels(a: Assessment, ring: m.RigidRing) -> Spots:
    """Where the dowels of a held or read ring stand; none where its rim has no room."""
    return dowel_spots(a.design, ring, root_radius_mm(a, ring))[0]


def dowel_pockets(
    ring: m.RigidRing, spots: Spots, bottom_mm: float = 0.0, top_mm: float = FLOOR_MM - PLATE_FLOOR_MM
) -> tuple[Slab, ...]:
    """Blind holes in a bearing plate between two heights."""
    return pockets(ring.dowel_mm, spots, bottom_mm, top_mm)


def pockets(dowel_mm: float, spots: Spots, bottom_mm: float, top_mm: float) -> tuple[Slab, ...]:
    """Blind holes for dowels of a size between two heights."""
    half = dowel_mm / 2
    return tuple(Slab(exact(circle(half, x, y), Feature.SEAT), (), bottom_mm, top_mm) for x, y in spots)


def dowel_passes(ring: m.RigidRing, spots: Spots) -> tuple[Loop, ...]:
    """Holes in what lies between ring and bearing plate."""
    half = (ring.dowel_mm + PASS_MM) / 2
    return tuple(exact(circle(half, x, y), Feature.BOLT_HOLE) for x, y in spots)


def dowel_length_mm(ring: m.RigidRing, between_mm: float) -> float:
    """Length of the dowels between a ring and its bearing plate, see :func:`length_between_mm`."""
    return length_between_mm(dowel_pocket_mm(ring), FLOOR_MM - PLATE_FLOOR_MM, between_mm)


def length_between_mm(one_mm: float, other_mm: float, between_mm: float) -> float:
    """The longest usual dowel for two blind holes of these depths, ``between_mm`` from face to face, that fills both but for
    ``SHORT_MM``; where none is sold so, the length of a piece of rod."""
    most = one_mm + between_mm + other_mm
    usual = [one for one in DOWEL_LENGTHS_MM if most - SHORT_MM - 1e-9 <= one <= most + 1e-9]
    if usual or between_mm > 0.0:
        return float(usual[-1] if usual else math.floor(2.0 * (most - ROD_SHORT_MM) + 1e-9) / 2.0)
    # Two plates face on face: a shorter one holds as well as long as it cannot leave either of them.
    least = max(one_mm, other_mm) + LEAST_IN_MM
    sold = [one for one in DOWEL_LENGTHS_MM if least <= one <= most + 1e-9]
    return float(sold[-1] if sold else math.floor(2.0 * (most - ROD_SHORT_MM) + 1e-9) / 2.0)


def dowel_part(design: m.Design, size_mm: float, length_mm: float, name: str, words: str) -> Part:
    """A dowel standing on z = 0."""
    cut = isinstance(design.process, m.Machined)
    holes = f"ream the holes {size_mm:g} H7" if cut else "clear tight holes with a drill of its size"
    note = f"into the plate first, then what it centres over it; {holes}"
    designation = f"ISO 8734 {size_mm:g}×{length_mm:g}"
    if length_mm not in DOWEL_LENGTHS_MM:
        designation = f"ground rod ø{size_mm:g} mm, {length_mm:g} mm"
        note += "; cut it to length, chamfer both ends"
    elif length_mm > USUAL_SLENDER * size_mm:
        note += f"; or cut from ground rod ø{size_mm:g} mm"
    return bought(name, words, 2, tube(size_mm, 0.0, length_mm), designation, note)
