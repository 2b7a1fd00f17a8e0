"""What a machinist needs of cut parts: fits of what centres, hexagons that a cutter can make, a true axle, play that is told."""

from __future__ import annotations

import math
import re
from functools import cache
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

import lobewright
from lobewright.assessment.results import Assessment
from lobewright.design import catalogue
from lobewright.make.assembling import assembled
from lobewright.make.bodies import Feature, Loop, Slab, exact
from lobewright.make.bought import hexagon
from lobewright.make.corner_relief import relieved
from lobewright.make.drawing import SheetPage, drawing_pages, drawn_parts
from lobewright.make.drawing_calls import size_text
from lobewright.make.drawing_sizes import Kind, shape
from lobewright.make.layout import layout
from lobewright.make.placing import Placed
from lobewright.make.registering import length_between_mm
from lobewright.picture.svg import svg

EXAMPLES = Path(__file__).parents[2] / "examples"


@cache
def example(name: str) -> Assessment:
    return lobewright.assess(lobewright.read(EXAMPLES / f"{name}.toml"))


@cache
def placed(name: str) -> tuple[Placed, ...]:
    return assembled(example(name))


def named(name: str, part: str) -> Placed:
    return next(one for one in placed(name) if one.part.name == part)


def slabs(one: Placed) -> list[Slab]:
    return [piece for piece in (*one.part.body.pieces, *one.part.body.pockets) if isinstance(piece, Slab)]


@cache
def pages(name: str) -> tuple[SheetPage, ...]:
    return drawing_pages(example(name), placed(name), "2026-03-01T10:00:00")


def said(name: str, part: str) -> str:
    page = next(one for one in pages(name) if one.name == part)
    return re.sub(r"\s+", " ", re.sub("<[^>]*>", " ", svg(page.picture, 1000.0)))


@pytest.mark.parametrize("flats_mm", [5.7, 8.2, 17.38])
def test_a_cutter_gets_into_every_corner_and_the_hexagon_still_goes_in(flats_mm: float) -> None:
    sharp = exact(hexagon(flats_mm, 3.0, 4.0, 0.2), Feature.NUT)
    cleared = relieved(sharp)
    found = shape(cleared)
    assert found.kind is Kind.HEXAGON and found.size_mm == pytest.approx(flats_mm)
    area, whole = cleared.contour.polygon(1e-4), sharp.contour.polygon()
    assert area.buffer(1e-3).contains(whole)
    # Opening by a disc of the cutter's radius leaves it as it is: no inside corner is sharper.
    radius = found.dip_radius_mm - 0.01
    opened = area.buffer(-radius, quad_segs=64).buffer(radius, quad_segs=64)
    assert area.difference(opened).area < 1e-3 * area.area
    assert whole.difference(whole.buffer(-radius).buffer(radius)).area > 3e-3 * whole.area
    # Half of every flat bears at least.
    assert flats_mm / math.sqrt(3) - 2 * found.dip_radius_mm > 0.45 * flats_mm / math.sqrt(3)


def inside_hexagons(name: str) -> list[Loop]:
    found: list[Loop] = []
    for one in placed(name):
        if not one.part.designation:
            found += [hole for slab in slabs(one) for hole in slab.holes]
            found += [pocket.outer for pocket in one.part.body.pockets]
    return [loop for loop in found if shape(loop).kind is Kind.HEXAGON]


def test_only_what_is_cut_has_cleared_corners() -> None:
    cut, printed = inside_hexagons("focus_steel"), inside_hexagons("elevation_printed")
    assert cut and all(shape(loop).dip_radius_mm > 0 for loop in cut)
    assert printed and all(shape(loop).dip_radius_mm == 0 for loop in printed)


@pytest.mark.parametrize(
    ("name", "least_mm", "most_mm"), [("focus_steel", 0.02, 0.05), ("elevation_printed", 0.1, 0.3)]
)
def test_the_flange_goes_on_the_hub_with_play(name: str, least_mm: float, most_mm: float) -> None:
    hexagons = [s for s in named(name, "output_hub").part.body.pieces if isinstance(s, Slab)]
    hub = next(s for s in hexagons if shape(s.outer).kind is Kind.HEXAGON)
    flange = [h for s in slabs(named(name, "output_flange")) for h in s.holes if shape(h).kind is Kind.HEXAGON]
    play = (shape(flange[0]).size_mm - shape(hub.outer).size_mm) / 2
    assert least_mm - 1e-9 <= play <= most_mm
    assert "of play on each flat" in named(name, "output_flange").part.note


