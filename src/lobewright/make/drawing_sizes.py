"""Sizes of a part found in its data: what each outline is, which of them stand on one another, and how they repeat.

Nothing is known of what a part is called: every outline of every slab and pocket, every turned edge and every drilled hole
ends as a size on the sheet, whoever made the part.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
import shapely

from lobewright.make.bodies import Body, Feature, Loop, Slab, Turned
from lobewright.make.outlines import Contour

Array = np.ndarray
Point = tuple[float, float]
CHORD_MM = 0.004
SIDE_MM = 0.5
ALIKE_MM = 1e-3
MOST_CORNERS, MOST_ARCS = 40, 12
"""Outlines with more corners, or of more arcs alone, are curves with a table of their own: teeth, cams."""


class Kind(StrEnum):
    """What an outline is on a sheet. ``DIPPED``: round but for notches or ribs."""

    CIRCLE = "circle"
    DIPPED = "dipped"
    HEXAGON = "hexagon"
    RECTANGLE = "rectangle"
    CORNERS = "corners"
    TABLED = "tabled"


@dataclass(frozen=True)
class Shape:
    """An outline by its size: diameter or width across flats in mm (0: see ``loop``), and its middle.

    Of dipped ones: how many ribs or notches, the diameter that these reach, and the radius of each. Of hexagons: the radius that
    clears their corners, 0 for sharp ones.
    """

    kind: Kind
    loop: Loop
    size_mm: float
    middle_mm: Point
    dips: int = 0
    reach_mm: float = 0.0
    dip_radius_mm: float = 0.0
    first_dip_rad: float = 0.0

    @property
    def on_axis(self) -> bool:
        return math.hypot(*self.middle_mm) < ALIKE_MM


@dataclass(frozen=True)
class Level:
    """A shape between two heights; ``inside``: a hole or pocket, else material."""

    shape: Shape
    bottom_mm: float
    top_mm: float
    inside: bool


@dataclass(frozen=True)
class Pattern:
    """Equal holes, pockets or bosses on one circle about the axis; ``first_mm``: the middle of one of them.

    ``levels``: all that lies round each middle, the narrowest first; ``through`` tells of the narrowest. ``square``: four at
    the corners of a rectangle about the axis. ``in_row``: two level with each other. ``even``: evenly spaced on their circle.
    """

    levels: tuple[Level, ...]
    through: bool
    span_mm: tuple[float, float]
    circle_mm: float
    first_mm: Point
    places_mm: tuple[Point, ...]
    square: bool
    in_row: bool
    even: bool

    @property
    def count(self) -> int:
        return len(self.places_mm)

    @property
    def diameter_mm(self) -> float:
        return self.levels[0].shape.size_mm

    @property
    def feature(self) -> Feature:
        return self.levels[0].shape.loop.feature

    @property
    def free(self) -> bool:
        """Told by coordinates, for want of an order."""
        return self.count > 1 and not (self.square or self.in_row or self.even)


@dataclass(frozen=True)
class Diameter:
    """A round outline about the axis and where along it it may be measured, mm."""

    diameter_mm: float
    top_mm: float
    inside: bool
    feature: Feature = Feature.CONTOUR
    words: str = ""


def arcs(contour: Contour) -> list[tuple[float, Point] | None]:
    """Radius and centre of each edge that is an arc, None for straight ones."""
    found: list[tuple[float, Point] | None] = []
    for a, b, bulge in zip(contour.points_mm, np.roll(contour.points_mm, -1, axis=0), contour.bulges, strict=True):
        if abs(bulge) < 1e-9:
            found.append(None)
            continue
        half = (b - a) / 2
        centre = (a + b) / 2 + np.array([-half[1], half[0]]) * (1 - bulge * bulge) / (2 * bulge)
        found.append((float(np.hypot(*(a - centre))), (float(centre[0]), float(centre[1]))))
    return found


def _dipped(loop: Loop) -> Shape | None:
    """A circle with notches or ribs: its corners lie on one circle, and so do every other edge or two of them."""
    points, edges = loop.contour.points_mm, arcs(loop.contour)
    if len(points) < 3 or any(edge is None for edge in edges):
        return None
    main = max((edge for edge in edges if edge), key=lambda edge: edge[0])
    radius, middle = main
    if float(np.abs(np.hypot(*(points - middle).T) - radius).max()) > ALIKE_MM:
        return None
    dips = [
        (edge[0], (a + b) / 2, k)
        for k, (edge, a, b) in enumerate(zip(edges, points, np.roll(points, -1, axis=0), strict=True))
        if edge and math.dist(edge[1], middle) > ALIKE_MM
    ]
    if not dips or len({round(dip[0], 3) for dip in dips}) > 1:
        return None
    small, chord, k = dips[0]
    sagitta = abs(float(loop.contour.bulges[k])) * math.dist(points[k], points[(k + 1) % len(points)]) / 2
    inward = float(loop.contour.bulges[k]) < 0
    reach = math.dist(chord, middle) + (-sagitta if inward else sagitta)
    angle = math.atan2(chord[1] - middle[1], chord[0] - middle[0])
    return Shape(Kind.DIPPED, loop, 2 * radius, middle, len(dips), 2 * reach, small, angle)


def _cleared_hexagon(loop: Loop, middle: Point) -> Shape | None:
    """A hexagon whose corners are cleared by a cutter: between six equal flats stand six arcs of 120°."""
    points, edges = loop.contour.points_mm, arcs(loop.contour)
    if len(points) != 12 or not np.allclose(loop.contour.bulges, [math.tan(math.pi / 6), 0.0] * 6):
        return None
    radius = edges[0][0] if edges[0] else 0.0
    flats = np.hypot(*((points[1::2] + np.roll(points, -1, axis=0)[1::2]) / 2 - middle).T)
    if np.ptp(flats) > ALIKE_MM:
        return None
    return Shape(Kind.HEXAGON, loop, 2 * float(flats[0]), middle, dip_radius_mm=radius)


def shape(loop: Loop) -> Shape:
    """What an outline is."""
    points = loop.contour.points_mm
    middle = (float(points[:, 0].mean()), float(points[:, 1].mean()))
    if loop.contour.is_circle:
        return Shape(Kind.CIRCLE, loop, 2 * math.dist(points[0], middle), middle)
    dipped = _dipped(loop) if len(points) <= MOST_CORNERS else None
    if dipped:
        return dipped
    curve = len(points) > MOST_ARCS and bool(np.all(loop.contour.bulges != 0))
    if loop.edges_per_space or len(points) > MOST_CORNERS or curve:
        return Shape(Kind.TABLED, loop, 0.0, middle)
    if cleared := _cleared_hexagon(loop, middle):
        return cleared
    straight = bool(np.all(loop.contour.bulges == 0))
    corner = np.hypot(*(points - middle).T)
    sides = np.hypot(*(np.roll(points, -1, axis=0) - points).T)
    if straight and len(points) == 6 and np.ptp(corner) < ALIKE_MM and np.ptp(sides) < ALIKE_MM:
        return Shape(Kind.HEXAGON, loop, float(corner[0]) * math.sqrt(3), middle)
    (x0, y0), (x1, y1) = points.min(axis=0), points.max(axis=0)
    if straight and len(points) == 4 and abs(loop.contour.area_mm2) > (x1 - x0) * (y1 - y0) - ALIKE_MM:
        return Shape(Kind.RECTANGLE, loop, 0.0, (float(x0 + x1) / 2, float(y0 + y1) / 2))
    return Shape(Kind.CORNERS, loop, 0.0, middle)


def _key(one: Shape, inside: bool) -> tuple[object, ...]:
    points = one.loop.contour.points_mm
    x, y = (round(c + 0.0, 3) for c in one.middle_mm)
    ends = tuple(np.round(points, 3).ravel().tolist()) if one.kind in (Kind.CORNERS, Kind.TABLED) else ()
    box = tuple(np.round(np.ptp(points, axis=0), 3).tolist())
    return one.kind, inside, x, y, round(one.size_mm, 3), one.loop.feature, ends, box


def levels(body: Body) -> tuple[Level, ...]:
    """All outlines of slabs and pockets with their heights; equal ones that touch are one."""
    found: dict[tuple[object, ...], list[Level]] = {}
    rows: list[tuple[Loop, float, float, bool]] = []
    for piece in body.pieces:
        if isinstance(piece, Slab):
            ends = piece.bottom_mm, piece.top_mm
            rows += [(piece.outer, *ends, False), *((hole, *ends, True) for hole in piece.holes)]
    rows += [(pocket.outer, pocket.bottom_mm, pocket.top_mm, True) for pocket in body.pockets]
    for loop, low, high, inside in sorted(rows, key=lambda row: row[1]):
        one = shape(loop)
        same = found.setdefault(_key(one, inside), [])
        if same and low <= same[-1].top_mm + ALIKE_MM:
            same[-1] = Level(one, same[-1].bottom_mm, max(high, same[-1].top_mm), inside)
        else:
            same.append(Level(one, low, high, inside))
    return tuple(level for same in found.values() for level in same)


def span_at(body: Body, place: Point) -> tuple[float, float]:
    """Between which heights there is material round a point, holes left out of account."""
    ends: list[float] = []
    spot = shapely.Point(*place)
    for piece in body.pieces:
        if isinstance(piece, Slab):
            if shapely.Polygon(piece.outer.contour.sampled(CHORD_MM)).distance(spot) < ALIKE_MM:
                ends += [piece.bottom_mm, piece.top_mm]
        else:
            r = math.hypot(*place)
            line = shapely.LineString([(r, -1e4), (r, 1e4)])
            cut = piece.profile.polygon(CHORD_MM).intersection(line)
            if not cut.is_empty:
                ends += [cut.bounds[1], cut.bounds[3]]
    return (min(ends), max(ends)) if ends else (0.0, 0.0)


def _stacks(found: tuple[Level, ...]) -> dict[Point, list[Level]]:
    """Round shapes and hexagons by their middle: those beside the axis, and hexagons on it."""
    rows: dict[Point, list[Level]] = {}
    round_kinds = (Kind.CIRCLE, Kind.DIPPED)
    for level in found:
        one = level.shape
        if one.kind is Kind.HEXAGON or (one.kind in round_kinds and not one.on_axis):
            x, y = one.middle_mm
            near = next((at for at in rows if math.dist(at, (x, y)) < 2 * ALIKE_MM), (x, y))
            rows.setdefault(near, []).append(level)
    return rows


def patterns(body: Body, found: tuple[Level, ...], half_mm: float) -> tuple[Pattern, ...]:
    """Holes, pockets, bosses and hexagons, grouped by what they are and their circle.

    ``half_mm``: half the shorter side of the part.
    """
    groups: dict[tuple[object, ...], list[tuple[Point, tuple[Level, ...]]]] = {}
    for (x, y), stack in _stacks(found).items():
        rows = tuple(sorted(stack, key=lambda row: (not row.inside, row.shape.size_mm, row.bottom_mm)))
        what = tuple(
            (row.shape.kind, round(row.shape.size_mm, 3), row.shape.loop.feature, row.inside,
             round(row.bottom_mm, 3), round(row.top_mm, 3))
            for row in rows
        )  # fmt: skip
        groups.setdefault((round(2 * math.hypot(x, y), 2), what), []).append(((x, y), rows))
    out = []
    for same in groups.values():
        places = [place for place, _ in same]
        first, rows = max(same, key=lambda one: (round(one[0][0] + one[0][1], 6), one[0][0]))
        span = span_at(body, first)
        hole = [row for row in rows if row.inside]
        through = bool(hole) and min(r.bottom_mm for r in hole) < span[0] + ALIKE_MM and (
            max(r.top_mm for r in hole) > span[1] - ALIKE_MM)  # fmt: skip
        circle = 2 * math.hypot(*first)
        out.append(Pattern(rows, through, span, circle, first, tuple(sorted(places)), *_order(places, first, half_mm)))
    return tuple(sorted(out, key=lambda row: (row.circle_mm, row.diameter_mm)))


def _order(places: list[Point], first: Point, half_mm: float) -> tuple[bool, bool, bool]:
    """Whether places are corners of a rectangle about the axis, two in a row, or evenly spaced on their circle."""
    circle = 2 * math.hypot(*first)
    corners = {(round(abs(x), 3), round(abs(y), 3)) for x, y in places}
    square = len(places) == 4 and len(corners) == 1 and min(first) > 1e-6
    # Evenly spaced ones stand on a circle as long as that lies on the part.
    square = square and (abs(first[0] - first[1]) > ALIKE_MM or circle / 2 > half_mm)
    turns = np.sort([math.atan2(y, x) for x, y in places])
    gaps = np.diff([*turns, turns[0] + 2 * math.pi])
    even = len(places) > 1 and float(np.ptp(gaps)) * circle / 2 < 10 * ALIKE_MM
    level = len(places) == 2 and abs(places[0][1] - places[1][1]) < 1e-6
    return square, level and (not even or circle / 2 > half_mm), even


def _turned_sizes(piece: Turned) -> list[Diameter]:
    """Sizes of the cylinders of a turned profile: its straight edges along the axis."""
    points, rows = piece.profile.points_mm, []
    for (r, z), (r2, z2), bulge in zip(points, np.roll(points, -1, axis=0), piece.profile.bulges, strict=True):
        if bulge == 0 and abs(r2 - r) < 1e-9 and abs(z2 - z) > 1e-6 and r > 0:
            # Run anticlockwise, (radius, height): an outside rises, a bore falls.
            rows.append(Diameter(2 * float(r), float(max(z, z2)), bool(z2 < z)))
    return rows


def _loop_sizes(level: Level) -> list[Diameter]:
    """Sizes across the axis that one outline has."""
    one, inside, top = level.shape, level.inside, level.top_mm
    feature = one.loop.feature
    if one.kind in (Kind.CIRCLE, Kind.DIPPED) and one.on_axis:
        words = ""
        if one.kind is Kind.DIPPED and inside:
            words = f"wall, {one.dips} ribs to ø{one.reach_mm:.2f}"
        elif one.kind is Kind.DIPPED:
            words = f"with {one.dips} notch{'es' if one.dips > 1 else ''} R{one.dip_radius_mm:g}"
        return [Diameter(one.size_mm, top, inside, feature, words)]
    if one.kind not in (Kind.TABLED, Kind.CORNERS):
        return []
    # Long straight sides are cut up, else the corners of a square would pass for a circle.
    sides = shapely.LinearRing(one.loop.contour.sampled(CHORD_MM)).segmentize(SIDE_MM)
    radius = np.hypot(*shapely.get_coordinates(sides).T)
    if one.loop.edges_per_space:
        return [Diameter(2 * float(radius.min() if inside else radius.max()), top, inside,
                         words="tips" if inside else "tip circle")]  # fmt: skip
    if not inside and np.ptp(radius) < 0.05 * radius.max() and np.median(radius) > 0.999 * radius.max():
        return [Diameter(2 * float(radius.max()), top, inside, feature)]
    return []


def diameters(body: Body, found: tuple[Level, ...]) -> tuple[Diameter, ...]:
    """Round outlines about the axis: outsides, bores, tips of teeth, edges of turned profiles; small ones first."""
    rows = [size for level in found for size in _loop_sizes(level)]
    rows += [size for piece in body.pieces if isinstance(piece, Turned) for size in _turned_sizes(piece)]
    unique: dict[tuple[float, bool], Diameter] = {}
    for row in sorted(rows, key=lambda one: one.top_mm):
        if row.diameter_mm > 0.01:
            unique[round(row.diameter_mm, 2), row.inside] = row
    return tuple(unique[key] for key in sorted(unique))


def outlines(found: tuple[Level, ...], box_mm: tuple[float, float, float, float]) -> tuple[Level, ...]:
    """Outlines that neither a diameter nor a call nor the part's width and height tells whole."""
    x0, y0, x1, y1 = box_mm
    rows = []
    for level in found:
        one = level.shape
        width, height = np.ptp(one.loop.contour.points_mm, axis=0)
        whole = one.kind is Kind.RECTANGLE and abs(width - x1 + x0) < ALIKE_MM and abs(height - y1 + y0) < ALIKE_MM
        curve = one.kind is Kind.TABLED and not one.loop.edges_per_space
        if curve or (one.kind in (Kind.CORNERS, Kind.RECTANGLE) and not whole):
            rows.append(level)
    return tuple(rows)
