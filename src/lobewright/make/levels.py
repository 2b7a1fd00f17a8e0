"""Bodies as flat areas between heights: what every level of a part covers, without a solid modeller.

Slabs and pockets give exact levels. A turned profile is cut so finely that its radius changes by no more than ``SLOPE_MM`` within
a level, and the level says so; a level hole is cut into strips.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import shapely

from lobewright.make.bodies import Body, Drill, Loop, Slab, Turned
from lobewright.make.outlines import circle
from lobewright.make.placing import Place

Array = np.ndarray
CHORD_MM = 2e-4
SLOPE_MM = 0.05
"""How much the radius of a turned profile may change within a level: cones and rounded corners become that many levels."""
FINE_CHORD_MM = 1e-3
"""Bow of the chords along which that change is followed."""
DRILL_STEPS = 32
LEAST_MM = 1e-6


@dataclass(frozen=True)
class Level:
    """An area between two heights; it may have several parts. ``error_mm``: how far the body's outline may lie from it there."""

    bottom_mm: float
    top_mm: float
    area: shapely.Geometry
    error_mm: float = 0.0

    @property
    def volume_mm3(self) -> float:
        return float(self.area.area) * (self.top_mm - self.bottom_mm)


AreaOf = Callable[[Sequence[Slab], Sequence[Slab]], shapely.Geometry]
"""The area that slabs cover, less pockets."""


def flat(loop: Loop, chord_mm: float = CHORD_MM) -> shapely.Polygon:
    """The area inside an outline."""
    return loop.contour.polygon(chord_mm)


def slab_area(slab: Slab, chord_mm: float = CHORD_MM) -> shapely.Geometry:
    """The area of a slab less its holes."""
    hull = flat(slab.outer, chord_mm)
    if not slab.holes:
        return hull
    # Holes may leave a wall of nothing between them: a difference keeps the area valid where rings inside one would not.
    return shapely.difference(hull, shapely.union_all([flat(hole, chord_mm) for hole in slab.holes]))


def nominal(chord_mm: float = CHORD_MM) -> AreaOf:
    """Slabs less pockets with nothing added; each is sampled once."""
    known: dict[int, shapely.Geometry] = {}

    def of(slab: Slab) -> shapely.Geometry:
        if id(slab) not in known:
            known[id(slab)] = slab_area(slab, chord_mm)
        return known[id(slab)]

    def area(here: Sequence[Slab], away: Sequence[Slab]) -> shapely.Geometry:
        whole = shapely.union_all([of(slab) for slab in here])
        return shapely.difference(whole, shapely.union_all([of(one) for one in away])) if away else whole

    return area


def _apart(heights: list[float]) -> list[float]:
    ordered = sorted(heights)
    return [*ordered[:1], *(b for a, b in pairwise(ordered) if b - a > LEAST_MM)]


def slab_levels(body: Body, area_of: AreaOf | None = None) -> tuple[Level, ...]:
    """The slabs of a body less its pockets, cut where one begins or ends, from the lowest up.

    Turned profiles and holes across are left out. ``area_of``: another area than the nominal one, as of a print.
    """
    made = area_of or nominal()
    slabs = [piece for piece in body.pieces if isinstance(piece, Slab)]
    heights = _apart([z for one in (*slabs, *body.pockets) for z in (one.bottom_mm, one.top_mm)])
    found = []
    for low, high in pairwise(heights):
        middle = (low + high) / 2
        here = [slab for slab in slabs if slab.bottom_mm < middle < slab.top_mm]
        if here:
            away = [pocket for pocket in body.pockets if pocket.bottom_mm < middle < pocket.top_mm]
            found.append(Level(low, high, made(here, away)))
    return tuple(found)


def turned_area(profile: shapely.Geometry, height_mm: float, chord_mm: float = CHORD_MM) -> shapely.Geometry:
    """The rings that a profile (radius, height), turned about the axis, covers at a height."""
    reach = float(profile.bounds[2])
    line = shapely.LineString([(-1.0, height_mm), (reach + 1.0, height_mm)])
    rings = []
    for part in shapely.get_parts(shapely.intersection(profile, line)):
        inner, _, outer, _ = part.bounds
        if outer - inner > LEAST_MM:
            disc = circle(outer).polygon(chord_mm)
            rings.append(shapely.difference(disc, circle(inner).polygon(chord_mm)) if inner > LEAST_MM else disc)
    return shapely.union_all(rings)


