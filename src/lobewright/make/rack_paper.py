"""The rack model in card: two toothed strips that slide on each other under a window that stands for the roller.

Nothing bends here: teeth are printed, and under the window's line a tooth is brought to a space by hand. True to scale, with a
check bar of 100 mm. One drawing unit is one millimetre of paper.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from lobewright.assessment.results import Assessment
from lobewright.errors import DesignFault, Fault
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
    """One toothed edge: pitch, whether it is cut into the card from below (spaces) or stands up (teeth), and its words."""

    pitch_mm: float
    spaces: bool
    words: str

    @property
    def named(self) -> str:
        return "spaces" if self.spaces else "teeth"


def paper_racks(a: Assessment, paper: Paper) -> Racks:
    """Pitches and travel for a sheet. Raises DesignFault where none fit or where two rows of other counts are in play."""
    room = paper.width_mm - 2 * EDGE_MM - 2 * END_MM
    numbers = racks(a.design, room, paper.best_pitch_mm)
    if numbers.speeds[numbers.read] != numbers.speeds[FLEXIBLE] and FLEXIBLE not in (numbers.fixed, numbers.read):
        what = "two strips of card cannot show a drive whose rings both move against the flexible ring"
        raise DesignFault(
            [Fault(what, "rigid_ring.teeth", value=numbers.read, allowed="a ring with the strip's count")]
        )
    return numbers


def _row(numbers: Racks) -> RackRow:
    """The row whose teeth and spaces are shown: that of the rack that moves against the strip."""
    wanted = numbers.read if numbers.fixed == FLEXIBLE else numbers.fixed
    return next(row for row in numbers.rows if row.name == wanted)


def _edges(numbers: Racks) -> tuple[_Edge, _Edge]:
    """Held and moving edge."""
    row = _row(numbers)
    rack = _Edge(row.rack_pitch_mm, True, f"rack {row.name}")
    strip = _Edge(row.strip_pitch_mm, False, "flexible strip")
    return (strip, rack) if numbers.fixed == FLEXIBLE else (rack, strip)


def _box(x: float, y: float, wide: float, high: float, **ink: object) -> Path:
    return Path((((x, y), (x + wide, y), (x + wide, y + high), (x, y + high)),), **ink)  # type: ignore[arg-type]


def _cut(loop: tuple[Point, ...]) -> Path:
    return Path((loop,), line=Role.INK, line_px=1.0)


def _teeth(edge: _Edge, x: float, y: float, low: float, high: float, up: float) -> list[Item]:
    """Printed teeth along an edge at y that point to ``up`` (±1), number 0 about x, numbered at every tenth."""
    p, items, shapes = edge.pitch_mm, [], []
    foot, tip, tall = FLAT_SHARE * p, (FLAT_SHARE - SLANT_SHARE) * p, TOOTH_SHARE * p * up
    role = Role.RING_A if edge.spaces else Role.FLEXIBLE
    for n in range(math.ceil((low + foot) / p), math.floor((high - foot) / p) + 1):
        at = x + n * p
        # Both end at the cut edge: spaces are open there, teeth have their tips there.
        base, top = (y, y + tall) if edge.spaces else (y + tall, y)
        shapes.append(((at - foot, base), (at + foot, base), (at + tip, top), (at - tip, top)))
        if n % 10 == 0 and n >= 0:
            away = y + up * (abs(tall) + 2.2) - (0.0 if up > 0 else 2.6)
            items.append(Text((at, away), f"{n}", 10.0, Role.INK, Anchor.MIDDLE, strong=True))
            if n == 0:
                items.append(
                    Text((at - END_MM + 2.0, away), "space no." if edge.spaces else "tooth no.", 9.0, Role.INK)
                )
    fill = Role.PAPER if edge.spaces else role
    return [Path(tuple(shapes), fill=fill, line=role, line_px=0.7), *items]


def _held(numbers: Racks, x0: float, y: float, wide: float, deep: float) -> list[Item]:
    """The held strip: teeth at its lower edge, the roller's scale of mm at its upper one, places for two pins."""
    edge, way = _edges(numbers)[0], float(numbers.travel_in_mm)
    zero = x0 + END_MM
    role = Role.RING_A_SOFT if edge.spaces else Role.FLEXIBLE_SOFT
    top = y + deep
    items: list[Item] = [
        _box(x0, y, wide, deep, fill=role, line=Role.INK, line_px=1.0),
        *_teeth(edge, zero, y, -END_MM, way + END_MM, 1.0),
    ]
    marks = []
    for mm in range(math.floor(way) + 1):
        marks.append(((zero + mm, top), (zero + mm, top - (4.0 if mm % 10 == 0 else 3.0 if mm % 5 == 0 else 1.8))))
        if mm % 20 == 0:
            items.append(Text((zero + mm, top - 7.2), f"{mm}", 10.0, Role.INK, Anchor.MIDDLE))
    items.append(Path(tuple(marks), closed=False, line=Role.INK, line_px=0.6))
    items.append(Text((x0 + 2.0, top - 7.2), "roller, mm", 9.0, Role.INK))
    words = f"HELD: {edge.words}, {edge.named} {edge.pitch_mm:.3f} mm apart"
    items.append(Text((zero + way / 2, y + deep / 2 - 2.4), words, 11.0, Role.INK, Anchor.MIDDLE, strong=True))
    for x in (x0 + 6.0, x0 + wide - 6.0):
        items += [Disc((x, y + deep / 2), 1.6, line=Role.INK), Disc((x, y + deep / 2), 0.3, Role.INK)]
    return items


