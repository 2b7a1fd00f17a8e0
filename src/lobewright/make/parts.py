"""Every part of a drive, written in the formats that people cut, print and draw with.

::

    parts/nominal/        STEP, STL, 3MF and for flat parts DXF: the sizes of the design, for machining and for reading
    parts/print/          STL and 3MF for this printer, lying as they print, and one 3MF for each bed full
    parts/trial_sector/   STL and 3MF of a first print of a few minutes

A process that is no printer has no print folder, and its trial pieces are uncompensated. The same design gives the same
bytes. Bought parts are not written.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from lobewright.assessment.results import Assessment
from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.make.assembling import plain_placed
from lobewright.make.bodies import Group, Part, Slab
from lobewright.make.cache import Cache
from lobewright.make.filling import filling_name, filling_words, laid, print_minutes, prints_solid
from lobewright.make.part_files import Job, Made, make_all
from lobewright.make.placing import Placed
from lobewright.make.plates import Wanted, plates, write_plate
from lobewright.make.print_set import Allowance
from lobewright.make.sectioning import generated_outlines
from lobewright.make.solids import kernel
from lobewright.make.splitting import lies_on, split_ring
from lobewright.make.splitting_plates import split_plate
from lobewright.make.trial import trial_minutes, trial_parts
from lobewright.mapper import Mapper

Progress = Callable[[str, float], None]
READ_ME = "READ_ME.txt"
NOMINAL, PRINT, TRIAL = "nominal", "print", "trial_sector"
FIXED_STAMP = "1980-01-01T00:00:00"
"""Date in STEP headers: parts carry no clock, so that the same design gives the same bytes."""
MOST_STEP_MB = 5.0
MM3_PER_CM3 = 1000.0
PLATES = (Group.FRAME, Group.OUTPUT, Group.TEST)
"""Groups whose parts are split where they are larger than the bed."""


@dataclass(frozen=True)
class PartRow:
    """One part as it was written.

    ``folder`` is ``nominal``, ``print`` or ``trial_sector``; ``files`` are names relative to the parts folder. Volumes
    in mm³: of the solid, of its mesh, and as expected from the outline's points times the height. ``size_mm`` is the
    box round the part, x, y, z. ``edges_per_space`` and ``fit_error_mm`` tell of the arcs (0: no fitted outline).
    ``fits_bed`` is None where no bed is known; ``print_minutes`` is for one, filled as :mod:`lobewright.make.filling` says (trial
    pieces solid), 0 where it is not printed. ``mass_g`` is that of the solid, 0 where the material is not known.
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


def parts_to_make(placed: Sequence[Placed]) -> tuple[Part, ...]:
    """The parts that are made, each once with its whole quantity, in the order given."""
    found: dict[str, Part] = {}
    for row in placed:
        if not row.part.designation:
            before = found[row.part.name].quantity if row.part.name in found else 0
            found[row.part.name] = replace(row.part, quantity=before + len(row.places))
    return tuple(found.values())


def prints(part: Part) -> bool:
    """Whether a part is printed: of a material that a printer lays, or of none that is named."""
    made = not part.material or catalogue.material(part.material).kind is catalogue.MaterialKind.PRINTED
    return made and not part.step_only


def on_the_bed(a: Assessment, part: Part, printer: m.Printer) -> tuple[Part, ...]:
    """The part, or the pieces of a rigid ring or a plate larger than the bed. Raises DesignFault where it cannot be split."""
    names = [f"ring_{ring.name}" for ring in a.design.rigid_ring]
    if part.name in names:
        return split_ring(a, part, names.index(part.name), printer)
    slabs = all(isinstance(piece, Slab) for piece in part.body.pieces)
    return split_plate(part, printer) if slabs and part.group in PLATES else (part,)


def print_name(piece: Part) -> str:
    """Of its print files, without ending."""
    return f"{piece.name}_print"


