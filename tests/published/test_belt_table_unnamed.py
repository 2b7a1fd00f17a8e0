"""A public belt-drive table without a named author (so it counts as remembered): 18 lbf for an inch of belt of 0.080 in pitch.

Mapping: allowed tension of that width. The catalogue's own figure comes from a standard's ratings; the two differ by 0.7, too far
apart for a row of evidence. What is checked is that the band given with every allowed tension holds both. Left out: its lengths
and heights, checked elsewhere.
"""

from __future__ import annotations

from lobewright.strength.belt_life import TENSION_SPREAD, allowed_tension_n
from lobewright.units import INCH_MM, POUND_FORCE_N


def test_the_stated_band_holds_the_second_table() -> None:
    apart = 18.0 * POUND_FORCE_N / allowed_tension_n("MXL", INCH_MM)
    assert 1 / TENSION_SPREAD < apart < TENSION_SPREAD
