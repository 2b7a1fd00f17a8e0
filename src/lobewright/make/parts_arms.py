"""Arms and holders for tests: an arm on the output that weights hang from, one that holds the generator, a gauge's holder.

The arm is true where the cord runs through its two notches: there its length is that of the design, level as it stands. Sizes
are common practice for a home workshop, no source; standard gravity is the one of the SI (9.80665 m/s²).
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from lobewright.assessment.results import Assessment
from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.make.bodies import Body, Drill, Feature, Group, Loop, Part, Slab, exact, made_of
from lobewright.make.bought import cross_nut_part, cross_screw_part, hexagon, nut_part, screw_part
from lobewright.make.layout import AXLE_SIZE, FLOOR_MM, TIE_SIZE, Layout
from lobewright.make.layout import TEST_ARM_MM as ARM_MM
from lobewright.make.order import Side, Step
from lobewright.make.outlines import Contour, bolt_circle, circle, hull_of_circles, polygon
from lobewright.make.parts_adjustable import band_round
from lobewright.make.placing import Member, Place, Placed
from lobewright.make.standards import screw_length_mm, trap_depth_mm

GRAVITY_M_S2 = 9.80665
TIP_MM, TIP_BEYOND_MM = 8.0, 9.0
"""Radius of an arm's end, and how far its centre stands beyond the true length: the notches lie on straight edges."""
NOTCH_MM, HOOK_MM = 1.2, 4.0
WEIGHTS_HANG_MM = 200.0
"""Cord, hook and weights below the arm."""
COUNTER_MM, COUNTER_BOLT = 45.0, "M8"
"""Where nuts and washers balance the arm."""
TRAP_WALL_MM = 2.0
STEM_MM = 8.0
"""Stem of a dial gauge (ISO 463 gives 8 mm; remembered)."""
STEM_LONG_MM, STEM_WALL_MM, STEM_FLOOR_MM, PINCH_BOLT = 24.0, 6.0, 4.0, "M4"
PINCH_OVER_MM = 4.0
"""From the stem's top to the middle of the pinch screw."""
RIM_MM = 2.0
"""Of the plate round the post."""
PLUNGER_MM = 20.0
"""From an arm's edge to the end of the gauge's stem."""
TABLE_ROWS = 8


def _placed(part: Part, places: tuple[Place, ...], member: Member, side: Side = Side.FRONT) -> Placed:
    """Arms go on when everything else stands, and the drive runs without them."""
    group = part.group if part.designation else Group.TEST
    put = replace(part, quantity=len(places), group=group, may_skip=True)
    return Placed(put, places, member, Step.TEST, side)


def weights_g(torque_Nm: float, arm_mm: float) -> float:
    """Mass that makes a torque on a level arm, g."""
    return torque_Nm / (arm_mm / 1e3) / GRAVITY_M_S2 * 1e3


def round_torques_Nm(most_Nm: float) -> tuple[float, ...]:
    """Multiples of a round step (1, 2 or 5 times a power of ten) up to ``most_Nm``, at most ``TABLE_ROWS``."""
    power = 10.0 ** math.floor(math.log10(most_Nm / TABLE_ROWS))
    step = next(f * power for f in (1.0, 2.0, 5.0, 10.0) if f * power * TABLE_ROWS >= most_Nm * (1 - 1e-9))
    return tuple(k * step for k in range(1, int(most_Nm / step + 1e-9) + 1))


def weights_text(design: m.Design) -> str:
    """The table of weights; without a duty no torque is known to make one for."""
    rated, arm = design.rated_torque_Nm, design.assembly.arm_mm
    if not rated:
        return "no weights: the design names no duty"
    rows = "; ".join(f"{t:g} N·m: {weights_g(t, arm):.1f} g" for t in round_torques_Nm(rated))
    return f"weights with cord and hook at {arm:g} mm, arm level: {rows}"


