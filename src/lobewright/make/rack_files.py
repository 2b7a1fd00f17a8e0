"""The rack model written: to print, to cut with a laser, to cut from card, and its sheet.

::

    rack/print/    STL of every part, lying as it prints, and rack.3mf with all of them as objects
    rack/laser/    DXF of every piece of sheet with the kerf in it, and sheet.dxf with all of them nested
    rack/paper/    SVG and PDF, A4 and A3, true to scale
    rack/sheet.html
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np

from lobewright.assessment.results import Assessment
from lobewright.design.base import Printer
from lobewright.errors import DesignFault
from lobewright.make.bodies import Part, Slab, made_of
from lobewright.make.formats import Item, write_3mf_plate, write_dxf, write_stl
from lobewright.make.kerf import CUT_INSIDE, CUT_OUTSIDE, ENGRAVE, Cut, cut_path, laser_of, nested
from lobewright.make.print_set import Allowance, printed
from lobewright.make.rack_paper import PAPERS, paper_sheet
from lobewright.make.rack_parts import BED_EDGE_MM, USUAL_BED_MM, Kit, kit, kit_parts, sheet_heights
from lobewright.make.rack_sheet import named, sheet, text_of
from lobewright.make.solids import Mesh
from lobewright.picture.palette import PALETTE, Role, Theme
from lobewright.picture.pdf import Page, pdf
from lobewright.picture.svg import svg

Progress = Callable[[str, float], None]
LASER_BACK_MM = 1.2
"""Back of a strip that is cut: two kerfs stand beside it, and thin bridges char."""
SHEET_WIDTH_MM = 600.0
BETWEEN_MM = 5.0
PX_PER_MM = 96.0 / 25.4


def laid(mesh: Mesh, bed_mm: tuple[float, float]) -> Mesh:
    """The mesh with its box's corner at (0, 0), turned to the bed's diagonal where it is longer than the bed allows."""
    points = mesh.corners_mm
    if max(mesh.size_mm[:2]) > min(bed_mm) - 2 * BED_EDGE_MM:
        c = math.sqrt(0.5)
        points = points @ np.array([[c, c, 0.0], [-c, c, 0.0], [0.0, 0.0, 1.0]])
    return Mesh(points - points.min(axis=0), mesh.triangles)


def cuts(k: Kit, kerf_mm: float) -> tuple[Cut, ...]:
    """Every piece of sheet of a model whose heights are one sheet each; a slab of several sheets is as many pieces.

    Raises DesignFault where an outline is narrower than the kerf.
    """
    return tuple(cut for part in kit_parts(k) for cut in _cuts_of(part, k.heights.cover, kerf_mm))


def _cuts_of(part: Part, sheet_mm: float, kerf_mm: float) -> list[Cut]:
    found = []
    slabs = [piece for piece in part.body.pieces if isinstance(piece, Slab)]
    for number, slab in enumerate(slabs, 1):
        layers = max(1, round((slab.top_mm - slab.bottom_mm) / sheet_mm))
        paths = [(CUT_INSIDE, cut_path(hole.contour, kerf_mm, inside=True)) for hole in slab.holes]
        paths.append((CUT_OUTSIDE, cut_path(slab.outer.contour, kerf_mm, inside=False)))
        marks = [(ENGRAVE, pocket.outer.contour) for pocket in part.body.pockets if pocket.top_mm == slab.top_mm]
        for layer in range(layers):
            name = part.name if len(slabs) * layers == 1 else f"{part.name}_{number}{'abcdefgh'[layer]}"
            top = layer == layers - 1
            found.append(Cut(name, tuple([*(marks if top else ()), *paths])))
    return found


def _print_meshes(a: Assessment, k: Kit) -> list[tuple[str, Mesh]]:
    """Every part by its name, lying as it prints. Raises DesignFault where the printer's allowances break one."""
    process = a.design.process
    allowance = Allowance.of(process) if isinstance(process, Printer) else Allowance()
    bed = process.bed_mm[:2] if isinstance(process, Printer) else USUAL_BED_MM
    return [(part.name, laid(printed(part, allowance), bed)) for part in kit_parts(k, made_of(a.design))]


def _write_print(a: Assessment, meshes: Sequence[tuple[str, Mesh]], folder: Path) -> list[str]:
    folder.mkdir(parents=True, exist_ok=True)
    items, y, files = [], 0.0, []
    for number, (name, mesh) in enumerate(meshes):
        write_stl(folder / f"{name}.stl", mesh, name)
        files.append(f"print/{name}.stl")
        items.append(Item(number, 0.0, y, 0.0))
        y += mesh.size_mm[1] + BETWEEN_MM
    write_3mf_plate(folder / "rack.3mf", meshes, items, f"Rack model of {a.design.name}")
    return [*files, "print/rack.3mf"]


