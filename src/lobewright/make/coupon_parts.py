"""Coupons that tell a printer's habits: flat pieces printed at nominal size, under 25 minutes together, all without support."""

from __future__ import annotations

from typing import Any

import numpy as np
import shapely
from shapely import affinity

from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.make.bodies import Body, Feature, Group, Loop, Part, Slab, exact
from lobewright.make.calibration import STEPS_MM
from lobewright.make.outlines import circle, polygon
from lobewright.make.rack_digits import figures

MOST_MINUTES = 25.0
LEAD_IN_MM = 0.4
"""Taken in at the foot of coupons that a caliper grips, so that the first layer's spread does not reach the jaws."""
POST_MM, GAPS_MM = 4.0, (8.0, 16.0, 24.0)
COMB_BACK_MM, COMB_DEEP_MM, COMB_HIGH_MM = 3.0, 11.0, 1.6
SEAT_BEARING = "625"
SEAT_WALLS, SEAT_HIGH_MM = 3, 1.0
BOLTS = ("M3", "M4", "M5")
NUT = "M3"
PLATE_HIGH_MM, CELL_MM = 0.8, 7.8
BLOCK_MM = (8.0, 5.0, 2.0)
WALL_LONG_MM, WALL_HIGH_MM, WALL_APART_MM = 10.0, 3.0, 5.0
DIGIT_MM = 3.0
MODULE_MM, TOOTH_HIGH_MM, PRESSURE_SLOPE = 1.0, 2.4, 0.364
"""Tooth pair: module 1, flanks at 20° (tangent 0.364) like a rack's."""


def _loop(area: Any, feature: Feature = Feature.CONTOUR) -> Loop:
    return exact(polygon(np.array(area.exterior.coords)[:-1].tolist()), feature)


def _slab(area: Any, low: float, high: float, holes: tuple[Loop, ...] = ()) -> Slab:
    return Slab(_loop(area), holes, low, high)


def _digit(number: int, x: float, y: float, low: float, layer: float) -> list[Slab]:
    """A raised figure, two layers high."""
    boxes = figures(str(number), x, y, DIGIT_MM)
    return [_slab(shapely.box(*box), low, low + 2 * layer) for box in boxes]


def _part(name: str, words: str, printer: m.Printer, pieces: list[Slab], note: str) -> Part:
    note = f"{note}; printed at nominal size, nothing compensated"
    return Part(name, words, 1, Body(tuple(pieces)), printer.material, note, group=Group.TEST)


def _comb(printer: m.Printer, axis: str) -> Part:
    boxes, x = [], 0.0
    for gap in (*GAPS_MM, 0.0):
        boxes.append(shapely.box(x, 0.0, x + POST_MM, COMB_DEEP_MM))
        x += POST_MM + gap
    area = shapely.union_all([*boxes, shapely.box(0.0, 0.0, x, COMB_BACK_MM)])
    if axis == "y":
        area = affinity.rotate(area, 90, origin=(0, 0))
    foot = 2 * printer.layer_mm
    pieces = [
        _slab(area.buffer(-LEAD_IN_MM, join_style="mitre"), 0.0, foot),
        _slab(area, foot, COMB_HIGH_MM),
    ]
    note = f"lies along the bed's {axis}; grip the posts above their foot"
    return _part(f"lengths_{axis}", f"lengths along {axis}", printer, pieces, note)


def outsides_mm() -> tuple[float, ...]:
    """Lengths over posts of a comb: the first post alone, then to the second, third and fourth."""
    return tuple(POST_MM * (k + 1) + sum(GAPS_MM[:k]) for k in range(len(GAPS_MM) + 1))


def _seats(printer: m.Printer) -> Part:
    outer = catalogue.bearing(SEAT_BEARING).outer_mm
    wall = SEAT_WALLS * printer.extrusion_width_mm
    step = outer + STEPS_MM[-1] + wall
    centres = [k * step for k in range(len(STEPS_MM))]
    rims = [shapely.Point(x, 0).buffer((outer + STEPS_MM[k]) / 2 + wall, 64) for k, x in enumerate(centres)]
    low = -(outer / 2 + 5.5)
    tabs = [shapely.box(x - 2.2, low, x + 2.2, -outer / 2 - wall / 2) for x in centres]
    area = shapely.union_all([*rims, *tabs])
    holes = tuple(
        exact(circle((outer + extra) / 2, x), Feature.SEAT) for x, extra in zip(centres, STEPS_MM, strict=True)
    )
    # Neighbours share one wall, so every bore keeps its own.
    pieces = [_slab(shapely.Polygon(area.exterior), 0.0, SEAT_HIGH_MM, (*holes, *_chinks(area, holes)))]
    for k, x in enumerate(centres):
        pieces += _digit(k + 1, x, low + 0.6, SEAT_HIGH_MM, printer.layer_mm)
    return _part("seats", f"seats for bearing {SEAT_BEARING}", printer, pieces, "press the bearing into each ring")


