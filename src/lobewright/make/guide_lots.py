"""What moves together when a drive is put together: lots of alike parts, and sub-assemblies that go on as one."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
import shapely

from lobewright.make.bodies import Group, Part, Slab
from lobewright.make.bought import GROUND
from lobewright.make.drawer import SCREW, bearing_of
from lobewright.make.numbering import kind_of, part_numbers
from lobewright.make.order import BENCH, Side, Step
from lobewright.make.placing import Member, Place, Placed
from lobewright.make.render import COLOURS, Thing, placed_corners, plain_mesh
from lobewright.make.solids import Mesh

NUT = re.compile(r"^ISO (4032|4035|7040|10511) ")
ROD = ("threaded rod", GROUND)
TOUCH_MM = 0.6
"""Places of one part whose heights come this near are one stack."""
SAME_SPOT_MM = 0.1


@dataclass(frozen=True)
class Lot:
    """Places of one part that move together: a stack, or a circle of alike parts at one height. z range in mm.

    ``bent``: the flexible ring as its generator bends it, in assembly coordinates; None for all other parts.
    """

    number: int
    part: Part
    mesh: Mesh
    places: tuple[Place, ...]
    low_mm: float
    top_mm: float
    step: Step
    member: Member
    side: Side
    bent: Mesh | None = None

    @property
    def is_screw(self) -> bool:
        """Whether it is a screw that lies along the axis."""
        x, y, z = self.mesh.size_mm
        return SCREW.match(self.part.designation) is not None and z > max(x, y)

    @property
    def is_nut(self) -> bool:
        return NUT.match(self.part.designation) is not None

    @property
    def is_rod(self) -> bool:
        return self.part.designation.startswith(ROD)

    @property
    def is_bearing(self) -> bool:
        return bool(self.part.designation) and bearing_of(self.part.designation) is not None

    @property
    def is_ring(self) -> bool:
        return self.part.group is Group.FLEXIBLE_RING

    @cached_property
    def outline(self) -> shapely.Geometry:
        """What its places cover, seen along the axis: their convex hulls."""
        hulls = [shapely.MultiPoint(placed_corners(self.mesh, place)[:, :2]).convex_hull for place in self.places]
        return shapely.union_all(hulls)

    @cached_property
    def plate_mm(self) -> tuple[float, float]:
        """Where its broadest plate lies along the axis, from and to; a turned part or a ring is taken whole."""
        slabs = [piece for piece in self.part.body.pieces if isinstance(piece, Slab)]
        if not slabs or len(slabs) < len(self.part.body.pieces) or self.is_ring or len(self.places) > 1:
            return self.low_mm, self.top_mm
        broadest = max(slabs, key=lambda slab: slab.outer.area_mm2 - sum(hole.area_mm2 for hole in slab.holes))
        place = self.places[0]
        if place.over:
            return place.z_mm - broadest.top_mm, place.z_mm - broadest.bottom_mm
        return place.z_mm + broadest.bottom_mm, place.z_mm + broadest.top_mm

    @property
    def broad_mm(self) -> float:
        """How far it reaches from the axis, across or up."""
        return float(np.abs(self.outline.bounds).max())

    def covers(self, place: Place) -> bool:
        """Whether a line along the axis through a place passes through it or a hole in it."""
        return bool(self.outline.covers(shapely.Point(place.x_mm, place.y_mm)))

    def things(self, shift_mm: float = 0.0, faded: bool = False, bent: bool = False) -> list[Thing]:
        colour = COLOURS[self.part.group]
        if bent and self.bent is not None:
            return [(self.bent, Place(z_mm=shift_mm), colour, faded)]
        return [(self.mesh, replace(one, z_mm=one.z_mm + shift_mm), colour, faded) for one in self.places]


@dataclass(frozen=True)
class Piece:
    """One lot, or all lots of a sub-assembly that goes on as one; ``of`` is then the number of the step
    in which it was put together (0: a lot).

    ``beside``: the side of the part that it goes in with, where that is not its own.
    """

    lots: tuple[Lot, ...]
    side: Side
    of: int = 0
    beside: Side | None = None

    @property
    def line(self) -> Side:
        """On which side it is drawn: a nut that goes into a part first stands between that part and its seat."""
        return self.beside or self.side

    @property
    def whole(self) -> bool:
        return self.of > 0

    @property
    def low_mm(self) -> float:
        return min(lot.low_mm for lot in self.lots)

    @property
    def top_mm(self) -> float:
        return max(lot.top_mm for lot in self.lots)

    @property
    def lead_mm(self) -> float:
        """The face that goes in first: of its broadest plate, so that shafts, heads and ends that stand out do not count."""
        body = [lot for lot in self.lots if not lot.part.designation] or list(self.lots)
        if self.side is Side.REAR:
            return max(lot.plate_mm[1] for lot in body)
        return min(lot.plate_mm[0] for lot in body)

    @cached_property
    def outline(self) -> shapely.Geometry:
        return shapely.union_all([lot.outline for lot in self.lots])

    def meets(self, other: Piece) -> bool:
        """Whether the two would touch, were one pushed along the axis through the other (by their hulls)."""
        return bool(self.outline.intersection(other.outline).area > 0.0)

    def things(self, shift_mm: float = 0.0, faded: bool = False) -> list[Thing]:
        return [thing for lot in self.lots for thing in lot.things(shift_mm, faded, bent=self.whole or faded)]


def lots(placed: Sequence[Placed], bent: Mapping[str, Mesh] | None = None) -> list[Lot]:
    """The placed parts in lots, each with its number in the list of parts. ``bent``: flexible rings as set, by part name.

    Where a part does not say from which side it comes, it comes from that of its screw's head, else from the nearer end of what
    is put together with it.
    """
    numbers, meshes, found = part_numbers(placed), {}, []
    for one in placed:
        if one.part.name not in meshes:
            meshes[one.part.name] = plain_mesh(one.part)
        found += _lots_of(numbers[kind_of(one.part)], one, meshes[one.part.name], (bent or {}).get(one.part.name))
    return [lot if lot.side is not Side.BY_PLACE else replace(lot, side=_nearer_side(lot, found)) for lot in found]


def _lots_of(number: int, one: Placed, mesh: Mesh, bent: Mesh | None) -> list[Lot]:
    z = mesh.corners_mm[:, 2]
    ends = {True: (-z.max(), -z.min()), False: (z.min(), z.max())}
    spans = sorted(
        ((place.z_mm + ends[place.over][0], place.z_mm + ends[place.over][1], place) for place in one.places),
        key=lambda row: (row[0], row[1]),
    )
    groups: list[list[Any]] = []
    for span in spans:
        if groups and span[0] <= max(row[1] for row in groups[-1]) + TOUCH_MM:
            groups[-1].append(span)
        else:
            groups.append([span])
    return [
        Lot(
            number, one.part, mesh, tuple(row[2] for row in group), float(min(row[0] for row in group)),
            float(max(row[1] for row in group)), Step(one.step), one.member, one.side, bent,
        )
        for group in groups
    ]  # fmt: skip


def _nearer_side(lot: Lot, all_lots: Sequence[Lot]) -> Side:
    if lot.is_screw:
        return Side.FRONT if lot.places[0].over else Side.REAR
    bench = BENCH.get(lot.step)
    same = [one for one in all_lots if (BENCH.get(one.step) == bench if bench else one.step <= lot.step)]
    low, top = min(one.low_mm for one in same), max(one.top_mm for one in same)
    return Side.FRONT if top - lot.top_mm <= lot.low_mm - low else Side.REAR
