"""The output: a plate on the front ring or the cup's boss, the hub through the bearings, the flange, and plates for marks.

The hub's shoulder, the inner rings with their tube, a collar and the flange are clamped by one screw along the axis; torque goes
from hub to flange through a hexagon.
"""

from __future__ import annotations

import math
from dataclasses import replace

from lobewright.assessment.results import Assessment
from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.design.holding import LEAST_WALL_MM
from lobewright.make import layout as lay
from lobewright.make.bodies import Body, Feature, Group, Loop, Part, Slab, exact, made_of
from lobewright.make.bought import hexagon, nut_part, screw_part, tube
from lobewright.make.frame_plates import holes, placed, ring_holes, spots
from lobewright.make.hub import across_flats_mm
from lobewright.make.layout import Layout
from lobewright.make.order import Side, Step
from lobewright.make.outlines import circle, hull_of_circles, polygon
from lobewright.make.parts_flexible import BOSS_BOLTS, boss_height_mm
from lobewright.make.placing import Member, Place, Placed
from lobewright.make.standards import NUT_PLAY_MM, nut_trap, screw_length_mm, trap_depth_mm

HUB_SCREWS = 6
COLLAR_PLAY_MM = 0.2
ARM_GRIP_MM = 4.5
"""Material between the flange's face and its nuts: an arm 6 mm thick is held by screws of 16 mm."""
RECESS_WALL_MM = 3.0
CORNER_MM = 3.0


def _made(a: Assessment, name: str, words: str, body: Body, note: str, drawn: bool = False) -> Part:
    return Part(name, words, 1, body, made_of(a.design), note, drawn=drawn, group=Group.OUTPUT)


def hub_slabs(l: Layout, base_mm: float) -> tuple[Slab, ...]:  # noqa: E741 - as all such functions
    """Shoulder, journal and hexagon on a plate whose face is at ``base_mm``."""
    bearing = l.output_bearing
    bore = exact(circle(catalogue.bolt(l.clamp_bolt).hole_medium_mm / 2), Feature.BOLT_HOLE)
    shift = base_mm - l.output_front_mm
    shoulder, flange = l.front_z_mm + l.output_lip_mm + shift, l.flange_rear_mm + shift
    return (
        Slab(exact(circle(lay.inner_land_mm(bearing))), (bore,), base_mm, shoulder),
        Slab(exact(circle(bearing.bore_mm / 2)), (bore,), shoulder, flange),
        Slab(exact(hexagon(across_flats_mm(bearing))), (bore,), flange, flange + lay.HEX_MM),
    )


def _clamp_nut(l: Layout) -> Slab:  # noqa: E741
    """Pocket for the clamping screw's nut under the hub."""
    bolt = catalogue.bolt(l.clamp_bolt)
    hole = exact(circle(bolt.hole_medium_mm / 2), Feature.BOLT_HOLE)
    trap = exact(hexagon(bolt.nut_across_flats_mm + NUT_PLAY_MM), Feature.NUT)
    return Slab(trap, (hole,), 0.0, trap_depth_mm(bolt))


def _note(l: Layout) -> str:  # noqa: E741
    return "; ".join(
        (
            f"the {l.clamp_bolt} nut lies in the pocket below; prints with the hub up, a short bridge over the nut",
            *l.cautions,
        )
    )


def _on_ring(a: Assessment, l: Layout) -> tuple[Placed, ...]:  # noqa: E741
    ring = l.front_ring
    assert ring is not None
    mesh = next(made for one, made in zip(a.design.rigid_ring, a.rings, strict=True) if one.name == ring.name)
    root = mesh.space.root_radius_mm
    outer, bolt = exact(circle(root + ring.rim_mm)), catalogue.bolt(ring.bolt)
    bored = ring_holes(a, ring)
    centre = exact(circle(catalogue.bolt(l.clamp_bolt).hole_medium_mm / 2), Feature.BOLT_HOLE)
    plate = Slab(outer, (*bored, centre), 0.0, lay.FLOOR_MM)
    body = Body((plate, *hub_slabs(l, lay.FLOOR_MM)), (_clamp_nut(l),))
    part = replace(_made(a, "output_plate", "output plate with hub", body, _note(l)), material=l.hub_material)
    found = [placed(part, (Place(z_mm=l.output_z_mm + l.output_distance_mm),), Member.OUTPUT, Step.OUTPUT, Side.FRONT)]
    if l.output_distance_mm > 0:
        slab = Slab(outer, (exact(circle(root + 0.5)), *bored), 0.0, l.output_distance_mm)
        note = f"{l.output_distance_mm:.1f} mm thick, between front ring and output plate"
        spacer = _made(a, "output_distance", "distance ring of the output", Body((slab,)), note, drawn=True)
        found.append(placed(spacer, (Place(z_mm=l.output_z_mm),), Member.OUTPUT, Step.OUTPUT, Side.FRONT))
    low = l.output_z_mm - ring.width_mm
    length = float(int(l.output_front_mm - low))
    at = spots(bored)
    heads = tuple(Place(x, y, l.output_front_mm + bolt.head_height_mm, over=True) for x, y in at)
    nuts = tuple(Place(x, y, low + NUT_PLAY_MM, turn_rad=math.atan2(y, x) + math.pi / 2) for x, y in at)
    screw = replace(
        screw_part(bolt, length, 1, "read_ring_screw", "screw of the read ring"),
        note="cut to this length where none is sold: its end must not stand out of the ring",
    )
    nut = nut_part(bolt, 1, "read_ring_nut", "nut of the read ring")
    return (
        *found,
        placed(screw, heads, Member.OUTPUT, Step.OUTPUT),
        placed(nut, nuts, Member.OUTPUT, Step.OUTPUT, Side.REAR),
    )


