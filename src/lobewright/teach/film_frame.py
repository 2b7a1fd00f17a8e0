"""One picture of a film: title, the take as it stands, its readings beside or below it, what would go wrong, the caption.

Laid out on a sheet of 960 × 540 parts whatever the size of the film, with the sizes that scores are drawn for.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from lobewright.picture.display import Anchor, Item, Path, Picture, Text
from lobewright.picture.palette import Role
from lobewright.picture.pixels import Pixels, Placed, pixels, text_width
from lobewright.teach.reel import Reel

WIDE, HIGH = 960.0, 540.0
EDGE = 18.0
TITLE_PX, TAKE_PX, READ_TITLE_PX, READ_PX, WRONG_PX, SAID_PX = 21.0, 15.0, 12.5, 19.0, 13.0, 17.0
LEAST_PX = 9.0
LINE = 1.32
"""From line to line, in text sizes."""
HEAD = 52.0
SAID_HIGH = 62.0
ASIDE = 196.0
"""Width of the readings where they stand beside the picture."""
BELOW = 54.0
"""Height of the readings where they stand below it."""
LEAST_LINES = 0.7
"""Lines and letters of a take shrink with it down to this share, as on the page."""

Box = tuple[float, float, float, float]


def wrapped(text: str, size_px: float, width_px: float, strong: bool = False) -> list[str]:
    """A text in lines that are no wider than ``width_px``, broken at spaces; a single long word stands on its own."""
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width(longer, size_px, strong) <= width_px:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines


def fitted(text: str, size_px: float, width_px: float, most: int, strong: bool = False) -> tuple[list[str], float]:
    """The same in ``most`` lines at the largest size up to ``size_px`` at which they suffice; never below ``LEAST_PX``."""
    while True:
        lines = wrapped(text, size_px, width_px, strong)
        wide = max((text_width(line, size_px, strong) for line in lines), default=0.0)
        if (len(lines) <= most and wide <= width_px) or size_px <= LEAST_PX:
            return lines, size_px
        size_px = max(LEAST_PX, size_px - 1.0)


def balanced(text: str, size_px: float, width_px: float, most: int) -> tuple[list[str], float]:
    """Like :func:`fitted`, with lines about as long as each other."""
    lines, size = fitted(text, size_px, width_px, most)
    narrow = text_width(text, size) / max(len(lines), 1)
    while narrow < width_px:
        shorter = wrapped(text, size, narrow)
        if len(shorter) <= len(lines):
            return shorter, size
        narrow *= 1.03
    return lines, size


def _text(x: float, down: float, text: str, size: float, role: Role = Role.INK, strong: bool = False) -> Text:
    return Text((x, HIGH - down), text, size, role, strong=strong)


def _panel(box: Box, role: Role) -> Path:
    left, top, right, bottom = box
    corners = ((left, HIGH - top), (right, HIGH - top), (right, HIGH - bottom), (left, HIGH - bottom))
    return Path((corners,), fill=role)


@dataclass(frozen=True)
class Layout:
    """Where things stand on the sheet of 960 × 540 parts: boxes (left, top, right, bottom), y down."""

    picture: Box
    readings: Box
    beside: bool
    wrong: tuple[tuple[str, float], ...]
    wrong_top: float


def layout(film: Reel) -> Layout:
    """The layout that shows the take largest. It is the same for all pictures of a film."""
    wrong = tuple(
        (line, size)
        for sentence in film.wrong
        for lines, size in (fitted(sentence, WRONG_PX, WIDE - 2 * EDGE, 2),)
        for line in lines
    )
    low = HIGH - SAID_HIGH - (8.0 + sum(size * LINE for _, size in wrong) if wrong else 0.0)
    whole = (EDGE, HEAD, WIDE - EDGE, low - 6.0)
    if not film.score.readings:
        return Layout(whole, (0.0, 0.0, 0.0, 0.0), False, wrong, low)
    beside = (EDGE, HEAD, WIDE - EDGE - ASIDE, low - 6.0)
    over = (EDGE, HEAD, WIDE - EDGE, low - 6.0 - BELOW)
    still = film.score.at(0.0)
    if Placed(still, over).scale > Placed(still, beside).scale:
        return Layout(over, (EDGE, low - BELOW, WIDE - EDGE, low), False, wrong, low)
    return Layout(beside, (WIDE - EDGE - ASIDE + 14.0, HEAD, WIDE - EDGE, low - 6.0), True, wrong, low)


def _readings(film: Reel, place: Layout, u: float) -> Iterator[Item]:
    readings = film.score.readings
    left, top, right, bottom = place.readings
    wide = right - left if place.beside else (right - left) / max(len(readings), 1) - 12.0
    room = (bottom - top) / max(len(readings), 1) if place.beside else bottom - top
    step = min(room, 84.0)
    for count, one in enumerate(readings):
        x = left if place.beside else left + count * (wide + 12.0)
        down = top + 14.0 + (count * step if place.beside else 0.0)
        lines, size = fitted(one.title, READ_TITLE_PX, wide, 2 if step >= 60.0 else 1)
        for line in lines:
            yield _text(x, down, line, size, Role.QUIET)
            down += size * LINE
        shown, size = fitted(film.score.words(one.shown, u), READ_PX, wide, 1, True)
        down += 6.0
        yield _text(x, down, " ".join(shown), size, Role.INK, True)
        if remark := film.score.remark(one, u):
            lines, size = fitted(f"({remark})", READ_TITLE_PX, wide, 2 if step >= 80.0 else 1)
            for line in lines:
                down += size * LINE
                yield _text(x, down, line, size)


def _words(film: Reel, place: Layout, seconds: float) -> Iterator[Item]:
    title, size = fitted(film.title, TITLE_PX, WIDE - 2 * EDGE, 1, True)
    yield _text(EDGE, 26.0, " ".join(title), size, strong=True)
    if film.take.title != film.title:
        take, size = fitted(film.take.title, TAKE_PX, WIDE - 2 * EDGE, 1)
        yield _text(EDGE, 45.0, " ".join(take), size, Role.QUIET)
    down = place.wrong_top + 4.0
    for line, size in place.wrong:
        yield _text(EDGE, down + size, line, size, Role.FAIL)
        down += size * LINE
    yield _panel((0.0, HIGH - SAID_HIGH, WIDE, HIGH), Role.PANEL)
    said, size = balanced(film.caption(seconds), SAID_PX, WIDE - 2 * EDGE, 2)
    down = HIGH - SAID_HIGH / 2 - len(said) * size * LINE / 2
    for count, line in enumerate(said):
        at = (WIDE / 2, HIGH - (down + size + count * size * LINE))
        yield Text(at, line, size, anchor=Anchor.MIDDLE)


def _taken(film: Reel, u: float, box: Box, scale: float, asked: bool = False) -> Placed:
    """The take at a place in a box, its lines and letters as large as suits the room that it gets."""
    still = film.score.at(u, asked)
    left, top, right, bottom = (scale * edge for edge in box)
    placed = Placed(still, (left, top, right, bottom))
    wide = placed.scale * (still.view[2] - still.view[0]) / (scale * WIDE)
    return replace(placed, line_scale=scale * max(LEAST_LINES, wide))


def frame(film: Reel, place: Layout, seconds: float, height_px: int) -> Pixels:
    """The film at a time: shape (height, 16/9 of it, 4). Raises what :func:`lobewright.picture.pixels.pixels` raises."""
    scale = height_px / HIGH
    u = film.u(seconds)
    readings = () if film.asks(seconds) else _readings(film, place, u)
    words = (*_words(film, place, seconds), *readings)
    sheet = Picture((0.0, 0.0, WIDE, HIGH), words, film.title, film.score.description)
    whole = Placed(sheet, (0.0, 0.0, scale * WIDE, scale * HIGH), scale)
    return pixels((_taken(film, u, place.picture, scale, film.asks(seconds)), whole), round(scale * WIDE), height_px)


def bare_frame(film: Reel, u: float, height_px: int) -> Pixels:
    """The take alone at a place, on nothing, to be laid over other pictures; same shape."""
    scale = height_px / HIGH
    placed = _taken(film, u, (0.0, 0.0, WIDE, HIGH), scale)
    return pixels((placed,), round(scale * WIDE), height_px, transparent=True)
