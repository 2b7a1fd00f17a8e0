"""Scene *rolled*: the racks rolled up into rings in one motion; what comes out is the round drive, tooth for tooth.

Nothing is put in between: every tooth goes from its place on the flat length to its place in the ring (see
:mod:`lobewright.teach.rolling`), and at the end it stands where :func:`lobewright.make.moving_page.pose` has it at angle 0.
"""

from __future__ import annotations

import math

import numpy as np

from lobewright.design import model as m
from lobewright.make.moving_page import Motion
from lobewright.motion import FLEXIBLE, GENERATOR
from lobewright.picture.palette import Role
from lobewright.picture.score import Data, Drag, Figure, Moment, Reading, Said, Score, Words, course
from lobewright.teach import drawn, rolling, shown
from lobewright.teach.language import Language
from lobewright.teach.naming import part_names
from lobewright.teach.scene import Ask, Choice, Scene, Take
from lobewright.teach.subject import Subject
from lobewright.verdict import capital

PART = "rolled"
SECONDS = 10.0
CLOSE_TEETH, CLOSE_WIDE, CLOSE_HIGH, CLOSE_ROOT = 5.0, 198.0, 102.0, 0.3
"""The magnified teeth: how many, the window's size in pixels, and how high in it the roots of the spaces stand."""
WIDE, TALL = 3.28, 1.78
"""Half the width of the view over the neutral radius; its width over its height."""
GAP_CLOSES = 0.88
"""Where (u) the ends have come so near that no arrow goes between them any more."""


def _put_in(subject: Subject, language: Language, front: int) -> dict[str, object]:
    row = shown.rows(subject)[front]
    moved = shown.usual(subject)
    radius = subject.motion.shape.radius_mm
    lobes = subject.found.design.lobes
    return {
        "ring": shown.named(subject, language, row.name),
        "Ring": capital(shown.named(subject, language, row.name)),
        "flexible": shown.named(subject, language, FLEXIBLE),
        "Flexible": capital(shown.named(subject, language, FLEXIBLE)),
        "generator": shown.named(subject, language, GENERATOR),
        "read": shown.named(subject, language, moved.read),
        "Read": capital(shown.named(subject, language, moved.read)),
        "spaces": row.ring_teeth,
        "teeth": row.flexible_teeth,
        "lobes": lobes,
        "length_mm": language.number(2 * math.pi * radius, 1),
        "radius_mm": language.number(radius, 2),
        "ratio": shown.ratio_words(language, moved.ratio),
    }


def _names_flat(subject: Subject, language: Language, put_in: dict[str, object], low: float) -> list[Data]:
    """What is what while it lies flat: gone when rolling has begun."""
    motion, radius = subject.motion, subject.motion.shape.radius_mm
    length, px = drawn.TURN * radius, 2 * WIDE * radius / 960.0
    round_ones = [wheel for wheel in motion.wheels if not drawn.holds_middle(wheel)]
    tops = [radius - math.hypot(wheel.x_mm, wheel.y_mm) + wheel.radius_mm for wheel in round_ones]
    top = max(tops, default=0.12 * radius) - radius + 8.0 * px

    def name(key: str, x: float, head: tuple[float, float], anchor: str, up: float = 0.6) -> list[Data]:
        text = drawn.words((x, up * radius), language.say(PART, key, **put_in), 17.0, anchor=anchor, strong=True)
        tail = (max(-2.4 * radius, min(2.4 * radius, x)), up * radius - 8.0 * px)
        return [text, drawn.arrow([round(v, 3) for v in tail], [round(v, 3) for v in head], Role.INK, 1.4)]

    lobes = motion.shape.lobes
    places = [length * rolling.place_of(drawn.TURN * k / lobes) for k in range(lobes)]
    first = min((wheel for wheel in motion.wheels), key=lambda w: rolling.place_of(math.atan2(w.y_mm, w.x_mm)))
    at = length * rolling.place_of(math.atan2(first.y_mm, first.x_mm)) if round_ones else min(places) - 0.2 * radius
    beside = 0.7 * first.radius_mm if round_ones else 0.0
    items = [
        *name("name_rack", 3.1 * radius, (0.46 * length, -1.06 * radius), "end"),
        *name("name_strip", 0.0, (0.0, -0.96 * radius), "middle", 1.0),
        *name("name_generator", -3.1 * radius, (at - beside, top - 8.0 * px - 0.3 * beside), "start"),
        drawn.words((places[0], low + 9.0 * px), language.say(PART, "name_marks"), 14.0, anchor="middle"),
    ]
    lobe = language.say(PART, "name_lobe")
    for x in places:
        items.append(drawn.words((x, top + 40.0 * px), lobe, 15.0, anchor="middle"))
        items.append(
            drawn.arrow((round(x, 3), round(top + 34.0 * px, 3)), (round(x, 3), round(top, 3)), Role.LOBE_MARK, 4.0)
        )
    gone = rolling.REST + 0.04
    return [drawn.group(items, fade=course(gone / 0.04, -1.0 / 0.04))]


