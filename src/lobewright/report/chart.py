"""Axes for the charts of the report: data to pixels, round ticks, labels that stand clear of each other."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from lobewright.picture.display import Anchor, Item, Path, Point, Text
from lobewright.picture.palette import Role

SMALL_PX = 12.0
PLAIN_PX = 13.0


def round_ticks(low: float, high: float, about: int = 5) -> tuple[float, ...]:
    """Multiples of 1, 2 or 5 times a power of ten from ``low`` to ``high``, about so many."""
    span = high - low
    raw = span / about
    power = 10.0 ** math.floor(math.log10(raw))
    step = next(size * power for size in (1.0, 2.0, 5.0, 10.0) if size * power >= raw * 0.999)
    first = math.ceil(low / step - 1e-9)
    last = math.floor(high / step + 1e-9)
    return tuple(number * step for number in range(first, last + 1))


def tick_text(value: float, step: float) -> str:
    """A tick's number with the decimals its step needs, with a true minus sign."""
    places = max(0, -math.floor(math.log10(abs(step)) + 1e-9))
    text = f"{value + 0.0:.{places}f}"
    return text.replace("-", "−") if float(text) else text.lstrip("-")


@dataclass(frozen=True)
class Frame:
    """A rectangle of the picture in px (y up) that carries data."""

    left: float
    bottom: float
    right: float
    top: float
    x_low: float
    x_high: float
    y_low: float
    y_high: float

    def x(self, value: float) -> float:
        return self.left + (value - self.x_low) / (self.x_high - self.x_low) * (self.right - self.left)

    def y(self, value: float) -> float:
        return self.bottom + (value - self.y_low) / (self.y_high - self.y_low) * (self.top - self.bottom)

    def at(self, x: float, y: float) -> Point:
        return self.x(x), self.y(y)

    def curve(self, xs: np.ndarray | Sequence[float], ys: np.ndarray | Sequence[float]) -> tuple[Point, ...]:
        return tuple(self.at(float(x), float(y)) for x, y in zip(xs, ys, strict=True))

    def box(self) -> Path:
        corners = ((self.left, self.bottom), (self.right, self.bottom), (self.right, self.top), (self.left, self.top))
        return Path((corners,), line=Role.RULE)

    def clip(self) -> tuple[float, float, float, float]:
        return self.left, self.bottom, self.right, self.top


def line(a: Point, b: Point, role: Role = Role.RULE, line_px: float = 1.0, dash_px: float = 0.0) -> Path:
    """A straight line."""
    return Path(((a, b),), closed=False, line=role, line_px=line_px, dash_px=dash_px)


def box(x0: float, y0: float, x1: float, y1: float, fill: Role | None = None, edge: Role | None = None) -> Path:
    """An upright rectangle."""
    return Path((((x0, y0), (x1, y0), (x1, y1), (x0, y1)),), fill=fill, line=edge)


def x_axis(frame: Frame, title: str, ticks: Sequence[float], texts: Sequence[str] | None = None) -> list[Item]:
    """Ticks and title under a frame."""
    step = ticks[1] - ticks[0] if len(ticks) > 1 else 1.0
    names = texts or [tick_text(tick, step) for tick in ticks]
    items: list[Item] = [
        Text(((frame.left + frame.right) / 2, frame.bottom - 38), title, SMALL_PX, Role.QUIET, Anchor.MIDDLE)
    ]
    for tick, name in zip(ticks, names, strict=True):
        x = frame.x(tick)
        items.append(line((x, frame.bottom), (x, frame.bottom - 5)))
        items.append(Text((x, frame.bottom - 19), name, SMALL_PX, Role.INK, Anchor.MIDDLE))
    return items


def y_axis(frame: Frame, title: str, ticks: Sequence[float], rules: bool = True) -> list[Item]:
    """Ticks left of a frame, faint rules across it, title lying above its left end."""
    step = ticks[1] - ticks[0] if len(ticks) > 1 else 1.0
    items: list[Item] = [Text((frame.left - 44, frame.top + 12), title, SMALL_PX, Role.QUIET)]
    for tick in ticks:
        y = frame.y(tick)
        if rules and frame.y_low < tick < frame.y_high:
            items.append(line((frame.left, y), (frame.right, y), Role.PANEL))
        items.append(line((frame.left - 5, y), (frame.left, y)))
        items.append(Text((frame.left - 8, y - 4), tick_text(tick, step), SMALL_PX, Role.INK, Anchor.END))
    return items


def right_axis(frame: Frame, title: str, ticks: Sequence[float], places: Sequence[float]) -> list[Item]:
    """A second scale right of a frame: ``ticks`` in its own unit, ``places`` in the frame's."""
    step = ticks[1] - ticks[0] if len(ticks) > 1 else 1.0
    items: list[Item] = [Text((frame.right + 44, frame.top + 12), title, SMALL_PX, Role.QUIET, Anchor.END)]
    for tick, place in zip(ticks, places, strict=True):
        y = frame.y(place)
        items.append(line((frame.right, y), (frame.right + 5, y)))
        items.append(Text((frame.right + 8, y - 4), tick_text(tick, step), SMALL_PX, Role.INK))
    return items
