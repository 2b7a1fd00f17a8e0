"""R. G. Budynas, J. K. Nisbett, Mechanical Engineering Design, solutions manual, 2006, problems 11-1 and 11-2.

Mapping: design life over one million turns, a Weibull scatter with x0 0.02, θ − x0 4.439, b 1.483, load times the application
factor already in it. Tolerance: half of the last printed digit.
"""

from __future__ import annotations

from evidence_rows import assert_passes, every_row

from lobewright.published.case import Case


@every_row("budynas_nisbett_2006")
def test_row(case: Case) -> None:
    assert_passes(case)
