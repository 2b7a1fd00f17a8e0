"""ISO 281:1990, reliability factors as told in public manuals. Tolerance: half of the last printed digit."""

from __future__ import annotations

from evidence_rows import assert_passes, every_row

from lobewright.published.case import Case


@every_row("iso_281_1990")
def test_row(case: Case) -> None:
    assert_passes(case)
