"""Standard parts and materials: what can be bought, and what is known of it.

The rows stand in TOML files beside this module (``data/``), so that a person can read and correct them. Each file is
read once, when something in it is first asked for. Every row, and every number that differs from its row, names its
source and carries a flag; :meth:`Row.origin` tells them.
"""

from __future__ import annotations

import difflib
import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum
from functools import cache
from importlib import resources
from typing import Any, TypeVar

from lobewright.errors import CatalogueFault, Fault
from lobewright.sources import Flag, Source, honest_flag
from lobewright.sources import source as source_named
from lobewright.units import ZERO_CELSIUS_K

Range = tuple[float, float]
R = TypeVar("R")


@dataclass(frozen=True)
class Origin:
    """Where one number comes from. ``others`` are further figures in print for the same thing."""

    source: Source
    flag: Flag
    note: str = ""
    others: tuple[float, ...] = ()

    @property
    def line(self) -> str:
        """Source, flag and note on one line."""
        head = f"{self.source.text}, {self.source.year}" if self.source.year else self.source.text
        place = f", {self.source.place}" if self.source.place else ""
        note = f"; {self.note}" if self.note else ""
        return f"{head}{place} ({self.flag.label}){note}"


@dataclass(frozen=True, kw_only=True)
class Row:
    """What every catalogue row has. ``cells`` holds the origins of numbers that differ from the row's own."""

    row_origin: Origin
    cells: Mapping[str, Origin] = field(default_factory=dict)

    def origin(self, name: str = "") -> Origin:
        """Origin of one number by field name, or of the whole row."""
        return self.cells.get(name, self.row_origin)


class ToothForm(StrEnum):
    """How a belt's tooth outline is built."""

    TRAPEZOID = "trapezoid"
    ARCS = "arcs"
    CIRCLE = "circle"
    UNKNOWN = "unknown"


class ToothLook(StrEnum):
    """How a belt's tooth looks, whether or not its outline is known."""

    TRAPEZOID = "trapezoid"
    ROUND = "round"


@dataclass(frozen=True, kw_only=True)
class BeltProfile(Row):
    """One belt tooth profile; lengths in mm, ``tooth_angle_deg`` between both flanks. None: not known.

    ``arcs``: flank circles of ``flank_radius_mm`` centred at land level, ``flank_offset_mm`` across the centre line;
    tip circle of ``tip_radius_mm`` centred at ``tooth_height_mm - tip_radius_mm``; ``root_fillet_mm`` to the land.
    ``circle``: two tip arcs, each centred ``flank_offset_mm`` across the centre line, joined to the land by the fillet.
    """

    designation: str
    words: str
    form: ToothForm
    tooth: ToothLook
    pitch_mm: float
    tooth_height_mm: float
    total_thickness_mm: float
    cord_offset_mm: float
    root_width_mm: float | None = None
    tooth_angle_deg: float | None = None
    root_fillet_mm: float | None = None
    tip_radius_mm: float | None = None
    flank_radius_mm: float | None = None
    flank_offset_mm: float | None = None
    tension_n_per_mm: float | None = None
    tension_width_mm: float | None = None
    min_pulley_teeth: int | None = None
    min_back_idler_mm: float | None = None

    @property
    def back_offset_mm(self) -> float:
        """Depth of the belt's back below the cord."""
        return self.total_thickness_mm - self.tooth_height_mm - self.cord_offset_mm


@dataclass(frozen=True, kw_only=True)
class BeltElasticity(Row):
    """What is known of a belt's stiffness a mm of width: ``axial_n_per_mm`` low, middle, high of a 90 % interval of force
    over strain; ``cord_bending_nmm2_per_mm`` the cords' own share of EI; ``body`` a material of the catalogue."""

    designation: str
    body: str
    axial_n_per_mm: tuple[float, float, float]
    cord_bending_nmm2_per_mm: float


@dataclass(frozen=True, kw_only=True)
class BeltStock(Row):
    """Tooth counts of closed belts that are usually stocked; ``codes`` are the inch length codes where they exist."""

    belt: str
    teeth: tuple[int, ...]
    codes: tuple[int, ...] = ()


@dataclass(frozen=True, kw_only=True)
class LengthTolerance(Row):
    """Allowed deviation ± of a belt's pitch length, for pitch lengths up to ``up_to_mm``."""

    up_to_mm: float
    tolerance_mm: float