def _moving(numbers: Racks, x0: float, y: float, wide: float, deep: float) -> list[Item]:
    """The moving strip: teeth at its upper edge, a scale of its own travel at its left end."""
    edge, way = _edges(numbers)[1], float(numbers.travel_in_mm)
    role = Role.RING_A_SOFT if edge.spaces else Role.FLEXIBLE_SOFT
    zero, top = x0 + END_MM, y + deep
    words = f"MOVES: {edge.words}, {edge.named} {edge.pitch_mm:.3f} mm apart"
    return [
        _box(x0, y, wide, deep, fill=role, line=Role.INK, line_px=1.0),
        *_teeth(edge, zero, top, -END_MM, way + END_MM, -1.0),
        Text((zero + way / 2, y + 4.0), words, 11.0, Role.INK, Anchor.MIDDLE, strong=True),
        Path((((zero, y), (zero, y + 5.0)),), closed=False, line=Role.TOOTH_MARK, line_px=1.6),
        Text((zero + 1.6, y + 1.2), "read its travel here", 9.0, Role.TOOTH_MARK),
    ]


def _bed(numbers: Racks, x0: float, y: float, wide: float) -> list[Item]:
    """What both strips lie on: a scale of mm below the moving strip, folded up at its lower edge as a stop."""
    zero = x0 + END_MM
    out = math.ceil(numbers.travel_out_mm) + 2
    marks, items = [], []
    for mm in range(-out, out + 1):
        marks.append(((zero + mm, y + 13.0), (zero + mm, y + 13.0 - (4.0 if mm % 5 == 0 else 2.2))))
        if mm % 5 == 0:
            items.append(Text((zero + mm, y + 6.6), f"{mm}".replace("-", "−"), 9.0, Role.INK, Anchor.MIDDLE))
    words = "LEDGE: the moving strip slides along its upper edge; glue or pin it down"
    return [
        _box(x0, y, wide, 13.0, line=Role.INK, line_px=1.0),
        Path(tuple(marks), closed=False, line=Role.INK, line_px=0.6),
        *items,
        Text((zero + out + 3.0, y + 8.6), "travel of the moving strip, mm", 9.0, Role.INK),
        Text((x0 + wide / 2, y + 5.0), words, 10.0, Role.INK, Anchor.MIDDLE),
    ]


def _window(numbers: Racks, x: float, y: float, size: float) -> list[Item]:
    """The card that stands for the roller: a window over the line where the strips meet, folded over the held strip."""
    wide, high = 46.0 * size, (HELD_DEEP_MM + 16.0) * size
    hole = min(7.0 * max(edge.pitch_mm for edge in _edges(numbers)), wide - 10.0)
    middle, sill, tall = x + wide / 2, y + 9.0 * size, 14.0 * size
    return [
        _box(x, y, wide, high + 10.0 * size, fill=Role.GENERATOR_SOFT, line=Role.INK, line_px=1.0),
        _box(middle - hole / 2, sill, hole, tall, fill=Role.PAPER, line=Role.INK, line_px=1.0),
        Path((((middle, sill), (middle, sill + tall)),), closed=False, line=Role.TOOTH_MARK, line_px=1.2),
        Path((((x, y + high), (x + wide, y + high)),), closed=False, line=Role.QUIET, line_px=0.9, dash_px=5.0),
        Path((((middle, y + high), (middle, y + high - 5.0)),), closed=False, line=Role.TOOTH_MARK, line_px=1.6),
        Text((middle, y + high - 9.5 * size), "roller", 11.0, Role.INK, Anchor.MIDDLE, strong=True),
        Text((middle, y + high + 3.4 * size), "fold back", 10.0, Role.QUIET, Anchor.MIDDLE),
        Text((middle, y + 5.6 * size), "cut the window out; tape a thread", 8.5, Role.INK, Anchor.MIDDLE),
        Text((middle, y + 2.4 * size), "over it where the red line is", 8.5, Role.INK, Anchor.MIDDLE),
    ]


