"""The course of a lesson: its steps with their minutes, as far as the page has scenes for them and there is something to hold.

Exercises of the hand-out belong to scenes; each is named in the step that shows its scene.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from lobewright.teach import bank
from lobewright.teach.document import Block, Bullets, Heading, Para, Table
from lobewright.teach.language import Language
from lobewright.teach.scene import Scene
from lobewright.teach.scenes import SCENES

PART = "plan"
STEPS = (
    ("guess", 5),
    ("card", 25),
    ("racks", 10),
    ("rolled", 5),
    ("count", 15),
    ("members", 10),
    ("interest", 5),
    ("fit", 10),
    ("quiz", 5),
)
"""Parts of a double lesson with their minutes, 90 together."""
WHOLE = 90
BRIEF = 5
"""Minutes that leave no time for all of a step's exercises."""
SHOWS = {
    "racks": ("racks", "wedge"),
    "rolled": ("rolled",),
    "count": ("count",),
    "members": ("members",),
    "interest": ("kinds", "torque", "stress"),
    "fit": ("fit", "play"),
}
"""Scenes of the steps that show some; such a step is left out where the page shows none of them."""
AIMS = {1: "count", 2: "members", 3: "fit", 4: "play"}
"""What they can do afterwards, by the scene that shows it."""
STANDING = ("count", "members", "rolled", "torque", "play")
"""Scenes that show a drive before it moves, the best first."""
QUIZ = ("along", "two_teeth", "why_difference", "half", "stiff", "double", "friction", "windup", "bent", "worn")
"""Questions of the bank that end a lesson, those first that matter most; :data:`ASKED` of those whose scenes were shown."""
ASKED = 5


@dataclass(frozen=True)
class Course:
    """What a course is made from. ``tasks``: the scenes of the hand-out's exercises, in order; ``models``: "card", "rack", "both"
    or nothing to hold; ``texts``: of the teacher's own, between scenes; ``driven`` and ``read``:
    names of these members."""

    scenes: Sequence[Scene]
    tasks: Sequence[str]
    models: str
    groups: int
    driven: str
    read: str
    texts: int = 0

    @property
    def shown(self) -> tuple[str, ...]:
        """Names of scenes with a picture."""
        return tuple(scene.name for scene in self.scenes if scene.takes)

    def there(self, step: str) -> bool:
        """Whether there is something for a step to show."""
        if step == "card":
            return bool(self.models)
        return step not in SHOWS or bool(set(SHOWS[step]) & set(self.shown))

    @property
    def steps(self) -> tuple[tuple[str, int], ...]:
        """Names and minutes of the steps that are there, in the order of the page; models go before racks."""
        there = [(step, minutes) for step, minutes in STEPS if self.there(step)]
        return tuple(sorted(there, key=lambda one: self._place(one[0])))

    def _place(self, step: str) -> float:
        """Where a step stands: at the first scene that it shows."""
        if step == "card":
            return self._place("racks") - 0.5 if self.there("racks") else -0.5
        if step not in SHOWS:
            return -1.0 if step == STEPS[0][0] else float(len(self.shown))
        return float(min(at for at, scene in enumerate(self.shown) if scene in SHOWS[step]))

    @property
    def minutes(self) -> int:
        return sum(minutes for _, minutes in self.steps)

    def numbers(self, step: str) -> list[int]:
        """Which exercises belong to a step: those of scenes that it shows; those on racks to the models, where there are some."""
        scenes = {"racks"} if step == "card" else set(SHOWS.get(step, ())) & set(self.shown)
        if step == "racks" and self.models:
            scenes -= {"racks"}
        return [number for number, scene in enumerate(self.tasks, 1) if scene in scenes]


def named(scenes: Sequence[Scene], language: Language) -> dict[str, str]:
    """Scenes as the plan names them: by title, with the number that the contents of the page give them."""
    numbers = {scene.name: number for number, scene in enumerate(scenes, 1)}
    words = {name: language.say(PART, "scene", title=language.say(name, "title")) for name in SCENES}
    return {
        name: language.say(PART, "scene_numbered", scene=one, number=numbers[name]) if name in numbers else one
        for name, one in words.items()
    }


