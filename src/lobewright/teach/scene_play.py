"""Scene 10: play at the teeth, windup under load, and what a worn ring adds."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lobewright.assessment.mesh import Shapes
from lobewright.assessment.results import Assessment
from lobewright.design import model as m
from lobewright.mesh.free_play import free_play
from lobewright.mesh.space import swept_bounds
from lobewright.mesh.teeth import grow
from lobewright.picture.score import ANSWERS, Data, Drag, Figure, Moment, Reading, Said, Score, Words
from lobewright.ring.generator import sections
from lobewright.teach import drawn, shown
from lobewright.teach.cautions import caution
from lobewright.teach.language import Language
from lobewright.teach.limit_words import about, first_passed, torque_words, warm, what
from lobewright.teach.lobe_picture import LobePicture, relative_sign
from lobewright.teach.plots import Plot
from lobewright.teach.pushed import Pushed, pushed
from lobewright.teach.reasons import APART, Why
from lobewright.teach.scene import Ask, Choice, Scene, Take
from lobewright.teach.scene_torque import has_arms, overloaded, which_words
from lobewright.teach.subject import Subject
from lobewright.teach.tables import bar

Array = NDArray[np.float64]
Progress = Callable[[str, float], None]
PART = "play"
WRONGS = ("flank_gap", "engagement")
"""Failed checks that are told here."""
SECONDS = 10.0
QUARTER = 8
"""Steps from the middle to the largest torque one way; four such make the whole to and fro."""
HOLD_U = 0.02
"""So long after the largest torque it is said that the hand lets go."""
TIGHT_U = 0.06
"""When it is said what springs where there is no play before."""
LEAST_PITCHES, MOST_PITCHES = 9.0, 26.0
"""Pitches seen at the lobe: so many that the tooth which carries most at the torque is among them."""
LONGEST_ARROW = 0.055
"""Of the picture's width."""
LATER = 1.1
"""Times half the play of the outlines from which on teeth are said to bear later."""
ARM_MM = 100.0
"""Length of the arm at whose end movements are told."""
WEAR_SOFT_MM, WEAR_METAL_MM = 0.1, 0.02
"""Depth by which the flanks of a worn ring are taken to have gone back, as an example: belts and printed rings, metal ones."""


@dataclass(frozen=True)
class Play:
    """Whole free play of the output [rad], both ways together: as set, and with flanks worn by a depth; windup [rad] one way at a
    torque; of it ``slack_rad`` before the teeth bear."""

    new_rad: float
    worn_rad: float
    wear_mm: float
    torque_nmm: float
    windup_rad: float
    slack_rad: float

    @property
    def added_rad(self) -> float:
        return self.worn_rad - self.new_rad

    @property
    def springs_rad(self) -> float:
        """Windup one way from where the teeth bear."""
        return self.windup_rad - self.slack_rad


def wear_mm(design: m.Design) -> float:
    """The depth of wear that is shown."""
    return WEAR_METAL_MM if isinstance(design.flexible_ring, m.MetalCup) else WEAR_SOFT_MM


def worn_play_rad(found: Assessment, depth_mm: float) -> float:
    """Free play of the output when every flexible tooth has lost a depth all round its outline: geometry alone, the deflection
    as set, the rigid rings as new. With depth 0 it is the assessment's free play."""
    design = found.design
    chain = (design.motion.fixed, design.motion.driven, design.motion.read)
    shapes = Shapes(design, found.geometry)
    total = 0.0
    for mesh, ring in zip(found.rings, design.rigid_ring, strict=True):
        if mesh.name not in chain:
            continue
        over = shapes.over(sections(design, ring), found.set_deflection_mm, 0.0, design.generator.fit_mm)
        right, left = swept_bounds(mesh.outline, over, ring.teeth, -depth_mm, mesh.space.radius_mm)
        total += free_play(mesh.space, right, left).total_rad
    return total


def play_of(found: Assessment, push: Pushed) -> Play:
    """Play and windup of a drive that is solved under torque."""
    depth = wear_mm(found.design)
    torque = push.duty_nmm
    return Play(
        found.output_free_play_rad, worn_play_rad(found, depth), depth, torque, push.at_duty.windup_rad, push.slack_rad
    )


