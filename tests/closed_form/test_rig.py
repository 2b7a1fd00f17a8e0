"""The test rig: limits with closed forms, balances, and what it refuses."""

import math
from dataclasses import replace

import numpy as np
import pytest

from lobewright.errors import DesignFault
from lobewright.ring import oracles
from lobewright.torque.rig import Fence, Rig, Rollers, line_bed_n_per_mm3, skip_rig, turn_rig

WALL, RADIUS, MODULUS = 1.2, 48.0, 2000.0
STIFFNESS = MODULUS * WALL**3 / 12.0


def plain(travel_mm, parts=10, shares=None, around=None):
    """A plain ring on two rollers of no size to speak of."""
    rollers = Rollers((0.0, 180.0), 4.0, (travel_mm, -travel_mm), 1e3, MODULUS / WALL)
    return Rig(24, RADIUS, 0.0, 0.6, STIFFNESS, MODULUS * WALL, shares or (1.0,) * parts, rollers, around)


def test_two_rollers_in_the_small_limit():
    travel = 0.02
    (state,) = turn_rig(plain(travel), [0.0])
    force, at_roller, midway, minor = oracles.roller_pair(travel, RADIUS, STIFFNESS)
    assert state.roller_n[0, 0] == pytest.approx(force, rel=3e-3)  # the bed and the arm give, too
    assert state.section_moment_n[0] == pytest.approx(at_roller, rel=2e-2)  # spread by the roller
    assert state.section_moment_n[60] == pytest.approx(midway, rel=3e-3)
    assert state.moved_mm[60, 0] == pytest.approx(minor, rel=3e-3)
    assert state.section_force_n_per_mm[60] == pytest.approx(0.5 * force, rel=3e-3)


def test_forces_on_the_ring_balance_within_a_circle():
    (state,) = turn_rig(plain(1.2, around=Fence(RADIUS + WALL / 2 + 0.9, 0.6, MODULUS / WALL)), [0.0])
    assert state.fence_n[0, 0] < -0.1 * state.roller_n[0, 0] < 0.0
    assert np.abs(state.roller_n.sum(axis=0) + state.fence_n.sum(axis=0)).max() < 1e-6 * state.roller_n[0, 0]


def test_a_ring_that_bends_unevenly_is_as_soft_as_its_mean():
    """Parts that alternate between stiff and soft, with the same mean give, are one ring where the pitch is short."""
    even, uneven = (
        turn_rig(replace(plain(0.5, shares=shares), pitches=60), [0.0])[0]
        for shares in ((1.0,) * 4, (2.0, 2.0 / 3.0, 2.0 / 3.0, 2.0))
    )
    assert uneven.section_moment_n[60] == pytest.approx(even.section_moment_n[60], rel=3e-3)
    assert uneven.roller_n[0, 0] == pytest.approx(even.roller_n[0, 0], rel=3e-3)


def test_a_bed_dents_as_two_half_planes_where_it_was_made_for_it():
    """At a contact a tenth of the edge's radius half wide, and a fifth off at a third of that force."""
    radius, patch = 0.3, 0.475
    bed = line_bed_n_per_mm3(MODULUS, radius, patch)
    unit = 0.5 * math.pi * MODULUS
    for share, tolerance in ((1.0, 1e-9), (1.0 / 3.0, 0.25)):
        half = 0.1 * radius * math.sqrt(share)
        force = 0.5 * unit * half**2 / radius
        by_bed = (force / (4.0 / 3.0 * bed * math.sqrt(2.0 * radius))) ** (2.0 / 3.0)
        # centre of a Hertz line contact less the mean of a patch (1 − z²)² of the same force
        z = (np.arange(2000) + 0.5) / 1000.0 - 1.0
        weight = (1.0 - z**2) ** 2
        weight /= weight.sum()
        apart = np.abs(z[:, None] - z)
        np.fill_diagonal(apart, 1e-3 * math.exp(-1.5))
        patch_mean = -(weight @ np.log(apart) @ weight) - math.log(patch)
        by_planes = force / unit * (math.log(2.0) + 0.5 - math.log(half) - patch_mean)
        assert by_bed == pytest.approx(by_planes, rel=max(tolerance, 1e-3))


def test_a_rig_without_parts_is_refused():
    with pytest.raises(DesignFault, match="two parts or more"):
        turn_rig(replace(plain(0.5), bending_shares=(1.0,)), [0.0])


def test_a_ring_without_teeth_does_not_skip():
    with pytest.raises(DesignFault, match="only a ring with teeth skips"):
        skip_rig(plain(0.5))
