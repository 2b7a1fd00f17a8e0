"""Evidence for the tension that belts are allowed, by width."""

from __future__ import annotations

import math

from lobewright.published.case import Case, Room
from lobewright.published.model import Model
from lobewright.sources import Flag
from lobewright.units import INCH_MM, POUND_FORCE_N

HORSEPOWER = 33_000.0
"""ft·lbf/min"""


def _of_torque_n(pound_inches_per_inch: float) -> float:
    """Tension from a torque rating over the pitch diameter: T = 2 Q/d, at low speed."""
    return 2.0 * pound_inches_per_inch * POUND_FORCE_N


def _of_power_n(horsepower: float) -> float:
    """Tension from a power rating over d·n/1000, d in inches and n in rpm, at low speed: T = P/v, v = π d n/12 ft/min."""
    return horsepower * HORSEPOWER / (1000.0 * math.pi / 12.0) * POUND_FORCE_N


def _tension(designation: str, width_in: float, expected_n: float, allowed_n: float, reason: str, what: str) -> Case:
    return Case(
        f"belt.tension_{designation.lower()}_{round(1000 * width_in)}",
        Room.STRENGTH,
        what,
        "N",
        "rma_ip_24_ratings",
        Flag.READ_SECOND,
        expected_n,
        allowed_n,
        reason,
        lambda model: _asked(model, designation, width_in),
    )


def _asked(model: Model, designation: str, width_in: float) -> float:
    return float(model.allowed_tension_n(designation, width_in * INCH_MM))


ROUNDED = "the catalogue's figure is this one, rounded to 0.01 N/mm"
LAW = "law of the width w^1.14; the standard writes 1/8 in as 0.12 and 3/16 in as 0.19, up to 5 % of tension"
CASES = (
    _tension("MXL", 0.25, _of_torque_n(2.63), 0.1, ROUNDED, "belt of pitch 2.032 mm, 6.35 mm wide: allowed tension"),
    _tension("XL", 0.375, _of_power_n(0.0916), 0.1, ROUNDED, "belt of pitch 5.08 mm, 9.5 mm wide: allowed tension"),
    _tension("MXL", 0.1875, _of_torque_n(1.88), 0.8, LAW, "belt of pitch 2.032 mm, 4.8 mm wide: allowed tension"),
    _tension("MXL", 0.125, _of_torque_n(1.13), 0.7, LAW, "belt of pitch 2.032 mm, 3.2 mm wide: allowed tension"),
)
