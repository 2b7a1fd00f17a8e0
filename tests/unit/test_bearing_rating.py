"""Load ratings of ball bearings: the standard's table, whose figures come first, and bearings that cannot be."""

from __future__ import annotations

import math

import pytest

from lobewright.design import catalogue
from lobewright.design.files import design_from_data
from lobewright.design.model import Design
from lobewright.design.starters import starter_data
from lobewright.design.workshop import OwnedBearings, Workshop
from lobewright.errors import DesignFault
from lobewright.sources import Flag
from lobewright.strength import bearing_rating as br

FC = {  # ISO 281, Table 2, remembered
    0.05: 46.7, 0.06: 49.1, 0.07: 51.1, 0.08: 52.8, 0.09: 54.3, 0.10: 55.5, 0.12: 57.5, 0.14: 58.8, 0.16: 59.6, 0.18: 59.9,
    0.20: 59.9, 0.22: 59.6, 0.24: 59.0, 0.26: 58.2, 0.28: 57.1, 0.30: 56.0, 0.32: 54.6, 0.34: 53.2, 0.36: 51.7, 0.38: 50.0,
    0.40: 48.4,
}  # fmt: skip
BASE = design_from_data(starter_data("printed_ring-rollers"))


def owning(**told: object) -> Design:
    """A design whose workshop tells this of its 608 bearings, written as a person may write them."""
    shop = Workshop(schema_version=1, bearings=(OwnedBearings(designation="608-2RS", count=8, **told),))
    return BASE.model_copy(update={"owned": shop})


@pytest.mark.parametrize("share", FC)
def test_the_formula_meets_the_table_of_the_standard(share: float) -> None:
    assert br.geometry_factor(share) == pytest.approx(FC[share], rel=2.2e-3)


def test_a_wider_groove_bears_less() -> None:
    usual = br.geometry_factor(0.2)
    assert br.geometry_factor(0.2, outer_groove_share=0.53) < usual
    assert br.geometry_factor(0.2, inner_groove_share=0.53) < usual


def test_large_balls_go_on_where_small_ones_end() -> None:
    below, above = (br.dynamic_rating_n(9, ball, 130.0) for ball in (25.4, 25.4 + 1e-9))
    assert above == pytest.approx(below, rel=1e-3)
    # a larger ball counts with a lower power there
    steep = br.dynamic_rating_n(9, 25.4, 130.0) / br.dynamic_rating_n(9, 25.0, 128.0)
    flat = br.dynamic_rating_n(9, 30.4, 155.59) / br.dynamic_rating_n(9, 30.0, 153.543)
    assert math.log(steep) / math.log(25.4 / 25.0) == pytest.approx(1.8, abs=0.05)
    assert math.log(flat) / math.log(30.4 / 30.0) == pytest.approx(1.4, abs=0.05)


@pytest.mark.parametrize(
    "given",
    [
        (0, 4.0, 15.0),
        (-7, 4.0, 15.0),
        (7, 0.0, 15.0),
        (7, -4.0, 15.0),
        (7, 16.0, 15.0),
        (30, 4.0, 15.0),
        (7, math.nan, 15.0),
    ],
)
def test_balls_that_cannot_be_are_refused(given: tuple[int, float, float]) -> None:
    for rating in (br.dynamic_rating_n, br.static_rating_n):
        with pytest.raises(DesignFault, match="this ball bearing cannot be"):
            rating(*given)


@pytest.mark.parametrize("given", [(0.0, 0.52, 0.52), (1.2, 0.52, 0.52), (0.2, 0.5, 0.52), (0.2, 0.52, 1.5)])
def test_grooves_that_cannot_be_are_refused(given: tuple[float, float, float]) -> None:
    with pytest.raises(DesignFault, match="cannot be"):
        br.geometry_factor(*given)


def test_what_is_typed_counts_before_all_else() -> None:
    found = br.rating_of(owning(dynamic_rating_N=3450.0, static_rating_N=1370.0, balls=6, ball_mm=4.0), "608")
    assert found.dynamic_n is not None and found.static_n is not None
    assert (found.dynamic_n.middle, found.static_n.middle) == (3450.0, 1370.0)
    assert found.dynamic_n.measured and "typed" in found.words


def test_one_typed_rating_leaves_the_other_to_what_is_known() -> None:
    found = br.rating_of(owning(dynamic_rating_N=3450.0), "608")
    assert found.dynamic_n is not None and found.static_n is not None
    assert found.dynamic_n.middle == 3450.0 and not found.static_n.measured
    assert found.static_n.middle == pytest.approx(1390.0, rel=0.01)
    assert found.words == "dynamic typed, else as printed in public tables"
    assert br.rating_of(owning(static_rating_N=1370.0), "608").words.startswith("static typed, else as printed")


def test_counted_balls_count_before_prints() -> None:
    found = br.rating_of(owning(balls=6), "608")
    assert found.dynamic_n is not None
    assert found.dynamic_n.middle == pytest.approx(br.dynamic_rating_n(6, 3.969, 15.0)) and found.balls == 6
    assert "counted by you" in found.words


def test_counted_balls_without_room_are_refused() -> None:
    with pytest.raises(DesignFault, match="at most"):
        br.rating_of(owning(balls=20), "608")


def test_a_drawer_that_tells_nothing_changes_nothing() -> None:
    assert br.rating_of(owning(), "608") == br.rating_of(BASE, "608")


def test_prints_that_differ_make_the_band() -> None:
    found = br.rating_of(BASE, "61800").dynamic_n
    assert found is not None and found.low < 1380.0 < found.middle < 1830.0 < found.high
    assert found.flag is Flag.REMEMBERED


def test_a_lone_print_of_a_thin_series_is_told_wider_than_of_a_common_one() -> None:
    thin, common = (br.rating_of(BASE, name).dynamic_n for name in ("61802", "6002"))
    assert thin is not None and common is not None and thin.log_spread > 3.0 * common.log_spread


def test_a_bearing_without_rating_says_what_to_do() -> None:
    found = br.rating_of(BASE, "696")
    assert found.dynamic_n is None and found.static_n is None
    assert "dynamic_rating_N" in br.lacking(found) and "696" in br.lacking(found)


def test_every_bearing_but_one_has_a_print_that_fits_its_size() -> None:
    """A rating of the standard's formula with balls of 0.3 of the ring's height as dense as usual is near every print."""
    without = []
    for row in catalogue.bearings():
        printed = catalogue.bearing_ratings(row.designation)
        if printed is None:
            without.append(row.designation)
            continue
        ball, pitch = 0.3 * (row.outer_mm - row.bore_mm), 0.5 * (row.outer_mm + row.bore_mm)
        balls = int(0.62 * math.pi * pitch / ball)
        assert 0.5 < printed.dynamic_rating_n / br.dynamic_rating_n(balls, ball, pitch) < 1.6, row.designation
        assert 0.3 < printed.static_rating_n / printed.dynamic_rating_n < 0.85
    assert without == ["696"]


@pytest.mark.parametrize(
    ("name", "printed"), [("6000", 12.4), ("6200", 13.2), ("6300", 11.4), ("61800", 14.8), ("61901", 14.5)]
)
def test_the_static_factor_is_near_that_of_a_print_even_without_balls(name: str, printed: float) -> None:
    assert br.rating_of(BASE, name).static_factor == pytest.approx(printed, rel=0.06)
