"""J. A. Bannantine, J. J. Comer, J. L. Handrock, Fundamentals of Metal Fatigue Analysis, 1990, problems 4.1 and 5.3.

Numbers as a course's solution sheets print them; the sheets do not name their book, problem numbers and equations fit
this one. 4.1: notch sensitivity of holes after Peterson, radius in inch, strength in kpsi. 5.3: Miner's rule on a
line from 90 kpsi at 10³ to 50 kpsi at 10⁶ cycles. Left out of 4.1: cases (c) and (e), the same law again, and K_f of
case (b), where Neuber's rule is the larger one and counts.
"""

from __future__ import annotations

from evidence_rows import assert_passes, every_row, rows_from

from lobewright.published.case import Case


@every_row("bannantine_1990")
def test_row(case: Case) -> None:
    assert_passes(case)


def test_the_law_in_inch_and_kpsi_gives_the_same() -> None:
    expected = {case.key: case.expected for case in rows_from("bannantine_1990")}
    for key, radius, ultimate in (("hole", 0.025, 50.0), ("small_hole", 0.0025, 100.0)):
        q = 1.0 / (1.0 + 1e-3 * (300.0 / ultimate) ** 1.8 / radius)
        assert abs(q - expected[f"fatigue.{key}_sensitivity"]) < 0.005
