"""Closed outlines of lines and circular arcs: the one form from which solids, drawings and print files are made.

An edge runs from a corner to the next; its *bulge* is the tangent of a quarter of the angle it turns through, positive
anticlockwise (0 is a straight line, 1 a half circle). The drawing exchange format uses the same number.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely

Array = np.ndarray


def bulge_of(turn_rad: float) -> float:
    """Bulge of an arc that turns through an angle, anticlockwise positive."""
    return math.tan(turn_rad / 4)


@dataclass(frozen=True)
class Chain:
    """An open run of edges: ``points_mm`` (N, 2), ``bulges`` (N - 1,)."""

    points_mm: Array
    bulges: Array

    def turned(self, angle_rad: float) -> Chain:
        """The chain turned about the axis."""
        return Chain(turn(self.points_mm, angle_rad), self.bulges)

    def mirrored(self) -> Chain:
        """Mirror image at the x axis, run the other way, so that it keeps its sense of rotation about the axis."""
        return Chain(self.points_mm[::-1] * (1.0, -1.0), self.bulges[::-1])


@dataclass(frozen=True)
class Contour:
    """A closed outline: ``points_mm`` (N, 2) corners, ``bulges`` (N,) of the edge from each corner to the next."""

    points_mm: Array
    bulges: Array

    @property
    def is_circle(self) -> bool:
        return len(self.points_mm) == 2 and bool(np.all(np.abs(self.bulges) == 1.0))

    @property
    def area_mm2(self) -> float:
        """Area by the corners' polygon and the segments over its sides, positive for anticlockwise outlines."""
        a, b = self.points_mm, np.roll(self.points_mm, -1, axis=0)
        cross = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
        chord = np.hypot(*(b - a).T)
        turn_rad = 4 * np.arctan(self.bulges)
        bowed = np.abs(turn_rad) > 1e-9
        sine = np.where(bowed, np.sin(turn_rad / 2), 1.0)
        segment = np.where(bowed, (chord / (2 * sine)) ** 2 * (turn_rad - np.sin(turn_rad)) / 2, 0.0)
        return float(cross.sum() / 2 + segment.sum())

    def reversed(self) -> Contour:
        """The same outline run the other way."""
        return Contour(self.points_mm[::-1], -np.roll(self.bulges[::-1], -1))

    def anticlockwise(self) -> Contour:
        return self if self.area_mm2 > 0 else self.reversed()

    def sampled(self, chord_error_mm: float = 2e-4) -> Array:
        """Corners and points on the arcs, (M, 2), no chord farther than ``chord_error_mm`` from its arc."""
        closed = np.vstack((self.points_mm, self.points_mm[:1]))
        return sample(Chain(closed, self.bulges), chord_error_mm)[:-1]

    def polygon(self, chord_error_mm: float = 2e-4) -> shapely.Polygon:
        points, bulges = (np.ascontiguousarray(one, dtype=float).tobytes() for one in (self.points_mm, self.bulges))
        return _polygon(points, bulges, chord_error_mm)


@lru_cache(maxsize=1024)
def _polygon(points: bytes, bulges: bytes, chord_error_mm: float) -> shapely.Polygon:
    """The polygon of an outline: levels, collisions and prints of a part ask for the same ones."""
    outline = Contour(np.frombuffer(points).reshape(-1, 2), np.frombuffer(bulges))
    return shapely.Polygon(outline.sampled(chord_error_mm))


def turn(points_mm: Array, angle_rad: float) -> Array:
    """Points turned anticlockwise about the axis."""
    c, s = math.cos(angle_rad), math.sin(angle_rad)
    return points_mm @ np.array([[c, s], [-s, c]])


def sample(chain: Chain, chord_error_mm: float = 2e-4) -> Array:
    """Points along a chain, (M, 2), with its corners; no chord farther than ``chord_error_mm`` from its arc."""
    rows = []
    for a, b, bulge in zip(chain.points_mm[:-1], chain.points_mm[1:], chain.bulges, strict=True):
        rows.append(a[None, :])
        if abs(bulge) < 1e-12:
            continue
        half = (b - a) / 2
        turn_rad = 4 * math.atan(bulge)
        radius = math.hypot(*half) / abs(math.sin(turn_rad / 2))
        step = 2 * math.acos(max(0.0, 1.0 - min(chord_error_mm / radius, 0.3)))
        count = max(2, math.ceil(abs(turn_rad) / step))
        # The centre stands to the left of the chord for an anticlockwise arc of less than a half turn.
        centre = (a + b) / 2 + np.array([-half[1], half[0]]) * (1 - bulge * bulge) / (2 * bulge)
        angle = math.atan2(*(a - centre)[::-1]) + turn_rad * np.arange(1, count) / count
        rows.append(centre + radius * np.column_stack((np.cos(angle), np.sin(angle))))
    return np.vstack([*rows, chain.points_mm[-1:]])


