"""The figures of the report in order, each with its caption."""

from __future__ import annotations

import math
from dataclasses import dataclass

from lobewright.assessment.results import Assessment
from lobewright.design import model as m
from lobewright.picture.display import Picture
from lobewright.picture.palette import Role
from lobewright.report import drive_scene as scene
from lobewright.report import figures as chart
from lobewright.report.figures import signed

WIDTH_PX = 480.0


@dataclass(frozen=True)
class Figure:
    """A picture with its short name, the words under it, and colours named: (role, meaning)."""

    key: str
    picture: Picture
    width_px: float
    title: str
    caption: str
    chips: tuple[tuple[Role, str], ...] = ()


def drive_chips(a: Assessment) -> tuple[tuple[Role, str], ...]:
    """Colours of the drawn members and what they stand for."""
    index = scene.shown_first(a)
    mesh = a.rings[index]
    return (
        (Role.RING_A if index % 2 == 0 else Role.RING_B, f"ring {mesh.name}, {mesh.space.teeth} teeth"),
        (Role.FLEXIBLE, f"flexible ring, {mesh.flexible_teeth} teeth"),
        (Role.GENERATOR, "wave generator"),
    )


def drive_figure(a: Assessment) -> Figure:
    """The bent ring on its generator."""
    index = scene.shown_first(a)
    others = [other.name for i, other in enumerate(a.rings) if i != index]
    behind = f" Ring {', '.join(others)} lies behind it and is not drawn." if others else ""
    caption = (
        "Seen from the output side, to scale, as set. The dashed circle is where the neutral line lay before bending."
        + behind
    )
    return Figure(
        "drive", scene.whole_drive(a, WIDTH_PX), WIDTH_PX, "The bent ring on its generator", caption, drive_chips(a)
    )


def _mesh_figures(a: Assessment) -> list[Figure]:
    where = " Cut in the middle of the face." if a.design.is_cup else ""
    found = []
    for index, mesh in enumerate(a.rings):
        equal = mesh.space.teeth == mesh.flexible_teeth
        story = (
            "Both have as many teeth, so each flexible tooth stays in its own space and circles in it."
            if equal
            else "At the lobe the teeth are in mesh; toward the minor axis they leave it and pass to the next space."
        )
        caption = f"{story} The mark shows the nearest gap of the middle tooth as set.{where}"
        title = f"Teeth of ring {mesh.name}, from lobe to minor axis"
        found.append(Figure(f"mesh{index + 1}", scene.mesh_close_ups(a, index, WIDTH_PX), WIDTH_PX, title, caption))
    return found


def _land_figure(a: Assessment) -> Figure:
    unit, thing, _ = chart.smallest_unit(a)
    made = "printed" if isinstance(a.design.process, m.Printer) else "cut"
    caption = (
        f"Tip of the tooth at the bottom, root at the top. Left of the first line ({unit:g} mm, one {thing}) a tooth "
        f"cannot be {made}; between the lines it is weak. The dot is the thinnest place."
    )
    return Figure("land", chart.land_chart(a, WIDTH_PX), WIDTH_PX, "How thick the rigid teeth are", caption)


def bending_figure(a: Assessment) -> Figure:
    """Curvature and strain round the ring."""
    shape = a.set_shape
    tightest = 1.0 / float(shape.curvature_1_per_mm.max())
    strain = a.strain
    repeat = {2: "twice", 3: "three times"}[a.design.lobes]
    caption = (
        f"From one minor axis over a lobe to the next; it repeats {repeat} round the ring. Above zero the ring is "
    )
    caption += f"bent more than before, below zero it is flatter. The tightest bend has a radius of {tightest:.2f} mm."
    if not isinstance(a.design.flexible_ring, m.Belt):
        caption += f" A face is strained to and fro by {100 * strain.amplitude:.3f} % (estimate on the plain wall)."
    loose = a.loosest_shape
    if isinstance(a.design.generator, m.Cam) and loose.lifts_off and not shape.lifts_off:
        caption += (
            f" At the loosest fit the ring leaves the cam {math.degrees(loose.contact_rad):.0f}° from the lobe; "
            "drawn is the fit as named."
        )
    return Figure("bending", chart.curvature_chart(a, WIDTH_PX), WIDTH_PX, "Bending round the flexible ring", caption)


def _case_figure(a: Assessment) -> Figure:
    worst = min((mesh.worst_case for mesh in a.rings), key=lambda case: case.smallest_gap_mm)
    caption = (
        "Each bar is the smallest gap over a whole turn in one state that the built drive may be in. As designed the gap "
        "is the clearance by construction and proves nothing; the others do. Worst: ring "
        f"{worst.ring}, {worst.case}, {signed(worst.smallest_gap_mm)} mm."
    )
    title = "Smallest gap of teeth when things are off nominal"
    return Figure("cases", chart.case_chart(a, WIDTH_PX), WIDTH_PX, title, caption)


def _cup_figures(a: Assessment) -> list[Figure]:
    if not a.design.is_cup:
        return []
    caption = (
        "A cup opens like a cone: its open edge is pushed out more than the far edge of the teeth, so depth in mesh and "
        "gap differ along the face. The scale outward is stretched. The change along the face is an estimate from "
        "thin-shell theory."
    )
    return [
        Figure(
            f"edges{index + 1}",
            chart.cup_edges_chart(a, index, WIDTH_PX),
            WIDTH_PX,
            f"Both edges of the mesh, ring {mesh.name}",
            caption,
        )
        for index, mesh in enumerate(a.rings)
    ]


def more_figures(a: Assessment) -> tuple[Figure, ...]:
    """The figures that stand by themselves, in reading order."""
    return (*_mesh_figures(a), _case_figure(a), _land_figure(a), *_cup_figures(a))
