"""Papers as blocks: headings, paragraphs, lists, tables, figures, lines to write on. Written as Markdown here, as PDF by
:mod:`lobewright.teach.sheet`."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from lobewright.picture.display import Picture


@dataclass(frozen=True)
class Heading:
    """``level`` 1 (of the paper), 2 (of a part), 3 (of a task)."""

    text: str
    level: int = 2


@dataclass(frozen=True)
class Para:
    """A paragraph; ``quiet`` for what is said besides, ``strong`` for what must be seen."""

    text: str
    quiet: bool = False
    strong: bool = False


@dataclass(frozen=True)
class Bullets:
    """A list; with ``boxes`` a box to tick stands before every item."""

    items: tuple[str, ...]
    boxes: bool = False


@dataclass(frozen=True)
class Table:
    """``heads`` and rows of the same length; ``shares`` of the width, a number a column."""

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    shares: tuple[float, ...]


@dataclass(frozen=True)
class Room:
    """Empty lines to write on, the last one begun by ``ask``, for example ``Answer:``. ``wanted``: lines that the work would
    take, where the page has them."""

    lines: int
    ask: str = ""
    wanted: int = 0


@dataclass(frozen=True)
class Figure:
    """A picture with its caption."""

    picture: Picture
    caption: str


@dataclass(frozen=True)
class Kept:
    """Blocks that stay on one page; a figure stands beside them, where there is one."""

    blocks: tuple[Block, ...]
    figure: Figure | None = None


@dataclass(frozen=True)
class NewPage:
    """What follows begins a page."""


Block = Heading | Para | Bullets | Table | Room | Figure | Kept | NewPage


def _row(cells: Sequence[str]) -> str:
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |"


def _lines(blocks: Sequence[Block]) -> Iterator[str]:
    for block in blocks:
        match block:
            case Heading():
                yield f"{'#' * block.level} {block.text}"
            case Para():
                yield f"**{block.text}**" if block.strong else block.text
            case Bullets():
                mark = "- [ ]" if block.boxes else "-"
                yield "\n".join(f"{mark} {item}" for item in block.items)
            case Table():
                yield "\n".join((_row(block.heads), _row(["---"] * len(block.heads)), *map(_row, block.rows)))
            case Room():
                yield block.ask or "…"
            case Figure():
                yield f"*{block.caption}* {block.picture.description}".strip()
            case Kept():
                yield from _lines(block.blocks)
                if block.figure:
                    yield from _lines((block.figure,))
            case NewPage():
                yield "---"


def markdown(blocks: Sequence[Block]) -> str:
    """The blocks as Markdown text; pictures by their words."""
    return "\n\n".join(_lines(blocks)) + "\n"
