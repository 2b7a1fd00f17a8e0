"""Every STL and 3MF of one small drive read by libraries of other origin, and the nominal STL held against the STEP.

STL and 3MF are our own writers'. trimesh reads the STL, lib3mf the 3MF; trimesh judges the surface by its edges, manifold3d takes
its corners in single precision, as an STL has them, and takes in only what bounds a solid. STEP is Open CASCADE's, read by the
plain text reader beside this file: no CAD kernel on the reading side.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import lib3mf
import manifold3d
import numpy as np
import pytest
import trimesh
from export_drives import Made
from step_text import StepText

pytestmark = pytest.mark.cad

DRIVE = "discs"
MOST_HANDLES = 100
"""A ring has one handle for its bore and one for each bolt hole: far below this. A torn mesh that was patched has hundreds."""


def read(path: Path) -> trimesh.Trimesh:
    """STL by trimesh, which joins corners that are the same; 3MF by lib3mf, with corners and triangles as they stand."""
    if path.suffix == ".stl":
        return trimesh.load_mesh(path)
    model = lib3mf.Wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromFile(str(path))
    assert reader.GetWarningCount() == 0
    assert model.GetUnit() == lib3mf.ModelUnit.MilliMeter
    objects = model.GetMeshObjects()
    assert objects.MoveNext()
    one = objects.GetCurrentMeshObject()
    assert not objects.MoveNext()
    corners = np.array([list(corner.Coordinates) for corner in one.GetVertices()])
    rows = np.array([list(row.Indices) for row in one.GetTriangleIndices()])
    return trimesh.Trimesh(corners, rows, process=False)


def solid_of(tri: trimesh.Trimesh) -> manifold3d.Manifold:
    corners, rows = np.asarray(tri.vertices, np.float32), np.asarray(tri.faces, np.uint32)
    return manifold3d.Manifold(manifold3d.Mesh(corners, rows))


def faults(path: Path) -> list[str]:
    """What either library finds wrong with a file."""
    tri = read(path)
    found = []
    if not tri.is_watertight:
        found.append("not watertight")
    if not tri.is_winding_consistent:
        found.append("winding")
    if tri.volume <= 0:
        found.append(f"volume {tri.volume:g}")
    body = solid_of(tri)
    if body.status() != manifold3d.Error.NoError:
        return [*found, str(body.status())]
    if len(body.decompose()) != 1:
        found.append(f"{len(body.decompose())} pieces")
    # Euler: V − E + F = 2 − 2 g for one closed piece, E = 3 F / 2; trimesh's count against manifold3d's.
    handles = (2 - tri.euler_number) / 2
    if body.genus() != handles or not 0 <= handles <= MOST_HANDLES:
        found.append(f"{body.genus()} handles and by Euler's formula {handles:g}")
    if abs(body.volume() - tri.volume) > 1e-5 * abs(tri.volume):
        found.append(f"volumes {body.volume():g} and {tri.volume:g}")
    return found


def test_every_written_mesh_bounds_a_solid(made: Callable[[str], Made]) -> None:
    drive = made(DRIVE)
    files = {
        (row.folder, file): drive.folder / file
        for row in drive.rows
        for file in row.files
        if file.endswith((".stl", ".3mf"))
    }
    assert {folder for folder, _ in files} == {"nominal", "print", "trial_sector"}
    assert {path.suffix for path in files.values()} == {".stl", ".3mf"} and len(files) >= 14
    found = {file: faults(path) for (_, file), path in files.items()}
    assert not {file: what for file, what in found.items() if what}


def test_3mf_and_stl_of_a_part_hold_the_same_volume(made: Callable[[str], Made]) -> None:
    drive = made(DRIVE)
    for row in drive.rows:
        stl, threemf = (drive.file(row.name, ending, row.folder) for ending in (".stl", ".3mf"))
        assert read(threemf).volume == pytest.approx(read(stl).volume, rel=1e-5), row.name


def test_nominal_stl_holds_the_volume_of_the_step(made: Callable[[str], Made]) -> None:
    drive = made(DRIVE)
    nominal = [row for row in drive.rows if row.folder == "nominal"]
    assert len(nominal) >= 4
    for row in nominal:
        step = StepText(drive.file(row.name, ".step")).volume_mm3(row.name)
        assert step > 0
        assert read(drive.file(row.name, ".stl")).volume == pytest.approx(step, rel=2e-3), row.name


@pytest.mark.parametrize("harm", ["left_out", "turned", "all_turned", "double"])
def test_a_harmed_mesh_is_found(made: Callable[[str], Made], tmp_path: Path, harm: str) -> None:
    """What the tests above look for does come."""
    raw = made(DRIVE).file("ring_base", ".stl").read_bytes()
    rows = np.frombuffer(raw[84:], dtype=[("n", "<f4", 3), ("v", "<f4", (3, 3)), ("s", "<u2")]).copy()
    if harm == "left_out":
        rows = rows[:-1]
    elif harm == "double":
        rows = np.concatenate((rows, rows[:1]))
    else:
        some = slice(0, 1) if harm == "turned" else slice(None)
        rows["v"][some] = rows["v"][some][:, ::-1]
    path = tmp_path / "harmed.stl"
    path.write_bytes(raw[:80] + np.uint32(len(rows)).tobytes() + rows.tobytes())
    assert faults(path)
