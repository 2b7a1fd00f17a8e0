"""Scene *rolled*: the racks rolled up into rings in one motion; what comes out is the round drive, tooth for tooth.

Nothing is put in between: every tooth goes from its place on the flat length to its place in the ring (see
:mod:`lobewright.teach.rolling`), and at the end it stands where :func:`lobewright.make.moving_page.pose` has it at angle 0.
"""

from __future__ import annotations

import math

from lobewright.motion import FLEXIBLE, GENERATOR
from lobewright.picture.score import Drag, Figure, Moment, Reading, Said, Score, Words, course
from lobewright.teach import drawn, rolling, shown
from lobewright.teach.language import Language
from lobewright.teach.scene import Ask, Choice, Scene, Take
from lobewright.teach.subject import Subject
from lobewright.verdict import capital

PART = "rolled"
SECONDS = 10.0
WIDE, TALL = 3.28, 1.78
"""Half the width of the view over the neutral radius; its width over its height."""


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


def _score(subject: Subject, language: Language, front: int) -> Score:
    motion = subject.motion
    radius = motion.shape.radius_mm
    size = drawn.reach_mm(motion)
    put_in = _put_in(subject, language, front)
    half = WIDE * radius
    low = -1.12 * size
    ring = motion.rings[front]
    bodies, late = rolling.generator_rolled(motion)
    strip, mark = rolling.flexible_rolled(motion, ring.row)
    items = [*rolling.ring_rolled(motion, front), *bodies, *strip, *late, *mark]

    def say(key: str) -> str:
        return language.say(PART, key, **put_in)

    turned = course(0.0, 0.0, "share", 360.0, -rolling.REST / (1 - rolling.REST), 1 / (1 - rolling.REST))
    said = (("said_start", 0.0), ("said_roll", 0.12), ("said_half", 0.5), ("said_end", 0.93))
    return Score(
        view=(-half, low, half, low + 2 * half / TALL),
        items=tuple(items),
        title=say("title"),
        description=say("description"),
        seconds=SECONDS,
        tables=rolling.roll_tables(),
        drag=Drag(say("drag"), 1.6 * radius, angle_rad=math.pi / 2),
        readings=(
            Reading("bent", say("reading_bent"), Words("{0}°", (Figure(turned, 0),))),
            Reading("length", say("reading_length"), Words(f"{put_in['length_mm']} mm")),
            Reading("counts", say("reading_counts"), Words(f"{put_in['teeth']} / {put_in['spaces']}")),
        ),
        said=tuple(Said(at, say(key)) for key, at in said),
        moments=(
            Moment("flat", 0.0, say("moment_flat")),
            Moment("half", rolling.REST + (1 - rolling.REST) / 2, say("moment_half")),
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
    if len(subject.motion.rings) > 1:
        points.append(say("point_other"))
    return Scene(
        name="rolled",
        title=title,
        intro=(say("intro_1"), say("intro_2")),
        takes=(Take("roll", title, _score(subject, language, front), Ask(say("ask"), tuple(choices))),),
        points=tuple(points),
        wrong=shown.wrongs(subject, language, *shown.TOLD),
    )
