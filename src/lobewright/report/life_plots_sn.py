"""Picture of an S–N curve with what a duty asks of the place: cycles, amplitudes, bands, and where all evidence ends."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from lobewright.picture.display import Anchor, Disc, Item, Path, Picture, Point, Text
from lobewright.picture.palette import Role
from lobewright.report.chart import SMALL_PX, Frame, box, line, x_axis
from lobewright.report.life_numbers import few, fitted
from lobewright.report.life_plots_axes import (
    Names,
    between,
    curve,
    decade_ticks,
    down_rules,
    left_axis,
    size_ticks,
    text_box,
)
from lobewright.strength.point import PointLife
from lobewright.strength.sn import SnCurve

Array = NDArray[np.float64]
NAMED = 6
"""Steps of the duty that are numbered in the picture and named under it, the most harmful first."""
DEEPEST = 1.3
"""Decades under the curve's band that are drawn: steps far below do no harm and must not press all else together."""
KEY_PX = 17.0
"""Height of a line under the picture."""


def drawn_curve(found: SnCurve, from_cycles: float, to_cycles: float) -> tuple[Array, Array]:
    """Logarithms (base 10) of cycles and amplitude between two numbers of cycles, every corner of the curve among them."""
    corners = found.cycles[(found.cycles > from_cycles) & (found.cycles < to_cycles)]
    cycles = np.concatenate(([from_cycles], corners, [to_cycles]))
    return np.log10(cycles), np.log10(found.amplitude_at(cycles))


def shown_steps(point: PointLife) -> list[int]:
    """Steps that have a place on logarithmic axes, the most harmful first."""
    sizes = point.equivalent_mpa
    placed = [k for k in range(len(point.steps)) if point.cycles[k] > 0.0 and sizes[k] > 0.0]
    return sorted(placed, key=lambda k: (-float(point.damage[k]), -float(sizes[k])))


def _limits(point: PointLife, steps: list[int]) -> tuple[float, float, float, float]:
    """Logarithms at the left, the right, the bottom and the top of the picture."""
    asked = [float(point.cycles[k]) for k in steps]
    tested = point.curve.tested_to_cycles
    left = max(0, math.floor(math.log10(min([float(point.curve.cycles[0]), *asked])) + 1e-9))
    right = math.ceil(math.log10(max([3.0 * tested, float(point.curve.cycles[-1]), *(2.0 * n for n in asked)])) - 1e-9)
    _, s = drawn_curve(point.curve, 10.0**left, 10.0**right)
    reach = math.log10(point.curve.spread)
    spread = math.log10(point.stress_spread)
    finite = [math.log10(v) for v in (float(point.equivalent_mpa[k]) for k in steps) if math.isfinite(v)]
    low = min(float(s.min()) - reach, *(v - spread for v in finite), float(s.min()) - 0.08)
    high = max(float(s.max()) + reach, *(v + spread for v in finite), float(s.max()) + 0.08)
    low = max(low, float(s.min()) - reach - DEEPEST)
    return left, right, low - 0.05, high + 0.08


def sn_chart(point: PointLife, width_px: float) -> Picture:
    """Figure: the place's S–N curve with its band, and every step of the duty as a cross of cycles and amplitude."""
    steps = shown_steps(point)
    frame = Frame(58.0, 52.0, width_px - 14.0, 342.0, *_limits(point, steps))
    end = math.log10(point.curve.tested_to_cycles)
    n, s = drawn_curve(point.curve, 10.0**frame.x_low, 10.0**frame.x_high)
    reach = math.log10(point.curve.spread)
    x_ticks, x_names = decade_ticks(frame.x_low, frame.x_high)
    names = Names(frame)
    items: list[Item] = [
        *left_axis(frame, "amplitude at ratio −1, MPa", *size_ticks(frame.y_low, frame.y_high)),
        *x_axis(frame, "load cycles until half of the pieces are broken", x_ticks, x_names),
        *down_rules(frame, x_ticks),
        between(frame, n, s - reach, s + reach, Role.FLEXIBLE_SOFT),
        *_beyond(frame, end, names, 20.0 if any(math.isinf(point.equivalent_mpa[k]) for k in steps) else 0.0),
        *_line(frame, n, s, end),
    ]
    names.keep_clear(frame.curve(n, s))
    marks = {k: _step(frame, names, point, k) for k in steps}
    for k in reversed(steps):
        items += marks[k][1]
    for row, k in enumerate(steps[:NAMED]):
        items += names.put(marks[k][0], str(row + 1), Role.TOOTH_MARK, strong=True)
        items += _told(point, k, row, width_px)
    items.append(frame.box())
    told = "; ".join(
        f"{point.steps[k]}: {few(float(point.cycles[k]))} cycles at {few(float(point.equivalent_mpa[k]), 3)} MPa"
        for k in steps
    )
    evidence = few(point.curve.tested_to_cycles)
    return Picture(
        (0.0, 6.0 - KEY_PX * min(NAMED, len(steps)), width_px, 372.0),
        tuple(items),
        "Amplitude against cycles",
        f"Asked of it: {told or 'nothing that has a place on these axes'}. Tests reach {evidence} cycles.",
    )


