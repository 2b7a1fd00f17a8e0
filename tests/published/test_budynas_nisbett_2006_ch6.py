"""R. G. Budynas, J. K. Nisbett, solutions manual of Mechanical Engineering Design, 2006, problems of chapters 6 and 7.

6-12 to 6-14: bending and torsion of one steel by three criteria (stresses in MPa); 6-15: a finite life; 6-29 and
6-30: cycles left after overloads by Miner's rule; 7-2: surface and size of a shaft. Mapping: 6-14 as a stress course
in which bending and torsion go in step, from course to safety; n_y of 6-13 and 6-14 by the largest von Mises stress of
their courses. Left out: Manson's rule, which gives 12 % more cycles in 6-29.
"""

from __future__ import annotations

from evidence_rows import assert_passes, every_row

from lobewright.published.case import Case


@every_row("budynas_nisbett_2006_ch6")
def test_row(case: Case) -> None:
    assert_passes(case)
