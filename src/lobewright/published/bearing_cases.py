"""Evidence for ball bearings: ratings from balls, lives and their reliability, loads that change, axial loads."""

from __future__ import annotations

from functools import partial

import numpy as np

from lobewright.published.case import CaseMaker, Room
from lobewright.published.model import Model
from lobewright.sources import Flag
from lobewright.strength.bearing_life import ISO_1990, ISO_2007, LifeScatter

TEXTBOOK = LifeScatter("three-parameter Weibull of a textbook", 0.02, 4.439, 1.483)
LAST_DIGIT = "half of the last printed digit"


_case = CaseMaker("bearing", Room.STRENGTH)


def _needed_kn(model: Model, load_kn: float, hours: float, rpm: float) -> float:
    """Rating at which 90 % live so long, by the textbook's scatter."""
    turns = hours * rpm * 60.0 / 1e6
    return load_kn * float(np.cbrt(turns / model.life_share(TEXTBOOK, 90.0)))


def _sure_percent(model: Model, load_kn: float, rating_kn: float, hours: float, rpm: float) -> float:
    turns = hours * rpm * 60.0 / 1e6
    return model.reliability_percent(TEXTBOOK, turns / model.rating_life_mrev(rating_kn, load_kn))


def _axial_share(model: Model, axial: float) -> float:
    """Equivalent load over the axial one, which is ten times the radial; f0 and C0r are 1."""
    return float(model.equivalent_load_n(0.1 * axial, axial, 1.0, 1.0)) / axial


def _life_share(model: Model, scatter: LifeScatter, percent: float) -> float:
    return float(model.life_share(scatter, percent))


def _dynamic_kn(model: Model, balls: tuple[int, float, float]) -> float:
    return float(model.dynamic_rating_n(*balls)) / 1e3


def _static_kn(model: Model, balls: tuple[int, float, float]) -> float:
    return float(model.static_rating_n(*balls)) / 1e3


TEXT = ("budynas_nisbett_2006", Flag.READ)
TABLE = ("iso_281_2007", Flag.READ_SECOND)
OLDER = ("iso_281_1990", Flag.READ_SECOND)
EXERCISE = ("bearing_exercises", Flag.REMEMBERED)
PRINTED = ("bearing_ratings_collected", Flag.REMEMBERED)

RATINGS = (
    (
        "6804",
        "6804, 13 balls of 3.5 mm on 25.6 mm",
        ("nectoux_2012", Flag.READ_SECOND),
        (13, 3.5, 25.6),
        4.0,
        0.05,
        LAST_DIGIT,
    ),
    (
        "insert",
        "insert bearing of 20 mm bore, 8 balls of 7.92 mm on 34.55 mm",
        ("wang_2020", Flag.READ_SECOND),
        (8, 7.92, 34.55),
        12.82,
        0.065,
        "0.5 %: ball and pitch are rounded, and so is the standard's table",
    ),
    (
        "608",
        "608, 7 balls of 3.969 mm on 15 mm",
        PRINTED,
        (7, 3.969, 15.0),
        3.296,
        0.016,
        "0.5 %: two prints differ by 1.6 %",
    ),
    (
        "6200",
        "6200, 8 balls of 4.7625 mm on 20 mm",
        PRINTED,
        (8, 4.7625, 20.0),
        5.07,
        0.05,
        "1 %: two prints differ so",
    ),
    (
        "6204",
        "6204, 8 balls of 7.938 mm on 33.5 mm",
        PRINTED,
        (8, 7.938, 33.5),
        12.7,
        0.127,
        "1 %: prints of 62 differ so",
    ),
)
"""Ball counts of the last three are remembered."""