def below_axis(point: PointLife, k: int) -> bool:
    """Whether a step's stress lies below what is drawn."""
    steps = shown_steps(point)
    return math.log10(float(point.equivalent_mpa[k])) < _limits(point, steps)[2]


def _told(point: PointLife, k: int, row: int, width_px: float) -> list[Item]:
    """The line under the picture that belongs to a number in it."""
    y = -4.0 - KEY_PX * row
    size = float(point.equivalent_mpa[k])
    asked = f"{few(float(point.cycles[k]))} cycles, {'no room left' if math.isinf(size) else few(size, 3) + ' MPa'}"
    return [
        Text((20.0, y), str(row + 1), SMALL_PX, Role.TOOTH_MARK, strong=True),
        Text((36.0, y), fitted(point.steps[k], 60 - len(asked)), SMALL_PX, Role.INK, strong=k == point.worst),
        Text((width_px - 14.0, y), asked, SMALL_PX, Role.INK, Anchor.END),
    ]


def _line(frame: Frame, n: Array, s: Array, end: float) -> list[Item]:
    """The middle of the curve, dashed where no test stands behind it."""
    at = float(np.interp(end, n, s))
    before, after = n < end, n > end
    items: list[Item] = []
    if before.any():
        items.append(curve(frame, np.append(n[before], end), np.append(s[before], at)))
    if after.any():
        items.append(curve(frame, np.append(end, n[after]), np.append(at, s[after]), dash_px=6.0))
    return items


def _beyond(frame: Frame, end: float, names: Names, down_px: float) -> list[Item]:
    """The region that no test reached, hatched, with its words near the top, in two lines where it is narrow."""
    x = max(frame.left, frame.x(end))
    if x >= frame.right:
        return []
    corners = ((x, frame.bottom), (frame.right, frame.bottom), (frame.right, frame.top), (x, frame.top))
    items: list[Item] = [
        Path((corners,), hatch=Role.RULE),
        line((x, frame.bottom), (x, frame.top), Role.NOT_MADE, 1.4),
    ]
    middle = (x + frame.right) / 2
    lines = ["beyond every test"] if frame.right - x > 125.0 else ["beyond", "every test"]
    anchor, at = (Anchor.MIDDLE, middle) if frame.right - x > 70.0 else (Anchor.END, x - 6.0)
    for row, words in enumerate(lines):
        text = Text((at, frame.top - 17.0 - down_px - 15.0 * row), words, SMALL_PX, Role.NOT_MADE, anchor, strong=True)
        items.append(box(*text_box(text), fill=Role.PAPER))
        items += names.take(text)
    return items


def _step(frame: Frame, names: Names, point: PointLife, k: int) -> tuple[Point, list[Item]]:
    """One step: where it stands, and a dot with the band of its stress.

    A wedge stands at the top where the criterion leaves no amplitude at all, at the bottom where a step lies below the axis.
    """
    x = frame.x(max(frame.x_low, math.log10(float(point.cycles[k]))))
    worst = k == point.worst
    size = float(point.equivalent_mpa[k])
    if math.isinf(size):
        wedge = ((x - 6.0, frame.top - 12.0), (x + 6.0, frame.top - 12.0), (x, frame.top - 2.0))
        items: list[Item] = [Path((wedge,), fill=Role.TOOTH_MARK)]
        spot = (x, frame.top - 8.0)
    else:
        spread = math.log10(point.stress_spread)
        level = math.log10(size)
        y0, y1 = (frame.y(min(max(level + side * spread, frame.y_low), frame.y_high)) for side in (-1, 1))
        y = frame.y(min(max(level, frame.y_low), frame.y_high))
        items = [line((x, y0), (x, y1), Role.TOOTH_MARK, 1.6)]
        items += [line((x - 4.0, end), (x + 4.0, end), Role.TOOTH_MARK, 1.6) for end in (y0, y1)]
        if level < frame.y_low:
            wedge = ((x - 5.0, frame.bottom + 10.0), (x + 5.0, frame.bottom + 10.0), (x, frame.bottom + 1.0))
            items = [Path((wedge,), fill=Role.TOOTH_MARK)]
        else:
            items.append(Disc((x, y), 5.0 if worst else 3.8, fill=Role.TOOTH_MARK, line=Role.PAPER))
        names.keep_clear(((x, y0), (x, y1)), 2.0)
        spot = (x, y)
    return spot, items
