"""Cycles of a stress history by rainflow counting (ASTM E1049-85, clause 5.4.4), done by the library ``rainflow``."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import rainflow
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Cycles:
    """Cycles (C,): ``amplitude_mpa`` half of the range, ``mean_mpa``, and how often each comes (``count``, halves too)."""

    amplitude_mpa: Array
    mean_mpa: Array
    count: Array

    def times(self, repeats: float) -> Cycles:
        """The same cycles, each that many times as often."""
        return Cycles(self.amplitude_mpa, self.mean_mpa, repeats * self.count)

    def joined(self, others: Cycles) -> Cycles:
        """These cycles and others."""
        pairs = zip(
            (self.amplitude_mpa, self.mean_mpa, self.count),
            (others.amplitude_mpa, others.mean_mpa, others.count),
            strict=True,
        )
        return Cycles(*(np.concatenate(pair) for pair in pairs))


def turning_points(stress_mpa: Array) -> Array:
    """First, last and all points of a history (T,) at which it turns."""
    values = np.asarray(stress_mpa, dtype=float)
    values = values[np.concatenate(([True], np.diff(values) != 0.0))]
    if len(values) < 3:
        return values
    rising = np.diff(values) > 0.0
    return values[np.concatenate(([True], rising[1:] != rising[:-1], [True]))]


def count_cycles(stress_mpa: Array) -> Cycles:
    """Cycles of a history (T,) that is run once; what does not close counts as half cycles."""
    found = np.array(list(rainflow.extract_cycles(turning_points(stress_mpa).tolist()))).reshape(-1, 5)
    return Cycles(0.5 * found[:, 0], found[:, 1], found[:, 2])


def count_repeated(stress_mpa: Array) -> Cycles:
    """Cycles of one run of a history (T,) that is run again and again: begun at its largest stress, so that all close."""
    start = int(np.argmax(stress_mpa))
    return count_cycles(np.concatenate((stress_mpa[start:], stress_mpa[: start + 1])))
