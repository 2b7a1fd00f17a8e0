"""The frame: rear, distance and front plate, what holds the bearings in them, the axle, tie rods and feet.

Bearings go into a boss from outside, rest on a lip and are kept in by a screwed cap. On the axle, from rear to front: lock
nut, nut, collar, bearing, tube, bearing, collar, nut, tube, generator, washer, nut, lock nut; nothing has play. Where parts are
cut the axle is a ground shaft with threaded ends, over which no nut gets to the middle: the nuts in front clamp all of it.
"""

from __future__ import annotations

import math
from dataclasses import replace

from lobewright.assessment.results import Assessment
from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.make import layout as lay
from lobewright.make.bodies import Body, Drill, Feature, Group, Loop, Part, Slab, exact, made_of
from lobewright.make.bought import bearing_part, nut_part, rod_part, screw_part, shaft_part, tube
from lobewright.make.crush_ribs import seat
from lobewright.make.frame_plates import cap_holes, placed, ring_holes, spots, square, tie_holes
from lobewright.make.layout import Layout
from lobewright.make.order import Side, Step
from lobewright.make.outlines import circle, polygon
from lobewright.make.parts_cover import behind, sectors
from lobewright.make.parts_held import held_parts
from lobewright.make.parts_inputs import ties_back_mm
from lobewright.make.placing import Member, Place, Placed
from lobewright.make.registering import dowel_pockets, position_mm, ring_dowels
from lobewright.make.standards import WASHERS_MM, screw_length_mm, washer_part

FOOT_MM, FOOT_LUG_MM, FOOT_OUT_MM, FOOT_ROUND_MM = 14.0, 8.0, 24.0, 7.0
"""Thickness of a foot along the axis, height of its lug, how far that reaches out of the plate, and how far the
foot goes round the rod."""
COLLAR_PLAY_MM = 0.2
UNDER_COLLAR_MM = 2.0
"""The rear thread of a ground shaft runs so far under the collar that its nut can clamp."""
THIN_TUBE_MM = 0.8
"""Two beads of a usual nozzle."""
ALIKE_TUBES_MM = 0.01
"""How alike two cut tubes between a pair of bearings have to be (common practice)."""
SEAT_LIMIT_MM, NARROW_MM = 0.05, 0.12
"""How much shallower a cut seat may be, and how much narrower a ball bearing of these sizes may be than its width (ISO 492,
normal class, remembered)."""
TRUER = (
    "a ground shaft ø8 mm with {size} threads up to its bearings runs truer: a threaded rod has 0.1 to 0.2 mm of play in a "
    "bearing's bore"
)


def bearing_plate(
    outer: Loop,
    through: tuple[Loop, ...],
    bearing: catalogue.Bearing,
    lip_mm: float,
    boss_mm: float,
    crush_ribs: bool,
) -> Body:
    """A plate with a boss, its face on z = 0. ``boss_mm``: of lip and bearings; the boss ends a little before them."""
    caps = cap_holes(bearing)
    lip, bore = exact(circle(lay.outer_land_mm(bearing))), seat(bearing.outer_mm, crush_ribs)
    pieces = (
        Slab(outer, (lip, *caps, *through), 0.0, lip_mm),
        Slab(outer, (bore, *caps, *through), lip_mm, lay.FLOOR_MM),
        Slab(exact(circle(lay.boss_radius_mm(bearing))), (bore, *caps), lay.FLOOR_MM, boss_mm - lay.PRESS_MM),
    )
    return Body(tuple(one for one in pieces if one.top_mm > one.bottom_mm + 1e-9))


def cap_body(bearing: catalogue.Bearing) -> Body:
    """The ring that keeps bearings in; its heads are sunk on top."""
    bolt, radius = catalogue.bolt(lay.CAP_BOLT), lay.boss_radius_mm(bearing)
    outer, inner = exact(circle(radius)), exact(circle(lay.outer_land_mm(bearing)))
    heads = tuple(exact(circle(bolt.head_diameter_mm / 2 + 0.2, *spot)) for spot in spots(cap_holes(bearing)))
    low = Slab(outer, (inner, *cap_holes(bearing)), 0.0, lay.CAP_FLOOR_MM)
    return Body((low, Slab(outer, (inner, *heads), lay.CAP_FLOOR_MM, lay.cap_mm())))


