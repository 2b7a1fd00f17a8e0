"""ISO 898-1:2013, tables of stress areas and proof loads of metric coarse threads, read on pages that re-tell them.

Mapping: proof load = stress area × stress under proof load of the class; both are computed from thread and class. Tolerance:
half of the last printed digit. Left out: sizes above M10 (no size of the catalogue) and ultimate loads (the same areas). The
table itself multiplies rounded areas, which makes some rows (M8 of 5.6, M10) end half a digit off what threads give.
"""

from __future__ import annotations

from evidence_rows import assert_passes, every_row

from lobewright.design import catalogue
from lobewright.published.case import Case
from lobewright.strength.fasteners import bolt_area_mm2

TABLED_MM2 = {"M3": 5.03, "M4": 8.78, "M5": 14.2, "M6": 20.1, "M8": 36.6, "M10": 58.0}


@every_row("iso_898_1_2013")
def test_row(case: Case) -> None:
    assert_passes(case)


def test_every_tabled_area_of_the_catalogue() -> None:
    for size, printed in TABLED_MM2.items():
        digits = 2 if printed < 10.0 else 1
        assert round(bolt_area_mm2(catalogue.bolt(size)), digits) == printed, size
