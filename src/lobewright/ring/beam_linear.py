"""Cyclic block-tridiagonal solve with a small border; cost linear in the number of nodes."""

from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True)
class RingSystem:
    """Linearised ring: residual (N, 3) and blocks (N, 3, 3) at (i, i), (i, i+1), (i+1, i), indices modulo N.

    Dimensionless (length/R, force·R²/EI). Contributions add into the arrays in place.
    """

    residual: Array
    diagonal: Array
    upper: Array
    lower: Array

    @classmethod
    def zero(cls, nodes: int) -> "RingSystem":
        """An empty system of the given number of nodes."""
        return cls(np.zeros((nodes, 3)), *(np.zeros((nodes, 3, 3)) for _ in range(3)))


@njit(cache=True, error_model="numpy")
def _solve_small(a, b):
    """Overwrite b (3, m) with a⁻¹ b, a (3, 3), by elimination with row exchange. a is destroyed."""
    columns = b.shape[1]
    for k in range(3):
        best = k
        for r in range(k + 1, 3):
            if abs(a[r, k]) > abs(a[best, k]):
                best = r
        if best != k:
            for c in range(3):
                a[k, c], a[best, c] = a[best, c], a[k, c]
            for c in range(columns):
                b[k, c], b[best, c] = b[best, c], b[k, c]
        for r in range(k + 1, 3):
            f = a[r, k] / a[k, k]
            for c in range(k + 1, 3):
                a[r, c] -= f * a[k, c]
            for c in range(columns):
                b[r, c] -= f * b[k, c]
    for k in range(2, -1, -1):
        for c in range(columns):
            value = b[k, c]
            for r in range(k + 1, 3):
                value -= a[k, r] * b[r, c]
            b[k, c] = value / a[k, k]


@njit(cache=True, error_model="numpy")
def _subtract_product(target, left, right):
    """target −= left · right for left (3, 3), right and target (3, m)."""
    for r in range(3):
        for c in range(right.shape[1]):
            target[r, c] -= left[r, 0] * right[0, c] + left[r, 1] * right[1, c] + left[r, 2] * right[2, c]


@njit(cache=True, error_model="numpy")
def solve_cyclic(diagonal, upper, lower, rhs):
    """Solve the cyclic block-tridiagonal system for rhs (N, 3, m); returns (N, 3, m).

    Nodes 0 … N−2 are eliminated in order, the last node closes the ring; exchange of rows only inside a block.
    """
    count, _, columns = rhs.shape
    last = count - 1
    wide = columns + 6
    # columns: right-hand sides | coupling to the last node | coupling to the next node
    work = np.zeros((last, 3, wide))
    work[:, :, :columns] = rhs[:last]
    work[0, :, columns : columns + 3] = lower[last]
    work[last - 1, :, columns : columns + 3] += upper[last - 1]
    for i in range(last):
        pivot = diagonal[i].copy()
        if i + 1 < last:
            work[i, :, columns + 3 :] = upper[i]
        if i > 0:
            for r in range(3):
                for c in range(3):
                    for k in range(3):
                        pivot[r, c] -= lower[i - 1, r, k] * work[i - 1, k, columns + 3 + c]
            _subtract_product(work[i, :, : columns + 3], lower[i - 1], work[i - 1, :, : columns + 3])
        _solve_small(pivot, work[i])
    for i in range(last - 2, -1, -1):
        _subtract_product(work[i, :, : columns + 3], work[i, :, columns + 3 :], work[i + 1, :, : columns + 3])
    closing = diagonal[last].copy()
    out = np.empty((count, 3, columns))
    end = rhs[last].copy()
    for row, edge in ((0, upper[last]), (last - 1, lower[last - 1])):
        _subtract_product(closing, edge, work[row, :, columns : columns + 3])
        _subtract_product(end, edge, work[row, :, :columns])
    _solve_small(closing, end)
    out[last] = end
    for i in range(last):
        out[i] = work[i, :, :columns]
        _subtract_product(out[i], work[i, :, columns : columns + 3], end)
    return out


def solve_held(system: RingSystem, load: Array, hold: Array, hold_rhs: Array) -> tuple[Array, Array]:
    """Solve K·dq + holdᵀ·m = load, hold·dq = hold_rhs; returns (dq (N, 3), m (k,)).

    K may be singular along the held motions: three unit springs at node 0 are added and taken off again
    exactly through the border. load (N, 3); hold (k, N, 3); hold_rhs (k,).
    """
    count, held = load.shape[0], hold.shape[0]
    diagonal = system.diagonal.copy()
    diagonal[0] += np.eye(3)
    rhs = np.zeros((count, 3, 4 + held))
    rhs[:, :, 0] = load
    rhs[0, :, 1:4] = np.eye(3)
    rhs[:, :, 4:] = hold.transpose(1, 2, 0)
    x = solve_cyclic(diagonal, system.upper, system.lower, rhs)
    at_zero = x[0]
    at_hold = np.einsum("kij,ijc->kc", hold, x)
    border = np.zeros((3 + held, 3 + held))
    border[:3, :3] = np.eye(3) - at_zero[:, 1:4]
    border[:3, 3:] = at_zero[:, 4:]
    border[3:, :3] = at_hold[:, 1:4]
    border[3:, 3:] = -at_hold[:, 4:]
    known = np.concatenate([at_zero[:, 0], hold_rhs - at_hold[:, 0]])
    extra = np.linalg.solve(border, known)
    step = x[:, :, 0] + x[:, :, 1:4] @ extra[:3] - x[:, :, 4:] @ extra[3:]
    return step, extra[3:]
