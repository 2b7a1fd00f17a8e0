"""Coupons that tell a printer's habits: flat pieces printed at nominal size, under 25 minutes together, all without support."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import shapely
from shapely import affinity

from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.make.bodies import Body, Feature, Group, Loop, Part, Slab, exact
from lobewright.make.calibration import BOLTS, FLANK_RAD, STEPS_MM
from lobewright.make.first_layer import FOOT_LAYERS, feet
from lobewright.make.outlines import circle, polygon
from lobewright.make.rack_digits import PART_SHARE, STROKE_SHARE, figures

MOST_MINUTES = 25.0
BEAD_SPEED_MM_S = 18.0
"""Length of bead laid in a second in such small pieces: fitted to a slicing program's paths for a 0.4 mm nozzle, run through at
30 mm/s on outer walls, 40 inside, 20 on the first layer, an acceleration of 1000 mm/s²: 24 minutes all walls, 26 filled."""
LEAD_IN_MM = 0.4
"""Taken in on the bed, less by equal steps over the layers that the print set takes in: a first layer that spreads by less
rules no gauge. Only the blocks named foot go without."""
POST_MM, GAPS_MM = 4.0, (8.0, 16.0, 24.0)
COMB_BACK_MM, COMB_DEEP_MM, COMB_BODY_MM = 2.5, 9.5, 0.8
SEAT_BEARING = "625"
SEAT_WALLS, SEAT_BODY_MM = 3, 0.6
NUT = "M3"
BOLT_BODY_MM, BETWEEN_HOLES_MM, EDGE_MM = 0.6, 1.7, 1.0
BLOCKS, BLOCK_MM, BLOCK_BODY_MM = 3, 6.0, 1.0
DIGIT_MM, FATTER_MM = 3.4, 0.09
"""Figures: height, and how far their strokes are moved outward to take a line of plastic."""
FILLET_MM = 1.0
"""Where rings meet."""
TIP_LINES = 2
ROOT_GAP_MODULES, MOUTH_MODULES, CELL_MODULES = 0.2, 0.5, 6.0
"""Of the tooth pair: room under the tip, chamfer of the space's mouth (no corner holds the shoulders off), way from space to
space."""
TOOTH_BODY_MM, SPACE_BODY_MM = 1.4, 0.8


def _loop(area: Any, feature: Feature = Feature.CONTOUR) -> Loop:
    return exact(polygon(np.array(area.exterior.coords)[:-1].tolist()), feature)


def _slab(area: Any, low: float, high: float, holes: tuple[Loop, ...] = ()) -> Slab:
    return Slab(_loop(area), holes, low, high)


def _foot_rows(printer: m.Printer) -> list[tuple[float, float, float]]:
    """Of each layer on the bed that is taken in: from, to, by how much."""
    return feet(LEAD_IN_MM, printer.layer_mm, 0.0, 1.0)


def foot_mm(printer: m.Printer) -> float:
    """Height up to which a coupon has its lead-in."""
    return FOOT_LAYERS * printer.layer_mm


def _top_mm(printer: m.Printer, body_mm: float) -> float:
    """Foot and a body of at least ``body_mm``, in whole layers."""
    return (FOOT_LAYERS + math.ceil(body_mm / printer.layer_mm - 1e-9)) * printer.layer_mm


def _with_lead_in(printer: m.Printer, area: Any, top: float) -> list[Slab]:
    """A plate whose whole outline has the lead-in."""
    foot = [_slab(area.buffer(-by, join_style="mitre"), low, high) for low, high, by in _foot_rows(printer)]
    return [*foot, _slab(area, foot_mm(printer), top)]


def _gauged(
    printer: m.Printer, area: Any, top: float, holes: Callable[[float], tuple[Loop, ...]], plain: tuple[Loop, ...] = ()
) -> list[Slab]:
    """A plate whose holes have the lead-in; ``holes``: by how far they are wider, each side. ``plain``: those without."""
    foot = [_slab(area, low, high, (*holes(by), *plain)) for low, high, by in _foot_rows(printer)]
    return [*foot, _slab(area, foot_mm(printer), top, (*holes(0.0), *plain))]


def _to_corners(x0: float, y0: float, x1: float, y1: float) -> Any:
    """A figure's stroke made longer, so that strokes share whole corners."""
    stroke, gap = STROKE_SHARE * DIGIT_MM, PART_SHARE * DIGIT_MM
    by_x, by_y = (stroke + gap, 0.0) if x1 - x0 > y1 - y0 else (0.0, stroke / 2 + gap)
    return shapely.box(x0 - by_x, y0 - by_y, x1 + by_x, y1 + by_y)


def _digit(number: int, x: float, y: float, low: float, layer: float) -> list[Slab]:
    """A raised figure, two layers high."""
    strokes = [_to_corners(*box) for box in figures(str(number), x, y, DIGIT_MM)]
    areas = shapely.get_parts(shapely.union_all(strokes, grid_size=1e-6).buffer(FATTER_MM, join_style="mitre"))
    return [
        _slab(area, low, low + 2 * layer, tuple(_loop(shapely.Polygon(one)) for one in area.interiors))
        for area in areas
    ]


