"""Pinch: what presses without torque when the set deflection over-fills the gap."""

from dataclasses import replace

import numpy as np
import pytest

from lobewright.assessment.run import assess
from lobewright.assessment.stiffness import loaded_drive
from lobewright.design.files import design_from_data
from lobewright.design.starters import starter_data
from lobewright.torque.inputs import estimated_inputs
from lobewright.torque.pinch import pinch


def over_filled(kind, deflection_mm):
    data = starter_data(kind)
    data["generator"]["set_deflection_mm"] = deflection_mm
    drive = loaded_drive(assess(design_from_data(data)))
    return drive, estimated_inputs(drive)


@pytest.fixture(scope="module")
def rollers():
    return over_filled("printed_ring-rollers", 1.25)


def test_a_drive_as_designed_is_not_pinched(assessed_starter):
    drive = loaded_drive(assessed_starter("printed_ring-rollers"))
    found = pinch(drive, estimated_inputs(drive))
    assert not found.pinched
    assert not found.force_n.any()
    assert found.body_force_n == pytest.approx(found.free_push_n, rel=1e-3)
    assert found.contact == (("", ""), ("", ""))


def test_rollers_squeeze_wall_and_teeth_into_the_roots(rollers):
    drive, inputs = rollers
    found = pinch(drive, inputs)
    assert found.pinched
    assert found.contact == (("tip", "tip"), ("tip", "tip"))
    assert abs(found.torque_nmm) < 1e-3
    # an arm presses less than it was set for by what it has given
    given = found.free_push_n - inputs.arm_stiffness_n_per_mm * found.arm_mm
    assert found.body_force_n == pytest.approx(given, rel=1e-6)
    # nearly all of a roller's push goes through the wall straight into the ring outside
    share = found.force_n.sum(axis=0) / (found.body_force_n - found.free_push_n)
    assert (share > 0.9).all() and (share < 1.1).all()


def test_stiffer_arms_pinch_harder(rollers):
    drive, inputs = rollers
    soft, stiff = (pinch(drive, replace(inputs, arm_stiffness_n_per_mm=arm)).force_n.sum() for arm in (300.0, 3000.0))
    assert 1.5 * soft < stiff
    # where arms gave all, the force would be their stiffness times the overlap: that is the bound
    overlap = -pinch(drive, replace(inputs, arm_stiffness_n_per_mm=1.0)).arm_mm
    assert soft < 300.0 * overlap.sum() * 1.05


def test_a_cam_over_filled_presses_at_its_lobes():
    drive, inputs = over_filled("printed_ring-cam_thin_bearing", 1.2)
    one_lobe_first = pinch(drive, inputs)
    found = pinch(drive, replace(inputs, run_out_share=0.0))
    assert found.pinched and one_lobe_first.pinched
    assert np.ptp(one_lobe_first.body_force_n) > 10.0 * np.ptp(found.body_force_n)
    assert found.body_force_n.shape == (2,)
    assert found.body_force_n == pytest.approx(found.force_n.sum(axis=0) + found.free_push_n, rel=0.05)
    assert np.ptp(found.body_force_n) < 0.01 * found.body_force_n.mean()
