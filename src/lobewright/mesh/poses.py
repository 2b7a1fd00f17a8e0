"""Where a flexible tooth is while the wave passes: poses in the generator frame and the turn of each ring there."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from lobewright.ring.shape import RingShape

Array = np.ndarray


@dataclass(frozen=True)
class Poses:
    """Poses of one tooth in order of arc length, arrays of shape (P,): position in mm, outward normal and material label φ
    in rad, both continuous."""

    x_mm: Array
    y_mm: Array
    normal_rad: Array
    label_rad: Array

    def turned_rad(self, flexible_teeth: int, ring_teeth: int) -> Array:
        """Turn of a ring in the generator frame at each pose: (Z_f/Z_r)·φ."""
        return self.label_rad * (flexible_teeth / ring_teeth)

    def every(self, stride: int) -> Poses:
        """Every so many of the poses, the first included."""
        arrays = (self.x_mm, self.y_mm, self.normal_rad, self.label_rad)
        return Poses(*(np.ascontiguousarray(array[::stride]) for array in arrays))

    def shifted(self, dx_mm: float, dy_mm: float) -> Poses:
        """The same poses with the flexible ring and generator moved off the axis of the rigid rings."""
        return Poses(self.x_mm + dx_mm, self.y_mm + dy_mm, self.normal_rad, self.label_rad)


def one_lobe(shape: RingShape, stride: int = 2) -> Poses:
    """Poses from one minor axis over a lobe to the next, both ends included."""
    half = shape.points_per_half_lobe
    index = np.arange(-half, half + 1, stride)
    return _take(shape, index)


def whole_turn(shape: RingShape, stride: int = 4) -> Poses:
    """Poses once round the ring, the last short of the first by one step."""
    return _take(shape, np.arange(0, len(shape.arc_mm), stride))


def _take(shape: RingShape, index: Array) -> Poses:
    count = len(shape.arc_mm)
    inside = np.mod(index, count)
    laps = (index - inside) // count
    return Poses(
        shape.x_mm[inside],
        shape.y_mm[inside],
        shape.normal_rad[inside] + 2 * math.pi * laps,
        index * (2 * math.pi / count),
    )
