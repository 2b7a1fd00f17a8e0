"""What `lesson` understands on the command line beyond the lesson file, and what it says when it is done."""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TypeVar

from lobewright.command_words import verdict_lines
from lobewright.design.files import read_text
from lobewright.errors import DesignFault, Fault, FileFault
from lobewright.lesson_folder import CAPTIONS, FILMS, FRAMES, PAGE, SCENES, STARTER, STILLS, TEACHER, LessonMade
from lobewright.teach.films import KINDS
from lobewright.teach.language import LANGUAGES
from lobewright.teach.lesson_file import Lesson, Part, read_lesson
from lobewright.teach.lesson_mark import DAYS
from lobewright.teach.papers import MOST_STUDENTS
from lobewright.teach.scenes import SCENES as KNOWN_SCENES
from lobewright.verdict import State

T = TypeVar("T")
NUMBER = re.compile(r"[+-]?[0-9][0-9.,eE+_-]*")
"""What is meant as a count of students, also where it is none."""
PLACES = (
    (PAGE, "all scenes in one page, to open in any browser; it needs no network"),
    (SCENES, "each scene as a page of its own"),
    (STILLS, "chosen moments as pictures, SVG and PNG"),
    (FILMS, "films"),
    (FRAMES, "numbered pictures without background, for film editing"),
    (CAPTIONS, "captions, and what stands for each film in words"),
    ("paper", "hand-outs to print"),
    (TEACHER, "answers, questions, plan: not for the class"),
)


def students(asked: str) -> tuple[str, ...]:
    """Names for hand-outs of their own: a count of students, or a text file with one name a line.

    Raises FileFault (a count that cannot be, not a usable file).
    """
    allowed = f"1 to {MOST_STUDENTS}, a whole number; or a text file with one name a line"
    if NUMBER.fullmatch(asked):
        if not (asked.isdecimal() and 1 <= int(asked[:9]) <= MOST_STUDENTS):
            raise FileFault([Fault("this is no count of students", "--students", 0, asked, allowed)])
        return tuple(str(number) for number in range(1, int(asked) + 1))
    try:
        text = read_text(Path(asked))
    except FileFault as error:
        faults = [replace(one, place="--students", allowed=one.allowed or allowed) for one in error.faults]
        raise FileFault(faults, asked) from None
    names = tuple(line.strip() for line in text.splitlines() if line.strip())
    if not 1 <= len(names) <= MOST_STUDENTS:
        allowed = f"1 to {MOST_STUDENTS} names, one a line"
        raise FileFault([Fault("there are no names, or too many", "--students", 0, str(len(names)), allowed)], asked)
    return names


def day(asked: str) -> datetime.date:
    """The day of the lesson. Raises FileFault for what is none, or lies too far away."""
    allowed = f"year-month-day from {DAYS[0]} to {DAYS[1]}"
    try:
        found = datetime.date.fromisoformat(asked)
    except ValueError:
        raise FileFault([Fault("this is no day", "--date", 0, asked, allowed)]) from None
    if not DAYS[0] <= found <= DAYS[1]:
        raise FileFault([Fault("this day lies too far away", "--date", 0, asked, allowed)])
    return found


def _word_faults(
    language: str | None, scenes: Sequence[str], films: Sequence[str], known_scenes: Sequence[str]
) -> list[Fault]:
    """Names on the command line that there are not."""
    faults = []
    for name, names, known in (("--scene", scenes, known_scenes), ("--film", films, tuple(KINDS))):
        faults += [
            Fault("there is none of that name", name, 0, one, ", ".join(known)) for one in names if one not in known
        ]
    if language is not None and language not in LANGUAGES:
        faults.append(
            Fault("lessons are not written in this language", "--language", 0, language, ", ".join(LANGUAGES))
        )
    return faults


def asked_lesson(
    file: str,
    language: str | None = None,
    scenes: Sequence[str] = (),
    films: Sequence[str] = (),
    asked_students: str | None = None,
    date: str | None = None,
) -> Lesson:
    """The lesson of a file with what was asked on the command line.

    Raises FileFault or DesignFault with the faults of the file, of its texts and of the command line, all at once.
    """
    errors: list[FileFault | DesignFault] = []

    def tried(make: Callable[[], T]) -> T | None:
        try:
            return make()
        except (FileFault, DesignFault) as error:
            errors.append(error)
            return None

    lesson = tried(lambda: read_lesson(file))
    if lesson is not None:
        lesson = tried(partial(narrowed, lesson, language, scenes, films))
    elif faults := _word_faults(language, scenes, films, tuple(KNOWN_SCENES)):
        errors.append(FileFault(faults))
    names = tried(lambda: students(asked_students)) if asked_students is not None else None
    when = tried(lambda: day(date)) if date is not None else None
    if len(errors) == 1:
        raise errors[0]
    if errors:
        raise _together(errors)
    assert lesson is not None
    if names is not None and asked_students is not None:
        listed = () if NUMBER.fullmatch(asked_students) else (Path(asked_students),)
        lesson = replace(lesson, students=names, read=(*lesson.read, *listed))
    return lesson if when is None else replace(lesson, date=when)


def _together(errors: Sequence[FileFault | DesignFault]) -> FileFault | DesignFault:
    """Several errors as one, of the first one's file; faults of other files name theirs."""
    first = errors[0]
    faults = [
        fault if error.file in ("", first.file) else replace(fault, what=f"{error.file}: {fault.what}")
        for error in errors
        for fault in error.faults
    ]
    return type(first)(faults, first.file)


def narrowed(lesson: Lesson, language: str | None, scenes: Sequence[str], films: Sequence[str]) -> Lesson:
    """A lesson with what was asked on the command line: its language, these of its scenes only, films of all of them.

    Raises FileFault for a language or kind of film that there is not, or a scene that the lesson does not have.
    """
    own = [part.scene for part in lesson.scenes]
    faults = _word_faults(language, scenes, films, own)
    if faults:
        raise FileFault(faults, lesson.file)
    parts = [
        part.model_copy(update={"films": tuple(dict.fromkeys((*part.films, *films)))})
        if isinstance(part, Part)
        else part
        for part in lesson.parts
    ]
    if scenes:
        parts = [part for part in parts if isinstance(part, Part) and part.scene in scenes]
    return replace(lesson, language=language or lesson.language, parts=tuple(parts))


def _lines(made: LessonMade, out: Path) -> Iterator[str]:
    for place, words in PLACES:
        count = sum(1 for name in made.files if name == place or name.startswith(f"{place}/"))
        if count:
            counted = "" if place == PAGE else f" ({count} file{'s' if count > 1 else ''})"
            yield f"  {place:<12}  {words}{counted}"
    for title, why in made.not_shown:
        yield f"\nNot shown: {title}. {why}"
    if STARTER in made.files:
        yield f"\nTo choose scenes, moments and texts of your own, keep {out / STARTER} beside the design and change it."


def lesson_text(made: LessonMade, out: Path) -> str:
    """What the command prints: failed verdicts, what lies where."""
    failed = [one.name for one in made.found.verdicts if one.state is State.FAIL]
    lines = []
    if failed:
        lines = ["This drive would fail as it is, and the lesson says so where it belongs:"]
        lines += [*verdict_lines(made.found, failed), ""]
    lines += [f"The lesson is in {out}: begin with {out / PAGE}.", *_lines(made, out)]
    return "\n".join(lines)
