"""The rack model in card: two toothed strips that slide on each other under a window that stands for the wedge.

Nothing bends here: teeth are printed, and under the window's line a tooth is brought to a space by hand. True to scale, with a
check bar of 100 mm. One drawing unit is one millimetre of paper.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

from lobewright.assessment.results import Assessment
from lobewright.errors import DesignFault, Fault
from lobewright.make.card_words import ENGLISH, CardWords
from lobewright.make.rack_design import MOST_PITCH_MM, RackRow, Racks, racks
from lobewright.motion import FLEXIBLE
from lobewright.picture.display import Anchor, Arrow, Disc, Item, Path, Picture, Point, Text
from lobewright.picture.palette import Role

CHECK_MM = 100
EDGE_MM, END_MM = 12.0, 18.0
HELD_DEEP_MM, MOVING_DEEP_MM = 24.0, 20.0
TOOTH_SHARE, FLAT_SHARE, SLANT_SHARE = 0.5, 0.26, 0.12
"""Printed teeth: height, half of their foot and its slant over the pitch."""
BAR_HIGH_MM = 3.0
MOST_LEFT_MM = 36.0
"""Where parts begin at most, so that the steps beside the wedge card stay on the sheet."""
MARKS, NUMBERED = 5, 10
"""Places to read at; every so many teeth have a number."""
TWO_MOVE = "two strips of card cannot show a drive whose rings both move against the flexible ring"


@dataclass(frozen=True)
class Paper:
    """A sheet lying on its long side, mm, and the pitch that fits it best."""

    name: str
    width_mm: float
    height_mm: float
    best_pitch_mm: float

    @property
    def size(self) -> float:
        """Depths and letters over those of A4."""
        return self.height_mm / PAPERS[0].height_mm


PAPERS = (Paper("a4", 297.0, 210.0, 4.0), Paper("a3", 420.0, 297.0, MOST_PITCH_MM))


@dataclass(frozen=True)
class _Edge:
    """One toothed edge: pitch, whether it is cut into the card from below (spaces) or stands up (teeth), and its rack's name."""

    pitch_mm: float
    spaces: bool
    name: str

    def put_in(self, words: CardWords) -> dict[str, str]:
        return {"name": self.name, "pitch": words.number(self.pitch_mm, 3)}


def paper_racks(a: Assessment, paper: Paper) -> Racks:
    """Pitches and travel for a sheet. Raises DesignFault where none fit or where two rows of other counts are in play."""
    room = paper.width_mm - 2 * EDGE_MM - 2 * END_MM
    numbers = racks(a.design, room, paper.best_pitch_mm)
    if numbers.speeds[numbers.read] != numbers.speeds[FLEXIBLE] and FLEXIBLE not in (numbers.fixed, numbers.read):
        allowed = "a ring with the strip's count"
        raise DesignFault([Fault(TWO_MOVE, "rigid_ring.teeth", value=numbers.read, allowed=allowed)])
    return numbers


def _row(numbers: Racks) -> RackRow:
    """The row whose teeth and spaces are shown: that of the rack that moves against the strip."""
    wanted = numbers.read if numbers.fixed == FLEXIBLE else numbers.fixed
    return next(row for row in numbers.rows if row.name == wanted)


def _edges(numbers: Racks) -> tuple[_Edge, _Edge]:
    """Held and moving edge."""
    row = _row(numbers)
    rack = _Edge(row.rack_pitch_mm, True, row.name)
    strip = _Edge(row.strip_pitch_mm, False, row.name)
    return (strip, rack) if numbers.fixed == FLEXIBLE else (rack, strip)


@dataclass(frozen=True)
class Mark:
    """A place to stop at: the number that stands on the held strip, and how far wedge and moving strip have gone there, mm."""

    number: int
    in_mm: float
    out_mm: float


