"""Papers laid out on upright sheets of A4 and written as PDF: lines broken by the width of their letters, blocks from top to
bottom, what belongs together on one page. One drawing unit is one millimetre."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache

from lobewright.make.guide_letters import in_known_letters
from lobewright.picture.display import Item, Path, Picture, Text
from lobewright.picture.fitted import fitted
from lobewright.picture.palette import Role
from lobewright.picture.pdf import PX_MM, Page, known_letters, pdf, text_width_px
from lobewright.teach.document import Block, Bullets, Figure, Heading, Kept, NewPage, Para, Room, Table

WIDTH_MM, HEIGHT_MM = 210.0, 297.0
LEFT_MM, RIGHT_MM, TOP_MM, BOTTOM_MM = 18.0, 18.0, 16.0, 18.0
COLUMN_MM = WIDTH_MM - LEFT_MM - RIGHT_MM
BODY_PX, LEADING = 12.6, 1.38
SIZES_PX = {1: 23.0, 2: 16.0, 3: 13.6}
BEFORE_MM = {1: 0.0, 2: 5.0, 3: 3.0}
AFTER_MM = 1.6
WRITE_MM = 8.5
"""Between lines to write on: a hand's writing fits."""
FIGURE_MM, GAP_MM = 100.0, 6.0
"""Width of a figure beside text, and between both."""
FILM_PX, LEAST_PX = 960.0, 0.56
"""Pictures are drawn for that width in pixels; their letters and lines shrink with them, but no further than that."""
GLUE = "\u00a0"
UNIT = re.compile(r"\d (?:mm|N·mm|N·m|N|s|h|%|°|: 1)(?![a-z])")
"""A number stays with its unit."""
CELL_MM = 1.3
"""Around the text of a cell."""
INDENT_MM, BOX_MM = 5.0, 2.8

Draw = Callable[[float, float], list[Item]]


@dataclass(frozen=True)
class Piece:
    """What is not torn: its height, and how it is drawn with its upper left corner at a place. ``ahead``: stays with what
    follows. ``again``: what is drawn anew above it where it begins a page."""

    high_mm: float
    draw: Draw
    ahead: bool = False
    again: Piece | None = None


@cache
def _wide_mm(word: str, size_px: float, strong: bool) -> float:
    return text_width_px(word, size_px, strong) * PX_MM


def broken(text: str, wide_mm: float, size_px: float = BODY_PX, strong: bool = False) -> tuple[str, ...]:
    """A text in lines no wider than that; a word that is too long for a line is cut."""
    lines, line = [], ""
    glued = UNIT.sub(lambda found: found[0].replace(" ", GLUE), in_known_letters(text, known_letters()))
    words = [piece for word in glued.split(" ") for piece in _cut(word.replace(GLUE, " "), wide_mm, size_px, strong)]
    for word in words:
        longer = f"{line} {word}" if line else word
        if line and _wide_mm(longer, size_px, strong) > wide_mm:
            lines.append(line)
            longer = word
        line = longer
    return (*lines, line)


def _cut(word: str, wide_mm: float, size_px: float, strong: bool) -> Iterator[str]:
    while len(word) > 1 and _wide_mm(word, size_px, strong) > wide_mm:
        fits = next(n for n in range(len(word) - 1, 0, -1) if n == 1 or _wide_mm(word[:n], size_px, strong) <= wide_mm)
        yield word[:fits]
        word = word[fits:]
    yield word


def _text(text: str, wide_mm: float, size_px: float = BODY_PX, colour: Role = Role.INK, strong: bool = False) -> Piece:
    lines, step = broken(text, wide_mm, size_px, strong), size_px * LEADING * PX_MM

    def draw(x: float, top: float) -> list[Item]:
        first = top - size_px * 0.98 * PX_MM
        return [Text((x, first - n * step), line, size_px, colour, strong=strong) for n, line in enumerate(lines)]

    return Piece(len(lines) * step, draw)


def _space(high_mm: float) -> Piece:
    return Piece(high_mm, lambda x, top: [])


