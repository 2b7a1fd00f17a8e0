"""The loaded drive seen along its axis: forces of teeth and rollers to scale, and the ring's change of shape enlarged.

Everything is in the generator's frame, x along a lobe. What pushes is drawn outward: rollers on the flexible ring, its
teeth on the rigid ring (the reverse of the forces in `RowLoad`, which act on the teeth).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lobewright.assessment.results import Assessment
from lobewright.picture.display import Anchor, Arrow, Disc, Group, Item, Path, Picture, Point, Text
from lobewright.picture.palette import Role
from lobewright.report.chart import PLAIN_PX, SMALL_PX, Frame, line, round_ticks, x_axis, y_axis
from lobewright.report.drive_scene import cam_outlines, ring_roles, wheel_centres
from lobewright.report.figures import short_name, signed
from lobewright.report.load_figures import newton_metres, three
from lobewright.ring.shape import RingShape
from lobewright.torque.results import LoadShare, RowLoad

Array = NDArray[np.float64]

SHOWN_SHARE = 0.01
"""Share of the largest force from which a tooth counts as carrying and gets a petal."""
LONGEST_PX = 84.0
STRIP_PX = 190.0
"""Height of the strip under the rose."""
CIRCLE_PARTS = 180
PLACE_WORDS = {"left": "left flank", "right": "right flank", "tip": "tip", "land": "land"}
TIMES = (1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0, 2000.0)


@dataclass(frozen=True)
class LoadedLine:
    """The loaded neutral line of one row in the generator's frame, by material share of the whole turn (0 … 1).

    ``points_mm`` (N, 2), uniform in the material from its first node on.
    """

    points_mm: Array

    def at(self, share: Array) -> tuple[Array, Array]:
        """Points (K, 2) in mm and outward normals (K, 2) at material shares (K,)."""
        count = len(self.points_mm)
        place = np.mod(share, 1.0) * count
        first = np.floor(place).astype(int) % count
        part = (place - np.floor(place))[:, None]
        slope = 0.5 * (np.roll(self.points_mm, -1, axis=0) - np.roll(self.points_mm, 1, axis=0))
        after = (first + 1) % count
        spot = self.points_mm[first] * (1.0 - part) + self.points_mm[after] * part
        along = slope[first] * (1.0 - part) + slope[after] * part
        along /= np.hypot(*along.T)[:, None]
        return spot, np.column_stack((along[:, 1], -along[:, 0]))


def loaded_line(row: RowLoad) -> LoadedLine:
    """The neutral line of a row, turned into the generator's frame."""
    return LoadedLine(_back(row.positions_mm, row))


def _back(vectors: Array, row: RowLoad) -> Array:
    """Vectors (N, 2) of the result's frame in the generator's."""
    turn = math.radians(float(row.section_label_deg[0]))
    c, s = math.cos(turn), math.sin(turn)
    return vectors @ np.array([[c, s], [-s, c]])


def tooth_pushes(row: RowLoad, height_mm: float) -> Array:
    """Where each tooth pushes on the rigid ring and how: (T, 4) of x, y in mm at ``height_mm`` over the neutral line,
    and the force's x, y in N, in the generator's frame."""
    count = len(row.label_deg)
    spot, normal = loaded_line(row).at(np.arange(count) / count)
    across = np.column_stack((-normal[:, 1], normal[:, 0]))
    force = -(row.tangential_n[:, None] * across + row.outward_n[:, None] * normal)
    return np.column_stack((spot + height_mm * normal, force))


def body_pushes(share: LoadShare, index: int) -> Array:
    """Forces (B, 2) in N of rollers, discs or cam on one row, in the generator's frame."""
    return _back(share.body_force_n[:, index, :], share.rows[index])


def nice_step(most: float) -> float:
    """The largest of 1, 2 or 5 times a power of ten that is not above ``most``."""
    power = 10.0 ** math.floor(math.log10(most) + 1e-9)
    return next(size * power for size in (5.0, 2.0, 1.0) if size * power <= most * (1.0 + 1e-9))


