"""Signed distance from a rigid ring's toothed edge over one pitch, smooth enough for Newton's iteration.

The distance (positive in the free room, negative inside the ring) is sampled on a polar grid, periodic in the angle, and
read as a bicubic B-spline whose coefficients are the samples themselves. That is twice differentiable, never rings at
corners and departs from the distance by h²/6 times its second derivative (h the grid step): flanks move by h²/(6ρ) and
corners are rounded by about h. Source: spline smoothing by its own samples, common practice; error term derived.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely
from numba import njit
from numpy.typing import NDArray

from lobewright.mesh.space import ToothSpace

Array = NDArray[np.float64]

ANGLES, RADII = 128, 112


@dataclass(frozen=True)
class DistanceField:
    """Samples (RADII, ANGLES) [mm] of the signed distance; row 0 at ``first_radius_mm``, column 0 on a space's middle."""

    samples_mm: Array
    first_radius_mm: float
    radius_step_mm: float
    angle_step_rad: float


def distance_field(space: ToothSpace, inward_mm: float, outward_mm: float) -> DistanceField:
    """The field from ``inward_mm`` inside the tip circle to ``outward_mm`` outside the root circle; kept for the next asking."""
    outline = np.ascontiguousarray(space.outline_mm(), dtype=float)
    low, high = space.tip_radius_mm - inward_mm, space.root_radius_mm + outward_mm
    return _field(outline.tobytes(), space.pitch_rad, space.tip_radius_mm, low, high)


@lru_cache(maxsize=16)
def _field(outline_bytes: bytes, pitch: float, tip: float, low: float, high: float) -> DistanceField:
    """The field of one outline: the many questions to one drive, and to its neighbours, ask for the same ones."""
    radius = np.linspace(low, high, RADII)
    angle = np.arange(ANGLES) * (pitch / ANGLES)
    angle = np.where(angle > 0.5 * pitch, angle - pitch, angle)
    x, y = radius[:, None] * np.cos(angle), radius[:, None] * np.sin(angle)
    outline = np.frombuffer(outline_bytes).reshape(-1, 2)
    edge = np.vstack([outline @ _turn(k * pitch) for k in (-1, 0, 1)])
    reach, inner = 1.5 * pitch, 0.5 * tip
    c, s = math.cos(reach), math.sin(reach)
    room = shapely.Polygon(np.vstack((edge, [(tip * c, tip * s), (inner * c, inner * s), (inner * c, -inner * s)])))
    # The land between spaces is the arc of the tip circle: cut fine enough that its chord error cannot be felt.
    points = shapely.points(x.ravel(), y.ravel())
    distance = _to_line(x.ravel(), y.ravel(), _with_arcs(edge, tip, pitch))
    shapely.prepare(room)
    free = shapely.covers(room, points) | (np.hypot(x, y).ravel() < tip)
    samples = np.where(free, distance, -distance).reshape(x.shape)
    samples.setflags(write=False)
    return DistanceField(samples, float(radius[0]), float(radius[1] - radius[0]), pitch / ANGLES)


RUN = 12
"""Pieces of a line that are passed over together where a circle round them is farther than what was found before."""


