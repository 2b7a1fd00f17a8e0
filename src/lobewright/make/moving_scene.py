"""From an assessment to the parameters of the moving page."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from lobewright import motion as kinematics
from lobewright.assessment.results import Assessment
from lobewright.errors import Fault, MotionFault
from lobewright.make import moving_page as page
from lobewright.make.moving_loads import LoadCase, Loads, RingPush
from lobewright.ring.generator import Contact, Setting
from lobewright.torque.results import LoadShare

SHAPE_POINTS = 384


def _wheels(setting: Setting, found: Assessment) -> tuple[page.Wheel, ...]:
    """Rollers and discs as circles, a cam with its bearing as the inner surface of the ring that it carries."""
    lobes = range(setting.lobes)
    inner = found.geometry.inner_offset_mm
    if setting.contact in (Contact.ROUND, Contact.PAIRED):
        radius = setting.contact_radius_mm - inner
        offsets = (0.0,) if setting.contact is Contact.ROUND else (setting.half_angle_rad, -setting.half_angle_rad)
        angles = [2 * math.pi * k / setting.lobes + offset for k in lobes for offset in offsets]
        at = setting.distance_mm
        return tuple(page.Wheel(at * math.cos(a), at * math.sin(a), radius) for a in angles)
    shape = found.set_shape
    depth = inner + 0.02 * found.geometry.neutral_radius_mm / 10
    x = shape.x_mm - depth * np.cos(shape.normal_rad)
    y = shape.y_mm - depth * np.sin(shape.normal_rad)
    return (page.Wheel(outline_mm=tuple(zip(x[::2].tolist(), y[::2].tolist(), strict=True))),)


def _space_outline(found: Assessment, index: int) -> np.ndarray:
    """One tooth space with half a land on either side."""
    space = found.rings[index].space
    line = space.outline_mm()
    half = space.pitch_rad / 2
    ends = [(space.tip_radius_mm * math.cos(a), space.tip_radius_mm * math.sin(a)) for a in (-half, half)]
    return np.vstack((ends[0], line, ends[1]))


def moving(found: Assessment) -> page.Motion:
    """Parameters of the moving page for a design, as set."""
    moves, shape = found.motion, found.set_shape
    turns = moves.turns_in_generator_turn or moves.turns
    step = max(1, len(shape.arc_mm) // SHAPE_POINTS)
    neutral = page.NeutralShape(
        shape.x_mm[::step], shape.y_mm[::step], shape.normal_rad[::step], shape.radius_mm, shape.lobes
    )
    counts = list(dict.fromkeys(mesh.flexible_teeth for mesh in found.rings))
    outlines = {mesh.flexible_teeth: mesh.outline.points_mm for mesh in found.rings}
    rings = tuple(
        page.RigidRing(
            mesh.name,
            mesh.space.teeth,
            counts.index(mesh.flexible_teeth),
            _space_outline(found, i),
            mesh.space.tip_radius_mm,
            mesh.space.root_radius_mm,
            mesh.space.root_radius_mm + made.rim_mm,
            float(turns[mesh.name]),
        )
        for i, (mesh, made) in enumerate(zip(found.rings, found.design.rigid_ring, strict=True))
    )
    names = {kinematics.FLEXIBLE: page.FLEXIBLE}
    return page.Motion(
        shape=neutral,
        rows=tuple(page.FlexibleRow(count, outlines[count]) for count in counts),
        inner_offset_mm=found.geometry.inner_offset_mm,
        flexible_turns=float(turns[kinematics.FLEXIBLE]),
        rings=rings,
        wheels=_wheels(found.setting, found),
        held=names.get(moves.fixed, moves.fixed),
        driven=names.get(moves.driven, moves.driven),
        read=names.get(moves.read, moves.read),
        ratio_text=moves.ratio_text,
        generator_turns=float(turns[kinematics.GENERATOR]),
        flexible_name="Cup" if found.design.is_cup else "Flexible ring",
    )


def _wheel_order(setting: Setting, wheels: Sequence[page.Wheel]) -> list[int]:
    """For every wheel of the page its place among the bodies of the results (lobe by lobe, clockwise side first)."""
    sides = (-1.0, 1.0) if setting.contact is Contact.PAIRED else (0.0,)
    angles = np.array(
        [
            2 * math.pi * k / setting.lobes + side * setting.half_angle_rad
            for k in range(setting.lobes)
            for side in sides
        ]
    )
    return [int(np.argmax(np.cos(angles - math.atan2(wheel.y_mm, wheel.x_mm)))) for wheel in wheels]


def _ring_push(share: LoadShare, index: int, order: Sequence[int]) -> RingPush:
    """Pushes on one rigid ring and of the wheels on its row, turned into the generator's frame."""
    row = share.rows[index]
    turn = math.radians(float(row.section_label_deg[0]))
    c, s = math.cos(turn), math.sin(turn)
    bodies = share.body_force_n[:, index, :] @ np.array([[c, s], [-s, c]])
    return RingPush(-row.tangential_n, -row.outward_n, bodies[list(order)], math.radians(float(row.label_deg[0])))


def moving_loads(found: Assessment, shares: Sequence[LoadShare]) -> Loads:
    """Contact forces of the moving page from load shares at several torques (both directions where given).

    Raises MotionFault where shares repeat a torque or belong to another drive.
    """
    order = _wheel_order(found.setting, _wheels(found.setting, found)) if len(shares[0].arm_mm) else []
    names = [mesh.name for mesh in found.rings]
    cases = []
    for share in shares:
        by_name = {row.name: index for index, row in enumerate(share.rows)}
        if sorted(by_name) != sorted(names):
            raise MotionFault([Fault("forces of other rings", "loads", 0, ", ".join(by_name), ", ".join(names))])
        cases.append(LoadCase(share.torque_nmm, tuple(_ring_push(share, by_name[name], order) for name in names)))
    slow = next(name for name in (found.motion.read, found.motion.driven) if name != kinematics.GENERATOR)
    member = page.FLEXIBLE if slow == kinematics.FLEXIBLE else slow
    return Loads(member, found.geometry.pitch_height_mm, tuple(cases))


LOAD_WORDS = (
    "Forces: computed for the generator as it stands at the start, frictionless, and drawn on the unloaded shape. Seen from "
    "the generator they stand still, to first order, while the teeth run through them; what a tooth carries between two "
    "known places is taken on the straight line between both, so the sum of all teeth stays the same."
)


def moving_html(found: Assessment, shares: Sequence[LoadShare] = ()) -> str:
    """``motion.html`` of a design; with load shares it also shows contact forces at their torques."""
    design = found.design
    before = [text for text in (design.about, *found.cautions[:1]) if text]
    state = "unloaded" if shares else "no torque"
    after = [
        f"Computed shape of the unstretched neutral line at {found.set_deflection_mm:.3f} mm deflection; true geometry, "
        f"{state}. Tooth spaces are the region that the flexible teeth sweep, grown by the clearance.",
        *([LOAD_WORDS] if shares else []),
    ]
    loads = moving_loads(found, shares) if shares else None
    return page.drive_page(moving(found), design.name, before, after, loads)
