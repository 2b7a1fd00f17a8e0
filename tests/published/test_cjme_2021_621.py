"""Chinese Journal of Mechanical Engineering, 2021, doi 10.1186/s10033-021-00621-z, Table 4: radii of a flexible ring.

Module 0.375 mm, 160 teeth, dedendum 1.35 modules, wall 2 modules. Mapping: root radius = our neutral radius + land height, inner
radius = neutral radius − inner offset. Tolerance: half of the last printed digit. Left out: the full depth and the fillet,
which our tooth forms state by factors of their own; the teeth's placing, whose numbers are only plotted.
"""

from __future__ import annotations

from evidence_rows import assert_passes, every_row, rows_from

from lobewright.published.case import Case


@every_row("cjme_2021_621")
def test_row(case: Case) -> None:
    assert_passes(case)


def test_the_expected_numbers_follow_from_the_module() -> None:
    root, inner = (case.expected for case in rows_from("cjme_2021_621"))
    assert abs(0.375 * (80 - 1.35) - root) < 5e-4
    assert abs(root - inner - 2 * 0.375) < 1e-9