def _names_bent(
    subject: Subject, language: Language, put_in: dict[str, object], front: int, high: float
) -> tuple[list[Data], dict[str, list[float]]]:
    """What is what while it is bent: names above, left of the magnified view, where nothing passes, and arrows that go through
    the gap between the ends and follow the parts; with their tables."""
    ring, radius = subject.motion.rings[front], subject.motion.shape.radius_mm
    px = 2 * WIDE * radius / 960.0
    rim = 0.5 * (ring.root_radius_mm + ring.outer_radius_mm) - radius
    side = round(0.2 * radius, 3)
    named = {
        "strip": (0.0, 26.0, "middle", 0.0, (0.0, 0.0)),
        "rack": (-side, 54.0, "end", 0.4, (-0.03, rim)),
        "generator": (-side, 80.0, "end", 0.8, rolling.presses_at(subject.motion)),
    }
    items: list[Data] = []
    tables: dict[str, list[float]] = {}
    for name, (x, down, anchor, begins, (place, out_mm)) in named.items():
        y = round(high - down * px, 3)
        head, more = rolling.followed(name, place, out_mm, radius)
        tables |= more
        words_ = language.say(PART, f"name_{name}", **put_in)
        items.append(drawn.words((x, y), words_, 15.0, anchor=anchor, strong=True))
        items.append(drawn.arrow((round(begins * x, 3), round(y - 6.0 * px, 3)), head, Role.INK, 1.4))
    begun = rolling.REST + 0.04
    inner = drawn.group(items, fade=course(-begun / 0.04, 1.0 / 0.04))
    return [drawn.group([inner], fade=course(GAP_CLOSES / 0.03, -1.0 / 0.03))], tables


def _names_round(subject: Subject, language: Language, front: int, size: float) -> list[Data]:
    """What is what when it is round: there at the end only."""
    px = 2 * WIDE * subject.motion.shape.radius_mm / 960.0
    lines = [
        drawn.words((1.2 * size, (12.0 - 26.0 * k) * px), language.say(PART, key), 15.0)
        for k, key in enumerate(("end_lobe", "end_tooth", "end_space"))
    ]
    names = part_names(subject, language, front, "", size, rims=False)
    return [drawn.group([*names, *lines], fade=course(-19.0, 20.0))]


def _close_up(motion: Motion, language: Language, front: int, view: tuple[float, float, float, float]) -> list[Data]:
    """The marked tooth in its space, magnified, above on the right where nothing passes: the same teeth, rolled up with the
    rest, with the space always at the bottom."""
    px = (view[2] - view[0]) / 960.0
    box = (view[2] - CLOSE_WIDE * px, view[3] - (26.0 + CLOSE_HIGH) * px, view[2] - 10.0 * px, view[3] - 26.0 * px)
    row = motion.rings[front].row
    pitch = drawn.TURN * motion.shape.radius_mm / motion.rows[row].teeth
    big = drawn.scaled(motion, (box[2] - box[0]) / (CLOSE_TEETH * pitch))
    ring, radius, reach = big.rings[front], big.shape.radius_mm, (0.5 * CLOSE_TEETH + 1.5) / motion.rows[row].teeth
    bodies, _ = rolling.generator_rolled(big, rolling.QUARTER, reach)
    strip, mark = rolling.flexible_rolled(big, row, rolling.QUARTER, reach)
    items = [*rolling.ring_rolled(big, front, rolling.QUARTER, reach), *bodies, *strip, *mark]
    # What stands at the bottom lies on the neutral circle: the roots of the spaces stand CLOSE_ROOT above the box's lower edge.
    low = box[1] + CLOSE_ROOT * (box[3] - box[1]) + ring.root_radius_mm - radius
    frame = np.array(((box[0], box[1]), (box[2], box[1]), (box[2], box[3]), (box[0], box[3])))
    inside = drawn.group(items, ((box[0] + box[2]) / 2, round(low + radius, 3), 0.0))
    title = drawn.words((box[2], box[3] + 7.0 * px), language.say(PART, "close_up"), 14.0, anchor="end", strong=True)
    return [drawn.group([inside], clip=[round(v, 3) for v in box]), drawn.path(frame, line="quiet"), title]


