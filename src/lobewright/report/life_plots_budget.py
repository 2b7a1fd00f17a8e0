"""Picture of a budget: how often each part bears what is asked of it, side by side on one scale, the weakest first."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass

from lobewright.picture.display import Anchor, Item, Path, Picture, Text
from lobewright.picture.palette import Role
from lobewright.report.chart import SMALL_PX, Frame, box, line, x_axis
from lobewright.report.life_numbers import ENDLESS, band, few, fitted, one_line
from lobewright.report.life_plots_axes import decade_ticks, size_ticks
from lobewright.strength.items import Span

STRIP_PX = 64.0
LETTERS_A_LINE = 70
LOOKS = {
    "ring": (Role.FLEXIBLE, Role.FLEXIBLE_SOFT),
    "belt": (Role.FLEXIBLE, Role.FLEXIBLE_SOFT),
    "bearing": (Role.GENERATOR, Role.GENERATOR_SOFT),
    "rigid": (Role.RING_A, Role.RING_A_SOFT),
}
FARTHEST = 4.0
"""Logarithm beyond which bars are cut: ten thousand times more or less than asked."""


@dataclass(frozen=True)
class Bar:
    """One row: what, of which part, how many times what is asked, and what is to be said beside the number."""

    title: str
    part: str
    times: Span
    remark: str


def _number(bar: Bar, figures: int) -> str:
    ends = band(bar.times, figures)
    return ENDLESS if ends == ENDLESS else f"{few(bar.times.middle, figures)} ({ends})"


def _title_lines(bar: Bar, figures: int) -> list[str]:
    return textwrap.wrap(one_line(bar.title), LETTERS_A_LINE - 10 - len(_number(bar, figures))) or [""]


def _row_px(bar: Bar, figures: int) -> float:
    return 31.0 + 15.0 * (bool(bar.remark) + len(_title_lines(bar, figures)))


def _scale(bars: Sequence[Bar]) -> tuple[float, float]:
    ends = [v for bar in bars for v in (bar.times.low, bar.times.middle, bar.times.high) if 0.0 < v < math.inf]
    logs = [min(FARTHEST, max(-FARTHEST, math.log10(v))) for v in ends] or [0.0]
    high = max(0.7, max(logs) + 0.08)
    # left of 1 there is always room for the words that stand there
    return min(-0.35 * high, -0.35, min(logs) - 0.08), high


def bar_chart(bars: Sequence[Bar], scale_title: str, title: str, width_px: float, figures: int = 2) -> Picture:
    """Figure: bands on one logarithmic scale of "times what is asked"; left of 1 it is not enough.

    A band or middle without end runs into a strip at the right that says so.
    """
    low, high = _scale(bars)
    endless = any(math.isinf(bar.times.high) for bar in bars)
    right = width_px - 14.0 - (STRIP_PX if endless else 0.0)
    tall = sum(_row_px(bar, figures) for bar in bars)
    frame = Frame(14.0, 52.0, right, 52.0 + tall, low, high, 0.0, tall)
    pairs = zip(*(decade_ticks(low, high, 7) if high - low > 2.4 else size_ticks(low, high)), strict=True)
    # the strip has its own word, which the last tick must not touch
    named = [(tick, name) for tick, name in pairs if not endless or frame.x(tick) < right - 20.0]
    ticks, names = [tick for tick, _ in named], [name for _, name in named]
    one = frame.x(0.0)
    items: list[Item] = [
        Text((one - 8.0, frame.top + 6.0), "← not enough", SMALL_PX, Role.QUIET, Anchor.END),
        Text((one + 8.0, frame.top + 6.0), "enough →", SMALL_PX, Role.QUIET),
        *(line((frame.x(t), frame.bottom), (frame.x(t), frame.top), Role.PANEL) for t in ticks if abs(t) > 0.01),
        *x_axis(frame, scale_title, ticks, names),
    ]
    if endless:
        items += [
            box(right, frame.bottom, width_px - 14.0, frame.top, fill=Role.PANEL),
            Text((right + STRIP_PX / 2, frame.bottom - 19.0), ENDLESS, SMALL_PX, Role.INK, Anchor.MIDDLE),
        ]
    top = frame.top
    for bar in bars:
        items += _bar(frame, bar, top, width_px, figures)
        top -= _row_px(bar, figures)
        if top > frame.bottom + 1.0:
            items.append(line((frame.left, top), (width_px - 14.0, top), Role.PANEL))
    items += [
        box(frame.left, frame.bottom, width_px - 14.0, frame.top, edge=Role.RULE),
    ]
    told = "; ".join(f"{bar.title} {few(bar.times.middle, figures)}, band {band(bar.times, figures)}" for bar in bars)
    return Picture((0.0, 6.0, width_px, frame.top + 24.0), tuple(items), title, f"Times what is asked: {told}.")


def _bar(frame: Frame, bar: Bar, top: float, width_px: float, figures: int) -> list[Item]:
    """One row: title and number, the bar with its notch and the mark of "just enough", the remark."""
    role, soft = LOOKS.get(bar.part, (Role.NOT_MADE, Role.PANEL))
    strip = (width_px - 14.0 - STRIP_PX + 6.0, width_px - 20.0)

    def at(value: float, in_strip: float) -> float:
        if math.isinf(value):
            return in_strip
        level = math.log10(value) if value > 0.0 else -math.inf
        return frame.x(min(frame.x_high, max(frame.x_low, level)))

    x0, x1 = at(bar.times.low, strip[0]), at(bar.times.high, strip[1])
    middle = at(bar.times.middle, sum(strip) / 2)
    items: list[Item] = [
        Text((width_px - 20.0, top - 16.0), _number(bar, figures), SMALL_PX, Role.INK, Anchor.END),
    ]
    for words in _title_lines(bar, figures):
        items.append(Text((frame.left + 6.0, top - 16.0), words, SMALL_PX, Role.INK, strong=True))
        top -= 15.0
    one = frame.x(0.0)
    just_enough = line((one, top - 27.0), (one, top - 6.0), Role.TOOTH_MARK, 1.6)
    if x1 - x0 > 1.0:
        items += [Path(box(x0, top - 23.0, x1, top - 10.0).loops, fill=soft, line=role), just_enough]
        if frame.left < middle != frame.right:
            items.append(line((middle, top - 25.0), (middle, top - 8.0), Role.INK, 2.4))
    else:
        # all of it beyond one end of the scale, or without any width
        items += [*_wedge(frame, x0, top - 16.5, role), just_enough]
    if bar.remark:
        items.append(Text((frame.left + 6.0, top - 38.0), fitted(bar.remark, LETTERS_A_LINE), SMALL_PX, Role.QUIET))
    return items


def _wedge(frame: Frame, x: float, y: float, role: Role) -> list[Item]:
    """A mark for a bar without width; at an end of the scale it points out of the picture."""
    if frame.left < x < frame.right:
        return [line((x, y - 8.5), (x, y + 8.5), role, 2.4)]
    inward = -11.0 if x >= frame.right else 11.0
    return [Path((((x, y), (x + inward, y - 6.5), (x + inward, y + 6.5)),), fill=role)]
