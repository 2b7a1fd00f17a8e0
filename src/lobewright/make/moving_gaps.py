"""Gaps between flexible teeth and rigid rings on the moving page, by a general polygon library.

The page computes them itself for the teeth it shows close up (``toothGaps`` of the page module). This is its twin: the
same definition, other means. Both are held to kept vectors by the tests. True geometry of the drawn outlines, unloaded.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from lobewright.make.moving_page import Motion, pose

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class ToothGaps:
    """Gaps of one flexible tooth to one ring. ``points_mm`` (k,): of every point of the tooth's outline (one pitch,
    mid-land to mid-land). ``smallest_mm``: the smallest of these and of the distances of the ring's own points to the
    outline. Negative where a point lies in the other body: then it is the depth."""

    points_mm: Floats
    smallest_mm: float


def _turned(points: Floats, angle_rad: float) -> Floats:
    c, s = math.cos(angle_rad), math.sin(angle_rad)
    return points @ np.array([[c, s], [-s, c]])


def _signed(points: Floats, line: shapely.LineString, clear: NDArray[np.bool_]) -> Floats:
    away = shapely.distance(shapely.points(points), line)
    return np.where(clear, away, -away)


def tooth_gaps(motion: Motion, ring: int, tooth: int, angle_rad: float) -> ToothGaps:
    """Gaps of flexible tooth ``tooth`` to ring ``ring`` when the picture's angle is ``angle_rad``.

    The ring is taken over three spaces, the one that the tooth faces and its neighbours, so a tooth further than half a
    pitch from all of them is told a distance that is too large at most. Room of the ring is what its edge leaves toward
    the axis; the tooth's body reaches down to the inner surface of the flexible ring.
    """
    rigid = motion.rings[ring]
    at = pose(motion, angle_rad)
    x, y, normal = at.teeth[rigid.row][tooth]
    turn = at.rings_rad[ring] - at.generator_rad
    pitch = 2.0 * math.pi / rigid.teeth
    turn += pitch * math.floor((math.atan2(y, x) - turn) / pitch + 0.5)
    outline = motion.rows[rigid.row].outline_mm
    ends, deep = outline[[-1, 0], 0], -motion.inner_offset_mm
    body = np.vstack((outline, np.column_stack((ends, [deep, deep]))))
    outward = np.array((math.cos(normal), math.sin(normal)))
    on_line = body[:, :1] * np.array((-outward[1], outward[0])) + body[:, 1:] * outward
    placed = _turned(np.array((x, y)) + on_line, -turn)
    edge = np.vstack([_turned(rigid.outline_mm, k * pitch) for k in (-1, 0, 1)])
    room = shapely.Polygon(np.vstack((edge, [[0.0, 0.0]])))
    own = placed[: len(outline)]
    points = _signed(own, shapely.LineString(edge), shapely.covers(room, shapely.points(own)))
    clear = ~shapely.contains(shapely.Polygon(placed), shapely.points(edge))
    corners = _signed(edge, shapely.LineString(own), clear)
    return ToothGaps(points, float(min(points.min(), corners.min())))
