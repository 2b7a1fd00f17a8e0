"""The round drive as items of a score: outlines, teeth on their moving places, rings, generator, marks.

Bodies are given in their own frame, 'outward, anticlockwise' along (x, y); a group turns them to where they stand. Teeth of the
flexible ring ride on the neutral line by three loop tables (``x``, ``y`` and ``lean``, the normal's angle less the material's),
so that a whole ring is one outline and one placement a tooth.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import shapely
from numpy.typing import ArrayLike

from lobewright.make.moving_page import FLEXIBLE, GENERATOR, Motion, RigidRing, Wheel
from lobewright.picture.palette import Role
from lobewright.picture.score import PLACES, Data, Number, course
from lobewright.teach.tables import PLACES_MM

Array = np.ndarray
TURN = 2.0 * math.pi
SAMPLES = 128
"""Places of a shape table: straight pieces between them are off by 3e-4 of the radius at most."""
BAND = 96
"""Places of drawn edges of the flexible ring."""
SLACK = 2e-4
"""Share of the neutral radius that a drawn outline may stand off the true one: a twentieth of a pixel."""
LAP = 0.02
"""Share of the pitch by which drawn teeth are longer at either end."""
RING_ROLES = ((Role.RING_A, Role.RING_A_SOFT), (Role.RING_B, Role.RING_B_SOFT))


def flat_run(points: ArrayLike, places: int = PLACES_MM) -> list[float]:
    """Points (k, 2) as one list x0, y0, …, to so many places."""
    return [round(float(number), places) + 0.0 for number in np.asarray(points, dtype=float).ravel()]


def path(*loops: ArrayLike, **look: Any) -> Data:
    """A path of point arrays (k, 2)."""
    return {"kind": "path", "loops": [flat_run(loop) for loop in loops], **look}


def group(items: Sequence[Data], *placements: Sequence[Number] | Data, **look: Any) -> Data:
    """Items placed once or often; a placement is x, y, angle, or a row of such."""
    places = [one if isinstance(one, dict) else list(one) for one in placements or ((0.0, 0.0, 0.0),)]
    return {"kind": "group", "items": list(items), "placements": places, **look}


def circle(radius: float, x: float = 0.0, y: float = 0.0, steps: int = 120) -> Array:
    """Points (steps, 2) on a circle."""
    at = np.arange(steps) * TURN / steps
    return np.column_stack((x + radius * np.cos(at), y + radius * np.sin(at)))


def thin(points: Array, slack_mm: float) -> Array:
    """A run (k, 2) without the points that stand within ``slack_mm`` of what is left."""
    return np.asarray(shapely.LineString(points).simplify(slack_mm).coords)


def counting(count: int) -> Data:
    """The text of a row of ``count``: 0, 1, 2, …"""
    return {"words": "{0}", "numbers": [{"of": course(row={"v": float(count)})}]}


def words(at: Sequence[float], text: str | Data, size_px: float = 13.0, colour: Role = Role.INK, **look: Any) -> Data:
    """One line of text that begins at a place, or as ``anchor`` says; ``text`` may have figures in it."""
    return {"kind": "text", "at": flat_run(at), "text": text, "size_px": size_px, "colour": str(colour), **look}


def arrow(tail: Sequence[Number], head: Sequence[Number], colour: Role, line_px: float = 3.0, **look: Any) -> Data:
    """An arrow whose ends may follow u."""
    ends = {"tail": list(tail), "head": list(head)}
    return {"kind": "arrow", **ends, "colour": str(colour), "line_px": line_px, **look}


def spin(items: Sequence[Data], turns: float, **look: Any) -> Data:
    """Items that turn about the middle by ``turns`` while u goes from 0 to 1."""
    angle: Number = course(slope=TURN * turns) if turns else 0.0
    return group(items, (0.0, 0.0, angle), **look)


# ---- the flexible ring -------------------------------------------------------------------------------------------------------


def shape_tables(motion: Motion) -> dict[str, list[float]]:
    """Loop tables of the neutral line over the material's share of a turn: ``x``, ``y`` mm, ``lean`` rad."""
    shape = motion.shape
    at = np.arange(SAMPLES) * len(shape.x_mm) / SAMPLES
    whole = np.arange(len(shape.x_mm) + 1)
    lean = shape.normal_angle_rad - TURN * np.arange(len(shape.x_mm)) / len(shape.x_mm)
    lean = np.mod(lean + math.pi, TURN) - math.pi
    columns = {"x": (shape.x_mm, 4), "y": (shape.y_mm, 4), "lean": (lean, 5)}
    return {
        name: [round(float(v), places) + 0.0 for v in np.interp(at, whole, np.append(column, column[0]))]
        for name, (column, places) in columns.items()
    }


