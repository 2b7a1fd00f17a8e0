"""EDF R&D, validation manual V2.03.109 (SDLS109), 2004, sect. 1.4, after Blevins 1979: frequencies of a free ring.

f = n(n² − 1)/(2πR²) · √(EI/(m(n² + 1))) with R 0.369 m, t 0.048 m radially, L 0.05 m, E 185 GPa, ρ 7800 kg/m³. Mapping: the
mode is our cosine cam shape with n lobes at w0/R = 1e-5; its bending stiffness per displacement and the share of radial
movement give the frequency. So the rows judge curvature and both displacements of the shape. Tolerance: printed digits.
Left out: the manual compares shell elements with a solid model in its other tables, which are not closed forms.
"""

from __future__ import annotations

import math

from evidence_rows import assert_passes, every_row, rows_from

from lobewright.published.case import Case


@every_row("edf_v2_03_109")
def test_row(case: Case) -> None:
    assert_passes(case)


def test_the_expected_numbers_follow_from_the_manual_s_formula() -> None:
    mass, stiffness = 7800e-12 * 50 * 48, 185e3 * 50 * 48**3 / 12
    for n, case in zip((2, 3), rows_from("edf_v2_03_109"), strict=True):
        frequency = n * (n * n - 1) / (2 * math.pi * 369.0**2) * math.sqrt(stiffness / (mass * (n * n + 1)))
        assert abs(frequency - case.expected) < 0.005