def _hub_circle_mm(cup: m.Cup) -> float:
    """Radius of the screws between plate and hub: their nuts lie outside the cup's boss."""
    return cup.boss_diameter_mm / 2 + catalogue.bolt(lay.HUB_FLANGE_BOLT).nut_across_corners_mm / 2 + 1.0


def _boss_holes(cup: m.Cup, size: str) -> tuple[Loop, ...]:
    return holes((cup.boss_diameter_mm + cup.bore_mm) / 4, size, BOSS_BOLTS, 0.0)


def _on_cup(a: Assessment, l: Layout) -> tuple[Placed, ...]:  # noqa: E741
    """A plate on the boss, its screws' heads sunk, and the hub on the plate."""
    cup = a.design.flexible_ring
    assert isinstance(cup, m.Cup)
    bolt, small = lay.boss_bolt(a.design), catalogue.bolt(lay.HUB_FLANGE_BOLT)
    thick, radius = lay.cup_plate_mm(a.design), _hub_circle_mm(cup)
    rim = exact(circle(radius + small.head_diameter_mm / 2 + LEAST_WALL_MM))
    bosses, screws = _boss_holes(cup, bolt.size), holes(radius, small.size, HUB_SCREWS, math.pi / HUB_SCREWS)
    heads = tuple(exact(circle(bolt.head_diameter_mm / 2 + NUT_PLAY_MM, *spot)) for spot in spots(bosses))
    seat_z, floor = thick - lay.sunk_head_mm(bolt), lay.PAD_MM
    traps = tuple(
        Slab(nut_trap(small, *spot), (one,), floor, floor + trap_depth_mm(small))
        for spot, one in zip(spots(screws), screws, strict=True)
    )
    pieces = (
        Slab(exact(circle(cup.boss_diameter_mm / 2)), bosses, 0.0, floor),
        Slab(rim, (*bosses, *screws), floor, seat_z),
        Slab(rim, (*heads, *screws), seat_z, thick),
    )
    note = (
        "the pad lies on the cup's boss and keeps off the diaphragm, which bends; prints with the pad up, short bridges"
    )
    plate = replace(_made(a, "output_plate", "output plate", Body(pieces, traps), note), turned_over=True)
    centre = exact(circle(catalogue.bolt(l.clamp_bolt).hole_medium_mm / 2), Feature.BOLT_HOLE)
    hub_body = Body((Slab(rim, (*screws, centre), 0.0, lay.FLOOR_MM), *hub_slabs(l, lay.FLOOR_MM)), (_clamp_nut(l),))
    hub = replace(_made(a, "output_hub", "hub of the output", hub_body, _note(l)), material=l.hub_material)
    grip = boss_height_mm(cup) + seat_z
    z = l.output_z_mm
    inside = z - boss_height_mm(cup)
    rows = (
        (plate, (Place(z_mm=z),), Side.FRONT),
        (hub, (Place(z_mm=z + thick),), Side.FRONT),
        (
            screw_part(bolt, screw_length_mm(bolt, grip), 1, "boss_screw", "screw of the cup's boss"),
            tuple(Place(x, y, z + seat_z + bolt.head_height_mm, over=True) for x, y in spots(bosses)),
            Side.FRONT,
        ),
        (
            nut_part(bolt, 1, "boss_nut", "nut inside the cup"),
            tuple(Place(x, y, inside, over=True) for x, y in spots(bosses)),
            Side.REAR,
        ),
        (
            screw_part(small, float(int(thick + lay.FLOOR_MM - floor)), 1, "hub_screw", "screw of the hub"),
            tuple(Place(x, y, l.output_front_mm + small.head_height_mm, over=True) for x, y in spots(screws)),
            Side.FRONT,
        ),
        (
            nut_part(small, 1, "hub_nut", "nut of the hub's screw"),
            tuple(
                Place(x, y, z + floor + NUT_PLAY_MM, turn_rad=math.atan2(y, x) + math.pi / 2) for x, y in spots(screws)
            ),
            Side.REAR,
        ),
    )
    return tuple(placed(part, places, Member.OUTPUT, Step.OUTPUT, side) for part, places, side in rows)


