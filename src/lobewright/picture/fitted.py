"""A picture made smaller or larger and set into a place of another picture."""

from __future__ import annotations

from dataclasses import replace

from lobewright.picture.display import Arrow, Disc, Group, Item, Path, Picture, Placement, RingArc, Text


def resized(item: Item, by: float, px: float) -> Item:
    """A primitive ``by`` times as large; line widths and texts, which are in pixels of the page, ``px`` times."""
    match item:
        case Path():
            loops = tuple(tuple((x * by, y * by) for x, y in loop) for loop in item.loops)
            return replace(item, loops=loops, line_px=item.line_px * px, dash_px=item.dash_px * px)
        case Disc():
            x, y = item.centre
            return replace(item, centre=(x * by, y * by), radius=item.radius * by, line_px=item.line_px * px)
        case RingArc():
            x, y = item.centre
            return replace(
                item, centre=(x * by, y * by), inner=item.inner * by, outer=item.outer * by, line_px=item.line_px * px
            )
        case Text():
            x, y = item.at
            largest = None if item.largest is None else item.largest * by
            return replace(item, at=(x * by, y * by), size_px=item.size_px * px, largest=largest)
        case Arrow():
            tail, head = (item.tail[0] * by, item.tail[1] * by), (item.head[0] * by, item.head[1] * by)
            return replace(item, tail=tail, head=head, bow=item.bow * by, line_px=item.line_px * px)
        case Group():
            places = tuple(Placement(place.x * by, place.y * by, place.angle_rad) for place in item.placements)
            clip = None
            if item.clip is not None:
                x0, y0, x1, y1 = item.clip
                clip = (x0 * by, y0 * by, x1 * by, y1 * by)
            inside = tuple(resized(one, by, px) for one in item.items)
            return replace(item, items=inside, placements=places, clip=clip)


def fitted(picture: Picture, left: float, top: float, wide: float, px: float) -> tuple[Group, float]:
    """The picture ``wide`` drawing units across with its upper left corner at (left, top), cut at its window, and how high it
    is. ``px``: its line widths and text sizes times this."""
    x0, y0, x1, y1 = picture.view
    by = wide / (x1 - x0)
    high = (y1 - y0) * by
    inside = tuple(resized(item, by, px) for item in picture.items)
    moved = Group(inside, (Placement(left - x0 * by, top - high - y0 * by),), clip=None)
    return Group((moved,), clip=(left, top - high, left + wide, top)), high
