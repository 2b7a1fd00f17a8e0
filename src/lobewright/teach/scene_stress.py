"""Scene 8: where the flexible ring is stressed as the wave passes, and how often a point of it is bent."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from lobewright.design import model as m
from lobewright.make.moving_page import FLEXIBLE, GENERATOR, Motion
from lobewright.picture.score import ANSWERS, Data, Drag, Figure, Moment, Reading, Said, Score, Words, course
from lobewright.strength.duty import duty_of
from lobewright.teach import drawn, shown
from lobewright.teach.language import Language
from lobewright.teach.plots import Plot
from lobewright.teach.pushed import pushed
from lobewright.teach.reasons import Why
from lobewright.teach.ring_course import POINTS, RingCourse, ring_courses
from lobewright.teach.scene import Ask, Choice, Scene, Take
from lobewright.teach.subject import Subject
from lobewright.verdict import State, capital

Array = NDArray[np.float64]
Progress = Callable[[str, float], None]
PART = "stress"
TOLD = ("flexible_strain", "flexible_wall", "belt_bend")
"""Checks that belong here."""
SECONDS = 10.0
ON, HALFWAY = 0.06, 0.94
"""From a lobe to halfway to the next as 0 to 1: up to where a place counts as on the lobe, and from where as halfway."""
PLACES_U = 3
"""Places after the point of where the picture stops."""
UNEVEN = 0.02
"""Over the range of a course: from where on what lobes do differently is told."""
RIBBON = 0.2
"""Greatest height of the ribbon round the ring, over the ring's radius."""


def scene(subject: Subject, language: Language, progress: Progress | None = None) -> Scene:
    """The scene. A drive that is not solved under torque shows the strain of its wall only, and says so."""
    push = pushed(subject.found, progress)
    courses = ring_courses(subject.found, push)
    takes = tuple(_take(subject, one, language) for one in courses)
    points = [*_points(subject, courses, language)]
    if any(one.unit == "MPa" for one in courses):
        points.append(language.say(PART, "point_hoop"))
    if isinstance(push, Why):
        points.append(language.say(PART, "no_torque", why=push.words(language)))
    elif any(one.torque_nmm and one.apart(subject.motion.shape.lobes) > UNEVEN for one in courses):
        off_mm = push.drive.stiffness.inputs.run_out_share * subject.motion.shape.radius_mm
        points.append(language.say(PART, "point_uneven", off=language.number(1000.0 * off_mm, 1)))
    wrong = tuple(
        language.say(PART, f"fails_{verdict.name}")
        for verdict in subject.found.verdicts
        if verdict.state is State.FAIL and verdict.name in TOLD
    )
    return Scene("stress", language.say(PART, "title"), (language.say(PART, "intro"),), takes, tuple(points), wrong)


def bends_a_turn(motion: Motion) -> float:
    """How often a point of the flexible ring is bent while the picture's member turns once."""
    return motion.shape.lobes * abs(motion.turns(FLEXIBLE) - motion.turns(GENERATOR))


def _figures(one: RingCourse) -> int:
    largest = max(abs(one.highest), abs(one.lowest))
    return 0 if largest >= 100.0 else 1 if largest >= 10.0 else 2 if largest >= 0.1 else 3