def magnification(change_mm: float, room_mm: float) -> float:
    """The round factor that brings a change nearest to, but not beyond, the room."""
    return max((times for times in TIMES if times * change_mm <= room_mm), default=1.0)


def _circle(radius: float) -> tuple[Point, ...]:
    angles = np.arange(CIRCLE_PARTS) * (2 * math.pi / CIRCLE_PARTS)
    return _points(radius * np.column_stack((np.cos(angles), np.sin(angles))))


def _points(array: Array) -> tuple[Point, ...]:
    return tuple((float(x), float(y)) for x, y in array)


def petal(base: Point, push: Point, place: str, half: float) -> list[Item]:
    """A leaf from ``base`` over ``push``; what is on its stalk tells the place: filled, open, ball or bar at its end."""
    size = math.hypot(*push)
    ux, uy = push[0] / size, push[1] / size
    (x, y), head = base, (base[0] + push[0], base[1] + push[1])
    wide = min(half, 0.45 * size)
    waist = (x + 0.62 * push[0], y + 0.62 * push[1])
    leaf = ((x, y), (waist[0] - wide * uy, waist[1] + wide * ux), head, (waist[0] + wide * uy, waist[1] - wide * ux))
    if place == "left":
        return [Path((leaf,), fill=Role.TOOTH_MARK, line=Role.TOOTH_MARK)]
    if place == "right":
        return [Path((leaf,), fill=Role.PAPER, line=Role.RING_B, line_px=1.6)]
    stalk = line((x, y), head, Role.INK, 1.6)
    if place == "tip":
        return [stalk, Disc(head, max(2.4, 0.6 * wide), fill=Role.INK)]
    bar = ((head[0] - 4.0 * uy, head[1] + 4.0 * ux), (head[0] + 4.0 * uy, head[1] - 4.0 * ux))
    return [stalk, line(*bar, Role.INK, 2.4)]


def scale_bar(at: Point, newtons: float, px_per_n: float) -> list[Item]:
    """A bar as long as a force is drawn, with its number."""
    x, y = at
    end = x + newtons * px_per_n
    items: list[Item] = [line((x, y), (end, y), Role.INK, 3.0)]
    items += [line((stop, y - 5), (stop, y + 5), Role.INK, 1.5) for stop in (x, end)]
    items.append(Text((end + 7.0, y - 4.0), f"{newtons:g} N", PLAIN_PX, Role.INK, strong=True))
    return items


def _generator_outline(a: Assessment, share: LoadShare) -> list[Item]:
    """Rollers or discs where they stand under load, or the cam; in mm."""
    if not len(share.arm_mm):
        inside = cam_outlines(a)[1]
        return [Path((_points(inside),), fill=Role.GENERATOR_SOFT)]
    radius = a.setting.contact_radius_mm - a.geometry.inner_offset_mm
    return [Disc(centre, radius, fill=Role.GENERATOR_SOFT) for centre in _moved_centres(a, share)]


def _moved_centres(a: Assessment, share: LoadShare) -> tuple[Point, ...]:
    """Centres of rollers or discs with their arms' give, in mm, carrier at rest, in the order of the result."""
    found = []
    for (x, y), give in zip(wheel_centres(a), share.arm_mm, strict=True):
        size = math.hypot(x, y)
        found.append((x * (1.0 + give / size), y * (1.0 + give / size)))
    return tuple(found)


def force_scale(share: LoadShare) -> float:
    """Largest force of a tooth or round body in N that the rose has to hold."""
    teeth = max(float(row.force_n.max(initial=0.0)) for row in share.rows)
    bodies = float(np.hypot(share.body_force_n[..., 0], share.body_force_n[..., 1]).max()) if len(share.arm_mm) else 0.0
    return max(teeth, bodies)


@dataclass(frozen=True)
class _Sheet:
    """Where a drawing of the drive stands on the paper: px a mm, px a N, centre in px, half height in px."""

    scale: float
    per_n: float
    middle: Point
    half_px: float

    def at(self, x: float, y: float) -> Point:
        return self.middle[0] + self.scale * x, self.middle[1] + self.scale * y