def cap_fasteners(
    bearing: catalogue.Bearing, boss_mm: float, face_mm: float, over: bool, name: str, step: Step
) -> tuple[Placed, ...]:
    """Screws and nuts of a cap on a boss that ends ``boss_mm`` from the plate's face at ``face_mm``, away from it."""
    bolt = catalogue.bolt(lay.CAP_BOLT)
    length = screw_length_mm(bolt, boss_mm + lay.CAP_FLOOR_MM)
    sign = -1.0 if over else 1.0
    at = spots(cap_holes(bearing))
    head = face_mm + sign * (boss_mm + lay.cap_mm())
    screws = tuple(Place(x, y, head, over=not over) for x, y in at)
    nuts = tuple(Place(x, y, face_mm, over=not over) for x, y in at)
    return (
        placed(
            replace(screw_part(bolt, length, 1, f"{name}_cap_screw", "screw of a bearing cap"), sunk=True),
            screws,
            Member.HELD,
            step,
            Side.REAR if over else Side.FRONT,
        ),
        placed(
            nut_part(bolt, 1, f"{name}_cap_nut", "nut of a bearing cap"),
            nuts,
            Member.HELD,
            step,
            Side.FRONT if over else Side.REAR,
        ),
    )


def bearing_tubes(a: Assessment, bearing: catalogue.Bearing, length_mm: float, name: str) -> tuple[Part, Part]:
    """Tubes between two bearings: one between the outer rings, one between the inner rings; made in one go."""
    how = (
        "print both tubes of a pair in one go, to the same length"
        if made_of(a.design)
        else f"face both tubes of a pair in one setting: alike within {ALIKE_TUBES_MM:g} mm, their length within 0.05 mm"
    )
    note = f"{how}, or the bearings run hard"
    outer = tube(bearing.outer_mm - COLLAR_PLAY_MM, 2 * lay.outer_land_mm(bearing), length_mm)
    inner = tube(2 * lay.inner_land_mm(bearing), bearing.bore_mm + COLLAR_PLAY_MM, length_mm)
    material = made_of(a.design)
    return (
        Part(f"{name}_outer_tube", f"{name}: tube between outer rings", 1, outer, material, note),
        Part(f"{name}_inner_tube", f"{name}: tube between inner rings", 1, inner, material, note),
    )


def thin_tubes(l: Layout) -> tuple[str, ...]:  # noqa: E741
    """Which collars and tubes on bearings have hardly a wall, in words."""
    found = []
    for one in (l.input_bearing, l.output_bearing):
        wall = lay.inner_land_mm(one) - one.bore_mm / 2 - COLLAR_PLAY_MM / 2
        if wall < THIN_TUBE_MM:
            found.append(
                f"the collars of bearing {one.designation} have a wall of {wall:.2f} mm, since more would rub on its seals: take "
                "washers or a piece of metal tube instead"
            )
    return tuple(found)


def seat_words(a: Assessment, deep_mm: float, count: int) -> str:
    """How deep a cut boss is from its lip to its end, and why; empty where it is printed."""
    if made_of(a.design):
        return ""
    stack = "two bearings and their tube stand" if count > 1 else "the bearing stands"
    return (
        f"lip to boss end {deep_mm:.2f} (0 / −{SEAT_LIMIT_MM:g}): {stack} {lay.PRESS_MM:g} mm proud, so that the cap clamps "
        f"(this holds before the height over all); a bearing may be {NARROW_MM:g} mm narrower than its size: measure first, face "
        "the boss to suit"
    )


def dowel_words(a: Assessment, ring: m.RigidRing) -> str:
    """How true the dowels' holes in a cut plate stand to its bearing seat; empty where it is printed or has none."""
    if made_of(a.design) or not ring_dowels(a, ring):
        return ""
    return f"dowel holes and bearing seat bored in one setting: true to each other within {position_mm(ring):g} mm"


