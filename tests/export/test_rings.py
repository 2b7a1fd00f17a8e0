"""Rigid rings, read back by readers that did not write them, against the generated spaces and the standard's tables."""

from __future__ import annotations

import math
import re
from collections.abc import Callable

import ezdxf
import lib3mf
import numpy as np
import pytest
import shapely
import trimesh
from export_drives import Made, arcs_to_points

from lobewright.assessment.results import RingMesh
from lobewright.make.parts_rings import dowel_pocket_mm

pytestmark = pytest.mark.cad

ISO_273_MEDIUM = {"M3": 3.4, "M4": 4.5, "M5": 5.5}
RINGS = [("belt", "base"), ("belt", "output"), ("two_rows", "output"), ("cup", "housing"), ("steel", "housing")]


def ring_of(made: Made, name: str) -> tuple[RingMesh, float, float]:
    """Mesh, width and rim of a ring."""
    index = [ring.name for ring in made.assessment.design.rigid_ring].index(name)
    ring = made.assessment.design.rigid_ring[index]
    return made.assessment.rings[index], ring.width_mm, ring.rim_mm


def hole_polygon(mesh: RingMesh) -> shapely.Polygon:
    """The ring's toothed hole from its generated space alone: points turned by complex numbers."""
    space = mesh.space.outline_mm() @ np.array([1, 1j])
    step = 2 * math.pi / mesh.space.teeth
    gap = np.linspace(mesh.space.right_rad[0], mesh.space.left_rad[0] + step, 40)[1:-1]
    pitch = np.concatenate((space, mesh.space.tip_radius_mm * np.exp(1j * gap)))
    whole = np.concatenate([pitch * np.exp(1j * step * k) for k in range(mesh.space.teeth)])
    return shapely.Polygon(np.column_stack((whole.real, whole.imag)))


@pytest.mark.parametrize(("drive", "name"), RINGS)
def test_stl_is_closed_and_as_large_as_the_outline_times_the_width(
    made: Callable[[str], Made], drive: str, name: str
) -> None:
    one = made(drive)
    mesh, width, rim = ring_of(one, name)
    found = trimesh.load_mesh(one.file(f"ring_{name}", ".stl"))
    assert found.is_watertight and found.is_winding_consistent
    outer = mesh.space.root_radius_mm + rim
    holes = 6 * math.pi * 1.7**2
    notch = math.pi * 1.0**2 / 2
    ring = next(row for row in one.assessment.design.rigid_ring if row.name == name)
    dowels = 2 * math.pi / 4 * 3.0**2 * dowel_pocket_mm(ring)
    expected = (math.pi * outer**2 - hole_polygon(mesh).area - holes - notch) * width - dowels
    assert found.volume == pytest.approx(expected, rel=0.002)
    low, high = found.bounds
    assert low[2] == pytest.approx(0.0, abs=1e-6) and high[2] == pytest.approx(width, abs=1e-5)
    assert high[1] == pytest.approx(outer, abs=0.004) and low[0] == pytest.approx(-outer, abs=0.004)
    row = one.row(f"ring_{name}")
    assert row.size_mm == pytest.approx(tuple(found.extents), abs=1e-4)
    assert row.volume_mm3 == pytest.approx(expected, rel=0.002)


def test_3mf_holds_the_same_closed_mesh_in_millimetres(made: Callable[[str], Made]) -> None:
    one = made("belt")
    model = lib3mf.Wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromFile(str(one.file("ring_base", ".3mf")))
    assert reader.GetWarningCount() == 0
    assert model.GetUnit() == lib3mf.ModelUnit.MilliMeter
    objects = model.GetMeshObjects()
    assert objects.Count() == 1 and objects.MoveNext()
    mesh = objects.GetCurrentMeshObject()
    assert mesh.IsManifoldAndOriented()
    assert mesh.GetTriangleCount() == len(trimesh.load_mesh(one.file("ring_base", ".stl")).faces)


@pytest.mark.parametrize(("drive", "name"), RINGS)
def test_drawn_arcs_follow_the_generated_space(made: Callable[[str], Made], drive: str, name: str) -> None:
    one = made(drive)
    mesh, _, rim = ring_of(one, name)
    drawing = ezdxf.readfile(one.file(f"ring_{name}", ".dxf"))
    assert not drawing.audit().errors
    assert drawing.header["$INSUNITS"] == 4
    (teeth,) = drawing.modelspace().query('LWPOLYLINE[layer=="TEETH"]')
    rows = [(x, y, bulge) for x, y, bulge in teeth.get_points("xyb")]
    assert teeth.closed and len(rows) % mesh.space.teeth == 0
    assert len(rows) // mesh.space.teeth <= 12
    assert len(rows) // mesh.space.teeth == one.row(f"ring_{name}").edges_per_space
    drawn = arcs_to_points(rows, 60)
    target = shapely.get_coordinates(shapely.segmentize(hole_polygon(mesh), 0.02))[:-1]
    worst = max(farthest(drawn, target), farthest(target, drawn))
    assert worst <= 0.002
    assert worst == pytest.approx(one.row(f"ring_{name}").fit_error_mm, abs=3e-4)
    circles = drawing.modelspace().query('CIRCLE[layer=="HOLES"]')
    assert len(circles) == 6
    for hole in circles:
        assert 2 * hole.dxf.radius == pytest.approx(ISO_273_MEDIUM["M3"], abs=1e-9)
        middle = mesh.space.root_radius_mm + rim / 2
        assert math.hypot(*hole.dxf.center.vec2) == pytest.approx(middle, abs=1e-9)


