"""What a part is before a solid modeller sees it: flat outlines with a height, or a profile turned about the axis.

Each outline carries the area that it should have, taken from points rather than from the arcs that stand for them, so
that the volume of the finished solid can be held against a number that came another way.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
import shapely

from lobewright.design import model as m
from lobewright.make.outlines import Contour

Array = np.ndarray


class Feature(StrEnum):
    """What an outline is for; a printer's allowances differ by it."""

    CONTOUR = "contour"
    SEAT = "seat"
    BOLT_HOLE = "bolt_hole"
    NUT = "nut"


class Group(StrEnum):
    """What a part belongs to; it chooses the colour."""

    FLEXIBLE_RING = "flexible_ring"
    RIGID_RING = "rigid_ring"
    GENERATOR = "generator"
    FRAME = "frame"
    OUTPUT = "output"
    INPUT = "input"
    TEST = "test"
    BOUGHT = "bought"


@dataclass(frozen=True)
class Loop:
    """A closed outline. ``edges_per_space`` and ``error_mm`` tell of fitted arcs; 0 for outlines that are exact."""

    contour: Contour
    area_mm2: float
    edges_per_space: int = 0
    error_mm: float = 0.0
    feature: Feature = Feature.CONTOUR


def exact(contour: Contour, feature: Feature = Feature.CONTOUR) -> Loop:
    """An outline that needs no fitting; its area comes from closely set points on it."""
    return Loop(contour.anticlockwise(), contour.polygon().area, feature=feature)


@dataclass(frozen=True)
class Slab:
    """A plate between two heights: an outline less its holes."""

    outer: Loop
    holes: tuple[Loop, ...]
    bottom_mm: float
    top_mm: float

    @property
    def volume_mm3(self) -> float:
        area = self.outer.area_mm2 - sum(hole.area_mm2 for hole in self.holes)
        return area * (self.top_mm - self.bottom_mm)


@dataclass(frozen=True)
class Turned:
    """A profile (x: radius, y: height) turned a whole turn about the axis."""

    profile: Contour

    @property
    def volume_mm3(self) -> float:
        """Area times the way of its centroid (Pappus)."""
        flat: shapely.Polygon = self.profile.polygon(2e-5)
        return 2 * math.pi * flat.centroid.x * flat.area


@dataclass(frozen=True)
class Drill:
    """A round hole across the axis, level with the layers, from a point for a length along ``direction_rad``.

    It lies wholly in the material and begins and ends at flat faces square to it, so that its volume is that of a cylinder.
    """

    start_mm: tuple[float, float, float]
    direction_rad: float
    diameter_mm: float
    length_mm: float
    feature: Feature = Feature.BOLT_HOLE

    @property
    def volume_mm3(self) -> float:
        return math.pi / 4 * self.diameter_mm**2 * self.length_mm


@dataclass(frozen=True)
class Body:
    """Slabs and turned profiles that touch and become one, less pockets and drilled holes that lie wholly inside them."""

    pieces: tuple[Slab | Turned, ...]
    pockets: tuple[Slab, ...] = ()
    drills: tuple[Drill, ...] = ()

    @property
    def volume_mm3(self) -> float:
        """Volume that the solid should have."""
        away = sum(pocket.volume_mm3 for pocket in self.pockets) + sum(drill.volume_mm3 for drill in self.drills)
        return sum(piece.volume_mm3 for piece in self.pieces) - away

    @property
    def loops(self) -> tuple[Loop, ...]:
        slabs = [piece for piece in self.pieces if isinstance(piece, Slab)]
        return tuple(loop for slab in slabs for loop in (slab.outer, *slab.holes))


@dataclass(frozen=True)
class Part:
    """One part to make or to buy. ``note`` is what the maker must know of it.

    ``drawn``: a flat drawing is wanted too. ``turned_over``: it prints with its top on the bed. ``step_only``: it is
    turned and milled, so a mesh is of no use. ``support``: why and where it needs support to print; empty for none.
    ``designation``: of a bought part, by its standard; its body is a plain stand-in. Empty for parts that are made.
    ``no_longer``: of a screw whose end may not stand out: neither a longer one nor a rounded-up length serves. ``sunk``: of a
    nut or screw whose nut or head lies in a pocket, which takes no other form. ``may_skip``: the drive runs without this part.
    ``advised_material``: what to make it of, in words, where ``material`` is free. ``joined_by``: of the first piece of a
    part larger than the bed, what joins all its pieces: designation, words, count.
    """

    name: str
    words: str
    quantity: int
    body: Body
    material: str
    note: str = ""
    drawn: bool = False
    turned_over: bool = False
    step_only: bool = False
    group: Group = Group.FRAME
    support: str = ""
    designation: str = ""
    no_longer: bool = False
    sunk: bool = False
    may_skip: bool = False
    joined_by: tuple[tuple[str, str, int], ...] = ()
    advised_material: str = ""

    @property
    def edges_per_space(self) -> int:
        return max((loop.edges_per_space for loop in self.body.loops), default=0)

    @property
    def fit_error_mm(self) -> float:
        return max((loop.error_mm for loop in self.body.loops), default=0.0)


def made_of(design: m.Design) -> str:
    """Catalogue name of the material that the process prints; empty where parts are cut from what is chosen there."""
    return design.process.material if isinstance(design.process, m.Printer) else ""
