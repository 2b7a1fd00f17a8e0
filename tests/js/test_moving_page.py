"""The Python side of the moving page: what it refuses, and that its pose is the motion of a strain wave drive."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from invented_drive import TEETH, cosine_shape, invented_motion

from lobewright.errors import MotionFault
from lobewright.make.moving_page import FlexibleRow, Motion, along, drive_page, line_up, motion_json, pose

MOTION = invented_motion()


def test_line_is_followed_by_arc_length():
    shape = MOTION.shape
    step = 2.0 * math.pi * shape.radius_mm / 384
    points = along(shape, step * np.arange(385))
    assert points[384] == pytest.approx(points[0])
    assert np.hypot(*np.diff(points[:, :2], axis=0).T) == pytest.approx(np.full(384, step), rel=1e-4)
    between = along(shape, np.array([-0.5 * step]))[0]  # over the seam, where the normal angle jumps by a turn
    assert math.cos(between[2]) == pytest.approx(1.0, abs=1e-4)


@given(st.floats(-500.0, 500.0))
@settings(max_examples=40, deadline=None)
def test_every_row_passes_as_many_teeth_as_its_ring_passes_spaces(angle):
    found = pose(MOTION, angle)
    passed = found.shift_rad * TEETH / (2.0 * math.pi)
    for ring, turned in zip(MOTION.rings, found.rings_rad, strict=True):
        spaces = (turned - found.generator_rad) * ring.teeth / (2.0 * math.pi)
        assert spaces == pytest.approx(passed, abs=1e-8)


def test_after_one_generator_turn_the_material_has_moved_by_the_surplus_teeth():
    """Ring of 102 held, 100 teeth: the marked tooth is two teeth behind, at the marked lobe's place."""
    found = pose(MOTION, 2.0 * math.pi)
    start = pose(MOTION, 0.0)
    assert found.teeth[0][2] == pytest.approx(start.teeth[0][0], abs=1e-6)
    assert found.flexible_rad == pytest.approx(-2 * 2.0 * math.pi / TEETH)


def test_at_rest_tooth_and_space_face_each_other_on_both_lobes():
    states = line_up(MOTION, 0)
    assert states[0] == 2
    assert states[192] == 2
    assert states[96] == 0
    assert line_up(MOTION, 1)[96] == 1  # equal counts: lined up between the lobes too, but apart


def test_far_tooth_surplus_lines_up_in_as_many_places():
    """A ring with four spaces more lines up at four places: on the lobes in mesh, between them apart."""
    ring = dataclasses.replace(MOTION.rings[0], name="r", teeth=104, turns=0.0)
    motion = dataclasses.replace(MOTION, rings=(ring,), held="r", read="flexible", flexible_turns=1.0 - 104 / 100)
    states = line_up(motion, 0)
    assert [states[k] for k in (0, 96, 192, 288)] == [2, 1, 2, 1]
    assert (states == 0).any()


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"flexible_turns": -0.03}, "same count of teeth"),
        ({"held": "lid"}, "no such member"),
        ({"rows": ()}, "no such row"),
        ({"rings": ()}, "names of their own"),
        ({"shape": dataclasses.replace(MOTION.shape, radius_mm=0.0)}, "neutral radius"),
        ({"shape": dataclasses.replace(MOTION.shape, y_mm=MOTION.shape.y_mm[:-1])}, "one length"),
        ({"shape": dataclasses.replace(MOTION.shape, y_mm=MOTION.shape.y_mm * np.nan)}, "not finite"),
    ],
)
def test_parameters_that_do_not_fit_together_are_refused(change, words):
    with pytest.raises(MotionFault, match=words):
        dataclasses.replace(MOTION, **change)


def test_two_rows_of_different_count_keep_their_own_relation():
    shape = cosine_shape(MOTION.shape.radius_mm, 0.73, 2)
    rows = (FlexibleRow(100, MOTION.rows[0].outline_mm), FlexibleRow(98, MOTION.rows[0].outline_mm))
    # (turns_r − 1)·100 = (turns_f − 1)·98 with turns_f = 1 − 1.02
    ring = dataclasses.replace(MOTION.rings[1], row=1, turns=1.0 - 1.02 * 98 / 100)
    motion = dataclasses.replace(MOTION, shape=shape, rows=rows, rings=(MOTION.rings[0], ring))
    assert [len(teeth) for teeth in pose(motion, 1.0).teeth] == [100, 98]


def test_page_is_deterministic_and_its_json_has_plain_rounded_numbers():
    title = "Sun mirror of the roof garden (invented)"
    assert drive_page(MOTION, title) == drive_page(invented_motion(), title)
    data = motion_json(MOTION)
    assert all(type(x) is float and x == round(x, 6) for x in data["shape"]["x_mm"])
    assert data["turns"] == {"generator": 1.0, "flexible": -0.02, "rings": [0.0, -0.02]}


def test_motion_is_frozen():
    with pytest.raises(dataclasses.FrozenInstanceError):
        MOTION.read = "generator"
    assert isinstance(MOTION, Motion)