def tooth_run(outline_mm: Array, slack_mm: float) -> Array:
    """A flexible tooth (k, 2) from mid-land to mid-land, anticlockwise, in the frame 'outward, anticlockwise'."""
    run = thin(outline_mm if outline_mm[-1, 0] > outline_mm[0, 0] else outline_mm[::-1], slack_mm)
    return run[:, ::-1]


def standing(outline_mm: Array) -> Array:
    """A tooth (k, 2), heights second, without the flat land on either side of it."""
    land, tip = float(outline_mm[0, 1]), float(outline_mm[:, 1].max())
    above = np.flatnonzero(outline_mm[:, 1] > land + 0.02 * (tip - land))
    return outline_mm[max(0, above[0] - 1) : above[-1] + 2]


def lapped(run: Array) -> Array:
    """A run (k, 2) from mid-land to mid-land, longer at both ends: on a wall that bends neighbours would not meet else."""
    more = LAP * float(run[-1, 1] - run[0, 1])
    return np.vstack((run[0] - (0.0, more), run, run[-1] + (0.0, more)))


def seat(tooth: float, teeth: int, turns: float, times: float = 1.0, row: bool = False) -> list[Number]:
    """Placement, in the generator's frame, of a tooth whose material runs ``turns`` along the line while u goes from 0 to 1;
    the drive is drawn ``times`` as large. ``row``: what the teeth from there on once round are placed by."""
    label = round(tooth / teeth, PLACES)
    once, round_too = ({"a": 1.0}, {"a": 1.0, "v": TURN}) if row else (None, None)
    return [
        course(table="x", scale=times, start=label, rate=turns, loop=True, row=once),
        course(table="y", scale=times, start=label, rate=turns, loop=True, row=once),
        course(TURN * label, TURN * turns, table="lean", start=label, rate=turns, loop=True, row=round_too),
    ]


def row(count: int, of: Data | list[Number]) -> Data:
    """``count`` parts alike in a list."""
    return {"row": count, "of": of}


def scaled(motion: Motion, times: float) -> Motion:
    """The same drive ``times`` as large."""
    shape = motion.shape
    line = replace(shape, x_mm=shape.x_mm * times, y_mm=shape.y_mm * times, radius_mm=shape.radius_mm * times)
    sizes = ("tip_radius_mm", "root_radius_mm", "outer_radius_mm")
    rings = tuple(
        replace(ring, outline_mm=ring.outline_mm * times, **{name: getattr(ring, name) * times for name in sizes})
        for ring in motion.rings
    )
    wheels = tuple(
        replace(
            wheel,
            x_mm=wheel.x_mm * times,
            y_mm=wheel.y_mm * times,
            radius_mm=wheel.radius_mm * times,
            outline_mm=tuple((x * times, y * times) for x, y in wheel.outline_mm),
        )
        for wheel in motion.wheels
    )
    rows = tuple(replace(row, outline_mm=row.outline_mm * times) for row in motion.rows)
    inner = motion.inner_offset_mm * times
    return replace(motion, shape=line, rows=rows, rings=rings, wheels=wheels, inner_offset_mm=inner)


