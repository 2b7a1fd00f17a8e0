"""Stiffnesses from the owner's readings: a line through load and shift, with the uncertainty that GUM asks for; and figures of
the owner's test pieces.

The slope of shift over load comes by least squares with a free offset, so plate, self weight and the gauge's zero drop out.
Its standard uncertainty joins type A (scatter about the line, count − 2 degrees of freedom) and type B (each reading's
rounding to the instruments' steps, even over a step: step/√12). Two readings have no scatter: only type B is left.
Coverage factor by Student's t with the effective degrees of freedom of Welch and Satterthwaite.
Source: JCGM 100:2008, clauses 4.2, 4.3, annex G (remembered).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.design.workshop import ArmPush, Coupon, LoadTest, SkewTest, SqueezeTest, StretchTest, ToothPush
from lobewright.errors import DesignFault, Fault
from lobewright.sources import Flag
from lobewright.torque.interval import NORMAL_95, Interval

Array = NDArray[np.float64]

NEWTON_PER_GRAM = 9.80665e-3
"""Weight of one gram at standard gravity (by definition; the true one differs by up to 0.3 % over the earth)."""
SQUEEZE = math.pi / 4.0 - 2.0 / math.pi
"""Loss of the loaded diameter of a thin ring under two opposite forces, over P R³/EI: 0.14878, first order."""
SQUEEZE_BEND = (-0.7624, 0.7199, -0.3634)
"""Force over its first-order value is 1 + Σ c_k d^k, d the loss of diameter over R: a cubic through nine exact large
deflections of an inextensible ring, d up to 0.5, good to 1e-3 of the force (see the test)."""
WIDEST = 4.0
"""Readings that leave more than this factor either way are refused: they say less than the range without them."""


@dataclass(frozen=True)
class Slope:
    """Shift over load [mm/N] of the line through the readings. ``relative_95``: half width of the logarithm's 90 % interval;
    ``scatter_mm``: standard deviation about the line, 0 for two readings; ``freedom``: effective degrees of freedom."""

    mm_per_n: float
    relative_95: float
    scatter_mm: float
    freedom: float


def student_95(freedom: float) -> float:
    """95 % point of Student's t; degrees of freedom are rounded down, at least 1. Good to 0.3 %.

    Exact for 1 and 2, otherwise four terms of the series in 1/ν. Source: Abramowitz and Stegun, 26.7.5 (remembered).

    >>> [round(student_95(n), 2) for n in (1, 2, 3, 10)]
    [6.31, 2.92, 2.35, 1.81]
    """
    if freedom > 1e6:
        return NORMAL_95
    n = max(1, math.floor(freedom + 1e-9))
    if n == 1:
        return math.tan(0.45 * math.pi)
    if n == 2:
        return 0.9 / math.sqrt(2.0 * 0.95 * 0.05)
    z = NORMAL_95
    terms = (
        z,
        (z**3 + z) / 4.0,
        (5.0 * z**5 + 16.0 * z**3 + 3.0 * z) / 96.0,
        (3.0 * z**7 + 19.0 * z**5 + 17.0 * z**3 - 15.0 * z) / 384.0,
        (79.0 * z**9 + 776.0 * z**7 + 1482.0 * z**5 - 1920.0 * z**3 - 945.0 * z) / 92160.0,
    )
    return sum(term / n**k for k, term in enumerate(terms))


def slope_of(test: LoadTest, shift_mm: Sequence[float] | Array) -> Slope:
    """The line through a test's loads and these shifts. Raises DesignFault where the slope's sign is in doubt."""
    force = NEWTON_PER_GRAM * np.asarray(test.load_g)
    shift = np.asarray(shift_mm, float)
    away = force - force.mean()
    spread = float(away @ away)
    slope = float(away @ shift) / spread
    left = shift - shift.mean() - slope * away
    freedom = len(force) - 2
    scatter = math.sqrt(float(left @ left) / freedom) if freedom else 0.0
    step = NEWTON_PER_GRAM * test.load_resolution_g * slope
    type_a = scatter**2 / spread
    type_b = (test.shift_resolution_mm**2 + step**2) / 12.0 / spread
    both = type_a + type_b
    effective = freedom * (both / type_a) ** 2 if type_a > 0.0 else math.inf
    relative = student_95(effective) * math.sqrt(both) / slope if slope > 0.0 else math.inf
    if not relative <= math.log(WIDEST):
        found = f"{scatter:.3g} mm of scatter, {len(force)} readings"
        allowed = (
            f"readings that leave at most a factor of {WIDEST:g} either way: more of them, larger loads, a finer gauge"
        )
        raise DesignFault([Fault("these readings scatter too much for a stiffness", _name(test), 0, found, allowed)])
    return Slope(slope, relative, scatter, effective)


def _name(test: LoadTest) -> str:
    return {
        SqueezeTest: "squeeze_test",
        StretchTest: "stretch_test",
        SkewTest: "skew_test",
        ToothPush: "tooth_push",
        ArmPush: "arm_push",
    }[type(test)]


def _measured(name: str, factor: float, slope: Slope) -> Interval:
    """``factor`` over the slope, as a measured interval."""
    middle, wide = factor / slope.mm_per_n, math.exp(slope.relative_95)
    return Interval(name, middle / wide, middle, middle * wide, True, "derived_here", Flag.DERIVED)


def squeezed_force_factor(loss_share: Array | float) -> Array | float:
    """Force of a ring squeezed between two flat plates over its first-order value; loss of diameter over R, up to 0.3.

    The plates touch at one point a side as long as the ring is bent outward there, up to about 0.55.
    """
    c1, c2, c3 = SQUEEZE_BEND
    return 1.0 + loss_share * (c1 + loss_share * (c2 + loss_share * c3))


def bending_stiffness(test: SqueezeTest) -> Interval:
    """EI [N·mm²] of the whole width: 0.14878 R³ times force over loss of height, corrected for large squeezes.

    Thin, inextensible ring, stress-free when round. Raises DesignFault where the readings scatter too much.
    """
    radius = 0.5 * test.neutral_diameter_mm
    shift = np.asarray(test.shift_mm)
    first_order = shift * squeezed_force_factor(np.maximum(shift, 0.0) / radius)
    return _measured("bending_stiffness_nmm2", SQUEEZE * radius**3, slope_of(test, first_order))


def axial_stiffness(test: StretchTest) -> Interval:
    """EA [N] of the whole width: span times force over lengthening, shared by the strands. Raises DesignFault (scatter).

    One stiffness is an approximation: up to the break, a straight line explains 94 % and more of such curves.
    Source: Robotics vol. 7 no. 4, article 75 (2018), abstract (read).
    """
    return _measured("axial_stiffness_n", test.span_mm / test.strands, slope_of(test, test.shift_mm))


def web_shear(test: SkewTest) -> Interval:
    """Shear stiffness of the web [N/mm], modulus times thickness: force · free width/(length · shift). Raises DesignFault."""
    return _measured("web_shear_n_per_mm", test.free_width_mm / test.held_length_mm, slope_of(test, test.shift_mm))


def tooth_stiffness(test: ToothPush) -> Interval:
    """Force a mm of width over the tooth's shift [N/mm²], both at the height of the push. Raises DesignFault (scatter)."""
    return _measured("tooth_n_per_mm2", 1.0 / test.width_mm, slope_of(test, test.shift_mm))


