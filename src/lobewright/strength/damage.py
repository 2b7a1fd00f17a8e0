"""Harm of many cycles of many sizes, added up linearly (M. A. Miner, 1945; R. G. Budynas, J. K. Nisbett, 2011, eq. 6-58).

The order of the cycles does not count, nor do cycles below an endurance limit. Tests find sums at failure between about 0.3
and 3; 1 is used.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


def damage_shares(cycles: ArrayLike, life_cycles: ArrayLike) -> Array:
    """Cycles run over cycles borne, one by one: 0 for endless lives, ``math.inf`` where the first pull breaks."""
    run, borne = np.broadcast_arrays(np.asarray(cycles, dtype=float), np.asarray(life_cycles, dtype=float))
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(np.where(run > 0.0, run / borne, 0.0), dtype=float)


def duties_borne(damage_share: float) -> float:
    """How often the sum of shares fits into 1; ``math.inf`` without harm."""
    return math.inf if damage_share == 0.0 else 1.0 / damage_share
