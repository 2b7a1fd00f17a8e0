"""Rigid rings that give: one energy, stiff limit, virtual work, and what it does to stiffness and skipping."""

import math
from dataclasses import replace

import numpy as np
import pytest
from tests.identities.test_drive_errors import ALL_ERRORS, check_slopes, ring_pull, settled

from lobewright.assessment.stiffness import loaded_drive
from lobewright.errors import DesignFault
from lobewright.torque.ask import load_share, skip
from lobewright.torque.errors_in import NO_ERRORS
from lobewright.torque.inputs import estimated_inputs
from lobewright.torque.rest import prepare
from lobewright.torque.rim import estimated_rims
from lobewright.torque.rim_section import RimGive

TORQUE_NMM = 3000.0


@pytest.fixture(scope="module")
def printed(assessed_starter):
    drive = loaded_drive(assessed_starter("printed_ring-rollers"))
    return drive, estimated_inputs(drive)


def stiffer(rims, factor):
    return tuple(
        RimGive(r.radius_mm, r.inside_mm, factor * r.bending_stiffness_nmm2, factor * r.axial_stiffness_n) for r in rims
    )


def test_forces_and_tangent_are_slopes_of_the_energy_with_rims(printed):
    drive, inputs = printed
    made = prepare(drive, replace(inputs, rims=estimated_rims(drive)), errors=ALL_ERRORS)
    state = made.rest.copy()
    state.extra[-1] += 0.012
    ends = [at for row in range(2) for at in made.lean_extras(row)[1:]]
    assert len(set(ends)) == 10 and max(ends) == len(state.extra) - 3
    state.extra[ends] += 1e-4 * np.random.default_rng(1).standard_normal(10)
    check_slopes(made, state)


def test_a_thin_ring_by_hand():
    """A ring under two opposite forces P at its ends: 0.1488 PR³/EI of diameter, of which cos 2φ and cos 4φ make 0.147."""
    rim = RimGive(50.0, 1.0, 1e6, 1e9)
    # P at 0 and π: force 2P on each even wave
    give = sum(2.0 * 2.0 / rim.stiffness_n_per_mm(n) for n in (2, 4))
    series = sum(4.0 / (math.pi * (n * n - 1) ** 2) for n in range(2, 200, 2))
    assert series == pytest.approx(0.1488, rel=1e-3)
    assert give * 1e6 / 50.0**3 == pytest.approx(4.0 / math.pi * (1 / 9 + 1 / 225), rel=1e-12)
    # breathing under a pressure q a length: q R²/(EA), with 2πR q the force
    assert 2.0 * math.pi * 50.0 / rim.stiffness_n_per_mm(0) == pytest.approx(50.0**2 / 1e9)


def test_stiff_rims_are_rigid_rings_and_softer_ones_give_more(printed):
    drive, inputs = printed
    rims = estimated_rims(drive)
    rigid = load_share(drive, inputs, TORQUE_NMM)
    assert rigid.rim_mm.shape == (2, 0)
    windups = []
    for factor in (1e7, 3.0):
        share = load_share(drive, replace(inputs, rims=stiffer(rims, factor)), TORQUE_NMM)
        assert share.health.torque_error_share < 1e-6
        windups.append(share.windup_rad)
    assert windups[0] == pytest.approx(rigid.windup_rad, rel=1e-6)
    assert windups[1] > 1.05 * rigid.windup_rad


def test_small_give_adds_what_virtual_work_says(printed):
    """A rim of stiffness k under the force Q(T) of the teeth adds Q·dQ/dT/k to the windup, and is bent by −Q/k."""
    drive, inputs = printed
    rims = stiffer(estimated_rims(drive), 100.0)
    _, even = settled(drive, inputs, NO_ERRORS)
    places = [settled(drive, inputs, NO_ERRORS, TORQUE_NMM * share, even.state) for share in (0.998, 1.0, 1.002)]
    wanted = 0.0
    for row in range(2):
        for wave in (0, 2, 4):
            pulls = [ring_pull(*place, row, wave, rims[row]) for place in places]
            rate = (pulls[2] - pulls[0]) / (0.004 * TORQUE_NMM)
            wanted += (rate * np.conj(pulls[1])).real / rims[row].stiffness_n_per_mm(wave)
    gave, place = settled(drive, replace(inputs, rims=rims), NO_ERRORS, start=None)
    assert place.windup_rad - even.windup_rad == pytest.approx(wanted, rel=0.02)
    share = load_share(drive, replace(inputs, rims=rims), TORQUE_NMM)
    pull = ring_pull(gave, place, 0, 2, rims[0])
    found = share.rim_mm[0, 1] - 1j * share.rim_mm[0, 2]
    assert found == pytest.approx(-pull / rims[0].stiffness_n_per_mm(2), rel=0.02)


def test_soft_rims_skip_sooner(printed):
    drive, inputs = printed
    rims = stiffer(estimated_rims(drive), 0.3)
    arms = replace(inputs, arm_stiffness_n_per_mm=300.0)
    soft = skip(drive, replace(arms, rims=rims))
    beyond = 1.3 * soft.torque_nmm
    assert load_share(drive, arms, beyond).torque_nmm == pytest.approx(beyond, rel=1e-6)
    assert soft.at_limit.rim_mm[:, 0].min() > 0.0


def test_bad_rims_are_named(assessed_starter, printed):
    drive, inputs = printed
    with pytest.raises(DesignFault, match="axial_stiffness_n"):
        RimGive(50.0, 1.0, 1e6, 0.0)
    with pytest.raises(DesignFault, match="inside_mm"):
        RimGive(50.0, 60.0, 1e6, 1.0)
    with pytest.raises(DesignFault, match="rims"):
        prepare(drive, replace(inputs, rims=estimated_rims(drive)[:1]))
    assert estimated_rims(drive, 1000.0)[0].axial_stiffness_n < estimated_rims(drive)[0].axial_stiffness_n
