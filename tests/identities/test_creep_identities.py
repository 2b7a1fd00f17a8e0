"""Creep as a power law: limits, order, superposition, and why the generator is turned a quarter of a lobe spacing."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lobewright.errors import DesignFault
from lobewright.strength.creep import hold_for_set, modulus_share, set_after_hold, strain_under_loads

EXPONENT = st.floats(0.005, 0.9)
TIME_H = st.floats(-3.0, 5.0).map(lambda power: 10.0**power)


def test_without_creep_nothing_relaxes_and_nothing_stays() -> None:
    assert set_after_hold(0.0, 1000.0, 1e-3) == 0.0
    assert modulus_share(0.0, np.array([1e-3, 1e5])).tolist() == [1.0, 1.0]
    assert strain_under_loads(0.0, np.array([0.0, 1.0]), np.array([2.0, 0.0]), 3.0) == 0.0
    assert strain_under_loads(0.0, np.array([0.0, 1.0]), np.array([2.0, 3.0]), 4.0) == 3.0
    assert hold_for_set(0.0, 0.01) == math.inf
    assert set_after_hold(1e-6, 1000.0, 1e-3) == pytest.approx(0.0, abs=1e-4)


@given(EXPONENT, TIME_H, TIME_H, st.floats(1.05, 100.0))
def test_longer_holds_set_more_and_longer_rests_less(n: float, held: float, since: float, more: float) -> None:
    here = set_after_hold(n, held, since)
    assert 0.0 <= here <= 1.0
    assert set_after_hold(n, more * held, since) >= here - 1e-4
    assert set_after_hold(n, held, more * since) <= here + 1e-4


@given(EXPONENT, TIME_H, TIME_H, st.floats(0.01, 100.0))
def test_only_the_ratio_of_times_counts(n: float, held: float, since: float, factor: float) -> None:
    assert set_after_hold(n, factor * held, factor * since) == pytest.approx(set_after_hold(n, held, since), abs=2e-4)


@given(st.floats(0.005, 0.44), st.floats(1.02, 2.0), TIME_H, TIME_H)
def test_a_steeper_law_sets_more(n: float, factor: float, held: float, since: float) -> None:
    assert set_after_hold(factor * n, held, since) >= set_after_hold(n, held, since) - 1e-4


@given(EXPONENT, st.lists(st.floats(-3.0, 3.0), min_size=1, max_size=6), st.floats(0.1, 5.0))
def test_strains_add_up(n: float, loads: list[float], scale: float) -> None:
    begin, load = np.arange(float(len(loads))), np.array(loads)
    at = len(loads) + 0.5
    each = sum(
        strain_under_loads(n, np.array([t, t + 1.0]), np.array([one, 0.0]), at)
        for t, one in zip(begin[:-1], load[:-1], strict=True)
    )
    each += strain_under_loads(n, begin[-1:], load[-1:], at)
    assert strain_under_loads(n, begin, load, at) == pytest.approx(each, abs=1e-9)
    assert strain_under_loads(n, begin, scale * load, at) == pytest.approx(scale * each, abs=1e-9)


@pytest.mark.parametrize("exponent", [0.03, 0.09, 0.2, 0.5])
@pytest.mark.parametrize("stay_h", [1.0, 24.0])
def test_turned_on_by_quarters_a_ring_sets_as_if_it_had_stood_in_the_last_place_only(
    exponent: float, stay_h: float
) -> None:
    """A quarter of the lobes' spacing takes the bent shape cos nθ to sin nθ, to −cos nθ, to −sin nθ; each step of strain, held
    until the ring is let go, adds its own set."""
    minute = 1.0 / 60.0
    once = set_after_hold(exponent, stay_h, minute)
    round_once = np.array([[1, 0], [0, 1], [-1, 0], [0, -1]])
    for stays in range(1, 14):
        shapes = np.vstack(([0, 0], round_once[np.arange(stays) % 4]))
        held = stay_h * (stays - np.arange(stays))
        kept = np.array([set_after_hold(exponent, one, minute) for one in held])
        left = float(np.hypot(*(kept @ np.diff(shapes, axis=0))))
        assert 0.9 * once < left < 1.02 * once


@pytest.mark.parametrize("exponent", [-0.1, 1.0, math.nan])
def test_exponents_that_are_none(exponent: float) -> None:
    for ask in (
        lambda: set_after_hold(exponent, 1.0, 1.0),
        lambda: modulus_share(exponent, np.ones(1)),
        lambda: strain_under_loads(exponent, np.zeros(1), np.ones(1), 1.0),
        lambda: hold_for_set(exponent, 0.5),
    ):
        with pytest.raises(DesignFault, match="none of creep"):
            ask()
