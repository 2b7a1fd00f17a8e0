"""What a deflection held and let go leaves, superposed in steps, against its closed form, the incomplete beta function."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.special import betainc

from lobewright.strength.creep import hold_for_set, modulus_share, set_after_hold, strain_under_loads

EXPONENTS = (1e-4, 0.03, 0.1, 0.3, 0.6, 0.9)


@pytest.mark.parametrize("exponent", EXPONENTS)
@pytest.mark.parametrize("held_over_since", [1e-7, 1e-3, 0.1, 1.0, 30.0, 1e4, 1e8])
def test_set_is_the_incomplete_beta_function(exponent: float, held_over_since: float) -> None:
    exact = betainc(1.0 - exponent, exponent, held_over_since / (held_over_since + 1.0))
    assert set_after_hold(exponent, held_over_since, 1.0) == pytest.approx(exact, abs=1e-4)


def test_square_root_creep_has_an_elementary_set() -> None:
    for held in (0.2, 1.0, 50.0):
        exact = 2.0 / math.pi * math.asin(math.sqrt(held / (held + 1.0)))
        assert set_after_hold(0.5, held, 1.0) == pytest.approx(exact, abs=1e-4)


@pytest.mark.parametrize("exponent", [0.05, 0.2, 0.5])
def test_the_relaxing_stress_holds_the_strain(exponent: float) -> None:
    """sin(nπ)/(nπ) t^−n, superposed in fine steps, gives a strain of 1 at all times: creep and relaxation fit together."""
    edges = np.concatenate(([0.0], np.geomspace(1e-9, 1.0, 4000)))
    area = np.sinc(exponent) * edges ** (1.0 - exponent) / (1.0 - exponent)
    stress = np.diff(area) / np.diff(edges)
    for at in (0.01, 0.3, 1.0):
        done = edges[:-1] < at
        assert strain_under_loads(exponent, edges[:-1][done], stress[done], at) == pytest.approx(1.0, abs=2e-3)


def test_times_go_back_to_their_set() -> None:
    for exponent in (0.03, 0.1, 0.4):
        for share in (0.05, 0.5, 0.9):
            ratio = hold_for_set(exponent, share)
            if math.isfinite(ratio):
                assert set_after_hold(exponent, ratio, 1.0) == pytest.approx(share, abs=1e-6)


def test_modulus_share_of_a_thousand_hours() -> None:
    assert modulus_share(0.1, np.array([1.0, 1000.0])) == pytest.approx([1.0, 10.0**-0.3])