@njit(cache=True, error_model="numpy")
def _to_line(x, y, line):
    """Distance of points (P,), (P,) from a line through points (L, 2)."""
    out = np.empty(len(x))
    pieces = len(line) - 1
    circles = np.empty(((pieces + RUN - 1) // RUN, 3))
    for c in range(len(circles)):
        part = line[c * RUN : min((c + 1) * RUN, pieces) + 1]
        mx, my = part[:, 0].mean(), part[:, 1].mean()
        circles[c] = mx, my, math.sqrt(((part[:, 0] - mx) ** 2 + (part[:, 1] - my) ** 2).max())
    at = 0
    for p in range(len(x)):
        # the piece nearest to the point before comes first: it bounds what the others may be
        near = (line[at, 0] - x[p]) ** 2 + (line[at, 1] - y[p]) ** 2
        reach = math.sqrt(near)
        for c in range(len(circles)):
            away = reach + circles[c, 2]
            if (circles[c, 0] - x[p]) ** 2 + (circles[c, 1] - y[p]) ** 2 > away * away:
                continue
            for k in range(c * RUN, min((c + 1) * RUN, pieces)):
                ax, ay = line[k, 0] - x[p], line[k, 1] - y[p]
                bx, by = line[k + 1, 0] - line[k, 0], line[k + 1, 1] - line[k, 1]
                size = bx * bx + by * by
                along = min(max(-(ax * bx + ay * by) / size, 0.0), 1.0) if size > 0.0 else 0.0
                dx, dy = ax + along * bx, ay + along * by
                square = dx * dx + dy * dy
                if square <= near:
                    near, at = square, k
            reach = math.sqrt(near)
        ax, ay = line[at, 0] - x[p], line[at, 1] - y[p]
        bx, by = line[at + 1, 0] - line[at, 0], line[at + 1, 1] - line[at, 1]
        size, along = bx * bx + by * by, -(ax * bx + ay * by)
        if along <= 0.0:
            out[p] = math.sqrt(ax * ax + ay * ay)
        elif along >= size:
            out[p] = math.sqrt((ax + bx) * (ax + bx) + (ay + by) * (ay + by))
        else:
            # from the area between point and piece, which keeps its digits close to the line
            out[p] = abs(ay * bx - ax * by) / size * math.sqrt(size)
    return out


def _turn(angle: float) -> Array:
    """Matrix that turns row vectors anticlockwise."""
    c, s = math.cos(angle), math.sin(angle)
    return np.array([[c, s], [-s, c]])


def _with_arcs(edge: Array, tip: float, pitch: float) -> Array:
    """The toothed edge with its lands along the tip circle as fine chords, half a land beyond each end."""
    third = len(edge) // 3
    parts = []
    for k in range(3):
        part = edge[k * third : (k + 1) * third]
        parts.append(part)
        end = math.atan2(part[-1, 1], part[-1, 0])
        start = math.atan2(edge[0, 1], edge[0, 0]) + (k + 1) * pitch
        if start > end:
            arc = np.linspace(end, start, 18)[1:-1]
            parts.append(tip * np.column_stack((np.cos(arc), np.sin(arc))))
    return np.vstack(parts)


@njit(cache=True, error_model="numpy", inline="always")
def _weights(u):
    v = 1.0 - u
    w = (v * v * v / 6.0, (3 * u**3 - 6 * u * u + 4) / 6.0, (3 * v**3 - 6 * v * v + 4) / 6.0, u**3 / 6.0)
    d = (-0.5 * v * v, 0.5 * (3 * u * u - 4 * u), -0.5 * (3 * v * v - 4 * v), 0.5 * u * u)
    return w, d, (v, 3 * u - 2, 3 * v - 2, u)


@njit(cache=True, error_model="numpy", inline="always")
def _around(j, columns):
    """The four columns round column j of a periodic grid."""
    k0 = (j - 1) % columns
    k1 = k0 + 1 if k0 + 1 < columns else 0
    k2 = k1 + 1 if k1 + 1 < columns else 0
    return k0, k1, k2, k2 + 1 if k2 + 1 < columns else 0


@njit(cache=True, error_model="numpy")
def field_value(samples, place, row, column):
    """Distance alone, at a radius and an angle counted in grid steps. Inside the grid's first rows: far."""
    rows, columns = samples.shape
    if row < 1.0:
        return place
    row = min(row, rows - 2.000001)
    i = int(row)
    j = math.floor(column)
    wu, _, _ = _weights(row - i)
    wv, _, _ = _weights(column - j)
    at = _around(j, columns)
    total = 0.0
    for p in range(4):
        line = 0.0
        for q in range(4):
            line += wv[q] * samples[i - 1 + p, at[q]]
        total += wu[p] * line
    return total


@njit(cache=True, error_model="numpy")
def field_full(samples, row, column):
    """Distance, first (row, column) and second derivatives (rr, rc, cc), per grid step; needs 1 ≤ row."""
    rows, columns = samples.shape
    row = min(row, rows - 2.000001)
    i = int(row)
    j = math.floor(column)
    wu, du, su = _weights(row - i)
    wv, dv, sv = _weights(column - j)
    at = _around(j, columns)
    d = d_r = d_c = d_rr = d_rc = d_cc = 0.0
    for p in range(4):
        a = b = c = 0.0
        for q in range(4):
            f = samples[i - 1 + p, at[q]]
            a += wv[q] * f
            b += dv[q] * f
            c += sv[q] * f
        d += wu[p] * a
        d_r += du[p] * a
        d_rr += su[p] * a
        d_c += wu[p] * b
        d_rc += du[p] * b
        d_cc += wu[p] * c
    return d, d_r, d_c, d_rr, d_rc, d_cc
