"""The rack model as files: everything told is there, true to scale, kerf in the paths, and twice the same."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import shapely

from lobewright.assessment.results import Assessment
from lobewright.assessment.run import assess
from lobewright.design.files import read
from lobewright.make.kerf import USUAL_KERF_MM
from lobewright.make.rack_files import LASER_BACK_MM, laid, write_rack
from lobewright.make.rack_parts import kit, kit_parts, sheet_heights
from lobewright.make.solids import Mesh

ezdxf = pytest.importorskip("ezdxf")
EXAMPLE = Path(__file__).parents[2] / "examples" / "elevation_printed.toml"


@cache
def assessed() -> Assessment:
    return assess(read(EXAMPLE))


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, tuple[str, ...]]:
    folder = tmp_path_factory.mktemp("rack")
    return folder, write_rack(assessed(), folder)


def test_what_is_told_is_there_and_nothing_else(written: tuple[Path, tuple[str, ...]]) -> None:
    folder, files = written
    found = {path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()}
    assert set(files) == found
    assert "not made" not in (folder / "rack/READ_ME.txt").read_text("utf-8")


def test_print_meshes_lie_on_the_bed(written: tuple[Path, tuple[str, ...]]) -> None:
    folder, _ = written
    process = assessed().design.process
    for path in sorted((folder / "rack/print").glob("*.stl")):
        raw = path.read_bytes()
        rows = np.frombuffer(raw[84:], dtype=[("n", "<f4", 3), ("v", "<f4", (3, 3)), ("s", "<u2")])
        size = rows["v"].reshape(-1, 3).max(axis=0)
        assert rows["v"].min() >= 0.0
        assert (size <= process.bed_mm).all(), path.name


def test_a_long_mesh_is_laid_across_the_bed() -> None:
    corners = np.array([[0.0, 0.0, 0.0], [260.0, 0.0, 0.0], [260.0, 10.0, 0.0], [0.0, 10.0, 5.0]])
    mesh = laid(Mesh(corners, np.array([[0, 1, 2]])), (220.0, 220.0))
    assert mesh.size_mm[0] == pytest.approx(270 / np.sqrt(2))
    assert np.linalg.norm(mesh.corners_mm[1] - mesh.corners_mm[0]) == pytest.approx(260.0)


def test_laser_outlines_are_grown_and_holes_shrunk_by_half_the_kerf(written: tuple[Path, tuple[str, ...]]) -> None:
    folder, _ = written
    k = kit(assessed(), sheet_heights(3.0), LASER_BACK_MM)
    rail = next(part for part in kit_parts(k) if part.name == "rail").body.pieces[0]
    drawing = ezdxf.readfile(folder / "rack/laser/rail.dxf").modelspace()
    (outer,) = drawing.query('LWPOLYLINE[layer=="CUT_OUTSIDE"]')
    wanted = rail.outer.contour.polygon().bounds
    found = shapely.Polygon([(x, y) for x, y, *_ in outer.get_points()]).bounds
    half = USUAL_KERF_MM / 2
    assert found == pytest.approx((wanted[0] - half, wanted[1] - half, wanted[2] + half, wanted[3] + half), abs=1e-6)
    holes = drawing.query('CIRCLE[layer=="CUT_INSIDE"]')
    assert {round(hole.dxf.radius, 6) for hole in holes} == {round(3.4 / 2 - half, 6)}
    assert len(drawing.query('LWPOLYLINE[layer=="ENGRAVE"]')) > 50


def test_paper_is_true_to_scale(written: tuple[Path, tuple[str, ...]]) -> None:
    folder, _ = written
    for name, width, height in (("a4", 297, 210), ("a3", 420, 297)):
        text = (folder / f"rack/paper/{name}.svg").read_text("utf-8")
        assert f'width="{width}mm" height="{height}mm" viewBox="0 -{height} {width} {height}"' in text
        box = re.search(rb"/MediaBox \[ 0 0 ([\d.]+) ([\d.]+) \]", (folder / f"rack/paper/{name}.pdf").read_bytes())
        assert box
        assert [float(v) for v in box.groups()] == pytest.approx([width * 72 / 25.4, height * 72 / 25.4], abs=0.01)
        bars = [tuple(map(float, run)) for run in re.findall(r'd="M([\d.]+) -([\d.]+)L([\d.]+) -([\d.]+)M', text)]
        assert any(b == d and c - a == pytest.approx(100.0, abs=0.02) for a, b, c, d in bars)


def test_the_same_drive_gives_the_same_bytes(written: tuple[Path, tuple[str, ...]], tmp_path: Path) -> None:
    folder, files = written
    write_rack(assessed(), tmp_path)
    for name in files:
        assert (folder / name).read_bytes() == (tmp_path / name).read_bytes(), name