def _check_bar(x: float, y: float) -> list[Item]:
    ticks = [((x + mm, y), (x + mm, y + (BAR_HIGH_MM if mm % 50 == 0 else 2.0))) for mm in range(0, CHECK_MM + 1, 10)]
    return [
        Path((((x, y), (x + CHECK_MM, y)), *ticks), closed=False, line=Role.INK, line_px=1.0),
        Text(
            (x + CHECK_MM + 3.0, y), f"{CHECK_MM} mm: measure it. If it is not, print again at 100 %.", 10.0, Role.INK
        ),
    ]


def instructions(numbers: Racks) -> tuple[str, ...]:
    """What is printed on the sheet beside the parts."""
    way, out = f"{float(numbers.travel_in_mm):g}", f"{float(numbers.travel_out_mm):g}"
    side = "to the right, with the roller" if numbers.same_sense else "to the left, against the roller"
    return (
        "1  Print at 100 % on card, cut along full lines, fold along dashed ones.",
        "2  Pin the held strip to a board with two pins. Butt the moving strip to it from below, zeros together, then the ledge.",
        "3  Hang the roller card over the held strip, its upper red mark on 0 mm. A tooth faces a space under the thread.",
        "4  Move the roller some spaces on. Shift the moving strip until tooth and space face each other under the thread again.",
        f"5  Go on to {way} mm, tooth by tooth, never skipping one. Expect: the strip has gone {out} mm {side}.",
    )


def paper_sheet(a: Assessment, paper: Paper) -> Picture:
    """One sheet to cut out, its window the sheet itself. Raises what `paper_racks` raises."""
    numbers = paper_racks(a, paper)
    wide = float(numbers.travel_in_mm) + 2 * END_MM
    x0, top = (paper.width_mm - wide) / 2, paper.height_mm - EDGE_MM
    ratio = f"{'−' if numbers.ratio < 0 else ''}{float(abs(numbers.ratio)):g} : 1"
    size = paper.size
    held = top - 22.0 * size - HELD_DEEP_MM * size
    moving = held - 8.0 - MOVING_DEEP_MM * size
    bed = moving - 8.0 - 13.0
    low = bed - 12.0 * size - (HELD_DEEP_MM + 26.0) * size
    x_text = x0 + 54.0 * size
    lines, step = instructions(numbers), 7.0 * size
    first = low + step * len(lines) + 6.0 * size
    title = f"The drive laid flat: {a.design.name}"
    items: list[Item] = [
        Text((x0, top - 5.0), title, 20.0, Role.INK, strong=True),
        Text((x0, top - 5.0 - 6.5 * size), f"{ratio}. {why_text(numbers)}", 11.0, Role.QUIET),
        *_held(numbers, x0, held, wide, HELD_DEEP_MM * size),
        *_moving(numbers, x0, moving, wide, MOVING_DEEP_MM * size),
        *_bed(numbers, x0, bed, wide),
        *_window(numbers, x0, low, size),
        *(Text((x_text, first - k * step), line, 10.5, Role.INK) for k, line in enumerate(lines)),
        *_check_bar(x_text, low),
        Arrow((x0 + wide - 42.0, top - 9.0), (x0 + wide - 8.0, top - 9.0), colour=Role.GENERATOR, line_px=2.0),
        Text((x0 + wide - 25.0, top - 6.5), "roller", 10.0, Role.INK, Anchor.MIDDLE),
    ]
    sized = tuple(replace(one, size_px=one.size_px * size) if isinstance(one, Text) else one for one in items)
    words = (
        f"Parts of a card model to cut out, true to scale: held strip, moving strip, ledge, roller card; ratio {ratio}."
    )
    return Picture((0.0, 0.0, paper.width_mm, paper.height_mm), sized, title, words)


def why_text(numbers: Racks) -> str:
    if numbers.fewer_teeth:
        return f"The drive has {float(abs(numbers.own_ratio)):g} : 1; {numbers.fewer_teeth} teeth fewer on every count here."
    return "The drive's own ratio and tooth counts."
