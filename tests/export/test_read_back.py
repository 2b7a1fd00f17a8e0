"""Every format that is written, read back by a reader of another origin and measured against standards' tables.

Who writes and who reads: STEP by Open CASCADE, read by the plain text reader beside this file, which knows no kernel and finds
volumes by Green and Gauss; STL and 3MF by our own writers from Open CASCADE's triangles, read by trimesh, manifold3d and lib3mf;
DXF by ezdxf, read by GDAL; glTF by our own writer, read by pygltflib with numpy and by trimesh; PDF by reportlab, read by pdfium
and pypdf; SVG by our own painter, read by the parser of XML.

Tables: ISO 273 (medium), ISO 4032 and ISO 15 boundary sizes, typed here again and not taken from the catalogue.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import cache
from pathlib import Path
from xml.etree import ElementTree

import lib3mf
import manifold3d
import numpy as np
import pygltflib
import pyogrio
import pypdf
import pypdfium2
import pytest
import shapely
import trimesh
from export_drives import DRIVES, PRINTER, assessed
from step_text import StepText

from lobewright.assessment.results import Assessment
from lobewright.assessment.run import assess
from lobewright.design.files import design_from_data
from lobewright.make.assembling import assembled, not_assembled
from lobewright.make.assembly_files import standing, write_assembly_glb, write_assembly_step
from lobewright.make.bodies import Group, Part
from lobewright.make.drawing import write_drawings
from lobewright.make.formats import write_3mf, write_dxf, write_step, write_stl
from lobewright.make.part_files import drawing_of
from lobewright.make.parts_generator import generator_parts
from lobewright.make.placing import Place, Placed
from lobewright.make.solids import mesh, solid

pytestmark = pytest.mark.cad

STAMP = "1980-01-01T00:00:00"
WIDE_MM, RIM_MM = 4.5, 9.0
ISO_273_MEDIUM = {"M3": 3.4, "M4": 4.5, "M5": 5.5}
ISO_4032_FLATS = {"M3": 5.5, "M4": 7.0, "M5": 8.0, "M6": 10.0, "M8": 13.0}
ISO_15 = {"MR105": (5.0, 10.0, 4.0), "61804": (20.0, 32.0, 7.0), "608": (8.0, 22.0, 7.0)}


@cache
def drive_of(drive: str) -> Assessment:
    """A drive of the export tests; the belt's with rings wide enough to be bolted into a frame."""
    if drive != "belt":
        return assessed(drive)
    rings = [
        {"name": name, "teeth": teeth, "width_mm": WIDE_MM, "offset_mm": off, "clearance_mm": 0.12, "rim_mm": RIM_MM}
        for name, teeth, off in (("base", 62, 0.0), ("output", 60, WIDE_MM + 1.0))
    ]
    data = {"schema_version": 1, "name": "invented belt in a frame", "process": PRINTER}
    return assess(design_from_data(data | DRIVES["belt"] | {"rigid_ring": rings}))


@cache
def placed_parts(drive: str) -> tuple[Placed, ...]:
    assert not not_assembled(drive_of(drive))
    return assembled(drive_of(drive))


@cache
def part(drive: str, name: str) -> Part:
    if name == "disc":
        return next(one for one in generator_parts(drive_of(drive)) if one.name == name)
    return next(one.part for one in placed_parts(drive) if one.part.name == name)


Written = Callable[[str, str], dict[str, Path]]


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Written:
    """One part in STEP, STL and 3MF, and DXF where it is flat."""

    @cache
    def write(drive: str, name: str) -> dict[str, Path]:
        folder = tmp_path_factory.mktemp(f"{drive}_{name}")
        one = part(drive, name)
        made = solid(one.body, name)
        closed = mesh(made, name)
        files = {ending: folder / f"{name}.{ending}" for ending in ("step", "stl", "3mf", "dxf")}
        write_step(files["step"], made, name, STAMP)
        write_stl(files["stl"], closed, name)
        write_3mf(files["3mf"], closed, name)
        if one.drawn:
            write_dxf(files["dxf"], drawing_of(one), name)
        return files

    return write


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """The belt drive as STEP and as glTF."""
    folder = tmp_path_factory.mktemp("whole")
    stands = standing(drive_of("belt"), placed_parts("belt"))
    step, glb = folder / "drive.step", folder / "drive.glb"
    write_assembly_step(step, "belt drive", stands, STAMP)
    write_assembly_glb(glb, "belt drive", stands)
    return step, glb


