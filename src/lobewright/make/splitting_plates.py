"""Plates that are larger than the bed, cut into pieces that are joined by half-laps with dowels and bolts.

The cuts run straight, along x or y, through plain plate only: past bosses, pockets and seats. They may cross a plain opening,
and a bolt hole may stand wholly in a lap. Pieces alternate as the fields of a chess board: one has all its tongues below, its
neighbours have theirs above and are printed the other way up, so that none needs support. The pieces are for printing only, and
stay where they stand in the whole part. Sizes of laps are trade practice, no source.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

import numpy as np
import shapely

from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.design.holding import LEAST_WALL_MM, clearance_hole_mm
from lobewright.errors import DesignFault, Fault
from lobewright.make.bodies import Body, Drill, Feature, Loop, Part, Slab, exact
from lobewright.make.levels import Level, flat, slab_levels
from lobewright.make.outlines import circle, polygon
from lobewright.make.printable import print_faults
from lobewright.make.splitting import joint_rows, lies_on

LAPS_MM = (16.0, 14.0, 12.0, 10.0)
"""The widest that finds room is taken."""
MOST_PIECES = 4
"""In each direction."""
BOLT, DOWEL_MM = "M4", 3.0
BOLTS_APART_MM = 9.0
"""Between two bolts, for washers and a key."""
HEAD_RADIUS_MM = 4.5
STEP_MM = 0.5
CUT_STEP_MM = 1.0
NEAREST = 6
"""Places tried for each cut, the nearest to equal pieces first."""
MOST_TRIED, MOST_LOOKED_AT = 24, 60
"""Sets of cuts tried for one number of pieces and lap, and in all before the search is given up."""
MOST_CHECKED = 8
"""Sets of pieces looked at layer by layer in all: the slowest step."""
SAME_MM2 = 1e-3
FAR_MM = 1e4

Hole = tuple[float, float, float, Feature]
"""x, y, diameter, kind."""
Lines = tuple[tuple[float, ...], tuple[float, ...]]
"""Where the cuts run: in x, in y."""


@dataclass(frozen=True)
class Plate:
    """A part as its levels, and what no cut may meet."""

    part: Part
    rows: tuple[Level, ...]
    kept: Any
    bolt_holes: tuple[Any, ...]
    wall_mm: float
    bounds: tuple[float, float, float, float]

    @staticmethod
    def of(part: Part, wall_mm: float) -> Plate:
        rows, passed = slab_levels(part.body), (Feature.CONTOUR, Feature.BOLT_HOLE)
        slabs = [piece for piece in part.body.pieces if isinstance(piece, Slab)]
        kept = [flat(hole) for slab in slabs for hole in slab.holes if hole.feature not in passed]
        kept += [flat(pocket.outer) for pocket in part.body.pockets]
        kept += [_drilled(drill) for drill in part.body.drills]
        bolts = tuple(flat(hole) for slab in slabs for hole in slab.holes if hole.feature is Feature.BOLT_HOLE)
        return Plate(
            part, rows, shapely.union_all(kept), bolts, wall_mm, shapely.union_all([row.area for row in rows]).bounds
        )

    def thickness(self, strip: Any) -> tuple[float, float] | None:
        """Heights of the plate in a strip; None where it is no plain plate there."""
        inner = strip.buffer(-self.wall_mm, join_style="mitre")
        near = strip.buffer(self.wall_mm, join_style="mitre")
        if self.kept.intersects(near) or any(h.intersects(near) and not inner.contains(h) for h in self.bolt_holes):
            return None
        here = [(row, row.area.intersection(strip)) for row in self.rows]
        here = [(row, area) for row, area in here if area.area > SAME_MM2]
        if not here or any(area.symmetric_difference(here[0][1]).area > SAME_MM2 for _, area in here):
            return None
        if any(abs(low.top_mm - high.bottom_mm) > 1e-6 for (low, _), (high, _) in itertools.pairwise(here)):
            return None
        return here[0][0].bottom_mm, here[-1][0].top_mm


@dataclass(frozen=True)
class Grid:
    """Cuts and half their lap; the plate that they cut, its heights."""

    lines: Lines
    half_mm: float
    heights_mm: tuple[float, float]

    def cells(self) -> Iterator[tuple[int, int]]:
        across, along = self.lines
        return itertools.product(range(len(across) + 1), range(len(along) + 1))

    def _ends(self, axis: int, k: int, by_mm: float) -> tuple[float, float]:
        marks = (-FAR_MM, *self.lines[axis], FAR_MM)
        return marks[k] - by_mm, marks[k + 1] + by_mm

    def box(self, cell: tuple[int, int], by_mm: float) -> Any:
        (x0, x1), (y0, y1) = (self._ends(axis, k, by_mm) for axis, k in enumerate(cell))
        return shapely.box(x0, y0, x1, y1)

    def tongued(self, cell: tuple[int, int]) -> Any:
        """A cell with its tongues; where four meet, two that lie opposite share the corner's square."""
        area, (x0, x1) = self.box(cell, self.half_mm), self._ends(0, cell[0], 0.0)
        for x, y in itertools.product(*self.lines):
            corner = shapely.Point(x, y).buffer(self.half_mm, cap_style="square")
            area = area.difference(corner.difference(shapely.box(x0, -FAR_MM, x1, FAR_MM)))
        return area

    def corners(self) -> Any:
        """The squares where laps cross."""
        points = [shapely.Point(x, y) for x, y in itertools.product(*self.lines)]
        return shapely.union_all([point.buffer(self.half_mm, cap_style="square") for point in points])

    def laps(self) -> Iterator[tuple[int, Any]]:
        """The lap of each two neighbours, corners left out, and the direction that its cut is set in: 0 for x, 1 for y."""
        for axis, line in enumerate(self.lines):
            for cut in line:
                for k in range(len(self.lines[1 - axis]) + 1):
                    ends = self._ends(1 - axis, k, -self.half_mm)
                    yield axis, _strip(axis, cut, self.half_mm, ends)


