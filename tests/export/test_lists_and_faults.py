"""The parts list, and what happens when something is missing or wrong."""

from __future__ import annotations

import re
import sys
import zipfile
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from export_drives import DRIVES, PRINTER, Made, assessed

from lobewright.design.files import design_from_data
from lobewright.errors import ConvergenceFault, DesignFault, PlatformFault
from lobewright.make import bom, parts
from lobewright.make.assembling import plain_placed
from lobewright.make.bodies import Body, Group, Slab, exact
from lobewright.make.outlines import circle
from lobewright.make.part_files import checked
from lobewright.make.solids import Mesh, kernel, mesh, solid
from lobewright.make.toothing import space_pitch

pytestmark = pytest.mark.cad


@pytest.mark.parametrize("drive", ["discs", "two_rows", "cup", "steel"])
def test_every_made_part_is_listed_once(made: Callable[[str], Made], drive: str) -> None:
    one = made(drive)
    a, placed = one.assessment, plain_placed(one.assessment)
    pieces = parts.pieces_to_print(a, placed)
    rows = [row for row in bom.bom_rows(a, placed, pieces=pieces) if row.made]
    nominal = {row.words for row in one.rows if row.folder == "nominal"}
    assert sorted(row.item for row in rows) == sorted(nominal)
    assert {row.how for row in rows} == {"made" if drive == "steel" else bom.SOLID_WORDS}
    # The file that the list names is there, with some ending.
    written = {f"parts/{file.rsplit('.', 1)[0]}" for row in one.rows for file in row.files}
    assert all(set(row.files) <= written for row in rows)


def test_without_the_library_one_sentence_says_what_to_install(monkeypatch: pytest.MonkeyPatch, tmp_path) -> None:
    monkeypatch.setitem(sys.modules, "build123d", None)
    with pytest.raises(PlatformFault, match=r'build123d.*install the extra "cad"') as caught:
        parts.require_cad()
    assert len(caught.value.sentences()) == 1
    with pytest.raises(PlatformFault):
        parts.make_parts(assessed("belt"), tmp_path / "none")
    assert not (tmp_path / "none").exists()


def test_spaces_that_meet_leave_nothing_to_make() -> None:
    space = assessed("belt").rings[0].space
    wide = replace(space, right_rad=space.right_rad + 0.6 * space.pitch_rad)
    with pytest.raises(DesignFault, match="meet at the tip circle"):
        space_pitch(wide)


def test_an_open_mesh_is_seen() -> None:
    corners = np.array([[0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]], dtype=float)
    faces = np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [0, 3, 2]])
    closed = Mesh(corners, faces)
    assert closed.open_edges == 0 and closed.volume_mm3 == pytest.approx(1 / 6)
    assert Mesh(corners, faces[:3]).open_edges == 3
    assert Mesh(corners, np.vstack((faces[:3], faces[3:, ::-1]))).open_edges > 0


def test_a_solid_of_the_wrong_volume_is_refused() -> None:
    slab = Slab(exact(circle(5.0)), (exact(circle(2.0)),), 0.0, 3.0)
    one = parts.Part("plate", "plate", 1, Body((slab,)), "")
    made_solid = solid(one.body, one.name)
    checked(one, made_solid.volume)
    thinner = replace(one, body=Body((replace(slab, top_mm=2.99),)))
    with pytest.raises(ConvergenceFault, match="volume of plate is not that of its outline"):
        checked(thinner, made_solid.volume)
    assert mesh(made_solid, "plate").volume_mm3 == pytest.approx(63 * np.pi, rel=2e-3)


def test_pieces_that_do_not_touch_are_refused() -> None:
    apart = Body(tuple(Slab(exact(circle(1.0, x)), (), 0.0, 1.0) for x in (0.0, 5.0)))
    with pytest.raises(ConvergenceFault, match=r"could not join the pieces of two \(found 2 solids\)"):
        solid(apart, "two")


def test_the_kernel_is_the_one_that_is_locked() -> None:
    assert kernel().__version__ == "0.13.0"


def test_the_print_note_tells_the_sign() -> None:
    def note(by: float) -> str:
        data = {"schema_version": 1, "name": "n", **DRIVES["belt"], "process": {**PRINTER, "xy_compensation_mm": by}}
        return parts.print_note(design_from_data(data).process, ())

    assert "shrunk by 0.05 mm" in note(0.05) and "0.1 mm smaller, holes 0.1 mm larger" in note(0.05)
    assert "grown by 0.05 mm" in note(-0.05) and "0.1 mm larger, holes 0.1 mm smaller" in note(-0.05)
    assert "compensation is 0" in note(0.0)


def test_what_prints_solid_is_told_beside_and_inside_each_file(made: Callable[[str], Made]) -> None:
    """Sliced at one setting, parts that bear load would come out thinly filled, and their strength is told for solid ones."""
    belt = made("belt")
    note = (belt.folder / "print" / "READ_ME.txt").read_text("utf-8")
    (solid_line,) = [line for line in note.splitlines() if line.startswith("  SOLID, 100 % filling: ")]
    assert "ring_base_print" in solid_line and "20 % filling, not solid" not in note
    for file in (belt.file("ring_base", "3mf", "print"), belt.folder / "print" / "plate_1_solid.3mf"):
        with zipfile.ZipFile(file) as pack:
            told = re.findall('name="Description">([^<]*)<', pack.read("3D/3dmodel.model").decode("utf-8"))
        assert len(told) == 1 and "SOLID, 100 % filling" in told[0], file.name
    slab = Slab(exact(circle(5.0)), (), 0.0, 3.0)
    rows = [parts.Part(group, group, 1, Body((slab,)), "", group=group) for group in (Group.FRAME, Group.GENERATOR)]
    note = parts.print_note(belt.assessment.design.process, rows)
    assert "SOLID, 100 % filling: generator_print\n" in note and "20 % filling, not solid: frame_print\n" in note
