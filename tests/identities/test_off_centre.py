"""One tooth off at a lobe: where the drive stands then, and what gives it away."""

import math
from dataclasses import replace

import numpy as np
import pytest

from lobewright.assessment.stiffness import loaded_drive
from lobewright.design import catalogue
from lobewright.errors import DesignFault
from lobewright.motion import motion
from lobewright.ring.shell import CupMaterial, cup_geometry, rim_stiffness
from lobewright.torque.inputs import estimated_inputs
from lobewright.torque.off_centre import off_centre, set_off, spaces_off
from lobewright.torque.path import Winder
from lobewright.torque.pinch import pushes
from lobewright.torque.rest import prepare, turned
from lobewright.torque.transmission import rolled


@pytest.fixture(scope="module")
def printed(assessed_starter):
    drive = loaded_drive(assessed_starter("printed_ring-rollers"))
    return drive, estimated_inputs(drive)


@pytest.fixture(scope="module")
def both(printed):
    return off_centre(*printed, 3000.0)


def test_the_ring_stands_off_across_the_major_axis(printed, both):
    drive, _ = printed
    assert both.off.spaces_off.tolist() == [[0, 1], [0, 1]]
    assert both.centred.spaces_off.tolist() == [[0, 0], [0, 0]]
    # teeth of both lobes would sit exactly at half a pitch; the wedged teeth beside them push the ring back a little
    half = 0.5 * drive.rows[0].outline.pitch_mm
    assert 0.6 * half < both.off.eccentricity_mm < half
    assert (np.abs(both.off.ring_shift_mm[:, 0]) < 0.05 * half).all()
    assert both.centred.eccentricity_mm < 0.01 * half


def test_what_gives_it_away(both):
    assert both.off.lost_motion_rad < 0.1 * both.centred.lost_motion_rad
    assert np.hypot(*both.off.carrier_force_n) > 100.0 * np.hypot(*both.centred.carrier_force_n)
    assert both.off.tooth_force_n.sum() > 100.0 * both.centred.tooth_force_n.sum()
    assert both.off.uneven_bodies > 5.0 * both.centred.uneven_bodies
    assert both.off.ripple.torque_swing_nmm > 5.0 * both.centred.ripple.torque_swing_nmm
    assert both.centred.ripple.pitches == 1 and both.off.ripple.pitches > 1
    for word in ("off centre", "instead of", "jerks"):
        assert word in both.sentence


def test_both_sides_are_mirror_images(printed):
    """Of a drive without the small run-out that every drive is given."""
    drive, inputs = printed
    made = prepare(drive, replace(inputs, run_out_share=0.0))
    one, other = (set_off(made, side, 0.3 * side) for side in (1, -1))
    assert one.windup_rad == pytest.approx(-other.windup_rad, rel=1e-4)
    assert one.slope_nmm_per_rad == pytest.approx(other.slope_nmm_per_rad, rel=1e-2)
    assert pushes(made, one.state) == pytest.approx(pushes(made, other.state), rel=1e-2)


def test_a_cup_stands_off_and_still_keeps_its_ratio(assessed_starter):
    """Its barrel lets the rim aside: it repeats every pitch, and the generator's mean torque is the ratio's."""
    assessment = assessed_starter("printed_cup-rollers")
    drive = loaded_drive(assessment)
    design, ring = assessment.design, assessment.design.rigid_ring[0]
    material = catalogue.material(design.flexible_ring.material)
    shell = CupMaterial(sum(material.modulus_mpa) / 2.0, sum(material.poisson) / 2.0)
    middle = ring.offset_mm + 0.5 * ring.width_mm
    barrel = rim_stiffness(cup_geometry(design), shell, range(13), middle, ring.width_mm)
    found = off_centre(drive, estimated_inputs(drive, barrel=barrel), 2000.0)
    assert found.off.ripple.pitches == 1
    share = float(motion(design).turns_in_generator_turn[drive.slow_member])
    assert found.off.ripple.generator_torque_nmm.mean() == pytest.approx(-2000.0 * share, rel=2e-3)
    assert found.off.eccentricity_mm > 50.0 * found.centred.eccentricity_mm


def test_spaces_off_are_told_the_same_all_round(printed):
    """A centred drive is centred wherever its generator stands, also past a whole turn."""
    drive, inputs = printed
    made = prepare(drive, inputs)
    state = Winder(made).rest().state
    for teeth in (13, 50, 101, 137):
        at = turned(made, teeth * 2.0 * math.pi / 100.0)
        moved = rolled(at, state, teeth)
        moved.extra[list(at.ring_at)] = at.rest.extra[list(at.ring_at)]
        assert not spaces_off(at, moved).any()


def test_teeth_that_do_not_hold_send_it_back(assessed_starter):
    """A stiff ring on a cam whose axis is held hard, and teeth of rubber: no such state, and the answer says so."""
    drive = loaded_drive(assessed_starter("printed_ring-cam_thin_bearing"))
    inputs = estimated_inputs(drive)
    stiff = tuple(30.0 * value for value in inputs.bending_stiffness_nmm2)
    soft = replace(inputs, carrier_stiffness_n_per_mm=1e6, bending_stiffness_nmm2=stiff, flank_bed_n_per_mm3=1.0)
    found = off_centre(drive, soft, 10.0)
    assert found.off is None
    assert found.sentence.startswith("no stable state one tooth off")


@pytest.mark.parametrize(
    ("torque", "more", "word"),
    [
        (0.0, {}, "torque_nmm"),
        (100.0, {"side": 2}, "side"),
        (100.0, {"lost_motion_share": 1.0}, "lost_motion_share"),
        (100.0, {"positions_a_pitch": 3}, "positions_a_pitch"),
    ],
)
def test_bad_questions_are_named(printed, torque, more, word):
    with pytest.raises(DesignFault, match=word):
        off_centre(*printed, torque, **more)
