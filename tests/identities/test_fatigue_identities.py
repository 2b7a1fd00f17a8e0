"""Fatigue: what must hold for any stresses, curves and motions."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lobewright.design.model import Criterion
from lobewright.strength.counting import Cycles, count_cycles, count_repeated, turning_points
from lobewright.strength.course import StressCourse
from lobewright.strength.criteria import equivalent_reversed_mpa, fatigue_safety
from lobewright.strength.damage import damage_shares, duties_borne
from lobewright.strength.material import Direction
from lobewright.strength.pass_kernel import turning_points_of
from lobewright.strength.recorded import Path, path_cycles, steady_cycles
from lobewright.strength.sn import SnCurve
from lobewright.strength.swing import largest_swing, von_mises_mpa

STRESS = st.floats(1e-3, 1e3)
EVERY = pytest.mark.parametrize("criterion", list(Criterion))
LABEL = 5.0 * np.arange(72) - 180.0


@st.composite
def curves(draw: st.DrawFn) -> SnCurve:
    """Falling curves of two to five points."""
    points = draw(st.integers(2, 5))
    steps = st.lists(st.floats(0.2, 3.0), min_size=points - 1, max_size=points - 1)
    falls = st.lists(st.floats(0.02, 0.8), min_size=points - 1, max_size=points - 1)
    cycles = np.exp(draw(st.floats(0.0, 8.0)) + np.concatenate(([0.0], np.cumsum(draw(steps)))))
    amplitude = np.exp(5.0 - np.concatenate(([0.0], np.cumsum(draw(falls)))))
    return SnCurve(cycles, amplitude, draw(st.floats(3.0, 20.0)), 1.2, float(cycles[-1]))


SEEDS = st.integers(0, 10**6)
SLOW = settings(max_examples=30, deadline=None)


def course_of(seed: int) -> StressCourse:
    """Two lobes alike, three harmonics, stresses in three directions at three torques; at rest its own mirror image."""
    rng = np.random.default_rng(seed)
    phase = np.radians(LABEL)
    torque = np.array([0.0, 400.0, 1000.0])
    waves = np.array([np.cos(2 * k * phase + rng.uniform(0.0, 6.0)) for k in (1, 2, 3)])
    stress = np.einsum("tck,kl->tlc", rng.normal(size=(3, 3, 3)) * (20.0, 6.0, 2.0), waves)
    stress += rng.normal(size=(3, 1, 3)) * 5.0
    stress[0] = 0.5 * (stress[0] + np.roll(stress[0, ::-1], 1, axis=0) * np.array([1.0, 1.0, -1.0]))
    return StressCourse("a", "a", "inside", 0.0, torque, LABEL, stress, 1.0, math.inf, Direction.IN_LAYERS, 1.0, "")


def harm(cycles: Cycles) -> float:
    return float(cycles.count @ (cycles.amplitude_mpa + 0.3 * cycles.mean_mpa) ** 6)


# --- criteria --------------------------------------------------------------------------------------------------------


@given(STRESS, st.floats(-1e3, 1e3), STRESS, st.floats(1.0, 2e3), st.floats(0.1, 1.0))
def test_the_criteria_stand_in_their_order(
    alternating: float, mean: float, endurance: float, ultimate: float, yield_share: float
) -> None:
    n = {
        one: float(fatigue_safety(alternating, mean, endurance, ultimate, yield_share * ultimate, one))
        for one in Criterion
    }
    assert n[Criterion.SODERBERG] <= n[Criterion.MODIFIED_GOODMAN] * (1 + 1e-12)
    assert n[Criterion.MODIFIED_GOODMAN] <= n[Criterion.GERBER] * (1 + 1e-12)
    assert n[Criterion.SODERBERG] <= n[Criterion.ASME_ELLIPTIC] * (1 + 1e-12)


@EVERY
@given(STRESS, st.floats(-0.9, 0.9), st.floats(1.0, 2e3))
def test_the_reversed_amplitude_has_a_safety_of_one(
    criterion: Criterion, alternating: float, share: float, strength: float
) -> None:
    mean = share * strength
    reversed_ = float(equivalent_reversed_mpa(alternating, mean, strength, strength, criterion))
    assert float(fatigue_safety(alternating, mean, reversed_, strength, strength, criterion)) == pytest.approx(1.0)


@EVERY
@given(STRESS, STRESS, STRESS, st.floats(1.0, 2e3), st.floats(1e-3, 1e3))
def test_units_do_not_matter(
    criterion: Criterion, alternating: float, mean: float, endurance: float, strength: float, unit: float
) -> None:
    here = fatigue_safety(alternating, mean, endurance, strength, strength, criterion)
    there = fatigue_safety(
        unit * alternating, unit * mean, unit * endurance, unit * strength, unit * strength, criterion
    )
    assert float(here) == pytest.approx(float(there))
    grown = fatigue_safety(unit * alternating, unit * mean, endurance, strength, strength, criterion)
    assert float(grown) == pytest.approx(float(here) / unit)


@EVERY
@given(STRESS, STRESS)
def test_compression_neither_helps_nor_harms(criterion: Criterion, alternating: float, mean: float) -> None:
    pressed = fatigue_safety(alternating, -mean, 50.0, 400.0, 300.0, criterion)
    assert float(pressed) == pytest.approx(50.0 / alternating)
    assert float(equivalent_reversed_mpa(alternating, -mean, 400.0, 300.0, criterion)) == alternating


# --- S–N curve, Miner -----------------------------------------------------------------------------------------------


@given(curves(), st.floats(0.0, 40.0))
def test_life_and_amplitude_are_inverse(curve: SnCurve, log_cycles: float) -> None:
    cycles = math.exp(log_cycles)
    assert float(curve.life_cycles(curve.amplitude_at(np.array(cycles)))) == pytest.approx(cycles, rel=1e-6)


@given(curves(), st.floats(-2.0, 5.5))
def test_amplitude_and_life_are_inverse(curve: SnCurve, log_amplitude: float) -> None:
    amplitude = math.exp(log_amplitude)
    life = float(curve.life_cycles(np.array(amplitude)))
    if amplitude > float(curve.amplitude_at(np.array(1.0))) * (1.0 + 1e-12):
        assert life == 0.0
    elif math.isfinite(life):
        assert float(curve.amplitude_at(np.array(life))) == pytest.approx(amplitude)


@given(curves(), st.floats(0.1, 10.0), st.floats(0.0, 30.0))
def test_a_curve_scales(curve: SnCurve, factor: float, log_cycles: float) -> None:
    cycles = np.array(math.exp(log_cycles))
    assert float(curve.scaled(factor).amplitude_at(cycles)) == pytest.approx(factor * float(curve.amplitude_at(cycles)))


@given(curves(), st.lists(st.tuples(st.floats(0.0, 1e6), st.floats(0.1, 100.0)), min_size=1, max_size=8), st.randoms())
def test_the_order_of_cycles_does_not_matter(curve: SnCurve, runs: list[tuple[float, float]], chance: object) -> None:
    def total(ordered: list[tuple[float, float]]) -> float:
        cycles, amplitude = np.array(ordered).T
        return float(damage_shares(cycles, curve.life_cycles(amplitude)).sum())

    mixed = list(runs)
    chance.shuffle(mixed)  # type: ignore[attr-defined]
    assert total(mixed) == pytest.approx(total(runs))
    assert total(runs + runs) == pytest.approx(2.0 * total(runs))
    assert duties_borne(total(runs + runs)) == pytest.approx(0.5 * duties_borne(total(runs)))


# --- counting --------------------------------------------------------------------------------------------------------


@given(st.integers(1, 40), st.floats(0.1, 100.0), st.floats(-50.0, 50.0))
def test_a_sine_is_counted_as_often_as_it_swings(periods: int, amplitude: float, mean: float) -> None:
    cycles = count_repeated(
        mean + amplitude * np.cos(2.0 * math.pi * periods * np.arange(40 * periods) / (40 * periods))
    )
    whole = cycles.amplitude_mpa > 0.5 * amplitude
    assert cycles.count[whole].sum() == pytest.approx(periods)
    assert cycles.amplitude_mpa[whole] == pytest.approx(np.full(whole.sum(), amplitude))
    assert cycles.mean_mpa[whole] == pytest.approx(np.full(whole.sum(), mean), abs=1e-9 * amplitude)


@given(st.lists(st.integers(-100, 100), min_size=2, max_size=60))
def test_the_largest_cycle_is_the_whole_range_and_all_close(history: list[int]) -> None:
    values = np.array(history, dtype=float)
    cycles = count_repeated(values)
    if np.ptp(values) == 0.0:
        assert not len(cycles.count)
        return
    assert cycles.amplitude_mpa.max() == pytest.approx(0.5 * np.ptp(values))
    closed = turning_points(np.concatenate((values[values.argmax() :], values[: values.argmax() + 1])))
    assert 2.0 * cycles.count.sum() == pytest.approx(len(closed) - 1)
    assert 4.0 * cycles.count @ cycles.amplitude_mpa == pytest.approx(np.abs(np.diff(closed)).sum())


@given(st.lists(st.integers(-100, 100), min_size=3, max_size=60))
def test_a_mirrored_history_has_the_same_ranges(history: list[int]) -> None:
    one, other = count_cycles(np.array(history, dtype=float)), count_cycles(-np.array(history, dtype=float))
    assert np.sort(one.amplitude_mpa) == pytest.approx(np.sort(other.amplitude_mpa))


# --- stresses of many directions -------------------------------------------------------------------------------------


@SLOW
@given(SEEDS)
def test_the_projection_has_the_range_of_the_furthest_pair(seed: int) -> None:
    stress = course_of(seed).stress_mpa[-1]
    furthest = von_mises_mpa(stress[:, None] - stress[None, :]).max()
    assert np.ptp(largest_swing(stress).along_mpa(stress)) == pytest.approx(furthest)
    order = np.random.default_rng(seed).permutation(len(stress))
    moved = stress[order] + np.array([3.0, -7.0, 11.0])
    assert np.ptp(largest_swing(moved).along_mpa(moved)) == pytest.approx(furthest)


@given(st.floats(-50.0, 50.0), st.floats(-50.0, 50.0), st.floats(-50.0, 50.0))
def test_stress_in_proportion_is_its_signed_von_mises_stress(along: float, hoop: float, shear: float) -> None:
    one = np.array([along, hoop, shear])
    if abs(along + hoop) < 1e-3:
        return
    found = largest_swing(np.outer([1.0, -0.3, 0.2], one))
    assert float(found.along_mpa(one)) == pytest.approx(math.copysign(float(von_mises_mpa(one)), along + hoop))


# --- motions ---------------------------------------------------------------------------------------------------------


@SLOW
@given(SEEDS, st.integers(1, 6), st.floats(50.0, 1000.0), st.booleans())
def test_a_recorded_steady_motion_harms_like_the_step(seed: int, turns: int, torque: float, coarse: bool) -> None:
    course = course_of(seed)
    samples = 2 if coarse else 37 * turns
    path = Path(np.linspace(0.0, 2.0 * math.pi * turns, samples), np.full(samples, torque))
    recorded = harm(path_cycles(course, path, harm))
    assert recorded == pytest.approx(harm(steady_cycles(course, torque).times(turns)), rel=1e-3)


@SLOW
@given(SEEDS)
def test_more_samples_on_the_same_way_change_nothing(seed: int) -> None:
    course, rng = course_of(seed), np.random.default_rng(seed)
    bend, torque = np.cumsum(rng.normal(size=9)), rng.uniform(-1000.0, 1000.0, size=9)
    places = np.linspace(0.0, 8.0, 33)
    fine = Path(np.interp(places, np.arange(9.0), bend), np.interp(places, np.arange(9.0), torque))
    first, second = harm(path_cycles(course, Path(bend, torque), harm)), harm(path_cycles(course, fine, harm))
    assert first == pytest.approx(second, rel=0.005)


@SLOW
@given(SEEDS)
def test_the_way_round_does_not_matter(seed: int) -> None:
    """Both ways are tried, so turning back harms alike; so does the motion run backwards, or begun at another label."""
    course, rng = course_of(seed), np.random.default_rng(seed)
    bend, torque = np.cumsum(rng.normal(size=9)), rng.uniform(0.0, 1000.0, size=9)
    one = harm(path_cycles(course, Path(bend, torque), harm))
    assert harm(path_cycles(course, Path(-bend, torque), harm)) == pytest.approx(one)
    assert harm(path_cycles(course, Path(bend[::-1], torque[::-1]), harm)) == pytest.approx(one, rel=1e-9)
    assert harm(path_cycles(course, Path(bend[::-1] + 1.0, torque[::-1]), harm)) == pytest.approx(one, rel=0.02)


@SLOW
@given(SEEDS, st.sampled_from([1, 3]))
def test_the_path_of_a_point_is_that_of_the_course_looked_at_closely(seed: int, torques: int) -> None:
    """Turning points against the course itself at two thousand moments; inside one cell of label and torque the course bends
    a little, which the turning points leave out."""
    rng = np.random.default_rng(seed)
    whole = course_of(seed)
    parts = {"torque_nmm": whole.torque_nmm[:torques], "stress_mpa": whole.stress_mpa[:torques]}
    course = StressCourse(**{**whole.__dict__, **parts})
    swing = largest_swing(course.stress_mpa[-1])
    torque = np.sort(rng.uniform(400.0, 1000.0, size=2))
    place = np.array([0.0, rng.uniform(-100.0, 100.0)])
    start = float(rng.uniform(0.0, 72.0))
    solved = course.torque_nmm if torques > 1 else np.array([0.0, 1.0])
    table = swing.along_mpa(np.stack([course.at(float(one)) for one in solved]))
    found = np.empty(300)
    count = turning_points_of(table, table, solved, place, torque, start, found)
    share = np.linspace(0.0, 1.0, 2001)
    close = np.empty(2001)
    for i, one in enumerate(share):
        along = swing.along_mpa(course.at(float(torque[0] + one * (torque[1] - torque[0]))))
        close[i] = np.interp((start + one * place[1]) % 72.0, np.arange(73.0), np.append(along, along[0]))
    assert found[:count].max() == pytest.approx(close.max(), abs=0.01 * float(np.ptp(table)))
    assert found[:count].min() == pytest.approx(close.min(), abs=0.01 * float(np.ptp(table)))
    assert len(turning_points(found[:count])) == count
    ends = (found[0], found[count - 1])
    assert ends == pytest.approx((close[0], close[-1]), abs=1e-9 * float(np.ptp(table)))
