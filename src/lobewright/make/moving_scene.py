"""From an assessment to the parameters of the moving page."""

from __future__ import annotations

import math

import numpy as np

from lobewright import motion as kinematics
from lobewright.assessment.results import Assessment
from lobewright.make import moving_page as page
from lobewright.ring.generator import Contact, Setting

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


def moving_html(found: Assessment) -> str:
    """``motion.html`` of a design."""
    design = found.design
    before = [text for text in (design.about, *found.cautions[:1]) if text]
    after = (
        f"Computed shape of the unstretched neutral line at {found.set_deflection_mm:.3f} mm deflection; true geometry, "
        "no torque. Tooth spaces are the region that the flexible teeth sweep, grown by the clearance.",
    )
    return page.drive_page(moving(found), design.name, before, after)