def edge(motion: Motion, out_mm: float, points: int = BAND, reach: float = 0.5) -> Array:
    """A line (points, 2) that runs ``out_mm`` outside the neutral line, in the generator's frame: closed, or no farther than
    ``reach`` of a turn to either side of lobe 0."""
    shape = motion.shape
    count = len(shape.x_mm)
    part = reach < 0.5
    at = np.linspace(-reach * count if part else 0.0, reach * count if part else count, points, endpoint=part)
    x, y, c, s = (
        np.interp(at, np.arange(count), row, period=count)
        for row in (shape.x_mm, shape.y_mm, np.cos(shape.normal_angle_rad), np.sin(shape.normal_angle_rad))
    )
    return np.column_stack((x + out_mm * c, y + out_mm * s))


def flexible_items(
    motion: Motion, which: int, turns: float, hatched: bool = False, times: float = 1.0, reach: float = 0.5
) -> list[Data]:
    """The flexible ring in the generator's frame, its material running ``turns`` along the line while u goes from 0 to 1.

    ``times``: how much larger ``motion`` is than the one that the tables were made from. ``reach``: how far to either side of
    lobe 0 its wall is drawn.
    """
    made = motion.rows[which]
    run = lapped(tooth_run(made.outline_mm, SLACK * motion.shape.radius_mm))
    land = float(run[0, 0])
    deep = 0.3 * (land + motion.inner_offset_mm)
    closed = np.vstack((run, (land - deep, run[-1, 1]), (land - deep, run[0, 1])))
    hatch: Data = {"hatch": "flexible"} if hatched else {}
    outer, inner = edge(motion, land, reach=reach), edge(motion, -motion.inner_offset_mm, reach=reach)
    whole = reach >= 0.5
    loops = (outer, inner) if whole else (np.vstack((outer, inner[::-1])),)
    band = path(*loops, fill="flexible_soft", **hatch)
    tooth = [path(closed, fill="flexible_soft"), path(run, closed=False, line="flexible")]
    teeth = group(tooth, row(made.teeth, seat(0, made.teeth, turns, times, row=True)))
    return [band, path(inner, closed=whole, line="flexible"), teeth]


def tooth_mark(motion: Motion, which: int) -> list[Data]:
    """A tooth that is marked, with a pin inward of it; in the tooth's frame."""
    radius = motion.shape.radius_mm
    run = tooth_run(motion.rows[which].outline_mm, SLACK * radius)
    pin = 0.1 * radius
    foot = -motion.inner_offset_mm - pin
    return [
        path(standing(run[:, ::-1])[:, ::-1], fill="tooth_mark", line="tooth_mark"),
        path(np.array(((run[0, 0], 0.0), (foot, 0.0))), closed=False, line="tooth_mark", line_px=2.5),
        {"kind": "disc", "centre": [round(foot, 3), 0.0], "radius": round(0.3 * pin, 3), "fill": "tooth_mark"},
    ]


# ---- rings -------------------------------------------------------------------------------------------------------------------


def space_run(ring: RigidRing, slack_mm: float) -> Array:
    """One space of a rigid ring (k, 2), anticlockwise from mid-land to mid-land, its middle on the x axis."""
    run = thin(ring.outline_mm, slack_mm)
    return run if math.atan2(run[-1, 1], run[-1, 0]) > math.atan2(run[0, 1], run[0, 0]) else run[::-1]


def turned(points: Array, angle_rad: float) -> Array:
    """Points (k, 2) turned anticlockwise about the middle."""
    c, s = math.cos(angle_rad), math.sin(angle_rad)
    return points @ np.array(((c, s), (-s, c)))


def ring_tooth(ring: RigidRing, slack_mm: float) -> Array:
    """One tooth of a rigid ring (k, 2) from the middle of space 0 to the middle of space 1, in ring coordinates."""
    run = space_run(ring, slack_mm)
    middle = int(np.argmin(np.abs(run[:, 1])))
    return np.vstack((run[middle:], turned(run[: middle + 1], TURN / ring.teeth)[1:]))


