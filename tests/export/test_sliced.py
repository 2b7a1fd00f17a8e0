"""Every print file of the two printed examples, and what they do not choose, sliced by a program that did not write it.

STL: printed parts of the whole assembly, trial pieces, rack models and calibration coupons; what both examples share is sliced
once. Plates as 3MF: adjustable generator, clamped shaft, motor plates, crush ribs, windows, open frame and split plates, laid out
on beds as `make` lays them. Parts of a material that no such printer lays (the sintered cup) are no print files. The slicer of
the system is run without a window; where it is missing the tests are skipped with that word, and in CI they fail instead.
Infill is left out, since it tells nothing of the part.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, replace
from itertools import combinations
from pathlib import Path
from typing import Any

import lib3mf
import numpy as np
import pytest
import trimesh
from export_drives import Made
from slicing import CHORDS_MM, COMPLAINTS, CORNERS_MM, HEAD_BYTES, RESOLUTION_MM, layers, mended, section, sliced, wrong

from lobewright.assessment.results import Assessment
from lobewright.assessment.run import assess
from lobewright.design import model as m
from lobewright.design.files import read
from lobewright.make.assembling import assembled
from lobewright.make.bodies import Body, Part, Slab, exact
from lobewright.make.coupon_parts import coupons
from lobewright.make.formats import write_stl
from lobewright.make.outlines import circle
from lobewright.make.parts import on_the_bed, parts_to_make, prints
from lobewright.make.plates import BETWEEN_MM, Wanted, plates, write_plate
from lobewright.make.print_set import Allowance, printed
from lobewright.make.rack_files import laid
from lobewright.make.rack_parts import rack_parts
from lobewright.make.solids import Mesh
from lobewright.make.trial import trial_parts

pytestmark = pytest.mark.cad

EXAMPLES = Path(__file__).parents[2] / "examples"
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


def printer_of(a: Assessment) -> m.Printer:
    assert isinstance(a.design.process, m.Printer)
    return a.design.process


def meshes(example: str, a: Assessment) -> Iterator[tuple[str, Mesh]]:
    """Every print mesh of an example, by what it is printed for and its name."""
    printer = printer_of(a)
    allowance = Allowance.of(printer)
    for part in parts_to_make(assembled(a)):
        if prints(part):
            for piece in on_the_bed(a, part, printer):
                yield f"{example}_part_{piece.name}", printed(piece, allowance)
    for part in trial_parts(a):
        yield f"{example}_trial_{part.name}", printed(part, allowance)
    for part in rack_parts(a):
        yield f"{example}_rack_{part.name}", laid(printed(part, allowance), printer.bed_mm[:2])
    for part in coupons(printer):
        # As `calibrate` writes them: nothing compensated, and their lead-ins are no roofs to close.
        yield f"{example}_coupon_{part.name}", printed(part, Allowance())


@pytest.mark.timeout(300)
def test_every_print_file_slices_layer_by_layer(slicer: str, tmp_path: Path) -> None:
    drives = {name: assess(read(EXAMPLES / f"{name}.toml")) for name in ("azimuth_belt", "elevation_printed")}
    printer = printer_of(drives["azimuth_belt"])
    assert all(printer_of(a) == printer for a in drives.values())
    made: dict[str, Mesh] = {}
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
                made[name] = mesh
                waiting.append(path)
                if len(waiting) == AT_ONCE:
                    runs.append(pool.submit(sliced, slicer, waiting, printer))
                    waiting = []
        if waiting:
            runs.append(pool.submit(sliced, slicer, waiting, printer))
    kinds = {name.removeprefix(f"{example}_").split("_")[0] for name in made for example in drives if example in name}
    assert kinds == {"part", "trial", "rack", "coupon"} and len(made) > 60
    complaints = [line for run in runs for line in run.result().splitlines() if COMPLAINTS.search(line)]
    assert not complaints
    assert not mended(slicer, [tmp_path / f"{name}.stl" for name in made])
    found = {}
    for name, mesh in made.items():
        rack = "_rack_" in name
        apart_mm = CORNERS_MM if rack else CHORDS_MM
        found[name] = wrong(tmp_path / f"{name}.gcode", mesh, printer, rack, apart_mm)
    assert not {name: what for name, what in found.items() if what}


# --- plates ----------------------------------------------------------------------------------------------------------

LAYER_MM = 0.25
"""Thicker than the examples', for the time it takes: what is asked is whether the file is sound."""


@dataclass(frozen=True)
class Choice:
    """What the examples leave out: changes of the assembly, parts that come of it, and the bed they are laid on."""

    assembly: dict[str, Any]
    parts: tuple[str, ...]
    bed_mm: tuple[float, float, float] = (220.0, 220.0, 250.0)


