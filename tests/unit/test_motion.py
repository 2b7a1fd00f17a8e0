"""Motion against ratios worked out by hand, and the choices that have no ratio."""

from __future__ import annotations

from fractions import Fraction

import pytest

from lobewright.errors import MotionFault
from lobewright.motion import Row, rack_travel_mm, solve, unroll

TWO_RINGS = (Row("base", 102, 100), Row("output", 100, 100))
CUP = (Row("housing", 162, 160),)
TWO_ROWS = (Row("base", 102, 100), Row("output", 106, 104))


@pytest.mark.parametrize(
    ("rows", "fixed", "driven", "read", "ratio"),
    [
        (TWO_RINGS, "base", "generator", "output", -50),  # the output goes as the flexible ring: −2 teeth in 100
        (TWO_RINGS, "output", "generator", "base", 51),  # 2 teeth in 102 the other way
        (TWO_RINGS, "base", "output", "generator", Fraction(-1, 50)),
        (TWO_RINGS, "base", "generator", "flexible_ring", -50),
        (CUP, "housing", "generator", "flexible_ring", -80),  # −2 teeth in 160
        (CUP, "flexible_ring", "generator", "housing", 81),  # 2 teeth in 162
        (CUP, "generator", "flexible_ring", "housing", Fraction(81, 80)),
        # ω_f − 1 = −102/100; ω_o − 1 = (ω_f − 1)·104/106 = −10608/10600, so ω_o = −8/10600 = −1/1325.
        (TWO_ROWS, "base", "generator", "output", -1325),
        ((Row("base", 40, 38), Row("output", 38, 38)), "base", "generator", "output", -19),
        ((Row("a", 102, 100), Row("b", 104, 100)), "a", "generator", "b", 52),  # ω_b = 1 − 102/104
    ],
)
def test_ratios_by_hand(rows: tuple[Row, ...], fixed: str, driven: str, read: str, ratio: Fraction) -> None:
    found = solve(rows, 2, fixed, driven, read)
    assert found.ratio == ratio
    assert found.same_sense == (ratio > 0)
    assert found.turns[driven] == 1
    assert found.turns[fixed] == 0
    assert found.turns[read] * ratio == 1


def test_load_cycles_are_counted_per_turn_of_the_generator() -> None:
    """n·Z_c/Z_f with the rigid ring held: the ring runs back while the generator goes round."""
    assert solve(TWO_RINGS, 2, "base", "generator", "output").load_cycles_per_generator_turn == Fraction(204, 100)
    assert solve(CUP, 2, "flexible_ring", "generator", "housing").load_cycles_per_generator_turn == 2
    assert solve(CUP, 2, "generator", "flexible_ring", "housing").load_cycles_per_generator_turn is None
    three = (Row("base", 75, 72), Row("output", 72, 72))
    assert solve(three, 3, "base", "generator", "output").load_cycles_per_generator_turn == Fraction(3 * 75, 72)


@pytest.mark.parametrize(
    ("rows", "fixed", "driven", "read", "words"),
    [
        (TWO_RINGS, "flexible_ring", "generator", "output", "output stands still: there is no ratio"),
        (
            TWO_RINGS,
            "flexible_ring",
            "output",
            "generator",
            "output cannot turn: their tooth counts lock them together",
        ),
        (TWO_RINGS, "output", "flexible_ring", "base", "flexible_ring cannot turn"),
        (CUP, "housing", "generator", "nothing", "no such member"),
        (CUP, "housing", "housing", "generator", "housing cannot turn"),
        ((Row("a", 100, 100), Row("b", 100, 100)), "a", "b", "generator", "b cannot turn"),
        ((Row("a", 100, 100), Row("b", 102, 100)), "a", "flexible_ring", "b", "flexible_ring cannot turn"),
        ((Row("a", 100, 100),), "generator", "flexible_ring", "a", None),
    ],
)
def test_choices_without_a_ratio_say_why(
    rows: tuple[Row, ...], fixed: str, driven: str, read: str, words: str | None
) -> None:
    if words is None:
        assert solve(rows, 2, fixed, driven, read).ratio == 1
        return
    with pytest.raises(MotionFault, match=words):
        solve(rows, 2, fixed, driven, read)


def test_ratio_text_has_a_true_minus_and_exact_fractions() -> None:
    assert solve(TWO_RINGS, 2, "base", "generator", "output").ratio_text == "−50 : 1"
    assert solve(CUP, 2, "generator", "flexible_ring", "housing").ratio_text == "81/80 : 1"


def test_racks() -> None:
    laid = unroll(102, 100)
    assert (laid.line_up_places, laid.wedge_advantage) == (2, -50)
    assert rack_travel_mm(laid, 300.0) == pytest.approx(-6.0)
    assert unroll(100, 102).wedge_advantage == 51
    with pytest.raises(MotionFault, match="the wedge moves nothing"):
        unroll(100, 100)
    with pytest.raises(MotionFault, match="not a finite number"):
        rack_travel_mm(laid, float("inf"))
