"""Scene *members*: hold one, drive one, read one; swap them, and predict way and ratio before it shows.

The three members of the design's own motion are exchanged in all ways that leave a ratio; turns follow from
:func:`lobewright.motion.solve`, exact. The wrong answers are the slips that people make: the sign, one off, the other member
held, the ratio upside down.
"""

from __future__ import annotations

import math
from contextlib import suppress
from dataclasses import dataclass
from fractions import Fraction
from itertools import permutations

from lobewright.errors import MotionFault
from lobewright.motion import FLEXIBLE, GENERATOR, MotionResult
from lobewright.picture.palette import Role
from lobewright.picture.score import Data, Drag, Figure, Moment, Reading, Said, Score, Words, course
from lobewright.teach import drawn, shown
from lobewright.teach.cautions import caution
from lobewright.teach.language import Language
from lobewright.teach.naming import behind, part_names
from lobewright.teach.scene import Ask, Choice, Scene, Take
from lobewright.teach.subject import Subject
from lobewright.verdict import capital

PART = "members"
SECONDS = 10.0
SECOND = "second"
"""The table of what goes from 0 to 1 in a second turn."""
FASTEST_TURNS = 2
"""Turns that no member passes in one take; the one that is driven turns whole turns where that leaves it one."""
PLACES = {"turns": (2, 4), "degrees": (1, 2)}
"""Places of the numbers of a member that turns that far and of slower ones: enough to tell 50 from 51."""
DIAL, FIRST_RING, SECOND_RING = 0.28, (1.08, 1.18), (1.22, 1.32)
"""Radius of a dial as a share of the drive's reach, and radii of the rings of its turns as shares of its own."""
DIALS_APART = 0.78
"""From the middle of one dial to that of the next, as a share of the drive's reach: outer rings stay clear of each other."""


@dataclass(frozen=True)
class Swap:
    """One choice of members; ``turns`` of all of them from the beginning to the end of its take, exact."""

    moved: MotionResult
    turns: dict[str, Fraction]


def swaps(subject: Subject) -> tuple[Swap, ...]:
    """All exchanges of the design's three members that leave a ratio, the design's own first."""
    own = subject.found.motion
    members = (own.fixed, own.driven, own.read)
    found = []
    for held, driven, read in permutations(members):
        try:
            moved = shown.moved(subject, held, driven, read)
        except MotionFault:
            continue
        span = FASTEST_TURNS / max(abs(moved.turns[name]) for name in members)
        own_turns = abs(moved.turns[driven])
        span = math.floor(span * own_turns) / own_turns or span
        found.append(Swap(moved, {name: span * turns for name, turns in moved.turns.items()}))
    return tuple(found)


def choices(subject: Subject, moved: MotionResult) -> dict[str, Fraction]:
    """Ratios by the slip that leads to them; ``right`` first. Slips that happen to give the right one are left out."""
    right = moved.ratio
    found = {"right": right, "sign": -right}
    with suppress(MotionFault):
        found["held"] = shown.moved(subject, moved.read, moved.driven, moved.fixed).ratio
    off = shown.held_counted(subject, moved)
    found |= ({"off": off} if off else {}) | {"upside": 1 / right}
    kept: dict[str, Fraction] = {}
    for slip, ratio in found.items():
        if ratio not in kept.values():
            kept[slip] = ratio
    return kept


def _places(swap: Swap, member: str, of: str) -> int:
    return PLACES[of][abs(swap.turns[member]) < FASTEST_TURNS]


def _key(subject: Subject, member: str) -> str:
    names = [ring.name for ring in subject.motion.rings]
    if member == GENERATOR:
        return "generator"
    return "flexible" if member == FLEXIBLE else f"ring{names.index(member) + 1}"


def _short(subject: Subject, language: Language, member: str) -> str:
    """A member in the fewest words, for a list to choose from."""
    if member == GENERATOR:
        return language.say(PART, "short_generator")
    if member == FLEXIBLE:
        return language.say(PART, "short_cup" if subject.found.design.is_cup else "short_flexible")
    return member