def _strip(axis: int, cut: float, half: float, ends: tuple[float, float] = (-FAR_MM, FAR_MM)) -> Any:
    low, high = ends
    if axis == 0:
        return shapely.box(cut - half, low, cut + half, high)
    return shapely.box(low, cut - half, high, cut + half)


def _drilled(drill: Drill) -> Any:
    x, y, _ = drill.start_mm
    along = drill.length_mm * math.cos(drill.direction_rad), drill.length_mm * math.sin(drill.direction_rad)
    return shapely.LineString([(x, y), (x + along[0], y + along[1])]).buffer(drill.diameter_mm / 2)


@cache
def _patterns(half: float, length: float, wall: float) -> tuple[tuple[tuple[float, float, bool], ...], ...]:
    """Ways to set two bolts and two dowels in a lap, the widest first; last one bolt between two dowels, for narrow lands.

    Each hole: (across, along, whether a bolt).
    """
    aside, out = half - clearance_hole_mm(BOLT) / 2 - wall, half - DOWEL_MM / 2 - wall
    rows: list[tuple[tuple[float, float, bool], ...]] = []
    for reach in np.arange(length / 2, 0.0, -STEP_MM):
        rows.append(((0.0, -reach, True), (0.0, -reach / 3, False), (0.0, reach / 3, False), (0.0, reach, True)))
    for reach in np.arange(min(length / 2, BOLTS_APART_MM), 0.0, -STEP_MM):
        rows.append(((-aside, -reach, True), (out, -reach, False), (-out, reach, False), (aside, reach, True)))
    rows += [((-out, -k, False), (0.0, 0.0, True), (out, k, False)) for k in np.arange(length / 2, -STEP_MM, -STEP_MM)]
    return tuple(row for row in rows if _set_apart(row, wall))


def _set_apart(pattern: tuple[tuple[float, float, bool], ...], wall: float) -> bool:
    bolt = clearance_hole_mm(BOLT)
    for (u, v, one), (s, t, other) in itertools.combinations(pattern, 2):
        apart = ((bolt if one else DOWEL_MM) + (bolt if other else DOWEL_MM)) / 2 + wall
        if math.hypot(u - s, v - t) < (max(apart, BOLTS_APART_MM) if one and other else apart):
            return False
    return True