def _chinks(area: Any, holes: tuple[Loop, ...]) -> tuple[Loop, ...]:
    """Openings of a united outline that are no bores; there are none where only neighbours touch."""
    return tuple(_loop(shapely.Polygon(ring)) for ring in area.interiors)


def _hexagon(across_mm: float, x: float, y: float) -> Any:
    angles = np.radians(30 + 60 * np.arange(6))
    radius = across_mm / 3**0.5
    return shapely.Polygon(np.column_stack((x + radius * np.cos(angles), y + radius * np.sin(angles))))


def _bolts(printer: m.Printer) -> Part:
    rows = len(BOLTS) + 1
    holes = []
    for k, extra in enumerate(STEPS_MM):
        x = (k + 0.5) * CELL_MM
        holes += [
            exact(circle((catalogue.bolt(size).diameter_mm + extra) / 2, x, (row + 0.5) * CELL_MM), Feature.BOLT_HOLE)
            for row, size in enumerate(BOLTS)
        ]
        flats = catalogue.bolt(NUT).nut_across_flats_mm + extra
        holes.append(_loop(_hexagon(flats, x, (rows - 0.5) * CELL_MM), Feature.NUT))
    area = shapely.box(0.0, -4.0, CELL_MM * len(STEPS_MM), rows * CELL_MM + 0.6)
    pieces = [_slab(area, 0.0, PLATE_HIGH_MM, tuple(holes))]
    for k in range(len(STEPS_MM)):
        pieces += _digit(k + 1, (k + 0.5) * CELL_MM, -3.4, PLATE_HIGH_MM, printer.layer_mm)
    note = f"rows from the figures up: {', '.join(BOLTS)}, nut {NUT}"
    return _part("bolts", "bolt holes and nut pockets", printer, pieces, note)


def _walls(printer: m.Printer) -> Part:
    wide = printer.extrusion_width_mm
    base = 2 * printer.layer_mm
    pieces = [_slab(shapely.box(-2.0, 0.0, 3 * WALL_APART_MM + 3.0, WALL_LONG_MM), 0.0, base)]
    for k in range(4):
        x = k * WALL_APART_MM
        pieces.append(_slab(shapely.box(x, 0.5, x + (k + 1) * wide, WALL_LONG_MM - 0.5), base, base + WALL_HIGH_MM))
    return _part("walls", "walls of one to four lines", printer, pieces, f"lines of {wide:g} mm")


def _block(printer: m.Printer) -> Part:
    x, y, z = BLOCK_MM
    area, second = shapely.box(0, 0, x, y), shapely.box(x - 1.0, 0, 2 * x, y)
    foot = 2 * printer.layer_mm
    whole = shapely.union_all([area, second])
    bare = shapely.union_all([area, shapely.box(x - 1.0, LEAD_IN_MM, 2 * x, y - LEAD_IN_MM)])
    pieces = [_slab(bare, 0.0, foot), _slab(whole, foot, z)]
    return _part(
        "foot", "block, half of it with a lead-in", printer, pieces, "the half without lead-in shows the spread"
    )


def _tooth(grown_mm: float, x: float, y0: float, up: float) -> Any:
    """A trapezoid 2 modules high whose flanks are moved outward by ``grown_mm`` along the pitch."""
    half = np.pi * MODULE_MM / 4 + grown_mm
    root = half + PRESSURE_SLOPE * MODULE_MM
    tip = root - PRESSURE_SLOPE * abs(up)
    return shapely.Polygon([(x - root, y0), (x + root, y0), (x + tip, y0 + up), (x - tip, y0 + up)])


def _tooth_pair(printer: m.Printer) -> list[Part]:
    depth, cell = 2 * MODULE_MM, 6.0
    count = len(STEPS_MM)
    strip = shapely.box(0.0, -6.0, count * cell, depth)
    spaces = [_tooth(STEPS_MM[k] / 2, (k + 0.5) * cell, depth, -depth - 0.2) for k in range(count)]
    pieces = [_slab(strip.difference(shapely.union_all(spaces)), 0.0, TOOTH_HIGH_MM - 1.0)]
    for k in range(count):
        pieces += _digit(k + 1, (k + 0.5) * cell, -4.8, TOOTH_HIGH_MM - 1.0, printer.layer_mm)
    rigid = _part(
        "tooth_spaces", "tooth spaces of five clearances", printer, pieces, "steps 1 to 5, both flanks together"
    )
    piece = shapely.union_all([shapely.box(-4.0, -6.0, 4.0, 0.0), _tooth(0.0, 0.0, 0.0, depth)])
    flexible = _part("tooth", "tooth to try", printer, [_slab(piece, 0.0, TOOTH_HIGH_MM)], "slide it into each space")
    return [rigid, flexible]


def coupons(printer: m.Printer) -> tuple[Part, ...]:
    """The whole set for a printer. All sizes are nominal; the tooth pair is a rack's, module 1, flanks at 20°."""
    return (
        _comb(printer, "x"),
        _comb(printer, "y"),
        _seats(printer),
        _bolts(printer),
        _walls(printer),
        _block(printer),
        *_tooth_pair(printer),
    )
