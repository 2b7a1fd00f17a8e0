"""Frame, output and covers: every made part is one valid solid of its volume, and nothing runs into anything."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from export_drives import assessed

from lobewright.assessment.results import Assessment
from lobewright.design import model as m
from lobewright.design.holding import bolt_circle_radius_mm
from lobewright.errors import DesignFault
from lobewright.make.assembling import rings_placed
from lobewright.make.bodies import Feature
from lobewright.make.collisions import collisions
from lobewright.make.layout import SHEET_MM, Layout, boss_radius_mm, layout
from lobewright.make.parts_cover import SPOKE_MM, cover_parts, sectors
from lobewright.make.parts_frame import frame_parts
from lobewright.make.parts_output import output_parts
from lobewright.make.placing import Placed
from lobewright.make.solids import solid


def usable(name: str, **assembly: object) -> Assessment:
    """A drive of the export tests with an output bearing that fits it."""
    a = assessed(name)
    rings = tuple(one.model_copy(update={"rim_mm": 9.0, "bolts": 6}) for one in a.design.rigid_ring)
    if len(rings) > 1:
        rings = tuple(one.model_copy(update={"width_mm": max(one.width_mm, 5.0)}) for one in rings)
    cup = a.design.flexible_ring
    if isinstance(cup, m.Cup):
        cup = cup.model_copy(update={"length_mm": 55.0})
    bearing = m.OutputBearing(bearing="6001", count=2, spacing_mm=20.0)
    change = {"assembly": m.Assembly(**assembly), "rigid_ring": rings, "flexible_ring": cup, "output_bearing": bearing}
    return replace(a, design=a.design.model_copy(update=change))


def all_parts(a: Assessment, l: Layout) -> tuple[Placed, ...]:  # noqa: E741
    return (*frame_parts(a, l), *output_parts(a, l), *cover_parts(a, l))


def reversed_belt() -> Assessment:
    a = usable("belt")
    motion = m.Motion(fixed="output", driven="generator", read="base")
    return replace(a, design=a.design.model_copy(update={"motion": motion}))


@pytest.mark.parametrize(
    ("name", "view"),
    [("cup", m.View.CLOSED), ("belt", m.View.CLOSED), ("belt", m.View.WINDOW), ("belt", m.View.OPEN)],
)
def test_every_part_is_one_solid(name: str, view: m.View) -> None:
    a = usable(name, view=view)
    l = layout(a)  # noqa: E741
    for one in all_parts(a, l):
        assert one.part.quantity == len(one.places)
        if one.part.designation or (view is not m.View.CLOSED and one.part.name not in ("rear_plate", "cover")):
            continue
        assert solid(one.part.body, one.part.name).volume == pytest.approx(one.part.body.volume_mm3, rel=1e-3)


@pytest.mark.parametrize("make", [lambda: usable("belt", view=m.View.WINDOW), reversed_belt, lambda: usable("cup")])
def test_nothing_stands_in_anything(make: object) -> None:
    a = make()  # type: ignore[operator]
    l = layout(a)  # noqa: E741
    found = collisions(a, (*all_parts(a, l), *rings_placed(a, l)), (0.0, 0.7))
    assert [clash.sentence for clash in found.clashes] == []


def test_windows_leave_spokes_boss_and_bolts() -> None:
    a = usable("belt", view=m.View.WINDOW)
    l = layout(a)  # noqa: E741
    shapes = [one.contour.polygon() for one in sectors(a, l)]
    for one, other in zip(shapes, [*shapes[1:], shapes[0]], strict=True):
        assert one.distance(other) >= SPOKE_MM - 1e-3
    reach = bolt_circle_radius_mm(l.rear_ring, a.rings[0].space.root_radius_mm) - 3.4 / 2
    for one in shapes:
        radii = [math.hypot(x, y) for x, y in one.exterior.coords]
        assert min(radii) > boss_radius_mm(l.input_bearing) + 1.2 and max(radii) < reach - 1.2
    opened = usable("belt", view=m.View.OPEN)
    rear = next(one.part for one in frame_parts(opened, layout(opened)) if one.part.name == "rear_plate")
    assert "fingers" in rear.note
    assert l.sheet_mm == SHEET_MM and len(cover_parts(a, l)) == 1
    assert cover_parts(usable("cup"), layout(usable("cup"))) == ()


def test_faces_for_marks_are_level_and_pass_each_other() -> None:
    a = usable("belt")
    l = layout(a)  # noqa: E741
    found = {one.part.name: one for one in output_parts(a, l)}
    tops = [found[f"mark_plate_{name}"].places[0].z_mm + 3.0 for name in ("output", "held")]
    assert tops[0] == tops[1] == l.mark_z_mm
    assert l.mark_held_mm - 15.0 > math.hypot(22.0, l.mark_output_mm + 15.0)


def test_a_drive_too_small_for_windows_is_refused() -> None:
    a = usable("cup", view=m.View.OPEN)
    with pytest.raises(DesignFault, match="no room for windows"):
        frame_parts(a, layout(a))


def test_seats_holes_and_traps_have_the_sizes_of_their_standards() -> None:
    """ISO 15: 608 is 22 mm outside, 6001 28 mm; ISO 273 medium: M3 3.4, M4 4.5, M5 5.5 mm; ISO 4032: M6 is 10 mm across flats."""
    a = usable("belt")
    l = layout(a)  # noqa: E741
    found = {one.part.name: one.part.body for one in (*frame_parts(a, l), *output_parts(a, l))}
    for name, outer in (("rear_plate", 22.0), ("front_plate", 28.0)):
        loops = found[name].loops
        seats = [2 * math.sqrt(one.area_mm2 / math.pi) for one in loops if one.feature is Feature.SEAT]
        assert len(seats) == 2 and seats == pytest.approx([outer] * 2, abs=1e-3)
        sizes = {round(2 * math.sqrt(one.area_mm2 / math.pi), 2) for one in loops if one.feature is Feature.BOLT_HOLE}
        assert sizes == {3.4, 4.5, 5.5}
    traps = [pocket.outer for pocket in found["output_flange"].pockets]
    # A regular hexagon s across flats has the area s² √3/2; 0.2 mm of play is ours.
    flats = [math.sqrt(one.area_mm2 * 2 / math.sqrt(3)) for one in traps]
    assert len(flats) == 4 and flats == pytest.approx([10.2] * 4, abs=1e-6)
    assert all(one.feature is Feature.NUT for one in traps)
