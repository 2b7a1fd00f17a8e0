"""Scene 7: the drive under torque, up to where it lets go: forces on its teeth, and what gives."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lobewright.design import model as m
from lobewright.picture.letters import wide
from lobewright.picture.palette import Role
from lobewright.picture.score import ANSWERS, Data, Drag, Figure, Moment, Reading, Said, Score, Words
from lobewright.teach import drawn, shown
from lobewright.teach.cautions import caution
from lobewright.teach.language import Language
from lobewright.teach.limit_words import (
    about,
    first,
    first_kinds,
    first_passed,
    first_said,
    limit_points,
    short_limits,
    torque_places,
    torque_words,
    warm,
    what,
)
from lobewright.teach.lobe_picture import NOTICED, LobePicture
from lobewright.teach.plots import Plot
from lobewright.teach.pushed import GIVES, Pushed, pushed
from lobewright.teach.reasons import Why
from lobewright.teach.scene import Ask, Choice, Scene, Take
from lobewright.teach.subject import Subject
from lobewright.teach.tables import bar, figures
from lobewright.verdict import capital

Array = NDArray[np.float64]
Progress = Callable[[str, float], None]
PART = "torque"
STEPS, FINE = 20, 100
"""Steps of the states drawn from rest to past the limit, and of the torque's table."""
LIMIT_AT = 0.95
"""Place (u) of the limit; what comes after it is a fall, shown slowly."""
PAST_AT, FALLEN = 0.97, 0.95
"""Where it is said that the torque falls, and below what share of the limit it has fallen."""
CANCELS, GONE = 0.05, 0.02
"""Where a fall leaves less of the limit than the second, forces along a ring are said to cancel whose sum is less than the first
of all forces."""
NOTICED_FALL = 0.01
"""Of the limit: a smaller fall of the torque is not seen in the curve."""
APART_U = 0.12
"""Least way (u) between two sentences of which one could move."""
SECONDS = 10.0
REACH_RAD = math.radians(57.0)
"""How far to either side of the lobe the drive is drawn."""
LONGEST_ARROW = 0.2
"""Of the ring's radius."""
NAMED_AT, NAMED_OVER = 0.62, 0.08
"""How far to the right of the lobe and over its teeth the ring is named, over its radius: beside the longest arrows."""
OTHERS = 2
"""How many other limits are choices."""
TELLS = 0.1
"""What gives tells why a drive lets go where all parts together are more than this share of the largest of them."""
HEADROOM = 1.2
"""How far the plot reaches over the largest torque: a word stands between it and the frame."""


def scene(subject: Subject, language: Language, progress: Progress | None = None) -> Scene:
    """The scene; ``progress`` is told of the walk. A drive that is not solved under torque has no picture, and says why."""
    say = lambda key, **put: language.say(PART, key, **put)  # noqa: E731
    push = pushed(subject.found, progress)
    if isinstance(push, Why):
        bad = shown.wrongs(subject, language, *shown.TOLD)
        return Scene(
            "torque", say("title"), (say("intro"),), (), (), bad, not_shown=say("not_shown", why=push.words(language))
        )
    takes = tuple(_take(subject, push, index, language) for index in _rings(subject, push))
    wrong = (*overloaded(push, language), *shown.wrongs(subject, language, *shown.TOLD))
    usual = tuple(caution(name, language) for name in cautioned(subject.found.design))
    intro = say("intro"), say("frame")
    return Scene("torque", say("title"), intro, takes, _points(push, language), wrong, usual)


def cautioned(design: m.Design) -> tuple[str, ...]:
    """Cautions that stand open beside the picture, most serious first: what is turned here may let a load fall."""
    load = {m.Load.MIRROR: ("falls_wind",), m.Load.ARM: ("falls",)}.get(design.load, ())
    return *load, "steel_spring" if isinstance(design.flexible_ring, m.MetalCup) else "spring", "pinch"


