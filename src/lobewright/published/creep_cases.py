"""Evidence for creep: a textbook's acetal under loads that come and go, and a deflection held and let go."""

from __future__ import annotations

import math

import numpy as np

from lobewright.published.case import Case, Room
from lobewright.published.model import Model
from lobewright.sources import Flag

EXPONENT, FIRST_HOUR_PERCENT, STINT_H = 0.083, 0.51, 100.0
"""Example 2.16: acetal under 10.5 MPa strains 0.51 % · t^0.083 (t in hours); loaded and free for 100 h each."""
PRINTED = "printed to three figures"


def _strain_percent(model: Model, stints: int, at_h: float) -> float:
    """Strain after so many stints under load, each followed by one without."""
    begin = STINT_H * np.arange(2 * stints)
    load = np.where(np.arange(2 * stints) % 2 == 0, FIRST_HOUR_PERCENT, 0.0)
    return float(model.strain_under_loads(EXPONENT, begin, load, at_h))


def _two_moduli(model: Model, after_h: float) -> float:
    """Share of the first hour's modulus, from a data sheet's two moduli: 2500 MPa after 1 h, 1300 MPa after 1000 h."""
    exponent = math.log(2500.0 / 1300.0) / math.log(1000.0)
    return float(model.modulus_share(exponent, np.array([after_h]))[0])


CASES = (
    Case(
        "creep.load_kept_on",
        Room.STRENGTH,
        "acetal, 10.5 MPa kept on for 200 h: strain",
        "%",
        "crawford_1998",
        Flag.READ,
        0.792,
        1e-3,
        PRINTED,
        lambda model: float(
            model.strain_under_loads(EXPONENT, np.array([0.0]), np.array([FIRST_HOUR_PERCENT]), 2 * STINT_H)
        ),
    ),
    Case(
        "creep.left_after_rest",
        Room.STRENGTH,
        "acetal, 10.5 MPa for 100 h, then free for 100 h: strain left",
        "%",
        "crawford_1998",
        Flag.READ,
        0.0445,
        1e-3,
        "printed 0.044 and 0.045, by two ways of reckoning",
        lambda model: _strain_percent(model, 1, 2 * STINT_H),
    ),
    Case(
        "creep.left_after_4_stints",
        Room.STRENGTH,
        "acetal, four times 100 h under load and 100 h free: strain left",
        "%",
        "crawford_1998",
        Flag.READ,
        0.0868,
        2e-4,
        "printed to three figures, summed from rounded terms",
        lambda model: _strain_percent(model, 4, 8 * STINT_H),
    ),
    Case(
        "creep.left_after_10_stints",
        Room.STRENGTH,
        "acetal, ten times 100 h under load and 100 h free: strain left",
        "%",
        "crawford_1998",
        Flag.READ,
        0.121,
        1e-3,
        PRINTED,
        lambda model: _strain_percent(model, 10, 20 * STINT_H),
    ),
    Case(
        "creep.left_after_1000_stints",
        Room.STRENGTH,
        "acetal, a thousand times 100 h under load and 100 h free: strain left",
        "%",
        "crawford_1998",
        Flag.READ,
        0.342,
        2e-3,
        "printed to three figures, from a sum whose strain after 100 h is rounded to three",
        lambda model: _strain_percent(model, 1000, 2000 * STINT_H),
    ),
    Case(
        "creep.modulus_foretold",
        Room.STRENGTH,
        "acetal: creep modulus after 100 h over that after 1 h, foretold from another data sheet's moduli after 1 h and 1000 h",
        "",
        "crawford_1998",
        Flag.READ,
        0.51 / 0.747,
        0.05,
        "two grades of acetal: exponents 0.083 and 0.095; the data sheet is remembered, its maker not named",
        lambda model: _two_moduli(model, STINT_H),
    ),
    Case(
        "creep.held_and_let_go",
        Room.STRENGTH,
        "creep as the square root of time: deflection left when a piece has been free for as long as it was held",
        "",
        "derived_here",
        Flag.DERIVED,
        0.5,
        1e-3,
        "(2/π) arcsin √½; stress superposed in steps, good to 1e-4",
        lambda model: float(model.set_after_hold(0.5, 7.0, 7.0)),
    ),
)
