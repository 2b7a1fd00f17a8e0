"""The catalogue against rules that its rows must obey, and against figures from outside it."""

from __future__ import annotations

import math
from itertools import pairwise
from pathlib import Path

import pytest

from lobewright import sources
from lobewright.design import catalogue
from lobewright.design.catalogue import Bearing, BeltProfile, Row, ToothForm
from lobewright.errors import CatalogueFault
from lobewright.sources import Flag


def all_rows() -> list[Row]:
    stocks = [
        catalogue.belt_stock(belt.designation) for belt in catalogue.belt_profiles() if belt.designation[0] != "S"
    ]
    tolerances = [catalogue.belt_length_tolerance(length) for length in (254, 381, 508, 762, 990)]
    tables = (catalogue.belt_profiles(), catalogue.bearings(), catalogue.bolts(), catalogue.materials())
    return [*stocks, *tolerances, *(row for table in tables for row in table)]


# --- sources ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("missing", ["author", "title_only_blank", "year", "place"])
def test_a_reading_that_cannot_be_found_again_becomes_remembered(missing: str) -> None:
    table = {"author": "A. Body", "title": "No. 1", "year": 2001, "place": "Table 2", "flag": "read"}
    assert sources.source_from_table("k", table).flag is Flag.READ
    if missing == "title_only_blank":
        with pytest.raises(ValueError, match="no title"):
            sources.source_from_table("k", table | {"title": " "})
        return
    del table[missing]
    assert sources.source_from_table("k", table).flag is Flag.REMEMBERED


def test_a_source_line_tells_all_that_is_known() -> None:
    table = {"author": "A. Body", "title": "No. 1", "year": 2001, "place": "Table 2", "flag": "read_second"}
    found = sources.source_from_table("k", table)
    assert found.line == "A. Body, No. 1, 2001, Table 2 (read second)"
    assert found.at("cl. 9").line.endswith("2001, cl. 9 (read second)")


def test_an_unknown_source_key_is_answered_with_near_ones() -> None:
    with pytest.raises(LookupError, match="iso_4032"):
        sources.source("iso_4023")


def test_a_value_is_never_better_than_its_source() -> None:
    remembered = sources.source("memory")
    second = sources.source("iso_4032")
    assert sources.honest_flag(Flag.READ, remembered) is Flag.REMEMBERED
    assert sources.honest_flag(Flag.READ, second) is Flag.READ_SECOND
    assert sources.honest_flag(Flag.COMMON_PRACTICE, second) is Flag.COMMON_PRACTICE


def test_every_flag_has_a_sentence_for_people() -> None:
    for flag in Flag:
        assert flag.words.endswith(".") and len(flag.words) > 20


def test_every_source_has_text_and_only_whole_ones_claim_a_reading() -> None:
    for one in sources.all_sources():
        assert one.text.strip()
        if one.flag in (Flag.READ, Flag.READ_SECOND):
            assert one.year and one.place and ", " in one.text


def test_no_row_claims_more_than_its_source() -> None:
    for row in all_rows():
        for origin in (row.row_origin, *row.cells.values()):
            assert origin.flag is sources.honest_flag(origin.flag, origin.source)
            assert origin.line


# --- belts --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("belt", catalogue.belt_profiles(), ids=lambda belt: belt.designation)
def test_a_belt_profile_is_a_possible_shape(belt: BeltProfile) -> None:
    assert belt.tooth_height_mm < belt.total_thickness_mm
    assert 0 < belt.cord_offset_mm < belt.total_thickness_mm - belt.tooth_height_mm
    assert belt.back_offset_mm == pytest.approx(
        belt.total_thickness_mm - belt.tooth_height_mm - belt.cord_offset_mm, abs=1e-12
    )
    assert 0.2 < belt.tooth_height_mm / belt.pitch_mm < 0.45
    if belt.form is ToothForm.TRAPEZOID:
        slope = math.tan(math.radians(belt.tooth_angle_deg / 2))
        tip_width = belt.root_width_mm - 2 * belt.tooth_height_mm * slope
        assert 0 < tip_width < belt.root_width_mm < belt.pitch_mm


