"""The output: a plate on the front ring or the cup's boss, the hub through the bearings, the flange, and plates for marks.

The hub's shoulder, the inner rings with their tube, a collar and the flange are clamped by one screw along the axis; torque goes
from hub to flange through a hexagon.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from lobewright.assessment.results import Assessment
from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.design.holding import LEAST_WALL_MM
from lobewright.make import layout as lay
from lobewright.make.bodies import Body, Feature, Group, Loop, Part, Slab, exact, made_of
from lobewright.make.bought import hexagon, nut_part, screw_part, tube
from lobewright.make.frame_plates import holes, placed, ring_holes, spots
from lobewright.make.hub import METAL, across_flats_mm
from lobewright.make.keeping import keeper, plain
from lobewright.make.layout import Layout
from lobewright.make.order import Side, Step
from lobewright.make.outlines import circle, hull_of_circles, polygon
from lobewright.make.parts_flexible import BOSS_BOLTS, boss_height_mm
from lobewright.make.parts_rings import dowel_pocket_mm
from lobewright.make.placing import Member, Place, Placed
from lobewright.make.registering import (
    PLATE_FLOOR_MM,
    Spots,
    dowel_length_mm,
    dowel_part,
    dowel_passes,
    dowel_pockets,
    length_between_mm,
    pockets,
    ring_dowels,
)
from lobewright.make.standards import NUT_PLAY_MM, nut_trap, screw_length_mm, trap_depth_mm

HUB_SCREWS = 6
COLLAR_PLAY_MM = 0.2
ARM_GRIP_MM = 4.5
"""Material between the flange's face and its nuts: an arm 6 mm thick is held by screws of 16 mm."""
RECESS_WALL_MM = 3.0
READ_OPEN_MM = 0.5
"""The distance ring opens wider than the read ring's tooth roots by this."""
SPIGOT_MM, PRINTED_PLAY_MM = 2.0, 0.1
"""Of the plate in a cup's bore: how far it reaches in, and its play across where it is printed; cut ones have a fit."""
SOCKET_PLAY_MM, CUT_SOCKET_PLAY_MM, CUT_SOCKET_LIMIT_MM = 0.1, 0.03, 0.03
"""Between hub and flange, on each flat: printed, cut, and how much either may depart from its size when cut."""
UNDER_SPIGOT_MM = 0.2
"""A recess is deeper than its spigot by this."""
CORNER_MM = 3.0
HUB_DOWEL_MM, ONE_SETTING_MM = 3.0, 0.01
"""Dowels between hub and plate, and how true what is turned in one setting runs (common practice)."""


def _made(a: Assessment, name: str, words: str, body: Body, note: str, drawn: bool = False) -> Part:
    return Part(name, words, 1, body, made_of(a.design), note, drawn=drawn, group=Group.OUTPUT)


def socket_play_mm(design: m.Design) -> float:
    """Play on each flat between the hub's hexagon and the flange's socket: where both are printed as much as the printer's own
    flanks need."""
    if isinstance(design.process, m.Machined):
        return CUT_SOCKET_PLAY_MM
    return max(SOCKET_PLAY_MM, design.process.least_clearance_mm)


def hexagon_words(a: Assessment, l: Layout, inside: bool) -> str:  # noqa: E741
    """Size of the hub's hexagon or of its socket with their limits where they are cut, and the play between them."""
    flats, play = across_flats_mm(l.output_bearing), socket_play_mm(a.design)
    if not isinstance(a.design.process, m.Machined):
        return f"{play:g} mm of play on each flat of its hexagon" if inside else ""
    limit = CUT_SOCKET_LIMIT_MM
    if not inside:
        return f"hexagon a/f {flats:.2f} (0 / −{limit:g})"
    most = play + limit
    return (
        f"socket a/f {flats + 2 * play:.2f} (+{limit:g} / 0): {play:g} to {most:g} mm of play on each flat of the hub"
    )


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


def _clamp_nut(l: Layout, spigot_mm: float = 0.0) -> Slab:  # noqa: E741
    """Pocket for the clamping screw's nut under the hub, through its spigot."""
    bolt = catalogue.bolt(l.clamp_bolt)
    hole = exact(circle(bolt.hole_medium_mm / 2), Feature.BOLT_HOLE)
    trap = exact(hexagon(bolt.nut_across_flats_mm + NUT_PLAY_MM), Feature.NUT)
    return Slab(trap, (hole,), 0.0, spigot_mm + trap_depth_mm(bolt))


