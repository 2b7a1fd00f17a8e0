"""The hand-out of a lesson and its answer sheet: exercises about one drive, stills of the scenes beside them, room to work."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from lobewright.assessment.results import Assessment
from lobewright.picture.display import Group, Item, Picture, Text
from lobewright.teach import terms
from lobewright.teach.cautions import caution, names
from lobewright.teach.document import Block, Bullets, Figure, Heading, Kept, Para, Room, Table
from lobewright.teach.exercises import Exercise, drive_lines, exercises
from lobewright.teach.language import Language
from lobewright.teach.scene import Scene, Take
from lobewright.teach.sheet import sheet_pdf
from lobewright.teach.variants import Variant
from lobewright.teach.writing_room import shared_out

PART = "handout"
STILLS = ("half", "third", "tooth_3")
"""Moments that make a good still, the best first."""
BEST = {"count": "tooth_3", "play": "middle"}
"""Where another one is better: by scene."""
UNSHOWN = ("members",)
"""Scenes without a picture on paper: its dials hold answers, and the exercise asks about other roles than it shows."""
WINDOWS = {"torque": (0.0, 0.48, 1.0, 1.0), "play": (0.02, 0.48, 0.49, 0.964), "wedge": (0.0, 0.3, 1.0, 1.0)}
"""What is shown on paper of a scene whose bars and curves would be too small to read there, or give an answer away: left, low,
right, high, as shares of its view."""
UNTOLD = {"wedge": re.compile(r"\s*[\d.,]+\sN\b"), "play": re.compile(r"^(?:Arrows|Pfeile): .*$")}
"""What is taken out of the texts of a scene on paper: forces of the wedge answer a question, play is shown without any."""
OTHERS = ("kinds",)
"""Scenes that tell of other drives too."""
MIDWAY = 0.3
"""Where a take is stopped that has none of them."""
CAUTIONS = ("pinch", "eyes")
"""For whoever holds a model in the hand."""
INSTEAD = {"eyes": "steel_spring"}
"""Cautions that ask for more, where the drive has them."""
PICTURED_MORE = 1
"""Teeth that the ring of the scene ``fit`` has more than the flexible ring."""
OF_THE_DRIVE = ("sun", "falls_wind", "falls")
"""For whoever stands beside the drive, where its load has them."""


@dataclass(frozen=True)
class ClassSheet:
    """What the sheets of one class share. ``design``: what their drive is called; ``title``: the lesson's own, empty for the
    usual one; ``cautions`` for the class; ``wrong``: what is wrong with the class's drive."""

    design: str
    language: Language
    title: str = ""
    cautions: tuple[str, ...] = ()
    wrong: tuple[str, ...] = ()

    def say(self, key: str, **put: object) -> str:
        """A sentence of the hand-out's words."""
        return self.language.say(PART, key, **put)


def still_place(scene: Scene, take: Take) -> tuple[float, str]:
    """Where a take is stopped for a still, and what that place is called."""
    moments = {moment.name: moment for moment in take.score.moments}
    wanted = (BEST.get(scene.name, ""), *STILLS)
    chosen = next((moments[name] for name in wanted if name in moments), None)
    return (chosen.at, chosen.title) if chosen else (MIDWAY, "")


def still(scene: Scene) -> Figure | None:
    """A picture of a scene for paper; None where the scene shows nothing. Its readings are left out: they hold answers."""
    if not scene.takes or scene.name in UNSHOWN:
        return None
    take = scene.takes[0]
    at, title = still_place(scene, take)
    caption = ": ".join(text for text in (scene.title, title) if text)
    picture = _window(take.score.at(at), WINDOWS.get(scene.name, (0.0, 0.0, 1.0, 1.0)))
    if scene.name in UNTOLD:
        picture = replace(picture, items=_without(picture.items, UNTOLD[scene.name]))
    return Figure(picture, caption)


def _without(items: Sequence[Item], told: re.Pattern[str]) -> tuple[Item, ...]:
    """Items whose texts do not tell that."""
    done: list[Item] = []
    for item in items:
        if isinstance(item, Text):
            item = replace(item, text=told.sub("", item.text))
        elif isinstance(item, Group):
            item = replace(item, items=_without(item.items, told))
        done.append(item)
    return tuple(done)


def _window(picture: Picture, shares: tuple[float, float, float, float]) -> Picture:
    """A part of a picture, without the texts that begin outside it."""
    x0, y0, x1, y1 = picture.view
    left, low, right, high = shares
    view = (x0 + left * (x1 - x0), y0 + low * (y1 - y0), x0 + right * (x1 - x0), y0 + high * (y1 - y0))
    inside = tuple(
        item
        for item in picture.items
        if not isinstance(item, Text) or (view[0] <= item.at[0] <= view[2] and view[1] <= item.at[1] <= view[3])
    )
    return replace(picture, view=view, items=inside)


def figures(scenes: Sequence[Scene]) -> dict[str, Figure]:
    """Stills by the name of their scene."""
    found = {scene.name: still(scene) for scene in scenes}
    return {name: figure for name, figure in found.items() if figure is not None}


