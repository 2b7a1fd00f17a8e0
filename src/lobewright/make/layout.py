"""Where everything sits along the axis, and how large the frame is: computed before any CAD starts.

Two square plates that stand on their lower edges are joined by four threaded rods. The rear plate carries the input axle on a
pair of bearings, and through a distance plate the held rigid ring. What is read, the front rigid ring or a cup's boss, is
screwed to an output plate whose hub runs in a pair of bearings in the front plate. Everything is a flat plate with straight
bosses, so that it prints without support and can be cut. Common practice for a home workshop, no source. What is where and
why: docs/theory/assembly.md.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from lobewright.assessment.results import Assessment
from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.design.holding import (
    GAP_MM,
    LEAST_WALL_MM,
    PLATE_MM,
    SHAFT_MM,
    SHOULDER_MM,
    axle,
    bearings_on_an_axle,
    clearance_hole_mm,
    face_mm,
    least_wall_mm,
    no_bolt_holes,
)
from lobewright.errors import CatalogueFault, DesignFault, Fault
from lobewright.make.arranging import Arrangement, arrangement, ring_named, sunk_nut_fault
from lobewright.make.hub import clamp_size, hub_choice
from lobewright.make.parts_flexible import BOSS_BOLTS, boss_height_mm
from lobewright.make.standards import (
    FLANGES,
    NUT_PLAY_MM,
    WASHERS_MM,
    Flange,
    more_for_usual_mm,
    nut_reach_mm,
)

AXLE_SIZE = "M8"
TIE_SIZE = "M5"
TIE_TUBE_MM = 12.0
"""Outside of the tubes on the tie rods that keep the front plate at its distance."""
USUAL_INPUT_BEARING, USUAL_OUTPUT_BEARING = "608", "6001"
FLOOR_MM = 6.0
"""Thickness of the plates."""
LIP_MM = 2.0
"""Of a bearing seat: what the bearing rests on."""
ROOM_MM = 2.0
"""Between what turns and what stands."""
INPUT_SPACER_MM = 10.0
"""Between the two bearings of the axle."""
CAP_BOLT, HUB_FLANGE_BOLT = "M4", "M3"
CAP_FLOOR_MM = 2.0
"""Of the cap that keeps the bearings in, under its screws' heads."""
SEAT_WALL_MM = 2.5
"""Between a bearing seat and the screws of its cap; ribs in a seat take 0.1 mm of it."""
COLLAR_OUT_MM = 0.5
"""A collar on an inner ring stands out of its opening by this, so that nuts turn free."""
INPUT_STUB_MM = 25.0
"""Of the axle behind its lock nut, for what turns it."""
PAD_MM = 1.5
"""The output plate of a cup keeps this far from the diaphragm, which bends."""
HEX_MM, HEX_PLAY_MM, CLAMP_MM = 8.0, 0.5, 4.0
"""Length of the hub's hexagon, what the flange's is deeper, and the disc that clamps the flange."""
MARK_MM, MARK_EAR_MM, MARK_THICK_MM, MARK_UNDER_MM = 30.0, 7.0, 3.0, 5.0
"""Plates for marks: side of the plain square, ears for screws on either side, thickness, and how far their faces lie under
the flange's, so that an arm on it passes the screws."""
UNDER_HEAD_MM = 2.0
"""Left under the sunk heads on a cup's boss, at least, the pad not counted."""
OPEN_MM = 1.0
"""The distance plate opens wider than the held ring's tooth roots by this."""
SHEET_MM = 2.0
"""Clear sheet over the windows."""
FLANGE_RIM_MM = 7.0
"""From the flange's bolt circle to its rim: half an M6 nut and a wall."""
LAND_SHARE = 0.09
"""Of outside less bore diameter: how far a shoulder may stand against a bearing's inner or outer ring. More of it would rub on
the seals."""
PRESS_MM = 0.15
"""A bearing seat is shallower than what lies in it, so that the cap presses on the outer ring."""
FINGER_MM = 25.0
"""Between the turning tongue and the held plate for marks: a finger is not caught (ISO 13854, remembered)."""
LEAST_BOLTS = 3
TEST_ARM_MM = 6.0
"""Thickness of the arm on the flange."""
ADJUSTABLE_PLATE_MM = 8.0
"""Of a carrier with set screws: an M3 nut on edge and a millimetre on either side of it."""


