"""The print set: a part as a mesh for one printer, lying as it prints, with the printer's habits taken off beforehand.

Every change is made in the layer plane. Material is taken in by the contour allowance; bearing seats, bolt holes and nut pockets
are grown by their own allowance beyond that; the layers on the bed are taken in further, because the first layer spreads. Heights
stay. Outlines are moved by a polygon library, not by the CAD kernel, so that areas stand against volumes from another way.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields, replace
from itertools import pairwise
from typing import Any

import numpy as np
import shapely
from shapely import affinity

from lobewright.design import model as m
from lobewright.errors import ConvergenceFault, DesignFault, Fault
from lobewright.make.bodies import Body, Drill, Feature, Part, Slab, Turned
from lobewright.make.first_layer import cut_at, feet, moved, pieces_and_holes, taken_in, thin_walls
from lobewright.make.levels import Level, flat, nominal, slab_area, slab_levels, turned_area
from lobewright.make.membrane import membranes
from lobewright.make.solids import CHORD_ERROR_MM, Mesh, mesh_library

LARGEST_ROUND_MM = 6.0
"""Holes across the layers up to this diameter close by themselves and stay round (common practice)."""
SAMPLE_MM = CHORD_ERROR_MM * 2 / 3
MARK_MM = 0.5
"""Pockets no deeper than this are marks."""
VOLUME_SHARE = 1e-4
DRILLED_SHARE = 0.01
"""Where a hole comes out of a face that is not quite square to it, as by rounded corners."""
SAME_MM = 1e-7
HEIGHT_DIGITS = 6
LEAST_EDGE_MM = 2e-4


@dataclass(frozen=True)
class Allowance:
    """What a printer needs. Lengths in mm.

    ``contour_mm``: taken off the material, each side. ``seat_mm``, ``bolt_hole_mm``, ``nut_mm``: added to the width across
    of such holes, beyond that. ``first_layer_mm``: how far the first layer spreads, each side. ``layer_mm``: height of a layer.
    ``bead_mm``: width of a bead, which no wall may lose on the bed.
    """

    contour_mm: float = 0.0
    seat_mm: float = 0.0
    bolt_hole_mm: float = 0.0
    nut_mm: float = 0.0
    first_layer_mm: float = 0.0
    layer_mm: float = 0.0
    bead_mm: float = 0.0

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
            bead_mm=printer.extrusion_width_mm,
        )

    @property
    def key(self) -> str:
        """All numbers in a fixed order, for content-addressed storage."""
        return " ".join(f"{one.name}={getattr(self, one.name)!r}" for one in fields(self))

    def beyond_mm(self, feature: Feature) -> float:
        """How far a hole's edge moves outward beyond the contour's allowance."""
        added = {Feature.SEAT: self.seat_mm, Feature.BOLT_HOLE: self.bolt_hole_mm, Feature.NUT: self.nut_mm}
        return added.get(feature, 0.0) / 2


def _special(slabs: Iterable[Slab], pockets: Iterable[Slab], allowance: Allowance) -> list[tuple[Any, float]]:
    """Areas of holes and pockets that are moved beyond the contour's allowance, and how far."""
    found = []
    for slab in slabs:
        found += [(flat(hole, SAMPLE_MM), allowance.beyond_mm(hole.feature)) for hole in slab.holes]
    found += [(slab_area(pocket, SAMPLE_MM), allowance.beyond_mm(pocket.outer.feature)) for pocket in pockets]
    return [(area, beyond) for area, beyond in found if beyond != 0.0]


def _level_area(slabs: Sequence[Slab], pockets: Sequence[Slab], allowance: Allowance) -> Any:
    plain = nominal(SAMPLE_MM)(slabs, pockets)
    outside = shapely.union_all([flat(slab.outer, SAMPLE_MM) for slab in slabs])
    # A hole of one slab may be filled by another; only what is empty is moved as a hole.
    holes = [(area.difference(plain), beyond) for area, beyond in _special(slabs, pockets, allowance)]
    holes = [(area, beyond) for area, beyond in holes if area.area > 1e-6]
    if not holes:
        return moved(plain, -allowance.contour_mm)
    filled = shapely.union_all([plain, *(area.intersection(outside) for area, _ in holes)]).buffer(SAME_MM)
    grown = [moved(area, allowance.contour_mm + beyond) for area, beyond in holes]
    return moved(filled, -allowance.contour_mm).difference(shapely.union_all(grown))


def print_levels(body: Body, allowance: Allowance) -> tuple[Level, ...]:
    """The slabs of a body as levels with a printer's allowances, without the foot on the bed; no turned profiles."""
    return slab_levels(body, lambda slabs, pockets: _level_area(slabs, pockets, allowance))


def closed_over(rows: Iterable[Level], layer_mm: float, up: float) -> tuple[Level, ...]:
    """One layer over each hole that begins above a wider opening (see `membrane`); ``up``: -1 where the part is turned over."""
    flat_rows = [(row.area, row.bottom_mm, row.top_mm) for row in rows]
    return tuple(Level(low, high, area) for area, low, high in membranes(flat_rows, layer_mm, up))


