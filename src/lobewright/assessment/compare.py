"""What changed between two designs, headline number by headline number."""

from __future__ import annotations

from dataclasses import dataclass

from lobewright.assessment.headline import Headline, headlines
from lobewright.assessment.results import Assessment
from lobewright.verdict import State


@dataclass(frozen=True)
class Change:
    """One headline number in both designs (None where a design has no such number)."""

    key: str
    title: str
    unit: str
    digits: int
    first: float | None
    second: float | None

    @property
    def difference(self) -> float | None:
        return None if self.first is None or self.second is None else self.second - self.first


@dataclass(frozen=True)
class VerdictChange:
    """A verdict whose state differs (None where a design has no such verdict)."""

    name: str
    first: State | None
    second: State | None


@dataclass(frozen=True)
class Comparison:
    numbers: tuple[Change, ...]
    verdicts: tuple[VerdictChange, ...]


def compare(first: Assessment, second: Assessment) -> Comparison:
    """Every headline number of either design side by side, and the verdicts that changed."""
    left = {row.key: row for row in headlines(first)}
    right = {row.key: row for row in headlines(second)}
    numbers = []
    for key in dict.fromkeys((*left, *right)):
        row: Headline = left.get(key) or right[key]
        a, b = left.get(key), right.get(key)
        numbers.append(Change(key, row.title, row.unit, row.digits, a.value if a else None, b.value if b else None))
    states = [{v.name: v.state for v in found.verdicts} for found in (first, second)]
    verdicts = [
        VerdictChange(name, states[0].get(name), states[1].get(name))
        for name in dict.fromkeys((*states[0], *states[1]))
        if states[0].get(name) != states[1].get(name)
    ]
    return Comparison(tuple(numbers), tuple(verdicts))