def triangles(path: Path) -> trimesh.Trimesh:
    found = trimesh.load_mesh(path)
    assert found.is_watertight
    return found


@pytest.mark.parametrize(
    ("drive", "name"), [("belt", "ring_base"), ("belt", "carrier"), ("discs", "disc"), ("belt", "crank")]
)
def test_step_and_stl_hold_the_same_volume(written: Written, drive: str, name: str) -> None:
    """Open CASCADE's STEP by the plain reader, STL by trimesh and manifold3d."""
    files = written(drive, name)
    step = StepText(files["step"]).volume_mm3(name)
    tri = triangles(files["stl"])
    assert tri.volume == pytest.approx(step, rel=2e-3)
    solid_ = manifold3d.Manifold(
        manifold3d.Mesh(np.asarray(tri.vertices, np.float32), np.asarray(tri.faces, np.uint32))
    )
    assert solid_.status() == manifold3d.Error.NoError
    assert solid_.volume() == pytest.approx(step, rel=2e-3)
    assert step == pytest.approx(part(drive, name).body.volume_mm3, rel=2e-4)


def test_a_ring_has_a_hole_for_its_teeth_and_six_for_its_bolts(written: Written) -> None:
    """manifold3d counts the handles of the STL."""
    tri = triangles(written("belt", "ring_base")["stl"])
    solid_ = manifold3d.Manifold(
        manifold3d.Mesh(np.asarray(tri.vertices, np.float32), np.asarray(tri.faces, np.uint32))
    )
    assert solid_.genus() == 7


def test_bolt_holes_are_iso_273_in_every_format(written: Written) -> None:
    """STEP by the plain reader, DXF by GDAL, 3MF by lib3mf and a level cut."""
    files = written("belt", "ring_base")
    wanted = ISO_273_MEDIUM["M3"]
    across = 2 * (drive_of("belt").rings[0].space.root_radius_mm + RIM_MM / 2)
    step = [one for one in StepText(files["step"]).cylinders("ring_base") if one[0] == wanted]
    assert len(step) == 6
    assert [2 * math.hypot(x, y) for _, x, y in step] == pytest.approx([across] * 6, abs=1e-5)
    assert [2 * math.sqrt(area / math.pi) for area in drawn(files["dxf"])["HOLES"]] == pytest.approx(
        [wanted] * 6, abs=2e-4
    )
    corners, _ = lib3mf_mesh(files["3mf"])
    far = np.hypot(corners[:, 0] - step[0][1], corners[:, 1] - step[0][2])
    assert 2 * far.min() == pytest.approx(wanted, abs=2e-3)
    assert np.count_nonzero(np.abs(2 * far - wanted) < 2e-3) >= 24


def drawn(path: Path) -> dict[str, list[float]]:
    """Areas in mm² of closed outlines by layer, by GDAL's reader."""
    pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": "0.5", "DXF_CLOSED_LINE_AS_POLYGON": "TRUE"})
    meta, _, geometry, fields = pyogrio.raw.read(path)
    layers = fields[list(meta["fields"]).index("Layer")]
    found: dict[str, list[float]] = {}
    for layer, wkb in zip(layers, geometry, strict=True):
        line = shapely.from_wkb(wkb)
        area = line.area if line.area else shapely.Polygon(shapely.get_coordinates(line)).area
        found.setdefault(layer, []).append(float(area))
    return found


def test_dxf_outlines_hold_the_area_of_the_step_s_face(written: Written) -> None:
    """DXF of ezdxf by GDAL, against a level face of Open CASCADE's STEP by the plain reader."""
    files = written("belt", "ring_base")
    areas = drawn(files["dxf"])
    assert set(areas) == {"OUTLINE", "TEETH", "HOLES"} and len(areas["TEETH"]) == 1
    # One face has pockets for nuts, the other the pockets of two dowels of 3 mm, which no flat drawing shows.
    face = max(abs(area) for _, area in StepText(files["step"]).levels("ring_base"))
    dowels = 2 * math.pi / 4 * 3.0**2
    assert areas["OUTLINE"][0] - areas["TEETH"][0] - sum(areas["HOLES"]) - dowels == pytest.approx(face, rel=2e-4)


def lib3mf_mesh(path: Path) -> tuple[np.ndarray, np.ndarray]:
    model = lib3mf.Wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromFile(str(path))
    assert reader.GetWarningCount() == 0 and model.GetUnit() == lib3mf.ModelUnit.MilliMeter
    objects = model.GetMeshObjects()
    assert objects.MoveNext()
    found = objects.GetCurrentMeshObject()
    corners = np.array([list(one.Coordinates) for one in found.GetVertices()])
    return corners, np.array([list(one.Indices) for one in found.GetTriangleIndices()])


