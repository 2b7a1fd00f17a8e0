"""Scene 9: why the tooth difference must fit the lobes: a ring with one tooth more is tried on, and collides."""

from __future__ import annotations

import math
from collections import OrderedDict
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from lobewright.assessment.results import Assessment
from lobewright.errors import LobewrightError
from lobewright.picture.score import ANSWERS, Data, Drag, Figure, Moment, Reading, Said, Score, Words
from lobewright.teach import drawn, shown
from lobewright.teach.language import Language
from lobewright.teach.plots import Plot
from lobewright.teach.reasons import Why, why
from lobewright.teach.scene import Ask, Choice, Scene, Take
from lobewright.teach.subject import Subject
from lobewright.teach.tables import Tables
from lobewright.teach.tried import TOUCH_MM, TURNS, Tried, overlaps, teeth_near, try_on

Array = NDArray[np.float64]
Progress = Callable[[str, float], None]
PART = "fit"
SECONDS = 8.0
PITCHES = 8.0
"""Pitches seen at a lobe."""
STAGES, EDGE = 13, 12
"""Turns of the ring at which overlaps are drawn, and points of each half of one."""
INNER = 3
"""Points a tooth of the flexible ring's inner edge."""
NEAR = 0.1
"""Of the way: how far past its place a sentence about a place stands."""
LEAST_TOP_UM = 10.0
"""Least height of the plot of depths."""
ABOUT_MM = 0.01
"""To how much a depth is told that is about the same at all turns."""
KEPT = 8
_KEPT: OrderedDict[tuple[str, int, int], Tried | Why] = OrderedDict()


def scene(subject: Subject, language: Language, progress: Progress | None = None) -> Scene:
    """The scene: one tooth of difference, and the design's own difference beside it."""
    found = subject.found
    say = lambda key, **put: language.say(PART, key, **put)  # noqa: E731
    ring = next(i for i, mesh in enumerate(found.rings) if mesh.space.teeth != mesh.flexible_teeth)
    own = found.rings[ring].space.teeth - found.rings[ring].flexible_teeth
    lobes = found.set_shape.lobes
    made = []
    for at, difference in enumerate((1, own)):
        if progress is not None:
            progress("trying tooth differences", 0.5 * at)
        made.append(_tried(found, ring, difference))
    lost = next((one for one in made if isinstance(one, Why)), None)
    intro = (say("intro", lobes=lobes, own=own),)
    if lost is not None:
        return Scene("fit", say("title"), intro, (), not_shown=say("not_shown", why=lost.words(language)))
    tried = [one for one in made if isinstance(one, Tried)]
    if tried[1].gap_mm.min() >= 0.0:
        bad = shown.wrongs(subject, language, *shown.TOLD)
        return Scene("fit", say("title"), intro, (), (), bad, not_shown=say("not_shown", why=say("apart")))
    takes = tuple(_take(found, ring, one, language) for one in tried)
    return Scene(
        "fit", say("title"), intro, takes, _points(tried, language), shown.wrongs(subject, language, *shown.TOLD)
    )


def _tried(found: Assessment, ring: int, difference: int) -> Tried | Why:
    key = found.design_hash, ring, difference
    if key not in _KEPT:
        try:
            _KEPT[key] = try_on(found, ring, difference)
        except LobewrightError as error:
            _KEPT[key] = why(error)
        while len(_KEPT) > KEPT:
            _KEPT.popitem(last=False)
    return _KEPT[key]


def _um(value_mm: float, language: Language) -> str:
    return language.number(1000.0 * value_mm, 0)


def _depth(tried: Tried, language: Language) -> str:
    """By how much teeth overlap in the best place; about so much where that is not met by the turns that were tried."""
    depth_mm = -float(tried.worst_mm.max())
    if tried.best_between or depth_mm < ABOUT_MM:
        return _um(depth_mm, language)
    return language.say(PART, "about", depth=language.number(1000.0 * ABOUT_MM * round(depth_mm / ABOUT_MM), 0))