def arm_stiffness(test: ArmPush) -> Interval:
    """Force over shift [N/mm] of one roller's or disc's arm. Raises DesignFault (scatter)."""
    return _measured("arm_n_per_mm", 1.0, slope_of(test, test.shift_mm))


def pooled(found: Sequence[Interval]) -> Interval | None:
    """Several measured intervals of one quantity as one, None for none.

    Mean of the logarithms weighted by inverse variance; where they disagree by more than they say, the spread grows by
    the root of the reduced χ² (usual practice).
    """
    if len(found) < 2:
        return found[0] if found else None
    place = np.log([one.middle for one in found])
    weight = np.array([one.log_spread**-2 for one in found])
    mean = float(weight @ place / weight.sum())
    chi = float(weight @ (place - mean) ** 2) / (len(found) - 1)
    wide = math.exp(NORMAL_95 * math.sqrt(max(1.0, chi) / weight.sum()))
    middle = math.exp(mean)
    first = found[0]
    return Interval(first.name, middle / wide, middle, middle * wide, True, first.source_key, first.flag)


def owned_figure(coupons: Sequence[Coupon], figure: str) -> Interval | None:
    """ "strength", "yield" or "modulus" [MPa] of these test pieces: middle ± 1.645 standard uncertainties, pooled over coupons.

    None where no coupon tells it. Raises DesignFault where the uncertainty is as large as the figure.
    """
    found = []
    for coupon in coupons:
        middle, wide = getattr(coupon, f"{figure}_MPa"), NORMAL_95 * getattr(coupon, f"{figure}_uncertainty_MPa")
        if middle is None:
            continue
        if wide >= middle:
            allowed = f"a standard uncertainty of less than {middle / NORMAL_95:.4g} MPa"
            raise DesignFault(
                [
                    Fault(
                        "this figure is too uncertain",
                        f"coupon.{figure}_MPa",
                        0,
                        f"{middle:g} ± {wide:.4g} MPa",
                        allowed,
                    )
                ]
            )
        name = f"{'ultimate' if figure == 'strength' else figure}_mpa"
        found.append(Interval(name, middle - wide, middle, middle + wide, True, "derived_here", Flag.DERIVED))
    if len(found) > 1 and min(one.log_spread for one in found) <= 0.0:
        # without an uncertainty nobody knows how much a figure weighs
        middle = math.exp(math.fsum(math.log(one.middle) for one in found) / len(found))
        low, high = min(one.low for one in found), max(one.high for one in found)
        return Interval(found[0].name, low, middle, high, True, "derived_here", Flag.DERIVED)
    return pooled(found)


