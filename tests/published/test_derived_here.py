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
from lobewright.ring import oracles, oracles_shell
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


def test_numbers_of_rings_and_cups_under_load_are_those_of_the_closed_forms() -> None:
    three = oracles.equal_loads(3, 1.0, 1.0, 1.0)
    plate = 206e3 * 0.02**3 / (12 * (1 - 0.3**2))
    two = oracles_shell.linear_mode(25.0, 0.02, 40.0, 206e3, 0.0, 2)
    exact = {
        "three_loads_deflection": three.deflection_at_load_mm,
        "three_loads_moment": three.moment_midway_nmm,
        "guided_annulus": oracles_shell.guided_annulus(1.0, 0.4),
        "warped_annulus": oracles_shell.bent_annulus(40.0, 20.0, 0.02, 206e3, 0.3)[0] * 40.0**3 / plate,
        "inextensional_force": 1e6 * two.line_load,
        "inextensional_axial": two.axial,
        "inextensional_three_lobes": oracles_shell.linear_mode(25.0, 0.02, 40.0, 206e3, 0.0, 3).tangential,
    }
    for key, value in exact.items():
        case = row(f"load.{key}")
        assert abs(value - case.expected) < 0.3 * case.allowed, key


def test_the_ring_on_two_discs_is_the_elastica_that_leaves_a_disc_with_its_curvature() -> None:
    """θ' = κ, κ' = n sin θ from the angle at which the ring leaves the disc, by Runge–Kutta; the quarter must close."""
    disc, reach, steps = 0.9, 0.15, 400

    def quarter(angle: float, pull: float) -> tuple[float, float, float]:
        """Miss in x and turn on the minor axis, and y there."""
        length = (0.5 * math.pi - disc * angle) / steps
        state = [reach + disc * math.cos(angle), disc * math.sin(angle), 0.5 * math.pi + angle, 1.0 / disc]

        def slope(z: list[float]) -> list[float]:
            return [math.cos(z[2]), math.sin(z[2]), z[3], pull * math.sin(z[2])]

        for _ in range(steps):
            a = slope(state)
            b = slope([z + 0.5 * length * d for z, d in zip(state, a, strict=True)])
            c = slope([z + 0.5 * length * d for z, d in zip(state, b, strict=True)])
            d = slope([z + length * d for z, d in zip(state, c, strict=True)])
            state = [z + length / 6 * (p + 2 * q + 2 * r + s) for z, p, q, r, s in zip(state, a, b, c, d, strict=True)]
        return state[0], state[2] - math.pi, state[1]

    force, minor = (row(f"load.two_discs_{key}").expected for key in ("force", "minor"))
    low, high = 0.7, 1.0
    rising = quarter(high, -0.5 * force)[1] > 0.0
    for _ in range(50):
        angle = 0.5 * (low + high)
        if (quarter(angle, -0.5 * force)[1] > 0.0) == rising:
            high = angle
        else:
            low = angle
    x, turn, y = quarter(angle, -0.5 * force)
    assert abs(turn) < 1e-9 and abs(x) < 1e-5
    assert abs(1.0 - y - minor) < 1e-5
    assert abs(angle * disc / math.pi * 180 - 43.612) < 0.01
