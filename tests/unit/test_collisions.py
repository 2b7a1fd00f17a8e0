"""Collisions against what geometry says without the program: lenses of circles, moved parts, an axle too long."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import shapely

from lobewright.assessment.results import Assessment
from lobewright.assessment.run import assess
from lobewright.design.files import read
from lobewright.errors import DesignFault
from lobewright.make.assembling import assembled, not_assembled
from lobewright.make.bodies import Body, Drill, Group, Part, Slab, Turned, exact
from lobewright.make.collisions import Clearances, collisions
from lobewright.make.flexible_as_set import BentRing
from lobewright.make.levels import levels
from lobewright.make.outlines import circle, polygon
from lobewright.make.placing import Member, Place, Placed

EXAMPLES = Path(__file__).parents[2] / "examples"


@cache
def example(name: str) -> Assessment:
    return assess(read(EXAMPLES / f"{name}.toml"))


@cache
def whole(name: str) -> tuple[Placed, ...]:
    return assembled(example(name))


def disc(
    name: str, x_mm: float, member: Member, low: float = 0.0, high: float = 5.0, group: Group = Group.FRAME
) -> Placed:
    body = Body((Slab(exact(circle(10.0)), (), 0.0, high - low),))
    return Placed(Part(name, name, 1, body, "", group=group), (Place(x_mm=x_mm, z_mm=low),), member)


def met(*placed: Placed, angles: tuple[float, ...] = (0.0,)) -> Clearances:
    return collisions(example("azimuth_belt"), placed, angles)


@pytest.mark.parametrize("name", ["azimuth_belt", "elevation_printed", "focus_steel"])
def test_the_examples_are_free_of_clashes(name: str) -> None:
    assert not not_assembled(example(name))
    found = collisions(example(name), whole(name))
    assert [clash.sentence for clash in found.clashes] == []
    assert [gap for gap in found.rubbing] == []
    found.require()
    assert found.compared > 20 and len(found.angles_rad) == 7
    ring = next(gap for gap in found.gaps if "ring_" in gap.first + gap.second and gap.meant)
    wanted = min(one.clearance_mm for one in example(name).design.rigid_ring)
    assert wanted - 0.01 < ring.gap_mm < wanted + 0.05


def test_two_discs_overlap_by_the_width_and_area_of_their_lens() -> None:
    found = met(disc("one", 0.0, Member.HELD), disc("two", 19.0, Member.HELD, low=2.0, high=9.0))
    (clash,) = found.clashes
    half = math.acos(9.5 / 10.0)
    assert clash.depth_mm == pytest.approx(1.0, abs=2e-3)
    assert clash.area_mm2 == pytest.approx(100.0 * (2 * half - math.sin(2 * half)), rel=2e-3)
    assert clash.volume_mm3 == pytest.approx(3.0 * clash.area_mm2)
    assert clash.at_mm == pytest.approx((9.5, 0.0, 3.5), abs=0.05)
    with pytest.raises(DesignFault, match=r"one and two overlap by 1\.00\d mm .* generator at 0°.*allowed: no overlap"):
        found.require()


def test_gaps_across_and_along_the_axis_and_discs_that_rub() -> None:
    across = met(disc("one", 0.0, Member.HELD), disc("two", 21.0, Member.GENERATOR))
    assert [(gap.gap_mm, gap.along_axis) for gap in across.gaps] == [(pytest.approx(1.0, abs=1e-3), False)]
    along = met(disc("one", 0.0, Member.HELD), disc("two", 3.0, Member.GENERATOR, low=5.4, high=8.0))
    assert [(gap.gap_mm, gap.along_axis) for gap in along.gaps] == [(pytest.approx(0.4), True)]
    rubbing = met(disc("one", 0.0, Member.HELD), disc("two", 3.0, Member.GENERATOR, low=5.0, high=8.0))
    assert not rubbing.clashes and not rubbing.clear
    with pytest.raises(DesignFault, match="one and two turn against each other and touch"):
        rubbing.require()
    fixed = met(disc("one", 0.0, Member.HELD), disc("two", 3.0, Member.HELD, low=5.0, high=8.0))
    assert fixed.clear


@pytest.mark.parametrize("member", [Member.GENERATOR, Member.OUTPUT])
def test_what_turns_is_met_wherever_it_turns_to(member: Member) -> None:
    # Half a turn apart, at any single angle tried far from each other: only a whole turn brings them together.
    stands, turns = disc("post", -25.0, Member.HELD, high=40.0), disc("arm", 24.0, member, high=40.0)
    (clash,) = met(stands, turns).clashes
    assert clash.angle_rad is None and clash.first == "arm"
    # The arm sweeps from 14 to 34 mm, the post reaches from 15 to 35.
    assert clash.depth_mm == pytest.approx(19.0, abs=1e-2)
    with pytest.raises(DesignFault, match=r"arm and post overlap by 1\d\.\d+ mm somewhere in a whole turn"):
        met(stands, turns).require()
    past = met(disc("post", -45.5, Member.HELD), turns)
    assert past.clear and [gap.gap_mm for gap in past.gaps] == [pytest.approx(1.5, abs=1e-3)]


def test_what_stands_there_for_a_test_does_not_turn_round() -> None:
    stands, arm = disc("post", -25.0, Member.HELD), disc("arm", 25.0, Member.GENERATOR, group=Group.TEST)
    assert met(stands, arm).clear
    (clash,) = met(stands, arm, angles=(0.0, math.pi / 2, math.pi)).clashes
    assert clash.angle_rad == math.pi and clash.depth_mm == pytest.approx(5.0) and clash.first == "arm"


def test_a_hole_off_the_axis_is_no_way_out_and_a_round_one_is() -> None:
    bored = Body((Slab(exact(circle(20.0)), (exact(circle(6.0, 10.0)),), 0.0, 5.0),))
    plate = Placed(Part("plate", "", 1, bored, ""), (Place(),), Member.OUTPUT)
    pin = Body((Slab(exact(circle(2.0)), (), 0.0, 5.0),))
    stands = Placed(Part("pin", "", 1, pin, ""), (Place(x_mm=10.0),), Member.HELD)
    assert [clash.depth_mm for clash in met(plate, stands).clashes] == [pytest.approx(4.0, abs=1e-2)]
    ring = Body((Slab(exact(circle(20.0)), (exact(circle(12.0)),), 0.0, 5.0),))
    hollow = Placed(Part("plate", "", 1, ring, ""), (Place(),), Member.OUTPUT)
    pin_in = replace(stands, places=(Place(x_mm=9.0),))
    found = met(hollow, pin_in)
    assert found.clear and [gap.gap_mm for gap in found.gaps] == [pytest.approx(1.0, abs=1e-3)]


def moved(placed: tuple[Placed, ...], name: str, **by: float) -> tuple[Placed, ...]:
    def shifted(place: Place) -> Place:
        return replace(place, **{key: getattr(place, key) + value for key, value in by.items()})

    assert name in {one.part.name for one in placed}
    return tuple(
        replace(one, places=tuple(shifted(place) for place in one.places)) if one.part.name == name else one
        for one in placed
    )


def test_a_ring_moved_by_a_millimetre_runs_into_the_belt() -> None:
    a = example("azimuth_belt")
    two = tuple(one for one in whole("azimuth_belt") if one.part.name in ("belt", "ring_base"))
    assert collisions(a, two, (0.3,)).clear
    (clash,) = collisions(a, moved(two, "ring_base", x_mm=1.0), (0.3,)).clashes
    assert (clash.first, clash.second) == ("belt", "ring_base")
    assert 0.2 < clash.depth_mm < 1.0 and clash.at_mm[0] < 0


def test_a_roller_set_out_by_half_a_millimetre_stands_in_the_belt() -> None:
    a = example("azimuth_belt")
    two = tuple(one for one in whole("azimuth_belt") if one.part.name in ("belt", "roller"))
    roller = next(one for one in two if one.part.name == "roller")
    assert collisions(a, two, (0.0, 0.7)).clear
    out = replace(
        roller,
        places=tuple(
            replace(
                p,
                x_mm=p.x_mm * (1 + 0.5 / math.hypot(p.x_mm, p.y_mm)),
                y_mm=p.y_mm * (1 + 0.5 / math.hypot(p.x_mm, p.y_mm)),
            )
            for p in roller.places
        ),
    )
    (clash,) = collisions(a, (two[0], out), (0.0, 0.7)).clashes
    assert clash.depth_mm == pytest.approx(0.5, abs=0.02)


def test_an_axle_too_long_runs_into_what_stands_beside_the_generator() -> None:
    placed = whole("azimuth_belt")
    screw = next(one for one in placed if one.part.name == "axle_screw")
    head, shank = screw.part.body.pieces
    assert isinstance(shank, Slab)
    longer = replace(shank, top_mm=shank.top_mm + 20.0)
    long = replace(screw, part=replace(screw.part, body=Body((head, longer))))
    found = collisions(example("azimuth_belt"), [long if one is screw else one for one in placed], (0.0,))
    assert any("axle_screw" in (clash.first, clash.second) for clash in found.clashes)


def test_the_bent_belt_keeps_its_length_and_its_teeth() -> None:
    a = example("azimuth_belt")
    (one,) = BentRing(a).at(0.4, -0.008)
    inner = one.level.area.interiors[0].length
    assert inner == pytest.approx(2 * math.pi * a.geometry.inner_radius_mm, rel=1e-4)
    belt = next(placed.part for placed in whole("azimuth_belt") if placed.part.name == "belt")
    assert one.level.area.area * 15.0 == pytest.approx(belt.body.volume_mm3, rel=2e-3)
    points = shapely.get_coordinates(one.level.area.exterior)
    far = points[np.hypot(*points.T).argmax()]
    assert abs(math.remainder(math.atan2(far[1], far[0]) - 0.4, math.pi)) < 2 * math.pi / 100


def test_levels_hold_the_volume_of_their_body() -> None:
    plate = Slab(exact(polygon([(-20, -20), (20, -20), (20, 20), (-20, 20)])), (exact(circle(4.0)),), 0.0, 8.0)
    pocket = Slab(exact(circle(2.0, 12.0)), (), 5.0, 8.0)
    drill = Drill((-20.0, 12.0, 4.0), 0.0, 3.0, 10.0)
    collar = Turned(polygon([(5.0, 8.0), (12.0, 8.0), (5.0, 15.0)]))
    body = Body((plate, collar), (pocket,), (drill,))
    found = sum(level.area.area * (level.top_mm - level.bottom_mm) for level in levels(Body((plate,), (pocket,))))
    assert found == pytest.approx(Body((plate,), (pocket,)).volume_mm3, rel=1e-4)
    drilled = sum(level.area.area * (level.top_mm - level.bottom_mm) for level in levels(body) if level.top_mm <= 8.0)
    # No more is taken away than is drilled.
    assert 0.0 < drilled - (found - drill.volume_mm3) < 0.1 * drill.volume_mm3


def test_a_cone_is_cut_so_finely_that_no_level_is_a_step() -> None:
    cone = Body((Turned(polygon([(0.0, 0.0), (10.0, 0.0), (4.0, 3.0), (0.0, 3.0)])),))
    found = levels(cone)
    assert sum(level.volume_mm3 for level in found) == pytest.approx(math.pi * (100 + 40 + 16), rel=1e-4)
    for level in found:
        for height in (level.bottom_mm, level.top_mm):
            # 2 mm of radius for each mm of height, by hand.
            assert abs(level.area.bounds[2] - (10.0 - 2.0 * height)) <= level.error_mm + 1e-9
    assert max(level.error_mm for level in found) == 0.05

    # A sleeve about its upper half, where the cone is 7 mm at the most: as one step it would be 5.5 mm, and clear of 6.
    held = Placed(Part("cone", "cone", 1, cone, ""), (Place(),), Member.HELD)
    for bore, clear in ((6.0, False), (7.06, True)):
        body = Body((Slab(exact(circle(12.0)), (exact(circle(bore)),), 0.0, 1.5),))
        sleeve = Placed(Part("sleeve", "sleeve", 1, body, ""), (Place(z_mm=1.5),), Member.HELD)
        assert met(held, sleeve).clear is clear


def test_drives_without_an_assembly_say_why_and_give_their_parts() -> None:
    a = example("azimuth_belt")
    motion = a.design.motion.model_copy(update={"driven": "output", "read": "generator"})
    other = replace(a, design=a.design.model_copy(update={"motion": motion}))
    assert "output is driven here" in not_assembled(other)
    found = {one.part.name: one.member for one in assembled(other)}
    assert found == {
        "ring_base": Member.HELD,
        "ring_output": Member.OUTPUT,
        "belt": Member.FLEXIBLE,
        "carrier": Member.GENERATOR,
        "generator_tube": Member.GENERATOR,
        "roller": Member.GENERATOR,
    }