def _write_laser(a: Assessment, folder: Path) -> list[str]:
    kerf, thick, _ = laser_of(a.design)
    k = kit(a, sheet_heights(thick), LASER_BACK_MM)
    folder.mkdir(parents=True, exist_ok=True)
    found, files = cuts(k, kerf), []
    for cut in found:
        write_dxf(folder / f"{cut.name}.dxf", cut.paths, cut.name)
        files.append(f"laser/{cut.name}.dxf")
    whole = [path for cut in nested(found, SHEET_WIDTH_MM) for path in cut.paths]
    write_dxf(folder / "sheet.dxf", whole, f"Rack model of {a.design.name}")
    return [*files, "laser/sheet.dxf"]


def _write_paper(a: Assessment, folder: Path) -> list[str]:
    folder.mkdir(parents=True, exist_ok=True)
    files = []
    for paper in PAPERS:
        picture = paper_sheet(a, paper)
        drawn = svg(picture, paper.width_mm * PX_PER_MM, Theme.LIGHT).replace(
            PALETTE[Theme.LIGHT][Role.PAPER], "#ffffff"
        )
        width, rest = (
            f'width="{paper.width_mm * PX_PER_MM:g}" height="',
            drawn.partition('height="')[2].partition('"')[2],
        )
        # The page's size in millimetres, so that it prints at 100 %.
        head = drawn.partition(width)[0]
        drawn = f'{head}width="{paper.width_mm:g}mm" height="{paper.height_mm:g}mm"{rest}'
        (folder / f"{paper.name}.svg").write_text(drawn, "utf-8", newline="\n")
        (folder / f"{paper.name}.pdf").write_bytes(pdf([Page(picture, paper.width_mm, paper.height_mm)]))
        files += [f"paper/{paper.name}.svg", f"paper/{paper.name}.pdf"]
    return files


def _read_me(a: Assessment, k: Kit, missing: list[str]) -> str:
    kerf, thick, owned = laser_of(a.design)
    where = "from your workshop file" if owned else "assumed, for there is no [laser] in your workshop file"
    numbers = k.racks
    printer = (
        "For your printer, its allowances taken off; long parts lie across the bed from corner to corner, one a print."
        if isinstance(a.design.process, Printer)
        else f"For any printer with a bed of {USUAL_BED_MM[0]:g} × {USUAL_BED_MM[1]:g} mm; sizes as they are: this design "
        "names no printer."
    )
    lines = [
        f"Rack model of {a.design.name}: the drive laid flat. Push the roller {text_of(numbers.travel_in_mm)} mm along, and "
        f"{named(numbers.read)} moves {text_of(numbers.travel_out_mm)} mm.",
        "Start with sheet.html.",
        "",
        f"print/  {printer}",
        "        rack.3mf holds all parts as objects: let the slicer arrange them on beds.",
        f"laser/  For sheet of {thick:g} mm and a kerf of {kerf:g} mm ({where}). The kerf is in the paths:",
        "        turn off any of the cutter's own. Cut ENGRAVE, CUT_INSIDE, CUT_OUTSIDE in this order. Pieces of one name with",
        "        a letter or number are glued on each other; paper washers between racks. The strip has to bend: plywood or",
        "        polypropylene, not acrylic. Pitches may differ from those of the printed model; the ratio does not.",
        "paper/  Print at 100 % on card of 200 g/m² or more.",
        *missing,
    ]
    return "\n".join(lines) + "\n"


def write_rack(a: Assessment, folder: Path, progress: Progress | None = None) -> tuple[str, ...]:
    """Write the rack model into ``folder``/rack; the files written, relative to ``folder``.

    The sheet and the print files are those of the printed model. A laser or paper version that cannot be made is told in
    READ_ME.txt with the reason. Raises DesignFault where no model is made of this drive, ConvergenceFault, PlatformFault
    (libraries of the extra "cad"), OSError.
    """
    say = progress or (lambda word, share: None)
    say("rack model", 0.0)
    k = kit(a)
    meshes = _print_meshes(a, k)  # before any file: where they cannot be, nothing is written
    rack = folder / "rack"
    rack.mkdir(parents=True, exist_ok=True)
    say("rack model, sheet", 0.2)
    (rack / "sheet.html").write_text(sheet(a, k), "utf-8", newline="\n")
    files, missing = ["sheet.html"], []
    say("rack model, print files", 0.4)
    files += _write_print(a, meshes, rack / "print")
    for share, name, write in ((0.6, "laser", _write_laser), (0.8, "paper", _write_paper)):
        say(f"rack model, {name}", share)
        try:
            files += write(a, rack / name)
        except DesignFault as fault:
            missing.append(f"not made: {name}: {fault}")
    (rack / "READ_ME.txt").write_text(_read_me(a, k, missing), "utf-8", newline="\n")
    say("rack model", 1.0)
    return tuple(f"rack/{name}" for name in (*files, "READ_ME.txt"))