def _note(a: Assessment, l: Layout) -> str:  # noqa: E741
    printed = ("prints with the hub up, a short bridge over the nut's pocket",) if made_of(a.design) else ()
    hexagon = tuple(one for one in (hexagon_words(a, l, False),) if one)
    return "; ".join((f"an {l.clamp_bolt} nut lies in its pocket", *hexagon, *printed, *l.cautions))


def _clamp_nut_placed(l: Layout) -> Placed:  # noqa: E741
    """The nut of the screw through the hub: what lies under it closes over it."""
    part = replace(
        nut_part(catalogue.bolt(l.clamp_bolt), 1, "clamp_nut", "nut under the hub"),
        note="goes in before the hub's underside is covered: draw it in with its screw, or hold it with a strip of tape",
        sunk=True,
    )
    place = Place(z_mm=l.output_front_mm - lay.FLOOR_MM + NUT_PLAY_MM)
    return placed(part, (place,), Member.OUTPUT, Step.OUTPUT, Side.REAR)


def _distance_ring(a: Assessment, l: Layout, outer: Loop, bored: tuple[Loop, ...]) -> Part:  # noqa: E741
    """Between read ring and output plate, with ears that keep the flexible ring from wandering out."""
    ring = l.front_ring
    assert ring is not None
    open_mm, high = lay.root_radius_mm(a, ring) + READ_OPEN_MM, l.output_distance_mm
    held, _ = keeper(a, l, True, open_mm)
    through = (*bored, *dowel_passes(ring, ring_dowels(a, ring)))
    note = f"{high:.1f} mm thick, between front ring and output plate"
    slabs: tuple[Slab, ...]
    if held is None:
        slabs = (Slab(outer, (plain(open_mm), *through), 0.0, high),)
    else:
        rows = ((plain(open_mm), 0.0, held.back_mm), (held.opening, held.back_mm, high))
        slabs = tuple(Slab(outer, (opening, *through), low, top) for opening, low, top in rows if top - low > 1e-9)
        note += f"; its ears keep the flexible ring in, {held.play_mm:.1f} mm beside its edge"
        if len(slabs) > 1:
            note += ": they lie on the side of the output plate"
    part = _made(a, "output_distance", "distance ring of the output", Body(slabs), note, drawn=True)
    return replace(part, turned_over=len(slabs) > 1)


def _read_dowels(a: Assessment, l: Layout) -> tuple[Placed, ...]:  # noqa: E741
    """Dowels that centre the read ring on the output plate; none where the rim has no room."""
    ring = l.front_ring
    assert ring is not None
    at = ring_dowels(a, ring)
    if not at:
        return ()
    length = dowel_length_mm(ring, l.output_distance_mm)
    part = dowel_part(a.design, ring.dowel_mm, length, "read_ring_dowel", "dowel between read ring and output plate")
    places = tuple(Place(x, y, l.output_z_mm - dowel_pocket_mm(ring)) for x, y in at)
    return (placed(part, places, Member.OUTPUT, Step.OUTPUT, Side.FRONT),)