@dataclass(frozen=True)
class Layout:
    """Planes along z and sizes of the frame, mm; see the module for the arrangement and `placing` for coordinates.

    ``rear_ring`` lies on z = 0; ``flexible_open_z_mm`` is the open edge of row 1 of the flexible ring and ``flexible_over``
    tells that the ring points to the rear (its second row is held). ``distance_mm``: from the rear plate to the held ring, a
    clear sheet of ``sheet_mm`` included (0: none); the distance plate's opening has the radius ``open_radius_mm``. The rear
    plate reaches from ``rear_back_mm`` to −``distance_mm``, its boss with the bearings' cap back to ``boss_back_mm``; the axle
    reaches from ``axle_rear_mm`` to ``axle_front_mm``.

    ``output_z_mm`` is the face of the front ring or of the cup's boss; the output plate begins ``output_distance_mm`` later, and
    ``output_front_mm`` is the face from which the hub stands. ``front_z_mm`` and ``front_top_mm``: the front plate; its boss
    with the cap ends at ``front_boss_mm``. ``output_lip_mm``: under the output bearings. ``flange`` reaches from
    ``flange_rear_mm`` to ``flange_front_mm``; the faces for marks lie at ``mark_z_mm``, ``mark_output_mm`` and ``mark_held_mm``
    above the axis. ``hub_material``: a catalogue name, empty where it is free; ``cautions``: what to know before making.
    ``half_side_mm``: of the square plates; ``ties_mm``: where the rods stand, (x, y). ``sunk_nuts``: of the rigid rings.
    """

    arrangement: Arrangement
    rear_ring: m.RigidRing
    front_ring: m.RigidRing | None
    flexible_open_z_mm: float
    flexible_over: bool
    generator_bottom_mm: float
    generator_top_mm: float
    open_radius_mm: float
    distance_mm: float
    sheet_mm: float
    rear_back_mm: float
    boss_back_mm: float
    axle_rear_mm: float
    axle_front_mm: float
    input_bearing: catalogue.Bearing
    output_bearing: catalogue.Bearing
    output_bearings: int
    output_spacing_mm: float
    output_lip_mm: float
    output_z_mm: float
    output_distance_mm: float
    output_front_mm: float
    front_z_mm: float
    front_top_mm: float
    front_boss_mm: float
    flange: Flange
    flange_rear_mm: float
    flange_front_mm: float
    mark_output_mm: float
    mark_held_mm: float
    half_side_mm: float
    corner_mm: float
    ties_mm: tuple[tuple[float, float], ...]
    clamp_bolt: str
    hub_material: str
    cautions: tuple[str, ...]

    @property
    def held_z_mm(self) -> tuple[float, float]:
        """The held rigid ring, from and to."""
        return 0.0, self.rear_ring.width_mm

    @property
    def mark_z_mm(self) -> float:
        """Faces of both plates for marks."""
        return self.flange_front_mm - MARK_UNDER_MM

    @property
    def flange_radius_mm(self) -> float:
        return self.flange.circle_mm / 2 + FLANGE_RIM_MM

    @property
    def rear_boss_mm(self) -> float:
        """Length of the rear plate with its boss, from its face: lip, two bearings, what is between them."""
        return LIP_MM + 2 * self.input_bearing.width_mm + INPUT_SPACER_MM

    @property
    def sunk_nuts(self) -> bool:
        """Nuts of both rigid rings lie in pockets, since the other ring stands close."""
        return self.front_ring is not None


def carrier_plate_mm(design: m.Design) -> float:
    """Thickness of a roller carrier: set screws and their nuts need more of it."""
    return ADJUSTABLE_PLATE_MM if design.assembly.adjustable else PLATE_MM


def generator_height_mm(design: m.Design) -> float:
    """Height of the generator along the axis, without nuts and screw heads; of discs, those on an eccentric."""
    generator = design.generator
    if isinstance(generator, m.Cam):
        return face_mm(design)
    bearing = catalogue.bearing(generator.bearing)
    if isinstance(generator, m.Discs):
        between = max(bearing.width_mm + GAP_MM, (face_mm(design) - SHOULDER_MM) / 2)
        return 2 * between + SHOULDER_MM
    return 2 * (carrier_plate_mm(design) + SHOULDER_MM) + bearings_on_an_axle(design, bearing) * bearing.width_mm


