"""Drawings of the drive itself, to scale: the whole mesh seen along the axis, and close-ups of a few teeth.

Everything is in the generator's frame with x along a major axis. Drawn is the moment at which a flexible tooth stands at
the asked place; the rigid ring is turned with it by the teeth's own count.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely

from lobewright.assessment.results import Assessment, RingMesh
from lobewright.design import model as m
from lobewright.picture.display import Anchor, Disc, Group, Item, Path, Picture, Placement, Point, Text
from lobewright.picture.palette import Role
from lobewright.report.chart import PLAIN_PX, SMALL_PX, box, line
from lobewright.ring.generator import Contact
from lobewright.ring.shape import RingShape

Array = np.ndarray
RING_ROLES = ((Role.RING_A, Role.RING_A_SOFT), (Role.RING_B, Role.RING_B_SOFT))
CIRCLE_PARTS = 180
LEAST_OVERLAP_MM2 = 1e-6
SHOWN_ERROR = 5e-4
"""Share of the outer radius by which an outline of the whole drive may be off: a tenth of a px."""


def ring_roles(index: int) -> tuple[Role, Role]:
    """Edge and body colour of a rigid ring by its place in the design."""
    return RING_ROLES[index % 2]


def _points(array: Array) -> tuple[Point, ...]:
    return tuple((float(x), float(y)) for x, y in array)


def _thin(points: Array, error_mm: float) -> Array:
    return shapely.get_coordinates(shapely.simplify(shapely.linestrings(points), error_mm))


def turned(points: Array, angle_rad: float) -> Array:
    """Points (N, 2) turned about the origin."""
    c, s = math.cos(angle_rad), math.sin(angle_rad)
    return points @ np.array([[c, s], [-s, c]])


def neutral_at(shape: RingShape, label_rad: float) -> tuple[float, float, float]:
    """Place in mm and normal in rad of the neutral line at a material label; straight between samples."""
    count = len(shape.arc_mm)
    at = label_rad / (2 * math.pi) * count
    first = math.floor(at)
    part = at - first
    a, b = first % count, (first + 1) % count
    turn = (shape.normal_rad[b] - shape.normal_rad[a] + math.pi) % (2 * math.pi) - math.pi
    return (
        float(shape.x_mm[a] + part * (shape.x_mm[b] - shape.x_mm[a])),
        float(shape.y_mm[a] + part * (shape.y_mm[b] - shape.y_mm[a])),
        float(shape.normal_rad[a] + part * turn),
    )


def posed_tooth(mesh: RingMesh, shape: RingShape, label_rad: float, points: Array | None = None) -> Array:
    """Outline (N, 2) of the flexible tooth that stands at a label, in the generator's frame."""
    x, y, normal = neutral_at(shape, label_rad)
    outline = mesh.outline.points_mm if points is None else points
    c, s = math.cos(normal), math.sin(normal)
    return outline @ np.array([[-s, c], [c, s]]) + (x, y)


def ring_edge(mesh: RingMesh, turn_rad: float, first: int, last: int, error_mm: float) -> Array:
    """Toothed edge (N, 2) of a rigid ring from space ``first`` to ``last``, the ring turned by ``turn_rad``."""
    space = _thin(mesh.space.outline_mm(), error_mm)
    pitch = mesh.space.pitch_rad
    return np.vstack([turned(space, turn_rad + pitch * k) for k in range(first, last + 1)])


def flexible_loops(a: Assessment, mesh: RingMesh, shape: RingShape, error_mm: float) -> tuple[Array, Array]:
    """Toothed outside and smooth inside of the whole flexible ring, a tooth at the lobe."""
    tooth = _thin(mesh.outline.points_mm, error_mm)
    step = 2 * math.pi / mesh.flexible_teeth
    outside = np.vstack([posed_tooth(mesh, shape, k * step, tooth) for k in range(mesh.flexible_teeth)])
    depth = a.geometry.inner_offset_mm
    inside = np.column_stack(
        (shape.x_mm - depth * np.cos(shape.normal_rad), shape.y_mm - depth * np.sin(shape.normal_rad))
    )
    return outside, inside


def _circle(radius: float) -> tuple[Point, ...]:
    angles = np.arange(CIRCLE_PARTS) * (2 * math.pi / CIRCLE_PARTS)
    return _points(np.column_stack((radius * np.cos(angles), radius * np.sin(angles))))