CASES = (
    *(
        case
        for key, load, rating, hours, rpm, needed, digit, sure in (
            ("11_1", 2.278, 19.5, 30e3, 300.0, 18.59, 5e-3, 91.9),
            ("11_2", 3.80, 46.2, 50e3, 480.0, 43.0, 0.05, 92.7),
        )
        for case in (
            _case(
                f"needed_{key}",
                f"problem {key.replace('_', '-')}: rating for {load} kN, {hours:.0f} h at {rpm:.0f}/min with 90 % reliability",
                "kN",
                TEXT,
                (needed, digit),
                LAST_DIGIT,
                partial(_needed_kn, load_kn=load, hours=hours, rpm=rpm),
            ),
            _case(
                f"sure_{key}",
                f"the same with a bearing of {rating} kN: reliability",
                "%",
                TEXT,
                (sure, 0.05),
                LAST_DIGIT,
                partial(_sure_percent, load_kn=load, rating_kn=rating, hours=hours, rpm=rpm),
            ),
        )
    ),
    _case(
        "mean_load",
        "650 lb for 30 min, 750 lb for 10 min, 250 lb for 20 min at one speed: steady load of the same harm",
        "lb",
        ("mott_2004", Flag.READ),
        (597.0, 0.5),
        LAST_DIGIT,
        lambda model: model.mean_load_n(np.array([650.0, 750.0, 250.0]), np.array([30.0, 10.0, 20.0])),
    ),
    _case(
        "hours",
        "load that gives 10 000 h at 2000/min, C/P = 10.6266: life",
        "h",
        ("bmstu_1072", Flag.REMEMBERED),
        (10_000.0, 0.2),
        "half of the last digit of C/P, cubed",
        lambda model: model.rating_life_mrev(10.6266, 1.0) * 1e6 / (60.0 * 2000.0),
    ),
    _case(
        "turns",
        "C 16 kN, load 2 kN: rating life",
        "million turns",
        EXERCISE,
        (512.0, 1e-6),
        "exact",
        lambda model: model.rating_life_mrev(16e3, 2e3),
    ),
    _case(
        "thrust_30",
        "30 mm bearing of C0 10 kN (f0 12.3), 5 kN radial, 2 kN axial: equivalent load",
        "kN",
        EXERCISE,
        (5.34, 0.015),
        "Y is rounded to 1.27 there",
        lambda model: model.equivalent_load_n(5.0, 2.0, 10.0, 12.3),
    ),
    _case(
        "thrust_65",
        "65 mm bearing of C0 34 kN (f0 12.3), 7 kN radial times 1.2, 3 kN axial: equivalent load",
        "kN",
        EXERCISE,
        (9.294, 0.03),
        "Y is rounded to 1.53 there",
        lambda model: model.equivalent_load_n(8.4, 3.0, 34.0, 12.3),
    ),
    *(
        _case(
            f"axial_{key}",
            f"f0·Fa/C0r = {asked}, axial ten times the radial load: equivalent load over the axial one, 0.056 + Y",
            "",
            TABLE,
            (0.056 + axial, 5e-3),
            LAST_DIGIT,
            partial(_axial_share, axial=asked),
        )
        for key, asked, axial in (("low", 0.172, 2.30), ("middle", 1.38, 1.45), ("high", 6.89, 1.00))
    ),
    _case(
        "axial_limit",
        "f0·Fa/C0r = 0.689, axial load just below e = 0.26 of the radial one: it counts not",
        "",
        TABLE,
        (1.0, 1e-9),
        "exact",
        lambda model: model.equivalent_load_n(0.689 / 0.2599, 0.689, 1.0, 1.0) / (0.689 / 0.2599),
    ),
    *(
        _case(
            f"sure_{name}_{percent}",
            f"a1 at {percent} % reliability, {words}",
            "",
            source,
            (expected, 5e-3),
            LAST_DIGIT,
            partial(_life_share, scatter=scatter, percent=float(percent)),
        )
        for name, words, scatter, source, rows in (
            ("older", "set before 2007", ISO_1990, OLDER, ((95, 0.62), (97, 0.44), (99, 0.21))),
            ("2007", "ISO 281:2007", ISO_2007, TABLE, ((95, 0.64), (97, 0.47), (99, 0.25))),
        )
        for percent, expected in rows
    ),
    *(
        _case(
            f"rating_{key}",
            f"{words}: basic dynamic rating",
            "kN",
            source,
            (expected, allowed),
            reason,
            partial(_dynamic_kn, balls=balls),
        )
        for key, words, source, balls, expected, allowed, reason in RATINGS
    ),
    *(
        _case(
            f"static_{key}",
            f"{words}: basic static rating",
            "kN",
            PRINTED,
            (expected, allowed),
            "2 %: prints differ by 1 to 2 %",
            partial(_static_kn, balls=balls),
        )
        for key, words, balls, expected, allowed in (
            ("608", "608, 7 balls of 3.969 mm (remembered) on 15 mm", (7, 3.969, 15.0), 1.383, 0.028),
            ("6204", "6204, 8 balls of 7.938 mm (remembered) on 33.5 mm", (8, 7.938, 33.5), 6.55, 0.13),
        )
    ),
)
