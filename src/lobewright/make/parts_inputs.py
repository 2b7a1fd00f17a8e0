"""What turns the generator's axle: a hand crank, a clamp for a shaft, or a stepper motor on a plate behind the frame.

All of it stands behind the boss of the rear plate and the nut there. Walls, lengths and the crank are common practice for a
home workshop, no source.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from lobewright.assessment.results import Assessment
from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.design.motor_flange import MotorFlange, motor_flange
from lobewright.design.workshop import OwnedMotor
from lobewright.make.bodies import Body, Drill, Feature, Group, Loop, Part, Slab, exact, made_of
from lobewright.make.bought import (
    LENGTHS_MM,
    bought,
    cross_nut_part,
    cross_screw_part,
    hexagon,
    nut_part,
    screw_part,
    tube,
)
from lobewright.make.layout import AXLE_SIZE, COLLAR_OUT_MM, FLOOR_MM, TIE_SIZE, Layout
from lobewright.make.order import Side, Step
from lobewright.make.outlines import Contour, bolt_circle, bulge_of, circle, hull_of_circles, polygon
from lobewright.make.placing import Member, Place, Placed
from lobewright.make.standards import WASHERS_MM, screw_length_mm

CRANK_MM, LEAST_CRANK_MM, CRANK_PLATE_MM = 45.0, 22.0, 9.0
"""Radius of the handle where there is room and at least, thickness of the crank."""
HAND_MM = 20.0
"""Room of a hand between the grip and the table."""
TRAP_PLAY_MM, PLAY_MM = 0.2, 0.5
HANDLE_BOLT, HANDLE_SCREW_MM, GRIP_MM, GRIP_OUTER_MM = "M6", 55.0, 34.0, 18.0
CLAMP_HALF_MM, CLAMP_RADIUS_MM, CLAMP_BOLT = 14.0, 12.0, "M4"
"""Half the length of the clamp hub, its radius and its screws."""
LUG_REACH_MM, LUG_HALF_MM, SLIT_MM = 23.0, 6.5, 1.5
COUPLING_MM, COUPLING_OUTER_MM = 25.0, 19.0
"""Length and diameter of the usual small shaft coupling."""
SHAFT_GAP_MM = 1.0
"""Between the ends of two shafts in a coupling or clamp."""
TUBE_OUTER_MM = 12.0


def _placed(part: Part, places: tuple[Place, ...], member: Member, side: Side = Side.REAR) -> Placed:
    """Everything goes on from behind when the frame stands."""
    group = part.group if part.designation else Group.INPUT
    return Placed(replace(part, quantity=len(places), group=group), places, member, Step.INPUT, side)


def crank_face_mm(lay: Layout) -> float:
    """Front of a crank: behind the lock nuts of the axle."""
    nut = catalogue.bolt(AXLE_SIZE).nut_height_mm
    return lay.boss_back_mm - COLLAR_OUT_MM - 2 * nut - PLAY_MM


def joint_mm(lay: Layout) -> float:
    """Middle between the axle's end and that of the shaft that drives it."""
    return lay.axle_rear_mm - SHAFT_GAP_MM / 2


def ties_back_mm(a: Assessment, lay: Layout) -> float:
    """Where the tie rods have to end behind: with a motor they carry its plate too."""
    nut = catalogue.bolt(TIE_SIZE).nut_height_mm
    flange = _flange(a)
    if flange is None:
        return lay.rear_back_mm - WASHERS_MM[TIE_SIZE][2] - nut - 1.0
    return motor_face_mm(lay, flange) - nut - 1.0


def motor_face_mm(lay: Layout, flange: MotorFlange) -> float:
    """The face of the motor's flange: its shaft ends at the joint."""
    return joint_mm(lay) - SHAFT_GAP_MM / 2 - flange.shaft_long_mm


def _flange(a: Assessment) -> MotorFlange | None:
    sizes = {m.Input.STEPPER_17: 17, m.Input.STEPPER_23: 23}
    size = sizes.get(a.design.assembly.input)
    return motor_flange(size) if size else None


# --- the motor that is there -----------------------------------------------------------------------------------------


