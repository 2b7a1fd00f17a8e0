"""Texts of a picture that an edge cuts or that lie on each other, found by polygons and by the widths of the font itself."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import shapely
from shapely import affinity

from lobewright.picture.display import Anchor, Group, Item, Picture, Text
from lobewright.picture.pdf import text_width_px
from lobewright.picture.score import Score

Placed = tuple[str, shapely.Polygon, bool]
"""A text, its box, and whether an edge or a clip cuts that."""
WIDTHS_PX = {"film": 960.0, "big type": 738.0, "paper": 675.0, "big type on a telephone": 551.0}
"""How wide pictures are shown, in pixels of their texts: 1080p film and page at 960 px; big type on a projector (1.3 times);
100 mm wide on paper; 390 px wide screen, less its margins, where texts are half their size, 1.3 times."""


def boxes(items: Iterable[Item], unit: float, inside: shapely.Polygon) -> Iterator[Placed]:
    for item in items:
        if isinstance(item, Text):
            wide = text_width_px(item.text, 1000.0, item.strong) / 1000.0 * item.size(unit)
            left = {Anchor.START: 0.0, Anchor.MIDDLE: -wide / 2, Anchor.END: -wide}[item.anchor]
            high = item.size(unit)
            box = shapely.box(left, -0.2 * high, left + wide, 0.73 * high)
            box = affinity.rotate(box, item.angle_rad, (0.0, 0.0), use_radians=True)
            box = affinity.translate(box, *item.at)
            yield item.text, box, box.difference(inside).area > 1e-3 * box.area
        elif isinstance(item, Group) and item.fade > 0.02:
            seen = inside.intersection(shapely.box(*item.clip)) if item.clip else inside
            for place in item.placements:
                there = affinity.translate(seen, -place.x, -place.y)
                there = affinity.rotate(there, -place.angle_rad, (0.0, 0.0), use_radians=True)
                for text, box, cut in boxes(item.items, unit, there):
                    box = affinity.rotate(box, place.angle_rad, (0.0, 0.0), use_radians=True)
                    yield text, affinity.translate(box, place.x, place.y), cut


def faults(picture: Picture, width_px: float) -> list[str]:
    """What is wrong with the texts of a picture shown so wide."""
    unit = (picture.view[2] - picture.view[0]) / width_px
    found = list(boxes(picture.items, unit, shapely.box(*picture.view)))
    told = [f"cut: {text}" for text, _, cut in found if cut]
    tree = shapely.STRtree([box for _, box, _ in found])
    for one, other in tree.query([box for _, box, _ in found], predicate="intersects").T:
        if one < other:
            share = found[one][1].intersection(found[other][1]).area / min(found[one][1].area, found[other][1].area)
            if share > 1e-3:
                told.append(f"overlap: {found[one][0]} | {found[other][0]}")
    return told


def told(score: Score, places: Iterable[float]) -> set[str]:
    """The same of a score at places of u and all widths."""
    return {
        f"{width}: {fault}"
        for picture in map(score.at, places)
        for width, px in WIDTHS_PX.items()
        for fault in faults(picture, px)
    }


def smallest(score: Score, u: float) -> dict[str, float]:
    """By how much texts are smaller than they were asked to be, at the width that pictures are drawn for."""
    unit = (score.view[2] - score.view[0]) / 960.0
    return dict(_shares(score.at(u).items, unit))


def _shares(items: Iterable[Item], unit: float) -> Iterator[tuple[str, float]]:
    for item in items:
        if isinstance(item, Group):
            yield from _shares(item.items, unit)
        elif isinstance(item, Text):
            yield item.text, item.size(unit) / (item.size_px * unit)
