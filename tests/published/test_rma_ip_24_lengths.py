"""Machinery's Handbook, 27th ed., 2004, after ANSI/RMA IP-24: standard pitch lengths of inch belts (at second hand).

A length code is the pitch length in tenths of an inch: code 100 is 10.000 in. Mapping: neutral length = teeth × pitch. The
row takes the belt of 125 teeth at 0.080 in; other codes are checked over the catalogue elsewhere. Left out: the allowed
deviation, ±0.016 in there, which is a catalogue figure and no result.
"""

from __future__ import annotations

from evidence_rows import assert_passes, every_row, rows_from

from lobewright.published.case import Case


@every_row("rma_ip_24_lengths")
def test_row(case: Case) -> None:
    assert_passes(case)


def test_the_code_is_a_tenth_of_an_inch() -> None:
    (case,) = rows_from("rma_ip_24_lengths")
    assert case.expected == 100 * 2.54