def own_motor(a: Assessment, shaft_mm: float | None = None) -> OwnedMotor | None:
    """A motor of the drawer, with that shaft where one is asked for."""
    motors = a.design.owned.motors if a.design.owned else ()
    fits = [one for one in motors if one.count and (shaft_mm is None or abs(one.shaft_mm - shaft_mm) < 0.05)]
    return fits[0] if fits else None


def motor_note(a: Assessment, motor: OwnedMotor, skip_Nm: float | None = None) -> str:
    """What the motor's holding torque means at the output, without losses; ``skip_Nm`` is the drive's skip torque, N·m.

    Without it, what the workshop has measured of this design is taken.
    """
    ratio = abs(float(a.motion.ratio))
    out = motor.holding_torque_Nm * ratio
    lines = [
        f"{motor.name}: {motor.holding_torque_Nm:g} N·m × {ratio:g} = {out:.3g} N·m at the output, losses left out"
    ]
    rated = a.design.rated_torque_Nm
    if rated is not None:
        need = rated / ratio
        if need > motor.holding_torque_Nm:
            lines.append(f"TOO WEAK: {rated:g} N·m need {need:.3g} N·m, losses left out")
        else:
            lines.append(f"the rated {rated:g} N·m need {need:.3g} N·m of it")
    if skip_Nm is None and a.design.owned:
        known = [one.torque_Nm for one in a.design.owned.skip_torque if one.design == a.design.name]
        skip_Nm = min(known, default=None)
    if skip_Nm is None:
        lines.append("compare with the skip torque of the drive (under torque, or measured): not known here")
    elif out > skip_Nm:
        share = 100 * skip_Nm / out
        lines.append(f"STRONGER THAN THE TEETH: it passes the skip torque {skip_Nm:g} N·m, keep it below {share:.0f} %")
    return "; ".join(lines)


# --- crank ------------------------------------------------------------------------------------------------------------


def crank_mm(lay: Layout) -> float:
    """Radius of the handle: a hand on the grip passes over what the drive stands on, where the frame is high enough."""
    return max(LEAST_CRANK_MM, min(CRANK_MM, float(int(lay.half_side_mm - GRIP_OUTER_MM / 2 - HAND_MM))))


def _over_the_table(lay: Layout, radius_mm: float) -> str:
    free = lay.half_side_mm - radius_mm - GRIP_OUTER_MM / 2
    words = f"its grip passes {free:.0f} mm over what the drive stands on"
    return words if free >= HAND_MM - 1e-9 else f"{words}, too little for a hand: set the drive at a table's edge"


def _crank(a: Assessment, lay: Layout) -> tuple[Placed, ...]:
    """A crank whose trapped nut is screwed on the axle against a second one; the grip turns on a screw."""
    nut, handle = catalogue.bolt(AXLE_SIZE), catalogue.bolt(HANDLE_BOLT)
    radius, hub = crank_mm(lay), nut.nut_across_corners_mm / 2 + 5.0
    outline = hull_of_circles([(0.0, 0.0, hub), (radius, 0.0, handle.nut_across_corners_mm / 2 + 3.0)])
    bore = exact(circle(nut.hole_fine_mm / 2), Feature.BOLT_HOLE)
    far = exact(circle(handle.hole_fine_mm / 2, radius), Feature.BOLT_HOLE)
    plate = Slab(exact(outline), (bore, far), 0.0, CRANK_PLATE_MM)
    deep = nut.nut_height_mm + TRAP_PLAY_MM
    trap = Slab(exact(hexagon(nut.nut_across_flats_mm + TRAP_PLAY_MM), Feature.NUT), (bore,), 0.0, 0.0)
    trap = replace(trap, bottom_mm=CRANK_PLATE_MM - deep, top_mm=CRANK_PLATE_MM)
    note = (
        f"an {AXLE_SIZE} nut in its trap, screwed on the axle, a second nut against it; "
        f"{abs(float(a.motion.ratio)):g} turns of the crank turn the output once; {_over_the_table(lay, radius)}; crank or "
        f"reaction arm, not both: they share the axle's end and its {AXLE_SIZE} nuts"
    )
    crank = Part("crank", "hand crank", 1, Body((plate,), (trap,)), made_of(a.design), note, drawn=True)
    grip = Part(
        "crank_grip", "grip of the crank", 1, tube(GRIP_OUTER_MM, handle.hole_medium_mm, GRIP_MM), made_of(a.design)
    )
    face = crank_face_mm(lay)
    back = face - CRANK_PLATE_MM
    grip_top = back - handle.nut_height_mm - 0.5
    screw = screw_part(handle, HANDLE_SCREW_MM, 1, "crank_screw", "screw that carries the grip")
    nuts = (Place(radius, 0.0, face), Place(radius, 0.0, back - handle.nut_height_mm))
    axle_nuts = (Place(z_mm=back + TRAP_PLAY_MM), Place(z_mm=back - nut.nut_height_mm))
    return (
        _placed(crank, (Place(z_mm=face, over=True),), Member.GENERATOR),
        _placed(nut_part(nut, 2, "crank_axle_nut", "nut in the crank, and against it"), axle_nuts, Member.GENERATOR),
        _placed(grip, (Place(radius, 0.0, grip_top - GRIP_MM),), Member.GENERATOR),
        _placed(screw, (Place(radius, 0.0, grip_top - GRIP_MM - handle.head_height_mm),), Member.GENERATOR),
        _placed(nut_part(handle, 2, "crank_nut", "nut of the grip's screw"), nuts, Member.GENERATOR),
    )


