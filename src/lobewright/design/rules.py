"""Rules that join several tables of a design. All of them run; each looks only at tables that could be typed.

A rule here refuses what cannot exist or cannot be computed. What exists but works badly is a verdict, not a fault.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.errors import CatalogueFault, nearest

LEAST_OF_CATALOGUE, MOST_OF_CATALOGUE = 0.8, 1.2
"""Share of a belt's catalogue figure that a caliper reading may be: beyond it the belt is another one."""
LEAST_BACK_MM = 0.05
RESERVED = ("generator", "flexible_ring")

PAIRS_REFUSED: dict[tuple[str, str], str] = {
    ("belt", "cam_plain"): (
        "a rubber belt back cannot slide on a plain cam: it grips, heats and wears; put a thin bearing on the cam "
        "(common practice, no source)"
    ),
}
"""Pairs of flexible ring and generator that are refused, with the reason. The table in the docs is made from this."""

LOBES_REFUSED: dict[str, str] = {
    "paired_rollers": "two rollers a lobe are worked out for 2 lobes only",
    "discs": "two discs make 2 lobes; a third lobe would need a third disc",
    "cam_ellipse": 'an ellipse has 2 lobes; take curve = "cosine" for 3',
}
"""Generators that cannot have three lobes, with the reason."""


@dataclass(frozen=True)
class RuleFault:
    """A broken rule; ``place`` is a tuple path into the file."""

    what: str
    place: tuple[str | int, ...]
    value: str = ""
    allowed: str = ""


Parts = dict[str, Any]
Rule = Callable[..., Iterator[RuleFault]]
RULES: list[tuple[tuple[str, ...], Rule]] = []


def rule(*needs: str) -> Callable[[Rule], Rule]:
    """Register a rule with the tables it needs."""

    def register(function: Rule) -> Rule:
        RULES.append((needs, function))
        return function

    return register


def find_faults(parts: Parts) -> list[RuleFault]:
    """All broken rules among the tables that are there."""
    found: list[RuleFault] = []
    for needs, function in RULES:
        if all(need in parts for need in needs):
            found += function(*(parts[need] for need in needs))
    return found


def generator_key(generator: m.Generator) -> str:
    """Name of a generator in the table of pairs: ``rollers``, ``cam_plain``, …"""
    if isinstance(generator, m.Cam):
        return "cam_plain" if generator.under is m.CamUnder.PLAIN else "cam_thin_bearing"
    return generator.kind


def _named(look_up: Callable[[str], object], name: str, place: tuple[str | int, ...]) -> Iterator[RuleFault]:
    try:
        look_up(name)
    except CatalogueFault as error:
        fault = error.faults[0]
        yield RuleFault(fault.what, place, fault.value or f'"{name}"', fault.allowed)


@rule("flexible_ring")
def flexible_ring_is_possible(ring: Any) -> Iterator[RuleFault]:
    at = ("flexible_ring",)
    if isinstance(ring, m.Belt):
        yield from _named(catalogue.belt_profile, ring.designation, (*at, "designation"))
        return
    yield from _named(catalogue.material, ring.material, (*at, "material"))
    if isinstance(ring, m.Cup):
        inner = ring.module_mm * ring.teeth - 2 * ring.wall_mm
        if ring.length_mm <= ring.width_mm + ring.diaphragm_mm + ring.corner_radius_mm:
            least = ring.width_mm + ring.diaphragm_mm + ring.corner_radius_mm
            allowed = f"more than {least:g} mm (face + diaphragm + corner)"
            yield RuleFault("the cup is too short for its teeth", (*at, "length_mm"), f"{ring.length_mm:g}", allowed)
        if ring.boss_diameter_mm >= inner - 2 * ring.corner_radius_mm:
            allowed = f"less than {inner - 2 * ring.corner_radius_mm:.4g} mm (inside diameter less the corners)"
            yield RuleFault(
                "the boss does not fit inside", (*at, "boss_diameter_mm"), f"{ring.boss_diameter_mm:g}", allowed
            )
        if ring.bore_mm >= ring.boss_diameter_mm:
            allowed = f"less than the boss, {ring.boss_diameter_mm:g} mm"
            yield RuleFault("the bore is not inside the boss", (*at, "bore_mm"), f"{ring.bore_mm:g}", allowed)
        if ring.barrel_wall_mm > 2 * ring.wall_mm:
            allowed = f"at most twice the rim's wall, {2 * ring.wall_mm:g} mm"
            value = f"{ring.barrel_wall_mm:g}"
            yield RuleFault("the barrel is too thick to bend", (*at, "barrel_wall_mm"), value, allowed)
    if not isinstance(ring, m.Belt) and ring.wall_mm > ring.module_mm * ring.teeth / 6:
        allowed = f"at most {ring.module_mm * ring.teeth / 6:.4g} mm (a third of the pitch radius)"
        yield RuleFault("the wall is too thick for a flexible ring", (*at, "wall_mm"), f"{ring.wall_mm:g}", allowed)


