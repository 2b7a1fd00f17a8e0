"""Generators in place, inputs and arms as solids: every part one valid solid of the volume that its data say."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
import shapely
from export_drives import assessed

from lobewright.assessment.results import Assessment
from lobewright.assessment.run import assess
from lobewright.design import model as m
from lobewright.design.files import read
from lobewright.make.bodies import Group, Part, Slab, Turned
from lobewright.make.layout import layout
from lobewright.make.parts_arms import arm_parts
from lobewright.make.parts_generator_placed import generator_placed
from lobewright.make.parts_inputs import input_parts
from lobewright.make.placing import Placed
from lobewright.make.solids import solid

EXAMPLES = Path(__file__).parents[2] / "examples"
NAMES = ("azimuth_belt", "elevation_printed", "focus_steel")
VOLUME_SHARE = 0.002


@cache
def _example(name: str) -> Assessment:
    return assess(read(EXAMPLES / f"{name}.toml"))


def _asked(name: str, **assembly: object) -> Assessment:
    a = _example(name)
    return replace(a, design=a.design.model_copy(update={"assembly": m.Assembly(**assembly)}))  # type: ignore[arg-type]


def _every(name: str) -> Iterator[Placed]:
    plain = _asked(name)
    yield from generator_placed(plain, layout(plain))
    yield from arm_parts(plain, layout(plain))
    if name != "focus_steel":
        slotted = _asked(name, adjustable=True)
        yield from generator_placed(slotted, layout(slotted))
    for chosen in m.Input:
        turned = _asked(name, input=chosen)
        yield from input_parts(turned, layout(turned))


def _whole(part: Part) -> None:
    made = solid(part.body, part.name)
    assert abs(made.volume / part.body.volume_mm3 - 1) < VOLUME_SHARE, part.name


def _overhangs(part: Part) -> float:
    """Area of slabs with nothing under them, as the part lies, mm²."""
    slabs = [piece for piece in part.body.pieces if isinstance(piece, Slab)]
    flat = {k: _face(slab) for k, slab in enumerate(slabs)}
    lowest = min(slab.bottom_mm for slab in slabs)
    hanging = 0.0
    for k, slab in enumerate(slabs):
        if slab.bottom_mm <= lowest + 1e-9:
            continue
        below = [flat[j] for j, other in enumerate(slabs) if other.top_mm >= slab.bottom_mm - 1e-9 > other.bottom_mm]
        hanging += flat[k].difference(shapely.union_all(below).buffer(1e-3)).area
    return hanging


def _face(slab: Slab) -> shapely.Polygon:
    return shapely.Polygon(slab.outer.contour.sampled(1e-3), [hole.contour.sampled(1e-3) for hole in slab.holes])


@pytest.mark.parametrize("name", NAMES)
def test_every_part_is_one_solid_of_its_volume_and_prints_flat(name: str) -> None:
    seen = set()
    for placed in _every(name):
        part = placed.part
        assert part.quantity == len(placed.places)
        assert bool(part.designation) == (part.group is Group.BOUGHT), part.name
        _whole(part)
        seen.add(part.name)
        if not part.designation and not part.support:
            assert not any(isinstance(piece, Turned) for piece in part.body.pieces)
            assert _overhangs(part) < 0.5, part.name
    assert {"crank", "shaft_clamp", "motor_plate", "test_arm", "reaction_arm", "gauge_holder"} <= seen
    assert "thin_bearing" in seen if name == "focus_steel" else {"slider", "roller"} <= seen


@pytest.mark.parametrize("name", ["azimuth_belt", "elevation_printed"])
@pytest.mark.parametrize("adjustable", [False, True])
def test_rollers_fill_the_room_between_both_carriers(name: str, adjustable: bool) -> None:
    a = _asked(name, adjustable=adjustable)
    lay = layout(a)
    placed = {one.part.name: one for one in generator_placed(a, lay)}
    carrier, roller = placed["carrier"], placed["roller"]
    high = max(piece.top_mm for piece in carrier.part.body.pieces if isinstance(piece, Slab))
    faces = sorted(place.of(0.0, 0.0, high)[2] for place in carrier.places)
    width = roller.part.body.pieces[0].top_mm  # type: ignore[union-attr]
    bottoms = [place.z_mm for place in roller.places]
    assert faces == pytest.approx([min(bottoms), max(bottoms) + width])
    assert [place.of(0.0, 0.0, 0.0)[2] for place in carrier.places] == [lay.generator_bottom_mm, lay.generator_top_mm]
    far = {round(math.hypot(place.x_mm, place.y_mm), 6) for place in roller.places}
    assert far == {round(float(a.setting.distance_mm), 6)}


def test_the_thin_bearing_fills_the_gap_between_cam_and_ring() -> None:
    a = _example("focus_steel")
    placed = {one.part.name: one for one in generator_placed(a, layout(a))}
    band = _face(placed["thin_bearing"].part.body.pieces[0])  # type: ignore[arg-type]
    generator = a.design.generator
    assert isinstance(generator, m.Cam)
    # A band of even height: area is that times the length of its middle line.
    middle = shapely.Polygon(band.exterior).length + shapely.Polygon(band.interiors[0]).length
    assert band.area == pytest.approx(generator.race_height_mm * middle / 2, rel=1e-4)


def test_discs_on_an_eccentric_stand_on_opposite_sides() -> None:
    a = assessed("discs")
    lay = layout(_example("azimuth_belt"))
    placed = {one.part.name: one for one in generator_placed(a, lay)}
    off = float(a.setting.distance_mm)
    low, top = placed["disc"].places
    assert (low.x_mm, top.x_mm) == pytest.approx((off, -off))
    assert top.over and not low.over
    for one in placed.values():
        _whole(one.part)
