"""The held ring on the rear plate: the distance plate with its ears, the dowels that centre the ring, its screws and nuts."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from lobewright.assessment.results import Assessment
from lobewright.design import catalogue
from lobewright.make.bodies import Body, Loop, Part, Slab, exact, made_of
from lobewright.make.bought import nut_part, screw_part
from lobewright.make.frame_plates import placed, ring_holes, spots, tie_holes
from lobewright.make.keeping import keeper, plain
from lobewright.make.layout import Layout, root_radius_mm
from lobewright.make.order import Side, Step
from lobewright.make.outlines import Chain, joined, round_arc
from lobewright.make.parts_rings import dowel_pocket_mm
from lobewright.make.placing import Member, Place, Placed
from lobewright.make.registering import dowel_length_mm, dowel_part, dowel_passes, ring_dowels
from lobewright.make.standards import screw_length_mm, trap_depth_mm


def armed(radius_mm: float, l: Layout) -> Loop:  # noqa: E741 - as all such functions
    """A disc with an arm to every tie rod, round about it."""
    w = l.corner_mm
    wide = math.asin(w / radius_mm)
    arcs = []
    for x, y in l.ties_mm:
        far, turn = math.hypot(x, y), math.atan2(y, x)
        out = np.array([math.cos(turn), math.sin(turn)])
        side = w * np.array([-out[1], out[0]])
        arcs.append(round_arc(radius_mm, turn - math.pi / 2 + wide, turn - wide))
        arcs.append(Chain(np.array([far * out - side, far * out + side]), np.array([1.0])))
    return exact(joined(arcs))


def _distance_plate(a: Assessment, l: Layout) -> Placed:  # noqa: E741
    """An open frame: it fills between rear plate and ring, and carries the tie rods' clamping."""
    ring = l.rear_ring
    height = l.distance_mm - l.sheet_mm
    held = keeper(a, l, False, l.open_radius_mm)[0]
    outer = armed(root_radius_mm(a, ring) + ring.rim_mm, l)
    bored = (*tie_holes(l), *ring_holes(a, ring), *dowel_passes(ring, ring_dowels(a, ring)))
    step = height - held.back_mm if held else 0.0
    pieces = [
        Slab(outer, (held.opening, *bored), 0.0, step) if held else None,
        Slab(outer, (plain(l.open_radius_mm), *bored), step, height),
    ]
    body = Body(tuple(one for one in pieces if one and one.top_mm - one.bottom_mm > 1e-9))
    note = f"{height:.1f} mm thick"
    if held:
        note += (
            f"; four ears keep the flexible ring in, {held.back_mm:.1f} mm below the face on which the rigid ring lies"
        )
    part = Part("distance_plate", "distance plate", 1, body, made_of(a.design), note, drawn=True)
    return placed(part, (Place(z_mm=l.sheet_mm - l.distance_mm),), Member.HELD, Step.BEHIND, Side.FRONT)


def _dowels(a: Assessment, l: Layout) -> tuple[Placed, ...]:  # noqa: E741
    at = ring_dowels(a, l.rear_ring)
    if not at:
        return ()
    length = dowel_length_mm(l.rear_ring, l.distance_mm)
    part = dowel_part(a.design, l.rear_ring.dowel_mm, length, "held_ring_dowel", "dowel of the held ring")
    places = tuple(Place(x, y, dowel_pocket_mm(l.rear_ring) - length) for x, y in at)
    return (placed(part, places, Member.HELD, Step.HELD_RING, Side.FRONT),)


def _bolts(a: Assessment, l: Layout) -> tuple[Placed, ...]:  # noqa: E741
    """Heads behind the rear plate, nuts on the ring or sunk in it."""
    ring, bolt = l.rear_ring, catalogue.bolt(l.rear_ring.bolt)
    nut_z = ring.width_mm - (trap_depth_mm(bolt) if l.sunk_nuts else 0.0)
    length = screw_length_mm(bolt, nut_z - l.rear_back_mm)
    if l.sunk_nuts:
        # No longer than the ring's face: the other ring turns close by.
        length = math.floor(ring.width_mm - l.rear_back_mm + 1e-9)
    at = spots(ring_holes(a, ring))
    screws = tuple(Place(x, y, l.rear_back_mm - bolt.head_height_mm) for x, y in at)
    turned = math.pi / ring.bolts
    nuts = tuple(Place(x, y, nut_z, turn_rad=(2 * k + 1) * turned + math.pi / 2) for k, (x, y) in enumerate(at))
    screw = screw_part(bolt, length, 1, "held_ring_screw", "screw of the held ring")
    nut = nut_part(bolt, 1, "held_ring_nut", "nut of the held ring")
    if l.sunk_nuts:
        screw = replace(screw, note="no longer one: its end must not stand out of the ring", no_longer=True)
        nut = replace(nut, sunk=True)
    return (
        placed(screw, screws, Member.HELD, Step.HELD_RING, Side.REAR),
        placed(nut, nuts, Member.HELD, Step.HELD_RING, Side.FRONT),
    )


def held_parts(a: Assessment, l: Layout) -> tuple[Placed, ...]:  # noqa: E741
    """Everything between rear plate and held ring, and what fastens the ring."""
    return (_distance_plate(a, l), *_dowels(a, l), *_bolts(a, l))
