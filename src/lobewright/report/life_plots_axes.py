"""What the pictures of strength and life share: logarithmic axes, bands, and names that find a free place by their mark."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from lobewright.picture.display import Anchor, Group, Item, Path, Placement, Point, Text
from lobewright.picture.palette import Role
from lobewright.report.chart import SMALL_PX, Frame, line
from lobewright.report.life_numbers import few, power

Array = NDArray[np.float64]
Box = tuple[float, float, float, float]
LETTER_SHARE = 0.56
"""Width of a letter over its height, on the whole."""


def decade_ticks(low: float, high: float, most: int = 9) -> tuple[list[float], list[str]]:
    """Whole exponents from ``low`` to ``high`` (logarithms), thinned to ``most``, and their names: powers where they are long."""
    first, last = math.ceil(low - 1e-9), math.floor(high + 1e-9)
    step = max(1, math.ceil((last - first + 1) / most))
    found = [e for e in range(first, last + 1) if e % step == 0]
    return [float(e) for e in found], [_decade(e) for e in found]


def _decade(exponent: int) -> str:
    return f"{10.0**exponent:g}" if -2 <= exponent <= 2 else power(exponent)


def size_ticks(low: float, high: float) -> tuple[list[float], list[str]]:
    """Logarithms of round numbers from ``low`` to ``high`` and their names in full; the narrower the span, the more of them."""
    wide = high - low
    marks: tuple[float, ...] = (1.0, 2.0, 5.0) if wide > 0.8 else (1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 7.0)
    if wide > 2.4:
        marks = (1.0,)
    exponents = range(math.floor(low) - 1, math.ceil(high) + 1)
    values = [mark * 10.0**e for e in exponents for mark in marks]
    shown = [value for value in values if low - 1e-9 <= math.log10(value) <= high + 1e-9]
    names = [f"{value:.3g}" if 1e-3 <= value < 999.0 else few(value, 1) for value in shown]
    return [math.log10(value) for value in shown], names


def left_axis(frame: Frame, title: str, ticks: Sequence[float], names: Sequence[str]) -> list[Item]:
    """Named ticks left of a frame with faint rules across it; the title lies above its left end."""
    items: list[Item] = [Text((frame.left - 44.0, frame.top + 12.0), title, SMALL_PX, Role.QUIET)]
    for tick, name in zip(ticks, names, strict=True):
        y = frame.y(tick)
        if frame.y_low < tick < frame.y_high:
            items.append(line((frame.left, y), (frame.right, y), Role.PANEL))
        items.append(line((frame.left - 5.0, y), (frame.left, y)))
        items.append(Text((frame.left - 8.0, y - 4.0), name, SMALL_PX, Role.INK, Anchor.END))
    return items


def down_rules(frame: Frame, ticks: Sequence[float]) -> list[Item]:
    """Faint rules through a frame at ticks of its lower axis."""
    inside = (tick for tick in ticks if frame.x_low < tick < frame.x_high)
    return [line((frame.x(tick), frame.bottom), (frame.x(tick), frame.top), Role.PANEL) for tick in inside]


def curve(
    frame: Frame, x: Array, y: Array, role: Role = Role.FLEXIBLE, line_px: float = 2.4, dash_px: float = 0.0
) -> Item:
    """A curve, cut at the frame."""
    path = Path((frame.curve(x, y),), closed=False, line=role, line_px=line_px, dash_px=dash_px)
    return Group((path,), (Placement(),), clip=frame.clip())


def between(frame: Frame, x: Array, low: Array, high: Array, fill: Role, fade: float = 0.75) -> Item:
    """The band between two curves, cut at the frame."""
    around = (*frame.curve(x, high), *reversed(frame.curve(x, low)))
    return Group((Path((around,), fill=fill),), (Placement(),), fade=fade, clip=frame.clip())


def text_box(text: Text) -> Box:
    """The room that a level text takes, by its letters."""
    wide = LETTER_SHARE * text.size_px * len(text.text) * (1.06 if text.strong else 1.0)
    left = text.at[0] - {Anchor.START: 0.0, Anchor.MIDDLE: wide / 2, Anchor.END: wide}[text.anchor]
    return left, text.at[1] - 0.22 * text.size_px, left + wide, text.at[1] + 0.78 * text.size_px


def overlap(a: Box, b: Box) -> float:
    """Area that two boxes share."""
    return max(0.0, min(a[2], b[2]) - max(a[0], b[0])) * max(0.0, min(a[3], b[3]) - max(a[1], b[1]))


class Names:
    """Puts names beside marks: each goes where it covers the least of what is there, near its mark and inside the frame."""

    def __init__(self, frame: Frame) -> None:
        self.frame = frame
        self.taken: list[Box] = []
        self.points: list[Point] = []

    def keep_clear(self, points: Sequence[Point], every_px: float = 6.0) -> None:
        """A curve that names should rather not cover; the closer its points, the dearer."""
        for (x0, y0), (x1, y1) in itertools.pairwise(points):
            steps = max(1, math.ceil(math.hypot(x1 - x0, y1 - y0) / every_px))
            self.points += [(x0 + (x1 - x0) * k / steps, y0 + (y1 - y0) * k / steps) for k in range(min(steps, 200))]

    def take(self, *texts: Text) -> list[Item]:
        """Texts that stand where they stand."""
        self.taken += [text_box(text) for text in texts]
        return list(texts)

    def _cost(self, box: Box, reach: float) -> float:
        x0, y0, x1, y1 = box
        f = self.frame
        out = (
            max(0.0, f.left + 2 - x0)
            + max(0.0, x1 - f.right + 2)
            + max(0.0, f.bottom + 2 - y0)
            + max(0.0, y1 - f.top + 2)
        )
        hidden = sum(overlap(box, other) for other in self.taken)
        covered = sum(x0 - 2 < x < x1 + 2 and y0 - 2 < y < y1 + 2 for x, y in self.points)
        return 100.0 * out + 20.0 * hidden + 8.0 * covered + 0.4 * reach

    def put(self, mark: Point, words: str, role: Role = Role.INK, strong: bool = False) -> list[Item]:
        """The name of a mark, with a thin line to it where it had to go far."""
        best: tuple[float, Text, float] | None = None
        for reach in (9.0, 16.0, 26.0, 40.0, 60.0, 84.0):
            for turn in range(0, 360, 30):
                across, up = reach * math.cos(math.radians(turn)), reach * math.sin(math.radians(turn))
                anchor = Anchor.START if across > 1e-6 else Anchor.END if across < -1e-6 else Anchor.MIDDLE
                text = Text((mark[0] + across, mark[1] + up - 4.0), words, SMALL_PX, role, anchor, strong=strong)
                cost = self._cost(text_box(text), reach)
                if best is None or cost < best[0] - 1e-9:
                    best = cost, text, reach
        assert best is not None
        _, text, reach = best
        self.taken.append(text_box(text))
        if reach < 20.0:
            return [text]
        box = text_box(text)
        end = (min(max(mark[0], box[0]), box[2]), min(max(mark[1], box[1]), box[3]))
        return [line(mark, end, Role.QUIET, 0.8), text]


def key(entries: Sequence[tuple[Role, float, str]], left: float, y: float) -> list[Item]:
    """Samples of lines (role, dash) with their names, side by side from ``left``."""
    items: list[Item] = []
    for role, dash, words in entries:
        items += [
            line((left, y + 4.0), (left + 26.0, y + 4.0), role, 2.2, dash),
            Text((left + 32.0, y), words, SMALL_PX),
        ]
        left += 32.0 + LETTER_SHARE * SMALL_PX * len(words) + 22.0
    return items