def modulus_range(design: m.Design, material: str) -> tuple[float, float]:
    """Young's modulus [MPa] of a material, low and high: of the owner's test pieces pulled along their layers, else of the
    catalogue. Raises CatalogueFault for an unknown material, DesignFault as :func:`owned_figure`."""
    own = owned_modulus(design, material)
    return catalogue.material(material).modulus_mpa if own is None else (own.low, own.high)


def owned_modulus(design: m.Design, material: str) -> Interval | None:
    """Young's modulus [MPa] of the owner's test pieces of a material, pulled along their layers; None without any."""
    name = catalogue.material(material).name
    coupons = () if design.owned is None else design.owned.coupon
    return owned_figure([one for one in coupons if (one.material, one.direction) == (name, "in_layers")], "modulus")


def measured_bending(design: m.Design) -> Interval | None:
    """EI [N·mm²] over the whole width of a flexible ring that is no belt, from squeezes of this design's own ring."""
    if design.owned is None or isinstance(design.flexible_ring, m.Belt):
        return None
    width = design.flexible_ring.width_mm
    tests = [test for test in design.owned.squeeze_test if test.design == design.name]
    return pooled([bending_stiffness(t).scaled(width / t.width_mm, "bending_stiffness_nmm2") for t in tests])


def measured_arm(design: m.Design) -> Interval | None:
    """Stiffness of an arm [N/mm] from pushes on a generator of this kind with this bearing; None where nobody pushed."""
    generator = design.generator
    if design.owned is None or isinstance(generator, m.Cam):
        return None
    bearing = catalogue.bearing(generator.bearing).designation
    tests = [
        test
        for test in design.owned.arm_push
        if test.generator == generator.kind and catalogue.bearing(test.bearing).designation == bearing
    ]
    return pooled([arm_stiffness(test) for test in tests])
