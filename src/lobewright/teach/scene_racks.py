"""Scene *racks*: the drive laid flat, two racks of one length with different counts of teeth, and where they line up.

A wedge that runs one wave along lets each tooth into the next space. Travel in and out are in the ratio of the tooth counts, by
:func:`lobewright.motion.solve`. Everything is drawn from the design's own outlines (see :mod:`lobewright.teach.flat`). A second
take gives the rack as many spaces as the strip has teeth: nothing shifts.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction

import numpy as np

from lobewright.motion import FLEXIBLE, GENERATOR
from lobewright.picture.palette import Role
from lobewright.picture.score import Data, Drag, Figure, Moment, Number, Reading, Said, Score, Words, course
from lobewright.teach import shown
from lobewright.teach.drawn import arrow, flat_run, group, path, row, words
from lobewright.teach.flat import (
    Flat,
    alike,
    between_turns,
    flat,
    flat_tables,
    out_mm,
    rack_items,
    rack_mark,
    strip_items,
    wedge_items,
)
from lobewright.teach.language import Language
from lobewright.teach.numbers import places_for
from lobewright.teach.scene import Ask, Choice, Scene, Take
from lobewright.teach.subject import Subject
from lobewright.verdict import capital

PART = "racks"
Roles = tuple[Role, Role]
TRIAL: Roles = (Role.QUIET, Role.RULE)
"""Colours of a rack that is no part of the drive."""
SECONDS = 12.0
EDGE = 0.12
"""Share of a wave that is in view beyond either end of the wedge's way, and more where a magnified place would not be whole."""
SEEN_TEETH = 9.0
"""Teeth in each of the two magnified places; more where the strip would else stand above them."""
COMES = 0.01
"""Share of a wave in which a frame comes in that was beyond the edge."""
LETTER_PX = 6.0
"""Between a frame that is seen and the edge of the picture: more than texts keep."""
LENS_HIGH, LENS_LOW, LENS_WIDE = 40.0, 286.0, 454.0
"""Upper and lower edge of the magnified places below the top of the picture, and their width, px."""
RISE, RISE_ASIDE, ROOM = 0.22, 0.14, 0.14
"""How far roots of the rack stand above the lower edge, under the wedge and beside it, and what is left above the strip's teeth
there, in heights of the place."""


def _box(x0: float, y0: float, x1: float, y1: float) -> np.ndarray:
    return np.array(((x0, y0), (x1, y0), (x1, y1), (x0, y1)))


def seen_teeth(f: Flat, aside_turns: float) -> float:
    """How many teeth each magnified place shows, so that rack and strip are both in the one beside the wedge."""
    foot = float(f.motion.rows[f.motion.rings[f.index].row].outline_mm[0, 1])
    high = f.y_mm(f.motion.shape.radius_mm + out_mm(f, aside_turns) + foot)
    high -= f.y_mm(f.motion.rings[f.index].root_radius_mm)
    needed = LENS_WIDE / (LENS_LOW - LENS_HIGH) * high / (1.0 - RISE_ASIDE - ROOM)
    return max(SEEN_TEETH, needed * f.strip_teeth / f.turn_mm)


def _ends(f: Flat, seen: float) -> tuple[float, float]:
    """What is in view across: a wave and something beyond either end; ``seen``: teeth in a magnified place."""
    wave = f.turn_mm / f.motion.shape.lobes
    edge = max(EDGE * wave, 0.5 * (seen + 1.0) * f.turn_mm / f.strip_teeth)
    return -edge, wave + edge


def _wedge_top(f: Flat, px: float) -> float:
    """Height of the wedge's upper side: above the strip where it stands highest."""
    return (
        f.y_mm(float(np.hypot(f.motion.shape.x_mm, f.motion.shape.y_mm).min()) - f.motion.inner_offset_mm) + 22.0 * px
    )


