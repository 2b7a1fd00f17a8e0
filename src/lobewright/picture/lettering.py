"""How large the texts of a moving picture may become.

Sizes of texts are in pixels, so that they stay readable where a picture is shown small, and in big type. Beside each other and in
the window there is room for so much only. Where a text stands too near to another, or to an edge, at any place of u, its item is
told the size in drawing units that it must not exceed (``largest``); every painter keeps to it. So a text has one size all
through the motion, parts of a row have the same, and browser, film, still and paper do alike.

Two texts that are as large as each would be alone when both are f times their size at the width that pictures are drawn for just
touch: neither may be more than f times that size. A text scales about the point that it is set at, which lies in its box, so that
smaller ones lie inside larger ones and what holds for each pair holds for all. Derived.
"""

from __future__ import annotations

import cmath
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from lobewright.picture.display import Anchor, Group, Item, Picture, Text
from lobewright.picture.letters import DEEP, TALL, wide
from lobewright.picture.score import Data, Score

DESIGNED_PX = 960.0
"""Width of a picture in pixels at which its texts have the sizes that they are given."""
PLACES = 41
"""Places of u that are looked at, evenly; and the moments."""
GAP = 0.25
"""Between two texts beside one another, over their size."""
EDGE_PX = 4.0
"""Between a text and an edge, at the width that pictures are drawn for."""
MOST = 2.0
"""No text is shown more than so many times its size; what may be larger is told nothing."""
LEAST = 0.25
"""No text is made smaller than that share of its size: what has no room then is badly placed."""
SEEN = 0.02
"""What is faded further is not seen."""
SURELY = 1.0001
"""Two texts farther from one another than their circles reach, by that much for rounding, are not looked at more closely."""


@dataclass(frozen=True)
class Frame:
    """Where a group stands: shift and turn; ``seen``: how far it is faded; ``limits``: rectangles that cut it, each with the
    frame whose coordinates it is in."""

    at: complex = 0j
    turn: complex = 1 + 0j
    seen: float = 1.0
    limits: tuple[tuple[complex, complex, tuple[float, float, float, float]], ...] = ()


@dataclass(frozen=True)
class Written:
    """A text where it is painted: its point; the corners of its box beside that at its size ``size`` (drawing units)."""

    text: Text
    at: complex
    corners: tuple[complex, ...]
    frame: Frame
    size: float

    @cached_property
    def axes(self) -> tuple[complex, complex]:
        """Directions along its line and across, of length 1."""
        along, across = self.corners[1] - self.corners[0], self.corners[3] - self.corners[0]
        return along / abs(along), across / abs(across)

    @cached_property
    def own(self) -> tuple[tuple[float, float], ...]:
        """From where to where its box reaches along each of its own axes."""
        return tuple(_reach(self.corners, axis.conjugate()) for axis in self.axes)

    @cached_property
    def radius(self) -> float:
        """Of the circle about its point that its box lies in, with the gap before and behind it."""
        return max(map(abs, self.corners)) + GAP * self.size


Size = Callable[[Text], float]


def written(picture: Picture, size: Size) -> list[Written]:
    """All texts of a picture that are seen. ``size``: that of a text in drawing units."""
    whole = Frame(limits=((0j, 1 + 0j, picture.view),))
    return list(_walked(picture.items, whole, size))


def _walked(items: Sequence[Item], frame: Frame, size: Size) -> Iterator[Written]:
    for item in items:
        if isinstance(item, Group):
            cut = ((frame.at, frame.turn, item.clip),) if item.clip else ()
            for place in item.placements:
                at = frame.at + frame.turn * complex(place.x, place.y)
                turn = frame.turn * cmath.exp(1j * place.angle_rad)
                inner = Frame(at, turn, frame.seen * item.fade, frame.limits + cut)
                if inner.seen > SEEN:
                    yield from _walked(item.items, inner, size)
        elif isinstance(item, Text) and item.text and item.size_px:
            yield _written(item, frame, size(item))


def _written(text: Text, frame: Frame, size: float) -> Written:
    turn = frame.turn * cmath.exp(1j * text.angle_rad) * size
    long = wide(text.text, text.strong)
    left = {Anchor.START: 0.0, Anchor.MIDDLE: -0.5, Anchor.END: -1.0}[text.anchor] * long
    box = ((left, -DEEP), (left + long, -DEEP), (left + long, TALL), (left, TALL))
    corners = tuple(turn * complex(x, y) for x, y in box)
    return Written(text, frame.at + frame.turn * complex(*text.at), corners, frame, size)


