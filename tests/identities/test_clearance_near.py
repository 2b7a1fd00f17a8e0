"""Gaps are asked only where they can be smallest, and coarsely while something moves: neither may change what is told."""

from __future__ import annotations

import functools

import numpy as np
import pytest
import shapely

from lobewright.assessment.mesh import Care
from lobewright.assessment.results import Assessment
from lobewright.assessment.run import assess
from lobewright.design.edits import Edit, apply
from lobewright.design.files import read
from lobewright.mesh import clearance
from lobewright.mesh.poses import one_lobe

EXAMPLES = ("azimuth_belt", "elevation_printed", "focus_steel")
COARSE_OFF_MM = 0.01
"""A quarter of the poses misses the smallest gap by less than this; found 0.005 mm over all starters."""


@functools.cache
def example(name: str) -> Assessment:
    return assess(read(f"examples/{name}.toml"))


@pytest.mark.parametrize("name", EXAMPLES)
@pytest.mark.parametrize("oversize_mm", [0.0, 0.3])
def test_poses_left_out_are_farther_than_those_that_count(name, oversize_mm):
    a = example(name)
    mesh = a.rings[0]
    points = clearance.grow(mesh.outline, oversize_mm)
    outlines = clearance.posed_outlines(points, one_lobe(a.set_shape, 4), mesh.outline.teeth, mesh.space.teeth)
    room = clearance._room(mesh.space)
    found = clearance._signed_gaps(room, outlines)
    asked = shapely.distance(shapely.linestrings(outlines), room.edge)
    close = found < found.min() + clearance.CLOSE_MM
    clear = found >= 0.0
    assert np.array_equal(found[close & clear], asked[close & clear])
    assert np.array_equal(clear, shapely.covers(room.polygon, shapely.linestrings(outlines)))
    assert np.all(found <= asked + 1e-12), "what is left out is bounded from below"


@pytest.mark.parametrize("name", EXAMPLES)
@pytest.mark.parametrize("clearance_mm", [0.06, 0.12])
def test_a_coarse_look_finds_the_gap_nearly(name, clearance_mm):
    design = apply(example(name).design, (Edit("rigid_ring[1].clearance_mm", clearance_mm),))
    fine, coarse = assess(design), assess(design, care=Care.COARSE)
    for one, other in zip(fine.rings, coarse.rings, strict=True):
        for case, quick in zip(one.cases, other.cases, strict=True):
            assert quick.poses_checked < 0.3 * case.poses_checked
            assert -1e-12 <= quick.smallest_gap_mm - case.smallest_gap_mm <= COARSE_OFF_MM
            assert quick.engagement_mm == case.engagement_mm and quick.minor_gap_mm == case.minor_gap_mm