def cam_outlines(a: Assessment) -> tuple[Array, Array]:
    """Outside and inside of what lies between cam and flexible ring (the thin bearing); equal for a plain cam."""
    generator = a.design.generator
    assert isinstance(generator, m.Cam)
    setting = a.setting.shrunk(generator.fit_mm / (2 * math.pi))
    u = np.arange(2 * CIRCLE_PARTS) * (math.pi / CIRCLE_PARTS)
    if setting.contact is Contact.ELLIPSE:
        curve = np.column_stack((setting.a_mm * np.cos(u), setting.b_mm * np.sin(u)))
        slope = np.column_stack((-setting.a_mm * np.sin(u), setting.b_mm * np.cos(u)))
    else:
        n = setting.lobes
        r, dr = setting.a_mm + setting.b_mm * np.cos(n * u), -n * setting.b_mm * np.sin(n * u)
        c, s = np.cos(u), np.sin(u)
        curve, slope = np.column_stack((r * c, r * s)), np.column_stack((dr * c - r * s, dr * s + r * c))
    outward = np.column_stack((slope[:, 1], -slope[:, 0])) / np.hypot(*slope.T)[:, None]
    depth = a.geometry.inner_offset_mm
    race = generator.race_height_mm if generator.under is m.CamUnder.THIN_BEARING else 0.0
    return curve - depth * outward, curve - (depth + race) * outward


def wheel_centres(a: Assessment) -> tuple[Point, ...]:
    """Centres of rollers or discs in mm."""
    setting = a.setting
    sides = (-1.0, 1.0) if setting.contact is Contact.PAIRED else (0.0,)
    angles = [
        2 * math.pi * lobe / setting.lobes + side * setting.half_angle_rad
        for lobe in range(setting.lobes)
        for side in sides
    ]
    return tuple((setting.distance_mm * math.cos(t), setting.distance_mm * math.sin(t)) for t in angles)


def generator_items(a: Assessment) -> list[Item]:
    """The wave generator to scale: rollers on their arms, discs, or cam and thin bearing."""
    if isinstance(a.design.generator, m.Cam):
        outside, inside = cam_outlines(a)
        items: list[Item] = [Path((_points(inside),), fill=Role.GENERATOR_SOFT, line=Role.GENERATOR, line_px=1.5)]
        if a.design.generator.under is m.CamUnder.THIN_BEARING:
            items.insert(0, Path((_points(outside),), fill=Role.PANEL, line=Role.GENERATOR))
        return [*items, Disc((0.0, 0.0), 0.006 * a.geometry.neutral_radius_mm, fill=Role.GENERATOR)]
    radius = a.setting.contact_radius_mm - a.geometry.inner_offset_mm
    centres = wheel_centres(a)
    if isinstance(a.design.generator, m.Discs):
        items = [Disc(c, radius, fill=Role.GENERATOR_SOFT) for c in centres]
        items += [Disc(c, radius, line=Role.GENERATOR, line_px=1.5) for c in centres]
        return items + [Disc(c, 0.008 * radius, fill=Role.GENERATOR) for c in centres]
    items = [line((0.0, 0.0), c, Role.GENERATOR, 5.0) for c in centres]
    items.append(Disc((0.0, 0.0), 0.12 * a.geometry.neutral_radius_mm, fill=Role.GENERATOR_SOFT, line=Role.GENERATOR))
    for centre in centres:
        items.append(Disc(centre, radius, fill=Role.GENERATOR_SOFT, line=Role.GENERATOR, line_px=1.5))
        items.append(Disc(centre, 0.35 * radius, fill=Role.PAPER, line=Role.GENERATOR))
    return items


def drive_items(a: Assessment, index: int) -> list[Item]:
    """Generator, flexible ring and one rigid ring in paint order, mm."""
    mesh, made = a.rings[index], a.design.rigid_ring[index]
    edge_role, soft = ring_roles(index)
    outer = mesh.space.root_radius_mm + made.rim_mm
    error = SHOWN_ERROR * outer
    teeth = _points(ring_edge(mesh, 0.0, 0, mesh.space.teeth - 1, error))
    outside, inside = flexible_loops(a, mesh, a.set_shape, error)
    return [
        Path((teeth, _circle(outer)), fill=soft, line=edge_role),
        Path((_points(outside), _points(inside)), fill=Role.FLEXIBLE_SOFT, line=Role.FLEXIBLE),
        *generator_items(a),
    ]


def shown_first(a: Assessment) -> int:
    """The rigid ring to draw: the first whose count differs from its row's."""
    return next((i for i, ring in enumerate(a.rings) if ring.space.teeth != ring.flexible_teeth), 0)


def outer_radius_mm(a: Assessment, index: int) -> float:
    return a.rings[index].space.root_radius_mm + a.design.rigid_ring[index].rim_mm


