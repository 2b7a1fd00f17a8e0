"""The region that a flexible tooth sweeps, with as many poses as it needs.

The sweep is made with few poses first and with twice as many until doubling moves the boundary by less than
``SETTLED_MM``; what the last doubling moved is kept as the error estimate.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from lobewright.mesh.poses import Poses, one_lobe
from lobewright.mesh.sweep import highest_radius, sweep, sweep_root
from lobewright.mesh.teeth import ToothOutline, grow
from lobewright.ring.shape import RingShape

Array = np.ndarray
STRIDES = (8, 4, 2, 1)
"""Every how many samples of the ring's shape a pose is taken: 33 to 257 poses over a lobe."""
SETTLED_MM = 0.001


@dataclass(frozen=True)
class Bounds:
    """Right and left angle (rad) of a swept region at given radii (−10 and 10 where nothing reaches), the stride of poses
    that they took, and how far (mm) the last doubling of poses moved them."""

    right_rad: Array
    left_rad: Array
    stride: int
    pose_error_mm: float


class SweptRegion:
    """What a tooth, grown by ``growth_mm``, sweeps in a ring's frame, over one lobe and all axial sections."""

    def __init__(self, outline: ToothOutline, shapes: tuple[RingShape, ...], ring_teeth: int, growth_mm: float) -> None:
        self.points = grow(outline, growth_mm)
        self.pitch_rad = 2 * math.pi / ring_teeth
        self._ratio = outline.teeth / ring_teeth
        self._poses = tuple(one_lobe(shape, 1) for shape in shapes)
        self._at_stride: dict[int, list[tuple[Poses, Array]]] = {}
        self.highest_mm = max(
            highest_radius(self.points, p.x_mm, p.y_mm, p.normal_rad) for p, _ in self._sweeps(STRIDES[1])
        )

    def _sweeps(self, stride: int) -> list[tuple[Poses, Array]]:
        if stride not in self._at_stride:
            thinner = (poses.every(stride) for poses in self._poses)
            self._at_stride[stride] = [(p, p.label_rad * self._ratio) for p in thinner]
        return self._at_stride[stride]

    def _flanks(self, levels: Array, stride: int) -> tuple[Array, Array]:
        pairs = [
            sweep(self.points, p.x_mm, p.y_mm, p.normal_rad, turned, self.pitch_rad, levels)
            for p, turned in self._sweeps(stride)
        ]
        return np.maximum.reduce([pair[0] for pair in pairs]), np.minimum.reduce([pair[1] for pair in pairs])

    def flanks(self, levels: Array) -> Bounds:
        """Right and left angle at ascending radii in mm, settled over the poses."""
        right, left = self._flanks(levels, STRIDES[0])
        moved = math.inf
        for stride in STRIDES[1:]:
            finer_right, finer_left = self._flanks(levels, stride)
            moved = float(max(np.abs(finer_right - right).max(), np.abs(finer_left - left).max()) * levels[-1])
            right, left = finer_right, finer_left
            if moved < SETTLED_MM:
                break
        return Bounds(right, left, stride, moved)

    def root(self, angles: Array, lowest_mm: float, stride: int) -> Array:
        """Largest radius at ascending angles, of which none is below ``lowest_mm``."""
        reaches = [
            sweep_root(self.points, p.x_mm, p.y_mm, p.normal_rad, turned, self.pitch_rad, angles, lowest_mm)
            for p, turned in self._sweeps(stride)
        ]
        return np.maximum.reduce(reaches)
