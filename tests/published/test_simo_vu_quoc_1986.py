"""J. C. Simo, L. Vu-Quoc, 1986, as re-told in EDF's validation manual V6.02.103, sect. 2.2: a beam rolled to a full circle.

A clamped straight beam of length 1 under an end moment 2π EI/L is a circle; the manual prints the displacement DX along the beam
of three nodes. Mapping: a chain of ring elements of next to no arc, clamped at one end; nodes at 0.4, 0.6 and 1 of the length.
Tolerance: the printed digits.
"""

from __future__ import annotations

import math

from evidence_rows import assert_passes, every_row, rows_from

from lobewright.published.case import Case


@every_row("simo_vu_quoc_1986")
def test_row(case: Case) -> None:
    assert_passes(case)


def test_the_printed_numbers_are_those_of_a_circle() -> None:
    for case, place in zip(rows_from("simo_vu_quoc_1986"), (0.4, 0.6, 1.0), strict=True):
        assert abs(math.sin(2 * math.pi * place) / (2 * math.pi) - place - case.expected) < 5e-6