def _points(subject: Subject, courses: tuple[RingCourse, ...], language: Language) -> list[str]:
    motion, found = subject.motion, subject.found
    bends = bends_a_turn(motion)
    put = {"bends": language.number(bends, 2), "lobes": motion.shape.lobes}
    out = [language.say(PART, "point_turn", **put)]
    moves = found.motion
    slow = moves.slow_member
    a_turn = moves.load_cycles_per_generator_turn
    if a_turn is not None and moves.turns[slow]:
        often = float(a_turn * abs(moves.turns[GENERATOR] / moves.turns[slow]))
        name = shown.named(subject, language, slow)
        out.append(language.say(PART, "point_output", slow=name, bends=language.number(often, 0)))
    duty = duty_of(found.design, found.motion)
    if duty is not None:
        out.append(language.say(PART, "point_duty", bends=language.number(float(f"{duty.bends:.2g}"), 0)))
    for one in courses:
        large, all_of_them = one.cycles
        places = _figures(one)
        small = language.say(PART, "small_too", all=language.number(all_of_them, 0)) if all_of_them > large else ""
        told = {
            "what": capital(language.say(PART, one.name)), "unit": one.unit,
            "low": language.number(one.lowest, places), "high": language.number(one.highest, places, True),
            "when": _when(one, language),
            "large": language.number(large, 0), "small": small,
        }  # fmt: skip
        out.append(language.say(PART, "point_course", **told))
        least, most = (_where(motion, share, language) for share, _ in one.extremes)
        out.append(language.say(PART, "point_where", least=least, most=most, **told))
        if one.spread > 1.0:
            out.append(language.say(PART, "point_spread", share=language.number(100.0 * (one.spread - 1.0), 0)))
    return out


def _where(motion: Motion, share: float, language: Language) -> str:
    """Where a place of the ring stands on its generator, in words; ``share`` of the ring from the first lobe."""
    shape = motion.shape
    at = round(share * len(shape.x_mm)) % len(shape.x_mm)
    angle = math.atan2(shape.y_mm[at], shape.x_mm[at])
    step = drawn.TURN / shape.lobes
    beside = abs(math.remainder(angle, step)) / (0.5 * step)
    if beside >= HALFWAY:
        return language.say(PART, "where_between")
    rollers = [wheel for wheel in motion.wheels if not drawn.holds_middle(wheel)]
    near = 0.5 * ON * step
    if any(abs(math.remainder(math.atan2(w.y_mm, w.x_mm) - angle, drawn.TURN)) <= near for w in rollers):
        return language.say(PART, "where_roller")
    if beside <= ON:
        return language.say(PART, "where_lobe")
    return language.say(PART, "where_beside", degrees=language.number(math.degrees(0.5 * step * beside), 0))


def _when(one: RingCourse, language: Language) -> str:
    if one.torque_nmm == 0.0:
        return language.say(PART, "without_torque")
    return language.say(PART, "at_torque", torque=language.number(one.torque_nmm / 1000.0, 2))


