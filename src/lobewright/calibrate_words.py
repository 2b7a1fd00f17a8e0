"""What ``calibrate`` writes and says: the coupons of a workshop's printer, and its [printer] block out of readings."""

from __future__ import annotations

from pathlib import Path

import tomlkit
from pydantic import ValidationError

from lobewright.design.base import Printer
from lobewright.design.files import parse_toml, read_text, read_workshop
from lobewright.design.writing import write_whole
from lobewright.errors import DesignFault, Fault, OutputFault
from lobewright.make.calibration import Calibration, Told, calibrate, read_readings
from lobewright.make.coupon_parts import coupons, minutes
from lobewright.make.coupon_sheet import sheet, template
from lobewright.make.formats import Item, write_3mf_plate, write_stl
from lobewright.make.plates import BETWEEN_MM, Wanted
from lobewright.make.print_set import Allowance, printed
from lobewright.make.solids import Mesh
from lobewright.whole_folder import replacing

DIGITS = 3


def _printer(workshop: str) -> Printer:
    if "flexible_ring" in parse_toml(read_text(Path(workshop)), workshop):
        fault = Fault("this is a design", allowed="the workshop file, which a design names as its workshop")
        raise DesignFault([fault], workshop)
    printer = read_workshop(workshop).printer
    if printer is None:
        fault = Fault("the workshop has no printer to calibrate", "printer", allowed="a [printer] table")
        raise DesignFault([fault], workshop)
    return printer


def _laid(meshes: list[Mesh], bed_mm: tuple[float, float, float]) -> list[Item]:
    """Coupons in rows, none turned: lengths along x must lie along the bed's x. Raises DesignFault where the bed is too small."""
    items, x, y, deep, reach = [], 0.0, 0.0, 0.0, 0.0
    for k, mesh in enumerate(meshes):
        wide, high, _ = mesh.size_mm
        if x and x + wide > bed_mm[0]:
            x, y, deep = 0.0, y + deep + BETWEEN_MM, 0.0
        low = mesh.corners_mm.min(axis=0)
        items.append(Item(k, x - float(low[0]), y - float(low[1])))
        deep = max(deep, high)
        reach = max(reach, x + wide)
        x += wide + BETWEEN_MM
    if reach > bed_mm[0] or y + deep > bed_mm[1]:
        value, allowed = f"{bed_mm[0]:g} × {bed_mm[1]:g} mm", f"at least {reach:.0f} × {y + deep:.0f} mm"
        raise DesignFault([Fault("the coupons do not fit on the bed", "printer.bed_mm", value=value, allowed=allowed)])
    return items


def write_coupons(workshop: str, out: str) -> str:
    """Write STL, 3MF, sheet and table of the coupons into a new or empty folder, all or nothing; returns what to say."""
    printer, folder = _printer(workshop), Path(out)
    parts = coupons(printer)
    table = folder / "readings.csv"
    if folder.exists() and not (folder.is_dir() and not any(folder.iterdir())):
        raise OutputFault("this is no new or empty folder; it is left alone", out)
    wanted = [Wanted(part.name, printed(part, Allowance()), 1) for part in parts]
    named = [(one.name, one.mesh) for one in wanted]
    items = _laid([one.mesh for one in wanted], printer.bed_mm)
    with replacing(folder) as fresh:
        for one in wanted:
            write_stl(fresh / f"{one.name}.stl", one.mesh, one.name)
        write_3mf_plate(fresh / "coupons.3mf", named, items, "coupons")
        write_whole(fresh / "sheet.html", sheet(parts, printer))
        write_whole(fresh / table.name, template())
    return (
        f"{folder}: {len(parts)} coupons, about {minutes(printer):.0f} minutes to print, at nominal size, nothing compensated.\n"
        f"Next: print coupons.3mf, follow sheet.html, fill in readings.csv, then\n"
        f"  lobewright calibrate {workshop} --readings {table}"
    )


def _plain(row: Told) -> str:
    return f"{row.value:.3f} ± {row.uncertainty:.3f} {row.unit}"


def write_readings(workshop: str, readings: str) -> str:
    """Write what the readings tell into the workshop's [printer] table, its comments kept; returns what changed."""
    before = _printer(workshop)
    found = calibrate(read_readings(read_text(Path(readings)), readings), readings)
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
        table[row.key] = round(row.value if row.written is None else row.written, DIGITS)
        table[sure] = round(row.uncertainty, DIGITS)
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
