"""Every print file of the two printed examples, sliced by a program that did not write it.

Printed parts of the whole assembly, trial pieces, rack models and calibration coupons; what both examples share is sliced once.
Parts of a material that no such printer lays (the sintered cup) are no print files and are left out by `prints`. The slicer of
the system is run without a window; where it is missing the tests are skipped with that word, and in CI they fail instead.
Infill is left out, since it tells nothing of the part.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from collections.abc import Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from pathlib import Path

import numpy as np
import pytest

from lobewright.assessment.results import Assessment
from lobewright.assessment.run import assess
from lobewright.design import model as m
from lobewright.design.files import read
from lobewright.make.assembling import assembled
from lobewright.make.coupon_parts import coupons
from lobewright.make.formats import write_stl
from lobewright.make.parts import on_the_bed, parts_to_make, prints
from lobewright.make.print_set import Allowance, printed
from lobewright.make.rack_files import laid
from lobewright.make.rack_parts import rack_parts
from lobewright.make.solids import Mesh
from lobewright.make.trial import trial_parts

pytestmark = pytest.mark.cad

EXAMPLES = Path(__file__).parents[2] / "examples"
COMPLAINTS = re.compile(r"repair|manifold|empty layer|hole|degenerate|reversed|warning|error", re.IGNORECASE)
HEAD_BYTES = 84
TRIANGLE_BYTES = 50
AT_ONCE = 6
"""Print files that one run of the slicer takes, one after the other."""


@pytest.fixture(scope="module")
def slicer() -> str:
    path = shutil.which("slic3r")
    if path is None:
        if os.environ.get("CI") == "true":
            pytest.fail("slic3r is not installed, and in CI print files must be sliced")
        pytest.skip("slic3r is not installed: print files are not sliced here")
    return path


def sliced(slicer: str, stls: Sequence[Path], printer: m.Printer) -> str:
    """What the slicer says of some print files of one folder; the G-code lies beside them."""
    # The slicer lays everything about (100, 100); another middle it only keeps for the first file of a run.
    x0, y0, x1, y1 = (100 + half * side / 2 for half in (-1, 1) for side in printer.bed_mm[:2])
    numbers = {
        "nozzle-diameter": printer.nozzle_mm,
        "extrusion-width": printer.extrusion_width_mm,
        "layer-height": printer.layer_mm,
        "first-layer-height": printer.layer_mm,
        "bed-shape": f"{x0:g}x{y0:g},{x1:g}x{y0:g},{x1:g}x{y1:g},{x0:g}x{y1:g}",
        "filament-diameter": 1.75,
        "perimeters": 1,
        "fill-density": 0,
        "top-solid-layers": 0,
        "bottom-solid-layers": 0,
        "skirts": 0,
        "gap-fill-speed": 0,
        "resolution": 0.05,
    }
    options = [f"--{name}={value}" for name, value in numbers.items()]
    files = [str(stl) for stl in stls]
    command = [slicer, "--no-gui", "--no-thin-walls", "-j", "1", *options, "-o", str(stls[0].parent), *files]
    done = subprocess.run(command, capture_output=True, text=True, timeout=300)
    assert done.returncode == 0, done.stderr
    return done.stdout + done.stderr


def mended(slicer: str, stls: Sequence[Path]) -> dict[str, str]:
    """Files of which the slicer takes in another surface than is written: it mends in silence, but its triangles tell."""
    told = subprocess.run([slicer, "--info", *map(str, stls)], capture_output=True, text=True, timeout=120)
    assert told.returncode == 0, told.stderr
    taken = {
        name: dict(re.findall(r"(\w+) = +(\S+)", rest))
        for name, rest in re.findall(r"\[(.+)\.stl\]([^\[]*)", told.stdout)
    }
    assert len(taken) == len(stls)
    found = {}
    for stl in stls:
        took, written = taken[stl.stem], (stl.stat().st_size - HEAD_BYTES) // TRIANGLE_BYTES
        if took["number_of_facets"] != str(written) or took["manifold"] != "yes":
            found[stl.stem] = f"{written} triangles written, {took} taken in"
    return found


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


def printer_of(a: Assessment) -> m.Printer:
    assert isinstance(a.design.process, m.Printer)
    return a.design.process


def meshes(example: str, a: Assessment) -> Iterator[tuple[str, Mesh]]:
    """Every print mesh of an example, by what it is printed for and its name."""
    printer = printer_of(a)
    allowance = Allowance.of(printer)
    for part in parts_to_make(a, assembled(a)):
        if prints(part):
            for piece in on_the_bed(a, part, printer):
                yield f"{example}_part_{piece.name}", printed(piece, allowance)
    for part in trial_parts(a):
        yield f"{example}_trial_{part.name}", printed(part, allowance)
    for part in rack_parts(a):
        yield f"{example}_rack_{part.name}", laid(printed(part, allowance), printer.bed_mm[:2])
    for part in coupons(printer):
        yield f"{example}_coupon_{part.name}", printed(part, Allowance(layer_mm=printer.layer_mm))


def wrong(gcode: Path, height_mm: float, layer_mm: float) -> str:
    """What is wrong with the layers of a G-code; nothing where each of them lays at least one closed line."""
    found = layers(gcode)
    heights = np.array(sorted(found))
    if abs(len(found) - height_mm / layer_mm) > 0.5 + 1e-4:
        return f"{len(found)} layers for {height_mm:g} mm"
    if np.abs(heights - layer_mm * np.arange(1, len(found) + 1)).max() > 1e-3:
        return "a layer is left out"
    return f"a layer of {min(found.values())} lines" if min(found.values()) < 3 else ""


@pytest.mark.timeout(300)
def test_every_print_file_slices_layer_by_layer(slicer: str, tmp_path: Path) -> None:
    drives = {name: assess(read(EXAMPLES / f"{name}.toml")) for name in ("azimuth_belt", "elevation_printed")}
    printer = printer_of(drives["azimuth_belt"])
    assert all(printer_of(a) == printer for a in drives.values())
    heights: dict[str, float] = {}
    known, runs, waiting = set(), list[Future[str]](), list[Path]()
    with ThreadPoolExecutor(2) as pool:
        for example, a in drives.items():
            for name, mesh in meshes(example, a):
                path = tmp_path / f"{name}.stl"
                write_stl(path, mesh, name)
                surface = path.read_bytes()[HEAD_BYTES:]
                if surface in known:
                    continue
                known.add(surface)
                heights[name] = mesh.size_mm[2]
                waiting.append(path)
                if len(waiting) == AT_ONCE:
                    runs.append(pool.submit(sliced, slicer, waiting, printer))
                    waiting = []
        if waiting:
            runs.append(pool.submit(sliced, slicer, waiting, printer))
    kinds = {
        name.removeprefix(f"{example}_").split("_")[0] for name in heights for example in drives if example in name
    }
    assert kinds == {"part", "trial", "rack", "coupon"} and len(heights) > 60
    complaints = [line for run in runs for line in run.result().splitlines() if COMPLAINTS.search(line)]
    assert not complaints
    assert not mended(slicer, [tmp_path / f"{name}.stl" for name in heights])
    found = {name: wrong(tmp_path / f"{name}.gcode", height, printer.layer_mm) for name, height in heights.items()}
    assert not {name: what for name, what in found.items() if what}


PLAIN = m.Printer(kind="printer", nozzle_mm=0.4, extrusion_width_mm=0.42, layer_mm=0.2, bed_mm=(220.0, 220.0, 250.0))


def write_plates(stl: Path, lows: tuple[float, ...], side_mm: float = 20.0, left_out: int = 0) -> None:
    """Square plates of 1 mm over each other, and triangles that are left out at the end."""
    corners, rows = [], []
    for low in lows:
        first = len(corners)
        corners += [(x, y, z) for z in (low, low + 1.0) for y in (0, side_mm) for x in (0, side_mm)]
        for a, b, c, d in ((0, 2, 3, 1), (4, 5, 7, 6), (0, 1, 5, 4), (1, 3, 7, 5), (3, 2, 6, 7), (2, 0, 4, 6)):
            rows += [(first + a, first + b, first + c), (first + a, first + c, first + d)]
    write_stl(stl, Mesh(np.array(corners), np.array(rows[: len(rows) - left_out])), "plates")


def test_what_is_looked_for_does_come(slicer: str, tmp_path: Path) -> None:
    """Nothing is said of a sound plate; a gap between two plates, a missing triangle and a plate beyond the bed are found."""
    stl = tmp_path / "plates.stl"
    gcode = stl.with_suffix(".gcode")
    write_plates(stl, (0.0,))
    assert not COMPLAINTS.search(sliced(slicer, [stl], PLAIN))
    assert not wrong(gcode, 1.0, PLAIN.layer_mm) and not mended(slicer, [stl])
    write_plates(stl, (0.0, 3.0))
    sliced(slicer, [stl], PLAIN)
    assert len(layers(gcode)) == 10 and wrong(gcode, 4.0, PLAIN.layer_mm)
    write_plates(stl, (0.0,), left_out=1)
    assert mended(slicer, [stl])
    write_plates(stl, (0.0,), side_mm=221.0)
    assert COMPLAINTS.search(sliced(slicer, [stl], PLAIN))
