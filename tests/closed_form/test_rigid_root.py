"""The formula of the tension in a rigid tooth's root, against the finite elements that it was fitted to and that are kept."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from lobewright.strength.rigid_tooth import FILLET, FILLET_PRESS, FILLET_SPREAD, ToothSections, fillet_tension_mpa

KEPT = json.loads((Path(__file__).parents[2] / "benchmarks/fe/rigid_tooth_root.json").read_text("utf-8"))
LOADS = [
    (row, press, tension)
    for row in KEPT["rows"]
    for press, tension in zip(KEPT["presses"], row["tension_mpa"], strict=True)
]


def formula_mpa(row: dict, press: float) -> float:
    """1 N sideways and ``press`` into the root, on 1 mm of face; only the root's section counts."""
    tooth = ToothSections(np.array([0.0, row["depth_mm"]]), np.full(2, row["thickness_mm"]), 1.0)
    return fillet_tension_mpa(tooth, 1.0, press, row["load_depth_mm"])


def test_nine_in_ten_solved_teeth_lie_within_the_spread() -> None:
    ratios = np.array([tension / formula_mpa(row, press) for row, press, tension in LOADS])
    assert len(ratios) == 144
    inside = (ratios > 1.0 / FILLET_SPREAD) & (ratios < FILLET_SPREAD)
    assert inside.mean() >= 0.9
    assert np.median(ratios) == pytest.approx(1.0, abs=0.06)
    assert ratios.min() > 0.75 and ratios.max() < 1.5


def test_the_coefficients_are_those_of_least_relative_squares() -> None:
    table = np.array(
        [(1.0, 6.0 * (row["depth_mm"] - row["load_depth_mm"]) / row["thickness_mm"], -press) for row, press, _ in LOADS]
    )
    wanted = np.array([row["thickness_mm"] * tension for row, _, tension in LOADS])
    found, *_ = np.linalg.lstsq(table / wanted[:, None], np.ones(len(wanted)), rcond=None)
    assert tuple(np.round(found, 1)) == FILLET


def test_the_range_that_was_solved_is_the_one_told() -> None:
    slender = [(row["depth_mm"] - row["load_depth_mm"]) / row["thickness_mm"] for row in KEPT["rows"]]
    assert 0.06 < min(slender) < 0.08 and 0.5 < max(slender) < 0.55
    assert max(KEPT["presses"]) == FILLET_PRESS


def test_a_press_beyond_what_was_solved_takes_no_more_away() -> None:
    row = KEPT["rows"][0]
    assert formula_mpa(row, 0.0) > formula_mpa(row, 0.3) > formula_mpa(row, FILLET_PRESS)
    assert formula_mpa(row, 2.0) == formula_mpa(row, FILLET_PRESS)
