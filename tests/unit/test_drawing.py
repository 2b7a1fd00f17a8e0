"""Drawings: what is cut, what is seen, which sizes stand on a sheet, and that nothing leaves the paper."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from lobewright.assessment.results import Assessment
from lobewright.assessment.run import assess
from lobewright.design.files import read
from lobewright.make.assembling import assembled
from lobewright.make.bodies import Body, Drill, Feature, Loop, Part, Slab, Turned, exact
from lobewright.make.crush_ribs import seat
from lobewright.make.drawing import SheetPage, drawing_pages, drawn_parts, tolerance_words
from lobewright.make.drawing_dims import PX, text_width_mm, wrapped
from lobewright.make.drawing_sheets import BLOCK_MM, MARGIN_MM
from lobewright.make.drawing_views import views
from lobewright.make.outlines import bolt_circle, circle, notched_circle, polygon
from lobewright.make.placing import Member, Place, Placed
from lobewright.picture.display import Anchor, Group, Item, Text
from lobewright.picture.display import Path as Line

EXAMPLES = Path(__file__).parents[2] / "examples"
NAMES = ("azimuth_belt", "elevation_printed", "focus_steel")


@cache
def _assessed(name: str) -> Assessment:
    return assess(read(EXAMPLES / f"{name}.toml"))


@cache
def _placed(name: str) -> tuple[Placed, ...]:
    return assembled(_assessed(name))


@cache
def _pages(name: str) -> tuple[SheetPage, ...]:
    return drawing_pages(_assessed(name), _placed(name), "2026-03-01T10:00:00")


def _texts(items: tuple[Item, ...], x: float = 0.0, y: float = 0.0) -> Iterator[tuple[Text, float, float]]:
    for item in items:
        if isinstance(item, Text):
            yield item, x + item.at[0], y + item.at[1]
        elif isinstance(item, Group):
            for place in item.placements:
                yield from _texts(item.items, x + place.x, y + place.y)


def _said(page: SheetPage) -> str:
    return "\n".join(text.text for text, _, _ in _texts(page.picture.items))


def _flange() -> Part:
    """A disc with six bolt holes, a bearing seat from above with a lip, and a hole drilled in from the side."""
    holes = tuple(exact(one, Feature.BOLT_HOLE) for one in bolt_circle(20.0, 3.4, 6, math.radians(10)))
    low = Slab(exact(circle(26.0)), (*holes, exact(circle(9.0))), 0.0, 2.0)
    high = Slab(exact(circle(26.0)), (*holes, exact(circle(11.0), Feature.SEAT)), 2.0, 9.0)
    return Part("flange", "flange", 1, Body((low, high)), "petg_printed")


def test_the_section_is_cut_through_a_hole() -> None:
    shown = views(_flange())
    assert shown.cut_rad == pytest.approx(math.atan2(*reversed(shown.holes[0].first_mm)))
    # Two sides, each: from the rim to the hole and from the hole to the lip or the seat.
    sides = 2 * ((26 - 20 - 1.7) * 9 + (20 - 1.7 - 9) * 2 + (20 - 1.7 - 11) * 7)
    assert shown.cut.area == pytest.approx(sides, rel=1e-3)
    assert shown.heights_mm == (0.0, 2.0, 9.0)


def test_sizes_are_found_in_the_data() -> None:
    shown = views(_flange())
    assert [one.diameter_mm for one in shown.diameters] == pytest.approx([18.0, 22.0, 52.0], abs=1e-3)
    assert [one.feature for one in shown.diameters if one.inside] == [Feature.CONTOUR, Feature.SEAT]
    (row,) = shown.holes
    assert (row.count, row.diameter_mm, row.circle_mm) == (6, pytest.approx(3.4), pytest.approx(40.0))
    assert shown.round_outside


def test_pockets_and_drills_are_taken_out_of_the_section() -> None:
    block = Slab(exact(polygon([(-20, -10), (20, -10), (20, 10), (-20, 10)])), (), 0.0, 10.0)
    pocket = Slab(exact(circle(4.0)), (), 6.0, 10.0)
    drill = Drill((20.0, 0.0, 3.0), math.pi, 2.0, 12.0)
    shown = views(Part("block", "block", 1, Body((block,), (pocket,), (drill,)), ""))
    assert shown.cut.area == pytest.approx(400 - 8 * 4 - 12 * 2)
    assert any(np.ptp(run[:, 0]) == pytest.approx(8.0, abs=0.01) for run in shown.seen)


def test_a_part_beside_the_axis_is_cut_through_its_middle() -> None:
    bar = Slab(exact(polygon([(50, 40), (90, 40), (90, 60), (50, 60)])), (exact(circle(2.0, 60, 50)),), 0.0, 5.0)
    shown = views(Part("bar", "bar", 1, Body((bar,)), ""))
    assert shown.box_mm == pytest.approx((-20, -10, 20, 10))
    assert shown.cut.area == pytest.approx((40 - 4) * 5, rel=1e-3)


def test_a_square_plate_is_not_taken_for_round() -> None:
    """Its corners all lie on one circle, and so do the four holes beside them."""
    holes = tuple(exact(circle(2.0, x, y), Feature.BOLT_HOLE) for x in (-25, 25) for y in (-25, 25))
    plate = Slab(exact(polygon([(-30, -30), (30, -30), (30, 30), (-30, 30)])), (*holes, exact(circle(8.0))), 0.0, 5.0)
    shown = views(Part("plate", "plate", 1, Body((plate,)), ""))
    assert [one.diameter_mm for one in shown.diameters] == pytest.approx([16.0])
    assert not shown.round_outside and shown.holes[0].square


def test_a_seat_with_ribs_and_a_rim_with_a_notch_are_round_still() -> None:
    rim = exact(notched_circle(30.0, 1.0))
    ring = Part("ring", "ring", 1, Body((Slab(rim, (seat(22.0, True),), 0.0, 7.0),)), "petg_printed")
    inner, outer = views(ring).diameters
    # The wall stands back 0.1 mm a side, crests reach 0.15 mm from it.
    assert inner.diameter_mm == pytest.approx(22.2) and inner.words == "wall, 6 ribs to ø21.90"
    assert outer.diameter_mm == pytest.approx(60.0) and outer.words == "with 1 notch R1"
    (page,) = drawing_pages(_assessed("elevation_printed"), (Placed(ring, (Place(),), Member.HELD),), "2026-03-01")
    turned = [(one, y) for one, _, y in _texts(page.picture.items) if one.angle_rad]
    assert max(y + text_width_mm(one.text) / 2 for one, y in turned) < page.height_mm - 10


def test_a_turned_profile_is_hatched_on_both_sides() -> None:
    ring = Turned(polygon([(10, 0), (14, 0), (14, 6), (10, 6)]))
    shown = views(Part("bush", "bush", 1, Body((ring,)), ""))
    assert shown.cut.area == pytest.approx(2 * 4 * 6)
    assert [one.diameter_mm for one in shown.diameters] == [20.0, 28.0]
    assert [one.inside for one in shown.diameters] == [True, False]


@pytest.mark.parametrize("name", NAMES)
def test_every_text_stays_on_its_paper(name: str) -> None:
    for page in _pages(name):
        for text, x, y in _texts(page.picture.items):
            long = text_width_mm(text.text, text.size_px / PX)
            start = {Anchor.START: 0.0, Anchor.MIDDLE: -long / 2, Anchor.END: -long}[text.anchor]
            c, s = math.cos(text.angle_rad), math.sin(text.angle_rad)
            for along in (start, start + long):
                assert 10 <= x + along * c <= page.width_mm - 10, (page.name, text.text)
                assert 10 <= y + along * s <= page.height_mm - 10, (page.name, text.text)


def _box(text: Text, x: float, y: float) -> tuple[float, float, float, float]:
    size = text.size_px / PX
    long = 0.9 * text_width_mm(text.text, size)
    start = {Anchor.START: 0.0, Anchor.MIDDLE: -long / 2, Anchor.END: -long}[text.anchor]
    if text.angle_rad:
        return x - 0.7 * size, y + start, x, y + start + long
    return x + start, y, x + start + long, y + 0.7 * size


@pytest.mark.parametrize("name", NAMES)
def test_no_text_lies_on_another(name: str) -> None:
    for page in _pages(name):
        boxes = [(text.text, _box(text, x, y)) for text, x, y in _texts(page.picture.items)]
        for k, (one, (ax0, ay0, ax1, ay1)) in enumerate(boxes):
            for other, (bx0, by0, bx1, by1) in boxes[:k]:
                apart = ax1 <= bx0 or bx1 <= ax0 or ay1 <= by0 or by1 <= ay0
                assert apart, (page.name, one, other)


@pytest.mark.parametrize("name", NAMES)
def test_the_title_block_holds_its_own_words_only(name: str) -> None:
    for page in _pages(name):
        left, top = page.width_mm - MARGIN_MM - BLOCK_MM[0], MARGIN_MM + BLOCK_MM[1]
        inside = [text.text for text, x, y in _texts(page.picture.items) if x > left and y < top]
        assert len(inside) == 20, (page.name, inside)


@pytest.mark.parametrize("name", NAMES)
def test_each_made_part_has_one_numbered_sheet(name: str) -> None:
    pages, parts = _pages(name), drawn_parts(_placed(name))
    assert [page.name for page in pages] == [part.name for part in parts]
    for k, (page, part) in enumerate(zip(pages, parts, strict=True)):
        said = _said(page)
        assert f"{k + 1} of {len(parts)}" in said and _assessed(name).design.name in said and "2026-03-01" in said
        assert str(part.quantity) in said.splitlines()
        assert page.scale in (10, 5, 2, 1, 0.5, 0.2, 0.1)


def _numbers(said: str, before: str = "") -> list[float]:
    return [float(one) for one in re.findall(before + r"(\d+(?:\.\d+)?)", said)]


def _told(size_mm: float, among: list[float]) -> bool:
    """Whether a size stands there, rounded to tenths, small ones to hundredths."""
    return any(abs(one - size_mm) <= (0.0501 if size_mm >= 3 else 0.0051) for one in among)


def _untold(loop: Loop, said: str, corner: np.ndarray) -> str:
    """What a loop has that no text of its sheet says; found from its points alone."""
    points, bulges = loop.contour.points_mm, loop.contour.bulges
    if loop.edges_per_space or len(points) > 40 or (len(points) > 12 and np.all(bulges != 0)):
        return "" if re.search("^(teeth|contour of the cam|curves)", said, re.MULTILINE) else "curve"
    if np.all(bulges != 0) and len(points) != 4:
        size = 2 * float(np.hypot(*(points - points.mean(axis=0)).T).max())
        reach = size if len(points) == 2 else 2 * float(np.hypot(*points.T).max())
        return "" if _told(reach, _numbers(said, "ø")) else f"ø{reach}"
    sides = np.hypot(*(np.roll(points, -1, axis=0) - points).T)
    if len(points) == 6 and not bulges.any() and np.ptp(sides) < 1e-6:
        flats = float(sides[0]) * math.sqrt(3)
        return "" if _told(flats, _numbers(said, "a/f ")) else f"a/f {flats}"
    if len(points) == 12 and np.count_nonzero(bulges) == 6:
        between = points[1::2] + np.roll(points, -1, axis=0)[1::2]
        flats = float(np.hypot(*(between - 2 * points.mean(axis=0)).T).mean())
        return "" if _told(flats, _numbers(said, "a/f ")) and "corners cleared R" in said else f"a/f {flats}"
    wide, high = np.ptp(points, axis=0)
    if len(points) == 4 and not bulges.any() and loop.area_mm2 > wide * high - 1e-6:
        return "" if _told(wide, _numbers(said)) and _told(high, _numbers(said)) else f"{wide} × {high}"
    told = re.findall(r"x (-?[\d.]+), y (-?[\d.]+)", said.replace("−", "-"))
    pairs = [(float(x), float(y)) for x, y in told]
    for zero in (np.zeros(2), corner):
        if all(any(np.abs(point - zero - pair).max() < 0.0501 for pair in pairs) for point in points):
            return ""
    return "corners"


@pytest.mark.parametrize("name", NAMES)
def test_every_outline_of_a_part_has_its_sizes_on_its_sheet(name: str) -> None:
    """Diameter, width across flats, sides or corners of each loop, all heights, and the holes drilled across."""
    for page, part in zip(_pages(name), drawn_parts(_placed(name)), strict=True):
        said, body = _said(page), part.body
        # Texts of a table's cell may be broken over lines.
        said += "\n" + said.replace("\n", " ")
        slabs = [piece for piece in (*body.pieces, *body.pockets) if isinstance(piece, Slab)]
        low = min([slab.bottom_mm for slab in slabs] + [piece.profile.points_mm[:, 1].min() for piece in body.pieces
                  if isinstance(piece, Turned)])  # fmt: skip
        corner = np.min([slab.outer.contour.sampled(0.004).min(axis=0) for slab in slabs], axis=0)
        for slab in slabs:
            for loop in (slab.outer, *slab.holes):
                assert not _untold(loop, said, corner), (page.name, _untold(loop, said, corner))
            for height in (slab.bottom_mm, slab.top_mm):
                assert height - low < 0.006 or _told(height - low, _numbers(said)), (page.name, height - low)
        for pocket in body.pockets:
            deep = _numbers(said, "× ")
            assert _told(pocket.top_mm - pocket.bottom_mm, deep), (page.name, "depth of a pocket")
        for drill in body.drills:
            assert _told(drill.diameter_mm, _numbers(said, "ø")) and _told(drill.length_mm, _numbers(said, "× "))
            assert _told(drill.start_mm[2] - low, _numbers(said, "height ")), page.name


def test_a_machined_bore_has_its_class_and_a_printed_one_its_spread() -> None:
    by_name = {page.name: _said(page) for page in _pages("focus_steel")}
    assert "ø8 H7 (+0.015 / 0)" in by_name["cam"]
    assert "ISO 2768-m" in by_name["cam"] and "34.700 mm" in by_name["cam"]
    assert "ø8 ±0.10" in _said(next(page for page in _pages("elevation_printed") if page.name == "carrier"))


def test_a_machined_seat_stands_on_the_sheet_with_its_class() -> None:
    placed = (Placed(_flange(), (Place(),), Member.HELD),)
    (machined,) = drawing_pages(_assessed("focus_steel"), placed, "2026-03-01")
    (printed,) = drawing_pages(_assessed("elevation_printed"), placed, "2026-03-01")
    assert "ø22 H7 (+0.021 / 0)" in _said(machined) and "6 × ø3.4 on ø40" in _said(machined)
    assert "ø22 ±0.08" in _said(printed) and "6 × ø3.4 ±0.08 on ø40" in _said(printed)


def test_the_steel_cup_tells_walls_radii_and_what_the_shop_decides() -> None:
    said = _said(next(page for page in _pages("focus_steel") if page.name == "flexible_cup"))
    for word in (
        "R2.4 mm",
        "0.4 ±0.02 mm",
        "0.6 ±0.03 mm",
        "ISO 2768-f",
        "heat treatment",
        "turned or milled",
        "over two pins",
        "ø40",
        "ø10 H7 (+0.015 / 0)",
    ):
        assert word in said, word
    assert "blank" not in said and "ISO 2768-m" not in said and "broken 0.2" not in said


def test_a_cup_from_a_powder_bed_bears_no_words_of_a_machine_shop() -> None:
    said = _said(next(page for page in _pages("elevation_printed") if page.name == "flexible_cup"))
    assert "powder bed" in said
    for word in ("2768", "broken", "H7", "layers", "calibrated"):
        assert word not in said, word


def test_a_spread_that_is_only_our_default_is_called_assumed() -> None:
    said = " ".join(_said(next(page for page in _pages("elevation_printed") if page.name == "rear_plate")).split())
    assert "assumed, not calibrated" in said and "as calibrated" not in said
    printer = _assessed("elevation_printed").design.process.model_copy(update={"xy_compensation_uncertainty_mm": 0.01})
    assert "as calibrated" in tolerance_words(printer)


def test_a_ring_shows_its_mesh_and_how_it_is_checked() -> None:
    page = _pages("elevation_printed")[0]
    said = _said(page)
    assert "between two pins" in said and "mesh at a lobe, 10:1" in said and "102, internal" in said
    belt = _said(next(page for page in _pages("azimuth_belt") if page.name == "ring_output"))
    assert "not made: no usual pin" in belt


def test_bought_parts_get_no_sheet() -> None:
    bolt = Part("bolt", "bolt", 1, Body((Slab(exact(circle(2.0)), (), 0.0, 5.0),)), "", designation="ISO 4762 M4×10")
    placed = (*_placed("focus_steel"), Placed(bolt, (Place(),), Member.HELD))
    assert drawn_parts(placed) == drawn_parts(_placed("focus_steel"))


def test_words_wrap_within_their_width() -> None:
    lines = wrapped("a cup that is turned and milled from a blank of steel", 30.0)
    assert len(lines) > 1 and " ".join(lines).split()[-1] == "steel"
    assert all(text_width_mm(line, 2.5) <= 30.0 for line in lines)


def test_lines_of_the_sheet_are_in_its_frame() -> None:
    for page in _pages("azimuth_belt"):
        for item in page.picture.items:
            if isinstance(item, Line):
                points = np.array([point for loop in item.loops for point in loop])
                assert points.min() >= 10 and points[:, 0].max() <= page.width_mm - 10 + 1e-9, page.name
