"""The parts list: what is printed or cut, what is bought, and what of it lies in the drawer already."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass

from lobewright.assessment.results import Assessment
from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.design.holding import (
    HUB_BOLT,
    HUB_BOLTS,
    PLATE_MM,
    SHAFT_MM,
    SHOULDER_MM,
    axle,
    bearings_on_an_axle,
)
from lobewright.design.owned import owned_belts
from lobewright.make.parts import NOMINAL, PRINT, PartRow
from lobewright.ring.generator import lobe_angles_rad
from lobewright.ring.geometry import belt_heights

LENGTHS_MM = (5, 6, 8, 10, 12, 16, 20, 25, 30, 35, 40, 45, 50, 55, 60, 65, 70, 80, 90, 100)
"""Usual lengths of socket head screws (ISO 4762; remembered)."""
HEADS = ("quantity", "item", "standard designation", "note")


@dataclass(frozen=True)
class BomRow:
    """One line of the parts list."""

    quantity: int
    item: str
    designation: str
    note: str = ""


def screw(bolt: catalogue.Bolt, grip_mm: float) -> str:
    """Designation of the shortest usual screw that clamps ``grip_mm`` and fills a nut; threaded rod beyond the table."""
    least = grip_mm + bolt.nut_height_mm
    length = next((length for length in LENGTHS_MM if length >= least), None)
    if length is None:
        return f"threaded rod {bolt.size}, {least + bolt.nut_height_mm:.0f} mm, with a nut at each end"
    return f"ISO 4762 {bolt.size}×{length}"


def owned_note(have: int, need: int) -> str:
    """What the drawer says: nothing, all of it, or a share."""
    if have <= 0:
        return ""
    return "you own this" if have >= need else f"you own {have} of {need}"


def _joined(*notes: str) -> str:
    return "; ".join(note for note in notes if note)


def _belt(a: Assessment) -> Iterator[BomRow]:
    ring = a.design.flexible_ring
    if not isinstance(ring, m.Belt):
        return
    profile, *_ = belt_heights(ring)
    length = profile.pitch_mm * ring.teeth
    have = owned_belts(a.design)
    words = f"{profile.designation}, {ring.teeth} teeth, {length:g} mm long, {ring.width_mm:g} mm wide"
    yield BomRow(1, "closed timing belt", words, _joined("worn teeth outward", owned_note(have, 1)))


def _bearing_count(a: Assessment, rows: tuple[PartRow, ...], bearing: catalogue.Bearing) -> int:
    generator = a.design.generator
    if not isinstance(generator, m.Discs):
        return bearings_on_an_axle(a.design, bearing) * len(lobe_angles_rad(a.setting))
    disc = next(row for row in rows if row.name == "disc")
    return 2 * max(1, int((disc.size_mm[2] - 1.0) / bearing.width_mm + 1e-9))


def _bought_for_generator(a: Assessment, rows: tuple[PartRow, ...]) -> Iterator[BomRow]:
    generator = a.design.generator
    names = {row.name for row in rows}
    shaft_note = "shaft of the motor, or a stub with a coupling"
    if isinstance(generator, m.Cam):
        if generator.under is m.CamUnder.THIN_BEARING:
            note = "its free inner length is that of the cam; measure before you buy"
            words = f"radial height {generator.race_height_mm:g} mm, bent over the cam"
            yield BomRow(1, "thin flexible ball bearing", words, note)
    else:
        bearing = catalogue.bearing(generator.bearing)
        count = _bearing_count(a, rows, bearing)
        owned = a.design.owned.bearings if a.design.owned else ()
        have = sum(one.count for one in owned if catalogue.bearing(one.designation).designation == bearing.designation)
        size = f"{bearing.bore_mm:g}×{bearing.outer_mm:g}×{bearing.width_mm:g} mm"
        yield BomRow(count, "deep groove ball bearing", f"{bearing.designation} ({size})", owned_note(have, count))
        if "carrier" in names or "crank_cheek" in names:
            yield from _axle_bolts(a, rows, bearing)
    yield BomRow(1, "shaft", f"ø{SHAFT_MM:g} mm", shaft_note)
    if any(HUB_BOLT in row.note and "flange" in row.note for row in rows):
        yield BomRow(HUB_BOLTS, "screw for the shaft's flange", f"ISO 4762 {HUB_BOLT}", "length by your flange")


def _axle_bolts(a: Assessment, rows: tuple[PartRow, ...], bearing: catalogue.Bearing) -> Iterator[BomRow]:
    held = axle(bearing)
    if isinstance(a.design.generator, m.Discs):
        heights = {row.name: row.size_mm[2] for row in rows}
        axles, grip = 2, heights["crank_cheek"] + heights["disc"] + heights["crank_web"] / 2
    else:
        axles = len(lobe_angles_rad(a.setting))
        grip = 2 * (PLATE_MM + SHOULDER_MM) + bearings_on_an_axle(a.design, bearing) * bearing.width_mm
    note = _joined(f"axle, grip {grip:.1f} mm", _owned_bolts(a.design, held.bolt.size, grip, axles))
    yield BomRow(axles, "axle screw", screw(held.bolt, grip), note)
    yield BomRow(axles, "nut", f"ISO 4032 {held.bolt.size}", "secure it, the axles turn with the generator")


def _owned_bolts(design: m.Design, size: str, grip_mm: float, need: int) -> str:
    bolt = catalogue.bolt(size)
    owned = design.owned.bolts if design.owned else ()
    fits = [one for one in owned if one.size.upper() == size and one.length_mm >= grip_mm + bolt.nut_height_mm]
    return owned_note(sum(one.count for one in fits), need)


def _ring_bolts(a: Assessment, rows: tuple[PartRow, ...]) -> Iterator[BomRow]:
    made = {row.name: row.note for row in rows if row.folder == NOMINAL}
    for ring in a.design.rigid_ring:
        if not ring.bolts or "left out" in made[f"ring_{ring.name}"]:
            continue
        note = f"ring {ring.name}, {ring.width_mm:g} mm thick; length by what it is screwed to"
        # Rings that share a size share the drawer: it must hold the screws of all of them.
        need = sum(one.bolts for one in a.design.rigid_ring if one.bolt.upper() == ring.bolt.upper())
        note = _joined(note, _owned_bolts(a.design, ring.bolt.upper(), ring.width_mm, need))
        yield BomRow(ring.bolts, "screw for a ring", f"ISO 4762 {ring.bolt.upper()}", note)
        yield BomRow(ring.bolts, "nut", f"ISO 4032 {ring.bolt.upper()}", f"ring {ring.name}, or a threaded housing")


def _made(a: Assessment, rows: tuple[PartRow, ...]) -> Iterator[BomRow]:
    """Made parts: by the print file where there is one, by the nominal part otherwise."""
    printed = {row.name: row for row in rows if row.folder == PRINT}
    for row in rows:
        if row.folder != NOMINAL:
            continue
        best = printed.get(row.name, row)
        mass = f"{best.mass_g:.0f} g each, solid" if best.mass_g else ""
        words = catalogue.material(row.material).words if row.material else "material of your choice"
        verb = "printed" if best.folder == PRINT else "made"
        yield BomRow(row.quantity, f"{verb}: {row.words}", words, _joined(mass, best.note))


def bom_rows(a: Assessment, rows: tuple[PartRow, ...]) -> tuple[BomRow, ...]:
    """Lines of the parts list from what was written: made parts first, then what is bought."""
    nominal = tuple(row for row in rows if row.folder == NOMINAL)
    return (*_made(a, rows), *_belt(a), *_bought_for_generator(a, nominal), *_ring_bolts(a, nominal))


def bom_text(a: Assessment, rows: tuple[PartRow, ...]) -> str:
    """The parts list as CSV text: quantity, item, standard designation, note."""
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\n")
    table.writerow(HEADS)
    for row in bom_rows(a, rows):
        table.writerow((row.quantity, row.item, row.designation, row.note))
    return out.getvalue()
