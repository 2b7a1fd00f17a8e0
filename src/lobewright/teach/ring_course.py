"""What a point of the flexible ring goes through while the wave passes, for lessons: the course worth showing of each drive.

A picture of the whole ring at one moment is the course of each of its points (as in the strength room). Rims: hoop stress at the
root of the teeth, else at the inner surface. Belts have no known stress: strain of the back without torque, and under it what the
torque changes of the pull in the cords; the pull that they have at rest is not known. Drives that are not solved under torque:
strain of the plain wall from their shape.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lobewright.assessment.results import Assessment
from lobewright.design import model as m
from lobewright.errors import LobewrightError
from lobewright.strength.counting import count_repeated
from lobewright.strength.course import StressCourse
from lobewright.strength.rim_stress import rim_courses
from lobewright.teach.pushed import Pushed
from lobewright.teach.reasons import Why
from lobewright.torque.belt import shared_widths_mm

Array = NDArray[np.float64]
HOOP = 1
POINTS = 192
"""Places round the ring at which a course is told."""


@dataclass(frozen=True)
class RingCourse:
    """Values (POINTS,) at even labels from the first lobe, anticlockwise. ``name``: what it is (root, inside, strain, tension);
    ``unit`` MPa, % or N/mm; ``torque_nmm``; ``spread`` ≥ 1: 90 % band of the model as a factor, 1 where none is known.
    ``extremes``: (place as a share of the ring, value) of the smallest and of the largest, from the course before it was told at
    even places."""

    name: str
    unit: str
    torque_nmm: float
    values: Array
    extremes: tuple[tuple[float, float], tuple[float, float]]
    spread: float = 1.0

    @property
    def highest(self) -> float:
        return self.extremes[1][1]

    @property
    def lowest(self) -> float:
        return self.extremes[0][1]

    def apart(self, lobes: int) -> float:
        """How far the courses at two lobes are apart at most, over the whole range."""
        part = POINTS // lobes
        most = max(float(np.abs(self.values - np.roll(self.values, k * part)).max()) for k in range(1, lobes))
        return most / float(np.ptp(self.values))

    @property
    def cycles(self) -> tuple[float, float]:
        """Cycles that a point counts while it passes all lobes once: those with half of the largest range or more, and all of at
        least a tenth of it."""
        found = count_repeated(self.values)
        ranges = 2.0 * np.asarray(found.amplitude_mpa)
        largest = float(ranges.max())
        counts = np.asarray(found.count)
        return float(counts[ranges >= 0.5 * largest].sum()), float(counts[ranges >= 0.1 * largest].sum())


def ring_courses(found: Assessment, push: Pushed | Why) -> tuple[RingCourse, ...]:
    """One course without torque, and one at the working torque where the drive is solved under torque."""
    if isinstance(push, Why):
        return (_strain(found),)
    if isinstance(found.design.flexible_ring, m.Belt):
        return (_strain(found), _tension(push))
    try:
        shares = (push.drive.at(0.0).share, push.drive.at(push.duty_nmm).share)
        courses = rim_courses(push.drive.drive, push.drive.stiffness.cells, shares)
    except LobewrightError:
        return (_strain(found),)
    made = [one for one in courses if isinstance(one, StressCourse)]
    roots = [one for one in made if one.name.startswith("rim_root")] or made
    if not roots:
        return (_strain(found),)
    worst = max(roots, key=lambda one: float(np.ptp(one.stress_mpa[-1, :, HOOP])))
    name = "root" if worst.name.startswith("rim_root") else "inside"
    return tuple(
        _course(name, "MPa", float(torque), worst.label_deg, worst.stress_mpa[at, :, HOOP], worst.model_spread)
        for at, torque in enumerate(worst.torque_nmm)
    )


def _course(
    name: str, unit: str, torque_nmm: float, label_deg: Array, values: Array, spread: float = 1.0
) -> RingCourse:
    """A course told at even places, with its extremes as they were."""
    even = np.interp(np.arange(POINTS) * (360.0 / POINTS), label_deg, values, period=360.0)
    least, most = (
        (float(label_deg[at]) / 360.0 % 1.0, float(values[at])) for at in (np.argmin(values), np.argmax(values))
    )
    return RingCourse(name, unit, torque_nmm, even, (least, most), spread)


def _strain(found: Assessment) -> RingCourse:
    """Strain [%] of the inner face from the change of curvature, and of the hoop where the ring is stretched."""
    shape = found.set_shape
    change = shape.curvature_1_per_mm - 1.0 / shape.radius_mm
    strain = 100.0 * (shape.stretch - found.geometry.fibre_in_mm * change)
    label = np.degrees(shape.arc_mm / shape.radius_mm)
    return _course("strain", "%", 0.0, label, strain)


def _tension(push: Pushed) -> RingCourse:
    """Change of the pull in a belt's cords [N] a mm of width at the working torque, of the row that is pulled hardest."""
    share = push.drive.at(push.duty_nmm).share
    drive = push.drive.drive
    widths = shared_widths_mm(drive.design, (row.width_mm for row in drive.rows))
    pulled = [row.normal_n / width for row, width in zip(share.rows, widths, strict=True)]
    hardest = max(range(len(pulled)), key=lambda r: float(pulled[r].max()))
    return _course("tension", "N/mm", share.torque_nmm, share.rows[hardest].section_label_deg, pulled[hardest])