def _numbers(f: Flat, px: float) -> Data:
    """Every tenth space of the rack with its number, and the one that a whole wave ends at."""
    pitch, wave = f.turn_mm / f.rack_teeth, f.rack_teeth / f.motion.shape.lobes
    tens = math.ceil((wave - 2.0) / 10.0)
    below = f.y_mm(f.motion.rings[f.index].root_radius_mm) - 18.0 * px
    number = {"words": "{0}", "numbers": [{"of": course(row={"v": 10.0 * tens})}]}
    text = words((0.0, 0.0), number, 12.0, Role.INK, anchor="middle")
    items = [row(tens, group([text], [course(row={"v": 10.0 * tens * pitch}), below, 0.0]))]
    if wave.is_integer():
        items.append(words((wave * pitch, below), f"{wave:.0f}", 12.0, Role.INK, anchor="middle", strong=True))
    return group(items, [course(slope=f.rack * f.way_mm) if f.rack else 0.0, 0.0, 0.0])


def _whole(f: Flat, px: float, held: str, aside_turns: float, seen: float, roles: Roles | None) -> list[Data]:
    """A whole wave with a wedge in the middle of its way, and beside it those of the neighbour lobes; the places that are
    magnified are framed and called A and B, as the magnified pictures are; B is ``aside_turns`` of a turn beside A."""
    wave = f.turn_mm / f.motion.shape.lobes
    view = _ends(f, seen)
    top = _wedge_top(f, px)
    wedge = wedge_items(f, 1.0, top)
    knob = {
        "kind": "disc",
        "centre": [0.0, round(top - 14.0 * px, 3)],
        "radius": round(6.0 * px, 3),
        "fill": "generator",
    }
    half = 0.5 * seen * f.turn_mm / f.strip_teeth
    root = f.y_mm(f.motion.rings[f.index].root_radius_mm)
    frame = path(_box(-half, root - 3.0 * px, half, top - 26.0 * px), line="ink", line_px=1.5)

    def gone(ahead_mm: float) -> list[Number]:
        return [course(ahead_mm, f.way_mm), 0.0, 0.0]

    def framed(letter: str, turns: float) -> Data:
        """A frame ``turns`` of a turn beside the wedge, there while it is in view as a whole."""
        name = words((-half, top - 20.0 * px), letter, 17.0, Role.INK, strong=True)
        at, comes = turns * f.turn_mm, COMES * wave
        # the letter keeps its size: where the edge would make it smaller, the frame is gone already
        room = (at - half - view[0] if turns < 0.0 else view[1] - half - at) - LETTER_PX * px
        fade = course(room / comes, math.copysign(f.way_mm / comes, -turns)) if turns else 1.0
        return group([frame, name], gone(at), fade=fade)

    return [
        *rack_items(f, 1.0, 0.0, view, 26.0 * px, held == "rack", roles),
        _numbers(f, px),
        *strip_items(f, 1.0, 0.0, view, held == FLEXIBLE),
        group(wedge, *(gone(k * wave) for k in (-1, 1)), fade=0.55),
        group([*wedge, knob], gone(0.0)),
        framed("A", 0.0),
        framed("B", -aside_turns),
        framed("B", aside_turns),
    ]


def _lens(
    f: Flat,
    centre_turns: float,
    box: tuple[float, float, float, float],
    held: str,
    rise: float,
    seen: float,
    names: Mapping[str, str],
    roles: Roles | None,
) -> list[Data]:
    """A few teeth magnified, seen from the wedge, about a place ``centre_turns`` of a turn ahead of it; the rack's roots stand
    ``rise`` of the height above the lower edge. ``names`` are written on wedge, strip and rack; ``roles``: the rack's colours
    where they are not its ring's."""
    pitch = f.turn_mm / f.strip_teeth
    half = 0.5 * seen * pitch
    scale = (box[2] - box[0]) / (2.0 * half)
    px = (box[3] - box[1]) / (LENS_LOW - LENS_HIGH)
    middle = centre_turns * f.turn_mm
    view = (middle - half, middle + half)
    ring = f.motion.rings[f.index]
    low, high = scale * f.y_mm(ring.root_radius_mm), scale * f.y_mm(f.motion.shape.radius_mm)
    inside = [
        *rack_items(f, scale, 1.0, view, 3.0 * (high - low), held == "rack", roles),
        *strip_items(f, scale, 1.0, view, held == FLEXIBLE),
    ]
    if centre_turns == 0.0:
        inside += wedge_items(f, scale, high + 5.0 * (high - low))
    at = ((box[0] + box[2]) / 2 - scale * middle, box[1] + rise * (box[3] - box[1]) - low, 0.0)
    land = float(f.motion.rows[ring.row].outline_mm[0, 1])
    strip = f.motion.shape.x_mm[0] + 0.5 * (land - f.motion.inner_offset_mm)
    heights = {
        "wedge": box[3] - 24.0 * px,
        "strip": at[1] + scale * f.y_mm(strip) - 5.0 * px,
        "rack": box[1] + 9.0 * px,
    }
    clip = [round(v, 3) for v in box]
    return [
        group(inside, [round(v, 3) for v in at], clip=clip),
        path(_box(*box), line="ink"),
        group(
            [
                words(((box[0] + box[2]) / 2, heights[what]), name, 15.0, Role.INK, anchor="middle", strong=True)
                for what, name in names.items()
            ],
            clip=clip,
        ),
    ]