def _part(name: str, words: str, printer: m.Printer, pieces: list[Slab], note: str) -> Part:
    note = f"{note}; printed at nominal size, nothing compensated"
    return Part(name, words, 1, Body(tuple(pieces)), printer.material, note, group=Group.TEST)


def posts(axis: str) -> tuple[int, ...]:
    """Figures on a comb's posts; no two posts of the set share one, so that the combs are not mixed up."""
    first = 1 if axis == "x" else 2 + len(GAPS_MM)
    return tuple(range(first, first + len(GAPS_MM) + 1))


def _comb(printer: m.Printer, axis: str) -> Part:
    starts = [end - POST_MM for end in outsides_mm()]
    boxes = [shapely.box(x, 0.0, x + POST_MM, COMB_DEEP_MM) for x in starts]
    area = shapely.union_all([*boxes, shapely.box(0.0, 0.0, starts[-1] + POST_MM, COMB_BACK_MM)])
    top, middle = _top_mm(printer, COMB_BODY_MM), (COMB_BACK_MM + COMB_DEEP_MM - DIGIT_MM) / 2
    if axis == "y":
        area = affinity.rotate(area, 90, origin=(0, 0))
    pieces = _with_lead_in(printer, area, top)
    for number, start in zip(posts(axis), starts, strict=True):
        along, across = start + POST_MM / 2, middle + DIGIT_MM / 2
        x, y = (along, across) if axis == "x" else (-across, along)
        pieces += _digit(number, x, y - DIGIT_MM / 2, top, printer.layer_mm)
    note = f"lies along the bed's {axis}; grip the posts above their foot"
    return _part(f"lengths_{axis}", f"lengths along {axis}", printer, pieces, note)


def outsides_mm() -> tuple[float, ...]:
    """Lengths over posts of a comb: the first post alone, then to the second, third and fourth."""
    return tuple(POST_MM * (k + 1) + sum(GAPS_MM[:k]) for k in range(len(GAPS_MM) + 1))


def _seats(printer: m.Printer) -> Part:
    outer = catalogue.bearing(SEAT_BEARING).outer_mm
    wall, top = SEAT_WALLS * printer.extrusion_width_mm, _top_mm(printer, SEAT_BODY_MM)
    step = outer + STEPS_MM[-1] + wall + LEAD_IN_MM
    centres = [k * step for k in range(len(STEPS_MM))]
    rims = [shapely.Point(x, 0).buffer((outer + STEPS_MM[k]) / 2 + wall, 64) for k, x in enumerate(centres)]
    low = -(outer / 2 + 6.2)
    tabs = [shapely.box(x - 2.2, low, x + 2.2, -outer / 2 - wall / 2) for x in centres]
    area = shapely.union_all([*rims, *tabs]).buffer(FILLET_MM, 32).buffer(-FILLET_MM, 32).simplify(1e-3)

    def bores(by: float) -> tuple[Loop, ...]:
        rows = zip(centres, STEPS_MM, strict=True)
        return tuple(exact(circle((outer + extra) / 2 + by, x), Feature.SEAT) for x, extra in rows)

    chinks = tuple(_loop(shapely.Polygon(ring)) for ring in area.interiors)
    pieces = _gauged(printer, shapely.Polygon(area.exterior), top, bores, chinks)
    for k, x in enumerate(centres):
        pieces += _digit(k + 1, x, low + 0.6, top, printer.layer_mm)
    return _part("seats", f"seats for bearing {SEAT_BEARING}", printer, pieces, "press the bearing into each ring")


def _hexagon(across_mm: float, x: float, y: float) -> Any:
    angles = np.radians(30 + 60 * np.arange(6))
    radius = across_mm / 3**0.5
    return shapely.Polygon(np.column_stack((x + radius * np.cos(angles), y + radius * np.sin(angles))))


def _bolts(printer: m.Printer) -> Part:
    flats, most = catalogue.bolt(NUT).nut_across_flats_mm, STEPS_MM[-1]
    sizes = [catalogue.bolt(size).diameter_mm for size in BOLTS]
    cell = max(flats, *sizes) + most + BETWEEN_HOLES_MM
    heights = [size + most + BETWEEN_HOLES_MM for size in sizes]
    heights.append((flats + most) * 2 / 3**0.5 + BETWEEN_HOLES_MM)
    ends = np.cumsum(heights)
    middles = ends - np.array(heights) / 2
    columns = [((k + 0.5) * cell, extra) for k, extra in enumerate(STEPS_MM)]

    def holes(by: float) -> tuple[Loop, ...]:
        rows = list(zip(sizes, middles, strict=False))
        found = [
            exact(circle((size + extra) / 2 + by, x, y), Feature.BOLT_HOLE) for x, extra in columns for size, y in rows
        ]
        nuts = [_loop(_hexagon(flats + extra + 2 * by, x, middles[-1]), Feature.NUT) for x, extra in columns]
        return (*found, *nuts)

    area = shapely.box(0.0, -DIGIT_MM - EDGE_MM, cell * len(STEPS_MM), ends[-1])
    top = _top_mm(printer, BOLT_BODY_MM)
    pieces = _gauged(printer, area, top, holes)
    for k, (x, _) in enumerate(columns):
        pieces += _digit(k + 1, x, -DIGIT_MM, top, printer.layer_mm)
    note = "try the steps from 1 on"
    return _part("bolts", f"{', '.join(BOLTS)}, nut {NUT}, from the figures up", printer, pieces, note)