def _rings(subject: Subject, push: Pushed) -> list[int]:
    """Rings of the drive that carry the torque, those with a tooth difference first."""
    names = [row.name for row in push.drive.drive.rows]
    order = sorted(names, key=lambda name: not _difference(push, name))
    return [[ring.name for ring in subject.motion.rings].index(name) for name in order]


def _difference(push: Pushed, name: str) -> int:
    row = push.drive.drive.rows[push.row(name)]
    return row.space.teeth - row.outline.teeth


def end_words(push: Pushed, language: Language) -> str:
    """What happens at the limit."""
    return language.say(PART, f"end_{push.ended if push.ended in ('fall', 'crushed') else 'lost'}")


def overloaded(push: Pushed | Why, language: Language) -> tuple[str, ...]:
    """A sentence where the drive does not hold what its duty asks for."""
    if isinstance(push, Why) or push.too_much_nmm is None:
        return ()
    put = {"asked": torque_words(push.too_much_nmm, language), "limit": torque_words(push.limit_nmm, language)}
    return (language.say(PART, "overloaded", end=end_words(push, language), **put),)


def which_words(push: Pushed, language: Language) -> str:
    """What the torque is that numbers are told for."""
    return language.say(PART, f"which_{push.which}")


def _points(push: Pushed, language: Language) -> tuple[str, ...]:
    limit, at = push.limit, push.at_duty
    parts = parts_mm(push)
    near = near_key(parts, push.ended)
    found = push.drive.found
    put = {
        "duty": torque_words(push.duty_nmm, language),
        "duty_windup": language.number(math.degrees(at.windup_rad), 2),
        "slack": language.number(math.degrees(push.slack_rad), 2),
        # so that both parts make up the whole as they are written
        "spring": language.number(round(math.degrees(at.windup_rad), 2) - round(math.degrees(push.slack_rad), 2), 2),
        "limit": torque_words(push.limit_nmm, language),
        "windup": language.number(math.degrees(limit.windup_rad), 2),
        "which": which_words(push, language),
        "most": language.say(PART, most_of(parts).replace(" ", "_")),
        "sum": language.number(1000.0 * sum(parts.values()), 0, True),
        "end": end_words(push, language),
        "ambient": language.number(found.design.ambient_temperature_C, 0),
    }
    told = {"crushed": [], "within": ["point_within"]}.get(near, ["point_most"])
    told += ["point_cancels"] if any(cancels(push, row) for row in range(len(push.drive.drive.rows))) else []
    said = [language.say(PART, key, **put) for key in ("point_duty", "point_limit")]
    said += [*_jump(push, language), *limit_points(push.reached, found.design, language)]
    said += [language.say(PART, key, **put) for key in told]
    if falls := falls_before(push):
        said.append(language.say(PART, "point_fall" if falls == 1 else "point_falls", count=falls))
    return (*said, language.say(PART, "point_model", **put) + warm(found.design, language))


def _jump(push: Pushed, language: Language) -> tuple[str, ...]:
    """In which of two rings teeth jump, or that this is not known."""
    if len(push.drive.drive.rows) < 2 or push.ended != "fall":
        return ()
    name = push.jumped_in
    return (language.say(PART, "point_jump_open" if name is None else "point_jump", ring=name),)


def falls_before(push: Pushed) -> int:
    """How often the torque falls back noticeably before its largest, each fall once however many steps it takes."""
    up_to = push.torque_nmm[: int(push.torque_nmm.argmax()) + 1]
    falling = np.concatenate(([False], np.diff(up_to) < 0.0))
    starts = np.flatnonzero(falling[1:] & ~falling[:-1])
    ends = [next(at for at in range(start + 1, len(up_to)) if not falling[at + 1]) for start in starts]
    lost = [up_to[start] - up_to[end] for start, end in zip(starts, ends, strict=True)]
    return int(sum(one > NOTICED_FALL * push.limit_nmm for one in lost))


