"""P. Nectoux and others, 2012: the bearings of an open data set of bearing lives, as told with the data.

Mapping: 13 balls of 3.5 mm on 25.6 mm, rated 4.0 kN. Tolerance: half of the last printed digit.
"""

from __future__ import annotations

from evidence_rows import assert_passes, every_row

from lobewright.published.case import Case


@every_row("nectoux_2012")
def test_row(case: Case) -> None:
    assert_passes(case)