def test_a_cut_cup_is_centred_by_spigots_with_fits() -> None:
    bore = example("focus_steel").design.flexible_ring.bore_mm  # type: ignore[union-attr]
    plate, hub = said("focus_steel", "output_plate"), said("focus_steel", "output_hub")
    assert f"ø{bore:g} h6" in plate and "ø14 H7" in plate
    assert "ø14 h6" in hub and "ø20 g6" in hub and "js6" not in hub
    # The hub's spigot ends in the plate's recess, short of its floor.
    at_hub, at_plate = (named("focus_steel", part).places[0].z_mm for part in ("output_hub", "output_plate"))
    plate_slabs = slabs(named("focus_steel", "output_plate"))
    floor = min(s.bottom_mm for s in plate_slabs if any(shape(hole).size_mm == 14.0 for hole in s.holes))
    assert 0.1 < at_hub - (at_plate + floor) < 0.5


def test_a_printed_cups_hub_stands_on_blind_dowels() -> None:
    dowel = named("elevation_printed", "hub_dowel")
    length = float(dowel.part.designation.split("×")[1])
    low = dowel.places[0].z_mm
    depths = []
    for name in ("output_plate", "output_hub"):
        one = named("elevation_printed", name)
        z = one.places[0].z_mm
        spots = [s for s in one.part.body.pockets if shape(s.outer).size_mm == 3.0]
        assert len(spots) == 2 and spots[0].outer.feature is Feature.SEAT
        depths.append((z + spots[0].bottom_mm, z + spots[0].top_mm))
    assert depths[0][1] == pytest.approx(depths[1][0])
    assert low >= depths[0][0] - 1e-9 and low + length <= depths[1][1] + 1e-9
    assert length - max(high - bottom for bottom, high in depths) >= 2.0


def test_a_dowel_through_plates_fills_its_holes_or_is_cut_from_rod() -> None:
    for between in np.arange(8.0, 40.0, 0.3):
        short = 5.0 + 6.0 + between - length_between_mm(5.0, 6.0, float(between))
        assert 0.0 <= short <= 0.75


def test_the_cut_axle_is_ground_and_its_threads_leave_the_seats_plain() -> None:
    axle, l = named("focus_steel", "axle"), layout(example("focus_steel"))  # noqa: E741
    rear, front, long = (float(one) for one in re.findall(r"(\d+) mm", axle.part.designation))
    low = axle.places[0].z_mm
    assert "ø8 h6" in axle.part.designation and "threaded rod" not in axle.part.designation
    seats = [
        z for one in placed("focus_steel") if one.part.name == "axle_bearing" for z in (p.z_mm for p in one.places)
    ]
    assert low + rear < min(seats)
    assert low + long - front >= l.generator_top_mm - 0.6
    # All nuts stand on the threads, and what they clamp has no gap.
    nut = catalogue.bolt("M8").nut_height_mm
    for one in placed("focus_steel"):
        if one.part.name in ("axle_clamp_nut", "generator_nut", "crank_axle_nut"):
            for place in one.places:
                assert place.z_mm + nut <= low + rear or place.z_mm >= low + long - front
    ends = []
    for name in ("axle_front_collar", "generator_bed"):
        one = named("focus_steel", name)
        z = one.places[0].z_mm
        ends.append((z, z + max(s.top_mm for s in slabs(one))))
    ends.append((l.generator_bottom_mm, l.generator_top_mm))
    assert all(a[1] == pytest.approx(b[0]) for a, b in pairwise(ends))
    rod = named("azimuth_belt", "axle").part
    assert "threaded rod" in rod.designation and "runs truer" in rod.note


def test_a_sheet_counts_all_of_a_part() -> None:
    counts = {part.name: part.quantity for part in drawn_parts(placed("focus_steel"))}
    assert counts["foot"] == 4 and counts["upper_distance_tube"] == 2


def test_sheets_of_cut_forms_name_file_limits_and_true_position() -> None:
    ring, cam, cup = (said("focus_steel", name) for name in ("ring_housing", "cam", "flexible_cup"))
    assert "ring_housing.dxf" in ring and "position within 0.015 mm" in ring
    assert "cam.dxf" in cam and "±0.01 mm a side" in cam and "±0.02 mm" in cam
    assert "980 to 1150 MPa" in cup and "run-out within" in cup and "as agreed with the shop;" not in cup
    assert "(0 / −0.05)" in said("focus_steel", "rear_plate")
    assert "of your choice" not in ring + cam + said("focus_steel", "rear_plate")


def test_words_of_printers_stand_on_no_cut_part() -> None:
    for one in placed("focus_steel"):
        assert not re.search(r"\bprint|drill of its size", one.part.note), one.part.name


def test_a_size_chosen_in_hundredths_keeps_them() -> None:
    assert [size_text(one) for one in (25.85, 105.8931, 30.0, 24.1)] == ["25.85", "105.9", "30", "24.1"]


def test_the_thin_bearing_is_told_so_that_it_can_be_sought() -> None:
    part = named("focus_steel", "thin_bearing").part
    assert "68.30×78.30×10 mm" in part.designation and "25 balls ø2.381 mm" in part.designation
    assert "no stock part" in part.note
