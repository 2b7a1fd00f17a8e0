"""Scene *wedge*: one wedge, one tooth, one flank; travel and force in and out, without friction and with it.

The equations are those of :mod:`lobewright.teach.wedging`; the flank leans as the design's does, the slope is the one that gives
the design's ratio. For seeing, the wedge is drawn a whole number of times steeper than it is.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from lobewright.motion import FLEXIBLE
from lobewright.picture.palette import Role
from lobewright.picture.score import Data, Drag, Figure, Moment, Number, Reading, Said, Score, Words, course
from lobewright.teach import shown
from lobewright.teach.drawn import arrow, group, path, row, words
from lobewright.teach.language import Language
from lobewright.teach.numbers import places_for
from lobewright.teach.scene import Ask, Choice, Scene, Take
from lobewright.teach.subject import Subject
from lobewright.teach.wedging import Rubbing, WedgePair, rubbing, wedge_pair
from lobewright.verdict import capital

PART = "wedge"
SECONDS = 9.0
SEEN_SLOPE = math.tan(math.radians(13.0))
"""Slope that the wedge is drawn with, about."""
MOST_WAY = 3.6
"""Of the wedge in the picture, in heights of the tooth: beyond it the push on the wedge would not be seen at the start."""
DROP = 0.8
"""How far the tooth goes down, in its heights."""
NONE = Rubbing((0.0, 0.0, 0.0), (0.0, 0.0, 0.0))
TIP, TOP, THIN, SHOULDER, BAR = 0.42, 2.0, 0.35, 1.0, 6.3
"""Half the tip of the tooth, its top, the wedge's thin end, how far it reaches beside the tooth, the end of the tooth's bar."""
ROLLER = 0.3
"""Radius of the roller between wedge and tooth, where the generator rolls."""
VIEW_X = (-6.8, 8.6)


@dataclass(frozen=True)
class Sketch:
    """Sizes of the picture in heights of the tooth. ``steeper``: how much the wedge is; ``slope`` as drawn; ``side``: how far
    tooth and rack part; ``way``: how far the wedge goes in the picture."""

    pair: WedgePair
    steeper: int
    slope: float
    side: float
    way: float

    @property
    def lean(self) -> float:
        return math.tan(self.pair.flank_rad)

    @property
    def foot(self) -> float:
        """Half the width of the tooth at its root."""
        return TIP + self.lean

    @property
    def tooth(self) -> float:
        """Sideways move of the tooth."""
        return -self.side if self.pair.strip_moves else 0.0

    @property
    def ceiling(self) -> float:
        return TOP + DROP + THIN + self.slope * (SHOULDER + self.foot)

    @property
    def length(self) -> float:
        """Of the wedge."""
        return self.way + self.side + 2 * (SHOULDER + self.foot)

    def with_tooth(self) -> list[Number]:
        """Placement of what goes with the tooth; at the end its middle is at x = 0, its tip at y = 0."""
        return [course(-self.tooth, self.tooth), course(DROP, -DROP), 0.0]

    def with_wedge(self) -> list[Number]:
        """Placement of what goes with the wedge, whose thin end it is."""
        return [course(SHOULDER + self.foot - self.tooth, self.way), 0.0, 0.0]


def sketch(pair: WedgePair) -> Sketch:
    """The picture of a pair."""
    true, side = math.tan(pair.slope_rad), DROP * math.tan(pair.flank_rad)
    steeper = max(1, round(SEEN_SLOPE / true))
    back = side if pair.strip_moves else 0.0
    while DROP / (steeper * true) - back > MOST_WAY:
        steeper += 1
    return Sketch(pair, steeper, steeper * true, side, DROP / (steeper * true) - back)


def _roller(s: Sketch) -> list[Data]:
    """A roller that turns on a pin of the tooth and touches the wedge above the tooth's middle; in the tooth's frame."""
    lean = math.atan(s.slope)
    x, y = ROLLER * math.sin(lean), TOP - ROLLER * math.cos(lean)
    disc: Data = {"kind": "disc", "centre": [0.0, 0.0], "radius": ROLLER, "fill": "generator_soft", "line": "generator"}
    spoke = path(np.array(((-ROLLER, 0.0), (ROLLER, 0.0))), closed=False, line="generator")
    pin: Data = {"kind": "disc", "centre": [0.0, 0.0], "radius": 0.3 * ROLLER, "fill": "generator"}
    rolled = (s.way + s.side) / math.cos(lean) / ROLLER
    return [group([disc, spoke, pin], [round(x, 4), round(y, 4), course(slope=-rolled)])]


def _bodies(s: Sketch, roles: tuple[Role, Role], rolls: bool) -> list[Data]:
    """Rack, tooth with its bar, wedge, and the rail that the wedge runs under; a roller under the wedge where it ``rolls``."""
    strong, soft = (str(role) for role in roles)
    rack: Data = {"fill": soft, "line": strong, **({"hatch": strong} if s.pair.strip_moves else {})}
    tooth: Data = {"fill": "flexible_soft", "line": "flexible", **({} if s.pair.strip_moves else {"hatch": "flexible"})}
    low, high, far = -0.25, 0.88, 12.0
    left = -TIP - 0.35
    run = [(-far, low - 0.8), (-far, high), (left - high * s.lean, high), (left - low * s.lean, low)]
    run += [(TIP + low * s.lean, low), (TIP + high * s.lean, high), (far, high), (far, low - 0.8)]
    face = s.slope * s.foot
    body = [(-TIP, 0.0), (TIP, 0.0), (s.foot, 1.0), (BAR, 1.0), (BAR, 1.4), (s.foot, 1.4)]
    sides = (TOP - ROLLER, TOP - ROLLER) if rolls else (TOP + face, TOP - face)
    body += [(s.foot, sides[0]), (-s.foot, sides[1]), (-s.foot, 1.0)]
    up, end = s.ceiling, -s.length
    wedge = [(0.0, up), (0.0, up - THIN), (end, up - THIN + s.slope * end), (end, up)]
    roller: Data = {
        "kind": "disc",
        "centre": [course(row={"v": end}), round(up + 0.1, 3)],
        "radius": 0.1,
        "fill": "quiet",
    }
    rail = [(-far, up + 0.2), (far, up + 0.2), (far, up + 0.45), (-far, up + 0.45)]
    rack_way = 0.0 if s.pair.strip_moves else s.side
    return [
        group([path(np.array(run), **rack)], [course(-rack_way, rack_way), 0.0, 0.0]),
        group([path(np.array(body), **tooth), *(_roller(s) if rolls else [])], s.with_tooth()),
        path(np.array(rail), fill="rule", line="quiet"),
        group(
            [path(np.array(wedge), fill="generator_soft", line="generator", line_px=1.5), row(8, roller)],
            s.with_wedge(),
        ),
    ]


def _contact(normal_rad: float, lean: tuple[float, float, float], turn: float, colour: Role) -> list[Data]:
    """A force that comes in at the origin along ``normal_rad``, leant by friction to the side ``turn``; its normal and band."""
    far = 1.35
    low, middle, high = (normal_rad + turn * one for one in lean)
    end = (-1.2 * far * math.cos(normal_rad), -1.2 * far * math.sin(normal_rad))
    items = [path(np.array(((0.0, 0.0), end)), closed=False, line="quiet", dash_px=4.0)]
    if lean[2] > 0.0:
        sector: Data = {"kind": "ring_arc", "centre": [0.0, 0.0], "inner": 0.0, "outer": 1.1 * far, "fill": "lobe_mark"}
        arc = {"start_rad": round(low + math.pi, 6), "sweep_rad": round(high - low, 6)}
        items.append(group([sector | arc], fade=0.5))
    tail = [round(-far * math.cos(middle), 3), round(-far * math.sin(middle), 3)]
    return [*items, arrow(tail, (0.0, 0.0), colour, 3.5)]


def _forces(s: Sketch, rub: Rubbing, strong: Role) -> Data:
    """Where wedge and rack push on the tooth."""
    top, flank = (tuple(math.atan(one) for one in which) for which in (rub.wedge, rub.flank))
    on_top = _contact(math.atan(s.slope) - math.pi / 2, (top[0], top[1], top[2]), 1.0, Role.GENERATOR)
    on_flank = _contact(math.pi - s.pair.flank_rad, (flank[0], flank[1], flank[2]), -1.0, strong)
    at = (course(TIP + 0.04 * s.lean, 0.36 * s.lean), course(0.04, 0.36), 0.0)
    return group([group(on_top, (0.0, TOP, 0.0)), group(on_flank, at)], s.with_tooth())


def _bars(
    language: Language, s: Sketch, gains: tuple[float, float, float], free: float, y: float, px: float
) -> list[Data]:
    """Force in and force out as bars on one scale; what friction leaves, as a band."""
    unit = 11.0 / max(free, gains[2], 1.0)
    x, high = VIEW_X[0] + 0.4, 0.32

    def bar(value: float, y0: float, **look: object) -> Data:
        end = x + max(unit * value, 0.02)
        return path(np.array(((x, y0), (end, y0), (end, y0 + high), (x, y0 + high))), **look)

    def note(value: float, y0: float, text: str) -> Data:
        return words((x + unit * value + 8.0 * px, y0 + 5.0 * px), text, 14.0, strong=True)

    out = y - 0.75
    size = words((x + 3.0, y + 5.0 * px), language.say(PART, "bars_size"), 14.0)
    items = [size, bar(1.0, y, fill="generator", line="generator"), note(1.0, y, language.say(PART, "bar_in"))]
    if gains[0] == gains[2]:
        said = language.say(PART, "bar_free", force=_force(language, free))
        return [*items, bar(free, out, fill="flexible_soft", line="flexible"), note(0.0, out, said)]
    low, high_x = x + unit * gains[2], x + unit * gains[0]
    band = np.array(((low, out), (high_x, out), (high_x, out + high), (low, out + high)))
    said = language.say(PART, "bar_out", force=_force(language, gains[1]))
    without = language.say(PART, "bar_without", force=_force(language, free))
    return [
        *items,
        bar(free, out, line="quiet", dash_px=4.0),
        bar(gains[1], out, fill="flexible_soft", line="flexible"),
        path(band, hatch="lobe_mark", line="lobe_mark"),
        words((x, out - 20.0 * px), said, 14.0, strong=True),
        words((VIEW_X[1] - 0.4, out - 20.0 * px), language.say(PART, "fan"), 14.0, anchor="end"),
        words((x + unit * free, out + high + 8.0 * px), without, 14.0, anchor="end"),
    ]


def _force(language: Language, newton: float) -> str:
    return language.number(newton, 1 if newton < 100.0 else 0)


def _gains(pair: WedgePair, rub: Rubbing) -> tuple[float, float, float]:
    """Force out for 1 N in: with the least, the middle and the most friction."""
    low, middle, high = (pair.gain(a, b) for a, b in zip(rub.wedge, rub.flank, strict=True))
    return low, middle, high


def _put_in(subject: Subject, language: Language, pair: shown.Pair, s: Sketch, rub: Rubbing) -> dict[str, object]:
    gains, free = _gains(s.pair, rub), float(abs(s.pair.ratio))
    usual = shown.usual(subject)
    moving = FLEXIBLE if s.pair.strip_moves else pair.row.name
    height = _height_mm(subject, pair)

    def band(which: tuple[float, float, float]) -> str:
        places = 3 if which[2] < 0.02 else 2
        low, middle, high = (language.number(one, places) for one in which)
        return language.say(PART, "band", low=low, middle=middle, high=high)

    return {
        "read": shown.named(subject, language, usual.read),
        "own": shown.ratio_words(language, abs(usual.ratio)),
        "whole": language.say(PART, "whole_pair" if _other(subject, s.pair) else "whole_drive"),
        "flexible": shown.named(subject, language, FLEXIBLE),
        "of_flexible": shown.named(subject, language, FLEXIBLE, "of"),
        "ring": shown.named(subject, language, pair.row.name),
        "Moving": capital(shown.named(subject, language, moving)),
        "ratio": shown.ratio_words(language, abs(s.pair.ratio)),
        "free": _force(language, free),
        "upside": language.number(1.0 / free, 3),
        "middle": _force(language, gains[1]),
        "most": _force(language, gains[0]),
        "least": _force(language, gains[2]),
        "percent": language.number(100.0 * gains[1] / free, 0),
        "wedge_band": band(rub.wedge),
        "flank_band": band(rub.flank),
        "slope": language.number(math.degrees(s.pair.slope_rad), 2),
        "flank": language.number(math.degrees(s.pair.flank_rad), 1),
        "steeper": s.steeper,
        "seen": language.number(s.way / s.side, 0),
        "product": _force(language, free + (1.0 if s.pair.strip_moves else 0.0)),
        "way": language.say(PART, "with" if s.pair.ratio > 0 else "against"),
        "in_mm": language.number(height * _true_way(s), _places(height * _true_way(s), 1)),
        "down_mm": language.number(height * DROP, 2),
        "out_mm": language.number(height * s.side, _places(height * s.side, 2)),
    }


def _other(subject: Subject, pair: WedgePair) -> bool:
    """Whether the drive has another ratio than this pair: where what is read meshes with a count of its own."""
    return pair.ratio != shown.usual(subject).ratio


def _places(mm: float, least: int) -> int:
    """Decimals of a way: enough to tell the ratio from."""
    return places_for(Fraction(mm), least)


def _height_mm(subject: Subject, pair: shown.Pair) -> float:
    outline = subject.motion.rows[subject.motion.rings[pair.index].row].outline_mm
    return float(outline[:, 1].max() - outline[0, 1])


def _true_way(s: Sketch) -> float:
    """How far the wedge goes, in heights of the tooth, as steep as it is."""
    return DROP / math.tan(s.pair.slope_rad) - (s.side if s.pair.strip_moves else 0.0)


def _score(
    subject: Subject, language: Language, pair: shown.Pair, s: Sketch, rub: Rubbing, take: str, rolls: bool
) -> Score:
    """``rolls``: whether the wave generator of the design does."""
    put_in = _put_in(subject, language, pair, s, rub)
    free, gains, height = float(abs(s.pair.ratio)), _gains(s.pair, rub), _height_mm(subject, pair)
    px = (VIEW_X[1] - VIEW_X[0]) / 960.0
    roles = shown.role_of(subject, pair.row.name)
    low = -3.75
    middle = s.ceiling - 0.4

    def say(key: str) -> str:
        return language.say(PART, key, **put_in)

    rolling = rolls and take != "slides"
    own = "own_rolls" if rolling and take == "own" else take
    push = [
        arrow((-s.length - 1.4, middle), (-s.length, middle), Role.GENERATOR, 4.0),
        words((-s.length - 0.12, middle - 26.0 * px), say("label_in"), 15.0, Role.GENERATOR, anchor="end", strong=True),
    ]
    load_words = say("label_free" if take == "free" else "label_out")
    if s.pair.strip_moves:
        load = [arrow((BAR, 1.2), (BAR + 1.5, 1.2), Role.FLEXIBLE, 4.0)]
        load.append(words((BAR + 1.5, 1.62), load_words, 15.0, strong=True, anchor="end"))
        goes = [arrow((3.5, 1.8), (2.5, 1.8), Role.INK, 2.0), words((3.7, 1.73), say("label_goes_tooth"), 14.0)]
        load_at = s.with_tooth()
    else:
        load = [
            arrow((6.6, 0.3), (5.1, 0.3), roles[0], 4.0),
            words((6.6, 0.62), load_words, 15.0, strong=True, anchor="end"),
        ]
        goes = [arrow((2.4, 0.2), (3.4, 0.2), Role.INK, 2.0), words((2.4, 0.52), say("label_goes_rack"), 14.0)]
        load_at = [course(-s.side, s.side), 0.0, 0.0]
    items = [
        *_bodies(s, roles, rolling),
        words((VIEW_X[1] - 0.2, s.ceiling + 0.56), say("label_rail"), 13.0, Role.INK, anchor="end"),
        # The force on the wedge comes where its name stands.
        group(
            [words((0.3 - s.length, s.ceiling - 0.45), say("name_wedge"), 14.0, strong=True)],
            s.with_wedge(),
            fade=course(3.0, -4.0),
        ),
        group([words((1.3, 1.12), say("name_tooth"), 14.0, strong=True)], s.with_tooth()),
        words((VIEW_X[0] + 0.4, 0.3), say("name_rack"), 14.0, strong=True),
        _forces(s, rub, roles[0]),
        group(push, s.with_wedge()),
        group(load[:1], load_at),
        # What comes out is what is asked: it appears when the wedge has moved.
        group([*load[1:], *goes], load_at, fade=course(slope=10.0)),
        group(_bars(language, s, gains, free, low + 1.75, px), fade=course(slope=10.0)),
    ]
    ways = (height * _true_way(s), 1), (height * s.side, 2)
    way_in, way_out = (Words("{0} mm", (Figure(course(slope=mm), _places(mm, least)),)) for mm, least in ways)
    band = "" if take == "free" else say("reading_band")
    return Score(
        view=(VIEW_X[0], low, VIEW_X[1], low + (VIEW_X[1] - VIEW_X[0]) / 1.78),
        items=tuple(items),
        title=say(f"take_{take}"),
        description=say(f"description_{own}"),
        seconds=SECONDS,
        tables={},
        drag=Drag(say("drag"), s.way),
        readings=(
            Reading("in", say("reading_in"), way_in),
            Reading("out", say("reading_out"), way_out, str(put_in["way"])),
            Reading("force", say("reading_force"), Words("{0} N", (Figure(gains[1], 1),)), band),
        ),
        said=(Said(0.0, say("said_start")), Said(0.3, say(f"said_{own}")), Said(1.0, say(f"said_end_{take}"))),
        moments=(Moment("half", 0.5, say("moment_half")), Moment("whole", 1.0, say("moment_whole"))),
        marks=language.marks,
    )


def _ask(language: Language, put_in: dict[str, object], take: str) -> Ask:
    choices = (language.say(PART, f"{take}_{key}", **put_in) for key in ("right", "one", "two", "three"))
    whys = (language.say(PART, f"{take}_why_{key}", **put_in) for key in ("right", "one", "two", "three"))
    made = [Choice(words_, place == 0, why) for place, (words_, why) in enumerate(zip(choices, whys, strict=True))]
    return Ask(language.say(PART, f"{take}_ask", **put_in), tuple(made))


def scene(subject: Subject, language: Language) -> Scene:
    """The wedge without friction, with the drive's own, and as if its generator slid."""
    title = language.say(PART, "title")
    pair = shown.pair(subject)
    s = sketch(wedge_pair(subject, pair))
    own, slides = rubbing(subject)
    kinds = {"free": NONE, "own": own} | ({"slides": slides} if slides else {})
    takes = []
    for take, rub in kinds.items():
        put_in = _put_in(subject, language, pair, s, rub)
        name = language.say(PART, f"take_{take}")
        takes.append(
            Take(
                take,
                name,
                _score(subject, language, pair, s, rub, take, slides is not None),
                _ask(language, put_in, take),
            )
        )
    put_in = _put_in(subject, language, pair, s, own)
    other = "_other" if _other(subject, s.pair) else ""
    keys = ["point_travel", "point_force", "point_friction"]
    keys += ["point_model_tooth" if s.pair.strip_moves else "point_model_rack", "point_one"]
    keys.append("point_drawn" if s.steeper > 1 else "point_true")
    points = [language.say(PART, key, **put_in) for key in keys]
    if slides:
        points.insert(3, language.say(PART, "point_slides", **_put_in(subject, language, pair, s, slides)))
    return Scene(
        name="wedge",
        title=title,
        intro=tuple(language.say(PART, key, **put_in) for key in ("intro_1", f"intro_2{other}")),
        takes=tuple(takes),
        points=tuple(points),
        wrong=shown.wrongs(subject, language, *shown.TOLD),
    )
