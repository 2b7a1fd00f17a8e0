"""The rack model against counting tooth by tooth, against its own teeth, and against parts that stand in each other."""

from __future__ import annotations

import itertools
import math
from fractions import Fraction
from functools import cache
from pathlib import Path

import pytest
import shapely

from lobewright.assessment.results import Assessment
from lobewright.assessment.run import assess
from lobewright.design import model as m
from lobewright.design.files import read
from lobewright.errors import DesignFault
from lobewright.make.bodies import Part, Slab
from lobewright.make.rack_design import LEAST_TRAVEL_MM, Racks, racks
from lobewright.make.rack_digits import figures
from lobewright.make.rack_mesh import land_mm, overlap_mm2, play_mm
from lobewright.make.rack_parts import Kit, kit, kit_parts
from lobewright.make.rack_sheet import expected
from lobewright.motion import FLEXIBLE

EXAMPLES = Path(__file__).parents[2] / "examples"
NAMES = ("azimuth_belt", "elevation_printed", "focus_steel")
ROOM_MM = 163.0


@cache
def assessed(name: str) -> Assessment:
    return assess(read(EXAMPLES / f"{name}.toml"))


@cache
def kit_of(name: str) -> Kit:
    return kit(assessed(name))


def arranged(name: str, fixed: str, read_: str) -> Racks:
    design = assessed(name).design
    return racks(design.model_copy(update={"motion": m.Motion(fixed=fixed, driven="generator", read=read_)}), ROOM_MM)


def counted(numbers: Racks) -> Fraction:
    """Travel of what is read for a mm of the roller's, by pressing tooth after tooth into space after space.

    Only positions are used: tooth n of the strip is brought over space n of every rack, and the roller goes there.
    """
    turn = numbers.wave_mm * numbers.lobes
    steps = 40
    held = next((row for row in numbers.rows if row.name == numbers.fixed), None)
    strip, roller, at = Fraction(0), Fraction(0), {row.name: Fraction(0) for row in numbers.rows}
    for n in range(1, steps + 1):
        if held:
            roller = n * turn / held.rack_teeth
            strip = roller - n * turn / held.strip_teeth
        else:
            roller = n * turn / numbers.rows[0].strip_teeth
        for row in numbers.rows:
            # What part of the strip is at the roller, counted in this row's teeth, meets as many spaces of the rack.
            teeth = (roller - strip) * row.strip_teeth / turn
            at[row.name] = roller - teeth * turn / row.rack_teeth
    return (strip if numbers.read == FLEXIBLE else at[numbers.read]) / roller


@pytest.mark.parametrize(
    ("name", "fixed", "read_"),
    [
        ("azimuth_belt", "base", "output"),
        ("azimuth_belt", "output", "base"),
        ("azimuth_belt", "base", FLEXIBLE),
        ("elevation_printed", "housing", FLEXIBLE),
        ("elevation_printed", FLEXIBLE, "housing"),
        ("focus_steel", "housing", FLEXIBLE),
        ("focus_steel", FLEXIBLE, "housing"),
    ],
)
def test_travel_is_that_of_counting_teeth(name: str, fixed: str, read_: str) -> None:
    numbers = arranged(name, fixed, read_)
    assert numbers.travel_mm(read_) / numbers.travel_in_mm == counted(numbers)
    assert abs(numbers.travel_mm(read_)) == numbers.travel_out_mm
    assert numbers.ratio == numbers.own_ratio
    assert numbers.fewer_teeth == 0
    for row in numbers.rows:
        spaces, teeth = numbers.passed(row)
        assert spaces == teeth
        # travel = roller's way times the difference of the pitches over the held pitch.
        if row.name == fixed and read_ == FLEXIBLE:
            share = (row.rack_pitch_mm - row.strip_pitch_mm) / row.rack_pitch_mm
            assert float(numbers.travel_mm(read_)) == pytest.approx(float(numbers.travel_in_mm) * share, rel=1e-12)


def test_figures_by_hand() -> None:
    # 102 spaces against 100 teeth of 3 mm: half a turn, 150 mm, is 51 spaces and 50 teeth; one tooth of 3 mm is left over.
    numbers = arranged("azimuth_belt", "base", "output")
    assert (numbers.travel_in_mm, numbers.travel_out_mm, numbers.same_sense) == (150, 3, False)
    assert numbers.passed(numbers.rows[0]) == (51, 51)
    assert arranged("azimuth_belt", "output", "base").same_sense
    rows = expected(kit_of("azimuth_belt"))
    assert [(row.way_mm, row.travel_mm) for row in rows[:2]] == [(0, 0), (30, Fraction(-3, 5))]
    assert (rows[-1].travel_mm, rows[-1].teeth) == (-3, 51)


def test_a_very_slow_drive_gets_fewer_teeth_and_says_so() -> None:
    design = assessed("azimuth_belt").design
    rings = [
        ring.model_copy(update={"teeth": teeth}) for ring, teeth in zip(design.rigid_ring, (502, 500), strict=True)
    ]
    belt = design.flexible_ring.model_copy(update={"teeth": 500})
    numbers = racks(design.model_copy(update={"rigid_ring": tuple(rings), "flexible_ring": belt}), ROOM_MM)
    assert numbers.own_ratio == -250
    assert numbers.fewer_teeth > 0
    assert numbers.travel_out_mm >= LEAST_TRAVEL_MM
    assert numbers.rows[0].rack_teeth - numbers.rows[0].strip_teeth == 2


