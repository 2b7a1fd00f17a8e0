"""Public bearing tables without year: ratings of 608, 6200 and 6204 against those of their balls (ball counts remembered).

Tolerance: as far as two prints differ.
"""

from __future__ import annotations

from evidence_rows import assert_passes, every_row

from lobewright.published.case import Case


@every_row("bearing_ratings_collected")
def test_row(case: Case) -> None:
    assert_passes(case)
