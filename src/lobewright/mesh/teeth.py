"""Outlines of flexible teeth: one pitch of the undeformed ring, as a rigid body on the neutral line.

Coordinates of a tooth: x tangential (anticlockwise positive), y outward from the neutral line, both in mm; the outline
runs from the middle of the left land over the tip to the middle of the right land. The land itself is drawn flat: it
bends with the ring.

Forms: the belt's own profile; involute flanks of the undeformed ring (base circle r_p·cos α, standard involute
geometry, derived); straight flanks; two tangent arcs; any outline given by points.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely

from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.errors import DesignFault, Fault
from lobewright.mesh.drawn import check_tooth
from lobewright.ring.geometry import belt_heights, ring_geometry

Array = np.ndarray
ARC_PARTS = 12
"""Chords that replace a quarter of a rounding: 0.1 µm from the arc at a radius of 0.1 mm, 1 µm at 0.5 mm."""


CHORD_ERROR_MM = 3e-4
"""How far a dropped outline point may lie from the chord that replaces it: a tenth of what a space must keep."""
SEGMENTS_IN_HEIGHT = 8


@dataclass(frozen=True)
class ToothOutline:
    """One pitch of the flexible ring. ``points_mm`` (N, 2) read-only; heights are above the neutral line."""

    teeth: int
    pitch_mm: float
    points_mm: Array
    tip_height_mm: float
    land_height_mm: float

    @property
    def height_mm(self) -> float:
        """Tooth height above the land."""
        return self.tip_height_mm - self.land_height_mm

    @property
    def symmetric(self) -> bool:
        """True when the left half is the mirror image of the right."""
        points = self.points_mm
        mirrored = np.column_stack((-points[::-1, 0], points[::-1, 1]))
        return points.shape == mirrored.shape and bool(np.allclose(points, mirrored, atol=1e-6))


def _body(points: list[tuple[float, float]] | Array, pitch: float, land: float, depth: float) -> shapely.Polygon:
    """Tooth on a strip of rim that is wider than a pitch, as one polygon."""
    tooth = [(float(x), float(y)) for x, y in points]
    strip = shapely.box(-1.5 * pitch, land - depth, 1.5 * pitch, land)
    low = [(tooth[-1][0], land - depth / 2), (tooth[0][0], land - depth / 2)]
    return shapely.union(shapely.Polygon([*tooth, *low]).buffer(0), strip)


def _rounded(body: shapely.Polygon, tip: float, root: float) -> shapely.Polygon:
    """Body with convex corners rounded by ``tip`` and concave ones filled by ``root``."""
    if root > 0:
        body = body.buffer(root, quad_segs=ARC_PARTS).buffer(-root, quad_segs=ARC_PARTS)
    if tip > 0:
        body = body.buffer(-tip, quad_segs=ARC_PARTS).buffer(tip, quad_segs=ARC_PARTS)
    return body


def _upper_edge(body: shapely.Polygon, pitch: float, land: float, most_segment: float) -> Array:
    """The outline over one pitch, left to right, with no segment longer than ``most_segment``."""
    ring = shapely.get_exterior_ring(shapely.normalize(body))
    window = shapely.box(-pitch / 2, land - 1e-6, pitch / 2, land + 1e3)
    line = shapely.line_merge(shapely.intersection(ring, window))
    if line.geom_type != "LineString":
        parts = shapely.get_parts(line)
        line = max(parts, key=lambda part: part.length)
    coordinates = shapely.get_coordinates(shapely.segmentize(line.simplify(CHORD_ERROR_MM), most_segment))
    if coordinates[0, 0] > coordinates[-1, 0]:
        coordinates = coordinates[::-1]
    return np.ascontiguousarray(coordinates)


def _even(edge: Array) -> Array:
    """The outline made exactly symmetric from its right half (dropping points treats the two halves differently)."""
    at = int(np.searchsorted(edge[:, 0] > 0, True))
    right = edge[at:]
    top = np.array([[0.0, np.interp(0.0, edge[at - 1 : at + 1, 0], edge[at - 1 : at + 1, 1])]])
    return np.vstack((right[::-1] * (-1, 1), top, right))


def _mirrored(right: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Whole outline, left to right, from its right half given from the tip downward."""
    return [(-x, y) for x, y in reversed(right)] + right