def _rear(a: Assessment, l: Layout) -> tuple[Placed, ...]:  # noqa: E741
    material, bearing, boss = made_of(a.design), l.input_bearing, l.rear_boss_mm
    through = (*tie_holes(l), *ring_holes(a, l.rear_ring), *sectors(a, l))
    ribs = a.design.assembly.crush_ribs
    body = bearing_plate(square(l.half_side_mm), through, bearing, lay.LIP_MM, boss, ribs)
    ring = l.rear_ring
    # The plate is turned over in its place: what is at y there is at −y here.
    at = tuple((x, -y) for x, y in ring_dowels(a, ring))
    body = replace(body, pockets=dowel_pockets(ring, at))
    flat = "prints on its flat face" if made_of(a.design) else ""
    seat_deep = seat_words(a, boss - lay.PRESS_MM - lay.LIP_MM, 2)
    note = f"two bearings {bearing.designation} go in from the boss's end, a tube between them"
    note = "; ".join(one for one in (note, flat, seat_deep, dowel_words(a, ring), *behind(a)) if one)
    plate = Part("rear_plate", "rear plate", 1, body, material, note)
    cap = Part("rear_cap", "cap of the axle's bearings", 1, cap_body(bearing), material, "heads of its screws flush")
    face = -l.distance_mm
    first, second = face - lay.LIP_MM, face - boss
    outer, inner = bearing_tubes(a, bearing, lay.INPUT_SPACER_MM, "axle")
    between = Place(z_mm=first - bearing.width_mm - lay.INPUT_SPACER_MM)
    pair = (Place(z_mm=first - bearing.width_mm), Place(z_mm=second))
    return (
        placed(plate, (Place(z_mm=face, over=True),), Member.HELD, Step.REAR, Side.REAR),
        placed(
            bearing_part(bearing, 2, "axle_bearing", "bearing of the axle"), pair, Member.HELD, Step.REAR, Side.REAR
        ),
        placed(outer, (between,), Member.HELD, Step.REAR, Side.REAR),
        placed(inner, (between,), Member.GENERATOR, Step.REAR, Side.REAR),
        placed(cap, (Place(z_mm=second, over=True),), Member.HELD, Step.REAR, Side.REAR),
        *cap_fasteners(bearing, boss, face, True, "rear", Step.REAR),
    )


def _axle(a: Assessment, l: Layout) -> tuple[Placed, ...]:  # noqa: E741
    bearing, nut, face = l.input_bearing, catalogue.bolt(lay.AXLE_SIZE), -l.distance_mm
    outside, bore = 2 * lay.inner_land_mm(bearing), bearing.bore_mm + COLLAR_PLAY_MM
    front = face + lay.COLLAR_OUT_MM
    back = l.boss_back_mm - lay.COLLAR_OUT_MM
    rear_collar = tube(outside, bore, face - l.rear_boss_mm - back)
    front_collar = tube(outside, bore, front - (face - lay.LIP_MM))
    seat_z = front + nut.nut_height_mm
    material = made_of(a.design)
    seat_z = seat_z if material else front
    bed = tube(nut.nut_across_flats_mm, bore, l.generator_bottom_mm - seat_z)
    top = l.generator_top_mm + WASHERS_MM[lay.AXLE_SIZE][2]
    rearward, before = (back - 2 * nut.nut_height_mm, back - nut.nut_height_mm), (front,)
    words = (
        "two nuts of the axle behind its bearings, one before them"
        if material
        else "nut and lock nut behind the bearings"
    )
    clamp = nut_part(nut, 1, "axle_clamp_nut", words)
    length = l.axle_front_mm - l.axle_rear_mm
    if material:
        axle = replace(rod_part(nut, length, 1, "axle", "axle"), note=TRUER.format(size=nut.size))
    else:
        threads = (back + UNDER_COLLAR_MM - l.axle_rear_mm, l.axle_front_mm - l.generator_top_mm)
        axle = replace(
            shaft_part(nut, length, *threads, "axle", "axle"),
            note="bearings and generator sit on the plain part between the threads: it runs true as a threaded rod does not",
        )
    on, rear, fore = Step.GENERATOR_ON_AXLE, Side.REAR, Side.FRONT
    rows = (
        (axle, (l.axle_rear_mm,), Step.AXLE, rear),
        (Part("axle_rear_collar", "collar behind the bearings", 1, rear_collar, material), (back,), Step.AXLE, rear),
        (
            Part("axle_front_collar", "collar before the bearings", 1, front_collar, material),
            (face - lay.LIP_MM,),
            Step.AXLE,
            fore,
        ),
        (clamp, rearward, Step.AXLE, rear),
        *(((clamp, before, Step.AXLE, fore),) if material else ()),
        (Part("generator_bed", "tube under the generator", 1, bed, material), (seat_z,), on, fore),
        (washer_part(lay.AXLE_SIZE, 1, "generator_washer"), (l.generator_top_mm,), on, fore),
        (
            nut_part(nut, 1, "generator_nut", "nut and lock nut of the generator"),
            (top, top + nut.nut_height_mm),
            on,
            fore,
        ),
    )
    return tuple(
        placed(
            part if part.designation else replace(part, group=Group.GENERATOR),
            tuple(Place(z_mm=z) for z in levels),
            Member.GENERATOR,
            step,
            side,
        )
        for part, levels, step, side in rows
    )