def turned_half(turned: Turned, by_mm: float) -> Any:
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
    kit = mesh_library()
    flat_ = kit.CrossSection(_rings(area), kit.FillRule.Positive)
    return _level(kit.Manifold.extrude(flat_, high - low).translate((0.0, 0.0, low)))


def _revolved(area: Any) -> tuple[Any, float]:
    """A half section turned about the axis, and the volume that it should have: by Pappus, less what its flats cut off."""
    kit = mesh_library()
    reach = float(area.bounds[2])
    count = 4 * math.ceil(math.pi / math.acos(1 - CHORD_ERROR_MM / reach) / 4)
    flats = count / (2 * math.pi) * math.sin(2 * math.pi / count)
    made = kit.Manifold.revolve(kit.CrossSection(_rings(area), kit.FillRule.Positive), count)
    return _level(made), flats * 2 * math.pi * area.centroid.x * area.area


def drill_area(diameter_mm: float, up: float) -> Any:
    """A hole's cross-section: round, or a drop whose roof of 45° needs no support where it is large."""
    radius = diameter_mm / 2
    round_ = shapely.Point(0.0, 0.0).buffer(radius, quad_segs=32)
    if diameter_mm <= LARGEST_ROUND_MM:
        return round_
    side = radius / math.sqrt(2)
    roof = shapely.Polygon([(-side, up * side), (0.0, up * radius * math.sqrt(2)), (side, up * side)])
    return shapely.union_all([round_, roof])


def _drilled(drill: Drill, allowance: Allowance, up: float) -> tuple[Any, Any, Any]:
    """The tool of a hole across the layers, a little longer than the hole, its cross-section (y up) and the line of its axis."""
    beyond = abs(allowance.contour_mm) + 0.01
    width = drill.diameter_mm + 2 * (allowance.contour_mm + allowance.beyond_mm(drill.feature))
    area = drill_area(width, up)
    tool = _extruded(area, -beyond, drill.length_mm + beyond)
    # The tool's own y goes up, its own z along the hole.
    c, s = math.cos(drill.direction_rad), math.sin(drill.direction_rad)
    x, y, z = drill.start_mm
    ends = [(x + t * c, y + t * s) for t in (-beyond, drill.length_mm + beyond)]
    placed = tool.transform(np.array([[-s, 0.0, c, x], [c, 0.0, s, y], [0.0, 1.0, 0.0, z]]))
    return placed, affinity.translate(area, 0.0, z), shapely.LineString(ends)


def _drilled_volume(section: Any, axis: Any, rows: Iterable[Level]) -> float:
    """Volume that a hole takes from levels whose faces are square to it where it begins and ends."""
    left, _, right, _ = section.bounds
    volume = 0.0
    for row in rows:
        here = section.intersection(shapely.box(left, row.bottom_mm, right, row.top_mm)).area
        volume += here * axis.intersection(row.area).length if here else 0.0
    return volume


def _pocket_volume(pocket: Any, half: Any, bottom: float, top: float) -> float:
    """Volume of a pocket in what a half section makes when turned, between two heights (Simpson between its corners)."""
    inner = [z for z in shapely.get_coordinates(half)[:, 1].tolist() if bottom + SAME_MM < z < top - SAME_MM]
    volume = 0.0
    for low, high in pairwise(sorted({bottom, *inner, top})):
        tall = high - low
        heights = (low + 1e-3 * tall, (low + high) / 2, high - 1e-3 * tall)
        areas = [pocket.intersection(turned_area(half, z)).area for z in heights]
        volume += tall * (areas[0] + 4 * areas[1] + areas[2]) / 6
    return volume


def _foot_of_turned(piece: Turned, allowance: Allowance, middle: float, inward: float) -> float:
    """How far a turned profile is taken in at a height, so that none of its walls there keeps less than a bead."""
    half = turned_half(piece, allowance.contour_mm)
    cut = half.intersection(shapely.LineString([(-1.0, middle), (half.bounds[2] + 1.0, middle)]))
    # A disc reaches across the axis: its wall is its diameter.
    widths = [r1 - r0 if r0 > SAME_MM else 2 * r1 for r0, _, r1, _ in (one.bounds for one in shapely.get_parts(cut))]
    return min([inward, *(max(0.0, (width - allowance.bead_mm) / 2) for width in widths)])