@rule("flexible_ring")
def readings_fit_the_belt(ring: Any) -> Iterator[RuleFault]:
    if not isinstance(ring, m.Belt):
        return
    try:
        profile = catalogue.belt_profile(ring.designation)
    except CatalogueFault:
        return
    at = ("flexible_ring", "measured")
    for key in ("tooth_height_mm", "total_thickness_mm"):
        found, known = getattr(ring.measured, key), getattr(profile, key)
        low, high = LEAST_OF_CATALOGUE * known, MOST_OF_CATALOGUE * known
        if found is not None and not low <= found <= high:
            allowed = (
                f"{low:.3g} to {high:.3g} mm for {ring.designation}; `lobewright belts` finds a belt from readings"
            )
            yield RuleFault("this reading is far from the belt's own figure", (*at, key), f"{found:g}", allowed)
    height, total, cord = (
        getattr(profile, key) if getattr(ring.measured, key) is None else getattr(ring.measured, key)
        for key in ("tooth_height_mm", "total_thickness_mm", "cord_offset_mm")
    )
    if total < height + cord + LEAST_BACK_MM:
        allowed = f"at least {height + cord + LEAST_BACK_MM:.3g} mm (tooth, cord offset and a back)"
        yield RuleFault("tooth and cord leave the belt no back", (*at, "total_thickness_mm"), f"{total:g}", allowed)


@rule("flexible_ring", "tooth")
def tooth_fits_ring(ring: Any, tooth: Any) -> Iterator[RuleFault]:
    if isinstance(ring, m.Belt) != isinstance(tooth, m.BeltTooth) and not isinstance(tooth, m.OutlineTooth):
        allowed = '"belt" or "outline"' if isinstance(ring, m.Belt) else "a form with depths in modules, or an outline"
        yield RuleFault("this tooth form does not go with this ring", ("tooth", "form"), f'"{tooth.form}"', allowed)
    if isinstance(ring, m.Belt) and isinstance(tooth, m.BeltTooth):
        try:
            known = catalogue.belt_profile(ring.designation).form is not catalogue.ToothForm.UNKNOWN
        except CatalogueFault:
            return
        if not known:
            value = f'"{ring.designation}"'
            allowed = 'tooth.form = "outline" with a measured outline'
            yield RuleFault(
                "the tooth outline of this belt is not known", ("flexible_ring", "designation"), value, allowed
            )
    if isinstance(tooth, m.OutlineTooth) and tooth.points:
        heights = [y for _, y in tooth.points]
        widths = [x for x, _ in tooth.points]
        if not isinstance(ring, m.Belt) and not 0 <= min(heights) < ring.wall_mm:
            allowed = f"0 to {ring.wall_mm:g} mm above the neutral line, inside the wall"
            what = "the drawn tooth's root does not lie on the wall"
            yield RuleFault(what, ("tooth", "file"), f"{min(heights):g} mm", allowed)
        if max(heights) - min(heights) < 0.05 or max(widths) - min(widths) < 0.05:
            yield RuleFault(
                "the outline is flat or has no width", ("tooth", "file"), f'"{tooth.file}"', "a tooth in mm"
            )


@rule("flexible_ring", "generator")
def generator_fits_ring(ring: Any, generator: Any) -> Iterator[RuleFault]:
    key = generator_key(generator)
    reason = PAIRS_REFUSED.get((ring.kind, key))
    if reason:
        yield RuleFault(f"{ring.kind} with {key}: {reason}", ("generator", "kind"))
    if isinstance(ring, m.Belt):
        try:
            profile = catalogue.belt_profile(ring.designation)
        except CatalogueFault:
            return
        inner = profile.pitch_mm * ring.teeth / (2 * math.pi) - profile.back_offset_mm
    else:
        inner = ring.module_mm * ring.teeth / 2 - ring.wall_mm
    diameter = 0.0
    if isinstance(generator, (m.Rollers, m.PairedRollers)):
        try:
            diameter = catalogue.bearing(generator.bearing).outer_mm
        except CatalogueFault:
            return
        if diameter > inner:
            value, allowed = f"{diameter:g} mm", f"less than the ring's inner radius, about {inner:.4g} mm"
            yield RuleFault("the rollers do not fit inside the ring", ("generator", "bearing"), value, allowed)
    elif isinstance(generator, m.Discs):
        if generator.disc_radius_mm >= inner:
            value, allowed = f"{generator.disc_radius_mm:g}", f"less than the ring's inner radius, about {inner:.4g} mm"
            yield RuleFault("the discs do not fit inside the ring", ("generator", "disc_radius_mm"), value, allowed)
    elif generator.race_height_mm > inner / 2:
        value, allowed = f"{generator.race_height_mm:g}", f"at most {inner / 2:.4g} mm (half the ring's inner radius)"
        yield RuleFault("the thin bearing leaves no cam", ("generator", "race_height_mm"), value, allowed)


