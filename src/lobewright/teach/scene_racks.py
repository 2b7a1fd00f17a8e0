"""Scene *racks*: the drive laid flat, two racks of one length with different counts of teeth, and where they line up.

A wedge that runs one wave along lets each tooth into the next space. Travel in and out are in the ratio of the tooth counts, by
:func:`lobewright.motion.solve`. Everything is drawn from the design's own outlines (see :mod:`lobewright.teach.flat`).
"""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np

from lobewright.motion import FLEXIBLE, GENERATOR
from lobewright.picture.palette import Role
from lobewright.picture.score import Data, Drag, Figure, Moment, Reading, Said, Score, Words, course
from lobewright.teach import shown
from lobewright.teach.drawn import arrow, group, path, row, words
from lobewright.teach.flat import Flat, flat, flat_tables, rack_items, strip_items, wedge_items
from lobewright.teach.language import Language
from lobewright.teach.scene import Ask, Choice, Scene, Take
from lobewright.teach.subject import Subject
from lobewright.verdict import capital

PART = "racks"
SECONDS = 12.0
EDGE = 0.12
"""Share of a wave that is in view beyond either end of the wedge's way."""
SEEN_TEETH = 9.0
"""Teeth in each of the two magnified places."""
LENS_LOW = 286.0
"""Lower edge of the magnified places below the top of the picture, px."""


def _box(x0: float, y0: float, x1: float, y1: float) -> np.ndarray:
    return np.array(((x0, y0), (x1, y0), (x1, y1), (x0, y1)))


def _whole(f: Flat, px: float, held: str, read_role: Role) -> list[Data]:
    """A whole wave with a wedge in the middle of its way, and beside it those of the neighbour lobes."""
    wave = f.turn_mm / f.motion.shape.lobes
    view = (-EDGE * wave, (1 + EDGE) * wave)
    depth = 26.0 * px
    top = f.y_mm(float(np.hypot(f.motion.shape.x_mm, f.motion.shape.y_mm).min()) - f.motion.inner_offset_mm) + 22.0 * px
    wedge = wedge_items(f, 1.0, top)
    knob = {
        "kind": "disc",
        "centre": [0.0, round(top - 14.0 * px, 3)],
        "radius": round(6.0 * px, 3),
        "fill": "generator",
    }
    root = f.y_mm(f.motion.rings[f.index].root_radius_mm)
    pitch = f.turn_mm / f.rack_teeth
    tens = math.ceil((1 + EDGE) * wave / (10.0 * pitch)) + 1
    number = {"words": "{0}", "numbers": [{"of": course(row={"v": 10.0 * tens})}]}
    numbers = words((0.0, 0.0), number, 11.0, Role.INK, anchor="middle")
    marks = group(
        [row(tens, group([numbers], [course(row={"v": 10.0 * tens * pitch}), root - 18.0 * px, 0.0]))],
        [course(slope=f.rack * f.way_mm) if f.rack else 0.0, 0.0, 0.0],
    )
    return [
        *rack_items(f, 1.0, 0.0, view, depth, held == "rack"),
        marks,
        *strip_items(f, 1.0, 0.0, view, held == FLEXIBLE),
        group(wedge, *([course(k * wave, f.way_mm), 0.0, 0.0] for k in (-1, 1)), fade=0.55),
        group([*wedge, knob], [course(0.0, f.way_mm), 0.0, 0.0]),
    ]


def _lens(f: Flat, centre_turns: float, box: tuple[float, float, float, float], held: str, rise: float) -> list[Data]:
    """A few teeth magnified, seen from the wedge, about a place ``centre_turns`` of a turn ahead of it; the rack's roots stand
    ``rise`` of the height above the lower edge."""
    pitch = f.turn_mm / f.strip_teeth
    scale = (box[2] - box[0]) / (SEEN_TEETH * pitch)
    middle = centre_turns * f.turn_mm
    half = 0.5 * SEEN_TEETH * pitch
    view = (middle - half, middle + half)
    ring = f.motion.rings[f.index]
    low, high = scale * f.y_mm(ring.root_radius_mm), scale * f.y_mm(f.motion.shape.radius_mm)
    inside = [
        *rack_items(f, scale, 1.0, view, 3.0 * (high - low), held == "rack"),
        *strip_items(f, scale, 1.0, view, held == FLEXIBLE),
    ]
    if centre_turns == 0.0:
        inside += wedge_items(f, scale, high + 5.0 * (high - low))
    at = ((box[0] + box[2]) / 2 - scale * middle, box[1] + rise * (box[3] - box[1]) - low, 0.0)
    clip = [round(v, 3) for v in box]
    return [group(inside, [round(v, 3) for v in at], clip=clip), path(_box(*box), line="quiet")]