def _way_out(base: float, px: float, out_mm: float, role: Role) -> Data:
    """A bar as long as the travel out: an arrow's head would be longer than it."""
    low, high = base - 5.0 * px, base + 5.0 * px
    loops = [[flat_run(((0.0, low), (x, low), (x, high), (0.0, high)))] for x in (0.0, out_mm)]
    return {"kind": "stages", "at": course(slope=1.0), "loops": loops, "fill": str(role)}


def _beside(subject: Subject, f: Flat, px: float, top: float, view: tuple[float, float]) -> list[Data]:
    """The rack of the ring that is read, where it is neither the strip nor the rack: drawn below, its tips at ``top``."""
    names = [ring.name for ring in subject.motion.rings]
    moved = shown.usual(subject)
    if moved.read == FLEXIBLE or names.index(moved.read) == f.index:
        return []
    other = replace(f, index=names.index(moved.read), rack=float(moved.turns[moved.read]))
    shift = top - other.y_mm(other.motion.rings[other.index].tip_radius_mm)
    return [
        group(
            [*rack_items(other, 1.0, 0.0, view, 14.0 * px, False), *rack_mark(other)],
            [0.0, round(shift, 3), 0.0],
        )
    ]


def _score(
    subject: Subject, language: Language, f: Flat, put_in: dict[str, object], take: str, aside_turns: float
) -> Score:
    """``take``: ``flat``, or ``equal`` with as many spaces as teeth. ``aside_turns``: how far B stands beside A."""
    seen = seen_teeth(f, aside_turns)
    x0, x1 = _ends(f, seen)
    px = (x1 - x0) / 960.0
    moved = shown.usual(subject)
    strip_held = moved.turns[FLEXIBLE] == 0
    trial = take == "equal"  # a rack that is no part of the drive: of no ring's colour, and nothing is held
    held = FLEXIBLE if strip_held else "rack" if moved.turns[shown.pair(subject).row.name] == 0 else ""
    held, roles = ("", TRIAL) if trial else (held, None)
    root = f.y_mm(f.motion.rings[f.index].root_radius_mm)
    beside = _beside(subject, f, px, root - 38.0 * px, (x0, x1)) if take == "flat" else []
    low = root - (168.0 if beside else 92.0) * px
    view = (x0, low, x1, low + (612.0 if beside else 546.0) * px)
    boxes = [
        (x0 + a * px, view[3] - LENS_LOW * px, x0 + (a + LENS_WIDE) * px, view[3] - LENS_HIGH * px)
        for a in (16.0, 490.0)
    ]
    way_out = 0.0 if trial else float(moved.turns[moved.read]) * f.way_mm
    role, _ = shown.role_of(subject, moved.read)
    base = low + 40.0 * px

    def say(key: str) -> str:
        return language.say(PART, key, **put_in)

    between = say("lens_equal" if trial else "lens_between")
    end = "_trial" if trial else ""
    named = {"wedge": say("name_wedge"), "strip": say(f"name_strip{end}"), "rack": say(f"name_rack{end}")}
    ways = [arrow((0.0, base + 14.0 * px), (course(1e-3, f.way_mm), base + 14.0 * px), Role.GENERATOR, 2.5)]
    if way_out:
        ways.append(_way_out(base - 4.0 * px, px, way_out, role))
    items = [
        *_whole(f, px, held, aside_turns, seen, roles),
        *beside,
        *_lens(f, 0.0, boxes[0], held, RISE, seen, named, roles),
        *_lens(f, aside_turns, boxes[1], held, RISE_ASIDE, seen, {}, roles),
        words((boxes[0][0], boxes[0][3] + 10.0 * px), say("lens_wedge"), 16.0, strong=True),
        words((boxes[1][0], boxes[1][3] + 10.0 * px), between, 16.0, strong=True),
        path(np.array(((0.0, base - 12.0 * px), (0.0, base + 24.0 * px))), closed=False, line="quiet"),
        words((-8.0 * px, base + 10.0 * px), say("label_in"), 14.0, Role.GENERATOR, anchor="end"),
        *([words((24.0 * px, base - 9.0 * px), say("label_out"), 14.0, role)] if way_out else []),
        words((x0 + 8.0 * px, root - 18.0 * px), say("label_space"), 12.0, Role.INK),
        # Nothing of the way out is shown before it moves: it is what is asked.
        group(ways, fade=course(slope=20.0)),
    ]
    if beside:
        read = next(row for row in shown.rows(subject) if row.name == moved.read)
        beside_key = "name_beside" if read.ring_teeth == read.flexible_teeth else "name_beside_other"
        items.append(words((x0 + 16.0 * px, base + 34.0 * px), say(beside_key), 14.0, role, strong=True))
    lines = (("said_start", 0.0), ("said_on", 0.12), ("said_half", 0.5), ("said_end", 1.0))
    lent = trial and f.index == shown.pair(subject).index
    equal = (("equal_start_lent" if lent else "equal_start", 0.0), ("equal_end", 0.5))
    if shown.apart(subject):
        lines = (("said_apart", 0.0), *lines[1:])
    return Score(
        view=view,
        items=tuple(items),
        title=say("title" if take == "flat" else "take_equal"),
        description=say("description" if take == "flat" else "description_equal") + (" " + say("lent") if lent else ""),
        seconds=SECONDS,
        tables=flat_tables(f),
        drag=Drag(say("drag"), f.way_mm),
        readings=_readings(language, f, put_in, way_out),
        said=tuple(Said(at, say(key)) for key, at in (lines if take == "flat" else equal)),
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


def _places(mm: float) -> int:
    """Decimals of a way that comes out: enough to tell the ratio from."""
    return places_for(Fraction(mm), 2)


def _mm(language: Language, mm: float) -> str:
    """A way as large as it is, as the readings tell it: one that goes in has tenths."""
    return language.number(abs(mm), _places(mm))


def _other(subject: Subject, pair: shown.Pair) -> bool:
    """Whether the ring that is read has a count of its own: neither the strip's nor that of the rack that is held."""
    moved = shown.usual(subject)
    row = next((row for row in shown.rows(subject) if row.name == moved.read), pair.row)
    return row.name != pair.row.name and row.ring_teeth != row.flexible_teeth


def _readings(language: Language, f: Flat, put_in: dict[str, object], out_mm: float) -> tuple[Reading, ...]:
    def say(key: str) -> str:
        return language.say(PART, key, **put_in)

    readings = [Reading("in", say("reading_in"), Words("{0} mm", (Figure(course(slope=f.way_mm), 1),)))]
    out = Words("{0} mm", (Figure(course(slope=out_mm), _places(out_mm), True),))
    key = "reading_out" if out_mm else "reading_out_trial"
    readings.append(Reading("out", say(key), out, say("minus"), below_zero=True))
    if out_mm:
        readings.append(Reading("ratio", say("reading_ratio"), Words(str(put_in["ratio"]))))
    return tuple(readings)


def _put_in(subject: Subject, language: Language, f: Flat, pair: shown.Pair) -> dict[str, object]:
    moved = shown.usual(subject)
    lobes = subject.found.design.lobes
    ratio = moved.ratio
    rack, strip = pair.row.ring_teeth, pair.row.flexible_teeth
    whole = Fraction(rack, pair.difference), Fraction(strip, pair.difference)
    out, strip_out = (moved.turns[member] / lobes * Fraction(f.turn_mm) for member in (moved.read, FLEXIBLE))
    ways = {"way": out, "strip_way": strip_out, "apart_way": out - strip_out}
    read_row = next((row for row in shown.rows(subject) if row.name == moved.read), pair.row)
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
        "out_mm": _mm(language, float(out)),
        "strip_mm": _mm(language, float(strip_out)),
        "apart_mm": _mm(language, float(out - strip_out)),
        "read_spaces": read_row.ring_teeth,
        "rack_pitch": language.number(f.turn_mm / rack, 3),
        "strip_pitch": language.number(f.turn_mm / strip, 3),
        "ratio": shown.ratio_words(language, ratio),
        "strip_ratio": shown.ratio_words(language, 1 / moved.turns[FLEXIBLE]) if moved.turns[FLEXIBLE] else "",
        "tall": f.tall,
        "lobes": lobes,
        **{key: language.say(PART, "with" if way > 0 else "against") for key, way in ways.items()},
    }


