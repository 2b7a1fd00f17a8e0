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
from lobewright.make.bodies import Part
from lobewright.make.bom import BomRow, bom_rows, bom_text
from lobewright.make.bom_html import bom_html
from lobewright.make.cache import Cache
from lobewright.make.collisions import Clearances, collisions
from lobewright.make.drawer import Joint, needs
from lobewright.make.drawing import write_drawings
from lobewright.make.guide import write_guide
from lobewright.make.layout import require_bearings
from lobewright.make.parts import PartRow, make_parts, pieces_to_print
from lobewright.make.placing import Placed
from lobewright.make.printable import require_printable
from lobewright.make.rack_files import write_rack
from lobewright.make.splitting import joint_needs
from lobewright.make.substitutes import Substitute, substitutes
from lobewright.mapper import Mapper

Progress = Callable[[str, float], None]
LINE_SHARE = 0.05
"""Of the whole work: some twenty lines tell of it, one in every second or two."""
STEPS = ("assembly", "instructions", "drawings", "parts list", "made")


@dataclass(frozen=True)
class Plan:
    """What will be made, checked. ``clearances`` is None where no assembly is laid out; ``not_assembled`` then says why."""

    placed: tuple[Placed, ...]
    clearances: Clearances | None
    not_assembled: str
    pieces: dict[str, tuple[Part, ...]]
    """What of each printed part lies on the bed, by the part's name."""

    @property
    def joints(self) -> tuple[Joint, ...]:
        """What joins the pieces of parts larger than the bed."""
        return tuple(row for pieces in self.pieces.values() for row in joint_needs(pieces))


@dataclass(frozen=True)
class Made:
    """What was written. ``no_rack`` says why there is no model of the drive unrolled; empty where there is one."""

    plan: Plan
    rows: tuple[PartRow, ...]
    bom: tuple[BomRow, ...]
    substitutes: tuple[Substitute, ...]
    no_rack: str


def plan(a: Assessment) -> Plan:
    """Put the parts in their places and check what can be checked before any CAD starts.

    Raises DesignFault where parts cannot be made on the stated printer, a bearing or bolt cannot be used, or parts run into each
    other at any of the generator angles tried.
    """
    require_bearings(a)
    placed, reason = assembled(a), not_assembled(a)
    pieces, printer = pieces_to_print(a, placed), a.design.process
    if isinstance(printer, m.Printer):
        require_printable([piece for row in pieces.values() for piece in row], printer)
    if reason:
        return Plan(placed, None, reason, pieces)
    found = collisions(a, placed)
    found.require()
    return Plan(placed, found, "", pieces)


def sparse(progress: Progress) -> Progress:
    """Tells on only when a share worth a line is done since the last one; the steps of :data:`STEPS` are told always."""
    told = -1.0

    def tell(word: str, share: float) -> None:
        nonlocal told
        if word in STEPS or share >= min(told + LINE_SHARE, 1.0):
            told = share
            progress(word, share)

    return tell


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
    placed, progress = planned.placed, sparse(progress)
    rows = make_parts(a, folder / "parts", lambda word, share: progress(word, 0.5 * share), placed=placed,
                      mapper=mapper, cache=cache, pieces=planned.pieces)  # fmt: skip
    if not planned.not_assembled:
        progress("assembly", 0.5)
        (folder / "assembly").mkdir()
        stands = standing(a, placed)
        write_assembly_step(folder / "assembly" / "assembly.step", a.design.name, stands, stamp)
        write_assembly_glb(folder / "assembly" / "assembly.glb", a.design.name, stands)
        write_guide(a, placed, folder, stamp, lambda word, share: progress(word, 0.55 + 0.25 * share))
    progress("drawings", 0.8)
    write_drawings(a, placed, folder, stamp)
    progress("parts list", 0.88)
    found = substitutes(a, needs(a, placed, planned.joints))
    listed = bom_rows(a, placed, found, planned.pieces, planned.joints)
    (folder / "bom.csv").write_text(bom_text(listed), "utf-8", newline="\n")
    (folder / "bom.html").write_text(bom_html(a, listed, found, planned.not_assembled), "utf-8", newline="\n")
    no_rack = _rack(a, folder, lambda word, share: progress(word, 0.9 + 0.1 * share))
    progress("made", 1.0)
    return Made(planned, rows, listed, found, no_rack)


def _rack(a: Assessment, folder: Path, progress: Progress) -> str:
    """The drive unrolled; not every drive has such a model, and its lack stops nothing else."""
    try:
        write_rack(a, folder, progress)
    except DesignFault as fault:
        return fault.sentences()[0]
    return ""