def _points(tried: list[Tried], language: Language) -> tuple[str, ...]:
    one, own = tried
    put = {
        "lobes": one.shape.lobes, "own": own.difference, "step": _share(one, language),
        "depth": _depth(one, language), "gap": _um(float(own.worst_mm.max()), language),
        "share": language.number(-100.0 * float(one.worst_mm.max()) / one.outline.height_mm),
        "mesh": language.number(one.space.engagement_mm, 2), "deflection": language.number(one.shape.deflection_mm, 2),
    }  # fmt: skip
    last = "point_own_touches" if own.touches else "point_own"
    keys = ("point_step", "point_best", last, "point_model") if not one.fits else ("point_step", "point_fits")
    return tuple(language.say(PART, key, **put) for key in keys)


def _share(tried: Tried, language: Language) -> str:
    """By what part of a pitch teeth and spaces are out of step from one lobe to the next, as a fraction."""
    rest, lobes = tried.difference % tried.shape.lobes, tried.shape.lobes
    return f"{rest}/{lobes}" if rest else language.number(0.0)


class _Picture:
    """Two lobes close by, the ring turned by u pitches over the teeth."""

    def __init__(self, found: Assessment, ring: int, tried: Tried) -> None:
        self.tried, self.ring = tried, ring
        self.inner_mm = found.geometry.inner_offset_mm
        self.pitch_mm = tried.space.pitch_rad * tried.space.tip_radius_mm
        self.half = 0.5 * PITCHES * self.pitch_mm
        self.top = tried.space.root_radius_mm
        width = 4.0 * self.half + 0.5 * self.pitch_mm
        self.view = (-0.5 * width, -0.56 * width, 0.5 * width, 0.0)
        self.unit = width / 960.0
        self.slack = drawn.SLACK * tried.shape.radius_mm
        self.tables = Tables()

    def window(self, lobe: int, side: int, language: Language) -> list[Data]:
        """One lobe in its half of the view (side −1 or 1)."""
        tried = self.tried
        angle = drawn.TURN * lobe / tried.shape.lobes
        middle = side * (self.half + 0.12 * self.pitch_mm)
        low = self.view[3] - 0.245 * (self.view[2] - self.view[0])
        shift = self.view[3] - 1.35 * self.pitch_mm - self.top
        body = [*self._teeth(lobe), *self._ring(angle), *self._overlaps(lobe)]
        placed = drawn.group(body, (round(middle, 3), round(shift, 3), round(0.5 * math.pi - angle, 6)))
        clip = [middle - self.half, low, middle + self.half, self.view[3]]
        frame = np.array(((clip[0], low), (clip[2], low), (clip[2], clip[3]), (clip[0], clip[3])))
        text = language.say(PART, "lobe", number=lobe + 1)
        return [
            {**drawn.group([placed]), "clip": clip},
            drawn.path(frame, line="rule"),
            drawn.words((middle - self.half + 10 * self.unit, low + 10 * self.unit), text, 14.0, strong=True),
        ]

    def names(self, ring: str, flexible: str) -> list[Data]:
        """Names of ring and flexible ring, in the first lobe's half of the view."""
        tried, middle = self.tried, -(self.half + 0.12 * self.pitch_mm)
        shift = self.view[3] - 1.35 * self.pitch_mm - self.top
        inner = shift + float(tried.shape.x_mm[0]) - self.inner_mm
        land = 0.5 * (float(tried.outline.land_height_mm) + self.inner_mm)
        low = inner - 44.0 * self.unit
        return [
            drawn.words((middle, self.view[3] - 20.0 * self.unit), ring, 14.0, anchor="middle", strong=True),
            drawn.words((middle, low), flexible, 14.0, anchor="middle", strong=True),
            drawn.arrow((middle, low + 16.0 * self.unit), (middle, inner + land), drawn.Role.INK, 1.4),
        ]

    def _near(self, lobe: int) -> range:
        tried = self.tried
        return teeth_near(tried, lobe, 0.62 * PITCHES * tried.shape.lobes / tried.outline.teeth)

    def _teeth(self, lobe: int) -> list[Data]:
        """The flexible ring as one body: its teeth in a row, and its inner edge."""
        tried = self.tried
        run = drawn.tooth_run(tried.outline.points_mm, self.slack)
        teeth, inner = [], []
        for k in self._near(lobe):
            x, y, normal = tried.place(k)
            teeth.append(drawn.turned(run, normal) + np.array((x, y)))
            for part in range(INNER):
                x, y, normal = tried.place_between(k + (part + 0.5) / INNER - 0.5)
                inner.append((x - self.inner_mm * math.cos(normal), y - self.inner_mm * math.sin(normal)))
        body = np.vstack((*teeth, np.array(inner)[::-1]))
        return [drawn.path(body, fill="flexible_soft", line="flexible", line_px=2.0)]

    def _ring(self, angle: float) -> list[Data]:
        """The rigid ring near a lobe as one body, all its spaces in a row."""
        tried, (strong, soft) = self.tried, (str(role) for role in drawn.RING_ROLES[self.ring % 2])
        pitch = tried.space.pitch_rad
        space = drawn.thin(tried.space.outline_mm(), self.slack)
        middle, reach = round(angle / pitch), math.ceil(0.5 * PITCHES) + 2
        edge = np.vstack([drawn.turned(space, k * pitch) for k in range(middle - reach, middle + reach + 1)])
        ends = [(middle + side * (reach + 0.5)) * pitch for side in (1, -1)]
        far = 1.15 * self.top
        outer = [(far * math.cos(a), far * math.sin(a)) for a in np.linspace(ends[0], ends[1], 5)]
        turn: Data = {"s": round(pitch, 8)}
        look = {"fill": soft, "line": strong, "line_px": 2.0}
        return [drawn.group([drawn.path(np.vstack((edge, outer)), **look)], (0.0, 0.0, turn))]

    def _overlaps(self, lobe: int) -> list[Data]:
        """Where teeth lie inside the ring, at stages of its turn: each in the frame of its tooth."""
        tried = self.tried
        items = []
        for tooth in self._near(lobe):
            turns = [tried.turn_rad(stage * (TURNS - 1) // (STAGES - 1)) for stage in range(STAGES)]
            filled = [_filled(row) for row in overlaps(tried, tooth, turns, EDGE)]
            if filled:
                stages = [[drawn.flat_run(row[stage], 2) for row in filled] for stage in range(STAGES)]
                look = {"fill": "overlap", "line": "overlap", "line_px": 1.0}
                shape: Data = {"kind": "stages", "at": {"s": 1.0}, "loops": stages, **look}
                items.append(drawn.group([shape], [round(v, 5) for v in tried.place(tooth)]))
        return items

    def plot(self, language: Language) -> list[Data]:
        """Depth of overlap at each lobe shown over the turn of the ring."""
        width = self.view[2] - self.view[0]
        depth = np.maximum(0.0, -1000.0 * self.tried.gap_mm)
        top = 1.1 * max(float(depth.max()), LEAST_TOP_UM)
        box = (-0.43 * width, -0.495 * width, 0.02 * width, -0.295 * width)
        plot = Plot(box, (0.0, 1.0), (0.0, top), self.unit)
        across = np.linspace(0.0, 1.0, TURNS)
        items = [*plot.axes(language, language.say(PART, "axis_turn"), language.say(PART, "axis_depth"))]
        for number, lobe in enumerate(self.lobes):
            self.tables.follow(f"depth{lobe}", depth[:, lobe], 1)
            table = f"depth{lobe}"
            y = plot.follow_y(table) if table in self.tables.found else plot.y(float(depth[0, lobe]))
            role = (drawn.Role.TOOTH_MARK, drawn.Role.LOBE_MARK)[number]
            items += plot.curve(across, depth[:, lobe], role, 2.5, 0.0 if number == 0 else 6.0)
            items.append(plot.dot(plot.follow_x("", slope=1.0), y, role))
        x, y0 = 0.06 * width, -0.33 * width
        for number, lobe in enumerate(self.lobes):
            y1 = y0 - 24 * self.unit * number
            role = (drawn.Role.TOOTH_MARK, drawn.Role.LOBE_MARK)[number]
            line = np.array(((x, y1 + 5 * self.unit), (x + 34 * self.unit, y1 + 5 * self.unit)))
            items.append(drawn.path(line, closed=False, line=role, line_px=2.5, dash_px=6.0 * number))
            items.append(drawn.words((x + 44 * self.unit, y1), language.say(PART, "lobe", number=lobe + 1)))
        y2 = y0 - 24 * self.unit * 2.3
        corners = np.array(
            ((x, y2), (x + 26 * self.unit, y2), (x + 26 * self.unit, y2 + 13 * self.unit), (x, y2 + 13 * self.unit))
        )
        items.append(drawn.path(corners, fill="overlap"))
        items.append(drawn.words((x + 44 * self.unit, y2), language.say(PART, "overlap")))
        return items

    @property
    def lobes(self) -> tuple[int, int]:
        """The lobes shown: the first, and the one that is worst off where the first fits."""
        return 0, 1 + int(np.argmin(self.tried.gap_mm[0, 1:]))


def _filled(row: list[Array | None]) -> list[Array]:
    """Parts at all stages; where there is none, the middle of the nearest one."""
    there = [stage for stage, part in enumerate(row) if part is not None]
    out = []
    for stage, part in enumerate(row):
        if part is None:
            near = row[min(there, key=lambda at: abs(at - stage))]
            assert near is not None
            part = np.tile(near.mean(axis=0), (EDGE, 1))
        out.append(part)
    return out


Say = Callable[..., str]
Course = tuple[tuple[Moment, ...], tuple[Said, ...]]


def _blocked_course(tried: Tried, other: int, language: Language, put: dict[str, object]) -> Course:
    """Stops and captions of a ring that collides, over one pitch of its turn: each lobe comes free once, never all."""
    say = lambda key, **more: language.say(PART, key, **more)  # noqa: E731
    best, free = tried.best / (TURNS - 1), _free(tried, other)
    moments = [Moment("first", 0.0, say("moment_first")), Moment("other", round(free, 4), say("moment_other", **put))]
    said = [
        Said(_edge(tried, other, free, -1), say("said_collides_half", **put)),
        Said(1.0, say("said_collides_end", **put)),
    ]
    blocked = _edge(tried, 0, 0.0, 1)
    if 0.0 < blocked < (best if tried.best_between else 1.0 / tried.shape.lobes):
        said.append(Said(blocked, say("said_both" if tried.best_between else "said_too", **put)))
    said.append(Said(_edge(tried, other, free, 1), say("said_shut", **put)))
    if tried.best_between:
        # past the best place one of them comes free, past that place met again the other one
        swapped = put | {"first": put["other"], "other": put["first"]}
        here, again = (put | {"turn": language.number(at, 2)} for at in (best, 1.0 - best))
        moments.append(Moment("best", round(best, 4), say("moment_best")))
        said += [Said(0.0, say("said_collides_first", **put)), Said(round(best, 4), say("said_best", **here)),
                 Said(round(best + NEAR, 4), say("said_past", **put)),
                 Said(round(1.0 - best, 4), say("said_again", **again)),
                 Said(round(1.0 - best + NEAR, 4), say("said_past", **swapped))]  # fmt: skip
    else:
        # no place is better than the others: with three lobes two are blocked wherever one is free
        said.append(Said(0.0, say("said_stays", blocked=int((tried.gap_mm[0] < 0.0).sum()), **put)))
        for lobe in set(range(1, tried.shape.lobes)) - {other}:
            third = put | {"other": lobe + 1}
            said.append(Said(_edge(tried, lobe, _free(tried, lobe), -1), say("said_third", **third)))
            said.append(Said(_edge(tried, lobe, _free(tried, lobe), 1), say("said_shut", **third)))
    return _in_order(moments, said)


def _edge(tried: Tried, lobe: int, at: float, step: int) -> float:
    """Where a lobe that is free at ``at`` stops being so, going on (``step`` 1) or back (−1); the last place if never."""
    gap, here = tried.gap_mm[:, lobe], round(at * (TURNS - 1))
    while 0 <= here + step < TURNS:
        room, depth = max(0.0, float(gap[here])), -float(gap[here + step])
        if depth > 0.0:
            return round((here + step * room / (room + depth)) / (TURNS - 1), 4)
        here += step
    return round(here / (TURNS - 1), 4)


def _free_course(tried: Tried, say: Say, put: dict[str, object]) -> Course:
    """The same of a ring that fits: at all lobes it is free and blocked together."""
    moments = [Moment("first", 0.0, say("moment_first")), Moment("half", 0.5, say("moment_half"))]
    kind = "touches" if tried.touches else "fits"
    said = [Said(0.0, say(f"said_{kind}_first", **put)), Said(0.5, say("said_fits_half", **put)),
            Said(0.5 + NEAR, say("said_fits_on", **put))]  # fmt: skip
    blocked = np.flatnonzero(tried.worst_mm < -TOUCH_MM)
    if len(blocked):
        first = float(blocked[0]) / (TURNS - 1)
        said += [Said(round(first, 4), say(f"said_{kind}_off", **put)), Said(1.0, say(f"said_{kind}_end", **put))]
    return _in_order(moments, said)


def _in_order(moments: list[Moment], said: list[Said]) -> Course:
    there = [one for one in said if one.since <= 1.0]
    return tuple(sorted(moments, key=lambda one: one.at)), tuple(sorted(there, key=lambda one: one.since))


def _take(found: Assessment, ring: int, tried: Tried, language: Language) -> Take:
    say = lambda key, **put: language.say(PART, key, **put)  # noqa: E731
    picture = _Picture(found, ring, tried)
    first, other = picture.lobes
    # while the question waits, only the first lobe is seen: there it fits
    there, *around = picture.window(other, 1, language)
    plot = drawn.group(picture.plot(language))
    depth = np.maximum(0.0, -1000.0 * tried.gap_mm.min(axis=1))
    worst = picture.tables.follow("worst", depth, 1)
    put = {
        "difference": tried.difference, "lobes": tried.shape.lobes, "step": _share(tried, language),
        "first": first + 1, "other": other + 1, "teeth": tried.space.teeth, "flexible": tried.outline.teeth,
        "depth": _depth(tried, language), "gap": _um(float(tried.gap_mm[0].min()), language),
        "start": _um(-float(tried.gap_mm[0, other]), language),
    }  # fmt: skip
    named = say("name_ring", **put), say("name_flexible", **put)
    items = [*picture.window(first, -1, language), *picture.names(*named), {**there, ANSWERS: True}, *around]
    items.append({**plot, ANSWERS: True})
    kind = "fits" if tried.fits else "collides"
    told = "touches" if tried.fits and tried.touches else kind
    readings = (
        Reading("turn", say("turn"), Words(say("unit_pitch", figure="{0}"), (Figure({"s": 1.0}, 2),))),
        Reading("worst", say("worst"), Words("{0} µm", (Figure(worst, 0),))),
    )
    moments, said = _free_course(tried, say, put) if tried.fits else _blocked_course(tried, other, language, put)
    title = say(f"take_{kind}", **put)
    # the ring is turned anticlockwise: what stands on top moves to the left
    score = Score(
        picture.view, tuple(items), title, say(f"description_{told}", **put), SECONDS, picture.tables.found,
        Drag(say("drag"), picture.pitch_mm, angle_rad=math.pi), readings, said, moments,
        marks=language.marks,
    )  # fmt: skip
    name = "own" if tried.difference % tried.shape.lobes == 0 else f"difference_{tried.difference}"
    return Take(name, title, score, None if tried.fits else _ask(tried, put, language))


def _free(tried: Tried, lobe: int) -> float:
    """How far the ring is turned, in pitches, where it is free at a lobe; half a pitch where it fits all lobes at once."""
    if tried.fits:
        return 0.5
    ahead = tried.difference * lobe / tried.shape.lobes % 1.0
    turns = np.linspace(0.0, 1.0, TURNS)
    return max((ahead, 1.0 - ahead), key=lambda turn: float(np.interp(turn, turns, tried.gap_mm[:, lobe])))


def _ask(tried: Tried, put: dict[str, object], language: Language) -> Ask:
    keys = (("no", True), ("turn", False), ("more", False), ("clearance", False))
    clearance = language.number(1000.0 * tried.space.clearance_mm, 0)
    rows = [
        Choice(
            language.say(PART, f"choice_{key}", **put),
            right,
            language.say(PART, f"why_{key}", clearance=clearance, **put),
        )
        for key, right in keys
    ]
    return Ask(language.say(PART, "ask", **put), tuple(rows))
