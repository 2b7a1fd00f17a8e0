"""S–N curves: fully reversed stress amplitude against cycles to failure, with their spread and how far they were tested."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lobewright.errors import DesignFault, Fault

Array = NDArray[np.float64]


@dataclass(frozen=True)
class SnCurve:
    """Straight lines in the logarithms of cycles and amplitude.

    ``cycles`` (P,) rising and ``amplitude_mpa`` (P,) falling or level, at ratio −1, half of the pieces broken; P ≥ 2.
    ``beyond_slope``: exponent k of N ~ S^−k beyond the last point; ``math.inf`` for an endurance limit. ``spread`` ≥ 1: the 90 %
    band of the amplitude at given cycles is amplitude / spread … amplitude · spread. ``tested_to_cycles``: most cycles that any
    evidence behind it reached. Raises DesignFault unless it is a curve.
    """

    cycles: Array
    amplitude_mpa: Array
    beyond_slope: float
    spread: float
    tested_to_cycles: float

    def __post_init__(self) -> None:
        n, s = (np.asarray(one, dtype=float) for one in (self.cycles, self.amplitude_mpa))
        good = (
            n.ndim == 1 and n.shape == s.shape and len(n) >= 2 and bool(np.isfinite(n).all() and np.isfinite(s).all())
        )
        good = good and n[0] > 0.0 and s[-1] > 0.0 and bool((np.diff(n) > 0.0).all() and (np.diff(s) <= 0.0).all())
        good = good and self.beyond_slope > 0.0 and 1.0 <= self.spread < math.inf and self.tested_to_cycles > 0.0
        if not good:
            allowed = "rising cycles, falling amplitudes above 0, spread of at least 1"
            raise DesignFault([Fault("these points are no S–N curve", "sn_curve", 0, f"{len(n)} points", allowed)])
        for name, values in (("cycles", n), ("amplitude_mpa", s)):
            values = values.copy()
            values.setflags(write=False)
            object.__setattr__(self, name, values)