def _score(subject: Subject, language: Language, f: Flat, put_in: dict[str, object]) -> Score:
    wave = f.turn_mm / f.motion.shape.lobes
    x0, x1 = -EDGE * wave, (1 + EDGE) * wave
    px = (x1 - x0) / 960.0
    moved = shown.usual(subject)
    held = "rack" if f.rack == 0.0 else FLEXIBLE if f.strip == 0.0 else ""
    ring = f.motion.rings[f.index]
    low = f.y_mm(ring.root_radius_mm) - 92.0 * px
    view = (x0, low, x1, low + 546.0 * px)
    boxes = [
        (x0 + a * px, view[3] - LENS_LOW * px, x0 + b * px, view[3] - 40.0 * px) for a, b in ((16, 470), (490, 944))
    ]
    way_out = float(moved.turns[moved.read]) * f.way_mm
    role, _ = shown.role_of(subject, moved.read)
    base = low + 40.0 * px

    def say(key: str) -> str:
        return language.say(PART, key, **put_in)

    half = 0.5 / f.motion.shape.lobes
    edge = f.turn_mm * half
    tick = path(np.array(((0.0, base), (0.0, base + 22.0 * px))), closed=False, line="quiet")
    place = path(
        np.array(((0.0, view[3] - LENS_LOW * px), (0.0, low + 66.0 * px))), closed=False, line="lobe_mark", dash_px=4.0
    )
    items = [
        *_whole(f, px, held, role),
        group([place], *([course(k * edge, f.way_mm), 0.0, 0.0] for k in (-1, 0, 1))),
        *_lens(f, 0.0, boxes[0], held, 0.22),
        *_lens(f, half, boxes[1], held, 0.14),
        words((boxes[0][0], boxes[0][3] + 10.0 * px), say("lens_wedge"), 15.0, strong=True),
        words((boxes[1][0], boxes[1][3] + 10.0 * px), say("lens_between"), 15.0, strong=True),
        tick,
        words((-8.0 * px, base + 10.0 * px), say("label_in"), 13.0, Role.GENERATOR, anchor="end"),
        words((24.0 * px, base - 5.0 * px), say("label_out"), 13.0, role),
        # Nothing of the way out is shown before it moves: it is what is asked.
        group(
            [
                arrow((0.0, base + 14.0 * px), (course(1e-3, f.way_mm), base + 14.0 * px), Role.GENERATOR, 2.5),
                arrow((0.0, base), (course(1e-3 * way_out, way_out), base), role, 2.5),
            ],
            fade=course(slope=20.0),
        ),
    ]
    return Score(
        view=view,
        items=tuple(items),
        title=say("title"),
        description=say("description"),
        seconds=SECONDS,
        tables=flat_tables(f),
        drag=Drag(say("drag"), f.way_mm),
        readings=_readings(subject, language, f, put_in),
        said=tuple(
            Said(at, say(key))
            for key, at in (("said_start", 0.0), ("said_on", 0.12), ("said_half", 0.5), ("said_end", 0.97))
        ),
        moments=_moments(language, f),
        marks=language.marks,
    )


def _moments(language: Language, f: Flat) -> tuple[Moment, ...]:
    passed = abs(f.rack - 1.0) * f.way_turns * f.rack_teeth
    teeth = [Moment(f"tooth_{k}", k / passed, language.say(PART, "moment_tooth", tooth=k)) for k in (1, 2, 3)]
    return (
        *teeth,
        Moment("half", 0.5, language.say(PART, "moment_half")),
        Moment("whole", 1.0, language.say(PART, "moment_whole")),
    )