def input_bearing(design: m.Design) -> catalogue.Bearing:
    """The axle's bearing: as named, else one of the drawer with the axle's bore, else the usual one.

    Raises CatalogueFault for a name that the catalogue does not hold.
    """
    if named := design.assembly.input_bearing:
        try:
            return catalogue.bearing(named)
        except CatalogueFault as fault:
            raise CatalogueFault([replace(one, place="assembly.input_bearing") for one in fault.faults]) from None
    owned = design.owned.bearings if design.owned else ()
    fits = [catalogue.bearing(one.designation) for one in owned if one.count >= 2]
    return next((one for one in fits if one.bore_mm == SHAFT_MM), catalogue.bearing(USUAL_INPUT_BEARING))


def inner_land_mm(bearing: catalogue.Bearing) -> float:
    """Radius up to which a shoulder touches the inner ring only."""
    return bearing.bore_mm / 2 + LAND_SHARE * (bearing.outer_mm - bearing.bore_mm)


def outer_land_mm(bearing: catalogue.Bearing) -> float:
    """Radius from which a shoulder touches the outer ring only."""
    return bearing.outer_mm / 2 - LAND_SHARE * (bearing.outer_mm - bearing.bore_mm)


def cap_circle_mm(bearing: catalogue.Bearing) -> float:
    """Radius on which the screws of a bearing cap stand."""
    return bearing.outer_mm / 2 + SEAT_WALL_MM + clearance_hole_mm(CAP_BOLT) / 2


def boss_radius_mm(bearing: catalogue.Bearing) -> float:
    """Outside of a boss and of its cap."""
    return cap_circle_mm(bearing) + catalogue.bolt(CAP_BOLT).head_diameter_mm / 2 + LEAST_WALL_MM


def cap_mm() -> float:
    """Thickness of a bearing cap: its screws' heads are flush."""
    return catalogue.bolt(CAP_BOLT).head_height_mm + CAP_FLOOR_MM


def cap_reach_mm(boss_mm: float) -> float:
    """How far the nuts and ends of a cap's screws stand out behind a plate with a boss of this length."""
    return nut_reach_mm(catalogue.bolt(CAP_BOLT), boss_mm + CAP_FLOOR_MM)


def flange_mm(clamp: catalogue.Bolt) -> float:
    """Thickness of the output flange: hexagon, clamping disc, the head of its screw."""
    return HEX_MM + HEX_PLAY_MM + CLAMP_MM + clamp.head_height_mm + HEX_PLAY_MM


def clamped_mm() -> float:
    """What the hub's screw reaches through besides the way from the output plate's front to the flange: to its nut's far face."""
    return HEX_MM + HEX_PLAY_MM + CLAMP_MM + FLOOR_MM - 2 * NUT_PLAY_MM


def root_radius_mm(a: Assessment, ring: m.RigidRing) -> float:
    """Of a rigid ring's tooth spaces."""
    pairs = zip(a.design.rigid_ring, a.rings, strict=True)
    return next(float(mesh.space.root_radius_mm) for one, mesh in pairs if one.name == ring.name)


def open_radius_mm(a: Assessment, ring: m.RigidRing) -> float:
    """Of the opening in what a rigid ring lies on."""
    return root_radius_mm(a, ring) + OPEN_MM


def generator_reach_mm(design: m.Design) -> float:
    """How far heads, nuts and ends of the generator's axle screws stand out of it on either side; 0 where it has none."""
    generator = design.generator
    if isinstance(generator, m.Cam | m.Discs):
        return 0.0
    bolt = axle(catalogue.bearing(generator.bearing)).bolt
    return max(bolt.head_height_mm, nut_reach_mm(bolt, generator_height_mm(design)))


def _refused(what: str, place: str, value: str, allowed: str) -> DesignFault:
    return DesignFault([Fault(what, place, value=value, allowed=allowed)])


def _outermost_mm(a: Assessment) -> float:
    """Outside radius of the larger of the rigid rings that are held or read."""
    motion = a.design.motion
    rings = zip(a.design.rigid_ring, a.rings, strict=True)
    return float(
        max(mesh.space.root_radius_mm + ring.rim_mm for ring, mesh in rings if ring.name in (motion.fixed, motion.read))
    )


def _output_bearing(design: m.Design) -> catalogue.Bearing:
    return catalogue.bearing(design.output_bearing.bearing if design.output_bearing else USUAL_OUTPUT_BEARING)


