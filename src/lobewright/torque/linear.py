"""Cyclic block-tridiagonal symmetric solve for blocks of any size, with a count of negative eigenvalues.

K has blocks D_i on the diagonal, U_i between nodes i and i + 1 (modulo N) and U_iᵀ below. Nodes 0 … N−2 are eliminated
in order without exchange (the pivots of a symmetric elimination carry the signs of the eigenvalues, Sylvester's law of
inertia), the last node closes the ring. Cost is linear in N.
"""

from __future__ import annotations

import numpy as np
from numba import njit

TINY = 1e-14


@njit(cache=True, error_model="numpy", fastmath=False)
def _eliminate(a, b, size):
    """b (size, m) ← a⁻¹ b by symmetric elimination without exchange; returns the number of negative pivots."""
    negative = 0
    columns = b.shape[1]
    for k in range(size):
        pivot = a[k, k]
        if abs(pivot) < TINY:
            pivot = TINY
            a[k, k] = TINY
        if pivot < 0.0:
            negative += 1
        inverse = 1.0 / pivot
        for r in range(k + 1, size):
            f = a[r, k] * inverse
            if f != 0.0:
                for c in range(k + 1, size):
                    a[r, c] -= f * a[k, c]
                for c in range(columns):
                    b[r, c] -= f * b[k, c]
    for k in range(size - 1, -1, -1):
        inverse = 1.0 / a[k, k]
        for r in range(k + 1, size):
            f = a[k, r]
            for c in range(columns):
                b[k, c] -= f * b[r, c]
        for c in range(columns):
            b[k, c] *= inverse
    return negative


@njit(cache=True, error_model="numpy")
def solve_ring(diagonal, upper, rhs):
    """Solve for rhs (N, B, m); returns (x (N, B, m), number of negative eigenvalues of K)."""
    count, size, columns = rhs.shape
    last = count - 1
    wide = columns + 2 * size
    # columns: right-hand sides | coupling to the last node | coupling to the next node
    work = np.zeros((last, size, wide))
    pivot = np.empty((size, size))
    negative = 0
    tail = columns + size
    for i in range(last):
        row = work[i]
        for r in range(size):
            for c in range(columns):
                row[r, c] = rhs[i, r, c]
            for c in range(size):
                pivot[r, c] = diagonal[i, r, c]
        if i == 0:
            for r in range(size):
                for c in range(size):
                    row[r, columns + c] += upper[last, c, r]
        if i == last - 1:
            for r in range(size):
                for c in range(size):
                    row[r, columns + c] += upper[i, r, c]
        else:
            for r in range(size):
                for c in range(size):
                    row[r, tail + c] = upper[i, r, c]
        if i > 0:
            before = work[i - 1]
            for r in range(size):
                for k in range(size):
                    f = upper[i - 1, k, r]
                    if f != 0.0:
                        for c in range(size):
                            pivot[r, c] -= f * before[k, tail + c]
                        for c in range(tail):
                            row[r, c] -= f * before[k, c]
        negative += _eliminate(pivot, row, size)
    for i in range(last - 2, -1, -1):
        row, after = work[i], work[i + 1]
        for r in range(size):
            for k in range(size):
                f = row[r, tail + k]
                for c in range(tail):
                    row[r, c] -= f * after[k, c]
    closing = diagonal[last].copy()
    end = rhs[last].copy()
    for r in range(size):
        for k in range(size):
            f, g = upper[last, r, k], upper[last - 1, k, r]
            for c in range(size):
                closing[r, c] -= f * work[0, k, columns + c] + g * work[last - 1, k, columns + c]
            for c in range(columns):
                end[r, c] -= f * work[0, k, c] + g * work[last - 1, k, c]
    negative += _eliminate(closing, end, size)
    out = np.empty((count, size, columns))
    out[last] = end
    for i in range(last):
        for r in range(size):
            for c in range(columns):
                value = work[i, r, c]
                for k in range(size):
                    value -= work[i, r, columns + k] * end[k, c]
                out[i, r, c] = value
    return out, negative