def marks(numbers: Racks) -> tuple[Mark, ...]:
    """Five places at which the thread lies over the middle of a space (or tooth) of the held strip; numbered ones where the way
    is long enough for five of these."""
    pitch, share = _edges(numbers)[0].pitch_mm, float(numbers.travel_out_mm / numbers.travel_in_mm)
    step = min(NUMBERED, int(float(numbers.travel_in_mm) / pitch + 1e-9) // MARKS)
    return tuple(Mark(n, n * pitch, n * pitch * share) for n in range(step, step * MARKS + 1, step)) if step else ()


def counts_name(numbers: Racks, words: CardWords = ENGLISH) -> str:
    """What the numbers on the held strip count."""
    return _counts(_edges(numbers)[0], words)


def _box(x: float, y: float, wide: float, high: float, **ink: Any) -> Path:
    return Path((((x, y), (x + wide, y), (x + wide, y + high), (x, y + high)),), **ink)


def _cut(loop: tuple[Point, ...]) -> Path:
    return Path((loop,), line=Role.INK, line_px=1.0)


def _teeth(edge: _Edge, x: float, y: float, low: float, high: float, up: float, named: str) -> list[Item]:
    """Printed teeth along an edge at y that point to ``up`` (±1), number 0 about x, numbered at every tenth; ``named``: what the
    numbers count."""
    p, items, shapes = edge.pitch_mm, [], []
    foot, tip, tall = FLAT_SHARE * p, (FLAT_SHARE - SLANT_SHARE) * p, TOOTH_SHARE * p * up
    role = Role.RING_A if edge.spaces else Role.FLEXIBLE
    for n in range(math.ceil((low + foot) / p), math.floor((high - foot) / p) + 1):
        at = x + n * p
        # Both end at the cut edge: spaces are open there, teeth have their tips there.
        base, top = (y, y + tall) if edge.spaces else (y + tall, y)
        shapes.append(((at - foot, base), (at + foot, base), (at + tip, top), (at - tip, top)))
        if n % NUMBERED == 0 and n >= 0:
            away = y + up * (abs(tall) + 2.2) - (0.0 if up > 0 else 2.6)
            items.append(Text((at, away), f"{n}", 10.0, Role.INK, Anchor.MIDDLE, strong=True))
            if n == 0:
                items.append(Text((at - END_MM + 2.0, away), named, 9.0, Role.INK))
    fill = Role.PAPER if edge.spaces else role
    return [Path(tuple(shapes), fill=fill, line=role, line_px=0.7), *items]


def _counts(edge: _Edge, words: CardWords) -> str:
    return words.space_number if edge.spaces else words.tooth_number


def _held(numbers: Racks, x0: float, y: float, wide: float, deep: float, words: CardWords) -> list[Item]:
    """The held strip: teeth at its lower edge, the wedge's scale of mm at its upper one, places for two pins."""
    edge, way = _edges(numbers)[0], float(numbers.travel_in_mm)
    zero = x0 + END_MM
    role = Role.RING_A_SOFT if edge.spaces else Role.FLEXIBLE_SOFT
    top = y + deep
    items: list[Item] = [
        _box(x0, y, wide, deep, fill=role, line=Role.INK, line_px=1.0),
        *_teeth(edge, zero, y, -END_MM, way + END_MM, 1.0, _counts(edge, words)),
    ]
    marks = []
    for mm in range(math.floor(way) + 1):
        marks.append(((zero + mm, top), (zero + mm, top - (4.0 if mm % 10 == 0 else 3.0 if mm % 5 == 0 else 1.8))))
        if mm % 20 == 0:
            items.append(Text((zero + mm, top - 7.2), f"{mm}", 10.0, Role.INK, Anchor.MIDDLE))
    items.append(Path(tuple(marks), closed=False, line=Role.INK, line_px=0.6))
    items.append(Text((x0 + 2.0, top - 7.2), words.wedge_scale, 9.0, Role.INK))
    named = (words.held_rack if edge.spaces else words.held_strip).format(**edge.put_in(words))
    items.append(Text((zero + way / 2, y + deep / 2 - 2.4), named, 11.0, Role.INK, Anchor.MIDDLE, strong=True))
    for x in (x0 + 6.0, x0 + wide - 6.0):
        items += [Disc((x, y + deep / 2), 1.6, line=Role.INK), Disc((x, y + deep / 2), 0.3, Role.INK)]
    return items


def _moving(numbers: Racks, x0: float, y: float, wide: float, deep: float, words: CardWords) -> list[Item]:
    """The moving strip: teeth at its upper edge, a scale of its own travel at its left end."""
    edge, way = _edges(numbers)[1], float(numbers.travel_in_mm)
    role = Role.RING_A_SOFT if edge.spaces else Role.FLEXIBLE_SOFT
    zero, top = x0 + END_MM, y + deep
    named = (words.moves_rack if edge.spaces else words.moves_strip).format(**edge.put_in(words))
    return [
        _box(x0, y, wide, deep, fill=role, line=Role.INK, line_px=1.0),
        *_teeth(edge, zero, top, -END_MM, way + END_MM, -1.0, _counts(edge, words)),
        Text((zero + way / 2, y + 4.0), named, 11.0, Role.INK, Anchor.MIDDLE, strong=True),
        Path((((zero, y), (zero, y + 5.0)),), closed=False, line=Role.TOOTH_MARK, line_px=1.6),
        Text((zero + 1.6, y + 1.2), words.read_here, 9.0, Role.TOOTH_MARK),
    ]


def _bed(numbers: Racks, x0: float, y: float, wide: float, words: CardWords) -> list[Item]:
    """What both strips lie on: a scale of mm below the moving strip, folded up at its lower edge as a stop."""
    zero = x0 + END_MM
    out = math.ceil(numbers.travel_out_mm) + 2
    marks, items = [], []
    for mm in range(-out, out + 1):
        marks.append(((zero + mm, y + 13.0), (zero + mm, y + 13.0 - (4.0 if mm % 5 == 0 else 2.2))))
        if mm % 5 == 0:
            items.append(Text((zero + mm, y + 6.6), words.number(mm), 9.0, Role.INK, Anchor.MIDDLE))
    return [
        _box(x0, y, wide, 13.0, line=Role.INK, line_px=1.0),
        Path(tuple(marks), closed=False, line=Role.INK, line_px=0.6),
        *items,
        Text((zero + out + 3.0, y + 8.6), words.travel_scale, 9.0, Role.INK),
        Text((x0 + wide / 2, y + 5.0), words.ledge, 10.0, Role.INK, Anchor.MIDDLE),
    ]


def _window(numbers: Racks, x: float, y: float, size: float, words: CardWords) -> list[Item]:
    """The card that stands for the wedge: a window over the line where the strips meet, folded over the held strip."""
    wide, high = 46.0 * size, (HELD_DEEP_MM + 16.0) * size
    hole = min(7.0 * max(edge.pitch_mm for edge in _edges(numbers)), wide - 10.0)
    middle, sill, tall = x + wide / 2, y + 9.0 * size, 14.0 * size
    return [
        _box(x, y, wide, high + 10.0 * size, fill=Role.GENERATOR_SOFT, line=Role.INK, line_px=1.0),
        _box(middle - hole / 2, sill, hole, tall, fill=Role.PAPER, line=Role.INK, line_px=1.0),
        Path((((middle, sill), (middle, sill + tall)),), closed=False, line=Role.TOOTH_MARK, line_px=1.2),
        Path((((x, y + high), (x + wide, y + high)),), closed=False, line=Role.QUIET, line_px=0.9, dash_px=5.0),
        Path((((middle, y + high), (middle, y + high - 5.0)),), closed=False, line=Role.TOOTH_MARK, line_px=1.6),
        Text((middle, y + high - 9.5 * size), words.wedge, 11.0, Role.INK, Anchor.MIDDLE, strong=True),
        Text((middle, y + high + 3.4 * size), words.fold, 10.0, Role.QUIET, Anchor.MIDDLE),
        Text((middle, y + 5.6 * size), words.window_1, 8.5, Role.INK, Anchor.MIDDLE),
        Text((middle, y + 2.4 * size), words.window_2, 8.5, Role.INK, Anchor.MIDDLE),
    ]


def _check_bar(x: float, y: float, words: CardWords) -> list[Item]:
    ticks = [((x + mm, y), (x + mm, y + (BAR_HIGH_MM if mm % 50 == 0 else 2.0))) for mm in range(0, CHECK_MM + 1, 10)]
    return [
        Path((((x, y), (x + CHECK_MM, y)), *ticks), closed=False, line=Role.INK, line_px=1.0),
        Text((x + CHECK_MM + 3.0, y), words.check.format(bar=CHECK_MM), 10.0, Role.INK),
    ]


def instructions(numbers: Racks, words: CardWords = ENGLISH) -> tuple[str, ...]:
    """What to do with the parts, step by step."""
    put_in = {
        "into": words.number(float(numbers.travel_in_mm)),
        "out": words.number(float(numbers.travel_out_mm)),
        "way": words.with_wedge if numbers.same_sense else words.against_wedge,
    }
    steps = (words.step_1, words.step_2, words.step_3, words.step_4, words.step_5)
    return tuple(step.format(**put_in) for step in steps)


def paper_sheet(a: Assessment, paper: Paper, words: CardWords = ENGLISH) -> Picture:
    """One sheet to cut out, its window the sheet itself. Raises what `paper_racks` raises."""
    numbers = paper_racks(a, paper)
    wide = float(numbers.travel_in_mm) + 2 * END_MM
    ratio = words.ratio(numbers.ratio)
    size = paper.size
    x0, top = min((paper.width_mm - wide) / 2, MOST_LEFT_MM * size), paper.height_mm - EDGE_MM
    depths = (22.0 + HELD_DEEP_MM) * size, 8.0 + MOVING_DEEP_MM * size, 8.0 + 13.0, (12.0 + HELD_DEEP_MM + 26.0) * size
    air = (top - EDGE_MM - sum(depths)) / len(depths)  # what the parts leave of the sheet, shared out between them
    held, moving, bed, low = (top - sum(depths[: k + 1]) - (k + 1) * air for k in range(len(depths)))
    way = held + HELD_DEEP_MM * size + 4.0
    x_text = x0 + 54.0 * size
    lines, step = instructions(numbers, words), 7.0 * size
    first = low + step * len(lines) + 6.0 * size
    title = words.title.format(design=a.design.name)
    below = f"{ratio}. {why_text(numbers, words)}"
    items: list[Item] = [
        Text((x0, top - 5.0), title, 20.0, Role.INK, strong=True),
        Text((x0, top - 5.0 - 6.5 * size), below, 11.0, Role.QUIET),
        *_held(numbers, x0, held, wide, HELD_DEEP_MM * size, words),
        *_moving(numbers, x0, moving, wide, MOVING_DEEP_MM * size, words),
        *_bed(numbers, x0, bed, wide, words),
        *_window(numbers, x0, low, size, words),
        *(Text((x_text, first - k * step), f"{k + 1}  {line}", 10.5, Role.INK) for k, line in enumerate(lines)),
        *_check_bar(x_text, low, words),
        Arrow((x0 + wide - 42.0, way), (x0 + wide - 8.0, way), colour=Role.GENERATOR, line_px=2.0),
        Text((x0 + wide - 25.0, way + 2.0), words.wedge, 10.0, Role.INK, Anchor.MIDDLE),
    ]
    sized = tuple(replace(one, size_px=one.size_px * size) if isinstance(one, Text) else one for one in items)
    told = words.description.format(ratio=ratio)
    return Picture((0.0, 0.0, paper.width_mm, paper.height_mm), sized, title, told)


def why_text(numbers: Racks, words: CardWords = ENGLISH) -> str:
    """Whether the card has the drive's own counts."""
    if numbers.fewer_teeth:
        return words.fewer.format(own=words.ratio(abs(numbers.own_ratio)), fewer=numbers.fewer_teeth)
    return words.same
