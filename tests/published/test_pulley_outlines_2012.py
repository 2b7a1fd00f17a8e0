"""droftarts, Parametric pulley with multiple belt profiles, groove outlines, 2012: groove points and diameters.

A groove is the tooth of the belt and a clearance. Mapping: a point (x from the middle, y into the groove) is half a tooth's
width at the height y above the land; outside diameter 2(pZ/2π − U) teeth inward becomes the land radius pZ/2π + U teeth
outward. Tolerance: 0.02 mm for the unknown clearance of a groove, 0.1° for flanks. Left out: the 5 mm curvilinear groove,
from which our outline was fitted, and trapezoids whose root width in the catalogue was read from the same drawing.
"""

from __future__ import annotations

import math

import pytest
import shapely
from evidence_rows import assert_passes, every_row, row

from lobewright.mesh.teeth import tooth_outline
from lobewright.published.case import Case
from lobewright.published.designs import belt_drive


@every_row("pulley_outlines_2012")
def test_row(case: Case) -> None:
    assert_passes(case)


GROOVE_2_MM = ((0.578556, 0.238423), (0.547158, 0.343077), (0.504649, 0.443762), (0.451556, 0.53975))
GROOVE_3_MM = ((0.863705, 0.408181), (0.800056, 0.591388), (0.713587, 0.765004))


@pytest.mark.parametrize(("belt", "groove"), [("C2M", GROOVE_2_MM), ("C3M", GROOVE_3_MM)])
def test_a_tooth_fits_into_the_drawn_groove(belt: str, groove: tuple[tuple[float, float], ...]) -> None:
    outline = tooth_outline(belt_drive(belt, 100))
    tooth = shapely.Polygon(outline.points_mm)
    for half_width, depth in groove:
        gap = shapely.distance(tooth, shapely.Point(half_width, outline.land_height_mm + depth))
        assert 0.002 < gap < 0.03


def test_the_land_radius_is_the_pulley_s_offset_turned_outward() -> None:
    outside_radius = 2.0 * 100 / (2 * math.pi) - 0.254
    assert abs(2 * 2.0 * 100 / (2 * math.pi) - outside_radius - row("belt.land_radius").expected) < 1e-6