def scene(subject: Subject, language: Language, progress: Progress | None = None) -> Scene:
    """The scene. A drive that is not solved under torque has numbers of its play only, and says why."""
    say = lambda key, **put: language.say(PART, key, **put)  # noqa: E731
    push = pushed(subject.found, progress)
    intro = (say("intro"),)
    if isinstance(push, Why):
        free = language.number(math.degrees(subject.found.output_free_play_rad), 2)
        points: tuple[str, ...] = () if push == APART else (say("point_free", free=free),)
        wrong = shown.wrongs(subject, language, *WRONGS)
        return Scene(
            "play", say("title"), intro, (), points, wrong, not_shown=say("not_shown", why=push.words(language))
        )
    play = play_of(subject.found, push)
    put = _told(push, play, language)
    takes = tuple(_take(subject, push, play, worn, language) for worn in (False, True))
    keys = ["point_free" if play.new_rad > 0.0 else "point_none", "point_windup"]
    later = subject.found.design.is_cup and play.slack_rad > LATER * 0.5 * play.new_rad > 0.0
    keys += ["point_slack"] if later else []
    keys += ["point_worn", "point_watch", "point_model"]
    points = (*(say(key, **put) for key in keys[:-1]), say(keys[-1], **put) + warm(subject.found.design, language))
    wrong = (*overloaded(push, language), *shown.wrongs(subject, language, *WRONGS))
    return Scene("play", say("title"), intro, takes, points, wrong, (caution("pinch", language),))


def _degrees(rad: float) -> float:
    """An angle as it is written."""
    return round(math.degrees(rad), 2)


def _springs(play: Play) -> float:
    """Degrees of spring each way, as they are written."""
    return _degrees(play.windup_rad) - _degrees(play.slack_rad)


def _told(push: Pushed, play: Play, language: Language) -> dict[str, str]:
    def degrees(rad: float) -> str:
        return language.number(_degrees(rad), 2)

    def arm(rad: float) -> str:
        return language.number(ARM_MM * rad, 2)

    return {
        "free": degrees(play.new_rad),
        "worn": degrees(play.worn_rad),
        "added": degrees(play.added_rad),
        "windup": degrees(play.windup_rad),
        "slack": degrees(play.slack_rad),
        "half": degrees(0.5 * play.new_rad),
        # so that both parts make up the whole as they are written
        "springs": language.number(_springs(play), 2),
        "both": language.number(2.0 * _degrees(play.slack_rad), 2),
        "both_worn": language.number(2.0 * _degrees(play.slack_rad) + _degrees(play.added_rad), 2),
        "springs_arm": arm(math.radians(_springs(play))),
        "windup_arm": arm(play.windup_rad),
        "free_arm": arm(play.new_rad),
        "torque": language.number(play.torque_nmm / 1000.0, 2),
        "wear": language.number(1000.0 * play.wear_mm, 0),
        "arm": language.number(ARM_MM, 0),
        "which": which_words(push, language),
        "limit": torque_words(push.limit_nmm, language),
        "wears": _wears(push.drive.found.design, language),
    }


def bears_at(play: Play, more_rad: float) -> int:
    """After how many of the steps of a quarter the teeth bear, play each way being so much more than as made."""
    slack = play.slack_rad + more_rad
    share = QUARTER * slack / (slack + play.springs_rad)
    return 0 if slack <= 0.0 else min(max(round(share), 1), QUARTER - 2)


def _wears(design: m.Design, language: Language) -> str:
    """What wears besides teeth: what the flexible ring runs on."""
    slides = isinstance(design.generator, m.Cam) and design.generator.under is m.CamUnder.PLAIN
    return language.say(PART, "wears_cam_plain" if slides else "wears_rolling")


