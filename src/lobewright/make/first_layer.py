"""The layers on the bed, taken in because the first one spreads, without losing what is thin.

The first layer is taken in by the whole spread, the second by half of it. A wall that would keep less than a bead is left as
wide as it is: it may swell there, but it is printed. Tips that narrow to nothing, as teeth do, are no walls. Common practice, no
source.
"""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import shapely

FOOT_LAYERS = 2
QUARTER_PARTS = 24
THINNED_MM = 1e-3
"""Points that lie closer to the line without them are left out."""
NEAR_MM = 0.02
LEAST_AREA_MM2 = 0.05
RIB = 3.0
"""What stands out of a wider place by more than this many times the thickness asked for is a rib, else a tip."""
SAME_MM = 1e-7


def moved(area: Any, by_mm: float) -> Any:
    """An area grown by a distance (negative: shrunk), corners round."""
    return area if by_mm == 0.0 else area.buffer(by_mm, quad_segs=QUARTER_PARTS).simplify(THINNED_MM)


def thin_walls(area: Any, wall_mm: float, ribs: bool = True) -> list[Any]:
    """Places of an area below a thickness that join two wider ones or stand alone; ``ribs``: or that stand far out."""
    half = wall_mm / 2 - NEAR_MM
    if half <= 0.0:
        return []
    wide = area.buffer(-half).buffer(half)
    found = []
    for piece in shapely.get_parts(area.difference(wide.buffer(NEAR_MM))):
        if piece.area < LEAST_AREA_MM2:
            continue
        # An empty area still counts as one part.
        touched = [one for one in shapely.get_parts(piece.buffer(2 * NEAR_MM).intersection(wide)) if not one.is_empty]
        far = ribs and len(touched) == 1 and shapely.hausdorff_distance(piece, touched[0]) > RIB * wall_mm
        if len(touched) != 1 or far:
            found.append(piece)
    return found


def feet(first_layer_mm: float, layer_mm: float, bed_mm: float, up: float) -> list[tuple[float, float, float]]:
    """Heights from and to, and how far the material is taken in there, of the layers on the bed; ``up``: -1 turned over."""
    if first_layer_mm == 0.0:
        return []
    ends = [bed_mm + up * k * layer_mm for k in range(FOOT_LAYERS + 1)]
    rows = [(min(pair), max(pair)) for pair in pairwise(ends)]
    return [(*row, first_layer_mm * (FOOT_LAYERS - k) / FOOT_LAYERS) for k, row in enumerate(rows)]


def cut_at(low: float, high: float, foot: list[tuple[float, float, float]]) -> list[tuple[float, float, float]]:
    """A range of heights cut at the foot's layers; each piece with how far it is taken in."""
    marks = sorted({low, high, *(z for row in foot for z in row[:2] if low + SAME_MM < z < high - SAME_MM)})
    pieces = []
    for a, b in pairwise(marks):
        middle = (a + b) / 2
        pieces.append((a, b, next((row[2] for row in foot if row[0] < middle < row[1]), 0.0)))
    return pieces


def taken_in(area: Any, inward_mm: float, bead_mm: float) -> Any:
    """An area taken in; walls that would keep less than a bead stay as they are, and what is round them within a bead."""
    if inward_mm == 0.0:
        return area
    shrunk = moved(area, -inward_mm)
    weak = thin_walls(area, 2 * inward_mm + bead_mm)
    if not weak:
        return shrunk
    near = shapely.union_all(weak).buffer(inward_mm + bead_mm)
    return shapely.union_all([shrunk, area.intersection(near)])


def pieces_and_holes(area: Any) -> tuple[int, int]:
    """Of how many pieces an area is and how many holes they have, specks left out."""
    parts = [one for one in shapely.get_parts(area) if one.geom_type == "Polygon" and one.area > LEAST_AREA_MM2]
    rings = [shapely.Polygon(ring) for one in parts for ring in one.interiors]
    return len(parts), sum(ring.area > LEAST_AREA_MM2 for ring in rings)
