"""Plates cut to fit the bed: the pieces fit, print, do not overlap and together are the plate less the holes of the joints."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
import shapely

from lobewright.assessment.results import Assessment
from lobewright.assessment.run import assess
from lobewright.design import model as m
from lobewright.design.files import read
from lobewright.errors import DesignFault
from lobewright.make import splitting_plates
from lobewright.make.assembling import assembled
from lobewright.make.bodies import Body, Feature, Part, Slab, exact
from lobewright.make.levels import flat, slab_levels
from lobewright.make.outlines import circle, polygon
from lobewright.make.parts import on_the_bed, parts_to_make
from lobewright.make.print_set import Allowance, printed
from lobewright.make.printable import print_faults
from lobewright.make.splitting import joint_needs
from lobewright.make.splitting_plates import split_plate

pytestmark = pytest.mark.cad
EXAMPLE = Path(__file__).parents[2] / "examples" / "elevation_printed.toml"


@cache
def example() -> tuple[Assessment, dict[str, Part], m.Printer]:
    a = assess(read(EXAMPLE))
    assert isinstance(a.design.process, m.Printer)
    small = a.design.process.model_copy(update={"bed_mm": (100.0, 100.0, 200.0)})
    return a, {part.name: part for part in parts_to_make(assembled(a))}, small


def volume_mm3(part: Part) -> float:
    return sum(row.volume_mm3 for row in slab_levels(part.body))


def overlap_mm3(one: Part, other: Part) -> float:
    total = 0.0
    for a, b in itertools.product(slab_levels(one.body), slab_levels(other.body)):
        high = min(a.top_mm, b.top_mm) - max(a.bottom_mm, b.bottom_mm)
        total += a.area.intersection(b.area).area * high if high > 0 else 0.0
    return total


def joints(pieces: tuple[Part, ...], whole: Part) -> set[tuple[float, float, float]]:
    """Place and diameter of the holes that the whole has not."""

    def round_holes(part: Part) -> set[tuple[float, float, float]]:
        slabs = [slab for slab in part.body.pieces if isinstance(slab, Slab)]
        circles = [hole.contour.points_mm for slab in slabs for hole in slab.holes if hole.contour.is_circle]
        return {
            (*(round(float(v), 4) for v in p.mean(axis=0)), round(float(math.dist(p[0], p[1])), 4)) for p in circles
        }

    return set().union(*(round_holes(piece) for piece in pieces)) - round_holes(whole)


@pytest.mark.parametrize(
    ("name", "count", "thickness_mm"),
    [("rear_plate", 4, 6.0), ("front_plate", 4, 6.0), ("distance_plate", 4, None), ("gauge_holder", 2, 6.0)],
)
def test_pieces_fit_print_and_make_up_the_plate(name: str, count: int, thickness_mm: float | None) -> None:
    a, parts, small = example()
    whole = parts[name]
    pieces = on_the_bed(a, whole, small)
    assert [piece.name for piece in pieces] == [f"{name}_{k + 1}of{count}" for k in range(count)]
    assert not print_faults(pieces, small)
    for piece in pieces:
        # `printed` itself refuses a mesh in several pieces.
        assert max(printed(piece, Allowance.of(small)).size_mm[:2]) <= 100.0
    assert all(overlap_mm3(*two) < 0.01 for two in itertools.combinations(pieces, 2))
    made = joints(pieces, whole)
    assert sum(size == 3.0 for _, _, size in made) >= 2 * count - 2
    needs = {words: count for _, words, count in joint_needs(pieces)}
    assert needs["dowel of a joint"] == sum(size == 3.0 for _, _, size in made)
    assert needs["screw of a joint"] == needs["nut of a joint"] == len(made) - needs["dowel of a joint"]
    thick = thickness_mm or slab_levels(whole.body)[0].top_mm
    # Areas of circles as finely sampled as those of the levels.
    away = thick * sum(flat(exact(circle(size / 2, x, y))).area for x, y, size in made)
    assert volume_mm3(whole) - sum(map(volume_mm3, pieces)) == pytest.approx(away, abs=0.1)
    assert all(f"of {name}" in piece.note and "ISO 8734" in piece.note and "M4" in piece.note for piece in pieces)


def bar(*holes: float, feature: Feature = Feature.SEAT) -> Part:
    outer = exact(polygon([(0.0, 0.0), (150.0, 0.0), (150.0, 40.0), (0.0, 40.0)]))
    loops = tuple(exact(circle(8.0, x, 20.0), feature) for x in holes)
    return Part("bar", "bar", 1, Body((Slab(outer, loops, 0.0, 6.0),)), "petg_printed")


def test_a_cut_passes_beside_a_seat() -> None:
    _, _, small = example()
    pieces = split_plate(bar(75.0), small)
    tongues = [row.area for piece in pieces for row in slab_levels(piece.body)]
    seat = shapely.Point(75.0, 20.0).buffer(7.9)
    assert len(pieces) == 2 and sum(area.contains(seat.exterior) for area in tongues) == 0
    assert sum(area.distance(seat) < 0.2 for area in tongues) == 2
    whole = bar(75.0)
    assert split_plate(whole, small.model_copy(update={"bed_mm": (150.0, 40.0, 50.0)}))[0] is whole


def test_where_seats_leave_no_cut_it_is_one_sentence() -> None:
    _, _, small = example()
    seats = tuple(float(x) for x in range(9, 150, 17))
    with pytest.raises(DesignFault, match="bar is larger than the bed and cannot be split: every cut meets a hole"):
        split_plate(bar(*seats), small)


def test_joint_screws_are_as_long_as_plate_washers_and_nut() -> None:
    _, _, small = example()
    pieces = split_plate(replace(bar(75.0), quantity=2), small)
    rows = {words: (designation, count) for designation, words, count in joint_needs(pieces)}
    # 6 mm of plate, two washers of 0.8 mm, a nut of 3.2 mm and half a millimetre: 11.3 mm; cut once, made twice.
    assert rows["screw of a joint"] == ("ISO 4762 M4×12", rows["nut of a joint"][1])
    assert rows["washer of a joint"] == ("ISO 7089 4", 2 * rows["screw of a joint"][1])
    assert rows["dowel of a joint"] == ("ground rod ø3 mm, 6 mm", 4)
    assert joint_needs((bar(75.0),)) == ()


def test_the_search_ends_after_a_number_of_tries(monkeypatch: pytest.MonkeyPatch) -> None:
    a, parts, small = example()
    tiny, looked = small.model_copy(update={"bed_mm": (60.0, 60.0, 200.0)}), []
    real = splitting_plates._joint_holes
    monkeypatch.setattr(splitting_plates, "_joint_holes", lambda plate, grid: looked.append(grid) or real(plate, grid))
    with pytest.raises(DesignFault, match=r"rear_plate.*cannot be split.*bed 60 × 60 mm.*takes it whole"):
        on_the_bed(a, parts["rear_plate"], tiny)
    # Of a single cut each place once for each lap and direction; of whole sets no more than the limit.
    assert sum(all(grid.lines) for grid in looked) <= splitting_plates.MOST_LOOKED_AT
