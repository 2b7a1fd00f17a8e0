"""The print set: a part as a mesh for one printer, lying as it prints, with the printer's habits taken off beforehand.

Every change is made in the layer plane. Material is taken in by the contour allowance; bearing seats, bolt holes and nut pockets
are grown by their own allowance beyond that; the layers on the bed are taken in further, because the first layer spreads. Heights
stay. Outlines are moved by a polygon library, not by the CAD kernel, so that areas stand against volumes from another way.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, fields
from itertools import pairwise
from typing import Any

import numpy as np
import shapely
from shapely import affinity

from lobewright.design import model as m
from lobewright.errors import ConvergenceFault, DesignFault, Fault, PlatformFault
from lobewright.make.bodies import Body, Drill, Feature, Loop, Part, Slab, Turned
from lobewright.make.membrane import membranes
from lobewright.make.solids import CHORD_ERROR_MM, Mesh

FOOT_LAYERS = 2
"""Layers on the bed that are taken in: the first by the whole spread, the second by half of it."""
LARGEST_ROUND_MM = 6.0
"""Holes across the layers up to this diameter close by themselves and stay round (common practice)."""
QUARTER_PARTS = 24
THINNED_MM = 1e-3
"""Points that lie closer to the line without them are left out."""
SAMPLE_MM = CHORD_ERROR_MM * 2 / 3
VOLUME_SHARE = 1e-4
SAME_MM = 1e-7
HEIGHT_DIGITS = 6
LEAST_EDGE_MM = 2e-4


@dataclass(frozen=True)
class Allowance:
    """What a printer needs. Lengths in mm.

    ``contour_mm``: taken off the material, each side. ``seat_mm``, ``bolt_hole_mm``, ``nut_mm``: added to the width across
    of such holes, beyond that. ``first_layer_mm``: how far the first layer spreads, each side. ``layer_mm``: height of a layer.
    """

    contour_mm: float = 0.0
    seat_mm: float = 0.0
    bolt_hole_mm: float = 0.0
    nut_mm: float = 0.0
    first_layer_mm: float = 0.0
    layer_mm: float = 0.0

    @staticmethod
    def of(printer: m.Printer) -> Allowance:
        """The allowances of a calibrated printer; a nut pocket takes that of bolt holes."""
        return Allowance(
            contour_mm=printer.xy_compensation_mm,
            seat_mm=printer.seat_allowance_mm,
            bolt_hole_mm=printer.bolt_hole_allowance_mm,
            nut_mm=printer.bolt_hole_allowance_mm,
            first_layer_mm=printer.first_layer_mm,
            layer_mm=printer.layer_mm,
        )

    @property
    def key(self) -> str:
        """All numbers in a fixed order, for content-addressed storage."""
        return " ".join(f"{one.name}={getattr(self, one.name)!r}" for one in fields(self))

    def beyond_mm(self, feature: Feature) -> float:
        """How far a hole's edge moves outward beyond the contour's allowance."""
        added = {Feature.SEAT: self.seat_mm, Feature.BOLT_HOLE: self.bolt_hole_mm, Feature.NUT: self.nut_mm}
        return added.get(feature, 0.0) / 2


@dataclass(frozen=True)
class Level:
    """A flat piece of the print between two heights; ``area`` may have several parts."""

    area: Any
    bottom_mm: float
    top_mm: float

    @property
    def volume_mm3(self) -> float:
        return self.area.area * (self.top_mm - self.bottom_mm)


def _moved(area: Any, by_mm: float) -> Any:
    """An area grown by a distance (negative: shrunk), corners round."""
    return area if by_mm == 0.0 else area.buffer(by_mm, quad_segs=QUARTER_PARTS).simplify(THINNED_MM)


def flat(loop: Loop) -> Any:
    """The area inside an outline, arcs finely sampled."""
    return loop.contour.polygon(SAMPLE_MM)


def slab_area(slab: Slab) -> Any:
    """The nominal area of a slab less its holes."""
    return flat(slab.outer).difference(shapely.union_all([flat(hole) for hole in slab.holes]))


def _special(slabs: Iterable[Slab], pockets: Iterable[Slab], allowance: Allowance) -> list[tuple[Any, float]]:
    """Areas of holes and pockets that are moved beyond the contour's allowance, and how far."""
    found = []
    for slab in slabs:
        found += [(flat(hole), allowance.beyond_mm(hole.feature)) for hole in slab.holes]
    found += [(slab_area(pocket), allowance.beyond_mm(pocket.outer.feature)) for pocket in pockets]
    return [(area, beyond) for area, beyond in found if beyond != 0.0]


