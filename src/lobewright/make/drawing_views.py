"""Two views of a part from its data: along the axis from above, and the section A-A through the axis beside it.

First angle: the section stands to the right of the axial view, so that what is above there is to its right here.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely import affinity

from lobewright.make.bodies import Body, Drill, Feature, Loop, Part, Slab, Turned
from lobewright.make.outlines import Contour

Array = np.ndarray
CHORD_MM = 0.004
SIDE_MM = 0.5
LEVEL_MM = 1e-4
"""Heights that differ by less are one."""


@dataclass(frozen=True)
class RoundHole:
    """Round holes of one size on one circle about the axis; ``first_mm`` is the middle of one of them.

    ``square``: four at the corners of a rectangle about the axis. ``in_row``: two level with each other, on a circle that
    leaves the part.
    """

    diameter_mm: float
    circle_mm: float
    count: int
    first_mm: tuple[float, float]
    feature: Feature
    square: bool
    in_row: bool
    places_mm: tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class Diameter:
    """A round outline about the axis and where along it it may be measured, mm."""

    diameter_mm: float
    top_mm: float
    inside: bool
    feature: Feature = Feature.CONTOUR
    words: str = ""


@dataclass(frozen=True)
class Views:
    """``seen``: lines from above; ``cut``: faces of the section as (height, distance); ``beyond``: edges behind them.

    ``box_mm``: x0, y0, x1, y1 from above; ``heights_mm``: levels of faces; ``cut_rad``: where the plane of section lies.
    """

    seen: tuple[Array, ...]
    cut: shapely.Geometry
    beyond: shapely.Geometry
    box_mm: tuple[float, float, float, float]
    heights_mm: tuple[float, ...]
    cut_rad: float
    holes: tuple[RoundHole, ...]
    diameters: tuple[Diameter, ...]
    round_outside: bool

    @property
    def span_mm(self) -> tuple[float, float]:
        """Where the section begins and ends along its plane."""
        _, y0, _, y1 = self.cut.union(self.beyond).bounds
        return y0, y1

    @property
    def reach_mm(self) -> float:
        return max(abs(end) for end in self.span_mm)


def face(slab: Slab) -> shapely.Polygon:
    """A slab from above."""
    holes = [hole.contour.sampled(CHORD_MM) for hole in slab.holes]
    return shapely.Polygon(slab.outer.contour.sampled(CHORD_MM), holes)


def _circle_of(points: Array) -> tuple[float, float, float]:
    middle = points.mean(axis=0)
    return float(middle[0]), float(middle[1]), float(np.hypot(*(points[0] - middle)))


def _holes(body: Body, half_mm: float) -> tuple[RoundHole, ...]:
    """Round holes off the axis, grouped by size and circle; ``half_mm``: half the shorter side of the part."""
    groups: dict[tuple[float, float, Feature], list[tuple[float, float]]] = {}
    loops = [hole for piece in body.pieces if isinstance(piece, Slab) for hole in piece.holes]
    loops += [pocket.outer for pocket in body.pockets]
    for loop in loops:
        if not loop.contour.is_circle:
            continue
        x, y, r = _circle_of(loop.contour.points_mm)
        if math.hypot(x, y) < 1e-6:
            continue
        places = groups.setdefault((round(2 * r, 4), round(2 * math.hypot(x, y), 3), loop.feature), [])
        if all(math.dist((x, y), other) > 1e-6 for other in places):
            places.append((x, y))
    rows = []
    for (size, circle, feature), places in groups.items():
        first = max(places, key=lambda one: (round(one[0] + one[1], 6), one[0]))
        corners = {(round(abs(x), 4), round(abs(y), 4)) for x, y in places}
        square = len(places) == 4 and len(corners) == 1 and min(first) > 1e-6
        # Evenly spaced ones stand on a circle as long as that lies on the part.
        square = square and (abs(first[0] - first[1]) > 1e-3 or circle / 2 > half_mm)
        level = len(places) == 2 and abs(places[0][1] - places[1][1]) < 1e-6 and circle / 2 > half_mm
        rows.append(RoundHole(size, circle, len(places), first, feature, square, level, tuple(sorted(places))))
    return tuple(sorted(rows, key=lambda row: (row.circle_mm, row.diameter_mm)))


def _turned_sizes(piece: Turned) -> list[Diameter]:
    """Sizes of the cylinders of a turned profile: its straight edges along the axis."""
    points, rows = piece.profile.points_mm, []
    for (r, z), (r2, z2), bulge in zip(points, np.roll(points, -1, axis=0), piece.profile.bulges, strict=True):
        if bulge == 0 and abs(r2 - r) < 1e-9 and abs(z2 - z) > 1e-6 and r > 0:
            # Run anticlockwise, (radius, height): an outside rises, a bore falls.
            rows.append(Diameter(2 * float(r), float(max(z, z2)), bool(z2 < z)))
    return rows


def _faces(piece: Slab | Turned) -> list[float]:
    """Heights of faces square to the axis."""
    if isinstance(piece, Slab):
        return [piece.bottom_mm, piece.top_mm]
    points = piece.profile.points_mm
    flat = np.abs(np.roll(points[:, 1], -1) - points[:, 1]) < 1e-9
    return [float(z) for z in points[flat & (piece.profile.bulges == 0), 1]]


def _diameters(body: Body) -> tuple[Diameter, ...]:
    """Round outlines about the axis: outsides, bores, tips and roots of teeth, edges of turned profiles."""
    rows: list[Diameter] = []
    for piece in body.pieces:
        if isinstance(piece, Turned):
            rows += _turned_sizes(piece)
            continue
        for loop, inside in ((piece.outer, False), *((hole, True) for hole in piece.holes)):
            # Long straight sides are cut up, else the corners of a square would pass for a circle.
            sides = shapely.LinearRing(loop.contour.sampled(CHORD_MM)).segmentize(SIDE_MM)
            radius = np.hypot(*shapely.get_coordinates(sides).T)
            if loop.edges_per_space:
                word = "tips" if inside else "tip circle"
                rows.append(
                    Diameter(2 * float(radius.min() if inside else radius.max()), piece.top_mm, inside, words=word)
                )
            elif loop.contour.is_circle and math.hypot(*_circle_of(loop.contour.points_mm)[:2]) < 1e-6:
                size = 2 * _circle_of(loop.contour.points_mm)[2]
                rows.append(Diameter(size, piece.top_mm, inside, loop.feature))
            elif not inside and np.ptp(radius) < 0.05 * radius.max() and np.median(radius) > 0.999 * radius.max():
                rows.append(Diameter(2 * float(radius.max()), piece.top_mm, inside, loop.feature))
    unique: dict[float, Diameter] = {}
    for row in sorted(rows, key=lambda one: one.top_mm):
        if row.diameter_mm > 0.01:
            unique[round(row.diameter_mm, 2)] = row
    return tuple(unique[key] for key in sorted(unique))


def _solids(body: Body) -> list[tuple[shapely.Polygon, float, float]]:
    """Faces from above with their heights; a turned piece as the ring it covers."""
    out = []
    for piece in body.pieces:
        if isinstance(piece, Slab):
            out.append((face(piece), piece.bottom_mm, piece.top_mm))
            continue
        points = piece.profile.sampled(CHORD_MM)
        r0, r1 = float(points[:, 0].min()), float(points[:, 0].max())
        ring = shapely.Point(0, 0).buffer(r1, quad_segs=90)
        if r0 > 1e-6:
            ring = ring.difference(shapely.Point(0, 0).buffer(r0, quad_segs=90))
        out.append((ring, float(points[:, 1].min()), float(points[:, 1].max())))
    return out


def _turned_circles(piece: Turned) -> list[float]:
    """Radii of a turned profile's corners that are seen from above."""
    flat = piece.profile.polygon(CHORD_MM)
    top = flat.bounds[3] + 1.0
    radii = []
    for r, z in piece.profile.points_mm:
        for side in (-1e-3, 1e-3):
            ray = shapely.LineString([(r + side, z + 1e-3), (r + side, top)])
            if r > 1e-6 and not ray.intersects(flat):
                radii.append(float(r))
                break
    return sorted(set(radii))


