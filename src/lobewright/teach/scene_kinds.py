"""Scene 6: belt, printed cup and steel cup side by side at one ratio."""

from __future__ import annotations

import math
from collections.abc import Callable
from fractions import Fraction
from typing import Any

from lobewright.make.moving_page import Motion
from lobewright.make.moving_scene import moving
from lobewright.picture.score import Data, Drag, Figure, Moment, Reading, Said, Score, Words, course
from lobewright.teach import drawn, shown
from lobewright.teach.kinds import Compared, Kind, compared
from lobewright.teach.language import Language
from lobewright.teach.limit_words import first_short, torque_words, warm
from lobewright.teach.pushed import Pushed
from lobewright.teach.reasons import Why
from lobewright.teach.scene import Ask, Choice, Listed, Scene, Take
from lobewright.teach.scene_torque import overloaded
from lobewright.teach.subject import Subject
from lobewright.verdict import State, capital

Progress = Callable[[str, float], None]
PART = "kinds"
SECONDS, TURNS = 12.0, 2.0
"""How long it plays, and how often generators turn meanwhile."""
LINE_PX = 18.0
LINES = (
    "line_teeth",
    "line_size",
    "line_pitch",
    "line_deflection",
    "line_play",
    "line_windup",
    "line_limit",
    "line_first",
)
"""What is written below each drive; what gives before its limit only where that is told."""
BEFORE = 5
"""Of these stand there from the start; the others answer the question and come in at its end."""
LATE = course(-16.0, 20.0)
"""How far they are there: from u = 0.8 on, whole at 0.85."""


def scene(subject: Subject, language: Language, progress: Progress | None = None) -> Scene:
    """The scene; what is said to differ is what was computed of each."""
    say = lambda key, **put: language.say(PART, key, **put)  # noqa: E731
    sides = compared(subject.found, progress)
    intro = [say(_key(sides, "intro"), **_ratios(sides, language)), say("made")]
    if sides.met != sides.ratio:
        intro.append(say("nearest", **_ratios(sides, language)))
    wrong = [say("missed", kind=capital(say(kind)), why=capital(lost.words(language))) for kind, lost in sides.missed]
    for one in sides.kinds:
        bad = _failed(one)
        if bad and one.own:
            wrong.append(say("fails_own", kind=capital(say(one.word)), count=bad))
        elif bad:
            intro.append(
                say("fails", kind=capital(say(one.word)), count=bad)
            )  # nothing is wrong with the design itself
    wrong += [line for one in sides.kinds if one.own for line in overloaded(one.push, language)]
    wrong += shown.wrongs(subject, language, *shown.TOLD)
    take = _take(sides, language)
    return Scene("kinds", say(_key(sides, "title")), tuple(intro), (take,), _points(sides, language), tuple(wrong))


def _failed(one: Kind) -> int:
    """How many of its checks a drive fails."""
    return sum(verdict.state is State.FAIL for verdict in one.found.verdicts)


def _key(sides: Compared, key: str) -> str:
    """The key of a sentence about the ratio: another one where the others meet the design's only nearly."""
    return key if sides.met == sides.ratio else f"{key}_near"


def _ratios(sides: Compared, language: Language) -> dict[str, str]:
    """The design's ratio, and that of the others; beside one that is told in whole numbers stands about how many to one it is."""

    def told(ratio: Fraction) -> str:
        words = shown.ratio_words(language, ratio)
        if words.endswith(" : 1") or abs(ratio) < 1:
            return words
        return language.say(PART, "about", ratio=words, size=language.number(float(ratio), 1))

    return {"ratio": told(sides.ratio), "met": told(sides.met)}


def _numbers(one: Kind, sides: Compared, language: Language) -> dict[str, str]:
    """All that is told of one drive, as words."""
    flexible, rigid = one.teeth
    degrees = math.degrees
    windup = limit = language.say(PART, "unknown")
    if isinstance(one.push, Pushed):
        windup = language.number(degrees(one.push.settled(sides.torque_nmm).windup_rad), 2) + "°"
        limit = language.say(PART, f"limit_{one.push.ended if one.push.ended in ('fall', 'crushed') else 'lost'}",
                             limit=torque_words(one.push.limit_nmm, language))  # fmt: skip
    before = ""
    if _failed(one):
        limit = language.say(PART, "limit_fails")
    elif isinstance(one.push, Pushed):
        before = _before(one.push, language)
    pitch = one.found.geometry.neutral_pitch_mm(flexible)
    return {
        "flexible": language.number(flexible),
        "rigid": language.number(rigid),
        "outer": language.number(one.outer_mm, 0),
        "pitch": language.number(pitch, 2),
        "deflection": language.number(one.found.set_deflection_mm, 2),
        "play": language.number(degrees(one.found.output_free_play_rad), 2),
        "torque": torque_words(sides.torque_nmm, language),
        "windup": windup,
        "limit": limit,
        "first": before,
        "ends": "; ".join(text for text in (limit, before) if text),
    }


def _before(push: Pushed, language: Language) -> str:
    """What says no before the drive lets go."""
    if isinstance(push.reached, Why):
        return language.say(PART, "first_unknown")
    told = first_short(push.reached, language)
    if told is None:
        return language.say(PART, "first_none")
    what, torque = told
    return language.say(PART, "first_from" if torque else "first_always", what=what, first=torque)


