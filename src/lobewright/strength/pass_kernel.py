"""The stress of one point of the ring while labels pass it, as its turning points: the one loop that must be fast."""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

Array = NDArray[np.float64]


@njit(cache=True, error_model="numpy")
def _share(grid_nmm: Array, row: int, torque_nmm: float) -> float:
    """Where a torque lies between a solved one and the next, 0 … 1."""
    part = (abs(torque_nmm) - grid_nmm[row]) / (grid_nmm[row + 1] - grid_nmm[row])
    return min(max(part, 0.0), 1.0)


@njit(cache=True, error_model="numpy")
def _between(table: Array, row: int, part: float, place: float) -> float:
    """Stress at a place between two labels, ``part`` on the way from one solved torque to the next."""
    labels = table.shape[1]
    left = int(np.floor(place))
    share = place - left
    left %= labels
    right = (left + 1) % labels
    low = (1.0 - share) * table[row, left] + share * table[row, right]
    high = (1.0 - share) * table[row + 1, left] + share * table[row + 1, right]
    return (1.0 - part) * low + part * high


@njit(cache=True, error_model="numpy")
def turning_points_of(
    forward: Array, backward: Array, grid_nmm: Array, place: Array, torque_nmm: Array, start: float, found: Array
) -> int:
    """Turning points of the stress along a path, written to ``found``; how many.

    ``forward`` and ``backward`` (K, L), K ≥ 2: stress for positive and negative torques of ``grid_nmm`` (K,). ``place`` (T,): the
    path counted in labels, unwrapped, to which ``start`` is added; between two of its points torque runs straight and crosses
    neither 0 nor a solved torque. The path is looked at in its own points and wherever it crosses a label. ``found`` must have
    room for all of these.
    """
    labels = forward.shape[1]
    count, rising = 0, 0
    last = 0.0
    for i in range(len(place) - 1):
        here, there = place[i] + start, place[i + 1] + start
        middle = 0.5 * (torque_nmm[i] + torque_nmm[i + 1])
        table = forward if middle >= 0.0 else backward
        row = 0
        while row < len(grid_nmm) - 2 and grid_nmm[row + 1] < abs(middle):
            row += 1
        part_here, part_there = _share(grid_nmm, row, torque_nmm[i]), _share(grid_nmm, row, torque_nmm[i + 1])
        if count == 0:
            last = _between(table, row, part_here, here)
            found[0] = last
            count = 1
        way = 1 if there > here else -1
        node = int(np.floor(here)) + 1 if way > 0 else int(np.ceil(here)) - 1
        crossed = max(0, (int(np.ceil(there)) - node) if way > 0 else (node - int(np.floor(there))))
        column = node % labels
        growth = (part_there - part_here) / (there - here) if crossed > 0 else 0.0
        for step in range(crossed + 1):
            if step == crossed:
                value = _between(table, row, part_there, there)
            else:
                part = part_here + growth * (node + way * step - here)
                value = (1.0 - part) * table[row, column] + part * table[row + 1, column]
                column += way
                if column == labels:
                    column = 0
                elif column < 0:
                    column = labels - 1
            if value == last:
                continue
            now = 1 if value > last else -1
            if now == rising:
                found[count - 1] = value
            else:
                found[count] = value
                count += 1
                rising = now
            last = value
    return count


@njit(cache=True, error_model="numpy")
def without_small(points: Array, gate_mpa: float) -> int:
    """Turning points (P,) without those of cycles smaller than a gate, put to the front of ``points``; how many are left.

    What is left keeps its exact extremes; the first point is kept as it is, so it should be one of them.
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