def _seen(body: Body) -> tuple[Array, ...]:
    """Edges seen from above: each face's outline where nothing stands higher."""
    solids = sorted(_solids(body), key=lambda one: -one[2])
    top = solids[0][2]
    covered = shapely.Polygon()
    runs: list[Array] = []

    def add(lines: shapely.Geometry) -> None:
        for part in shapely.get_parts(shapely.line_merge(lines)):
            if part.length > 1e-3:
                runs.append(shapely.get_coordinates(part))

    levels = sorted({round(solid[2], 4) for solid in solids}, reverse=True)
    for level in levels:
        here = shapely.union_all([face for face, _, high in solids if round(high, 4) == level])
        add(here.boundary.difference(covered.buffer(1e-4)))
        covered = covered.union(here.buffer(1e-6))
    for piece in body.pieces:
        if isinstance(piece, Turned):
            for radius in _turned_circles(piece):
                runs.append(shapely.get_coordinates(shapely.Point(0, 0).buffer(radius, quad_segs=90).exterior))
    for pocket in body.pockets:
        if pocket.top_mm > top - LEVEL_MM:
            add(face(pocket).boundary)
    return tuple(runs)


def _spans(flat: shapely.Geometry, angle: float) -> list[tuple[float, float]]:
    """Where a plane through the axis crosses a face: from and to along it."""
    turned = affinity.rotate(flat, -angle, origin=(0, 0), use_radians=True)
    x0, _, x1, _ = turned.bounds
    cut = turned.intersection(shapely.LineString([(x0 - 1, 0), (x1 + 1, 0)]))
    return [(part.bounds[0], part.bounds[2]) for part in shapely.get_parts(cut) if part.length > 1e-9]


