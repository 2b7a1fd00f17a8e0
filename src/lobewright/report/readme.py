"""The picture at the top of the README: one drive, its mesh at lobe and minor axis, what it does in a sentence.

python -m lobewright.report.readme DESIGN.toml > docs/picture.svg
"""

from __future__ import annotations

import math
import sys
import textwrap
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path as FilePath

from lobewright.assessment.results import Assessment
from lobewright.assessment.run import assess
from lobewright.design.files import read
from lobewright.picture.display import Anchor, Arrow, Disc, Item, Path, Picture, Text
from lobewright.picture.palette import Role, css_variables
from lobewright.report.captions import drive_chips
from lobewright.report.chart import box
from lobewright.report.drive_scene import (
    close_places,
    close_scale,
    close_window,
    drive_items,
    outer_radius_mm,
    panel,
    shown_first,
)
from lobewright.report.inline import inline_svg
from lobewright.report.words import motion_sentence

WIDTH_PX, HEIGHT_PX = 960.0, 430.0
DRIVE_RADIUS_PX = 200.0
COLUMN_PX = 452.0
GUTTER_PX = 16.0
LINE_LETTERS = 52


def placed(items: Iterable[Item], scale: float, x: float, y: float) -> list[Item]:
    """Paths and discs of a drawing in mm, laid into a px picture."""
    found: list[Item] = []
    for item in items:
        if isinstance(item, Path):
            loops = tuple(tuple((x + scale * px, y + scale * py) for px, py in loop) for loop in item.loops)
            found.append(replace(item, loops=loops))
        elif isinstance(item, Disc):
            centre = (x + scale * item.centre[0], y + scale * item.centre[1])
            found.append(replace(item, centre=centre, radius=scale * item.radius))
        else:
            raise TypeError(f"a {type(item).__name__} cannot be laid into this picture")
    return found


def _drive(a: Assessment) -> list[Item]:
    index = shown_first(a)
    x, y = DRIVE_RADIUS_PX + 10.0, HEIGHT_PX / 2
    items = placed(drive_items(a, index), DRIVE_RADIUS_PX / outer_radius_mm(a, index), x, y)
    # One arrow for the generator's sense, between the lobes where rollers leave room.
    reach, half = 0.42 * DRIVE_RADIUS_PX, math.radians(24)
    tail = (x + reach * math.sin(half), y + reach * math.cos(half))
    head = (x - reach * math.sin(half), y + reach * math.cos(half))
    items.append(Arrow(tail, head, -reach * (1 - math.cos(half)), Role.GENERATOR, 3.0))
    return items


def _even_lines(text: str) -> list[str]:
    """The text in as few lines as fit, of as even a length as can be."""
    fewest = len(textwrap.wrap(text, LINE_LETTERS))
    return next(lines for most in range(20, LINE_LETTERS + 1) if len(lines := textwrap.wrap(text, most)) == fewest)


def _words(a: Assessment, top: float) -> tuple[list[Item], float]:
    """Sentence and colour key at the head of the right column; returns the y below them."""
    items: list[Item] = []
    y = top
    for line in _even_lines(motion_sentence(a)):
        items.append(Text((COLUMN_PX, y), line, 18.0, Role.INK))
        y -= 25.0
    y -= 3.0
    for role, meaning in drive_chips(a):
        items.append(box(COLUMN_PX, y - 2, COLUMN_PX + 13, y + 11, fill=Role(f"{role}_soft"), edge=role))
        items.append(Text((COLUMN_PX + 21, y), meaning, 14.0, Role.QUIET))
        y -= 22.0
    return items, y - 2.0


def readme_picture(assessment: Assessment) -> str:
    """The picture as an SVG document that follows the reader's light or dark setting; same assessment, same bytes."""
    a = assessment
    index = shown_first(a)
    items, below = _words(a, HEIGHT_PX - 34.0)
    wide = (WIDTH_PX - COLUMN_PX - GUTTER_PX - 12.0) / 2
    window, scale = close_window(a, index), close_scale(a, index, wide)
    tall = min((window[1] - window[0]) * scale, below - 44.0)
    places = close_places(a.design.lobes)
    for column, place in enumerate((places[0], places[-1])):
        corner = (COLUMN_PX + column * (wide + GUTTER_PX), below - 26.0 - tall)
        items += panel(a, index, place, corner, (wide, tall), window, scale)
    label = "drawn to scale by the program from a design file"
    items.append(Text((WIDTH_PX - 12.0, 14.0), label, 12.0, Role.QUIET, Anchor.END))
    picture = Picture(
        (0.0, 0.0, WIDTH_PX, HEIGHT_PX),
        (*_drive(a), *items),
        f"A strain wave drive: {a.design.name}",
        motion_sentence(a),
    )
    text = inline_svg(picture, "readme", WIDTH_PX)
    head, tail = text.split(">", 1)
    return f"{head}><style>{css_variables()}</style>{tail}"


def main(arguments: list[str]) -> None:
    """Print the picture of the design file that is named."""
    sys.stdout.write(readme_picture(assess(read(FilePath(arguments[0])))))


if __name__ == "__main__":
    main(sys.argv[1:])
