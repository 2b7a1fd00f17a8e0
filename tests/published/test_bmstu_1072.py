"""BMSTU Vestnik, article 1072: C/P of a generator bearing that lives 10 000 h at 2000/min.

Mapping: the life at the printed C/P. Tolerance: half of its last digit, cubed.
"""

from __future__ import annotations

from evidence_rows import assert_passes, every_row

from lobewright.published.case import Case


@every_row("bmstu_1072")
def test_row(case: Case) -> None:
    assert_passes(case)
