"""Remembered for want of a year: R. Johansson, H. Nordberg, Fatigue properties of stainless steel, Table I.

Limits over the tensile strength 0.45 at ratio −1 and 0.35 from zero, each uncertain by 0.04. Mapping: the modified Goodman line
takes the first to 0.31; the measured 0.35 lies between that and Gerber's 0.39, so the line is on the safe side.
"""

from __future__ import annotations

from evidence_rows import assert_passes, every_row

from lobewright.published.case import Case


@every_row("johansson_nordberg")
def test_row(case: Case) -> None:
    assert_passes(case)
