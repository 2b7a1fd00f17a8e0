"""Tables of a score while it is made, bars that follow u, and texts with figures that do."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from lobewright.picture.score import Data, Number, course

Array = NDArray[np.float64]
PLACES_MM, PLACES_RAD = 3, 5


class Tables:
    """Tables by name; what does not change becomes a plain number and needs none."""

    def __init__(self) -> None:
        self.found: dict[str, list[float]] = {}

    def follow(self, name: str, values: Sequence[float] | Array, places: int = PLACES_MM, scale: float = 1.0) -> Number:
        """A number that follows values at even places from u = 0 to u = 1."""
        numbers = [round(float(value), places) + 0.0 for value in values]
        if max(numbers) == min(numbers):
            return scale * numbers[0]
        self.found[name] = numbers
        return course(table=name, scale=scale)


def bar(x0: float, x1: Number, y0: float, y1: float, **look: str) -> Data:
    """A bar from x0 to x1 between two heights; x1 may follow u."""
    return {"kind": "path", "loops": [[x0, y0, x1, y0, x1, y1, x0, y1]], **look}


def figures(text: str, *numbers: tuple[Number, int] | tuple[Number, int, bool]) -> Data:
    """A text with figures that follow u: number, places, and whether a plus is written."""
    rows = [{"of": one[0], "places": one[1], "sign": len(one) > 2 and bool(one[2])} for one in numbers]
    return {"words": text, "numbers": rows}
