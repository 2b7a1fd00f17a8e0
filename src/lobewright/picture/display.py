"""Display lists: what is on a picture, said in six primitives.

A *scene* is a pure function of data and time that returns a :class:`Picture`: a window of the drawing plane and a
list of primitives in paint order. Painters (SVG here, canvas in the page module) know the six primitives and nothing
else; scenes know their subject and nothing of painters.

======== ==========================================================================================================
path     one or more loops of straight pieces, open or closed; closed loops fill by the even-odd rule; fill, hatch,
         line, dashes
disc     a full circle
ring_arc a sector of an annulus: dials, trails, pie pieces
text     one line of text
arrow    a straight or bowed arrow
group    primitives placed once or many times (shift, then turn), faded, or clipped to a rectangle
======== ==========================================================================================================

Coordinates are in drawing units (mm for parts), x to the right, y up, angles anticlockwise in radians. Line widths and
text sizes are in pixels of the finished picture, so they do not grow with the part. Colours are roles of the palette.
The JSON form of a primitive is an object with ``kind`` and the fields that differ from their defaults; points are one
flat list ``[x0, y0, x1, y1, …]``.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import MISSING, dataclass, fields
from enum import StrEnum
from typing import Any

from lobewright.errors import Fault, LobewrightError
from lobewright.picture.palette import Role

Point = tuple[float, float]
_NOT_SHOWN = re.compile("[\x00-\x1f\ud800-\udfff]")
"""Control characters and halves of letters."""


class Anchor(StrEnum):
    """Which part of a text stands at its point."""

    START = "start"
    MIDDLE = "middle"
    END = "end"


def _refuse(what: str, place: str, value: object, allowed: str) -> LobewrightError:
    return LobewrightError([Fault(what, place=place, value=repr(value), allowed=allowed)])


def _finite(place: str, *numbers: float) -> None:
    if not all(map(math.isfinite, numbers)):
        number = next(number for number in numbers if not math.isfinite(number))
        raise _refuse("a picture needs finite numbers", place, number, "a finite number")


def _not_negative(place: str, number: float) -> None:
    if not 0.0 <= number < math.inf:
        raise _refuse("a size in a picture cannot be negative", place, number, "0 or more")


@dataclass(frozen=True)
class Path:
    """``loops``: one or more runs of points. ``hatch`` lays 45° lines of that role over the fill."""

    loops: tuple[tuple[Point, ...], ...]
    closed: bool = True
    fill: Role | None = None
    hatch: Role | None = None
    line: Role | None = None
    line_px: float = 1.0
    dash_px: float = 0.0

    def __post_init__(self) -> None:
        for loop in self.loops:
            if len(loop) < 2:
                raise _refuse("a loop of a path is too short", "path.loops", len(loop), "2 points or more")
            _finite("path.loops", *(number for point in loop for number in point))
        _not_negative("path.line_px", self.line_px)
        _not_negative("path.dash_px", self.dash_px)


@dataclass(frozen=True)
class Disc:
    """A full circle about ``centre``."""

    centre: Point
    radius: float
    fill: Role | None = None
    line: Role | None = None
    line_px: float = 1.0

    def __post_init__(self) -> None:
        _finite("disc.centre", *self.centre)
        _not_negative("disc.radius", self.radius)
        _not_negative("disc.line_px", self.line_px)


@dataclass(frozen=True)
class RingArc:
    """A sector of an annulus from ``start_rad`` over ``sweep_rad`` (signed; a full turn or more is the whole ring)."""

    centre: Point
    inner: float
    outer: float
    start_rad: float
    sweep_rad: float
    fill: Role | None = None
    line: Role | None = None
    line_px: float = 1.0

    def __post_init__(self) -> None:
        _finite("ring_arc", *self.centre, self.start_rad, self.sweep_rad)
        _not_negative("ring_arc.inner", self.inner)
        _not_negative("ring_arc.outer", self.outer)
        _not_negative("ring_arc.line_px", self.line_px)
        if self.outer < self.inner:
            raise _refuse("a ring arc is inside out", "ring_arc.outer", self.outer, f"{self.inner} or more")


@dataclass(frozen=True)
class Text:
    """One line of text; upright unless ``angle_rad`` or a group turns it. ``largest``: the most that its size may be, in drawing
    units."""

    at: Point
    text: str
    size_px: float = 13.0
    colour: Role = Role.INK
    anchor: Anchor = Anchor.START
    angle_rad: float = 0.0
    strong: bool = False
    largest: float | None = None

    def __post_init__(self) -> None:
        _finite("text", *self.at, self.angle_rad)
        _not_negative("text.size_px", self.size_px)
        _not_negative("text.largest", self.largest or 0.0)
        if _NOT_SHOWN.search(self.text):
            raise _refuse("a text of a picture has a letter that cannot be shown", "text.text", self.text, "one line")

    def size(self, unit: float) -> float:
        """Its size in drawing units where a pixel is ``unit`` of them."""
        wanted = self.size_px * unit
        return wanted if self.largest is None else min(wanted, self.largest)


@dataclass(frozen=True)
class Arrow:
    """From ``tail`` to ``head``. ``bow`` is how far its middle stands to the left of the straight way."""

    tail: Point
    head: Point
    bow: float = 0.0
    colour: Role = Role.INK
    line_px: float = 1.5

    def __post_init__(self) -> None:
        _finite("arrow", *self.tail, *self.head, self.bow)
        _not_negative("arrow.line_px", self.line_px)


@dataclass(frozen=True)
class Placement:
    """Turn by ``angle_rad`` about the origin, then shift by (x, y)."""

    x: float = 0.0
    y: float = 0.0
    angle_rad: float = 0.0

    def __post_init__(self) -> None:
        _finite("placement", self.x, self.y, self.angle_rad)


@dataclass(frozen=True)
class Group:
    """``items`` painted once for every placement. ``clip`` (x0, y0, x1, y1) is in the coordinates outside the group."""

    items: tuple[Item, ...]
    placements: tuple[Placement, ...] = (Placement(),)
    fade: float = 1.0
    clip: tuple[float, float, float, float] | None = None

    def __post_init__(self) -> None:
        if not 0.0 <= self.fade <= 1.0:
            raise _refuse("a group cannot be faded so", "group.fade", self.fade, "0 to 1")
        if self.clip is not None:
            _finite("group.clip", *self.clip)


Item = Path | Disc | RingArc | Text | Arrow | Group


@dataclass(frozen=True)
class Picture:
    """A window ``view`` (x0, y0, x1, y1) of the drawing plane, what is on it, and what it is in words."""

    view: tuple[float, float, float, float]
    items: tuple[Item, ...]
    title: str
    description: str

    def __post_init__(self) -> None:
        _finite("picture.view", *self.view)
        x0, y0, x1, y1 = self.view
        if x1 <= x0 or y1 <= y0:
            raise _refuse("the window of a picture is empty", "picture.view", self.view, "x0 < x1 and y0 < y1")


_KINDS: dict[str, type] = {
    "path": Path,
    "disc": Disc,
    "ring_arc": RingArc,
    "text": Text,
    "arrow": Arrow,
    "group": Group,
}
_NAMES = {kind: name for name, kind in _KINDS.items()}
_FIELDS = {name: frozenset(field.name for field in fields(kind)) for name, kind in _KINDS.items()}


def item_json(item: Item) -> dict[str, Any]:
    """The JSON form of one primitive."""
    out: dict[str, Any] = {"kind": _NAMES[type(item)]}
    for field in fields(item):
        value = getattr(item, field.name)
        if field.default is MISSING or value != field.default:
            out[field.name] = _field_json(field.name, value)
    return out


def _field_json(name: str, value: Any) -> Any:
    if name == "loops":
        return [[number for point in loop for number in point] for loop in value]
    if name == "items":
        return [item_json(item) for item in value]
    if name == "placements":
        return [[place.x, place.y, place.angle_rad] for place in value]
    if isinstance(value, tuple):
        return list(value)
    return str(value) if isinstance(value, StrEnum) else value


def picture_json(picture: Picture) -> dict[str, Any]:
    """The JSON form of a picture: view, items, title, description."""
    return {
        "view": list(picture.view),
        "items": [item_json(item) for item in picture.items],
        "title": picture.title,
        "description": picture.description,
    }


def _points(flat: Iterable[float]) -> tuple[Point, ...]:
    numbers = [float(number) for number in flat]
    if len(numbers) % 2:
        raise _refuse("a flat list of points has an odd length", "path.loops", len(numbers), "x and y in turn")
    return tuple(zip(numbers[::2], numbers[1::2], strict=True))


def _pair(value: Iterable[float]) -> tuple[float, ...]:
    return tuple(float(number) for number in value)


_READ: dict[str, Callable[[Any], Any]] = {
    "loops": lambda value: tuple(_points(loop) for loop in value),
    "items": lambda value: tuple(item_from_json(item) for item in value),
    "placements": lambda value: tuple(Placement(*place) for place in value),
    "clip": lambda value: None if value is None else _pair(value),
    "centre": _pair,
    "at": _pair,
    "tail": _pair,
    "head": _pair,
    "fill": lambda value: None if value is None else Role(value),
    "hatch": lambda value: None if value is None else Role(value),
    "line": lambda value: None if value is None else Role(value),
    "colour": Role,
    "anchor": Anchor,
}


def item_from_json(data: Mapping[str, Any]) -> Item:
    """A primitive from its JSON form. Raises LobewrightError for an unknown kind, field, role or a bad number."""
    kind = data.get("kind")
    if kind not in _KINDS:
        raise _refuse("this is no primitive of a picture", "kind", kind, "one of " + ", ".join(_KINDS))
    values = {name: value for name, value in data.items() if name != "kind"}
    known = _FIELDS[kind]
    for name in values:
        if name not in known:
            raise _refuse(f"a {kind} has no such field", f"{kind}.{name}", values[name], ", ".join(sorted(known)))
    try:
        read = {name: _READ[name](value) if name in _READ else value for name, value in values.items()}
        return _KINDS[kind](**read)
    except (TypeError, ValueError) as error:
        raise _refuse(f"a {kind} cannot be read ({error})", kind, values, "the fields of display lists") from error


def picture_from_json(data: Mapping[str, Any]) -> Picture:
    """A picture from its JSON form."""
    for name in ("view", "items", "title", "description"):
        if name not in data:
            raise _refuse("a picture lacks a field", f"picture.{name}", None, "view, items, title, description")
    view = _pair(data["view"])
    if len(view) != 4:
        raise _refuse("the window of a picture has four numbers", "picture.view", list(view), "x0, y0, x1, y1")
    items = tuple(item_from_json(item) for item in data["items"])
    return Picture((view[0], view[1], view[2], view[3]), items, str(data["title"]), str(data["description"]))
