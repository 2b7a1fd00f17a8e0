"""The parts list: what is made, what is bought, what of it lies in the drawer already, and what could stand in for it."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from lobewright.assessment.results import Assessment
from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.make.bodies import Group, Part
from lobewright.make.drawer import BELT, SCREW, Joint, Need, bearing_of, needs
from lobewright.make.filling import FILLING_SHARE, THIN, is_printed, laid, print_minutes, prints_solid
from lobewright.make.numbering import kind_of, part_numbers
from lobewright.make.parts import NOMINAL, PRINT, print_name
from lobewright.make.placing import Placed
from lobewright.make.substitutes import Substitute

SOLID_WORDS, THIN_WORDS = "printed solid", f"printed with {100 * FILLING_SHARE:.0f} % filling"
HEADS = (
    "number in the guide",
    "quantity",
    "item",
    f"how (filling: {THIN})",
    "material or standard designation",
    "substitute",
    "mass of all, g (estimated)",
    "print time of all, min (estimated)",
    "file",
    "note",
    "in your drawer",
)
MM3_PER_CM3 = 1000.0
YOUR_CHOICE = "material of your choice"
SKIP = "may be skipped"
ESTIMATED = f"Masses and print times are estimates: solid, or with {THIN}; without heating up"
Pieces = Mapping[str, Sequence[Part]]
"""What of each printed part lies on the bed, by the part's name: itself, or its pieces."""


@dataclass(frozen=True)
class BomRow:
    """One line of the parts list.

    ``number`` is that of the guide, None for what has none. ``designation``: of the material where it is made. ``mass_g`` and
    ``minutes`` are for the whole quantity, filled as ``how`` says; None where not known or not printed. ``files``: without
    ending, in the folder of what was made. ``drawer``: what the workshop file says is there; empty for nothing.
    """

    quantity: int
    item: str
    designation: str
    number: int | None = None
    how: str = "bought"
    substitute: str = ""
    mass_g: float | None = None
    minutes: float | None = None
    files: tuple[str, ...] = ()
    note: str = ""
    drawer: str = ""
    made: bool = False
    may_skip: bool = False


@dataclass(frozen=True)
class Total:
    """Of the made parts together: mass of what is known, printing time."""

    mass_g: float
    minutes: float


def total(rows: Sequence[BomRow], with_skipped: bool = True) -> Total:
    """The sum over made parts, with or without those that may be skipped."""
    kept = [row for row in rows if row.made and (with_skipped or not row.may_skip)]
    return Total(sum(row.mass_g or 0.0 for row in kept), sum(row.minutes or 0.0 for row in kept))


def _how(design: m.Design, part: Part) -> str:
    if is_printed(design, part.material):
        return SOLID_WORDS if prints_solid(part) else THIN_WORDS
    powder = part.material and catalogue.material(part.material).kind is catalogue.MaterialKind.POWDER_BED
    return "by a printing service" if powder else "made"


def _files(design: m.Design, part: Part, pieces: Pieces) -> tuple[str, ...]:
    if not is_printed(design, part.material):
        return (f"parts/{NOMINAL}/{part.name}",)
    return tuple(f"parts/{PRINT}/{print_name(piece)}" for piece in pieces.get(part.name, (part,)))


def _joined(*texts: str) -> str:
    return "; ".join(text for text in texts if text)


def _made(a: Assessment, placed: Sequence[Placed], pieces: Pieces, numbers: Mapping[str, int]) -> Iterator[BomRow]:
    counts: dict[str, int] = {}
    parts: dict[str, Part] = {}
    for one in placed:
        if not one.part.designation:
            counts[one.part.name] = counts.get(one.part.name, 0) + len(one.places)
            parts[one.part.name] = one.part
    printer = a.design.process
    for name, part in sorted(parts.items(), key=lambda row: numbers[row[0]]):
        count, volume, minutes = counts[name], part.body.volume_mm3, None
        known = catalogue.material(part.material) if part.material else None
        if isinstance(printer, m.Printer) and is_printed(a.design, part.material):
            filled = laid(part, printer)
            volume, minutes = filled.volume_mm3, count * print_minutes(filled, printer)
        yield BomRow(
            count,
            part.words,
            known.short if known else part.advised_material or YOUR_CHOICE,
            numbers[name],
            _how(a.design, part),
            mass_g=count * volume / MM3_PER_CM3 * known.density_kg_m3 / 1000 if known else None,
            minutes=minutes,
            files=_files(a.design, part, pieces),
            note=_joined(SKIP if part.may_skip else "", part.note, f"needs support: {part.support}" if part.support else ""),
            made=True,
            may_skip=part.may_skip,
        )  # fmt: skip


