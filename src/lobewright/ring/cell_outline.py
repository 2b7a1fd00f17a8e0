"""One pitch of the flexible ring's outline as a smooth curve, with the element sizes that its bends ask for.

An outline comes as a polyline whose roundings are chords. Chords would put a small notch at every joint, so the curve is
drawn smooth again: straight runs stay straight, true corners (a turn above ``CORNER_RAD``) stay sharp, and in a rounding the
tangent turns evenly from the middle of each chord to the middle of the next. At its middle a chord has the direction of
the arc that it replaces, however unevenly the arc was cut, so an arc of a circle comes back as one.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

Array = np.ndarray

CORNER_RAD = math.radians(25.0)
"""Turn between two chords from which a joint is a corner. Chords of a rounding turn by at most about 20°."""
STRAIGHT_RATIO = 2.5
"""A chord so many times longer than the two on either side is a straight run between two roundings."""
PARTS = 16
"""Samples on one cubic when the curve is measured."""


@dataclass(frozen=True)
class SmoothOutline:
    """Cubics through ``points_mm`` (N, 2), left to right. ``corner`` (N,) tells which points are corners; ``start``, ``end``
    (N − 1, 2) are the tangents at both ends of every cubic, as long as its arc. Dense samples: ``at`` position in cubics,
    ``arc_mm`` arc length, ``place_mm`` point, ``slope_rad`` tangent angle (continuous), ``bend_1_per_mm`` curvature
    (positive in a hollow)."""

    points_mm: Array
    corner: Array
    start: Array
    end: Array
    at: Array
    arc_mm: Array
    place_mm: Array
    slope_rad: Array
    bend_1_per_mm: Array

    def at_arc(self, arc_mm: Array) -> Array:
        """Points (..., 2) of the curve at given arc lengths."""
        at = np.interp(arc_mm, self.arc_mm, self.at)
        part = np.clip(at.astype(int), 0, len(self.points_mm) - 2)
        return _cubic(self.points_mm, self.start, self.end, part, at - part)[0]

    @property
    def corners_mm(self) -> Array:
        """Arc lengths of the corners inside the curve."""
        return self.arc_mm[np.flatnonzero(self.corner) * (PARTS + 1)]

    @property
    def sharpest_hollow_rad(self) -> float:
        """Turn of the sharpest inward corner, the joint to the next pitch counted; 0 when every hollow is rounded."""
        joints = np.flatnonzero(self.corner) * (PARTS + 1)
        turns = self.slope_rad[joints] - self.slope_rad[joints - 1]
        seam = self.edge_between_rad
        return float(max([seam if seam > CORNER_RAD else 0.0, *turns[turns > 0]]))

    @property
    def edge_between_rad(self) -> float:
        """Inward turn from the end of this pitch to the start of the next, 0 where it is none or outward."""
        return float(max(0.0, self.slope_rad[0] - self.slope_rad[-1]))


def _cubic(points: Array, start: Array, end: Array, part: Array, u: Array) -> tuple[Array, Array, Array]:
    """Point and its first two derivatives on cubics ``part`` at fractions ``u``."""
    a, b, ta, tb = points[part], points[part + 1], start[part], end[part]
    u = u[..., None]
    v = 1 - u
    place = a * v**2 * (1 + 2 * u) + b * u**2 * (3 - 2 * u) + ta * u * v**2 - tb * u**2 * v
    first = 6 * u * v * (b - a) + ta * v * (1 - 3 * u) - tb * u * (2 - 3 * u)
    second = 6 * (1 - 2 * u) * (b - a) + ta * (6 * u - 4) + tb * (6 * u - 2)
    return place, first, second


def _turns(chord: Array) -> Array:
    cross = chord[:-1, 0] * chord[1:, 1] - chord[:-1, 1] * chord[1:, 0]
    return np.arctan2(cross, (chord[:-1] * chord[1:]).sum(axis=1))


def _without_needless(points: Array) -> Array:
    """Points without doubles and without those on a straight line between their neighbours."""
    points = points[np.concatenate(([True], np.hypot(*np.diff(points, axis=0).T) > 1e-9))]
    bent = np.abs(_turns(np.diff(points, axis=0))) > 1e-4
    return points[np.concatenate(([True], bent, [True]))]


def _straight(piece: Array) -> Array:
    """Which chords of a piece between corners are straight runs rather than parts of a rounding."""
    chord = np.diff(piece, axis=0)
    length, turn = np.hypot(*chord.T), _turns(chord)
    straight = np.zeros(len(chord), dtype=bool)
    for k in range(len(chord)):
        if k in (0, len(chord) - 1):
            straight[k] = True
            continue
        near = [length[j] for j in (k - 2, k - 1, k + 1, k + 2) if 0 <= j < len(chord)]
        straight[k] = turn[k - 1] * turn[k] < 0 or length[k] > STRAIGHT_RATIO * max(near)
    return straight


def _guides(piece: Array, straight: Array) -> tuple[Array, Array]:
    """Points and unit tangents (both (n, 2)) that the curve takes along one piece between corners."""
    chord = np.diff(piece, axis=0)
    length, angle = np.hypot(*chord.T), np.unwrap(np.arctan2(chord[:, 1], chord[:, 0]))
    last = len(chord) - 1
    places, angles = [], []
    k = 0
    while k <= last:
        if straight[k]:
            for point, beside, sign in ((piece[k], k - 1, 1), (piece[k + 1], k + 1, -1)):
                joined = 0 <= beside <= last and straight[beside]
                inset = 0.25 * min(length[k], length[beside]) if joined else 0.0
                places.append((point + sign * inset * chord[k] / length[k])[None])
                angles.append(angle[k : k + 1])
            k += 1
            continue
        stop = k
        while stop <= last and not straight[stop]:
            stop += 1
        run, turned = _rounding(piece[k : stop + 1], length[k:stop], angle, k, stop)
        places.append(run)
        angles.append(turned)
        k = stop
    slope = np.concatenate(angles)
    return np.concatenate(places), np.column_stack((np.cos(slope), np.sin(slope)))


def _rounding(points: Array, length: Array, angle: Array, first: int, stop: int) -> tuple[Array, Array]:
    """Points and tangent angles inside one rounding, made of chords ``first`` … ``stop`` − 1 of a piece.

    The tangent turns evenly from the middle of each chord to the middle of the next; the ends of the rounding are the
    neighbouring straight runs, or an end of the pitch, where it goes on as it was.
    """
    ends = np.concatenate(([0.0], np.cumsum(length)))
    middle = (ends[1:] + ends[:-1]) / 2
    own = angle[first:stop]
    open_left, open_right = first == 0, stop == len(angle)

    def beyond(at: float, one: int, two: int) -> float:
        return float(own[one] + (at - middle[one]) * (own[two] - own[one]) / (middle[two] - middle[one]))

    low = beyond(0.0, 0, 1) if open_left else float(angle[first - 1])
    high = beyond(float(ends[-1]), -1, -2) if open_right else float(angle[stop])
    along, turned = np.concatenate(([0.0], middle, [ends[-1]])), np.concatenate(([low], own, [high]))
    step, turn = np.diff(along), np.diff(turned)
    chord = step * np.sinc(turn / (2 * math.pi))
    mean = turned[:-1] + turn / 2
    place = np.vstack((np.zeros(2), np.cumsum(np.column_stack((np.cos(mean), np.sin(mean))) * chord[:, None], axis=0)))
    # Chords are a little shorter than their arc: close the gap along the rounding, without a kink at its ends.
    gap = points[-1] - points[0] - place[-1]
    if open_left or open_right:
        gap[1] = 0.0
    share = along / ends[-1]
    place += (share**2 * (3 - 2 * share))[:, None] * gap
    place += points[-1] - place[-1] if open_left else points[0]
    return place[(not open_left) : len(place) - (not open_right)], turned[
        (not open_left) : len(place) - (not open_right)
    ]


def _all_guides(points: Array) -> tuple[Array, Array, Array, Array]:
    """Points of the curve, unit tangents at both ends of each cubic, and which points are corners."""
    turn = _turns(np.diff(points, axis=0))
    ends = [0, *(np.flatnonzero(np.abs(turn) > CORNER_RAD) + 1), len(points) - 1]
    places: list[Array] = []
    start: list[Array] = []
    end: list[Array] = []
    corners = [False]
    for low, high in pairwise(ends):
        piece = points[low : high + 1]
        straight = _straight(piece)
        slope = np.diff(piece, axis=0)
        # The ends of a pitch may lie inside a rounding that goes on into the next pitch.
        if low == 0 and not straight[min(1, len(slope) - 1)] and 1e-3 < abs(slope[0, 1] / slope[0, 0]) < 0.2:
            straight[0] = False
        if (
            high == len(points) - 1
            and not straight[max(-2, -len(slope))]
            and 1e-3 < abs(slope[-1, 1] / slope[-1, 0]) < 0.2
        ):
            straight[-1] = False
        guide, tangent = _guides(piece, straight)
        places.append(guide[len(places) > 0 :])
        start.append(tangent[:-1])
        end.append(tangent[1:])
        corners += [False] * (len(guide) - 2) + [True]
    corners[-1] = False
    return np.concatenate(places), np.concatenate(start), np.concatenate(end), np.array(corners)


def smooth_outline(points_mm: Array) -> SmoothOutline:
    """The curve through a polyline (N, 2), which may be given in either direction."""
    points = np.asarray(points_mm, dtype=float)
    points = _without_needless(points if points[0, 0] < points[-1, 0] else points[::-1])
    points, start, end, corner = _all_guides(points)
    # The length of tangent with which a cubic lies closest to an arc of this turn.
    opening = np.arccos(np.clip((start * end).sum(axis=1), -1, 1))
    scale = (np.hypot(*np.diff(points, axis=0).T) / np.cos(opening / 4) ** 2)[:, None]
    start, end = start * scale, end * scale
    # Both ends of every cubic are sampled, so that the slope may jump at a corner.
    parts = len(points) - 1
    u, part = np.tile(np.linspace(0.0, 1.0, PARTS + 1), parts), np.repeat(np.arange(parts), PARTS + 1)
    place, first, second = _cubic(points, start, end, part, u)
    bend = (first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]) / np.hypot(*first.T) ** 3
    slope = np.unwrap(np.arctan2(first[:, 1], first[:, 0]))
    arc = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(place, axis=0).T))))
    return SmoothOutline(points, corner, start, end, part + u, arc, place, slope, bend)


@dataclass(frozen=True)
class Blocks:
    """Arc lengths of the four places where the tooth's mesh is joined to the rest: left root, left tip corner, right tip
    corner, right root, in mm."""

    root_left_mm: float
    tip_left_mm: float
    tip_right_mm: float
    root_right_mm: float


SHALLOW_RAD = math.radians(40.0)
"""A flank that rises less steeply is meshed as an uneven wall, without a block of its own."""


def tooth_blocks(curve: SmoothOutline) -> Blocks | None:
    """Where the flanks have turned half way: into a flank in the root rounding, out of it in the tip rounding.

    None when the outline has no flank steeper than ``SHALLOW_RAD`` on both sides.
    """
    slope, arc = curve.slope_rad, curve.arc_mm
    heights = curve.place_mm[:, 1]
    crest = np.flatnonzero(heights >= heights.max() - 1e-9)
    left, right = slope[: crest[0] + 1], -slope[crest[-1] :]
    if left.max() < SHALLOW_RAD or right.max() < SHALLOW_RAD:
        return None
    steep_left = np.flatnonzero(left >= left.max() / 2)
    steep_right = np.flatnonzero(right >= right.max() / 2) + crest[-1]
    return Blocks(
        float(arc[steep_left[0]]), float(arc[steep_left[-1]]), float(arc[steep_right[0]]), float(arc[steep_right[-1]])
    )


TURN_PER_ELEMENT_RAD = math.radians(18.0)
"""Turn of a hollow's rounding in one element of the coarse mesh."""
CREST_TURN_RAD = math.radians(45.0)
"""The same for roundings that stand out, as at tips: no stress gathers there."""
GROWTH = 0.55
"""How fast elements may grow away from a rounding, per length."""


