"""Charts of the report: land, curvature, gaps off nominal, and both edges of a cup's mesh."""

from __future__ import annotations

import math

import numpy as np

from lobewright.assessment.results import Assessment, RingMesh
from lobewright.design import model as m
from lobewright.picture.display import Anchor, Disc, Group, Item, Path, Picture, Placement, Point, Text
from lobewright.picture.palette import Role
from lobewright.report.chart import (
    PLAIN_PX,
    SMALL_PX,
    Frame,
    box,
    line,
    right_axis,
    round_ticks,
    x_axis,
    y_axis,
)
from lobewright.report.drive_scene import ring_roles

LONGEST_NAME = 14
LEAST_SPAN_MM = 1e-3


def signed(value: float, places: int = 3) -> str:
    """A number with a true minus sign, never minus zero."""
    text = f"{value:.{places}f}"
    return text.replace("-", "−") if float(text) else text.lstrip("-")


def short_name(name: str) -> str:
    """A ring's name cut to what a chart's key has room for."""
    return name if len(name) <= LONGEST_NAME else f"{name[: LONGEST_NAME - 1]}…"


def smallest_unit(a: Assessment) -> tuple[float, str, str]:
    """Width in mm of the thinnest thing that the process makes, its name, and a short name for a chart."""
    process = a.design.process
    if isinstance(process, m.Printer):
        return process.extrusion_width_mm, "extrusion width", "width"
    return process.smallest_land_mm, "smallest land that can be cut", "least"


def _land_curve(mesh: RingMesh, frame: Frame) -> tuple[Point, ...]:
    rise = mesh.space.radius_mm - mesh.space.tip_radius_mm
    return frame.curve(mesh.space.land_mm, rise)


def land_chart(a: Assessment, width_px: float) -> Picture:
    """Figure: thickness of the rigid teeth at every height, with one and two extrusion widths marked."""
    unit, thing, short = smallest_unit(a)
    rises = [mesh.space.root_radius_mm - mesh.space.tip_radius_mm for mesh in a.rings]
    pitch = max(mesh.space.pitch_rad * mesh.space.root_radius_mm for mesh in a.rings)
    most = 1.04 * max(2.4 * unit, min(pitch, max(float(mesh.space.land_mm.max()) for mesh in a.rings)))
    frame = Frame(56.0, 52.0, width_px - 14.0, 330.0, 0.0, most, 0.0, 1.04 * max(rises))
    one, two = frame.x(unit), frame.x(2 * unit)
    items: list[Item] = [
        Group((Path(box(frame.left, frame.bottom, one, frame.top).loops, hatch=Role.FAIL),), fade=0.45),
        Group((Path(box(one, frame.bottom, two, frame.top).loops, hatch=Role.WARN),), fade=0.3),
        *y_axis(frame, "height above the tip circle, mm", round_ticks(0.0, frame.y_high), rules=False),
        *x_axis(frame, "thickness of a rigid tooth, mm", round_ticks(0.0, most)),
        line((one, frame.bottom), (one, frame.top), Role.INK, 1.2),
        line((two, frame.bottom), (two, frame.top), Role.INK, 1.2),
        Text((one - 4, frame.top - 8), f"1 × {short}", SMALL_PX, Role.INK, Anchor.END, math.pi / 2, strong=True),
        Text((two - 4, frame.top - 8), f"2 × {short}", SMALL_PX, Role.INK, Anchor.END, math.pi / 2, strong=True),
        frame.box(),
    ]
    curves = [
        Path((_land_curve(mesh, frame),), closed=False, line=ring_roles(i)[0], line_px=2.5, dash_px=8.0 * i)
        for i, mesh in enumerate(a.rings)
    ]
    items.append(Group(tuple(curves), (Placement(),), clip=frame.clip()))
    for i, mesh in enumerate(a.rings):
        at = int(np.argmin(mesh.space.land_mm))
        spot = frame.at(float(mesh.space.land_mm[at]), float(mesh.space.radius_mm[at] - mesh.space.tip_radius_mm))
        items.append(Disc(spot, 4.5, fill=ring_roles(i)[0]))
    items += _key(a, frame.right, frame.top + 32, [f"thinnest {signed(x.space.least_land_mm)} mm" for x in a.rings])
    return Picture(
        (0.0, 6.0, width_px, frame.top + 50.0 + 18.0 * (len(a.rings) - 1)),
        tuple(items),
        "Thickness of the rigid teeth at every height",
        f"One {thing} is {unit:g} mm. "
        + "; ".join(f"ring {x.name}: thinnest {x.space.least_land_mm:.3f} mm" for x in a.rings),
    )