def test_3mf_and_stl_are_the_same_surface(written: Written) -> None:
    """lib3mf against trimesh."""
    files = written("belt", "carrier")
    corners, rows = lib3mf_mesh(files["3mf"])
    tri = triangles(files["stl"])
    assert len(rows) == len(tri.faces)
    assert trimesh.Trimesh(corners, rows).volume == pytest.approx(tri.volume, rel=1e-6)


def test_a_bearing_seat_is_the_bearing_s_outer_diameter(written: Written) -> None:
    """STEP and a level cut of the STL: 61804 is 20 × 32 × 7 mm (ISO 15)."""
    files = written("discs", "disc")
    bore, outer, wide = ISO_15["61804"]
    step = StepText(files["step"])
    seat = [one for one in step.cylinders("disc") if one[0] == outer]
    assert seat == [(outer, 0.0, 0.0)]
    heights = sorted({z for z, _ in step.levels("disc")})
    assert len(heights) == 3 and heights[2] - heights[1] >= wide
    tri = triangles(files["stl"])
    cut = trimesh.intersections.mesh_plane(tri, [0, 0, 1], [0, 0, heights[2] - 1.0])[:, :, :2]
    radius = np.hypot(*cut.reshape(-1, 2).T)
    assert 2 * radius.min() == pytest.approx(outer, abs=0.008)
    assert bore < 2 * radius.min()


def test_a_nut_drops_into_its_pocket_and_cannot_turn(written: Written) -> None:
    """Across flats of the axle nut's pocket in the crank from the STEP's planes: ISO 4032, M8 is 13 mm."""
    planes = StepText(written("belt", "crank")["step"]).upright_planes("crank")
    flats = ISO_4032_FLATS["M8"]
    pairs = [
        -(one + other)
        for k, (nx, ny, one) in enumerate(planes)
        for mx, my, other in planes[k + 1 :]
        if nx * mx + ny * my < -1 + 1e-9 and flats - 0.5 < -(one + other) < flats + 1.0
    ]
    assert len(pairs) == 3
    # It drops in, and its corners (13 mm / cos 30°) stay wider than the flats.
    assert all(flats < width < flats + 0.5 for width in pairs)
    assert max(pairs) < flats / math.cos(math.pi / 6)


def test_the_assembly_names_its_parts_and_stands_them_where_they_belong(whole: tuple[Path, Path]) -> None:
    """STEP of Open CASCADE by the plain reader: products, places, colours, bought sizes."""
    step = StepText(whole[0])
    placed = placed_parts("belt")
    places: dict[str, list[Place]] = {}
    for one in placed:  # a part that goes in in several steps stands in several rows
        places.setdefault(one.part.name, []).extend(one.places)
    del places["belt"]
    wanted = {name: len(spots) for name, spots in places.items()} | {"flexible_ring_as_set": 1}
    assert sorted(step.breps) == sorted(wanted)
    count = {name: sum(used == name for used, *_ in step.uses) for name in wanted}
    assert count == wanted
    assert "FILE_NAME('belt drive','1980-01-01T00:00:00'" in step.head
    for name, spots in places.items():
        stands = sorted(tuple(round(v, 6) + 0.0 for v in origin) for used, origin, _, _ in step.uses if used == name)
        ours = sorted(tuple(round(v, 6) + 0.0 for v in (p.x_mm, p.y_mm, p.z_mm)) for p in spots)
        assert np.allclose(stands, ours, atol=2e-6), name
    bore, outer, _ = ISO_15["MR105"]
    assert {size for size, _, _ in step.cylinders("roller")} == {bore, outer}
    width = sorted(z for z, _ in step.levels("roller"))
    assert width[-1] - width[0] == pytest.approx(4.0)


def test_colours_tell_what_a_part_belongs_to(whole: tuple[Path, Path]) -> None:
    """Colours in the STEP by the plain reader, in the glTF by pygltflib: one for each group, alike in both."""
    step, gltf = StepText(whole[0]), pygltflib.GLTF2.load(str(whole[1]))
    groups: dict[Group, set[str]] = {}
    shown = {
        gltf.meshes[k].name: gltf.materials[gltf.meshes[k].primitives[0].material].name for k in range(len(gltf.meshes))
    }
    for one in placed_parts("belt"):
        name = one.part.name if one.part.name != "belt" else "flexible_ring_as_set"
        (colour,) = step.colours[step.breps[name].number]
        assert shown[name] == colour
        groups.setdefault(one.part.group, set()).add(colour)
    assert all(len(found) == 1 for found in groups.values())
    assert len({next(iter(found)) for found in groups.values()}) == len(groups) >= 5


