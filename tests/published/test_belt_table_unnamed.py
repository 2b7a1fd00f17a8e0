"""A public belt-drive table without a named author (so it counts as remembered): 18 lbf for an inch of belt of 0.080 in pitch.

Mapping: allowed tension of that width. The catalogue's own figure comes from a standard's ratings; the two differ by 0.7, and
the row shows that the band given with every allowed tension holds both. Left out: its lengths and heights, checked elsewhere.
"""

from __future__ import annotations

from evidence_rows import assert_passes, every_row, rows_from

from lobewright.published.case import Case
from lobewright.published.model import REAL
from lobewright.strength.belt_life import TENSION_SPREAD


@every_row("belt_table_unnamed")
def test_row(case: Case) -> None:
    assert_passes(case)


def test_the_stated_band_holds_the_second_table() -> None:
    (case,) = rows_from("belt_table_unnamed")
    assert case.expected == 18 * 4.4482216
    assert 1 / TENSION_SPREAD < case.expected / case.compute(REAL) < TENSION_SPREAD
