"""The same design gives the same bytes, in the same process and in another one."""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from export_drives import Made

from lobewright.make.formats import write_step, write_stl
from lobewright.make.parts import FIXED_STAMP, make_parts
from lobewright.make.parts_flexible import flexible_parts
from lobewright.make.solids import mesh, solid

pytestmark = pytest.mark.cad


def digests(folder: Path) -> dict[str, str]:
    files = (path for path in sorted(folder.rglob("*")) if path.is_file())
    return {str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest() for path in files}


def test_written_twice_the_files_are_equal(made: Callable[[str], Made], tmp_path: Path) -> None:
    one = made("belt")
    again = make_parts(one.assessment, tmp_path)
    first = digests(one.folder)
    assert len(first) >= 15
    assert digests(tmp_path) == first
    assert again == one.rows
    listed = {file for row in one.rows for file in row.files}
    assert listed == {name for name in first if not name.endswith("READ_ME.txt") and "plate" not in name}


SCRIPT = """
import sys
from pathlib import Path
from lobewright.make.bodies import Body, Part, Slab, exact
from lobewright.make.formats import write_3mf, write_dxf, write_step, write_stl
from lobewright.make.outlines import bolt_circle, notched_circle
from lobewright.make.part_files import drawing_of
from lobewright.make.solids import mesh, solid
slab = Slab(exact(notched_circle(9.0, 1.0)), tuple(exact(h) for h in bolt_circle(5.0, 2.0, 5)), 0.0, 2.0)
part = Part("plate", "plate", 1, Body((slab,)), "")
folder, one = Path(sys.argv[1]), solid(part.body, "plate")
write_step(folder / "a.step", one, "plate", "2000-01-01T00:00:00")
write_stl(folder / "a.stl", mesh(one, "plate"), "plate")
write_3mf(folder / "a.3mf", mesh(one, "plate"), "plate")
write_dxf(folder / "a.dxf", drawing_of(part), "plate")
"""


def test_other_processes_with_other_hash_seeds_write_the_same_files(tmp_path: Path) -> None:
    found = []
    for seed in ("1", "2"):
        folder = tmp_path / seed
        folder.mkdir()
        environment = {**os.environ, "PYTHONHASHSEED": seed}
        subprocess.run([sys.executable, "-c", SCRIPT, str(folder)], check=True, timeout=100, env=environment)
        found.append(digests(folder))
    assert len(found[0]) == 4 and found[0] == found[1]


def test_a_fused_part_repeats_and_a_stamp_changes_nothing_but_its_date(
    made: Callable[[str], Made], tmp_path: Path
) -> None:
    one = made("cup")
    (part,) = flexible_parts(one.assessment)
    again = solid(part.body, part.name)
    write_step(tmp_path / "again.step", again, part.name, FIXED_STAMP)
    write_step(tmp_path / "later.step", again, part.name, "2031-05-06T07:08:09")
    kept = one.file("flexible_cup", ".step").read_text("ascii")
    assert (tmp_path / "again.step").read_text("ascii") == kept
    assert (tmp_path / "later.step").read_text("ascii") == kept.replace(FIXED_STAMP, "2031-05-06T07:08:09")
    write_stl(tmp_path / "again.stl", mesh(again, part.name), part.name)
    assert (tmp_path / "again.stl").read_bytes() == one.file("flexible_cup", ".stl").read_bytes()
