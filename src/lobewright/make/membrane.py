"""Holes that begin above a wider opening, closed for one layer so that they print without support.

A bolt hole over a nut's pocket has an edge in the air: its first beads would hang. One layer closed right across makes a bridge
of it, which is pushed through with a drill afterwards. Print files only. Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import shapely

NEAR_MM = 0.02
LEAST_AREA_MM2 = 0.05


def _in_the_air(hole: Any, air: Any) -> bool:
    """Whether a hole's edge stands in the air all round."""
    return bool(air.buffer(NEAR_MM).contains(hole.exterior))


Flat = tuple[Any, float, float]
"""An area, from and to which height in mm."""


def membranes(rows: Sequence[Flat], layer_mm: float, up: float = 1.0) -> tuple[Flat, ...]:
    """The closed layers to add to flat levels that print toward ``up`` (1: as they stand, -1: turned over)."""
    found = []
    for area, low, high in rows:
        base = low if up > 0 else high
        just_below = base - up * NEAR_MM
        under = [other for other, bottom, top in rows if bottom < just_below < top]
        if not under:
            continue
        air = area.difference(shapely.union_all(under))
        if air.area < LEAST_AREA_MM2:
            continue
        holes = [shapely.Polygon(ring) for part in shapely.get_parts(area) for ring in part.interiors]
        closed = [hole.buffer(NEAR_MM) for hole in holes if _in_the_air(hole, air)]
        end = base + up * layer_mm
        found += [(hole, min(base, end), max(base, end)) for hole in closed]
    return tuple(found)
