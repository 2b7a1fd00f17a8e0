"""All parts of a drive put in their places: rings, flexible ring, generator, frame, output, covers, input and arms."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from lobewright.assessment.results import Assessment
from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.design.holding import bearings_on_an_axle
from lobewright.errors import DesignFault
from lobewright.make.advising import with_advice
from lobewright.make.arranging import arrangement
from lobewright.make.bodies import Body, Group, Part, Slab, exact
from lobewright.make.bought import bearing_part
from lobewright.make.corner_relief import as_cut
from lobewright.make.flexible_as_set import flexible_place
from lobewright.make.keeping import keeper
from lobewright.make.layout import Layout, layout, open_radius_mm
from lobewright.make.order import Side, Step
from lobewright.make.outlines import circle
from lobewright.make.parts_arms import arm_parts
from lobewright.make.parts_cover import cautions, cover_parts
from lobewright.make.parts_flexible import flexible_parts, row_pitch
from lobewright.make.parts_frame import frame_parts, thin_tubes
from lobewright.make.parts_generator import generator_parts
from lobewright.make.parts_generator_placed import generator_placed
from lobewright.make.parts_inputs import input_parts
from lobewright.make.parts_output import output_parts
from lobewright.make.parts_rings import rigid_ring
from lobewright.make.placing import Member, Place, Placed
from lobewright.make.registering import ring_dowels
from lobewright.ring.generator import lobe_angles_rad


def _laid_out(a: Assessment) -> tuple[Layout | None, str]:
    """The layout, or None and why there is none."""
    reason = arrangement(a.design)[1]
    if reason:
        return None, reason
    try:
        return layout(a), ""
    except DesignFault as fault:
        return None, " ".join(fault.sentences())


def not_assembled(a: Assessment) -> str:
    """Why no assembly of a drive is laid out, in words; empty where one is.

    Either its motion has no arrangement of ours, or a part of the frame has no room; then it says what would give it room.
    """
    return _laid_out(a)[1]


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


def _generator_bearings(a: Assessment) -> tuple[Part, ...]:
    """Rollers or the bearings of discs, of which the made parts of a generator do not tell."""
    generator = a.design.generator
    if isinstance(generator, m.Cam):
        return ()
    bearing = catalogue.bearing(generator.bearing)
    discs = isinstance(generator, m.Discs)
    count = 2 if discs else len(lobe_angles_rad(a.setting)) * bearings_on_an_axle(a.design, bearing)
    return (bearing_part(bearing, count, "roller", "ball bearing of the generator"),)


def plain_placed(a: Assessment) -> tuple[Placed, ...]:
    """Rings, flexible ring, generator and its bearings, each as it lies, with the member that it belongs to."""
    fixed = a.design.motion.fixed
    found = []
    for ring, mesh in zip(a.design.rigid_ring, a.rings, strict=True):
        part = replace(rigid_ring(a, ring, mesh), group=Group.RIGID_RING)
        found.append((part, Member.HELD if ring.name == fixed else Member.OUTPUT))
    found += [(part, Member.FLEXIBLE) for part in _flexible(a)]
    found += [(replace(part, group=Group.GENERATOR), Member.GENERATOR) for part in generator_parts(a)]
    found += [(part, Member.GENERATOR) for part in _generator_bearings(a)]
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
    frame = _laid_out(a)[0]
    if frame is None:
        found = plain_placed(a)
    else:
        found = tuple(placed for make in MAKERS for placed in make(a, frame))
    return tuple(replace(one, part=with_advice(as_cut(one.part, a.design.process), a)) for one in found)


def assembly_cautions(a: Assessment) -> tuple[str, ...]:
    """What to know of the assembly before making it and to heed while it runs; nothing where none is laid out."""
    frame = _laid_out(a)[0]
    if frame is None:
        return ()
    kept = [keeper(a, frame, front, open_radius_mm(a, ring))[1] for front, ring in _carried(frame)]
    loose = [
        f"nothing centres rigid ring {ring.name}: turn the axle slowly while you tighten its screws crosswise"
        for _, ring in _carried(frame)
        if not ring_dowels(a, ring)
    ]
    return tuple(
        dict.fromkeys((*frame.cautions, *thin_tubes(frame), *(one for one in kept if one), *loose, *cautions(a)))
    )


def _carried(frame: Layout) -> tuple[tuple[bool, m.RigidRing], ...]:
    """The rigid rings, each with whether it is carried by the output."""
    return ((False, frame.rear_ring), *(((True, frame.front_ring),) if frame.front_ring else ()))