def _ask(
    language: Language, put_in: dict[str, object], out_mm: float, off: Fraction | None, in_mm: float, other: bool
) -> Ask:
    """How far does it go? The right travel among the usual slips; ``other``: of a ring that has a count of its own."""

    def travel(value: float) -> str:
        key = "choice_with" if value > 0 else "choice_against"
        in_or_out = language.number(in_mm, 1) if value == in_mm else _mm(language, value)
        return language.say(PART, key, mm=in_or_out)

    right = travel(out_mm)
    slips = {
        "ask_sign": travel(-out_mm),
        "ask_same": travel(in_mm),
    }
    if off:
        slips["ask_off"] = travel(in_mm / float(off))
    own = {key: f"{key}_other" if other else key for key in ("ask_right", "ask_sign")}
    choices = [Choice(right, True, language.say(PART, own["ask_right"], **put_in))]
    choices += [
        Choice(shown_as, False, language.say(PART, own.get(key, key), **put_in))
        for key, shown_as in slips.items()
        if shown_as != right
    ]
    return Ask(language.say(PART, "ask", **put_in), tuple(choices))


def _ask_equal(language: Language, put_in: dict[str, object]) -> Ask:
    keys = ("not", "same", "all")
    choices = (
        Choice(
            language.say(PART, f"equal_{key}", **put_in), key == "not", language.say(PART, f"equal_why_{key}", **put_in)
        )
        for key in keys
    )
    return Ask(language.say(PART, "equal_ask", **put_in), tuple(choices))