def pieces_to_print(a: Assessment, placed: Sequence[Placed]) -> dict[str, tuple[Part, ...]]:
    """What of each printed part lies on the bed, by the part's name; nothing where the process is no printer.

    Raises DesignFault where a part is larger than the bed and cannot be split.
    """
    printer = a.design.process
    if not isinstance(printer, m.Printer):
        return {}
    return {part.name: on_the_bed(a, part, printer) for part in parts_to_make(placed) if prints(part)}


def _fits_bed(design: m.Design, size: tuple[float, float, float]) -> bool | None:
    if not isinstance(design.process, m.Printer):
        return None
    bed = design.process.bed_mm
    return lies_on(size[0], size[1], bed) and size[2] <= bed[2]


def _minutes(design: m.Design, part: Part, folder: str) -> float:
    if folder == TRIAL:
        return trial_minutes(design, part)
    printer = design.process
    return print_minutes(laid(part, printer), printer) if folder == PRINT and isinstance(printer, m.Printer) else 0.0


def _row(a: Assessment, job: Job, folder: str, made: Made, files: list[str]) -> PartRow:
    part, note, process = job.part, job.part.note, a.design.process
    fits = _fits_bed(a.design, made.size_mm) if folder != NOMINAL else None
    if fits is False and isinstance(process, m.Printer):
        bed = " × ".join(f"{side:g}" for side in process.bed_mm)
        note += f"; LARGER THAN THE BED of {bed} mm, and it is not split: print it elsewhere or choose a smaller drive"
    megabytes = len(made.files.get("step", b"")) / 1e6
    if megabytes > MOST_STEP_MB:
        note += f"; STEP of {megabytes:.1f} MB, slow in some programs"
    density = catalogue.material(part.material).density_kg_m3 / 1000 if part.material else 0.0
    return PartRow(
        name=part.name,
        words=part.words,
        folder=folder,
        quantity=part.quantity,
        files=tuple(files),
        volume_mm3=made.volume_mm3,
        mesh_volume_mm3=made.mesh_volume_mm3,
        expected_volume_mm3=made.expected_volume_mm3,
        size_mm=made.size_mm,
        edges_per_space=part.edges_per_space,
        fit_error_mm=part.fit_error_mm,
        fits_bed=fits,
        print_minutes=_minutes(a.design, part, folder),
        material=part.material,
        mass_g=made.volume_mm3 / MM3_PER_CM3 * density,
        note=note,
    )


def _written(job: Job, made: Made, folder: Path, kind: str) -> list[str]:
    files = []
    for ending in ("step", "stl", "3mf", "dxf"):
        if ending in made.files:
            files.append(f"{kind}/{job.name}.{ending}")
            (folder / files[-1]).write_bytes(made.files[ending])
    return files


def nominal_note(printer: bool) -> str:
    """What stands beside the nominal parts."""
    how = "For your printer take ../print." if printer else "The process is no printer: there are no print files."
    return f"The sizes of the design, in mm, with nothing added or taken off for any process. {how}\n"


def _filled(parts: Sequence[Part]) -> str:
    """Which print files are filled how, two lists."""
    rows = ""
    for solid in (True, False):
        names = sorted({print_name(part) for part in parts if prints_solid(part) is solid})
        rows += f"  {filling_words(solid)}: {', '.join(names)}\n" if names else ""
    return rows


def print_note(printer: m.Printer, parts: Sequence[Part]) -> str:
    """What stands beside the print files of ``parts``: which way the compensation works, and how each is filled."""
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
    if printer.seat_allowance_mm or printer.bolt_hole_allowance_mm:
        how += (
            f"Beyond that bearing seats are {printer.seat_allowance_mm:+g} mm and bolt holes and nut pockets "
            f"{printer.bolt_hole_allowance_mm:+g} mm wider across.\n"
        )
    if printer.first_layer_mm:
        how += f"The first layers are taken in by up to {printer.first_layer_mm:g} mm, because the first one spreads.\n"
    return (
        "Files for printing, lying as they print, in mm. They are NOT the sizes of the design (those: ../nominal).\n"
        f"{how}A hole that begins over a wider pocket is closed by one layer: push a drill through.\n"
        "plate_1_... and so on hold all parts laid out on your bed, those of one material and one filling on each.\n"
        "SET THE FILLING FOR EACH PLATE, as its name says; strength is told for solid parts and holds for no others:\n"
        f"{_filled(parts)}"
        "Scale 100 %.\n"
    )


