"""Arcs for points: known shapes come back, limits are kept or refused, distances are measured both ways."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from export_drives import arcs_to_points
from hypothesis import given
from hypothesis import strategies as st

from lobewright.errors import ConvergenceFault
from lobewright.make.fitting import distance_mm, fit_arcs
from lobewright.make.outlines import (
    Chain,
    Contour,
    bulge_of,
    circle,
    hull_of_circles,
    notched_circle,
    polygon,
    sample,
)


def test_three_arcs_and_a_line_come_back_as_four_edges() -> None:
    corners = np.array([[0.0, 0.0], [1.0, 0.3], [1.6, 1.4], [2.5, 1.0], [3.0, 2.0]])
    true = Chain(corners, np.array([0.3, -0.4, 0.0, 0.55]))
    fit = fit_arcs(sample(true, 5e-5), "test")
    assert fit.edges == 4
    assert fit.error_mm <= 0.002
    assert fit.chain.points_mm[[0, -1]] == pytest.approx(corners[[0, -1]], abs=1e-12)


def test_a_single_arc_keeps_its_bulge() -> None:
    for turn in (-2.5, -0.3, 0.01, 1.0, 2.6):
        true = Chain(np.array([[0.0, 0.0], [2.0, 1.0]]), np.array([bulge_of(turn)]))
        fit = fit_arcs(sample(true, 5e-5), "test")
        assert fit.edges == 1
        assert 4 * math.atan(fit.chain.bulges[0]) == pytest.approx(turn, abs=0.05)


@given(
    st.lists(st.floats(0.02, 0.3), min_size=8, max_size=25),
    st.lists(st.floats(-0.15, 0.15), min_size=25, max_size=25),
)
def test_any_outline_is_followed_within_the_tolerance(steps: list[float], heights: list[float]) -> None:
    x = np.cumsum(steps)
    points = np.column_stack((x, heights[: len(x)]))
    fit = fit_arcs(points, "test")
    assert fit.error_mm <= 0.002
    assert distance_mm(points, sample(fit.chain, 1e-5)) == pytest.approx(fit.error_mm, abs=2e-4)


def test_too_few_edges_allowed_is_an_error_that_tells_the_number() -> None:
    points = np.column_stack((np.arange(9.0), np.arange(9) % 2))
    with pytest.raises(ConvergenceFault, match=r"outline of a zigzag needs too many arcs \(found 8\).*at most 5"):
        fit_arcs(points, "a zigzag", most_edges=5)


def test_distance_sees_a_spike_on_either_line() -> None:
    plain = np.array([[0.0, 0.0], [10.0, 0.0]])
    spiked = np.array([[0.0, 0.0], [5.0, 0.0], [5.001, 0.4], [5.002, 0.0], [10.0, 0.0]])
    assert distance_mm(plain, spiked) == pytest.approx(0.4, abs=1e-6)
    assert distance_mm(spiked, plain) == pytest.approx(0.4, abs=1e-6)


SHAPES = {
    "circle": (circle(3.0, 1.0, 2.0), math.pi * 9),
    "square": (polygon([(0, 0), (2, 0), (2, 2), (0, 2)]), 4.0),
    "stadium": (hull_of_circles([(3.0, 0.0, 1.0), (-3.0, 0.0, 1.0)]), math.pi + 12),
    "pear": (hull_of_circles([(5.0, 0.0, 1.0), (0.0, 0.0, 3.0)]), None),
}


@pytest.mark.parametrize("name", SHAPES)
def test_areas_are_those_of_the_drawn_outline(name: str) -> None:
    contour, known = SHAPES[name]
    rows = [(*p, b) for p, b in zip(contour.points_mm, contour.bulges, strict=True)]
    drawn = shapely.Polygon(arcs_to_points(rows, 400))
    assert contour.area_mm2 == pytest.approx(drawn.area, rel=1e-4)
    assert contour.reversed().area_mm2 == pytest.approx(-drawn.area, rel=1e-4)
    assert contour.polygon().area == pytest.approx(drawn.area, rel=1e-3)
    if known:
        assert contour.area_mm2 == pytest.approx(known, rel=1e-9)


def test_a_band_round_circles_is_their_hull() -> None:
    circles = [(5.0, 0.0, 1.0), (0.0, 4.0, 2.0), (-3.0, -1.0, 1.5)]
    hull = shapely.union_all([shapely.Point(x, y).buffer(r, quad_segs=200) for x, y, r in circles]).convex_hull
    assert hull_of_circles(circles).polygon().symmetric_difference(hull).area < 1e-2


def test_a_notch_takes_a_bite_at_angle_zero() -> None:
    plain, notched = circle(20.0).polygon(), notched_circle(20.0, 1.0).polygon()
    bite = plain.difference(notched.buffer(1e-6))
    expected = plain.intersection(shapely.Point(20.0, 0.0).buffer(1.0, quad_segs=100))
    assert bite.area == pytest.approx(expected.area, rel=0.01)
    assert bite.centroid.x > 19 and abs(bite.centroid.y) < 1e-6


def test_a_contour_reversed_twice_is_itself() -> None:
    contour: Contour = hull_of_circles([(5.0, 0.0, 1.0), (0.0, 0.0, 3.0)])
    twice = contour.reversed().reversed()
    assert twice.points_mm == pytest.approx(contour.points_mm) and twice.bulges == pytest.approx(contour.bulges)
