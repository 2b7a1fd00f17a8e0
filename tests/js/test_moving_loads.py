"""Contact forces of the moving page: what the page is given, what it refuses, and that nothing is lost on the way."""

from __future__ import annotations

import dataclasses
import json
import math
import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from invented_drive import VECTORS, invented_loads, invented_motion, push_vectors

from lobewright.assessment.run import assess
from lobewright.assessment.stiffness import loaded_drive
from lobewright.design.files import design_from_data
from lobewright.design.starters import starter_data
from lobewright.errors import MotionFault
from lobewright.make.moving_loads import LoadCase, loads_json, pushes_at
from lobewright.make.moving_page import drive_page, pose
from lobewright.make.moving_scene import moving, moving_html, moving_loads
from lobewright.torque.ask import load_share
from lobewright.torque.inputs import estimated_inputs

MOTION = invented_motion()


@given(st.floats(-300.0, 300.0))
@settings(max_examples=40, deadline=None)
def test_sum_of_the_pushes_is_the_same_at_every_angle(angle):
    loads = invented_loads()
    found = pose(MOTION, angle)
    pushes = pushes_at(loads, 0, 1, found.teeth[0], found.shift_rad)
    c, s = np.cos(found.teeth[0][:, 2]), np.sin(found.teeth[0][:, 2])
    along = pushes[:, 3] * c - pushes[:, 2] * s
    assert along.sum() == pytest.approx(loads.cases[0].rings[1].along_n.sum(), rel=1e-9)


def test_at_the_known_places_the_known_forces_act():
    loads = invented_loads()
    shift = loads.cases[0].rings[0].first_label_rad
    angle = shift / (MOTION.flexible_turns - MOTION.generator_turns)
    found = pose(MOTION, angle)
    pushes = pushes_at(loads, 0, 0, found.teeth[0], found.shift_rad)
    ring = loads.cases[0].rings[0]
    assert np.hypot(pushes[:, 2], pushes[:, 3]) == pytest.approx(np.hypot(ring.along_n, ring.out_n), abs=1e-9)


def test_kept_pushes_are_what_python_finds_now():
    kept = json.loads(VECTORS.read_text(encoding="utf-8"))
    assert kept["loads"] == loads_json(invented_loads())
    now = push_vectors(MOTION)
    assert len(kept["pushes"]) == len(now)
    for old, new in zip(kept["pushes"], now, strict=True):
        assert old["total_n"] == pytest.approx(new["total_n"], abs=1e-9)
        assert np.array(old["pushes"]) == pytest.approx(np.array(new["pushes"]), abs=1e-9)


def test_page_with_loads_holds_them_and_repeats():
    page = drive_page(MOTION, "Invented", loads=invented_loads())
    assert page == drive_page(MOTION, "Invented", loads=invented_loads())
    data = json.loads(re.search(r'id="moving-data">(.*?)</script>', page).group(1))
    torques = [case["torque_nm"] for case in data["parameters"]["loads"]["cases"]]
    assert torques == [-1.0, 1.0, 2.0]
    assert '"loads"' not in drive_page(MOTION, "Invented")


@pytest.mark.parametrize("spoil", ["teeth", "wheels", "member", "twice", "none", "not finite"])
def test_loads_of_another_drive_are_refused(spoil):
    loads = invented_loads()
    ring = loads.cases[0].rings[0]
    other = {
        "teeth": dataclasses.replace(ring, along_n=ring.along_n[:-1]),
        "wheels": dataclasses.replace(ring, wheels_n=np.ones((3, 2))),
        "not finite": dataclasses.replace(ring, out_n=ring.out_n * np.nan),
    }
    with pytest.raises(MotionFault):
        if spoil in other:
            cases = (LoadCase(5.0, (other[spoil], loads.cases[0].rings[1])),)
        else:
            cases = {"member": loads.cases, "twice": loads.cases[:1] * 2, "none": ()}[spoil]
        member = "lid" if spoil == "member" else loads.member
        drive_page(MOTION, "Invented", loads=dataclasses.replace(loads, member=member, cases=cases))


def test_forces_of_a_computed_drive_reach_the_page():
    """Paired rollers, generator turned: forces at the same places and the torque of the ring again at angle 0."""
    a = assess(design_from_data(starter_data("printed_ring-paired_rollers")))
    drive = loaded_drive(a)
    share = load_share(drive, estimated_inputs(drive), 1500.0)
    loads = moving_loads(a, [share])
    motion = moving(a)
    found = pose(motion, 0.0)
    for index, row in enumerate(share.rows):
        x, y, fx, fy = pushes_at(loads, 0, index, found.teeth[motion.rings[index].row], found.shift_rad).T
        assert np.hypot(fx, fy) == pytest.approx(row.force_n, rel=1e-9, abs=1e-9)
        # the unloaded shape lies a little elsewhere than the loaded one
        assert float(np.sum(x * fy - y * fx)) == pytest.approx(-share.member_torque_nmm[row.name], rel=0.06)
        for wheel, (wx, wy) in zip(motion.wheels, loads.cases[0].rings[index].wheels_n, strict=True):
            size = math.hypot(wx, wy)
            assert (wheel.x_mm * wx + wheel.y_mm * wy) / math.hypot(wheel.x_mm, wheel.y_mm) > 0.8 * size
        known = np.sort(np.hypot(share.body_force_n[:, index, 0], share.body_force_n[:, index, 1]))
        assert np.sort(np.hypot(*loads.cases[0].rings[index].wheels_n.T)) == pytest.approx(known)
    bare, full = moving_html(a), moving_html(a, [share])
    assert len(full) - len(bare) < 6_000
    assert "Forces: computed" in full and "Forces: computed" not in bare
