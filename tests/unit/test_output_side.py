"""What an engineer looks for in generator, hub and input: tube, play, bending, lengths of screws, room of a hand."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import shapely

import lobewright
from lobewright.assessment.results import Assessment
from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.errors import DesignFault
from lobewright.make.bodies import Slab
from lobewright.make.bought import LENGTHS_MM
from lobewright.make.generator_tube import KEY_MM, WALL_MM, tube_size
from lobewright.make.hub import HubLoad, hexagon_bending_mm3, hub_choice
from lobewright.make.layout import carrier_plate_mm, layout
from lobewright.make.order import Step
from lobewright.make.parts_generator import thinnest_mm
from lobewright.make.parts_generator_placed import generator_placed
from lobewright.make.parts_inputs import GRIP_OUTER_MM, HAND_MM, crank_mm
from lobewright.make.parts_output import output_parts
from lobewright.make.placing import Placed
from lobewright.make.standards import trap_depth_mm

EXAMPLES = Path(__file__).parents[2] / "examples"


@cache
def example(name: str) -> Assessment:
    return lobewright.assess(lobewright.read(EXAMPLES / f"{name}.toml"))


def named(placed: tuple[Placed, ...], name: str) -> Placed:
    return next(one for one in placed if one.part.name == name)


def height_mm(one: Placed) -> float:
    return max(piece.top_mm for piece in one.part.body.pieces if isinstance(piece, Slab))


def test_the_axles_nuts_clamp_a_tube_not_the_rollers_gap() -> None:
    a = example("azimuth_belt")
    found = generator_placed(a, layout(a))
    carriers, tube, nut = (named(found, name) for name in ("carrier", "generator_tube", "generator_held_nut"))
    low, top = (place.z_mm for place in carriers.places)
    plate = carrier_plate_mm(a.design)
    bottom = tube.places[0].z_mm
    assert bottom == pytest.approx(low + plate - KEY_MM)
    assert bottom + height_mm(tube) == pytest.approx(top - plate + KEY_MM)
    # Round the nut stands a wall, and nothing of the nut stands out of the tube.
    (pocket,) = tube.part.body.pockets
    (outer,) = (piece.outer for piece in tube.part.body.pieces if isinstance(piece, Slab))
    assert pocket.outer.contour.polygon(1e-3).distance(outer.contour.polygon(1e-3).exterior) == pytest.approx(WALL_MM)
    assert nut.places[0].z_mm + height_mm(nut) <= bottom + height_mm(tube)
    # Turned by form: an end of the tube does not turn in its pocket.
    (key,) = carriers.part.body.pockets
    turned = shapely.affinity.rotate(outer.contour.polygon(1e-3), 5.0, origin=(0, 0))
    assert key.outer.contour.polygon(1e-3).contains(outer.contour.polygon(1e-3))
    assert not key.outer.contour.polygon(1e-3).contains(turned)


def test_where_rollers_leave_no_room_the_tube_gets_thinner_then_goes() -> None:
    wide, narrow, none = (tube_size(16.0, free, True) for free in (13.0, 10.0, 8.0))
    assert wide is not None and wide.locked
    assert narrow is not None and not narrow.locked and narrow.flats_mm < wide.flats_mm
    assert none is None
    short = tube_size(trap_depth_mm(catalogue.bolt("M8")) + WALL_MM - 2 * KEY_MM - 0.1, 13.0, True)
    assert short is not None and not short.locked
    turned = tube_size(16.0, 13.0, False)
    assert turned is not None and turned.length_mm == 16.0 and turned.corner_mm == turned.flats_mm / 2


@pytest.mark.parametrize(("size", "least"), [("M3", 2.874), ("M5", 4.826), ("M8", 7.760)])
def test_the_thinnest_screw_is_that_of_the_thread_table(size: str, least: float) -> None:
    """Limits of ISO 965-2 for 6g, as remembered; the standard rounds its formulas."""
    assert thinnest_mm(catalogue.bolt(size)) == pytest.approx(least, abs=0.008)


def test_a_hexagon_bends_as_its_area_says() -> None:
    """Second moment over the corner's distance, by fine squares, the hole left out."""
    flats, hole = 17.3, 5.5
    corner = flats / math.sqrt(3)
    h = corner / 400
    y, x = np.mgrid[-corner : corner + h / 2 : h, -corner : corner + h / 2 : h]
    inside = (np.abs(y) <= flats / 2) & (np.abs(x) * math.sqrt(3) / 2 + np.abs(y) / 2 <= flats / 2)
    inside &= np.hypot(x, y) >= hole / 2
    assert hexagon_bending_mm3(flats, hole) == pytest.approx(float((x[inside] ** 2).sum()) * h * h / corner, rel=5e-3)