def ring_items(motion: Motion, index: int, hatched: bool = False, notch: bool = True) -> list[Data]:
    """A rigid ring in its own frame, space 0 on the x axis, with a notch there."""
    ring = motion.rings[index]
    strong, soft = (str(role) for role in RING_ROLES[index % len(RING_ROLES)])
    run = ring_tooth(ring, SLACK * motion.shape.radius_mm)
    rim = min(0.3 * (ring.outer_radius_mm - ring.root_radius_mm), 0.5 * (ring.root_radius_mm - ring.tip_radius_mm))
    deep = ring.root_radius_mm + rim
    pitch = TURN / ring.teeth
    foot = np.array([(deep * math.cos(a), deep * math.sin(a)) for a in (pitch, 0.0)])
    body: Data = {
        "kind": "ring_arc",
        "centre": [0.0, 0.0],
        "inner": round(ring.root_radius_mm, 3),
        "outer": round(ring.outer_radius_mm, 3),
        "start_rad": 0.0,
        "sweep_rad": round(TURN, PLACES),
        "fill": soft,
    }
    if hatched:
        body = path(circle(ring.outer_radius_mm), circle(ring.root_radius_mm), fill=soft, hatch=strong)
    tooth = [path(np.vstack((run, foot)), fill=soft), path(run, closed=False, line=strong)]
    outer: Data = {"kind": "disc", "centre": [0.0, 0.0], "radius": round(ring.outer_radius_mm, 3), "line": strong}
    items = [body, group(tooth, row(ring.teeth, [0.0, 0.0, course(row={"v": TURN})])), outer]
    if notch:
        far, wide = ring.outer_radius_mm, 0.035 * ring.outer_radius_mm
        tip = ring.root_radius_mm + 0.2 * (far - ring.root_radius_mm)
        items.append(path(np.array(((tip, 0.0), (far, wide), (far, -wide))), fill="ink"))
    return items


# ---- the generator -----------------------------------------------------------------------------------------------------------


