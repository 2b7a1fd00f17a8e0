"""What happens to a printed ring that stands still while it is bent: its stress relaxes and it takes a set."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Parked:
    """A ring held bent. ``hours`` (H,) rising; (H, 3) low, middle, high of the 90 % band: ``stress_left`` over the stress at one
    minute, ``set_share``: what of the deflection stays for now when it is let go. ``asked_hours``: how long the design says it
    stands. ``advice``: what to do, in one sentence. ``remark``: where the figures are weak, or beyond their evidence."""

    hours: Array
    stress_left: Array
    set_share: Array
    asked_hours: float
    advice: str
    remark: str