def circle(radius_mm: float, x_mm: float = 0.0, y_mm: float = 0.0) -> Contour:
    """A full circle."""
    points = np.array([[x_mm + radius_mm, y_mm], [x_mm - radius_mm, y_mm]])
    return Contour(points, np.ones(2))


def polygon(points_mm: Iterable[Sequence[float]]) -> Contour:
    """A closed outline of straight edges."""
    points = np.array([tuple(p) for p in points_mm], dtype=float)
    return Contour(points, np.zeros(len(points)))


def joined(chains: Sequence[Chain]) -> Contour:
    """Chains run one after the other into a closed outline; straight edges bridge where ends do not coincide."""
    points, bulges = [], []
    for chain, follower in zip(chains, [*chains[1:], chains[0]], strict=True):
        points.append(chain.points_mm[:-1])
        bulges.append(chain.bulges)
        if np.hypot(*(follower.points_mm[0] - chain.points_mm[-1])) > 1e-7:
            points.append(chain.points_mm[-1:])
            bulges.append(np.zeros(1))
    return Contour(np.vstack(points), np.concatenate(bulges))


def round_arc(radius_mm: float, start_rad: float, end_rad: float) -> Chain:
    """An arc about the axis from one angle to another, clockwise where the end is the smaller one."""
    angles = np.array([start_rad, end_rad])
    points = radius_mm * np.column_stack((np.cos(angles), np.sin(angles)))
    return Chain(points, np.array([bulge_of(end_rad - start_rad)]))


def bolt_circle(radius_mm: float, hole_mm: float, count: int, first_rad: float = 0.0) -> tuple[Contour, ...]:
    """Evenly spaced round holes of diameter ``hole_mm``."""
    angles = [first_rad + 2 * math.pi * k / count for k in range(count)]
    return tuple(circle(hole_mm / 2, radius_mm * math.cos(a), radius_mm * math.sin(a)) for a in angles)


def notched_circle(radius_mm: float, notch_radius_mm: float) -> Contour:
    """A circle with a round notch cut into it on the positive x axis; the mark of an angle."""
    half = 2 * math.asin(notch_radius_mm / (2 * radius_mm))
    corners = round_arc(radius_mm, half, 2 * math.pi - half).points_mm
    bulge = bulge_of(math.pi - half)
    rim = Chain(np.array([corners[0], [-radius_mm, 0.0], corners[1]]), np.full(2, bulge))
    # From the notch's centre, on the circle, its corners stand at ±(90° + half / 2); the arc passes on the inside.
    notch = Chain(corners[::-1], np.array([-bulge]))
    return joined([rim, notch])


def hull_of_circles(circles: Sequence[tuple[float, float, float]]) -> Contour:
    """Outline of the tightest band round circles (x, y, radius), each of which must touch the band, in their order.

    The order is anticlockwise; consecutive circles are joined by their outer common tangent.
    """
    normals = []
    for (x0, y0, r0), (x1, y1, r1) in zip(circles, [*circles[1:], circles[0]], strict=True):
        along, length = math.atan2(y1 - y0, x1 - x0), math.hypot(x1 - x0, y1 - y0)
        # The tangent's normal n points to the right of the travel; c·n + r is the same for both circles.
        normals.append(along - math.pi / 2 + math.asin((r0 - r1) / length))
    points, bulges = [], []
    for k, (x, y, r) in enumerate(circles):
        start, end = normals[k - 1], normals[k]
        swept = (end - start) % (2 * math.pi)
        for angle in (start, end):
            points.append((x + r * math.cos(angle), y + r * math.sin(angle)))
        bulges += [bulge_of(swept), 0.0]
    return Contour(np.array(points), np.array(bulges))
