"""Rings that are larger than the bed, cut into sectors that are joined by half-laps with dowels and a bolt.

Every cut runs through the middle of the land between two tooth spaces, so that no flank is touched. Sectors alternate: one has
both its tongues below, the next both above and is printed turned over, so that none needs support; there is therefore an even
number of them. The sectors are for printing only: the nominal ring stays whole.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import shapely
from shapely import affinity

from lobewright.assessment.results import Assessment
from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.design.holding import bolt_circle_radius_mm, clearance_hole_mm, least_wall_mm
from lobewright.errors import DesignFault, Fault
from lobewright.make.bodies import Body, Feature, Loop, Part, Slab, exact
from lobewright.make.levels import flat, slab_area
from lobewright.make.outlines import circle, polygon
from lobewright.make.registering import DOWEL_LENGTHS_MM
from lobewright.make.standards import WASHERS_MM, screw_length_mm

SECTORS = (2, 4, 6, 8, 10, 12)
Rows = tuple[tuple[str, str, int], ...]
"""Designation, words, count."""
DOWELS = 2
"""At each joint, on either side of one bolt."""


@dataclass(frozen=True)
class Joint:
    """A ring's joints: where the cuts run, half the lap (both as angles), and the circle on which bolt and dowels stand."""

    cuts_rad: tuple[float, ...]
    half_lap_rad: float
    radius_mm: float
    bolt_hole_mm: float
    dowel_mm: float
    wall_mm: float
    bolt: str

    def holes(self) -> Iterator[tuple[float, float, float, Feature]]:
        """Place, diameter and kind of the holes of all joints."""
        aside = (self.bolt_hole_mm / 2 + self.wall_mm + self.dowel_mm / 2) / self.radius_mm
        for cut in self.cuts_rad:
            for angle, size, feature in (
                (cut, self.bolt_hole_mm, Feature.BOLT_HOLE),
                (cut - aside, self.dowel_mm, Feature.SEAT),
                (cut + aside, self.dowel_mm, Feature.SEAT),
            ):
                yield self.radius_mm * math.cos(angle), self.radius_mm * math.sin(angle), size, feature


def joint_rows(bolt: catalogue.Bolt, bolts: int, dowel_mm: float, dowels: int, thick_mm: float, washers: bool) -> Rows:
    """What joins pieces of a part that is ``thick_mm`` high: screws with nuts, washers on either side where asked, dowels."""
    washer = WASHERS_MM[bolt.size][2] if washers else 0.0
    rows = [
        (f"ISO 4762 {bolt.size}×{screw_length_mm(bolt, thick_mm + 2 * washer):g}", "screw of a joint", bolts),
        (f"ISO 4032 {bolt.size}", "nut of a joint", bolts),
    ]
    if washers:
        rows.append((f"ISO 7089 {bolt.size[1:]}", "washer of a joint", 2 * bolts))
    usual = [length for length in DOWEL_LENGTHS_MM if length <= thick_mm + 1e-9]
    sold = f"ISO 8734 {dowel_mm:g}×{usual[-1]:g}" if usual else f"ground rod ø{dowel_mm:g} mm, {thick_mm:g} mm"
    rows.append((sold, "dowel of a joint", dowels))
    return tuple(row for row in rows if row[2])


def joint_needs(pieces: Sequence[Part]) -> Rows:
    """Bought things that join the pieces of a part, for all its pieces of all its copies; () where it is whole."""
    found: dict[tuple[str, str], int] = {}
    for piece in pieces:
        for designation, words, count in piece.joined_by:
            found[designation, words] = found.get((designation, words), 0) + count * piece.quantity
    return tuple((*key, count) for key, count in found.items())


def _wedge(start_rad: float, end_rad: float, far_mm: float) -> Any:
    angles = np.linspace(start_rad, end_rad, 40)
    rim = far_mm * np.column_stack((np.cos(angles), np.sin(angles)))
    return shapely.Polygon(np.vstack(([[0.0, 0.0]], rim)))


def _half_lap_rad(ring: m.RigidRing, joint: Joint, place: str) -> float:
    """Half the lap, whole pitches, with room for the bolt and its dowels; raises DesignFault where the rim is too narrow."""
    size = max(joint.bolt_hole_mm, joint.dowel_mm)
    if ring.rim_mm < size + 2 * joint.wall_mm:
        what = f"ring {ring.name} is larger than the bed, and its rim has no room for the bolts and dowels of a joint"
        allowed = f"at least {size + 2 * joint.wall_mm:.1f} mm"
        raise DesignFault([Fault(what, f"{place}.rim_mm", value=f"{ring.rim_mm:g} mm", allowed=allowed)])
    needed = joint.bolt_hole_mm / 2 + joint.dowel_mm + 2 * joint.wall_mm
    pitch = 2 * math.pi / ring.teeth
    return pitch * math.ceil(needed / joint.radius_mm / pitch)


def _free(joint: Joint, holes: list[Any], far_mm: float) -> bool:
    """Whether the ring's own holes are clear of the cut faces and of the joints' holes."""
    if not holes:
        return True
    rays = [
        (far_mm * math.cos(t), far_mm * math.sin(t))
        for c in joint.cuts_rad
        for t in (c - joint.half_lap_rad, c + joint.half_lap_rad)
    ]
    faces = [shapely.LineString([(0.0, 0.0), end]) for end in rays]
    own = [shapely.Point(x, y).buffer(size / 2) for x, y, size, _ in joint.holes()]
    kept = shapely.union_all([*faces, *own])
    return all(hole.distance(kept) >= joint.wall_mm - 1e-2 for hole in holes)