def notched(contour: Contour, x_mm: float, deep_mm: float) -> Contour:
    """A V of 90° cut at ``x_mm`` into every straight edge that passes there."""
    points, bulges = [], []
    count = len(contour.points_mm)
    for k in range(count):
        a, b, bulge = contour.points_mm[k], contour.points_mm[(k + 1) % count], contour.bulges[k]
        points.append(a)
        bulges.append(bulge)
        if bulge != 0.0 or not min(a[0], b[0]) + deep_mm < x_mm < max(a[0], b[0]) - deep_mm:
            continue
        along = (b - a) / np.hypot(*(b - a))
        inward = np.array([-along[1], along[0]])
        middle = a + (b - a) * (x_mm - a[0]) / (b[0] - a[0])
        points += [middle - deep_mm * along, middle + deep_mm * inward, middle + deep_mm * along]
        bulges += [0.0, 0.0, 0.0]
    return Contour(np.array(points), np.array(bulges))


def _outline(arm_mm: float, hub_mm: float, counter_mm: float = 0.0) -> Contour:
    """An arm along x with its notches; ``counter_mm`` gives it a short other end."""
    tip = (arm_mm + TIP_BEYOND_MM, 0.0, TIP_MM)
    circles = [tip, (0.0, 0.0, hub_mm)]
    if counter_mm:
        circles = [tip, (0.0, 0.0, hub_mm), (-counter_mm, 0.0, TIP_MM + 2.0), (0.0, 0.0, hub_mm)]
    return notched(hull_of_circles(circles), arm_mm, NOTCH_MM)


def _hook(arm_mm: float) -> Loop:
    return exact(circle(HOOK_MM / 2, arm_mm), Feature.BOLT_HOLE)


def flange_radius_mm(lay: Layout) -> float:
    """Of an arm's hub on the output flange."""
    return lay.flange.circle_mm / 2 + catalogue.bolt(lay.flange.bolt).head_diameter_mm / 2 + 2.0


def room_below(design: m.Design, lay: Layout) -> str:
    """What the weights need below: cord, hook and weights hang lower than the drive's feet."""
    hang = WEIGHTS_HANG_MM - lay.half_side_mm
    low = design.assembly.arm_mm + TIP_BEYOND_MM + TIP_MM - lay.half_side_mm
    words = f"the axis is {lay.half_side_mm:.0f} mm above the feet: set the drive at a table's edge, the arm beyond it"
    return (
        f"{words}, or on a block of at least {max(hang, 0.0):.0f} mm for weights that hang {WEIGHTS_HANG_MM:g} mm below the arm, "
        f"{max(low, 0.0):.0f} mm for the arm hanging straight down"
    )


def _test_arm(a: Assessment, lay: Layout) -> tuple[Placed, ...]:
    """On the face of the output flange, by screws into the flange's nuts."""
    arm, bolt, hub = a.design.assembly.arm_mm, catalogue.bolt(lay.flange.bolt), flange_radius_mm(lay)
    circle_mm = lay.flange.circle_mm / 2
    first = math.pi / lay.flange.bolts
    rows = bolt_circle(circle_mm, bolt.hole_medium_mm, lay.flange.bolts, first)
    counter = max(COUNTER_MM, hub + 8.0)
    middle = exact(circle(max(2.0, circle_mm - bolt.head_diameter_mm / 2 - 4.0)))
    balance = exact(circle(catalogue.bolt(COUNTER_BOLT).hole_medium_mm / 2, -counter), Feature.BOLT_HOLE)
    holes = (middle, *(exact(one, Feature.BOLT_HOLE) for one in rows), _hook(arm), balance)
    body = Body((Slab(exact(_outline(arm, hub, counter)), holes, 0.0, ARM_MM),))
    note = (
        f"{lay.flange.bolts} holes for {bolt.size} on ø{lay.flange.circle_mm:g} mm ({lay.flange.designation}); the cord runs "
        f"through both notches and the hole at {arm:g} mm; balance it with nuts on the short end first; 5° off level take "
        f"0.4 % of the torque; {room_below(a.design, lay)}; {weights_text(a.design)}"
    )
    part = Part("test_arm", "test arm", 1, body, made_of(a.design), note, drawn=True)
    spots = [one.points_mm.mean(axis=0) for one in rows]
    length = 16.0
    screw = screw_part(bolt, length, lay.flange.bolts, "arm_screw", "screw of the test arm")
    top = lay.flange_front_mm + ARM_MM + bolt.head_height_mm
    places = tuple(Place(float(x), float(y), top, over=True) for x, y in spots)
    return (
        _placed(part, (Place(z_mm=lay.flange_front_mm),), Member.OUTPUT),
        _placed(screw, places, Member.OUTPUT),
    )


