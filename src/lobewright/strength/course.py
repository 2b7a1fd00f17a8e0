"""The stress course of one place of the flexible ring: what its point goes through while the wave passes, over the torque."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lobewright.errors import DesignFault, Fault
from lobewright.strength.material import Direction

Array = NDArray[np.float64]


@dataclass(frozen=True)
class StressCourse:
    """Stress of one critical place against its label to the first lobe and the torque.

    A material point runs through all labels of a row once for each turn of the generator against the ring, so a row is both
    the stress round the ring at one moment and the course of one point. ``torque_nmm`` (K,) rising from 0; ``label_deg`` (L,)
    even steps over −180 … 180, the last one left out; ``stress_mpa`` (K, L, 3): meridional (along the axis), hoop, shear at the
    surface, peak of the notch included. ``notch_factor``: what of it is the notch (Kt, 1 for a smooth wall),
    ``notch_radius_mm`` the radius at its ground, ``math.inf`` for a smooth wall. ``from_edge_mm``: place along the axis from
    the open edge; ``surface``: "inside" or "outside". ``direction``: how its largest stress lies to the layers.
    ``model_spread`` ≥ 1: 90 % band of the stress from the model itself, as a factor either way, with ``model_words`` that say
    why.
    """

    name: str
    title: str
    surface: str
    from_edge_mm: float
    torque_nmm: Array
    label_deg: Array
    stress_mpa: Array
    notch_factor: float
    notch_radius_mm: float
    direction: Direction
    model_spread: float
    model_words: str

    def __post_init__(self) -> None:
        shape = (len(self.torque_nmm), len(self.label_deg), 3)
        good = self.stress_mpa.shape == shape and bool(np.isfinite(self.stress_mpa).all()) and shape[0] >= 1
        good = good and self.notch_factor >= 1.0 and self.notch_radius_mm > 0.0 and self.model_spread >= 1.0
        good = good and math.isfinite(self.notch_factor) and bool((np.diff(self.torque_nmm) > 0.0).all())
        if not good:
            raise DesignFault([Fault("this is no stress course", self.name, 0, str(self.stress_mpa.shape), str(shape))])

    def at(self, torque_nmm: float) -> Array:
        """Stress (L, 3) at a torque, straight between the solved ones and no further than the largest of them.

        A negative torque is the mirror image: labels run the other way, shear changes its sign.
        """
        size = float(np.clip(abs(torque_nmm), self.torque_nmm[0], self.torque_nmm[-1]))
        upper = int(np.searchsorted(self.torque_nmm, size))
        if upper == 0:
            found = self.stress_mpa[0]
        else:
            low, high = self.torque_nmm[upper - 1], self.torque_nmm[upper]
            share = (size - low) / (high - low)
            found = (1.0 - share) * self.stress_mpa[upper - 1] + share * self.stress_mpa[upper]
        if torque_nmm >= 0.0:
            return found
        # label −180 is its own mirror image and stands first
        return np.roll(found[::-1], 1, axis=0) * np.array([1.0, 1.0, -1.0])


@dataclass(frozen=True)
class CupProfile:
    """Stress along a cup from the boss to the open edge at one torque, the worst over all angles.

    Stations (S,): ``arc_mm`` along the meridian from the boss, ``from_edge_mm``, ``segment`` (diaphragm, corner, barrel, rim).
    ``equivalent_mpa``, ``alternating_mpa`` (S, 2) inside and outside of the wall: largest von Mises stress, and that of
    the half ranges. Teeth and fillets are not in it.
    """

    torque_nmm: float
    arc_mm: Array
    from_edge_mm: Array
    segment: tuple[str, ...]
    equivalent_mpa: Array
    alternating_mpa: Array