@pytest.mark.parametrize("belt", catalogue.belt_profiles(), ids=lambda belt: belt.designation)
def test_circles_of_a_round_tooth_touch_each_other_and_leave_a_land(belt: BeltProfile) -> None:
    if belt.form is ToothForm.ARCS:
        centres = math.hypot(belt.flank_offset_mm, belt.tooth_height_mm - belt.tip_radius_mm)
        # four figures, each printed to 0.01 mm: half a step each, weighted by direction, is just over 0.01 mm
        assert centres == pytest.approx(belt.flank_radius_mm - belt.tip_radius_mm, abs=0.01)
        fillet = math.sqrt((belt.flank_radius_mm + belt.root_fillet_mm) ** 2 - belt.root_fillet_mm**2)
        half = fillet - belt.flank_offset_mm
    elif belt.form is ToothForm.CIRCLE:
        centre = belt.tooth_height_mm - math.sqrt(belt.tip_radius_mm**2 - belt.flank_offset_mm**2)
        rise = centre - belt.root_fillet_mm
        half = math.sqrt((belt.tip_radius_mm + belt.root_fillet_mm) ** 2 - rise**2) - belt.flank_offset_mm
    else:
        assert belt.flank_radius_mm is None and belt.flank_offset_mm is None, "a form without arcs holds no arcs"
        return
    assert 0.5 * belt.pitch_mm < 2 * half < 0.95 * belt.pitch_mm


# Two corners of one straight flank of drawn pulley grooves (source pulley_outlines_2012), x from the groove's middle,
# y into the groove, mm.
@pytest.mark.parametrize(
    ("name", "deep", "mouth"),
    [
        ("MXL", (0.416983, 0.424392), (0.540808, 0.083609)),
        ("XL", (0.793044, 1.050219), (1.180042, 0.220133)),
        ("T2.5", (0.528814, 0.620889), (0.726369, 0.079022)),
        ("T10", (1.878718, 2.105025), (2.501018, 0.394759)),
        ("AT5", (1.349199, 0.959203), (1.653646, 0.305859)),
    ],
)
def test_straight_flanks_lie_on_those_of_a_drawn_groove(
    name: str, deep: tuple[float, float], mouth: tuple[float, float]
) -> None:
    belt = catalogue.belt_profile(name)
    slope = (mouth[0] - deep[0]) / (deep[1] - mouth[1])
    assert belt.root_width_mm == pytest.approx(2 * (mouth[0] + mouth[1] * slope), abs=0.02)
    assert belt.tooth_angle_deg == pytest.approx(2 * math.degrees(math.atan(slope)), abs=0.1)


# Points on the round flanks of drawn pulley grooves (same source). A groove is the belt's tooth and a little clearance.
@pytest.mark.parametrize(
    ("name", "points"),
    [
        ("C2M", [(0.578556, 0.238423), (0.547158, 0.343077), (0.504649, 0.443762)]),
        ("C3M", [(0.863705, 0.408181), (0.800056, 0.591388), (0.713587, 0.765004)]),
        ("C5M", [(1.411774, 0.712722), (1.318597, 0.989189), (1.195654, 1.25375)]),
    ],
)
def test_round_flanks_lie_just_inside_a_drawn_groove(name: str, points: list[tuple[float, float]]) -> None:
    belt = catalogue.belt_profile(name)
    for x, y in points:
        clearance = math.hypot(x + belt.flank_offset_mm, y) - belt.flank_radius_mm
        assert 0.004 < clearance < 0.02


# Pitch diameter p·N/π and outer diameter less 2·U, printed to 1e-4 mm in a belt-drive handbook (flag: remembered).
@pytest.mark.parametrize(
    ("name", "teeth", "pitch_diameter", "outer_diameter"),
    [
        ("MXL", 60, 38.8083, 38.3003),
        ("C2M", 100, 63.6620, 63.1540),
        ("H3M", 60, 57.2958, 56.5338),
        ("H5M", 40, 63.6620, 62.5190),
        ("XL", 30, 48.5104, 48.0024),
        ("T5", 40, 63.6620, 62.6620),
    ],
)
def test_pitch_and_cord_offset_give_the_printed_pulley(
    name: str, teeth: int, pitch_diameter: float, outer_diameter: float
) -> None:
    belt = catalogue.belt_profile(name)
    diameter = belt.pitch_mm * teeth / math.pi
    assert diameter == pytest.approx(pitch_diameter, abs=1e-4)
    assert diameter - 2 * belt.cord_offset_mm == pytest.approx(outer_diameter, abs=1e-4)


@pytest.mark.parametrize("name", ["MXL", "XL"])
def test_an_inch_length_code_is_the_pitch_length_in_tenths_of_an_inch(name: str) -> None:
    stock = catalogue.belt_stock(name)
    assert len(stock.codes) == len(stock.teeth)
    for code, teeth in zip(stock.codes, stock.teeth, strict=True):
        assert teeth * catalogue.belt_profile(name).pitch_mm == pytest.approx(code * 2.54, abs=1e-9)


