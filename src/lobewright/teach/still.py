"""A take at a chosen moment as a picture for paper and slides: what is seen, and its readings under it."""

from __future__ import annotations

from lobewright.picture.display import Item, Picture, Text
from lobewright.picture.palette import Role
from lobewright.picture.svg import svg
from lobewright.teach.scene import Take

WIDTH_PX = 960.0
SIZE_PX = 15.0
LINE_PX = 21.0


def still_picture(take: Take, u: float) -> Picture:
    """The take at a place with a line for each reading below; its description holds the readings too."""
    score = take.score
    shown = score.at(u)
    x0, y0, x1, y1 = shown.view
    unit = (x1 - x0) / WIDTH_PX
    lines = [f"{one.title}: {score.told(one, u)}" for one in score.readings]
    low = y0 - (len(lines) * LINE_PX + 8.0) * unit if lines else y0
    below: list[Item] = [
        Text((x0 + 10.0 * unit, y0 - (count + 1) * LINE_PX * unit), line, SIZE_PX, Role.INK)
        for count, line in enumerate(lines)
    ]
    words = " ".join([shown.description, score.caption(u), *(f"{line}." for line in lines)])
    return Picture((x0, low, x1, y1), (*shown.items, *below), take.title, words)


def still_svg(take: Take, u: float) -> str:
    """The same as one SVG document."""
    return svg(still_picture(take, u), WIDTH_PX)