# --- clamp -----------------------------------------------------------------------------------------------------------


def _clamp_outline(bore_mm: float) -> Contour:
    """A round hub with two lugs along x and a slit between them that runs into the bore."""
    half, inner = SLIT_MM / 2, bore_mm / 2
    at_bore, at_hub = math.asin(half / inner), math.asin(LUG_HALF_MM / CLAMP_RADIUS_MM)
    hub_x, bore_x = CLAMP_RADIUS_MM * math.cos(at_hub), inner * math.cos(at_bore)
    points = np.array(
        [
            [LUG_REACH_MM, half],
            [LUG_REACH_MM, LUG_HALF_MM],
            [hub_x, LUG_HALF_MM],
            [-CLAMP_RADIUS_MM, 0.0],
            [hub_x, -LUG_HALF_MM],
            [LUG_REACH_MM, -LUG_HALF_MM],
            [LUG_REACH_MM, -half],
            [bore_x, -half],
            [-inner, 0.0],
            [bore_x, half],
        ]
    )
    outside, inside = bulge_of(math.pi - at_hub), -bulge_of(math.pi - at_bore)
    return Contour(points, np.array([0.0, 0.0, outside, outside, 0.0, 0.0, 0.0, inside, inside, 0.0]))


def _clamp(a: Assessment, lay: Layout) -> tuple[Placed, ...]:
    """A slit hub: one half holds the axle, the other the shaft that drives it."""
    axle, bolt = catalogue.bolt(AXLE_SIZE), catalogue.bolt(CLAMP_BOLT)
    motor = own_motor(a)
    shaft = motor.shaft_mm if motor else axle.diameter_mm
    rear = Slab(exact(_clamp_outline(shaft), Feature.SEAT), (), 0.0, CLAMP_HALF_MM)
    front = Slab(exact(_clamp_outline(axle.diameter_mm), Feature.SEAT), (), CLAMP_HALF_MM, 2 * CLAMP_HALF_MM)
    x = (CLAMP_RADIUS_MM + LUG_REACH_MM) / 2 - 0.3
    heights = (CLAMP_HALF_MM / 2, 1.5 * CLAMP_HALF_MM)
    length = LUG_HALF_MM - SLIT_MM / 2
    drills = tuple(
        Drill((x, y, z), -math.pi / 2, bolt.hole_medium_mm, length)
        for z in heights
        for y in (LUG_HALF_MM, -SLIT_MM / 2)
    )
    grip = screw_length_mm(bolt, 2 * LUG_HALF_MM)
    note = f"bore ø{axle.diameter_mm:g} mm on the axle, ø{shaft:g} mm on the shaft; two ISO 4762 {CLAMP_BOLT}×{grip:g} with nuts"
    note = f"{note}; {motor_note(a, motor)}" if motor else f"{note}; no motor is in the workshop file"
    hub = Part("shaft_clamp", "clamp hub", 1, Body((rear, front), (), drills), made_of(a.design), note)
    back = joint_mm(lay) - CLAMP_HALF_MM
    heads = tuple(Place(x, LUG_HALF_MM, back + z, math.pi / 2) for z in heights)
    nuts = tuple(Place(x, -LUG_HALF_MM, back + z, math.pi / 2) for z in heights)
    return (
        _placed(hub, (Place(z_mm=back),), Member.GENERATOR),
        _placed(cross_screw_part(bolt, grip, 2, "clamp_hub_screw", "clamp screw"), heads, Member.GENERATOR),
        _placed(cross_nut_part(bolt, 2, "clamp_hub_nut", "nut of a clamp screw"), nuts, Member.GENERATOR),
    )


