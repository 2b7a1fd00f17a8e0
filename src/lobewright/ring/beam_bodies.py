"""Rigid convex bodies of the wave generator and the distance from them, with its derivatives.

A body is kept as it is; the ring's inner offset c is taken off the distance instead (contact of the inner surface with
the body is contact of the neutral line with the body's parallel curve at c; exact for frictionless contact).
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import ArrayLike, NDArray

from lobewright.errors import DesignFault, Fault

Array = NDArray[np.float64]


@dataclass(frozen=True)
class CircleBody:
    """A roller or disc: centre and radius [mm]."""

    x_mm: float
    y_mm: float
    radius_mm: float

    def __post_init__(self) -> None:
        if not (math.isfinite(self.x_mm) and math.isfinite(self.y_mm) and math.isfinite(self.radius_mm)):
            raise DesignFault([Fault("a circle needs finite numbers", "CircleBody", allowed="finite values in mm")])
        if self.radius_mm <= 0.0:
            raise DesignFault(
                [Fault("the radius is not positive", "CircleBody.radius_mm", 0, f"{self.radius_mm:g} mm", "> 0 mm")]
            )


@dataclass(frozen=True, eq=False)
class CurveBody:
    """A closed convex cam: points_mm (M, 2) in anticlockwise order, M ≥ 16, first point not repeated.

    Between the points the cam is a periodic cubic spline over chord length (fourth-order accurate).
    """

    points_mm: Array

    def __init__(self, points_mm: ArrayLike) -> None:
        points = np.array(points_mm, dtype=float)
        points.setflags(write=False)
        object.__setattr__(self, "points_mm", points)
        fault = _curve_fault(points)
        if fault:
            raise DesignFault([Fault(fault, "CurveBody.points_mm", 0, f"shape {points.shape}")])


def _curve_fault(points: Array) -> str:
    """What is wrong with cam points, or an empty text."""
    if points.ndim != 2 or points.shape[1] != 2 or points.shape[0] < 16:
        return "a cam needs an array of at least 16 points (x, y)"
    if not np.isfinite(points).all():
        return "a cam needs finite points"
    chord = np.roll(points, -1, axis=0) - points
    if np.hypot(*chord.T).min() <= 0.0:
        return "a cam may not repeat a point"
    table = curve_table(points)
    if (table[:, 1] * table[:, 4] - table[:, 2] * table[:, 3] <= 0.0).any():
        return "a cam must be convex with its points in anticlockwise order"
    return ""


def enclosing_radius(bodies: Sequence[CircleBody | CurveBody]) -> float:
    """Radius [mm] of the smallest circle around all bodies, to about 1e-6 of their size.

    The farthest reach from a point is convex in the point; golden-section search in x of the best over y.
    """
    centres, radii = [], []
    for body in bodies:
        centres.append(np.array([[body.x_mm, body.y_mm]]) if isinstance(body, CircleBody) else body.points_mm)
        radii.append(np.full(len(centres[-1]), body.radius_mm if isinstance(body, CircleBody) else 0.0))
    centre, radius = np.concatenate(centres), np.concatenate(radii)

    def reach(x: float, y: float) -> float:
        return float((np.hypot(centre[:, 0] - x, centre[:, 1] - y) + radius).max())

    low, high = centre.min(axis=0), centre.max(axis=0)
    return _least(lambda x: _least(lambda y: reach(x, y), low[1], high[1]), low[0], high[0])


def _least(f: Callable[[float], float], low: float, high: float) -> float:
    """Least value of a convex function on an interval, by golden-section search."""
    golden = 0.5 * (math.sqrt(5.0) - 1.0)
    a, b = high - golden * (high - low), low + golden * (high - low)
    fa, fb = f(a), f(b)
    for _ in range(36):
        if fa < fb:
            high, b, fb = b, a, fa
            a = high - golden * (high - low)
            fa = f(a)
        else:
            low, a, fa = a, b, fb
            b = low + golden * (high - low)
            fb = f(b)
    return min(fa, fb)


@njit(cache=True, error_model="numpy")
def _periodic_second(x, lengths):
    """Second derivatives (M, 2) of the periodic cubic spline through x (M, 2) with the given segment lengths (M,).

    Gauss–Seidel sweeps: the matrix is strictly diagonally dominant, each of the 64 sweeps at least halves the error.
    """
    count = x.shape[0]
    second = np.zeros((count, 2))
    for _ in range(64):
        for i in range(count):
            j, k = (i + 1) % count, i - 1
            a, b = lengths[k], lengths[i]
            for c in range(2):
                bend = 6.0 * ((x[j, c] - x[i, c]) / b - (x[i, c] - x[k, c]) / a)
                value = (bend - a * second[k, c] - b * second[j, c]) / (2.0 * (a + b))
                second[i, c] = value
    return second


def curve_table(points: Array) -> Array:
    """Spline table (M, 7) at the points: segment length, x', y', x'', y'', x, y (derivatives over chord length)."""
    ahead = np.roll(points, -1, axis=0)
    lengths = np.hypot(*(ahead - points).T)
    second = _periodic_second(np.ascontiguousarray(points), lengths)
    next_second = np.roll(second, -1, axis=0)
    first = (ahead - points) / lengths[:, None] - lengths[:, None] * (2.0 * second + next_second) / 6.0
    return np.column_stack([lengths, first, second, points])


@njit(cache=True, error_model="numpy")
def _curve_at(table, i, t):
    """Position, first and second derivative of the spline on segment i at t in 0…1."""
    j = i + 1 if i + 1 < table.shape[0] else 0
    span = table[i, 0]
    u = t * span
    x, y, dx, dy = table[i, 5], table[i, 6], table[i, 1], table[i, 2]
    ax, ay = table[i, 3], table[i, 4]
    bx, by = (table[j, 3] - ax) / span, (table[j, 4] - ay) / span
    return (
        x + u * (dx + u * (ax / 2 + u * bx / 6)),
        y + u * (dy + u * (ay / 2 + u * by / 6)),
        dx + u * (ax + u * bx / 2),
        dy + u * (ay + u * by / 2),
        ax + u * bx,
        ay + u * by,
    )


@njit(cache=True, error_model="numpy")
def curve_distance(table, near, px, py):
    """Signed distance of a point from the cam (positive outside); near: knot from which to look.

    Returns (distance, normal x, normal y, second-derivative factor along the tangent, nearest knot).
    """
    count = table.shape[0]
    best = (table[near, 5] - px) ** 2 + (table[near, 6] - py) ** 2
    for step in (1, -1):
        for _ in range(count):
            k = (near + step) % count
            square = (table[k, 5] - px) ** 2 + (table[k, 6] - py) ** 2
            if square >= best:
                break
            best, near = square, k
    i, t = near, 0.0
    x, y, dx, dy, ddx, ddy = _curve_at(table, i, t)
    for _ in range(30):
        slope = (x - px) * dx + (y - py) * dy
        curve = dx * dx + dy * dy + (x - px) * ddx + (y - py) * ddy
        if curve <= 0.0:
            break
        move = -slope / (curve * table[i, 0])
        t += min(0.5, max(-0.5, move))
        if t < 0.0:
            span = table[i, 0]
            i = i - 1 if i > 0 else count - 1
            t = 1.0 + t * span / table[i, 0]
        elif t > 1.0:
            span = table[i, 0]
            i = i + 1 if i + 1 < count else 0
            t = (t - 1.0) * span / table[i, 0]
        x, y, dx, dy, ddx, ddy = _curve_at(table, i, t)
        if abs(move) < 1e-13:
            break
    speed = math.hypot(dx, dy)
    nx, ny = dy / speed, -dx / speed
    distance = (px - x) * nx + (py - y) * ny
    curvature = (dx * ddy - dy * ddx) / speed**3
    return distance, nx, ny, curvature / (1.0 + curvature * distance), near


@njit(cache=True, error_model="numpy")
def circle_distance(cx, cy, radius, px, py):
    """As `curve_distance` for a circle: (distance, normal x, normal y, second-derivative factor)."""
    dx, dy = px - cx, py - cy
    reach = math.hypot(dx, dy)
    return reach - radius, dx / reach, dy / reach, 1.0 / reach