def _held(axis: int, land: Any, others: Any, half: float, wall: float) -> list[Hole] | None:
    """Bolts and dowels in one land of a joint; None where they find no room."""
    bolt = clearance_hole_mm(BOLT)
    for_dowels = land.buffer(-(DOWEL_MM / 2 + wall) + 1e-6)
    for_bolts = land.buffer(-(bolt / 2 + wall) + 1e-6).difference(others.buffer(HEAD_RADIUS_MM))
    x0, y0, x1, y1 = land.bounds
    middle, length = ((x0 + x1) / 2, (y0 + y1) / 2), (y1 - y0 if axis == 0 else x1 - x0)
    shifts = np.array(sorted(np.arange(-length / 4, length / 4, STEP_MM), key=abs))
    for pattern in _patterns(half, math.ceil(length), wall):
        free, places = np.ones(len(shifts), bool), []
        for u, v, is_bolt in pattern:
            across, along = middle[axis] + u + 0 * shifts, middle[1 - axis] + v + shifts
            x, y = (across, along) if axis == 0 else (along, across)
            free &= shapely.contains_xy(for_bolts if is_bolt else for_dowels, x, y)
            places.append((x, y, is_bolt))
        if free.any():
            k = int(np.argmax(free))
            return [
                (float(x[k]), float(y[k]), *((bolt, Feature.BOLT_HOLE) if is_bolt else (DOWEL_MM, Feature.SEAT)))
                for x, y, is_bolt in places
            ]
    return None


def _joint_holes(plate: Plate, grid: Grid) -> list[Hole] | None:
    """Holes of all joints; None where one has no room for them."""
    low, high = grid.heights_mm
    inner = next(row.area for row in plate.rows if row.bottom_mm <= (low + high) / 2 <= row.top_mm)
    others = shapely.union_all([row.area for row in plate.rows if row.top_mm <= low or row.bottom_mm >= high])
    found: list[Hole] = []
    if any(grid.corners().intersects(hole) for hole in plate.bolt_holes):
        return None
    for axis, strip in grid.laps():
        for land in shapely.get_parts(inner.intersection(strip)):
            if land.area <= SAME_MM2:
                continue
            holes = _held(axis, land, others, grid.half_mm, plate.wall_mm)
            if holes is None:
                return None
            found += holes
    return found


def _cut_slabs(slab: Slab, region: Any, low: float, high: float, joint: list[Loop]) -> Iterator[Slab]:
    """What a slab leaves in a region between two heights; round holes stay round."""
    low, high = max(low, slab.bottom_mm), min(high, slab.top_mm)
    if high - low < 1e-6:
        return
    whole = [hole for hole in slab.holes if region.contains(flat(hole))]
    crossed = [flat(hole) for hole in slab.holes if not region.contains(flat(hole))]
    area = flat(slab.outer).difference(shapely.union_all(crossed)).intersection(region)
    for piece in shapely.get_parts(area):
        if piece.geom_type != "Polygon" or piece.area <= SAME_MM2:
            continue
        inside = tuple(hole for hole in (*whole, *joint) if piece.contains(flat(hole)))
        yield Slab(exact(polygon(np.asarray(piece.exterior.coords)[:-1])), inside, low, high)