# --- stepper ---------------------------------------------------------------------------------------------------------


def _motor_holes(flange: MotorFlange, hole_mm: float) -> tuple[Loop, ...]:
    rows = bolt_circle(flange.bolt_circle_mm / 2, hole_mm, 4, math.pi / 4)
    return tuple(exact(one, Feature.BOLT_HOLE) for one in rows)


def _motor(flange: MotorFlange) -> Part:
    """Flange face at ``body_long_mm``, pilot and shaft above it, as one body."""
    bolt, half, top = catalogue.bolt(flange.bolt), flange.square_mm / 2, flange.body_long_mm
    box = exact(polygon(((-half, -half), (half, -half), (half, half), (-half, half))))
    shaft = exact(circle(flange.shaft_mm / 2))
    pilot = Slab(exact(circle(flange.pilot_mm / 2)), (), top, top + flange.pilot_high_mm)
    stub = Slab(shaft, (), top + flange.pilot_high_mm, top + flange.shaft_long_mm)
    pieces: tuple[Slab, ...]
    pockets: tuple[Slab, ...] = ()
    if flange.through:
        # Behind the flange the bolts' nuts need room: the body is round there.
        body = exact(circle(min(half, (flange.bolt_circle_mm - bolt.nut_across_corners_mm) / 2 - 0.5)))
        holes, low = _motor_holes(flange, bolt.hole_medium_mm), top - flange.flange_thick_mm
        pieces = (Slab(body, (), 0.0, low), Slab(box, holes, low, top), pilot, stub)
    else:
        pieces = (Slab(box, (), 0.0, top), pilot, stub)
        deep = top - flange.thread_deep_mm
        pockets = tuple(Slab(hole, (), deep, top) for hole in _motor_holes(flange, bolt.diameter_mm))
    note = f"frame size {flange.size} by NEMA ICS 16; body length as yours has it"
    return bought("motor", "stepper motor", 1, Body(pieces, pockets), f"stepper motor, frame size {flange.size}", note)


def _motor_plate(a: Assessment, lay: Layout, flange: MotorFlange, note: str) -> Part:
    tie, bolt, half = catalogue.bolt(TIE_SIZE), catalogue.bolt(flange.bolt), lay.half_side_mm
    square = exact(polygon(((-half, -half), (half, -half), (half, half), (-half, half))))
    pilot = exact(circle(flange.pilot_mm / 2), Feature.SEAT)
    ties = tuple(exact(circle(tie.hole_medium_mm / 2, x, y), Feature.BOLT_HOLE) for x, y in lay.ties_mm)
    holes = (pilot, *_motor_holes(flange, bolt.hole_medium_mm), *ties)
    plate = Slab(square, holes, 0.0, FLOOR_MM)
    return Part("motor_plate", "motor plate", 1, Body((plate,)), made_of(a.design), note, drawn=True)


