"""A rigid ring that is not perfect: how a point is seen by its tooth spaces.

A ring with errors is the perfect ring, shifted and warped: its centre stands off its axis, its surface is moved outward
by ρ(α) and turned by τ(α) at the ring's own angle α. A point at (r, α) about the ring's centre has the distance of the
perfect ring at (r − ρ(α), α − τ(α)). ρ and τ are waves of 0 … 4 a turn; τ also has one turn a tooth space, constant over
the space and blended (twice differentiable) over the land between. Source: derived; exact where ρ, τ are constant over a
tooth, else wrong in the distance by their slope (≤ 4ρ/R).
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit

WAVES = 5
"""Waves a turn that a ring's warp holds: 0 … 4."""


@njit(cache=True, error_model="numpy")
def warp_of(row, extra, numbers):
    """Warp (5, 4) of a ring at a state: by waves a turn, cos and sin of the radial offset, cos and sin of the turn; the
    errors it was made with and what its rim gives."""
    warp = numbers.ring_wave[row].copy()
    if numbers.rim_stiffness.shape[1] > 0:
        at = rim_place(row, extra.shape[0], numbers)
        warp[0, 0] += extra[at]
        for k in range(2):
            n = 2 * k + 2
            c, s = extra[at + 1 + 2 * k], extra[at + 2 + 2 * k]
            side = numbers.rim_turn[row, k]
            warp[n, 0] += c
            warp[n, 1] += s
            # w = a cos nα goes with v = −g a sin nα: a rim that bends hardly stretches
            warp[n, 2] += side * s
            warp[n, 3] -= side * c
    return warp


@njit(cache=True, error_model="numpy")
def rim_place(row, extras, numbers):
    """Where a ring's five rim amplitudes begin among the extras."""
    rows = numbers.share.shape[0]
    return extras - rows - numbers.rim_stiffness.shape[1] * (rows - row)


@njit(cache=True, error_model="numpy")
def rim_shapes(row, angle, numbers, out):
    """out (5, 4): of each rim amplitude (0, 2 cos, 2 sin, 4 cos, 4 sin) the radial offset and turn at an angle, and their
    slopes in the angle."""
    out[:] = 0.0
    out[0, 0] = 1.0
    for k in range(2):
        n = 2 * k + 2
        c, s = math.cos(n * angle), math.sin(n * angle)
        side = numbers.rim_turn[row, k]
        i = 1 + 2 * k
        out[i, 0], out[i, 1], out[i, 2], out[i, 3] = c, -side * s, -n * s, -n * side * c
        out[i + 1, 0], out[i + 1, 1], out[i + 1, 2], out[i + 1, 3] = s, side * c, n * c, -n * side * s


@njit(cache=True, error_model="numpy")
def centre_of(row, turn, numbers):
    """Where a ring's centre stands when it has turned."""
    c, s = math.cos(turn), math.sin(turn)
    x, y = numbers.ring_centre[row, 0], numbers.ring_centre[row, 1]
    return c * x - s * y, s * x + c * y


@njit(cache=True, error_model="numpy")
def offsets(row, angle, warp, numbers):
    """Radial offset ρ and turn τ of a ring's surface at an angle."""
    rho, tau = warp[0, 0], warp[0, 2]
    for n in range(1, WAVES):
        c, s = math.cos(n * angle), math.sin(n * angle)
        rho += warp[n, 0] * c + warp[n, 1] * s
        tau += warp[n, 2] * c + warp[n, 3] * s
    return rho, tau + _space_turn(row, angle, numbers)[0]


@njit(cache=True, error_model="numpy")
def seen_by_ring(rad, angle, row, warp, numbers):
    """A point at a radius and an angle of the ring's turning frame: radius and angle about the ring's own centre, and ρ and τ
    there."""
    x, y = rad * math.cos(angle) - numbers.ring_centre[row, 0], rad * math.sin(angle) - numbers.ring_centre[row, 1]
    about = math.atan2(y, x)
    rho, tau = offsets(row, about, warp, numbers)
    return math.hypot(x, y), about, rho, tau


@njit(cache=True, error_model="numpy")
def offset_slopes(row, angle, warp, numbers):
    """First and second derivatives of ρ, then of τ, in the angle."""
    r1 = r2 = t1 = t2 = 0.0
    for n in range(1, WAVES):
        c, s = math.cos(n * angle), math.sin(n * angle)
        r1 += n * (warp[n, 1] * c - warp[n, 0] * s)
        r2 -= n * n * (warp[n, 0] * c + warp[n, 1] * s)
        t1 += n * (warp[n, 3] * c - warp[n, 2] * s)
        t2 -= n * n * (warp[n, 2] * c + warp[n, 3] * s)
    _, s1, s2 = _space_turn(row, angle, numbers)
    return r1, r2, t1 + s1, t2 + s2


@njit(cache=True, error_model="numpy")
def _space_turn(row, angle, numbers):
    """Turn of the tooth space at an angle, with its derivatives: steps blended over the lands."""
    teeth = int(numbers.ring_spaces[row, 0])
    if teeth == 0:
        return 0.0, 0.0, 0.0
    flat = numbers.ring_spaces[row, 1]
    place = angle * teeth / (2.0 * math.pi)
    here = math.floor(place + 0.5)
    u = place - here
    own = numbers.ring_shift[row, int(here) % teeth]
    if abs(u) <= flat:
        return own, 0.0, 0.0
    # over the land from the space below to the one above
    if u > 0.0:
        low, high = own, numbers.ring_shift[row, (int(here) + 1) % teeth]
        x = (u - flat) / (1.0 - 2.0 * flat)
    else:
        low, high = numbers.ring_shift[row, (int(here) - 1) % teeth], own
        x = (u + 1.0 - flat) / (1.0 - 2.0 * flat)
    rate = teeth / (2.0 * math.pi) / (1.0 - 2.0 * flat)
    step = high - low
    value = low + step * x**3 * (10.0 - 15.0 * x + 6.0 * x * x)
    return value, step * 30.0 * x * x * (1.0 - x) ** 2 * rate, step * 60.0 * x * (1.0 - x) * (1.0 - 2.0 * x) * rate**2


def even_ring(rows: int) -> dict[str, np.ndarray]:
    """The numbers of perfect, stiff rings."""
    return {
        "ring_uneven": np.zeros(rows, dtype=np.int64),
        "ring_centre": np.zeros((rows, 2)),
        "ring_wave": np.zeros((rows, WAVES, 4)),
        "ring_spaces": np.zeros((rows, 2)),
        "ring_shift": np.zeros((rows, 1)),
        "rim_stiffness": np.zeros((rows, 0)),
        "rim_turn": np.zeros((rows, 2)),
    }