@dataclass(frozen=True, kw_only=True)
class Bearing(Row):
    """A single-row radial ball bearing; ``balls`` and ``ball_diameter_mm`` where known."""

    designation: str
    bore_mm: float
    outer_mm: float
    width_mm: float
    balls: int | None = None
    ball_diameter_mm: float | None = None


@dataclass(frozen=True, kw_only=True)
class BearingRatings(Row):
    """Basic load ratings of a bearing as printed; further prints stand in the origins of the numbers."""

    designation: str
    dynamic_rating_n: float
    static_rating_n: float


@dataclass(frozen=True, kw_only=True)
class Bolt(Row):
    """A metric bolt size: thread, clearance holes, hexagon nut, hexagon socket head; lengths in mm."""

    size: str
    diameter_mm: float
    thread_pitch_mm: float
    hole_fine_mm: float
    hole_medium_mm: float
    hole_coarse_mm: float
    nut_height_mm: float
    nut_across_flats_mm: float
    nut_across_corners_mm: float
    head_diameter_mm: float
    head_height_mm: float
    key_mm: float


class MaterialKind(StrEnum):
    """How a material becomes a ring."""

    PRINTED = "printed"
    POWDER_BED = "powder_bed"
    BULK = "bulk"
    STEEL = "steel"
    BELT = "belt"


@dataclass(frozen=True, kw_only=True)
class Material(Row):
    """A material of flexible rings. Pairs are ranges (low, high).

    ``bending_strain`` is the strain amplitude taken as allowed for fully reversed bending at about a million cycles and
    ``how`` says how it was made up; ``z_ratio`` is strength across layers over strength in the layer plane.
    """

    name: str
    short: str
    words: str
    kind: MaterialKind
    modulus_mpa: Range
    strength_mpa: Range
    z_ratio: Range
    bending_strain: Range
    how: str
    service_k: float
    density_kg_m3: float
    poisson: Range
    tags: tuple[str, ...]


# --- reading the files --------------------------------------------------------------------------------------------


def _read(name: str) -> dict[str, Any]:
    return tomllib.loads(resources.files("lobewright.design").joinpath("catalogue_data", name).read_text("utf-8"))


def _origin(table: Mapping[str, Any]) -> Origin:
    found = source_named(table["source"])
    flag = honest_flag(Flag(table["flag"]), found)
    return Origin(found, flag, table.get("note", ""), tuple(table.get("others", ())))


def _split(table: Mapping[str, Any]) -> tuple[dict[str, Any], dict[str, Any]]:
    """A row's own values (lists as tuples), and its origins as the keywords of :class:`Row`."""
    values = {
        key: tuple(value) if isinstance(value, list) else value
        for key, value in table.items()
        if key not in ("source", "flag", "note", "cells")
    }
    strangers = set(table.get("cells", {})) - set(values)
    if strangers:
        raise ValueError(f"a catalogue row has an origin for {sorted(strangers)[0]!r}, which it does not hold")
    cells = {key: _origin(cell) for key, cell in table.get("cells", {}).items()}
    return values, {"row_origin": _origin(table), "cells": cells}


@cache
def _belts() -> dict[str, BeltProfile]:
    rows = {}
    for name, table in _read("belts.toml").items():
        values, origins = _split(table)
        values |= {"form": ToothForm(values["form"]), "tooth": ToothLook(values["tooth"])}
        rows[name] = BeltProfile(designation=name, **values, **origins)
    return rows


@cache
def _elasticities() -> dict[str, BeltElasticity]:
    rows = {}
    for name, table in _read("belt_stiffness.toml").items():
        values, origins = _split(table)
        rows[name] = BeltElasticity(designation=name, **values, **origins)
    return rows


@cache
def _lengths() -> tuple[dict[str, BeltStock], tuple[LengthTolerance, ...]]:
    tables = _read("belt_lengths.toml")
    stock = {}
    for table in tables["stock"]:
        values, origins = _split(table)
        stock[values["belt"]] = BeltStock(**values, **origins)
    tolerances = []
    for table in tables["tolerance"]:
        values, origins = _split(table)
        tolerances.append(LengthTolerance(**values, **origins))
    return stock, tuple(sorted(tolerances, key=lambda row: row.up_to_mm))


@cache
def _bearings() -> dict[str, Bearing]:
    rows = {}
    for name, table in _read("bearings.toml").items():
        values, origins = _split(table)
        rows[name] = Bearing(designation=name, **values, **origins)
    return rows


