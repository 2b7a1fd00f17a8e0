"""Limits of size by tolerance class, ISO 286: what a machined bore or shaft may depart from its nominal size."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources

from lobewright.design.catalogue import Origin
from lobewright.errors import CatalogueFault, Fault
from lobewright.sources import Flag, honest_flag, source

UM_PER_MM = 1000.0
CLASS = re.compile(r"^(?P<letters>[A-Za-z]{1,2})(?P<grade>\d{1,2})$")


@dataclass(frozen=True)
class ToleranceClass:
    """One class: upper and lower deviation in mm by range of nominal sizes, in the order of :func:`bounds_mm`."""

    name: str
    deviations_mm: tuple[tuple[float, float], ...]
    origin: Origin

    @property
    def is_hole(self) -> bool:
        return self.name[0].isupper()


@cache
def _table() -> tuple[tuple[float, ...], Mapping[str, ToleranceClass]]:
    data = tomllib.loads(resources.files("lobewright.design").joinpath("catalogue_data/fits.toml").read_text("utf-8"))
    bounds = tuple(float(bound) for bound in data["bounds_mm"])
    found = source(data["source"])
    origin = Origin(found, honest_flag(Flag(data["flag"]), found), data["note"])
    rows = {
        name: ToleranceClass(name, tuple((up / UM_PER_MM, low / UM_PER_MM) for up, low in pairs), origin)
        for name, pairs in data["classes"].items()
    }
    for row in rows.values():
        if not 0 < len(row.deviations_mm) < len(bounds) or any(up < low for up, low in row.deviations_mm):
            raise CatalogueFault([Fault("a row of the table of fits is damaged", f"fits.toml {row.name}")])
    return bounds, rows


def bounds_mm() -> tuple[float, ...]:
    """Where ranges of nominal sizes end; a range is above the one bound, up to and including the next."""
    return _table()[0]


def classes() -> tuple[str, ...]:
    """Names of all classes that are tabled."""
    return tuple(_table()[1])


def tolerance_class(name: str) -> ToleranceClass:
    """A class by name; case matters, a capital letter is a hole. Raises CatalogueFault where it is not tabled."""
    rows = _table()[1]
    if name in rows:
        return rows[name]
    form = "" if CLASS.match(name) else ", a letter and a grade"
    what = "this tolerance class is not tabled"
    raise CatalogueFault([Fault(what, "fits", value=repr(name), allowed=f"{', '.join(rows)}{form}")])


def limits(designation: str, size_mm: float) -> tuple[float, float]:
    """Upper and lower deviation in mm of a tolerance class (``H7``, ``k6``) at a nominal size in mm, after ISO 286-2.

    Raises CatalogueFault for a class that is not tabled and a size outside the table.
    """
    row, bounds = tolerance_class(designation), bounds_mm()
    for low, high, (up, down) in zip(bounds, bounds[1:], row.deviations_mm, strict=False):
        if low < size_mm <= high:
            return up, down
    what = f"no limits of {designation} are tabled for this size"
    allowed = f"above {bounds[0]:g} mm, up to {bounds[len(row.deviations_mm)]:g} mm"
    raise CatalogueFault([Fault(what, "fits", value=f"{size_mm:g} mm", allowed=allowed)])


def play(hole: str, shaft: str, size_mm: float) -> tuple[float, float]:
    """Least and largest play in mm between a hole and a shaft of one nominal size; negative is interference."""
    hole_up, hole_low = limits(hole, size_mm)
    shaft_up, shaft_low = limits(shaft, size_mm)
    return hole_low - shaft_up, hole_up - shaft_low
