"""What a scene of a lesson is: one or more moving pictures of the same thing, words to them, and a question to begin with.

Scenes are made by pure functions ``scene(subject, language) -> Scene`` (modules ``scene_*.py``) from a design and what is
known of it. Whatever shows them (page, film, paper) takes every word from here.
"""

from __future__ import annotations

from dataclasses import dataclass

from lobewright.picture.score import Score


@dataclass(frozen=True)
class Choice:
    """An answer that may be chosen; ``why`` it is right, or what slip leads to it."""

    words: str
    right: bool
    why: str


@dataclass(frozen=True)
class Ask:
    """A question that is put before the picture moves; exactly one choice is right."""

    question: str
    choices: tuple[Choice, ...]


@dataclass(frozen=True)
class Listed:
    """What is written in a picture, to be read beside it where it is small; ``late`` what would answer the question."""

    title: str
    lines: tuple[str, ...]
    late: tuple[str, ...] = ()


@dataclass(frozen=True)
class Take:
    """One moving picture of a scene: another member held, another load, another tooth count. ``name`` for lesson files;
    ``title`` short enough to choose from on a telephone; ``lists`` where the picture itself has much text."""

    name: str
    title: str
    score: Score
    ask: Ask | None = None
    lists: tuple[Listed, ...] = ()
    intro: tuple[str, ...] = ()
    points: tuple[str, ...] = ()


@dataclass(frozen=True)
class Scene:
    """``name`` for lesson files and file names; ``intro`` what is said before it moves, ``points`` what is to be seen in it.

    ``wrong``: sentences of failed checks that belong here, said on the slide. ``cautions``: usual cautions that belong here.
    ``not_shown``: why there is no picture (then there is no take), as a sentence. A take that shows something else than the rest
    has an ``intro`` and ``points`` of its own.
    """

    name: str
    title: str
    intro: tuple[str, ...]
    takes: tuple[Take, ...]
    points: tuple[str, ...] = ()
    wrong: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    not_shown: str = ""

    def intro_of(self, take: Take) -> tuple[str, ...]:
        """What is said before a take moves."""
        return take.intro or self.intro

    def points_of(self, take: Take) -> tuple[str, ...]:
        """What is to be seen in a take."""
        return take.points or self.points
