"""What has to be printed for a lesson, how long it takes, and on which day to begin."""

from __future__ import annotations

import datetime
import math
from dataclasses import dataclass

from lobewright.assessment.results import Assessment
from lobewright.design import model as m
from lobewright.errors import DesignFault
from lobewright.make.assembling import assembled
from lobewright.make.bom import bom_rows, total
from lobewright.make.filling import laid, print_minutes
from lobewright.make.rack_parts import kit, kit_parts
from lobewright.teach.reasons import Why, why

HOURS_A_DAY = 7.0
"""A printer at school runs while somebody is near (common practice)."""
SPARE_DAYS = 2
"""For prints that fail (common practice)."""
ORDER_DAYS = 14
"""Bought parts are ordered so many days before the lesson (common practice)."""
FRIDAY = 4


@dataclass(frozen=True)
class Piece:
    """A part of the rack model: its file, and minutes that one print takes."""

    file: str
    minutes: float


@dataclass(frozen=True)
class Prints:
    """``rack``: parts of one rack model, empty where ``no_rack`` is the reason why there is none. ``drive_minutes``: the drive's own
    printed parts without those that may be skipped; None where the design names no printer."""

    rack: tuple[Piece, ...]
    no_rack: Why | None
    drive_minutes: float | None

    @property
    def rack_minutes(self) -> float:
        return sum(one.minutes for one in self.rack)


def prints(found: Assessment) -> Prints:
    """Estimates as the parts list has them: filled as told there, without heating up."""
    printer = found.design.process
    if not isinstance(printer, m.Printer):
        return Prints((), None, None)
    drive = total(bom_rows(found, assembled(found)), with_skipped=False).minutes
    try:
        parts = kit_parts(kit(found))
    except DesignFault as fault:
        return Prints((), why(fault), drive)
    rack = tuple(Piece(f"rack/print/{part.name}.stl", print_minutes(laid(part, printer), printer)) for part in parts)
    return Prints(rack, None, drive)


def school_days_before(day: datetime.date, count: int) -> datetime.date:
    """The day that lies so many school days (Monday to Friday) before another."""
    while count > 0:
        day -= datetime.timedelta(days=1)
        count -= day.weekday() <= FRIDAY
    return day


def days_to_print(minutes: float) -> int:
    """School days from the first print to the lesson: full days of printing and the spare ones; none for nothing."""
    return math.ceil(minutes / 60 / HOURS_A_DAY) + SPARE_DAYS if minutes else 0
