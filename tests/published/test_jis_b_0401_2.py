"""JIS B 0401-2 (1998): deviations of regularly used holes and shafts, as excerpts in technical data of suppliers print them.

Mapping: class, size and side of the deviation; the standard's values are those of ISO 286-2. Tolerance: half of the last printed
digit. Left out: classes that are not tabled here, sizes above 80 mm (the excerpts read end there).
"""

from __future__ import annotations

from evidence_rows import assert_passes, every_row

from lobewright.design.catalogue_fits import classes
from lobewright.published.case import Case
from lobewright.published.fit_cases import TABLED_UM


@every_row("jis_b_0401_2")
def test_row(case: Case) -> None:
    assert_passes(case)


def test_no_class_is_without_a_row() -> None:
    assert {name for name, *_ in TABLED_UM} == set(classes())
