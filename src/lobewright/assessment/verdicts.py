"""Verdicts on a design: each grades one number and shows its working.

Limits that rest on custom carry the source ``trade_practice`` (common practice, no source); limits that are geometry
carry ``derived_here``.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from lobewright.assessment.results import RingMesh
from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.design.owned import owned_belts
from lobewright.errors import CatalogueFault
from lobewright.motion import MotionResult
from lobewright.ring.generator import Contact, Setting
from lobewright.ring.geometry import RingGeometry
from lobewright.ring.shape import RingShape
from lobewright.ring.strain import BendingStrain
from lobewright.strength.belt_bend import smallest_bend
from lobewright.units import ZERO_CELSIUS_K
from lobewright.verdict import Bound, State, Verdict, Working, capital, judge

PRACTICE = ("trade_practice",)
DERIVED = ("derived_here",)
SNUG_GAP_MM = 0.02
ROLLER_ROOM_MM = 0.5


@dataclass(frozen=True)
class Facts:
    """What the verdicts look at; every field computed before."""

    design: m.Design
    geometry: RingGeometry
    setting: Setting
    set_shape: RingShape
    tightest_shape: RingShape
    strain: BendingStrain
    rings: tuple[RingMesh, ...]
    motion: MotionResult


def all_verdicts(facts: Facts) -> tuple[Verdict, ...]:
    """Every verdict in the order in which a builder meets the questions."""
    found: list[Verdict] = []
    for mesh in facts.rings:
        found += [_flank_gap(facts, mesh), _land(facts, mesh), _engagement(mesh)]
        if mesh.space.teeth != mesh.flexible_teeth:
            found.append(_minor_gap(mesh))
    found += _strain(facts)
    found += _wall(facts)
    found += _rollers(facts)
    found += _stock(facts)
    found += _bed(facts)
    found += _temperature(facts)
    found += _tight(facts)
    return tuple(replace(verdict, sentence=capital(verdict.sentence)) for verdict in found)


def _flank_gap(facts: Facts, mesh: RingMesh) -> Verdict:
    case = mesh.worst_case
    nominal = mesh.cases[0]
    given = mesh.space.tip_limited_by == "given"
    origin = "a finding, for the ring is given" if given else f"{nominal.smallest_gap_mm:.3f} by construction"
    said = f"all is {case.case}" if case.case.startswith("as ") else f"off nominal by “{case.case}”"
    state = judge(case.smallest_gap_mm, 0.0, SNUG_GAP_MM)
    word = {
        State.PASS: f"the flexible teeth clear ring {mesh.name} in every state tried, least when {said}",
        State.WARN: f"the teeth only just clear ring {mesh.name} when {said}: expect to fit by hand",
        State.FAIL: f"the teeth cut into ring {mesh.name} when {said}: it binds or cannot be turned",
    }[state]
    numbers = "; ".join(f"{c.case} {c.smallest_gap_mm:.3f} at {c.at_label_deg:.0f}°" for c in mesh.cases)
    return Verdict(
        f"flank_gap:{mesh.name}",
        f"Smallest gap of teeth, ring {mesh.name}",
        state,
        word + ".",
        Working(
            "smallest distance of drawn outlines over a whole turn, worst of the states checked",
            f"{numbers} (mm; one thing off at a time; as designed it is {origin})",
            DERIVED,
        ),
        "mm",
        case.smallest_gap_mm,
        0.0,
    )


def _land(facts: Facts, mesh: RingMesh) -> Verdict:
    process = facts.design.process
    printed = isinstance(process, m.Printer)
    unit = process.extrusion_width_mm if isinstance(process, m.Printer) else process.smallest_land_mm
    land = mesh.space.least_land_mm
    # A tip circle chosen to keep a land meets it to the last digit: a micrometre is no reason to fail.
    state = judge(land + 1e-3, unit, 2 * unit)
    thing = "extrusion width" if printed else "smallest land that can be cut"
    teeth, twice = f"the teeth of ring {mesh.name}", f"two {thing}s" if printed else f"twice the {thing}"
    word = {
        State.PASS: f"{teeth} are at least {twice} thick at every height",
        State.WARN: f"{teeth} are less than {twice} thick: weak tips, {'slow fine printing' if printed else 'careful cutting'}",
        State.FAIL: f"{teeth} are thinner than {'one ' if printed else 'the '}{thing}: they cannot be made so",
    }[state]
    return Verdict(
        f"ring_land:{mesh.name}",
        f"Thinnest tooth, ring {mesh.name}",
        state,
        word + ".",
        Working(
            "land(r) = (2π/Z − angle right + angle left)·r, least from tip circle to root",
            f"Z {mesh.space.teeth}, tip radius {mesh.space.tip_radius_mm:.3f} mm set by {mesh.space.tip_limited_by}, "
            f"one {thing} {unit:g} mm (fails below one, warns below two)",
            PRACTICE,
        ),
        "mm",
        land,
        unit,
    )


def _engagement(mesh: RingMesh) -> Verdict:
    depth = mesh.least_engagement_mm
    share = depth / mesh.outline.height_mm
    state = judge(share, 0.25, 0.4)
    word = {
        State.PASS: f"teeth reach well into ring {mesh.name} at the lobes",
        State.WARN: f"teeth reach less than 40 % of their height into ring {mesh.name}: it will skip early",
        State.FAIL: f"teeth reach less than a quarter of their height into ring {mesh.name}: it skips under hand load",
    }[state]
    cases = "; ".join(f"{case.case} {case.engagement_mm:.3f}" for case in mesh.cases)
    return Verdict(
        f"engagement:{mesh.name}",
        f"Depth in mesh at the lobe, ring {mesh.name}",
        state,
        word + ".",
        Working(
            "(flexible tip radius at the lobe − ring tip radius) / tooth height, least over face and states",
            f"{cases} (mm); tooth height {mesh.outline.height_mm:.3f} mm",
            PRACTICE,
        ),
        "of the height",
        share,
        0.25,
    )


def _minor_gap(mesh: RingMesh) -> Verdict:
    gap = min(mesh.worst_minor_gap_mm, min(edge.minor_gap_mm for edge in mesh.edges))
    state = judge(gap, 0.0, 0.05)
    word = {
        State.PASS: f"tips pass each other freely at the minor axis of ring {mesh.name}",
        State.WARN: f"tips pass within 0.05 mm at the minor axis of ring {mesh.name}",
        State.FAIL: f"tips collide at the minor axis of ring {mesh.name}: the flexible ring cannot move to the next space",
    }[state]
    numbers = "; ".join(f"{c.case} {c.minor_gap_mm:.3f}" for c in mesh.cases)
    return Verdict(
        f"minor_gap:{mesh.name}",
        f"Gap of tips at the minor axis, ring {mesh.name}",
        state,
        word + ".",
        Working("ring tip radius − flexible tip radius at the minor axis", f"{numbers} (mm)", DERIVED),
        "mm",
        gap,
        0.0,
    )


def _strain(facts: Facts) -> Iterator[Verdict]:
    ring = facts.design.flexible_ring
    if isinstance(ring, m.Belt):
        yield _belt_bend(facts, ring)
        return
    material = catalogue.material(ring.material)
    low, high = material.bending_strain
    amplitude = facts.strain.amplitude
    state = judge(amplitude, high, low, Bound.AT_MOST)
    origin = material.origin("bending_strain")
    word = {
        State.PASS: "the wall bends less than its material is taken to bear for about a million bends",
        State.WARN: "the wall bends inside the range where prints of this material have cracked or held: test one",
        State.FAIL: "the wall bends more than its material bears: it cracks early",
    }[state]
    yield Verdict(
        "flexible_strain",
        "Bending strain of the flexible ring (estimate)",
        state,
        f"{word} (estimate on the plain wall, teeth left out; {origin.flag.label} limit; {_bends(facts)}).",
        Working(
            "amplitude = half the range of y·(κ − 1/R) met by the worst fibre in one turn",
            f"wall {ring.wall_mm:g} mm, κ change {facts.strain.factor_major:.3f} and {facts.strain.factor_minor:.3f} "
            f"w0/R² at the axes; {material.words}: {low:.2%} to {high:.2%}, {material.how}",
            (origin.source.key, *DERIVED),
        ),
        "%",
        100 * amplitude,
        100 * high,
        Bound.AT_MOST,
    )


def _wall(facts: Facts) -> Iterator[Verdict]:
    """Can the process make the flexible ring's own walls?"""
    ring, process = facts.design.flexible_ring, facts.design.process
    if not isinstance(ring, (m.PrintedRing, m.PrintedCup)) or not isinstance(process, m.Printer):
        return
    walls = {"wall": ring.wall_mm, **({"barrel": ring.barrel_wall_mm} if isinstance(ring, m.Cup) else {})}
    name, thinnest = min(walls.items(), key=lambda item: item[1])
    unit = process.extrusion_width_mm
    state = judge(thinnest, unit, 2 * unit)
    word = {
        State.PASS: "every wall of the flexible ring is at least two extrusion widths thick",
        State.WARN: f"the {name} of the flexible ring is less than two extrusion widths thick: it prints as one weak line",
        State.FAIL: f"the {name} of the flexible ring is thinner than one extrusion width: it cannot be printed so",
    }[state]
    numbers = ", ".join(f"{key} {value:g} mm" for key, value in walls.items())
    yield Verdict(
        "flexible_wall",
        "Thinnest wall of the flexible ring",
        state,
        word + ".",
        Working("thinnest wall against the extrusion width", f"{numbers}; one width {unit:g} mm", PRACTICE),
        "mm",
        thinnest,
        unit,
    )


