"""NEMA ICS 16-2001, flanges of inch dimension motors: bolt circles and pilots of frame sizes 17 and 23.

Mapping: a public table, named with the source, re-tells it in inches (1.725 and 2.625 in; 0.866 and 1.500 in); our plates are
drilled by the square and the pilot in mm as motors are sold (31.0 and 47.14 mm; 22 and 38.1 mm).
"""

from __future__ import annotations

from evidence_rows import assert_passes, every_row

from lobewright.published.case import Case


@every_row("nema_ics_16_2001")
def test_row(case: Case) -> None:
    assert_passes(case)