def _level_area(slabs: list[Slab], pockets: list[Slab], allowance: Allowance) -> Any:
    nominal = shapely.union_all([slab_area(slab) for slab in slabs])
    outside = shapely.union_all([flat(slab.outer) for slab in slabs])
    nominal = nominal.difference(shapely.union_all([slab_area(pocket) for pocket in pockets]))
    # A hole of one slab may be filled by another; only what is empty is moved as a hole.
    holes = [(area.difference(nominal), beyond) for area, beyond in _special(slabs, pockets, allowance)]
    holes = [(area, beyond) for area, beyond in holes if area.area > 1e-6]
    if not holes:
        return _moved(nominal, -allowance.contour_mm)
    filled = shapely.union_all([nominal, *(area.intersection(outside) for area, _ in holes)]).buffer(SAME_MM)
    grown = [_moved(area, allowance.contour_mm + beyond) for area, beyond in holes]
    return _moved(filled, -allowance.contour_mm).difference(shapely.union_all(grown))


def _heights(body: Body) -> list[float]:
    slabs = [piece for piece in (*body.pieces, *body.pockets) if isinstance(piece, Slab)]
    rows = sorted({height for slab in slabs for height in (slab.bottom_mm, slab.top_mm)})
    return [z for k, z in enumerate(rows) if k == 0 or z - rows[k - 1] > SAME_MM]


def levels(body: Body, allowance: Allowance) -> tuple[Level, ...]:
    """The slabs of a body as flat levels from the lowest up, without the foot on the bed; turned profiles are left out."""
    slabs = [piece for piece in body.pieces if isinstance(piece, Slab)]
    heights, found = _heights(body), []
    for low, high in pairwise(heights):
        middle = (low + high) / 2
        here = [slab for slab in slabs if slab.bottom_mm < middle < slab.top_mm]
        if not here:
            continue
        away = [pocket for pocket in body.pockets if pocket.bottom_mm < middle < pocket.top_mm]
        found.append(Level(_level_area(here, away, allowance), low, high))
    return tuple(found)


def closed_over(rows: Iterable[Level], layer_mm: float, up: float) -> tuple[Level, ...]:
    """One layer over each hole that begins above a wider opening (see `membrane`); ``up``: -1 where the part is turned over."""
    flat_rows = [(row.area, row.bottom_mm, row.top_mm) for row in rows]
    return tuple(Level(*one) for one in membranes(flat_rows, layer_mm, up))


def turned_area(turned: Turned, by_mm: float) -> Any:
    """A profile (radius, height) whose material is taken in by a distance along the radius only."""
    half = turned.profile.polygon(SAMPLE_MM)
    whole = shapely.union_all([half, affinity.scale(half, -1.0, 1.0, origin=(0.0, 0.0))])
    if by_mm:
        shifts = [affinity.translate(whole, sign * by_mm) for sign in (-1.0, 1.0)]
        if by_mm > 0:
            whole = whole.intersection(shifts[0]).intersection(shifts[1])
        else:
            whole = shapely.union_all([whole, *shifts])
    far = 2 * float(np.abs(half.bounds).max()) + 1.0
    return whole.intersection(shapely.box(0.0, -far, far, far))


def _foot(allowance: Allowance, bed_mm: float, up: float) -> list[tuple[float, float, float]]:
    """Heights from and to, and how far the material is taken in there, of the layers on the bed."""
    if allowance.first_layer_mm == 0.0:
        return []
    ends = [bed_mm + up * k * allowance.layer_mm for k in range(FOOT_LAYERS + 1)]
    rows = [(min(pair), max(pair)) for pair in pairwise(ends)]
    return [(*row, allowance.first_layer_mm * (FOOT_LAYERS - k) / FOOT_LAYERS) for k, row in enumerate(rows)]


def _cut_at(low: float, high: float, foot: list[tuple[float, float, float]]) -> list[tuple[float, float, float]]:
    """A range of heights cut at the foot's layers; each piece with how far it is taken in."""
    marks = sorted({low, high, *(z for row in foot for z in row[:2] if low + SAME_MM < z < high - SAME_MM)})
    pieces = []
    for a, b in pairwise(marks):
        middle = (a + b) / 2
        pieces.append((a, b, next((row[2] for row in foot if row[0] < middle < row[1]), 0.0)))
    return pieces


