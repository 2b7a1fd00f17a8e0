"""Moving pictures, said once for browser and files.

A *score* is a display list (see :mod:`lobewright.picture.display`, in its JSON form) in which any number may follow one
variable u from 0 to 1, the share of the way through. Whoever plays it (the page module ``score.js``, the painters of files
by way of :meth:`Score.at`) puts numbers in and paints; nobody but the author of a score knows what it shows.

A number that follows is an object, a *course*:

    {"v": shift, "s": slope, "t": table, "m": scale, "a": start, "k": rate, "l": 1}

    value(u) = v + s·u + m·table(a + k·u)

where a table is a list of N numbers read with straight pieces between them: without ``l`` its first number stands at 0, its
last at 1, and places beyond give the ends; with ``l`` (a loop) number i stands at i/N and places repeat with period 1. All
but one of v, s, t may be missing (0; scale 1, start 0, rate 1).

Three more things stand for parts of a display list:

    {"kind": "stages", "at": number, "loops": [[loop, …], …], …}   a path whose points go from stage to stage
    {"words": "turned {0}°", "numbers": [{"of": number, "places": 1, "sign": true}, …]}   a text with figures in it
    {"row": n, "of": part}   n parts alike in a list, one after another

In part i of a row (from 0) a course that has ``"r": {"v": …, "a": …}`` adds i/n of what stands there to its own v, s, m, a, k:
a whole ring of teeth is one placement. ``at`` runs from 0 (first stage) to 1 (last); all stages have the same loops with the same
number of points. Figures are written with the marks of the score's language. A group that is faded away (fade 0 or less) is not
painted, one beyond 1 is whole. A group in the list of a score itself may be marked ``"answers": true``: it is left out while a
question that it would answer waits.

The page's twin of :meth:`Score.at` is ``score.js``; shared vectors hold both to the same numbers.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from decimal import ROUND_HALF_UP, Context, Decimal
from fractions import Fraction
from typing import Any

from lobewright.errors import Fault, LobewrightError
from lobewright.picture.display import Item, Picture, item_json, picture_from_json
from lobewright.picture.page import rounded

Data = dict[str, Any]
Number = float | Data
"""A plain number, or a course."""
PLACES = 6
"""Places after the point that numbers of a score keep."""
ANSWERS = "answers"
"""Marks a group that answers the question of a take."""
PLAIN = frozenset((float, int, str, bool))
"""What stands for itself in a score."""
FINENESS = 5
"""Places that points of paths keep in a window one unit wide."""


def course(
    shift: float = 0.0,
    slope: float = 0.0,
    table: str = "",
    scale: float = 1.0,
    start: float = 0.0,
    rate: float = 1.0,
    loop: bool = False,
    row: Mapping[str, float] | None = None,
) -> Data:
    """A number that follows u: shift + slope·u + scale·table(start + rate·u). ``row``: what a whole row adds, by key."""
    out: Data = {"v": shift, "s": slope}
    if table:
        out |= {"t": table, "m": scale, "a": start, "k": rate}
        if loop:
            out["l"] = 1
    kept = {key: value for key, value in out.items() if key == "t" or value != {"m": 1.0, "k": 1.0}.get(key, 0.0)}
    if row:
        kept["r"] = dict(row)
    return kept or {"v": 0.0}


def plain(*items: Item) -> list[Data]:
    """Primitives that do not move, in their JSON form."""
    return [item_json(item) for item in items]


@dataclass(frozen=True)
class Marks:
    """How a language writes figures: the decimal mark, and the minus sign."""

    decimal: str = "."
    minus: str = "−"


NUDGE = 1 + 2**-51
"""By so much a number is made larger before it is rounded: 0.175 is a tie for who reads it, its binary form lies just below."""


def figure(value: float, places: int, marks: Marks, sign: bool = False) -> str:
    """A number as it is written: ``places`` after the mark, ties away from zero, no minus before zero, ``sign`` with a plus
    before what is above."""
    size = abs(value) if float(value).is_integer() else abs(value) * NUDGE
    text = str(Decimal(size).quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP, Context(prec=400)))
    zero = not text.strip("0.")
    before = "" if zero else marks.minus if value < 0 else "+" if sign else ""
    return before + text.replace(".", marks.decimal)


RATIO_PLACES = 2
"""Most places of a ratio that is told by a number."""


def ratio_figures(ratio: Fraction, marks: Marks) -> str:
    """A ratio as people write it, always exact: ``−50 : 1``, ``1.02 : 1`` or ``−1 : 50`` where two places do, else
    in whole numbers, ``−100 : 3``. Raises ZeroDivisionError for 0."""
    scale = 10**RATIO_PLACES
    upside = abs(ratio) < 1
    size = abs(1 / ratio if upside else ratio)
    if (size * scale).denominator == 1:
        places = next(n for n in range(RATIO_PLACES + 1) if (size * 10**n).denominator == 1)
        whole = figure(float(size), places, marks), "1"
    else:
        whole = str(size.numerator), str(size.denominator)
    first, second = whole[::-1] if upside else whole
    return f"{marks.minus if ratio < 0 else ''}{first} : {second}"


@dataclass(frozen=True)
class Figure:
    """A number within words: ``places`` after the mark, ``sign`` with a plus where it is above zero."""

    of: Number
    places: int = 0
    sign: bool = False


@dataclass(frozen=True)
class Words:
    """A line of text; ``{0}``, ``{1}``, … stand for its figures."""

    words: str
    numbers: tuple[Figure, ...] = ()


@dataclass(frozen=True)
class Reading:
    """A number to be read beside the picture while it moves. ``name`` is for programs that ask for it. ``remark``: words that go
    with it, smaller than the number; ``below_zero``: only where its figure is written with a minus."""

    name: str
    title: str
    shown: Words
    remark: str = ""
    below_zero: bool = False


@dataclass(frozen=True)
class Said:
    """A sentence that is said from ``since`` (u) on, until the next one: caption, spoken text, text alternative."""

    since: float
    words: str


@dataclass(frozen=True)
class Moment:
    """A place to stop at: ``name`` for lesson files, ``title`` for people."""

    name: str
    at: float
    title: str


@dataclass(frozen=True)
class Drag:
    """What a hand does to u: sliding by ``size`` drawing units along ``angle_rad``, or, ``turns``, turning once about
    ``centre`` anticlockwise for every ``size`` turns, carries u from 0 to 1. ``what`` names the thing that is held."""

    what: str
    size: float
    turns: bool = False
    angle_rad: float = 0.0
    centre: tuple[float, float] = (0.0, 0.0)

    def __post_init__(self) -> None:
        if not math.isfinite(self.size) or self.size == 0.0:
            raise _refuse("what a hand moves must go somewhere", "drag.size", self.size, "a finite number, not 0")


@dataclass(frozen=True)
class Score:
    """One moving picture. ``seconds``: how long it plays from 0 to 1; ``loop``: then it begins anew, else it stands still."""

    view: tuple[float, float, float, float]
    items: tuple[Data, ...]
    title: str
    description: str
    seconds: float
    tables: Mapping[str, Sequence[float]]
    drag: Drag | None = None
    readings: tuple[Reading, ...] = ()
    said: tuple[Said, ...] = ()
    moments: tuple[Moment, ...] = ()
    loop: bool = False
    marks: Marks = Marks()

    def __post_init__(self) -> None:
        if not self.seconds > 0.0:
            raise _refuse("a score plays for no time", "score.seconds", self.seconds, "more than 0 s")
        for name, table in self.tables.items():
            if not table or not all(math.isfinite(number) for number in table):
                raise _refuse("a table of a score cannot be read", f"score.tables.{name}", len(table), "finite numbers")
        for at in (*(one.at for one in self.moments), *(one.since for one in self.said)):
            if not 0.0 <= at <= 1.0:
                raise _refuse("a place in a score is outside", "score", at, "0 to 1")
        self.at(0.0)
        self.at(1.0)

    def number(self, value: Number, u: float, share: float = 0.0) -> float:
        """A number at u. ``share``: i/n in part i of a row."""
        return value if isinstance(value, (int, float)) else _value(value, self.tables, u, share)

    def words(self, words: Words, u: float, share: float = 0.0) -> str:
        """A line of text at u."""
        return words.words.format(*self._figures(words, u, share))

    def _figures(self, words: Words, u: float, share: float = 0.0) -> list[str]:
        return [figure(self.number(one.of, u, share), one.places, self.marks, one.sign) for one in words.numbers]

    def remark(self, reading: Reading, u: float) -> str:
        """What goes with a reading at u; nothing where it has none, or none there."""
        below = (shown.startswith(self.marks.minus) for shown in self._figures(reading.shown, u))
        return reading.remark if not reading.below_zero or any(below) else ""

    def told(self, reading: Reading, u: float) -> str:
        """A reading at u in one line, with its remark in brackets."""
        remark = self.remark(reading, u)
        return self.words(reading.shown, u) + (f" ({remark})" if remark else "")

    def caption(self, u: float) -> str:
        """What is said at u."""
        return next((one.words for one in reversed(self.said) if one.since <= u), "")

    def at(self, u: float, asked: bool = False) -> Picture:
        """The picture at u; ``asked``: while a question waits. Raises LobewrightError where the score is no display list with
        courses in it."""
        shown = {"view": list(self.view), "title": self.title, "description": self.description}
        items = [
            {key: value for key, value in item.items() if key != ANSWERS}
            for item in self.items
            if not (asked and item.get(ANSWERS))
        ]
        return picture_from_json(shown | {"items": self._listed(items, u, 0.0)})

    def _listed(self, values: Sequence[Any], u: float, share: float) -> list[Any]:
        """A list at u: rows laid out, what is faded away left out."""
        if PLAIN.issuperset(map(type, values)):  # points, most often
            return list(values)
        out = []
        for one in values:
            if isinstance(one, (dict, Mapping)) and "row" in one:
                count = _count(one["row"])
                out += [self._resolved(one["of"], u, i / count) for i in range(count)]
            else:
                out.append(self._resolved(one, u, share))
        return [done for done in out if done is not None]

    def _resolved(self, value: Any, u: float, share: float) -> Any:
        if type(value) in PLAIN:
            return value
        if isinstance(value, (dict, Mapping)):  # a dict is told at once, other mappings are asked for
            if "kind" not in value:
                if "words" in value:
                    return self.words(Words(value["words"], tuple(Figure(**one) for one in value["numbers"])), u, share)
                return _value(value, self.tables, u, share)
            if value["kind"] == "stages":
                value = _staged(value, self.number(value["at"], u, share))
            if value["kind"] == "group" and "fade" in value:
                fade = self.number(value["fade"], u, share)
                if fade <= 0.0:
                    return None
                value = {**value, "fade": min(fade, 1.0)}
            return {key: self._resolved(one, u, share) for key, one in value.items()}
        return self._listed(value, u, share) if isinstance(value, (list, tuple)) else value


def _refuse(what: str, place: str, value: object, allowed: str) -> LobewrightError:
    return LobewrightError([Fault(what, place=place, value=repr(value), allowed=allowed)])


def _count(count: object) -> int:
    if not isinstance(count, int) or isinstance(count, bool) or count < 0:
        raise _refuse("a row of a score cannot be laid out", "row", count, "a whole number, 0 or more")
    return count


def _value(one: Mapping[str, Any], tables: Mapping[str, Sequence[float]], u: float, share: float) -> float:
    more = one.get("r")

    def part(key: str, usual: float) -> float:
        return float(one.get(key, usual) + (share * more.get(key, 0.0) if more else 0.0))

    value = part("v", 0.0) + part("s", 0.0) * u
    if "t" in one:
        if one["t"] not in tables:
            raise _refuse("a score has no such table", "course.t", one["t"], ", ".join(sorted(tables)) or "none")
        value += part("m", 1.0) * _read(tables[one["t"]], part("a", 0.0) + part("k", 1.0) * u, "l" in one)
    return value


def _read(table: Sequence[float], place: float, loop: bool) -> float:
    """A table at a place, straight between its numbers."""
    count = len(table)
    at = (place - math.floor(place)) * count if loop else min(max(place, 0.0), 1.0) * (count - 1)
    first = min(math.floor(at), count - 1)
    second = (first + 1) % count if loop else min(first + 1, count - 1)
    return table[first] + (at - first) * (table[second] - table[first])


def _staged(item: Mapping[str, Any], at: float) -> Data:
    """A path between two stages."""
    stages = item["loops"]
    place = min(max(at, 0.0), 1.0) * (len(stages) - 1)
    first = min(math.floor(place), len(stages) - 1)
    second, share = min(first + 1, len(stages) - 1), place - first
    loops = [
        [a + share * (b - a) for a, b in zip(one, other, strict=True)]
        for one, other in zip(stages[first], stages[second], strict=True)
    ]
    return {**{key: value for key, value in item.items() if key != "at"}, "kind": "path", "loops": loops}


def score_json(score: Score) -> Data:
    """The JSON form of a score: what ``score.js`` plays. Numbers keep ``PLACES`` places, points of paths as many as make a step
    no more than a ten-thousandth of the window's width, a tenth of a pixel."""
    places = max(0, FINENESS - math.ceil(math.log10(score.view[2] - score.view[0])))
    return _coarse(rounded(asdict(score), PLACES), places)


def _coarse(value: Any, places: int, points: bool = False) -> Any:
    """Points of paths with fewer places, whole ones without a point."""
    if isinstance(value, Mapping):
        return {key: _coarse(one, places, points or key == "loops") for key, one in value.items()}
    if isinstance(value, (list, tuple)):
        return [_coarse(one, places, points) for one in value]
    if points and isinstance(value, float):
        value = round(value, places) + 0.0
        return int(value) if value.is_integer() else value
    return value
