"""Small plots inside a moving picture: a frame with ticks, curves, and points that follow u."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from lobewright.picture.display import Anchor, Path, Point, Text
from lobewright.picture.palette import Role
from lobewright.picture.score import Data, Number, course, plain
from lobewright.teach.language import Language

TICK_PX, TITLE_PX = 12.0, 13.0
MOST_TICKS = 5


def ticks(low: float, high: float, most: int = MOST_TICKS) -> tuple[list[float], int]:
    """Round numbers from low to high, at most so many steps apart, and the places after the mark that they need. Where zero lies
    between and one side of it would have none, steps are the next smaller ones."""
    wanted = (high - low) / most
    power = 10.0 ** math.floor(math.log10(wanted))
    parts = (0.5, 1.0, 2.0, 5.0, 10.0)
    size = next(at for at, part in enumerate(parts) if at and power * part >= wanted * (1.0 - 1e-9))
    if low < 0.0 < high and min(-low, high) < power * parts[size]:
        size -= 1
    step = power * parts[size]
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return [step * number for number in range(first, last + 1)], max(0, -math.floor(math.log10(step) + 1e-9))


@dataclass(frozen=True)
class Plot:
    """A frame in the picture (``box``: x0, y0, x1, y1) over a range of two numbers; ``unit``: drawing units a pixel."""

    box: tuple[float, float, float, float]
    across: tuple[float, float]
    up: tuple[float, float]
    unit: float

    @property
    def per_across(self) -> float:
        """Drawing units for one of the number across."""
        return (self.box[2] - self.box[0]) / (self.across[1] - self.across[0])

    @property
    def per_up(self) -> float:
        return (self.box[3] - self.box[1]) / (self.up[1] - self.up[0])

    def at(self, across: float, up: float) -> Point:
        """Where a pair of numbers lies."""
        x, y = self.x(across), self.y(up)
        return x, y

    def x(self, across: float) -> float:
        return self.box[0] + (across - self.across[0]) * self.per_across

    def y(self, up: float) -> float:
        return self.box[1] + (up - self.up[0]) * self.per_up

    def follow_x(self, table: str, slope: float = 0.0) -> Number:
        """Where a number that follows u lies across: that of a table, or ``slope`` times u where there is none."""
        return course(self.x(0.0), self.per_across * slope, table, self.per_across)

    def follow_y(self, table: str) -> Number:
        """Where the number of a table lies upward."""
        return course(self.y(0.0), table=table, scale=self.per_up)

    def axes(self, language: Language, across: str, up: str) -> list[Data]:
        """Panel, axes through the lower left corner (and through zero where zero is inside), ticks with figures, titles."""
        x0, y0, x1, y1 = self.box
        px = self.unit
        items = [Path((((x0, y0), (x1, y0), (x1, y1), (x0, y1)),), fill=Role.PAPER, line=Role.RULE)]
        (right, right_places), (high, high_places) = ticks(*self.across), ticks(*self.up, most=4)
        items += [*(self._tick(value, True) for value in right), *(self._tick(value, False) for value in high)]
        if self.up[0] < 0.0 < self.up[1]:
            items.append(Path((((x0, self.y(0.0)), (x1, self.y(0.0))),), closed=False, line=Role.QUIET))
        if self.across[0] < 0.0 < self.across[1]:
            items.append(Path((((self.x(0.0), y0), (self.x(0.0), y1)),), closed=False, line=Role.QUIET))
        texts = []
        for value in right:
            at = (self.x(value), y0 - 17.0 * px)
            texts.append(Text(at, language.number(value, right_places), TICK_PX, Role.QUIET, Anchor.MIDDLE))
        for value in high:
            at = (x0 - 5.0 * px, self.y(value) - 4.0 * px)
            texts.append(Text(at, language.number(value, high_places), TICK_PX, Role.QUIET, Anchor.END))
        texts.append(Text(((x0 + x1) / 2, y0 - 34.0 * px), across, TITLE_PX, Role.INK, Anchor.MIDDLE))
        texts.append(Text((x0, y1 + 8.0 * px), up, TITLE_PX, Role.INK))
        return plain(*items, *texts)

    def _tick(self, value: float, upright: bool) -> Path:
        x0, y0, x1, y1 = self.box
        ends = ((self.x(value), y0), (self.x(value), y1)) if upright else ((x0, self.y(value)), (x1, self.y(value)))
        return Path((ends,), closed=False, line=Role.RULE, line_px=0.5)

    def curve(
        self, across: Iterable[float], up: Iterable[float], role: Role, line_px: float = 2.0, dash_px: float = 0.0
    ) -> list[Data]:
        """A curve through pairs of numbers."""
        points = tuple(self.at(x, y) for x, y in zip(across, up, strict=True))
        return plain(Path((points,), closed=False, line=role, line_px=line_px, dash_px=dash_px))

    def dot(self, x: Number, y: Number, role: Role = Role.INK) -> Data:
        """A point that follows u."""
        return {"kind": "disc", "centre": [x, y], "radius": 5.0 * self.unit, "fill": role, "line": "paper"}
