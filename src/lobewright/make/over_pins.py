"""The pin to lay into a part's tooth spaces, and the size over or between two of them with its limits.

Pins are the dowels that a workshop has (ISO 8734) or plug gauges in steps of a tenth of a millimetre below 3 mm; sizes from
memory. Among those that touch both flanks in the middle half of the tooth's height and stand proud of the tips, the one that
touches nearest to half the height is taken. Where none does, that is said with its reason.
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
WIDTHS = (0.95, 3.0)
"""Of the space's width half-way up: diameters of pins that can touch there, on flanks up to 70° from the middle."""
PROUD_MM = 0.1
"""A pin has to stand so far out of the tips that the micrometer does not reach them."""
FLANK_SHARE = 0.25
"""Of the tooth's height: a touch closer than this to tip or root does not count, a rounded corner tells nothing of a flank."""


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


@dataclass(frozen=True)
class NoPin:
    """Why no usual pin tells of the flanks."""

    words: str


def pin_check(space_mm: Array, teeth: int, internal: bool, tolerance_mm: float) -> PinCheck | NoPin:
    """The pin that suits a space and the size it gives, or why none does."""
    radius = np.hypot(*space_mm.T)
    tip, root = (float(radius.min()), float(radius.max())) if internal else (float(radius.max()), float(radius.min()))
    wide, half = _width_mm(space_mm, (tip + root) / 2), abs(tip - root) / 2
    on_edge = hidden = loose = 0
    for sizes in (DOWELS_MM, GAUGES_MM):
        good = []
        for size in (one for one in sizes if WIDTHS[0] * wide <= one <= WIDTHS[1] * wide):
            try:
                seat = pin_seat(space_mm, teeth, size, internal)
            except DesignFault:
                on_edge += 1
                continue
            off = abs(seat.contact_radius_mm - (tip + root) / 2)
            if off > (1 - 2 * FLANK_SHARE) * half:
                on_edge += 1
            elif (tip - seat.outermost_mm if internal else seat.outermost_mm - tip) < PROUD_MM:
                hidden += 1
            else:
                good.append((off, size, seat))
        for _, size, seat in sorted(good, key=lambda one: one[:2]):
            try:
                both = [pin_seat(space_mm, teeth, size, internal, t).size_mm for t in (-tolerance_mm, tolerance_mm)]
            except DesignFault:
                loose += 1
                continue
            return PinCheck(seat, (min(both), max(both)), tolerance_mm)
    if loose:
        return NoPin(f"no usual pin stays on both flanks within a tolerance of ±{tolerance_mm:g} mm a side")
    if hidden:
        return NoPin(f"pins that touch the flanks about half-way up do not stand {PROUD_MM:g} mm out of the teeth")
    if on_edge:
        return NoPin("pins rest on root or corners of the teeth, which tell nothing of the flanks")
    return NoPin(f"no usual pin is as wide as a space, {wide:.2f} mm half-way up")


def _width_mm(space_mm: Array, radius_mm: float) -> float:
    """Chord of a space at a radius between tip and root."""
    far = np.hypot(*space_mm.T) - radius_mm
    at = np.flatnonzero(np.diff(np.sign(far)))
    share = far[at] / (far[at] - far[at + 1])
    ends = space_mm[at] + share[:, None] * (space_mm[at + 1] - space_mm[at])
    return float(math.dist(ends[0], ends[-1]))


def rigid_check(a: Assessment, mesh: RingMesh) -> PinCheck | NoPin:
    """Size between pins of a rigid ring."""
    return pin_check(rigid_space_mm(mesh.space), mesh.space.teeth, True, a.design.process.tolerance_mm)


def flexible_check(a: Assessment, row: int = 1) -> PinCheck | NoPin:
    """Size over pins of a flexible ring or cup, round and undeformed."""
    if isinstance(a.design.flexible_ring, m.Belt):
        return NoPin("a belt is bought")
    pitch = row_pitch(a, row)
    return pin_check(flexible_space_mm(pitch), pitch.count, False, a.design.process.tolerance_mm)