def require_bearings(a: Assessment) -> None:
    """Refuse bearings that no frame round these rings could take, whatever room it had.

    Raises DesignFault for an input bearing of another bore than the axle, or an output bearing whose bore is larger than the
    rings; CatalogueFault for one that the catalogue does not hold. Nothing is asked where no frame is laid out.
    """
    if arrangement(a.design)[0] is None:
        return
    axle_bearing, output, rim_mm = input_bearing(a.design), _output_bearing(a.design), _outermost_mm(a)
    if axle_bearing.bore_mm != SHAFT_MM:
        what = f"bearing {axle_bearing.designation} does not fit the axle"
        value, allowed = f"bore {axle_bearing.bore_mm:g} mm", f"a bore of {SHAFT_MM:g} mm"
        raise _refused(what, "assembly.input_bearing", value, allowed)
    if output.bore_mm >= 2 * rim_mm:
        what = f"the bore of the output bearing {output.designation} is larger than the ring"
        raise _refused(what, "output_bearing.bearing", f"{output.bore_mm:g} mm", f"less than {2 * rim_mm:.1f} mm")


def _seat_fits(output: catalogue.Bearing, rim_mm: float) -> None:
    if boss_radius_mm(output) > rim_mm:
        what = f"the seat of the output bearing {output.designation} is larger than the frame"
        value = f"ø{2 * boss_radius_mm(output):.1f} mm"
        raise _refused(what, "output_bearing.bearing", value, f"at most ø{2 * rim_mm:.1f} mm, as the rigid rings")


def _rings_fit(a: Assessment, rings: tuple[m.RigidRing, ...], sunk: bool) -> None:
    """Refuses rings that cannot be bolted."""
    for ring in rings:
        mesh = next(made for one, made in zip(a.design.rigid_ring, a.rings, strict=True) if one.name == ring.name)
        root = mesh.space.root_radius_mm
        reason = sunk_nut_fault(a.design, ring, root) if sunk else no_bolt_holes(a.design, ring, root)
        if reason or ring.bolts < LEAST_BOLTS:
            what = f"rigid ring {ring.name} cannot be bolted into the assembly: {reason or 'too few bolts'}"
            value = f"{ring.bolts} × {ring.bolt}, rim {ring.rim_mm:g} mm, width {ring.width_mm:g} mm"
            raise _refused(what, "rigid_ring", value, f"at least {LEAST_BOLTS} bolts and room for them")


def _generator_fits(a: Assessment) -> None:
    generator = a.design.generator
    if not isinstance(generator, m.Discs):
        return
    bearing = catalogue.bearing(generator.bearing)
    least = 2 * (a.setting.distance_mm + SHAFT_MM / 2 + LEAST_WALL_MM)
    if bearing.bore_mm < least:
        what = "discs on a crank have no axle straight through, and are not laid out"
        raise _refused(what, "generator.bearing", f"bore {bearing.bore_mm:g} mm", f"a bore of at least {least:.1f} mm")


@dataclass(frozen=True)
class _Middle:
    """What stands between rear and front plate."""

    over: bool
    open_z_mm: float
    low_mm: float
    top_mm: float
    flexible_low_mm: float
    axle_front_mm: float


def _middle(design: m.Design, rear: m.RigidRing, front: m.RigidRing | None) -> _Middle:
    over = front is not None and front.offset_mm < rear.offset_mm
    face, high = face_mm(design), generator_height_mm(design)
    # Along the drive's own axis the held ring may be the farther one: then everything is seen from the other side.
    open_z = rear.offset_mm + rear.width_mm if over else 0.0 - rear.offset_mm
    middle = open_z - face / 2 if over else open_z + face / 2
    top = middle + high / 2
    nut = catalogue.bolt(AXLE_SIZE).nut_height_mm
    end = top + WASHERS_MM[AXLE_SIZE][2] + 2 * nut + ROOM_MM
    return _Middle(over, open_z, middle - high / 2, top, open_z - face if over else open_z, end)


