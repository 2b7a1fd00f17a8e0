"""The parts list: what is made, what is bought, what of it lies in the drawer already, and what could stand in for it."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from lobewright.assessment.results import Assessment
from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.design.holding import bearings_on_an_axle
from lobewright.make.bodies import Part
from lobewright.make.bought import bearing_part
from lobewright.make.drawer import SCREW, Need, bearing_of, needs
from lobewright.make.parts_flexible import flexible_parts
from lobewright.make.parts_generator import generator_parts
from lobewright.make.parts_rings import rigid_ring
from lobewright.make.placing import Member, Place, Placed
from lobewright.make.substitutes import Substitute
from lobewright.make.trial import print_minutes
from lobewright.ring.generator import lobe_angles_rad

HEADS = (
    "quantity",
    "item",
    "standard designation",
    "substitute",
    "mass of all, g",
    "print time of all, min",
    "note",
    "in your drawer",
)
MM3_PER_CM3 = 1000.0
YOUR_CHOICE = "material of your choice"


@dataclass(frozen=True)
class BomRow:
    """One line of the parts list. ``mass_g`` and ``minutes`` are for the whole quantity, solid throughout; None where not known
    or not printed. ``drawer``: what the workshop file says is there; empty for nothing."""

    quantity: int
    item: str
    designation: str
    substitute: str = ""
    mass_g: float | None = None
    minutes: float | None = None
    note: str = ""
    drawer: str = ""
    made: bool = False


def _printed(design: m.Design, material: str) -> bool:
    """Whether the design's printer makes a part of this material."""
    if not isinstance(design.process, m.Printer) or not material:
        return False
    return catalogue.material(material).kind is catalogue.MaterialKind.PRINTED


def _verb(design: m.Design, part: Part) -> str:
    if _printed(design, part.material):
        return "printed"
    powder = part.material and catalogue.material(part.material).kind is catalogue.MaterialKind.POWDER_BED
    return "by a printing service" if powder else "made"


def _made(a: Assessment, placed: Sequence[Placed]) -> Iterator[BomRow]:
    counts: dict[str, int] = {}
    parts: dict[str, Part] = {}
    for one in sorted(placed, key=lambda row: row.step):
        if not one.part.designation:
            counts[one.part.name] = counts.get(one.part.name, 0) + len(one.places)
            parts[one.part.name] = one.part
    for name, part in parts.items():
        count, volume = counts[name], part.body.volume_mm3 * counts[name]
        known = catalogue.material(part.material) if part.material else None
        note = "; ".join(text for text in (part.note, f"needs support: {part.support}" if part.support else "") if text)
        yield BomRow(
            count,
            f"{_verb(a.design, part)}: {part.words}",
            known.words if known else YOUR_CHOICE,
            mass_g=volume / MM3_PER_CM3 * known.density_kg_m3 / 1000 if known else None,
            minutes=print_minutes(a.design, volume) if _printed(a.design, part.material) else None,
            note=note,
            made=True,
        )


def usual_substitute(need: Need) -> str:
    """What a shop gives instead as a matter of course (common practice); empty where nothing does."""
    name = bearing_of(need.designation)
    if name is not None:
        return "with any seal or shield"
    if SCREW.match(need.designation):
        return "hexagon head, ISO 4017"
    if need.designation.startswith("ISO 4032"):
        return "self-locking, ISO 7040"
    return ""


def _substitute(need: Need, found: Sequence[Substitute]) -> str:
    """The drawer's own substitute where it lacks the thing, else the usual one."""
    name = bearing_of(need.designation) or need.designation
    for one in found:
        if need.lacking and name in one.asked and one.after is not None and one.have >= one.need and not one.fails:
            return f"{one.taken} of the drawer, see below"
    return usual_substitute(need)


def _bought(a: Assessment, placed: Sequence[Placed], found: Sequence[Substitute]) -> Iterator[BomRow]:
    for need in needs(a, placed):
        yield BomRow(
            need.need, need.item, need.designation, _substitute(need, found), note=need.note, drawer=need.words
        )


def loose_parts(a: Assessment) -> tuple[Placed, ...]:
    """Rings and generator with its bearings, in no place: what is listed of a drive of which no assembly is laid out."""
    rings = [rigid_ring(a, ring, made) for ring, made in zip(a.design.rigid_ring, a.rings, strict=True)]
    parts = [*rings, *flexible_parts(a), *generator_parts(a)]
    generator = a.design.generator
    if not isinstance(generator, m.Cam):
        bearing = catalogue.bearing(generator.bearing)
        discs = isinstance(generator, m.Discs)
        count = 2 if discs else len(lobe_angles_rad(a.setting)) * bearings_on_an_axle(a.design, bearing)
        parts.append(bearing_part(bearing, count, "roller", "ball bearing of the generator"))
    return tuple(Placed(part, (Place(),) * part.quantity, Member.HELD) for part in parts)


def bom_rows(a: Assessment, placed: Sequence[Placed], found: Sequence[Substitute] = ()) -> tuple[BomRow, ...]:
    """Lines of the parts list: made parts first, in the order in which they go in, then what is bought.

    ``found``: substitutes of the drawer (see :func:`lobewright.make.substitutes.substitutes`).
    """
    return (*_made(a, placed), *_bought(a, placed, found))


def bom_text(a: Assessment, placed: Sequence[Placed], found: Sequence[Substitute] = ()) -> str:
    """The parts list as CSV text; numbers plain, empty where not known."""
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\n")
    table.writerow(HEADS)
    for row in bom_rows(a, placed, found):
        mass = "" if row.mass_g is None else f"{row.mass_g:.0f}"
        minutes = "" if row.minutes is None else f"{row.minutes:.0f}"
        table.writerow((row.quantity, row.item, row.designation, row.substitute, mass, minutes, row.note, row.drawer))
    return out.getvalue()
