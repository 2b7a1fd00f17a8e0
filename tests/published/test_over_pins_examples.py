"""Handbook examples of sizes over and between pins of involute gears of module 1, 20°, from memory.

Mapping: the tooth space is drawn by points of the involute in closed form, the model finds the pin's place on them. Tolerance:
one in the last printed digit. Left out: helical gears (no such teeth here).
"""

from __future__ import annotations

from evidence_rows import assert_passes, every_row

from lobewright.published.case import Case


@every_row("over_pins_examples")
def test_row(case: Case) -> None:
    assert_passes(case)
