"""B. Wang and others, 2020: the bearings of an open data set of bearing lives, as told with the data.

Mapping: 8 balls of 7.92 mm on 34.55 mm, rated 12.82 kN. Tolerance: 0.5 %, ball and pitch being rounded.
"""

from __future__ import annotations

from evidence_rows import assert_passes, every_row

from lobewright.published.case import Case


@every_row("wang_2020")
def test_row(case: Case) -> None:
    assert_passes(case)