def has_arms(push: Pushed) -> bool:
    """Whether bodies of the generator give on arms of their own; a cam has none."""
    return len(push.drive.winder.drive.numbers.arm_stiffness) > 0


def parts_mm(push: Pushed) -> dict[str, float]:
    """What gives at the limit."""
    return {name: float(values[0]) for name, values in push.given([push.limit]).items()}


def most_of(parts: dict[str, float]) -> str:
    return max(parts, key=lambda name: parts[name])


def near_key(parts: dict[str, float], ended: str) -> str:
    """What is said to happen near the limit: "crushed" (a tooth leans too far), "within" (the parts together hardly let the
    loaded teeth out of their spaces: they do not tell why it lets go), else the part that gives most."""
    if ended == "crushed":
        return "crushed"
    largest = max(abs(part) for part in parts.values())
    return most_of(parts).replace(" ", "_") if sum(parts.values()) > TELLS * largest else "within"


@dataclass(frozen=True)
class Way:
    """How the windup follows u: in even steps to where the teeth begin to bear (``free_u``), to the torque that numbers are told
    for (``duty_u``), to the limit, and to the last place of the walk. All of them are states that are drawn and read."""

    free_u: float
    duty_u: float
    windup_rad: tuple[float, float, float, float, float]

    def windups(self, steps: int) -> Array:
        """Windups at even steps of u, a multiple of ``STEPS``."""
        return np.interp(np.linspace(0.0, 1.0, steps + 1), self.u, self.windup_rad)

    @property
    def u(self) -> tuple[float, float, float, float, float]:
        return 0.0, self.free_u, self.duty_u, LIMIT_AT, 1.0

    def at(self, windup_rad: float) -> float:
        """Where a windup up to the limit stands."""
        return min(float(np.interp(windup_rad, self.windup_rad, self.u)), LIMIT_AT)


def way(push: Pushed) -> Way:
    """The way of a drive to its limit and past it: about as long at every windup, its places on steps of the picture."""
    limit, duty = push.limit.windup_rad, push.at_duty.windup_rad
    before = round(LIMIT_AT * STEPS) - 1
    to_duty = min(max(round(before * duty / limit), 2), before)
    to_free = min(max(round(before * push.slack_rad / limit), int(push.slack_rad > 0.0)), to_duty - 1)
    return Way(to_free / STEPS, to_duty / STEPS, (0.0, push.slack_rad, duty, limit, float(push.windup_rad[-1])))


