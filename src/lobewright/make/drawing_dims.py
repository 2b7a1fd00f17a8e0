"""What a drawing is drawn with: lines, texts and dimensions on a sheet, lengths in mm of paper."""

from __future__ import annotations

import math
from collections.abc import Sequence

from lobewright.picture.display import Anchor, Item, Path, Point, Text
from lobewright.picture.palette import Role

PX = 96.0 / 25.4
"""Pixels a millimetre of paper."""
WIDE_PX, THIN_PX = 0.5 * PX, 0.2 * PX
"""Line widths after ISO 128: 0.5 mm for edges, thin lines for the rest."""
SMALL_MM, TEXT_MM, TITLE_MM = 2.5, 3.0, 5.0
"""Text sizes; capitals are seven tenths of it."""
ARROW_MM = 2.6
NAME_SHARE = 0.42
"""Of a table's width, for its first column at most."""
STEP_MM = 8.0
"""Between dimension lines that lie side by side."""
NARROW = dict.fromkeys("il.,;:'|!() j/f", 0.36) | dict.fromkeys("±−+=×≤≥", 0.84) | dict.fromkeys("mwMW", 0.97)


def text_width_mm(text: str, size_mm: float = TEXT_MM) -> float:
    """Width of a line of text, from the proportions of the sheet's font (a little wide)."""
    return size_mm * sum(NARROW.get(letter, 0.70 if letter.isupper() else 0.635) for letter in text)


def wrapped(text: str, width_mm: float, size_mm: float = SMALL_MM) -> list[str]:
    """A text in lines no wider than ``width_mm``, broken at blanks."""
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width_mm(longer, size_mm) <= width_mm:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines


def line(a: Point, b: Point, px: float = THIN_PX, dash_mm: float = 0.0) -> Path:
    return Path(((a, b),), closed=False, line=Role.INK, line_px=px, dash_px=dash_mm * PX)


def centre_line(a: Point, b: Point) -> tuple[Item, ...]:
    """A chain line: long dashes and dots."""
    length = math.dist(a, b)
    if length < 1e-9:
        return ()
    runs, at = [], 0.0
    along = ((b[0] - a[0]) / length, (b[1] - a[1]) / length)
    spot = lambda t: (a[0] + along[0] * min(t, length), a[1] + along[1] * min(t, length))  # noqa: E731
    while at < length:
        runs.append((spot(at), spot(at + 8.0)))
        if at + 9.5 < length:
            runs.append((spot(at + 9.5), spot(at + 10.0)))
        at += 11.5
    return (Path(tuple(runs), closed=False, line=Role.INK, line_px=THIN_PX),)


def box(x0: float, y0: float, x1: float, y1: float, px: float = THIN_PX, fill: Role | None = None) -> Path:
    return Path((((x0, y0), (x1, y0), (x1, y1), (x0, y1)),), fill=fill, line=Role.INK if px else None, line_px=px)


def words(
    at: Point,
    text: str,
    size_mm: float = TEXT_MM,
    anchor: Anchor = Anchor.START,
    turn_rad: float = 0.0,
    strong: bool = False,
) -> Text:
    return Text(at, text, size_mm * PX, Role.INK, anchor, turn_rad, strong)


def on_paper(at: Point, text: str, size_mm: float = TEXT_MM, turn_rad: float = 0.0) -> tuple[Item, ...]:
    """A text in the middle of ``at`` (on its base line) with paper behind it, so that no line runs through it."""
    half, low, high = text_width_mm(text, size_mm) / 2 + 0.4, -0.25 * size_mm, 0.85 * size_mm
    c, s = math.cos(turn_rad), math.sin(turn_rad)
    corners = tuple(
        (at[0] + c * x - s * y, at[1] + s * x + c * y)
        for x, y in ((-half, low), (half, low), (half, high), (-half, high))
    )
    return Path((corners,), fill=Role.PAPER), words(at, text, size_mm, Anchor.MIDDLE, turn_rad)


