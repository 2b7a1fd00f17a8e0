"""Scene 7: the drive under torque, up to where it lets go: forces on its teeth, and what gives."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from lobewright.make.moving_page import Motion
from lobewright.picture.score import Data, Drag, Figure, Moment, Reading, Said, Score, Words
from lobewright.teach import drawn
from lobewright.teach.language import Language
from lobewright.teach.plots import Plot
from lobewright.teach.pushed import GIVES, Pushed, pushed
from lobewright.teach.scene import Ask, Choice, Scene, Take
from lobewright.teach.subject import Subject
from lobewright.teach.tables import PLACES_RAD, Tables, bar, figures, words

Array = NDArray[np.float64]
Progress = Callable[[str, float], None]
PART = "torque"
STEPS, WALL_STEPS = 25, 13
"""States drawn from rest to past the limit: teeth and forces, edges of the wall."""
SECONDS = 10.0
REACH_RAD = math.radians(57.0)
"""How far to either side of the lobe the drive is drawn."""
NOTICED = 0.03
"""Share of the largest force above which a tooth gets an arrow."""
LONGEST_ARROW = 0.2
"""Of the ring's radius."""


def torque(subject: Subject, language: Language, progress: Progress | None = None) -> Scene:
    """The scene; ``progress`` is told of the walk. A drive that is not solved under torque has no picture, and says why."""
    say = lambda key, **put: language.say(PART, key, **put)  # noqa: E731
    push = pushed(subject.found, progress)
    if isinstance(push, str):
        return Scene("torque", say("title"), (say("intro"),), (), not_shown=say("not_shown", why=push))
    takes = tuple(_take(subject, push, index, language) for index in _rings(subject, push))
    return Scene("torque", say("title"), (say("intro"), say("frame")), takes, _points(push, language))


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


def _points(push: Pushed, language: Language) -> tuple[str, ...]:
    limit, at = push.limit, push.settled(push.duty_nmm)
    parts = {name: float(values[0]) for name, values in push.given([limit]).items()}
    most = max(parts, key=lambda name: parts[name])
    put = {
        "duty": language.number(push.duty_nmm / 1000.0, 2),
        "duty_windup": language.number(math.degrees(at.windup_rad), 2),
        "limit": language.number(push.limit_nmm / 1000.0, 2),
        "windup": language.number(math.degrees(limit.windup_rad), 2),
        "most": language.say(PART, most.replace(" ", "_")),
        "end": end_words(push, language),
    }
    return tuple(language.say(PART, key, **put) for key in ("point_duty", "point_limit", "point_most", "point_model"))


