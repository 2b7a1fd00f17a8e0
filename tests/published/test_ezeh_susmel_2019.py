"""Remembered: O. H. Ezeh, L. Susmel, printed polylactide, 0.10 of the strength at two million, slope 5.5.

Mapping: the strength comes from a coupon, the amplitude at ratio −1 is the largest stress. The curve is the source's own: the row
sees shares, strength and interpolation, not the material.
"""

from __future__ import annotations

from evidence_rows import assert_passes, every_row

from lobewright.published.case import Case


@every_row("ezeh_susmel_2019")
def test_row(case: Case) -> None:
    assert_passes(case)
