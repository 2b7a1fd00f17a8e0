"""Evidence for limits of size: a national edition of the tables, and examples of a textbook with ISO 286 classes."""

from __future__ import annotations

from collections.abc import Callable

from lobewright.published.case import Case, CaseMaker, Room
from lobewright.published.model import Model
from lobewright.sources import Flag

BOOK = ("bhandari_ch3", Flag.REMEMBERED)
TABLE = ("jis_b_0401_2", Flag.READ_SECOND)
REASON = "half of the last printed digit"
TABLED_UM = (
    ("H6", 25.0, 0, 13.0),
    ("H6", 60.0, 0, 19.0),
    ("H7", 3.0, 0, 10.0),
    ("H7", 8.0, 0, 15.0),
    ("H7", 60.0, 0, 30.0),
    ("K7", 25.0, 0, 6.0),
    ("K7", 60.0, 1, -21.0),
    ("N7", 25.0, 0, -7.0),
    ("N7", 60.0, 1, -39.0),
    ("f7", 25.0, 0, -20.0),
    ("f7", 60.0, 1, -60.0),
    ("g6", 25.0, 0, -7.0),
    ("g6", 60.0, 1, -29.0),
    ("h6", 8.0, 1, -9.0),
    ("h6", 60.0, 1, -19.0),
    ("h7", 25.0, 1, -21.0),
    ("h7", 60.0, 1, -30.0),
    ("js6", 25.0, 0, 6.5),
    ("js6", 60.0, 1, -9.5),
    ("k6", 25.0, 0, 15.0),
    ("k6", 60.0, 1, 2.0),
    ("m6", 3.0, 1, 2.0),
    ("m6", 25.0, 0, 21.0),
    ("m6", 60.0, 1, 11.0),
    ("n6", 25.0, 0, 28.0),
    ("n6", 60.0, 1, 20.0),
    ("p6", 25.0, 0, 35.0),
    ("p6", 60.0, 1, 32.0),
    ("s6", 8.0, 1, 23.0),
    ("s6", 25.0, 0, 48.0),
)
"""Class, size in mm, which deviation (0 upper, 1 lower), and its value in µm as printed."""
case = CaseMaker("fits", Room.PARTS)


def _limit(name: str, size_mm: float, index: int) -> Callable[[Model], float]:
    return lambda model: float(model.limits(name, size_mm)[index])


def _interference(model: Model, size_mm: float, largest: bool) -> float:
    hole, shaft = model.limits("H7", size_mm), model.limits("s6", size_mm)
    return float(shaft[0] - hole[1]) if largest else float(shaft[1] - hole[0])


def _tabled(name: str, size_mm: float, index: int, printed_um: float) -> Case:
    side = ("upper", "lower")[index]
    kind = "hole" if name[0].isupper() else "shaft"
    allowed = 5e-5 if printed_um % 1 else 5e-4
    quantity = f"{size_mm:g} mm {name}: {side} deviation"
    key = f"{kind}_{name.lower()}_{size_mm:g}_{side}"
    return case(key, quantity, "mm", TABLE, (printed_um / 1e3, allowed), REASON, _limit(name, size_mm, index))


CASES = (
    *(_tabled(*row) for row in TABLED_UM),
    case("bush_h6", "bush of 20 mm H6: upper deviation", "mm", BOOK, (0.013, 0.0005), REASON, _limit("H6", 20.0, 0)),
    case(
        "housing_h7", "housing of 20 mm H7: upper deviation", "mm", BOOK, (0.021, 0.0005), REASON, _limit("H7", 20.0, 0)
    ),
    case(
        "seat_most",
        "valve seat of 20 mm, H7/s6: largest interference",
        "mm",
        BOOK,
        (0.048, 0.0005),
        REASON,
        lambda model: _interference(model, 20.0, True),
    ),
    case(
        "seat_least",
        "valve seat of 20 mm, H7/s6: least interference",
        "mm",
        BOOK,
        (0.014, 0.0005),
        REASON,
        lambda model: _interference(model, 20.0, False),
    ),
    case(
        "hub_least",
        "hub on a shaft of 50 mm, H7/s6: least interference",
        "mm",
        BOOK,
        (0.018, 0.0005),
        REASON,
        lambda model: _interference(model, 50.0, False),
    ),
)
