"""ASTM E1049-85 (2011), Standard practices for cycle counting in fatigue analysis, clause 5.4.4, example of rainflow counting.

History −2, 1, −3, 5, −1, 3, −4, 4, −2; counts as users of an open library quote them from the standard: 0.5 of range
3, 1.5 of 4, 0.5 of 6, 1 of 8, 0.5 of 9. Exact.
"""

from __future__ import annotations

import numpy as np
from evidence_rows import assert_passes, every_row

from lobewright.published.case import Case
from lobewright.published.fatigue_cases import HISTORY
from lobewright.strength.counting import count_cycles


@every_row("astm_e1049")
def test_row(case: Case) -> None:
    assert_passes(case)


def test_every_range_of_the_example_and_no_other() -> None:
    cycles = count_cycles(HISTORY)
    found = {
        float(one): float(cycles.count[2.0 * cycles.amplitude_mpa == one].sum())
        for one in np.unique(2.0 * cycles.amplitude_mpa)
    }
    assert found == {3.0: 0.5, 4.0: 1.5, 6.0: 0.5, 8.0: 1.0, 9.0: 0.5}