@cache
def _ratings() -> dict[str, BearingRatings]:
    rows = {}
    for name, table in _read("bearing_ratings.toml").items():
        values, origins = _split(table)
        rows[name] = BearingRatings(designation=name, **values, **origins)
    return rows


@cache
def _bolts() -> dict[str, Bolt]:
    rows = {}
    for name, table in _read("fasteners.toml").items():
        values, origins = _split(table)
        rows[name] = Bolt(size=name, **values, **origins)
    return rows


@cache
def _materials() -> dict[str, Material]:
    rows = {}
    for name, table in _read("materials.toml").items():
        values, origins = _split(table)
        values |= {"kind": MaterialKind(values["kind"]), "service_k": values.pop("service_c") + ZERO_CELSIUS_K}
        rows[name] = Material(name=name, **values, **origins)
    return rows


# --- asking -------------------------------------------------------------------------------------------------------


def _find(rows: Mapping[str, R], asked: str, name: str, kind: str) -> R:
    if name not in rows:
        what = f"the catalogue has no {kind} of this name"
        raise CatalogueFault([Fault(what, value=f'"{asked}"', allowed=_near(name, rows))])
    return rows[name]


def _near(name: str, rows: Mapping[str, R]) -> str:
    """Names that hold the asked one come first, then the nearest spelling, then all of a short list."""
    holding = [known for known in rows if name.lower() in known.lower()] if len(name) > 1 else []
    close = difflib.get_close_matches(name, rows, n=3, cutoff=0.55)
    found = list(dict.fromkeys([*holding[:3], *close]))[:4]
    if found:
        return f"nearest: {', '.join(found)}"
    return f"one of {', '.join(rows)}" if len(rows) <= 20 else f"{len(rows)} names, none is near"


def belt_profile(designation: str) -> BeltProfile:
    """The belt profile of this designation (capital or small letters). Raises CatalogueFault."""
    return _find(_belts(), designation, designation.strip().upper(), "belt")


def belt_profiles() -> tuple[BeltProfile, ...]:
    """All belt profiles, in the order of the file."""
    return tuple(_belts().values())


def belt_elasticity(designation: str) -> BeltElasticity:
    """What is known of the stiffness of belts of this profile. Raises CatalogueFault."""
    return _find(_elasticities(), designation, belt_profile(designation).designation, "belt stiffness")


def belt_stock(designation: str) -> BeltStock:
    """Usually stocked closed belts of a profile, with their source. Raises CatalogueFault."""
    name = belt_profile(designation).designation
    return _find(_lengths()[0], designation, name, "list of stocked belts")


def stocked_teeth(designation: str) -> tuple[int, ...]:
    """Tooth counts of closed belts that are usually stocked, ascending. Raises CatalogueFault."""
    return belt_stock(designation).teeth


def belt_length_tolerance(pitch_length_mm: float) -> LengthTolerance:
    """The allowed deviation of a belt of this pitch length. Raises CatalogueFault where the table ends."""
    rows = _lengths()[1]
    for row in rows:
        if 0.0 < pitch_length_mm <= row.up_to_mm:
            return row
    allowed = f"more than 0, up to {rows[-1].up_to_mm:g} mm"
    value = f"{pitch_length_mm:g} mm"
    raise CatalogueFault([Fault("no tolerance is listed for this belt length", value=value, allowed=allowed)])


def bearing(designation: str) -> Bearing:
    """The ball bearing of this designation. Seal and shield suffixes are dropped (608-2RS, 608ZZ); the short forms
    68xx and 69xx stand for 618xx and 619xx. Raises CatalogueFault."""
    return _find(_bearings(), designation, _plain_bearing(designation), "bearing")


def _plain_bearing(designation: str) -> str:
    name = designation.strip().upper().replace(" ", "").split("-")[0]
    for suffix in ("2RS1", "2RSH", "2RS", "2RZ", "DDU", "ZZ", "2Z", "RS", "RZ", "Z"):
        if name.endswith(suffix) and len(name) - len(suffix) >= 3:
            name = name.removesuffix(suffix)
            break
    if len(name) == 4 and name.isdigit() and name[:2] in ("68", "69"):
        return f"61{name[1:]}"
    return name


def bearing_ratings(designation: str) -> BearingRatings | None:
    """Printed load ratings of the bearing of this designation, None where none is known. Raises CatalogueFault."""
    return _ratings().get(bearing(designation).designation)


def bearings() -> tuple[Bearing, ...]:
    """All bearings, by bore, then outer diameter, then width."""
    return tuple(_bearings().values())


