"""Public worked exercises without a named author: rating life, and two equivalent loads whose Y was rounded on the way."""

from __future__ import annotations

from evidence_rows import assert_passes, every_row

from lobewright.published.case import Case


@every_row("bearing_exercises")
def test_row(case: Case) -> None:
    assert_passes(case)