def slice_of(mesh: trimesh.Trimesh, height: float) -> list[shapely.Polygon]:
    """Outlines of a mesh cut level at a height, filled, the smallest first."""
    cut = trimesh.intersections.mesh_plane(mesh, [0, 0, 1], [0, 0, height])[:, :, :2]
    lines = shapely.linestrings(np.round(cut, 5))
    loops = shapely.get_parts(shapely.polygonize([shapely.line_merge(shapely.multilinestrings(lines))]))
    return sorted((shapely.Polygon(loop.exterior) for loop in loops), key=lambda one: one.area)


def farthest(points: np.ndarray, loop: np.ndarray) -> float:
    """Largest distance of points from a closed line, each from its nearest piece."""
    pieces = shapely.linestrings(np.stack((loop, np.roll(loop, -1, axis=0)), axis=1))
    _, off = shapely.STRtree(pieces).query_nearest(shapely.points(points), return_distance=True, all_matches=False)
    assert len(off) == len(points)
    return float(off.max())


def read_step(path: str):
    """The one solid in a STEP file, by the kernel's plain reader."""
    from OCP.STEPControl import STEPControl_Reader

    reader = STEPControl_Reader()
    assert int(reader.ReadFile(path)) == 1
    reader.TransferRoots()
    return reader.OneShape()


@pytest.mark.parametrize("drive", ["belt", "steel"])
def test_step_reads_back_as_one_valid_solid_with_round_holes(made: Callable[[str], Made], drive: str) -> None:
    import build123d

    one = made(drive)
    name = "ring_base" if drive == "belt" else "ring_housing"
    path = one.file(name, ".step")
    solids = build123d.Shape.cast(read_step(str(path))).solids()
    assert len(solids) == 1 and solids[0].is_valid
    assert solids[0].volume == pytest.approx(one.row(name).expected_volume_mm3, rel=2e-4)
    round_faces = solids[0].faces().filter_by(build123d.GeomType.CYLINDER)
    holes = [face for face in round_faces if abs(face.geom_adaptor().Cylinder().Radius() - 1.7) < 1e-6]
    assert len(holes) == 6
    assert path.stat().st_size <= 5_000_000
    text = path.read_text("ascii")
    assert re.search(r"FILE_NAME\('" + name + r"','1980-01-01T00:00:00'", text)
    assert "SI_UNIT(.MILLI.,.METRE.)" in text


def test_a_narrow_rim_leaves_the_holes_out_and_says_so(made: Callable[[str], Made]) -> None:
    one = made("discs")
    note = one.row("ring_base").note
    assert "left out" in note and "rim of 5.8 mm" in note and "rim_mm is 3 mm" in note
    drawing = ezdxf.readfile(one.file("ring_base", ".dxf"))
    assert not drawing.modelspace().query("CIRCLE")


@pytest.mark.parametrize(("drive", "by"), [("belt", 0.05)])
def test_print_files_have_their_material_shrunk_by_the_compensation(
    made: Callable[[str], Made], drive: str, by: float
) -> None:
    one = made(drive)
    mesh, width, rim = ring_of(one, "base")
    found = trimesh.load_mesh(one.file("ring_base", ".stl", "print"))
    assert found.is_watertight and found.bounds[0][2] == pytest.approx(0.0, abs=1e-6)
    assert "print" in one.file("ring_base", ".stl", "print").name
    assert found.bounds[1][1] == pytest.approx(mesh.space.root_radius_mm + rim - by, abs=0.004)
    outlines = slice_of(found, width / 2)
    # Two dowel holes, six bolt holes, the teeth, the rim.
    assert len(outlines) == 10
    for hole in outlines[2:8]:
        assert 2 * math.sqrt(hole.area / math.pi) == pytest.approx(3.4 + 2 * by, abs=0.005)
    wanted = hole_polygon(mesh).buffer(by, quad_segs=64)
    assert outlines[8].area == pytest.approx(wanted.area, rel=1e-4)
    assert outlines[8].exterior.hausdorff_distance(wanted.exterior) < 0.006
