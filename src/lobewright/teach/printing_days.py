"""What has to be printed for a lesson, how long it takes, and on which day to begin."""

from __future__ import annotations

import datetime
import math
from dataclasses import dataclass
from fractions import Fraction

from lobewright.assessment.results import Assessment
from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.design.catalogue import MaterialKind
from lobewright.errors import DesignFault
from lobewright.make.assembling import assembled, not_assembled
from lobewright.make.bodies import Part
from lobewright.make.bom import bom_rows, total
from lobewright.make.filling import laid, print_minutes
from lobewright.make.parts import PRINT, pieces_to_print, print_name
from lobewright.make.rack_parts import kit, kit_parts
from lobewright.teach.numbers import on_paper
from lobewright.teach.reasons import Why, why

HOURS_A_DAY = 7.0
"""A printer at school runs while somebody is near (common practice)."""
SPARE_DAYS = 2
"""For prints that fail (common practice)."""
ORDER_DAYS = 14
"""Bought parts are ordered so many days before the lesson (common practice)."""
FRIDAY = 4
SERVICE, WORKSHOP = "service", "workshop"


@dataclass(frozen=True)
class Piece:
    """A part of the rack model: its file, and minutes that one print takes."""

    file: str
    minutes: float


@dataclass(frozen=True)
class Prints:
    """``rack``: parts of one rack model, empty where ``no_rack`` is the reason why there is none. ``drive_minutes``: the drive's
    own printed parts without those that may be skipped; None where they make no drive that can be put together, or where the
    design names no ``printer``. ``long``: pieces of both that take longer than a printer runs in a day.
    ``cup``: who makes a flexible cup that is not printed here, :data:`SERVICE` or :data:`WORKSHOP`; empty for other rings."""

    rack: tuple[Piece, ...]
    no_rack: Why | None
    drive_minutes: float | None
    long: tuple[Piece, ...] = ()
    printer: bool = True
    cup: str = ""

    @property
    def rack_minutes(self) -> float:
        """Those of the pieces as they are told, in tenths of hours, so that they add up to what is told of all."""
        return float(60 * sum(on_paper(Fraction(one.minutes) / 60, 1) for one in self.rack))


def prints(found: Assessment) -> Prints:
    """Estimates as the parts list has them: filled as told there, without heating up."""
    printer = found.design.process
    if not isinstance(printer, m.Printer):
        return Prints((), None, None, printer=False, cup=_cup(found))
    minutes, pieces = _drive(found, printer)
    rack: tuple[Piece, ...] = ()
    reason = None
    try:
        parts = kit_parts(kit(found))
        rack = tuple(Piece(f"rack/print/{part.name}.stl", _minutes(part, printer)) for part in parts)
    except DesignFault as fault:
        reason = why(fault)
    long = tuple(one for one in (*rack, *pieces) if round(one.minutes / 60, 1) > HOURS_A_DAY)
    return Prints(rack, reason, minutes, long, cup=_cup(found))


def _cup(found: Assessment) -> str:
    """Who makes the design's flexible cup where the class does not."""
    ring = found.design.flexible_ring
    if isinstance(ring, m.MetalCup):
        return WORKSHOP
    powder = isinstance(ring, m.PrintedCup) and catalogue.material(ring.material).kind is MaterialKind.POWDER_BED
    return SERVICE if powder else ""


def _minutes(part: Part, printer: m.Printer) -> float:
    return print_minutes(laid(part, printer), printer)


def _drive(found: Assessment, printer: m.Printer) -> tuple[float | None, tuple[Piece, ...]]:
    """Minutes of the whole drive and its pieces as they lie on the bed; None and nothing where no whole drive can be made."""
    if not_assembled(found):
        return None, ()
    placed = assembled(found)
    try:
        pieces = pieces_to_print(found, placed)
    except DesignFault:
        return None, ()
    skipped = {one.part.name for one in placed if one.part.may_skip}
    each = [
        Piece(f"parts/{PRINT}/{print_name(piece)}.stl", _minutes(piece, printer))
        for name, row in pieces.items()
        for piece in row
        if name not in skipped
    ]
    return total(bom_rows(found, placed), with_skipped=False).minutes, tuple(each)


def school_days_before(day: datetime.date, count: int) -> datetime.date:
    """The day that lies so many school days (Monday to Friday) before another."""
    while count > 0:
        day -= datetime.timedelta(days=1)
        count -= day.weekday() <= FRIDAY
    return day


def days_to_print(minutes: float) -> int:
    """School days from the first print to the lesson: full days of printing and the spare ones; none for nothing."""
    return math.ceil(minutes / 60 / HOURS_A_DAY) + SPARE_DAYS if minutes else 0