def _block(printer: m.Printer, number: int) -> Part:
    """A square block without lead-in; what it has more at the bed than near its top is the first layer's spread."""
    top = _top_mm(printer, BLOCK_BODY_MM)
    pieces = [_slab(shapely.box(0.0, 0.0, BLOCK_MM, BLOCK_MM), 0.0, top)]
    pieces += _digit(number, BLOCK_MM / 2, (BLOCK_MM - DIGIT_MM) / 2, top, printer.layer_mm)
    return _part(f"foot_{number}", f"block {number}", printer, pieces, "upright figure: x lies to the right")


def module_mm(width_mm: float) -> float:
    """Module of the tooth pair: the finest in tenths whose tip is two lines of ``width_mm`` wide."""
    tip = 2 * (math.pi / 4 - math.tan(FLANK_RAD))
    return math.ceil(10 * TIP_LINES * width_mm / tip - 1e-9) / 10


def _tooth(module: float, grown_mm: float, x: float, y0: float, up: float) -> Any:
    """A trapezoid of height ``up`` (downward where negative), half a pitch wide one module up and wider by ``grown_mm``."""
    slope = math.tan(FLANK_RAD)
    root = math.pi * module / 4 + grown_mm / 2 + slope * module
    tip = root - slope * abs(up)
    return shapely.Polygon([(x - root, y0), (x + root, y0), (x + tip, y0 + up), (x - tip, y0 + up)])


def _space(module: float, clearance_mm: float, x: float) -> Any:
    """A space below y = 0, its mouth chamfered."""
    plain = _tooth(module, clearance_mm, x, 0.0, -(2 + ROOT_GAP_MODULES) * module)
    x0, _, x1, _ = plain.bounds
    deep, in_ = MOUTH_MODULES * module, math.tan(FLANK_RAD) * MOUTH_MODULES * module
    wide = deep / 2
    mouth = shapely.Polygon([(x0 - wide, 0.0), (x1 + wide, 0.0), (x1 - in_, -deep), (x0 + in_, -deep)])
    return shapely.union_all([plain, mouth])


def _tooth_pair(printer: m.Printer) -> list[Part]:
    module = module_mm(printer.extrusion_width_mm)
    cell, count = CELL_MODULES * module, len(STEPS_MM)
    floor = -(2 + ROOT_GAP_MODULES) * module
    low, top = floor - DIGIT_MM - 2 * EDGE_MM, _top_mm(printer, SPACE_BODY_MM)
    spaces = [_space(module, extra, (k + 0.5) * cell) for k, extra in enumerate(STEPS_MM)]
    strip = shapely.box(0.0, low, count * cell, 0.0).difference(shapely.union_all(spaces))
    pieces = _with_lead_in(printer, strip, top)
    for k in range(count):
        pieces += _digit(k + 1, (k + 0.5) * cell, low + EDGE_MM, top, printer.layer_mm)
    rigid = _part(
        "tooth_spaces", "tooth spaces of five widths", printer, pieces, "tooth and strip lie flat, face to face"
    )
    half = 0.62 * cell
    piece = shapely.union_all([shapely.box(-half, -5.0, half, 0.0), _tooth(module, 0.0, 0.0, 0.0, 2 * module)])
    body = _with_lead_in(printer, piece, _top_mm(printer, TOOTH_BODY_MM))
    return [rigid, _part("tooth", "tooth to try", printer, body, "push it into each space up to its shoulders")]


def coupons(printer: m.Printer) -> tuple[Part, ...]:
    """The whole set for a printer, in the order of the sheet. All sizes nominal; the tooth pair is a rack's, flanks at 20°."""
    return (
        _comb(printer, "x"),
        _comb(printer, "y"),
        _seats(printer),
        _bolts(printer),
        *(_block(printer, k + 1) for k in range(BLOCKS)),
        *_tooth_pair(printer),
    )


def minutes(printer: m.Printer) -> float:
    """Estimate of printing time of the whole set."""
    volume = sum(part.body.volume_mm3 for part in coupons(printer))
    return volume / (printer.extrusion_width_mm * printer.layer_mm * BEAD_SPEED_MM_S * 60)
