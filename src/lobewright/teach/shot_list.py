"""The shot list: what is filmed or shown in which order, how long, which figures are said, and the words to them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from lobewright.teach.document import Block, Bullets, Heading, Para, Table
from lobewright.teach.language import Language
from lobewright.teach.reel import told_readings
from lobewright.teach.scene import Scene, Take
from lobewright.verdict import capital

PART = "shots"
SPEECH_PER_SECOND = 2.3
"""Words a second of calm speech (common practice)."""
PAUSE_SECONDS = 4.0
"""After a question, for guesses (common practice)."""


def figures_at(take: Take, u: float) -> str:
    """What is read at a place of a take, in one line."""
    return "; ".join(f"{one.title} {take.score.told(one, u)}" for one in told_readings(take, u))


def spoken_seconds(text: str) -> float:
    """How long it takes to say a text calmly."""
    return len(text.split()) / SPEECH_PER_SECOND


def _rows(take: Take, language: Language) -> Iterator[tuple[str, ...]]:
    """Start, every moment, end: when, what is seen, figures to say, words."""
    score = take.score
    places = {0.0: language.say(PART, "start"), 1.0: language.say(PART, "end")}
    places |= {moment.at: moment.title for moment in score.moments}
    said = {one.since for one in score.said}
    for at in sorted({*places, *said}):
        words = score.caption(at) if at in said or at == 0.0 else ""
        yield (
            f"{language.number(at * score.seconds, 1)} s",
            places.get(at, "…"),
            figures_at(take, at),
            words,
        )


def _take(take: Take, language: Language) -> Iterator[Block]:
    score = take.score
    words = " ".join(one.words for one in score.said)
    needed = spoken_seconds(words)
    yield Heading(take.title or score.title, 3)
    yield from (Para(line) for line in take.intro)
    put_in = {"seconds": language.number(score.seconds, 0), "speech": language.number(needed, 0)}
    yield Para(language.say(PART, "longer" if needed > score.seconds else "length", **put_in))
    if take.ask:
        pause = language.number(PAUSE_SECONDS, 0)
        yield Para(language.say(PART, "ask", question=take.ask.question, pause=pause))
    heads = tuple(language.say(PART, key) for key in ("when", "seen", "figures", "words"))
    yield Table(heads, tuple(_rows(take, language)), (1.0, 2.0, 4.0, 5.0))
    if take.points:
        yield Bullets(take.points)


def shot_list(
    scenes: Sequence[Scene], design: str, cautions: Sequence[str], language: Language, title: str = ""
) -> tuple[Block, ...]:
    """All takes of all scenes in order; ``title``: the lesson's own."""
    heading = language.say(PART, "title_of", title=title) if title else language.say(PART, "title")
    blocks: list[Block] = [Heading(heading, 1), Para(design, quiet=True)]
    total = sum(take.score.seconds for scene in scenes for take in scene.takes)
    blocks.append(Para(language.say(PART, "total", minutes=language.number(total / 60, 1))))
    for number, scene in enumerate(scenes, 1):
        blocks.append(Heading(f"{number}. {scene.title}", 2))
        blocks += [Para(line) for line in scene.intro]
        blocks += [Para(capital(line), strong=True) for line in scene.wrong]
        if scene.not_shown:
            blocks.append(Para(language.say(PART, "not_shown", why=scene.not_shown)))
        for take in scene.takes:
            blocks += _take(take, language)
        if scene.points:
            blocks += [Para(language.say(PART, "points")), Bullets(scene.points)]
    return (*blocks, Heading(language.say(PART, "before"), 2), Bullets(tuple(cautions), boxes=True))
