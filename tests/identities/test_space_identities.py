"""What must hold for any tooth space: no pose of any tooth comes nearer to it than its clearance, wherever the wave stands.

The poses are laid between the samples that the space was made from, and the outlines are compared by a polygon library.
"""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from lobewright.design.model import Design
from lobewright.mesh.space import TipRule, ToothSpace, tooth_space
from lobewright.mesh.teeth import ToothOutline, tooth_outline
from lobewright.published.designs import belt_drive, leaning_tooth_ring, module_ring
from lobewright.ring.geometry import nominal_deflection_mm, ring_geometry
from lobewright.ring.shape import ELLIPSE, RingShape, cam_parameters, on_curve, on_paired, on_points

KEPT_MM = 0.002
"""How far the drawn space may be off."""
RULE = TipRule(0.84, 0.42, 0.12)
BELTS = st.sampled_from(["MXL", "T2.5", "T5", "XL", "C2M", "C3M", "H3M"])
COUNTS = st.integers(60, 160)
FACTORS = st.floats(0.8, 1.2)
CLEARANCES = st.floats(0.05, 0.2)
PLACES = st.lists(st.floats(-1.0, 1.0), min_size=12, max_size=12)
"""Where teeth stand, as shares of the way from the lobe to the minor axes."""


@cache
def outline_of(design_key: tuple[str, int]) -> ToothOutline:
    return tooth_outline(belt_drive(*design_key))