def _pieces(plate: Plate, grid: Grid, holes: list[Hole], odd: int) -> tuple[Part, ...]:
    part, middle = plate.part, sum(grid.heights_mm) / 2
    joint = [exact(circle(size / 2, x, y), feature) for x, y, size, feature in holes]
    cells, made = list(grid.cells()), []
    bolts = sum(feature is Feature.BOLT_HOLE for _, _, _, feature in holes)
    low, high = grid.heights_mm
    joined_by = joint_rows(catalogue.bolt(BOLT), bolts, DOWEL_MM, len(holes) - bolts, high - low, True)
    for k, cell in enumerate(cells):
        above = (sum(cell) + odd) % 2 == 1
        tongued, short = grid.tongued(cell), grid.box(cell, -grid.half_mm)
        below, over = (short, tongued) if above else (tongued, short)
        slabs: list[Slab] = []
        for slab in part.body.pieces:
            assert isinstance(slab, Slab)
            slabs += _cut_slabs(slab, below, -FAR_MM, middle, joint)
            slabs += _cut_slabs(slab, over, middle, FAR_MM, joint)
        body = Body(
            tuple(slabs),
            tuple(pocket for pocket in part.body.pockets if short.contains(flat(pocket.outer))),
            tuple(drill for drill in part.body.drills if short.contains(_drilled(drill))),
        )
        note = (
            f"piece {k + 1} of {len(cells)} of {part.name}, joined by half-laps {2 * grid.half_mm:g} mm wide; all joints "
            f"together have {len(holes) - bolts} dowels ø{DOWEL_MM:g} mm (ISO 8734) and {bolts} bolts {BOLT} with nuts in "
            f"holes ø{clearance_hole_mm(BOLT):g} mm; countersink by hand where another part lies on the joint"
        )
        made.append(
            replace(
                part,
                name=f"{part.name}_{k + 1}of{len(cells)}",
                words=f"{part.words}, piece {k + 1} of {len(cells)}",
                body=body,
                note="; ".join(text for text in (part.note, note) if text),
                drawn=False,
                turned_over=above,
                joined_by=joined_by if k == 0 else (),
            )
        )
    return tuple(made)


def _parts(piece: Part) -> int:
    """In how many parts a piece is, seen from above."""
    return len(shapely.get_parts(shapely.union_all([row.area for row in slab_levels(piece.body)])))


def _choices(free: FreeCuts, ends: tuple[float, float], count: int) -> list[tuple[float, ...]]:
    """Sets of cuts for a number of pieces, the most equal first."""
    even = [ends[0] + (ends[1] - ends[0]) * k / count for k in range(1, count)]
    near = [free.nearest(at) for at in even]
    rows = [row for row in itertools.product(*near) if all(b > a for a, b in itertools.pairwise(row))]
    return sorted(rows, key=lambda row: sum(abs(cut - at) for cut, at in zip(row, even, strict=True)))


def _longest(ends: tuple[float, float], cuts: tuple[float, ...], half: float) -> float:
    """The longest piece, tongues and all."""
    marks = [ends[0] + half, *cuts, ends[1] - half]
    return max(b - a for a, b in itertools.pairwise(marks)) + 2 * half


class FreeCuts:
    """Places of cuts along one direction that meet plain plate only and have room for their joints; each looked at once."""

    def __init__(self, plate: Plate, axis: int, half_mm: float) -> None:
        self._plate, self._axis, self._half_mm = plate, axis, half_mm
        low, high = plate.bounds[axis], plate.bounds[axis + 2]
        steps = int(((high - low) / 2 - 2 * half_mm) / CUT_STEP_MM)
        self._places = [(low + high) / 2 + k * CUT_STEP_MM for k in range(-steps, steps + 1)]
        self._heights: dict[float, tuple[float, float] | None] = {}

    def heights(self, cut: float) -> tuple[float, float] | None:
        """Heights of the plate at a cut; None where it is not free."""
        if cut not in self._heights:
            heights = self._plate.thickness(_strip(self._axis, cut, self._half_mm))
            lines: Lines = ((cut,), ()) if self._axis == 0 else ((), (cut,))
            if heights and _joint_holes(self._plate, Grid(lines, self._half_mm, heights)) is None:
                heights = None
            self._heights[cut] = heights
        return self._heights[cut]

    def nearest(self, at: float) -> list[float]:
        """The free places nearest to one, the nearest first."""
        near = sorted(self._places, key=lambda cut: abs(cut - at))
        return list(itertools.islice((cut for cut in near if self.heights(cut)), NEAREST))


