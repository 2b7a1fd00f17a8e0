"""Laser paths: what is left after burning half the kerf to both sides is the outline that was wanted."""

from __future__ import annotations

import itertools
import math

import pytest
import shapely

from lobewright.errors import DesignFault
from lobewright.make.kerf import CUT_OUTSIDE, GAP_MM, Cut, cut_path, nested
from lobewright.make.outlines import Contour, circle, hull_of_circles, polygon

KERF_MM = 0.2
TOOTHED = polygon(
    ((0, 0), (20, 0), (20, 8), (14, 8), (13, 6), (11, 6), (10, 8), (6, 8), (5, 6), (3, 6), (2, 8), (0, 8))
)
SLOT = hull_of_circles(((4.0, 3.0, 1.7), (12.0, 3.0, 1.7)))


def _burnt(path: Contour) -> shapely.Polygon:
    return path.polygon(5e-4).exterior.buffer(KERF_MM / 2, quad_segs=32)


@pytest.mark.parametrize("contour", [TOOTHED, SLOT, circle(1.7, 5.0, 4.0)])
def test_a_piece_and_a_hole_come_out_at_their_size(contour: Contour) -> None:
    wanted = contour.polygon(5e-4)
    outside = cut_path(contour, KERF_MM, inside=False)
    piece = outside.polygon(5e-4).difference(_burnt(outside))
    inside = cut_path(contour, KERF_MM, inside=True)
    opening = inside.polygon(5e-4).union(_burnt(inside))
    # Inner corners of a piece keep the beam's radius: at most the square over the beam's quarter at each corner.
    corners = 8 * (1 - math.pi / 4) * (KERF_MM / 2) ** 2
    for found in (piece, opening):
        assert found.symmetric_difference(wanted).area < corners + 0.003 * wanted.length
    # A band beside an outline has its length times its width, but for the corners: a circle's are pi (kerf / 2)^2.
    near = pytest.approx(KERF_MM / 2 * wanted.length, abs=4 * (KERF_MM / 2) ** 2 + 0.003 * wanted.length)
    assert outside.polygon().area - wanted.area == near
    assert wanted.area - inside.polygon().area == near


@pytest.mark.parametrize("contour", [circle(0.09), polygon(((0, 0), (9, 0), (9, 0.15), (0, 0.15)))])
def test_a_hole_narrower_than_the_beam_is_refused(contour: Contour) -> None:
    with pytest.raises(DesignFault, match="narrower than the laser burns"):
        cut_path(contour, KERF_MM, inside=True)


def test_nested_pieces_keep_their_distance_and_the_width() -> None:
    cuts = tuple(Cut(f"p{k}", ((CUT_OUTSIDE, polygon(((0, 0), (a, 0), (a, b), (0, b)))),)) for k, (a, b) in enumerate(
        [(50, 20), (30, 45), (80, 10), (20, 20), (64, 31), (10, 5)]
    ))  # fmt: skip
    laid = nested(cuts, 120.0)
    assert {cut.name for cut in laid} == {cut.name for cut in cuts}
    areas = [shapely.box(*cut.bounds) for cut in laid]
    assert all(a.distance(b) >= GAP_MM - 1e-9 for a, b in itertools.combinations(areas, 2))
    assert max(area.bounds[2] for area in areas) <= 120.0 - GAP_MM