CHOICES = {
    "adjustable generator, clamped shaft": Choice(
        {"adjustable": True, "input": m.Input.CLAMP},
        ("carrier", "slider", "shaft_clamp"),
    ),
    "stepper 17, open": Choice(
        {"input": m.Input.STEPPER_17, "view": m.View.OPEN}, ("motor_plate", "motor_tube", "rear_plate")
    ),
    "stepper 23, windows": Choice({"input": m.Input.STEPPER_23, "view": m.View.WINDOW}, ("motor_plate", "rear_plate")),
    "crush ribs": Choice({"crush_ribs": True}, ("rear_plate", "front_plate")),
    "split plates": Choice({}, ("rear_plate", "gauge_holder"), (110.0, 110.0, 250.0)),
}


def with_choice(a: Assessment, choice: Choice) -> Assessment:
    """The same drive built otherwise; teeth and generator stay."""
    process = printer_of(a).model_copy(update={"layer_mm": LAYER_MM, "bed_mm": choice.bed_mm})
    assembly = a.design.assembly.model_copy(update=choice.assembly)
    return replace(a, design=a.design.model_copy(update={"process": process, "assembly": assembly}))


def on_plate(path: Path) -> list[trimesh.Trimesh]:
    """What a plate builds, each object where it stands, by lib3mf."""
    model = lib3mf.Wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromFile(str(path))
    assert reader.GetWarningCount() == 0
    items, found = model.GetBuildItems(), []
    while items.MoveNext():
        item = items.GetCurrent()
        shape = model.GetMeshObjectByID(item.GetObjectResource().GetResourceID())
        corners = np.array([list(one.Coordinates) for one in shape.GetVertices()])
        rows = np.array([list(one.Indices) for one in shape.GetTriangleIndices()])
        turn = np.array([list(row) for row in item.GetObjectTransform().Fields])
        found.append(trimesh.Trimesh(corners @ turn[:3] + turn[3], rows, process=False))
    return found


def misplaced(solids: list[trimesh.Trimesh], bed_mm: tuple[float, float, float]) -> str:
    """What lies off the bed or too near to another on a plate; nothing where all lies well."""
    boxes = [one.bounds for one in solids]
    for low, high in boxes:
        if abs(low[2]) > 1e-6 or min(low[:2]) < -1e-4 or (high > np.array(bed_mm) + 1e-4).any():
            return f"from {low.round(2)} to {high.round(2)} on a bed of {bed_mm}"
    for (low, high), (other_low, other_high) in combinations(boxes, 2):
        if max(np.maximum(other_low - high, low - other_high)[:2]) < BETWEEN_MM - 1e-3:
            return f"two parts near {low.round(2)} and {other_low.round(2)}"
    return ""


def as_mesh(solids: list[trimesh.Trimesh]) -> Mesh:
    whole = trimesh.util.concatenate(solids)
    return Mesh(np.asarray(whole.vertices), np.asarray(whole.faces))


def check_plate(slicer: str, path: Path, printer: m.Printer) -> None:
    """The plate holds its parts apart, and the slicer takes in that surface and lays its loops, each where it stands."""
    solids = on_plate(path)
    assert not misplaced(solids, printer.bed_mm)
    told = subprocess.run([slicer, "--info", str(path)], capture_output=True, text=True, timeout=120).stdout
    assert set(re.findall(r"manifold = +(\S+)", told)) == {"yes"}
    assert {int(count) for count in re.findall(r"number_of_facets = +(\d+)", told)} == {
        len(one.faces) for one in solids
    }
    whole = as_mesh(solids)
    assert not wrong(path.with_suffix(".gcode"), whole, printer, apart_mm=CORNERS_MM)
    first = np.vstack(layers(path.with_suffix(".gcode"))[printer.layer_mm])
    solid = trimesh.Trimesh(whole.corners_mm, whole.triangles, process=False)
    inside = section(solid, printer.layer_mm / 2).bounds
    half = printer.extrusion_width_mm / 2
    assert [*first.min(axis=0) - half, *first.max(axis=0) + half] == pytest.approx(inside, abs=2 * RESOLUTION_MM)


@pytest.mark.timeout(300)
def test_what_the_examples_leave_out_slices_from_its_plates(slicer: str, tmp_path: Path) -> None:
    a = assess(read(EXAMPLES / "azimuth_belt.toml"))
    for k, choice in enumerate(CHOICES.values()):
        built = with_choice(a, choice)
        printer = printer_of(built)
        made = {part.name: part for part in parts_to_make(assembled(built))}
        pieces = [piece for name in choice.parts for piece in on_the_bed(built, made[name], printer)]
        wanted = [Wanted(one.name, printed(one, Allowance.of(printer)), one.quantity) for one in pieces]
        beds = plates(wanted, choice.bed_mm[:2])
        files = [tmp_path / f"choice_{k}_plate_{n + 1}.3mf" for n in range(len(beds))]
        for path, bed in zip(files, beds, strict=True):
            write_plate(path, bed, wanted, path.stem)
        assert sum(len(on_plate(path)) for path in files) == sum(one.quantity for one in pieces)
        told = sliced(slicer, files, printer, as_laid=True)
        assert not [line for line in told.splitlines() if COMPLAINTS.search(line)]
        for path in files:
            check_plate(slicer, path, printer)
    assert len(pieces) > 4


