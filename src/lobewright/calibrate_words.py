"""What ``calibrate`` writes and says: the coupons of a workshop's printer, and its [printer] block out of readings."""

from __future__ import annotations

from pathlib import Path

import tomlkit
from pydantic import ValidationError

from lobewright.design.base import Printer
from lobewright.design.files import read_text, read_workshop
from lobewright.design.writing import write_whole
from lobewright.errors import DesignFault, Fault, OutputFault
from lobewright.make.calibration import Calibration, Told, calibrate, read_readings
from lobewright.make.coupon_parts import coupons
from lobewright.make.coupon_sheet import sheet, template
from lobewright.make.formats import Item, write_3mf_plate, write_stl
from lobewright.make.plates import BETWEEN_MM, Wanted
from lobewright.make.print_set import Allowance, printed
from lobewright.make.solids import Mesh
from lobewright.make.trial import BEAD_SPEED_MM_S

DIGITS = 3


def _printer(workshop: str) -> Printer:
    printer = read_workshop(workshop).printer
    if printer is None:
        fault = Fault("the workshop has no printer to calibrate", "printer", allowed="a [printer] table")
        raise DesignFault([fault], workshop)
    return printer


def _laid(meshes: list[Mesh], bed_mm: float) -> list[Item]:
    """Coupons in rows, none turned: lengths along x must lie along the bed's x."""
    items, x, y, deep = [], 0.0, 0.0, 0.0
    for k, mesh in enumerate(meshes):
        wide, high, _ = mesh.size_mm
        if x and x + wide > bed_mm:
            x, y, deep = 0.0, y + deep + BETWEEN_MM, 0.0
        low = mesh.corners_mm.min(axis=0)
        items.append(Item(k, x - float(low[0]), y - float(low[1])))
        x, deep = x + wide + BETWEEN_MM, max(deep, high)
    return items


def write_coupons(workshop: str, out: str) -> str:
    """Write STL, 3MF, sheet and table of the coupons into a folder; returns what to say. An old table is left alone."""
    printer, folder = _printer(workshop), Path(out)
    parts = coupons(printer)
    table = folder / "readings.csv"
    if table.exists():
        raise OutputFault("there is a table of readings already; it is left alone", str(table))
    bare = Allowance(layer_mm=printer.layer_mm)
    wanted = [Wanted(part.name, printed(part, bare), 1) for part in parts]
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for one in wanted:
            write_stl(folder / f"{one.name}.stl", one.mesh, one.name)
        named = [(one.name, one.mesh) for one in wanted]
        write_3mf_plate(
            folder / "coupons.3mf", named, _laid([one.mesh for one in wanted], printer.bed_mm[0]), "coupons"
        )
    except OSError as error:
        raise OutputFault(f"the coupons cannot be written: {error.strerror}", out) from None
    rate = printer.extrusion_width_mm * printer.layer_mm * BEAD_SPEED_MM_S * 60
    minutes = sum(part.body.volume_mm3 for part in parts) / rate
    write_whole(folder / "sheet.html", sheet(parts, printer.extrusion_width_mm, minutes))
    write_whole(table, template(printer.extrusion_width_mm))
    return (
        f"{folder}: {len(parts)} coupons, about {minutes:.0f} minutes to print, at nominal size, nothing compensated.\n"
        f"Next: print coupons.3mf, follow sheet.html, fill in readings.csv, then\n"
        f"  lobewright calibrate {workshop} --readings {table}"
    )


def _plain(row: Told) -> str:
    return f"{row.value:.3f} ± {row.uncertainty:.3f} {row.unit}"


def write_readings(workshop: str, readings: str) -> str:
    """Write what the readings tell into the workshop's [printer] table, its comments kept; returns what changed."""
    before = _printer(workshop)
    found = calibrate(read_readings(read_text(Path(readings)), readings))
    path = Path(workshop)
    document = tomlkit.parse(read_text(path))
    table = document["printer"]
    lines = []
    for row in found.told:
        if not row.key:
            continue
        sure = row.key.removesuffix("_mm") + "_uncertainty_mm"
        old = f"{getattr(before, row.key):.3f} ± {getattr(before, sure):.3f} mm"
        lines.append(f"{row.key}: {old} -> {_plain(row)} ({row.words})")
        table[row.key] = round(row.value, DIGITS)  # type: ignore[index]
        table[sure] = round(row.uncertainty, DIGITS)  # type: ignore[index]
    try:
        Printer.model_validate(document.unwrap()["printer"] | {"bed_mm": before.bed_mm})
    except ValidationError as error:
        first = error.errors()[0]
        place = f"printer.{first['loc'][-1]}"
        fault = Fault(
            "the readings give a value that no printer has", place, value=str(first["input"]), allowed=first["msg"]
        )
        raise DesignFault([fault], readings) from None
    if lines:
        write_whole(path, tomlkit.dumps(document))
    return "\n".join(
        [f"{path}: {'changed' if lines else 'unchanged'} (± is one standard uncertainty)", *lines, *_rest(found)]
    )


def _rest(found: Calibration) -> list[str]:
    told = [f"{row.words}: {_plain(row)}" for row in found.told if not row.key]
    return [*told, *(f"not made: {reason}" for reason in found.not_made)]
