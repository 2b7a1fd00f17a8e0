"""Stress of many directions as one number that fatigue can count: distance in the metric of von Mises.

Of all pairs of moments of a course the two whose stresses differ most, as a von Mises stress of the difference, give the
amplitude (half of it) and a direction. The projection of the stress on that direction is one number over time whose range is
exactly that amplitude's (no other pair can be further apart in the projection: Cauchy and Schwarz); for stresses that grow in
proportion it is the signed von Mises stress. What stands across the direction adds to the mean as the root of the squares.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

TO_METRIC = np.array([[1.0, -0.5, 0.0], [0.0, np.sqrt(0.75), 0.0], [0.0, 0.0, np.sqrt(3.0)]])
"""Plane stress (meridional, hoop, shear) to coordinates whose length is the von Mises stress."""


def von_mises_mpa(stress_mpa: Array) -> Array:
    """Von Mises stress (...) of plane stresses (..., 3): along, across, shear."""
    return np.asarray(np.linalg.norm(stress_mpa @ TO_METRIC.T, axis=-1), dtype=float)


@dataclass(frozen=True)
class Swing:
    """The direction of the largest change of a course: ``direction`` (3,), of length 1 in the metric, tension positive."""

    direction: Array

    def along_mpa(self, stress_mpa: Array) -> Array:
        """Stresses (..., 3) as one number each (...)."""
        return np.asarray(stress_mpa @ TO_METRIC.T @ self.direction, dtype=float)

    def across_mpa(self, stress_mpa: Array) -> float:
        """What the middle of one pass (L, 3) has across the direction, as a von Mises stress."""
        along = self.along_mpa(stress_mpa)
        middle = 0.5 * (stress_mpa[along.argmax()] + stress_mpa[along.argmin()]) @ TO_METRIC.T
        return float(np.linalg.norm(middle - (middle @ self.direction) * self.direction))


def largest_swing(stress_mpa: Array) -> Swing:
    """The swing of a set of stresses (L, 3), in any order. Without any change it is the direction of the stress itself."""
    places = stress_mpa @ TO_METRIC.T
    lengths = np.einsum("li,li->l", places, places)
    apart = lengths[:, None] + lengths[None, :] - 2.0 * places @ places.T
    first, second = np.unravel_index(int(apart.argmax()), apart.shape)
    change = places[first] - places[second]
    size = float(np.linalg.norm(change))
    if size <= 1e-12 * np.sqrt(lengths.max(initial=0.0)):
        change = places[0]
        size = float(np.linalg.norm(change))
        return Swing(change / size if size > 0.0 else np.array([1.0, 0.0, 0.0]))
    return Swing(_tension_positive(change / size, 0.5 * (places[first] + places[second])))


def _tension_positive(direction: Array, middle: Array) -> Array:
    """The sign that makes growing tension positive; in pure shear, which knows no tension, that of the mean."""
    tension = float(np.sum(np.linalg.solve(TO_METRIC, direction)[:2]))
    if abs(tension) > 1e-6:
        return direction if tension > 0.0 else -direction
    return direction if float(middle @ direction) >= 0.0 else -direction
