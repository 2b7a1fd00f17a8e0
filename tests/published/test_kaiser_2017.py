"""K. Kaiser, project 19405, log on the gear design of a belt turned inside out, 15 February 2017.

A belt of 60 teeth at 5 mm pitch is 300 mm long. Mapping: the neutral line of a belt is its cord, whose length does not change
when the belt is turned inside out. Left out: the log counts 200 motor steps as 6000, a ratio of 30; which ring is held decides
between −30 and +31, and the log does not say it beside the number.
"""

from __future__ import annotations

from evidence_rows import assert_passes, every_row

from lobewright.motion import GENERATOR, Row, solve
from lobewright.published.case import Case


@every_row("kaiser_2017")
def test_row(case: Case) -> None:
    assert_passes(case)


def test_both_readings_of_the_ratio_left_out() -> None:
    held_62 = solve((Row("held", 62, 60), Row("out", 60, 60)), 2, "held", GENERATOR, "out")
    held_60 = solve((Row("held", 60, 60), Row("out", 62, 60)), 2, "held", GENERATOR, "out")
    assert (held_62.ratio, held_60.ratio) == (-30, 31)