def _put_in(subject: Subject, language: Language, swap: Swap) -> dict[str, object]:
    moved = swap.moved
    share = moved.turns[moved.read]
    names = {"held": moved.fixed, "driven": moved.driven, "read": moved.read}
    bare = {name: shown.named(subject, language, member, "bare") for name, member in names.items()}
    short = {f"{name}_short": _short(subject, language, member) for name, member in names.items()}
    the = {capital(name): capital(shown.named(subject, language, member)) for name, member in names.items()}

    def degrees(member: str) -> str:
        return language.number(360.0 * float(swap.turns[member]), _places(swap, member, "degrees"), sign=True)

    return {
        **bare,
        **short,
        **the,
        "ratio": shown.ratio_words(language, moved.ratio),
        "share": shown.fraction_words(language, share),
        "driven_deg": degrees(moved.driven),
        "read_deg": degrees(moved.read),
        "driven_sense": shown.sense(language, swap.turns[moved.driven]),
        "read_sense": shown.sense(language, swap.turns[moved.read]),
        "way": language.say(PART, "with" if moved.ratio > 0 else "against"),
    }


def _ask(subject: Subject, language: Language, swap: Swap) -> Ask:
    put_in = _put_in(subject, language, swap)
    made, told = [], set()
    for slip, ratio in choices(subject, swap.moved).items():
        way = language.say(PART, "with" if ratio > 0 else "against")
        words = language.say(PART, "choice", ratio=shown.ratio_words(language, ratio), way=way)
        if words not in told:
            told.add(words)
            made.append(Choice(words, slip == "right", language.say(PART, f"why_{slip}", **put_in)))
    return Ask(language.say(PART, "ask", **put_in), tuple(made))


def _dial(
    subject: Subject, language: Language, swap: Swap, part: tuple[str, str], at: tuple[float, float], size: float
) -> list[Data]:
    """A small dial with a hand that turns as a member does; its name and part beside it."""
    role, member = part
    strong, soft = (str(one) for one in shown.role_of(subject, member))
    x, y = (round(v, 3) for v in at)
    far = DIAL * size
    px = 4.18 * size / 960.0
    turns = float(swap.turns[member])
    look: Data = {"fill": soft, "line": strong, "line_px": 1.5}
    face: Data = {"kind": "disc", "centre": [x, y], "radius": round(far, 3), **look}
    if role == "held":
        face = drawn.path(drawn.circle(far, *at, steps=48), hatch=strong, **look)
    hand = drawn.arrow((0.0, 0.0), (round(0.92 * far, 3), 0.0), Role(strong), 3.5)
    angle = course(slope=drawn.TURN * turns) if turns else 0.0
    arc = {
        "kind": "ring_arc",
        "centre": [x, y],
        "inner": round(FIRST_RING[0] * far, 3),
        "outer": round(FIRST_RING[1] * far, 3),
        "start_rad": 0.0,
    }
    items = [
        face,
        drawn.path([(x + 0.8 * far, y), (x + 1.25 * far, y)], closed=False, line="quiet"),
        drawn.group([hand], [x, y, angle]),
        drawn.words((x + 1.5 * far, y + 3.0 * px), shown.named(subject, language, member, "bare"), 16.0, strong=True),
        drawn.words((x + 1.5 * far, y - 18.0 * px), language.say(PART, f"role_{role}"), 14.0, Role.QUIET),
    ]
    if not turns:
        return items
    so_far = {
        "words": language.say(PART, "dial_turns"),
        "numbers": [{"of": course(slope=turns), "places": _places(swap, member, "turns"), "sign": True}],
    }
    told = drawn.words((x + 1.5 * far, y - 39.0 * px), so_far, 14.0, Role.INK, strong=True)
    rings: list[Data] = [{**arc, "sweep_rad": angle, "fill": strong}]
    if abs(turns) > 1.0:  # the second turn has a ring of its own: the first one is full
        outer: Data = {
            **arc,
            **dict(zip(("inner", "outer"), (round(one * far, 3) for one in SECOND_RING), strict=True)),
        }
        begun = 1.0 / abs(turns)
        again = course(table=SECOND, scale=drawn.TURN * (turns - math.copysign(1.0, turns)), start=-begun / (1.0 - begun),
                       rate=1.0 / (1.0 - begun))  # fmt: skip
        rings.append({**outer, "sweep_rad": again, "fill": strong})
    return [*rings, *items, told]


