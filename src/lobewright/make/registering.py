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
LEAST_IN_MM = 2.0
"""A dowel reaches this far into ring and plate at least, wherever it has slid to."""
PASS_MM = 0.4
"""A hole that a dowel only passes is wider by this."""
USUAL_SLENDER = 10.0
"""Dowels longer than this many diameters are seldom sold."""
Spots = tuple[tuple[float, float], ...]


def ring_dowels(a: Assessment, ring: m.RigidRing) -> Spots:
    """Where the dowels of a held or read ring stand; none where its rim has no room."""
    return dowel_spots(a.design, ring, root_radius_mm(a, ring))[0]


def dowel_pockets(
    ring: m.RigidRing, spots: Spots, bottom_mm: float = 0.0, top_mm: float = FLOOR_MM - PLATE_FLOOR_MM
) -> tuple[Slab, ...]:
    """Blind holes in a bearing plate between two heights."""
    half = ring.dowel_mm / 2
    return tuple(Slab(exact(circle(half, x, y), Feature.SEAT), (), bottom_mm, top_mm) for x, y in spots)


def dowel_passes(ring: m.RigidRing, spots: Spots) -> tuple[Loop, ...]:
    """Holes in what lies between ring and bearing plate."""
    half = (ring.dowel_mm + PASS_MM) / 2
    return tuple(exact(circle(half, x, y), Feature.BOLT_HOLE) for x, y in spots)


def dowel_length_mm(ring: m.RigidRing, between_mm: float) -> float:
    """The longest usual dowel for two blind holes with ``between_mm`` from face to face that reaches into both, wherever it has
    slid to; where none is sold so, the length of a piece of rod."""
    pocket, plate = dowel_pocket_mm(ring), FLOOR_MM - PLATE_FLOOR_MM
    least, most = between_mm + max(pocket, plate) + LEAST_IN_MM, between_mm + pocket + plate
    usual = [one for one in DOWEL_LENGTHS_MM if least <= one <= most + 1e-9]
    return float(usual[-1] if usual else math.floor(most + 1e-9))


def dowel_part(ring: m.RigidRing, length_mm: float, name: str, words: str) -> Part:
    """A dowel standing on z = 0."""
    note = "into the plate first, then the ring over it; clear tight holes with a drill of its size"
    size = f"{ring.dowel_mm:g}×{length_mm:g}"
    designation = (
        f"ISO 8734 {size}" if length_mm in DOWEL_LENGTHS_MM else f"ground rod ø{ring.dowel_mm:g} mm, {length_mm:g} mm"
    )
    if length_mm > USUAL_SLENDER * ring.dowel_mm:
        note += f"; or cut from ground rod ø{ring.dowel_mm:g} mm"
    return bought(name, words, 2, tube(ring.dowel_mm, 0.0, length_mm), designation, note)
