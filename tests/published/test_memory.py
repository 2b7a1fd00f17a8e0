"""Remembered: the torsion of a round tube (Saint-Venant), shear stress of the outer fibre T r/J.

Mapping: a tube clamped at one end, an even tangential line load at the other; read in the middle. Tolerance: five digits.
"""

from __future__ import annotations

from evidence_rows import assert_passes, every_row, rows_from

from lobewright.published.case import Case
from lobewright.ring.oracles_shell import tube_torsion


@every_row("memory")
def test_row(case: Case) -> None:
    assert_passes(case)


def test_the_expected_number_follows_from_the_polar_moment() -> None:
    (case,) = rows_from("memory")
    assert abs(tube_torsion(25.0, 0.5, 79e3, 50e3)[0] - case.expected) < 5e-4
