"""Print meshes of small bodies against areas by hand, and what a printer's numbers do to each kind of edge."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
import trimesh

from lobewright.errors import DesignFault
from lobewright.make.bodies import Body, Drill, Feature, Part, Slab, Turned, exact
from lobewright.make.outlines import circle, polygon
from lobewright.make.print_set import Allowance, drill_area, printed, printed_with_volume
from lobewright.make.solids import Mesh

pytestmark = pytest.mark.cad


def block(**more: object) -> Part:
    outer = exact(polygon([(-20, -10), (20, -10), (20, 10), (-20, 10)]))
    holes = (
        exact(circle(4.0, -10.0), Feature.SEAT),
        exact(circle(2.0, 0.0), Feature.BOLT_HOLE),
        exact(circle(3.0, 10.0)),
    )
    return Part("block", "block", 1, Body((Slab(outer, holes, 0.0, 5.0),)), "", **more)  # type: ignore[arg-type]


def cut(mesh: Mesh, height: float) -> shapely.Polygon:
    """The area of a mesh at a height, by another library."""
    whole = trimesh.Trimesh(mesh.corners_mm, mesh.triangles)
    lines = trimesh.intersections.mesh_plane(whole, [0, 0, 1], [0, 0, height])[:, :, :2]
    loops = shapely.get_parts(shapely.polygonize([shapely.line_merge(shapely.multilinestrings(np.round(lines, 6)))]))
    loops = sorted((shapely.Polygon(loop.exterior) for loop in loops), key=lambda one: one.area)
    return loops[-1].difference(shapely.union_all(loops[:-1]))


def test_each_kind_of_edge_moves_by_its_own_allowance() -> None:
    mesh = printed(
        block(), Allowance(contour_mm=0.1, seat_mm=0.3, bolt_hole_mm=-0.08, first_layer_mm=0.2, layer_mm=0.25)
    )
    area = cut(mesh, 2.5)
    assert area.bounds == pytest.approx((-19.9, -9.9, 19.9, 9.9), abs=1e-5)
    found = sorted((ring.bounds for ring in area.interiors), key=lambda row: row[0])
    wide = [row[2] - row[0] for row in found]
    assert wide == pytest.approx([8.0 + 0.2 + 0.3, 4.0 + 0.2 - 0.08, 6.0 + 0.2], abs=0.004)
    # Full spread in the first layer, half of it in the second.
    assert cut(mesh, 0.1).bounds[2] == pytest.approx(19.7, abs=1e-5)
    assert cut(mesh, 0.4).bounds[2] == pytest.approx(19.8, abs=1e-5)
    assert cut(mesh, 0.6).bounds[2] == pytest.approx(19.9, abs=1e-5)


def test_nothing_asked_for_leaves_the_design() -> None:
    part = block()
    mesh = printed(part, Allowance())
    assert mesh.open_edges == 0 and mesh.volume_mm3 == pytest.approx(part.body.volume_mm3, rel=1e-3)
    assert mesh.volume_mm3 == pytest.approx((800 - math.pi * (16 + 4 + 9)) * 5, rel=1e-3)


def test_a_part_that_is_turned_over_has_its_foot_on_the_other_side() -> None:
    low = Slab(exact(circle(10.0)), (), 0.0, 2.0)
    high = Slab(exact(circle(6.0)), (), 2.0, 5.0)
    part = Part("step", "step", 1, Body((low, high)), "", turned_over=True, support="under the rim")
    mesh = printed(part, Allowance(first_layer_mm=0.2, layer_mm=0.2))
    assert mesh.corners_mm[:, 2].min() == 0.0
    assert cut(mesh, 0.1).bounds[2] == pytest.approx(5.8, abs=0.004)
    assert cut(mesh, 2.9).bounds[2] == pytest.approx(6.0, abs=0.004)
    assert cut(mesh, 4.9).bounds[2] == pytest.approx(10.0, abs=0.004)


def test_a_wide_hole_across_the_layers_becomes_a_drop_and_a_narrow_one_stays_round() -> None:
    assert drill_area(6.0, 1.0).area == pytest.approx(9 * math.pi, rel=2e-3)
    drop = drill_area(8.0, 1.0)
    # A circle and, above its 45° points, the square corner less the segment it covers.
    assert drop.area == pytest.approx(16 * math.pi + 16 * (1 - math.pi / 4), rel=2e-3)
    assert drop.bounds[3] == pytest.approx(4 * math.sqrt(2), rel=1e-3)
    assert drill_area(8.0, -1.0).bounds[1] == pytest.approx(-4 * math.sqrt(2), rel=1e-3)
    outer = exact(polygon([(-10, -10), (10, -10), (10, 10), (-10, 10)]))
    body = Body((Slab(outer, (), 0.0, 20.0),), drills=(Drill((-10.0, 0.0, 10.0), 0.0, 8.0, 20.0),))
    mesh = printed(Part("cube", "cube", 1, body, ""), Allowance())
    assert mesh.volume_mm3 == pytest.approx(8000 - drop.area * 20, rel=1e-4)


def test_a_turned_profile_is_taken_in_along_the_radius_only() -> None:
    profile = polygon([(5.0, 0.0), (10.0, 0.0), (10.0, 8.0), (5.0, 8.0)])
    mesh = printed(Part("tube", "tube", 1, Body((Turned(profile),)), ""), Allowance(contour_mm=0.1))
    assert mesh.volume_mm3 == pytest.approx(math.pi * (9.9**2 - 5.1**2) * 8.0, rel=1e-3)
    grown = printed(Part("tube", "tube", 1, Body((Turned(profile),)), ""), Allowance(contour_mm=-0.1))
    assert grown.volume_mm3 == pytest.approx(math.pi * (10.1**2 - 4.9**2) * 8.0, rel=1e-3)


def test_a_wall_of_half_a_millimetre_is_still_there_on_the_bed() -> None:
    # A block of 40 by 20 mm with two windows and 0.5 mm between them: the spread of 0.2 mm would leave 0.1 mm of it.
    outer = exact(polygon([(-20, -10), (20, -10), (20, 10), (-20, 10)]))
    windows = [polygon([(x, -6), (x + 10, -6), (x + 10, 6), (x, 6)]) for x in (-10.25, 0.25)]
    part = Part("frame", "", 1, Body((Slab(outer, tuple(exact(one) for one in windows), 0.0, 3.0),)), "")
    allowance = Allowance(first_layer_mm=0.2, layer_mm=0.2, bead_mm=0.42)
    foot = cut(printed(part, allowance), 0.1)
    assert len(foot.interiors) == 2 and foot.bounds[2] == pytest.approx(19.8, abs=1e-5)
    wall = foot.intersection(shapely.box(-2.0, -1.0, 2.0, 1.0))
    assert wall.bounds[2] - wall.bounds[0] == pytest.approx(0.5, abs=1e-4)
    # Elsewhere the windows' edges are taken in all the same.
    assert min(ring.bounds[0] for ring in foot.interiors) == pytest.approx(-10.45, abs=1e-4)


def test_a_thin_tube_and_a_thin_ring_keep_a_bead_on_the_bed() -> None:
    allowance = Allowance(first_layer_mm=0.2, layer_mm=0.2, bead_mm=0.42)
    profile = polygon([(9.5, 0.0), (10.0, 0.0), (10.0, 8.0), (9.5, 8.0)])
    ring = Slab(exact(circle(10.0)), (exact(circle(9.5)),), 0.0, 8.0)
    for piece, least in ((Turned(profile), 0.42), (ring, 0.5)):
        foot = cut(printed(Part("tube", "", 1, Body((piece,)), ""), allowance), 0.1)
        assert (foot.bounds[2] - foot.bounds[0] - foot.interiors[0].bounds[2] + foot.interiors[0].bounds[0]) / 2 == (
            pytest.approx(least, abs=0.01)
        )


def test_what_an_allowance_takes_whole_is_refused() -> None:
    thin = Body((Slab(exact(circle(10.0)), (exact(circle(9.5)),), 0.0, 3.0),))
    with pytest.raises(DesignFault, match="a layer of thin falls apart or is lost: 0 pieces of 1"):
        printed(Part("thin", "thin", 1, thin, ""), Allowance(contour_mm=0.3))


def test_volumes_are_those_of_the_outlines_by_hand_and_not_the_meshs_own() -> None:
    profile = polygon([(5.0, 0.0), (10.0, 0.0), (7.0, 8.0), (5.0, 8.0)])
    pockets = (Slab(exact(circle(0.8, 6.0)), (), 0.0, 2.0),)
    tube = Part("tube", "", 1, Body((Turned(profile),), pockets), "")
    # A cone's stump less a cylinder, and a round pocket 2 mm deep.
    wanted = math.pi * 8 / 3 * (100 + 70 + 49) - math.pi * 200 - math.pi * 0.64 * 2
    mesh, told = printed_with_volume(tube, Allowance())
    assert told == pytest.approx(wanted, rel=1e-3) and mesh.volume_mm3 == pytest.approx(told, rel=1e-4)
    outer = exact(polygon([(-10, -10), (10, -10), (10, 10), (-10, 10)]))
    body = Body((Slab(outer, (), 0.0, 20.0),), drills=(Drill((-10.0, 0.0, 10.0), 0.0, 5.0, 20.0),))
    mesh, told = printed_with_volume(Part("cube", "", 1, body, ""), Allowance(contour_mm=0.1))
    # The hole's chords lie inside its arc by 0.2 % of its area.
    assert told == pytest.approx(19.8**2 * 20 - math.pi / 4 * 5.2**2 * 19.8, rel=3e-4)
    assert mesh.volume_mm3 == pytest.approx(told, rel=1e-4)