def _together(pieces: Sequence[Piece], ahead: bool = False) -> Piece:
    """Pieces below one another as one."""

    def draw(x: float, top: float) -> list[Item]:
        items: list[Item] = []
        for piece in pieces:
            items += piece.draw(x, top)
            top -= piece.high_mm
        return items

    return Piece(sum(piece.high_mm for piece in pieces), draw, ahead)


def _shifted(piece: Piece, by_mm: float) -> Piece:
    return Piece(piece.high_mm, lambda x, top: piece.draw(x + by_mm, top), piece.ahead)


def _line(x0: float, y0: float, x1: float, y1: float, role: Role = Role.RULE, px: float = 0.8) -> Path:
    return Path((((x0, y0), (x1, y1)),), closed=False, line=role, line_px=px)


def _room(room: Room, wide_mm: float) -> Piece:
    def draw(x: float, top: float) -> list[Item]:
        items: list[Item] = [
            _line(x, top - n * WRITE_MM, x + wide_mm, top - n * WRITE_MM) for n in range(1, room.lines + 1)
        ]
        if room.ask:
            items.append(Text((x, top - room.lines * WRITE_MM + 1.4), room.ask, BODY_PX, strong=True))
        return items

    return Piece(room.lines * WRITE_MM + 1.5, draw)


def _item(text: str, wide_mm: float, boxes: bool) -> Piece:
    body = _shifted(_text(text, wide_mm - INDENT_MM), INDENT_MM)

    def draw(x: float, top: float) -> list[Item]:
        y = top - BODY_PX * PX_MM
        corner = ((x, y - 0.2), (x + BOX_MM, y - 0.2), (x + BOX_MM, y - 0.2 + BOX_MM), (x, y - 0.2 + BOX_MM))
        mark = Path((corner,), line=Role.INK, line_px=0.9) if boxes else Text((x + 1.2, y), "•", BODY_PX)
        return [mark, *body.draw(x, top)]

    return _together((Piece(body.high_mm, draw), _space(0.6)))


def _table_row(cells: Sequence[str], wides: Sequence[float], head: bool) -> Piece:
    colour = Role.QUIET if head else Role.INK
    texts = [_text(cell, wide - 2 * CELL_MM, BODY_PX - 1.2, colour) for cell, wide in zip(cells, wides, strict=True)]
    high = max(piece.high_mm for piece in texts) + 2 * CELL_MM - 0.6

    def draw(x: float, top: float) -> list[Item]:
        items: list[Item] = [_line(x, top - high, x + sum(wides), top - high, Role.INK if head else Role.RULE)]
        for piece, wide in zip(texts, wides, strict=True):
            items += piece.draw(x + CELL_MM, top - CELL_MM + 0.3)
            x += wide
        return items

    return Piece(high, draw, ahead=head)


def _figure(figure: Figure, wide_mm: float) -> Piece:
    px = max(wide_mm / PX_MM / FILM_PX, LEAST_PX)
    x0, y0, x1, y1 = figure.picture.view
    high = wide_mm * (y1 - y0) / (x1 - x0)
    caption = _text(figure.caption, wide_mm, BODY_PX - 2.4, Role.QUIET)

    def draw(x: float, top: float) -> list[Item]:
        group, _ = fitted(figure.picture, x, top, wide_mm, px)
        edge = ((x, top), (x + wide_mm, top), (x + wide_mm, top - high), (x, top - high))
        return [group, Path((edge,), line=Role.RULE, line_px=0.7), *caption.draw(x, top - high - 1.0)]

    return Piece(high + caption.high_mm + 2.0, draw)


def _kept(kept: Kept, wide_mm: float) -> Piece:
    """One piece; a figure to the right of it."""
    column = wide_mm - (FIGURE_MM + GAP_MM if kept.figure else 0.0)
    text = _together([piece for block in kept.blocks for piece in pieces(block, column)])
    if kept.figure is None:
        return text
    figure = _shifted(_figure(kept.figure, FIGURE_MM), column + GAP_MM)
    top_mm = BEFORE_MM[3] if isinstance(kept.blocks[0], Heading) else 0.0
    high = max(text.high_mm, figure.high_mm + top_mm)
    return Piece(high, lambda x, top: [*text.draw(x, top), *figure.draw(x, top - top_mm)])


