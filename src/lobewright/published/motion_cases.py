"""Evidence for the motion: senses, exact ratios, the unrolled racks.

Ratios are ω_driven/ω_read, signed; negative is the opposite sense.
"""

from __future__ import annotations

from fractions import Fraction

from lobewright.motion import FLEXIBLE, GENERATOR, Row
from lobewright.published.case import Case, Room
from lobewright.published.model import Model
from lobewright.sources import Flag

ONE_RING = (Row("ring", 202, 200),)
SIX = {
    ("ring", GENERATOR, FLEXIBLE): Fraction(-100),
    ("ring", FLEXIBLE, GENERATOR): Fraction(-1, 100),
    (FLEXIBLE, GENERATOR, "ring"): Fraction(101),
    (FLEXIBLE, "ring", GENERATOR): Fraction(1, 101),
    (GENERATOR, FLEXIBLE, "ring"): Fraction(101, 100),
    (GENERATOR, "ring", FLEXIBLE): Fraction(100, 101),
}
"""Held, driven, read → ω_driven/ω_read of 200 flexible teeth in a ring of 202: from Z_f and Z_c by hand."""


def _ring_held(model: Model) -> float:
    return float(model.solve((Row("ring", 102, 100),), 2, "ring", GENERATOR, FLEXIBLE).ratio)


def _six(model: Model) -> float:
    def off(fixed: str, driven: str, read: str, exact: Fraction) -> float:
        return abs(float(model.solve(ONE_RING, 2, fixed, driven, read).ratio / exact - 1))

    return max(off(*members, exact) for members, exact in SIX.items())


def _two_rows(model: Model) -> float:
    rows = (Row("held", 102, 100), Row("output", 106, 104))
    return float(model.solve(rows, 2, "held", GENERATOR, "output").ratio)


def _forty_five(model: Model) -> float:
    rows = (Row("held", 92, 90), Row("output", 90, 90))
    return float(model.solve(rows, 2, "held", GENERATOR, "output").ratio)


def _line_up(model: Model) -> float:
    return float(model.unroll(92, 90).line_up_places)


def _rack(model: Model) -> float:
    return float(model.rack_travel_mm(model.unroll(16, 14), 50.0))


EXACT = "exact fractions; only rounding to floating point is left"
CASES = (
    Case(
        "motion.ring_held",
        Room.MOTION,
        "100 teeth in a held ring of 102, generator driven: turns in per turn of the flexible ring (the clause gives the "
        "opposite sense, the counts give 50)",
        "",
        "gb_t_30819_2014",
        Flag.READ,
        -50.0,
        1e-9,
        EXACT,
        _ring_held,
    ),
    Case(
        "motion.six_arrangements",
        Room.MOTION,
        "200 teeth in 202, all six choices of held, driven and read member: largest relative departure from the signed "
        "ratios −100, −1/100, 101, 1/101, 101/100, 100/101",
        "",
        "derived_here",
        Flag.DERIVED,
        0.0,
        1e-12,
        EXACT,
        _six,
    ),
    Case(
        "motion.two_rows",
        Room.MOTION,
        "two tooth rows 100 and 104 in rings of 102 (held) and 106 (read): turns in per turn out",
        "",
        "derived_here",
        Flag.DERIVED,
        -1325.0,
        1e-6,
        EXACT,
        _two_rows,
    ),
    Case(
        "motion.forty_five",
        Room.MOTION,
        "flexible ring and output with 90 teeth, held ring with 92: 45 to 1, opposite sense",
        "",
        "trade_practice",
        Flag.COMMON_PRACTICE,
        -45.0,
        1e-9,
        EXACT,
        _forty_five,
    ),
    Case(
        "motion.line_up",
        Room.MOTION,
        "racks of one length whose tooth counts differ by two are in step at so many places",
        "places",
        "trade_practice",
        Flag.COMMON_PRACTICE,
        2.0,
        0.5,
        "a count: half a place",
        _line_up,
    ),
    Case(
        "motion.rack_travel",
        Room.MOTION,
        "wedge driven 50 mm under 14 moving teeth on 16 held ones of one length: travel of the moving rack, against the "
        "wedge",
        "mm",
        "trade_practice",
        Flag.COMMON_PRACTICE,
        -7.0,
        0.5,
        "said in whole millimetres",
        _rack,
    ),
)
