"""Lives that can be reckoned by hand: power-law curves, cosine stress, motions that see part of a turn."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from lobewright.design.model import Criterion
from lobewright.sources import Flag
from lobewright.strength.counting import Cycles
from lobewright.strength.course import StressCourse
from lobewright.strength.duty import Duty, DutyPart, Record
from lobewright.strength.material import Direction, StrengthData
from lobewright.strength.point import PointLife
from lobewright.strength.recorded import Path, path_cycles, steady_cycles
from lobewright.strength.ring_life import cycles_at, point_life
from lobewright.strength.sn import SnCurve
from lobewright.torque.interval import Interval

LABEL = 2.5 * np.arange(144) - 180.0
SLOPE = 7.0
CURVE = SnCurve(np.array([1e2, 1e9]), 200.0 * np.array([1e2, 1e9]) ** (-1.0 / SLOPE), SLOPE, 1.3, 1e9)
"""N = (200 MPa/σ)^7."""


def known(middle: float, part: float = 1.0) -> Interval:
    return Interval("mpa", middle / part, middle, middle * part, False, "memory", Flag.REMEMBERED)


DATA = StrengthData(
    "invented",
    "an invented plastic",
    Direction.IN_LAYERS,
    296.0,
    False,
    known(2000.0, 1.2),
    known(1e9),
    None,
    CURVE,
    "",
    None,
    (),
    "",
    ("memory",),
)


def course(hoop_mpa: float, per_nmm: float = 0.0, along: float = 0.0, shear_mpa: float = 0.0) -> StressCourse:
    """Hoop stress as cos 2φ, growing with the torque; a share of it along the axis; steady shear with the torque."""
    torque = np.array([0.0, 1000.0])
    wave = np.cos(np.radians(2.0 * LABEL))
    hoop = (hoop_mpa + per_nmm * torque)[:, None] * wave
    shear = np.broadcast_to((shear_mpa * torque / 1000.0)[:, None], hoop.shape)
    stress = np.stack([along * hoop, hoop, shear], axis=-1)
    return StressCourse(
        "wall", "wall", "outside", 5.0, torque, LABEL, stress, 1.0, math.inf, Direction.IN_LAYERS, 1.1, "invented"
    )


def part(torque_nmm: float, bends: float, swing_rad: float | None = None) -> DutyPart:
    return DutyPart("step", torque_nmm, torque_nmm, 1.0, bends / 2.0, 1.0, bends, 1.0, swing_rad, 0.0, 0.0, 0.0)


def life(one: StressCourse, *parts: DutyPart, record: Record | None = None, data: StrengthData = DATA) -> PointLife:
    found = point_life(one, data, Duty(2, parts, record), Criterion.MODIFIED_GOODMAN, None, 2.0)
    assert isinstance(found, PointLife)
    return found


def damage(amplitude_mpa: float, cycles: float) -> float:
    return cycles * (amplitude_mpa / 200.0) ** SLOPE


def test_a_cosine_bends_once_a_lobe() -> None:
    found = life(course(20.0), part(0.0, 4e5))
    assert found.alternating_mpa == pytest.approx([20.0])
    assert found.mean_mpa == pytest.approx([0.0], abs=1e-9)
    assert found.damage == pytest.approx([damage(20.0, 4e5)])
    assert found.duties.middle == pytest.approx(1.0 / damage(20.0, 4e5))


@pytest.mark.parametrize("along", [0.3, -0.3, 1.0])
def test_two_directions_in_step_are_their_von_mises_stress(along: float) -> None:
    found = life(course(20.0, along=along), part(0.0, 1.0))
    assert found.alternating_mpa == pytest.approx([20.0 * math.sqrt(1.0 - along + along**2)])


def test_the_band_is_the_factor_to_the_slope() -> None:
    found = life(course(20.0), part(0.0, 4e5))
    factor = math.exp(math.sqrt(math.log(1.1) ** 2 + math.log(1.2) ** 2 + math.log(1.3) ** 2))
    assert found.duties.middle / found.duties.low == pytest.approx(factor**SLOPE)
    assert found.duties.high / found.duties.middle == pytest.approx(factor**SLOPE)


def test_steady_shear_is_a_mean_across_the_bending() -> None:
    cycles = steady_cycles(course(20.0, shear_mpa=10.0), 1000.0)
    assert cycles.mean_mpa.max() == pytest.approx(10.0 * math.sqrt(3.0))
    assert cycles.amplitude_mpa.max() == pytest.approx(20.0)


def test_unequal_lobes_count_each_by_its_size() -> None:
    one = course(20.0)
    smaller = one.stress_mpa.copy()
    smaller[:, np.abs(LABEL) > 90.0] *= 0.5
    halved = StressCourse(**{**one.__dict__, "stress_mpa": smaller})
    # valleys at ±90° are shared: one cycle of the whole range, one from the lower peak to a valley of half the depth
    cycles = steady_cycles(halved, 0.0)
    assert cycles.count.sum() == pytest.approx(2.0)
    assert cycles.amplitude_mpa.max() == pytest.approx(20.0)
    assert life(halved, part(0.0, 2.0)).alternating_mpa == pytest.approx([20.0])
    assert life(halved, part(0.0, 2.0)).damage[0] < life(one, part(0.0, 2.0)).damage[0]


@pytest.mark.parametrize("bend_deg", [3.0, 20.0, 45.0, 89.0])
def test_a_short_swing_sees_part_of_the_wave(bend_deg: float) -> None:
    """cos 2a − cos 2(a + b) is at most 2 sin b; the generator turns as far as the point is bent."""
    found = life(course(20.0), part(0.0, 4e5, math.radians(bend_deg)))
    runs = 360.0 * 2e5 / (2.0 * bend_deg)
    assert found.alternating_mpa[0] == pytest.approx(20.0 * math.sin(math.radians(bend_deg)), rel=0.003)
    assert found.damage[0] == pytest.approx(damage(found.alternating_mpa[0], runs), rel=1e-6)


def test_a_point_is_bent_as_far_as_the_generator_turns_against_the_ring() -> None:
    """The swing is against the ring, whatever of it is the generator's and whatever the ring's: here it stands."""
    ahead = replace(part(0.0, 4e5, math.radians(25.0)), generator_turns=0.0)
    found = life(course(20.0), ahead)
    assert found.alternating_mpa[0] == pytest.approx(20.0 * math.sin(math.radians(25.0)), rel=0.003)
    assert found.damage[0] == pytest.approx(damage(found.alternating_mpa[0], 1.6e5 * 360.0 / 40.0), rel=1e-6)


def test_a_wide_swing_is_as_bad_as_turning_on() -> None:
    turning, swinging = life(course(20.0), part(0.0, 4e5)), life(course(20.0), part(0.0, 4e5, 40.0 * math.pi))
    assert swinging.damage[0] == pytest.approx(turning.damage[0], rel=1e-9)


def test_torque_alone_bends_a_point_that_no_lobe_passes() -> None:
    time = np.linspace(0.0, 10.0, 401)
    torque = 500.0 * (1.0 - np.cos(2.0 * math.pi * time))
    record = Record(time, np.zeros(401), np.zeros(401), torque, 30.0)
    found = life(course(20.0, per_nmm=0.01), record=record)
    assert found.steps == ("recorded motion",)
    assert found.alternating_mpa == pytest.approx([5.0])
    assert found.damage == pytest.approx([damage(5.0, 300.0)], rel=1e-6)


def test_reversed_torque_swings_the_shear() -> None:
    path = Path(np.zeros(9), 1000.0 * np.array([0.0, 1.0, 0.0, -1.0, 0.0, 1.0, 0.0, -1.0, 0.0]))
    cycles = path_cycles(course(0.0, shear_mpa=10.0), path, lambda one: float(one.count @ one.amplitude_mpa**SLOPE))
    assert cycles.amplitude_mpa.max() == pytest.approx(10.0 * math.sqrt(3.0))
    assert cycles.count[cycles.amplitude_mpa > 17.0].sum() == pytest.approx(2.0)


def test_reversed_torque_counts_beside_the_bending() -> None:
    path = Path(math.pi * np.arange(5.0), 1000.0 * np.array([1.0, -1.0, 1.0, -1.0, 1.0]))
    cycles = path_cycles(course(20.0, shear_mpa=30.0), path, lambda one: float(one.count @ one.amplitude_mpa**SLOPE))
    assert cycles.amplitude_mpa.max() >= 30.0 * math.sqrt(3.0)


def test_extremes_of_turns_that_pass_as_a_whole_meet_those_of_other_times() -> None:
    """Hoop stress that the torque lifts by 30 MPa under waves of ±4 MPa: the largest cycle spans both."""
    lifted = course(4.0)
    stress = lifted.stress_mpa.copy()
    stress[1, :, 1] += 30.0
    lifted = replace(lifted, stress_mpa=stress)
    coarse = Path(10.0 * math.pi * np.arange(5.0), np.array([0.0, 1000.0, 0.0, 1000.0, 0.0]))
    cycles = path_cycles(lifted, coarse, lambda one: float(one.count @ one.amplitude_mpa**SLOPE))
    assert cycles.amplitude_mpa.max() == pytest.approx(19.0, rel=0.1)


def test_turns_between_two_samples_are_turns() -> None:
    """Ten turns in one stretch are ten, however the record is sampled."""

    def harm(cycles: Cycles) -> float:
        return float(cycles.count @ cycles.amplitude_mpa**SLOPE)

    one = course(20.0, per_nmm=0.01)
    coarse = Path(2.0 * math.pi * np.array([0.0, 10.0, 20.0]), np.full(3, 700.0))
    fine = Path(2.0 * math.pi * np.linspace(0.0, 20.0, 801), np.full(801, 700.0))
    expected = 40.0 * 27.0**SLOPE
    assert harm(path_cycles(one, coarse, harm)) == pytest.approx(expected, rel=1e-9)
    assert harm(path_cycles(one, fine, harm)) == pytest.approx(expected, rel=1e-9)


def test_cycles_at_a_torque_are_the_curve_itself() -> None:
    span = cycles_at(course(20.0, per_nmm=0.01), DATA, Criterion.MODIFIED_GOODMAN, None, 2.0, 500.0, 2)
    assert span.middle == pytest.approx((200.0 / 25.0) ** SLOPE)