def whole_drive(a: Assessment, width_px: float) -> Picture:
    """Figure: the bent ring on its generator inside one rigid ring, true shape, axes named."""
    index = shown_first(a)
    mesh = a.rings[index]
    outer = outer_radius_mm(a, index)
    unit = 2.0 * outer / (width_px - 64.0)
    size = outer + 32.0 * unit
    reach = outer + 6.0 * unit
    minor = math.pi / a.design.lobes
    items = drive_items(a, index)
    free = a.geometry.neutral_radius_mm
    items.append(Path((_circle(free),), line=Role.QUIET, line_px=1.0, dash_px=4.0))
    items.append(line((-reach if a.design.lobes == 2 else 0.0, 0.0), (reach, 0.0), Role.QUIET, 1.0, 7.0))
    end = (reach * math.cos(minor), reach * math.sin(minor))
    start = (-end[0], -end[1]) if a.design.lobes == 2 else (0.0, 0.0)
    items.append(line(start, end, Role.QUIET, 1.0, 7.0))
    items.append(Text((outer + 11.0 * unit, 0.0), "major axis", PLAIN_PX, Role.INK, Anchor.MIDDLE, -math.pi / 2))
    turn = 0.0 if a.design.lobes == 2 else minor - math.pi / 2
    away = outer + 11.0 * unit
    items.append(
        Text((away * math.cos(minor), away * math.sin(minor)), "minor axis", PLAIN_PX, Role.INK, Anchor.MIDDLE, turn)
    )
    return Picture(
        (-size, -size, size, size),
        tuple(items),
        f"Flexible ring bent on its generator, in ring {mesh.name}",
        f"Seen along the axis, to scale: {mesh.flexible_teeth} flexible teeth, {mesh.space.teeth} rigid teeth, "
        f"{a.setting.contact.value}. The dashed circle is the neutral line before bending.",
    )


@dataclass(frozen=True)
class Place:
    """Where a close-up looks: material label from the lobe."""

    label_rad: float
    words: str


def close_places(lobes: int) -> tuple[Place, ...]:
    """Lobe, two places between, minor axis; 20° and 45° on two lobes and the same shares of the way on three."""
    share = 2.0 / lobes
    return (
        Place(0.0, "at the lobe"),
        Place(math.radians(20 * share), f"{20 * share:.0f}° from the lobe"),
        Place(math.radians(45 * share), f"{45 * share:.0f}° from the lobe"),
        Place(math.radians(90 * share), f"minor axis, {90 * share:.0f}°"),
    )


@dataclass(frozen=True)
class CloseUp:
    """A few teeth around one place, in the generator's frame, and the nearest gap of the middle one.

    ``teeth`` and ``edge`` are outlines (N, 2) in mm, ``overlaps`` the outlines of what both claim; ``gap_line`` joins the
    nearest points of the middle tooth and the ring. ``gap_mm`` is 0 where the middle tooth overlaps the ring.
    """

    teeth: tuple[Array, ...]
    edge: Array
    overlaps: tuple[Array, ...]
    gap_line: Array
    gap_mm: float
    axis_rad: float


def close_up(mesh: RingMesh, shape: RingShape, label_rad: float, teeth: int = 2) -> CloseUp:
    """Teeth about a material label with the generator turned so that one of them stands there."""
    step = 2 * math.pi / mesh.flexible_teeth
    turn = label_rad * mesh.flexible_teeth / mesh.space.teeth
    posed = tuple(posed_tooth(mesh, shape, label_rad + k * step) for k in range(-teeth, teeth + 1))
    edge = ring_edge(mesh, turn, -teeth - 1, teeth + 1, 0.0005)
    x, y, _ = neutral_at(shape, label_rad)
    reach = (teeth + 1.5) * mesh.space.pitch_rad
    arc = turn + np.linspace(reach, -reach, 25)
    outer = 1.2 * mesh.space.root_radius_mm
    body = shapely.Polygon(np.vstack((edge, outer * np.column_stack((np.cos(arc), np.sin(arc))))))
    lines = shapely.linestrings(edge)
    bodies = [shapely.Polygon(tooth).buffer(0) for tooth in posed]
    shared = shapely.get_parts(shapely.intersection(body.buffer(0), shapely.union_all(bodies)))
    overlaps = tuple(shapely.get_coordinates(part.exterior) for part in shared if part.area > LEAST_OVERLAP_MM2)
    nearest = shapely.shortest_line(shapely.linestrings(posed[teeth]), lines)
    hit = shapely.intersection(body.buffer(0), bodies[teeth]).area > LEAST_OVERLAP_MM2
    gap = 0.0 if hit else float(shapely.length(nearest))
    return CloseUp(posed, edge, overlaps, shapely.get_coordinates(nearest), gap, math.atan2(y, x))