def _bends(facts: Facts) -> str:
    """What the duty asks of the ring, in bends."""
    cycles = facts.motion.load_cycles_per_generator_turn
    if not facts.design.duty or cycles is None:
        return "no duty to count bends from"
    per_turn = abs(float(facts.motion.turns_in_generator_turn[facts.motion.read]))
    turns = sum(step.speed_rpm * 60 * step.hours for step in facts.design.duty) / per_turn
    return f"the duty asks {turns * float(cycles):.2g} bends"


def _belt_bend(facts: Facts, belt: m.Belt) -> Verdict:
    """The unloaded belt against the limit that it is also held to under torque, see ``strength/belt_bend.py``."""
    radius = 1.0 / float(facts.set_shape.curvature_1_per_mm.max())
    title, usual = "Tightest bend of the belt, over its back", smallest_bend(belt)
    if usual is None:
        working = Working("smallest radius of the cord line on the generator", f"{radius:.2f} mm", DERIVED)
        sentence = f"no smallest pulley and no smallest idler is known for {belt.designation}, so its bending cannot be judged."
        return Verdict("belt_bend", title, State.NOT_MADE, sentence, working)
    limit = usual.radius_mm
    state = judge(radius, limit.middle, limit.high)
    word = {
        State.PASS: "bends less than is usual over an idler on its back",
        State.WARN: "bends nearly as tightly as is usual over the smallest idler on its back, and makes differ",
        State.FAIL: "bends more tightly than is usual over the smallest idler on its back: its cord breaks early",
    }[state]
    how = "" if usual.known else "; limit by comparison with other belts, for no idler is in print for this one"
    return Verdict(
        "belt_bend",
        title,
        state,
        f"the belt, teeth outward, {word}{how}.",
        Working(
            "smallest 1/κ of the cord line, unloaded, against the cord's on a back idler",
            f"{usual.how}: {limit.middle:.2f} mm ({limit.low:.2f} to {limit.high:.2f})",
            tuple(dict.fromkeys((usual.source_key, *PRACTICE, *(() if usual.known else DERIVED)))),
        ),
        "mm",
        radius,
        limit.middle,
    )