def test_gltf_is_in_metres_upright_and_holds_every_part(whole: tuple[Path, Path]) -> None:
    """pygltflib and numpy for the bytes, trimesh for the volumes, against the STEP by the plain reader."""
    gltf = pygltflib.GLTF2.load(str(whole[1]))
    data = gltf.binary_blob()
    step = StepText(whole[0])
    ring = next(k for k, one in enumerate(gltf.meshes) if one.name == "ring_base")
    accessor = gltf.accessors[gltf.meshes[ring].primitives[0].attributes.POSITION]
    view = gltf.bufferViews[accessor.bufferView]
    corners = np.frombuffer(data, np.float32, 3 * accessor.count, view.byteOffset).reshape(-1, 3)
    outer = drive_of("belt").rings[0].space.root_radius_mm + RIM_MM
    assert np.hypot(corners[:, 0], corners[:, 1]).max() == pytest.approx(outer / 1000, abs=1e-6)
    assert np.ptp(corners[:, 2]) == pytest.approx(WIDE_MM / 1000)
    assert accessor.max == pytest.approx(corners.max(axis=0).tolist()) and accessor.min[2] == pytest.approx(0.0)
    nodes = [node for node in gltf.nodes if node.mesh is not None]
    assert len(nodes) == len(step.uses) and len({node.name for node in nodes}) == len(nodes)
    scene = trimesh.load_scene(whole[1])
    assert scene.geometry["roller"].is_watertight
    # 20 µm chords on a bearing of 10 mm lose some of it.
    assert scene.geometry["roller"].volume * 1e9 == pytest.approx(step.volume_mm3("roller"), rel=0.01)
    assert scene.geometry["ring_base"].volume * 1e9 == pytest.approx(step.volume_mm3("ring_base"), rel=0.002)
    spots = np.array([scene.graph.get(node.name)[0][:3, 3] for node in nodes if node.name.startswith("roller")]) * 1000
    angles = np.degrees(np.unique(np.round(np.arctan2(np.abs(spots[:, 1]), np.abs(spots[:, 0])), 6)))
    assert angles == pytest.approx([25.0], abs=1e-3)


def test_the_same_assembly_gives_the_same_bytes(whole: tuple[Path, Path], tmp_path: Path) -> None:
    stands = standing(drive_of("belt"), placed_parts("belt"))
    write_assembly_step(tmp_path / "drive.step", "belt drive", stands, STAMP)
    write_assembly_glb(tmp_path / "drive.glb", "belt drive", stands)
    assert (tmp_path / "drive.step").read_bytes() == whole[0].read_bytes()
    assert (tmp_path / "drive.glb").read_bytes() == whole[1].read_bytes()


def test_sheets_read_back_as_pages_with_their_words(tmp_path: Path) -> None:
    """PDF of reportlab by pdfium and by pypdf, SVG of our painter by the parser of XML."""
    few = tuple(one for one in placed_parts("belt") if one.part.name in ("ring_base", "carrier"))
    files = write_drawings(drive_of("belt"), few, tmp_path, STAMP)
    pdfs = [tmp_path / name for name in files if name.endswith(".pdf")]
    assert pdfs
    for path in pdfs:
        document = pypdfium2.PdfDocument(path)
        pages = pypdf.PdfReader(path).pages
        assert len(document) == len(pages) >= 1
        sizes = {
            tuple(sorted(round(side * 25.4 / 72) for side in document[k].get_size())) for k in range(len(document))
        }
        # ISO 216: A4 and A3.
        assert sizes <= {(210, 297), (297, 420)}
        text = " ".join(document[k].get_textpage().get_text_range() for k in range(len(document)))
        assert f"{ISO_273_MEDIUM['M3']:g}" in text and "3.4" in " ".join(page.extract_text() for page in pages)
    drawings = [tmp_path / name for name in files if name.endswith(".svg")]
    for path in drawings:
        root = ElementTree.parse(path).getroot()
        assert root.tag.endswith("svg") and root.get("viewBox")


def test_turned_over_stands_on_its_other_face() -> None:
    assert Place(z_mm=4.0, over=True).of(1.0, 2.0, 3.0) == (1.0, -2.0, 1.0)