def _drill_cut(drill: Drill, angle: float) -> shapely.Geometry:
    """A drilled hole in the plane of section; empty where it misses the plane or runs aslant to it."""
    x, y, z = drill.start_mm
    c, s = math.cos(-angle), math.sin(-angle)
    along, off = c * x - s * y, s * x + c * y
    way = drill.direction_rad - angle
    radius = drill.diameter_mm / 2
    if abs(math.sin(way)) < 1e-3 and abs(off) < radius:
        half = math.sqrt(radius**2 - off**2)
        end = along + drill.length_mm * math.cos(way)
        return shapely.box(z - half, min(along, end), z + half, max(along, end))
    crosses = off * (off + drill.length_mm * math.sin(way)) <= 0
    if abs(math.cos(way)) < 1e-3 and crosses:
        return shapely.Point(z, along).buffer(radius, quad_segs=16)
    return shapely.Polygon()


def _section(body: Body, angle: float) -> tuple[shapely.Geometry, shapely.Geometry]:
    """Cut faces and edges behind, in (height, distance along the plane)."""
    solid, away, behind = [], [], []
    for piece in body.pieces:
        if isinstance(piece, Turned):
            points = piece.profile.sampled(CHORD_MM)[:, ::-1]
            solid += [shapely.Polygon(points), shapely.Polygon(points * (1.0, -1.0))]
            reach = float(points[:, 1].max())
            behind.append(shapely.box(points[:, 0].min(), -reach, points[:, 0].max(), reach))
            for z, r in piece.profile.points_mm[:, ::-1]:
                behind.append(shapely.LineString([(z, -r), (z, r)]))
            continue
        flat = face(piece)
        solid += [shapely.box(piece.bottom_mm, a, piece.top_mm, b) for a, b in _spans(flat, angle)]
        turned = affinity.rotate(flat, -angle, origin=(0, 0), use_radians=True)
        half = turned.intersection(shapely.box(-1e4, 0, 1e4, 1e4))
        if not half.is_empty:
            behind.append(shapely.box(piece.bottom_mm, half.bounds[0], piece.top_mm, half.bounds[2]))
    for pocket in body.pockets:
        away += [shapely.box(pocket.bottom_mm, a, pocket.top_mm, b) for a, b in _spans(face(pocket), angle)]
    away += [_drill_cut(drill, angle) for drill in body.drills]
    cut = shapely.union_all(solid).difference(shapely.union_all(away)).simplify(1e-5)
    boxes = [one for one in behind if one.geom_type == "Polygon"]
    whole = shapely.union_all(boxes)
    edges = [one.boundary for one in boxes] + [one for one in behind if one.geom_type != "Polygon"]
    return cut, shapely.union_all([edge.intersection(whole) for edge in edges])


def _shifted(loop: Loop, by: Array) -> Loop:
    return replace(loop, contour=Contour(loop.contour.points_mm + by, loop.contour.bulges))


def _slab_shifted(slab: Slab, by: Array) -> Slab:
    return replace(slab, outer=_shifted(slab.outer, by), holes=tuple(_shifted(hole, by) for hole in slab.holes))


def _about_its_middle(body: Body) -> Body:
    """A part that has nothing round about the axis, moved so that its middle lies there: that is where it is cut."""
    if any(isinstance(piece, Turned) for piece in body.pieces):
        return body
    x0, y0, x1, y1 = shapely.union_all([solid[0] for solid in _solids(body)]).bounds
    by = -np.array([x0 + x1, y0 + y1]) / 2
    drills = tuple(
        replace(one, start_mm=(one.start_mm[0] + by[0], one.start_mm[1] + by[1], one.start_mm[2]))
        for one in body.drills
    )
    slabs = tuple(_slab_shifted(piece, by) for piece in body.pieces if isinstance(piece, Slab))
    return Body(slabs, tuple(_slab_shifted(pocket, by) for pocket in body.pockets), drills)


def views(part: Part) -> Views:
    """Both views of a part; the plane of section runs through the axis and a hole beside it, else along x."""
    sizes = _diameters(part.body)
    body = part.body if sizes else _about_its_middle(part.body)
    bounds = shapely.union_all([solid[0] for solid in _solids(body)]).bounds
    holes = _holes(body, min(bounds[2] - bounds[0], bounds[3] - bounds[1]) / 2)
    most = max(holes, key=lambda row: (row.count, row.circle_mm), default=None)
    angle = math.atan2(most.first_mm[1], most.first_mm[0]) if most else 0.0
    cut, beyond = _section(body, angle)
    if cut.is_empty:
        angle = 0.0
        cut, beyond = _section(body, angle)
    levels: list[float] = []
    for piece in (*body.pieces, *body.pockets):
        for z in _faces(piece):
            if all(abs(z - other) > 0.005 for other in levels):
                levels.append(z)
    reach = max(abs(b) for b in bounds)
    outside = any(abs(one.diameter_mm / 2 - reach) < 0.02 for one in sizes)
    return Views(_seen(body), cut, beyond, bounds, tuple(sorted(levels)), angle, holes, sizes, outside)
