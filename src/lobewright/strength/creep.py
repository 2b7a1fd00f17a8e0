"""How a plastic that is loaded or held bent gives with time: the power law of creep and what superposition makes of it.

Creep compliance J(t) = J(1 h) · t^n (t in hours, 0 ≤ n < 1). Strains of many loads add up (Boltzmann). Then the relaxation
modulus is E(t) = sin(nπ)/(nπ) / J(t) exactly, and a deflection that was held for a time T and let go has at the time δ after it
still the share I_x(1 − n, n), x = T/(T + δ), of what was held (I the regularised incomplete beta function).

Assumptions: strains small enough for linearity (for most plastics below half of a percent, a rough rule), one temperature, a
material that does not age; one that does creeps less as it grows old, so these figures are on the safe side. Every point of a
ring that is held bent has its strain held, so one number tells the whole ring.
Sources: Crawford, Plastics Engineering, eq. 2.59 to 2.64 (read); relaxation and hold: derived by Laplace transform.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from lobewright.errors import DesignFault, Fault

Array = NDArray[np.float64]

CELLS_A_DECADE = 24
"""Steps in which a falling stress is superposed: good to 1e-4 of the deflection that was held (see the test)."""
FIRST, NEAREST = 1e-9, 1e-3
"""Shares of the time held, and of the time since, that the first and the last step take."""
LONGEST = 1e15
"""Time held over time since that stands for ever."""


def modulus_share(exponent: float, hours: Array) -> Array:
    """Creep modulus after a time over that after one hour: t^−n. Raises DesignFault unless 0 ≤ n < 1.

    The stress at held strain falls alike: E(t)/E(s) = (t/s)^−n, for the factor sin(nπ)/(nπ) is the same at all times.
    """
    _checked(exponent)
    return np.asarray(hours, float) ** -exponent


def strain_under_loads(exponent: float, begin_h: Array, load: Array, at_h: float) -> float:
    """Strain at a time, over that of a unit load after one hour, of loads that follow each other.

    ``load`` (L,) stands from its ``begin_h`` (L,) rising to the next; the last one up to ``at_h``. Raises DesignFault for an
    exponent outside 0 ≤ n < 1.
    """
    _checked(exponent)
    since = at_h - np.asarray(begin_h, float)
    return float(np.dot(load, _left(since, since - np.append(since[1:], 0.0), exponent)))


def set_after_hold(exponent: float, held_h: float, after_h: float) -> float:
    """Share of a deflection held for ``held_h`` (above 0) that is left ``after_h`` (above 0) after it was let go, 0 … 1.

    The stress that held it, falling as it relaxed, is superposed in steps. Raises DesignFault as above.
    """
    _checked(exponent)
    half = 0.5 * held_h
    # hours since it was bent, and hours until it is let go: each exact where it is small
    early = np.append(0.0, _graded(FIRST * held_h, half))
    late = np.append(_graded(min(NEAREST * after_h, 0.1 * half), half)[::-1], 0.0)
    area = early ** (1.0 - exponent) / (1.0 - exponent)
    mean = np.diff(area) / np.diff(early)
    middle = (held_h - 0.5 * (late[1:] + late[:-1])) ** -exponent
    since = after_h + np.concatenate((held_h - early[:-1], late[:-1]))
    stood = np.concatenate((np.diff(early), -np.diff(late)))
    stress = np.sinc(exponent) * np.concatenate((mean, middle))
    return min(1.0, float(np.dot(stress, _left(since, stood, exponent))))


def hold_for_set(exponent: float, set_share: float) -> float:
    """Time held over the time since it was let go, at which ``set_share`` (0 … 1) of the deflection is left; ``math.inf``
    where it never is so much. Raises DesignFault as above."""
    low, high = math.log(1.0 / LONGEST), math.log(LONGEST)
    if set_after_hold(exponent, LONGEST, 1.0) < set_share:
        return math.inf
    for _ in range(60):
        middle = 0.5 * (low + high)
        if set_after_hold(exponent, math.exp(middle), 1.0) < set_share:
            low = middle
        else:
            high = middle
    return math.exp(high)


def _checked(exponent: float) -> None:
    if not 0.0 <= exponent < 1.0:
        allowed = "at least 0, below 1"
        raise DesignFault([Fault("this exponent is none of creep", "creep.exponent", 0, f"{exponent:g}", allowed)])


def _left(since_h: Array, stood_h: Array, exponent: float) -> Array:
    """What unit loads leave that began so long ago and stood so long, t^n − (t − s)^n, exact also where they stood shortly;
    0 before they begin. A load that still stands leaves t^n, also for n = 0."""
    begun = np.where(since_h > 0.0, since_h, 1.0)
    off = stood_h < begun
    share = np.where(off, -np.expm1(exponent * np.log1p(-np.where(off, stood_h, 0.0) / begun)), 1.0)
    return np.where(since_h > 0.0, begun**exponent * share, 0.0)


def _graded(first: float, last: float) -> Array:
    return np.geomspace(first, last, 2 + math.ceil(CELLS_A_DECADE * math.log10(last / first)))
