"""Drawings of the set-ups, one a test, each with a rule that is true to scale when printed at 100 %.

The set-ups are not to scale. One drawing unit is one millimetre of paper.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from typing import Any

from lobewright.picture.display import Anchor, Arrow, Disc, Item, Path, Picture, Point, Text
from lobewright.picture.palette import Role

WIDTH_MM, HEIGHT_MM = 182.0, 82.0
RULE_MM = 150
RULE_AT = (16.0, 4.0)
PX_PER_MM = 96.0 / 25.4
"""Pixels of a page a millimetre of paper (W3C, CSS Values: 96 px are an inch)."""
SIZE = 12.0

Scene = Callable[[dict[str, float]], tuple[Item, ...]]


def _box(x: float, y: float, width: float, height: float, fill: Role | None = None, **more: Any) -> Path:
    corners = ((x, y), (x + width, y), (x + width, y + height), (x, y + height))
    return Path((corners,), fill=fill, line=Role.INK, **more)


def _ground(x: float, y: float, width: float) -> Path:
    """Something that stands fast: hatched, its upper edge at y."""
    return _box(x, y - 3.5, width, 3.5, hatch=Role.QUIET)


def _label(x: float, y: float, text: str, anchor: Anchor = Anchor.START, strong: bool = False) -> Text:
    return Text((x, y), text, SIZE, Role.INK, anchor, strong=strong)


def _leader(points: tuple[Point, ...]) -> Path:
    return Path((points,), closed=False, line=Role.QUIET, line_px=0.8)


def _weight(x: float, y: float, size: float = 9.0) -> tuple[Item, ...]:
    """A weight that hangs from (x, y)."""
    return (
        Path((((x, y), (x, y - 5.0)),), closed=False, line=Role.INK, line_px=1.2),
        _box(x - size / 2, y - 5.0 - size, size, size, Role.GENERATOR_SOFT),
        Text((x, y - 5.0 - size / 2 - 1.4), "g", 15.0, Role.INK, Anchor.MIDDLE, strong=True),
    )


def _dial(centre: Point) -> tuple[Item, ...]:
    """The face of a dial gauge."""
    marks = tuple(_ray(centre, k * math.pi / 6, 5.7, 6.6) for k in range(12))
    return (
        Disc(centre, 7.0, Role.PAPER, Role.INK, 1.4),
        Path((_ray(centre, 0.85, 0.0, 5.3),), closed=False, line=Role.TOOTH_MARK, line_px=1.4),
        Path(marks, closed=False, line=Role.INK, line_px=0.8),
    )


def _gauge(x: float, y: float) -> tuple[Item, ...]:
    """A dial gauge whose foot touches (x, y) from the right."""
    return (
        Path((((x, y), (x + 12.0, y)),), closed=False, line=Role.INK, line_px=1.6),
        Disc((x, y), 0.8, Role.INK),
        *_dial((x + 19.0, y)),
    )


def _ray(centre: Point, angle: float, inner: float, outer: float) -> tuple[Point, Point]:
    c, s = math.cos(angle), math.sin(angle)
    return (centre[0] + inner * c, centre[1] + inner * s), (centre[0] + outer * c, centre[1] + outer * s)


def rule() -> Iterator[Item]:
    """A rule of 150 mm with a mark every millimetre."""
    x, y = RULE_AT
    yield Path((((x, y + 6.0), (x + RULE_MM, y + 6.0)),), closed=False, line=Role.INK, line_px=0.9)
    marks = []
    for k in range(RULE_MM + 1):
        down = 4.0 if k % 10 == 0 else 3.0 if k % 5 == 0 else 2.0
        marks.append(((x + k, y + 6.0), (x + k, y + 6.0 - down)))
        if k % 10 == 0:
            yield Text((x + k, y - 1.6), f"{k}", 10.0, Role.INK, Anchor.MIDDLE)
    yield Path(tuple(marks), closed=False, line=Role.INK, line_px=0.6)
    yield Text((x - 1.5, y + 2.0), "mm", 10.0, Role.QUIET, Anchor.END)


def _toothed_loop(centre: Point, radius: float, squash: float, teeth: int = 48) -> Iterator[Item]:
    """A loop of band with teeth outside, its height less by the share ``squash``."""
    high, wide = 1.0 - squash, 1.0 + 0.92 * squash

    def at(angle: float, r: float) -> Point:
        return centre[0] + r * wide * math.cos(angle), centre[1] + r * high * math.sin(angle)

    turns = [2.0 * math.pi * k / 180 for k in range(180)]
    inside = tuple(at(t, radius - 2.2) for t in turns)
    outside = []
    for k in range(teeth):
        middle = 2.0 * math.pi * (k + 0.5) / teeth + math.pi / 2 - math.pi / teeth
        for share, r in ((-0.5, 0.0), (-0.28, 0.0), (-0.16, 1.5), (0.16, 1.5), (0.28, 0.0)):
            outside.append(at(middle + share * 2.0 * math.pi / teeth, radius + r))
    yield Path((tuple(outside), inside), fill=Role.FLEXIBLE_SOFT, line=Role.FLEXIBLE, line_px=1.2)


def squeeze(figures: dict[str, float]) -> tuple[Item, ...]:
    """A ring on edge between a table and a light plate with weights on it."""
    centre, radius, base = (62.0, 43.0), 25.0, 18.0
    top = centre[1] + 0.94 * (radius + 1.5)
    bottom = centre[1] - 0.94 * (radius + 1.5)
    return (
        _ground(22.0, bottom, 108.0),
        *_toothed_loop(centre, radius, 0.06),
        _box(38.0, top, 48.0, 1.8, Role.PANEL),
        _box(56.0, top + 1.8, 12.0, 7.0, Role.GENERATOR_SOFT),
        Text((62.0, top + 3.7), "g", 15.0, Role.INK, Anchor.MIDDLE, strong=True),
        Arrow((112.0, bottom + 1.0), (112.0, top - 0.2)),
        Arrow((112.0, top - 1.0), (112.0, bottom + 0.2)),
        Path((((89.0, top), (116.0, top)),), closed=False, line=Role.QUIET, line_px=0.8, dash_px=4.0),
        _label(116.0, base + 25.0, "height: read it on both"),
        _label(116.0, base + 20.0, "sides, take the mean"),
        _label(116.0, base + 14.0, f"round ring: {figures['round_height_mm']:.2f} mm", strong=True),
        _label(116.0, base + 9.0, f"({figures['teeth']:.0f} teeth)"),
        _leader(((86.5, top + 0.9), (112.0, top + 4.6))),
        _label(114.0, top + 3.6, "light flat plate, kept level"),
        _label(132.5, bottom - 3.0, "flat table"),
        _label(12.0, 62.0, "axis level,"),
        _label(12.0, 57.0, "teeth outward"),
        _leader(((26.0, 55.6), (36.5, 52.0))),
    )


def arm(figures: dict[str, float]) -> tuple[Item, ...]:
    """A roller pushed toward the shaft, the shaft held in a vice."""
    roller = (62.0, 56.0)
    return (
        _ground(36.0, 19.5, 66.0),
        _box(40.0, 19.5, 10.0, 18.0, Role.PANEL),
        _box(74.0, 19.5, 10.0, 18.0, Role.PANEL),
        _box(50.0, 26.0, 24.0, 9.0, Role.RING_B_SOFT),
        Path(
            (((56.0, 35.0), (56.0, roller[1]), (68.0, roller[1]), (68.0, 35.0)),),
            fill=Role.GENERATOR_SOFT,
            line=Role.GENERATOR,
            line_px=1.4,
        ),
        Disc(roller, 9.5, Role.PAPER, Role.INK, 1.4),
        Disc(roller, 3.2, Role.PANEL, Role.INK, 1.2),
        Arrow((62.0, 79.5), (62.0, 66.6), colour=Role.TOOTH_MARK, line_px=2.4),
        _label(66.0, 76.0, "load: weight on a strap over the roller,"),
        _label(66.0, 71.0, "or press with a scale between"),
        *_gauge_down(62.0, 44.0),
        _label(103.0, 49.0, "gauge against the roller's axle,"),
        _label(103.0, 44.0, "its stand on the shaft's holder"),
        _label(12.0, 57.0, "roller"),
        _leader(((23.0, 58.0), (52.6, 57.0))),
        _label(12.0, 45.0, "arm"),
        _leader(((20.0, 46.0), (56.0, 44.0))),
        _label(12.0, 31.0, "hub on its shaft,"),
        _label(12.0, 26.0, "held fast"),
        _leader(((38.0, 30.5), (50.0, 30.5))),
    )


def _gauge_down(x: float, y: float) -> tuple[Item, ...]:
    """A dial gauge on a stand, its foot under a bracket on the axle beside it."""
    centre, foot = (x + 30.0, y), (x + 30.0, y + 12.0)
    return (
        Path((((x + 3.2, y + 12.0), foot),), closed=False, line=Role.INK, line_px=1.2, dash_px=4.0),
        Path(((foot, (x + 30.0, y + 7.0)),), closed=False, line=Role.INK, line_px=1.6),
        Disc(foot, 0.8, Role.INK),
        Path((((x + 30.0, y - 7.0), (x + 30.0, y - 24.5)),), closed=False, line=Role.INK, line_px=2.0),
        *_dial(centre),
    )


def stretch(figures: dict[str, float]) -> tuple[Item, ...]:
    """A loop over two pins that turn, the lower one loaded."""
    x, high, low, radius = 58.0, 72.0, 42.0, 7.5
    inner = radius + 0.4
    outer = inner + 2.6
    band = []
    for r in (outer, inner):
        upper = [(x + r * math.cos(t), high + r * math.sin(t)) for t in _turns(0.0, math.pi)]
        lower = [(x + r * math.cos(t), low + r * math.sin(t)) for t in _turns(math.pi, 2.0 * math.pi)]
        band.append((*upper, *lower))
    return (
        _box(24.0, 66.0, 4.0, 14.0, hatch=Role.QUIET),
        Path((((28.0, 72.0), (58.0, 72.0)),), closed=False, line=Role.INK, line_px=2.0),
        Path(tuple(band), fill=Role.FLEXIBLE_SOFT, line=Role.FLEXIBLE, line_px=1.2),
        Disc((x, high), radius, Role.PAPER, Role.INK, 1.4),
        Disc((x, high), 2.4, Role.PANEL, Role.INK, 1.2),
        Disc((x, low), radius, Role.PAPER, Role.INK, 1.4),
        Disc((x, low), 2.4, Role.PANEL, Role.INK, 1.2),
        Path((((x, low), (x, 29.5)),), closed=False, line=Role.INK, line_px=2.0),
        *_weight(x, 31.0, 10.0)[1:],
        Path((((x, low), (84.0, low)),), closed=False, line=Role.INK, line_px=1.2, dash_px=4.0),
        *_gauge(84.0, low),
        Path((((103.0, low + 7.0), (103.0, high), (x, high)),), closed=False, line=Role.INK, line_px=1.2, dash_px=4.0),
        _label(113.0, 60.0, "gauge between the two axles,"),
        _label(113.0, 55.0, "its stand on the upper one: the"),
        _label(113.0, 50.0, "give of hook and frame is not read"),
        _label(72.0, 29.0, "load; set it down and lift it slowly"),
        _leader(((64.0, 25.0), (71.0, 29.0))),
        _label(12.0, 56.0, "pins that turn:"),
        _label(12.0, 51.0, "two ball bearings"),
        _leader(((42.0, 52.5), (51.0, 46.0))),
        _label(74.0, 76.0, f"span {figures['span_mm']:.2f} mm: half of the belt's length", strong=True),
    )


def _turns(start: float, end: float) -> list[float]:
    return [start + (end - start) * k / 24 for k in range(25)]


def skew(figures: dict[str, float]) -> tuple[Item, ...]:
    """A piece of belt between two clamps, seen on its back; one clamp pulled along the belt."""
    free = 13.0
    low, high = 34.0, 34.0 + 12.0 + free
    strip = tuple((30.0 + 2.2 * k, 30.0 + 2.2 * k + 1.1) for k in range(28))
    return (
        _box(30.0, low + 1.0, 62.0, 2 * 11.0 + free, Role.FLEXIBLE_SOFT),
        Path(
            tuple(((left, low + 1.2), (left, high + 10.8)) for left, _ in strip),
            closed=False,
            line=Role.FLEXIBLE,
            line_px=0.7,
        ),
        _box(36.0, low - 3.0, 50.0, 15.0, Role.PANEL, hatch=Role.RULE),
        _box(36.0, high, 50.0, 15.0, Role.RING_B_SOFT),
        Path((((36.0, 66.5), (18.0, 66.5)),), closed=False, line=Role.INK, line_px=1.2),
        Disc((14.5, 63.0), 3.5, Role.PAPER, Role.INK, 1.2),
        Path((((11.0, 63.0), (11.0, 44.0)),), closed=False, line=Role.INK, line_px=1.2),
        Path((((14.5, 66.5), (18.0, 66.5)),), closed=False, line=Role.INK, line_px=1.2),
        _box(6.5, 34.0, 9.0, 10.0, Role.GENERATOR_SOFT),
        Text((11.0, 37.4), "g", 15.0, Role.INK, Anchor.MIDDLE, strong=True),
        Text((61.0, high + 6.0), "pulled", SIZE, Role.INK, Anchor.MIDDLE),
        Text((61.0, low + 3.0), "held fast", SIZE, Role.INK, Anchor.MIDDLE, strong=True),
        *_gauge(86.0, 66.5),
        Arrow((124.0, low + 12.6), (124.0, high - 0.4)),
        Arrow((124.0, high - 1.0), (124.0, low + 12.2)),
        Path((((94.0, high), (127.0, high)),), closed=False, line=Role.QUIET, line_px=0.8, dash_px=4.0),
        Path((((94.0, low + 12.0), (127.0, low + 12.0)),), closed=False, line=Role.QUIET, line_px=0.8, dash_px=4.0),
        _label(128.0, 53.5, "free width", strong=True),
        _label(128.0, 48.5, f"about {figures['free_width_mm']:.0f} mm"),
        _label(116.0, 71.0, "gauge against the pulled clamp,"),
        _label(116.0, 66.0, "along the belt"),
        _label(36.0, 24.5, f"clamps {figures['held_length_mm']:.0f} mm long along the belt; their free edges parallel"),
        _label(36.0, 76.5, "thread over a smooth pin, in line with the clamp"),
    )


def tooth(figures: dict[str, float]) -> tuple[Item, ...]:
    """One tooth pushed by a blade at half its height, the belt glued flat."""
    base, height, pitch = 40.0, 15.0, 27.0
    points: list[Point] = [(20.0, base)]
    for k in range(4):
        x = 33.0 + pitch * k
        points += [(x - 8.0, base), (x - 5.5, base + height), (x + 5.5, base + height), (x + 8.0, base)]
    points += [(128.0, base), (128.0, base - 8.0), (20.0, base - 8.0)]
    push = base + 0.5 * height
    return (
        _ground(12.0, base - 8.0, 124.0),
        Path((tuple(points),), fill=Role.FLEXIBLE_SOFT, line=Role.FLEXIBLE, line_px=1.2),
        Path((((20.0, base - 3.0), (128.0, base - 3.0)),), closed=False, line=Role.FLEXIBLE, line_px=2.4, dash_px=5.0),
        _box(49.2, push - 1.0, 4.0, 26.0, Role.RING_B_SOFT),
        Arrow((36.0, push + 17.0), (48.9, push + 17.0), colour=Role.TOOTH_MARK, line_px=2.4),
        _label(12.0, push + 16.0, "load by thread"),
        *_gauge(53.2, push + 15.0),
        _label(82.0, 65.0, "gauge against the blade,"),
        _label(82.0, 60.0, "close above the tooth"),
        _label(14.0, base - 17.5, "belt glued by its back to a flat block; leave no glue between the teeth"),
        Arrow((118.0, base + 0.4), (118.0, push)),
        Path((((55.0, push), (122.0, push)),), closed=False, line=Role.QUIET, line_px=0.8, dash_px=4.0),
        _label(130.0, push + 3.0, "push at half height,", strong=True),
        _label(130.0, push - 2.0, f"{figures['push_height_mm']:.2f} mm above the land"),
        _label(34.0, 78.0, "stiff blade, as wide as the belt, guided so that it cannot climb"),
    )


SCENES: dict[str, Scene] = {
    "squeeze_test": squeeze,
    "arm_push": arm,
    "stretch_test": stretch,
    "skew_test": skew,
    "tooth_push": tooth,
}


def picture(key: str, figures: dict[str, float], title: str) -> Picture:
    """The drawing of one test with the rule below; one unit is a millimetre of paper."""
    words = (SCENES[key].__doc__ or "").replace("\n", " ")
    return Picture(
        (0.0, 0.0, WIDTH_MM, HEIGHT_MM), (*SCENES[key](figures), *rule()), title, f"{words} Below it a rule of 150 mm."
    )