def _score(subject: Subject, language: Language, front: int) -> Score:
    motion = subject.motion
    radius = motion.shape.radius_mm
    size = drawn.reach_mm(motion)
    put_in = _put_in(subject, language, front)
    half = WIDE * radius
    low = -1.24 * size
    ring = motion.rings[front]
    bodies, late = rolling.generator_rolled(motion)
    strip, mark = rolling.flexible_rolled(motion, ring.row)
    items = [*rolling.ring_rolled(motion, front), *bodies, *strip, *late, *mark]
    high = low + 2 * half / TALL
    items += _names_flat(subject, language, put_in, low) + _names_round(subject, language, front, size)
    bent, tables = _names_bent(subject, language, put_in, front, high)
    items += [*bent, *_close_up(motion, language, front, (-half, low, half, high))]

    def say(key: str) -> str:
        return language.say(PART, key, **put_in)

    turned = course(0.0, 0.0, "share", 360.0, -rolling.REST / (1 - rolling.REST), 1 / (1 - rolling.REST))
    half_way = rolling.REST + (1 - rolling.REST) / 2
    said = (("said_start", 0.0), ("said_roll", 0.12), ("said_half", half_way), ("said_end", 1.0))
    return Score(
        view=(-half, low, half, high),
        items=tuple(items),
        title=say("title"),
        description=say("description") + " " + say("description_close_up"),
        seconds=SECONDS,
        tables=rolling.roll_tables() | tables,
        drag=Drag(say("drag"), 1.6 * radius, angle_rad=math.pi / 2),
        readings=(
            Reading("bent", say("reading_bent"), Words("{0}°", (Figure(turned, 0),))),
            Reading("length", say("reading_length"), Words(f"{put_in['length_mm']} mm")),
            Reading("counts", say("reading_counts"), Words(f"{put_in['teeth']} / {put_in['spaces']}")),
        ),
        said=tuple(Said(at, say(key)) for key, at in said),
        moments=(
            Moment("flat", 0.0, say("moment_flat")),
            Moment("half", half_way, say("moment_half")),
            Moment("whole", 1.0, say("moment_whole")),
        ),
        marks=language.marks,
    )


def scene(subject: Subject, language: Language) -> Scene:
    """From straight racks to rings."""
    front = shown.pair(subject).index
    put_in = _put_in(subject, language, front)

    def say(key: str) -> str:
        return language.say(PART, key, **put_in)

    title = say("title")
    choices = [Choice(say(f"choice_{k}"), k == "same", say(f"why_{k}")) for k in ("same", "length", "more", "none")]
    points = [say("point_length"), say("point_wedge"), say("point_ratio")]
    pairs = ("intro_pairs",) if isinstance(subject.found.design.generator, m.PairedRollers) else ()
    if len(subject.motion.rings) > 1:
        points.append(say("point_other"))
    return Scene(
        name="rolled",
        title=title,
        intro=(say("intro_1"), " ".join(say(key) for key in ("intro_2", *pairs))),
        takes=(Take("roll", title, _score(subject, language, front), Ask(say("ask"), tuple(choices))),),
        points=tuple(points),
        wrong=shown.wrongs(subject, language, *shown.TOLD),
    )
