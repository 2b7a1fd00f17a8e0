"""What is said at a place of a take is what is read there: figures of captions held to the readings beside them."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from functools import cache

import pytest
from lesson_drives import EN, EXAMPLES, changed, example

from lobewright.motion import FLEXIBLE, GENERATOR
from lobewright.picture.score import Score
from lobewright.teach.scenes import SCENES
from lobewright.teach.subject import Subject

SCORED = ("racks", "wedge", "rolled", "count", "members", "fit")
UNDER_TORQUE = ("stress", "torque", "play")
"""Computed for seconds, so for one drive only."""
UNITS = "N·m|N/mm|MPa|µm|mm|N|%|°"
FIGURE = re.compile(rf"([−+]?\d+(?:\.\d+)?)\s?({UNITS})(?![\w·/])")
OF_THE_DRIVE = re.compile(
    r"\d+ µm of room|[\d.]+° of play(?: in place of [\d.]+°)?|(?<![\d.])1 N in|Of [\d.]+ N|The extremes, [^,]*,"
    r"|It let go at [\d.]+ N·m"
)
"""Figures that do not follow the picture: room, play, the push of 1 N, what there is without friction, extremes, what is past."""
COUNTS = {
    r"^Tooth (\d+) stands in space \1": "count",
    r"^(\d+) went by at the lobe": "count",
    r"has come ([\d.]+) back": "teeth",
    r"has gone on by ([\d.]+)": "teeth",
    r"the place is bent ([\d.]+) times": "bends",
    r"overlap by (\d+) µm": "worst",
    r"still (\d+) µm too deep": "worst",
}
"""Counts by what is said of them, and the reading that has them."""
AT = {"Half a turn of": ("generator", 180.0), "The ends meet": ("bent", 360.0), "One pitch on": ("turn", 1.0),
      "Turned by half a pitch": ("turn", 0.5), "One bend to and fro": ("bends", 1.0), "Halfway between": ("bends", 0.5),
      "No torque.": ("torque", 0.0), "After one turn": ("generator", 1.0)}  # fmt: skip
"""How sentences begin that name a place, the reading that tells it, and how much it reads there."""


DRIVES: dict[str, Callable[[], Subject]] = {name: lambda name=name: example(name) for name in EXAMPLES} | {
    "three lobes": lambda: changed("printed_cup-rollers", lobes=3),
    "unequal rings": lambda: changed("belt-rollers", more=4),
    "cup held": lambda: changed("printed_cup-rollers", fixed=FLEXIBLE, driven=GENERATOR, read="housing"),
}


def told(text: str) -> list[tuple[str, str]]:
    return [(value.lstrip("−+"), unit) for value, unit in FIGURE.findall(text)]


def number(score: Score, name: str, u: float) -> float:
    of = next(one for one in score.readings if one.name == name).shown.numbers[0].of
    return score.number(of, u)


def untrue(score: Score) -> list[str]:
    """Sentences that say a figure which is not read where they stand."""
    out = []
    for said in score.said:
        u, words = said.since, OF_THE_DRIVE.sub("", said.words)
        seen = [one for reading in score.readings for one in told(score.told(reading, u))]
        units = {unit for _, unit in seen}
        wrong = [one for one in told(words) if one[1] in units and one not in seen]
        shown = {one.name: score.words(one.shown, u) for one in score.readings}
        for pattern, name in COUNTS.items():
            if (found := re.search(pattern, said.words)) and name in shown:
                first = re.search(r"\d+(?:\.\d+)?", shown[name])
                if first is None or float(first[0]) != float(found[1]):
                    wrong.append((found[0], name))
        wrong += [
            (begins, name)
            for begins, (name, value) in AT.items()
            if said.words.startswith(begins) and name in shown and abs(number(score, name, u) - value) > 2e-3 * value
        ]
        if wrong:
            out.append(f"{u:.4f} {said.words!r}: {wrong} beside {shown}")
    return out


@cache
def scores(name: str, drive: str) -> tuple[Score, ...]:
    return tuple(take.score for take in SCENES[name](DRIVES[drive](), EN).takes)


@pytest.mark.parametrize(
    ("name", "drive"),
    [(name, drive) for name in SCORED for drive in DRIVES] + [(name, "elevation_printed") for name in UNDER_TORQUE],
)
def test_figures_of_captions_are_read_where_they_are_said(name: str, drive: str) -> None:
    """And sentences come one after the other, one at a place."""
    assert scores(name, drive)
    for score in scores(name, drive):
        at = [one.since for one in score.said]
        assert at == sorted(set(at)) and at[0] == 0.0
        assert untrue(score) == []


@pytest.mark.parametrize(
    ("name", "begins"),
    [
        ("racks", "From one lobe to the next: "),
        ("wedge", "25.2 mm in"),
        ("rolled", "The ends meet"),
        ("count", "102 went by"),
        ("count", "Half a turn"),
        ("members", "Driven: "),
        ("stress", "Halfway between"),
        ("stress", "In one turn"),
        ("fit", "At 0.25 pitches"),
        ("fit", "At 0.75 pitches"),
    ],
)
def test_a_sentence_that_stands_beside_its_moment_is_found(name: str, begins: str) -> None:
    """The same sentences said a little sooner are untrue: the comparison above can fail."""
    for score in scores(name, "elevation_printed"):
        if any(one.words.startswith(begins) for one in score.said):
            moved = tuple(
                replace(one, since=one.since - 0.04) if one.words.startswith(begins) else one for one in score.said
            )
            assert len(untrue(replace(score, said=moved))) == 1
            return
    raise AssertionError(f"nothing begins with {begins!r}")
