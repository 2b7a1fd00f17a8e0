"""A row that cannot turn red proves nothing: shift what the model gives, turn its signs, double its answers."""

from __future__ import annotations

import math
from dataclasses import fields, replace
from functools import cache

import pytest
from seeded_errors import BASE, ERRORS, TWISTS, SeededError, calls_of

from lobewright.errors import ConvergenceFault
from lobewright.published import ALL_CASES
from lobewright.published.case import Case
from lobewright.published.model import Model
from lobewright.verdict import State

pytestmark = pytest.mark.filterwarnings("ignore:invalid value:RuntimeWarning")
EVERY_CASE = pytest.mark.parametrize("case", ALL_CASES, ids=lambda case: case.key)


@cache
def _red(case: Case, error: SeededError) -> bool:
    return not case.run(error.model()).passed


@EVERY_CASE
def test_a_shift_of_twice_the_allowed_difference_turns_the_row_red(case: Case) -> None:
    right = case.run(BASE)
    assert right.passed
    told = replace(case, compute=lambda _: right.computed)  # what the model gives is computed once for all three
    assert not told.run(BASE, shift=2 * case.allowed).passed
    assert not told.run(BASE, shift=-2 * case.allowed).passed


@EVERY_CASE
@pytest.mark.parametrize("factor", [-1.0, 2.0], ids=["sign", "factor"])
def test_a_sign_and_a_factor_error_turn_the_row_red(case: Case, factor: float) -> None:
    calls = calls_of(case.compute)
    assert calls, "a case that calls nothing of the package judges nothing"
    mine = [error for error in ERRORS if error.call in calls and error.factor == factor]
    assert any(_red(case, error) for error in mine), [error.name for error in mine]


@pytest.mark.parametrize("error", ERRORS, ids=lambda error: error.name)
def test_every_seeded_error_is_seen_by_some_row(error: SeededError) -> None:
    assert any(_red(case, error) for case in ALL_CASES if error.call in calls_of(case.compute))


def test_every_call_of_the_model_is_falsified_and_used() -> None:
    names = {field.name for field in fields(Model)}
    assert set(TWISTS) == names
    assert frozenset().union(*(calls_of(case.compute) for case in ALL_CASES)) == names


def test_no_allowance_hides_the_number() -> None:
    for case in ALL_CASES:
        assert case.allowed > 0
        assert case.expected == 0 or case.allowed < 0.5 * abs(case.expected)
        assert case.reason and case.quantity


def test_a_call_that_refuses_is_a_failed_row_with_its_sentence() -> None:
    def refuse(*_: object, **__: object) -> None:
        raise ConvergenceFault("the ring did not settle")

    result = next(case for case in ALL_CASES if case.key == "ring.two_rollers_force").run(
        replace(BASE, on_points=refuse)
    )
    assert result.state is State.FAIL
    assert math.isnan(result.computed)
    assert "did not settle" in result.refusal


def test_a_number_that_is_not_finite_fails() -> None:
    case = ALL_CASES[0]
    assert case.run(BASE, shift=math.nan).state is State.FAIL
    assert case.run(BASE, shift=math.inf).state is State.FAIL