def _key(a: Assessment, right: float, low: float, notes: list[str]) -> list[Item]:
    """Names of the rings with their line, stacked above ``low``, ending at ``right``."""
    items: list[Item] = []
    for i, (mesh, note) in enumerate(zip(a.rings, notes, strict=True)):
        y = low + 18 * (len(a.rings) - 1 - i)
        name = f"ring {short_name(mesh.name)}, {note}"
        start = right - 6.9 * len(name)
        items.append(line((start - 38, y + 4), (start - 7, y + 4), ring_roles(i)[0], 2.5, 8.0 * i))
        items.append(Text((start, y), name, SMALL_PX, Role.INK))
    return items


def _round_labels(lobes: int) -> tuple[tuple[float, ...], tuple[str, ...]]:
    """Ticks in degrees from one minor axis over a lobe to the next, with words at the axes."""
    half = 180.0 / lobes
    ticks = (-half, -half / 2, 0.0, half / 2, half)
    return ticks, ("minor axis", f"−{half / 2:.0f}°", "lobe", f"{half / 2:.0f}°", "minor axis")


def curvature_chart(a: Assessment, width_px: float) -> Picture:
    """Figure: change of curvature from one minor axis to the next, with the strain of the outer fibre beside it."""
    shape, geometry = a.set_shape, a.geometry
    half = shape.points_per_half_lobe
    index = np.arange(-half, half + 1)
    degrees = index * (360.0 / len(shape.arc_mm))
    unit = shape.deflection_mm / shape.radius_mm**2
    change = (shape.curvature_1_per_mm[index] - 1 / shape.radius_mm) / unit
    low, high = float(change.min()), float(change.max())
    room = 0.12 * (high - low)
    ticks, words = _round_labels(shape.lobes)
    belt = isinstance(a.design.flexible_ring, m.Belt)
    frame = Frame(56.0, 52.0, width_px - 56.0, 310.0, ticks[0], ticks[-1], low - room, high + room)
    items: list[Item] = [
        *y_axis(frame, "change of curvature, w0/R²", round_ticks(frame.y_low, frame.y_high)),
        *x_axis(frame, "place along the ring, counted from a lobe", ticks, words),
    ]
    strain = 100 * geometry.fibre_out_mm * unit
    if not belt and strain > 0:
        shown = round_ticks(frame.y_low * strain, frame.y_high * strain)
        items += right_axis(frame, "strain of the outer face, %", shown, [tick / strain for tick in shown])
    items += [
        line(frame.at(ticks[0], 0.0), frame.at(ticks[-1], 0.0), Role.INK, 1.0),
        *_contact_marks(a, frame),
        Path((frame.curve(degrees, change),), closed=False, line=Role.FLEXIBLE, line_px=2.5),
        frame.box(),
    ]
    tightest = int(np.argmax(change))
    radius = 1.0 / float(shape.curvature_1_per_mm[index][tightest])
    return Picture(
        (0.0, 6.0, width_px, 342.0),
        tuple(items),
        "Bending round the flexible ring",
        f"From one minor axis over a lobe to the next; the tightest bend has a radius of {radius:.2f} mm.",
    )


