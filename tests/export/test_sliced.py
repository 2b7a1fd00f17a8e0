"""Every print file of the examples, sliced by a program that did not write it.

The slicer of the system is run without a window; where it is missing the tests are skipped with that word, and in CI they fail
instead. Infill is left out, since it tells nothing of the part.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from lobewright.assessment.run import assess
from lobewright.design import model as m
from lobewright.design.files import read
from lobewright.make.formats import write_stl
from lobewright.make.parts import parts_to_make, prints
from lobewright.make.print_set import Allowance, printed

pytestmark = pytest.mark.cad

EXAMPLES = Path(__file__).parents[2] / "examples"
COMPLAINTS = re.compile(r"repair|manifold|empty layer|hole|degenerate|reversed|warning|error", re.IGNORECASE)


@pytest.fixture(scope="module")
def slicer() -> str:
    path = shutil.which("slic3r")
    if path is None:
        if os.environ.get("CI") == "true":
            pytest.fail("slic3r is not installed, and in CI print files must be sliced")
        pytest.skip("slic3r is not installed: print files are not sliced here")
    return path


def sliced(slicer: str, stl: Path, printer: m.Printer) -> tuple[str, Path]:
    """Output and G-code of a print file."""
    gcode = stl.with_suffix(".gcode")
    numbers = {
        "nozzle-diameter": printer.nozzle_mm,
        "extrusion-width": printer.extrusion_width_mm,
        "layer-height": printer.layer_mm,
        "first-layer-height": printer.layer_mm,
        "filament-diameter": 1.75,
        "perimeters": 1,
        "fill-density": 0,
        "top-solid-layers": 0,
        "bottom-solid-layers": 0,
        "skirts": 0,
        "gap-fill-speed": 0,
        "resolution": 0.02,
    }
    options = [word for name, value in numbers.items() for word in (f"--{name}", str(value))]
    command = [slicer, "--no-gui", "--no-thin-walls", "-j", "1", *options, "-o", str(gcode), str(stl)]
    done = subprocess.run(command, capture_output=True, text=True, timeout=120)
    assert done.returncode == 0, done.stderr
    return done.stdout + done.stderr, gcode


def layers(gcode: Path) -> dict[float, int]:
    """Height of each layer that is visited, and how many moves of it lay plastic."""
    found, height, laid = {}, 0.0, 0.0
    for line in gcode.read_text().splitlines():
        if line.startswith("G92 E0"):
            laid = 0.0
        words = dict(re.findall(r"([XYZE])(-?[\d.]+)", line.split(";")[0])) if line.startswith("G1") else {}
        if "Z" in words:
            height = float(words["Z"])
            continue
        if "E" in words and "X" in words:
            found[height] = found.get(height, 0) + (float(words["E"]) > laid)
        if "E" in words:
            laid = float(words["E"])
    return found


@pytest.mark.parametrize("example", ["azimuth_belt", "elevation_printed"])
def test_every_print_file_slices_layer_by_layer(slicer: str, example: str, tmp_path: Path) -> None:
    a = assess(read(EXAMPLES / f"{example}.toml"))
    printer = a.design.process
    assert isinstance(printer, m.Printer)
    heights = {}
    for part in parts_to_make(a):
        if prints(part):
            mesh = printed(part, Allowance.of(printer))
            heights[part.name] = mesh.size_mm[2]
            write_stl(tmp_path / f"{part.name}.stl", mesh, part.name)
    assert len(heights) >= 2
    with ThreadPoolExecutor(2) as pool:
        runs = pool.map(lambda name: sliced(slicer, tmp_path / f"{name}.stl", printer), heights)
    for (name, height), (said, gcode) in zip(heights.items(), runs, strict=True):
        complaints = [line for line in said.splitlines() if COMPLAINTS.search(line)]
        assert not complaints, (name, complaints)
        found = layers(gcode)
        assert len(found) == round(height / printer.layer_mm), name
        assert min(found.values()) > 10, name


def test_a_broken_mesh_does_not_pass_unseen(slicer: str, tmp_path: Path) -> None:
    """What the test above looks for does come: two plates one over the other with nothing between."""
    text = ["solid two"]
    for low in (0.0, 3.0):
        corners = [(x, y, z) for z in (low, low + 1.0) for y in (0, 20) for x in (0, 20)]
        for quad in ((0, 2, 3, 1), (4, 5, 7, 6), (0, 1, 5, 4), (1, 3, 7, 5), (3, 2, 6, 7), (2, 0, 4, 6)):
            for three in (quad[:3], (quad[0], *quad[2:])):
                rows = "".join("vertex {} {} {}\n".format(*corners[k]) for k in three)
                text.append(f"facet normal 0 0 0\nouter loop\n{rows}endloop\nendfacet")
    stl = tmp_path / "two.stl"
    stl.write_text("\n".join([*text, "endsolid two"]))
    printer = m.Printer(
        kind="printer", nozzle_mm=0.4, extrusion_width_mm=0.42, layer_mm=0.2, bed_mm=(220.0, 220.0, 250.0)
    )
    _, gcode = sliced(slicer, stl, printer)
    assert len(layers(gcode)) == 10 < round(4.0 / printer.layer_mm)