class _Picture(LobePicture):
    """The drive rocked to and fro at a lobe, with the plot and the bars."""

    def __init__(self, subject: Subject, push: Pushed, play: Play, worn: bool) -> None:
        motion = subject.motion
        index = [one.name for one in motion.rings].index(_ring(push))
        self.play, self.more = play, 0.5 * play.added_rad if worn else 0.0
        self.bears = bears_at(play, self.more)
        steps = np.arange(QUARTER + 1)
        slack = play.slack_rad + self.more
        # play in even steps, then spring in even steps: where one becomes the other is drawn and read
        way = np.interp(steps, (0, self.bears, QUARTER), (0.0, slack, play.windup_rad + self.more))
        self.angle_rad = np.concatenate((way, way[-2::-1], -way[1:], -way[-2::-1]))
        beyond = np.sign(self.angle_rad) * np.maximum(np.abs(self.angle_rad) - self.more, 0.0)
        extra = relative_sign(push) * np.clip(self.angle_rad, -self.more, self.more)
        outline = grow(push.drive.drive.rows[push.row(_ring(push))].outline, -play.wear_mm) if worn else None
        ring = motion.rings[index]
        pitches = _pitches(push)
        reach = 0.75 * pitches * drawn.TURN / ring.teeth
        super().__init__(motion, push, index, beyond, reach, extra, outline)
        self.torque_nm = np.sign(beyond) * np.interp(np.abs(beyond), push.windup_rad, push.torque_nmm) / 1000.0
        pitch = drawn.TURN * self.size / ring.teeth
        self.half = 0.5 * pitches * pitch
        width = 2.0 * self.half / 0.47
        self.unit = width / 960.0
        self.view = (-0.5 * width, -0.5625 * width, 0.5 * width, 0.0)
        self.pitch = pitch

    @property
    def width(self) -> float:
        return self.view[2] - self.view[0]

    def window(self, named: tuple[str, str, str], language: Language) -> list[Data]:
        """The teeth at the lobe, parts ``named``."""
        middle = self.view[0] + 0.02 * self.width + self.half
        clip = [middle - self.half, -0.335 * self.width, middle + self.half, -0.02 * self.width]
        at = (round(middle, 3), round(-0.045 * self.width - 0.8 * self.pitch - self.size, 3), 0.0)
        placed = drawn.group(self.items(LONGEST_ARROW * self.width), at)
        names = drawn.group(self.names(named, 0.5 * self.half, self.unit, clip[1] - at[1]), at)
        key = drawn.words((clip[0] + 8.0 * self.unit, clip[3] - 18.0 * self.unit), language.say("torque", "key_arrows"))
        frame = np.array(((clip[0], clip[1]), (clip[2], clip[1]), (clip[2], clip[3]), (clip[0], clip[3])))
        # names are cut with it, so that none is lettered larger than it has room
        return [{**drawn.group([placed, names]), "clip": clip}, key, drawn.path(frame, line="rule")]

    def plot(self, language: Language) -> tuple[list[Data], list[Data]]:
        """Torque over the angle of the output, to and fro: axes, and what is drawn on them."""
        push, play = self.push, self.play
        most = 1.12 * math.degrees(play.windup_rad + 0.5 * play.added_rad)
        top = 1.12 * play.torque_nmm / 1000.0
        w = self.width
        plot = Plot((0.085 * w, -0.45 * w, 0.475 * w, -0.055 * w), (-most, most), (-top, top), self.unit)
        windup = np.unique((*np.linspace(0.0, play.windup_rad, 81), play.slack_rad))
        torque = np.interp(windup, push.windup_rad, push.torque_nmm) / 1000.0
        axes = plot.axes(language, language.say(PART, "axis_angle"), language.say(PART, "axis_torque"))
        items: list[Data] = []

        def curve(more: float, role: drawn.Role, px: float, dash: float) -> list[Data]:
            side = np.degrees(windup + more)
            return plot.curve([*-side[::-1], *side], [*-torque[::-1], *torque], role, px, dash)

        if self.more > 0.0:
            items += curve(0.0, drawn.Role.QUIET, 1.5, 5.0)
            right, high = plot.at(most, top)
            items.append(
                drawn.words((right, high + 8.0 * self.unit), language.say(PART, "key_dashed"), 12.0, anchor="end")
            )
        items += curve(self.more, drawn.RING_ROLES[self.index % 2][0], 2.5, 0.0)
        self.tables.follow("angle", np.degrees(self.angle_rad), 4)
        fine = np.interp(
            np.linspace(0.0, 1.0, 8 * QUARTER * 4 + 1), np.linspace(0.0, 1.0, len(self.angle_rad)), self.angle_rad
        )
        beyond = np.maximum(np.abs(fine) - self.more, 0.0)
        self.tables.follow("torque", np.sign(fine) * np.interp(beyond, push.windup_rad, push.torque_nmm) / 1000.0, 5)
        items.append(plot.dot(plot.follow_x("angle"), plot.follow_y("torque")))
        return axes, items

    def bars(self, language: Language, worn: bool) -> list[Data]:
        """Play, windup and what wear adds, as bars of angle."""
        play, w, u = self.play, self.width, self.unit
        slack = 2.0 * _degrees(play.slack_rad)
        rows = [("bar_free", slack, "ring_b"), ("bar_springs", 2.0 * _springs(play), "flexible")]
        outlines = "bar_outlines_cup" if self.push.drive.found.design.is_cup else "bar_outlines"
        rows[1:1] = [(outlines, _degrees(play.new_rad), "generator")] if play.new_rad > 0.0 else []
        rows += [("bar_worn", _degrees(play.added_rad), "tooth_mark")] if worn else []
        left, right = -0.5 * w + 0.225 * w, -0.5 * w + 0.43 * w
        most = max(value for _, value, _ in rows) or 1.0
        items: list[Data] = [drawn.words((-0.48 * w, -0.362 * w - 8 * u), language.say(PART, "bars"))]
        for number, (key, value, role) in enumerate(rows):
            y = -0.412 * w - (0.046 if len(rows) < 4 else 0.041) * w * number
            end = left + (right - left) * value / most
            # play by outlines is a lower bound
            shown = ("≥ " if key == outlines else "") + language.number(value, 2) + "°"
            items += [
                drawn.words((left - 6 * u, y - 4 * u), language.say(PART, key), 12.0, anchor="end"),
                bar(left, end, y - 0.012 * w, y + 0.012 * w, fill=role),
                drawn.words((end + 6 * u, y - 4 * u), shown, 12.0),
            ]
        return items