def _sloped(turned: Turned) -> tuple[list[float], list[tuple[float, float]]]:
    """Heights at which a profile's radius has changed by the step, its corners among them, and the ranges that slope."""
    points = turned.profile.sampled(FINE_CHORD_MM)
    heights, slopes = turned.profile.points_mm[:, 1].tolist(), []
    gone = 0.0
    for (r0, z0), (r1, z1) in zip(points, np.roll(points, -1, axis=0), strict=True):
        across, up = abs(r1 - r0), z1 - z0
        if abs(up) <= LEAST_MM or across <= LEAST_MM:
            continue
        slopes.append((min(z0, z1), max(z0, z1)))
        # The change is counted on from the edge before, so that short chords of a curve share a level.
        marks = np.arange(SLOPE_MM - gone, across, SLOPE_MM)
        heights += (z0 + up * marks / across).tolist()
        gone = across - float(marks[-1]) if len(marks) else gone + across
    return heights, slopes


def _strip(drill: Drill, bottom_mm: float, top_mm: float) -> shapely.Geometry:
    """The least width that a level hole has between two heights, as a rectangle; so no more is taken away than is drilled."""
    off = max(abs(bottom_mm - drill.start_mm[2]), abs(top_mm - drill.start_mm[2]))
    radius = drill.diameter_mm / 2
    if off >= radius:
        return shapely.Polygon()
    half = math.sqrt(radius**2 - off**2)
    c, s = math.cos(drill.direction_rad), math.sin(drill.direction_rad)
    corners = np.array([(0.0, -half), (drill.length_mm, -half), (drill.length_mm, half), (0.0, half)])
    return shapely.Polygon(corners @ np.array([[c, s], [-s, c]]) + drill.start_mm[:2])


def _drill_heights(drill: Drill) -> list[float]:
    radius = drill.diameter_mm / 2
    return [drill.start_mm[2] - radius * math.cos(math.pi * k / DRILL_STEPS) for k in range(DRILL_STEPS + 1)]


def _finer(body: Body, flats: Sequence[Level], chord_mm: float) -> list[Level]:
    """Levels of slabs joined with turned profiles and cut by level holes."""
    turned = [piece for piece in body.pieces if isinstance(piece, Turned)]
    profiles = [one.profile.polygon() for one in turned]
    cuts = [_sloped(one) for one in turned]
    slopes = [span for _, spans in cuts for span in spans]
    ends = [z for one in flats for z in (one.bottom_mm, one.top_mm)]
    ends += [z for one in body.pockets for z in (one.bottom_mm, one.top_mm)]
    heights = _apart([*ends, *itertools.chain(*(rows for rows, _ in cuts), *map(_drill_heights, body.drills))])
    made = nominal(chord_mm)
    found: list[Level] = []
    for bottom, top in pairwise(heights):
        middle = (bottom + top) / 2
        base = next((one.area for one in flats if one.bottom_mm < middle < one.top_mm), None)
        area = base if base is not None else shapely.Polygon()
        rings = [turned_area(one, middle, chord_mm) for one in profiles]
        if any(not ring.is_empty for ring in rings):
            away = [one for one in body.pockets if one.bottom_mm < middle < one.top_mm]
            # What a pocket leaves of a turned piece; that of the slabs is gone already.
            area = shapely.union_all([area, *rings])
            area = shapely.difference(area, made(away, ())) if away else area
        holes = [_strip(drill, bottom, top) for drill in body.drills]
        if any(not hole.is_empty for hole in holes):
            area = shapely.difference(area, shapely.union_all(holes))
        if area.is_empty:
            continue
        if found and found[-1].area is area and abs(found[-1].top_mm - bottom) < LEAST_MM:
            found[-1] = replace(found[-1], top_mm=top)
        else:
            slopes_here = any(low < middle < high for low, high in slopes)
            found.append(Level(bottom, top, area, SLOPE_MM if slopes_here else 0.0))
    return found


def levels(body: Body, chord_mm: float = CHORD_MM) -> tuple[Level, ...]:
    """The body cut at every height at which something begins or ends, in its own coordinates, mm.

    Chords lie up to ``chord_mm`` inside their arcs. Turned profiles are taken by their section in the middle of a level: where
    they slope the body's outline lies within ``SLOPE_MM`` of the level's.
    """
    flats = slab_levels(body, nominal(chord_mm))
    plain = not body.drills and all(isinstance(piece, Slab) for piece in body.pieces)
    return flats if plain else tuple(_finer(body, flats, chord_mm))


def placed_level(level: Level, place: Place) -> Level:
    """The level where a part stands."""
    flip = -1.0 if place.over else 1.0
    c, s = math.cos(place.turn_rad), math.sin(place.turn_rad)
    matrix = np.array([[c, s], [-s * flip, c * flip]])
    area = shapely.transform(level.area, lambda points: points @ matrix + (place.x_mm, place.y_mm))
    ends = (-level.top_mm, -level.bottom_mm) if place.over else (level.bottom_mm, level.top_mm)
    return Level(ends[0] + place.z_mm, ends[1] + place.z_mm, area, level.error_mm)
