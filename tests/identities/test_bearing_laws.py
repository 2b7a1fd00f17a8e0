"""What any bearing obeys: life and the cube of the load, scale, more bearings, more spread, torque that turns round."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lobewright.strength import bearing_life as bl
from lobewright.strength import bearing_rating as br
from lobewright.strength.bearing_load import Forces
from lobewright.strength.output_bearing import reactions

LOADS = st.floats(1.0, 1e4)
FACTORS = st.floats(0.1, 10.0)


@given(LOADS, FACTORS)
def test_life_falls_with_the_cube_of_the_load(load: float, factor: float) -> None:
    assert bl.rating_life_mrev(3e3, load * factor) == pytest.approx(bl.rating_life_mrev(3e3, load) / factor**3)


@given(st.integers(6, 10), st.floats(0.1, 0.22), FACTORS)
def test_a_bearing_twice_as_large_bears_by_its_powers(balls: int, share: float, factor: float) -> None:
    size = 4.0
    small, large = (br.dynamic_rating_n(balls, s, s / share) for s in (size, size * factor))
    power = 1.8 if size * factor <= 25.4 else None
    if power is not None:
        assert large == pytest.approx(small * factor**power)
    static = [br.static_rating_n(balls, s, s / share) for s in (size, size * factor)]
    assert static[1] == pytest.approx(static[0] * factor**2)


@given(LOADS, LOADS, st.floats(100.0, 1e5), FACTORS)
def test_an_equivalent_load_has_the_unit_of_its_loads(
    radial: float, axial: float, static: float, factor: float
) -> None:
    once = bl.equivalent_load_n(radial, axial, static, 13.0)
    assert bl.equivalent_load_n(factor * radial, factor * axial, factor * static, 13.0) == pytest.approx(
        factor * once, rel=1e-6
    )
    assert once >= 0.56 * radial and once <= radial + 2.3 * axial


@given(st.lists(LOADS, min_size=1, max_size=6), st.data())
def test_a_mean_load_lies_between_its_loads_and_does_the_same_harm(loads: list[float], data: st.DataObject) -> None:
    turns = np.array(data.draw(st.lists(st.floats(0.1, 1e3), min_size=len(loads), max_size=len(loads))))
    load = np.array(loads)
    mean = bl.mean_load_n(load, turns)
    assert load.min() * (1 - 1e-9) <= mean <= load.max() * (1 + 1e-9)
    harm = sum(n / bl.rating_life_mrev(5e3, float(p)) for p, n in zip(load, turns, strict=True))
    assert harm == pytest.approx(turns.sum() / bl.rating_life_mrev(5e3, mean))


@settings(max_examples=25, deadline=None)
@given(st.lists(st.floats(0.1, 1e3), min_size=1, max_size=4), st.floats(0.0, 1.2), FACTORS)
def test_a_band_scales_with_its_lives_and_more_bearings_fail_sooner(
    lives: list[float], log_sd: float, factor: float
) -> None:
    once = bl.band_of(np.array(lives), log_sd)
    scaled = bl.band_of(factor * np.array(lives), log_sd)
    assert (scaled.low, scaled.high) == pytest.approx((factor * once.low, factor * once.high), rel=1e-6)
    more = bl.band_of(np.array([*lives, *lives]), log_sd)
    assert more.low < once.low and more.middle < once.middle and more.high < once.high


@settings(max_examples=25, deadline=None)
@given(st.floats(0.0, 1.0), st.floats(0.1, 1.0))
def test_more_spread_makes_the_band_wider_on_both_sides(log_sd: float, more: float) -> None:
    narrow, wide = (bl.band_of(np.array([5.0]), sd) for sd in (log_sd, log_sd + more))
    assert wide.low < narrow.low and wide.high > narrow.high


@given(st.floats(-3e3, 3e3))
def test_torque_that_turns_round_loads_the_mirrored_rollers(torque: float) -> None:
    forces = Forces(np.array([0.0, 1e3, 2e3]), np.array([[1.0, 2, 3, 4], [0, 9, 0, 8], [0, 20, 0, 19]]), (1, 0, 3, 2))
    forth, back = forces.at(np.array([torque, -torque]))
    if torque != 0.0:
        assert back == pytest.approx(forth[[1, 0, 3, 2]])
    assert (forces.at(np.array([torque])) >= 0.0).all()


@given(st.floats(0.0, 1e4), st.floats(0.0, 1e3), st.floats(0.0, 1e3), st.floats(1.0, 100.0))
def test_a_pair_holds_moment_and_forces(moment: float, axial: float, radial: float, spacing: float) -> None:
    more, less = reactions(2, spacing, moment, axial, radial)
    assert more.radial_n >= less.radial_n and more.axial_n + less.axial_n == axial
    # the less loaded one pulls either way: one of both signs meets force and moment
    assert any(
        abs(more.radial_n + side * less.radial_n - radial) < 1e-6 * (1.0 + radial + moment)
        and abs(0.5 * spacing * (more.radial_n - side * less.radial_n) - moment)
        < 1e-6 * (1.0 + moment + radial * spacing)
        for side in (1.0, -1.0)
    )
