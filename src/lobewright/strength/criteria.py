"""Fatigue under a mean stress: safety along the load line, and the fully reversed amplitude that does the same harm.

Textbook forms for one stress, growing in proportion (R. G. Budynas, J. K. Nisbett, 9th ed., 2011, eqs. 6-45 to 6-49), with
x = σ_a/S_e and y = σ_m over the ultimate or the yield stress. A compressive mean counts as none: it would help, and how
much is not known for printed and thin parts.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lobewright.design.model import Criterion
from lobewright.errors import DesignFault, Fault

Array = NDArray[np.float64]

NEEDS = {
    Criterion.MODIFIED_GOODMAN: "ultimate",
    Criterion.GERBER: "ultimate",
    Criterion.ASME_ELLIPTIC: "yield",
    Criterion.SODERBERG: "yield",
}
"""Which static strength a criterion needs."""

REVERSED_EQUATIONS = {
    Criterion.MODIFIED_GOODMAN: "σ_ar = σ_a/(1 − σ_m/S_u)",
    Criterion.GERBER: "σ_ar = σ_a/(1 − (σ_m/S_u)²)",
    Criterion.ASME_ELLIPTIC: "σ_ar = σ_a/√(1 − (σ_m/S_y)²)",
    Criterion.SODERBERG: "σ_ar = σ_a/(1 − σ_m/S_y)",
}
"""The criteria as equations of the fully reversed amplitude of the same life."""


def fatigue_safety(
    alternating_mpa: ArrayLike,
    mean_mpa: ArrayLike,
    endurance_mpa: ArrayLike,
    ultimate_mpa: float | None,
    yield_mpa: float | None,
    criterion: Criterion,
) -> Array:
    """By what factor alternating and mean stress may grow together; arrays of any shapes that fit each other.

    ``endurance_mpa``: amplitude borne at the life in question without a mean. ``math.inf`` without any stress. Raises
    DesignFault when the static strength that the criterion needs is None.
    """
    x = np.asarray(alternating_mpa, dtype=float) / np.asarray(endurance_mpa, dtype=float)
    y = _mean_share(mean_mpa, ultimate_mpa, yield_mpa, criterion)
    if criterion is Criterion.ASME_ELLIPTIC:
        use = np.hypot(x, y)
    elif criterion is Criterion.GERBER:
        use = 0.5 * (x + np.hypot(x, 2.0 * y))
    else:
        use = x + y
    with np.errstate(divide="ignore"):
        return np.asarray(1.0 / use, dtype=float)


def equivalent_reversed_mpa(
    alternating_mpa: ArrayLike,
    mean_mpa: ArrayLike,
    ultimate_mpa: float | None,
    yield_mpa: float | None,
    criterion: Criterion,
) -> Array:
    """Fully reversed amplitude with the life of the given pair; ``math.inf`` where the mean alone reaches the static strength.

    Raises DesignFault when the static strength that the criterion needs is None.
    """
    alternating = np.asarray(alternating_mpa, dtype=float)
    y = _mean_share(mean_mpa, ultimate_mpa, yield_mpa, criterion)
    if criterion is Criterion.GERBER:
        left = 1.0 - y * y
    elif criterion is Criterion.ASME_ELLIPTIC:
        left = np.sqrt(np.maximum(1.0 - y * y, 0.0))
    else:
        left = 1.0 - y
    return np.asarray(np.where(y < 1.0, alternating / np.where(y < 1.0, left, 1.0), np.inf), dtype=float)


def first_cycle_safety(alternating_mpa: ArrayLike, mean_mpa: ArrayLike, yield_mpa: float) -> Array:
    """Yield stress over the largest stress of a cycle, σ_a + |σ_m| (Langer); ``math.inf`` without any stress."""
    largest = np.asarray(alternating_mpa, dtype=float) + np.abs(np.asarray(mean_mpa, dtype=float))
    with np.errstate(divide="ignore"):
        return np.asarray(yield_mpa / largest, dtype=float)


def _mean_share(
    mean_mpa: ArrayLike, ultimate_mpa: float | None, yield_mpa: float | None, criterion: Criterion
) -> Array:
    """Tensile mean over the static strength that the criterion measures it by."""
    strength = ultimate_mpa if NEEDS[criterion] == "ultimate" else yield_mpa
    if strength is None:
        raise DesignFault([Fault(f"{criterion.value} needs the {NEEDS[criterion]} stress", "strength.criterion")])
    return np.asarray(np.maximum(np.asarray(mean_mpa, dtype=float), 0.0) / strength, dtype=float)
