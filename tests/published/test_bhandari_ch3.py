"""V. B. Bhandari, Design of Machine Elements, examples 3.1 to 3.3: limits of H6, H7 and s6, as a public companion reckons them.

Which edition is not noted, so the rows count as remembered. Mapping: deviations by class and size, interference from two
classes. Tolerance: half of the companion's last digit. Left out: e7 and the classes of 3.4 (not tabled here).
"""

from __future__ import annotations

from evidence_rows import assert_passes, every_row

from lobewright.published.case import Case


@every_row("bhandari_ch3")
def test_row(case: Case) -> None:
    assert_passes(case)
