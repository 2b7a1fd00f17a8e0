"""Windup, load shares and skip from one walk, against the same questions asked one by one."""

from dataclasses import replace

import pytest

from lobewright.assessment.stiffness import loaded_drive
from lobewright.errors import DesignFault
from lobewright.torque.ask import load_share, skip, windup
from lobewright.torque.inputs import estimated_inputs
from lobewright.torque.survey import survey

PEAK_NMM, RATED_NMM = 2000.0, 1000.0


@pytest.fixture(scope="module")
def small(assessed_starter):
    """The printed ring with teeth that break early: its way to the limit is short."""
    drive = loaded_drive(assessed_starter("printed_ring-rollers"))
    return drive, replace(estimated_inputs(drive), lean_limit_share=0.03)


def test_one_walk_answers_as_three_do(small):
    told = []
    found = survey(*small, PEAK_NMM, RATED_NMM, progress=lambda word, share: told.append((word, share)))
    curve = windup(*small, PEAK_NMM)
    assert found.windup.stiffness_nmm_per_rad == pytest.approx(curve.stiffness_nmm_per_rad, rel=1e-5)
    assert found.windup.lost_motion_rad == pytest.approx(curve.lost_motion_rad, rel=1e-5)
    assert found.windup.reach_nmm == PEAK_NMM
    for share, torque in zip(found.shares, (RATED_NMM, PEAK_NMM), strict=True):
        alone = load_share(*small, torque)
        assert share.torque_nmm == pytest.approx(torque, rel=1e-6)
        assert share.windup_rad == pytest.approx(alone.windup_rad, rel=1e-6)
        assert share.rows[0].largest_share == pytest.approx(alone.rows[0].largest_share, rel=1e-4)
    alone = skip(*small)
    # the two come to the limit in other steps, and a tooth's snap on the way is found to 1/1024 of a pitch
    resolution = found.windup.stiffness_nmm_per_rad[-1] * small[0].rows[0].space.pitch_rad / 1024.0
    assert abs(found.skip.torque_nmm - alone.torque_nmm) < 2.0 * resolution < 0.01 * alone.torque_nmm
    assert found.skip.gives_way == alone.gives_way == "teeth break"
    assert found.windup.health.solves < curve.health.solves + alone.health.solves
    shares = [share for _, share in told]
    assert shares == sorted(shares) and 0.0 <= shares[0] < shares[-1] <= 1.0
    assert {word for word, _ in told} == {"windup", "skip", "load share"}


def test_a_drive_that_skips_before_its_peak_is_told_as_far_as_it_holds(small):
    found = survey(*small, 1e6, RATED_NMM)
    assert found.windup.reach_nmm < found.skip.torque_nmm < 1e6
    assert found.windup.reach_nmm == pytest.approx(found.windup.torque_nmm[-1], rel=1e-6)
    assert found.shares[1].torque_nmm == pytest.approx(found.windup.reach_nmm, rel=1e-6)
    assert found.shares[0].torque_nmm == pytest.approx(RATED_NMM, rel=1e-6)
    assert survey(*small, PEAK_NMM, RATED_NMM, skip_too=False).skip is None


def test_a_walk_stops_when_it_is_told_to(small):
    def stop(word: str, share: float) -> None:
        if word == "skip":
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        survey(*small, PEAK_NMM, RATED_NMM, progress=stop)


@pytest.mark.parametrize("torque", [0.0, -1.0, float("nan")])
def test_torques_that_are_none_are_refused(small, torque):
    with pytest.raises(DesignFault, match="torque"):
        survey(*small, torque, RATED_NMM)
    with pytest.raises(DesignFault, match="torque"):
        survey(*small, PEAK_NMM, torque)
