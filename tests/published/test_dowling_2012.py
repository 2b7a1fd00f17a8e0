"""N. E. Dowling, Mechanical Behavior of Materials, 4th ed., 2012, Table 9.1 and Table E9.1.

AISI 4340 of 1172 MPa in push and pull at ratio −1. Mapping: its six pieces stand in a coupon; the line fitted in the book
(A 1587, B −0.0945) is met to its printed digits. Table 9.1 (A 1643, B −0.0977) is met by 0.85 of the curve estimated
from the strength. Left out: lives above 132 150 cycles, where no piece was tested: the line goes on falling, the estimate not.
"""

from __future__ import annotations

import numpy as np
from evidence_rows import assert_passes, every_row

from lobewright.published.case import Case
from lobewright.published.material_cases import AXIAL, STEEL, _curve, _strong
from lobewright.published.model import REAL


@every_row("dowling_2012")
def test_row(case: Case) -> None:
    assert_passes(case)


def test_the_book_line_lies_in_the_band_of_the_estimate_where_it_was_tested() -> None:
    curve, _ = _curve(REAL, STEEL, _strong(STEEL, 1172.0))
    for cycles in (1e3, 1e4, 1e5):
        estimate = AXIAL * float(np.exp(np.interp(np.log(cycles), np.log(curve.cycles), np.log(curve.amplitude_mpa))))
        assert estimate / curve.spread < 1643.0 * cycles**-0.0977 < estimate * curve.spread
