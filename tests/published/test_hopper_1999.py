"""A. W. Hopper, mathgroup message 19342, 1999, outputs 7 and 9: perimeters of two ellipses.

Mapping: a ring a little shorter than the ellipse is laid tight on it; its length times one plus its stretch is the
perimeter. Tolerance: ten printed digits for axes 2 and 1, fourteen for 100 and 20.
"""

from __future__ import annotations

from evidence_rows import assert_passes, every_row, rows_from

from lobewright.published.case import Case
from lobewright.ring.oracles import ellipse_perimeter


@every_row("hopper_1999")
def test_row(case: Case) -> None:
    assert_passes(case)


def test_a_third_way_gives_the_same_perimeters() -> None:
    expected = {case.key: case.expected for case in rows_from("hopper_1999")}
    assert abs(ellipse_perimeter(2.0, 1.0) - expected["ring.ellipse_2_1"]) < 1e-8
    assert abs(ellipse_perimeter(100.0, 20.0) - expected["ring.ellipse_100_20"]) < 1e-9
