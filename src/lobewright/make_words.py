"""What `make` says when it is done: what lies where, what was checked, what to do first."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from pathlib import Path

from lobewright.assessment.results import Assessment
from lobewright.command_words import WIDTH, verdict_lines
from lobewright.design.model import Design, Printer
from lobewright.make.bom import Total, total
from lobewright.make.clearance_notes import clearance_notes
from lobewright.make.everything import Made
from lobewright.make.filling import THIN
from lobewright.make.parts import PRINT
from lobewright.make.printable import bead_notes

PLACES = (
    ("guide.pdf", "how to put it together, with pictures"),
    ("bom.html", "what is made, what is bought, what lies in your drawer"),
    ("parts/print", "print files, laid out on beds: what prints solid as plate_1_solid.3mf and so on, the rest apart"),
    ("parts/trial_sector", "a sector of each ring, to feel the mesh before the rest is made"),
    ("parts/nominal", "every made part as STEP, STL, 3MF, flat ones as DXF"),
    ("assembly", "the whole drive as STEP and GLB"),
    ("drawings", "dimensioned sheets"),
    ("rack", "the drive unrolled: print it, cut it or glue it"),
)


def _amount(one: Total) -> str:
    return f"about {one.minutes / 60:.0f} h of printing, {one.mass_g / 1000:.1f} kg"


def _counts(design: Design, made: Made) -> Iterator[str]:
    printed = [row for row in made.rows if row.folder == PRINT]
    if printed:
        pieces = sum(row.quantity for row in printed)
        yield f"{pieces} printed pieces of {len(printed)} kinds, {_amount(total(made.bom))}."
        yield f"That is estimated: what bears the drive's load solid, the rest with {THIN}."
        if any(row.may_skip for row in made.bom):
            yield f"Without what may be skipped: {_amount(total(made.bom, with_skipped=False))}."
    found = made.plan.clearances
    if found is None:
        yield f"No assembly: {made.plan.not_assembled}."
    else:
        nearest = next((gap for gap in found.gaps if not gap.meant), None)
        rest = f"; nearest are {nearest.first} and {nearest.second}, {nearest.gap_mm:.2f} mm" if nearest else ""
        yield f"Nothing runs into anything: {found.looked_at}{rest}."
    yield from (f"{note}." for note in bead_notes(design))
    if made.no_rack:
        yield f"No rack model: {made.no_rack}"


def first_words(design: Design) -> str:
    """What to make before all else."""
    if isinstance(design.process, Printer):
        return "Print parts/trial_sector first, and a calibration set if this printer has none: lobewright calibrate."
    return "parts/trial_sector is a piece of the teeth at full size, to hold in the hand before metal is cut."


def make_text(found: Assessment, made: Made, out: Path) -> str:
    """Verdicts, counts, where things lie, and cautions."""
    lines = [
        *verdict_lines(found),
        "",
        *_counts(found.design, made),
        *(f"{note}." for note in clearance_notes(found)),
        "",
    ]
    there = [(name, words) for name, words in PLACES if (out / name).exists()]
    width = max(len(str(out / name)) for name, _ in there)
    lines += [f"{out / name!s:{width}}  {words}" for name, words in there]
    lines += [
        "",
        first_words(found.design),
    ]
    lines += ["", "Cautions:"]
    for caution in found.cautions:
        lines += textwrap.wrap(caution, WIDTH, initial_indent="  - ", subsequent_indent="    ")
    return "\n".join(lines)