def _output_of(
    design: m.Design, rear: m.RigidRing, front: m.RigidRing | None, mid: _Middle
) -> tuple[float, float, float, float]:
    """Face of the front ring or the cup's boss, way to the output plate, the hub's face, and what stands out of it."""
    if front is not None:
        low = rear.offset_mm + rear.width_mm - front.offset_mm - front.width_mm if mid.over else None
        output_z = low + front.width_mm if low is not None else front.offset_mm - rear.offset_mm + front.width_mm
        face = face_mm(design)
        flexible_top = mid.open_z_mm if mid.over else mid.open_z_mm + face
        inside = max(flexible_top, mid.axle_front_mm, mid.top_mm + generator_reach_mm(design)) + ROOM_MM
        distance = max(inside - output_z, 0.0)
        distance += more_for_usual_mm(FLOOR_MM + distance + front.width_mm)
        return output_z, distance, output_z + distance + FLOOR_MM, catalogue.bolt(front.bolt).head_height_mm
    ring = design.flexible_ring
    assert isinstance(ring, m.Cup)
    output_z = mid.open_z_mm + ring.length_mm
    bolt, thick = boss_bolt(design), cup_plate_mm(design)
    grip = boss_height_mm(ring) + thick - sunk_head_mm(bolt)
    free = output_z - boss_height_mm(ring) - nut_reach_mm(bolt, grip) - ROOM_MM
    needs = max(mid.axle_front_mm, mid.top_mm + generator_reach_mm(design))
    if needs > free:
        what = "the cup has no room for the generator, its nuts and the axle's end"
        least = ring.length_mm + needs - free
        raise _refused(what, "flexible_ring.length_mm", f"{ring.length_mm:g} mm", f"at least {least:.1f} mm")
    if (ring.boss_diameter_mm - ring.bore_mm) / 2 < bolt.hole_medium_mm + 2 * LEAST_WALL_MM:
        what = f"the cup's boss has no room for {BOSS_BOLTS} bolts {bolt.size}"
        value = f"ø{ring.boss_diameter_mm:g} mm with a bore of {ring.bore_mm:g} mm"
        least = ring.bore_mm + 2 * (bolt.hole_medium_mm + 2 * LEAST_WALL_MM)
        raise _refused(what, "flexible_ring.boss_diameter_mm", value, f"at least ø{least:.1f} mm")
    head = catalogue.bolt(HUB_FLANGE_BOLT).head_height_mm
    return output_z, 0.0, output_z + thick + FLOOR_MM, head


def boss_bolt(design: m.Design) -> catalogue.Bolt:
    """Of a cup's boss, as `parts_flexible` drills it."""
    return catalogue.bolt(design.rigid_ring[0].bolt if design.rigid_ring[0].bolts else "M3")


def sunk_head_mm(bolt: catalogue.Bolt) -> float:
    """Depth at which a screw's head is flush."""
    return bolt.head_height_mm + NUT_PLAY_MM


def cup_plate_mm(design: m.Design) -> float:
    """Thickness of the plate on a cup's boss, its pad included: sunk heads, and what makes the hub's screws a usual length."""
    least = sunk_head_mm(boss_bolt(design)) + UNDER_HEAD_MM + FLOOR_MM
    return PAD_MM + least + more_for_usual_mm(least) - FLOOR_MM


def _flange_of(bearing: catalogue.Bearing) -> Flange:
    """The smallest flange whose nuts clear the hub."""
    for one in FLANGES:
        nut = catalogue.bolt(one.bolt).nut_across_flats_mm / 2 + NUT_PLAY_MM
        if one.circle_mm / 2 - nut - LEAST_WALL_MM >= bearing.bore_mm / 2:
            return one
    what = f"no flange of ours goes on a hub for bearing {bearing.designation}"
    raise _refused(what, "output_bearing.bearing", f"bore {bearing.bore_mm:g} mm", "a bore of at most 50 mm")


