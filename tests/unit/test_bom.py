"""The parts list: counts, masses and times from the parts placed, and what of it lies in the drawer."""

from __future__ import annotations

import csv
import io
import json
import math
from dataclasses import replace
from typing import Any

import pytest

from lobewright.assessment.results import Assessment
from lobewright.assessment.run import assess
from lobewright.design import catalogue
from lobewright.design.files import design_from_data
from lobewright.design.starters import starter_data
from lobewright.design.workshop import Workshop
from lobewright.make.assembling import plain_placed
from lobewright.make.bodies import Body, Group, Part, Slab, exact
from lobewright.make.bom import HEADS, SOLID_WORDS, THIN_WORDS, bom_rows, bom_text, shown, total, usual_substitute
from lobewright.make.bom_html import bom_html
from lobewright.make.bought import bearing_part, nut_part, screw_part
from lobewright.make.drawer import needs
from lobewright.make.outlines import circle
from lobewright.make.placing import Member, Place, Placed
from lobewright.make.substitutes import substitutes

M5 = catalogue.bolt("M5")


@pytest.fixture(scope="module")
def belt() -> Assessment:
    return assess(design_from_data(starter_data("belt-paired_rollers")))


def with_drawer(a: Assessment, **rows: Any) -> Assessment:
    drawer = Workshop.model_validate_json(json.dumps({"schema_version": 1, "name": "invented", **rows}))
    return replace(a, design=a.design.model_copy(update={"owned": drawer}))


def put(part: Part, count: int, step: int = 0) -> Placed:
    return Placed(part, (Place(),) * count, Member.HELD, step)


def plate(words: str, material: str) -> Part:
    return Part(words, words, 1, Body((Slab(exact(circle(10.0)), (), 0.0, 5.0),)), material)


def some(bearing: str) -> tuple[Placed, ...]:
    one = catalogue.bearing(bearing)
    return (
        put(bearing_part(one, 4, "roller", "roller"), 4),
        put(bearing_part(one, 2, "input_bearing", "bearing of the axle"), 2),
        put(screw_part(M5, 25.0, 6, "axle_screw", "axle screw"), 6),
        put(screw_part(M5, 20.0, 4, "foot_screw", "screw of a foot"), 4),
        put(nut_part(M5, 6, "axle_nut"), 6),
        put(plate("plate", "petg_printed"), 3),
        put(plate("steel plate", "steel_40CrNiMoA"), 1),
        put(plate("free plate", ""), 1),
    )


def test_counts_masses_and_times_come_from_the_parts(belt: Assessment) -> None:
    rows = {row.item: row for row in bom_rows(belt, some("608"))}
    volume_mm3 = math.pi * 10.0**2 * 5.0
    one, process = rows["plate"], belt.design.process
    assert one.how == THIN_WORDS and one.designation == "PETG"
    # A disc of 5 mm: three walls to its rim; inside, 4 layers below and 4 above are closed, a fifth fills what lies between.
    inner = math.pi * (10.0 - 3 * process.extrusion_width_mm) ** 2
    laid_mm3 = volume_mm3 - 0.8 * inner * (5.0 - 2 * 4 * process.layer_mm)
    density = catalogue.material("petg_printed").density_kg_m3
    assert one.quantity == 3 and one.mass_g == pytest.approx(3 * laid_mm3 * density * 1e-6, rel=0.01)
    bead = process.extrusion_width_mm * process.layer_mm
    walls = volume_mm3 - 5.0 * inner
    # Beads of 20 and 41 mm/s, a second each layer.
    seconds = 3 * (walls / bead / 20.0 + (laid_mm3 - walls) / bead / 41.0 + 5.0 / process.layer_mm)
    assert one.minutes == pytest.approx(seconds / 60, rel=0.02)
    assert rows["steel plate"].minutes is None and rows["steel plate"].mass_g > one.mass_g
    assert rows["free plate"].mass_g is None
    # Bearings of both uses stand in one row.
    assert rows["roller, bearing of the axle"].quantity == 6
    assert rows["closed timing belt"].quantity == 1


def test_what_bears_the_load_is_solid_and_what_may_be_skipped_is_told_apart(belt: Assessment) -> None:
    ring = replace(plate("ring", "petg_printed"), group=Group.RIGID_RING)
    arm = replace(plate("arm", "petg_printed"), may_skip=True)
    rows = bom_rows(belt, (put(ring, 1, 2), put(arm, 2, 1), put(replace(nut_part(M5, 1, "arm_nut"), may_skip=True), 2)))
    found = {row.item: row for row in rows}
    density = catalogue.material("petg_printed").density_kg_m3
    assert found["ring"].how == SOLID_WORDS
    assert found["ring"].mass_g == pytest.approx(math.pi * 10.0**2 * 5.0 * density * 1e-6, rel=2e-3)
    assert found["arm"].note == found["nut"].note == "may be skipped"
    assert total(rows, with_skipped=False).minutes == found["ring"].minutes < total(rows).minutes
    # Numbers follow the work, not the list that is given: nuts of step 0 first.
    assert [found[name].number for name in ("nut", "arm", "ring")] == [1, 2, 3]


