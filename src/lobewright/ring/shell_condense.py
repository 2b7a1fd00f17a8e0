"""Banded solve of a shell of revolution, harmonic by harmonic."""

import math

import numpy as np
from numba import njit


@njit(cache=True, error_model="numpy")
def harmonic_band(parts, harmonic, out):
    """out = K0 + k·K1 + k²·K2, banded as `parts` (3, n, width)."""
    out[:] = parts[0] + harmonic * parts[1] + (harmonic * harmonic) * parts[2]


@njit(cache=True, error_model="numpy")
def banded_product(band, x):
    """K·x for a symmetric band (n, width) and x (n, m)."""
    count, width = band.shape
    out = np.zeros_like(x)
    for i in range(count):
        for d in range(min(width, i + 1)):
            value = band[i, d]
            for c in range(x.shape[1]):
                out[i, c] += value * x[i - d, c]
                if d:
                    out[i - d, c] += value * x[i, c]
    return out


@njit(cache=True, error_model="numpy")
def _hold(band, held, x, rhs):
    """Give held unknowns (values in x) to the right-hand side and an equation of their own."""
    count, width = band.shape
    for i in range(count):
        for d in range(min(width, i + 1)):
            for c in range(rhs.shape[1]):
                if held[i - d]:
                    rhs[i, c] -= band[i, d] * x[i - d, c]
                if held[i] and d:
                    rhs[i - d, c] -= band[i, d] * x[i, c]
    for i in range(count):
        if held[i]:
            rhs[i] = x[i]
    for i in range(count):
        for d in range(1, min(width, i + 1)):
            if held[i] or held[i - d]:
                band[i, d] = 0.0
        if held[i]:
            band[i, 0] = 1.0


@njit(cache=True, error_model="numpy")
def _factor(band):
    """Cholesky factor of a symmetric positive definite band, in place. Returns the least pivot over its entry."""
    count, width = band.shape
    least = math.inf
    for i in range(count):
        entry = band[i, 0]
        start = max(0, i - width + 1)
        for j in range(start, i):
            total = band[i, i - j]
            for m in range(max(start, j - width + 1), j):
                total -= band[i, i - m] * band[j, j - m]
            band[i, i - j] = total * band[j, 0]
        pivot = entry
        for m in range(start, i):
            pivot -= band[i, i - m] * band[i, i - m]
        least = min(least, pivot / entry)
        band[i, 0] = 1.0 / math.sqrt(pivot) if pivot > 0.0 else math.nan
    return least


@njit(cache=True, error_model="numpy")
def _substitute(band, rhs):
    """Solve with the factor of `_factor`, in place."""
    count, width = band.shape
    columns = rhs.shape[1]
    for i in range(count):
        for d in range(1, min(width, i + 1)):
            for c in range(columns):
                rhs[i, c] -= band[i, d] * rhs[i - d, c]
        for c in range(columns):
            rhs[i, c] *= band[i, 0]
    for i in range(count - 1, -1, -1):
        for c in range(columns):
            rhs[i, c] *= band[i, 0]
        for d in range(1, min(width, i + 1)):
            for c in range(columns):
                rhs[i - d, c] -= band[i, d] * rhs[i, c]


@njit(cache=True, error_model="numpy")
def solve_harmonics(parts, harmonics, held, values, loads):
    """Unknowns x (H, n, m) of every harmonic, and the least relative pivot (H,).

    parts (3, n, width): K0, K1, K2. held (n,): which unknowns are prescribed. values, loads (H, n, m): prescribed
    values (zero where not held) and loads. The pivot is near rounding or nan where nothing holds the shell.
    """
    orders = loads.shape[0]
    x, pivot = loads.copy(), np.empty(orders)
    band = np.empty(parts.shape[1:])
    for h in range(orders):
        harmonic_band(parts, harmonics[h], band)
        _hold(band, held, values[h], x[h])
        pivot[h] = _factor(band)
        _substitute(band, x[h])
    return x, pivot


@njit(cache=True, error_model="numpy")
def harmonic_forces(parts, harmonics, x):
    """K·x (H, n, m) of every harmonic: loads and reactions."""
    out = np.empty_like(x)
    band = np.empty(parts.shape[1:])
    for h in range(len(harmonics)):
        harmonic_band(parts, harmonics[h], band)
        out[h] = banded_product(band, x[h])
    return out