def _turned_solids(body: Body, allowance: Allowance, foot: list[tuple[float, float, float]]) -> tuple[list[Any], float]:
    """Solids of the turned profiles less the pockets in them, and the volume they should have by their outlines."""
    solids, volume = [], 0.0
    for piece in body.pieces:
        if not isinstance(piece, Turned):
            continue
        _, low, _, high = piece.profile.polygon().bounds
        for a, b, wanted in cut_at(low, high, foot):
            inward = _foot_of_turned(piece, allowance, (a + b) / 2, wanted) if wanted else 0.0
            area = turned_half(piece, allowance.contour_mm + inward)
            area = area.intersection(shapely.box(0.0, a, area.bounds[2] + 1.0, b))
            one, expected = _revolved(area)
            for pocket in body.pockets:
                bottom, top = max(a, pocket.bottom_mm), min(b, pocket.top_mm)
                if top - bottom > SAME_MM:
                    grown = allowance.contour_mm + inward + allowance.beyond_mm(pocket.outer.feature)
                    flat_ = moved(slab_area(pocket, SAMPLE_MM), grown)
                    expected -= _pocket_volume(flat_, area, bottom, top)
                    one = one - _extruded(flat_, bottom, top)
            _agrees("a turned profile", one.volume(), expected, VOLUME_SHARE)
            volume += expected
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


def _without_marks(body: Body) -> Body:
    """The body without its shallow pockets: nothing is lost where figures run together, for material lies under them."""
    return replace(body, pockets=tuple(one for one in body.pockets if one.top_mm - one.bottom_mm > MARK_MM))


def broken(part: Part, allowance: Allowance) -> str:
    """What of a part is lost by the allowances, in words; empty where all its pieces, holes and walls are still there.

    Every level is held against its nominal outlines: as many pieces and holes, and no wall below a bead. Marks are left out.
    """
    foot, body = _foot_of(part, allowance), _without_marks(part.body)
    for plain, level in zip(slab_levels(body, nominal(SAMPLE_MM)), print_levels(body, allowance), strict=True):
        for _, _, inward in cut_at(level.bottom_mm, level.top_mm, foot):
            where = "the first layer" if inward else "a layer"
            area = taken_in(level.area, inward, allowance.bead_mm)
            (pieces, holes), (now, open_) = pieces_and_holes(plain.area), pieces_and_holes(area)
            if now != pieces:
                return f"{where} of {part.name} falls apart or is lost: {now} pieces of {pieces}"
            if open_ != holes:
                return f"holes of {part.name} run together or close in {where}: {open_} of {holes}"
            if allowance.contour_mm > 0 and thin_walls(level.area, allowance.bead_mm, ribs=False):
                return f"a wall of {part.name} keeps less than a bead"
    return ""


def _foot_of(part: Part, allowance: Allowance) -> list[tuple[float, float, float]]:
    low, high = _ends(part.body)
    bed, up = (high, -1.0) if part.turned_over else (low, 1.0)
    return feet(allowance.first_layer_mm, allowance.layer_mm, bed, up)


def printed(part: Part, allowance: Allowance) -> Mesh:
    """The part for a printer, lying on z = 0 as it prints; see :func:`printed_with_volume`."""
    return printed_with_volume(part, allowance)[0]


def _print_rows(part: Part, allowance: Allowance) -> list[Level]:
    """All flat levels of a print: those of the slabs with the foot taken in, and the holes that are closed for a layer."""
    up = -1.0 if part.turned_over else 1.0
    rows, foot = print_levels(part.body, allowance), _foot_of(part, allowance)
    closed = closed_over(rows, allowance.layer_mm, up) if allowance.layer_mm else ()
    return [
        Level(a, b, taken_in(level.area, inward, allowance.bead_mm))
        for level in (*rows, *closed)
        for a, b, inward in cut_at(level.bottom_mm, level.top_mm, foot)
    ]


def printed_with_volume(part: Part, allowance: Allowance) -> tuple[Mesh, float]:
    """The part for a printer, lying on z = 0 as it prints, and its volume (mm³) by its outlines. Closed by construction.

    Raises DesignFault where the allowances leave nothing whole (:func:`broken`), ConvergenceFault where the mesh has not the
    volume of its outlines or is in several pieces, PlatformFault without the mesh library.
    """
    kit = mesh_library()
    lost = broken(part, allowance)
    if lost:
        raise DesignFault([lost_fault(lost)])
    solids, volume = _turned_solids(part.body, allowance, _foot_of(part, allowance))
    rows = _print_rows(part, allowance)
    solids += [_extruded(row.area, row.bottom_mm, row.top_mm) for row in rows]
    volume += sum(row.volume_mm3 for row in rows)
    whole = kit.Manifold.batch_boolean(solids, kit.OpType.Add)
    _agrees(part.name, whole.volume(), volume, VOLUME_SHARE)
    for drill in part.body.drills:
        tool, section, axis = _drilled(drill, allowance, -1.0 if part.turned_over else 1.0)
        cut, expected = whole - tool, _drilled_volume(section, axis, rows)
        _agrees(f"a hole across the layers of {part.name}", whole.volume() - cut.volume(), expected, DRILLED_SHARE)
        whole = cut
        volume -= expected
    return _lying(part, whole), volume


def lost_fault(lost: str) -> Fault:
    """The fault that tells what :func:`broken` found."""
    allowed = "thicker walls, or smaller allowances of the printer"
    return Fault(lost, "process", allowed=allowed)


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