def mark_body(thick_mm: float) -> Body:
    """A plate with a plain square in its middle and a screw hole in either ear."""
    x, y = lay.MARK_MM / 2 + lay.MARK_EAR_MM, lay.MARK_MM / 2
    hole = catalogue.bolt("M3").hole_medium_mm / 2
    at = lay.MARK_MM / 2 + lay.MARK_EAR_MM / 2
    bored = tuple(exact(circle(hole, side * at, 0.0), Feature.BOLT_HOLE) for side in (1.0, -1.0))
    return Body((Slab(exact(polygon([(-x, -y), (x, -y), (x, y), (-x, y)])), bored, 0.0, thick_mm),))


def _flange_body(l: Layout) -> Body:  # noqa: E741
    """Tongue and disc, the hexagon through, a recess for the clamping disc, deep pockets for nuts from behind."""
    bearing, radius = l.output_bearing, l.flange_radius_mm
    high, tongue = l.flange_front_mm - l.flange_rear_mm, l.mark_z_mm - lay.MARK_THICK_MM - l.flange_rear_mm
    wide, end = lay.MARK_MM / 2 + lay.MARK_EAR_MM, l.mark_output_mm + lay.MARK_MM / 2
    c = CORNER_MM
    band = hull_of_circles([(0.0, 0.0, radius), (wide - c, end - c, c), (c - wide, end - c, c)])
    bolt, small = catalogue.bolt(l.flange.bolt), catalogue.bolt("M3")
    bolts = holes(l.flange.circle_mm / 2, bolt.size, l.flange.bolts, math.pi / l.flange.bolts)
    at = lay.MARK_MM / 2 + lay.MARK_EAR_MM / 2
    marks = tuple(
        exact(circle(small.hole_medium_mm / 2, side * at, l.mark_output_mm), Feature.BOLT_HOLE) for side in (1.0, -1.0)
    )
    socket = exact(hexagon(across_flats_mm(bearing)))
    recess = exact(circle(bearing.bore_mm / 2 + RECESS_WALL_MM))
    step, deep = lay.HEX_MM + lay.HEX_PLAY_MM, high - ARM_GRIP_MM
    lower, upper = sorted((step, tongue))
    disc, outline = exact(circle(radius)), exact(band)
    pieces = (
        Slab(outline, (socket, *bolts, *marks), 0.0, lower),
        Slab(
            outline if tongue > step else disc,
            (recess if tongue > step else socket, *bolts, *(marks if tongue > step else ())),
            lower,
            upper,
        ),
        Slab(disc, (recess, *bolts), upper, high),
    )
    traps = tuple(Slab(nut_trap(bolt, *spot), (one,), 0.0, deep) for spot, one in zip(spots(bolts), bolts, strict=True))
    return Body(tuple(one for one in pieces if one.top_mm - one.bottom_mm > 1e-9), traps)


