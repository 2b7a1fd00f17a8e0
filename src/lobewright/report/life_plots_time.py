"""Pictures over time: life over torque and speed, and what a parked ring keeps of its stress."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from lobewright.picture.display import Anchor, Disc, Item, Picture, Text
from lobewright.picture.palette import Role
from lobewright.report.chart import SMALL_PX, Frame, box, line, round_ticks, x_axis
from lobewright.report.life_numbers import ENDLESS, few, fitted
from lobewright.report.life_plots_axes import LETTER_SHARE, Names, between, curve, decade_ticks, key, left_axis
from lobewright.report.load_figures import newton_metres
from lobewright.strength.duty import Duty
from lobewright.strength.parked import Parked, time_words
from lobewright.strength.point import LifeMap

Array = NDArray[np.float64]
LOW, MIDDLE, HIGH = 0, 1, 2
LOOKS = (
    (Role.FLEXIBLE, Role.FLEXIBLE_SOFT, 0.0),
    (Role.GENERATOR, Role.GENERATOR_SOFT, 7.0),
    (Role.RING_B, Role.RING_B_SOFT, 2.5),
)
"""Line, band and dash of the parts of a map of lives, the ring first."""
MOST_SPEEDS = 4
"""Panels of a map of lives: the slowest, the fastest and some between."""
SMALLEST_DECADE, LARGEST_DECADE = -4.0, 7.0
"""Logarithms of the hours beyond which a map of lives is cut: less than a second, more than a thousand years."""
HOURS_IN_YEAR = 8766.0
STRIP_PX = 26.0
PANEL_PX, PANEL_STEP_PX = 146.0, 208.0
MOMENTS = (
    (1.0 / 60.0, "1 min"),
    (1.0, "1 hour"),
    (24.0, "1 day"),
    (168.0, "1 week"),
    (HOURS_IN_YEAR / 12.0, "1 month"),
    (HOURS_IN_YEAR, "1 year"),
    (10.0 * HOURS_IN_YEAR, "10 years"),
    (100.0 * HOURS_IN_YEAR, "100 years"),
)


def drawn_speeds(found: LifeMap) -> list[int]:
    """Which speeds have a panel."""
    count = len(found.speed_rpm)
    if count <= MOST_SPEEDS:
        return list(range(count))
    return sorted({round(k * (count - 1) / (MOST_SPEEDS - 1)) for k in range(MOST_SPEEDS)})


def drawn_parts(found: LifeMap) -> list[int]:
    """Which parts have a curve: as many as there are looks, the shortest lived first, in the order of the map."""
    shortest = [float(found.hours[w, :, :, MIDDLE].min()) for w in range(len(found.names))]
    return sorted(sorted(range(len(shortest)), key=lambda w: shortest[w])[: len(LOOKS)])


def outlasts_all(found: LifeMap) -> bool:
    """Whether every life is longer than the axis, even at the low end of its band: then there is nothing to draw."""
    return bool((found.hours[..., LOW] >= 10.0**LARGEST_DECADE).all())


def above_axis(found: LifeMap) -> list[int]:
    """Parts whose lives end, but nowhere within the picture."""
    _, high = _decades(found)
    middle = found.hours[..., MIDDLE]
    seen = (middle < 10.0**high) | np.isinf(middle)
    return [w for w in drawn_parts(found) if not seen[w].any()]


def _decades(found: LifeMap) -> tuple[float, float]:
    """Logarithms of the hours shown, at least two decades of them."""
    hours = found.hours[np.isfinite(found.hours) & (found.hours > 0.0)]
    if not len(hours):
        return 0.0, 4.0
    middle = found.hours[..., MIDDLE]
    middle = middle[np.isfinite(middle) & (middle > 0.0)]
    low = max(SMALLEST_DECADE, math.floor(math.log10(float((middle if len(middle) else hours).min()))))
    high = math.ceil(math.log10(float(middle.max()))) if len(middle) else LARGEST_DECADE
    return min(low, LARGEST_DECADE - 2.0), min(LARGEST_DECADE, max(high, low + 2.0))


def map_chart(found: LifeMap, duty: Duty | None, width_px: float) -> Picture:
    """Figure: hours (logarithmic) over torque, a panel for each speed; endless lives run in a strip of their own on top."""
    speeds, parts = drawn_speeds(found), drawn_parts(found)
    low, high = _decades(found)
    torque = found.torque_nmm / 1000.0
    marks = duty_torques(duty)
    x_high = 1.03 * max([float(torque.max()), *(mark for mark, _ in marks)])
    strip_px = STRIP_PX if np.isinf(found.hours).any() else 0.0
    per_px = (high - low) / (PANEL_PX - strip_px)
    items: list[Item] = []
    for row, s in enumerate(reversed(speeds)):
        bottom = 52.0 + PANEL_STEP_PX * row
        frame = Frame(58.0, bottom, width_px - 70.0, bottom + PANEL_PX, 0.0, x_high, low, high + strip_px * per_px)
        last = s == speeds[0]
        items += _panel(frame, high, f"at {float(found.speed_rpm[s]):.3g} rpm", row == 0)
        names = Names(frame)
        items += _duty_lines(frame, marks, names, last)
        for lane, (look, w) in enumerate(zip(LOOKS, parts, strict=False)):
            items += _part(frame, high, torque, found.hours[w, s], look, lane)
        items.append(frame.box())
    top = 52.0 + PANEL_STEP_PX * (len(speeds) - 1) + PANEL_PX
    entries = [
        (look[0], look[2], fitted(found.names[w].replace("_", " "), 26)) for look, w in zip(LOOKS, parts, strict=False)
    ]
    items += key(entries, 14.0, top + 52.0)
    told = "; ".join(f"{found.names[w].replace('_', ' ')} {_range_words(found.hours[w, ..., MIDDLE])}" for w in parts)
    return Picture(
        (0.0, 6.0, width_px, top + 70.0), tuple(items), "Life over torque and speed", f"Middle of the band: {told}."
    )


def _range_words(hours: Array) -> str:
    low, high = (few(float(v)) for v in (hours.min(), hours.max()))
    return ENDLESS if low == high == ENDLESS else f"{low} to {high} hours"


def duty_torques(duty: Duty | None) -> list[tuple[float, str]]:
    """The largest steady torque of a duty and its peak, in N·m, each with its word."""
    if duty is None:
        return []
    peak = duty.peak_nmm / 1000.0
    steady = max((part.torque_nmm for part in duty.parts if part.generator_turns > 0.0), default=0.0) / 1000.0
    found = [(peak, "peak")] if peak > 0.0 else []
    return [(steady, "steady"), *found] if 0.0 < steady < 0.999 * peak else found


def _panel(frame: Frame, high: float, title: str, foot: bool) -> list[Item]:
    ticks, names = decade_ticks(frame.y_low, high)
    y = frame.y(high)
    x_ticks = round_ticks(0.0, frame.x_high)
    items: list[Item] = [
        *left_axis(frame, "hours", ticks, names),
        Text((frame.left, frame.top + 12.0), title, SMALL_PX, Role.INK, strong=True),
    ]
    if y < frame.top - 1.0:
        items += [
            box(frame.left, y, frame.right, frame.top, fill=Role.PANEL),
            Text((frame.left - 4.0, (y + frame.top) / 2 - 4.0), ENDLESS, SMALL_PX, Role.INK, Anchor.END),
            line((frame.left, y), (frame.right, y), Role.RULE),
        ]
    if foot:
        items += x_axis(frame, "torque of the member that is read, N·m, run on and on", x_ticks)
    else:
        items += [line((frame.x(tick), frame.bottom), (frame.x(tick), frame.bottom - 5.0)) for tick in x_ticks]
    last = -math.inf
    for hours, words in MOMENTS:
        level = math.log10(hours)
        if not frame.y_low <= level <= high or frame.y(level) < last + 13.0:
            continue
        last = frame.y(level)
        items.append(line((frame.right, last), (frame.right + 5.0, last)))
        items.append(Text((frame.right + 8.0, last - 4.0), words, SMALL_PX, Role.QUIET))
    return items


def _duty_lines(frame: Frame, marks: list[tuple[float, str]], names: Names, named: bool) -> list[Item]:
    """Torques of the duty as dashed lines, named over the uppermost panel."""
    items: list[Item] = []
    for place, (torque, word) in enumerate(marks):
        x = frame.x(torque)
        items.append(line((x, frame.bottom), (x, frame.top), Role.TOOTH_MARK, 1.3, 4.0))
        if named:
            anchor = Anchor.END if x > frame.right - 60.0 else Anchor.MIDDLE
            height = frame.top + (28.0 if place == len(marks) - 1 else 12.0)
            text = Text((x, height), f"{word} {newton_metres(1000.0 * torque)}", SMALL_PX, Role.TOOTH_MARK, anchor)
            items += names.take(text)
    return items


def _part(
    frame: Frame, high: float, torque: Array, hours: Array, look: tuple[Role, Role, float], lane: int
) -> list[Item]:
    """One part: band and middle under the strip; in it, in a lane of its own, where middle or upper end are endless."""
    role, soft, dash = look
    lives = replace(frame, top=frame.y(high), y_high=high)
    low, middle, top = (np.where(np.isinf(row), high, np.log10(np.maximum(row, 1e-9))) for row in hours.T)
    # endless ends stand a decade above the axis, so that the band runs out of the frame instead of along it
    top = np.where(np.isinf(hours[:, HIGH]), high + 1.0, top)
    low = np.where(np.isinf(hours[:, LOW]), high + 1.0, low)
    items = [between(lives, torque, low, top, soft, 0.6)]
    items += [curve(lives, torque[run], middle[run], role, 2.4, dash) for run in _finite_runs(hours[:, MIDDLE])]
    y = frame.top - (lane + 0.5) * STRIP_PX / len(LOOKS)
    for x0, x1 in _endless_runs(torque, hours[:, HIGH]):
        items.append(box(frame.x(x0), y - 2.6, frame.x(x1), y + 2.6, fill=soft))
    for x0, x1 in _endless_runs(torque, hours[:, MIDDLE]):
        items.append(line((frame.x(x0), y), (frame.x(x1), y), role, 2.4, dash))
    return items


def _runs(marked: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """First and last index of every run of marked places."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], marked, [False])).astype(int)))
    return [(int(first), int(last) - 1) for first, last in edges.reshape(-1, 2)]


