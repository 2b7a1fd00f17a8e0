"""Common practice of the trade: facts that people who build these drives know, with no single source.

A flexible ring and an output of 90 teeth with a held ring of 92 give 45 to 1, opposite; racks that differ by two teeth are in
step at two places; 14 moving teeth against 16 held turn 50 mm into about 7 mm; a palm-sized unit flexes by a millimetre or two.
Tolerances: exact counts are exact, "about 7" is a whole millimetre, "a millimetre or two" is one to two. These rows are never
counted as read.
"""

from __future__ import annotations

from evidence_rows import assert_passes, every_row, rows_from

from lobewright.assessment.run import assess
from lobewright.published.case import Case
from lobewright.published.designs import belt_drive
from lobewright.sources import Flag


@every_row("trade_practice")
def test_row(case: Case) -> None:
    assert_passes(case)


def test_none_of_these_rows_counts_as_read() -> None:
    assert {case.flag for case in rows_from("trade_practice")} == {Flag.COMMON_PRACTICE}


def test_the_whole_drive_gives_45_to_1_too() -> None:
    assert assess(belt_drive("C2M", 90)).motion.ratio_text == "−45 : 1"
