"""What is on a film, and when: a take of a scene with its stops; captions and a text that stands for the picture.

A film runs the take's u from 0 to 1 in the seconds that its score tells, stands still at chosen places, begins with the take's
question where it has one, stands where a sentence could not be read in time, and a moment at its end.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

from lobewright.picture.score import Moment, Reading, Score
from lobewright.teach.language import Language
from lobewright.teach.scene import Scene, Take

QUESTION_SECONDS = 4.0
"""A question of a line or two is read in that time, and there is a breath to guess."""
LAST_SECONDS = 1.0
STOP_SECONDS = 2.0
LETTERS_A_SECOND, LEAST_READ_SECONDS = 16.0, 1.5
"""How fast captions are read by people of 14 and more; common practice of subtitles."""
START, END = "start", "end"
"""Moments that every take has: before it moves, and when it has come to its end."""
PART = "film"


def places(take: Take) -> dict[str, float]:
    """Every named place of a take, by name: its moments, and where it starts and ends."""
    return {START: 0.0, END: 1.0} | {moment.name: moment.at for moment in take.score.moments}


def chosen(take: Take) -> tuple[str, ...]:
    """Names of the places of a take in order, each place once; its own moments before its start and end."""
    own = {one.at: one.name for one in reversed(take.score.moments)}
    return tuple(name for _, name in sorted(({0.0: START, 1.0: END} | own).items()))


def moment(take: Take, name: str, language: Language) -> Moment:
    """A named place of a take with its title. Raises KeyError for a name that :func:`places` does not have."""
    own = {one.name: one for one in take.score.moments}
    return own.get(name) or Moment(name, places(take)[name], language.say(PART, name))


def _steady(reading: Reading) -> bool:
    """Whether it reads the same all the way, such as a ratio."""
    return not any(isinstance(one.of, Mapping) and {"s", "t"} & set(one.of) for one in reading.shown.numbers)


def told_readings(take: Take, u: float) -> tuple[Reading, ...]:
    """Readings that are told at a place: at the start of a take that asks a question none that would answer it beforehand."""
    readings = take.score.readings
    return tuple(one for one in readings if not _steady(one)) if take.ask and u == 0.0 else readings


@dataclass(frozen=True)
class Reel:
    """A film: ``title`` of its scene, a take, sentences of failed checks that are to be read on it, and places (u, rising)
    where it stands still for ``stop_seconds`` each."""

    title: str
    take: Take
    wrong: tuple[str, ...] = ()
    stops: tuple[float, ...] = ()
    stop_seconds: float = STOP_SECONDS

    @property
    def score(self) -> Score:
        return self.take.score

    @property
    def stands(self) -> dict[float, float]:
        """Where it stands still, and for how many seconds: at its stops, at its end, and where a sentence would be gone before it
        can be read."""
        out = dict.fromkeys(self.stops, self.stop_seconds)
        out[1.0] = max(out.get(1.0, 0.0), LAST_SECONDS)
        said = sorted(self.score.said, key=lambda one: one.since)
        ends = [*(one.since for one in said), math.inf][1:]
        for one, end in zip(said, ends, strict=True):
            needed = max(len(one.words) / LETTERS_A_SECOND, LEAST_READ_SECONDS)
            there = (min(end, 1.0) - one.since) * self.score.seconds
            there += sum(seconds for at, seconds in out.items() if one.since <= at < end)
            if there < needed:
                out[one.since] = out.get(one.since, 0.0) + needed - there
        return out

    @cached_property
    def knots(self) -> tuple[tuple[float, float], ...]:
        """Pairs (seconds, u) between which u runs evenly; both never fall."""
        now, last = (QUESTION_SECONDS, 0.0) if self.take.ask else (0.0, 0.0)
        out = [(0.0, 0.0), (now, 0.0)] if self.take.ask else [(0.0, 0.0)]
        for stop, seconds in sorted(self.stands.items()):
            if stop > last:
                now += (stop - last) * self.score.seconds
                out.append((now, stop))
            now, last = now + seconds, stop
            out.append((now, stop))
        return tuple(out)

    @property
    def seconds(self) -> float:
        """How long it is."""
        return self.knots[-1][0]

    def frames(self, rate: int) -> int:
        """How many pictures it has at ``rate`` pictures a second."""
        return max(1, round(self.seconds * rate))

    def u(self, seconds: float) -> float:
        """Where the take stands at a time from the beginning."""
        for (t0, u0), (t1, u1) in pairwise(self.knots):
            if seconds < t1:
                return u0 + (u1 - u0) * (seconds - t0) / (t1 - t0)
        return 1.0

    def time(self, u: float) -> float:
        """When the take comes to a place; to where it starts, when the question is over."""
        moving = self.knots[1:] if self.take.ask else self.knots
        for (t0, u0), (t1, u1) in pairwise(moving):
            if u <= u1:
                return t0 if u <= u0 else t0 + (t1 - t0) * (u - u0) / (u1 - u0)
        return self.seconds

    def asks(self, seconds: float) -> bool:
        """Whether the question stands at a time: then nothing is shown that answers it."""
        return self.take.ask is not None and seconds < QUESTION_SECONDS

    def caption(self, seconds: float) -> str:
        """What is said at a time: first the question, then the score's sentences."""
        if self.take.ask and self.asks(seconds):
            return self.take.ask.question
        return self.score.caption(self.u(seconds))


