"""The swept-space kernel: what a flexible tooth sweeps in the frame of a rigid ring, folded into one tooth space.

Pose of a tooth whose centre has moved s along the neutral line, seen from rigid ring r (which has then turned
ψ = (Z_f/Z_r)·s/R_n in the generator's frame): position C(s), outward normal at ν(s), both turned back by ψ, then turned by whole
pitches of the ring into the space around angle 0.

At every radius the swept set is an interval of angle (a moving interval stays connected), so the flanks of the region
are its right and left angle at each of many radii, and its root is its largest radius at each of many angles. For one
pose each outline segment is carried to polar coordinates and laid over the radii or angles it crosses; over the poses
the largest (or least) counts. The largest over a continuous
motion lies between samples: a parabola through the best pose and its two neighbours gives it to third order in the
step. Only such maxima of a flank's advance bound the region; minima do not, and none are collected.

Source: derived; checked against the union of poses by an independent polygon library (``lobewright evidence``).
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit

Array = np.ndarray


@njit(cache=True)
def _angle(x: float, y: float) -> float:
    """atan2(y, x) for x > 0; near the axis by its series, which is exact to 1e-11 there and far quicker."""
    t = y / x
    if t > 0.2 or t < -0.2:
        return math.atan2(y, x)
    q = t * t
    return t * (1 - q * (1 / 3 - q * (1 / 5 - q * (1 / 7 - q * (1 / 9 - q * (1 / 11 - q / 13))))))


@njit(cache=True)
def _carry(
    points: Array, x: float, y: float, normal: float, turned: float, pitch: float, lowest: float, out: Array
) -> None:
    """Polar coordinates (radius, angle) of the outline in one pose, folded into the space around angle 0.

    Points below ``lowest`` whose neighbours are below it too get their radius only.
    """
    ct, st = math.cos(turned), math.sin(turned)
    fold = turned + pitch * math.floor(math.atan2(ct * y - st * x, ct * x + st * y) / pitch + 0.5)
    c, s = math.cos(normal - fold), math.sin(normal - fold)
    cf, sf = math.cos(fold), math.sin(fold)
    cx, cy = cf * x + sf * y, cf * y - sf * x
    count = len(points)
    low = lowest * lowest
    before = False
    here = False
    qx0 = qy0 = 0.0
    for j in range(count + 1):
        after = False
        qx = qy = 0.0
        if j < count:
            qx = cx + points[j, 1] * c - points[j, 0] * s
            qy = cy + points[j, 1] * s + points[j, 0] * c
            square = qx * qx + qy * qy
            after = square >= low
            out[j, 0] = math.sqrt(square)
        if j > 0 and (before or here or after):
            out[j - 1, 1] = _angle(qx0, qy0)
        before, here = here, after
        qx0, qy0 = qx, qy


@njit(cache=True)
def lay(polar: Array, along: int, grid: Array, most: Array, least: Array) -> None:
    """Lay an outline over a grid of radii (``along`` 0) or angles (1): largest and least other coordinate at each."""
    rows = len(grid)
    for j in range(len(polar) - 1):
        g0, g1, v0, v1 = polar[j, along], polar[j + 1, along], polar[j, 1 - along], polar[j + 1, 1 - along]
        if g0 > g1:
            g0, g1, v0, v1 = g1, g0, v1, v0
        if g1 < grid[0] or g0 > grid[rows - 1]:
            continue
        k = np.searchsorted(grid, g0)
        slope = (v1 - v0) / (g1 - g0) if g1 > g0 else 0.0
        while k < rows and grid[k] <= g1:
            v = v0 + slope * (grid[k] - g0)
            most[k] = max(most[k], v)
            least[k] = min(least[k], v)
            k += 1


@njit(cache=True)
def _largest(values: Array, jump: float) -> tuple[Array, Array]:
    """Largest value of each column over the rows, raised by the parabola through its neighbours; row of the largest."""
    poses, rows = values.shape
    best = np.full(rows, -10.0)
    where = np.zeros(rows, dtype=np.int64)
    for i in range(poses):
        for k in range(rows):
            if values[i, k] > best[k]:
                best[k] = values[i, k]
                where[k] = i
    for k in range(rows):
        i = where[k]
        if i == 0 or i == poses - 1 or best[k] < -9.0:
            continue
        before, after = values[i - 1, k], values[i + 1, k]
        if before < best[k] - jump or after < best[k] - jump:
            continue
        bend = before - 2.0 * best[k] + after
        if bend < 0.0:
            best[k] -= (after - before) ** 2 / (8.0 * bend)
    return best, where


@njit(cache=True)
def highest_radius(points: Array, x: Array, y: Array, normal: Array) -> float:
    """Largest distance from the axis that any outline point reaches in any pose, in mm."""
    best = 0.0
    for i in range(len(x)):
        c, s = math.cos(normal[i]), math.sin(normal[i])
        for j in range(len(points)):
            px = x[i] + points[j, 1] * c - points[j, 0] * s
            py = y[i] + points[j, 1] * s + points[j, 0] * c
            best = max(best, px * px + py * py)
    return math.sqrt(best)


@njit(cache=True)
def sweep(
    points: Array, x: Array, y: Array, normal: Array, turned: Array, pitch: float, levels: Array
) -> tuple[Array, Array]:
    """Right and left angle (rad) of the swept space at each radius of ``levels`` (mm, ascending).

    ``points`` (N, 2) outline in tooth coordinates; ``x``, ``y``, ``normal``, ``turned`` (P,) poses in order of arc length:
    position and outward normal in the generator frame, turn of the ring in that frame; ``pitch`` = 2π/Z_r. Radii that
    no pose reaches get −10 and 10.
    """
    poses, rows = len(x), len(levels)
    right = np.full((poses, rows), -10.0)
    left = np.full((poses, rows), 10.0)
    polar = np.empty((len(points), 2))
    size = np.sqrt(np.max(points[:, 0] ** 2 + points[:, 1] ** 2))
    for i in range(poses):
        if math.hypot(x[i], y[i]) + size < levels[0]:
            continue
        _carry(points, x[i], y[i], normal[i], turned[i], pitch, levels[0], polar)
        lay(polar, 0, levels, right[i], left[i])
    jump = 0.25 * pitch
    most, _ = _largest(right, jump)
    least, _ = _largest(-left, jump)
    return most, -least


@njit(cache=True)
def sweep_root(
    points: Array, x: Array, y: Array, normal: Array, turned: Array, pitch: float, angles: Array, lowest: float
) -> Array:
    """Largest radius (mm) of the swept space at each of the ascending ``angles`` (rad); arguments as in :func:`sweep`.

    Near the root the boundary runs along the circle: asked by angle it is smooth in the pose, by radius it is not.
    Only what lies above ``lowest`` mm is looked at; angles that no pose reaches there get −10.
    """
    poses, rows = len(x), len(angles)
    high = np.full((poses, rows), -10.0)
    low = np.full(rows, 1e9)
    polar = np.empty((len(points), 2))
    size = np.sqrt(np.max(points[:, 0] ** 2 + points[:, 1] ** 2))
    for i in range(poses):
        if math.hypot(x[i], y[i]) + size < lowest:
            continue
        _carry(points, x[i], y[i], normal[i], turned[i], pitch, 0.0, polar)
        lay(polar, 1, angles, high[i], low)
    most, _ = _largest(high, 0.25 * pitch * np.max(high))
    return most
