"""Flanges of stepper motors by frame size: what a motor plate has to fit.

Bolt square, pilot and shaft by NEMA ICS 16-2001, as a public table re-tells it (the evidence holds them against the bolt circles
and pilots in inches there); square, lengths and bolts as usually sold, common practice.

Size 23 takes M4: its holes are meant for an inch screw of 4.8 mm. The table gives them 0.195 in (4.95 mm), too narrow for an M5,
which goes only through the 5.1 mm that are often drilled. The pilot centres the motor, so that the play of an M4 does no harm,
and its head (7 mm) and nut bear beside the hole.
"""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True)
class MotorFlange:
    """Sizes in mm. ``through``: the flange has clearance holes, else threads of ``bolt`` ``thread_deep_mm`` deep."""

    size: int
    square_mm: float
    bolt_square_mm: float
    pilot_mm: float
    pilot_high_mm: float
    shaft_mm: float
    shaft_long_mm: float
    body_long_mm: float
    bolt: str
    through: bool
    flange_thick_mm: float
    thread_deep_mm: float

    @property
    def bolt_circle_mm(self) -> float:
        """Diameter of the circle through the four bolts."""
        return self.bolt_square_mm * math.sqrt(2)


_FLANGES = {
    17: MotorFlange(17, 42.3, 31.0, 22.0, 2.0, 5.0, 24.0, 40.0, "M3", False, 0.0, 4.5),
    23: MotorFlange(23, 56.4, 47.14, 38.1, 1.6, 6.35, 21.0, 56.0, "M4", True, 5.0, 0.0),
}


def motor_flange(size: int) -> MotorFlange:
    """The flange of frame size 17 or 23. Raises KeyError for another size."""
    return _FLANGES[size]