def test_the_journal_counts_where_the_moment_grows_toward_the_bearing() -> None:
    """A round bar by the textbook: 32 M/(π d³) and 16 T/(π d³)."""
    load = HubLoad("", 4000.0, 0.0, 9000.0)
    bend, shear = 32 * 9000.0 / (math.pi * 20.0**3), 16 * 4000.0 / (math.pi * 20.0**3)
    assert load.stress_mpa(20.0, 0.0) == pytest.approx(math.hypot(bend, math.sqrt(3) * shear))


def test_a_hub_that_bears_less_than_twice_its_load_is_refused_with_a_bore_that_has_it() -> None:
    a = example("elevation_printed")
    assert hub_choice(a, catalogue.bearing("61804"), 15.0, 20.0).material
    with pytest.raises(DesignFault, match=r"would break.*bore of about (15|16|17|18) mm"):
        hub_choice(a, catalogue.bearing("6001"), 15.0, 20.0)
    # A bore between once and twice what breaks.
    with pytest.raises(DesignFault, match="2 times safe"):
        hub_choice(a, catalogue.bearing("6002"), 15.0, 20.0)
    # Bending alone is enough to refuse it.
    tilted = [step.model_copy(update={"overturning_moment_Nm": 40.0}) for step in a.design.duty]
    heavy = replace(a, design=a.design.model_copy(update={"duty": tuple(tilted)}))
    with pytest.raises(DesignFault, match="40 N·m of overturning"):
        hub_choice(heavy, catalogue.bearing("61804"), 15.0, 20.0)


@pytest.mark.parametrize("name", ["azimuth_belt", "elevation_printed", "focus_steel"])
def test_screws_that_may_not_stand_out_are_sold_in_their_length(name: str) -> None:
    a = example(name)
    flush = [one.part for one in output_parts(a, layout(a)) if one.part.no_longer]
    assert {part.name for part in flush} >= {"clamp_screw"}
    for part in flush:
        length = float(part.designation.split("×")[1])
        assert length in LENGTHS_MM or length % 10 == 0, part.designation
        assert f"no longer than {length:g} mm" in part.note


def test_nuts_that_what_follows_covers_go_in_before_it() -> None:
    a = example("elevation_printed")
    rows = [one.part.name for one in output_parts(a, layout(a)) if one.step is Step.OUTPUT]
    order = {name: k for k, name in enumerate(rows)}
    assert order["hub_nut"] < order["output_plate"] < order["boss_screw"] < order["output_hub"] < order["hub_screw"]
    assert order["clamp_nut"] < order["output_hub"]


def test_a_hand_on_the_crank_passes_the_table() -> None:
    l = layout(example("focus_steel"))  # noqa: E741
    assert crank_mm(l) + GRIP_OUTER_MM / 2 + HAND_MM <= l.half_side_mm
    assert crank_mm(replace(l, half_side_mm=200.0)) == 45.0


def test_what_the_drive_runs_without_says_so() -> None:
    a = example("azimuth_belt")
    for one in output_parts(a, layout(a)):
        assert one.part.may_skip == one.part.name.startswith("mark_"), one.part.name
    assert isinstance(a.design.process, m.Printer)
    assert "after a day and after a month" in named(generator_placed(a, layout(a)), "carrier").part.note
