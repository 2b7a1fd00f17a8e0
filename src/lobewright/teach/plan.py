"""The lesson plan: minutes and groups, what to print and when to begin, moments to stop at, safety, the card model as a way
without any printer, and a grid to assess by."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from lobewright.errors import DesignFault
from lobewright.make.rack_design import Racks
from lobewright.make.rack_paper import PAPERS, instructions, paper_racks
from lobewright.teach.bank import teeth_in_spaces
from lobewright.teach.card import card_words
from lobewright.teach.cautions import cautions
from lobewright.teach.document import Block, Bullets, Heading, Kept, Para, Table
from lobewright.teach.drive import way_words
from lobewright.teach.exercises import drive_lines
from lobewright.teach.language import Language
from lobewright.teach.numbers import ratio_places, short, words_of
from lobewright.teach.printing_days import (
    HOURS_A_DAY,
    ORDER_DAYS,
    SPARE_DAYS,
    Prints,
    days_to_print,
    prints,
    school_days_before,
)
from lobewright.teach.reasons import Why, why
from lobewright.teach.scene import Scene
from lobewright.teach.scenes import SCENES
from lobewright.teach.subject import Subject
from lobewright.teach.variants import class_variant

PART = "plan"
STEPS = (
    ("guess", 5),
    ("card", 25),
    ("racks", 10),
    ("rolled", 10),
    ("count", 15),
    ("members", 10),
    ("torque", 10),
    ("quiz", 5),
)
"""Parts of a double lesson with their minutes, 90 together."""
CRITERIA = ("count", "direction", "reckon", "read", "explain", "care")
LEVELS = 3


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


def _ways(made: Prints, groups: int, when: When, language: Language) -> Table:
    """Ways to prepare with what they cost in hours and when to begin."""
    ways = [("way_card", 0.0)]
    if made.rack:
        ways += [("way_one", made.rack_minutes), ("way_groups", groups * made.rack_minutes)]
    if made.drive_minutes:
        ways.append(("way_drive", groups * made.rack_minutes + made.drive_minutes))
    rows = tuple(
        (
            language.say(PART, key, groups=groups),
            language.number(minutes / 60, 1) + " h",
            when.begin(days_to_print(minutes), language),
        )
        for key, minutes in ways
    )
    return Table(tuple(language.say(PART, key) for key in ("way", "hours", "begin")), rows, (5.0, 1.6, 2.6))


def _printing(subject: Subject, groups: int, when: When, language: Language) -> Iterator[Block]:
    made = prints(subject.found)
    yield Heading(language.say(PART, "printing"))
    if made.drive_minutes is None:
        yield Para(language.say(PART, "no_printer"))
    elif made.no_rack:
        yield Para(language.say(PART, "not_made", why=made.no_rack.words(language)))
    yield Kept((_ways(made, groups, when, language),))
    put_in = {"hours": language.number(HOURS_A_DAY, 0), "spare": SPARE_DAYS}
    yield Para(language.say(PART, "assumed", **put_in), quiet=True)
    if when.day is None:
        order = language.say(PART, "order_before", days=ORDER_DAYS)
    else:
        order = language.say(
            PART, "order_day", day=when.words(when.day - datetime.timedelta(days=ORDER_DAYS), language)
        )
    yield Para(order)
    if made.rack:
        heads = tuple(language.say(PART, key) for key in ("part", "pieces", "hours_each"))
        rows = tuple((one.file, str(groups), f"{language.number(one.minutes / 60, 1)} h") for one in made.rack)
        yield Para(language.say(PART, "rack_parts", groups=groups))
        yield Table(heads, rows, (5.0, 1.6, 2.6))


def _named(scenes: Sequence[Scene], language: Language) -> dict[str, str]:
    """Scenes as the plan names them: by title, with the number that the contents of the page give them."""
    numbers = {scene.name: number for number, scene in enumerate(scenes, 1)}
    words = {name: language.say(PART, "scene", title=language.say(name, "title")) for name in SCENES}
    return {
        name: language.say(PART, "scene_numbered", scene=one, number=numbers[name]) if name in numbers else one
        for name, one in words.items()
    }


def _wrong(scenes: Sequence[Scene], language: Language) -> Iterator[Block]:
    """What would go wrong with the design, each sentence once, with the scenes that it belongs to."""
    found: dict[str, list[str]] = {}
    for number, scene in enumerate(scenes, 1):
        for line in dict.fromkeys(scene.wrong):
            found.setdefault(line, []).append(str(number))
    for line, numbers in found.items():
        yield Para(language.say(PART, "wrong_in", sentence=line, numbers=", ".join(numbers)), strong=True)


def _group_words(groups: int, students: int, language: Language) -> str:
    """How many groups of how many; ``students`` 0 where it is not known how many there are."""
    if not students:
        return language.say(PART, "groups", groups=groups)
    least, most = students // groups, -(-students // groups)
    return language.say(PART, "groups_of", groups=groups, size=f"{least}" if least == most else f"{least}–{most}")


def _course(groups: int, students: int, scenes: Sequence[Scene], language: Language) -> Iterator[Block]:
    named = _named(scenes, language)
    yield Heading(language.say(PART, "course"))
    heads = tuple(language.say(PART, key) for key in ("minutes", "what", "who"))
    rows, begin = [], 0
    for name, minutes in STEPS:
        who = language.say(PART, f"{name}_who", groups=groups)
        rows.append((f"{begin}–{begin + minutes}", language.say(PART, f"{name}_what", **named), who))
        begin += minutes
    yield Table(heads, tuple(rows), (1.2, 7.0, 3.0))
    if scenes:
        yield Para(language.say(PART, "numbered"), quiet=True)
    yield Para(_group_words(groups, students, language))


def _card(numbers: Racks | Why, language: Language) -> Iterator[Block]:
    yield Heading(language.say(PART, "fallback"))
    if isinstance(numbers, Why):
        yield Para(language.say(PART, "not_made", why=numbers.words(language)))
        return
    way = language.say(PART, "card_with" if numbers.same_sense else "card_against")
    put_in = {
        "into": short(numbers.travel_in_mm, language), "out": short(numbers.travel_out_mm, language), "way": way,
        "ratio": words_of(numbers.ratio, ratio_places(numbers.ratio), language, True),
    }  # fmt: skip
    yield Para(language.say(PART, "card_how", **put_in))
    yield Bullets(instructions(numbers, card_words(language)))
    yield Para(language.say(PART, "card_fewer" if numbers.fewer_teeth else "card_same", fewer=numbers.fewer_teeth))


def _moments(subject: Subject, language: Language) -> Iterator[Block]:
    """Places to stop and ask, with this drive's figures."""
    own = class_variant(subject.found)
    drive, row = own.drive, own.drive.uneven
    ratio = drive.moves().ratio
    put_in = {
        "ratio": words_of(ratio, ratio_places(ratio), language, True), "turn": words_of(360 / ratio, 3, language, True),
        "way": way_words(ratio, language), "in_spaces": teeth_in_spaces(subject, row.name), "flexible": row.flexible_teeth,
        "ring": row.ring_teeth, "difference": abs(row.ring_teeth - row.flexible_teeth), "lobes": drive.lobes,
        "play": words_of(own.play_deg, 3, language), "name": row.name,
    }  # fmt: skip
    yield Heading(language.say(PART, "moments"))
    yield Bullets(tuple(language.say(PART, f"moment_{k}", **put_in) for k in range(1, 7)))