def reel(scene: Scene, take: Take, stops: Sequence[str] = (), stop_seconds: float = STOP_SECONDS) -> Reel:
    """The film of a take that stands still at named places. Raises KeyError for a name that the take does not have."""
    at = places(take)
    return Reel(scene.title, take, scene.wrong, tuple(sorted({at[name] for name in stops})), stop_seconds)


def _clock(seconds: float) -> str:
    whole = round(seconds * 1000)
    return f"{whole // 3600000:02d}:{whole // 60000 % 60:02d}:{whole // 1000 % 60:02d}.{whole % 1000:03d}"


def _spoken(film: Reel) -> list[tuple[float, float, str]]:
    """Beginning, end and words of everything said, in order."""
    begins = [(0.0, film.take.ask.question)] if film.take.ask else []
    begins += [(film.time(one.since), one.words) for one in film.score.said]
    ends = [at for at, _ in begins[1:]] + [film.seconds]
    return [(at, end, words) for (at, words), end in zip(begins, ends, strict=True) if end > at]


def webvtt(film: Reel) -> str:
    """Captions as a WebVTT file (W3C, WebVTT: The Web Video Text Tracks Format, 2019): times from the film's beginning."""
    lines = ["WEBVTT", ""]
    for at, end, words in _spoken(film):
        shown = words.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
        lines += [f"{_clock(at)} --> {_clock(end)}", shown, ""]
    return "\n".join(lines)


def _readings(film: Reel, u: float) -> list[str]:
    return [f"{one.title}: {film.score.told(one, u)}" for one in told_readings(film.take, u)]


def text_alternative(film: Reel, scene: Scene, language: Language) -> str:
    """The film as plain text, for those who do not see it: what is seen, what is said when, the figures at every moment."""
    score = film.score
    say = language.say
    lines = [scene.title, *([film.take.title] if film.take.title != scene.title else [])]
    lines += ["", *scene.intro_of(film.take), ""]
    lines += [*scene.wrong, ""] if scene.wrong else []
    lines += [score.description, "", say(PART, "said_head"), ""]
    lines += [f"{language.number(at, 1)} s  {words}" for at, _, words in _spoken(film)]
    if score.readings:
        lines += ["", say(PART, "figures_head"), ""]
        for one in (moment(film.take, name, language) for name in chosen(film.take)):
            told = _readings(film, one.at)
            lines += [f"{one.title}: " + "; ".join(told)] if told else []
    for head, sentences in (("points_head", scene.points_of(film.take)), ("cautions_head", scene.cautions)):
        if sentences:
            lines += ["", say(PART, head), "", *(f"- {one}" for one in sentences)]
    return "\n".join(lines) + "\n"