def _take(subject: Subject, one: RingCourse, language: Language) -> Take:
    motion = subject.motion
    say = lambda key, **put: language.say(PART, key, **put)  # noqa: E731
    along = motion.turns(FLEXIBLE) - motion.turns(GENERATOR)
    radius = motion.shape.radius_mm
    tip = max(float(row.outline_mm[:, 1].max()) for row in motion.rows)
    reach = (
        radius + float(np.hypot(motion.shape.x_mm, motion.shape.y_mm).max() - radius) + tip + (2.2 * RIBBON) * radius
    )
    view = (-1.08 * reach, -1.08 * reach, 2.76 * reach, 1.08 * reach)
    unit = (view[2] - view[0]) / 960.0
    places = _figures(one)
    tables = {**drawn.shape_tables(motion), "course": [float(f"{value:.4g}") + 0.0 for value in one.values]}
    value = course(table="course", rate=along, loop=True)
    bends = bends_a_turn(motion)
    kind = "at_rest" if one.torque_nmm == 0.0 else "loaded"
    torque = language.number(one.torque_nmm / 1000.0, 2)
    title = say(f"title_{kind}", what=say(one.name), torque=torque)
    readings = (
        Reading("value", say(f"short_{one.name}"), Words(f"{{0}} {one.unit}", (Figure(value, places, True),))),
        Reading("bends", say("bends"), Words("{0}", (Figure({"s": bends}, 2),))),
        Reading(
            "turns", say("turns" if motion.turns(GENERATOR) else "turns_other"), Words("{0}", (Figure({"s": 1.0}, 2),))
        ),
    )
    next_lobe = 1.0 / bends
    # as close as a hand that slides comes to them
    between, comes, second = (round(share * next_lobe, PLACES_U) for share in (0.5, 1.0, 2.0))
    moments = [
        Moment("lobe", 0.0, say("moment_lobe")),
        Moment("between", between, say("moment_between")),
        Moment("next_lobe", comes, say("moment_next")),
    ]
    if second <= 1.0:
        moments.append(Moment("second_lobe", second, say("moment_second")))
    # from a lobe the mark runs through the course the way that the ring goes past the generator
    halfway = np.interp(along * between, np.arange(POINTS) / POINTS, one.values, period=1.0)
    put = {
        "lobes": motion.shape.lobes, "bends": language.number(bends, 2), "unit": one.unit,
        "lobe": language.number(float(one.values[0]), places, True),
        "between": language.number(float(halfway), places, True),
        "low": language.number(one.lowest, places, True), "high": language.number(one.highest, places, True),
    }  # fmt: skip
    paired = isinstance(subject.found.design.generator, m.PairedRollers)
    lobe = "said_lobe_loaded" if kind == "loaded" else "said_lobe_pair" if paired else "said_lobe"
    said = [
        Said(0.0, say(lobe, **put)),
        Said(round(0.2 * next_lobe, PLACES_U), say("said_leaves")),
        Said(between, say("said_between_loaded" if kind == "loaded" else "said_between", **put)),
        Said(round(0.8 * next_lobe, PLACES_U), say("said_nears")),
        Said(comes, say("said_next", **put)),
        Said(round(1.25 * next_lobe, PLACES_U), say("said_again", **put)),
        Said(round(1.5 * next_lobe, PLACES_U), say("said_on", **put)),
        Said(second, say("said_second", **put)),
        Said(round(2.25 * next_lobe, PLACES_U), say("said_so_on", **put)),
    ]
    said = [one for one in said if one.since < 1.0] + [Said(1.0, say("said_count", **put))]
    description = say("description_tension" if one.name == "tension" else "description", what=say(one.name))
    items = [
        *_drive(motion, one, tip, along), *_plot(motion, one, along, view, unit, value, language),
        *_legend(view, unit, one, language),
    ]  # fmt: skip
    score = Score(
        view, tuple(items), title, description, SECONDS, tables,
        Drag(say("drag"), motion.turns(GENERATOR), True), readings, tuple(said), tuple(moments), marks=language.marks,
    ) if motion.turns(GENERATOR) else Score(
        view, tuple(items), title, description, SECONDS, tables,
        None, readings, tuple(said), tuple(moments), marks=language.marks,
    )  # fmt: skip
    take = say(f"take_{kind}", brief=say(f"brief_{one.name}"), torque=torque)
    return Take(f"{one.name}_{kind}", take, score, _ask(motion, language))


def _drive(motion: Motion, one: RingCourse, tip_mm: float, along: float) -> list[Data]:
    """The flexible ring on its generator with the ribbon round it, one tooth marked."""
    shape = motion.shape
    at = np.arange(POINTS) * len(shape.x_mm) / POINTS
    samples = np.linspace(0, len(shape.x_mm), POINTS, endpoint=False).astype(int)
    normal = shape.normal_angle_rad[samples]
    scale = RIBBON * shape.radius_mm / max(abs(one.highest), abs(one.lowest))
    values = np.interp(at, np.linspace(0, len(shape.x_mm), POINTS + 1), np.append(one.values, one.values[0]))
    base = tip_mm + 1.1 * RIBBON * shape.radius_mm

    def line(out_mm: Array) -> Array:
        return np.column_stack(
            (shape.x_mm[samples] + out_mm * np.cos(normal), shape.y_mm[samples] + out_mm * np.sin(normal))
        )

    zero = np.full(POINTS, base)
    pulled, pressed = line(base + scale * np.maximum(values, 0.0)), line(base + scale * np.minimum(values, 0.0))
    ribbon = [
        drawn.path(pulled, line(zero), fill="level_2", line="level_4"),
        drawn.path(pressed, line(zero), fill="panel", hatch="level_3", line="level_3"),
        drawn.path(line(zero), line="ink", line_px=1.0),
    ]
    mark = drawn.group(drawn.tooth_mark(motion, 0), drawn.seat(0, motion.rows[0].teeth, along))
    # the mark comes last: a cam would hide its pin
    inside = [*ribbon, *drawn.flexible_items(motion, 0, along), *drawn.generator_items(motion), mark]
    return [drawn.spin(inside, motion.turns(GENERATOR))]


