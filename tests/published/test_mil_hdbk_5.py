"""Remembered: MIL-HDBK-5, equivalent stress curves of unnotched AISI 4340 bar, in ksi; to be read before it is relied on.

Mapping: push and pull at ratio −1, Seq = S (1 − R)^c; against 0.85 of the curve estimated from the strength. The row takes the
bar of 125 ksi; the one of 200 ksi lies 14 % below the estimate, inside its band.
"""

from __future__ import annotations

from evidence_rows import assert_passes, every_row

from lobewright.published.case import Case
from lobewright.published.material_cases import AXIAL, KSI_MPA, STEEL, _curve, _strong
from lobewright.published.model import REAL


@every_row("mil_hdbk_5")
def test_row(case: Case) -> None:
    assert_passes(case)


def test_the_harder_bar_lies_in_the_band() -> None:
    amplitude = (10.0 ** ((9.31 - 6.0) / 2.73) + 93.4) / 2.0**0.59 * KSI_MPA
    curve, _ = _curve(REAL, STEEL, _strong(STEEL, 200.0 * KSI_MPA))
    estimate = AXIAL * float(curve.amplitude_mpa[-1])
    assert estimate / curve.spread < amplitude < estimate