ROD = ", or threaded rod and two nuts where this length is not sold"
OFTEN_SOLD = 10.0
"""Lengths up to so many diameters are in most shops (common practice)."""


def _seldom_sold(designation: str) -> bool:
    screw = SCREW.match(designation)
    return screw is not None and float(screw[2]) > OFTEN_SOLD * catalogue.bolt(screw[1]).diameter_mm


def usual_substitute(need: Need) -> str:
    """What a shop gives instead as a matter of course (common practice); empty where nothing does.

    What is sunk in a pocket takes no other form: neither a hexagon head nor a higher nut.
    """
    if bearing_of(need.designation) is not None:
        return "with any seal or shield"
    if SCREW.match(need.designation):
        other = f"hexagon head, ISO 4017{ROD if _seldom_sold(need.designation) else ''}"
    elif need.designation.startswith("ISO 4032"):
        other = "self-locking, ISO 7040"
    else:
        return ""
    if not need.sunk:
        return other
    return f"{other}; not for {', '.join(need.sunk)} (sunk)" if set(need.uses) - set(need.sunk) else ""


def _substitute(need: Need, found: Sequence[Substitute]) -> str:
    """The drawer's own substitute where it lacks the thing, else the usual one."""
    name = bearing_of(need.designation) or need.designation
    for one in found:
        if need.lacking and name in one.asked and one.after is not None and one.have >= one.need and not one.fails:
            return f"{one.taken} of the drawer, see below"
    return usual_substitute(need)


def _skipped(need: Need) -> str:
    if not need.may_skip:
        return ""
    return SKIP if need.may_skip == need.need else f"{need.may_skip} of them {SKIP}"


def _bought(wanted: Sequence[Need], found: Sequence[Substitute], numbers: Mapping[str, int]) -> Iterator[BomRow]:
    for need in wanted:
        yield BomRow(
            need.need,
            need.item,
            need.designation,
            numbers.get(need.designation),
            substitute=_substitute(need, found),
            note=_joined(_skipped(need), need.note),
            drawer=need.words,
            may_skip=need.may_skip == need.need,
        )


def bom_rows(
    a: Assessment,
    placed: Sequence[Placed],
    found: Sequence[Substitute] = (),
    pieces: Pieces | None = None,
    joints: Sequence[Joint] = (),
) -> tuple[BomRow, ...]:
    """Lines of the parts list: made parts first, in the order in which they go in, then what is bought.

    ``found``: substitutes of the drawer (see :func:`lobewright.make.substitutes.substitutes`). ``pieces``, ``joints``: what is
    printed of parts larger than the bed, and what joins it.
    """
    numbers = part_numbers(placed)
    wanted = needs(a, placed, joints)
    # The belt is asked for by more than what it is placed as.
    belts = [numbers[kind_of(one.part)] for one in placed if one.part.group is Group.FLEXIBLE_RING]
    known = numbers | {need.designation: belts[0] for need in wanted if need.item == BELT and belts}
    return (*_made(a, placed, pieces or {}, numbers), *_bought(wanted, found, known))


def shown(value: float | None, places: int) -> str:
    """A number rounded, never to nothing; empty where there is none."""
    if value is None:
        return ""
    least = 10.0**-places
    return f"{value:.{places}f}" if value >= least / 2 or value == 0 else f"<{least:g}"


def bom_text(rows: Sequence[BomRow]) -> str:
    """The parts list as CSV text; numbers plain, empty where not known."""
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\n")
    table.writerow(HEADS)
    for row in rows:
        table.writerow((
            row.number or "", row.quantity, row.item, row.how, row.designation, row.substitute, shown(row.mass_g, 1),
            shown(row.minutes, 0), " ".join(row.files), row.note, row.drawer,
        ))  # fmt: skip
    return out.getvalue()
