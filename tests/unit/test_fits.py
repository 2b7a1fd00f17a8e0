"""Limits of size: the table's ranges, fits, and what each process gets."""

from __future__ import annotations

import pytest

from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.design.base import Printer
from lobewright.design.catalogue_fits import bounds_mm, classes, limits, play, tolerance_class
from lobewright.errors import CatalogueFault
from lobewright.make.bodies import Body, Feature, Part, Slab, exact
from lobewright.make.bought import bearing_part
from lobewright.make.fits import SPREADS, Seat, assumed, hole_fit, locating_fit, seat_fit, seats, shaft_bore_fit, signed
from lobewright.make.outlines import circle
from lobewright.make.placing import Member, Place, Placed

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


@pytest.mark.parametrize(("name", "size_mm"), [("H7", 0.0), ("H7", 121.0), ("s6", 60.0), ("Q3", 10.0), ("H77x", 10.0)])
def test_what_is_not_tabled_is_refused(name: str, size_mm: float) -> None:
    with pytest.raises(CatalogueFault, match="tabled"):
        limits(name, size_mm)


@pytest.mark.parametrize(
    ("housing", "turns", "size_mm", "designation"),
    [
        (True, False, 22.0, "H7"),
        (True, True, 22.0, "N7"),
        (False, True, 30.0, "js6"),
        (False, True, 45.0, "k6"),
        (False, False, 8.0, "h6"),
    ],
)
def test_a_seat_has_the_class_of_its_case_of_load(housing: bool, turns: bool, size_mm: float, designation: str) -> None:
    fit = seat_fit(MACHINED, Seat(size_mm, housing, turns, "608"))
    assert fit.designation == designation and ("turns against" in fit.words) is turns


def _tube(name: str, outer_mm: float, bore_mm: float, member: Member, z_mm: float = 0.0) -> Placed:
    slab = Slab(exact(circle(outer_mm / 2)), (exact(circle(bore_mm / 2), Feature.SEAT),), 0.0, 6.0)
    return Placed(Part(name, name, 1, Body((slab,)), ""), (Place(z_mm=z_mm),), member)


@pytest.mark.parametrize(
    ("member", "housing_member", "shaft_member", "found"),
    [
        (Member.HELD, Member.HELD, Member.OUTPUT, ("H7", "g6")),
        (Member.OUTPUT, Member.OUTPUT, Member.HELD, ("N7", "h6")),
        (Member.GENERATOR, Member.GENERATOR, Member.GENERATOR, ("N7", "h6")),
    ],
)
def test_seats_are_found_where_a_bearing_stands(
    member: Member, housing_member: Member, shaft_member: Member, found: tuple[str, str]
) -> None:
    """A generator's rollers turn round axles that its load does not turn about; the frame's load stands still in the frame."""
    bearing = Placed(bearing_part(catalogue.bearing("608"), 1, "b"), (Place(z_mm=1.0),), member)
    housing, shaft = _tube("housing", 40.0, 22.0, housing_member), _tube("shaft", 8.0, 3.0, shaft_member)
    elsewhere = _tube("elsewhere", 40.0, 22.0, Member.HELD, z_mm=50.0)
    rows = seats((housing, bearing, shaft, elsewhere))
    assert tuple(rows[name][0].designation for name in ("housing", "shaft")) == found
    assert set(rows) == {"housing", "shaft"}


def test_a_machined_seat_has_a_class_and_a_printed_one_its_own_spread() -> None:
    assert locating_fit(MACHINED, 22.0).text == "H7 (+0.021 / 0)"
    assert locating_fit(MACHINED, 10.0, inside=False).text == "h6 (0 / −0.009)"
    assert shaft_bore_fit(MACHINED, 8.0).designation == "H7"
    assert hole_fit(MACHINED, 3.4) is None
    printed = seat_fit(PRINTED, Seat(22.0, True, False, "608"))
    assert printed.designation == "" and printed.upper_mm == pytest.approx(1.645 * 0.05)
    assert hole_fit(PRINTED, 3.4) is not None
    assert "assumed" in printed.words and all(assumed(PRINTED, name) for name in SPREADS.values())
    known = PRINTED.model_copy(update={"seat_allowance_uncertainty_mm": 0.02})
    assert "as calibrated" in seat_fit(known, Seat(22.0, True, False, "608")).words
    assert signed(-0.0045) == "−0.0045"
