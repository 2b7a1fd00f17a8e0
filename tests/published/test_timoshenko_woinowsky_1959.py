"""Timoshenko and Woinowsky-Krieger, Theory of Plates and Shells, 2nd ed., 1959, chapter 15: bending at the edge of a cylinder.

The form is remembered, not re-read. Mapping: a tube twelve decay lengths long, its far end clamped, its edge under an even
shear or moment. The wall is so thin (R/h 5000) that what the thin-shell form leaves out is below what is allowed.
"""

from __future__ import annotations

from evidence_rows import assert_passes, every_row, rows_from

from lobewright.published.case import Case
from lobewright.ring.oracles_shell import edge_bending
from lobewright.sources import Flag


@every_row("timoshenko_woinowsky_1959")
def test_row(case: Case) -> None:
    assert_passes(case)
    assert case.flag is Flag.REMEMBERED


def test_the_expected_numbers_follow_from_the_form() -> None:
    form = edge_bending(25.0, 0.005, 206e3, 0.3)
    shear, moment = (case.expected for case in rows_from("timoshenko_woinowsky_1959"))
    assert abs(form.deflection_by_shear - shear) < 1e-6
    assert abs(form.turn_by_moment - moment) < 1e-4
