"""Life of ball bearings: closed forms, the scatter against a throw of dice, and loads that are none."""

from __future__ import annotations

import math

import numpy as np
import pytest

from lobewright.errors import DesignFault
from lobewright.strength import bearing_life as bl


def test_the_rating_life_is_the_life_of_nine_in_ten() -> None:
    for scatter in (bl.ISO_1990, bl.ISO_2007):
        assert scatter.life_share(90.0) == pytest.approx(1.0, rel=1e-12)
        assert scatter.reliability_percent(scatter.life_share(97.0)) == pytest.approx(97.0, rel=1e-12)
    assert bl.ISO_2007.reliability_percent(0.04) == 100.0 > bl.ISO_1990.reliability_percent(0.04)


def test_half_live_as_long_as_the_slope_says() -> None:
    assert bl.ISO_1990.life_share(50.0) == pytest.approx((math.log(2.0) / -math.log(0.9)) ** (2.0 / 3.0))


@pytest.mark.parametrize("share", [0.05, 0.3, 0.5, 0.95])
def test_without_spread_one_bearing_scatters_by_the_standard(share: float) -> None:
    found = bl.quantile(np.array([7.0]), 0.0, share)
    assert found == pytest.approx(7.0 * bl.ISO_2007.life_share(100.0 * (1.0 - share)), rel=1e-8)


@pytest.mark.parametrize("bearings", [2, 4, 6])
def test_the_first_of_several_fails_by_the_weakest_link(bearings: int) -> None:
    one, many = (bl.quantile(np.full(n, 3.0), 0.0, 0.5, bl.ISO_1990) for n in (1, bearings))
    assert many / one == pytest.approx(bearings ** (-1.0 / 1.5), rel=1e-8)


@pytest.mark.parametrize("log_sd", [0.3, 1.0])
def test_the_band_is_that_of_thrown_dice(log_sd: float) -> None:
    lives, rng = np.array([1.0, 1.3, 40.0]), np.random.default_rng(5)
    common = np.exp(log_sd * rng.standard_normal(200_000))[:, None]
    own = 0.05 + bl.ISO_2007.scale_factor * rng.exponential(size=(200_000, 3)) ** (1.0 / 1.5)
    thrown = np.quantile((common * lives * own).min(axis=1), [0.05, 0.5, 0.95])
    band = bl.band_of(lives, log_sd)
    assert (band.low, band.middle, band.high) == pytest.approx(tuple(thrown), rel=0.015)


def test_a_bearing_without_load_lives_endlessly() -> None:
    assert bl.rating_life_mrev(3e3, 0.0) == math.inf
    assert bl.band_of(np.array([math.inf, math.inf]), 0.5).low == math.inf
    assert bl.quantile(np.array([math.inf, 2.0]), 0.0, 0.1) == pytest.approx(2.0)


def test_lubrication_fails_below_the_speed_at_which_the_standard_asks_ten_times_the_oil() -> None:
    speed = bl.film_fails_below_rpm(15.0)
    assert 45_000.0 * speed**-0.83 / math.sqrt(15.0) == pytest.approx(1000.0)
    assert bl.film_fails_below_rpm(60.0) < speed


def test_tracks_meet_when_a_ball_moves_on_by_one_place() -> None:
    # a ball goes with half of the turn, so a swing of two places of seven
    assert math.degrees(bl.least_swing_rad(7)) == pytest.approx(2.0 * 360.0 / 7.0)


def test_light_thrust_counts_not_and_pure_thrust_by_its_factor() -> None:
    assert bl.equivalent_load_n(100.0, 10.0, 1000.0, 13.0) == 100.0
    assert bl.equivalent_load_n(0.0, 100.0, 1e9, 13.0) == pytest.approx(230.0)
    assert bl.equivalent_load_n(0.0, 100.0, 100.0, 13.0) == pytest.approx(100.0)
    assert bl.static_equivalent_n(100.0, 50.0) == 100.0 and bl.static_equivalent_n(10.0, 100.0) == pytest.approx(56.0)


@pytest.mark.parametrize(
    "call",
    [
        lambda: bl.rating_life_mrev(3e3, -1.0),
        lambda: bl.rating_life_mrev(0.0, 10.0),
        lambda: bl.rating_life_mrev(3e3, math.nan),
        lambda: bl.equivalent_load_n(-1.0, 0.0, 1e3, 13.0),
        lambda: bl.equivalent_load_n(1.0, -1.0, 1e3, 13.0),
        lambda: bl.static_equivalent_n(1.0, math.inf),
        lambda: bl.mean_load_n(np.array([1.0, -2.0]), np.ones(2)),
        lambda: bl.mean_load_n(np.ones(2), np.array([1.0, -2.0])),
        lambda: bl.ISO_2007.life_share(100.0),
        lambda: bl.ISO_2007.life_share(0.0),
    ],
)
def test_loads_that_are_none_are_refused(call) -> None:
    with pytest.raises(DesignFault, match="allowed: "):
        call()