def _contact_marks(a: Assessment, frame: Frame) -> list[Item]:
    """Where the generator touches the ring: lines at rollers, a band along a cam or disc."""
    contact = math.degrees(a.set_shape.contact_rad)
    base = frame.bottom
    if a.set_shape.force_factor == 0.0:
        reach = min(contact, frame.x_high)
        return [
            box(frame.x(-reach), base, frame.x(reach), base + 7, fill=Role.GENERATOR),
            Text((frame.x(0.0), base + 12), "generator touches here", SMALL_PX, Role.INK, Anchor.MIDDLE),
        ]
    places = (0.0,) if contact == 0.0 else (-contact, contact)
    items: list[Item] = []
    for place in places:
        x = frame.x(place)
        items.append(line((x, frame.bottom), (x, frame.top), Role.GENERATOR, 1.2, 4.0))
        items.append(Path((((x - 6, base), (x + 6, base), (x, base + 10)),), fill=Role.GENERATOR))
    word = "roller" if isinstance(a.design.generator, (m.Rollers, m.PairedRollers)) else "disc"
    items.append(Text((frame.x(places[-1]) + 10, base + 6), word, SMALL_PX, Role.INK))
    return items


def case_chart(a: Assessment, width_px: float) -> Picture:
    """Figure: smallest gap of teeth in every state that was checked, as bars from zero."""
    names = list(dict.fromkeys(case.case for mesh in a.rings for case in mesh.cases))
    gaps = [{case.case: case.smallest_gap_mm for case in mesh.cases} for mesh in a.rings]
    values = [gap for row in gaps for gap in row.values()]
    low, high = min(0.0, *values), max(LEAST_SPAN_MM, *values)
    bar = 15.0 if len(a.rings) < 3 else 11.0
    step = bar * len(a.rings) + 13.0
    foot = 20.0 if low < 0 else 0.0
    tall = step * len(names) + foot
    room = 0.18 * (high - low)
    least = low - (1.6 * room if low < 0 else 0.0)
    frame = Frame(128.0, 62.0, width_px - 14.0, 62.0 + tall, least, high + room, 0.0, tall)
    items: list[Item] = [*x_axis(frame, "smallest gap, mm", round_ticks(frame.x_low, frame.x_high))]
    if low < 0:
        left = Path(box(frame.left, frame.bottom + foot, frame.x(0.0), frame.top).loops, hatch=Role.FAIL)
        items.append(Group((left,), fade=0.45))
        items.append(
            Text((frame.left + 6, frame.bottom + 7), "left of zero the teeth cut into the ring", SMALL_PX, Role.FAIL)
        )
    for row, name in enumerate(names):
        top = frame.top - row * step - 6.5
        items.append(Text((frame.left - 8, top - bar * len(a.rings) / 2 - 4), name, SMALL_PX, Role.INK, Anchor.END))
        for i, gap in enumerate(gaps):
            if name in gap:
                items += _bar(frame, gap[name], top - bar * i, bar, i)
    items += [line((frame.x(0.0), frame.bottom), (frame.x(0.0), frame.top), Role.INK, 1.5), frame.box()]
    items += _case_key(a, frame)
    return Picture(
        (0.0, 16.0, width_px, frame.top + 22.0),
        tuple(items),
        "Smallest gap of teeth in every state checked",
        "; ".join(f"ring {x.name}: worst {x.worst_case.smallest_gap_mm:.3f} mm, {x.worst_case.case}" for x in a.rings),
    )


def _bar(frame: Frame, gap: float, top: float, bar: float, index: int) -> list[Item]:
    edge, soft = ring_roles(index)
    zero, end = frame.x(0.0), frame.x(gap)
    away = 5.0 if gap >= 0 else -5.0
    anchor = Anchor.START if gap >= 0 else Anchor.END
    colour = Role.INK if gap >= 0 else Role.FAIL
    return [
        Path(box(min(zero, end), top - bar + 2, max(zero, end), top).loops, fill=soft, line=edge),
        Text((end + away, top - bar / 2 - 3.5), signed(gap), SMALL_PX, colour, anchor, strong=gap < 0),
    ]


def _case_key(a: Assessment, frame: Frame) -> list[Item]:
    if len(a.rings) == 1:
        return []
    items: list[Item] = []
    x = frame.right
    for i, mesh in reversed(list(enumerate(a.rings))):
        edge, soft = ring_roles(i)
        name = f"ring {short_name(mesh.name)}"
        x -= 6.6 * len(name)
        items.append(Text((x, frame.top + 7), name, SMALL_PX, Role.INK))
        items.append(Path(box(x - 20, frame.top + 6, x - 6, frame.top + 17).loops, fill=soft, line=edge))
        x -= 36.0
    return items


