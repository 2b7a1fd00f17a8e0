"""Scene *count*: one turn of the wave generator counted tooth by tooth; the ratio follows from what is counted.

At the marked lobe teeth and spaces go by one for one, tooth k in space k (k counted on past a full round): none is left out. In
one turn of the generator P teeth of the member that is read go by its lobe, but the member has Z; so it has turned (Z − P)/Z,
and the ratio is Z/(Z − P). Derived; the same as :func:`lobewright.motion.solve`, by counting.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from lobewright.make.moving_page import GENERATOR, Motion
from lobewright.motion import FLEXIBLE, MotionResult
from lobewright.picture.palette import Role
from lobewright.picture.score import Data, Drag, Figure, Moment, Reading, Said, Score, Words, course
from lobewright.teach import drawn, shown
from lobewright.teach.cautions import caution
from lobewright.teach.language import Language
from lobewright.teach.naming import behind, part_names
from lobewright.teach.scene import Ask, Choice, Scene, Take
from lobewright.teach.subject import Subject
from lobewright.verdict import capital

PART = "count"
SECONDS = 12.0
SEEN_TEETH = 8.0
NEAR, SHORT = 0.5 * SEEN_TEETH - 0.8, 0.5
"""How many pitches from the lobe numbers are gone, before the window would cut them; over how many pitches they go."""
COUNTED = -0.499
"""Added to a count that runs on, so that the written whole number goes up where the next tooth stands in its space."""


@dataclass(frozen=True)
class Count:
    """What is counted: ``passes`` teeth at the marked lobe of the ring in front; of the member that is read ``gone`` of its
    ``has`` teeth."""

    moved: MotionResult
    front: int
    passes: int
    has: int
    gone: Fraction

    @property
    def ratio(self) -> Fraction:
        """The ratio by counting."""
        return self.has / (self.has - self.gone)

    @property
    def back(self) -> Fraction:
        """Teeth that the member has gone back, against the generator; below zero where it has gone with it."""
        return self.gone - self.has


def counted(subject: Subject) -> Count:
    """What one turn of the generator shows, from tooth counts alone."""
    moved, rows = shown.usual(subject), shown.rows(subject)
    names = [row.name for row in rows]
    if moved.fixed in names:
        front = names.index(moved.fixed)
        passes = rows[front].ring_teeth
    else:
        front = names.index(moved.read)
        passes = rows[front].flexible_teeth
    body_turns = Fraction(passes, rows[front].flexible_teeth)
    if moved.read == FLEXIBLE:
        has, gone = rows[front].flexible_teeth, Fraction(passes)
    else:
        read = rows[names.index(moved.read)]
        has, gone = read.ring_teeth, body_turns * read.flexible_teeth
    return Count(moved, front, passes, has, gone)


def _near(teeth: int, turns: float) -> Data:
    """How far the number of part i of a row is there, which is i/n of a turn from the lobe and goes ``turns`` past it: a course
    of the table ``near``, 1 at the lobe and 0 opposite of it."""
    half_turn = 0.5 * teeth
    shift, scale = (NEAR - half_turn) / SHORT, half_turn / SHORT
    return course(shift, table="near", scale=scale, rate=turns, loop=True, row={"a": 1.0})


def _numbers(motion: Motion, count: Count, px: float, along: float, passing: float, times: float) -> tuple[Data, Data]:
    """Numbers of spaces (in the ring's frame) and of teeth (in the generator's), to be read with the lobe up. ``along``,
    ``passing``: turns of the flexible ring and of the other past the lobe."""
    ring = motion.rings[count.front]
    row = motion.rows[ring.row]
    look = {"anchor": "middle", "angle_rad": round(-math.pi / 2, 6), "strong": True}
    high, low = ring.root_radius_mm + 6.0 * px, -motion.inner_offset_mm - 18.0 * px
    space = drawn.words((high, 0.0), drawn.counting(ring.teeth), 13.0, drawn.RING_ROLES[count.front % 2][0], **look)
    tooth = drawn.words((low, 0.0), drawn.counting(row.teeth), 13.0, Role.INK, **look)
    spaces = drawn.group([space], [0.0, 0.0, course(row={"v": drawn.TURN})], fade=_near(row.teeth, passing))
    teeth = drawn.group([tooth], drawn.seat(0, row.teeth, along, times, row=True), fade=_near(row.teeth, along))
    return drawn.row(ring.teeth, spaces), drawn.row(row.teeth, teeth)


def _close_up(motion: Motion, count: Count, turns: dict[str, float], box: tuple[float, ...], px: float) -> list[Data]:
    """Teeth at the marked lobe with their numbers, the lobe standing still and pointing up, within ``box``."""
    ring = motion.rings[count.front]
    row = motion.rows[ring.row]
    pitch = drawn.TURN * motion.shape.radius_mm / row.teeth
    times = (box[2] - box[0]) / (SEEN_TEETH * pitch)
    big = drawn.scaled(motion, times)
    along = turns["flexible"] - turns[GENERATOR]
    passing = turns[ring.name] - turns[GENERATOR]
    spaces, teeth = _numbers(big, count, px, along, passing, times)
    held = shown.page_name(count.moved.fixed)
    run = drawn.tooth_run(big.rows[ring.row].outline_mm, 0.1 * px)
    tooth = drawn.path(drawn.standing(run[:, ::-1])[:, ::-1], fill="tooth_mark", line="tooth_mark")
    inside = [
        drawn.spin(
            [*drawn.ring_items(big, count.front, ring.name == held, notch=False), spaces],
            passing,
        ),
        *drawn.flexible_items(big, ring.row, along, held == "flexible", times, (0.5 * SEEN_TEETH + 2.0) / row.teeth),
        *drawn.generator_items(big, pointer=False, most=2 * drawn.BAND),
        drawn.group([tooth], drawn.seat(0, row.teeth, along, times)),
        teeth,
    ]
    middle = round((box[0] + box[2]) / 2, 3)
    lobe = round(box[1] + 0.55 * (box[3] - box[1]) - float(big.shape.x_mm[0]), 3)
    frame = np.array(((box[0], box[1]), (box[2], box[1]), (box[2], box[3]), (box[0], box[3])))
    low = round(box[1] + 8.0 * px, 3)
    return [
        drawn.group(inside, (middle, lobe, round(math.pi / 2, 6)), clip=[round(v, 3) for v in box]),
        drawn.path(frame, line="quiet"),
        drawn.arrow((middle, low), (middle, round(low + 40.0 * px, 3)), Role.LOBE_MARK, 4.0),
    ]


def _legend(subject: Subject, language: Language, count: Count, box: tuple[float, ...], px: float) -> list[Data]:
    """What the numbers of the enlarged picture stand on, in it: spaces above, teeth below."""
    middle, put_in = (box[0] + box[2]) / 2, _put_in(subject, language, count)
    look = {"anchor": "middle", "strong": True}
    above, below = (language.say(PART, key, **put_in) for key in ("legend_spaces", "legend_teeth"))
    named = [
        drawn.words((middle, box[3] - 24.0 * px), above, 15.0, Role.INK, **look),
        drawn.words((middle, box[1] + 64.0 * px), below, 15.0, Role.INK, **look),
    ]
    return [
        drawn.group(named, clip=[round(v, 3) for v in box]),
        drawn.words((middle, box[1] - 20.0 * px), language.say(PART, "legend_lobe"), 14.0, Role.INK, anchor="middle"),
    ]


def _put_in(subject: Subject, language: Language, count: Count) -> dict[str, object]:
    """What the sentences of this scene may put in."""
    row = shown.rows(subject)[count.front]
    back = count.back
    whole = 0 if back.denominator == 1 else 2
    spaces = row.ring_teeth
    return {
        "Read": capital(shown.named(subject, language, count.moved.read)),
        "read": shown.named(subject, language, count.moved.read),
        "held": shown.named(subject, language, count.moved.fixed),
        "Ring": capital(shown.named(subject, language, row.name)),
        "flexible": shown.named(subject, language, FLEXIBLE),
        "teeth": row.flexible_teeth,
        "final": row.flexible_teeth - 1,
        "spaces": spaces,
        "lobes": subject.found.design.lobes,
        "again": abs(count.passes - row.flexible_teeth),
        "over": shown.pair(subject).difference,
        "left": spaces - count.passes,
        "passes": count.passes,
        "has": count.has,
        "gone": language.number(float(count.gone), whole),
        "back": language.number(abs(float(back)), whole),
        "last": count.passes % row.flexible_teeth,
        "ratio": shown.ratio_words(language, count.ratio),
        "size": shown.ratio_words(language, abs(count.ratio)),
        "sense": shown.sense(language, count.moved.turns[count.moved.read]),
        "degrees": language.number(360.0 * float(count.moved.turns[count.moved.read]), 2, sign=True),
    }


def _readings(subject: Subject, language: Language, count: Count) -> tuple[Reading, ...]:
    read = float(count.moved.turns[count.moved.read])

    def say(key: str) -> str:
        return language.say(PART, key)

    name = shown.named(subject, language, count.moved.read, "bare")
    turned = Words("{0}°", (Figure(course(slope=360.0 * read), 2, True),))
    gone = Words("{0}", (Figure(course(slope=-float(count.back)), 2, True),))
    return (
        Reading("generator", say("reading_generator"), Words("{0}°", (Figure(course(slope=360.0), 1),))),
        Reading("count", say("reading_count"), Words("{0}", (Figure(course(COUNTED, count.passes), 0),))),
        Reading("read", name, turned, say("minus_turned"), below_zero=True),
        Reading("teeth", say("reading_teeth"), gone, say("minus_gone"), below_zero=True),
    )


def _said(subject: Subject, language: Language, count: Count) -> tuple[Said, ...]:
    put_in = _put_in(subject, language, count)
    times = {"said_apart" if shown.apart(subject) else "said_start": 0.0}
    times |= {"said_more": 4 / count.passes, "said_half": 0.5, "said_last": 0.75}
    words = [Said(since, language.say(PART, key, **put_in)) for key, since in times.items()]
    words += [Said(k / count.passes, language.say(PART, "said_tooth", tooth=k)) for k in (1, 2, 3)]
    words.append(Said(1.0, language.say(PART, _way(count, "said_end"), **put_in)))
    return tuple(sorted(words, key=lambda one: one.since))


def _way(count: Count, key: str) -> str:
    """The key for a member that has gone back, or that has gone with the generator."""
    return f"{key}_{'back' if count.back > 0 else 'on'}"


def _moments(language: Language, count: Count) -> tuple[Moment, ...]:
    teeth = [Moment(f"tooth_{k}", k / count.passes, language.say(PART, "moment_tooth", tooth=k)) for k in (1, 2, 3)]
    half = Moment("half", 0.5, language.say(PART, "moment_half"))
    return (*teeth, half, Moment("whole", 1.0, language.say(PART, "moment_whole")))


def _score(subject: Subject, language: Language, count: Count) -> Score:
    motion = subject.motion
    turns = {shown.page_name(name): float(value) for name, value in count.moved.turns.items()}
    size = drawn.reach_mm(motion)
    view = (-1.2 * size, -1.18 * size, 2.98 * size, 1.18 * size)
    px = (view[2] - view[0]) / 960.0
    read = shown.page_name(count.moved.read)
    box = (1.3 * size, -0.72 * size, 2.9 * size, 0.72 * size)
    items = [
        drawn.dial(1.04 * size),
        drawn.trail(1.04 * size, turns[read], shown.role_of(subject, count.moved.read)[0]),
        *drawn.round_drive(motion, turns, count.front, shown.page_name(count.moved.fixed), rims=True),
        *part_names(subject, language, count.front, count.moved.fixed, size),
        *_close_up(motion, count, turns, box, px),
        drawn.words((box[0], box[3] + 8.0 * px), language.say(PART, "close_up"), 16.0, Role.INK, strong=True),
        *_legend(subject, language, count, box, px),
    ]
    return Score(
        view=view,
        items=tuple(items),
        title=language.say(PART, "title"),
        description=language.say(PART, "description", **_put_in(subject, language, count)),
        seconds=SECONDS,
        tables=drawn.shape_tables(motion) | {"near": [1.0, 0.0]},
        drag=Drag(language.say(PART, "drag"), 1.0, turns=True),
        readings=_readings(subject, language, count),
        said=_said(subject, language, count),
        moments=_moments(language, count),
        marks=language.marks,
    )


def _ask(subject: Subject, language: Language, count: Count) -> Ask:
    """How far has it gone? The right answer among the slips of counting."""
    put_in = _put_in(subject, language, count)
    right = -count.back
    slips = {"ask_none": Fraction(0), "ask_sign": -right, "ask_turn": Fraction(count.has)}
    choices = [Choice(_gone_words(language, right), True, language.say(PART, _way(count, "ask_right"), **put_in))]
    choices += [
        Choice(_gone_words(language, slip), False, language.say(PART, key, **put_in)) for key, slip in slips.items()
    ]
    return Ask(language.say(PART, "ask", **put_in), tuple(choices))


def _gone_words(language: Language, teeth: Fraction) -> str:
    if teeth == 0:
        return language.say(PART, "choice_none")
    places = 0 if teeth.denominator == 1 else 2
    key = "choice_on" if teeth > 0 else "choice_back"
    return language.say(PART, key, teeth=language.number(abs(float(teeth)), places))


def _together(subject: Subject, count: Count, say: Callable[[str], str]) -> list[str]:
    """Why the ring that is read goes with the flexible ring, where it does."""
    row = next((row for row in shown.rows(subject) if row.name == count.moved.read), None)
    alike = row is not None and row.ring_teeth == row.flexible_teeth
    return [say("point_together")] if alike else []


def scene(subject: Subject, language: Language) -> Scene:
    """One turn of the generator, counted."""
    count = counted(subject)
    put_in = _put_in(subject, language, count)
    title = language.say(PART, "title")

    def say(key: str) -> str:
        return language.say(PART, key, **put_in)

    points = [say("point_count"), say(_way(count, "point_ratio")), say("point_any")]
    points[1:1] = [*_together(subject, count, say), say(_way(count, "point_why"))]
    if put_in["again"]:
        points.insert(0, say("point_again"))
    elif put_in["left"]:
        points.insert(0, say("point_left"))
    points += behind(subject, language, count.front)
    if subject.found.motion.fixed == GENERATOR:
        points.append(say("point_held"))
    return Scene(
        name="count",
        title=title,
        intro=(say("intro_1"), say("intro_2")),
        takes=(Take("turn", title, _score(subject, language, count), _ask(subject, language, count)),),
        points=tuple(points),
        wrong=shown.wrongs(subject, language, *shown.TOLD),
        cautions=(caution("pinch", language),),
    )
