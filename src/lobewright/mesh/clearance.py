"""Does it clear? A whole turn of the flexible tooth against a ring's tooth space, by polygon distances.

A generated space clears its own tooth by exactly its clearance: that proves nothing. So the same space is met by the
teeth of the drive as it may really be: deflection set high or low, belt or ring long or short, generator off its axis,
parts made oversize, another generator fit, set deflection that is not the design deflection.

The distances come from a general polygon library on drawn outlines, not from the sweep that made the space, so a slip in
the sweep shows here.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely

from lobewright.mesh.poses import Poses, one_lobe, whole_turn
from lobewright.mesh.space import ToothSpace
from lobewright.mesh.teeth import ToothOutline, grow
from lobewright.ring.shape import RingShape

Array = np.ndarray
CLOSE_MM = 0.05
"""A tooth counts as close to contact when its gap is within this of the smallest."""

FINE_STRIDE, COARSE_STRIDE = 4, 16
"""Samples of the shape from one pose to the next: for results, and for a look while something is still being moved."""
FIRST_SHARE = 16
"""One pose in so many, the deepest ones, tells how near the others need to be to matter."""


@dataclass(frozen=True)
class Clearance:
    """Result of one whole-turn check of one ring.

    ``smallest_gap_mm`` is negative where outlines overlap (then it is the depth). ``at_label_deg`` is the material label,
    from the nearest lobe, of the tooth where it is smallest. ``teeth_close`` counts flexible teeth whose gap is within
    0.05 mm of the smallest. ``minor_gap_mm`` is the radial gap of tips at the minor axis, ``engagement_mm`` the depth in
    mesh at the shallowest lobe and section.
    """

    case: str
    ring: str
    smallest_gap_mm: float
    at_label_deg: float
    teeth_close: float
    minor_gap_mm: float
    engagement_mm: float
    poses_checked: int


@dataclass(frozen=True)
class _Room:
    """Room that the ring leaves near angle 0, as a polygon, and the toothed edge that bounds it, as a line.

    The tooth space, its two neighbours and everything inside the tip circle. Only the toothed edge is ring material;
    the radial cuts and the inner side are not. ``inner_mm``: from the axis to the nearest point of the edge.
    """

    polygon: shapely.Polygon
    edge: shapely.LineString
    inner_mm: float


def _room(space: ToothSpace) -> _Room:
    outline = space.outline_mm()
    parts = []
    for k in (-1, 0, 1):
        c, s = math.cos(k * space.pitch_rad), math.sin(k * space.pitch_rad)
        parts.append(outline @ np.array([[c, s], [-s, c]]))
    edge = np.vstack(parts)
    reach = 1.5 * space.pitch_rad
    c, s = math.cos(reach), math.sin(reach)
    tip, inner = space.tip_radius_mm, 0.9 * space.tip_radius_mm
    cuts = [(tip * c, tip * s), (inner * c, inner * s), (inner * c, -inner * s), (tip * c, -tip * s)]
    line = shapely.LineString(edge)
    room = _Room(shapely.Polygon(np.vstack((edge, cuts))), line, float(shapely.distance(line, shapely.Point(0.0, 0.0))))
    shapely.prepare([room.polygon, room.edge])
    return room


def posed_outlines(points: Array, poses: Poses, flexible_teeth: int, ring_teeth: int) -> Array:
    """Outline points of every pose in the ring's frame, folded into the space around angle 0: shape (P, N, 2)."""
    turned = poses.turned_rad(flexible_teeth, ring_teeth)
    pitch = 2 * math.pi / ring_teeth
    own = np.arctan2(poses.y_mm, poses.x_mm) - turned
    own = np.mod(own + math.pi, 2 * math.pi) - math.pi
    back = turned + pitch * np.floor(own / pitch + 0.5)
    c, s = np.cos(back)[:, None], np.sin(back)[:, None]
    cx, cy = c * poses.x_mm[:, None] + s * poses.y_mm[:, None], c * poses.y_mm[:, None] - s * poses.x_mm[:, None]
    angle = (poses.normal_rad - back)[:, None]
    ca, sa = np.cos(angle), np.sin(angle)
    x, y = points[None, :, 0], points[None, :, 1]
    return np.stack((cx + y * ca - x * sa, cy + y * sa + x * ca), axis=-1)