def two_lobes_only(generator: Any) -> bool:
    """Whether a generator, told as plain data that may be no table at all, is refused with three lobes."""
    return isinstance(generator, dict) and _lobes_key(generator.get("kind"), generator.get("curve")) in LOBES_REFUSED


def _lobes_key(kind: Any, curve: Any) -> Any:
    return "cam_ellipse" if kind == "cam" and curve == m.CamCurve.ELLIPSE else kind


@rule("generator")
def generator_is_possible(generator: Any) -> Iterator[RuleFault]:
    at = ("generator",)
    key = _lobes_key(generator.kind, getattr(generator, "curve", None))
    if generator.lobes != 2 and key in LOBES_REFUSED:
        yield RuleFault(f"{key} cannot have 3 lobes: {LOBES_REFUSED[key]}", (*at, "lobes"), "3", "2")
    if isinstance(generator, m.Cam):
        bearing = generator.under is m.CamUnder.THIN_BEARING
        if bearing and generator.race_height_mm <= 0:
            allowed = "more than 0 mm, the radial height of the thin bearing"
            yield RuleFault("the thin bearing has no height", (*at, "race_height_mm"), "0", allowed)
        if not bearing and generator.race_height_mm > 0:
            yield RuleFault(
                "a plain cam has no bearing", (*at, "race_height_mm"), f"{generator.race_height_mm:g}", "0 mm"
            )
        if generator.design_deflection_factor is None:
            yield RuleFault("this key is missing", (*at, "design_deflection_factor"), "", "0.3 to 2, times nominal")
        return
    yield from _named(catalogue.bearing, generator.bearing, (*at, "bearing"))
    if generator.fit_mm and not isinstance(generator, m.Discs):
        allowed = "0 mm: bearings have their own size; a looser ring is less set_deflection_mm"
        yield RuleFault("rollers have no fit", (*at, "fit_mm"), f"{generator.fit_mm:g}", allowed)
    named = [generator.design_deflection_factor is not None, generator.roller_centre_distance_mm is not None]
    if sum(named) != 1:
        found = "both" if all(named) else "neither"
        allowed = "exactly one of design_deflection_factor and roller_centre_distance_mm"
        yield RuleFault("the deflection must be given once", (*at, "design_deflection_factor"), found, allowed)


