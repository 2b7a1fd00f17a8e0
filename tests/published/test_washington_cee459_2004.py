"""University of Washington, CEE 459, homework solutions, spring 2004, problem 5.37: thin ring under two opposite forces.

Printed: moment 0.182 PR at the ends of the other diameter. Mapping: our forces push outward, so the sign is the other one.
Tolerance: half of the last printed digit. Left out: the terms of a thick ring.
"""

from __future__ import annotations

from evidence_rows import assert_passes, every_row

from lobewright.published.case import Case


@every_row("washington_cee459_2004")
def test_row(case: Case) -> None:
    assert_passes(case)
