"""ISO 281:2007, Table 3 and reliability factors as told on public technical pages.

Mapping: f0 and C0r are 1, so that the axial load is the asked value itself. Tolerance: half of the last printed digit.
"""

from __future__ import annotations

from evidence_rows import assert_passes, every_row

from lobewright.published.case import Case


@every_row("iso_281_2007")
def test_row(case: Case) -> None:
    assert_passes(case)
