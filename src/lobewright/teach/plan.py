"""The lesson plan: minutes and groups, what to print and when to begin, moments to stop at, safety, the card model as a way
without any printer, and a grid to assess by."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from lobewright.assessment.results import Assessment
from lobewright.design import model as m
from lobewright.errors import DesignFault
from lobewright.make.rack_design import Racks
from lobewright.make.rack_paper import PAPERS, counts_name, instructions, marks, paper_racks
from lobewright.motion import FLEXIBLE, GENERATOR
from lobewright.teach.bank import teeth_in_spaces
from lobewright.teach.card import card_words
from lobewright.teach.cautions import cautions
from lobewright.teach.course import Course, aims, course
from lobewright.teach.document import Block, Bullets, Heading, Kept, Para, Table
from lobewright.teach.drive import Roles, member_words, way_words
from lobewright.teach.exercises import drive_lines, exercises
from lobewright.teach.language import Language
from lobewright.teach.numbers import short
from lobewright.teach.printing_days import (
    HOURS_A_DAY,
    ORDER_DAYS,
    SERVICE,
    SPARE_DAYS,
    Prints,
    days_to_print,
    prints,
    school_days_before,
)
from lobewright.teach.reasons import Why, why
from lobewright.teach.scene import Scene
from lobewright.teach.shown import ratio_words
from lobewright.teach.subject import Subject
from lobewright.teach.variants import class_variant
from lobewright.verdict import capital

PART = "plan"
CRITERIA = ("count", "direction", "reckon", "read", "explain", "care")
LEVELS = 3
GROUP = (3, 4)
"""Persons in a group: fewest and most."""


def _day_words(day: datetime.date, language: Language) -> str:
    return language.say(PART, "day", year=day.year, month=f"{day.month:02d}", day=f"{day.day:02d}")


@dataclass(frozen=True)
class When:
    """``day`` of the lesson and ``today``; None where it is not known."""

    day: datetime.date | None = None
    today: datetime.date | None = None

    def words(self, day: datetime.date, language: Language) -> str:
        """A day on which something is to be done, and whether it is too late for it."""
        words = _day_words(day, language)
        return language.say(PART, "past", day=words) if self.today and day < self.today else words

    def begin(self, days: int, language: Language) -> str:
        """When to begin: a date, or how long before."""
        if not days:
            return language.say(PART, "same_day")
        if self.day is None:
            return language.say(PART, "days_before", days=days)
        return self.words(school_days_before(self.day, days), language)


UNDATED = When()


def _ways(made: Prints, card: bool, groups: int, when: When, language: Language) -> Table:
    """Ways to prepare with what they cost in hours and when to begin."""
    ways = [("way_card", 0.0)] if card else []
    if made.rack:
        ways.append(("way_one" if card else "way_one_only", made.rack_minutes))
        if groups > 1:
            ways.append(("way_groups", groups * made.rack_minutes))
    if made.drive_minutes:
        drive = "way_drive" if made.rack else "way_drive_only"
        ways.append((drive, groups * made.rack_minutes + made.drive_minutes))
    rows = tuple(
        (
            language.say(PART, key, groups=groups),
            language.number(minutes / 60, 1) + " h",
            when.begin(days_to_print(minutes), language),
        )
        for key, minutes in ways
    )
    return Table(tuple(language.say(PART, key) for key in ("way", "hours", "begin")), rows, (5.0, 1.6, 2.6))


def _order(key: str, when: When, language: Language) -> str:
    """By when something is ordered."""
    if when.day is None:
        return language.say(PART, f"{key}_before", days=ORDER_DAYS)
    return language.say(PART, f"{key}_day", day=when.words(when.day - datetime.timedelta(days=ORDER_DAYS), language))


def _printing(made: Prints, card: bool, groups: int, when: When, language: Language) -> Iterator[Block]:
    yield Heading(language.say(PART, "printing"))
    if not made.printer:
        yield Para(language.say(PART, "no_printer" if card else "no_printer_no_card"))
    else:
        if made.no_rack:
            yield Para(language.say(PART, "not_made", why=made.no_rack.words(language)))
        if made.drive_minutes is None:
            yield Para(language.say(PART, "no_drive"))
    ways = _ways(made, card, groups, when, language)
    if not ways.rows:
        return
    yield Kept((ways,))
    if made.long:
        pieces = [
            language.say(PART, "piece", file=one.file, hours=language.number(one.minutes / 60, 1)) for one in made.long
        ]
        yield Para(language.say(PART, "long", hours=language.number(HOURS_A_DAY, 0), pieces=", ".join(pieces)))
    put_in = {"hours": language.number(HOURS_A_DAY, 0), "spare": SPARE_DAYS}
    yield Para(language.say(PART, "assumed", **put_in), quiet=True)
    cup = ["order_cup_service"] if made.cup == SERVICE else ["order_cup_made"] if made.cup else []
    yield Para(" ".join(_order(key, when, language) for key in ("order", *cup)))
    if made.rack:
        heads = tuple(language.say(PART, key) for key in ("part", "pieces", "hours_each"))
        rows = tuple((one.file, str(groups), f"{language.number(one.minutes / 60, 1)} h") for one in made.rack)
        yield Para(language.say(PART, "rack_parts", groups=groups))
        yield Table(heads, rows, (5.0, 1.6, 2.6))


def _wrong(scenes: Sequence[Scene], language: Language) -> Iterator[Block]:
    """What is not shown, and what would go wrong with the design: each sentence once, with the scenes that it belongs to."""
    found: dict[str, list[str]] = {}
    for number, scene in enumerate(scenes, 1):
        for line in dict.fromkeys((*([scene.not_shown] if scene.not_shown else []), *scene.wrong)):
            found.setdefault(line, []).append(str(number))
    for line, numbers in found.items():
        told = language.say(PART, "wrong_in", sentence=capital(line), numbers=", ".join(numbers))
        yield Para(told, strong=True)


def _groups(groups: int, asked: int, students: int, language: Language) -> Iterator[Block]:
    """How many groups of how many; ``students`` 0 where it is not known how many there are, ``asked``: groups wanted."""
    if not students:
        put_in = {"groups": groups, "least": groups * GROUP[0], "most": groups * GROUP[1]}
        yield Para(language.say(PART, "groups" if groups > 1 else "group", **put_in))
        return
    least, most = students // groups, -(-students // groups)
    key = "groups_of" if groups > 1 else "group_one" if most > 1 else "group_alone"
    yield Para(language.say(PART, key, groups=groups, size=f"{least}" if least == most else f"{least}–{most}"))
    if groups < asked:
        yield Para(language.say(PART, "groups_fewer", asked=asked, students=students))


def _card(numbers: Racks | Why, language: Language) -> Iterator[Block]:
    yield Heading(language.say(PART, "fallback"))
    if isinstance(numbers, Why):
        yield Para(language.say(PART, "not_made", why=numbers.words(language)))
        return
    words = card_words(language)
    way = language.say(PART, "card_with" if numbers.same_sense else "card_against")
    put_in = {
        "into": words.number(float(numbers.travel_in_mm)), "out": words.number(float(numbers.travel_out_mm)), "way": way,
        "ratio": ratio_words(language, numbers.ratio),
    }  # fmt: skip
    yield Para(language.say(PART, "card_how", **put_in))
    yield Bullets(instructions(numbers, words))
    yield from _marks(numbers, language)
    yield Para(language.say(PART, "card_fewer" if numbers.fewer_teeth else "card_same", fewer=numbers.fewer_teeth))


def _marks(numbers: Racks, language: Language) -> Iterator[Block]:
    """A table to fill in: where to stop, what is to be expected there, and room for what is read."""
    heads = (
        counts_name(numbers, card_words(language)),
        *(language.say(PART, f"mark_{key}") for key in ("in", "out", "read")),
    )
    rows = tuple(
        (str(one.number), language.number(one.in_mm, 1), language.number(one.out_mm, 1), "") for one in marks(numbers)
    )
    if rows:
        yield Kept((Para(language.say(PART, "marks")), Table(heads, rows, (1.4, 2.0, 2.6, 2.0))))


def _safety(found: Assessment, card: bool, made: Prints, language: Language) -> Iterator[Block]:
    """The usual cautions, and those of making the models."""
    own = [language.say(PART, "safety_card")] if card else []
    own += [language.say(PART, "safety_printer")] if made.rack or made.drive_minutes else []
    yield Heading(language.say(PART, "safety"))
    yield Bullets((*cautions(found, language), *own))


def _moments(subject: Subject, shown: Sequence[str], language: Language) -> Iterator[Block]:
    """Places to stop and ask, with this drive's figures; those of scenes that are not there, and of play that is not, are left
    out."""
    own = class_variant(subject.found)
    drive, row = own.drive, own.drive.uneven
    ratio = drive.moves().ratio
    # the two that mesh: the one is held, the other moves, whatever else the drive holds and reads
    held, mover = (FLEXIBLE, row.name) if drive.roles.held == FLEXIBLE else (row.name, FLEXIBLE)
    counted = drive.moves(Roles(held, GENERATOR, mover)).ratio
    put_in = {
        "ratio": ratio_words(language, ratio), "turn": short(360 / counted, language, 3, True),
        "way": way_words(ratio, language), "in_spaces": teeth_in_spaces(subject, row.name), "flexible": row.flexible_teeth,
        "ring": row.ring_teeth, "difference": abs(row.ring_teeth - row.flexible_teeth), "lobes": drive.lobes,
        "play": short(own.play_deg, language), "name": row.name, "held": member_words(held, drive, language),
        "mover": member_words(mover, drive, language), "Mover": capital(member_words(mover, drive, language)),
        "teeth": row.flexible_teeth if mover == FLEXIBLE else row.ring_teeth,
    }  # fmt: skip
    scenes = {2: {"count"}, 3: {"count"}, 5: {"fit"}, 6: {"play", "torque"} if own.play_deg else set()}
    # what turns with the generator is told otherwise: there the usual guess is right
    along = {1: ratio > 0, 2: counted > 0}
    keys = {k: f"moment_{k}_with" if along.get(k) else f"moment_{k}" for k in range(1, 7)}
    there = [key for k, key in keys.items() if k not in scenes or scenes[k] & set(shown)]
    yield Heading(language.say(PART, "moments"))
    yield Bullets(tuple(capital(language.say(PART, key, **put_in)) for key in there))


def _grid(language: Language) -> Iterator[Block]:
    yield Heading(language.say(PART, "grid"))
    heads = (language.say(PART, "criterion"), *(language.say(PART, "points", points=k) for k in range(1, LEVELS + 1)))
    rows = tuple(
        (language.say(PART, f"grid_{name}"), *(language.say(PART, f"grid_{name}_{k}") for k in range(1, LEVELS + 1)))
        for name in CRITERIA
    )
    yield Kept((Table(heads, rows, (2.0, 3.0, 3.0, 3.0)),))
    yield Para(language.say(PART, "grid_sum", most=LEVELS * len(CRITERIA)), quiet=True)


def _ready(made: Course, card: bool, steel: bool, language: Language) -> Iterator[Block]:
    """What is laid out before; a ``steel`` cup jumps harder and has edges."""
    yield Heading(language.say(PART, "ready"))
    keys = ["1", *(["2"] if card else []), "3", "4", "5_steel" if steel else "5"]
    told = (language.say(PART, f"ready_{k}", groups=made.groups, minutes=made.minutes) for k in keys)
    yield Bullets(tuple(told), boxes=True)


@dataclass(frozen=True)
class Asked:
    """What a plan is asked for: its day, groups of three or four, ``students`` where it is known how many (with fewer than two in
    each there are fewer groups), the lesson's own title and how many texts of the teacher's own it has."""

    when: When = UNDATED
    groups: int = 4
    students: int = 0
    title: str = ""
    texts: int = 0


def title(asked: Asked, language: Language) -> str:
    """What the plan is called."""
    return language.say(PART, "title_of", title=asked.title) if asked.title else language.say(PART, "title")


def _models(card: bool, rack: bool) -> str:
    return "both" if card and rack else "card" if card else "rack" if rack else ""


def plan(subject: Subject, scenes: Sequence[Scene], language: Language, asked: Asked = Asked()) -> tuple[Block, ...]:
    """The lesson plan about the scenes of the page."""
    found, day = subject.found, asked.when.day
    groups = min(asked.groups, max(asked.students // 2, 1)) if asked.students else asked.groups
    numbers: Racks | Why
    try:
        numbers = paper_racks(found, PAPERS[0])
    except DesignFault as fault:
        numbers = why(fault)
    card, printed, own = isinstance(numbers, Racks), prints(found), class_variant(found)
    tasks = [one.scene for one in exercises(own, language)]
    driven, read = (member_words(name, own.drive, language) for name in (own.drive.roles.driven, own.drive.roles.read))
    made = Course(scenes, tasks, _models(card, bool(printed.rack)), groups, driven, read, asked.texts)
    on = language.say(PART, "on_day", day=_day_words(day, language)) if day else language.say(PART, "no_day")
    return (
        Heading(title(asked, language), 1),
        Para(f"{found.design.name}. {on}", quiet=True),
        *(Para(line) for line in drive_lines(own, language)),
        *_wrong(scenes, language),
        *aims(made, language),
        *_ready(made, card, isinstance(found.design.flexible_ring, m.MetalCup), language),
        *_groups(groups, asked.groups, asked.students, language),
        *course(made, language),
        *_printing(printed, card, groups, asked.when, language),
        *_card(numbers, language),
        *_moments(subject, made.shown, language),
        *_safety(found, card, printed, language),
        *_grid(language),
    )
