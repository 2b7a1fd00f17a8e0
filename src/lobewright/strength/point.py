"""What one place of the flexible ring goes through in a duty, and how long it bears it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lobewright.design.model import Criterion
from lobewright.strength.course import StressCourse
from lobewright.strength.items import Span
from lobewright.strength.material import StrengthData
from lobewright.strength.sn import SnCurve

Array = NDArray[np.float64]


@dataclass(frozen=True)
class PointLife:
    """One critical place over a duty; arrays by step of the duty (P,), a recorded motion being one step more.

    ``cycles`` that the duty asks for; ``alternating_mpa`` and ``mean_mpa`` (of the largest cycle of a recorded motion), notch as
    fatigue feels it (``fatigue_notch_factor``); ``equivalent_mpa``: fully reversed amplitude of the same harm by the criterion;
    ``damage``: Miner's share at the middle of everything. ``curve``: S–N curve of the place itself (surface, size, direction,
    temperature; not the notch, which is in the stress). ``stress_spread`` ≥ 1: 90 % band of the stress, a factor either way.
    ``duties``: how often the whole duty is borne. ``safety``: against the curve's amplitude at its longest tested life, by every
    criterion, at the most harmful step. ``first_cycle``: against yielding (Langer), at the duty's peak; None where no yield
    stress is known. ``beyond_evidence``: in words, where cycles lie beyond every test; else empty.
    """

    course: StressCourse
    data: StrengthData
    fatigue_notch_factor: float
    steps: tuple[str, ...]
    cycles: Array
    alternating_mpa: Array
    mean_mpa: Array
    equivalent_mpa: Array
    damage: Array
    curve: SnCurve
    stress_spread: float
    criterion: Criterion
    duties: Span
    safety: dict[Criterion, Span]
    first_cycle: Span | None
    beyond_evidence: str

    @property
    def worst(self) -> int:
        """The most harmful step; without harm, the one with the largest equivalent amplitude."""
        return int(self.damage.argmax()) if self.damage.any() else int(self.equivalent_mpa.argmax())


@dataclass(frozen=True)
class LifeMap:
    """Life of the parts ``names`` (W,) if the drive ran on and on at one torque and speed of the member that is read.

    ``torque_nmm`` (T,), ``speed_rpm`` (S,), ``hours`` (W, S, T, 3): low, middle, high of the 90 % band, inf where endless.
    """

    names: tuple[str, ...]
    torque_nmm: Array
    speed_rpm: Array
    hours: Array
