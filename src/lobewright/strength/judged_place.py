"""What judges the cycles of one place of the ring: its curve, criterion and static strengths, and the band they give."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lobewright.design.model import Criterion, Surface
from lobewright.errors import DesignFault, Fault
from lobewright.strength.counting import Cycles
from lobewright.strength.course import StressCourse
from lobewright.strength.criteria import NEEDS, equivalent_reversed_mpa, fatigue_safety
from lobewright.strength.damage import damage_shares, duties_borne
from lobewright.strength.items import Span
from lobewright.strength.marin import worked_curve
from lobewright.strength.material import StrengthData
from lobewright.strength.notch import fatigue_notch_factor
from lobewright.strength.sn import SnCurve
from lobewright.torque.interval import Interval

Array = NDArray[np.float64]


@dataclass(frozen=True)
class JudgedPlace:
    """``curve`` of the place (surface and size in it), ``criterion``, static strengths in MPa (None where not known),
    ``felt_factor``: share of the stress peak that fatigue feels, K_f over K_t; ``stress_spread``: 90 % band of the stress, a
    factor either way."""

    curve: SnCurve
    criterion: Criterion
    ultimate_mpa: float | None
    yield_mpa: float | None
    felt_factor: float
    stress_spread: float

    @property
    def spread_factor(self) -> float:
        """The 90 % band of stress over strength, a factor either way."""
        return math.exp(math.hypot(math.log(self.stress_spread), math.log(self.curve.spread)))

    def equivalent_mpa(self, cycles: Cycles, stress_factor: float = 1.0) -> Array:
        """Fully reversed amplitudes of the same harm; ``stress_factor`` on all stresses."""
        size = stress_factor * self.felt_factor
        return equivalent_reversed_mpa(
            size * cycles.amplitude_mpa, size * cycles.mean_mpa, self.ultimate_mpa, self.yield_mpa, self.criterion
        )

    def damage(self, cycles: Cycles, stress_factor: float = 1.0) -> float:
        """Miner's sum; ``stress_factor`` on all stresses. An amplitude at the tensile strength breaks at the first pull, however
        far a curve's first line goes on to the left."""
        equivalent = self.equivalent_mpa(cycles, stress_factor)
        life = self.curve.life_cycles(equivalent)
        if self.ultimate_mpa is not None:
            life = np.where(equivalent < self.ultimate_mpa, life, 0.0)
        return float(damage_shares(cycles.count, life).sum())

    def worst_cycle_mpa(self, cycles: Cycles) -> tuple[float, float, float]:
        """Alternating, mean and equivalent stress of the most harmful cycle, as fatigue feels them; 0 without cycles."""
        if not len(cycles.count):
            return 0.0, 0.0, 0.0
        equivalent = self.equivalent_mpa(cycles)
        one = int(equivalent.argmax())
        felt = self.felt_factor
        return felt * float(cycles.amplitude_mpa[one]), felt * float(cycles.mean_mpa[one]), float(equivalent[one])

    def times_borne(self, counted: Sequence[Cycles]) -> Span:
        """How often all of the cycles are borne: stresses times the factor of the band, as they are, over it."""
        factor = self.spread_factor
        ends = [math.fsum(self.damage(cycles, one) for cycles in counted) for one in (factor, 1.0, 1.0 / factor)]
        return Span(*(duties_borne(one) for one in ends))

    def safety(self, alternating_mpa: float, mean_mpa: float) -> dict[Criterion, Span]:
        """Safety against the amplitude at the longest tested life, by every criterion whose static strength is known."""
        endurance = self.curve.amplitude_at(np.array(self.curve.tested_to_cycles))
        found: dict[Criterion, Span] = {}
        for one in Criterion:
            if (self.ultimate_mpa if NEEDS[one] == "ultimate" else self.yield_mpa) is not None:
                n = float(fatigue_safety(alternating_mpa, mean_mpa, endurance, self.ultimate_mpa, self.yield_mpa, one))
                found[one] = Span(n / self.spread_factor, n, n * self.spread_factor)
        return found


def why_no_life(data: StrengthData, criterion: Criterion, surface: Surface | None) -> str:
    """Which figure a life of this material lacks, in one sentence; empty where none."""
    needs = ["curve", NEEDS[criterion], *(["ultimate"] if data.metal and surface is not None else [])]
    known = {"curve": data.curve, "ultimate": data.ultimate_mpa, "yield": data.yield_mpa}
    words = {"curve": "no S–N curve", "ultimate": "no ultimate stress", "yield": "no yield stress"}
    for figure in needs:
        if known[figure] is None:
            return f"{words[figure]} of {data.words}: {data.why_not(figure)}"
    return ""


def judged_place(
    course: StressCourse, data: StrengthData, criterion: Criterion, surface: Surface | None, wall_mm: float
) -> JudgedPlace:
    """What judges a place of this material. Raises DesignFault where :func:`why_no_life` has a reason."""
    curve = data.curve
    why = why_no_life(data, criterion, surface)
    if curve is None or why:
        raise DesignFault([Fault(why, course.name)])
    ultimate, yielding = _middle(data.ultimate_mpa), _middle(data.yield_mpa)
    if data.metal and surface is not None and ultimate is not None:
        curve = worked_curve(curve, surface, ultimate, wall_mm)
    felt = fatigue_notch_factor(course.notch_factor, course.notch_radius_mm, ultimate, data.metal)
    stress_spread = math.exp(math.hypot(math.log(course.model_spread), log_half_width(data.modulus_mpa)))
    return JudgedPlace(curve, criterion, ultimate, yielding, felt / course.notch_factor, stress_spread)


def log_half_width(interval: Interval) -> float:
    """Half the width of an interval's logarithm."""
    return 0.5 * math.log(interval.high / interval.low)


def _middle(interval: Interval | None) -> float | None:
    return None if interval is None else interval.middle