def front_boss_length_mm(l: Layout) -> float:  # noqa: E741
    """Of the front plate with its boss, the cap left out."""
    return l.output_lip_mm + l.output_bearing.width_mm + l.output_spacing_mm


def mark_screw_x_mm() -> float:
    return lay.MARK_MM / 2 + lay.MARK_EAR_MM / 2


def _front(a: Assessment, l: Layout) -> tuple[Placed, ...]:  # noqa: E741
    material, bearing, boss = made_of(a.design), l.output_bearing, front_boss_length_mm(l)
    mast = l.mark_held_mm + lay.MARK_MM / 2
    outer = square(l.half_side_mm, mast, lay.MARK_MM / 2 + lay.MARK_EAR_MM)
    half = catalogue.bolt("M3").hole_medium_mm / 2
    marks = tuple(
        exact(circle(half, side * mark_screw_x_mm(), l.mark_held_mm), Feature.BOLT_HOLE) for side in (1.0, -1.0)
    )
    ribs = a.design.assembly.crush_ribs
    body = bearing_plate(outer, (*tie_holes(l), *marks), bearing, l.output_lip_mm, boss, ribs)
    note = f"bearings {bearing.designation} go in from the boss's end; the mast carries the held plate for marks"
    deep = seat_words(a, boss - lay.PRESS_MM - l.output_lip_mm, l.output_bearings)
    note = f"{note}; {deep}" if deep else note
    plate = Part("front_plate", "front plate", 1, body, material, note)
    cap = Part("front_cap", "cap of the output's bearings", 1, cap_body(bearing), material, "heads of its screws flush")
    low = l.front_z_mm + l.output_lip_mm
    levels = (low,) if l.output_bearings == 1 else (low, low + l.output_spacing_mm)
    found = [
        placed(plate, (Place(z_mm=l.front_z_mm),), Member.HELD, Step.FRONT, Side.FRONT),
        placed(
            bearing_part(bearing, 1, "output_bearing", "bearing of the output"),
            tuple(Place(z_mm=z) for z in levels),
            Member.HELD,
            Step.FRONT,
            Side.FRONT,
        ),
        placed(cap, (Place(z_mm=l.front_z_mm + boss),), Member.HELD, Step.FRONT, Side.FRONT),
        *cap_fasteners(bearing, boss, l.front_z_mm, False, "front", Step.FRONT),
    ]
    gap = l.output_spacing_mm - bearing.width_mm
    if l.output_bearings == 2 and gap > 1e-6:
        outer_tube, inner_tube = bearing_tubes(a, bearing, gap, "output")
        between = (Place(z_mm=low + bearing.width_mm),)
        found.append(placed(outer_tube, between, Member.HELD, Step.FRONT, Side.FRONT))
        found.append(placed(replace(inner_tube, group=Group.OUTPUT), between, Member.OUTPUT, Step.FRONT, Side.FRONT))
    return tuple(found)


