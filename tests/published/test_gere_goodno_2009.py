"""Gere and Goodno, Mechanics of Materials, 7th ed., 2009, worked solutions, problems 5.4-1, 5.5-2, 5.5-3 and
5.7-3.

Strips bent to circles: strain = distance from the neutral line × change of curvature. Mapping: a straight strip is a ring of
endless radius; the neutral line of a wire on a drum lies half its diameter outside the drum. 5.7-3: a tapered cantilever is
a tooth whose load acts above its tip (a force with a couple). Tolerance: printed digits (the
solutions round to three figures). Left out: 5.4-2 (shortest length for a strain) is the same relation solved for the length;
older editions print 5.5-2 and 5.5-3 with other sizes.
"""

from __future__ import annotations

import math

import pytest
from evidence_rows import assert_passes, every_row, rows_from

from lobewright.published.case import Case


@every_row("gere_goodno_2009")
def test_row(case: Case) -> None:
    assert_passes(case)


def test_the_expected_numbers_follow_from_the_book_s_formulas() -> None:
    expected = {case.key: case.expected for case in rows_from("gere_goodno_2009")}
    assert abs(1e6 * (1 / 16) / (2 * 24 + 1 / 16) - expected["ring.bent_wire_strain"]) < 0.5
    assert abs(200e3 * 1.25 / (2 * 500 + 1.25) - expected["ring.bent_wire_stress"]) < 0.5
    assert abs(30e3 * 0.175 * math.radians(40) / (2 * 48) - expected["ring.bent_rule_stress"]) < 0.05
    # 5.7-3: σ(x) = 120000·(16 + x)/(40 + x)², largest where 40 + x = 2·(16 + x)
    assert 120_000 * (16 + expected["parts.tapered_place"]) / (
        40 + expected["parts.tapered_place"]
    ) ** 2 == pytest.approx(expected["parts.tapered_stress"])
