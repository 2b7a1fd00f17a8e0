"""What fit a bore, seat or hole has on a drawing: ISO 286 classes where it is machined, the printer's own spread where printed.

A ball bearing's ring that stands still against its load may be loose, the one that turns against it must not creep. Load on
the frame's bearings stands still in the frame (weight, pull of a belt), load on a generator's bearings stands still in the
generator (it comes from the lobes). From that: stationary housing H7, turning one N7; turning journal js6, above 40 mm k6;
stationary journal h6. The output's hub turns too, but its inner rings are clamped along the axis by the screw through it, so
that they cannot creep; they slide on, g6, since pressing them on would push through the plate or a cup's thin diaphragm.
Common practice of bearing catalogues for light loads, no single source. Printed seats carry the
printer's spread instead: a class of ISO 286 would promise what the process cannot hold.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.design.catalogue_fits import bounds_mm, limits
from lobewright.errors import CatalogueFault
from lobewright.make.bodies import Feature, Part, Slab
from lobewright.make.drawing_sizes import Kind, shape
from lobewright.make.placing import Member, Place, Placed

SHAFT_BORE_CLASS = "H7"
LOCATING_CLASS, SPIGOT_CLASS = "H7", "h6"
"""What locates by hand: the bore, and what goes into it."""
SMALL_JOURNAL_MM = 40.0
"""Up to here a turning journal under light load is js6, above it k6."""
Z90 = 1.645
"""Standard uncertainties of a half 90 % band."""
NEAR_MM = 0.02
MEET_MM = 0.1


@dataclass(frozen=True)
class Fit:
    """Class (empty for printed sizes) and deviations in mm, upper and lower; ``words`` is what the sheet says of them."""

    designation: str
    upper_mm: float
    lower_mm: float
    words: str

    @property
    def text(self) -> str:
        """As it stands behind the size: ``H7 (+0.021 / 0)`` or ``±0.13``."""
        if self.designation:
            return f"{self.designation} ({signed(self.upper_mm)} / {signed(self.lower_mm)})"
        return f"±{self.upper_mm:.2f}"


@dataclass(frozen=True)
class Seat:
    """Where a bearing sits in or on a part: the size, whether in a bore, and whether that ring turns against its load.

    ``clamped``: the ring is held along the axis between shoulder and screw.
    """

    size_mm: float
    housing: bool
    turns: bool
    bearing: str
    clamped: bool = False

    @property
    def designation(self) -> str:
        """Its class of ISO 286."""
        if self.housing:
            return "N7" if self.turns else "H7"
        if self.clamped:
            return "g6"
        if not self.turns:
            return "h6"
        return "js6" if self.size_mm <= SMALL_JOURNAL_MM else "k6"

    @property
    def words(self) -> str:
        """The case of load, as the sheet tells it."""
        ring = "outer" if self.housing else "inner"
        case = "turns against the load: must not creep" if self.turns else "stands still against the load: may slide"
        if self.clamped:
            case = "slides on by hand and is clamped along the axis: never press it on, the force would go through the output"
        return f"ø{self.size_mm:g} {self.designation}: seat of {self.bearing}, its {ring} ring {case} (common practice)"


def signed(value_mm: float) -> str:
    """A deviation in mm with its sign, thousandths; 0 has none."""
    text = f"{abs(value_mm):.4f}".rstrip("0").rstrip(".")
    if text == "0":
        return "0"
    return ("+" if value_mm > 0 else "−") + text


def _bearing(part: Part) -> catalogue.Bearing | None:
    """The bearing that a bought part stands for."""
    try:
        return catalogue.bearing(part.designation) if part.designation else None
    except CatalogueFault:
        return None


def _rounds(part: Part, place: Place) -> Iterator[tuple[float, bool, tuple[float, float], float, float]]:
    """Circles of a placed part: diameter, whether inside, middle and heights in the assembly."""
    for piece in part.body.pieces:
        if not isinstance(piece, Slab):
            continue
        for loop, inside in ((piece.outer, False), *((hole, True) for hole in piece.holes)):
            one = shape(loop)
            if one.kind not in (Kind.CIRCLE, Kind.DIPPED):
                continue
            x, y, low = place.of(*one.middle_mm, piece.bottom_mm)
            high = place.of(*one.middle_mm, piece.top_mm)[2]
            # Ribs reach a little into the bearing from a wall that stands back: the bearing's size lies between.
            sizes = sorted((one.size_mm, one.reach_mm or one.size_mm))
            yield (sum(sizes) / 2, inside, (x, y), min(low, high), max(low, high))


def seats(placed: tuple[Placed, ...]) -> dict[str, tuple[Seat, ...]]:
    """Bearing seats of every made part by its name, found where a bearing stands in or on it in the assembly."""
    bearings = [
        (found, one.member, place)
        for one in placed
        if (found := _bearing(one.part))
        for place in one.places
    ]  # fmt: skip
    out: dict[str, set[Seat]] = {}
    for one in placed:
        if one.part.designation:
            continue
        for size, inside, middle, low, high in (row for place in one.places for row in _rounds(one.part, place)):
            for bearing, member, place in bearings:
                fits = bearing.outer_mm if inside else bearing.bore_mm
                x, y, z = place.of(0.0, 0.0, 0.0)
                ends = sorted((z, place.of(0.0, 0.0, bearing.width_mm)[2]))
                meets = min(high, ends[1]) - max(low, ends[0]) > MEET_MM
                if abs(size - fits) < 0.1 + NEAR_MM and meets and math.dist(middle, (x, y)) < NEAR_MM:
                    turns = inside if member is Member.GENERATOR else one.member is not Member.HELD
                    clamped = one.member is Member.OUTPUT and not inside
                    out.setdefault(one.part.name, set()).add(Seat(fits, inside, turns, bearing.designation, clamped))
    return {name: tuple(sorted(rows, key=lambda seat: seat.size_mm)) for name, rows in out.items()}


def seat_fit(process: m.Printer | m.Machined, seat: Seat) -> Fit:
    """Fit of a bearing's seat.

    Raises CatalogueFault for a machined size outside the table of ISO 286.
    """
    return _fit(process, seat.size_mm, seat.designation, Feature.SEAT, seat.words)


def locating_fit(process: m.Printer | m.Machined, size_mm: float, inside: bool = True) -> Fit:
    """Fit of a bore that locates what is put in by hand: a spigot, a dowel; with ``inside`` false of the spigot itself."""
    words = "locates, put in by hand"
    return _fit(process, size_mm, LOCATING_CLASS if inside else SPIGOT_CLASS, Feature.SEAT, words)


def shaft_bore_fit(process: m.Printer | m.Machined, size_mm: float) -> Fit:
    """Fit of a bore on the input shaft, slid on by hand."""
    return _fit(process, size_mm, SHAFT_BORE_CLASS, Feature.CONTOUR, "slides on the shaft by hand")


def hole_fit(process: m.Printer | m.Machined, size_mm: float) -> Fit | None:
    """A clearance hole after ISO 273 needs none where it is machined (general tolerance); a printed one tells its spread."""
    return _fit(process, size_mm, "", Feature.BOLT_HOLE, "") if isinstance(process, m.Printer) else None


SPREADS = {Feature.SEAT: "seat_allowance_uncertainty_mm", Feature.BOLT_HOLE: "bolt_hole_allowance_uncertainty_mm"}
CONTOUR_SPREAD = "xy_compensation_uncertainty_mm"


def assumed(process: m.Printer, name: str) -> bool:
    """Whether a spread of the printer is only our default; one that equals it by chance counts as assumed too."""
    return float(getattr(process, name)) == type(process).model_fields[name].default


def _fit(process: m.Printer | m.Machined, size_mm: float, designation: str, feature: Feature, words: str) -> Fit:
    if isinstance(process, m.Printer):
        name = SPREADS.get(feature, CONTOUR_SPREAD)
        spread = float(getattr(process, name)) * (1 if feature in SPREADS else 2)
        told = "assumed, not calibrated" if assumed(process, name) else "as calibrated"
        return Fit("", Z90 * spread, -Z90 * spread, f"printed; nine of ten lie inside, {told}")
    upper, lower = limits(designation, size_mm)
    return Fit(designation, upper, lower, words)


def has_class(size_mm: float) -> bool:
    """Whether a size lies in the table of ISO 286 that is here."""
    return bounds_mm()[0] < size_mm <= bounds_mm()[-1]
