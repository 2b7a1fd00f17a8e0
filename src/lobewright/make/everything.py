"""All that is needed at the bench: planned and checked first, without any CAD, then written.

::

    parts/       nominal parts, print files laid out on beds, trial pieces
    assembly/    the whole drive as STEP and glTF, the flexible ring bent as set
    drawings/    dimensioned sheets, SVG and one PDF
    guide.pdf    how to put it together, with pictures (also in guide/)
    bom.csv, bom.html
    rack/        the drive unrolled, to print, cut or glue
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from lobewright.assessment.results import Assessment
from lobewright.design import model as m
from lobewright.errors import DesignFault
from lobewright.make.assembling import assembled, not_assembled
from lobewright.make.assembly_files import standing, write_assembly_glb, write_assembly_step
from lobewright.make.bom import bom_text
from lobewright.make.bom_html import bom_html
from lobewright.make.cache import Cache
from lobewright.make.collisions import Clearances, collisions
from lobewright.make.drawer import needs
from lobewright.make.drawing import write_drawings
from lobewright.make.guide import write_guide
from lobewright.make.layout import require_bearings
from lobewright.make.part_files import Mapper
from lobewright.make.parts import PartRow, make_parts, on_the_bed, parts_to_make, prints
from lobewright.make.placing import Placed
from lobewright.make.printable import require_printable
from lobewright.make.rack_files import write_rack
from lobewright.make.substitutes import Substitute, substitutes

Progress = Callable[[str, float], None]


@dataclass(frozen=True)
class Plan:
    """What will be made, checked. ``clearances`` is None where no assembly is laid out; ``not_assembled`` then says why."""

    placed: tuple[Placed, ...]
    clearances: Clearances | None
    not_assembled: str


@dataclass(frozen=True)
class Made:
    """What was written. ``no_rack`` says why there is no model of the drive unrolled; empty where there is one."""

    plan: Plan
    rows: tuple[PartRow, ...]
    substitutes: tuple[Substitute, ...]
    no_rack: str


def plan(a: Assessment) -> Plan:
    """Put the parts in their places and check what can be checked before any CAD starts.

    Raises DesignFault where parts cannot be made on the stated printer, a bearing or bolt cannot be used, or parts run into each
    other at any of the generator angles tried.
    """
    require_bearings(a)
    placed, reason = assembled(a), not_assembled(a)
    printer = a.design.process
    if isinstance(printer, m.Printer):
        parts = [part for part in parts_to_make(a, placed) if prints(part)]
        require_printable([piece for part in parts for piece in on_the_bed(a, part, printer)], printer)
    if reason:
        return Plan(placed, None, reason)
    found = collisions(a, placed)
    found.require()
    return Plan(placed, found, "")


def write_all(
    a: Assessment,
    planned: Plan,
    folder: Path,
    stamp: str,
    progress: Progress,
    mapper: Mapper = map,
    cache: Cache | None = None,
) -> Made:
    """Write everything into ``folder``. ``stamp`` is the date that files bear.

    Raises PlatformFault (the extra "cad" is missing), DesignFault, ConvergenceFault (a file that misses its limit), OSError.
    """
    placed = planned.placed
    rows = make_parts(a, folder / "parts", lambda word, share: progress(word, 0.5 * share), placed=placed,
                      mapper=mapper, cache=cache)  # fmt: skip
    if not planned.not_assembled:
        progress("assembly", 0.5)
        (folder / "assembly").mkdir()
        stands = standing(a, placed)
        write_assembly_step(folder / "assembly" / "assembly.step", a.design.name, stands, stamp)
        write_assembly_glb(folder / "assembly" / "assembly.glb", a.design.name, stands)
        write_guide(a, placed, folder, stamp, lambda word, share: progress(word, 0.65 + 0.1 * share))
    progress("drawings", 0.75)
    write_drawings(a, placed, folder, stamp)
    progress("parts list", 0.85)
    found = substitutes(a, needs(a, placed))
    (folder / "bom.csv").write_text(bom_text(a, placed, found), "utf-8", newline="\n")
    (folder / "bom.html").write_text(bom_html(a, placed, found, planned.not_assembled), "utf-8", newline="\n")
    no_rack = _rack(a, folder, lambda word, share: progress(word, 0.9 + 0.1 * share))
    progress("made", 1.0)
    return Made(planned, rows, found, no_rack)


def _rack(a: Assessment, folder: Path, progress: Progress) -> str:
    """The drive unrolled; not every drive has such a model, and its lack stops nothing else."""
    try:
        write_rack(a, folder, progress)
    except DesignFault as fault:
        return fault.sentences()[0]
    return ""
