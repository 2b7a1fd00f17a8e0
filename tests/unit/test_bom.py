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
from lobewright.make.bodies import Body, Group, Part, Slab, exact
from lobewright.make.bom import HEADS, bom_rows, bom_text, loose_parts
from lobewright.make.bom_html import bom_html, drawer_rows
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
    one = rows["printed: plate"]
    density = catalogue.material("petg_printed").density_kg_m3
    assert one.quantity == 3 and one.mass_g == pytest.approx(3 * volume_mm3 * density * 1e-6, rel=1e-3)
    process = belt.design.process
    # Width and height of the bead at 30 mm/s.
    seconds = 3 * volume_mm3 / (process.extrusion_width_mm * process.layer_mm * 30.0)
    assert one.minutes == pytest.approx(seconds / 60, rel=1e-3)
    assert rows["made: steel plate"].minutes is None and rows["made: steel plate"].mass_g > one.mass_g
    assert rows["made: free plate"].mass_g is None
    # Bearings of both uses stand in one row.
    assert rows["roller, bearing of the axle"].quantity == 6
    assert rows["closed timing belt"].quantity == 1


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
    read = list(csv.DictReader(io.StringIO(bom_text(belt, some("608")))))
    assert [row["item"] for row in read] == [row.item for row in rows]
    assert tuple(read[0]) == HEADS


def test_loose_parts_still_list_the_bearings(belt: Assessment) -> None:
    bearing = catalogue.bearing(belt.design.generator.bearing)
    rows = {row.designation: row for row in bom_rows(belt, loose_parts(belt))}
    stack = max(1, int(belt.design.flexible_ring.width_mm / bearing.width_mm))
    assert rows[bearing.designation].quantity == 4 * stack


def test_the_page_asks_for_nothing_and_tells_the_drawer(belt: Assessment) -> None:
    a = with_drawer(
        belt,
        bearings=[{"designation": "608", "count": 40}],
        motors=[{"name": "<b>stepper", "holding_torque_Nm": 0.4, "shaft_mm": 5.0}],
    )
    found = substitutes(a)
    page = bom_html(a, loose_parts(a), found, not_assembled="a reason")
    assert "default-src 'none'" in page and "<script" not in page and "src=" not in page
    assert "From the drawer instead" in page and "a reason" in page
    assert "&lt;b&gt;stepper" in page and "<b>stepper" not in page
    rows = drawer_rows(a, found)
    assert any("608" in taken for _, taken, _ in rows)
    most = 0.4 * abs(float(a.motion.ratio))
    assert f"holds {most:.3g} N·m" in rows[-1][2]