def _points(sides: Compared, language: Language) -> tuple[str, ...]:
    say = lambda key, **put: language.say(PART, key, **put)  # noqa: E731
    out = [say(_key(sides, "point_same"), **_ratios(sides, language))]
    for one in sides.kinds:
        told = _numbers(one, sides, language)
        solved = isinstance(one.push, Pushed)
        out.append(say("point_kind" if solved else "point_unsolved", kind=capital(say(one.word)), **told))
        if isinstance(one.push, Why):
            out.append(say("why_unsolved", why=one.push.words(language)))
    own = next((one.found.design for one in sides.kinds if one.own), None)
    out.append(say("point_model") + ("" if own is None else warm(own, language)))
    return tuple(out)


def _renamed(value: Any, prefix: str) -> Any:
    """Part of a score whose tables have other names."""
    if isinstance(value, dict):
        return {key: prefix + one if key == "t" else _renamed(one, prefix) for key, one in value.items()}
    if isinstance(value, (list, tuple)):
        return [_renamed(one, prefix) for one in value]
    return value


def _front(motion: Motion) -> int:
    """The ring shown in front: one whose count differs from its row's."""
    counts = [ring.teeth != motion.rows[ring.row].teeth for ring in motion.rings]
    return counts.index(True)


def _take(sides: Compared, language: Language) -> Take:
    say = lambda key, **put: language.say(PART, key, **put)  # noqa: E731
    motions = [moving(one.found) for one in sides.kinds]
    reach = max(drawn.reach_mm(motion) for motion in motions)
    cell = 2.16 * reach
    width = cell * len(motions)
    view = (0.0, -0.5625 * width if len(motions) > 2 else -0.9 * width, width, 0.0)
    unit = width / 960.0
    items: list[Data] = []
    tables: dict[str, list[float]] = {}
    lists: list[Listed] = []
    readings = [Reading("generator", say("generator"), Words("{0}", (Figure({"s": TURNS}, 2),)))]
    for number, (one, motion) in enumerate(zip(sides.kinds, motions, strict=True)):
        prefix = f"k{number}"
        middle = (number + 0.5) * cell
        members = ("generator", "flexible", *(ring.name for ring in motion.rings))
        turns = {name: TURNS * motion.turns(name) for name in members}
        drive = drawn.round_drive(motion, turns, _front(motion), motion.held)
        items.append(drawn.group(_renamed(drive, prefix), (round(middle, 3), round(-1.06 * reach, 3), 0.0)))
        tables |= {prefix + name: table for name, table in drawn.shape_tables(motion).items()}
        slow = next(name for name in (motion.read, motion.driven) if name != "generator")
        figure = Figure({"s": 360.0 * turns[slow]}, 1, True)
        readings.append(Reading(one.kind, say("output", kind=capital(say(one.word))), Words("{0}°", (figure,))))
        told = _numbers(one, sides, language)
        left, top = number * cell + 0.035 * cell, -2.16 * reach - 16 * unit
        name = say("own_name" if one.own else "name", kind=capital(say(one.word)))
        told_of = tuple(text for text in (say(key, **told) for key in LINES) if text)
        items.append(drawn.words((left, top), name, 15.0, strong=True))
        lines = [
            drawn.words((left, top - (line + 1.15) * LINE_PX * unit), text, 12.5) for line, text in enumerate(told_of)
        ]
        items += [*lines[:BEFORE], drawn.group(lines[BEFORE:], fade=LATE)]
        lists.append(Listed(name, told_of[:BEFORE], told_of[BEFORE:]))
    ratios = _ratios(sides, language)
    said = (
        Said(0.0, say(_key(sides, "said_start"))),
        Said(0.12, say("said_turn")),
        Said(0.5, say(_key(sides, "said_same"), **ratios)),
        Said(0.8, say("said_differs")),
    )
    moments = (Moment("start", 0.0, say("moment_start")), Moment("one_turn", 0.5, say("moment_one")),
               Moment("two_turns", 1.0, say("moment_two")))  # fmt: skip
    score = Score(
        view, tuple(items), say("take"), say(_key(sides, "description"), **ratios), SECONDS, tables,
        Drag(say("drag"), TURNS, True, centre=(0.5 * cell, -1.06 * reach)), tuple(readings), said, moments,
        marks=language.marks,
    )  # fmt: skip
    return Take("side_by_side", say("take"), score, _ask(sides, language), tuple(lists))


def _ask(sides: Compared, language: Language) -> Ask | None:
    """Which winds up most under the same torque?"""
    solved = [one for one in sides.kinds if isinstance(one.push, Pushed)]
    if len(solved) < 2:
        return None
    windups = {
        one.kind: one.push.settled(sides.torque_nmm).windup_rad for one in solved if isinstance(one.push, Pushed)
    }
    most = max(windups, key=lambda kind: windups[kind])
    torque = torque_words(sides.torque_nmm, language)
    rows = []
    for one in solved:
        windup = language.number(math.degrees(windups[one.kind]), 2)
        key = "why_most" if one.kind == most else "why_less"
        rows.append(Choice(language.say(PART, f"the_{one.word}"), one.kind == most,
                           language.say(PART, key, windup=windup, torque=torque,
                                        most=language.number(math.degrees(windups[most]), 2))))  # fmt: skip
    rows.append(Choice(language.say(PART, _key(sides, "choice_same")), False, language.say(PART, "why_same")))
    return Ask(language.say(PART, "ask", torque=torque), tuple(rows))