def pose_at(shape: RingShape, share: float) -> tuple[complex, float, float]:
    """Place, normal and material label between samples, by a cubic through places and tangents."""
    half = shape.points_per_half_lobe
    count = len(shape.arc_mm)
    at = share * half
    i = min(math.floor(at), half - 1)
    t = at - i
    step = 2 * math.pi * shape.radius_mm / count
    line = shape.x_mm + 1j * shape.y_mm
    low, high = line[i % count], line[(i + 1) % count]
    low_turn, high_turn = (shape.normal_rad[k % count] + 2 * math.pi * (k // count) for k in (i, i + 1))
    tangents = [step * 1j * np.exp(1j * turn) for turn in (low_turn, high_turn)]
    place = (
        (1 + 2 * t) * (1 - t) ** 2 * low
        + t * (1 - t) ** 2 * tangents[0]
        + t * t * (3 - 2 * t) * high
        - t * t * (1 - t) * tangents[1]
    )
    return complex(place), float((1 - t) * low_turn + t * high_turn), at * 2 * math.pi / count


def posed_tooth(outline: ToothOutline, shape: RingShape, ring_teeth: int, share: float) -> shapely.LineString:
    """The tooth in the ring's frame, turned by whole pitches into the space near angle 0."""
    place, normal, label = pose_at(shape, share)
    turned = label * outline.teeth / ring_teeth
    centre = place * np.exp(-1j * turned)
    pitch = 2 * math.pi / ring_teeth
    fold = pitch * round(float(np.angle(centre)) / pitch)
    points = outline.points_mm[:, 1] + 1j * outline.points_mm[:, 0]
    posed = (centre + points * np.exp(1j * (normal - turned))) * np.exp(-1j * fold)
    return shapely.LineString(np.column_stack((posed.real, posed.imag)))


def ring_material(space: ToothSpace) -> shapely.Polygon:
    """The ring around one space: from its edge outward, over one pitch and a little."""
    edge = space.outline_mm()
    reach = 0.5 * space.pitch_rad
    low, out = space.tip_radius_mm, space.root_radius_mm + 5.0
    turns = np.linspace(reach, -reach, 41)
    over = np.column_stack((out * np.cos(turns), out * np.sin(turns)))
    first, last = ([low * math.cos(reach), side * low * math.sin(reach)] for side in (-1, 1))
    return shapely.Polygon(np.vstack(([first], edge, [last], over)))


def assert_clears(space: ToothSpace, outline: ToothOutline, shapes: tuple[RingShape, ...], places: list[float]) -> None:
    """Every tooth keeps the clearance to the ring's own flank within what a space may be off."""
    ring = ring_material(space)
    assert ring.is_valid
    for shape in shapes:
        for share in [*places, 0.0, 1.0, -1.0]:
            gap = shapely.distance(posed_tooth(outline, shape, space.teeth, share), ring)
            assert gap > space.clearance_mm - KEPT_MM, f"gap {gap:.5f} mm at {share:.3f} of the way from the lobe"


def on_generator(kind: str, radius: float, deflection: float) -> RingShape:
    if kind == "rollers":
        return on_points(radius, 2, radius + deflection)
    if kind == "paired":
        return on_paired(radius, math.radians(25.0), 0.25 * radius, lobe_radius_mm=radius + deflection)[0]
    a, b = cam_parameters(radius, 2, ELLIPSE, deflection)
    return on_curve(radius, 2, ELLIPSE, a, b)


def space_for(design: Design, outline: ToothOutline, shape: RingShape, more: int, clearance: float) -> ToothSpace:
    return tooth_space("ring", design.flexible_ring.teeth + more, outline, (shape,), clearance, RULE)


@pytest.mark.parametrize("kind", ["rollers", "paired", "ellipse"])
@pytest.mark.parametrize("more", [0, 2])
@given(BELTS, COUNTS, FACTORS, CLEARANCES, PLACES)
@settings(max_examples=8, deadline=None)
def test_no_pose_of_a_belt_tooth_comes_nearer_than_the_clearance(
    kind: str, more: int, belt: str, teeth: int, factor: float, clearance: float, places: list[float]
) -> None:
    design = belt_drive(belt, teeth)
    shape = on_generator(kind, ring_geometry(design).neutral_radius_mm, factor * nominal_deflection_mm(design))
    outline = outline_of((belt, teeth))
    assert_clears(space_for(design, outline, shape, more, clearance), outline, (shape,), places)


@given(st.integers(60, 160), FACTORS, CLEARANCES, PLACES)
@settings(max_examples=8, deadline=None)
def test_a_cup_s_space_clears_every_section(teeth: int, factor: float, clearance: float, places: list[float]) -> None:
    design = module_ring(0.8, teeth, 1.0, 0.9)
    radius, outline = ring_geometry(design).neutral_radius_mm, tooth_outline(design)
    shapes = tuple(on_generator("ellipse", radius, factor * share * 0.8) for share in (0.9, 1.0, 1.1))
    space = tooth_space("ring", teeth + 2, outline, shapes, clearance, RULE)
    assert_clears(space, outline, shapes, places)
    alone = tooth_space("ring", teeth + 2, outline, shapes[1:2], clearance, RULE)
    right, left = alone.bounds_at(space.radius_mm)
    inside = (space.radius_mm >= alone.radius_mm[0]) & (space.radius_mm <= alone.radius_mm[-1])
    assert (space.right_rad >= right - 2e-5)[inside].all()
    assert (space.left_rad <= left + 2e-5)[inside].all()


@given(FACTORS, CLEARANCES, st.sampled_from([0, 2]), PLACES)
@settings(max_examples=8, deadline=None)
def test_a_leaning_tooth_clears_too(factor: float, clearance: float, more: int, places: list[float]) -> None:
    design = leaning_tooth_ring()
    shape = on_generator("rollers", ring_geometry(design).neutral_radius_mm, factor)
    outline = tooth_outline(design)
    space = space_for(design, outline, shape, more, clearance)
    assert_clears(space, outline, (shape,), places)
    assert np.abs(space.right_rad + space.left_rad).max() > 1e-3


@given(BELTS, COUNTS, FACTORS, st.sampled_from([0, 2]))
@settings(max_examples=8, deadline=None)
def test_more_clearance_widens_the_space_on_both_sides(belt: str, teeth: int, factor: float, more: int) -> None:
    design = belt_drive(belt, teeth)
    shape = on_generator("paired", ring_geometry(design).neutral_radius_mm, factor * nominal_deflection_mm(design))
    outline = outline_of((belt, teeth))
    narrow = space_for(design, outline, shape, more, 0.05)
    wide = space_for(design, outline, shape, more, 0.15)
    low, high = max(narrow.radius_mm[0], wide.radius_mm[0]), min(narrow.radius_mm[-1], wide.radius_mm[-1])
    levels = np.linspace(low, high, 20)
    assert (wide.bounds_at(levels)[0] > narrow.bounds_at(levels)[0]).all()
    assert (wide.bounds_at(levels)[1] < narrow.bounds_at(levels)[1]).all()
    assert wide.root_radius_mm == pytest.approx(narrow.root_radius_mm + 0.1, abs=KEPT_MM)