def test_nothing_else_is_offered_for_what_is_sunk_or_may_not_stand_out(belt: Assessment) -> None:
    a = with_drawer(belt, bolts=[{"size": "M5", "length_mm": 25.0, "count": 9}])
    flush = replace(screw_part(M5, 20.0, 2, "flush", "flush screw"), no_longer=True, note="cut to 20 mm from M5×25")
    trapped = replace(nut_part(M5, 2, "trapped", "trapped nut"), sunk=True)
    found = {need.designation: need for need in needs(a, (put(flush, 2), put(trapped, 2)))}
    screw, nut = found["ISO 4762 M5×20"], found["ISO 4032 M5"]
    assert screw.words == "" and screw.note == "cut to 20 mm from M5×25"
    assert usual_substitute(nut) == ""
    (both,) = [
        n for n in needs(a, (put(trapped, 2), put(nut_part(M5, 1, "free", "free nut"), 1))) if "4032" in n.designation
    ]
    assert both.need == 3 and usual_substitute(both) == "self-locking, ISO 7040; not for trapped nut (sunk)"
    assert usual_substitute(screw) == "hexagon head, ISO 4017"


def test_a_screw_that_few_shops_have_may_be_a_rod(belt: Assessment) -> None:
    def other(size: str, length: float) -> str:
        screw = screw_part(catalogue.bolt(size), length, 1, "long", "long screw")
        return next(usual_substitute(need) for need in needs(belt, (put(screw, 1),)) if "4762" in need.designation)

    assert all("threaded rod and two nuts" in other(*one) for one in (("M3", 55.0), ("M4", 55.0), ("M5", 90.0)))
    assert all("rod" not in other(*one) for one in (("M3", 16.0), ("M4", 35.0), ("M5", 35.0), ("M6", 55.0)))


def test_joints_and_pieces_of_what_is_larger_than_the_bed_are_listed(belt: Assessment) -> None:
    whole = plate("plate", "petg_printed")
    pieces = {"plate": [replace(whole, name=f"plate_{k}of2") for k in (1, 2)]}
    joints = [("ISO 4032 M5", "nut of a joint", 4), ("ISO 8734 3×12", "dowel of a joint", 8)]
    rows = bom_rows(belt, (put(whole, 1), put(nut_part(M5, 1, "n"), 2)), (), pieces, joints)
    found = {row.designation: row for row in rows}
    assert found["PETG"].files == ("parts/print/plate_1of2_print", "parts/print/plate_2of2_print")
    assert (found["ISO 4032 M5"].quantity, found["ISO 4032 M5"].item) == (6, "nut, nut of a joint")
    assert (found["ISO 8734 3×12"].quantity, found["ISO 8734 3×12"].number) == (8, None)


def test_small_numbers_are_not_shown_as_nothing() -> None:
    assert [shown(value, 1) for value in (None, 0.02, 0.06, 12.34)] == ["", "<0.1", "0.1", "12.3"]


def test_what_fits_exactly_is_used_before_what_is_longer(belt: Assessment) -> None:
    a = with_drawer(
        belt,
        bearings=[{"designation": "608ZZ", "count": 5}],
        bolts=[
            {"size": "M5", "length_mm": 25.0, "count": 8},
            {"size": "M5", "length_mm": 20.0, "count": 1},
            {"size": "M5", "length_mm": 50.0, "count": 9},
        ],
    )
    found = {need.designation: need for need in needs(a, some("608"))}
    assert found["608"].words == "you own 5 of 6"
    # Eight of 25: six are asked for as such, two serve in place of 20; those of 50 stand out too far.
    assert found["ISO 4762 M5×25"].words == "you own this"
    assert found["ISO 4762 M5×20"].words == "you own 3 of 4 (2 as M5×25)"
    assert found["ISO 4032 M5"].words == ""


def test_a_belt_is_asked_for_once_whether_placed_or_not(belt: Assessment) -> None:
    ring = belt.design.flexible_ring
    stands = Part("belt", "belt", 1, Body(()), "", group=Group.FLEXIBLE_RING, designation="some belt")
    owned = {"designation": ring.designation, "teeth": ring.teeth, "width_mm": ring.width_mm}
    for placed in ((), (put(stands, 1),)):
        found = needs(with_drawer(belt, belts=[owned]), placed)
        assert [need.item for need in found] == ["closed timing belt"] and found[0].words == "you own this"
    short = needs(with_drawer(belt, belts=[{**owned, "teeth": ring.teeth - 10}]), ())
    assert short[0].words == ""


def test_the_table_is_read_back_whole(belt: Assessment) -> None:
    rows = bom_rows(belt, some("608"))
    read = list(csv.DictReader(io.StringIO(bom_text(rows))))
    assert [row["item"] for row in read] == [row.item for row in rows]
    assert tuple(read[0]) == HEADS


def test_the_page_asks_for_nothing_and_tells_the_drawer(belt: Assessment) -> None:
    a = with_drawer(
        belt,
        bearings=[{"designation": "608", "count": 40}],
        motors=[{"name": "<b>stepper", "holding_torque_Nm": 0.4, "shaft_mm": 5.0}],
    )
    found = substitutes(a)
    page = bom_html(a, bom_rows(a, plain_placed(a), found), found, not_assembled="a reason")
    assert "default-src 'none'" in page and "<script" not in page and "src=" not in page
    assert "From the drawer instead" in page and "a reason" in page
    assert "&lt;b&gt;stepper" in page and "<b>stepper" not in page
    assert "take 608 (you own 40)" in page and "PETG: glycol-modified polyester" in page
    most = 0.4 * abs(float(a.motion.ratio))
    assert f"holds {most:.3g} N·m" in page
