"""What a drawing says of teeth: the table of their data, and a section through the mesh at a lobe."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from lobewright.assessment.results import Assessment, RingMesh
from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.make.drawing_dims import PX, THIN_PX, WIDE_PX, dimension, leader
from lobewright.make.outlines import turn
from lobewright.make.over_pins import NoPin, PinCheck, flexible_check, rigid_check
from lobewright.make.parts_flexible import cup_profile
from lobewright.mesh.poses import one_lobe
from lobewright.picture.display import Group, Item, Path, Point
from lobewright.picture.palette import Role

Array = np.ndarray
Rows = list[tuple[str, str]]
TEETH_ASIDE = 2
DETAIL_SCALES = (20.0, 10.0, 5.0, 2.0, 1.0)


def form_words(design: m.Design) -> str:
    """The flexible tooth's form in words."""
    tooth = design.tooth
    if isinstance(tooth, m.BeltTooth):
        assert isinstance(design.flexible_ring, m.Belt)
        return f"belt {catalogue.belt_profile(design.flexible_ring.designation).designation}"
    if isinstance(tooth, m.InvoluteTooth):
        return f"involute, {tooth.pressure_angle_deg:g}° on the pitch circle"
    if isinstance(tooth, m.TrapezoidTooth):
        return f"straight flanks, {tooth.half_angle_deg:g}° to the middle"
    if isinstance(tooth, m.DoubleArcTooth):
        return f"two arcs, joined at {tooth.tangent_angle_deg:g}°"
    return "by points"


def _pitch_rows(design: m.Design) -> Rows:
    ring = design.flexible_ring
    if isinstance(ring, m.Belt):
        return [("pitch of the belt", f"{catalogue.belt_profile(ring.designation).pitch_mm:g} mm")]
    return [("module of the flexible ring", f"{ring.module_mm:g} mm")]


def pin_rows(check: PinCheck | NoPin) -> Rows:
    """What the micrometer should read, or why it cannot tell."""
    if isinstance(check, NoPin):
        return [("size with pins", f"not made: {check.words}")]
    low, high = check.limits_mm
    nearest = "" if check.seat.teeth % 2 == 0 else ", nearly opposite (odd count)"
    return [
        ("pins", f"2 of ø{check.seat.pin_mm:g} mm{nearest}"),
        (f"size {check.words}", f"{check.seat.size_mm:.3f} mm"),
        ("limits of it", f"{low:.3f} to {high:.3f} mm (contour ±{check.tolerance_mm:g} mm a side)"),
        ("touches at", f"radius {check.seat.contact_radius_mm:.3f} mm"),
    ]


def rigid_rows(a: Assessment, mesh: RingMesh) -> Rows:
    """Tooth data of a rigid ring."""
    space = mesh.space
    middle = (space.tip_radius_mm + float(space.radius_mm[-1])) / 2
    right, left = space.bounds_at(np.array([middle]))
    width = 2 * middle * math.sin(float(right[0] - left[0]) / 2)
    return [
        ("teeth", f"{space.teeth}, internal"),
        *_pitch_rows(a.design),
        ("form", "generated: what the flexible tooth sweeps, grown by the clearance; no involute"),
        ("flexible tooth", f"{mesh.flexible_teeth} teeth, {form_words(a.design)}"),
        ("clearance in it", f"{space.clearance_mm:g} mm a side"),
        ("tip radius", f"{space.tip_radius_mm:.3f} mm"),
        ("root radius", f"{space.root_radius_mm:.3f} mm"),
        (f"space at radius {middle:.3f} mm", f"{width:.3f} mm wide (chord)"),
        *pin_rows(rigid_check(a, mesh)),
    ]


def flexible_rows(a: Assessment, row: int = 1) -> Rows:
    """Tooth data of the flexible ring, round as it is made."""
    design, geometry = a.design, a.geometry
    outline = next(mesh.outline for mesh, ring in zip(a.rings, design.rigid_ring, strict=True) if ring.row == row)
    neutral = geometry.neutral_radius_mm
    points = outline.points_mm
    height = (outline.tip_height_mm + outline.land_height_mm) / 2
    above = points[points[:, 1] >= height]
    thick = float(np.ptp(above[:, 0]))
    return [
        ("teeth", f"{design.row_teeth(row)}, external"),
        *_pitch_rows(design),
        ("form", form_words(design)),
        ("tip radius", f"{neutral + outline.tip_height_mm:.3f} mm"),
        ("root radius", f"{neutral + outline.land_height_mm:.3f} mm"),
        (f"tooth at radius {neutral + height:.3f} mm", f"{thick:.3f} mm thick (chord)"),
        ("inside radius", f"{geometry.inner_radius_mm:.3f} mm"),
        *pin_rows(flexible_check(a, row)),
        ("when measured", "round, off the generator; lay a disc inside, pins give it little force"),
    ]


@dataclass(frozen=True)
class Detail:
    """A detail view: items about (0, 0) in mm of paper, half its width and height there, its scale and a word below it."""

    items: tuple[Item, ...]
    half_wide_mm: float
    half_high_mm: float
    scale: float
    words: str


def _posed(mesh: RingMesh, x: float, y: float, normal: float) -> Array:
    c, s = math.cos(normal), math.sin(normal)
    return mesh.outline.points_mm @ np.array([[-s, c], [c, s]]) + (x, y)


def _run(points: Array, scale: float, origin_mm: float) -> tuple[Point, ...]:
    """Points about the x axis put upright on the paper, the given radius in the middle."""
    return tuple((-scale * float(y), scale * (float(x) - origin_mm)) for x, y in points)


