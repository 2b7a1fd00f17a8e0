"""Evidence for limits of size: examples of a textbook with ISO 286 classes."""

from __future__ import annotations

from collections.abc import Callable

from lobewright.published.case import CaseMaker, Room
from lobewright.published.model import Model
from lobewright.sources import Flag

BOOK = ("bhandari_ch3", Flag.REMEMBERED)
REASON = "half of the last printed digit"
case = CaseMaker("fits", Room.PARTS)


def _limit(name: str, size_mm: float, index: int) -> Callable[[Model], float]:
    return lambda model: float(model.limits(name, size_mm)[index])


def _interference(model: Model, size_mm: float, largest: bool) -> float:
    hole, shaft = model.limits("H7", size_mm), model.limits("s6", size_mm)
    return float(shaft[0] - hole[1]) if largest else float(shaft[1] - hole[0])


CASES = (
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
