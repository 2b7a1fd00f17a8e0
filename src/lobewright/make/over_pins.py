"""The pin to lay into a part's tooth spaces, and the size over or between two of them with its limits.

Pins are the dowels that a workshop has (ISO 8734) or plug gauges in steps of a tenth of a millimetre below 3 mm; sizes from
memory. Among those that touch both flanks and stand proud of the tips, the one that touches nearest to the middle of the
tooth's height is taken.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from lobewright.assessment.results import Assessment, RingMesh
from lobewright.design import model as m
from lobewright.errors import DesignFault
from lobewright.make.outlines import sample, turn
from lobewright.make.parts_flexible import row_pitch
from lobewright.make.toothing import Pitch
from lobewright.mesh.over_pins import PinSeat, pin_seat
from lobewright.mesh.space import ToothSpace

Array = np.ndarray
DOWELS_MM = (1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)
"""ISO 8734, remembered."""
GAUGES_MM = tuple(round(0.3 + 0.1 * k, 1) for k in range(27))
PROUD_MM = 0.1
"""A pin has to stand so far out of the tips that the micrometer does not reach them."""
MOUTH_SHARE = 0.05
"""Of the tooth's height: no touch closer than this to tip or root counts, an edge tells nothing of a flank."""


@dataclass(frozen=True)
class PinCheck:
    """How a toothed part is checked: the pin, the nominal size and its limits in mm.

    ``limits_mm`` (least, largest): the contour thinner or thicker by the process's tolerance on every side.
    """

    seat: PinSeat
    limits_mm: tuple[float, float]
    tolerance_mm: float

    @property
    def words(self) -> str:
        return "between two pins" if self.seat.internal else "over two pins"


def rigid_space_mm(space: ToothSpace) -> Array:
    """One internal tooth space from middle of land to middle of land, (N, 2)."""
    half = space.pitch_rad / 2
    angles = np.linspace(0.0, 1.0, 9)
    left = -half + angles[:-1] * (float(space.left_rad[0]) + half)
    right = float(space.right_rad[0]) + angles[1:] * (half - float(space.right_rad[0]))
    lands = [space.tip_radius_mm * np.column_stack((np.cos(a), np.sin(a))) for a in (left, right)]
    return np.vstack((lands[0], space.outline_mm(), lands[1]))


def flexible_space_mm(pitch: Pitch) -> Array:
    """One space between two flexible teeth of the undeformed ring, from middle of tip to middle of tip, (N, 2)."""
    tooth = sample(pitch.chains[0], 5e-5)
    land = sample(pitch.chains[1], 5e-5)
    step = 2 * math.pi / pitch.count
    top = int(np.argmin(np.abs(np.arctan2(tooth[:, 1], tooth[:, 0]))))
    line = np.vstack((tooth[top:-1], land[:-1], turn(tooth[: top + 1], step)))
    return turn(line, -step / 2)


def pin_check(space_mm: Array, teeth: int, internal: bool, tolerance_mm: float) -> PinCheck | None:
    """The pin that suits a space and the size it gives; None where no usual pin touches both flanks and stands proud."""
    radius = np.hypot(*space_mm.T)
    tip, root = (float(radius.min()), float(radius.max())) if internal else (float(radius.max()), float(radius.min()))
    for sizes in (DOWELS_MM, GAUGES_MM):
        good = []
        for size in sizes:
            try:
                seat = pin_seat(space_mm, teeth, size, internal)
                both = [pin_seat(space_mm, teeth, size, internal, t).size_mm for t in (-tolerance_mm, tolerance_mm)]
            except DesignFault:
                continue
            proud = tip - seat.outermost_mm if internal else seat.outermost_mm - tip
            inside = min(abs(seat.contact_radius_mm - end) for end in (tip, root)) >= MOUTH_SHARE * abs(tip - root)
            if proud >= PROUD_MM and inside:
                good.append((abs(seat.contact_radius_mm - (tip + root) / 2), seat, (min(both), max(both))))
        if good:
            _, seat, limits = min(good, key=lambda one: one[0])
            return PinCheck(seat, limits, tolerance_mm)
    return None


def rigid_check(a: Assessment, mesh: RingMesh) -> PinCheck | None:
    """Size between pins of a rigid ring."""
    return pin_check(rigid_space_mm(mesh.space), mesh.space.teeth, True, a.design.process.tolerance_mm)


def flexible_check(a: Assessment, row: int = 1) -> PinCheck | None:
    """Size over pins of a flexible ring or cup, round and undeformed; None for a belt, which is bought."""
    if isinstance(a.design.flexible_ring, m.Belt):
        return None
    pitch = row_pitch(a, row)
    return pin_check(flexible_space_mm(pitch), pitch.count, False, a.design.process.tolerance_mm)
