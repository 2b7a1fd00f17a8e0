"""GB/T 30819-2014, Strain wave gear reducers for robots, clause 3.1: senses of rotation.

Mapping: the clause says that with the generator driving the flexible member turns against it when the rigid ring is held,
and the rigid ring turns with it when the flexible member is held. Our ratio is turns in per turn out, negative for the
opposite sense. The size 50 is not in the clause; it follows from 100 and 102 teeth.
"""

from __future__ import annotations

from evidence_rows import assert_passes, every_row

from lobewright.motion import FLEXIBLE, GENERATOR, Row, solve
from lobewright.published.case import Case


@every_row("gb_t_30819_2014")
def test_row(case: Case) -> None:
    assert_passes(case)


def test_the_other_sense_of_the_clause() -> None:
    rows = (Row("ring", 102, 100),)
    assert not solve(rows, 2, "ring", GENERATOR, FLEXIBLE).same_sense
    assert solve(rows, 2, FLEXIBLE, GENERATOR, "ring").same_sense