def panel(
    a: Assessment, index: int, place: Place, corner: Point, size: Point, window: tuple[float, float], scale: float
) -> list[Item]:
    """One close-up in a px rectangle whose lower left corner is ``corner``."""
    mesh, shape = a.rings[index], a.set_shape
    edge_role, soft = ring_roles(index)
    view = close_up(mesh, shape, place.label_rad)
    origin = (corner[0] + size[0] / 2, corner[1] - window[0] * scale)

    def px(points: Array) -> Array:
        return turned(points, math.pi / 2 - view.axis_rad) * scale + origin

    edge = px(view.edge)
    roof = corner[1] + size[1] + 10.0
    body = np.vstack((edge, [(edge[-1, 0], roof), (edge[0, 0], roof)]))
    outside = np.vstack([px(tooth) for tooth in view.teeth])
    labels = place.label_rad + np.linspace(2.5, -2.5, 25) * 2 * math.pi / mesh.flexible_teeth
    spots = np.array([neutral_at(shape, float(label)) for label in labels])
    depth = a.geometry.inner_offset_mm
    inner = px(spots[:, :2] - depth * np.column_stack((np.cos(spots[:, 2]), np.sin(spots[:, 2]))))
    neutral = px(spots[:, :2])
    wall = np.vstack((outside, inner))
    gap = px(view.gap_line)
    clip = (corner[0], corner[1], corner[0] + size[0], corner[1] + size[1])
    drawing: list[Item] = [
        Path((_points(body),), fill=soft, line=edge_role, line_px=1.3),
        Path((_points(wall),), fill=Role.FLEXIBLE_SOFT, line=Role.FLEXIBLE, line_px=1.3),
        Path((_points(neutral),), closed=False, line=Role.FLEXIBLE, line_px=1.0, dash_px=5.0),
    ]
    drawing += [Path((_points(px(part)),), hatch=Role.FAIL, line=Role.FAIL, line_px=1.3) for part in view.overlaps]
    if view.gap_mm > 0:
        drawing.append(Path((_points(gap),), closed=False, line=Role.TOOTH_MARK, line_px=2.5))
        drawing += [Disc(point, 2.6, fill=Role.TOOTH_MARK) for point in _points(gap)]
    text = f"gap {view.gap_mm:.3f} mm" if view.gap_mm > 0 else "overlaps"
    top = corner[1] + size[1]
    return [
        Group(tuple(drawing), (Placement(),), clip=clip),
        box(*clip, edge=Role.RULE),
        Text((corner[0], top + 7), place.words, PLAIN_PX, Role.INK, strong=True),
        Text((corner[0] + size[0], top + 7), text, PLAIN_PX, Role.TOOTH_MARK, Anchor.END),
    ]


def close_window(a: Assessment, index: int) -> tuple[float, float]:
    """Radii in mm between which a close-up shows the mesh, the same at every place round the ring."""
    mesh, shape = a.rings[index], a.set_shape
    pitch = mesh.space.pitch_rad * mesh.space.tip_radius_mm
    minor = shape.radius_mm + shape.minor_deflection_mm
    low = minor + min(mesh.outline.land_height_mm, 0.0) - min(a.geometry.inner_offset_mm, 0.35 * pitch)
    return low, mesh.space.root_radius_mm + 0.2 * pitch


def close_scale(a: Assessment, index: int, wide_px: float) -> float:
    """Scale of a close-up in px a mm: a little more than two pitches wide."""
    space = a.rings[index].space
    return wide_px / (2.4 * space.pitch_rad * space.tip_radius_mm)


def mesh_close_ups(a: Assessment, index: int, width_px: float) -> Picture:
    """Figure: four close-ups of one mesh at one scale, from the lobe to the minor axis."""
    mesh = a.rings[index]
    gutter, head = 18.0, 26.0
    wide = (width_px - gutter - 2.0) / 2
    window, scale = close_window(a, index), close_scale(a, index, wide)
    tall = (window[1] - window[0]) * scale
    items: list[Item] = []
    for number, place in enumerate(close_places(a.design.lobes)):
        column, row = number % 2, 1 - number // 2
        corner = (1.0 + column * (wide + gutter), 4.0 + row * (tall + head + 10.0))
        items += panel(a, index, place, corner, (wide, tall), window, scale)
    bar = _scale_bar_mm(mesh.space.pitch_rad * mesh.space.tip_radius_mm)
    y = -16.0
    items += [
        line((1.0, y), (1.0 + bar * scale, y), Role.INK, 2.0),
        Text((9.0 + bar * scale, y - 4), f"{bar:g} mm", SMALL_PX, Role.INK),
        Text((width_px - 1.0, y - 4), "outward is up in every window", SMALL_PX, Role.QUIET, Anchor.END),
    ]
    return Picture(
        (0.0, -30.0, width_px, 2 * (tall + head) + 14.0),
        tuple(items),
        f"Teeth of ring {mesh.name} from the lobe to the minor axis",
        "Four windows at one scale: flexible teeth below, rigid teeth above, the nearest gap of the middle tooth marked.",
    )


def _scale_bar_mm(pitch: float) -> float:
    return next((size for size in (5.0, 2.0, 1.0, 0.5, 0.2) if size < 0.75 * pitch), 0.1)
