"""The stress of one point of the ring while labels pass it, as its turning points: the one loop that must be fast."""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

Array = NDArray[np.float64]


@njit(cache=True, error_model="numpy")
def _at(forward: Array, backward: Array, grid_nmm: Array, torque_nmm: float, place: float) -> float:
    """Stress at a torque and a place counted in labels, straight between the solved torques and between labels."""
    table = forward if torque_nmm >= 0.0 else backward
    labels = table.shape[1]
    left = int(np.floor(place))
    share = place - left
    left %= labels
    right = (left + 1) % labels
    size = min(max(abs(torque_nmm), grid_nmm[0]), grid_nmm[-1])
    row = 0
    while row < len(grid_nmm) - 2 and grid_nmm[row + 1] < size:
        row += 1
    found = (1.0 - share) * table[row, left] + share * table[row, right]
    if len(grid_nmm) == 1 or grid_nmm[row] >= size:
        return found
    above = (1.0 - share) * table[row + 1, left] + share * table[row + 1, right]
    part = (size - grid_nmm[row]) / (grid_nmm[row + 1] - grid_nmm[row])
    return (1.0 - part) * found + part * above


@njit(cache=True, error_model="numpy")
def turning_points_of(
    forward: Array, backward: Array, grid_nmm: Array, place: Array, torque_nmm: Array, start: float, found: Array
) -> int:
    """Turning points of the stress along a path, written to ``found``; how many.

    ``forward`` and ``backward`` (K, L): stress for positive and negative torques of ``grid_nmm`` (K,). ``place`` (T,): the path
    counted in labels, unwrapped, to which ``start`` is added; between two of its points torque runs straight. The path is
    looked at in its own points and wherever it crosses a label. ``found`` must have room for all of these.
    """
    count = 1
    last = _at(forward, backward, grid_nmm, torque_nmm[0], place[0] + start)
    found[0] = last
    rising = 0
    for i in range(len(place) - 1):
        here, there = place[i] + start, place[i + 1] + start
        way = 1 if there > here else -1
        node = np.floor(here) + 1.0 if way > 0 else np.ceil(here) - 1.0
        going = here != there
        while True:
            done = not going or (node >= there if way > 0 else node <= there)
            if done:
                value = _at(forward, backward, grid_nmm, torque_nmm[i + 1], there)
            else:
                part = (node - here) / (there - here)
                torque = (1.0 - part) * torque_nmm[i] + part * torque_nmm[i + 1]
                value = _at(forward, backward, grid_nmm, torque, node)
                node += way
            if value != last:
                now = 1 if value > last else -1
                if now == rising:
                    found[count - 1] = value
                else:
                    found[count] = value
                    count += 1
                    rising = now
                last = value
            if done:
                break
    return count


@njit(cache=True, error_model="numpy")
def without_small(points: Array, gate_mpa: float) -> int:
    """Turning points (P,) without those of cycles smaller than a gate, put to the front of ``points``; how many are left.

    What is left keeps its exact extremes.
    """
    count, rising = 1, 0
    for value in points[1:]:
        last = points[count - 1]
        if rising != 0 and (value - last) * rising > 0.0:
            points[count - 1] = value
        elif abs(value - last) > gate_mpa:
            points[count] = value
            rising = 1 if value > last else -1
            count += 1
    return count