def test_stocked_teeth_ascend_without_repeats() -> None:
    for belt in ("MXL", "XL", "T2.5", "T5", "T10", "AT5", "H3M", "H5M", "H8M", "C2M", "C3M", "C5M"):
        assert all(a < b for a, b in pairwise(catalogue.stocked_teeth(belt)))


def test_a_belt_without_a_stock_list_says_so() -> None:
    with pytest.raises(CatalogueFault, match="no list of stocked belts"):
        catalogue.stocked_teeth("S2M")


def test_length_tolerance_is_the_inch_table_and_ends_where_it_ends() -> None:
    assert catalogue.belt_length_tolerance(200.0).tolerance_mm == pytest.approx(0.016 * 25.4, abs=0.005)
    assert catalogue.belt_length_tolerance(254.1).tolerance_mm == pytest.approx(0.018 * 25.4, abs=0.005)
    assert catalogue.belt_length_tolerance(508.0).tolerance_mm == pytest.approx(0.020 * 25.4, abs=0.005)
    for outside in (0.0, 990.1):
        with pytest.raises(CatalogueFault, match="up to 990 mm"):
            catalogue.belt_length_tolerance(outside)


# --- which belt is this? --------------------------------------------------------------------------------------------


def test_readings_on_the_catalogue_figures_give_that_belt() -> None:
    for belt in catalogue.belt_profiles():
        best = catalogue.nearest_belts(belt.pitch_mm, belt.total_thickness_mm, belt.tooth)[0]
        assert best.distance == pytest.approx(0.0, abs=1e-9)
        assert best.agrees


def test_ten_teeth_tell_the_two_small_pitches_apart() -> None:
    best, second = catalogue.nearest_belts(2.03, 1.2, "trapezoid")[:2]
    assert best.profile.designation == "MXL" and best.agrees and not best.tie
    assert not second.agrees
    assert best.distance == pytest.approx(math.hypot(0.002 / 0.02, 0.06 / 0.15), rel=1e-9)
    assert best.pitch_error_mm == pytest.approx(-0.002) and best.thickness_error_mm == pytest.approx(0.06)


def test_a_tie_names_the_rival_and_what_would_decide() -> None:
    first, second = catalogue.nearest_belts(5.0, 3.8, "round")[:2]
    assert {first.profile.designation, second.profile.designation} == {"H5M", "C5M"}
    assert "C5M fits these readings as well" in (first.tie + second.tie)
    assert "measure the tooth height: 2.08 mm here, 1.93 mm there" in (first.tie + second.tie)
    small = catalogue.nearest_belts(2.0, 1.4, "round")[0]
    assert "trace the tooth outline" in small.tie


def test_a_thickness_that_is_also_in_print_counts() -> None:
    best = catalogue.nearest_belts(2.0, 1.52, "round")[0]
    assert best.profile.designation == "C2M" and best.distance == pytest.approx(0.0, abs=1e-9)


def test_a_belt_of_no_standard_agrees_with_none() -> None:
    matches = catalogue.nearest_belts(4.2, 2.0, "round")
    assert not any(match.agrees for match in matches) and not any(match.tie for match in matches)


@pytest.mark.parametrize(
    ("pitch", "thickness", "tooth"), [(0.0, 1.0, "round"), (math.nan, 1.0, "round"), (2, -1, "round"), (2, 1, "square")]
)
def test_readings_that_make_no_sense_are_refused(pitch: float, thickness: float, tooth: str) -> None:
    with pytest.raises(CatalogueFault, match="allowed: "):
        catalogue.nearest_belts(pitch, thickness, tooth)


# --- bearings -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("row", catalogue.bearings(), ids=lambda row: row.designation)
def test_a_bearing_obeys_the_boundary_plan(row: Bearing) -> None:
    ring = (row.outer_mm - row.bore_mm) / 2
    assert ring > 0.8 and 0.5 < row.width_mm / ring < 2.1
    if row.balls is not None:
        assert row.ball_diameter_mm < ring
        pitch_circle = (row.outer_mm + row.bore_mm) / 2
        assert row.balls * row.ball_diameter_mm < math.pi * pitch_circle
    name = row.designation
    code = {"00": 10, "01": 12, "02": 15, "03": 17}
    if name.isdigit() and len(name) >= 4:
        assert row.bore_mm == code.get(name[-2:], 5 * int(name[-2:]))
    elif name.isdigit():
        assert row.bore_mm == int(name[-1])
    elif "/" in name:
        assert row.bore_mm == int(name.split("/")[1])