def _ties(a: Assessment, l: Layout) -> tuple[Placed, ...]:  # noqa: E741
    """Rods with a nut and a washer at either end; tubes and feet on them keep the front plate at its distance."""
    tie = catalogue.bolt(lay.TIE_SIZE)
    thick, nut = WASHERS_MM[lay.TIE_SIZE][2], tie.nut_height_mm
    back = min(ties_back_mm(a, l), l.rear_back_mm - thick - nut - lay.ROOM_MM)
    # Room for a plate on the front nuts, a gauge's holder, and its own nuts.
    front = l.front_top_mm + thick + 2 * nut + lay.FLOOR_MM + lay.ROOM_MM
    rods = tuple(Place(x, y, back) for x, y in l.ties_mm)
    found = [placed(rod_part(tie, front - back, 1, "tie_rod", "tie rod"), rods, Member.HELD, Step.BEHIND, Side.REAR)]
    ends = (
        (l.rear_back_mm, -1.0, Step.BEHIND, Side.REAR),
        (l.front_top_mm, 1.0, Step.FRONT_ON, Side.FRONT),
    )
    for z, way, step, side in ends:
        washers = tuple(Place(x, y, z, over=way < 0) for x, y in l.ties_mm)
        nuts = tuple(Place(x, y, z + way * thick, over=way < 0) for x, y in l.ties_mm)
        found.append(placed(washer_part(lay.TIE_SIZE, 1, "tie_washer"), washers, Member.HELD, step, side))
        found.append(placed(nut_part(tie, 1, "tie_nut", "nut of a tie rod"), nuts, Member.HELD, step, side))
    return tuple(found)


def _distance_tubes(a: Assessment, l: Layout) -> tuple[Placed, ...]:  # noqa: E741
    """Tubes on the rods from the distance plate to the front plate: whole ones above, below what the feet leave."""
    bore = catalogue.bolt(lay.TIE_SIZE).hole_medium_mm
    rows = (("upper", 1.0, 0.0), ("lower", -1.0, FOOT_MM))
    found = []
    for name, way, foot in rows:
        length = l.front_z_mm - 2 * foot
        if length <= 0.0:
            continue
        note = f"{length:.2f} mm long, both alike to 0.05 mm: it sets the front plate's distance"
        part = Part(
            f"{name}_distance_tube",
            f"distance tube, {name} tie rods",
            2,
            tube(lay.TIE_TUBE_MM, bore, length),
            made_of(a.design),
            note,
        )
        places = tuple(Place(x, y, foot) for x, y in l.ties_mm if y * way > 0)
        found.append(placed(part, places, Member.HELD, Step.FRONT_ON, Side.FRONT))
    return tuple(found)


def _feet(a: Assessment, l: Layout) -> tuple[Placed, ...]:  # noqa: E741
    """Blocks on the lower rods, level with the plates' lower edges; a drilled lug takes a screw or a clamp."""
    tie, c = catalogue.bolt(lay.TIE_SIZE), l.corner_mm
    # The inner corner is cut, so that it passes what turns as the rod's washer does.
    w = FOOT_ROUND_MM
    outline = [(-w, -c), (c + FOOT_OUT_MM, -c), (c + FOOT_OUT_MM, FOOT_LUG_MM - c), (c, FOOT_LUG_MM - c)]
    hole = exact(circle(tie.hole_medium_mm / 2), Feature.BOLT_HOLE)
    slab = Slab(exact(polygon([*outline, (c, w), (0.0, w), (-w, 0.0)])), (hole,), 0.0, FOOT_MM)
    board = Drill((c + FOOT_OUT_MM / 2, -c, FOOT_MM / 2), math.pi / 2, tie.hole_medium_mm, FOOT_LUG_MM)
    note = (
        "on a lower tie rod; the lug's hole takes a wood screw ø5 mm of your own, not in this list, or a clamp grips it"
    )
    foot = Part("foot", "foot", 4, Body((slab,), (), (board,)), made_of(a.design), note)
    at = l.ties_mm[0][0]
    rows = ((0.0, Step.BEHIND), (l.front_z_mm - FOOT_MM, Step.FRONT_ON))
    return tuple(
        placed(
            foot,
            (Place(at, -at, z), Place(-at, -at, z + FOOT_MM, turn_rad=math.pi, over=True)),
            Member.HELD,
            step,
            Side.FRONT,
        )
        for z, step in rows
    )


def frame_parts(a: Assessment, l: Layout) -> tuple[Placed, ...]:  # noqa: E741
    """The frame in its places: plates, bearings, axle, rods, feet. See :mod:`lobewright.make.layout` for the arrangement."""
    return (
        *_rear(a, l),
        *held_parts(a, l),
        *_axle(a, l),
        *_front(a, l),
        *_ties(a, l),
        *_distance_tubes(a, l),
        *_feet(a, l),
    )
