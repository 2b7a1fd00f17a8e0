"""What must hold of any material at any temperature in its range."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from lobewright.design import catalogue
from lobewright.design.catalogue_strength import strength_row
from lobewright.design.files import design_from_data
from lobewright.design.starters import starter_data
from lobewright.strength.coupon import fitted, reversed_amplitude
from lobewright.strength.material import Direction
from lobewright.strength.material_data import strength_data

DESIGN = design_from_data(starter_data("printed_ring"))
NAMES = st.sampled_from([row.name for row in catalogue.materials()])
SHARE = st.floats(0.0, 1.0)


@settings(max_examples=80, deadline=None)
@given(NAMES, st.sampled_from(list(Direction)), SHARE, SHARE)
def test_colder_is_never_weaker(name: str, direction: Direction, one: float, other: float) -> None:
    row = strength_row(name)
    cold_k, hot_k = sorted(row.coldest_k + share * (row.hottest_k - row.coldest_k) for share in (one, other))
    cold, hot = (strength_data(DESIGN, name, direction, kelvin) for kelvin in (cold_k, hot_k))
    for figure in ("modulus_mpa", "ultimate_mpa", "yield_mpa"):
        first, second = getattr(cold, figure), getattr(hot, figure)
        if first is not None:
            assert second.middle <= first.middle * (1 + 1e-12)
            assert second.low <= first.low * (1 + 1e-12)
    if cold.curve is not None and hot.curve is not None:
        assert np.all(hot.curve.amplitude_mpa <= cold.curve.amplitude_mpa * (1 + 1e-12))
        assert hot.curve.spread >= cold.curve.spread * (1 - 1e-12)


@given(st.floats(1.0, 20.0), st.floats(-4.0, 0.4), st.floats(50.0, 500.0))
def test_a_pulling_mean_asks_for_more_and_a_pressing_one_for_no_less(
    amplitude: float, ratio: float, ultimate: float
) -> None:
    found = reversed_amplitude(amplitude, ratio, ultimate)
    assert found >= amplitude
    assert (found == amplitude) == (ratio <= -1.0) or found - amplitude < 1e-9
    assert reversed_amplitude(amplitude, -1.0, ultimate) == amplitude


@settings(deadline=None)
@given(
    st.lists(st.floats(0.5, 0.99), min_size=3, max_size=8, unique_by=lambda x: round(x, 3)),
    st.floats(3.0, 20.0),
    st.floats(0.1, 1000.0),
)
def test_pieces_on_a_line_give_that_line_in_any_unit(shares: list[float], slope: float, unit: float) -> None:
    stress = np.array(shares) * 100.0
    curve = fitted(unit * stress, 1e5 * (stress / 50.0) ** -slope)
    assert abs(curve.beyond_slope - slope) < 1e-6 * slope
    assert curve.spread < 1.0 + 1e-6
    assert np.allclose(1e5 * (curve.amplitude_mpa / unit / 50.0) ** -slope, curve.cycles, rtol=1e-5)
