"""T. J. Dolan, E. L. Broghamer, A Photoelastic Study of the Stresses in Gear Tooth Fillets, Univ. of Illinois Eng. Exp. Station,
Bulletin 335, 1942: fillet factors by t/r and t/h for pressure angles of 14.5 and 20 degrees (remembered).

Mapping: straight-sided teeth far apart on a thick wall, the flank force at three quarters of the height; t and h at the section
where a tooth as a beam has its largest tension. Tolerance: the formulas fit photoelastic readings. Left out: fillets sharper
than t/r = 3.3, where finite elements lie 6 to 20 % above the formulas (also found by others than us, remembered).
"""

from __future__ import annotations

from evidence_rows import assert_passes, every_row

from lobewright.published.case import Case


@every_row("dolan_broghamer_1942")
def test_row(case: Case) -> None:
    assert_passes(case)
