"""Coupons are closed, nominal, flat on the bed and quick; no first layer rules what they gauge."""

import math
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import shapely

from lobewright.design import catalogue
from lobewright.design.files import read_workshop
from lobewright.make.bodies import Part, Slab
from lobewright.make.calibration import BOLTS, STEPS_MM, tooth_gap_mm
from lobewright.make.coupon_parts import (
    CELL_MODULES,
    LEAD_IN_MM,
    MOST_MINUTES,
    MOUTH_MODULES,
    SEAT_BEARING,
    TIP_LINES,
    coupons,
    foot_mm,
    minutes,
    module_mm,
)
from lobewright.make.coupon_sheet import rows, sheet
from lobewright.make.levels import slab_area
from lobewright.make.print_set import Allowance, printed

PRINTER = read_workshop(Path(__file__).parents[2] / "examples" / "workshop.toml").printer
assert PRINTER is not None
PARTS = {part.name: part for part in coupons(PRINTER)}
FOOT = foot_mm(PRINTER)


def slabs(part: Part) -> list[Slab]:
    return [piece for piece in part.body.pieces if isinstance(piece, Slab)]


def body_of(name: str) -> shapely.Geometry:
    """The outline above the lead-in."""
    return slab_area(next(slab for slab in slabs(PARTS[name]) if slab.bottom_mm == pytest.approx(FOOT)))


@pytest.mark.parametrize("part", PARTS.values(), ids=lambda part: part.name)
def test_a_coupon_is_watertight_and_of_its_nominal_volume(part: Part) -> None:
    mesh = printed(part, Allowance())
    assert mesh.open_edges == 0
    assert mesh.volume_mm3 == pytest.approx(part.body.volume_mm3, rel=2e-3)
    assert "nothing compensated" in part.note
    layers = np.array([slab.top_mm for slab in slabs(part)]) / PRINTER.layer_mm
    assert layers == pytest.approx(np.round(layers)), "a coupon ends between two layers"


def test_the_set_takes_less_than_the_promised_time() -> None:
    assert minutes(PRINTER) < MOST_MINUTES


HOLES = [("seats", catalogue.bearing(SEAT_BEARING).outer_mm)]
HOLES += [("bolts", catalogue.bolt(size).diameter_mm) for size in BOLTS]


@pytest.mark.parametrize(("name", "size"), HOLES)
def test_above_the_lead_in_a_hole_of_the_print_has_its_step_and_the_foot_does_not_rule(name: str, size: float) -> None:
    """Corners of the print mesh about each hole's axis; the lead-in is wider by more than any first layer it is meant for."""
    corners = printed(PARTS[name], Allowance()).corners_mm
    holes = [hole.contour.polygon(1e-3) for hole in slabs(PARTS[name])[-1 - _figures(name)].holes]
    round_ = [hole for hole in holes if abs(hole.area / math.pi - (hole.bounds[2] - hole.bounds[0]) ** 2 / 4) < 0.02]
    for extra in STEPS_MM:
        x, y = min((hole.centroid.coords[0] for hole in round_), key=lambda at: _off(at, round_, size + extra))
        away = np.hypot(corners[:, 0] - x, corners[:, 1] - y)
        body, first = corners[:, 2] > FOOT - 1e-4, corners[:, 2] < PRINTER.layer_mm / 2
        assert away[body].min() == pytest.approx((size + extra) / 2, abs=2e-3)
        assert away[first].min() == pytest.approx((size + extra) / 2 + LEAD_IN_MM, abs=2e-3)


def _figures(name: str) -> int:
    """Raised slabs at the end of a coupon's pieces."""
    top = max(slab.bottom_mm for slab in slabs(PARTS[name]))
    return sum(slab.bottom_mm == top for slab in slabs(PARTS[name]))


def _off(at: tuple[float, ...], holes: list[shapely.Geometry], size: float) -> float:
    hole = next(hole for hole in holes if hole.centroid.coords[0] == at)
    return abs(hole.bounds[2] - hole.bounds[0] - size)