def _reaction_arm(a: Assessment, lay: Layout) -> tuple[Placed, ...]:
    """Takes the crank's place on the axle; lies beside the drive until then. With a crank its nuts are used again."""
    arm, nut = a.design.assembly.arm_mm, catalogue.bolt(AXLE_SIZE)
    thick = trap_depth_mm(nut) + TRAP_WALL_MM
    bore = exact(circle(nut.hole_fine_mm / 2), Feature.BOLT_HOLE)
    outline = _outline(arm, nut.nut_across_corners_mm / 2 + 5.0)
    plate = Slab(exact(outline), (bore, _hook(arm)), 0.0, thick)
    trap = Slab(exact(hexagon(nut.nut_across_flats_mm + 0.2), Feature.NUT), (bore,), TRAP_WALL_MM, thick)
    note = (
        f"on the axle in place of what turns it, an {AXLE_SIZE} nut in its trap and a second one against it: holds the "
        f"generator while the output is loaded, or on a scale at {arm:g} mm shows what the generator takes; crank "
        "or arm, not both: they share the axle's end and its nuts"
    )
    body = Body((plate,), (trap,))
    part = Part("reaction_arm", "reaction arm", 1, body, made_of(a.design), note, drawn=True)
    beside = Place(-lay.half_side_mm - 45.0, -lay.half_side_mm + 20.0, lay.rear_back_mm, math.pi / 2)
    arm_placed = _placed(part, (beside,), Member.HELD, Side.REAR)
    if a.design.assembly.input is m.Input.CRANK:
        return (arm_placed,)
    at = (beside.x_mm, beside.y_mm)
    nuts = (
        Place(*at, beside.z_mm + TRAP_WALL_MM, beside.turn_rad),
        Place(*at, beside.z_mm + thick + nut.nut_height_mm),
    )
    own = nut_part(nut, 2, "arm_axle_nut", "nut in the reaction arm, and against it")
    return arm_placed, _placed(own, nuts, Member.HELD, Side.REAR)


def gauge_radius_mm(a: Assessment, lay: Layout) -> float:
    """Where the dial gauge touches the arm: outside the tie rods, a round number, and short of the hook."""
    at = lay.ties_mm[0][0]
    return max(
        10.0, min(10.0 * math.ceil((at + 15.0) / 10.0), 10.0 * math.floor((a.design.assembly.arm_mm - 15.0) / 10.0))
    )