def element_sizes(curve: SmoothOutline, largest_mm: float, smallest_mm: float, hollow_mm: float, finer: float) -> Array:
    """Wanted element length at each dense sample: fine where the curve bends, growing away from there.

    ``hollow_mm`` is the size asked for at a sharp hollow corner, where stress has no bound; ``finer`` divides the turn
    of an element (the lengths come divided).
    """
    size = np.full(len(curve.arc_mm), largest_mm)
    turn = np.where(curve.bend_1_per_mm > 0, TURN_PER_ELEMENT_RAD, CREST_TURN_RAD) / finer
    np.minimum(size, turn / np.maximum(np.abs(curve.bend_1_per_mm), 1e-12), out=size)
    np.maximum(size, smallest_mm, out=size)
    for k in np.flatnonzero(curve.corner):
        joint = k * (PARTS + 1)
        if curve.slope_rad[joint] > curve.slope_rad[joint - 1]:
            size[joint - 1 : joint + 1] = np.minimum(size[joint - 1 : joint + 1], hollow_mm)
    if curve.slope_rad[0] - curve.slope_rad[-1] > CORNER_RAD:
        size[[0, -1]] = np.minimum(size[[0, -1]], hollow_mm)
    step = np.diff(curve.arc_mm)
    for i in range(1, len(size)):
        size[i] = min(size[i], size[i - 1] + GROWTH * step[i - 1])
    for i in range(len(size) - 2, -1, -1):
        size[i] = min(size[i], size[i + 1] + GROWTH * step[i])
    return size
