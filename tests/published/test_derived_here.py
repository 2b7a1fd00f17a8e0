"""Worked out in this project: closed forms of thin rings, exact ratios, swept spaces against unions of polygons.

Not publications: each expected number was found by a second method, and the rows are counted apart from those that were read.
Mapping and limits stand in the docstrings of the case modules. Numbers of thin rings are those of `ring.oracles`, which
imports nothing of the package; the test below takes them from there again, so that no number was mistyped.
"""

from __future__ import annotations

import math

import pytest
from evidence_rows import assert_passes, every_row, row

from lobewright.published.case import Case
from lobewright.ring import oracles
from lobewright.ring.shape import on_points


@every_row("derived_here")
def test_row(case: Case) -> None:
    assert_passes(case)


def test_first_order_numbers_are_those_of_the_closed_forms() -> None:
    force, at_roller, midway, minor = oracles.roller_pair(1.0, 1.0, 1.0)
    three = oracles.equal_loads(3, 1.0, 1.0, 1.0)
    pair = math.radians(30.0)
    paired_force = 1 / oracles.paired_rollers_deflection(1.0, 1.0, 1.0, pair)[1]
    half_right = 0.5 * math.sqrt(0.5)
    exact = {
        "two_rollers_force": force,
        "two_rollers_moment": at_roller,
        "two_rollers_minor_moment": midway,
        "two_rollers_minor_deflection": minor,
        "three_rollers_deflection": three.deflection_at_load_mm,
        "three_rollers_moment": three.moment_at_load_nmm,
        "paired_force": paired_force,
        "paired_moment": oracles.paired_rollers_moment(paired_force, 1.0, pair, 0.0),
        "two_rollers_normal_turn": force * (0.25 - 0.5 + half_right),
        "length_preserving_ellipse": oracles.ellipse_semi_minor(30.0, 0.375),
        "length_preserving_ellipse_deep": oracles.ellipse_semi_minor(20.0, 1.0),
    }
    for key, value in exact.items():
        case = row(f"ring.{key}")
        assert abs(value - case.expected) < 0.3 * case.allowed, key


def test_what_is_left_of_first_order_rows_falls_with_the_deflection() -> None:
    def left(share: float) -> float:
        shape = on_points(30.0, 2, 30.0 * (1 + share))
        return abs(shape.minor_deflection_mm / shape.deflection_mm - oracles.roller_pair(1.0, 1.0, 1.0)[3])

    assert left(1e-2) / left(1e-3) == pytest.approx(10.0, rel=0.05)
