"""Transmission error: its orders follow from what is uneven, its mean from the tooth counts."""

import math
from dataclasses import replace

import numpy as np
import pytest

from lobewright.assessment.stiffness import loaded_drive
from lobewright.errors import ConvergenceFault, DesignFault
from lobewright.motion import motion
from lobewright.torque.errors_in import DriveErrors, RingErrors
from lobewright.torque.inputs import estimated_inputs
from lobewright.torque.transmission import Sampled, counter_slip, slow_slip, spectrum, transmission_error

TORQUE_NMM = 3000.0


@pytest.fixture(scope="module")
def printed(assessed_starter):
    drive = loaded_drive(assessed_starter("printed_ring-rollers"))
    return drive, estimated_inputs(drive)


@pytest.fixture(scope="module")
def perfect(printed):
    return transmission_error(*printed, TORQUE_NMM)


def test_homes_are_the_motion_of_the_drive(printed):
    drive, _ = printed
    turns = motion(drive.design).turns_in_generator_turn
    slip, slow = counter_slip(drive), slow_slip(drive)
    assert (slow - slip) / (1.0 - slip) == pytest.approx(float(turns[drive.slow_member]), rel=1e-12)


def test_a_perfect_drive_errs_in_its_mesh_orders_alone(printed, perfect):
    assert perfect.mesh_order == pytest.approx(drive_teeth(printed))
    assert perfect.orders == pytest.approx(perfect.mesh_order * np.arange(1, 6))
    assert perfect.condition == pytest.approx(1.0)
    assert 1e-6 < perfect.peak_to_peak_rad < 1e-3
    assert perfect.torque_error_share < 2e-4
    assert perfect.fallbacks == 0
    angle = perfect.generator_turn_rad[:, None] * perfect.orders - perfect.phase_rad
    left = perfect.error_rad - (perfect.amplitude_rad * np.cos(angle)).sum(axis=1)
    assert math.sqrt((left**2).mean()) == pytest.approx(perfect.left_over_rad, rel=1e-6)


def drive_teeth(printed):
    drive, _ = printed
    return next(row.space.teeth for row in drive.rows if row.name == drive.counter_member)


def test_a_perfect_drive_has_no_orders_of_a_turn(printed, perfect):
    """Sampled round the turn: what is left of orders 1 and 2 is the iteration's."""
    round_turn = transmission_error(*printed, TORQUE_NMM, places_a_turn=5)
    for order in (1, 2):
        assert round_turn.amplitude_at(order) < 1e-5 * perfect.peak_to_peak_rad
    assert round_turn.peak_to_peak_rad == pytest.approx(perfect.peak_to_peak_rad, rel=1e-4)
    # and it comes back to where it was: the mean ratio is exact
    assert round_turn.error_rad[0] == pytest.approx(round_turn.error_rad[-12], abs=1e-8 * TORQUE_NMM / 3000.0)


def test_small_errors_scale_and_add(printed):
    """Ovality brings order 2 in proportion; with unequal lobes a run-out brings order 1; both together are their sum."""
    drive, inputs = printed

    def of(errors):
        return transmission_error(drive, inputs, TORQUE_NMM, errors=errors, places_a_turn=5)

    lobes = DriveErrors(unequal_lobes_mm=0.1)
    one = of(replace(lobes, rings=(RingErrors(run_out_mm=0.002), RingErrors())))
    oval = of(replace(lobes, rings=(RingErrors(ovality_mm=0.002), RingErrors())))
    both = of(replace(lobes, rings=(RingErrors(run_out_mm=0.004, ovality_mm=0.002), RingErrors())))
    assert one.amplitude_at(1) > 20.0 * one.amplitude_at(2)
    assert oval.amplitude_at(2) > 20.0 * oval.amplitude_at(1)
    assert both.amplitude_at(1) == pytest.approx(2.0 * one.amplitude_at(1), rel=0.04)
    assert both.amplitude_at(2) == pytest.approx(oval.amplitude_at(2), rel=0.05)


def test_even_lobes_average_a_run_out_nearly_out(printed):
    drive, inputs = printed
    rings = (RingErrors(run_out_mm=0.02), RingErrors())
    even = transmission_error(
        drive, replace(inputs, run_out_share=0.0), TORQUE_NMM, errors=DriveErrors(rings), places_a_turn=5
    )
    single = 0.02 / drive.geometry.neutral_radius_mm
    assert even.amplitude_at(1) < 2e-3 * single


def test_the_spectrum_reads_what_was_put_in():
    turn = (np.rint(np.arange(16) * 102 / 16)[:, None] + np.arange(12) / 12).ravel() * (2.0 * math.pi / 102)
    wave = 3.0 * np.cos(turn - 0.3) + 0.5 * np.cos(2 * turn) + 0.2 * np.cos(102 * turn) + 0.1 * np.cos(104 * turn - 1.0)
    found = spectrum(Sampled(turn, 5.0 + wave, turn, 12, 16, 1.0), 102.0)
    size = dict(zip(found.orders.tolist(), np.hypot(found.cosine, found.sine).tolist(), strict=True))
    for order, wanted in ((1, 3.0), (2, 0.5), (3, 0.0), (102, 0.2), (103, 0.0), (104, 0.1)):
        assert size[order] == pytest.approx(wanted, abs=1e-9)
    assert found.condition < 5.0 and found.left_over < 1e-9


def test_the_generator_feels_the_slope_of_the_error(printed, perfect):
    """Without friction the generator's work over a pitch is that of the output: the ripple sums to the ratio's torque."""
    share = float(motion(printed[0].design).turns_in_generator_turn[printed[0].slow_member])
    assert perfect.generator_torque_nmm.mean() == pytest.approx(-TORQUE_NMM * share, rel=2e-4)
    assert perfect.torque_ripple_nmm > 0.0


@pytest.mark.parametrize(
    ("torque", "more", "word"),
    [
        (0.0, {}, "torque_nmm"),
        (math.nan, {}, "torque_nmm"),
        (100.0, {"positions_a_pitch": 11}, "positions_a_pitch"),
        (100.0, {"places_a_turn": 0}, "places_a_turn"),
        (100.0, {"turns": -1.0}, "turns"),
    ],
)
def test_bad_questions_are_named(printed, torque, more, word):
    with pytest.raises(DesignFault, match=word):
        transmission_error(*printed, torque, **more)


def test_a_torque_beyond_the_skip_is_refused(printed):
    with pytest.raises(ConvergenceFault, match="does not hold this torque"):
        transmission_error(printed[0], replace(printed[1], arm_stiffness_n_per_mm=300.0), 1e5)