def arrow_head(tip: Point, angle_rad: float) -> Path:
    """A slim filled arrow that points along ``angle_rad``."""
    c, s = math.cos(angle_rad), math.sin(angle_rad)
    back = (tip[0] - ARROW_MM * c, tip[1] - ARROW_MM * s)
    half = 0.17 * ARROW_MM
    return Path(
        (((tip), (back[0] - half * s, back[1] + half * c), (back[0] + half * s, back[1] - half * c)),), fill=Role.INK
    )


def dimension(a: float, b: float, level: float, feature: Sequence[float], text: str, upright: bool) -> tuple[Item, ...]:
    """A dimension from ``a`` to ``b`` along one side of the sheet, its line at ``level`` on the other.

    ``feature``: from where the two extension lines come (level of each). ``upright``: a and b are heights, the line stands
    upright and its text is read from the right. Short spans have their arrows outside and the text beyond them.
    """
    put = (lambda along, across: (across, along)) if upright else (lambda along, across: (along, across))
    turn = math.pi / 2 if upright else 0.0
    out: list[Item] = []
    for at, start in zip((a, b), feature, strict=True):
        way = 1.0 if level > start else -1.0
        out.append(line(put(at, start + 0.8 * way), put(at, level + 1.2 * way)))
    low, high = min(a, b), max(a, b)
    long = text_width_mm(text)
    away = -1.0 if upright else 1.0
    ahead = math.pi / 2 if upright else 0.0
    if high - low >= 2 * ARROW_MM + 1.0:
        out.append(line(put(low, level), put(high, level)))
        out += [arrow_head(put(low, level), ahead + math.pi), arrow_head(put(high, level), ahead)]
        if high - low >= long + 2 * ARROW_MM:
            out += on_paper(put((low + high) / 2, level + away * 0.9), text, turn_rad=turn)
            return tuple(out)
    else:
        out.append(line(put(low - 2 * ARROW_MM, level), put(high + 2 * ARROW_MM, level)))
        out += [arrow_head(put(low, level), ahead), arrow_head(put(high, level), ahead + math.pi)]
    start = high + 2 * ARROW_MM
    out.append(line(put(high, level), put(start + long, level)))
    out += on_paper(put(start + long / 2 + 0.6, level + away * 0.9), text, turn_rad=turn)
    return tuple(out)


def leader(tip: Point, knee: Point, text: str, to_left: bool = False) -> tuple[Item, ...]:
    """An arrow on a feature, a slanting line to the knee and a text on a shoulder."""
    angle = math.atan2(tip[1] - knee[1], tip[0] - knee[0])
    long = text_width_mm(text) + 1.0
    end = (knee[0] - long if to_left else knee[0] + long, knee[1])
    middle = ((knee[0] + end[0]) / 2, knee[1] + 0.9)
    return (line(tip, knee), line(knee, end), arrow_head(tip, angle), *on_paper(middle, text))


def table(x: float, top: float, width: float, rows: Sequence[tuple[str, str]], title: str) -> tuple[list[Item], float]:
    """A table of two columns with a title, its upper left corner at (x, top); the items and the height where it ends."""
    out: list[Item] = []
    y, pad, pitch = top, 1.2, 1.45 * SMALL_MM
    longest = max((text_width_mm(name, SMALL_MM) for name, _ in rows), default=0.0)
    middle = x + min(NAME_SHARE * width, longest + 2 * pad + 1.0)
    out += [box(x, y - 5.0, x + width, y), words((x + pad, y - 3.6), title, TEXT_MM, strong=True)]
    y -= 5.0
    for name, value in rows:
        left = wrapped(name, middle - x - 2 * pad)
        right = wrapped(value, x + width - middle - 2 * pad)
        high = max(len(left), len(right)) * pitch + 1.2
        out += [box(x, y - high, x + width, y), line((middle, y), (middle, y - high))]
        for lines, start in ((left, x), (right, middle)):
            out += [words((start + pad, y - (k + 1) * pitch + 0.2), one, SMALL_MM) for k, one in enumerate(lines)]
        y -= high
    return out, y