def _on_ring(a: Assessment, l: Layout) -> tuple[Placed, ...]:  # noqa: E741
    ring = l.front_ring
    assert ring is not None
    outer, bolt = exact(circle(lay.root_radius_mm(a, ring) + ring.rim_mm)), catalogue.bolt(ring.bolt)
    bored, dowels = ring_holes(a, ring), _read_dowels(a, l)
    centre = exact(circle(catalogue.bolt(l.clamp_bolt).hole_medium_mm / 2), Feature.BOLT_HOLE)
    plate = Slab(outer, (*bored, centre), 0.0, lay.FLOOR_MM)
    blind = dowel_pockets(ring, ring_dowels(a, ring), 0.0, lay.FLOOR_MM - PLATE_FLOOR_MM) if dowels else ()
    body = Body((plate, *hub_slabs(l, lay.FLOOR_MM)), (_clamp_nut(l), *blind))
    centred = (
        "two dowels centre the read ring on it" if dowels else "NOTHING centres the read ring on it but its screws"
    )
    note = f"{_note(a, l)}; {centred}"
    part = replace(
        _made(a, "output_plate", "output plate with hub", body, note), material=l.hub_material, advised_material=METAL
    )
    found = [*dowels]
    if l.output_distance_mm > 0:
        spacer = _distance_ring(a, l, outer, bored)
        found.append(placed(spacer, (Place(z_mm=l.output_z_mm),), Member.OUTPUT, Step.OUTPUT, Side.FRONT))
    found.append(_clamp_nut_placed(l))
    at_plate = Place(z_mm=l.output_z_mm + l.output_distance_mm)
    found.append(placed(part, (at_plate,), Member.OUTPUT, Step.OUTPUT, Side.FRONT))
    low = l.output_z_mm - ring.width_mm
    at = spots(bored)
    heads = tuple(Place(x, y, l.output_front_mm + bolt.head_height_mm, over=True) for x, y in at)
    nuts = tuple(Place(x, y, low + NUT_PLAY_MM, turn_rad=math.atan2(y, x) + math.pi / 2) for x, y in at)
    screw = _flush(bolt, l.output_front_mm - low, "read_ring_screw", "screw of the read ring", "the ring")
    nut = replace(nut_part(bolt, 1, "read_ring_nut", "nut of the read ring"), sunk=True)
    return (
        *found,
        placed(nut, nuts, Member.OUTPUT, Step.OUTPUT, Side.REAR),
        placed(screw, heads, Member.OUTPUT, Step.OUTPUT, Side.FRONT),
    )


def _flush(bolt: catalogue.Bolt, room_mm: float, name: str, words: str, where: str) -> Part:
    """A screw whose end lies within what it clamps; the layout makes room for a usual length."""
    length = float(int(room_mm + 1e-6))
    note = f"no longer than {length:g} mm, cut it where none is sold: its end must not stand out of {where}"
    return replace(screw_part(bolt, length, 1, name, words), note=note, no_longer=True)


def _hub_circle_mm(cup: m.Cup) -> float:
    """Radius of the screws between plate and hub: their nuts lie outside the cup's boss."""
    return cup.boss_diameter_mm / 2 + catalogue.bolt(lay.HUB_FLANGE_BOLT).nut_across_corners_mm / 2 + 1.0


def _boss_holes(cup: m.Cup, size: str) -> tuple[Loop, ...]:
    return holes((cup.boss_diameter_mm + cup.bore_mm) / 4, size, BOSS_BOLTS, 0.0)


def spigot_mm(cup: m.Cup) -> float:
    """How far the plate's spigot reaches into the cup's bore."""
    return min(SPIGOT_MM, boss_height_mm(cup) / 2)


@dataclass(frozen=True)
class Centring:
    """What centres the hub on the plate of a cup: a spigot of the hub with this diameter, 0 where dowels do, and where these
    stand, how deep in the plate and in the hub."""

    spigot_mm: float
    dowels: Spots
    in_plate_mm: float
    in_hub_mm: float

    @property
    def low_mm(self) -> float:
        """How far the spigot reaches into the plate."""
        return SPIGOT_MM if self.spigot_mm else 0.0


def centring(a: Assessment, l: Layout, cup: m.Cup) -> Centring:  # noqa: E741
    """A turned spigot where parts are cut and the heads of the boss's screws leave it room, else two dowels.

    Both faces lie on the bed where they are printed, so that neither could have a spigot.
    """
    bolt, clamp = lay.boss_bolt(a.design), catalogue.bolt(l.clamp_bolt)
    heads = (cup.boss_diameter_mm + cup.bore_mm) / 4 - bolt.head_diameter_mm / 2 - NUT_PLAY_MM
    most = 2.0 * math.floor(heads - LEAST_WALL_MM)
    least = 2 * ((clamp.nut_across_flats_mm + NUT_PLAY_MM) / math.sqrt(3) + LEAST_WALL_MM)
    if isinstance(a.design.process, m.Machined) and most >= least:
        return Centring(most, (), 0.0, 0.0)
    radius = _hub_circle_mm(cup)
    plate = lay.cup_plate_mm(a.design) - lay.PAD_MM - PLATE_FLOOR_MM
    return Centring(0.0, ((radius, 0.0), (-radius, 0.0)), plate, lay.FLOOR_MM - PLATE_FLOOR_MM)


