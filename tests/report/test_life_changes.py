"""The table of what one change would do: every change with its edits, its weakest parts and the verdicts that turn."""

from __future__ import annotations

import math
from html.parser import HTMLParser

from lobewright.design.edits import Edit
from lobewright.life_advice import Weakest, WhatIf
from lobewright.report.life_changes import changes_html
from lobewright.strength.items import Span

BEFORE = Weakest("root of the teeth", Span(0.2, 3.0, 40.0), "bolts <in> shear", Span(1.5, 2.0, 2.5))
ENDLESS = Weakest("barrel", Span(math.inf, math.inf, math.inf), "", None)
SLOWER = WhatIf(
    "half as fast", (Edit("duty[1].speed_rpm", 1.0),), BEFORE, ENDLESS, turns=("ring_life",), breaks=("bed", "pinch")
)


class Cells(HTMLParser):
    def __init__(self, text: str) -> None:
        super().__init__()
        self.rows: list[list[str]] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag == "tr":
            self.rows.append([])
        elif tag in ("th", "td"):
            self.rows[-1].append("")

    def handle_data(self, data: str) -> None:
        if self.rows and self.rows[-1]:
            self.rows[-1][-1] += data


def test_every_change_stands_with_what_it_does() -> None:
    heads, before, after = Cells(changes_html((SLOWER,))).rows
    assert len(heads) == len(before) == len(after) == 5
    assert before[0].startswith("as it is") and before[3] == "bolts <in> shear"
    assert "3.0" in before[2] and "0.20 … 40" in before[2] and "2.00" in before[4]
    assert "set duty[1].speed_rpm = 1" in after[0]
    assert "passes then: ring_life" in after[0] and "fails then: bed, pinch" in after[0]
    assert (after[1], after[3], after[4].strip()) == ("barrel", "none", "not made")
    assert "endless" in after[2]


def test_nothing_tried_is_no_table() -> None:
    assert changes_html(()) == ""


def test_a_place_that_stays_the_weakest_is_not_named_again() -> None:
    moved = WhatIf(
        "thinner walls", (), BEFORE, Weakest("barrel", BEFORE.duties, BEFORE.strength_title, BEFORE.safety), (), ()
    )
    _, before, after = Cells(changes_html((moved,))).rows
    assert before[1] == "root of the teeth" and (after[1], after[3]) == ("barrel", "the same place")