def _pieces(part: Part, joint: Joint) -> tuple[Part, ...]:
    slab = part.body.pieces[0]
    assert isinstance(slab, Slab)
    count, lap, far = len(joint.cuts_rad), joint.half_lap_rad, 2 * float(np.abs(slab.outer.contour.points_mm).max())
    whole, middle = slab_area(slab), (slab.bottom_mm + slab.top_mm) / 2
    own = [hole for hole in slab.holes if hole.contour.is_circle]
    solid_ring = whole.union(shapely.union_all([flat(hole) for hole in own])) if own else whole
    holes = [*own, *(exact(circle(size / 2, x, y), feature) for x, y, size, feature in joint.holes())]
    bolt, thick = catalogue.bolt(joint.bolt), slab.top_mm - slab.bottom_mm
    joined_by, made = joint_rows(bolt, count, joint.dowel_mm, DOWELS * count, thick, False), []
    for k, start in enumerate(joint.cuts_rad):
        end = joint.cuts_rad[(k + 1) % count] + (2 * math.pi if k + 1 == count else 0.0)
        turn = -(start + end) / 2
        longer, shorter = (start - lap, end + lap), (start + lap, end - lap)
        below, above = (longer, shorter) if k % 2 == 0 else (shorter, longer)
        slabs = []
        for span, low, high in ((below, slab.bottom_mm, middle), (above, middle, slab.top_mm)):
            area = solid_ring.intersection(_wedge(*span, far))
            inside = tuple(_turned(hole, turn) for hole in holes if area.contains(flat(hole)))
            slabs.append(
                Slab(_outline(affinity.rotate(area, turn, origin=(0.0, 0.0), use_radians=True)), inside, low, high)
            )
        note = (
            f"piece {k + 1} of {count} of {part.name}, joined by half-laps, at each {DOWELS} dowels ø{joint.dowel_mm:g} mm "
            f"(ISO 8734) and a bolt in a hole ø{joint.bolt_hole_mm:g} mm"
        )
        made.append(
            replace(
                part,
                name=f"{part.name}_piece_{k + 1}",
                words=f"{part.words}, piece {k + 1} of {count}",
                body=Body(tuple(slabs)),
                note=note,
                drawn=False,
                turned_over=k % 2 == 1,
                joined_by=joined_by if k == 0 else (),
            )
        )
    return tuple(made)


def _outline(area: Any) -> Loop:
    return exact(polygon(np.asarray(area.exterior.coords)[:-1]))


def _turned(hole: Loop, turn_rad: float) -> Loop:
    x, y = hole.contour.points_mm.mean(axis=0)
    radius = float(np.hypot(*(hole.contour.points_mm[0] - (x, y))))
    c, s = math.cos(turn_rad), math.sin(turn_rad)
    return exact(circle(radius, c * x - s * y, s * x + c * y), hole.feature)


def lies_on(x_mm: float, y_mm: float, bed_mm: tuple[float, ...]) -> bool:
    """Whether a part of these sizes lies on the bed, as it is or turned by a quarter."""
    return (x_mm <= bed_mm[0] and y_mm <= bed_mm[1]) or (y_mm <= bed_mm[0] and x_mm <= bed_mm[1])


def _fits(part: Part, bed_mm: tuple[float, float, float]) -> bool:
    x0, y0, x1, y1 = shapely.union_all([flat(loop) for loop in part.body.loops]).bounds
    return lies_on(x1 - x0, y1 - y0, bed_mm)


def split_ring(a: Assessment, part: Part, index: int, printer: m.Printer) -> tuple[Part, ...]:
    """A rigid ring's sectors, each lying about the x axis; the ring itself where it fits on the bed.

    ``index``: of the ring in the design. Raises DesignFault where no cut is free of the ring's own holes, where the rim is too
    narrow for a joint or where even the smallest sector does not fit.
    """
    if _fits(part, printer.bed_mm):
        return (part,)
    ring, place = a.design.rigid_ring[index], f"rigid_ring[{index + 1}]"
    radius = bolt_circle_radius_mm(ring, a.rings[index].space.root_radius_mm)
    plain = Joint((), 0.0, radius, clearance_hole_mm(ring.bolt), ring.dowel_mm, least_wall_mm(a.design), ring.bolt)
    lap, pitch = _half_lap_rad(ring, plain, place), 2 * math.pi / ring.teeth
    slab = part.body.pieces[0]
    assert isinstance(slab, Slab)
    own = [flat(hole) for hole in slab.holes if hole.contour.is_circle]
    far, small = 2 * float(np.abs(slab.outer.contour.points_mm).max()), False
    for count in SECTORS:
        if 2 * math.pi / count < 4 * lap:
            break
        steps = [round(k * ring.teeth / count) for k in range(count)]
        for first in range(ring.teeth // count + 1):
            cuts = tuple((first + step + 0.5) * pitch for step in steps)
            joint = replace(plain, cuts_rad=cuts, half_lap_rad=lap)
            if _free(joint, own, far):
                pieces = _pieces(part, joint)
                if all(_fits(piece, printer.bed_mm) for piece in pieces):
                    return pieces
                small = True
                break
    bed = " × ".join(f"{side:g}" for side in printer.bed_mm[:2])
    what = f"ring {ring.name} is larger than the bed and cannot be split"
    why = "its sectors are larger too" if small else "every cut meets the ring's own holes"
    raise DesignFault(
        [Fault(f"{what}: {why}", place, value=f"a diameter of {far:.1f} mm", allowed=f"sectors within {bed} mm")]
    )