def _sheet(a: Assessment, share: LoadShare, index: int, width_px: float) -> _Sheet:
    """The largest drawing whose circles and petals stay on the paper, one size for all rings of a drive."""
    room = width_px / 2 - 14.0
    most = force_scale(share)
    per_n = LONGEST_PX / most if most > 0.0 else 0.0
    scale = math.inf
    for row, mesh in zip(share.rows, a.rings, strict=True):
        pushes = tooth_pushes(row, a.geometry.pitch_height_mm)
        fits = (room - np.abs(per_n * pushes[:, 2])) / np.maximum(np.abs(pushes[:, 0]), 1e-9)
        scale = min(scale, room / mesh.space.root_radius_mm, float(fits.min()))
    pushes = tooth_pushes(share.rows[index], a.geometry.pitch_height_mm)
    tall = float(np.abs(scale * pushes[:, 1] + per_n * pushes[:, 3]).max())
    half = max(scale * a.rings[index].space.root_radius_mm, tall) + 8.0
    return _Sheet(scale, per_n, (width_px / 2, STRIP_PX + 40.0 + half), half)


def rose(a: Assessment, share: LoadShare, index: int, width_px: float) -> Picture:
    """Figure: pushes of the teeth on one rigid ring as petals, pushes of the rollers on the flexible ring as arrows,
    all to one scale and true in direction; under it the force of every tooth over its place."""
    row, mesh = share.rows[index], a.rings[index]
    pushes = tooth_pushes(row, a.geometry.pitch_height_mm)
    most = force_scale(share)
    sheet = _sheet(a, share, index, width_px)
    pitch_px = sheet.scale * 2 * math.pi * a.set_shape.radius_mm / len(row.label_deg)
    half = float(np.clip(0.4 * pitch_px, 1.8, 6.0))
    body = [
        Path((_circle(mesh.space.root_radius_mm),), line=ring_roles(index)[0], line_px=1.2, dash_px=2.0),
        *_flexible_body(a, index, loaded_line(row)),
        *_generator_outline(a, share),
    ]
    items: list[Item] = [_scaled(item, sheet.scale, sheet.middle) for item in body]
    carries = np.flatnonzero(row.force_n > SHOWN_SHARE * float(row.force_n.max(initial=0.0)))
    for k in carries:
        x, y, fx, fy = (float(number) for number in pushes[k])
        items += petal(sheet.at(x, y), (sheet.per_n * fx, sheet.per_n * fy), row.place[k] or "tip", half)
    items += _roller_arrows(a, share, index, sheet)
    top = sheet.middle[1] + sheet.half_px + 44.0
    items += _rose_words(share, index, width_px, top)
    bar_n = 0.0
    if most > 0.0:
        bar_n = nice_step(0.9 * most)
        items += scale_bar((16.0, STRIP_PX + 20.0), bar_n, sheet.per_n)
    items += _place_key(sorted({row.place[k] or "tip" for k in carries}), width_px, STRIP_PX + 16.0)
    items += _strip(row, width_px)
    return Picture(
        (0.0, 6.0, width_px, top),
        tuple(items),
        f"Forces of the teeth on ring {row.name}",
        f"{row.teeth_in_load} teeth carry; the most loaded takes {three(float(row.force_n.max()))} N at "
        f"{row.label_deg[int(np.argmax(row.force_n))]:.0f} degrees from the lobe; the bar is {bar_n:g} N.",
    )


def _strip(row: RowLoad, width_px: float) -> list[Item]:
    """The force of every tooth over its place round the ring, as stalks with the same marks as the petals."""
    most = float(row.force_n.max(initial=0.0)) or 1.0
    frame = Frame(58.0, 52.0, width_px - 14.0, STRIP_PX - 34.0, -186.0, 186.0, 0.0, 1.15 * most)
    ticks = (-180.0, -90.0, 0.0, 90.0, 180.0)
    items: list[Item] = [
        *y_axis(frame, "force on a tooth, N", round_ticks(0.0, frame.y_high, 3)),
        *x_axis(frame, "place of the tooth, counted from a lobe, degrees", ticks, [signed(t, 0) for t in ticks]),
    ]
    for k in np.flatnonzero(row.force_n > SHOWN_SHARE * most):
        items += _stalk(*frame.at(float(row.label_deg[k]), float(row.force_n[k])), frame.bottom, row.place[k] or "tip")
    items.append(frame.box())
    return items


