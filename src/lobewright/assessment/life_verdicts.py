"""Verdicts on strength and life: of every part the weakest check that could be made, in the shape of all verdicts."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from lobewright.strength.items import Item, LifeItem, NotMade, SafetyItem, Span
from lobewright.verdict import Bound, State, Verdict, Working, capital

LIFE = {"ring": ("ring_life", "Life of the flexible ring"), "bearing": ("bearing_life", "Life of the bearings")}
STRENGTH = {
    "ring": ("ring_strength", "Strength of the flexible ring"),
    "bearing": ("bearing_strength", "Static strength of the bearings"),
    "rigid": ("rigid_strength", "Strength of rigid rings, generator and bolts"),
}
WORDS = {
    True: ("outlasts the duty", "does not outlast the duty"),
    False: ("bears the largest load", "does not bear the largest load"),
}
"""What is said of a life (True) and of a strength that is enough and that is not."""
SET = "parked_set"
"""The item that is graded on its own."""
ENDLESS = 1000.0
"""Times the duty or the load above which a number is told as this and no more."""


def life_verdicts(items: Sequence[Item], no_duty: str = "") -> tuple[Verdict, ...]:
    """One verdict on the life and one on the strength of each part that has such a check.

    Fails where the middle of the band is below one time the duty (or the load), warns where its low end is. ``no_duty``: the
    sentence where the design names no duty; then nothing is graded.
    """
    return tuple(_verdicts(items, no_duty))


def _verdicts(items: Sequence[Item], no_duty: str) -> Iterator[Verdict]:
    """Lives first, then strengths, then what a standing ring does."""
    for part, (name, title) in LIFE.items():
        lives = [one for one in items if isinstance(one, LifeItem) and _part(one) == part]
        missed = [one for one in items if isinstance(one, NotMade) and _part(one) == part and one.of_life]
        yield from _verdict(name, title, lives, missed, no_duty)
    for part, (name, title) in STRENGTH.items():
        asked = [one for one in items if _part(one) == part and one.name != SET]
        safeties = [one for one in asked if isinstance(one, SafetyItem)]
        missed = [one for one in asked if isinstance(one, NotMade) and not one.of_life]
        yield from _verdict(name, title, safeties, missed, no_duty)
    for item in items:
        if item.name == SET:
            yield _standing(item)


def _standing(item: Item) -> Verdict:
    """What a standing ring does: warns at most, for a set goes again when the ring runs or lies free."""
    if not isinstance(item, SafetyItem):
        why = item.why if isinstance(item, NotMade) else ""
        return Verdict(SET, item.title, State.NOT_MADE, _opened(f"{why.rstrip('.')}."), Working("none", ""))
    state = State.PASS if item.safety.low >= 1.0 else State.WARN
    word = {
        State.PASS: "so long bent it keeps less of the bend than is felt for long",
        State.WARN: "so long bent it may keep so much of the bend that it turns unevenly until the set has gone: turn the "
        "generator on now and then, store the ring without it",
        State.FAIL: "",
    }[state]
    remark = f"; {item.remark.rstrip('.')}" if item.remark else ""
    return Verdict(
        SET,
        item.title,
        state,
        capital(f"{word}{remark}."),
        item.working,
        item.unit,
        item.load,
        item.strength,
        Bound.AT_MOST,
    )


def _opened(sentence: str) -> str:
    """With a capital, unless it begins with a key of the design file."""
    first = sentence.split(" ", 1)[0].rstrip(":")
    return sentence if "_" in first or "." in first.rstrip(".") else capital(sentence)


def _part(item: Item) -> str:
    return "ring" if item.part == "belt" else item.part


def _verdict(
    name: str, title: str, made: Sequence[LifeItem | SafetyItem], missed: Sequence[NotMade], no_duty: str
) -> Iterator[Verdict]:
    reasons = "; ".join(dict.fromkeys(one.why.rstrip(".") for one in missed))
    if no_duty or not made:
        if no_duty or reasons:
            yield Verdict(name, title, State.NOT_MADE, _opened(f"{no_duty or reasons}."), Working("none", ""))
        return
    weakest = min(made, key=lambda one: (one.band.low, one.band.middle))
    band = weakest.band
    state = State.FAIL if band.middle < 1.0 else State.WARN if band.low < 1.0 else State.PASS
    unit = "times the duty" if isinstance(weakest, LifeItem) else "times the load"
    capped = ", or more" if band.middle > ENDLESS else ""
    does, does_not = WORDS[isinstance(weakest, LifeItem)]
    word = {
        State.PASS: f"even at the low end of its band it {does}",
        State.WARN: f"at the middle of its band it {does}, at the low end it does not",
        State.FAIL: f"at the middle of its band it {does_not}",
    }[state]
    remark = f"; {weakest.remark.rstrip('.')}" if weakest.remark else ""
    also = f"; not made: {reasons}" if reasons else ""
    yield Verdict(
        name,
        title,
        state,
        capital(f"weakest: {weakest.title} ({_numbers(band)} {unit}{remark}). {capital(word)}{also}."),
        weakest.working,
        f"{unit}{capped}",
        min(band.middle, ENDLESS),
        1.0,
    )


def _numbers(band: Span) -> str:
    """The band, or its low end where that says all."""
    if band.low >= ENDLESS:
        return _number(band.low)
    return f"{_number(band.low)} … {_number(band.middle)} … {_number(band.high)}"


def _number(value: float) -> str:
    if math.isinf(value) or value >= ENDLESS:
        return "endless" if math.isinf(value) else "over 1000"
    return f"{value:.2g}" if value < 100.0 else f"{value:.0f}"