def bolt(size: str) -> Bolt:
    """The bolt of this size (M3, m3). Raises CatalogueFault."""
    return _find(_bolts(), size, size.strip().upper(), "bolt")


def bolts() -> tuple[Bolt, ...]:
    """All bolt sizes, ascending."""
    return tuple(_bolts().values())


def material(name: str) -> Material:
    """The material of this name. Raises CatalogueFault."""
    return _find(_materials(), name, name.strip(), "material")


def materials() -> tuple[Material, ...]:
    """All materials, in the order of the file."""
    return tuple(_materials().values())


# --- which belt is this? ------------------------------------------------------------------------------------------

PITCH_READING_MM = 0.02
"""What a caliper over ten teeth leaves uncertain in one pitch: 0.2 mm, a tenth of it each."""
THICKNESS_READING_MM = 0.15
"""Total thickness: soft back, fabric on the teeth and the spread between makes."""
AGREES = 2.0
"""Both readings lie within this many of their uncertainties: the belt agrees."""
TIE = 1.0
"""Distances closer than this cannot be told apart by these readings."""


@dataclass(frozen=True)
class BeltMatch:
    """One candidate. ``distance`` counts measuring uncertainties, both readings together (0 = exact).

    Errors are reading minus catalogue, in mm. ``agrees`` is False when a reading is further off than measuring can
    explain.
    ``tie`` says in words which other candidates these readings cannot exclude, and what would; empty when none.
    """

    profile: BeltProfile
    distance: float
    pitch_error_mm: float
    thickness_error_mm: float
    agrees: bool
    tie: str = ""


def nearest_belts(pitch_mm: float, thickness_mm: float, tooth: str) -> tuple[BeltMatch, ...]:
    """All belts with this kind of tooth, the nearest first.

    ``pitch_mm`` is a tenth of the reading over ten teeth, on the straightened belt; ``thickness_mm`` the total
    thickness over a tooth; ``tooth`` is ``round`` or ``trapezoid``.
    distance² = (pitch error / 0.02 mm)² + (thickness error / 0.15 mm)²; where several thicknesses of one belt are in
    print the nearest counts.
    Raises CatalogueFault when a reading is not a positive size or the tooth is neither kind.
    """
    for name, reading in (("pitch", pitch_mm), ("thickness", thickness_mm)):
        if not (math.isfinite(reading) and 0.0 < reading <= 50.0):
            value, allowed = f"{reading:g} mm", "more than 0, up to 50 mm"
            raise CatalogueFault([Fault(f"this {name} is not a belt's", value=value, allowed=allowed)])
    if tooth not in set(ToothLook):
        allowed = " or ".join(f'"{look}"' for look in ToothLook)
        raise CatalogueFault([Fault("this is not a kind of belt tooth", value=f'"{tooth}"', allowed=allowed)])
    matches = sorted(
        (_match(profile, pitch_mm, thickness_mm) for profile in belt_profiles() if profile.tooth == tooth),
        key=lambda match: match.distance,
    )
    return tuple(replace(match, tie=_tie(match, matches)) for match in matches)


def _match(profile: BeltProfile, pitch_mm: float, thickness_mm: float) -> BeltMatch:
    known = (profile.total_thickness_mm, *profile.origin("total_thickness_mm").others)
    thickness_error = min((thickness_mm - value for value in known), key=abs)
    pitch_error = pitch_mm - profile.pitch_mm
    off = (pitch_error / PITCH_READING_MM, thickness_error / THICKNESS_READING_MM)
    agrees = all(abs(part) <= AGREES for part in off)
    return BeltMatch(profile, math.hypot(*off), pitch_error, thickness_error, agrees)


def _tie(match: BeltMatch, matches: list[BeltMatch]) -> str:
    """Ties are stated only among candidates that agree with the readings."""
    if not match.agrees:
        return ""
    rivals = [m for m in matches if m is not match and m.agrees and abs(m.distance - match.distance) < TIE]
    sentences = []
    for rival in rivals:
        here, there = match.profile, rival.profile
        step = abs(here.tooth_height_mm - there.tooth_height_mm)
        if step >= 0.1:
            how = f"measure the tooth height: {here.tooth_height_mm:g} mm here, {there.tooth_height_mm:g} mm there"
        else:
            how = "no figure of the catalogue tells them apart: trace the tooth outline"
        sentences.append(f"{there.designation} fits these readings as well; {how}")
    return ". ".join(sentences)
