"""K. Mattiasson, Int. J. for Numerical Methods in Engineering 17, 1981, end-loaded cantilever at PL²/EI = 10, as quoted.

Mapping: a chain of ring elements of next to no arc, clamped, with a dead force square to it at its end. Tolerance: five printed
digits and the elements. Left out: the other rows of the table, which were not seen quoted; a closed form by elliptic integrals
confirms this one.
"""

from __future__ import annotations

import pytest
from evidence_rows import assert_passes, every_row, rows_from

from lobewright.published.case import Case
from lobewright.ring.oracles import end_loaded_cantilever


@every_row("mattiasson_1981")
def test_row(case: Case) -> None:
    assert_passes(case)


def test_elliptic_integrals_give_the_same_numbers() -> None:
    expected = [case.expected for case in rows_from("mattiasson_1981")]
    assert end_loaded_cantilever(10.0, 1.0, 1.0) == pytest.approx(expected, abs=6e-6)