def _plot(
    motion: Motion, one: RingCourse, along: float, view: tuple[float, ...], unit: float, value: Data, language: Language
) -> list[Data]:
    width, height = view[2] - view[0], view[3] - view[1]
    box = (view[0] + 0.655 * width, view[1] + 0.3 * height, view[0] + 0.975 * width, view[1] + 0.86 * height)
    low, high = min(0.0, one.lowest), max(0.0, one.highest)
    room = 0.08 * (high - low)
    plot = Plot(box, (0.0, 1.0), (low - room, high + room), unit)
    turns = np.linspace(0.0, 1.0, 241)
    values = np.interp(
        np.mod(along * turns, 1.0), np.linspace(0.0, 1.0, POINTS + 1), np.append(one.values, one.values[0])
    )
    up = language.say(PART, f"axis_{one.name}")
    across = language.say(PART, "axis_turns" if motion.turns(GENERATOR) else "turns_other")
    y = {**value, "v": plot.y(0.0), "m": plot.per_up}
    dot = plot.dot(plot.follow_x("", slope=1.0), y, drawn.Role.TOOTH_MARK)
    # waves can be counted on the curve: it waits for the answer
    curve = drawn.group([*plot.curve(turns, values, drawn.Role.LEVEL_4), dot])
    return [*plot.axes(language, across, up), {**curve, ANSWERS: True}]


def _legend(view: tuple[float, ...], unit: float, one: RingCourse, language: Language) -> list[Data]:
    x, y = view[0] + 0.64 * (view[2] - view[0]), view[1] + 0.12 * (view[3] - view[1])
    change = one.name == "tension"
    rows = [("more_pull" if change else "pulled", {"fill": "level_2", "line": "level_4"})]
    if one.lowest < 0.0:
        rows.append(("less_pull" if change else "pressed", {"fill": "panel", "hatch": "level_3", "line": "level_3"}))
    items: list[Data] = []
    for number, (key, look) in enumerate(rows):
        low = y - 24 * unit * number
        corners = np.array(((x, low), (x + 26 * unit, low), (x + 26 * unit, low + 14 * unit), (x, low + 14 * unit)))
        items += [drawn.path(corners, **look), drawn.words((x + 34 * unit, low + 2 * unit), language.say(PART, key))]
    low = y - 24 * unit * len(rows)
    pin = {"kind": "disc", "centre": [x + 13 * unit, low + 7 * unit], "radius": 5 * unit, "fill": "tooth_mark"}
    return [*items, pin, drawn.words((x + 34 * unit, low + 2 * unit), language.say(PART, "key_mark"))]


def _ask(motion: Motion, language: Language) -> Ask:
    """How often is a point bent in one turn of the generator?"""
    bends = bends_a_turn(motion)
    lobes = motion.shape.lobes
    right = language.number(bends, 2)
    slips = [(language.number(number, 0), key) for number, key in ((1, "why_one"), (2 * lobes, "why_twice"))]
    if math.isclose(bends, lobes):
        right = language.number(lobes, 0)
    else:
        slips.append((language.number(lobes, 0), "why_lobes"))
    rows = [Choice(right, True, language.say(PART, "why_right", lobes=lobes, bends=right))]
    put = {"lobes": lobes, "turns": language.number(motion.turns(FLEXIBLE), 2, True)}
    rows += [Choice(text, False, language.say(PART, key, **put)) for text, key in slips]
    return Ask(language.say(PART, "ask"), tuple(rows))