def test_too_little_room_is_refused() -> None:
    # 1 mm out of 10 needs 20 teeth against 22, and pitches that differ by a tenth do not mesh beside the roller.
    with pytest.raises(DesignFault, match="no model of racks shows this drive"):
        racks(assessed("azimuth_belt").design, 10.0)


def test_a_held_generator_is_refused() -> None:
    with pytest.raises(DesignFault, match="generator is held"):
        racks(
            assessed("elevation_printed").design.model_copy(
                update={"motion": m.Motion(fixed="generator", driven="housing", read=FLEXIBLE)}
            ),
            ROOM_MM,
        )


@pytest.mark.parametrize("name", NAMES)
def test_no_tooth_stands_in_the_rack_while_the_roller_goes_by(name: str) -> None:
    k = kit_of(name)
    for row, chain in zip(k.racks.rows, k.chains, strict=True):
        # Steps that share nothing with the pitch or with the poses the spaces were swept by.
        for way in (x * 0.7310585 for x in range(12)):
            for shift in (0.0, 0.9 * k.clearance_mm, -0.9 * k.clearance_mm):
                assert overlap_mm2(k.strip, row, chain, way, shift) < 1e-9
            assert overlap_mm2(k.strip, row, chain, way, row.rack_pitch_mm / 4) > 0.05
        assert k.clearance_mm <= play_mm(k.strip, row, chain) < row.rack_pitch_mm / 6
        assert land_mm(chain, row) > 0.2 * row.rack_pitch_mm


def test_a_strip_that_does_not_move_jams() -> None:
    k = kit_of("elevation_printed")
    row, chain = k.racks.rows[0], k.chains[0]
    way = k.way_mm / 3  # a third of a tooth should have come out
    assert overlap_mm2(k.strip, row, chain, way, -float(k.racks.travel_mm(FLEXIBLE)) / 3) > 0.1


def _levels(part: Part, way: float) -> list[tuple[float, float, shapely.Polygon]]:
    rows = []
    for slab in part.body.pieces:
        assert isinstance(slab, Slab)
        area = slab.outer.contour.polygon(0.01)
        for hole in slab.holes:
            area = area.difference(hole.contour.polygon(0.01))
        rows.append((slab.bottom_mm, slab.top_mm, shapely.affinity.translate(area, way, 0.0)))
    return rows


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("share", [0.0, 0.37, 1.0])
def test_parts_do_not_stand_in_each_other(name: str, share: float) -> None:
    k = kit_of(name)
    ways = {"carriage": share * k.way_mm, "strip": share * float(k.racks.travel_mm(FLEXIBLE))}
    for row in k.racks.rows:
        ways[f"rack_moving_{row.name}"] = share * float(k.racks.travel_mm(row.name))
    placed = {part.name: _levels(part, ways.get(part.name, 0.0)) for part in kit_parts(k)}
    for one, two in itertools.combinations(placed, 2):
        nose = {one, two} == {
            "carriage",
            "strip",
        }  # the straight strip is drawn: the nose stands in it by what it lifts
        for (low, high, a), (bottom, top, b) in itertools.product(placed[one], placed[two]):
            if min(high, top) - max(low, bottom) > 1e-6:
                most = 2 * math.sqrt(12 * k.strip.lift_mm) * k.strip.lift_mm if nose else 1e-6
                assert a.intersection(b).area <= most, (one, two)


@pytest.mark.parametrize("name", NAMES)
def test_screws_meet_holes_over_their_whole_way(name: str) -> None:
    k = kit_of(name)
    parts = {part.name: part for part in kit_parts(k)}
    base = shapely.union_all([area for side in ("left", "right") for *_, area in _levels(parts[f"base_{side}"], 0.0)])
    for part in parts.values():
        travel = {f"rack_moving_{row.name}": float(k.racks.travel_mm(row.name)) for row in k.racks.rows}
        travel["strip"] = float(k.racks.travel_mm(FLEXIBLE))
        slab = part.body.pieces[0]
        assert isinstance(slab, Slab)
        if part.name.startswith("base") or not slab.holes:
            continue
        for hole in slab.holes:
            for way in (0.0, travel.get(part.name, 0.0)):
                seen = shapely.affinity.translate(hole.contour.polygon(0.01), way, 0.0)
                open_ = seen.difference(base)
                assert open_.area == pytest.approx(math.pi / 4 * 2.7**2, rel=0.01), part.name


def test_marks_do_not_touch_and_figures_differ() -> None:
    shapes = {digit: figures(digit, 0.0, 0.0, 4.2) for digit in "0123456789"}
    assert len({frozenset(boxes) for boxes in shapes.values()}) == 10
    for part in kit_parts(kit_of("azimuth_belt")):
        pockets = [pocket.outer.contour.polygon() for pocket in part.body.pockets]
        if not pockets:
            continue
        tree = shapely.STRtree(pockets)
        near = tree.query(pockets, predicate="dwithin", distance=0.1)
        assert (near[0] == near[1]).all(), part.name
        slab = part.body.pieces[-1] if part.name == "strip" else part.body.pieces[0]
        assert isinstance(slab, Slab)
        plate = _levels(part, 0.0)[part.body.pieces.index(slab)][2]
        assert all(plate.contains(pocket) for pocket in pockets)
