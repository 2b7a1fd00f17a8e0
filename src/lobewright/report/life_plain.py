"""Strength and life in plain words: what gives first, and what the words of the tables mean."""

from __future__ import annotations

from collections.abc import Sequence

from lobewright.assessment.life import Life
from lobewright.assessment.life_verdicts import ENDLESS, SET
from lobewright.assessment.results import Assessment
from lobewright.report.life_numbers import GAP, band, few
from lobewright.strength.items import Item, LifeItem, NotMade, SafetyItem, Span
from lobewright.verdict import State, capital

TERMS = (
    ("Fatigue", "Fatigue: cracks that grow bend by bend, though no single bend breaks anything."),
    ("First cycle", "First cycle: whether it is bent for good the first time that it is bent."),
    ("across the layers", "Across the layers: pulled so that printed layers come apart."),
    ("S–N curve", "S–N curve: how many bends test pieces bore at each stress before they broke."),
    ("no S–N", "No S–N curve: break pieces of your own and name them as [[coupon]] in the workshop file."),
    ("remembered", "Remembered: a figure that was not read in a source; your own test pieces are better."),
    ("every test", "Beyond or outside every test: no test piece was bent so often; the curve is drawn on."),
    (
        "mm radius",
        "mm radius: the tightest that it is bent to, and the tightest that is usual; a larger radius is gentler.",
    ),
)
"""What stands in a row, and what is said of it."""
RING = ("ring", "belt")
SKIP = "skip_torque"
"""The verdict on the torque at which it skips."""


def lives_of(life: Life) -> list[LifeItem]:
    """Lives, the weakest first."""
    return [item for item in life.items if isinstance(item, LifeItem)]


def strengths_of(life: Life) -> list[SafetyItem]:
    """Strengths at the peak, the weakest first; the set of a standing ring is none and is told where parking is."""
    return [item for item in life.items if isinstance(item, SafetyItem) and item.name != SET]


def skips_first(a: Assessment) -> tuple[str, ...]:
    """That the drive may skip below the duty's peak, before anything told of strength and life; empty where it does not."""
    for verdict in a.verdicts:
        if verdict.name == SKIP and verdict.state is State.FAIL and None not in (verdict.value, verdict.limit):
            return (
                f"Skips before all that: the duty's peak is {verdict.limit:.3g} N·m, and at the low end of its band the drive "
                f"skips at {verdict.value:.3g} N·m. What is told below supposes that it holds: give it less to do, or change "
                "it, and ask again.",
            )
    return ()


def gives_first(life: Life) -> tuple[str, ...]:
    """What wears out and what breaks first, and how many checks are missing, in a sentence each."""
    told = []
    lives, strengths = lives_of(life)[:1], strengths_of(life)[:1]
    for item in lives:
        if item.duties.low >= ENDLESS:
            told.append(
                "Nothing that was checked wears out: even the low end of every band is over 1000 times the duty."
            )
            continue
        count = Span(*(item.asked * end for end in (item.duties.low, item.duties.middle, item.duties.high)))
        told.append(
            f"Wears out first: {item.title}, after {few(count.middle)} {item.counted} (90{GAP}% band {band(count)}); the duty "
            f"asks for {few(item.asked, 3)}. {_grade(item.duties, 'it lasts', 'it does not last')}"
        )
    for one in strengths:
        told.append(
            f"Closest to giving way at the peak: {one.title}, which bears {few(one.safety.middle, 3)} times its load "
            f"(90{GAP}% band {band(one.safety, 3)}). {_grade(one.safety, 'it holds', 'it does not hold')}"
        )
    if told:
        told += _missing(life)
    return tuple(told)


def _missing(life: Life) -> list[str]:
    """How many checks were not made, and whether the flexible ring's life is among them."""
    missing = [item for item in life.items if isinstance(item, NotMade)]
    if not missing:
        return []
    told = any(item.part in RING for item in lives_of(life))
    untold = not told and any(item.part in RING and item.of_life for item in missing)
    checks = "1 check was not made" if len(missing) == 1 else f"{len(missing)} checks were not made"
    among = ", the life of the flexible ring among them," if untold else ""
    return [f"{checks}{among} and may hide something weaker: see “Not made”."]


def reasons(items: Sequence[Item]) -> tuple[str, ...]:
    """What was not made and why, checks of one reason together."""
    found: dict[str, list[str]] = {}
    for item in items:
        if isinstance(item, NotMade):
            found.setdefault(item.why.rstrip("."), []).append(item.title)
    return tuple(f"{capital('; '.join(titles))}: {why}" for why, titles in found.items())


def _grade(times: Span, does: str, does_not: str) -> str:
    if times.middle < 1.0:
        return f"Most likely {does_not}."
    return f"Most likely {does}, but not surely." if times.low < 1.0 else f"Even at the low end {does}."


def curves_used(life: Life) -> tuple[str, ...]:
    """Where the S–N curves come from, each once; of two the longer where it only says more."""
    found = dict.fromkeys(f"S–N curve of {point.data.words}: {point.data.curve_words}" for point in life.points)
    return tuple(f"{one}." for one in found if not any(other.startswith(f"{one};") for other in found))


def words_used(items: Sequence[Item]) -> tuple[str, ...]:
    """What the words of these rows mean, each once."""
    rows = [f"{item.title}; {item.why if isinstance(item, NotMade) else item.remark}" for item in items]
    rows += [item.unit for item in items if isinstance(item, SafetyItem)]
    return tuple(said for word, said in TERMS if any(word in row for row in rows))
