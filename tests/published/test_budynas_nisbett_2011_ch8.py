"""Budynas and Nisbett, Shigley's Mechanical Engineering Design, 9th ed., 2011, examples 8-6 (p. 454) and 8-7 (pp. 457-458).

Mapping: 8-7, four bolts about their middle are pins on a circle under the moment; the direct force of 16 kN is added by hand.
8-6, "bearing in members, all bolts active" is the pressure on the projected area turned round. Tolerance: half of the last
printed digit. Left out: the shear stress of 8-7 (146 MPa) is taken on the thread's minor area, 144 mm²; checks here take the
stress area.
"""

from __future__ import annotations

from evidence_rows import assert_passes, every_row

from lobewright.published.case import Case


@every_row("budynas_nisbett_2011_ch8")
def test_row(case: Case) -> None:
    assert_passes(case)