def _coupling(shaft_mm: float) -> Part:
    axle = catalogue.bolt(AXLE_SIZE)
    outer, half = exact(circle(COUPLING_OUTER_MM / 2)), COUPLING_MM / 2
    pieces = tuple(
        Slab(outer, (exact(circle(bore / 2)),), low, low + half)
        for bore, low in ((shaft_mm, 0.0), (axle.diameter_mm, half))
    )
    words = f"shaft coupling {shaft_mm:g} to {axle.diameter_mm:g} mm"
    note = (
        f"ø{COUPLING_OUTER_MM:g}×{COUPLING_MM:g} mm, flexible: it forgives what the printed plates leave off the axis"
    )
    return bought("coupling", "shaft coupling", 1, Body(pieces), words, note)


def _stepper(a: Assessment, lay: Layout, flange: MotorFlange, skip_Nm: float | None) -> tuple[Placed, ...]:
    """A motor on a plate that the extended tie rods carry, tubes between it and the rear plate's nuts."""
    motor = own_motor(a, flange.shaft_mm)
    known = f"frame size {flange.size} by NEMA ICS 16: pilot ø{flange.pilot_mm:g} mm, {flange.bolt} on a square of "
    known += f"{flange.bolt_square_mm:g} mm; the tie rods reach through it"
    if motor:
        note = f"{known}; {motor_note(a, motor, skip_Nm)}"
    else:
        note = f"{known}; no motor with a shaft of ø{flange.shaft_mm:g} mm is in the workshop file: its torque is not checked"
    tie, bolt = catalogue.bolt(TIE_SIZE), catalogue.bolt(flange.bolt)
    face = motor_face_mm(lay, flange)
    front = lay.rear_back_mm - WASHERS_MM[TIE_SIZE][2] - tie.nut_height_mm
    sleeve = tube(TUBE_OUTER_MM, tie.hole_medium_mm, front - face - FLOOR_MM)
    tubes = Part("motor_tube", "distance tube", 4, sleeve, made_of(a.design), "over the tie rods, prints upright")
    spots = [(r.points_mm.mean(axis=0)) for r in bolt_circle(flange.bolt_circle_mm / 2, 1.0, 4, math.pi / 4)]
    if flange.through:
        length = screw_length_mm(bolt, FLOOR_MM + flange.flange_thick_mm)
    else:
        # The longest usual screw that does not touch the bottom of the thread.
        length = float(max(one for one in LENGTHS_MM if one <= FLOOR_MM + flange.thread_deep_mm))
    screws = tuple(Place(float(x), float(y), face + FLOOR_MM + bolt.head_height_mm, over=True) for x, y in spots)
    parts = [
        _placed(_motor_plate(a, lay, flange, note), (Place(z_mm=face),), Member.HELD),
        _placed(tubes, tuple(Place(x, y, face + FLOOR_MM) for x, y in lay.ties_mm), Member.HELD),
        _placed(_motor(flange), (Place(z_mm=face - flange.body_long_mm),), Member.HELD),
        _placed(_coupling(flange.shaft_mm), (Place(z_mm=joint_mm(lay) - COUPLING_MM / 2),), Member.GENERATOR),
        _placed(screw_part(bolt, length, 4, "motor_screw", "screw of the motor"), screws, Member.HELD),
        _placed(
            nut_part(tie, 4, "motor_plate_nut", "nut behind the motor plate"),
            tuple(Place(x, y, face - tie.nut_height_mm) for x, y in lay.ties_mm),
            Member.HELD,
        ),
    ]
    if flange.through:
        low = face - flange.flange_thick_mm - bolt.nut_height_mm
        nuts = tuple(Place(float(x), float(y), low) for x, y in spots)
        parts.append(_placed(nut_part(bolt, 4, "motor_nut", "nut behind the motor's flange"), nuts, Member.HELD))
    return tuple(parts)


def input_parts(a: Assessment, lay: Layout, skip_Nm: float | None = None) -> tuple[Placed, ...]:
    """What turns the axle, by ``assembly.input``; ``skip_Nm`` is the drive's skip torque where it was computed, N·m.

    A motor of the workshop file is used first: its shaft gives the bore, its holding torque the warnings in the note.
    """
    chosen = a.design.assembly.input
    if chosen is m.Input.CRANK:
        return _crank(a, lay)
    flange = _flange(a)
    return _clamp(a, lay) if flange is None else _stepper(a, lay, flange, skip_Nm)