def _hub_dowels(a: Assessment, l: Layout, held: Centring) -> tuple[Placed, ...]:  # noqa: E741
    if not held.dowels:
        return ()
    length = length_between_mm(held.in_plate_mm, held.in_hub_mm, 0.0)
    part = dowel_part(a.design, HUB_DOWEL_MM, length, "hub_dowel", "dowel between output plate and hub")
    z = l.output_front_mm - lay.FLOOR_MM - held.in_plate_mm
    return (placed(part, tuple(Place(x, y, z) for x, y in held.dowels), Member.OUTPUT, Step.OUTPUT, Side.FRONT),)


def _cup_plate(
    a: Assessment, cup: m.Cup, bosses: tuple[Loop, ...], screws: tuple[Loop, ...], rim: Loop, held: Centring
) -> Part:
    """The plate on a cup's boss, from its spigot's end: spigot, pad, and a disc with heads sunk in it."""
    cut = isinstance(a.design.process, m.Machined)
    bolt, small = lay.boss_bolt(a.design), catalogue.bolt(lay.HUB_FLANGE_BOLT)
    low = spigot_mm(cup)
    floor, thick = low + lay.PAD_MM, low + lay.cup_plate_mm(a.design)
    seat = thick - lay.sunk_head_mm(bolt)
    heads = tuple(exact(circle(bolt.head_diameter_mm / 2 + NUT_PLAY_MM, *spot)) for spot in spots(bosses))
    traps = tuple(
        Slab(nut_trap(small, *spot), (one,), floor, floor + trap_depth_mm(small))
        for spot, one in zip(spots(screws), screws, strict=True)
    )
    across = cup.bore_mm if cut else cup.bore_mm - PRINTED_PLAY_MM
    spigot = exact(circle(across / 2), Feature.SEAT if cut else Feature.CONTOUR)
    upper: tuple[Slab, ...]
    if held.spigot_mm:
        top = thick - held.low_mm - UNDER_SPIGOT_MM
        recess = exact(circle(held.spigot_mm / 2), Feature.SEAT)
        upper = (Slab(rim, (*heads, *screws), seat, top), Slab(rim, (*heads, *screws, recess), top, thick))
    else:
        upper = (Slab(rim, (*heads, *screws), seat, thick),)
    pieces = (
        Slab(spigot, (), 0.0, low),
        Slab(exact(circle(cup.boss_diameter_mm / 2)), bosses, low, floor),
        Slab(rim, (*bosses, *screws), floor, seat),
        *upper,
    )
    away = pockets(HUB_DOWEL_MM, held.dowels, thick - held.in_plate_mm, thick)
    note = (
        "the pad lies on the cup's boss and keeps off the diaphragm, which bends; its spigot "
        f"ø{across:g}{' h6' if cut else ''} mm centres the cup; the hub's nuts go into their pockets before it lies on the "
        "cup, the boss's screws before the hub covers them"
    )
    if held.spigot_mm:
        note += f"; bore the recess ø{held.spigot_mm:g} H7 and turn the spigot on one axis within {ONE_SETTING_MM:g} mm"
    note = f"{note}; prints with the pad up, short bridges" if made_of(a.design) else note
    return replace(_made(a, "output_plate", "output plate", Body(pieces, (*traps, *away)), note), turned_over=True)