class _Picture(LobePicture):
    """The drive from rest to past its limit, the plot and the bars below it."""

    def __init__(self, subject: Subject, push: Pushed, index: int) -> None:
        self.at = way(push).windups(STEPS)
        super().__init__(subject.motion, push, index, self.at, REACH_RAD)
        self.view = (-0.9 * self.size, 0.12 * self.size, 0.9 * self.size, 1.1 * self.size)
        self.unit = (self.view[2] - self.view[0]) / 960.0

    def drive(self, named: tuple[str, str, str], language: Language) -> list[Data]:
        """The drive near its first lobe, which stands on top; true in size, its parts ``named``."""
        clip = [self.view[0], 0.575 * self.size, self.view[2], self.view[3]]
        key = drawn.words(
            (self.view[0] + 8.0 * self.unit, self.view[3] - 20.0 * self.unit), language.say(PART, "key_arrows")
        )
        drive = {**drawn.group(self.items(LONGEST_ARROW * self.size)), "clip": clip}
        return [drive, *self.names(named, NAMED_AT * self.size, self.unit, clip[1], NAMED_OVER * self.size), key]

    def plot(self, language: Language) -> list[Data]:
        """Torque over windup, with the drive's place on it."""
        push, s = self.push, self.size
        windup, torque = np.degrees(push.windup_rad), push.torque_nmm / 1000.0
        box = (-0.78 * s, 0.215 * s, -0.04 * s, 0.5 * s)
        plot = Plot(box, (0.0, float(windup[-1])), (0.0, HEADROOM * float(torque.max())), self.unit)
        dot = plot.dot(plot.follow_x("windup"), plot.follow_y("torque"))
        top = plot.at(math.degrees(push.limit.windup_rad), push.limit_nmm / 1000.0)
        place = (top[0] - 6 * self.unit, top[1] + 7 * self.unit)
        text = language.say(PART, "limit_crushed" if push.ended == "crushed" else "limit")
        mark = drawn.words(place, text, 12.0, Role.FAIL, anchor="end", strong=True)
        curve = plot.curve(windup, torque, drawn.RING_ROLES[self.index % 2][0])
        told = drawn.group([*curve, mark, *self._first(plot, language), dot])
        # how far it goes and what gives first is asked first
        axes = plot.axes(language, language.say(PART, "axis_windup"), language.say(PART, "axis_torque"))
        return [*axes, {**told, ANSWERS: True}]

    def _first(self, plot: Plot, language: Language) -> list[Data]:
        """Where on the curve the first part fails, before the drive lets go."""
        limit = first_passed(self.push.reached)
        if limit is None:
            return []
        x, y = plot.at(math.degrees(self.push.windup_at(limit.torque_nmm.middle)), limit.torque_nmm.middle / 1000.0)
        u = self.unit
        cross = [drawn.path(np.array(((x - 6 * u, y + k * 6 * u), (x + 6 * u, y - k * 6 * u))), closed=False,
                            line="fail", line_px=2.0) for k in (1, -1)]  # fmt: skip
        text = language.say("limits", "mark")
        # Before the mark, where the curve leaves room above it; behind it, below the curve, where there is none before.
        before = x - plot.box[0] > (12.0 * wide(text) + 20.0) * u
        beside, anchor = (-10, "end") if before else (10, "start")
        return [*cross, drawn.words((x + beside * u, y - 4 * u), text, 12.0, Role.FAIL, anchor=anchor)]

    def limit_bars(self, language: Language) -> list[Data]:
        """At which torques which parts say no, the drive itself last: shown where what gives does not tell why it lets go."""
        s, u, push = self.size, self.unit, self.push
        end = push.ended if push.ended in ("fall", "crushed") else "lost"
        rows = [*short_limits(push.reached, language)[:3], (language.say(PART, f"short_{end}"), push.limit_nmm)]
        items = [drawn.words((0.06 * s, 0.5 * s + 8 * u), language.say(PART, "bars_limits"))]
        left, right = 0.36 * s, 0.74 * s
        for number, (name, torque) in enumerate(rows):
            y = (0.44 - 0.07 * number) * s
            far = left + (right - left) * torque / push.limit_nmm
            items += [
                drawn.words((left - 0.015 * s, y - 4 * u), name, 12.0, anchor="end"),
                bar(left, far, y - 0.02 * s, y + 0.02 * s, fill="flexible"),
                drawn.words((far + 0.015 * s, y - 4 * u), f"{torque_words(torque, language)} N·m", 12.0),
            ]
        if len(rows) == 1 and not isinstance(push.reached, Why):
            items.append(drawn.words((0.06 * s, 0.36 * s), language.say(PART, "bars_none"), 12.0))
        return items

    def bars(self, language: Language) -> list[Data]:
        """What gives, as bars."""
        push, s, u = self.push, self.size, self.unit
        kept = [*push.places[:: max(1, len(push.places) // 30)], push.limit, push.places[-1]]
        kept = sorted({id(place): place for place in kept}.values(), key=lambda place: place.windup_rad)
        along = [place.windup_rad for place in kept]
        found = {name: 1000.0 * values for name, values in push.given(kept).items()}
        most = max(float(np.abs(values).max()) for values in found.values())
        named = [name for name in GIVES if np.abs(found[name]).max() > 0.005 * most]
        items = [drawn.words((0.06 * s, 0.5 * s + 8 * u), language.say(PART, "bars"))]
        lowest = min([0.0, *(float(found[name].min()) for name in named)])
        left, right = 0.34 * s, 0.74 * s
        scale = (right - left) / (most - lowest)
        zero = left - scale * lowest
        for number, name in enumerate(named):
            y = (0.44 - 0.07 * number) * s
            key = name.replace(" ", "_")
            value = self.tables.follow(key, np.interp(self.at, along, found[name]), 2)
            end = value if isinstance(value, float) else {**value, "m": scale, "v": zero}
            items += [
                drawn.words((left - 0.015 * s, y - 4 * u), language.say(PART, key), 12.0, anchor="end"),
                bar(zero, end, y - 0.02 * s, y + 0.02 * s, fill="flexible" if number < 2 else "generator"),
                drawn.words((right + 0.015 * s, y - 4 * u), figures("{0} µm", (value, 0, lowest < 0)), 12.0),
            ]
        bottom = (0.44 - 0.07 * (len(named) - 1) - 0.035) * s
        items.append(drawn.path(np.array(((zero, 0.475 * s), (zero, bottom))), closed=False, line="quiet"))
        if lowest < 0.0:
            items.append(drawn.words((0.06 * s, bottom - 14 * u), language.say(PART, "minus"), 12.0))
        return items


def _take(subject: Subject, push: Pushed, index: int, language: Language) -> Take:
    say = lambda key, **put: language.say(PART, key, **put)  # noqa: E731
    picture, along = _Picture(subject, push, index), way(push)
    fine = along.windups(FINE)
    torque_nmm = np.interp(fine, push.windup_rad, push.torque_nmm)
    picture.tables.follow("torque", torque_nmm / 1000.0, 4)
    picture.tables.follow("windup", np.degrees(fine), 4)
    # finer than the picture's states: where teeth begin to touch it does not run straight
    force = push.forces_at(fine, picture.row)
    most = picture.tables.follow("most", np.hypot(force[..., 0], force[..., 1]).max(axis=1), 2)
    places = max(torque_places(push.limit_nmm), math.ceil(-math.log10(push.duty_nmm / 1000.0)))
    readings = (
        Reading("torque", say("torque"), Words("{0} N·m", (Figure({"t": "torque"}, places),))),
        Reading("windup", say("windup"), Words("{0}°", (Figure({"t": "windup"}, 2),))),
        Reading("force", say("force"), Words("{0} N", (Figure(most, 1 if push.limit_nmm < 1e4 else 0),))),
    )
    ring = picture.ring.name
    how = say("take_held" if picture.held else "take_turned")
    put = {"ring": ring, "how": how, "end": end_words(push, language), "limit": torque_words(push.limit_nmm, language)}
    said = _said(push, along, put, language)
    if torque_nmm[-1] < FALLEN * push.limit_nmm:
        said.append(Said(PAST_AT, say("said_past_crushed" if push.ended == "crushed" else "said_past", **put)))
    if cancels(push, picture.row):
        said.append(Said(1.0, say("said_cancels", **put)))
    near = near_key(parts_mm(push), push.ended)
    moments = [Moment("rest", 0.0, say("at_rest")), Moment("duty", along.duty_u, say(f"at_{push.which}"))]
    moments.append(Moment("limit", LIMIT_AT, say("at_limit_crushed" if push.ended == "crushed" else "at_limit")))
    named = shown.at_the_lobe(subject, language, ring, picture.held)
    items = [*picture.drive(named, language), *picture.plot(language)]
    apart = near in ("within", "crushed")
    bars = picture.limit_bars(language) if apart else picture.bars(language)
    items.append({**drawn.group(bars), ANSWERS: True})
    score = Score(
        picture.view,
        tuple(items),
        say("take_title", **put),
        say("description_limits" if apart else "description", **put),
        SECONDS,
        picture.tables.found,
        Drag(say("drag"), 0.6 * picture.size),
        readings,
        tuple(said),
        tuple(moments),
        marks=language.marks,
    )
    ask = _ask_first(push, language) if apart else _ask(push, language)
    return Take(f"ring_{ring}", say("take_title", **put), score, ask)


def cancels(push: Pushed, row: int) -> bool:
    """Whether arrows stand on teeth of a row where the walk ends, with no torque left: inward, and as much on as back."""
    force = push.forces([push.limit.state, push.places[-1].state], row)
    limit, last = np.hypot(force[..., 0], force[..., 1])
    along = abs(float(force[1, :, 1].sum()))
    seen, gone = last.max() > NOTICED * limit.max(), push.torque_nmm[-1] < GONE * push.limit_nmm
    return bool(seen and gone and along < CANCELS * last.sum())


def _said(push: Pushed, along: Way, put: dict[str, str], language: Language) -> list[Said]:
    """What is said up to the limit, far enough apart to be read."""
    say = lambda key: language.say(PART, key, **put)  # noqa: E731
    tight = push.drive.found.output_free_play_rad <= 0.0
    said = [Said(0.0, say("said_rest_tight" if tight else "said_rest"))]
    if along.free_u < 0.7 * LIMIT_AT and not tight:
        said.append(Said(along.free_u, say("said_takes")))
    near_u = 0.75 * LIMIT_AT
    limit = first_passed(push.reached)
    if limit is not None:
        at = along.at(push.windup_at(limit.torque_nmm.middle))
        said.append(Said(round(at, 4), first_said(limit, language)))
        if abs(near_u - at) < APART_U:
            near_u = at + APART_U if at + 2.0 * APART_U < LIMIT_AT else at - APART_U
    said.append(Said(round(near_u, 4), say(f"near_{near_key(parts_mm(push), push.ended)}")))
    said.append(Said(LIMIT_AT, say("said_limit")))
    return sorted(said, key=lambda one: one.since)


def _ask_first(push: Pushed, language: Language) -> Ask | None:
    """What says no first? Not asked where that is not known, or something does without torque."""
    limit = first_passed(push.reached)
    if isinstance(push.reached, Why) or not push.reached.once or limit is not first(push.reached):
        return None
    most = torque_words(push.limit_nmm, language)
    rows = []
    for one in first_kinds(push.reached)[: 1 + OTHERS]:
        key = "why_first" if one is limit else "why_later" if math.isfinite(one.torque_nmm.middle) else "why_never"
        torque = about(one.torque_nmm.middle, language) if key != "why_never" else ""
        why = language.say(PART, key, torque=torque, limit=most)
        rows.append(Choice(capital(what(one, language)), one is limit, why))
    why = language.say(PART, "why_end" if limit else "why_end_first", limit=most)
    rows.append(Choice(capital(end_words(push, language)), limit is None, why))
    return Ask(language.say(PART, "ask_first"), tuple(rows))


def _ask(push: Pushed, language: Language) -> Ask:
    """What gives most at the limit?"""
    parts = parts_mm(push)
    most = most_of(parts)
    arms = has_arms(push)
    order = [name for name in GIVES if name != ("carrier shifts" if arms else "arm gives") or name == most]
    rows = []
    for name in order:
        key, right = name.replace(" ", "_"), "why_right" if arms else "why_right_cam"
        words = "choice_rim_gives_cam" if name == "rim gives" and not arms else f"choice_{key}"
        why = language.say(PART, right if name == most else f"why_{key}", **_told(parts, language))
        rows.append(Choice(language.say(PART, words), name == most, why))
    return Ask(language.say(PART, "ask"), tuple(rows))


def _told(parts: dict[str, float], language: Language) -> dict[str, str]:
    return {name.replace(" ", "_"): language.number(1000.0 * value, 0, True) for name, value in parts.items()}