class _Picture:
    """One ring's picture: states on the way, tables, and the frame that all is laid out in."""

    def __init__(self, subject: Subject, push: Pushed, index: int) -> None:
        self.motion: Motion = subject.motion
        self.push, self.ring = push, subject.motion.rings[index]
        self.index, self.row = index, push.row(self.ring.name)
        self.made = push.drive.drive.rows[self.row]
        self.size = self.ring.root_radius_mm
        self.end_rad = float(push.windup_rad[-1])
        self.at = np.linspace(0.0, self.end_rad, STEPS)
        self.states = push.states(self.at)
        self.tables = Tables()
        self.view = (-0.9 * self.size, 0.1 * self.size, 0.9 * self.size, 1.11 * self.size)
        self.unit = (self.view[2] - self.view[0]) / 960.0
        self.slack = drawn.SLACK * self.motion.shape.radius_mm

    def drive(self) -> list[Data]:
        """The drive near its first lobe, which stands on top; true in size."""
        inside = [*self._generator(), *self._wall(), *self._teeth(), *self._ring(), *self._arrows()]
        lobe_up = drawn.group(inside, (0.0, 0.0, round(0.5 * math.pi, 6)))
        clip = [self.view[0], 0.575 * self.size, self.view[2], self.view[3]]
        return [{**drawn.group([lobe_up]), "clip": clip}]

    def _ring(self) -> list[Data]:
        ring, (strong, soft) = self.ring, (str(role) for role in drawn.RING_ROLES[self.index % 2])
        pitch = drawn.TURN / ring.teeth
        run = drawn.ring_tooth(ring, self.slack)
        far = self.size + 0.35 * (self.size - ring.tip_radius_mm)
        foot = np.array([(far * math.cos(a), far * math.sin(a)) for a in (pitch, 0.0)])
        tooth = [
            drawn.path(np.vstack((run, foot)), fill=soft),
            drawn.path(run, closed=False, line=strong, line_px=1.5),
        ]
        count = math.ceil(REACH_RAD / pitch)
        turn = self.tables.follow("ring", self.push.ring_turn(self.states, self.row), PLACES_RAD)
        ends = np.linspace(-REACH_RAD, REACH_RAD, 49)
        body = [(r * math.cos(a), r * math.sin(a)) for r, way in ((far, ends), (1.2 * far, ends[::-1])) for a in way]
        items = [
            drawn.path(np.array(body), fill=soft),
            drawn.group(tooth, *((0.0, 0.0, round(k * pitch, 6)) for k in range(-count, count))),
        ]
        return [drawn.group(items, (0.0, 0.0, turn))]

    def _seen(self) -> list[int]:
        count = self.made.outline.teeth
        reach = math.ceil(count * REACH_RAD / drawn.TURN)
        return [k % count for k in range(-reach, reach + 1)]

    def _teeth(self) -> list[Data]:
        place = self.push.teeth(self.states, self.row)
        run = drawn.tooth_run(self.made.outline.points_mm, self.slack)
        land = float(run[0, 0])
        deep = 0.3 * (land + self.motion.inner_offset_mm)
        closed = np.vstack((run, (land - deep, run[-1, 1]), (land - deep, run[0, 1])))
        tooth = [drawn.path(closed, fill="flexible_soft"), drawn.path(run, closed=False, line="flexible", line_px=1.5)]
        self.seats = {k: self._seat(f"t{k}", place[:, k]) for k in self._seen()}
        return [drawn.group(tooth, *self.seats.values())]

    def _seat(self, name: str, place: Array) -> list[Data | float]:
        turn = np.mod(place[:, 2] + math.pi, drawn.TURN) - math.pi
        return [
            self.tables.follow(f"{name}x", place[:, 0]),
            self.tables.follow(f"{name}y", place[:, 1]),
            self.tables.follow(f"{name}a", turn, 4),
        ]

    def _wall(self) -> list[Data]:
        states = self.push.states(np.linspace(0.0, self.end_rad, WALL_STEPS))
        wall = self.push.wall(states, self.row)
        nodes = wall.shape[1]
        reach = math.ceil(nodes * REACH_RAD / drawn.TURN)
        picked = np.arange(-reach, reach + 1, max(1, nodes // 100)) % nodes
        land = self.made.outline.land_height_mm
        stages, lines = [], []
        for one in wall[:, picked]:
            out = np.column_stack((np.cos(one[:, 2]), np.sin(one[:, 2])))
            inner = one[:, :2] - self.motion.inner_offset_mm * out
            stages.append([drawn.flat_run(np.vstack((one[:, :2] + land * out, inner[::-1])))])
            lines.append([drawn.flat_run(inner)])
        at: Data = {"s": 1.0}
        return [
            {"kind": "stages", "at": at, "loops": stages, "fill": "flexible_soft"},
            {"kind": "stages", "at": at, "loops": lines, "closed": False, "line": "flexible", "line_px": 1.5},
        ]

    def _generator(self) -> list[Data]:
        shift = self.push.arms_mm(self.states)
        items = []
        for number, wheel in enumerate(self.motion.wheels):
            look = {"fill": "generator_soft", "line": "generator", "line_px": 1.5}
            body = [drawn.path(drawn.wheel_loop(wheel), **look)]
            place: list[Data | float] = [0.0, 0.0, 0.0]
            if shift.shape[1]:
                far = math.hypot(wheel.x_mm, wheel.y_mm)
                pin = [round(wheel.x_mm, 3), round(wheel.y_mm, 3)]
                body.append(
                    {"kind": "disc", "centre": pin, "radius": round(0.2 * wheel.radius_mm, 3), "fill": "generator"}
                )
                own = shift[:, self._arm(wheel.x_mm / far, wheel.y_mm / far)]
                place = [
                    self.tables.follow(f"w{number}x", own * wheel.x_mm / far, 4),
                    self.tables.follow(f"w{number}y", own * wheel.y_mm / far, 4),
                    0.0,
                ]
            items.append(drawn.group(body, place))
        return items

    def _arm(self, x: float, y: float) -> int:
        """Which arm of the loaded drive points so."""
        return int(np.argmax(self.push.drive.winder.drive.numbers.body_direction @ (x, y)))

    def _arrows(self) -> list[Data]:
        """What the rigid ring pushes on the teeth."""
        force = self.push.forces(self.states, self.row)
        size = np.hypot(force[..., 0], force[..., 1])
        most = float(size.max())
        scale = LONGEST_ARROW * self.size / most
        at = self.push.drive.drive.geometry.pitch_height_mm
        items = []
        for k in self._seen():
            if size[:, k].max() < NOTICED * most:
                continue
            tail = [
                self.tables.follow(f"f{k}o", at - scale * force[:, k, 0], 2),
                self.tables.follow(f"f{k}t", -scale * force[:, k, 1], 2),
            ]
            arrow = {"kind": "arrow", "tail": tail, "head": [at, 0.0], "colour": "tooth_mark", "line_px": 2.0}
            fade = self.tables.follow(f"f{k}s", np.minimum(1.0, size[:, k] / (NOTICED * most)), 2)
            items.append(drawn.group([arrow], self.seats[k], fade=fade))
        return items

    def plot(self, language: Language) -> list[Data]:
        """Torque over windup, with the drive's place on it."""
        push, s = self.push, self.size
        windup, torque = np.degrees(push.windup_rad), push.torque_nmm / 1000.0
        box = (-0.78 * s, 0.215 * s, -0.04 * s, 0.5 * s)
        plot = Plot(box, (0.0, float(windup[-1])), (0.0, 1.08 * float(torque.max())), self.unit)
        dot = plot.dot(plot.follow_x("", slope=float(windup[-1])), plot.follow_y("torque"))
        top = plot.at(math.degrees(push.limit.windup_rad), push.limit_nmm / 1000.0)
        mark = words(top[0], top[1] + 7 * self.unit, language.say(PART, "limit"), 12.0, "end", "fail", strong=True)
        return [
            *plot.axes(language, language.say(PART, "axis_windup"), language.say(PART, "axis_torque")),
            *plot.curve(windup, torque, drawn.RING_ROLES[self.index % 2][0]),
            mark,
            dot,
        ]

    def bars(self, language: Language) -> list[Data]:
        """What gives, as bars."""
        push, s, u = self.push, self.size, self.unit
        kept = push.places[:: max(1, len(push.places) // 30)] + [push.limit, push.places[-1]]
        kept = sorted({id(place): place for place in kept}.values(), key=lambda place: place.windup_rad)
        along = [place.windup_rad for place in kept]
        found = {name: 1000.0 * values for name, values in push.given(kept).items()}
        most = max(float(np.abs(values).max()) for values in found.values())
        named = [name for name in GIVES if np.abs(found[name]).max() > 0.005 * most]
        items = [words(0.06 * s, 0.5 * s + 8 * u, language.say(PART, "bars"))]
        lowest = min(0.0, *(float(found[name].min()) for name in named))
        left, right = 0.34 * s, 0.74 * s
        scale = (right - left) / (most - lowest)
        zero = left - scale * lowest
        for number, name in enumerate(named):
            y = (0.44 - 0.07 * number) * s
            key = name.replace(" ", "_")
            value = self.tables.follow(key, np.interp(self.at, along, found[name]), 2)
            end = value if isinstance(value, float) else {**value, "m": scale, "v": zero}
            items += [
                words(left - 0.015 * s, y - 4 * u, language.say(PART, key), 12.0, "end"),
                bar(zero, end, y - 0.02 * s, y + 0.02 * s, fill="flexible" if number < 2 else "generator"),
                words(right + 0.015 * s, y - 4 * u, figures("{0} µm", (value, 0, lowest < 0)), 12.0),
            ]
        bottom = (0.44 - 0.07 * (len(named) - 1) - 0.035) * s
        items.append(drawn.path(np.array(((zero, 0.475 * s), (zero, bottom))), closed=False, line="quiet"))
        return items


def _take(subject: Subject, push: Pushed, index: int, language: Language) -> Take:
    say = lambda key, **put: language.say(PART, key, **put)  # noqa: E731
    picture = _Picture(subject, push, index)
    torque_nm = np.interp(picture.at, push.windup_rad, push.torque_nmm) / 1000.0
    fine = np.linspace(0.0, picture.end_rad, 121)
    picture.tables.follow("torque", np.interp(fine, push.windup_rad, push.torque_nmm) / 1000.0, 4)
    force = push.forces(picture.states, picture.row)
    most = picture.tables.follow("most", np.hypot(force[..., 0], force[..., 1]).max(axis=1), 2)
    limit_u = push.limit.windup_rad / picture.end_rad
    duty_u = push.settled(push.duty_nmm).windup_rad / picture.end_rad
    free_u = float(np.interp(0.01 * push.limit_nmm, torque_nm * 1000.0, picture.at)) / picture.end_rad
    places = 2 if push.limit_nmm < 1e5 else 0
    readings = (
        Reading("torque", say("torque"), Words("{0} N·m", (Figure({"t": "torque"}, places),))),
        Reading("windup", say("windup"), Words("{0}°", (Figure({"s": math.degrees(picture.end_rad)}, 2),))),
        Reading("force", say("force"), Words("{0} N", (Figure(most, 1 if push.limit_nmm < 1e4 else 0),))),
    )
    ring = picture.ring.name
    put = {"ring": ring, "end": end_words(push, language), "limit": language.number(push.limit_nmm / 1000.0, places)}
    said = [Said(0.0, say("said_rest", **put))]
    if 0.02 < free_u < limit_u:
        said.append(Said(round(free_u, 4), say("said_takes", **put)))
    said += [Said(round(0.75 * limit_u, 4), say("said_near", **put)), Said(round(limit_u, 4), say("said_limit", **put))]
    moments = [Moment("rest", 0.0, say("at_rest")), Moment("duty", round(duty_u, 4), say("at_duty"))]
    moments.append(Moment("limit", round(limit_u, 4), say("at_limit")))
    items = [*picture.drive(), *picture.plot(language), *picture.bars(language)]
    score = Score(
        picture.view,
        tuple(items),
        say("take_title", ring=ring),
        say("description", **put),
        SECONDS,
        picture.tables.found,
        Drag(say("drag"), 0.6 * picture.size),
        readings,
        tuple(said),
        tuple(moments),
        marks=language.marks,
    )
    return Take(f"ring_{ring}", say("take_title", ring=ring), score, _ask(push, language))


def _ask(push: Pushed, language: Language) -> Ask:
    """What gives most at the limit?"""
    parts = {name: float(values[0]) for name, values in push.given([push.limit]).items()}
    most = max(parts, key=lambda name: parts[name])
    order: Sequence[str] = [name for name in GIVES if name != "carrier shifts" or name == most]
    rows = [
        Choice(
            language.say(PART, "choice_" + name.replace(" ", "_")),
            name == most,
            language.say(
                PART, "why_right" if name == most else "why_" + name.replace(" ", "_"), **_told(parts, language)
            ),
        )
        for name in order
    ]
    return Ask(language.say(PART, "ask"), tuple(rows))


def _told(parts: dict[str, float], language: Language) -> dict[str, str]:
    return {name.replace(" ", "_"): language.number(1000.0 * value, 0, True) for name, value in parts.items()}