def _on_cup(a: Assessment, l: Layout) -> tuple[Placed, ...]:  # noqa: E741
    """A plate on the boss, its screws' heads sunk, and the hub on the plate; rows in the order of work."""
    cup = a.design.flexible_ring
    assert isinstance(cup, m.Cup)
    bolt, small = lay.boss_bolt(a.design), catalogue.bolt(lay.HUB_FLANGE_BOLT)
    thick, radius, z = lay.cup_plate_mm(a.design), _hub_circle_mm(cup), l.output_z_mm
    rim = exact(circle(radius + small.head_diameter_mm / 2 + LEAST_WALL_MM))
    bosses, screws = _boss_holes(cup, bolt.size), holes(radius, small.size, HUB_SCREWS, math.pi / HUB_SCREWS)
    held = centring(a, l, cup)
    plate, low = _cup_plate(a, cup, bosses, screws, rim, held), held.low_mm
    centre = exact(circle(catalogue.bolt(l.clamp_bolt).hole_medium_mm / 2), Feature.BOLT_HOLE)
    hub_body = Body(
        (
            *((Slab(exact(circle(held.spigot_mm / 2), Feature.SEAT), (centre,), 0.0, low),) if low else ()),
            Slab(rim, (*screws, centre), low, low + lay.FLOOR_MM),
            *hub_slabs(l, low + lay.FLOOR_MM),
        ),
        (_clamp_nut(l, low), *pockets(HUB_DOWEL_MM, held.dowels, 0.0, held.in_hub_mm)),
    )
    by = (
        f"its spigot ø{held.spigot_mm:g} h6 centres it in the plate: turn spigot and journal in one setting, true within "
        f"{ONE_SETTING_MM:g} mm"
        if low
        else "two dowels centre it on the plate"
    )
    note = f"{_note(a, l)}; {by}; turn the cup before you draw the screws: the hub's end runs true"
    hub = replace(
        _made(a, "output_hub", "hub of the output", hub_body, note), material=l.hub_material, advised_material=METAL
    )
    seat_z, inside = thick - lay.sunk_head_mm(bolt), z - boss_height_mm(cup)
    length = screw_length_mm(bolt, boss_height_mm(cup) + seat_z)
    boss_screw = replace(screw_part(bolt, length, 1, "boss_screw", "screw of the cup's boss"), sunk=True)
    hub_nut = replace(
        nut_part(small, 1, "hub_nut", "nut of the hub's screw"),
        note="draw it into its pocket before the plate lies on the cup: behind it there is no room afterwards",
        sunk=True,
    )
    hub_screw = _flush(small, thick + lay.FLOOR_MM - lay.PAD_MM, "hub_screw", "screw of the hub", "the plate")
    at_hub = spots(screws)
    nut_z, head_z = z + lay.PAD_MM + NUT_PLAY_MM, l.output_front_mm + small.head_height_mm
    hub_nuts = tuple(Place(x, y, nut_z, turn_rad=math.atan2(y, x) + math.pi / 2) for x, y in at_hub)
    boss_heads = tuple(Place(x, y, z + seat_z + bolt.head_height_mm, over=True) for x, y in spots(bosses))
    boss_nuts = tuple(Place(x, y, inside, over=True) for x, y in spots(bosses))
    rows = (
        (hub_nut, hub_nuts, Side.REAR),
        (plate, (Place(z_mm=z - spigot_mm(cup)),), Side.FRONT),
        (boss_screw, boss_heads, Side.FRONT),
        (nut_part(bolt, 1, "boss_nut", "nut inside the cup"), boss_nuts, Side.REAR),
        (hub, (Place(z_mm=z + thick - low),), Side.FRONT),
        (hub_screw, tuple(Place(x, y, head_z, over=True) for x, y in at_hub), Side.FRONT),
    )
    found = [placed(part, places, Member.OUTPUT, Step.OUTPUT, side) for part, places, side in rows]
    return (*found[:4], _clamp_nut_placed(l), *_hub_dowels(a, l, held), *found[4:])


def mark_body(thick_mm: float) -> Body:
    """A plate with a plain square in its middle and a screw hole in either ear."""
    x, y = lay.MARK_MM / 2 + lay.MARK_EAR_MM, lay.MARK_MM / 2
    hole = catalogue.bolt("M3").hole_medium_mm / 2
    at = lay.MARK_MM / 2 + lay.MARK_EAR_MM / 2
    bored = tuple(exact(circle(hole, side * at, 0.0), Feature.BOLT_HOLE) for side in (1.0, -1.0))
    return Body((Slab(exact(polygon([(-x, -y), (x, -y), (x, y), (-x, y)])), bored, 0.0, thick_mm),))


