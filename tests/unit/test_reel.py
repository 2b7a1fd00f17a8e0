"""When what is seen and said on a film."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise

import pytest

from lobewright.picture.score import Figure, Moment, Reading, Said, Score, Words, course
from lobewright.teach import reel as reels
from lobewright.teach.document import markdown
from lobewright.teach.language import Language
from lobewright.teach.reel import LAST_SECONDS, QUESTION_SECONDS, Reel, chosen, places, reel, text_alternative, webvtt
from lobewright.teach.scene import Ask, Choice, Scene, Take
from lobewright.teach.shot_list import shot_list

ASK = Ask("Which way?", (Choice("left", True, "so"), Choice("right", False, "no")))


def film(
    said: tuple[Said, ...] = (), ask: Ask | None = None, stops: tuple[str, ...] = (), seconds: float = 10.0
) -> Reel:
    moments = (Moment("third", 0.25, "Third tooth"), Moment("whole", 1.0, "Once round"))
    score = Score(
        (0.0, 0.0, 16.0, 9.0),
        (),
        "t",
        "Seen.",
        seconds,
        {},
        readings=(Reading("a", "A", Words("1 < 2")),),
        said=said,
        moments=moments,
    )
    return reel(Scene("one", "One", (), (), wrong=("It would break.",)), Take("take", "Take", score, ask), stops, 3.0)


def test_a_film_stands_still_at_its_stops_and_nowhere_else_but_at_its_end() -> None:
    one = film(stops=("third",))
    assert one.seconds == 10.0 + 3.0 + LAST_SECONDS
    assert one.frames(60) == 840
    assert [one.u(at) for at in (0.0, 1.0, 2.5, 4.0, 5.5, 6.5, 13.0, 14.0)] == pytest.approx(
        [0, 0.1, 0.25, 0.25, 0.25, 0.35, 1, 1]
    )
    for u in (0.0, 0.1, 0.25, 0.9, 1.0):
        assert one.u(one.time(u)) == pytest.approx(u)
    assert one.time(0.25) == 2.5, "what is said at a stop is said when it is reached"


def test_the_question_comes_before_anything_moves() -> None:
    one = film(ask=ASK, said=(Said(0.0, "It goes left."),))
    assert one.u(QUESTION_SECONDS) == 0.0 and one.u(QUESTION_SECONDS + 1.0) == pytest.approx(0.1)
    assert one.caption(QUESTION_SECONDS - 0.1) == "Which way?"
    assert one.caption(QUESTION_SECONDS + 0.1) == "It goes left."


def test_what_answers_the_question_is_not_told_before_it() -> None:
    steady, moving = (
        Reading("ratio", "Ratio", Words("50 : 1")),
        Reading("a", "A", Words("{0}°", (Figure(course(slope=7)),))),
    )
    for ask, there in ((ASK, False), (None, True)):
        one = film(ask=ask, said=(Said(0.0, "Look."),))
        take = replace(one.take, score=replace(one.score, readings=(steady, moving)))
        text = text_alternative(replace(one, take=take), Scene("one", "One", (), (take,)), Language("en"))
        assert f"Before it moves: {'Ratio: 50 : 1; ' if there else ''}A: 0°" in text
        assert "Once round: Ratio: 50 : 1; A: 7°" in text
        rows = markdown(shot_list((Scene("one", "One", (), (take,)),), "belt", (), Language("en"))).splitlines()
        (first,) = [row for row in rows if row.startswith("| 0.0 s")]
        (last,) = [row for row in rows if row.startswith("| 10.0 s")]
        assert ("Ratio 50 : 1" in first) == there and "A 0°" in first and "Ratio 50 : 1" in last
        assert replace(one, take=take).asks(0.0) is not there and not replace(one, take=take).asks(QUESTION_SECONDS)


def test_every_sentence_is_there_long_enough_to_be_read() -> None:
    said = (
        Said(0.0, "A sentence that takes time."),
        Said(0.01, "Short."),
        Said(0.02, "The next one, which is longer."),
        Said(0.999, "z" * 80),
    )
    one = film(said=said, ask=ASK, stops=("third",))
    cues = re.findall(r"(\d\d):(\d\d):(\d\d\.\d{3}) --> (\d\d):(\d\d):(\d\d\.\d{3})\n(.+)\n", webvtt(one))
    assert [cue[6] for cue in cues] == ["Which way?", *(sentence.words for sentence in said)]
    clock = [
        (int(h) * 3600 + int(m) * 60 + float(s), int(h2) * 3600 + int(m2) * 60 + float(s2))
        for h, m, s, h2, m2, s2, _ in cues
    ]
    assert clock[0][0] == 0.0 and clock[-1][1] == pytest.approx(one.seconds, abs=1e-3)
    for (_, end), (begin, _) in pairwise(clock):
        assert begin == end
    for (begin, end), cue in zip(clock[1:], cues[1:], strict=True):
        assert end - begin >= max(reels.LEAST_READ_SECONDS, len(cue[6]) / reels.LETTERS_A_SECOND) - 2e-3
        assert one.caption((begin + end) / 2) == cue[6], "captions on the film and beside it say the same"


def test_captions_escape_what_would_be_a_mark() -> None:
    assert "a &lt;b&gt; &amp; c" in webvtt(film(said=(Said(0.0, "a <b> & c"),)))


def test_places_have_names_once_and_text_stands_for_the_film() -> None:
    one = film(said=(Said(0.0, "It goes left."),))
    assert places(one.take) == {"start": 0.0, "end": 1.0, "third": 0.25, "whole": 1.0}
    assert chosen(one.take) == ("start", "third", "whole")
    told = text_alternative(
        one, Scene("one", "One", ("Look.",), (), ("A point.",), ("It would break.",), ("Fingers.",)), Language("de")
    )
    for words in (
        "Look.",
        "Seen.",
        "0,0 s  It goes left.",
        "Third tooth: A: 1 < 2",
        "A point.",
        "It would break.",
        "Fingers.",
    ):
        assert words in told
    with pytest.raises(KeyError):
        film(stops=("fourth",))
