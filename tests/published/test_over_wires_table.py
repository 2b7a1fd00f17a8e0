"""Handbook table of sizes over wires of 1.728/P, external spur gears of 20°, unit diametral pitch, from memory.

Mapping and tolerance as for the examples; odd and even counts. Left out: six teeth (the wire touches below the base circle,
where the table goes on with an involute that is not there).
"""

from __future__ import annotations

import math

import pytest
from evidence_rows import assert_passes, every_row

from lobewright.mesh.over_pins import pin_seat
from lobewright.published.case import Case
from lobewright.published.over_pin_cases import involute_space_mm


@every_row("over_wires_table")
def test_row(case: Case) -> None:
    assert_passes(case)


def _by_formula(teeth: int, pin_mm: float, internal: bool) -> float:
    """inv φ_m = ± d/(z m cos α) ∓ π/(2z) + inv α, solved by halving; then the size."""
    base = teeth * math.cos(math.radians(20))
    involute = math.tan(math.radians(20)) - math.radians(20)
    wanted = pin_mm / base - math.pi / (2 * teeth)
    wanted = involute - wanted if internal else involute + wanted
    low, high = 0.0, 1.4
    for _ in range(80):
        middle = (low + high) / 2
        low, high = (middle, high) if math.tan(middle) - middle < wanted else (low, middle)
    across = base / math.cos(low) * (1.0 if teeth % 2 == 0 else math.cos(math.pi / (2 * teeth)))
    return across - pin_mm if internal else across + pin_mm


@pytest.mark.parametrize(("teeth", "pin_mm", "internal"), [(21, 1.728, False), (60, 1.7, False), (81, 1.7, True)])
def test_places_between_the_rows_follow_the_formula(teeth: int, pin_mm: float, internal: bool) -> None:
    found = pin_seat(involute_space_mm(teeth, internal), teeth, pin_mm, internal).size_mm
    assert found == pytest.approx(_by_formula(teeth, pin_mm, internal), abs=2e-6)