def _grid(language: Language) -> Iterator[Block]:
    yield Heading(language.say(PART, "grid"))
    heads = (language.say(PART, "criterion"), *(language.say(PART, "points", points=k) for k in range(1, LEVELS + 1)))
    rows = tuple(
        (language.say(PART, f"grid_{name}"), *(language.say(PART, f"grid_{name}_{k}") for k in range(1, LEVELS + 1)))
        for name in CRITERIA
    )
    yield Kept((Table(heads, rows, (2.0, 3.0, 3.0, 3.0)),))
    yield Para(language.say(PART, "grid_sum", most=LEVELS * len(CRITERIA)), quiet=True)


def plan(
    subject: Subject,
    scenes: Sequence[Scene],
    language: Language,
    when: When = UNDATED,
    groups: int = 4,
    students: int = 0,
) -> tuple[Block, ...]:
    """The lesson plan. ``groups``: of three or four pupils; fewer where ``students`` are known and would sit alone."""
    found, day = subject.found, when.day
    groups = min(groups, max(students // 2, 1)) if students else groups
    numbers: Racks | Why
    try:
        numbers = paper_racks(found, PAPERS[0])
    except DesignFault as fault:
        numbers = why(fault)
    minutes = sum(minutes for _, minutes in STEPS)
    on = language.say(PART, "on_day", day=_day_words(day, language)) if day else language.say(PART, "no_day")
    return (
        Heading(language.say(PART, "title"), 1),
        Para(f"{found.design.name}. {on}", quiet=True),
        *(Para(line) for line in drive_lines(class_variant(found), language)),
        *_wrong(scenes, language),
        Heading(language.say(PART, "aim")),
        Bullets(tuple(language.say(PART, f"aim_{k}") for k in range(1, 4))),
        Heading(language.say(PART, "ready")),
        Bullets(
            tuple(language.say(PART, f"ready_{k}", groups=groups, minutes=minutes) for k in range(1, 6)), boxes=True
        ),
        *_course(groups, students, scenes, language),
        *_printing(subject, groups, when, language),
        *_card(numbers, language),
        *_moments(subject, language),
        Heading(language.say(PART, "safety")),
        Bullets(cautions(found, language)),
        *_grid(language),
    )
