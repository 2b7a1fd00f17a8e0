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
    ``unit`` MPa, % or N/mm; ``torque_nmm``; ``spread`` ≥ 1: 90 % band of the model as a factor, 1 where none is known."""

    name: str
    unit: str
    torque_nmm: float
    values: Array
    spread: float = 1.0

    @property
    def highest(self) -> float:
        return float(self.values.max())

    @property
    def lowest(self) -> float:
        return float(self.values.min())

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
        RingCourse(
            name, "MPa", float(torque), _even(worst.label_deg, worst.stress_mpa[at, :, HOOP]), worst.model_spread
        )
        for at, torque in enumerate(worst.torque_nmm)
    )


def _even(label_deg: Array, values: Array) -> Array:
    return np.interp(np.arange(POINTS) * (360.0 / POINTS), label_deg, values, period=360.0)


def _strain(found: Assessment) -> RingCourse:
    """Strain [%] of the inner face from the change of curvature, and of the hoop where the ring is stretched."""
    shape = found.set_shape
    change = shape.curvature_1_per_mm - 1.0 / shape.radius_mm
    strain = 100.0 * (shape.stretch - found.geometry.fibre_in_mm * change)
    label = np.degrees(shape.arc_mm / shape.radius_mm)
    return RingCourse("strain", "%", 0.0, _even(label, strain))


def _tension(push: Pushed) -> RingCourse:
    """Change of the pull in a belt's cords [N] a mm of width at the working torque, of the row that is pulled hardest."""
    share = push.drive.at(push.duty_nmm).share
    drive = push.drive.drive
    widths = shared_widths_mm(drive.design, (row.width_mm for row in drive.rows))
    pulled = [row.normal_n / width for row, width in zip(share.rows, widths, strict=True)]
    hardest = max(range(len(pulled)), key=lambda r: float(pulled[r].max()))
    return RingCourse(
        "tension", "N/mm", share.torque_nmm, _even(share.rows[hardest].section_label_deg, pulled[hardest])
    )
