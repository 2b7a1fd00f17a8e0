"""V. B. Bhandari, Design of Machine Elements, examples 5.11 and 5.17, as a public companion reckons them again.

Which edition is not noted, so the rows count as remembered. 5.17: one component by Gerber, Goodman and Soderberg;
5.11: life under three amplitudes in given shares. Mapping: the line of two points as above. Tolerance: digits of the
companion. Left out: its yield safety, the same quotient as in another row.
"""

from __future__ import annotations

from evidence_rows import assert_passes, every_row

from lobewright.published.case import Case


@every_row("bhandari")
def test_row(case: Case) -> None:
    assert_passes(case)