def task_words(numbers: Sequence[int], language: Language) -> str:
    """``Exercises 4 and 5``; empty for none."""
    if not numbers:
        return ""
    first, last = numbers[0], numbers[-1]
    if len(numbers) == 1:
        return language.say(PART, "tasks_one", first=first)
    if len(numbers) == 2:
        return language.say(PART, "tasks_two", first=first, last=last)
    if last - first == len(numbers) - 1:
        return language.say(PART, "tasks_more", first=first, last=last)
    return language.say(PART, "tasks_list", all=", ".join(map(str, numbers)))


def _quiz(made: Course, language: Language) -> str:
    """Questions of the bank, by number and name, about scenes that were shown."""
    numbers = {name: (number, scene) for number, (name, scene, _) in enumerate(bank.UNDERSTANDING, 1)}
    chosen = [name for name in QUIZ if numbers[name][1] in made.shown][:ASKED]
    told = [
        language.say(PART, "question", number=numbers[name][0], title=language.say(bank.PART, f"{name}_title"))
        for name in sorted(chosen, key=lambda name: numbers[name][0])
    ]
    after = language.say(PART, "quiz_after")
    return " ".join((language.say(PART, "quiz_what", questions="; ".join(told)), after)) if told else after


def _guess(made: Course, names: Mapping[str, str], language: Language) -> str:
    """What is shown standing still, and asked about it."""
    standing = next((name for name in STANDING if name in made.shown), None)
    shown = "guess_scene" if standing else "guess_drive"
    put_in = {"scene": names[standing]} if standing else {}
    asked = language.say(PART, "guess_what", driven=made.driven, read=made.read)
    return f"{language.say(PART, shown, **put_in)} {asked}"


def _what(step: str, made: Course, names: Mapping[str, str], language: Language) -> str:
    """What is done in a step, and the exercises to it."""
    shown = [name for name in SHOWS.get(step, ()) if name in made.shown]
    tasks = task_words(made.numbers(step), language)
    match step:
        case "guess":
            words = [_guess(made, names, language)]
        case "quiz":
            words = [_quiz(made, language)]
        case "card":
            read = "card_what" if made.models == "rack" else "card_marks"
            words = [language.say(PART, f"card_{made.models}"), language.say(PART, read)]
        case "racks" | "fit":
            words = [language.say(PART, f"{name}_what", scene=names[name]) for name in shown]
        case "interest":
            some = "one_of" if len(shown) > 1 else "one"
            words = [language.say(PART, f"interest_{some}", scenes=", ".join(names[name] for name in shown))]
        case _:
            words = [language.say(PART, f"{step}_what", **names)]
    if tasks and dict(STEPS)[step] <= BRIEF:
        tasks = language.say(PART, "tasks_rest", tasks=tasks)
    return " ".join([*words, *([f"{tasks}."] if tasks else [])])


def aims(made: Course, language: Language) -> Iterator[Block]:
    """What they can do after the scenes that are there."""
    told = tuple(language.say(PART, f"aim_{number}") for number, scene in AIMS.items() if scene in made.shown)
    if told:
        yield from (Heading(language.say(PART, "aim")), Bullets(told))


def course(made: Course, language: Language) -> Iterator[Block]:
    """Steps with minutes, what belongs to none of them, and texts of the teacher's own."""
    whole = made.minutes == WHOLE
    yield Heading(language.say(PART, "course" if whole else "course_of", minutes=made.minutes))
    heads = tuple(language.say(PART, key) for key in ("minutes", "what", "who"))
    names = named(made.scenes, language)
    rows, begin = [], 0
    for step, minutes in made.steps:
        who = language.say(PART, f"{step}_who", groups=made.groups)
        rows.append((f"{begin}–{begin + minutes}", _what(step, made, names, language), who))
        begin += minutes
    if made.scenes:
        yield Para(language.say(PART, "numbered"), quiet=True)
    yield Table(heads, tuple(rows), (1.1, 8.3, 1.9))
    placed = {number for step, _ in made.steps for number in made.numbers(step)}
    left = [number for number in range(1, len(made.tasks) + 1) if number not in placed]
    if left:
        yield Para(language.say(PART, "tasks_left", tasks=task_words(left, language)))
    if made.texts:
        yield Para(language.say(PART, "texts", texts=made.texts))