def mesh_detail(a: Assessment, mesh: RingMesh, rim_mm: float, widest_mm: float) -> Detail:
    """Section through the mesh at a lobe, as set: flexible teeth in the ring's spaces, in true proportion."""
    shape = a.set_shape
    pitch_mm = mesh.space.pitch_rad * mesh.space.root_radius_mm
    scale = next((s for s in DETAIL_SCALES if 3.2 * pitch_mm * s <= widest_mm), DETAIL_SCALES[-1])
    poses = one_lobe(shape, 1)
    step = 2 * math.pi / mesh.flexible_teeth
    labels = [k * step for k in range(-TEETH_ASIDE, TEETH_ASIDE + 1)]
    teeth = [
        _posed(
            mesh, *(float(np.interp(label, poses.label_rad, row)) for row in (poses.x_mm, poses.y_mm, poses.normal_rad))
        )
        for label in labels
    ]
    spaces = [turn(mesh.space.outline_mm(), k * mesh.space.pitch_rad) for k in range(-TEETH_ASIDE, TEETH_ASIDE + 1)]
    edge, outside = np.vstack(spaces), np.vstack(teeth)
    reach = (TEETH_ASIDE + 0.5) * mesh.space.pitch_rad
    arc = np.linspace(reach, -reach, 41)
    high = mesh.space.root_radius_mm + min(rim_mm, 0.7 * pitch_mm)
    low_mm = a.geometry.inner_offset_mm
    at = np.linspace(labels[-1] + step, labels[0] - step, 41)
    x, y, normal = (np.interp(at, poses.label_rad, row) for row in (poses.x_mm, poses.y_mm, poses.normal_rad))
    inside = np.column_stack((x - low_mm * np.cos(normal), y - low_mm * np.sin(normal)))
    middle = (high + float(np.hypot(*inside.T).max())) / 2
    half_wide, half_high = 1.6 * pitch_mm * scale, (high - middle) * scale + 1.0
    rim = np.vstack((edge, high * np.column_stack((np.cos(arc), np.sin(arc)))))
    belt = np.vstack((outside, inside))
    bodies = (
        Path((_run(rim, scale, middle),), fill=Role.PAPER, hatch=Role.INK, line=Role.INK, line_px=WIDE_PX),
        Path((_run(belt, scale, middle),), fill=Role.PANEL, line=Role.INK, line_px=WIDE_PX),
    )
    window = (-half_wide, -half_high, half_wide, half_high)
    own = shapely.LineString(teeth[TEETH_ASIDE])
    nearest = shapely.get_coordinates(shapely.shortest_line(own, shapely.LineString(edge)))
    gap = float(math.dist(*nearest))
    spot = _run(nearest.mean(axis=0)[None, :], scale, middle)[0]
    items: list[Item] = [Group(bodies, clip=window), _frame(window)]
    left = spot[0] < 0
    knee = ((-1 if left else 1) * (half_wide + 3.0), spot[1] + 6.0)
    items += leader(spot, knee, f"{gap:.3f}", to_left=left)
    words = (
        f"mesh at a lobe, {scale:g}:1, as set without load; ring hatched, flexible ring grey; nearest gap {gap:.3f} mm"
    )
    return Detail(tuple(items), half_wide, half_high, scale, words)


def corner_detail(a: Assessment, cup: m.Cup, widest_mm: float) -> Detail:
    """The corner of a cup cut through: both radii, the barrel's wall and the diaphragm."""
    profile = cup_profile(cup, a.geometry.inner_radius_mm)
    points = profile.sampled(0.002)[:, ::-1]
    inner, end = a.geometry.inner_radius_mm, cup.length_mm
    wall, thick, inside = cup.barrel_wall_mm, cup.diaphragm_mm, cup.corner_radius_mm
    outside = inside + min(wall, thick)
    span = outside + 2.5 * max(wall, thick)
    scale = next((s for s in DETAIL_SCALES if 1.3 * span * s <= widest_mm / 2), DETAIL_SCALES[-1])
    # Axis heights run along the sheet, radii up it, as in the section.
    origin = np.array([end - span / 2, inner + wall - span / 2])
    run = tuple((scale * float(z), scale * float(r)) for z, r in points - origin)
    half = 0.65 * span * scale
    window = (-half, -half, half, half)
    body = Path((run,), fill=Role.PAPER, hatch=Role.INK, line=Role.INK, line_px=WIDE_PX)
    items: list[Item] = [Group((body,), clip=window), _frame(window)]

    def at(z: float, r: float) -> Point:
        return scale * (z - float(origin[0])), scale * (r - float(origin[1]))

    slant = math.sqrt(0.5)
    middle = (end - outside, inner + wall - outside)
    items += leader(at(middle[0] + outside * slant, middle[1] + outside * slant), (half + 4, half - 2), f"R{outside:g}")
    if inside:
        centre = (end - thick - inside, inner - inside)
        tip = at(centre[0] + inside * slant, centre[1] + inside * slant)
        items += leader(tip, (half + 4, half - 10), f"R{inside:g}")
    z = end - 0.55 * span - 0.5 * outside
    left = -half - 7
    items += dimension(at(z, inner)[1], at(z, inner + wall)[1], left, (-half, -half), f"{wall:g}", True)
    items += dimension(at(end - thick, 0)[0], at(end, 0)[0], -half - 6, (-half, -half), f"{thick:g}", False)
    words = f"corner of the cup, {scale:g}:1"
    return Detail(tuple(items), half + 12, half + 10, scale, words)


def _frame(window: Sequence[float]) -> Path:
    x0, y0, x1, y1 = window
    return Path((((x0, y0), (x1, y0), (x1, y1), (x0, y1)),), line=Role.QUIET, line_px=THIN_PX, dash_px=1.0 * PX)