def modeller() -> Any:
    """The mesh library. Raises PlatformFault when it is not installed."""
    try:
        import manifold3d
    except ImportError as error:
        what = f"print files need the library manifold3d, which cannot be loaded here ({error})"
        allowed = 'install the extra "cad": python start.py, or pip install "lobewright[cad]"'
        raise PlatformFault([Fault(what, allowed=allowed)]) from None
    return manifold3d


def _rings(area: Any) -> list[np.ndarray]:
    loops = []
    for part in shapely.get_parts(shapely.normalize(area)):
        if part.geom_type == "Polygon" and part.area > 1e-6:
            oriented = shapely.geometry.polygon.orient(part)
            loops += [np.asarray(ring.coords)[:-1] for ring in (oriented.exterior, *oriented.interiors)]
    return loops


def _level(solid: Any) -> Any:
    """The solid with heights rounded, so that faces of neighbours lie in exactly the same plane."""

    def snapped(corners: np.ndarray) -> np.ndarray:
        return np.column_stack((corners[:, :2], np.round(corners[:, 2], HEIGHT_DIGITS)))

    return solid.warp_batch(snapped)


def _extruded(area: Any, low: float, high: float) -> Any:
    kit = modeller()
    flat_ = kit.CrossSection(_rings(area), kit.FillRule.Positive)
    return _level(kit.Manifold.extrude(flat_, high - low).translate((0.0, 0.0, low)))


def _revolved(area: Any) -> Any:
    kit = modeller()
    reach = float(area.bounds[2])
    count = 4 * math.ceil(math.pi / math.acos(1 - CHORD_ERROR_MM / reach) / 4)
    return _level(kit.Manifold.revolve(kit.CrossSection(_rings(area), kit.FillRule.Positive), count))


def drill_area(diameter_mm: float, up: float) -> Any:
    """A hole's cross-section: round, or a drop whose roof of 45° needs no support where it is large."""
    radius = diameter_mm / 2
    round_ = shapely.Point(0.0, 0.0).buffer(radius, quad_segs=32)
    if diameter_mm <= LARGEST_ROUND_MM:
        return round_
    side = radius / math.sqrt(2)
    roof = shapely.Polygon([(-side, up * side), (0.0, up * radius * math.sqrt(2)), (side, up * side)])
    return shapely.union_all([round_, roof])


def _drilled(drill: Drill, allowance: Allowance, up: float) -> tuple[Any, float]:
    """The tool of a hole across the layers, a little longer than the hole, and its area."""
    beyond = abs(allowance.contour_mm) + 0.01
    width = drill.diameter_mm + 2 * (allowance.contour_mm + allowance.beyond_mm(drill.feature))
    area = drill_area(width, up)
    tool = _extruded(area, -beyond, drill.length_mm + beyond)
    # The tool's own y goes up, its own z along the hole.
    c, s = math.cos(drill.direction_rad), math.sin(drill.direction_rad)
    x, y, z = drill.start_mm
    return tool.transform(np.array([[-s, 0.0, c, x], [c, 0.0, s, y], [0.0, 1.0, 0.0, z]])), area.area


def _turned_solids(body: Body, allowance: Allowance, foot: list[tuple[float, float, float]]) -> tuple[list[Any], float]:
    """Solids of the turned profiles less the pockets in them, and the volume they should have."""
    solids, volume = [], 0.0
    for piece in body.pieces:
        if not isinstance(piece, Turned):
            continue
        _, low, _, high = piece.profile.polygon().bounds
        for a, b, inward in _cut_at(low, high, foot):
            area = turned_area(piece, allowance.contour_mm + inward)
            area = area.intersection(shapely.box(0.0, a, area.bounds[2] + 1.0, b))
            one = _revolved(area)
            volume += one.volume()
            expected = 2 * math.pi * area.centroid.x * area.area
            _agrees("a turned profile", one.volume(), expected, 1e-3)
            for pocket in body.pockets:
                bottom, top = max(a, pocket.bottom_mm), min(b, pocket.top_mm)
                if top - bottom > SAME_MM:
                    grown = allowance.contour_mm + inward + allowance.beyond_mm(pocket.outer.feature)
                    tool = _extruded(_moved(slab_area(pocket), grown), bottom, top)
                    cut = one - tool
                    volume += cut.volume() - one.volume()
                    one = cut
            solids.append(one)
    return solids, volume