def _captioned(one: Exercise, variant: Variant, stills: Mapping[str, Figure], about: ClassSheet) -> Figure | None:
    """The figure beside an exercise; its caption tells where it shows another tooth difference than is asked about."""
    figure, more = stills.get(one.scene), variant.givens.wrong_difference
    if figure is None or one.scene != "fit" or more == PICTURED_MORE:
        return figure
    return replace(figure, caption=about.say("other_ring", caption=figure.caption, more=more))


def _numbered(number: int, one: Exercise) -> Heading:
    return Heading(f"{number}  {one.title}", 3)


def _head(variant: Variant, about: ClassSheet, heading: str, below: str = "") -> Iterator[Block]:
    yield Heading(heading, 1)
    yield Para(f"{below} · {about.design}" if below else about.design, quiet=True)
    if variant.student:
        yield Para(_student(variant, about), strong=True)
    yield from (Para(line) for line in drive_lines(variant, about.language))


def _student(variant: Variant, about: ClassSheet) -> str:
    """Whose sheet it is; students that were only counted are called by their numbers."""
    key = "variant_number" if variant.student.strip().isdecimal() else "variant"
    return about.say(key, student=variant.student)


def handout(variant: Variant, stills: Mapping[str, Figure], about: ClassSheet) -> tuple[Block, ...]:
    """The sheet that is handed out; ``stills`` by the names of scenes."""
    blocks: list[Block] = [*_head(variant, about, _title(about))]
    blocks.append(Table((about.say("name"), about.say("date")), (("", ""),), (2.0, 1.0)))
    blocks.append(Para(about.say("own" if variant.student else "class")))
    blocks.append(Para(about.say("mind"), quiet=True))
    wrong = [about.say("wrong_class", line=line) for line in about.wrong] if variant.student else about.wrong
    blocks += [Para(line, strong=True) for line in (*wrong, *about.cautions)]
    shown: set[str] = set()
    for number, one in enumerate(exercises(variant, about.language), 1):
        figure = None if one.scene in shown else _captioned(one, variant, stills, about)
        shown.add(one.scene)
        room = Room(3 if figure else 2, about.say("answer"), len(one.steps) + 1)
        asked = " ".join(part for part in (one.lead, one.question, one.digits) if part)
        guess = [Room(1, about.say("guess"), 1)] if one.guess else []
        blocks.append(Kept((_numbered(number, one), Para(asked), *guess, room), figure))
    blocks.append(Heading(terms.title(about.language), 2))
    blocks.append(Bullets(tuple(f"{word}: {means}" for word, means in terms.terms(about.language))))
    return tuple(blocks)


def answers(variant: Variant, about: ClassSheet) -> tuple[Block, ...]:
    """The sheet with answers and worked steps. What is often answered instead stands below, with the reason."""
    blocks: list[Block] = [*_head(variant, about, about.say("answers"), about.title)]
    for number, one in enumerate(exercises(variant, about.language), 1):
        answer = f"{about.say('answer')} {one.answer.words(about.language)}"
        steps = [Para(f"{k}) {step}") for k, step in enumerate(one.steps, 1)]
        often = next((slip for slip in one.slips if one.answer.apart(slip.answer)), None)
        below = []
        if often is not None:
            words = about.say("often", wrong=often.answer.words(about.language), why=often.why)
            below.append(Para(words, quiet=True))
        blocks.append(Kept((_numbered(number, one), Para(answer, strong=True), *steps, *below)))
    return tuple(blocks)


def wrong_lines(scenes: Sequence[Scene]) -> tuple[str, ...]:
    """What would go wrong with the class's own drive, each sentence once; other drives are not on this sheet."""
    return tuple(dict.fromkeys(line for scene in scenes if scene.name not in OTHERS for line in scene.wrong))


def usual_cautions(found: Assessment, language: Language) -> tuple[str, ...]:
    """Cautions for a class: what can burn or fall with this drive, then the hands at a model."""
    there = names(found)
    own = [name for name in there if name in OF_THE_DRIVE]
    hands = [INSTEAD[name] if INSTEAD.get(name) in there else name for name in CAUTIONS]
    return tuple(caution(name, language) for name in (*own, *hands))


def handout_pdf(variant: Variant, stills: Mapping[str, Figure], about: ClassSheet) -> bytes:
    """The hand-out as PDF. Raises PlatformFault without the PDF library."""
    return sheet_pdf(shared_out(handout(variant, stills, about)), _title(about), _foot(variant, about))


def answers_pdf(variant: Variant, about: ClassSheet) -> bytes:
    """The answer sheet as PDF. Raises PlatformFault without the PDF library."""
    return sheet_pdf(answers(variant, about), about.say("answers"), _foot(variant, about))


def _title(about: ClassSheet) -> str:
    return about.title or about.say("title")


def _foot(variant: Variant, about: ClassSheet) -> str:
    """What stands at the foot of every page."""
    return f"{about.design} · {_student(variant, about) if variant.student else about.say('whole_class')}"
