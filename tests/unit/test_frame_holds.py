"""What the frame holds: the belt along the axis, the ring on the axis, the bearings in their seats, the plates apart."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import shapely

from lobewright.assessment.results import Assessment
from lobewright.assessment.run import assess
from lobewright.design import model as m
from lobewright.design.files import read
from lobewright.make.assembling import assembled, assembly_cautions
from lobewright.make.bought import LENGTHS_MM
from lobewright.make.flexible_as_set import BentRing, flexible_levels
from lobewright.make.keeping import HOLD_MM, flexible_ends_mm
from lobewright.make.layout import FINGER_MM, FLOOR_MM, MARK_EAR_MM, MARK_MM, PRESS_MM, Layout, layout
from lobewright.make.levels import levels, placed_level
from lobewright.make.order import Side, Step
from lobewright.make.placing import Placed

EXAMPLES = Path(__file__).parents[2] / "examples"


@cache
def drive() -> tuple[Assessment, Layout, tuple[Placed, ...]]:
    a = assess(read(EXAMPLES / "azimuth_belt.toml"))
    return a, layout(a), assembled(a)


def named(placed: Sequence[Placed], name: str) -> list[Placed]:
    return [one for one in placed if one.part.name == name]


def section(placed: Sequence[Placed], name: str, z_mm: float) -> shapely.Geometry:
    """What a part covers at a height of the assembly."""
    found = []
    for one in named(placed, name):
        for place in one.places:
            cut = (placed_level(level, place) for level in levels(one.part.body))
            found += [level.area for level in cut if level.bottom_mm < z_mm < level.top_mm]
    return shapely.union_all(found)


@pytest.mark.parametrize("name", ["distance_plate", "output_distance"])
def test_ears_hold_the_belt_at_every_angle_and_clear_the_generator(name: str) -> None:
    a, lay, placed = drive()
    low, top = flexible_ends_mm(a, lay)
    way = -1.0 if name == "distance_plate" else 1.0
    edge = low if way < 0 else top
    assert section(placed, name, edge + way * 0.2).intersection(shapely.Point(0, 0).buffer(49.0)).is_empty
    ears = section(placed, name, edge + way * 0.6)
    (ring,) = named(placed, "belt")
    for angle in np.arange(5) * math.pi / 20:
        belt = shapely.union_all([one.level.area for one in flexible_levels(BentRing(a), ring.places[0], float(angle))])
        hulls = [shapely.Polygon(one.exterior) for one in shapely.get_parts(belt)]
        over = shapely.get_parts(ears.intersection(shapely.union_all(hulls)))
        # Teeth and all, at two ends of one diameter at least.
        wide = [one for one in over if one.area > 0.5 * HOLD_MM * 12.0]
        assert any(np.dot(p.centroid.coords[0], q.centroid.coords[0]) < -1e3 for p in wide for q in wide)
    reach = min(math.hypot(x, y) for x, y in shapely.get_coordinates(ears))
    beside = [
        float(np.hypot(*shapely.get_coordinates(section(placed, "carrier", edge + way * z)).T).max())
        for z in (2.0, 5.0)
    ]
    assert reach >= max(beside) + 1.0 - 1e-3


def test_dowels_stand_in_ring_and_plate_and_cannot_leave_them() -> None:
    a, lay, placed = drive()
    (dowel,) = named(placed, "held_ring_dowel")
    length = dowel.part.body.pieces[0].top_mm  # type: ignore[union-attr]
    for place in dowel.places:
        shaft = shapely.Point(place.x_mm, place.y_mm).buffer(1.4)
        for z, hollow in ((0.1, True), (5.7, True), (6.5, False)):
            assert section(placed, "ring_base", z).disjoint(shaft) == hollow
        face = -lay.distance_mm
        for z, hollow in ((face - 0.1, True), (face - FLOOR_MM + 1.1, True), (face - FLOOR_MM + 0.5, False)):
            assert section(placed, "rear_plate", z).disjoint(shaft) == hollow
        # However far it has slid into either, it is still in the other.
        assert length - lay.distance_mm - 5.8 >= 2.0 and length - lay.distance_mm - 5.0 >= 2.0
        assert math.hypot(place.x_mm, place.y_mm) == pytest.approx(a.rings[0].space.root_radius_mm + 4.5)


@pytest.mark.parametrize(("plate", "bearing"), [("rear_plate", "axle_bearing"), ("front_plate", "output_bearing")])
def test_caps_press_on_the_bearings(plate: str, bearing: str) -> None:
    _, _, placed = drive()
    spots = {name: named(placed, name)[0] for name in (plate, bearing)}
    boss = max(piece.top_mm for piece in spots[plate].part.body.pieces)  # type: ignore[union-attr]
    wide = spots[bearing].part.body.pieces[0].top_mm  # type: ignore[union-attr]
    start = spots[plate].places[0]
    levels_mm = [abs(place.z_mm + (0.0 if start.over else wide) - start.z_mm) for place in spots[bearing].places]
    assert max(levels_mm) - boss == pytest.approx(PRESS_MM)


def test_feet_and_tubes_fill_the_way_between_the_plates() -> None:
    _, lay, placed = drive()
    for x, y in lay.ties_mm:
        column = 0.0
        for one in placed:
            if one.part.name in ("foot", "upper_distance_tube", "lower_distance_tube"):
                high = max(piece.top_mm for piece in one.part.body.pieces)  # type: ignore[union-attr]
                column += sum(high for place in one.places if math.hypot(place.x_mm - x, place.y_mm - y) < 1e-6)
        assert column == pytest.approx(lay.front_z_mm)
    assert [sum(len(one.places) for one in named(placed, name)) for name in ("tie_nut", "foot")] == [8, 4]


def test_screws_have_lengths_that_are_sold() -> None:
    _, _, placed = drive()
    lengths = {
        one.part.name: float(one.part.designation.split("×")[1]) for one in placed if "ISO 4762" in one.part.designation
    }
    assert len(lengths) >= 8
    assert {name: length for name, length in lengths.items() if length not in LENGTHS_MM} == {}


def test_bearings_come_from_the_bosses_ends_and_a_finger_passes_the_marks() -> None:
    _, lay, placed = drive()
    found = {one.part.name: (one.step, one.side) for one in placed}
    assert {found[name] for name in ("axle_bearing", "axle_outer_tube", "rear_cap")} == {(Step.REAR, Side.REAR)}
    assert {found[name] for name in ("output_bearing", "output_outer_tube", "front_cap")} == {(Step.FRONT, Side.FRONT)}
    assert found["distance_plate"] == (Step.BEHIND, Side.FRONT) and found["belt"][0] is Step.RING_ON_GENERATOR
    assert all(one.step for one in placed)
    swept = math.hypot(MARK_MM / 2 + MARK_EAR_MM, lay.mark_output_mm + MARK_MM / 2)
    assert lay.mark_held_mm - MARK_MM / 2 - swept >= FINGER_MM - 1e-9


def test_cautions_tell_what_holds_nothing() -> None:
    a, _, _ = drive()
    told = " ".join(assembly_cautions(a))
    assert "the sides are open" in told and "wandering" not in told and "crosswise" not in told
    opened = a.design.model_copy(update={"assembly": m.Assembly(view=m.View.OPEN)})
    assert "through the rear plate" in " ".join(assembly_cautions(replace(a, design=opened)))
    rings = tuple(one.model_copy(update={"dowel_mm": 8.0}) for one in a.design.rigid_ring)
    thick = replace(a, design=a.design.model_copy(update={"rigid_ring": rings}))
    assert "crosswise" in " ".join(assembly_cautions(thick))
    driven = a.design.model_copy(update={"motion": m.Motion(fixed="base", driven="output", read="generator")})
    assert assembly_cautions(replace(a, design=driven)) == ()