def layout(a: Assessment) -> Layout:
    """Lay out the assembly of a drive.

    Raises DesignFault where no assembly of ours fits the motion (see :mod:`lobewright.make.arranging`), where a bearing cannot
    be used, a ring cannot be bolted, a cup is too short for what is in it, or the output's hub would break under the duty's
    torque; CatalogueFault for a bearing or bolt that the catalogue does not hold.
    """
    design = a.design
    kind, reason = arrangement(design)
    if kind is None:
        raise _refused(reason, "motion", design.motion.fixed, "an arrangement that is laid out")
    rear = ring_named(design, design.motion.fixed)
    front = ring_named(design, design.motion.read) if kind is Arrangement.TWO_RINGS else None
    outermost = _outermost_mm(a)
    held, output, stated = input_bearing(design), _output_bearing(design), design.output_bearing
    require_bearings(a)
    _seat_fits(output, outermost)
    _rings_fit(a, (rear, *((front,) if front else ())), front is not None)
    _generator_fits(a)
    mid = _middle(design, rear, front)
    count = stated.count if stated else 2
    spacing = max(stated.spacing_mm if stated else 2 * output.width_mm, output.width_mm) if count == 2 else 0.0

    rear_boss = LIP_MM + 2 * held.width_mm + INPUT_SPACER_MM
    sheet = SHEET_MM if design.assembly.view is m.View.WINDOW else 0.0
    nut = catalogue.bolt(AXLE_SIZE).nut_height_mm
    behind = max(
        COLLAR_OUT_MM + nut + 1.0,
        cap_reach_mm(rear_boss) + ROOM_MM,
        generator_reach_mm(design) + sheet + ROOM_MM,
    )
    distance = max(-mid.flexible_low_mm + sheet + ROOM_MM, -mid.low_mm + behind)
    if front is not None:
        distance += more_for_usual_mm(FLOOR_MM + distance + rear.width_mm)
    boss_back = -distance - rear_boss - cap_mm()

    output_z, output_distance, output_front, proud = _output_of(design, rear, front, mid)
    lip = max(LIP_MM, FLOOR_MM - output.width_mm - spacing + PRESS_MM)
    front_boss = lip + output.width_mm + spacing
    front_z = output_front + proud + cap_reach_mm(front_boss) + ROOM_MM
    flange, clamp = _flange_of(output), catalogue.bolt(clamp_size(output))
    flange_rear = front_z + front_boss + cap_mm() + ROOM_MM
    flange_rear += more_for_usual_mm(flange_rear + clamped_mm() - output_front)
    cantilever = flange_rear - front_z - front_boss + output.width_mm / 2
    hub = hub_choice(a, output, cantilever, flange_mm(clamp) + TEST_ARM_MM / 2)
    rim = flange.circle_mm / 2 + FLANGE_RIM_MM
    mark_output = rim + 1.0 + MARK_MM / 2
    swept = math.hypot(MARK_MM / 2 + MARK_EAR_MM, mark_output + MARK_MM / 2)

    tie = catalogue.bolt(TIE_SIZE)
    corner = max(tie.hole_medium_mm / 2 + max(4.0, least_wall_mm(design)), WASHERS_MM[TIE_SIZE][1] / 2 + 1.0)
    # The rods with their washers and tubes pass what turns inside the square.
    clear = outermost + ROOM_MM + max(WASHERS_MM[TIE_SIZE][1], TIE_TUBE_MM) / 2
    half = max(outermost + ROOM_MM + 1.0, clear / math.sqrt(2) + corner)
    at = half - corner
    return Layout(
        arrangement=kind,
        rear_ring=rear,
        front_ring=front,
        flexible_open_z_mm=mid.open_z_mm,
        flexible_over=mid.over,
        generator_bottom_mm=mid.low_mm,
        generator_top_mm=mid.top_mm,
        open_radius_mm=open_radius_mm(a, rear),
        distance_mm=distance,
        sheet_mm=sheet,
        rear_back_mm=-distance - FLOOR_MM,
        boss_back_mm=boss_back,
        axle_rear_mm=boss_back - COLLAR_OUT_MM - 2 * nut - INPUT_STUB_MM,
        axle_front_mm=mid.axle_front_mm,
        input_bearing=held,
        output_bearing=output,
        output_bearings=count,
        output_spacing_mm=spacing,
        output_lip_mm=lip,
        output_z_mm=output_z,
        output_distance_mm=output_distance,
        output_front_mm=output_front,
        front_z_mm=front_z,
        front_top_mm=front_z + FLOOR_MM,
        front_boss_mm=front_z + front_boss + cap_mm(),
        flange=flange,
        flange_rear_mm=flange_rear,
        flange_front_mm=flange_rear + flange_mm(clamp),
        mark_output_mm=mark_output,
        mark_held_mm=swept + FINGER_MM + MARK_MM / 2,
        half_side_mm=half,
        corner_mm=corner,
        ties_mm=((at, at), (-at, at), (-at, -at), (at, -at)),
        clamp_bolt=hub.clamp,
        hub_material=hub.material,
        cautions=hub.cautions,
    )
