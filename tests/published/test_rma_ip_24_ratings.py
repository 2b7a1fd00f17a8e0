"""ANSI/RMA IP-24: ratings of inch belts (at second hand; its year from memory).

MXL: torque Q = d (c − …), c = 1.13, 1.88, 2.63 lbf·in an inch of pitch diameter at 1/8, 3/16, 1/4 in; XL, 3/8 in wide:
power d n/1000 (0.0916 − …) hp. Mapping: allowed tension at low speed = 2 c, and power over the belt's speed; six or more
teeth in mesh. Left out: the second terms (centrifugal force of the running belt), factors for fewer teeth in mesh, and L to
XXH, which the catalogue does not hold. The exponent of the width is remembered of ISO 5295, not taken from these figures.
"""

from __future__ import annotations

import math

import pytest
from evidence_rows import assert_passes, every_row

from lobewright.published.case import Case


@every_row("rma_ip_24_ratings")
def test_row(case: Case) -> None:
    assert_passes(case)


def test_the_ratings_of_three_widths_ask_for_about_the_remembered_exponent() -> None:
    # quarter against eighth of an inch, as printed and as the codes mean them
    printed, meant = (math.log(2.63 / 1.13) / math.log(0.25 / width) for width in (0.12, 0.125))
    assert printed == pytest.approx(1.15, abs=0.01)
    assert meant == pytest.approx(1.22, abs=0.01)