def _signed_gaps(room: _Room, outlines: Array) -> Array:
    """Gap of each pose to the ring: distance when clear, minus the depth of the deepest point when not.

    Poses farther than ``CLOSE_MM`` from the smallest gap get a bound from below in place of their distance.
    """
    lines = shapely.linestrings(outlines)
    # No point of the edge is nearer to the axis than the room's inner radius: a pose well inside that cannot matter.
    apart = room.inner_mm - np.hypot(outlines[..., 0], outlines[..., 1]).max(axis=1)
    deep = np.argsort(apart)[: max(1, len(apart) // FIRST_SHARE)]
    known = shapely.distance(room.edge, lines[deep])
    smallest = float(known.min())
    near = np.flatnonzero(apart < smallest + CLOSE_MM)
    rest = np.setdiff1d(near, deep, assume_unique=True)
    gaps = np.maximum(apart, smallest + CLOSE_MM)
    gaps[deep], gaps[rest] = known, shapely.distance(room.edge, lines[rest])
    corners = shapely.points(shapely.get_coordinates(room.edge))
    for i in near[~shapely.covers(room.polygon, lines[near])]:
        points = shapely.points(outlines[i])
        # Far inside the tip circle the polygon ends, the room does not.
        outside = ~shapely.covers(room.polygon, points) & (np.hypot(*outlines[i].T) > 0.95 * room.inner_mm)
        inside = corners[shapely.covers(shapely.Polygon(outlines[i]).buffer(0), corners)]
        depths = [shapely.distance(points[outside], room.edge), shapely.distance(lines[i], inside)]
        if any(len(depth) for depth in depths):
            gaps[i] = -max(float(depth.max()) for depth in depths if len(depth))
    return gaps


def clear(
    case: str,
    space: ToothSpace,
    outline: ToothOutline,
    shapes: tuple[RingShape, ...],
    oversize_mm: float = 0.0,
    shift_mm: float = 0.0,
    stride: int = FINE_STRIDE,
) -> Clearance:
    """Check one ring over a whole turn, at every ``stride``-th place of the shape.

    ``oversize_mm`` is how much both outlines together are too fat (the tooth is grown by it), ``shift_mm`` how far flexible
    ring and generator stand off the rings' axis, tried toward the major and toward the minor axis.
    """
    points = grow(outline, oversize_mm)
    room = _room(space)
    best: tuple[float, float] = (math.inf, 0.0)
    close = 0.0
    checked = 0
    for shape in shapes:
        lobe = 2 * math.pi / shape.lobes
        # On the axis every lobe does the same and one stands for all; off the axis the whole turn is walked.
        turns: tuple[Poses, ...]
        if shift_mm == 0:
            turns = (one_lobe(shape, stride),)
        else:
            turn = whole_turn(shape, stride)
            to_minor = math.pi / shape.lobes
            turns = tuple(turn.shifted(shift_mm * math.cos(a), shift_mm * math.sin(a)) for a in (0.0, to_minor))
        for poses in turns:
            gaps = _signed_gaps(room, posed_outlines(points, poses, outline.teeth, space.teeth))
            at = int(np.argmin(gaps))
            checked += len(gaps)
            if gaps[at] < best[0]:
                label = (poses.label_rad[at] + lobe / 2) % lobe - lobe / 2
                best = (float(gaps[at]), math.degrees(label))
                close = outline.teeth * float(np.mean(gaps <= gaps[at] + CLOSE_MM))
    minor = _minor_gap(space, points, shapes) - shift_mm
    depth = min(float(np.hypot(shape.x_mm, shape.y_mm).max()) for shape in shapes) + float(points[:, 1].max())
    engagement = depth - space.tip_radius_mm - shift_mm
    return Clearance(case, space.name, best[0], best[1], close, minor, engagement, checked)


def _minor_gap(space: ToothSpace, points: Array, shapes: tuple[RingShape, ...]) -> float:
    tip = float(points[:, 1].max())
    lowest = max(shape.minor_deflection_mm + shape.radius_mm for shape in shapes)
    return space.tip_radius_mm - lowest - tip