def _jobs(a: Assessment, parts: Sequence[Part], pieces: Iterable[Part], stamp: str) -> list[tuple[str, Job]]:
    printer = a.design.process if isinstance(a.design.process, m.Printer) else None
    allowance = Allowance.of(printer) if printer else Allowance()
    rows = [(NOMINAL, Job(part, part.name, stamp, outlines=generated_outlines(a, part))) for part in parts]
    rows += [
        (PRINT, Job(piece, print_name(piece), "", allowance, about=filling_words(prints_solid(piece))))
        for piece in pieces
    ]
    suffix = "_print" if printer else ""
    rows += [
        (TRIAL, Job(part, f"{part.name}{suffix}", "", allowance, about=filling_words(True))) for part in trial_parts(a)
    ]
    return rows


def _write_plates(printer: m.Printer, wanted: list[Wanted], folder: Path) -> None:
    """One file for each bed full; parts that no bed holds are left out, their rows say so."""
    x, y, _ = printer.bed_mm
    for k, plate in enumerate(plates(wanted, (x, y))):
        how = filling_words(plate.solid)
        material = f"{catalogue.material(plate.material).words}, " if plate.material else ""
        path = folder / PRINT / f"plate_{k + 1}_{filling_name(plate.solid)}.3mf"
        write_plate(path, plate, wanted, f"plate {k + 1}: {material}{how}", f"Print all of this plate: {how}")


def make_parts(
    a: Assessment,
    folder: Path,
    progress: Progress | None = None,
    stamp: str = FIXED_STAMP,
    placed: Sequence[Placed] = (),
    mapper: Mapper = map,
    cache: Cache | None = None,
    pieces: Mapping[str, Sequence[Part]] | None = None,
) -> tuple[PartRow, ...]:
    """Write all parts into ``folder`` and tell what was written: nominal parts, print files, trial pieces.

    ``stamp`` stands as the date in STEP files. ``placed``: the assembly whose parts are written; without it rings, generator and
    flexible ring. ``pieces``: those of :func:`pieces_to_print`, found here where they are not given. ``mapper`` may spread the
    work over processes; ``cache`` keeps what was made. Raises PlatformFault (no CAD library), DesignFault (a part that cannot
    exist), ConvergenceFault (an outline, a volume or a mesh that misses its limit), OSError (cannot write).
    """
    say = progress or (lambda word, share: None)
    kernel()
    printer = a.design.process if isinstance(a.design.process, m.Printer) else None
    rows, wanted = [], []
    placed = placed or plain_placed(a)
    cut = pieces_to_print(a, placed) if pieces is None else pieces
    planned = _jobs(a, parts_to_make(placed), [one for row in cut.values() for one in row], stamp)
    for kind in (NOMINAL, TRIAL, *((PRINT,) if printer else ())):
        (folder / kind).mkdir(parents=True, exist_ok=True)
    for k, (job, made) in enumerate(make_all([job for _, job in planned], mapper, cache)):
        kind = planned[k][0]
        rows.append(_row(a, job, kind, made, _written(job, made, folder, kind)))
        if kind == PRINT and made.mesh and rows[-1].fits_bed:
            solid = prints_solid(job.part)
            wanted.append(Wanted(job.part.name, made.mesh, job.part.quantity, job.part.material, solid))
        say(f"part {k + 1} of {len(planned)}", 0.95 * (k + 1) / len(planned))
    (folder / NOMINAL / READ_ME).write_text(nominal_note(printer is not None), "utf-8", newline="\n")
    if printer:
        (folder / PRINT / READ_ME).write_text(
            print_note(printer, [one for row in cut.values() for one in row]), "utf-8", newline="\n"
        )
        _write_plates(printer, wanted, folder)
    say("parts", 1.0)
    return tuple(rows)
