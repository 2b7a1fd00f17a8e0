"""From the owner's test pieces to figures: strengths with their uncertainty, and the S–N line through broken pieces.

The line log N = a − k·log S comes by least squares of the logarithms of cycles on those of amplitudes, as usual for fatigue
(ASTM E739, remembered; the fit of Dowling, Table E9.1, is met, read). Its spread is that of a single further piece near the
middle of the pieces, by Student's t with count − 2 degrees of freedom, turned from cycles to amplitude by the slope.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from lobewright.design.model import Criterion
from lobewright.design.workshop import Coupon
from lobewright.errors import DesignFault, Fault
from lobewright.strength.criteria import equivalent_reversed_mpa
from lobewright.strength.sn import SnCurve
from lobewright.torque.measured import WIDEST, student_95


def reversed_amplitude(amplitude_mpa: float, fatigue_ratio: float, ultimate_mpa: float) -> float:
    """Amplitude [MPa] at ratio −1 of the same life, by the modified Goodman line; pressing means count as none.

    Raises DesignFault where the mean stress reaches the tensile strength.
    Source: Budynas and Nisbett, eq. 6-46 (read).
    """
    mean = amplitude_mpa * (1.0 + fatigue_ratio) / (1.0 - fatigue_ratio)
    found = float(equivalent_reversed_mpa(amplitude_mpa, mean, ultimate_mpa, None, Criterion.MODIFIED_GOODMAN))
    if math.isinf(found):
        allowed = f"less than the tensile strength, {ultimate_mpa:.4g} MPa"
        raise DesignFault(
            [Fault("the mean stress of a fatigue piece is too large", "coupon", 0, f"{mean:.4g} MPa", allowed)]
        )
    return found


def owned_curve(coupons: Sequence[Coupon], ultimate_mpa: float) -> SnCurve | None:
    """The S–N line [MPa at ratio −1] through all fatigue pieces of these coupons, None where there are none.

    It runs from the fewest to the most cycles of a piece; beyond them its own slope goes on. Raises DesignFault where the
    pieces show no falling line, or scatter by more than a factor of four either way.
    """
    stress, cycles = [], []
    for coupon in coupons:
        for amplitude, count in zip(coupon.fatigue_amplitude_MPa, coupon.fatigue_cycles, strict=True):
            stress.append(reversed_amplitude(amplitude, coupon.fatigue_ratio, ultimate_mpa))
            cycles.append(count)
    return fitted(stress, cycles) if stress else None


def fitted(amplitude_mpa: Sequence[float], cycles: Sequence[float]) -> SnCurve:
    """The S–N line through pieces that broke at ratio −1; at least three. Raises DesignFault as :func:`owned_curve`."""
    stress, life = np.log(np.asarray(amplitude_mpa, float)), np.log(np.asarray(cycles, float))
    count = len(stress)
    away = stress - stress.mean()
    apart = float(away @ away)
    slope = -float(away @ life) / apart if apart > 1e-12 else 0.0
    if not slope > 0.0:
        found = f"{count} pieces"
        allowed = "pieces at different amplitudes, of which those with smaller ones last longer"
        raise DesignFault(
            [Fault("these fatigue pieces show no falling line", "coupon.fatigue_amplitude_MPa", 0, found, allowed)]
        )
    left = life - life.mean() + slope * away
    scatter = math.sqrt(float(left @ left) / (count - 2))
    wide = student_95(count - 2) * scatter * math.sqrt(1.0 + 1.0 / count) / slope
    if not wide <= math.log(WIDEST):
        found, allowed = (
            f"a factor of {math.exp(min(wide, 99.0)):.3g} either way",
            f"at most {WIDEST:g}: more pieces, more apart",
        )
        raise DesignFault(
            [Fault("these fatigue pieces scatter too much", "coupon.fatigue_amplitude_MPa", 0, found, allowed)]
        )
    ends = np.array([life.min(), life.max()])
    line = np.exp(stress.mean() - (ends - life.mean()) / slope)
    return SnCurve(np.exp(ends), line, slope, math.exp(wide), float(math.exp(ends[1])))
