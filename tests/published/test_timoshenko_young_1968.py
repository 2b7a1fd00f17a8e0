"""Timoshenko and Young, Elements of Strength of Materials, 5th ed., 1968, sect. 79, as re-told on a verification page.

Ring of radius 100 mm, 10 mm wide, 5 mm thick radially, E 200 GPa, squeezed by two opposite forces of 10 N; each loaded point
moves 3.57e-5 m. Sign: we pull outward, the source squeezes; the first-order number is the same. Tolerance: half of the last
printed digit. Left out: the page prints 4/π − π/4 for the other diameter, where 2/π − 1/2 is right.
"""

from __future__ import annotations

from evidence_rows import assert_passes, every_row, rows_from

from lobewright.published.case import Case
from lobewright.ring.oracles import two_loads_diameter_change


@every_row("timoshenko_young_1968")
def test_row(case: Case) -> None:
    assert_passes(case)


def test_the_expected_number_follows_from_the_closed_form() -> None:
    loaded, _ = two_loads_diameter_change(10.0, 100.0, 200e3 * 10 * 5**3 / 12)
    assert abs(loaded / 2 - rows_from("timoshenko_young_1968")[0].expected) < 5e-5
