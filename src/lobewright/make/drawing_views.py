"""Two views of a part from its data: along the axis from above, and the section A-A through the axis beside it.

First angle: the section stands to the right of the axial view, so that what is above there is to its right here.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely import affinity

from lobewright.make.bodies import Body, Drill, Loop, Part, Slab, Turned
from lobewright.make.drawing_sizes import CHORD_MM, Diameter, Level, Pattern, diameters, levels, outlines, patterns
from lobewright.make.outlines import Contour

Array = np.ndarray
LEVEL_MM = 1e-4
"""Heights that differ by less are one."""


@dataclass(frozen=True)
class Views:
    """``seen``: lines from above, ``hidden`` ones below the top face; ``cut``: faces of the section as (height, distance);
    ``beyond``: edges behind them.

    ``box_mm``: x0, y0, x1, y1 from above; ``heights_mm``: levels of faces; ``cut_rad``: where the plane of section lies.
    ``outlines``: what only corners tell; ``zero_mm``: the point from which coordinates are told, the axis or the lower left
    corner of a part that has nothing round about it.
    """

    seen: tuple[Array, ...]
    hidden: tuple[Array, ...]
    cut: shapely.Geometry
    beyond: shapely.Geometry
    box_mm: tuple[float, float, float, float]
    heights_mm: tuple[float, ...]
    cut_rad: float
    holes: tuple[Pattern, ...]
    diameters: tuple[Diameter, ...]
    outlines: tuple[Level, ...]
    drills: tuple[Drill, ...]
    zero_mm: tuple[float, float]
    round_outside: bool

    @property
    def span_mm(self) -> tuple[float, float]:
        """Where the section begins and ends along its plane."""
        _, y0, _, y1 = self.cut.union(self.beyond).bounds
        return y0, y1


def face(slab: Slab) -> shapely.Polygon:
    """A slab from above."""
    holes = [hole.contour.sampled(CHORD_MM) for hole in slab.holes]
    return shapely.Polygon(slab.outer.contour.sampled(CHORD_MM), holes)


def _faces(piece: Slab | Turned) -> list[float]:
    """Heights of faces square to the axis."""
    if isinstance(piece, Slab):
        return [piece.bottom_mm, piece.top_mm]
    points = piece.profile.points_mm
    flat = np.abs(np.roll(points[:, 1], -1) - points[:, 1]) < 1e-9
    return [float(z) for z in points[flat & (piece.profile.bulges == 0), 1]]


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
        # One looks along (sin, −cos) of the plane's angle, so that heights run to the right.
        half = turned.intersection(shapely.box(-1e4, -1e4, 1e4, 0))
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


def _hidden(body: Body) -> tuple[Array, ...]:
    """Pockets that do not open at the top, and drilled holes, from above."""
    top = max(high for _, _, high in _solids(body))
    runs = [np.vstack((ring := pocket.outer.contour.sampled(CHORD_MM), ring[:1])) for pocket in body.pockets
            if pocket.top_mm < top - LEVEL_MM]  # fmt: skip
    for drill in body.drills:
        along = np.array([math.cos(drill.direction_rad), math.sin(drill.direction_rad)])
        side = np.array([-along[1], along[0]]) * drill.diameter_mm / 2
        start = np.array(drill.start_mm[:2])
        end = start + drill.length_mm * along
        runs += [np.array([start + side, end + side]), np.array([start - side, end - side])]
    return tuple(runs)


def _levels_mm(body: Body) -> tuple[float, ...]:
    """Heights of all faces, each once."""
    rows: list[float] = []
    for piece in (*body.pieces, *body.pockets):
        for z in _faces(piece):
            if all(abs(z - other) > 0.005 for other in rows):
                rows.append(z)
    return tuple(sorted(rows))


def views(part: Part) -> Views:
    """Both views of a part; the plane of section runs through the axis and a hole beside it, else along the longer side."""
    sizes = diameters(part.body, levels(part.body))
    body = part.body if sizes else _about_its_middle(part.body)
    found = levels(body)
    bounds = shapely.union_all([solid[0] for solid in _solids(body)]).bounds
    x0, y0, x1, y1 = bounds
    holes = patterns(body, found, min(x1 - x0, y1 - y0) / 2)
    most = max(holes, key=lambda row: (row.count, row.circle_mm), default=None)
    if not sizes:
        angle = math.pi / 2 if y1 - y0 > x1 - x0 else 0.0
    else:
        angle = math.atan2(most.first_mm[1], most.first_mm[0]) if most else 0.0
    cut, beyond = _section(body, angle)
    if cut.is_empty:
        angle = 0.0
        cut, beyond = _section(body, angle)
    reach = max(abs(b) for b in bounds)
    outside = any(abs(one.diameter_mm / 2 - reach) < 0.02 for one in sizes)
    zero = (0.0, 0.0) if sizes else (bounds[0], bounds[1])
    return Views(_seen(body), _hidden(body), cut, beyond, bounds, _levels_mm(body), angle, holes, sizes,
                 outlines(found, bounds), body.drills, zero, outside)  # fmt: skip