def test_plates_of_a_written_folder_slice(slicer: str, tmp_path: Path, made: Callable[[str], Made]) -> None:
    belt = made("belt")
    files = []
    for path in sorted((belt.folder / "print").glob("plate_*.3mf")):
        files.append(tmp_path / path.name)
        files[-1].write_bytes(path.read_bytes())
    rows = [row for row in belt.rows if row.folder == "print"]
    assert files and sum(len(on_plate(path)) for path in files) == sum(row.quantity for row in rows)
    told = sliced(slicer, files, printer_of(belt.assessment), as_laid=True)
    assert not [line for line in told.splitlines() if COMPLAINTS.search(line)]
    for path in files:
        check_plate(slicer, path, printer_of(belt.assessment))


# --- what is looked for does come ------------------------------------------------------------------------------------

PLAIN = m.Printer(kind="printer", nozzle_mm=0.4, extrusion_width_mm=0.42, layer_mm=0.2, bed_mm=(220.0, 220.0, 250.0))


def stack(lows: tuple[float, ...], side_mm: float = 20.0, left_out: int = 0) -> Mesh:
    """Square plates of 1 mm over each other; some triangles are left out at the end."""
    corners, rows = [], []
    for low in lows:
        first = len(corners)
        corners += [(x, y, z) for z in (low, low + 1.0) for y in (0, side_mm) for x in (0, side_mm)]
        for a, b, c, d in ((0, 2, 3, 1), (4, 5, 7, 6), (0, 1, 5, 4), (1, 3, 7, 5), (3, 2, 6, 7), (2, 0, 4, 6)):
            rows += [(first + a, first + b, first + c), (first + a, first + c, first + d)]
    return Mesh(np.array(corners, float), np.array(rows[: len(rows) - left_out]))


def washer(*holes_mm: float, outer_mm: float = 20.0) -> Mesh:
    """A round plate of 2 mm with round holes on a line."""
    loops = tuple(exact(circle(size / 2, 6.0 * (k - 0.5 * (len(holes_mm) - 1)))) for k, size in enumerate(holes_mm))
    slab = Slab(exact(circle(outer_mm / 2)), loops, 0.0, 2.0)
    return printed(Part("washer", "washer", 1, Body((slab,)), "petg_printed"), Allowance())


def test_what_is_looked_for_does_come(slicer: str, tmp_path: Path) -> None:
    """Nothing is said of a sound plate; a gap between two plates, a missing triangle and a plate beyond the bed are found."""
    stl = tmp_path / "plates.stl"
    gcode = stl.with_suffix(".gcode")
    write_stl(stl, stack((0.0,)), "plates")
    assert not COMPLAINTS.search(sliced(slicer, [stl], PLAIN))
    assert not wrong(gcode, stack((0.0,)), PLAIN) and not mended(slicer, [stl])
    write_stl(stl, stack((0.0, 3.0)), "plates")
    sliced(slicer, [stl], PLAIN)
    assert wrong(gcode, stack((0.0, 3.0)), PLAIN) == "an empty layer"
    write_stl(stl, stack((0.0,), left_out=1), "plates")
    assert mended(slicer, [stl])
    write_stl(stl, stack((0.0,), side_mm=221.0), "plates")
    assert COMPLAINTS.search(sliced(slicer, [stl], PLAIN))


def test_a_lost_hole_a_narrow_one_and_a_thin_wall_are_seen(slicer: str, tmp_path: Path) -> None:
    names = {"sound": (3.4, 3.4), "lost": (3.4,), "narrow": (3.4, 3.3), "thin": (19.3,)}
    files = [tmp_path / f"{name}.stl" for name in names]
    for path in files:
        write_stl(path, washer(*names[path.stem]), path.stem)
    sliced(slicer, files, PLAIN)
    found = {path.stem: wrong(path.with_suffix(".gcode"), washer(3.4, 3.4), PLAIN) for path in files[:3]}
    assert found["sound"] == ""
    assert found["lost"] == "at 1 mm 2 loops of 3 outlines"
    assert found["narrow"].startswith("at 1 mm a loop of 11.5")
    assert wrong(files[3].with_suffix(".gcode"), washer(19.3), PLAIN)


def test_a_plate_that_is_laid_badly_is_seen(tmp_path: Path) -> None:
    two = [Wanted("one", stack((0.0,)), 2)]
    (bed,) = plates(two, (60.0, 60.0))
    near = replace(bed, laid=(bed.laid[0], replace(bed.laid[1], x_mm=bed.laid[1].x_mm - 1.0)))
    beyond = replace(bed, laid=(replace(bed.laid[0], x_mm=41.0),))
    for name, plate, words in (("well", bed, ""), ("near", near, "two parts"), ("beyond", beyond, "from ")):
        write_plate(tmp_path / f"{name}.3mf", plate, two, name)
        what = misplaced(on_plate(tmp_path / f"{name}.3mf"), (60.0, 60.0, 60.0))
        assert what.startswith(words) and bool(what) == bool(words)