def wheel_loop(wheel: Wheel, most: int = BAND) -> Array:
    """Outline (k, 2) of a body of the generator in its frame."""
    if wheel.outline_mm:
        points = np.asarray(wheel.outline_mm)
        return points[:: max(1, len(points) // most)]
    return circle(wheel.radius_mm, wheel.x_mm, wheel.y_mm)


def wheel_item(wheel: Wheel, most: int = BAND, **look: Any) -> Data:
    """A body of the generator in its frame; round ones are discs, which cannot be hatched."""
    if wheel.outline_mm or "hatch" in look:
        return path(wheel_loop(wheel, most), **look)
    return {"kind": "disc", "centre": flat_run((wheel.x_mm, wheel.y_mm)), "radius": round(wheel.radius_mm, 3), **look}


def holds_middle(wheel: Wheel) -> bool:
    """Whether the drive's axis runs through the body."""
    return bool(wheel.outline_mm) or math.hypot(wheel.x_mm, wheel.y_mm) < wheel.radius_mm


def generator_items(motion: Motion, hatched: bool = False, pointer: bool = True, most: int = BAND) -> list[Data]:
    """Bodies of the generator in its frame, small rollers on arms, and a pointer to lobe 0; outlines of ``most`` points about."""
    look: Data = {"fill": "generator_soft", "line": "generator", "line_px": 1.5}
    look |= {"hatch": "generator"} if hatched else {}
    inner = float(np.hypot(motion.shape.x_mm, motion.shape.y_mm).min()) - motion.inner_offset_mm
    hub = 0.13 * inner
    arms, bodies, behind = [], [], []
    for wheel in motion.wheels:
        bodies.append(wheel_item(wheel, most, **look))
        if holds_middle(wheel):
            behind.append(wheel_item(wheel, most, line="generator"))
            continue
        far = math.hypot(wheel.x_mm, wheel.y_mm)
        ux, uy, half = wheel.x_mm / far, wheel.y_mm / far, 0.42 * hub
        side = np.array((-uy * half, ux * half))
        end = np.array((wheel.x_mm, wheel.y_mm))
        arms.append(path(np.array((side, end + side, end - side, -side)), **look))
        pin = {"centre": [round(wheel.x_mm, 3), round(wheel.y_mm, 3)], "radius": round(0.3 * wheel.radius_mm, 3)}
        bodies.append({"kind": "disc", **pin, "fill": "generator"})
    middle: Data = {"kind": "disc", "centre": [0.0, 0.0], "radius": round(hub, 3), "fill": "generator"}
    items = [*arms, *bodies, *behind, middle]
    if pointer:
        reach = float(motion.shape.x_mm[0]) - motion.inner_offset_mm - 0.13 * inner
        tail, head = [round(0.17 * inner, 3), 0.0], [round(reach, 3), 0.0]
        items.append({"kind": "arrow", "tail": tail, "head": head, "colour": "lobe_mark", "line_px": 4.0})
    return items


# ---- all of it ---------------------------------------------------------------------------------------------------------------


def reach_mm(motion: Motion) -> float:
    """Radius of the largest thing that is drawn of the drive."""
    tips = max(
        float(np.hypot(motion.shape.x_mm, motion.shape.y_mm).max() + row.outline_mm[:, 1].max()) for row in motion.rows
    )
    return max(tips, *(ring.outer_radius_mm for ring in motion.rings))


def dial(radius_mm: float) -> Data:
    """Marks every 10° round the drive, longer at 30°, longest at 90°."""
    runs = []
    for k in range(36):
        far = radius_mm * (1.11 if k % 9 == 0 else 1.093 if k % 3 == 0 else 1.078)
        c, s = math.cos(TURN * k / 36), math.sin(TURN * k / 36)
        runs.append(np.array(((1.06 * radius_mm * c, 1.06 * radius_mm * s), (far * c, far * s))))
    return path(*runs, closed=False, line="quiet")


def trail(radius_mm: float, turns: float, role: Role) -> Data:
    """An arc outside the drive that tells how far something has turned; ends after one turn."""
    return {
        "kind": "ring_arc",
        "centre": [0.0, 0.0],
        "inner": round(1.02 * radius_mm, 3),
        "outer": round(1.045 * radius_mm, 3),
        "start_rad": 0.0,
        "sweep_rad": course(slope=TURN * turns),
        "fill": str(role),
    }


RIM_MIDDLE = 1.028
_RIM = (1.005, 1.051)
"""Where a ring that stands behind is drawn, in radii of what is drawn."""


def ring_rim(motion: Motion, index: int, hatched: bool) -> list[Data]:
    """A ring that stands behind another one, as a rim outside of it with a notch: it would not be seen else."""
    size = reach_mm(motion)
    strong, soft = (str(role) for role in RING_ROLES[index % len(RING_ROLES)])
    inner, outer = (round(one * size, 3) for one in _RIM)
    look: Data = {"fill": soft, "line": strong, "line_px": 1.2}
    body: Data = {"kind": "ring_arc", "centre": [0.0, 0.0], "inner": inner, "outer": outer, "start_rad": 0.0}
    body |= {"sweep_rad": round(TURN, PLACES), **look}
    if hatched:
        body = path(circle(outer), circle(inner), hatch=strong, **look)
    wide = 0.5 * (outer - inner)
    return [body, path(np.array(((inner, 0.0), (outer, wide), (outer, -wide))), fill=strong)]


def round_drive(motion: Motion, turns: dict[str, float], front: int, held: str = "", rims: bool = False) -> list[Data]:
    """The drive seen from the output side while its members turn ``turns`` (by their names in ``motion``; u from 0 to 1).

    ``front``: the ring that is in front, others stand behind it half faded, or are ``rims`` outside of it; ``held``: the member
    that is hatched.
    """
    items = [
        spin(ring_rim(motion, i, ring.name == held), turns[ring.name])
        if rims
        else spin(ring_items(motion, i, ring.name == held), turns[ring.name], fade=0.5)
        for i, ring in enumerate(motion.rings)
        if i != front
    ]
    ring = motion.rings[front]
    along = turns[FLEXIBLE] - turns[GENERATOR]
    inside = [
        *flexible_items(motion, ring.row, along, held == FLEXIBLE),
        *generator_items(motion, held == GENERATOR),
        group(tooth_mark(motion, ring.row), seat(0, motion.rows[ring.row].teeth, along)),
    ]
    items.append(spin(ring_items(motion, front, ring.name == held), turns[ring.name]))
    items.append(spin(inside, turns[GENERATOR]))
    return items