def cup_edges_chart(a: Assessment, index: int, width_px: float) -> Picture:
    """Figure for cups: tips of both teeth along the face, at the lobe and at the minor axis, axially to one scale and
    radially to a larger one."""
    mesh, made = a.rings[index], a.design.rigid_ring[index]
    edges = sorted(mesh.edges, key=lambda edge: edge.section.from_edge_mm)
    along = np.array([edge.section.from_edge_mm for edge in edges])
    depth = np.array([edge.engagement_mm for edge in edges])
    gap = np.array([edge.minor_gap_mm for edge in edges])
    root = mesh.space.root_radius_mm - mesh.space.tip_radius_mm
    low, high = -1.25 * float(gap.max()), root + 0.25 * float(depth.max() + gap.max())
    start, end = made.offset_mm, made.offset_mm + made.width_mm
    room = 0.28 * made.width_mm
    frame = Frame(56.0, 52.0, width_px - 14.0, 340.0, start - room, end + room, low, high)
    edge_role, soft = ring_roles(index)
    items: list[Item] = [
        *y_axis(frame, "outward from the rigid tip circle, mm", round_ticks(low, high)),
        *x_axis(frame, "distance from the open edge of the cup, mm", round_ticks(frame.x_low, frame.x_high)),
        Path(box(frame.x(start), frame.y(0.0), frame.x(end), frame.y(root)).loops, fill=soft, line=edge_role),
        Text(
            ((frame.x(start) + frame.x(end)) / 2, frame.y(root) + 8),
            "face of the rigid teeth",
            SMALL_PX,
            Role.QUIET,
            Anchor.MIDDLE,
        ),
    ]
    lean = np.polyfit(along, np.column_stack((depth, -gap)), 1)
    ends = np.array([frame.x_low, frame.x_high])
    for k, word in enumerate(("flexible tips at the lobe", "flexible tips at the minor axis")):
        ys = lean[0, k] * ends + lean[1, k]
        items.append(Path((frame.curve(ends, ys),), closed=False, line=Role.FLEXIBLE, line_px=2.5, dash_px=7.0 * k))
        middle = frame.at(float(along.mean()), float(lean[0, k] * along.mean() + lean[1, k]))
        items.append(Text((middle[0], middle[1] - 18), word, SMALL_PX, Role.INK, Anchor.MIDDLE))
    for edge in (edges[0], edges[-1]):
        items += _edge_marks(frame, edge.section.from_edge_mm, edge.engagement_mm, edge.minor_gap_mm, edge is edges[0])
    items.append(frame.box())
    return Picture(
        (0.0, 6.0, width_px, 372.0),
        tuple(items),
        f"Depth in mesh and gap of tips at both edges, ring {mesh.name}",
        "; ".join(
            f"{e.section.from_edge_mm:g} mm from the open edge: depth {e.engagement_mm:.3f} mm, gap {e.minor_gap_mm:.3f} mm"
            for e in edges
        ),
    )


def _edge_marks(frame: Frame, along: float, depth: float, gap: float, open_side: bool) -> list[Item]:
    """Two measures at one edge of the face: depth above the tip circle, gap below it."""
    x = frame.x(along)
    anchor, away = (Anchor.END, -7.0) if open_side else (Anchor.START, 7.0)
    items: list[Item] = []
    for value, word in ((depth, "depth"), (-gap, "gap")):
        items.append(line((x, frame.y(0.0)), (x, frame.y(value)), Role.TOOTH_MARK, 2.5))
        items += [Disc((x, frame.y(end)), 3.0, fill=Role.TOOTH_MARK) for end in (0.0, value)]
        middle = (frame.y(0.0) + frame.y(value)) / 2
        items.append(Text((x + away, middle + 2), word, SMALL_PX, Role.INK, anchor))
        items.append(Text((x + away, middle - 13), signed(abs(value)), PLAIN_PX, Role.TOOTH_MARK, anchor, strong=True))
    return items