def scene(subject: Subject, language: Language) -> Scene:
    """Racks that line up, and a wedge that runs along; then racks with equal counts."""
    title = language.say(PART, "title")
    pair = shown.pair(subject)
    moved = shown.usual(subject)
    f = flat(subject, pair, 1.0 / subject.found.design.lobes)
    put_in = _put_in(subject, language, f, pair)
    out_mm = float(moved.turns[moved.read]) * f.way_mm

    def say(key: str) -> str:
        return language.say(PART, key, **put_in)

    other = _other(subject, pair)
    travel = say("point_travel_other" if other else "point_travel")
    points = [say("point_line_up"), say("point_rule"), travel, say("point_room"), say("point_drawn")]
    if moved.read not in (FLEXIBLE, pair.row.name):
        points.insert(3, say("point_other" if other else "point_with"))
    if subject.found.motion.fixed == GENERATOR:
        points.append(say("point_held"))
    ask = _ask(language, put_in, out_mm, shown.held_counted(subject, moved), f.way_mm, other)
    aside = between_turns(f)
    same = alike(f)
    rack = subject.motion.rings[same.index].name
    put_in_equal = put_in | {"ring": shown.named(subject, language, rack)}
    equal = _score(subject, language, same, put_in_equal, "equal", aside)
    return Scene(
        name="racks",
        title=title,
        intro=(say("intro_1"), say("intro_2")),
        takes=(
            Take("flat", say("take_flat"), _score(subject, language, f, put_in, "flat", aside), ask),
            Take(
                "equal",
                say("take_equal"),
                equal,
                _ask_equal(language, put_in),
                intro=(say("equal_intro_1"), say("equal_intro_2")),
                points=(say("equal_point"), say("equal_point_drive"), say("equal_point_drawn")),
            ),
        ),
        points=tuple(points),
        wrong=shown.wrongs(subject, language, *shown.TOLD),
    )