def _holder_body(tie_mm: float, radius_mm: float, low_mm: float, level_mm: float) -> Body:
    """A plate on both right tie rods, and a post with a channel along y; the stem's axis is ``level_mm`` above the plate."""
    tie, pinch = catalogue.bolt(TIE_SIZE), catalogue.bolt(PINCH_BOLT)
    half, wall = STEM_MM / 2, STEM_WALL_MM
    left, right = radius_mm - half - wall, radius_mm + half + wall
    low, high = low_mm - STEM_LONG_MM, low_mm
    rim = tie.hole_medium_mm / 2 + 5.0
    ties = tuple(exact(circle(tie.hole_medium_mm / 2, tie_mm, y), Feature.BOLT_HOLE) for y in (tie_mm, -tie_mm))
    corners = [(x, y, RIM_MM) for x in (left, right) for y in (low, high)]
    corners += [(tie_mm, tie_mm, rim), (tie_mm, -tie_mm, rim)]
    plate = Slab(exact(band_round(corners)), ties, 0.0, FLOOR_MM)

    def box(x0: float, x1: float) -> Loop:
        return exact(polygon(((x0, low), (x1, low), (x1, high), (x0, high))))

    floor = level_mm - half
    pinch_z = level_mm + half + PINCH_OVER_MM
    top = pinch_z + pinch.hole_medium_mm / 2 + 4.0
    pieces = (
        plate,
        Slab(box(left, right), (), FLOOR_MM, floor),
        Slab(box(left, radius_mm - half), (), floor, top),
        Slab(box(radius_mm + half, right), (), floor, top),
    )
    middle = (low + high) / 2
    drills = tuple(Drill((x, middle, pinch_z), 0.0, pinch.hole_medium_mm, wall) for x in (left, radius_mm + half))
    return Body(pieces, (), drills)


def _gauge_holder(a: Assessment, lay: Layout) -> tuple[Placed, ...]:
    """Over the front nuts of the right tie rods; the gauge's stem points up at the arm's lower edge."""
    tie, at = catalogue.bolt(TIE_SIZE), lay.ties_mm[0][0]
    radius, arm, hub = gauge_radius_mm(a, lay), a.design.assembly.arm_mm, flange_radius_mm(lay)
    # The arm's lower edge at that radius, on the tangent of hub and tip.
    reach = arm + TIP_BEYOND_MM
    slope = math.asin((hub - TIP_MM) / reach)
    edge = hub / math.cos(slope) - radius * math.tan(slope)
    bottom = holder_bottom_mm(lay)
    level = lay.flange_front_mm + ARM_MM / 2 - bottom
    body = _holder_body(at, radius, -edge - PLUNGER_MM, level)
    note = (
        f"on the two right tie rods, over their nuts; stem ø{STEM_MM:g} mm, {radius:g} mm from the axis: 0.01 mm there is "
        f"{0.01 / radius * 1e3:.3f} mrad of the output; pinch it with {PINCH_BOLT}"
    )
    part = Part("gauge_holder", "holder of the dial gauge", 1, body, made_of(a.design), note)
    nuts = tuple(Place(at, y, bottom + FLOOR_MM) for y in (at, -at))
    pinch, clamped = catalogue.bolt(PINCH_BOLT), STEM_MM + 2 * STEM_WALL_MM
    screw = cross_screw_part(pinch, screw_length_mm(pinch, clamped), 1, "pinch_screw", "pinch screw of the gauge")
    head = _pinch_place(body, bottom)
    end = replace(head, x_mm=head.x_mm - clamped)
    return (
        _placed(part, (Place(z_mm=bottom),), Member.HELD),
        _placed(nut_part(tie, 2, "holder_nut", "nut on the gauge's holder"), nuts, Member.HELD),
        _placed(screw, (head,), Member.HELD),
        _placed(cross_nut_part(pinch, 1, "pinch_nut", "nut of the gauge's pinch screw"), (end,), Member.HELD),
    )


def holder_bottom_mm(lay: Layout) -> float:
    """Back of the gauge's holder: the front plate, a washer and a nut, and what a rod stands out of it, lie behind it."""
    return lay.front_top_mm + 1.0 + catalogue.bolt(TIE_SIZE).nut_height_mm


def _pinch_place(body: Body, bottom_mm: float) -> Place:
    x, y, z = body.drills[1].start_mm
    return Place(x + STEM_WALL_MM, y, bottom_mm + z)


def arm_parts(a: Assessment, lay: Layout) -> tuple[Placed, ...]:
    """Test arm on the output flange, reaction arm beside the drive, and the holder of a dial gauge."""
    return (*_test_arm(a, lay), *_reaction_arm(a, lay), *_gauge_holder(a, lay))
