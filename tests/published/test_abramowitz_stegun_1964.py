"""Abramowitz and Stegun, Handbook of Mathematical Functions, 1964, Table 17.1: complete elliptic integral E.

Read at second hand, as typed in the tests of an open numerics program. Mapping: an ellipse with semi-axes 1 and √(1 − m) is
4·E(m) long. Tolerance: two in the tenth printed digit, because the copy is off by one there (at m = 0.15). Two of the ten
values stand for the table: near a drive's cam (m = 0.10) and far beyond it (m = 0.50).
"""

from __future__ import annotations

import math

import pytest
from evidence_rows import assert_passes, every_row

from lobewright.published.case import Case
from lobewright.ring.oracles import ellipse_perimeter


@every_row("abramowitz_stegun_1964")
def test_row(case: Case) -> None:
    assert_passes(case)


@pytest.mark.parametrize(
    ("parameter", "printed"),
    [(0.05, 1.550973352), (0.20, 1.489035058), (0.25, 1.467462209), (0.30, 1.445363064), (0.40, 1.399392139)],
)
def test_other_values_of_the_table(parameter: float, printed: float) -> None:
    assert abs(ellipse_perimeter(1.0, math.sqrt(1 - parameter)) / 4 - printed) < 2e-9