def _pitches(push: Pushed) -> float:
    """How many pitches are seen."""
    row = push.row(_ring(push))
    force = np.hypot(*push.forces([push.at_duty.state], row)[0].T)
    count = len(force)
    away = (np.arange(count) + count // 2) % count - count // 2
    near = np.abs(away) < count / (2.0 * push.drive.drive.setting.lobes)
    hardest = abs(int(away[near][np.argmax(force[near])]))
    return min(max(2.0 * hardest + 8.0, LEAST_PITCHES), MOST_PITCHES)


def _ring(push: Pushed) -> str:
    """The ring shown: one with a tooth difference."""
    rows = push.drive.drive.rows
    return next((row.name for row in rows if row.space.teeth != row.outline.teeth), rows[0].name)


def _take(subject: Subject, push: Pushed, play: Play, worn: bool, language: Language) -> Take:
    say = lambda key, **put: language.say(PART, key, **put)  # noqa: E731
    picture = _Picture(subject, push, play, worn)
    put = _told(push, play, language)
    kind = "worn" if worn else "new"
    # how far it moves, and that it springs, is asked first
    axes, curve = picture.plot(language)
    told = drawn.group([*curve, *picture.bars(language, worn)])
    named = shown.at_the_lobe(subject, language, picture.ring.name, picture.held)
    items = [*picture.window(named, language), *axes, {**told, ANSWERS: True}]
    arm = {"t": "angle", "m": ARM_MM * math.pi / 180.0}
    places = 3 if play.torque_nmm < 1000.0 else 1
    readings = (
        Reading("torque", say("torque"), Words("{0} N·m", (Figure({"t": "torque"}, places, True),))),
        Reading("angle", say("angle"), Words("{0}°", (Figure({"t": "angle"}, 2, True),))),
        Reading("arm", say("at_arm", **put), Words("{0} mm", (Figure(arm, 2, True),))),
    )
    bears = 0.25 * picture.bears / QUARTER
    said = [Said(0.0, say(f"said_{kind}", **put))]
    said.append(Said(bears or TIGHT_U, say("said_push_arms" if has_arms(push) else "said_push", **put)))
    said.append(Said(0.25 + HOLD_U, say("said_back", **put)))
    said += [Said(0.5 - bears, say("said_play", **put))] if bears else []
    said.append(Said(0.5, say("said_other", **put)))
    moments = (
        Moment("middle", 0.0, say("moment_middle")),
        Moment("pushed", 0.25, say("moment_pushed", **put)),
        Moment("pulled", 0.75, say("moment_pulled", **put)),
    )
    score = Score(
        picture.view, tuple(items), say(f"take_{kind}", **put), say(f"description_{kind}", **put), SECONDS,
        picture.tables.found, Drag(say("drag"), 4.0 * picture.pitch, angle_rad=math.pi), readings, tuple(said), moments,
        loop=True, marks=language.marks,
    )  # fmt: skip
    return Take(kind, say(f"take_{kind}", **put), score, None if worn else _ask(push, put, language))


def _ask(push: Pushed, put: dict[str, str], language: Language) -> Ask:
    """Does no play mean stiff?"""
    soft = not isinstance(push.drive.found.design.flexible_ring, m.MetalCup)
    whys = {
        "skips": "skips_crushed" if push.ended == "crushed" else "skips",
        "stays": "stays_soft" if soft else "stays",
        "springs": "springs_arms" if has_arms(push) else "springs",
    }
    keys = ("springs", True), ("stiff", False), ("stays", False), ("skips", False)
    limit = first_passed(push.reached)
    before = [] if limit is None else [
        language.say(PART, "why_first", first=about(limit.torque_nmm.middle, language), what=what(limit, language))
    ]  # fmt: skip
    rows = [
        Choice(
            language.say(PART, f"choice_{key}", **put),
            right,
            " ".join((language.say(PART, f"why_{whys.get(key, key)}", **put), *(before if key == "skips" else ()))),
        )
        for key, right in keys
    ]
    return Ask(language.say(PART, "ask", **put), tuple(rows))
