"""Gaps of the moving page: the same as the whole-turn check of the assessment finds by its own means."""

from __future__ import annotations

import math

import numpy as np
import pytest
from invented_drive import invented_motion, swollen

from lobewright.assessment.run import assess
from lobewright.design.files import design_from_data
from lobewright.design.starters import starter_data
from lobewright.make.moving_gaps import tooth_gaps
from lobewright.make.moving_page import pose
from lobewright.make.moving_scene import moving


def test_smallest_gap_near_a_lobe_is_that_of_the_assessment():
    """Both look at outlines of the same drive as designed; poses differ, so 1 µm is left between them."""
    found = assess(design_from_data(starter_data("printed_ring-paired_rollers")))
    motion = moving(found)
    row = motion.rows[motion.rings[0].row].teeth
    step = 2.0 * math.pi / abs(motion.flexible_turns - motion.generator_turns) / row
    near = [
        tooth_gaps(motion, 0, tooth, part * step).smallest_mm
        for part in np.linspace(0.0, 1.0, 6, endpoint=False)
        for tooth in range(-10, 11)
    ]
    designed = next(case for case in found.rings[0].cases if case.case == "as designed")
    assert min(near) == pytest.approx(designed.smallest_gap_mm, abs=1e-3)


def test_a_point_beyond_the_edge_is_as_deep_as_it_is_moved_in():
    """Straight above a space's middle the tip's depth grows as the shape is blown up."""
    motion = invented_motion()
    before, after = (tooth_gaps(drive, 0, 0, 0.0) for drive in (motion, swollen(motion)))
    x = pose(motion, 0.0).teeth[0][0, 0]
    assert before.points_mm[2] > 0.0 > after.points_mm[2]
    assert before.points_mm[2] - after.points_mm[2] == pytest.approx(0.006 * x, rel=0.03)
    assert after.smallest_mm <= after.points_mm.min()


def test_a_tooth_keeps_its_sides():
    """A drive of mirror symmetry: the tooth before the lobe is the mirror image of the one behind, and not the same."""
    motion = invented_motion()
    before, behind = (tooth_gaps(motion, 0, tooth, 0.0).points_mm for tooth in (2, -2))
    assert before == pytest.approx(behind[::-1], abs=1e-4)  # the spaces are sampled by rays, 40 nm to a side
    assert abs(before - behind).max() > 0.01