def _score(subject: Subject, language: Language, swap: Swap) -> Score:
    motion, moved = subject.motion, swap.moved
    turns = {shown.page_name(name): float(value) for name, value in swap.turns.items()}
    size = drawn.reach_mm(motion)
    view = (-1.2 * size, -1.18 * size, 2.98 * size, 1.18 * size)
    put_in = _put_in(subject, language, swap)
    front = shown.pair(subject).index
    items = [
        drawn.dial(1.04 * size),
        *drawn.round_drive(motion, turns, front, shown.page_name(moved.fixed), rims=True),
        *part_names(subject, language, front, moved.fixed, size),
    ]
    parts = (("held", moved.fixed), ("driven", moved.driven), ("read", moved.read))
    for part, y in zip(parts, (DIALS_APART, 0.0, -DIALS_APART), strict=True):
        items += _dial(subject, language, swap, part, (1.66 * size, y * size), size)

    def say(key: str) -> str:
        return language.say(PART, key, **put_in)

    def turned(part: str, member: str) -> Reading:
        figure = Figure(course(slope=360.0 * float(swap.turns[member])), _places(swap, member, "degrees"), True)
        return Reading(part, say(f"reading_{part}"), Words("{0}°", (figure,)), say("minus"), below_zero=True)

    lead = float(swap.turns[moved.driven])
    return Score(
        view=view,
        items=tuple(items),
        title=say("take"),
        description=say("description"),
        seconds=SECONDS,
        tables=drawn.shape_tables(motion) | {SECOND: [0.0, 1.0]},
        drag=Drag(str(put_in["driven"]), lead, turns=True),
        readings=(
            turned("driven", moved.driven),
            turned("read", moved.read),
            Reading("ratio", say("reading_ratio"), Words(str(put_in["ratio"]))),
        ),
        said=(Said(0.0, say("said_start")), Said(0.3, say("said_on")), Said(1.0, say("said_end"))),
        moments=(Moment("half", 0.5, say("moment_half")), Moment("whole", 1.0, say("moment_whole"))),
        marks=language.marks,
    )


def _worked(subject: Subject, language: Language) -> str:
    """The relation with this drive's numbers put in: one turn of the generator, its usual member held."""
    moved = shown.usual(subject)
    rows = {row.name: row for row in shown.rows(subject)}
    flexible = moved.turns[FLEXIBLE]
    put_in: dict[str, object] = {
        "held": shown.named(subject, language, moved.fixed),
        "flexible": shown.named(subject, language, FLEXIBLE),
        "read": shown.named(subject, language, moved.read),
        "share": shown.fraction_words(language, flexible),
        "out": shown.fraction_words(language, moved.turns[moved.read]),
    }

    def say(key: str, member: str) -> str:
        row = rows[member]
        return language.say(PART, key, spaces=row.ring_teeth, teeth=row.flexible_teeth, **put_in)

    first = [say("worked_ring", moved.fixed)] if moved.fixed in rows else []
    if moved.read == FLEXIBLE:
        return " ".join(first)
    row = rows[moved.read]
    return " ".join([*first, say("worked_with" if row.ring_teeth == row.flexible_teeth else "worked_next", moved.read)])


def _swapped(subject: Subject, language: Language) -> list[str]:
    """What becomes of the ratio when the member that is held and the one that is read change places, if it turns then."""
    own = shown.usual(subject)
    with suppress(MotionFault):
        ratios = own.ratio, shown.moved(subject, own.read, GENERATOR, own.fixed).ratio
        before, after = (shown.ratio_words(language, one) for one in ratios)
        return [language.say(PART, "point_swap", before=before, after=after)]
    return []


def scene(subject: Subject, language: Language) -> Scene:
    """All swaps of the design's members, each with its question."""
    found = swaps(subject)
    takes = []
    for place, swap in enumerate(found):
        put_in = _put_in(subject, language, swap)
        title = language.say(PART, "short" if place else "short_own", **put_in)
        name = f"hold_{_key(subject, swap.moved.fixed)}_drive_{_key(subject, swap.moved.driven)}"
        takes.append(Take(name, title, _score(subject, language, swap), _ask(subject, language, swap)))
    members = len(subject.motion.rings) + 2
    first = "intro_1" if members == 3 else "intro_1_more"
    own = subject.found.motion
    all_ways = len(list(permutations((own.fixed, own.driven, own.read))))
    points = [language.say(PART, "point_relation"), language.say(PART, "point_held"), _worked(subject, language)]
    points += [*_swapped(subject, language), *(language.say(PART, key) for key in ("point_gears", "point_friction"))]
    points += behind(subject, language, shown.pair(subject).index)
    if len(found) < all_ways:
        points.append(language.say(PART, "point_locked", left=all_ways - len(found)))
    return Scene(
        name="members",
        title=language.say(PART, "title"),
        intro=(language.say(PART, first, members=members), language.say(PART, "intro_2")),
        takes=tuple(takes),
        points=tuple(points),
        wrong=shown.wrongs(subject, language, *shown.TOLD),
        cautions=(caution("pinch", language),),
    )
