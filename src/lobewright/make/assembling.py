"""All parts of a drive put in their places: rings, flexible ring, generator, frame, output, covers, input and arms."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from lobewright.assessment.results import Assessment
from lobewright.design import model as m
from lobewright.errors import DesignFault
from lobewright.make.bodies import Body, Group, Part, Slab, exact
from lobewright.make.flexible_as_set import flexible_place
from lobewright.make.layout import Layout, arrangement, layout
from lobewright.make.order import Side, Step
from lobewright.make.outlines import circle
from lobewright.make.parts_arms import arm_parts
from lobewright.make.parts_cover import cover_parts
from lobewright.make.parts_flexible import flexible_parts, row_pitch
from lobewright.make.parts_frame import frame_parts
from lobewright.make.parts_generator import generator_parts
from lobewright.make.parts_generator_placed import generator_placed
from lobewright.make.parts_inputs import input_parts
from lobewright.make.parts_output import output_parts
from lobewright.make.parts_rings import rigid_ring
from lobewright.make.placing import Member, Place, Placed


def not_assembled(a: Assessment) -> str:
    """Why no assembly of a drive is laid out, in words; empty where one is.

    Either its motion has no arrangement of ours, or a part of the frame has no room; then it says what would give it room.
    """
    reason = arrangement(a.design)[1]
    if reason:
        return reason
    try:
        layout(a)
    except DesignFault as fault:
        return " ".join(fault.sentences())
    return ""


def belt_part(a: Assessment) -> Part:
    """The bought belt as its outline, round and unbent, its teeth outward."""
    belt = a.design.flexible_ring
    assert isinstance(belt, m.Belt)
    inside = exact(circle(a.geometry.inner_radius_mm))
    slab = Slab(row_pitch(a, 1).loop(), (inside,), 0.0, belt.width_mm)
    words = f"closed timing belt, {belt.teeth} teeth"
    designation = f"{belt.designation} {belt.teeth} teeth {belt.width_mm:g} mm"
    return Part("belt", words, 1, Body((slab,)), "", group=Group.FLEXIBLE_RING, designation=designation)


def _flexible(a: Assessment) -> tuple[Part, ...]:
    parts = (belt_part(a),) if isinstance(a.design.flexible_ring, m.Belt) else flexible_parts(a)
    return tuple(replace(part, group=Group.FLEXIBLE_RING) for part in parts)


def flexible_placed(a: Assessment, l: Layout) -> tuple[Placed, ...]:  # noqa: E741 - as all such functions
    """The flexible ring, cup or belt where it stands, as made."""
    place = flexible_place(l.flexible_open_z_mm, l.flexible_over)
    cup = a.design.is_cup
    step, side = (Step.OUTPUT, Side.REAR) if cup else (Step.RING_ON_GENERATOR, Side.FRONT)
    return tuple(Placed(part, (place,), Member.FLEXIBLE, step, side) for part in _flexible(a))


def rings_placed(a: Assessment, l: Layout) -> tuple[Placed, ...]:  # noqa: E741
    """The rigid rings; the one that is held lies on z = 0."""
    found = []
    for ring, mesh in zip(a.design.rigid_ring, a.rings, strict=True):
        way = -1.0 if l.flexible_over else 1.0
        place = Place(z_mm=l.flexible_open_z_mm + way * ring.offset_mm, over=l.flexible_over)
        held = ring.name == l.rear_ring.name
        member, step = (Member.HELD, Step.HELD_RING) if held else (Member.OUTPUT, Step.OUTPUT)
        part = replace(rigid_ring(a, ring, mesh), group=Group.RIGID_RING)
        found.append(Placed(part, (place,), member, step, Side.FRONT if held else Side.REAR))
    return tuple(found)


def plain_placed(a: Assessment) -> tuple[Placed, ...]:
    """Rings, flexible ring and the made parts of the generator, each as it lies, with the member that it belongs to."""
    fixed = a.design.motion.fixed
    found = []
    for ring, mesh in zip(a.design.rigid_ring, a.rings, strict=True):
        part = replace(rigid_ring(a, ring, mesh), group=Group.RIGID_RING)
        found.append((part, Member.HELD if ring.name == fixed else Member.OUTPUT))
    found += [(part, Member.FLEXIBLE) for part in _flexible(a)]
    found += [(replace(part, group=Group.GENERATOR), Member.GENERATOR) for part in generator_parts(a)]
    return tuple(Placed(part, (Place(),) * part.quantity, member) for part, member in found)


MAKERS: tuple[Callable[[Assessment, Layout], tuple[Placed, ...]], ...] = (
    rings_placed,
    flexible_placed,
    generator_placed,
    frame_parts,
    output_parts,
    cover_parts,
    input_parts,
    arm_parts,
)


def assembled(a: Assessment) -> tuple[Placed, ...]:
    """Every part of the drive where it stands at generator angle 0, as made.

    Where no assembly is laid out (:func:`not_assembled` says why) these are only its own parts, each as it lies, in no place
    to one another. Raises DesignFault where a part cannot exist.
    """
    if not_assembled(a):
        return plain_placed(a)
    frame = layout(a)
    return tuple(placed for make in MAKERS for placed in make(a, frame))
