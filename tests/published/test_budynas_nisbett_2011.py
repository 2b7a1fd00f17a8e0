"""R. G. Budynas, J. K. Nisbett, Mechanical Engineering Design, 9th ed., 2011, chapter 6.

Examples 6-3 (surface), 6-6 (notch), 6-10 (criteria), the history with a hidden cycle of pp. 322-324 and Miner's rule
of pp. 324-325. Mapping: the line from f·S_u at a thousand cycles to S_e at a million is an S–N curve of two points
that goes on with the same slope; for the hidden cycle, amplitudes below S_e do no harm. The history's order of points
is rebuilt from the cycles that the page names. S_u and f of that example are from memory; with them its S_f of 70.3
kpsi comes out. Left out: example 6-18 (another notch rule).
"""

from __future__ import annotations

import pytest
from evidence_rows import assert_passes, every_row

from lobewright.published.case import Case


@every_row("budynas_nisbett_2011")
def test_row(case: Case) -> None:
    assert_passes(case)


def test_the_rebuilt_history_has_the_strength_that_the_page_prints() -> None:
    assert pytest.approx(70.3, abs=0.05) == 70.0 / (1.0 - (10.0 / 151.0) ** 2)