def _finite_runs(hours: Array) -> list[slice]:
    """Runs of lives that end, each with the endless neighbour at either side, to which the curve rises."""
    return [slice(max(0, first - 1), last + 2) for first, last in _runs(np.isfinite(hours))]


def _endless_runs(torque: Array, hours: Array) -> list[tuple[float, float]]:
    return [(float(torque[first]), float(torque[last])) for first, last in _runs(np.isinf(hours))]


def at_time(parked: Parked, values: Array, hours: float) -> tuple[float, float, float] | None:
    """Low, middle and high at a time, straight over the logarithm of time; None outside the times computed."""
    if not parked.hours[0] <= hours <= parked.hours[-1] * (1.0 + 1e-9):
        return None
    x = math.log10(hours)
    low, middle, high = (float(np.interp(x, np.log10(parked.hours), values[:, k])) for k in range(3))
    return low, middle, high


def percent_words(values: tuple[float, float, float]) -> str:
    """``62 % (48 … 75)``."""
    low, middle, high = (few(100.0 * value) for value in values)
    return f"{middle} % ({low} … {high})"


def parked_chart(parked: Parked, width_px: float) -> Picture:
    """Figure: stress left and set, in percent, over the time parked (logarithmic), with bands and the time asked for."""
    x = np.log10(parked.hours)
    most = 100.0 * float(max(parked.stress_left.max(), parked.set_share.max(), 1.0))
    frame = Frame(58.0, 52.0, width_px - 14.0, 300.0, float(x[0]), float(x[-1]), 0.0, 1.04 * most)
    ticks = round_ticks(0.0, most)
    x_ticks, x_names = _moments(frame)
    names = Names(frame)
    items: list[Item] = [
        *left_axis(frame, "percent", ticks, [f"{tick:.0f}" for tick in ticks]),
        *x_axis(frame, "time that the bent ring stands still", x_ticks, x_names),
    ]
    rows = (
        (parked.stress_left, Role.FLEXIBLE, Role.FLEXIBLE_SOFT, 0.0, "stress left"),
        (parked.set_share, Role.RING_B, Role.RING_B_SOFT, 6.0, "set when let go"),
    )
    for values, role, soft, dash, _ in rows:
        low, middle, high = (100.0 * values[:, k] for k in range(3))
        items += [between(frame, x, low, high, soft, 0.7), curve(frame, x, middle, role, 2.4, dash)]
        names.keep_clear(frame.curve(x, middle))
    told = []
    if parked.asked_hours > 0.0 and at_time(parked, parked.stress_left, parked.asked_hours) is not None:
        at = frame.x(math.log10(parked.asked_hours))
        items.append(line((at, frame.bottom), (at, frame.top), Role.TOOTH_MARK, 1.3, 4.0))
        names.keep_clear(((at, frame.bottom), (at, frame.top)))
        anchor = Anchor.END if at > frame.right - 70.0 else Anchor.MIDDLE
        items.append(
            Text((at, frame.top + 5.0), f"asked: {time_words(parked.asked_hours)}", SMALL_PX, Role.TOOTH_MARK, anchor)
        )
        for values, role, _, _, words in rows:
            found = at_time(parked, values, parked.asked_hours)
            assert found is not None
            spot = (at, frame.y(100.0 * found[MIDDLE]))
            items.append(Disc(spot, 4.2, fill=role, line=Role.PAPER))
            items += names.put(spot, percent_words(found), Role.INK, strong=True)
            told.append(f"{words} {percent_words(found)}")
    items += [frame.box(), *key([(role, dash, words) for _, role, _, dash, words in rows], 14.0, frame.top + 34.0)]
    words = f"After {time_words(parked.asked_hours)}: {'; '.join(told)}." if told else "No time asked lies on the axis."
    return Picture((0.0, 6.0, width_px, 352.0), tuple(items), "A parked ring", words)


def _moments(frame: Frame) -> tuple[list[float], list[str]]:
    """Times with a name of their own along an axis of the logarithm of hours, thinned until their names stand clear."""
    ticks: list[float] = []
    names: list[str] = []
    right = -math.inf
    for hours, words in MOMENTS:
        level = math.log10(hours)
        half = 0.5 * LETTER_SHARE * SMALL_PX * len(words)
        if not frame.x_low - 1e-9 <= level <= frame.x_high + 1e-9 or frame.x(level) - half < right + 8.0:
            continue
        ticks.append(level)
        names.append(words)
        right = frame.x(level) + half
    return ticks, names
