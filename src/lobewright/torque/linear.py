"""Cyclic block-tridiagonal symmetric solve for blocks of any size, with a count of negative eigenvalues.

K has blocks D_i on the diagonal, U_i between nodes i and i + 1 (modulo N) and U_iᵀ below. Nodes 0 … N−2 are eliminated
in order without exchange (the pivots of a symmetric elimination carry the signs of the eigenvalues, Sylvester's law of
inertia), the last node closes the ring. Cost is linear in N. Forward and backward substitution are apart: products
bᵀK⁻¹c need only the forward one, so a border of many columns is eliminated without ever solving for it.
"""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

Array = NDArray[np.float64]

TINY = 1e-14


@njit(cache=True, error_model="numpy", fastmath=False)
def eliminate(a, b, size):
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
def forward(diagonal, upper, damping, b, scaled, ahead, closing):
    """Eliminate nodes 0 … N−1 of K + damping from b (N, B, m), in place, so that b₁ᵀK⁻¹b₂ is the plain product of b₁ and
    ``scaled`` over nodes. Fills scaled (N, B, m) and, for :func:`backward`, ahead and closing (N−1, B, B). Returns the
    number of negative eigenvalues of K + damping."""
    count, size, columns = b.shape
    last = count - 1
    end = diagonal[last].copy()
    for r in range(size):
        end[r, r] += damping
    pivot = np.empty((size, size))
    inverse = np.empty((size, size))
    link = np.empty((size, size))
    negative = 0
    for i in range(last):
        for r in range(size):
            for c in range(size):
                pivot[r, c] = diagonal[i, r, c]
                link[r, c] = upper[last, c, r] if i == 0 else 0.0
                inverse[r, c] = 0.0
            pivot[r, r] += damping
            inverse[r, r] = 1.0
        if i > 0:
            for r in range(size):
                for k in range(size):
                    f = upper[i - 1, k, r]
                    for c in range(size):
                        pivot[r, c] -= f * ahead[i - 1, k, c]
                        link[r, c] -= f * closing[i - 1, k, c]
        if i == last - 1:
            link += upper[i]
        negative += eliminate(pivot, inverse, size)
        for r in range(size):
            for c in range(size):
                near = far = 0.0
                for k in range(size):
                    near += inverse[r, k] * upper[i, k, c]
                    far += inverse[r, k] * link[k, c]
                ahead[i, r, c] = near if i < last - 1 else 0.0
                closing[i, r, c] = far
            for c in range(columns):
                scaled[i, r, c] = 0.0
            for k in range(size):
                f = inverse[r, k]
                for c in range(columns):
                    scaled[i, r, c] += f * b[i, k, c]
        for r in range(size):
            for k in range(size):
                f, g = upper[i, k, r], link[k, r]
                for c in range(size):
                    end[r, c] -= g * closing[i, k, c]
                if i < last - 1:
                    for c in range(columns):
                        b[i + 1, r, c] -= f * scaled[i, k, c]
                for c in range(columns):
                    b[last, r, c] -= g * scaled[i, k, c]
    for r in range(size):
        for c in range(columns):
            scaled[last, r, c] = b[last, r, c]
    return negative + eliminate(end, scaled[last], size)


@njit(cache=True, error_model="numpy")
def backward(scaled, ahead, closing):
    """The solution (N, B, m) from what :func:`forward` left, in place of ``scaled``."""
    count, size, columns = scaled.shape
    last = count - 1
    for i in range(last - 1, -1, -1):
        for r in range(size):
            for k in range(size):
                f, g = ahead[i, r, k], closing[i, r, k]
                for c in range(columns):
                    scaled[i, r, c] -= f * scaled[i + 1, k, c] + g * scaled[last, k, c]


def solve_ring(diagonal: Array, upper: Array, rhs: Array) -> tuple[Array, int]:
    """Solve for rhs (N, B, m); returns (x (N, B, m), number of negative eigenvalues of K)."""
    b, scaled = rhs.copy(), np.empty_like(rhs)
    ahead = np.empty((len(rhs) - 1, *diagonal.shape[1:]))
    closing = np.empty_like(ahead)
    negative = forward(diagonal, upper, 0.0, b, scaled, ahead, closing)
    backward(scaled, ahead, closing)
    return scaled, negative
