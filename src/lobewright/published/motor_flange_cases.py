"""Evidence for what is bolted to and turned by hand: flanges of stepper motors, and the scale of an adjustable generator.

Flanges: the plates are drilled by the bolt square and the pilot in mm as motors are sold; the standard states the bolt circle
and the pilot in inches, which is another figure for the same holes.

Scale: two rollers carry the deflection one to one, so the distance over them is 2(R + w) less both offsets to the ring's
inside. Pairs at ±β: by superposition of the handbook's ring under two opposite forces, whose outward displacement at ψ from
the force is proportional to g(ψ) = sin ψ + (π/2 − ψ) cos ψ − 4/π up to ψ = π/2, the roller moves by g(0) + g(2β) while the
lobe moves by 2 g(β).
"""

from __future__ import annotations

import math

from lobewright.published.case import Case, CaseMaker, Room
from lobewright.published.designs import belt_drive, two_roller_belt
from lobewright.published.model import Model
from lobewright.sources import Flag

NEMA = ("nema_ics_16_2001", Flag.READ_SECOND)
DERIVED = ("derived_here", Flag.DERIVED)
INCH_MM = 25.4
_make = CaseMaker("inputs", Room.PARTS)


def _flange(size: int, circle_in: float, pilot_in: float, square_digit_mm: float) -> tuple[Case, Case]:
    """Bolt circle and pilot of one frame size; the square is sold to ``square_digit_mm``, the inches to a thousandth."""
    inch = 0.0005 * INCH_MM
    return (
        _make(
            f"flange_{size}_bolt_circle",
            f"bolt circle of a stepper of frame size {size}",
            "mm",
            NEMA,
            (circle_in * INCH_MM, inch + square_digit_mm / 2 * math.sqrt(2)),
            "half of the last digit of the inches, and of the square in mm times √2",
            lambda model: float(model.motor_flange(size).bolt_circle_mm),
        ),
        _make(
            f"flange_{size}_pilot",
            f"pilot of a stepper of frame size {size}",
            "mm",
            NEMA,
            (pilot_in * INCH_MM, inch + 0.05),
            "half of the last digit of the inches and of the mm",
            lambda model: float(model.motor_flange(size).pilot_mm),
        ),
    )


def _over_rollers(model: Model, deflection_mm: float) -> float:
    """Over two opposite rollers 625 (16 mm) inside a C3M belt of 60 teeth, mm."""
    design = two_roller_belt("C3M", 60)
    geometry = model.ring_geometry(design)
    return 2.0 * float(model.setting_for(design, geometry, deflection_mm).distance_mm) + 16.0


BACK_MM = 2.41 - 1.15 - 0.381
"""From the cord of a C3M belt to its back: height less tooth less the cord's depth under the land."""
OVER_MM = 2 * (60 * 3.0 / (2 * math.pi) + 0.9) - 2 * BACK_MM


def _paired_slope(model: Model) -> float:
    """Way of the rollers over that of the lobe at ±25°, by a small difference about a small deflection."""
    design = belt_drive("C3M", 100)
    geometry = model.ring_geometry(design)
    near, far = (float(model.setting_for(design, geometry, w).distance_mm) for w in (0.01, 0.03))
    return (far - near) / 0.02


def _g(psi: float) -> float:
    return math.sin(psi) + (math.pi / 2 - psi) * math.cos(psi) - 4 / math.pi


BETA = math.radians(25.0)
PAIRED = (_g(0.0) + _g(2 * BETA)) / (2 * _g(BETA))

CASES = (
    *_flange(17, 1.725, 0.866, 0.1),
    *_flange(23, 2.625, 1.500, 0.01),
    _make(
        "scale_over_two_rollers",
        "over opposite rollers in a C3M belt of 60 teeth, 0.9 mm of deflection",
        "mm",
        DERIVED,
        (OVER_MM, 0.001),
        "exact: a roller that stands on the lobe moves with it",
        lambda model: _over_rollers(model, 0.9),
    ),
    _make(
        "scale_paired_slope",
        "way of paired rollers at ±25° over the way of the lobe, small deflection",
        "",
        DERIVED,
        (PAIRED, 0.002),
        "first order; what is left falls with the deflection, 0.0005 at 0.04 % of the radius",
        _paired_slope,
    ),
)
