"""Rolling the flat drive up into rings, as items of a score.

A flat length U = 2πR bent to the share t of a full ring is an arc of the radius R/t. Let λ be a place on the length, from −½ to
½ with 0 at the bottom. It stands, with its outward side turned by 2πλt, at

    x = U·λ·S(λt)        y = −R + U·|λ|·C(|λ|t)        S(z) = sin(2πz)/2πz,  C(z) = (1 − cos 2πz)/2πz

which is one table each, read at a place that is λ times the share: exact but for the straight pieces of the tables. At t = 1
every place stands on the circle about the middle, at the angle that it has in the round drive. Derived.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from lobewright.make.moving_page import Motion, Wheel, along
from lobewright.picture.score import Data, Number, course
from lobewright.teach import drawn
from lobewright.teach.drawn import TURN, Array, group, path, row

REST = 0.08
"""Share of the way before rolling begins."""
STEPS = 400
"""Straight pieces of the tables S and C."""
STAGES = 16
"""Stages in which a body of the generator is bent."""
BODY_POINTS = 45
QUARTER = 0.25
"""The place on the flat length of what stands at angle 0 of the round drive."""


def roll_tables() -> dict[str, list[float]]:
    """Tables ``along`` S and ``up`` C over 2z from 0 to 1, and ``share`` t over the time of rolling."""
    z = np.arange(1, STEPS + 1) / (2.0 * STEPS)
    along_line = np.concatenate(((1.0,), np.sin(TURN * z) / (TURN * z)))
    up = np.concatenate(((0.0,), (1.0 - np.cos(TURN * z)) / (TURN * z)))
    return {
        "along": [round(float(v), 7) + 0.0 for v in along_line],
        "up": [round(float(v), 7) + 0.0 for v in up],
        "share": [0.0, 1.0],
    }


def share() -> Data:
    """The share t that follows u: 0 until :data:`REST`, 1 at the end."""
    return course(table="share", start=-REST / (1.0 - REST), rate=1.0 / (1.0 - REST))


def place_of(angle_rad: float) -> float:
    """The place λ of an angle of the round drive."""
    turns = angle_rad / TURN + QUARTER
    return turns - math.ceil(turns - 0.5)


def rolled(place: float, radius_mm: float, more: float = 0.0) -> list[Number]:
    """Placement of what lies at ``place`` of the flat length, outward along its x; ``more``: places that a whole row adds, away
    from the bottom."""
    size, step, begun = TURN * radius_mm, abs(more), 1.0 - REST
    sign = math.copysign(1.0, place if place else more)
    start, rate = -2.0 * abs(place) * REST / begun, 2.0 * abs(place) / begun
    add = {"a": -2.0 * step * REST / begun, "k": 2.0 * step / begun}
    in_row = {"m": size * sign * step, **add}
    up_row = {"m": size * step, **add}
    turn_row = {"m": TURN * sign * step}
    once = bool(more)
    return [
        course(0.0, 0.0, "along", round(size * place, 4), start, rate, row=in_row if once else None),
        course(-round(radius_mm, 4), 0.0, "up", round(size * abs(place), 4), start, rate, row=up_row if once else None),
        course(-math.pi / 2, 0.0, "share", TURN * place, -REST / begun, 1.0 / begun, row=turn_row if once else None),
    ]


def rolled_row(places: Array, radius_mm: float) -> list[Data]:
    """Rows of placements for places (k,) that stand evenly apart: one to the right of the bottom, one to the left."""
    rows = []
    for side in (places[places >= 0.0], places[places < 0.0][::-1]):
        if len(side):
            step = float(side[-1] - side[0]) / max(1, len(side) - 1)
            rows.append(row(len(side), rolled(float(side[0]), radius_mm, step * len(side))))
    return rows


def _beside(place: float, about: float) -> float:
    """A place as it is seen from another, the shorter way round."""
    return math.remainder(place - about, 1.0)


def ring_rolled(motion: Motion, index: int, about: float = 0.0, reach: float = 0.5) -> list[Data]:
    """A rigid ring, cut at the top and rolled out: pieces of one pitch that overlap while the rack is straight. ``about``: the
    place that stands at the bottom in its stead, ``reach``: how far beside it is drawn."""
    ring, radius = motion.rings[index], motion.shape.radius_mm
    strong, soft = (str(role) for role in drawn.RING_ROLES[index % len(drawn.RING_ROLES)])
    half = math.pi / ring.teeth
    run = drawn.turned(drawn.ring_tooth(ring, drawn.SLACK * radius), -half) - np.array((radius, 0.0))
    rim = np.array(
        [(ring.outer_radius_mm * math.cos(a), ring.outer_radius_mm * math.sin(a)) for a in (half, 0.0, -half)]
    )
    rim -= np.array((radius, 0.0))
    more = 0.06 * half * radius
    body = np.vstack((run, run[-1] + (0.0, more), rim[0] + (0.0, more), rim[2] - (0.0, more), run[0] - (0.0, more)))
    places = np.sort([_beside(place_of(TURN * (k + 0.5) / ring.teeth), about) for k in range(ring.teeth)])
    places = places[np.abs(places) <= reach]
    notch = _notch(ring.outer_radius_mm, ring.root_radius_mm, radius)
    rows = rolled_row(places, radius)
    fill, line = path(body, fill=soft), path(run, rim, closed=False, line=strong)
    return [group([fill], *rows), group([line], *rows), group([notch], rolled(_beside(QUARTER, about), radius))]


def _notch(far_mm: float, near_mm: float, radius_mm: float) -> Data:
    wide, tip = 0.035 * far_mm, near_mm + 0.2 * (far_mm - near_mm)
    return path(np.array(((tip, 0.0), (far_mm, wide), (far_mm, -wide))) - np.array((radius_mm, 0.0)), fill="ink")


def flexible_rolled(
    motion: Motion, which: int, about: float = 0.0, reach: float = 0.5
) -> tuple[list[Data], list[Data]]:
    """The flexible ring as the generator shapes it, cut at the top and rolled out, tooth by tooth; and the mark on tooth 0.
    ``about``, ``reach``: as for :func:`ring_rolled`."""
    made, radius = motion.rows[which], motion.shape.radius_mm
    run = drawn.tooth_run(made.outline_mm, drawn.SLACK * radius)
    inner, more = -motion.inner_offset_mm, 1.04
    low, high = float(run[0, 1]) * more, float(run[-1, 1]) * more
    body = np.vstack((run, (run[-1, 0], high), (inner, high), (inner, low), (run[0, 0], low)))
    back = np.array(((inner, run[0, 1]), (inner, run[-1, 1])))
    tooth = [path(body, fill="flexible_soft"), path(run, back, closed=False, line="flexible")]
    seats = along(motion.shape, TURN * radius * np.arange(made.teeth) / made.teeth)
    alike: dict[tuple[float, float], list[list[Number]]] = {}
    for x, y, normal in seats:
        polar = math.atan2(y, x)
        lean = round(math.remainder(normal - polar, TURN), 5) + 0.0
        place = _beside(place_of(polar), about)
        if abs(place) <= reach:
            alike.setdefault((round(math.hypot(x, y) - radius, 4) + 0.0, lean), []).append(rolled(place, radius))
    items = [group([group(tooth, (out, 0.0, lean))], *places) for (out, lean), places in alike.items()]
    x, y, normal = seats[0]
    polar = math.atan2(y, x)
    at = (round(math.hypot(x, y) - radius, 4), 0.0, round(normal - polar, 5))
    mark = group(drawn.tooth_mark(motion, which), at)
    return items, [group([mark], rolled(_beside(place_of(polar), about), radius))]


def generator_rolled(motion: Motion, about: float = 0.0, reach: float = 0.5) -> tuple[list[Data], list[Data]]:
    """Bodies of the generator: rollers ride with the strip, what holds the middle is bent; and what is there at the end only.
    ``about``, ``reach``: as for :func:`ring_rolled`."""
    radius = motion.shape.radius_mm
    look: Data = {"fill": "generator_soft", "line": "generator", "line_px": 1.5}
    bodies, pins = [], []
    for wheel in motion.wheels:
        if drawn.holds_middle(wheel):
            bodies.append(_bent(motion, wheel, look, about, reach))
            continue
        far, angle = math.hypot(wheel.x_mm, wheel.y_mm), math.atan2(wheel.y_mm, wheel.x_mm)
        disc = {"kind": "disc", "centre": [round(far - radius, 3), 0.0], "radius": round(wheel.radius_mm, 3), **look}
        pin = {**disc, "radius": round(0.3 * wheel.radius_mm, 3), "fill": "generator", "line_px": 0.0}
        place = _beside(place_of(angle), about)
        if abs(place) <= reach + wheel.radius_mm / (TURN * radius):
            bodies.append(group([disc], rolled(place, radius)))
            pins.append(group([pin], rolled(place, radius)))
    # only where the rollers have all but arrived, so that no roller is seen twice
    late = {"fade": course(-49.0, 0.0, "share", 50.0, -REST / (1.0 - REST), 1.0 / (1.0 - REST))}
    whole = drawn.generator_items(motion)
    return [*bodies, *pins], [group(whole, **late)]


def presses_at(motion: Motion) -> tuple[float, float]:
    """Where the leftmost body of the generator is pointed at: its place on the flat length, and how far outside of it [mm]."""
    radius = motion.shape.radius_mm
    rollers = [wheel for wheel in motion.wheels if not drawn.holds_middle(wheel)]
    if not rollers:
        place = place_of(TURN / 2.0)
        return place, float(_reach(motion.wheels[0])(np.array([TURN / 2.0]))[0]) - 1.04 * radius
    first = min(rollers, key=lambda wheel: place_of(math.atan2(wheel.y_mm, wheel.x_mm)))
    return place_of(math.atan2(first.y_mm, first.x_mm)), math.hypot(first.x_mm, first.y_mm) - radius - first.radius_mm


def followed(name: str, place: float, out_mm: float, radius_mm: float) -> tuple[list[Number], dict[str, list[float]]]:
    """A point that lies ``out_mm`` outside a place of the flat length, as it goes while that is bent; and its tables."""
    spot, out = np.array([place]), np.array([out_mm])
    way = np.vstack([_at(spot, out, float(t), radius_mm) for t in np.linspace(0.0, 1.0, STAGES + 1)])
    tables = {f"{name}_{axis}": [round(float(v), 3) + 0.0 for v in way[:, k]] for k, axis in enumerate("xy")}
    return [course(table=one, start=-REST / (1.0 - REST), rate=1.0 / (1.0 - REST)) for one in tables], tables


def _reach(wheel: Wheel) -> Callable[[Array], Array]:
    """Radius of a body's outline by its angle (k,) as seen from the drive's axis."""
    loop = (
        np.asarray(wheel.outline_mm) if wheel.outline_mm else drawn.circle(wheel.radius_mm, wheel.x_mm, wheel.y_mm, 720)
    )
    angle, far = np.arctan2(loop[:, 1], loop[:, 0]), np.hypot(loop[:, 0], loop[:, 1])
    order = np.argsort(angle)
    return lambda wanted: np.interp(wanted, angle[order], far[order], period=TURN)


def _bent(motion: Motion, wheel: Wheel, look: Data, about: float = 0.0, reach: float = 0.5) -> Data:
    """A body that holds the middle, cut at the top and laid flat: a bar whose one side is its outline, the other the middle."""
    radius = motion.shape.radius_mm
    places = np.linspace(-reach, reach, max(BODY_POINTS // 4, round(2.0 * reach * BODY_POINTS)) + 1)
    far = _reach(wheel)(TURN * (places + about - QUARTER))
    thick = 1.25 * (radius - float(far.min())) + 0.06 * radius
    stages = []
    for t in np.linspace(0.0, 1.0, STAGES + 1):
        deep = -(thick + (radius - thick) * t * t)
        back = places[::-3]
        here = np.concatenate((places, back))
        out = np.concatenate((far - radius, np.full(len(back), deep)))
        stages.append([drawn.flat_run(_at(here, out, float(t), radius))])
    return {"kind": "stages", "at": share(), "loops": stages, **look}


def _at(places: Array, out_mm: Array, t: float, radius_mm: float) -> Array:
    """Where places of the flat length stand that lie ``out_mm`` outside it, at the share t."""
    turn = TURN * places * t
    if t == 0.0:
        return np.column_stack((TURN * radius_mm * places, -radius_mm - out_mm))
    far = radius_mm / t + out_mm
    return np.column_stack((far * np.sin(turn), radius_mm / t - radius_mm - far * np.cos(turn)))