def _belt_half(belt: m.Belt) -> tuple[list[tuple[float, float]], float, float, float, float]:
    """Right half from tip to land with land height, tip height, tip round and root round."""
    profile, cord, height, _ = belt_heights(belt)
    tip = cord + height
    fillet = profile.root_fillet_mm or 0.0
    if profile.form is catalogue.ToothForm.TRAPEZOID:
        assert profile.root_width_mm is not None and profile.tooth_angle_deg is not None
        half_root = profile.root_width_mm / 2
        half_tip = half_root - height * math.tan(math.radians(profile.tooth_angle_deg) / 2)
        return [(half_tip, tip), (half_root, cord)], cord, tip, profile.tip_radius_mm or 0.0, fillet
    crest = profile.tip_radius_mm
    assert crest is not None
    if profile.form is catalogue.ToothForm.CIRCLE:
        # One tip arc a side, its centre a little across the centre line, straight down from where it is widest.
        across = profile.flank_offset_mm or 0.0
        centre = height - math.sqrt(crest**2 - across**2)
        lowest = math.asin(min(1.0, max(0.0, -centre / crest)))
        turns = np.linspace(math.acos(across / crest), lowest, 33)
        right = [(crest * math.cos(a) - across, cord + centre + crest * math.sin(a)) for a in turns]
        return [*right, (right[-1][0], cord)], cord, tip, 0.0, fillet
    # Two flank circles centred at land level, offset across the centre line, meet the tip circle in tangency; the tip
    # circle is the one that keeps the height, should the catalogue's radii disagree by a hundredth.
    flank, offset = profile.flank_radius_mm, profile.flank_offset_mm
    assert flank is not None and offset is not None
    crest = (flank**2 - offset**2 - height**2) / (2 * (flank - height))
    top = tip - crest
    meet = math.atan2(top - cord, offset)
    right = [(crest * math.sin(a), top + crest * math.cos(a)) for a in np.linspace(0, math.pi / 2 - meet, 17)]
    right += [(flank * math.cos(a) - offset, cord + flank * math.sin(a)) for a in np.linspace(meet, 0.0, 33)[1:]]
    return right, cord, tip, 0.0, fillet


def _involute_half(tooth: m.InvoluteTooth, module: float, teeth: int, radius: float) -> list[tuple[float, float]]:
    """Right flank of an involute tooth of the undeformed ring, tip to land, in tooth coordinates."""
    alpha = math.radians(tooth.pressure_angle_deg)
    pitch_radius = module * teeth / 2
    base = pitch_radius * math.cos(alpha)
    low = max(pitch_radius - tooth.dedendum_factor * module, base)
    high = pitch_radius + tooth.addendum_factor * module
    half = tooth.thickness_share * math.pi / teeth
    rows = []
    for r in np.linspace(high, low, 33):
        at = math.acos(min(1.0, base / r))
        angle = half + (math.tan(alpha) - alpha) - (math.tan(at) - at)
        rows.append((r * math.sin(angle), r * math.cos(angle) - radius))
    if low > pitch_radius - tooth.dedendum_factor * module:
        rows.append((rows[-1][0], pitch_radius - tooth.dedendum_factor * module - radius))
    return rows


def _double_arc_half(tooth: m.DoubleArcTooth, module: float, pitch_line: float) -> list[tuple[float, float]]:
    """Right flank of a double circular arc tooth, tip to land: convex arc, common tangent point, concave arc."""
    lean = math.radians(tooth.tangent_angle_deg)
    x0, y0 = tooth.thickness_share * math.pi * module / 2, pitch_line
    convex, concave = tooth.convex_radius_factor * module, tooth.concave_radius_factor * module
    for key, depth in (("convex", tooth.addendum_factor), ("concave", tooth.dedendum_factor)):
        least, found = depth / (1 - math.sin(lean)), getattr(tooth, f"{key}_radius_factor")
        if found < least:
            allowed = f"at least {least:.3g} for this depth and tangent angle, times the module"
            what = f"the {key} arc is too small to span its part of the flank"
            raise DesignFault([Fault(what, f"tooth.{key}_radius_factor", 0, f"{found:g}", allowed)])
    cx, cy = x0 - convex * math.cos(lean), y0 - convex * math.sin(lean)
    reach = min(1.0, (pitch_line + tooth.addendum_factor * module - cy) / convex)
    up = [(cx + convex * math.cos(a), cy + convex * math.sin(a)) for a in np.linspace(math.asin(reach), lean, 25)]
    dx, dy = x0 + concave * math.cos(lean), y0 + concave * math.sin(lean)
    drop = min(1.0, (dy - (pitch_line - tooth.dedendum_factor * module)) / concave)
    down = [(dx - concave * math.cos(a), dy - concave * math.sin(a)) for a in np.linspace(lean, math.asin(drop), 25)]
    return up + down[1:]


