"""Rim courses of a solved drive against the plain wall's stress of the same ring, and one picture of the ring against another.

The plain wall's stress is the loaded ring's own, from EI and EA; the courses come from the tooth cell's surfaces.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest

from lobewright.assessment.results import Assessment
from lobewright.assessment.stiffness import Stiffnesses, loaded_drive, stiffnesses
from lobewright.strength.rim_stress import RIPPLE_SPREAD, body_widths_mm, rim_courses
from lobewright.torque.ask import load_share
from lobewright.torque.inputs import DriveInput
from lobewright.torque.results import LoadShare

REST_NMM, TORQUE_NMM = 1.0, 1500.0
Solved = tuple[DriveInput, Stiffnesses, list[tuple[LoadShare, ...]]]


@pytest.fixture(scope="module")
def solved(assessed_starter: Callable[[str], Assessment]) -> Solved:
    """The printed ring of the starter, hardly loaded and loaded; and loaded with the generator half a pitch further."""
    drive = loaded_drive(assessed_starter("printed_ring"))
    stiff = stiffnesses(drive)
    half = math.pi / drive.rows[0].outline.teeth
    first = tuple(load_share(drive, stiff.inputs, torque) for torque in (REST_NMM, TORQUE_NMM))
    return drive, stiff, [first, (load_share(drive, stiff.inputs, TORQUE_NMM, turn_rad=half),)]


def test_without_load_on_teeth_the_root_is_the_wall_s_stress_times_the_cell_s_factors(solved: Solved) -> None:
    drive, stiff, (shares, *_) = solved
    root, inside, *_ = rim_courses(drive, stiff.cells, shares)
    row, cell = shares[0].rows[0], stiff.cells[0]
    body = body_widths_mm(drive)[0]
    # the teeth stiffen the wall: for a moment it bends less than it would alone
    bent = 0.5 * (row.outer_stress_mpa - row.inner_stress_mpa) * cell.bending_ratio
    pulled = row.normal_n / (body * cell.wall_mm)
    # a disc's touch is narrow: the mean over a pitch lies below its peak
    expected = (cell.root.bending * bent + cell.root.stretch * pulled).max()
    assert 0.96 * expected < root.stress_mpa[0, :, 1].max() < expected
    assert -inside.stress_mpa[0, :, 1].min() == pytest.approx(cell.root.bending_inner * bent.max(), rel=0.04)


def test_the_course_is_near_that_of_a_generator_a_part_of_a_pitch_further(solved: Solved) -> None:
    """The wave is taken to travel without changing: ranges of two pictures, over their mean, within the band told."""
    drive, stiff, pictures = solved
    found = [rim_courses(drive, stiff.cells, shares) for shares in pictures]
    ranges = np.array([[np.ptp(one.stress_mpa[-1, :, 1]) for one in picture] for picture in found])
    off = np.abs(ranges / ranges.mean(axis=0) - 1.0)
    assert off.max() < RIPPLE_SPREAD
    assert off.max() > 1e-3


def test_torque_and_teeth_make_the_stress_range_larger(solved: Solved) -> None:
    drive, stiff, (shares, *_) = solved
    for course in rim_courses(drive, stiff.cells, shares):
        still, loaded = np.ptp(course.stress_mpa[:, :, 1], axis=1)
        assert loaded > 1.05 * still