def _reach(corners: Sequence[complex], back: complex) -> tuple[float, float]:
    """Least and most of corners along an axis, given as its conjugate."""
    places = [(corner * back).real for corner in corners]
    return min(places), max(places)


def apart(one: Written, other: Written, gap: float = GAP) -> float:
    """How many times their size two texts may have before they touch."""
    best = 0.0
    gap = gap * min(one.size, other.size)
    away = other.at - one.at
    parallel = one.axes == other.axes
    for long in (one,) if parallel else (one, other):
        for number, axis in enumerate(long.axes):
            back = axis.conjugate()
            between = (away * back).real
            near = one.own[number] if parallel or long is one else _reach(one.corners, back)
            far = other.own[number] if parallel or long is other else _reach(other.corners, back)
            room = 0.0 if number else gap
            for way, reach in ((between, near[1] - far[0] + room), (-between, far[1] - near[0] + room)):
                if way >= 0.0:
                    best = max(best, way / reach if reach > 0.0 else MOST)
    return min(best, MOST)


def inside(one: Written, edge: float) -> float:
    """How many times its size a text may have before an edge cuts it; ``edge``: what is left free there, drawing units."""
    best = MOST
    for at, turn, (x0, y0, x1, y1) in one.frame.limits:
        point = (one.at - at) * turn.conjugate()
        for corner in one.corners:
            reach = corner * turn.conjugate()
            for room, way in (
                (x1 - edge - point.real, reach.real),
                (point.real - x0 - edge, -reach.real),
                (y1 - edge - point.imag, reach.imag),
                (point.imag - y0 - edge, -reach.imag),
            ):
                if room < 0.0:
                    return 0.0
                if way > 1e-12:
                    best = min(best, room / way)
    return best


def lettered(score: Score) -> Score:
    """The score with its texts told how large they may become."""
    texts: dict[int, float] = {}
    only = replace(score, items=tuple(_only_texts(score.items, texts)))
    unit = (score.view[2] - score.view[0]) / DESIGNED_PX
    most = dict.fromkeys(texts.values(), MOST)
    sizes: dict[float, float] = {}
    for u in sorted({k / (PLACES - 1) for k in range(PLACES)} | {moment.at for moment in score.moments}):
        found = written(only.at(u), lambda text: text.size_px * unit)
        for count, one in enumerate(found):
            name = one.text.largest or 0.0
            sizes[name] = one.size
            most[name] = min(most[name], inside(one, EDGE_PX * unit))
            for other in found[:count]:
                beside = other.text.largest or 0.0
                # as large as the larger of both may be by now, each lies in a circle: where those do not touch, an axis of a
                # box parts the boxes at that size, and neither is told less
                grown = SURELY * max(most[name], most[beside])
                if abs(other.at - one.at) > grown * (one.radius + other.radius):
                    continue
                share = apart(one, other)
                most[name], most[beside] = min(most[name], share), min(most[beside], share)
    told = {name: round(max(LEAST, most[name]) * sizes[name], 4) for name in sizes if most[name] < MOST}
    return replace(score, items=tuple(_told(one, texts, told) for one in score.items))


def _only_texts(items: Sequence[Any], texts: dict[int, float]) -> Iterator[Data]:
    """Items without all that is no text; in place of the largest size stands the text's number, kept by identity."""
    for one in items:
        if "row" in one:
            inside_row = list(_only_texts([one["of"]], texts))
            if inside_row:
                yield {**one, "of": inside_row[0]}
        elif one["kind"] == "text":
            yield {**one, "largest": texts.setdefault(id(one), float(len(texts)))}
        elif one["kind"] == "group":
            kept = list(_only_texts(one["items"], texts))
            if kept:
                yield {**one, "items": kept}


def _told(value: Any, texts: Mapping[int, float], told: Mapping[float, float]) -> Any:
    """Part of a score with the sizes put in; what has no text in it stays the same object."""
    if isinstance(value, (list, tuple)):
        new = [_told(one, texts, told) for one in value]
        return value if all(a is b for a, b in zip(new, value, strict=True)) else new
    if not isinstance(value, Mapping):
        return value
    if id(value) in texts:
        size = told.get(texts[id(value)])
        return {key: one for key, one in value.items() if key != "largest"} | ({"largest": size} if size else {})
    parts = {key: _told(one, texts, told) for key, one in value.items() if key in ("items", "of")}
    return value if all(parts[key] is value[key] for key in parts) else {**value, **parts}
