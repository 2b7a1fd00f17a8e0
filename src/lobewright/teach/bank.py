"""The question bank: questions with one right choice and wrong ones that people really give, each with its reason.

First come questions for understanding, then those that ask for numbers, made from the exercises of the class's drive and of
neighbours of it. What cannot be told from the right choice when rounded is never a wrong choice.
"""

from __future__ import annotations

import random
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from lobewright.assessment.results import Assessment
from lobewright.make.moving_page import line_up
from lobewright.motion import FLEXIBLE
from lobewright.teach.drive import member_words
from lobewright.teach.exercises import Exercise, drive_lines, exercises
from lobewright.teach.language import Language
from lobewright.teach.scene import Choice
from lobewright.teach.subject import Subject
from lobewright.teach.variants import Variant, class_variant, variant

PART = "bank"
LETTERS = "ABCDEFGH"
"""Names of choices, in order."""
MOST_WRONG, LEAST_WRONG = 4, 2
NEIGHBOURS = ("bank 1", "bank 2")
"""Names under which neighbours of the drive are asked for besides the class's own."""
UNDERSTANDING: tuple[tuple[str, str, int], ...] = (
    ("two_teeth", "rolled", 3), ("stiff", "play", 3), ("along", "count", 3), ("why_difference", "fit", 3), ("half", "count", 2),
    ("double", "members", 3), ("windup", "torque", 2), ("bent", "stress", 3), ("worn", "play", 2), ("friction", "wedge", 2),
)  # fmt: skip
"""Questions for understanding: name, scene, wrong choices."""


@dataclass(frozen=True)
class Question:
    """``name`` is stable and fit for an identifier; exactly one of the choices is right."""

    name: str
    scene: str
    title: str
    text: str
    choices: tuple[Choice, ...]

    @property
    def right(self) -> Choice:
        return next(one for one in self.choices if one.right)

    @property
    def right_place(self) -> int:
        return self.choices.index(self.right)


def _mixed(name: str, choices: Sequence[Choice]) -> tuple[Choice, ...]:
    """The choices in an order that is always the same for a question."""
    kept = list(choices)
    random.Random(name).shuffle(kept)
    return tuple(kept)


def wrong_choices(one: Exercise, language: Language) -> tuple[Choice, ...]:
    """Slips of an exercise that can be told from the answer and from one another however they are rounded."""
    taken = [one.answer]
    kept: list[Choice] = []
    for slip in one.slips:
        if len(kept) < MOST_WRONG and all(slip.answer.apart(other) for other in taken):
            taken.append(slip.answer)
            kept.append(Choice(slip.answer.words(language), False, slip.why))
    return tuple(kept)


def asked(one: Exercise, about: str, name: str, language: Language) -> Question | None:
    """An exercise as a question with choices; ``about`` says which drive is meant. None where too few slips can be told from the
    answer."""
    wrong = wrong_choices(one, language)
    if len(wrong) < LEAST_WRONG:
        return None
    right = Choice(one.answer.words(language), True, " ".join(one.steps))
    return Question(name, one.scene, one.title, f"{about} {one.question}", _mixed(name, (right, *wrong)))


def teeth_in_spaces(subject: Subject, ring: str) -> int:
    """Teeth of the flexible ring that stand deeper than the tips of the rigid ring of this name at one time, at all lobes
    together and without load; under load fewer of them carry."""
    index = [one.name for one in subject.motion.rings].index(ring)
    deep = line_up(subject.motion, index) == 2
    return round(float(deep.mean()) * subject.motion.rows[subject.motion.rings[index].row].teeth)


def _understood(subject: Subject, language: Language) -> Iterable[Question]:
    found, drive = subject.found, class_variant(subject.found).drive
    row = drive.uneven
    against = row.ring_teeth > row.flexible_teeth
    put_in = {
        "lobes": drive.lobes, "in_spaces": teeth_in_spaces(subject, row.name),
        "flexible": row.flexible_teeth, "ring": row.ring_teeth,
        "difference": abs(row.ring_teeth - row.flexible_teeth), "name": row.name,
        "share": abs(row.ring_teeth - row.flexible_teeth) // drive.lobes, "more": row.flexible_teeth * 2,
        "ring_more": row.flexible_teeth * 2 + row.ring_teeth - row.flexible_teeth,
        "flexible_name": member_words(FLEXIBLE, drive, language),
        "way": language.say(PART, "way_against" if against else "way_with"),
        "other_way": language.say(PART, "way_with" if against else "way_against"),
        "deflection": language.number(found.set_deflection_mm, 2),
    }  # fmt: skip
    for name, scene, wrong in UNDERSTANDING:
        choices = [
            Choice(language.say(PART, f"{name}_right", **put_in), True, language.say(PART, f"{name}_why", **put_in))
        ]
        choices += [
            Choice(
                language.say(PART, f"{name}_wrong_{k}", **put_in),
                False,
                language.say(PART, f"{name}_slip_{k}", **put_in),
            )
            for k in range(1, wrong + 1)
        ]
        text = language.say(PART, f"{name}_ask", **put_in)
        yield Question(name, scene, language.say(PART, f"{name}_title"), text, _mixed(name, choices))


def _computed(found: Assessment, language: Language) -> Iterable[Question]:
    variants: list[Variant] = [class_variant(found), *(variant(found, name) for name in NEIGHBOURS)]
    for number, one in enumerate(variants, 1):
        counts, roles = drive_lines(one, language)
        for exercise in exercises(one, language):
            # said once: a question that names who is held, driven and read needs no more, unless they change places
            about = counts if exercise.roles and not exercise.guess else f"{counts} {roles}"
            question = asked(exercise, about, f"{exercise.name}_{number}", language)
            if question is not None:
                yield question


def bank(subject: Subject, language: Language) -> tuple[Question, ...]:
    """All questions, those for understanding first."""
    return (*_understood(subject, language), *_computed(subject.found, language))


def bank_text(questions: Sequence[Question], name: str, language: Language) -> str:
    """The bank as Markdown: questions, choices, and below each which one is right and why the others are not."""
    lines = [
        f"# {language.say(PART, 'heading', design=name)}",
        "",
        language.say(PART, "intro", count=len(questions)),
        "",
    ]
    for number, one in enumerate(questions, 1):
        lines += [f"## {number}. {one.title}", "", one.text, ""]
        lines += [f"- {letter}) {choice.words}" for letter, choice in zip(LETTERS, one.choices, strict=False)]
        lines += ["", f"**{language.say(PART, 'right', letter=LETTERS[one.right_place])}** {one.right.why}", ""]
        lines += [
            f"- {letter}: {choice.why}"
            for letter, choice in zip(LETTERS, one.choices, strict=False)
            if not choice.right
        ]
        lines.append("")
    return "\n".join(lines)
