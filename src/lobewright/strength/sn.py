"""S–N curves: fully reversed stress amplitude against cycles to failure, with their spread and how far they were tested."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

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

    def life_cycles(self, amplitude_mpa: Array) -> Array:
        """Most cycles at which the curve still lies at or above an amplitude (any shape, ≥ 0).

        ``math.inf`` at and below an endurance limit. Left of the first point its line goes on up to one cycle; above that
        the piece breaks at the first pull, 0.
        """
        cycles, amplitude = self._logarithms()
        with np.errstate(divide="ignore"):
            wanted = np.log(np.asarray(amplitude_mpa, dtype=float))
        above = np.searchsorted(-amplitude, -wanted, side="right")  # points of the curve at or above the amplitude
        left = np.clip(above - 1, 0, len(cycles) - 2)
        fall = amplitude[left] - amplitude[left + 1]
        inside = np.where(fall > 0.0, (amplitude[left] - wanted) / np.where(fall > 0.0, fall, 1.0), 1.0)
        life = cycles[left] + np.clip(inside, 0.0, 1.0) * (cycles[left + 1] - cycles[left])
        if math.isinf(self.beyond_slope):
            beyond = np.full(np.shape(wanted), math.inf)
        else:
            beyond = cycles[-1] + self.beyond_slope * (amplitude[-1] - wanted)
        with np.errstate(over="ignore"):
            found = np.exp(np.where(above == len(cycles), beyond, life))
        return np.asarray(np.where(above == 0, 0.0, found), dtype=float)

    def amplitude_at(self, cycles: Array) -> Array:
        """Amplitude, MPa, that is borne for a number of cycles (any shape; below one cycle as at one)."""
        known, amplitude = self._logarithms()
        wanted = np.log(np.maximum(np.asarray(cycles, dtype=float), 1.0))
        beyond = np.maximum(wanted - known[-1], 0.0)
        fall = np.zeros_like(beyond) if math.isinf(self.beyond_slope) else beyond / self.beyond_slope
        return np.asarray(np.exp(np.interp(wanted, known, amplitude) - fall), dtype=float)

    def scaled(self, factor: float) -> SnCurve:
        """The same curve with every amplitude times a positive factor."""
        return replace(self, amplitude_mpa=factor * self.amplitude_mpa)

    def _logarithms(self) -> tuple[Array, Array]:
        """Logarithms of cycles and amplitude, with the first line drawn on to one cycle."""
        cycles, amplitude = np.log(self.cycles), np.log(self.amplitude_mpa)
        if cycles[0] <= 0.0:
            return cycles, amplitude
        slope = (amplitude[1] - amplitude[0]) / (cycles[1] - cycles[0])
        start = amplitude[0] - slope * cycles[0]
        return np.concatenate(([0.0], cycles)), np.concatenate(([start], amplitude))