def _stalk(x: float, y: float, foot: float, place: str) -> list[Item]:
    """An upright line with the mark of the place at its head."""
    role = {"left": Role.TOOTH_MARK, "right": Role.RING_B}.get(place, Role.INK)
    stalk = line((x, foot), (x, y), role, 1.6)
    if place == "tip":
        return [stalk, Disc((x, y), 2.6, fill=role)]
    if place == "land":
        return [stalk, line((x - 4.0, y), (x + 4.0, y), role, 2.4)]
    kite = ((x, y - 4.0), (x + 3.2, y), (x, y + 4.0), (x - 3.2, y))
    return [stalk, Path((kite,), fill=role if place == "left" else Role.PAPER, line=role, line_px=1.4)]


def _flexible_body(a: Assessment, index: int, line_mm: LoadedLine) -> list[Item]:
    """The flexible ring as loaded: toothed outside, smooth inside, in mm."""
    outline = a.rings[index].outline
    count = outline.teeth
    spot, normal = line_mm.at(np.arange(count) / count)
    across = np.column_stack((-normal[:, 1], normal[:, 0]))
    peak = outline.points_mm[:: max(1, len(outline.points_mm) // 12)]
    outside = (
        spot[:, None, :]
        # x of an outline runs clockwise or not, as the outline was made: sorted by x it runs anticlockwise
        + peak[None, :, :1] * across[:, None, :]
        + peak[None, :, 1:] * normal[:, None, :]
    )
    if peak[0, 0] > peak[-1, 0]:
        outside = outside[:, ::-1, :]
    places = np.arange(2 * CIRCLE_PARTS) / (2 * CIRCLE_PARTS)
    inner, out = line_mm.at(places)
    inside = inner - a.geometry.inner_offset_mm * out
    loops = (_points(outside.reshape(-1, 2)), _points(inside))
    return [Path(loops, fill=Role.FLEXIBLE_SOFT, line=Role.FLEXIBLE, line_px=0.8)]


def _scaled(item: Item, scale: float, middle: Point) -> Item:
    """A path or disc in mm as one in px."""

    def px(point: Point) -> Point:
        return middle[0] + scale * point[0], middle[1] + scale * point[1]

    if isinstance(item, Disc):
        return Disc(px(item.centre), scale * item.radius, item.fill, item.line, item.line_px)
    assert isinstance(item, Path)
    loops = tuple(tuple(px(point) for point in loop) for loop in item.loops)
    return Path(loops, item.closed, item.fill, item.hatch, item.line, item.line_px, item.dash_px)


def _roller_arrows(a: Assessment, share: LoadShare, index: int, sheet: _Sheet) -> list[Item]:
    """Pushes of rollers or discs on the row, each an arrow that ends at the inner surface, with its number."""
    if not len(share.arm_mm):
        return []
    radius = a.setting.contact_radius_mm - a.geometry.inner_offset_mm
    items: list[Item] = []
    for (cx, cy), (fx, fy) in zip(_moved_centres(a, share), body_pushes(share, index), strict=True):
        size = math.hypot(fx, fy)
        if size <= 0.0:
            continue
        ux, uy = fx / size, fy / size
        head = sheet.at(cx + radius * ux, cy + radius * uy)
        long = sheet.per_n * size
        tail = (head[0] - long * ux, head[1] - long * uy)
        if long > 12.0:
            items.append(Arrow(tail, head, colour=Role.GENERATOR, line_px=3.0))
        elif long > 1.0:
            items.append(line(tail, head, Role.GENERATOR, 3.0))
        spot = (tail[0] - 9.0 * ux, tail[1] - 12.0 * uy - 4.0)
        anchor = Anchor.END if ux > 0.3 else Anchor.START if ux < -0.3 else Anchor.MIDDLE
        items.append(Text(spot, f"{three(size)} N", SMALL_PX, Role.INK, anchor))
    return items


def _rose_words(share: LoadShare, index: int, width_px: float, top: float) -> list[Item]:
    """Outside torque on the ring with its sense, count of teeth that carry, force and share of the most loaded one."""
    row = share.rows[index]
    outside = share.member_torque_nmm[row.name]
    sense = 1.0 if outside > 0 else -1.0
    begin, end = (18.0, 58.0) if sense < 0 else (58.0, 18.0)
    right = width_px - 12.0
    first = f"most loaded {three(float(row.force_n.max()))} N, {100 * row.largest_share:.0f} % of all"
    return [
        Arrow((begin, top - 34.0), (end, top - 34.0), bow=sense * 9.0, colour=ring_roles(index)[0], line_px=2.6),
        Text((70.0, top - 20.0), f"{newton_metres(outside)} holds", SMALL_PX, Role.INK, strong=True),
        Text((70.0, top - 36.0), f"ring {short_name(row.name)}", SMALL_PX, Role.INK),
        Text((right, top - 20.0), f"{row.teeth_in_load} teeth carry", SMALL_PX, Role.INK, Anchor.END, strong=True),
        Text((right, top - 36.0), first, SMALL_PX, Role.INK, Anchor.END),
    ]


def _place_key(places: list[str], width_px: float, y: float) -> list[Item]:
    """Samples of the petals that occur, from the lower right corner leftward."""
    items: list[Item] = []
    x = width_px - 10.0
    for place in reversed(places):
        words = PLACE_WORDS[place]
        items.append(Text((x, y), words, SMALL_PX, Role.INK, Anchor.END))
        x -= 6.4 * len(words) + 8.0
        items += petal((x - 22.0, y + 4.0), (22.0, 0.0), place, 4.5)
        x -= 38.0
    return items


def outward_change(row: RowLoad, shape: RingShape) -> tuple[Array, Array]:
    """Polar angles (N,) rising over one turn, and how far the loaded line lies outside the unloaded one there, in mm."""
    points = _back(row.positions_mm, row)
    angle = np.mod(np.arctan2(points[:, 1], points[:, 0]), 2 * math.pi)
    order = np.argsort(angle, kind="stable")
    rest_angle = np.mod(np.arctan2(shape.y_mm, shape.x_mm), 2 * math.pi)
    by_angle = np.argsort(rest_angle, kind="stable")
    rest = np.interp(angle[order], rest_angle[by_angle], np.hypot(shape.x_mm, shape.y_mm)[by_angle], period=2 * math.pi)
    return angle[order], np.hypot(*points.T)[order] - rest


def mean_creep_rad(row: RowLoad) -> float:
    """Mean turn of the material in the generator's frame against where it lies unloaded."""
    count = len(row.positions_mm)
    polar = np.arctan2(row.positions_mm[:, 1], row.positions_mm[:, 0])
    ahead = polar - np.arange(count) * (2 * math.pi / count)
    return float(np.mean(np.mod(ahead + math.pi, 2 * math.pi) - math.pi))


def deformed_ring(a: Assessment, share: LoadShare, width_px: float) -> Picture:
    """Figure: the loaded neutral line against the unloaded one, the outward change enlarged by a factor that is printed."""
    shape = a.set_shape
    changes = [outward_change(row, shape) for row in share.rows]
    most = max(float(np.abs(change).max()) for _, change in changes)
    times = magnification(max(most, 1e-9), 0.2 * shape.radius_mm)
    pitch_mm = [
        (a.geometry.neutral_radius_mm + a.geometry.pitch_height_mm) * mesh.space.teeth / mesh.flexible_teeth
        for mesh in a.rings
    ]
    reach = max(1.2 * shape.radius_mm + shape.deflection_mm, *pitch_mm)
    scale = (width_px / 2 - 30.0) / reach
    middle = (width_px / 2, width_px / 2 + 18.0)
    rest_angle = np.arctan2(shape.y_mm, shape.x_mm)
    rest_size = np.hypot(shape.x_mm, shape.y_mm)
    order = np.argsort(np.mod(rest_angle, 2 * math.pi), kind="stable")
    drawing: list[Item] = [
        *(
            Path((_circle(size),), line=ring_roles(i)[0], line_px=0.9, dash_px=0.0 if i == 0 else 7.0)
            for i, size in enumerate(pitch_mm)
        ),
        Path((_points(np.column_stack((shape.x_mm, shape.y_mm))[::4]),), line=Role.QUIET, line_px=1.2, dash_px=4.0),
        *_generator_outline(a, share),
    ]
    for i, (angle, change) in enumerate(changes):
        rest = np.interp(angle, np.mod(rest_angle, 2 * math.pi)[order], rest_size[order], period=2 * math.pi)
        size = rest + times * change
        loop = np.column_stack((size * np.cos(angle), size * np.sin(angle)))
        drawing.append(
            Path(
                (_points(loop),),
                line=Role.FLEXIBLE if len(changes) == 1 else ring_roles(i)[0],
                line_px=2.6,
                dash_px=8.0 * i,
            )
        )
    items: list[Item] = [Group(tuple(_scaled(item, scale, middle) for item in drawing))]
    items += _arm_arrows(a, share, times, scale, middle)
    items += _deformed_words(share, times, most, width_px)
    return Picture(
        (0.0, 0.0, width_px, width_px + 30.0),
        tuple(items),
        "Shape of the flexible ring under torque",
        f"The outward change of the neutral line is drawn {times:g} times; its largest true size is {three(most)} mm.",
    )


def _arm_arrows(a: Assessment, share: LoadShare, times: float, scale: float, middle: Point) -> list[Item]:
    """Give of each arm as an arrow along it, enlarged as the shape is, with its true size."""
    items: list[Item] = []
    for (x, y), give in zip(wheel_centres(a) if len(share.arm_mm) else (), share.arm_mm, strict=True):
        far = math.hypot(x, y)
        ux, uy = x / far, y / far
        start = (middle[0] + scale * x, middle[1] + scale * y)
        long = scale * times * float(give)
        items.append(Disc(start, 2.6, fill=Role.GENERATOR))
        if abs(long) > 3.0:
            end = (start[0] + long * ux, start[1] + long * uy)
            items.append(Arrow(start, end, colour=Role.GENERATOR, line_px=2.2))
        radius = scale * (a.setting.contact_radius_mm - a.geometry.inner_offset_mm)
        inward = min(radius + 8.0, scale * far - 18.0)
        spot = (start[0] - inward * ux, start[1] - inward * uy - 4.0)
        anchor = Anchor.END if ux > 0.3 else Anchor.START if ux < -0.3 else Anchor.MIDDLE
        items.append(Text(spot, f"{signed(1000.0 * float(give), 0)} µm", SMALL_PX, Role.INK, anchor))
    return items


def _deformed_words(share: LoadShare, times: float, most: float, width_px: float) -> list[Item]:
    """The factor, the largest true change, and which line is which ring's."""
    top = width_px + 30.0
    items: list[Item] = [
        Text((12.0, top - 22.0), f"change × {times:g}", PLAIN_PX, Role.INK, strong=True),
        Text((12.0, top - 39.0), f"largest {three(most)} mm", SMALL_PX, Role.INK),
    ]
    names = ["loaded"] if len(share.rows) == 1 else [f"at ring {short_name(row.name)}" for row in share.rows]
    for i, name in enumerate(names):
        y = top - 22.0 - 17.0 * i
        role = Role.FLEXIBLE if len(names) == 1 else ring_roles(i)[0]
        start = width_px - 12.0 - 6.8 * len(name)
        items.append(line((start - 34.0, y + 4.0), (start - 6.0, y + 4.0), role, 2.6, 8.0 * i))
        items.append(Text((start, y), name, SMALL_PX, Role.INK))
    words = "pitch circle of the rigid ring" if len(share.rows) == 1 else "pitch circles of the rigid rings"
    for x, name, role, px, dash in (
        (12.0, "unloaded", Role.QUIET, 1.2, 4.0),
        (150.0, words, ring_roles(0)[0], 0.9, 0.0),
    ):
        items.append(line((x, 16.0), (x + 28.0, 16.0), role, px, dash))
        items.append(Text((x + 34.0, 12.0), name, SMALL_PX, Role.INK))
    return items