def pieces(block: Block, wide_mm: float) -> list[Piece]:
    """What a block is made of, for a column of that width."""
    match block:
        case Heading():
            size = SIZES_PX[block.level]
            body = _text(block.text, wide_mm, size, strong=True)
            return [_together((_space(BEFORE_MM[block.level]), body, _space(1.0)), ahead=True)]
        case Para():
            colour = Role.QUIET if block.quiet else Role.INK
            return [_together((_text(block.text, wide_mm, BODY_PX, colour, block.strong), _space(AFTER_MM)))]
        case Bullets():
            return [*(_item(item, wide_mm, block.boxes) for item in block.items), _space(AFTER_MM)]
        case Table():
            wides = [wide_mm * share / sum(block.shares) for share in block.shares]
            head = _table_row(block.heads, wides, True)
            rows = [replace(_table_row(row, wides, False), again=head) for row in block.rows]
            # no row stands alone: the last stays with the one before
            return [
                head,
                *(replace(row, ahead=row is rows[-2]) for row in rows[:-1]),
                *rows[-1:],
                _space(AFTER_MM + 1.0),
            ]
        case Room():
            return [_room(block, wide_mm)]
        case Figure():
            return [_figure(block, wide_mm)]
        case Kept():
            return [_kept(block, wide_mm)]
        case NewPage():
            return []


def parts(blocks: Sequence[Block]) -> list[list[Piece] | None]:
    """What blocks are made of, for the column of a page; None where a page ends."""
    return [None if isinstance(block, NewPage) else pieces(block, COLUMN_MM) for block in blocks]


def _runs(made: Sequence[list[Piece] | None]) -> Iterator[list[Piece] | None]:
    """Pieces that stay on one page, one list each; None where a page ends."""
    run: list[Piece] = []
    for part in made:
        if part is None:
            yield None
        for piece in part or ():
            run.append(piece)
            if not piece.ahead:
                yield run
                run = []
    if run:
        yield run


def placed(made: Sequence[list[Piece] | None]) -> Iterator[tuple[int, float, Piece]]:
    """Pieces in order, with the page that each is on and where its upper edge lies there."""
    page, top, empty = 0, HEIGHT_MM - TOP_MM, True
    for run in _runs(made):
        high = sum(piece.high_mm for piece in run or ())
        if run is None or (top - high < BOTTOM_MM and not empty):
            page, top, empty = page + 1, HEIGHT_MM - TOP_MM, True
            if run and run[0].again:
                run = [run[0].again, *run]
        for piece in run or ():
            yield page, top, piece
            top, empty = top - piece.high_mm, False


def _paged(blocks: Sequence[Block]) -> list[list[Item]]:
    pages: dict[int, list[Item]] = {}
    for page, top, piece in placed(parts(blocks)):
        pages.setdefault(page, []).extend(piece.draw(LEFT_MM, top))
    return [page for page in pages.values() if page]


def sheets(blocks: Sequence[Block], title: str, foot: str) -> tuple[Page, ...]:
    """The blocks on pages; ``foot`` stands at the bottom of each, with its number."""
    paged = _paged(blocks)
    done = []
    for number, items in enumerate(paged, 1):
        count = f"{number} / {len(paged)}"
        wide = text_width_px(count, BODY_PX - 3.0) * PX_MM
        below: list[Item] = [
            _line(LEFT_MM, BOTTOM_MM - 4.0, WIDTH_MM - RIGHT_MM, BOTTOM_MM - 4.0),
            Text((LEFT_MM, BOTTOM_MM - 8.0), foot, BODY_PX - 3.0, Role.QUIET),
            Text((WIDTH_MM - RIGHT_MM - wide, BOTTOM_MM - 8.0), count, BODY_PX - 3.0, Role.QUIET),
        ]
        picture = Picture((0.0, 0.0, WIDTH_MM, HEIGHT_MM), (*items, *below), title, f"{title}, {count}")
        done.append(Page(picture, WIDTH_MM, HEIGHT_MM))
    return tuple(done)


def sheet_pdf(blocks: Sequence[Block], title: str, foot: str) -> bytes:
    """The blocks as PDF. Raises PlatformFault without the PDF library, LobewrightError for letters its font lacks."""
    return pdf(sheets(blocks, title, foot), title)
