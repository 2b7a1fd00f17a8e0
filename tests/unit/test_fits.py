"""Limits of size: the table's ranges, fits, and what each process gets."""

from __future__ import annotations

import pytest

from lobewright.design import model as m
from lobewright.design.base import Printer
from lobewright.design.catalogue_fits import bounds_mm, classes, limits, play, tolerance_class
from lobewright.errors import CatalogueFault
from lobewright.make.fits import hole_fit, seat_fit, shaft_bore_fit, signed

MACHINED = m.Machined(kind="machined", tolerance_mm=0.01)
PRINTED = Printer(kind="printer", nozzle_mm=0.4, extrusion_width_mm=0.42, layer_mm=0.2, bed_mm=(200.0, 200.0, 200.0))


@pytest.mark.parametrize(
    ("size_mm", "least_um", "most_um"), [(5, 4, 24), (8, 5, 29), (12, 6, 35), (25, 7, 41), (50, 9, 50)]
)
def test_play_of_a_sliding_fit(size_mm: float, least_um: float, most_um: float) -> None:
    least, most = play("H7", "g6", size_mm)
    assert (1e3 * least, 1e3 * most) == pytest.approx((least_um, most_um))


def test_interference_of_a_press_fit() -> None:
    least, most = play("H7", "p6", 22.0)
    assert (1e3 * least, 1e3 * most) == pytest.approx((-35, -1))


def test_a_bound_belongs_to_the_range_below() -> None:
    assert limits("H7", 30.0) == (0.021, 0.0)
    assert limits("H7", 30.001) == (0.025, 0.0)


@pytest.mark.parametrize("name", classes())
def test_rows_widen_with_size_and_h_touches_the_nominal(name: str) -> None:
    pairs = tolerance_class(name).deviations_mm
    widths = [round(up - low, 6) for up, low in pairs]
    assert widths == sorted(widths) and min(widths) > 0
    if name[0] in "Hh":
        assert all((low if name[0] == "H" else up) == 0 for up, low in pairs)


def test_grades_of_one_number_are_as_wide_for_holes_and_shafts() -> None:
    for size in (4.0, 8.0, 15.0, 25.0, 40.0, 70.0, 100.0):
        widths = {grade: {} for grade in "67"}
        for name in classes():
            if size <= bounds_mm()[len(tolerance_class(name).deviations_mm)]:
                up, low = limits(name, size)
                widths[name[-1]][name] = round(1e3 * (up - low), 3)
        for found in widths.values():
            assert len(set(found.values())) == 1, (size, found)


@pytest.mark.parametrize(("name", "size_mm"), [("H7", 3.0), ("H7", 121.0), ("s6", 60.0), ("Q3", 10.0), ("H77x", 10.0)])
def test_what_is_not_tabled_is_refused(name: str, size_mm: float) -> None:
    with pytest.raises(CatalogueFault, match="tabled"):
        limits(name, size_mm)


def test_a_machined_seat_has_a_class_and_a_printed_one_its_own_spread() -> None:
    assert seat_fit(MACHINED, 22.0).text == "H7 (+0.021 / 0)"
    assert shaft_bore_fit(MACHINED, 8.0).designation == "H7"
    assert hole_fit(MACHINED, 3.4) is None
    printed = seat_fit(PRINTED, 22.0)
    assert printed.designation == "" and printed.upper_mm == pytest.approx(1.645 * 0.05)
    assert hole_fit(PRINTED, 3.4) is not None
    assert signed(-0.0045) == "−0.0045"
