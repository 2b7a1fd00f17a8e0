"""R. L. Mott, Machine Elements in Mechanical Design, 4th ed., 2004, example problem 14-6: three loads in a cycle of 60 min.

Mapping: minutes stand for turns, the speed being one. Tolerance: half of the last printed digit.
"""

from __future__ import annotations

from evidence_rows import assert_passes, every_row

from lobewright.published.case import Case


@every_row("mott_2004")
def test_row(case: Case) -> None:
    assert_passes(case)