@pytest.mark.parametrize("name", [name for name in PARTS if not name.startswith("foot")])
def test_only_the_blocks_show_a_first_layer_that_spreads(name: str) -> None:
    """Each layer grown by how far it spreads stays inside the body's own outline."""
    spread = 0.95 * LEAD_IN_MM
    plain = body_of(name).buffer(1e-3)
    foot = [slab for slab in slabs(PARTS[name]) if slab.bottom_mm < FOOT - 1e-6]
    assert len(foot) == 2
    for share, slab in zip((1.0, 0.5), foot, strict=True):
        grown = slab_area(slab).buffer(spread * share)
        gauged = shapely.Polygon(body_of(name).exterior) if name in ("seats", "bolts") else grown
        assert plain.contains(grown.intersection(gauged))


def test_the_blocks_have_no_lead_in() -> None:
    for name in ("foot_1", "foot_2", "foot_3"):
        assert slab_area(slabs(PARTS[name])[0]).bounds == pytest.approx((0, 0, 6, 6))
        assert slabs(PARTS[name])[0].bottom_mm == 0


@pytest.mark.parametrize("axis", ["x", "y"])
def test_the_sheet_names_the_lengths_that_the_comb_has(axis: str) -> None:
    area = body_of(f"lengths_{axis}")
    line = shapely.LineString([(0, 8), (99, 8)] if axis == "x" else [(-8, 0), (-8, 99)])
    posts = sorted(piece.bounds[0 if axis == "x" else 1 :: 2] for piece in area.intersection(line).geoms)
    outside = [end - posts[0][0] for _, end in posts]
    inside = [b[0] - a[1] for a, b in pairwise(posts)]
    named = [(feature, float(n)) for _, feature, n, _ in rows() if n]
    assert [n for feature, n in named if feature == f"outside_{axis}"] == pytest.approx(outside)
    assert [n for feature, n in named if feature == f"inside_{axis}"] == pytest.approx(inside)


@pytest.mark.parametrize("fat", [-0.03, 0.0, 0.05, 0.1])
def test_flanks_of_the_tooth_pair_have_the_gap_that_is_told(fat: float) -> None:
    """Both outlines laid too fat, the tooth pushed in until its shoulders touch: least distance of what lies below the mouth."""
    module = module_mm(PRINTER.extrusion_width_mm)
    strip, tooth = body_of("tooth_spaces").buffer(fat, 64), body_of("tooth").buffer(fat, 64)
    turned = shapely.affinity.rotate(tooth, 180, origin=(0, 0))
    deep = shapely.box(-99, -1.7 * module, 99, -(MOUTH_MODULES + 0.2) * module)
    for k, step in enumerate(STEPS_MM):
        here = shapely.affinity.translate(turned, (k + 0.5) * CELL_MODULES * module, 2 * fat)
        gap = tooth_gap_mm(step, fat)
        if gap > 0:
            assert strip.intersection(here).area < 1e-4
            assert strip.intersection(deep).distance(here.intersection(deep)) == pytest.approx(gap, abs=1e-3)
            aside = shapely.affinity.translate(here, gap / math.cos(math.radians(20)) + 0.01, 0.0)
            assert strip.intersection(aside).area > 1e-3
        elif gap < -1e-9:
            assert strip.intersection(here).area > 1e-3, "it does not go in"


@pytest.mark.parametrize("width", [0.3, 0.42, 0.45, 0.8])
def test_the_tooths_tip_is_two_lines_wide(width: float) -> None:
    printer = PRINTER.model_copy(update={"extrusion_width_mm": width})
    tooth = next(part for part in coupons(printer) if part.name == "tooth")
    area = slab_area(slabs(tooth)[-1])
    top = area.bounds[3]
    tip = area.intersection(shapely.LineString([(-99, top - 1e-6), (99, top - 1e-6)])).length
    assert TIP_LINES * width <= tip + 1e-5 < TIP_LINES * width + 0.1


def test_the_sheet_shows_every_coupon_and_says_what_the_tooth_pair_is() -> None:
    page = sheet(tuple(PARTS.values()), PRINTER)
    assert page.count("<figure>") == len(PARTS)
    assert "pitch of 3.14 mm" in page and "finer teeth print otherwise" in page
    assert {coupon for coupon, *_ in rows()} == set(PARTS) - {"tooth"}