@rule("flexible_ring", "generator", "rigid_ring")
def teeth_can_be_assembled(ring: Any, generator: Any, rigid: Any) -> Iterator[RuleFault]:
    lobes = generator.lobes
    for index, one in enumerate(rigid):
        at = ("rigid_ring", index, "teeth")
        if one.row == 2:
            second = getattr(ring, "second_row", None)
            if second is None:
                allowed = "row = 1, or a [flexible_ring.second_row]"
                yield RuleFault("the flexible ring has no second tooth row", ("rigid_ring", index, "row"), "2", allowed)
                continue
            own = second.teeth
        else:
            own = ring.teeth
        difference = one.teeth - own
        if difference < 0 or difference % lobes:
            allowed = f"{own} or {own + lobes} or {own + 2 * lobes} … teeth (the row's {own} plus a multiple of {lobes} lobes)"
            what = "the ring cannot be assembled: its teeth meet the flexible ring's at every lobe only so"
            yield RuleFault(what, at, f"{one.teeth}", allowed)
        elif difference > min(4 * lobes, own // 8):
            allowed = f"a difference of at most {min(4 * lobes, own // 8) // lobes * lobes} teeth"
            yield RuleFault("the tooth difference is too large to bend to", at, f"{difference} more teeth", allowed)
    if all(one.teeth == (ring.teeth if one.row == 1 else -1) for one in rigid):
        allowed = f"at least one ring with {ring.teeth + lobes} teeth or more"
        yield RuleFault(
            "no rigid ring has more teeth than the flexible ring: nothing would turn", ("rigid_ring",), "", allowed
        )


@rule("flexible_ring", "rigid_ring")
def rings_lie_on_the_face(ring: Any, rigid: Any) -> Iterator[RuleFault]:
    if isinstance(ring, m.Cup) and len(rigid) != 1:
        yield RuleFault("a cup drive has one rigid ring", ("rigid_ring",), f"{len(rigid)} rings", "1 ring")
    if not isinstance(ring, m.Cup) and len(rigid) < 2:
        allowed = "2 rings or more: an open flexible ring has nothing else to hold or turn"
        yield RuleFault("an open flexible ring needs two rigid rings", ("rigid_ring",), f"{len(rigid)} ring", allowed)
    second = ring.second_row.width_mm if getattr(ring, "second_row", None) else 0.0
    width = ring.width_mm + second
    faces = sorted((one.offset_mm, one.offset_mm + one.width_mm, i) for i, one in enumerate(rigid))
    for (_, end, i), (start, _, j) in pairwise(faces):
        if start < end - 1e-9:
            what = f"the faces of {rigid[i].name} and {rigid[j].name} overlap along the axis"
            yield RuleFault(what, ("rigid_ring", j, "offset_mm"), f"{start:g}", f"at least {end:g} mm")
    for _, end, i in faces:
        if end > width + 2.0 + 1e-9:
            what = "the ring's face lies beyond the flexible ring's teeth"
            yield RuleFault(
                what, ("rigid_ring", i, "offset_mm"), f"ends at {end:g} mm", f"to end at {width + 2:g} mm at most"
            )
    for index, one in enumerate(rigid if second else ()):
        low, high = (0.0, ring.width_mm) if one.row == 1 else (ring.width_mm, width)
        if one.offset_mm < low - 1e-9 or one.offset_mm + one.width_mm > high + 2.0 + 1e-9:
            value = f"{one.offset_mm:g} to {one.offset_mm + one.width_mm:g} mm"
            what = f"the ring's face does not lie on tooth row {one.row}"
            yield RuleFault(what, ("rigid_ring", index, "offset_mm"), value, f"within {low:g} to {high + 2:g} mm")
    for index, one in enumerate(rigid):
        if one.bolts:
            yield from _named(catalogue.bolt, one.bolt, ("rigid_ring", index, "bolt"))


@rule("rigid_ring", "motion")
def members_exist(rigid: Any, motion: Any) -> Iterator[RuleFault]:
    names = [one.name for one in rigid]
    for index, name in enumerate(names):
        if name in RESERVED or names.index(name) != index:
            allowed = "a name of its own, not " + " or ".join(RESERVED)
            yield RuleFault("the ring's name is taken", ("rigid_ring", index, "name"), f'"{name}"', allowed)
    members = [*RESERVED, *names]
    for role in ("fixed", "driven", "read"):
        member = getattr(motion, role)
        if member not in members:
            yield RuleFault("no such member", ("motion", role), f'"{member}"', nearest(member, members))
    chosen = [motion.fixed, motion.driven, motion.read]
    if len(set(chosen)) < 3:
        value = ", ".join(chosen)
        yield RuleFault("fixed, driven and read must be three members", ("motion",), value, "three different members")


@rule("duty")
def duty_is_ordered(duty: Any) -> Iterator[RuleFault]:
    for index, step in enumerate(duty):
        if step.peak_torque_Nm < step.torque_Nm:
            value, allowed = f"{step.peak_torque_Nm:g}", f"at least the steady torque, {step.torque_Nm:g} N·m"
            yield RuleFault("the peak is below the steady torque", ("duty", index, "peak_torque_Nm"), value, allowed)


@rule("output_bearing")
def output_bearing_is_possible(held: Any) -> Iterator[RuleFault]:
    if held is None:
        return
    yield from _named(catalogue.bearing, held.bearing, ("output_bearing", "bearing"))
    if held.count == 2 and held.spacing_mm <= 0.0:
        allowed = "more than 0 mm between the centres of a pair"
        yield RuleFault("two bearings need room between them", ("output_bearing", "spacing_mm"), "0 mm", allowed)


@rule("rigid_ring")
def rigid_rings_are_of_known_materials(rings: Any) -> Iterator[RuleFault]:
    for index, ring in enumerate(rings):
        if ring.material is not None:
            yield from _named(catalogue.material, ring.material, ("rigid_ring", index, "material"))


@rule("process")
def process_is_possible(process: Any) -> Iterator[RuleFault]:
    if isinstance(process, m.Printer):
        width, nozzle = process.extrusion_width_mm, process.nozzle_mm
        if not 0.6 * nozzle <= width <= 2.5 * nozzle:
            allowed = f"{0.6 * nozzle:.3g} to {2.5 * nozzle:.3g} mm for this nozzle"
            yield RuleFault(
                "the extrusion width does not go with the nozzle",
                ("process", "extrusion_width_mm"),
                f"{width:g}",
                allowed,
            )
        yield from _named(catalogue.material, process.material, ("process", "material"))