def test_outer_diameter_grows_along_the_diameter_series() -> None:
    for series in (
        ("618/8", "619/8", "608", "628"),
        ("61800", "61900", "6000", "6200", "6300"),
        ("61804", "61904", "6004", "6204"),
    ):
        outers = [catalogue.bearing(name).outer_mm for name in series]
        assert all(a < b for a, b in pairwise(outers))


@pytest.mark.parametrize(
    ("written", "row"),
    [
        ("608", "608"),
        ("608-2RS", "608"),
        ("608zz", "608"),
        ("6804", "61804"),
        ("6904-2RS", "61904"),
        ("mr105zz", "MR105"),
    ],
)
def test_bearing_names_as_people_write_them(written: str, row: str) -> None:
    assert catalogue.bearing(written).designation == row


# --- bolts ----------------------------------------------------------------------------------------------------------


def test_bolt_table_is_the_published_one() -> None:
    m3 = catalogue.bolt("m3")
    assert (m3.hole_fine_mm, m3.hole_medium_mm, m3.hole_coarse_mm) == (3.2, 3.4, 3.6)
    assert (m3.nut_height_mm, m3.nut_across_flats_mm) == (2.4, 5.5)
    m8 = catalogue.bolt("M8")
    assert (m8.hole_fine_mm, m8.hole_medium_mm, m8.hole_coarse_mm) == (8.4, 9.0, 10.0)
    assert (m8.nut_height_mm, m8.nut_across_flats_mm) == (6.8, 13.0)
    assert (m8.head_diameter_mm, m8.head_height_mm, m8.key_mm) == (13.0, 8.0, 6.0)


def test_bolt_rows_hang_together() -> None:
    for row in catalogue.bolts():
        assert row.diameter_mm == float(row.size[1:])
        assert row.diameter_mm < row.hole_fine_mm < row.hole_medium_mm < row.hole_coarse_mm
        hexagon = row.nut_across_flats_mm / math.cos(math.pi / 6)
        assert 0.93 * hexagon < row.nut_across_corners_mm < hexagon
        assert row.head_height_mm == row.diameter_mm
        assert row.key_mm < row.head_diameter_mm


# --- materials ------------------------------------------------------------------------------------------------------


def test_material_ranges_are_possible() -> None:
    for row in catalogue.materials():
        for low, high in (row.modulus_mpa, row.strength_mpa, row.z_ratio, row.bending_strain, row.poisson):
            assert 0 < low <= high
        assert row.z_ratio[1] <= 1.0
        assert row.poisson[1] < 0.5
        assert 293 < row.service_k < 500
        assert row.how


def test_no_allowed_bending_stress_comes_near_the_strength() -> None:
    for row in catalogue.materials():
        stress = row.bending_strain[1] * row.modulus_mpa[0]
        assert stress < 0.55 * row.strength_mpa[1], row.name


def test_a_row_s_flag_falls_with_its_source() -> None:
    assert catalogue._origin({"source": "memory", "flag": "read"}).flag is Flag.REMEMBERED
    with pytest.raises(ValueError, match="origin for 'width_mm'"):
        catalogue._split({"source": "memory", "flag": "remembered", "cells": {"width_mm": {}}, "bore_mm": 1.0})


def test_pla_allowance_follows_from_its_stated_rule() -> None:
    pla = catalogue.material("pla_printed")
    assert pla.bending_strain[0] == pytest.approx(0.05 * 53 / 3500, rel=0.1)
    assert pla.bending_strain[1] == pytest.approx(0.10 * 65 / 3700, rel=0.1)


# --- asking ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("ask", "name", "offers"),
    [
        (catalogue.belt_profile, "MLX", "MXL"),
        (catalogue.bearing, "60804", "608"),
        (catalogue.bolt, "M9", "M"),
        (catalogue.material, "petg", "petg_printed"),
        (catalogue.material, "unobtainium", "one of pla_printed"),
    ],
)
def test_a_wrong_name_is_answered_with_near_ones(ask, name: str, offers: str) -> None:
    with pytest.raises(CatalogueFault) as caught:
        ask(name)
    (fault,) = caught.value.faults
    assert name in fault.value and offers in fault.allowed


def test_the_bibliography_page_holds_the_registry_as_it_is() -> None:
    page = (Path(__file__).parents[2] / "docs" / "sources.md").read_text("utf-8")
    assert "| `iso_4032` | International Organization for Standardization, ISO 4032" in sources.bibliography()
    assert sources.bibliography() in page, "put the output of lobewright.sources.bibliography() into docs/sources.md"