def _agrees(name: str, found: float, expected: float, share: float) -> None:
    if abs(found - expected) > share * abs(expected):
        what = f"the print mesh of {name} has not the volume of its outlines"
        allowed = f"{expected:.6g} mm³ ± {100 * share:g} %"
        raise ConvergenceFault([Fault(what, value=f"{found:.6g} mm³", allowed=allowed)])


def _ends(body: Body) -> tuple[float, float]:
    rows = []
    for piece in body.pieces:
        if isinstance(piece, Slab):
            rows += [piece.bottom_mm, piece.top_mm]
        else:
            rows += [float(v) for v in piece.profile.polygon().bounds[1::2]]
    return min(rows), max(rows)


def _foot_area(part: Part, level: Level, inward: float) -> Any:
    area = _moved(level.area, -inward)
    if area.is_empty or len(shapely.get_parts(area)) > len(shapely.get_parts(level.area)):
        what = f"the first layer of {part.name} falls apart when it is taken in for its spreading"
        value, allowed = f"{inward:g} mm on each side", "walls that are wider on the bed"
        raise DesignFault([Fault(what, "process.first_layer_mm", value=value, allowed=allowed)])
    return area


def printed(part: Part, allowance: Allowance) -> Mesh:
    """The part for a printer, lying on z = 0 as it prints; see :func:`printed_with_volume`."""
    return printed_with_volume(part, allowance)[0]


def printed_with_volume(part: Part, allowance: Allowance) -> tuple[Mesh, float]:
    """The part for a printer, lying on z = 0 as it prints, and its volume (mm³) by its outlines. Closed by construction.

    Raises DesignFault where a first layer falls apart, ConvergenceFault where the mesh has not the volume of its outlines or is
    in several pieces, PlatformFault without the mesh library.
    """
    kit = modeller()
    low, high = _ends(part.body)
    bed, up = (high, -1.0) if part.turned_over else (low, 1.0)
    foot = _foot(allowance, bed, up)
    solids, volume = _turned_solids(part.body, allowance, foot)
    rows = levels(part.body, allowance)
    closed = closed_over(rows, allowance.layer_mm, up) if allowance.layer_mm else ()
    for level in (*rows, *closed):
        for a, b, inward in _cut_at(level.bottom_mm, level.top_mm, foot):
            area = _foot_area(part, level, inward) if inward else level.area
            solids.append(_extruded(area, a, b))
            volume += area.area * (b - a)
    whole = kit.Manifold.batch_boolean(solids, kit.OpType.Add)
    _agrees(part.name, whole.volume(), volume, VOLUME_SHARE)
    for drill in part.body.drills:
        tool, area = _drilled(drill, allowance, up)
        cut = whole - tool
        most = area * (drill.length_mm + 2 * abs(allowance.contour_mm))
        least = area * (drill.length_mm - 2 * abs(allowance.contour_mm) - 4 * allowance.first_layer_mm)
        gone = whole.volume() - cut.volume()
        if not 0.98 * least <= gone <= 1.02 * most:
            what = f"a hole across the layers of {part.name} takes away another volume than its own"
            raise ConvergenceFault([Fault(what, value=f"{gone:.5g} mm³", allowed=f"{least:.5g} to {most:.5g} mm³")])
        whole = cut
        volume -= gone
    return _lying(part, whole), volume


def _lying(part: Part, whole: Any) -> Mesh:
    pieces = len(whole.decompose())
    if pieces != 1:
        what = f"the print mesh of {part.name} is in pieces"
        raise ConvergenceFault([Fault(what, value=f"{pieces}", allowed="1")])
    # Edges below what a file's single precision tells apart would close up there and open the surface.
    raw = whole.simplify(LEAST_EDGE_MM).to_mesh64()
    corners, triangles = np.array(raw.vert_properties)[:, :3], np.array(raw.tri_verts).astype(np.int64)
    if part.turned_over:
        corners = corners * (1.0, -1.0, -1.0)
    corners = corners - (0.0, 0.0, corners[:, 2].min())
    return _in_single_precision(corners + 0.0, triangles)


def _in_single_precision(corners: np.ndarray, triangles: np.ndarray) -> Mesh:
    """The mesh as print files hold it: corners that are one in single precision are one, triangles without area go."""
    coarse, place_of = np.unique(corners.astype(np.float32), axis=0, return_inverse=True)
    rows = place_of.reshape(-1)[triangles]
    whole = (rows[:, 0] != rows[:, 1]) & (rows[:, 1] != rows[:, 2]) & (rows[:, 2] != rows[:, 0])
    return Mesh(coarse.astype(float), rows[whole])
