"""What must hold for the ring's shape on any generator: its length, its symmetry, its scale, and that its parts agree."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lobewright.ring.shape import CIRCLE, COSINE, ELLIPSE, RingShape, cam_parameters, on_curve, on_paired, on_points

KINDS = ("rollers", "three rollers", "paired", "discs", "ellipse", "loose ellipse", "cosine", "three-lobe cosine")
GENERATORS = pytest.mark.parametrize("kind", KINDS)
RADII = st.floats(12.0, 80.0)
COUNTS = st.integers(50, 200)
FACTORS = st.floats(0.8, 1.2)
"""Deflection over nominal, for a tooth difference of one a lobe."""


def lobes_of(kind: str) -> int:
    return 3 if kind.startswith("three") else 2


def laid_on(kind: str, radius: float, deflection: float) -> RingShape:
    """A ring on a generator of this kind that pushes the major axis out by the deflection (less where it is loose)."""
    lobe, lobes = radius + deflection, lobes_of(kind)
    if kind in ("rollers", "three rollers"):
        return on_points(radius, lobes, lobe)
    if kind == "paired":
        return on_paired(radius, math.radians(24.0), 0.25 * radius, lobe_radius_mm=lobe)[0]
    if kind == "discs":
        centre = 3.2 * deflection
        return on_curve(radius, 2, CIRCLE, centre, lobe - centre)
    curve = COSINE if "cosine" in kind else ELLIPSE
    a, b = cam_parameters(radius, lobes, curve, deflection)
    loose = 0.1 * deflection if kind == "loose ellipse" else 0.0
    return on_curve(radius, lobes, curve, a - loose, b - loose)


def nominal(kind: str, radius: float, teeth: int) -> float:
    """Nominal deflection: pitch × tooth difference / 2π, with one tooth a lobe."""
    return radius * lobes_of(kind) / teeth


def chord_length(shape: RingShape) -> float:
    """Length from chords, each lengthened to its arc."""
    dx, dy = np.roll(shape.x_mm, -1) - shape.x_mm, np.roll(shape.y_mm, -1) - shape.y_mm
    chord = np.hypot(dx, dy)
    bend = chord * (shape.curvature_1_per_mm + np.roll(shape.curvature_1_per_mm, -1)) / 2
    return float(np.sum(chord * (1 + bend**2 / 24)))


@GENERATORS
@given(RADII, COUNTS, FACTORS)
@settings(max_examples=8, deadline=None)
def test_the_length_is_kept_to_a_millionth(kind: str, radius: float, teeth: int, factor: float) -> None:
    shape = laid_on(kind, radius, factor * nominal(kind, radius, teeth))
    assert chord_length(shape) == pytest.approx(2 * math.pi * radius, rel=1e-6)
    assert shape.closure_mm < 1e-6 * radius


@GENERATORS
@given(RADII, COUNTS, FACTORS)
@settings(max_examples=5, deadline=None)
def test_the_shape_repeats_by_lobes_and_mirrors_in_each_axis(
    kind: str, radius: float, teeth: int, factor: float
) -> None:
    shape = laid_on(kind, radius, factor * nominal(kind, radius, teeth))
    line = shape.x_mm + 1j * shape.y_mm
    a_lobe_on = np.roll(line, -2 * shape.points_per_half_lobe) * np.exp(-2j * math.pi / shape.lobes)
    mirrored = np.conj(np.roll(line[::-1], 1))
    assert np.abs(a_lobe_on - line).max() < 1e-9 * radius
    assert np.abs(mirrored - line).max() < 1e-9 * radius


@GENERATORS
@given(RADII, COUNTS, FACTORS, st.floats(0.1, 10.0))
@settings(max_examples=5, deadline=None)
def test_a_ring_of_another_size_has_the_same_shape(
    kind: str, radius: float, teeth: int, factor: float, scale: float
) -> None:
    deflection = factor * nominal(kind, radius, teeth)
    small, large = laid_on(kind, radius, deflection), laid_on(kind, scale * radius, scale * deflection)
    assert np.abs(large.x_mm / scale - small.x_mm).max() < 1e-8 * radius
    assert np.abs(large.normal_rad - small.normal_rad).max() < 1e-8
    assert np.abs(large.curvature_1_per_mm * scale - small.curvature_1_per_mm).max() < 1e-6 / radius
    assert large.force_factor == pytest.approx(small.force_factor, rel=1e-6, abs=1e-9)


@GENERATORS
@given(RADII, COUNTS, FACTORS)
@settings(max_examples=5, deadline=None)
def test_position_normal_and_curvature_tell_one_story(kind: str, radius: float, teeth: int, factor: float) -> None:
    shape = laid_on(kind, radius, factor * nominal(kind, radius, teeth))
    count = len(shape.arc_mm)
    step = 2 * math.pi * radius / count
    line = shape.x_mm + 1j * shape.y_mm
    along = (np.roll(line, -1) - line) / step
    halfway = shape.normal_rad + 0.5 * np.diff(shape.normal_rad, append=shape.normal_rad[0] + 2 * math.pi)
    assert np.abs(np.angle(along * np.exp(-1j * (halfway + math.pi / 2)))).max() < 2e-3 / radius * step * 10
    turn = np.diff(shape.normal_rad, append=shape.normal_rad[0] + 2 * math.pi)
    mean = (shape.curvature_1_per_mm + np.roll(shape.curvature_1_per_mm, -1)) / 2
    assert np.abs(turn / step - mean).max() < 2e-3 / radius
    assert turn.sum() == pytest.approx(2 * math.pi, abs=1e-9)


@GENERATORS
@given(RADII, COUNTS)
@settings(max_examples=4, deadline=None)
def test_more_push_goes_further_out_at_the_lobe_and_in_between(kind: str, radius: float, teeth: int) -> None:
    unit = nominal(kind, radius, teeth)
    shapes = [laid_on(kind, radius, factor * unit) for factor in (0.8, 1.0, 1.2)]
    out = [shape.deflection_mm for shape in shapes]
    in_between = [shape.minor_deflection_mm for shape in shapes]
    assert 0 < out[0] < out[1] < out[2]
    assert 0 > in_between[0] > in_between[1] > in_between[2]
