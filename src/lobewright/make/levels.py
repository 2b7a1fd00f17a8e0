"""Bodies as flat areas between heights: what every level of a part covers, for comparing parts without a solid modeller."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from lobewright.make.bodies import Body, Drill, Slab, Turned
from lobewright.make.outlines import circle
from lobewright.make.placing import Place

Array = np.ndarray
CHORD_MM = 2e-4
STEP_CHORD_MM = 0.02
"""Bow of the chords that cut a turned profile's curves into levels."""
DRILL_STEPS = 32
LEAST_MM = 1e-6


@dataclass(frozen=True)
class Level:
    """An area between two heights."""

    bottom_mm: float
    top_mm: float
    area: shapely.Geometry


def _flat(slab: Slab, chord_mm: float) -> shapely.Geometry:
    hull = slab.outer.contour.polygon(chord_mm)
    if not slab.holes:
        return hull
    # Holes may leave a wall of nothing between them: a difference keeps the area valid where rings inside one would not.
    return shapely.difference(hull, shapely.union_all([hole.contour.polygon(chord_mm) for hole in slab.holes]))


def _rings_at(profile: shapely.Geometry, height_mm: float, reach_mm: float, chord_mm: float) -> shapely.Geometry:
    """Area that a turned profile covers at a height."""
    line = shapely.LineString([(-1.0, height_mm), (reach_mm + 1.0, height_mm)])
    rings = []
    for part in shapely.get_parts(shapely.intersection(profile, line)):
        inner, _, outer, _ = part.bounds
        if outer - inner > LEAST_MM:
            disc = circle(outer).polygon(chord_mm)
            rings.append(shapely.difference(disc, circle(inner).polygon(chord_mm)) if inner > LEAST_MM else disc)
    return shapely.union_all(rings)


def _drilled(drill: Drill, bottom_mm: float, top_mm: float) -> shapely.Geometry:
    """The least width that a level hole has between two heights, as a rectangle; so no more is taken away than is drilled."""
    off = max(abs(bottom_mm - drill.start_mm[2]), abs(top_mm - drill.start_mm[2]))
    radius = drill.diameter_mm / 2
    if off >= radius:
        return shapely.Polygon()
    half = math.sqrt(radius**2 - off**2)
    c, s = math.cos(drill.direction_rad), math.sin(drill.direction_rad)
    corners = np.array([(0.0, -half), (drill.length_mm, -half), (drill.length_mm, half), (0.0, half)])
    return shapely.Polygon(corners @ np.array([[c, s], [-s, c]]) + drill.start_mm[:2])


def _cuts(body: Body) -> list[float]:
    heights: list[float] = []
    for piece in (*body.pieces, *body.pockets):
        if isinstance(piece, Slab):
            heights += [piece.bottom_mm, piece.top_mm]
        else:
            heights += piece.profile.sampled(STEP_CHORD_MM)[:, 1].tolist()
    for drill in body.drills:
        radius = drill.diameter_mm / 2
        heights += [drill.start_mm[2] - radius * math.cos(math.pi * k / DRILL_STEPS) for k in range(DRILL_STEPS + 1)]
    ordered = sorted(heights)
    return [ordered[0], *(b for a, b in itertools.pairwise(ordered) if b - a > LEAST_MM)]


def _over(pieces: Sequence[Slab], middle: float) -> list[int]:
    return [k for k, slab in enumerate(pieces) if slab.bottom_mm < middle < slab.top_mm]


def levels(body: Body, chord_mm: float = CHORD_MM) -> tuple[Level, ...]:
    """The body cut at every height at which something begins or ends, in its own coordinates, mm.

    Chords lie up to ``chord_mm`` inside their arcs. Turned profiles are taken by their section in the middle of a level.
    """
    slabs = [piece for piece in body.pieces if isinstance(piece, Slab)]
    turned = [piece for piece in body.pieces if isinstance(piece, Turned)]
    profiles = [(one.profile.polygon(), float(one.profile.points_mm[:, 0].max())) for one in turned]
    flats, pockets = [_flat(slab, chord_mm) for slab in slabs], [_flat(one, chord_mm) for one in body.pockets]
    found: list[Level] = []
    known: dict[tuple[tuple[int, ...], tuple[int, ...]], shapely.Geometry] = {}
    heights = _cuts(body)
    for bottom, top in itertools.pairwise(heights):
        middle = (bottom + top) / 2
        key = (tuple(_over(slabs, middle)), tuple(_over(body.pockets, middle)))
        if key not in known:
            area = shapely.union_all([flats[k] for k in key[0]])
            known[key] = shapely.difference(area, shapely.union_all([pockets[k] for k in key[1]])) if key[1] else area
        area = known[key]
        rings = [_rings_at(flat, middle, reach, chord_mm) for flat, reach in profiles]
        if rings:
            area = shapely.union_all([area, *rings])
            if key[1]:
                area = shapely.difference(area, shapely.union_all([pockets[k] for k in key[1]]))
        holes = [_drilled(drill, bottom, top) for drill in body.drills]
        if any(not hole.is_empty for hole in holes):
            area = shapely.difference(area, shapely.union_all(holes))
        if area.is_empty:
            continue
        if found and found[-1].area is area and abs(found[-1].top_mm - bottom) < LEAST_MM:
            found[-1] = Level(found[-1].bottom_mm, top, area)
        else:
            found.append(Level(bottom, top, area))
    return tuple(found)


def placed_level(level: Level, place: Place) -> Level:
    """The level where a part stands."""
    flip = -1.0 if place.over else 1.0
    c, s = math.cos(place.turn_rad), math.sin(place.turn_rad)
    matrix = np.array([[c, s], [-s * flip, c * flip]])
    area = shapely.transform(level.area, lambda points: points @ matrix + (place.x_mm, place.y_mm))
    ends = (-level.top_mm, -level.bottom_mm) if place.over else (level.bottom_mm, level.top_mm)
    return Level(ends[0] + place.z_mm, ends[1] + place.z_mm, area)