def _rollers(facts: Facts) -> Iterator[Verdict]:
    design, setting = facts.design, facts.setting
    if not isinstance(design.generator, (m.Rollers, m.PairedRollers)):
        return
    bearing = catalogue.bearing(design.generator.bearing)
    if setting.contact is Contact.PAIRED:
        near = 2 * setting.distance_mm * min(math.sin(setting.half_angle_rad), math.cos(setting.half_angle_rad))
    else:
        near = 2 * setting.distance_mm * math.sin(math.pi / setting.lobes)
    room = near - bearing.outer_mm
    state = judge(room, ROLLER_ROOM_MM, 2 * ROLLER_ROOM_MM)
    word = {
        State.PASS: "the rollers stand clear of each other",
        State.WARN: "the rollers nearly touch each other",
        State.FAIL: "the rollers touch each other: take smaller bearings",
    }[state]
    yield Verdict(
        "roller_room",
        "Room between rollers",
        state,
        word + ".",
        Working(
            "nearest distance of two roller centres − roller diameter",
            f"centres {setting.distance_mm:.3f} mm from the axis, bearing {bearing.designation} ø{bearing.outer_mm:g} mm",
            (bearing.origin("outer_mm").source.key,),
        ),
        "mm",
        room,
        ROLLER_ROOM_MM,
    )


def _stock(facts: Facts) -> Iterator[Verdict]:
    belt = facts.design.flexible_ring
    if not isinstance(belt, m.Belt):
        return
    try:
        stock = catalogue.belt_stock(belt.designation)
    except CatalogueFault:
        working = Working("tooth count against lengths usually stocked", f"{belt.teeth} teeth")
        sentence = f"no list of stocked lengths is known for {belt.designation}: ask before you design around it."
        yield Verdict("belt_stock", "Off the nearest length that is sold by", State.NOT_MADE, sentence, working)
        return
    off = min(abs(teeth - belt.teeth) for teeth in stock.teeth)
    near = sorted(stock.teeth, key=lambda teeth: (abs(teeth - belt.teeth), teeth))[:3]
    have = owned_belts(facts.design) > 0
    state = State.PASS if off == 0 or have else State.WARN
    word = f"{belt.teeth} teeth is a length usually stocked"
    if have:
        word = "you own this belt"
    elif off:
        word = f"nobody is known to stock {belt.teeth} teeth; the nearest are " + ", ".join(
            str(t) for t in sorted(near)
        )
    yield Verdict(
        "belt_stock",
        "Off the nearest length that is sold by",
        state,
        word + ".",
        Working(
            "distance to the nearest stocked tooth count",
            f"{belt.designation}, {belt.teeth} teeth, {profile_length(belt):.2f} mm",
            (stock.origin().source.key,),
        ),
        "teeth",
        float(0 if have else off),
        0.0,
        Bound.AT_MOST,
    )