def _flange_body(l: Layout, play_mm: float) -> Body:  # noqa: E741
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
    socket = exact(hexagon(across_flats_mm(bearing) + 2 * play_mm))
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
        f"centring are our own; nuts go in from behind; {hexagon_words(a, l, True)}"
    )
    flange = _made(a, "output_flange", "output flange", _flange_body(l, socket_play_mm(a.design)), note)
    collar_z = l.front_boss_mm - lay.cap_mm()
    collar = tube(2 * lay.inner_land_mm(bearing), bearing.bore_mm + COLLAR_PLAY_MM, l.flange_rear_mm - collar_z)
    disc = tube(bearing.bore_mm + 2 * RECESS_WALL_MM - 2 * COLLAR_PLAY_MM, clamp.hole_medium_mm, lay.CLAMP_MM)
    disc_z = l.flange_rear_mm + lay.HEX_MM + lay.HEX_PLAY_MM
    rows = (
        (_made(a, "output_collar", "collar before the output's bearings", Body(collar.pieces), ""), collar_z),
        (flange, l.flange_rear_mm),
        (_made(a, "clamp_disc", "disc that clamps the flange", Body(disc.pieces), ""), disc_z),
    )
    head_z = disc_z + lay.CLAMP_MM
    screw = _flush(clamp, head_z - l.output_front_mm + lay.FLOOR_MM - 2 * NUT_PLAY_MM, "clamp_screw", "screw through the hub",
                   "its nut")  # fmt: skip
    nut = catalogue.bolt(l.flange.bolt)
    at = spots(holes(l.flange.circle_mm / 2, nut.size, l.flange.bolts, math.pi / l.flange.bolts))
    top = l.flange_front_mm - ARM_GRIP_MM - nut.nut_height_mm
    nuts = tuple(Place(x, y, top, turn_rad=math.atan2(y, x) + math.pi / 2) for x, y in at)
    in_flange = replace(
        nut_part(nut, 1, "flange_nut", "nut in the flange"),
        note="draw each into its pocket with a screw and a washer before the flange goes on, else it falls out behind",
        sunk=True,
    )
    found = [placed(part, (Place(z_mm=z),), Member.OUTPUT, Step.FLANGE, Side.FRONT) for part, z in rows]
    head = Place(z_mm=head_z + clamp.head_height_mm, over=True)
    return (
        placed(in_flange, nuts, Member.OUTPUT, Step.FLANGE, Side.REAR),
        *found,
        placed(replace(screw, sunk=True), (head,), Member.OUTPUT, Step.FLANGE, Side.FRONT),
    )


def _marks(a: Assessment, l: Layout) -> tuple[Placed, ...]:  # noqa: E741
    """Both plates for marks, their faces level, and the post under the held one; the drive runs without them."""
    bolt, thick = catalogue.bolt("M3"), lay.MARK_THICK_MM
    low = l.mark_z_mm - thick
    at = lay.MARK_MM / 2 + lay.MARK_EAR_MM / 2
    note = f"plain {lay.MARK_MM:g} mm square for marks; both plates' faces are level"
    post = Part("mark_post", "post of the held plate for marks", 1, mark_body(low - l.front_top_mm), made_of(a.design))
    rows: list[tuple[Part, tuple[Place, ...], Member, Side]] = [
        (post, (Place(0.0, l.mark_held_mm, l.front_top_mm),), Member.HELD, Side.FRONT)
    ]
    for name, y, bottom, member in (
        ("output", l.mark_output_mm, l.flange_rear_mm, Member.OUTPUT),
        ("held", l.mark_held_mm, l.front_z_mm, Member.HELD),
    ):
        words = f"plate for marks, {name}"
        part = Part(f"mark_plate_{name}", words, 1, mark_body(thick), made_of(a.design), note, drawn=True)
        part = replace(part, group=Group.OUTPUT if member is Member.OUTPUT else Group.FRAME)
        length = screw_length_mm(bolt, l.mark_z_mm - bottom)
        screw = screw_part(bolt, length, 1, f"mark_screw_{name}", "screw of a plate for marks")
        nut = nut_part(bolt, 1, f"mark_nut_{name}", "nut of a plate for marks")
        heads = tuple(Place(side * at, y, l.mark_z_mm + bolt.head_height_mm, over=True) for side in (1.0, -1.0))
        nuts = tuple(Place(side * at, y, bottom, over=True) for side in (1.0, -1.0))
        rows += [
            (part, (Place(0.0, y, low),), member, Side.FRONT),
            (screw, heads, member, Side.FRONT),
            (nut, nuts, member, Side.REAR),
        ]
    return tuple(
        placed(replace(part, may_skip=True), places, member, Step.FLANGE, side) for part, places, member, side in rows
    )


def output_parts(a: Assessment, l: Layout) -> tuple[Placed, ...]:  # noqa: E741
    """Everything that turns with the output but the ring or cup itself, and both plates for marks."""
    on = _on_ring(a, l) if l.front_ring else _on_cup(a, l)
    return (*on, *_flange(a, l), *_marks(a, l))