def _flange(a: Assessment, l: Layout) -> tuple[Placed, ...]:  # noqa: E741
    bearing, clamp = l.output_bearing, catalogue.bolt(l.clamp_bolt)
    note = (
        f"bolt circle {l.flange.designation}: {l.flange.bolts} × {l.flange.bolt} on ø{l.flange.circle_mm:g} mm, outside and "
        "centring are our own; nuts go in from behind"
    )
    flange = _made(a, "output_flange", "output flange", _flange_body(l), note)
    collar_z = l.front_boss_mm - lay.cap_mm()
    collar = tube(2 * lay.inner_land_mm(bearing), bearing.bore_mm + COLLAR_PLAY_MM, l.flange_rear_mm - collar_z)
    disc = tube(bearing.bore_mm + 2 * RECESS_WALL_MM - 2 * COLLAR_PLAY_MM, clamp.hole_medium_mm, lay.CLAMP_MM)
    disc_z = l.flange_rear_mm + lay.HEX_MM + lay.HEX_PLAY_MM
    nut_z = (l.output_front_mm - lay.FLOOR_MM) + NUT_PLAY_MM
    least = disc_z + lay.CLAMP_MM - nut_z - NUT_PLAY_MM
    length = float(int(least))
    rows = (
        (
            _made(a, "output_collar", "collar before the output's bearings", Body(collar.pieces), ""),
            collar_z,
            Step.FLANGE,
            Side.FRONT,
        ),
        (flange, l.flange_rear_mm, Step.FLANGE, Side.FRONT),
        (_made(a, "clamp_disc", "disc that clamps the flange", Body(disc.pieces), ""), disc_z, Step.FLANGE, Side.FRONT),
        (nut_part(clamp, 1, "clamp_nut", "nut under the hub"), nut_z, Step.OUTPUT, Side.REAR),
    )
    found = [placed(part, (Place(z_mm=z),), Member.OUTPUT, step, side) for part, z, step, side in rows]
    screw = replace(
        screw_part(clamp, length, 1, "clamp_screw", "screw through the hub"),
        note="or a shorter one that fills half of the nut; cut to this length where none is sold",
    )
    head = Place(z_mm=disc_z + lay.CLAMP_MM + clamp.head_height_mm, over=True)
    nut = catalogue.bolt(l.flange.bolt)
    at = spots(holes(l.flange.circle_mm / 2, nut.size, l.flange.bolts, math.pi / l.flange.bolts))
    top = l.flange_front_mm - ARM_GRIP_MM - nut.nut_height_mm
    nuts = tuple(Place(x, y, top, turn_rad=math.atan2(y, x) + math.pi / 2) for x, y in at)
    found.append(placed(screw, (head,), Member.OUTPUT, Step.FLANGE, Side.FRONT))
    found.append(
        placed(nut_part(nut, 1, "flange_nut", "nut in the flange"), nuts, Member.OUTPUT, Step.FLANGE, Side.REAR)
    )
    return tuple(found)


def _marks(a: Assessment, l: Layout) -> tuple[Placed, ...]:  # noqa: E741
    """Both plates for marks, their faces level, and the post under the held one."""
    bolt, thick = catalogue.bolt("M3"), lay.MARK_THICK_MM
    low = l.mark_z_mm - thick
    at = lay.MARK_MM / 2 + lay.MARK_EAR_MM / 2
    note = f"plain {lay.MARK_MM:g} mm square for marks; both plates' faces are level"
    post = Part("mark_post", "post of the held plate for marks", 1, mark_body(low - l.front_top_mm), made_of(a.design))
    found = [placed(post, (Place(0.0, l.mark_held_mm, l.front_top_mm),), Member.HELD, Step.FLANGE, Side.FRONT)]
    rows = (
        ("output", l.mark_output_mm, l.flange_rear_mm, Member.OUTPUT),
        ("held", l.mark_held_mm, l.front_z_mm, Member.HELD),
    )
    for name, y, bottom, member in rows:
        part = Part(
            f"mark_plate_{name}", f"plate for marks, {name}", 1, mark_body(thick), made_of(a.design), note, drawn=True
        )
        part = replace(part, group=Group.OUTPUT if member is Member.OUTPUT else Group.FRAME)
        length = screw_length_mm(bolt, l.mark_z_mm - bottom)
        heads = tuple(Place(side * at, y, l.mark_z_mm + bolt.head_height_mm, over=True) for side in (1.0, -1.0))
        nuts = tuple(Place(side * at, y, bottom, over=True) for side in (1.0, -1.0))
        found += [
            placed(part, (Place(0.0, y, low),), member, Step.FLANGE, Side.FRONT),
            placed(
                screw_part(bolt, length, 1, f"mark_screw_{name}", "screw of a plate for marks"),
                heads,
                member,
                Step.FLANGE,
                Side.FRONT,
            ),
            placed(
                nut_part(bolt, 1, f"mark_nut_{name}", "nut of a plate for marks"), nuts, member, Step.FLANGE, Side.REAR
            ),
        ]
    return tuple(found)


def output_parts(a: Assessment, l: Layout) -> tuple[Placed, ...]:  # noqa: E741
    """Everything that turns with the output but the ring or cup itself, and both plates for marks."""
    on = _on_ring(a, l) if l.front_ring else _on_cup(a, l)
    return (*on, *_flange(a, l), *_marks(a, l))
