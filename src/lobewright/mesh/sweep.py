"""The swept-space kernel: what a flexible tooth sweeps in the frame of a rigid ring, folded into one tooth space.

Pose of a tooth whose centre has moved s along the neutral line, seen from rigid ring r (which has then turned
ψ = (Z_f/Z_r)·s/R_n in the generator's frame): position C(s), outward normal at ν(s), both turned back by ψ, then turned by whole
pitches of the ring into the space around angle 0.

At every radius the swept set is an interval of angle (a moving interval stays connected), so the region is described by
its right and left angle at each of many radii. For one pose each outline segment is carried to polar coordinates and laid
over the radii it crosses; the right angle is the largest over poses, the left the smallest. The largest over a continuous
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
def _lay_poses(
    points: Array, x: Array, y: Array, normal: Array, turned: Array, pitch: float, levels: Array
) -> tuple[Array, Array]:
    """Right and left angle of every pose at every radius; NaN-free: ±10 where a pose does not reach a radius."""
    poses, count, rows = len(x), len(points), len(levels)
    right = np.full((poses, rows), -10.0)
    left = np.full((poses, rows), 10.0)
    radius = np.empty(count)
    angle = np.empty(count)
    for i in range(poses):
        c, s = math.cos(normal[i] - turned[i]), math.sin(normal[i] - turned[i])
        ct, st = math.cos(turned[i]), math.sin(turned[i])
        cx, cy = ct * x[i] + st * y[i], ct * y[i] - st * x[i]
        own = math.atan2(cy, cx)
        fold = pitch * math.floor(own / pitch + 0.5)
        cf, sf = math.cos(fold), math.sin(fold)
        for j in range(count):
            px = cx + points[j, 1] * c - points[j, 0] * s
            py = cy + points[j, 1] * s + points[j, 0] * c
            qx, qy = cf * px + sf * py, cf * py - sf * px
            radius[j] = math.sqrt(qx * qx + qy * qy)
            angle[j] = math.atan2(qy, qx)
        lowest = levels[0]
        for j in range(count - 1):
            r0, r1 = radius[j], radius[j + 1]
            if r0 < lowest and r1 < lowest:
                continue
            a0, a1 = angle[j], angle[j + 1]
            if r0 > r1:
                r0, r1, a0, a1 = r1, r0, a1, a0
            first = np.searchsorted(levels, r0)
            if first >= rows or levels[first] > r1:
                continue
            slope = (a1 - a0) / (r1 - r0) if r1 > r0 else 0.0
            k = first
            while k < rows and levels[k] <= r1:
                a = a0 + slope * (levels[k] - r0)
                right[i, k] = max(right[i, k], a)
                left[i, k] = min(left[i, k], a)
                k += 1
    return right, left


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

    ``points`` (N, 2) outline in tooth coordinates; ``x``, ``y``, ``normal``, ``turned`` (P,) poses in order of arc length: position
    and outward normal in the generator frame, turn of the ring in that frame; ``pitch`` = 2π/Z_r. Radii that no pose
    reaches get −10 and 10.
    """
    right, left = _lay_poses(points, x, y, normal, turned, pitch, levels)
    jump = 0.25 * pitch
    most, _ = _largest(right, jump)
    least, _ = _largest(-left, jump)
    return most, -least