def profile_length(belt: m.Belt) -> float:
    """Pitch length of a belt in mm."""
    return catalogue.belt_profile(belt.designation).pitch_mm * belt.teeth


def _bed(facts: Facts) -> Iterator[Verdict]:
    process = facts.design.process
    if not isinstance(process, m.Printer):
        return
    bed = min(process.bed_mm[0], process.bed_mm[1])
    parts = [
        (f"ring {x.name}", 2 * (x.space.root_radius_mm + r.rim_mm))
        for x, r in zip(facts.rings, facts.design.rigid_ring, strict=True)
    ]
    if isinstance(facts.design.flexible_ring, (m.PrintedRing, m.PrintedCup)):
        parts.append(("flexible ring", 2 * (facts.geometry.neutral_radius_mm + facts.rings[0].outline.tip_height_mm)))
    name, size = max(parts, key=lambda part: part[1])
    room = bed - size
    height = facts.design.flexible_ring.length_mm if isinstance(facts.design.flexible_ring, m.PrintedCup) else 0.0
    if process.bed_mm[2] - height < room:
        name, room = "the cup, standing,", process.bed_mm[2] - height
    state = judge(room, 0.0, 4.0)
    word = {
        State.PASS: "every part fits the bed",
        State.WARN: f"{name} fills the bed to the edge: check the printable area",
        State.FAIL: f"{name} is larger than the bed: it cannot be printed whole; make it smaller",
    }[state]
    numbers = ", ".join(f"{n} ø{s:.1f} mm" for n, s in parts)
    yield Verdict(
        "bed",
        "Room left on the printer's bed",
        state,
        word + ".",
        Working(
            "shorter side of the bed − largest diameter, or height − length of a cup, the less of both",
            f"{numbers}; bed {bed:g} mm, {process.bed_mm[2]:g} mm high",
            DERIVED,
        ),
        "mm",
        room,
        0.0,
    )


def _temperature(facts: Facts) -> Iterator[Verdict]:
    design, ring = facts.design, facts.design.flexible_ring
    names = set() if isinstance(ring, m.Belt) else {ring.material}
    if isinstance(design.process, m.Printer):
        names.add(design.process.material)
    if not names:
        return
    weakest = min((catalogue.material(name) for name in sorted(names)), key=lambda row: row.service_k)
    limit = weakest.service_k - ZERO_CELSIUS_K
    room = limit - design.ambient_temperature_C
    thing = "the steel" if weakest.kind is catalogue.MaterialKind.STEEL else "the plastic"
    state = judge(room, 0.0, 10.0)
    word = {
        State.PASS: f"the air stays well below what {thing} bears",
        State.WARN: "little is left to the temperature at which the material softens: shade it, paint it light",
        State.FAIL: "the material softens at this temperature: ring and generator creep out of shape",
    }[state]
    yield Verdict(
        "temperature",
        "The air is cooler than the material bears by",
        state,
        word + ".",
        Working(
            "highest usual temperature under load − ambient",
            f"{weakest.words}: {limit:.0f} °C; ambient {design.ambient_temperature_C:g} °C",
            (weakest.origin("service_c").source.key,),
        ),
        "°C",
        room,
        0.0,
    )


def _tight(facts: Facts) -> Iterator[Verdict]:
    """How much a ring that is tighter than its cam is stretched, at the tight end of the fit."""
    design, ring = facts.design, facts.design.flexible_ring
    if not isinstance(design.generator, m.Cam):
        return
    stretch = max(0.0, facts.tightest_shape.stretch)
    limit = 0.004 if isinstance(ring, m.Belt) else catalogue.material(ring.material).bending_strain[0]
    source = (
        "trade_practice"
        if isinstance(ring, m.Belt)
        else catalogue.material(ring.material).origin("bending_strain").source.key
    )
    state = judge(stretch, limit, 0.5 * limit, Bound.AT_MOST)
    word = {
        State.PASS: "the ring can be pushed on the cam at the tight end of the fit",
        State.WARN: "at the tight end of the fit the ring is stretched hard on its cam",
        State.FAIL: "at the tight end of the fit the ring is stretched more than it bears: it will not go on",
    }[state]
    fit = design.generator.fit_mm - design.generator.fit_tolerance_mm
    yield Verdict(
        "cam_fit",
        "Stretch of the ring on its cam, tight end of the fit",
        state,
        word + ".",
        Working("(generator's length − ring's length) / ring's length", f"fit {fit:g} mm at the tight end", (source,)),
        "%",
        100 * stretch,
        100 * limit,
        Bound.AT_MOST,
    )
