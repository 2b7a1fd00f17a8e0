"""Evidence for what materials bear: published fatigue tests met by the catalogue's curves, test pieces fitted as published.

Where a row's number went into a curve it is met through the ratio of its test; the other rows are tests that no curve knows.
"""

from __future__ import annotations

import math

import numpy as np

from lobewright.design.workshop import Coupon, Workshop
from lobewright.published.case import CaseMaker, Room
from lobewright.published.designs import belt_drive
from lobewright.published.fatigue_cases import KSI_MPA
from lobewright.published.model import Model
from lobewright.sources import Flag
from lobewright.strength.material import Direction
from lobewright.strength.sn import SnCurve
from lobewright.units import ZERO_CELSIUS_K

ROOM_K = 23.0 + ZERO_CELSIUS_K
STEEL = "steel_40CrNiMoA"
AXIAL = 0.85
"""Fatigue strength in push and pull over that in rotating bending (Budynas and Nisbett, eq. 6-26)."""
PIECES_MPA = (948.0, 834.0, 703.0, 631.0, 579.0, 524.0)
PIECES_CYCLES = (222.0, 992.0, 6004.0, 14130.0, 43860.0, 132150.0)


def _curve(model: Model, material: str, *coupons: Coupon) -> tuple[SnCurve, float]:
    """The S–N curve along the layers at 23 °C and the tensile strength."""
    design = belt_drive("T5", 60).model_copy(update={"owned": Workshop(schema_version=1, coupon=coupons)})
    data = model.strength_data(design, material, Direction.IN_LAYERS, ROOM_K)
    return data.curve, data.ultimate_mpa.middle


def _amplitude(model: Model, material: str, cycles: float, *coupons: Coupon) -> float:
    curve, _ = _curve(model, material, *coupons)
    return math.exp(float(np.interp(math.log(cycles), np.log(curve.cycles), np.log(curve.amplitude_mpa))))


def _strong(material: str, strength_mpa: float) -> Coupon:
    return Coupon(material=material, temperature_C=23.0, strength_MPa=strength_mpa)


def _pieces() -> Coupon:
    return Coupon(material=STEEL, temperature_C=23.0, fatigue_amplitude_MPa=PIECES_MPA, fatigue_cycles=PIECES_CYCLES)


def _fitted_slope(model: Model) -> float:
    curve, _ = _curve(model, STEEL, _pieces())
    return float(np.diff(np.log(curve.amplitude_mpa))[0] / np.diff(np.log(curve.cycles))[0])


def _limit_at_zero(model: Model) -> float:
    """Amplitude from zero to tension over the tensile strength, of a strip whose reversed one is 0.45 of it."""
    low, high = 0.0, 0.49
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if model.reversed_amplitude(middle, 0.0, 1.0) < 0.45 else (low, middle)
    return low


_case = CaseMaker("material", Room.STRENGTH)


READ_BOOK = ("dowling_2012", Flag.READ)
PLA = ("ezeh_susmel_2019", Flag.REMEMBERED)
CASES = (
    _case(
        "pieces_slope",
        "six steel pieces broken at ratio −1: exponent B of amplitude = A·N^B",
        "",
        READ_BOOK,
        (-0.0945, 5e-5),
        "last printed digit",
        _fitted_slope,
    ),
    _case(
        "pieces_amplitude",
        "the same pieces: amplitude of the line at 10 000 cycles, A = 1587 MPa, B = −0.0945",
        "MPa",
        READ_BOOK,
        (1587.0 * 1e4**-0.0945, 0.5),
        "last printed digits of A and B",
        lambda model: _amplitude(model, STEEL, 1e4, _pieces()),
    ),
    _case(
        "steel_1e4",
        "steel of 1172 MPa, push and pull at ratio −1, 10 000 cycles: 1643 N^−0.0977, against 0.85 of the curve estimated from "
        "its strength",
        "MPa",
        READ_BOOK,
        (1643.0 * 1e4**-0.0977, 67.0),
        "10 %: steels of one strength differ by 8 % of standard deviation",
        lambda model: AXIAL * _amplitude(model, STEEL, 1e4, _strong(STEEL, 1172.0)),
    ),
    _case(
        "steel_1e6",
        "steel bar of 125 ksi, push and pull at ratio −1, a million cycles: log N = 14.96 − 6.46 log(Seq − 60), "
        "Seq = S·2^0.70 in ksi, against 0.85 of the estimated curve",
        "MPa",
        ("mil_hdbk_5", Flag.REMEMBERED),
        ((10.0 ** ((14.96 - 6.0) / 6.46) + 60.0) / 2.0**0.70 * KSI_MPA, 36.0),
        "10 %: steels of one strength differ by 8 % of standard deviation",
        lambda model: AXIAL * _amplitude(model, STEEL, 1e6, _strong(STEEL, 125.0 * KSI_MPA)),
    ),
    _case(
        "pa12_pulled",
        "laser-sintered polyamide 12 along the layers, pulled at ratio 0.1, 29.3 MPa at most at a million cycles: amplitude at "
        "ratio −1, brought there by hand (modified Goodman, 47.4 MPa)",
        "MPa",
        ("dandrea_2026", Flag.READ),
        (0.45 * 29.3 / (1.0 - 0.55 * 29.3 / 47.4), 0.06),
        "last printed digit; the strength is the catalogue's own",
        lambda model: _amplitude(model, "pa12_powder_bed", 1e6),
    ),
    _case(
        "pa12_bent",
        "laser-sintered polyamide 12 in rotating bending: amplitude below which lives are above a million cycles",
        "MPa",
        ("munguia_dalgarno_2014", Flag.READ),
        (20.0, 2.0),
        "10 %: a round number from another laboratory, powder and machine",
        lambda model: _amplitude(model, "pa12_powder_bed", 1e6),
    ),
    _case(
        "pla_million",
        "printed polylactide of 50 MPa: amplitude at a million cycles by 0.10 of the strength at two million and slope 5.5",
        "MPa",
        PLA,
        (5.0 * 2.0 ** (1.0 / 5.5), 0.02),
        "four digits of the first point",
        lambda model: _amplitude(model, "pla_printed", 1e6, _strong("pla_printed", 50.0)),
    ),
    _case(
        "strip_from_zero",
        "stainless strip: fatigue limit from zero to tension over the tensile strength, from 0.45 of it at ratio −1",
        "",
        ("johansson_nordberg", Flag.REMEMBERED),
        (0.35, 0.045),
        "0.04 is the stated uncertainty of each of both",
        _limit_at_zero,
    ),
)