def tooth_outline(design: m.Design, row: int = 1) -> ToothOutline:
    """Outline of one flexible tooth of a row.

    Raises DesignFault when the depths, thickness and roundings leave no tooth.
    """
    geometry = ring_geometry(design)
    ring, tooth = design.flexible_ring, design.tooth
    teeth = design.row_teeth(row)
    neutral_pitch = geometry.neutral_pitch_mm(teeth)
    land = geometry.land_height_mm
    tip_round = root_round = 0.0
    if isinstance(tooth, m.OutlineTooth):
        points = np.asarray(tooth.points)
        points = points[:: -1 if points[0, 0] > points[-1, 0] else 1]
        check_tooth(points, land, "tooth.file")
        tip = float(points[:, 1].max())
    elif isinstance(ring, m.Belt):
        right, land, tip, tip_round, root_round = _belt_half(ring)
        points = np.asarray(_mirrored(right))
    else:
        assert isinstance(tooth, m.ModuleTooth)
        module = ring.module_mm * ring.teeth / teeth
        scale = module / ring.module_mm
        pitch_line = geometry.pitch_height_mm
        tip = pitch_line + tooth.addendum_factor * module
        # A second row keeps the wall and the pitch circle: its dedendum may not cut into the wall.
        land = max(land, pitch_line - tooth.dedendum_factor * module) if scale > 1 else land
        if isinstance(tooth, m.InvoluteTooth):
            right = _involute_half(tooth, module, teeth, geometry.neutral_radius_mm)
        elif isinstance(tooth, m.DoubleArcTooth):
            right = _double_arc_half(tooth, module, pitch_line)
        else:
            assert isinstance(tooth, m.TrapezoidTooth)
            lean = math.tan(math.radians(tooth.half_angle_deg))
            half = tooth.thickness_share * math.pi * module / 2
            right = [
                (half - tooth.addendum_factor * module * lean, tip),
                (half + tooth.dedendum_factor * module * lean, pitch_line - tooth.dedendum_factor * module),
            ]
        if right[0][0] <= 0.02 * module:
            allowed = f"more than {0.04 * module:.3g} mm: less addendum_factor, more thickness_share or a smaller angle"
            what, width = "the flanks meet below the tip: no tooth is left", f"{2 * right[0][0]:.3g} mm wide at the tip"
            raise DesignFault([Fault(what, "tooth.addendum_factor", 0, width, allowed)])
        points = np.asarray(_mirrored(right))
        tip_round, root_round = tooth.tip_round_factor * module, tooth.root_round_factor * module
    if points[-1, 0] - points[0, 0] > neutral_pitch + 1e-9:
        width = f"{points[-1, 0] - points[0, 0]:.4g} mm"
        what = "the tooth is wider at its root than one pitch"
        raise DesignFault([Fault(what, "tooth", 0, width, f"at most {neutral_pitch:.4g} mm")])
    body = _body(points, neutral_pitch, land, 4 * (tip - land))
    rounded = _rounded(body, tip_round, root_round)
    edge = _upper_edge(rounded, neutral_pitch, land, (tip - land) / SEGMENTS_IN_HEIGHT)
    if edge[:, 1].max() < land + 0.5 * (tip - land):
        half = float(np.abs(points[np.argmax(points[:, 1]), 0]))
        allowed = f"less than half the tip's width, {half:.3g} mm, or a wider tip"
        what = "the tip rounding removes the tooth"
        place = "flexible_ring.measured.tooth_height_mm" if isinstance(ring, m.Belt) else "tooth.tip_round_factor"
        raise DesignFault([Fault(what, place, 0, f"{tip_round:.3g} mm", allowed)])
    if not isinstance(tooth, m.OutlineTooth):
        edge = _even(edge)
    edge.setflags(write=False)
    return ToothOutline(teeth, neutral_pitch, edge, float(edge[:, 1].max()), land)


def grow(outline: ToothOutline, by_mm: float) -> Array:
    """Outline points of the tooth grown (or shrunk, negative) by a disc of radius ``by_mm``, shape (M, 2).

    Growing every pose grows the swept region by the same disc, so growing the tooth once is exact.
    """
    if by_mm == 0.0:
        return outline.points_mm
    body = _body(outline.points_mm, outline.pitch_mm, outline.land_height_mm, 4 * outline.height_mm)
    grown = body.buffer(by_mm, quad_segs=ARC_PARTS)
    land = outline.land_height_mm + by_mm
    return _upper_edge(grown, 1.2 * outline.pitch_mm, land, outline.height_mm / SEGMENTS_IN_HEIGHT)
