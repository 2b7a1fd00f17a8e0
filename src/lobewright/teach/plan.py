"""The lesson plan: minutes and groups, what to print and when to begin, moments to stop at, safety, the card model as a way
without any printer, and a grid to assess by."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Sequence

from lobewright.errors import DesignFault
from lobewright.make.rack_design import Racks
from lobewright.make.rack_paper import PAPERS, paper_racks
from lobewright.teach.bank import teeth_in_spaces
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
from lobewright.teach.scene import Scene
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


def _begin(days: int, day: datetime.date | None, language: Language) -> str:
    """When to begin: a date, or how long before."""
    if not days:
        return language.say(PART, "same_day")
    if day is None:
        return language.say(PART, "days_before", days=days)
    return _day_words(school_days_before(day, days), language)


def _ways(made: Prints, groups: int, day: datetime.date | None, language: Language) -> Table:
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
            _begin(days_to_print(minutes), day, language),
        )
        for key, minutes in ways
    )
    return Table(tuple(language.say(PART, key) for key in ("way", "hours", "begin")), rows, (5.0, 1.6, 2.6))


def _printing(subject: Subject, groups: int, day: datetime.date | None, language: Language) -> Iterator[Block]:
    made = prints(subject.found)
    yield Heading(language.say(PART, "printing"))
    if made.drive_minutes is None:
        yield Para(language.say(PART, "no_printer"))
    elif made.no_rack:
        yield Para(language.say(PART, "not_made", why=made.no_rack))
    yield Kept((_ways(made, groups, day, language),))
    put_in = {"hours": language.number(HOURS_A_DAY, 0), "spare": SPARE_DAYS}
    yield Para(language.say(PART, "assumed", **put_in), quiet=True)
    if day is None:
        order = language.say(PART, "order_before", days=ORDER_DAYS)
    else:
        order = language.say(PART, "order_day", day=_day_words(day - datetime.timedelta(days=ORDER_DAYS), language))
    yield Para(order)
    if made.rack:
        heads = tuple(language.say(PART, key) for key in ("part", "pieces", "hours"))
        rows = tuple((one.file, str(groups), f"{language.number(one.minutes / 60, 1)} h") for one in made.rack)
        yield Para(language.say(PART, "rack_parts", groups=groups))
        yield Table(heads, rows, (5.0, 1.6, 2.6))


def _course(groups: int, language: Language) -> Iterator[Block]:
    yield Heading(language.say(PART, "course"))
    heads = tuple(language.say(PART, key) for key in ("minutes", "what", "who"))
    rows, begin = [], 0
    for name, minutes in STEPS:
        who = language.say(PART, f"{name}_who", groups=groups)
        rows.append((f"{begin}–{begin + minutes}", language.say(PART, f"{name}_what"), who))
        begin += minutes
    yield Table(heads, tuple(rows), (1.2, 7.0, 3.0))
    yield Para(language.say(PART, "groups", groups=groups))


def _card(numbers: Racks | None, why: str, language: Language) -> Iterator[Block]:
    yield Heading(language.say(PART, "fallback"))
    if numbers is None:
        yield Para(language.say(PART, "not_made", why=why))
        return
    way = language.say(PART, "card_with" if numbers.same_sense else "card_against")
    put_in = {
        "into": short(numbers.travel_in_mm, language), "out": short(numbers.travel_out_mm, language), "way": way,
        "ratio": words_of(numbers.ratio, ratio_places(numbers.ratio), language, True),
    }  # fmt: skip
    yield Para(language.say(PART, "card_how", **put_in))
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
    subject: Subject, scenes: Sequence[Scene], language: Language, day: datetime.date | None = None, groups: int = 4
) -> tuple[Block, ...]:
    """The lesson plan. ``day``: of the lesson; None where it is not known yet. ``groups``: of three or four pupils."""
    found = subject.found
    numbers, why = None, ""
    try:
        numbers = paper_racks(found, PAPERS[0])
    except DesignFault as fault:
        why = fault.sentences()[0]
    wrong = dict.fromkeys(f"{scene.title}: {line}" for scene in scenes for line in scene.wrong)
    minutes = sum(minutes for _, minutes in STEPS)
    on = language.say(PART, "on_day", day=_day_words(day, language)) if day else language.say(PART, "no_day")
    return (
        Heading(language.say(PART, "title"), 1),
        Para(f"{found.design.name}. {on}", quiet=True),
        *(Para(line) for line in drive_lines(class_variant(found), language)),
        *(Para(line, strong=True) for line in wrong),
        Heading(language.say(PART, "aim")),
        Bullets(tuple(language.say(PART, f"aim_{k}") for k in range(1, 4))),
        Heading(language.say(PART, "ready")),
        Bullets(
            tuple(language.say(PART, f"ready_{k}", groups=groups, minutes=minutes) for k in range(1, 6)), boxes=True
        ),
        *_course(groups, language),
        *_printing(subject, groups, day, language),
        *_card(numbers, why, language),
        *_moments(subject, language),
        Heading(language.say(PART, "safety")),
        Bullets(cautions(found, language)),
        *_grid(language),
    )