def _grids(
    plate: Plate, bed_mm: tuple[float, float, float], half: float, counts: tuple[int, int], free: Sequence[FreeCuts]
) -> Iterator[Grid]:
    """Cuts whose pieces fit the bed, the most equal first; ``free``: where cuts may run in x and in y."""
    x0, y0, x1, y1 = plate.bounds
    ends, chosen = ((x0, x1), (y0, y1)), []
    for axis in (0, 1):
        chosen.append(_choices(free[axis], ends[axis], counts[axis]))
        if not chosen[-1]:
            return
    for lines in itertools.product(*chosen):
        if not lies_on(_longest(ends[0], lines[0], half), _longest(ends[1], lines[1], half), bed_mm):
            continue
        plates = {free[axis].heights(cut) for axis in (0, 1) for cut in lines[axis]}
        (heights, *others) = plates
        if heights and not others:
            yield Grid((lines[0], lines[1]), half, heights)


def _all_grids(plate: Plate, bed_mm: tuple[float, float, float]) -> Iterator[Grid]:
    """Ways to cut a plate that fit the bed: fewest pieces first, then the widest lap, then the most equal pieces."""
    x0, y0, x1, y1 = plate.bounds
    free: dict[float, list[FreeCuts]] = {}
    pieces = range(1, MOST_PIECES + 1)
    counts = sorted(itertools.product(pieces, pieces), key=lambda row: (row[0] * row[1], max(row)))
    for count in counts[1:]:
        for lap in LAPS_MM:
            wide, high = ((side + (n - 1) * lap) / n for side, n in zip((x1 - x0, y1 - y0), count, strict=True))
            if not lies_on(wide, high, bed_mm):
                continue
            if lap not in free:
                free[lap] = [FreeCuts(plate, axis, lap / 2) for axis in (0, 1)]
            yield from itertools.islice(_grids(plate, bed_mm, lap / 2, count, free[lap]), MOST_TRIED)


def split_plate(part: Part, printer: m.Printer) -> tuple[Part, ...]:
    """The pieces of a part made of slabs, in the place where they stand in it; the part itself where it fits on the bed.

    Fewest pieces first, then the widest lap, then the most equal pieces. Raises DesignFault, with the reason, where the part has
    turned profiles or where no cut is found that fits the bed, holds its bolts and dowels and prints without support; the search
    is given up after ``MOST_LOOKED_AT`` sets of cuts.
    """
    if not all(isinstance(piece, Slab) for piece in part.body.pieces):
        raise _refused(part, "it has turned profiles")
    plate = Plate.of(part, max(LEAST_WALL_MM, 2 * printer.extrusion_width_mm))
    x0, y0, x1, y1 = plate.bounds
    if lies_on(x1 - x0, y1 - y0, printer.bed_mm):
        return (part,)
    why, checked = "every cut meets a hole, a pocket or a boss, or has no room for bolts and dowels", 0
    for grid in itertools.islice(_all_grids(plate, printer.bed_mm), MOST_LOOKED_AT):
        holes = _joint_holes(plate, grid)
        if holes is None:
            why = "a joint has no room for its bolts and dowels"
            continue
        for odd in (0, 1):
            pieces = _pieces(plate, grid, holes, odd)
            if any(_parts(piece) != 1 for piece in pieces):
                why = "a piece would be empty or fall apart"
                break
            faults, checked = print_faults(pieces, printer), checked + 1
            if not faults:
                return pieces
            why = faults[0].what
        if checked >= MOST_CHECKED:
            break
    raise _refused(part, f"{why}; bed {printer.bed_mm[0]:g} × {printer.bed_mm[1]:g} mm", (x1 - x0, y1 - y0))


def _refused(part: Part, why: str, size_mm: tuple[float, float] | None = None) -> DesignFault:
    what = f"{part.name} is larger than the bed and cannot be split: {why}"
    whole = f" (one of {size_mm[0]:.0f} × {size_mm[1]:.0f} mm takes it whole)" if size_mm else ""
    return DesignFault([Fault(what, "process.bed_mm", allowed=f"a larger bed{whole} or a smaller drive")])
