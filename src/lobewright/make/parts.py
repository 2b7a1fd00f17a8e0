"""Every part of a drive, written in the formats that people cut, print and draw with.

::

    parts/nominal/        STEP, STL, 3MF and for flat parts DXF: the sizes of the design, for machining and for reading
    parts/print/          STL and 3MF for this printer: material shrunk by the printer's compensation, lying on z = 0
    parts/trial_sector/   STL and 3MF of a first print of a few minutes

A process that is no printer has no print folder, and its trial pieces are uncompensated. The same design gives the same
bytes.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from lobewright.assessment.results import Assessment
from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.errors import ConvergenceFault, Fault
from lobewright.make.bodies import Part, Slab
from lobewright.make.formats import write_3mf, write_dxf, write_step, write_stl
from lobewright.make.outlines import Contour
from lobewright.make.parts_flexible import flexible_parts
from lobewright.make.parts_generator import generator_parts
from lobewright.make.parts_rings import rigid_ring
from lobewright.make.solids import Mesh, kernel, mesh, overturned, solid
from lobewright.make.trial import print_minutes, trial_parts

Progress = Callable[[str, float], None]
READ_ME = "READ_ME.txt"
NOMINAL, PRINT, TRIAL = "nominal", "print", "trial_sector"
FIXED_STAMP = "1980-01-01T00:00:00"
"""Date in STEP headers: parts carry no clock, so that the same design gives the same bytes."""
VOLUME_SHARE = 0.002
"""How far solid and mesh may differ from the volume of the outline."""
MOST_STEP_MB = 5.0
MM3_PER_CM3 = 1000.0


@dataclass(frozen=True)
class PartRow:
    """One part as it was written.

    ``folder`` is ``nominal``, ``print`` or ``trial_sector``; ``files`` are names relative to the parts folder. Volumes
    in mm³: of the solid, of its mesh, and as expected from the outline's points times the height. ``size_mm`` is the
    box round the part, x, y, z. ``edges_per_space`` and ``fit_error_mm`` tell of the arcs (0: no fitted outline).
    ``fits_bed`` is None where no bed is known; ``print_minutes`` is for a solid part, 0 where it is not printed.
    ``mass_g`` is 0 where the material is not known.
    """

    name: str
    words: str
    folder: str
    quantity: int
    files: tuple[str, ...]
    volume_mm3: float
    mesh_volume_mm3: float
    expected_volume_mm3: float
    size_mm: tuple[float, float, float]
    edges_per_space: int
    fit_error_mm: float
    fits_bed: bool | None
    print_minutes: float
    material: str
    mass_g: float
    note: str


def require_cad() -> None:
    """Raises PlatformFault when the CAD library is not installed."""
    kernel()


def planned_parts(a: Assessment, shrunk_mm: float = 0.0) -> Iterator[Part]:
    """All parts of a drive; ``shrunk_mm`` is taken off their material."""
    for ring, made in zip(a.design.rigid_ring, a.rings, strict=True):
        yield rigid_ring(a, ring, made, shrunk_mm)
    yield from generator_parts(a, shrunk_mm)
    yield from flexible_parts(a, shrunk_mm)


def drawing_of(part: Part) -> Iterator[tuple[str, Contour]]:
    """Layers and outlines of a flat part: its first slab, seen from above."""
    slab = part.body.pieces[0]
    assert isinstance(slab, Slab)
    yield "OUTLINE", slab.outer.contour
    for hole in slab.holes:
        yield ("HOLES" if hole.contour.is_circle else "TEETH"), hole.contour


def _fits_bed(design: m.Design, size: tuple[float, float, float]) -> bool | None:
    if not isinstance(design.process, m.Printer):
        return None
    bed_x, bed_y, bed_z = design.process.bed_mm
    x, y, z = size
    flat = (x <= bed_x and y <= bed_y) or (y <= bed_x and x <= bed_y)
    return flat and z <= bed_z


def _checked(part: Part, volume: float) -> None:
    expected = part.body.volume_mm3
    if abs(volume - expected) > VOLUME_SHARE * expected:
        what = f"the volume of {part.name} is not that of its outline"
        allowed = f"{expected:.6g} mm³ ± {100 * VOLUME_SHARE:g} %"
        raise ConvergenceFault([Fault(what, value=f"{volume:.6g} mm³", allowed=allowed)])


def _row(a: Assessment, part: Part, folder: str, files: list[str], one: Any, closed: Mesh | None) -> PartRow:
    box = one.bounding_box().size
    size = closed.size_mm if closed else (box.X, box.Y, box.Z)
    fits = _fits_bed(a.design, size) if folder != NOMINAL else None
    note = part.note
    if fits is False:
        bed = " × ".join(f"{side:g}" for side in a.design.process.bed_mm)  # type: ignore[union-attr]
        note += f"; LARGER THAN THE BED of {bed} mm, and not split: print it elsewhere or choose a smaller drive"
    volume = one.volume
    for found in (volume, closed.volume_mm3 if closed else volume):
        _checked(part, found)
    density = catalogue.material(part.material).density_kg_m3 / 1000 if part.material else 0.0
    return PartRow(
        name=part.name,
        words=part.words,
        folder=folder,
        quantity=part.quantity,
        files=tuple(files),
        volume_mm3=volume,
        mesh_volume_mm3=closed.volume_mm3 if closed else 0.0,
        expected_volume_mm3=part.body.volume_mm3,
        size_mm=size,
        edges_per_space=part.edges_per_space,
        fit_error_mm=part.fit_error_mm,
        fits_bed=fits,
        print_minutes=print_minutes(a.design, volume) if folder != NOMINAL else 0.0,
        material=part.material,
        mass_g=volume / MM3_PER_CM3 * density,
        note=note,
    )


def _write_nominal(a: Assessment, part: Part, folder: Path, stamp: str) -> PartRow:
    where, files = folder / NOMINAL, [f"{NOMINAL}/{part.name}.step"]
    one = solid(part.body, part.name)
    write_step(where / f"{part.name}.step", one, part.name, stamp)
    closed = None if part.step_only else mesh(one, part.name)
    if closed:
        write_stl(where / f"{part.name}.stl", closed, part.name)
        write_3mf(where / f"{part.name}.3mf", closed, part.name)
        files += [f"{NOMINAL}/{part.name}.stl", f"{NOMINAL}/{part.name}.3mf"]
    if part.drawn:
        write_dxf(where / f"{part.name}.dxf", drawing_of(part), part.name)
        files.append(f"{NOMINAL}/{part.name}.dxf")
    megabytes = (where / f"{part.name}.step").stat().st_size / 1e6
    if megabytes > MOST_STEP_MB:
        part = replace(part, note=f"{part.note}; STEP of {megabytes:.1f} MB, slow in some programs")
    return _row(a, part, NOMINAL, files, one, closed)


def _write_print(a: Assessment, part: Part, folder: Path, kind: str, suffix: str) -> PartRow:
    one = solid(part.body, part.name)
    closed = mesh(overturned(one) if part.turned_over else one, part.name)
    name = f"{part.name}{suffix}"
    write_stl(folder / kind / f"{name}.stl", closed, name)
    write_3mf(folder / kind / f"{name}.3mf", closed, name)
    return _row(a, part, kind, [f"{kind}/{name}.stl", f"{kind}/{name}.3mf"], one, closed)


def nominal_note(printer: bool) -> str:
    """What stands beside the nominal parts."""
    how = "For your printer take ../print." if printer else "The process is no printer: there are no print files."
    return f"The sizes of the design, in mm, with nothing added or taken off for any process. {how}\n"


def print_note(printer: m.Printer) -> str:
    """What stands beside the print files: which way the compensation works."""
    amount = printer.xy_compensation_mm
    if amount == 0:
        how = "This printer's compensation is 0: outlines are those of the design.\n"
    else:
        word = "shrunk" if amount > 0 else "grown"
        how = (
            f"The material is {word} by {abs(amount):g} mm everywhere in the layer plane, because this printer lays "
            f"outlines {'too fat' if amount > 0 else 'too thin'} by that much: outside diameters are "
            f"{2 * abs(amount):g} mm {'smaller' if amount > 0 else 'larger'}, holes {2 * abs(amount):g} mm "
            f"{'larger' if amount > 0 else 'smaller'} than in the design. Turn off such an allowance in the slicer.\n"
        )
    return (
        "Files for printing, lying as they print, in mm. They are NOT the sizes of the design (those: ../nominal).\n"
        f"{how}Scale 100 %.\n"
    )


def make_parts(
    a: Assessment, folder: Path, progress: Progress | None = None, stamp: str = FIXED_STAMP
) -> tuple[PartRow, ...]:
    """Write all parts into ``folder`` and tell what was written: nominal parts, print files, trial pieces.

    ``stamp`` stands as the date in STEP files. Raises PlatformFault (no CAD library), DesignFault (a part that cannot
    exist), ConvergenceFault (an outline, a volume or a mesh that misses its limit), OSError (cannot write).
    """
    say = progress or (lambda word, share: None)
    require_cad()
    printer = a.design.process if isinstance(a.design.process, m.Printer) else None
    shrunk = printer.xy_compensation_mm if printer else 0.0
    for kind in (NOMINAL, TRIAL, *((PRINT,) if printer else ())):
        (folder / kind).mkdir(parents=True, exist_ok=True)
    rows = []
    nominal = list(planned_parts(a))
    for k, part in enumerate(nominal):
        say(f"part {part.name}", 0.5 * k / len(nominal))
        rows.append(_write_nominal(a, part, folder, stamp))
    (folder / NOMINAL / READ_ME).write_text(nominal_note(printer is not None), "utf-8", newline="\n")
    if printer:
        for k, part in enumerate(planned_parts(a, shrunk) if shrunk else nominal):
            say(f"print file {part.name}", 0.5 + 0.4 * k / len(nominal))
            if not part.step_only:
                rows.append(_write_print(a, part, folder, PRINT, "_print"))
        (folder / PRINT / READ_ME).write_text(print_note(printer), "utf-8", newline="\n")
    say("trial pieces", 0.9)
    rows += [_write_print(a, part, folder, TRIAL, "_print" if printer else "") for part in trial_parts(a, shrunk)]
    say("parts", 1.0)
    return tuple(rows)