def _readings(subject: Subject, language: Language, f: Flat, put_in: dict[str, object]) -> tuple[Reading, ...]:
    moved = shown.usual(subject)
    out = float(moved.turns[moved.read]) * f.way_mm

    def say(key: str) -> str:
        return language.say(PART, key, **put_in)

    return (
        Reading("in", say("reading_in"), Words("{0} mm", (Figure(course(slope=f.way_mm), 1),))),
        Reading("out", say("reading_out"), Words("{0} mm", (Figure(course(slope=out), 2, True),))),
        Reading("ratio", say("reading_ratio"), Words(str(put_in["ratio"]))),
    )


def _put_in(subject: Subject, language: Language, f: Flat, pair: shown.Pair) -> dict[str, object]:
    moved = shown.usual(subject)
    lobes = subject.found.design.lobes
    ratio = moved.ratio
    rack, strip = pair.row.ring_teeth, pair.row.flexible_teeth
    whole = Fraction(rack, lobes), Fraction(strip, lobes)
    out = moved.turns[moved.read] / lobes
    return {
        "rack": rack,
        "strip": strip,
        "ring": shown.named(subject, language, pair.row.name),
        "Ring": capital(shown.named(subject, language, pair.row.name)),
        "flexible": shown.named(subject, language, FLEXIBLE),
        "read": shown.named(subject, language, moved.read),
        "Read": capital(shown.named(subject, language, moved.read)),
        "held": shown.named(subject, language, moved.fixed),
        "Held": capital(shown.named(subject, language, moved.fixed)),
        "difference": abs(pair.difference),
        "waves": abs(pair.difference),
        "wave_spaces": language.number(float(whole[0]), 0 if whole[0].denominator == 1 else 1),
        "wave_teeth": language.number(float(whole[1]), 0 if whole[1].denominator == 1 else 1),
        "in_mm": language.number(f.way_mm, 1),
        "out_mm": language.number(abs(float(out)) * f.turn_mm, 2),
        "rack_pitch": language.number(f.turn_mm / rack, 3),
        "strip_pitch": language.number(f.turn_mm / strip, 3),
        "ratio": shown.ratio_words(language, ratio),
        "size": shown.ratio_words(language, abs(ratio)),
        "tall": f.tall,
        "way": language.say(PART, "with" if ratio > 0 else "against"),
    }


def _ask(language: Language, put_in: dict[str, object], out_mm: float, ratio: Fraction, in_mm: float) -> Ask:
    """How far does it go? The right travel among the usual slips."""

    def travel(value: float) -> str:
        key = "choice_with" if value > 0 else "choice_against"
        return language.say(PART, key, mm=language.number(abs(value), 2))

    right = travel(out_mm)
    slips = {
        "ask_sign": travel(-out_mm),
        "ask_same": travel(in_mm),
        "ask_off": travel(in_mm / float(ratio + (1 if ratio > 0 else -1))),
    }
    choices = [Choice(right, True, language.say(PART, "ask_right", **put_in))]
    choices += [
        Choice(shown_as, False, language.say(PART, key, **put_in))
        for key, shown_as in slips.items()
        if shown_as != right
    ]
    return Ask(language.say(PART, "ask", **put_in), tuple(choices))


def scene(subject: Subject, language: Language) -> Scene:
    """Racks that line up, and a wedge that runs along."""
    title = language.say(PART, "title")
    pair = shown.pair(subject)
    moved = shown.usual(subject)
    f = flat(subject, pair, 1.0 / subject.found.design.lobes)
    put_in = _put_in(subject, language, f, pair)
    out_mm = float(moved.turns[moved.read]) * f.way_mm

    def say(key: str) -> str:
        return language.say(PART, key, **put_in)

    points = [say("point_line_up"), say("point_travel"), say("point_drawn")]
    if moved.read not in (FLEXIBLE, pair.row.name):
        points.insert(2, say("point_other"))
    if subject.found.motion.fixed == GENERATOR:
        points.append(say("point_held"))
    ask = _ask(language, put_in, out_mm, moved.ratio, f.way_mm)
    return Scene(
        name="racks",
        title=title,
        intro=(say("intro_1"), say("intro_2")),
        takes=(Take("flat", title, _score(subject, language, f, put_in), ask),),
        points=tuple(points),
        wrong=shown.wrongs(subject, language, *shown.TOLD),
    )
