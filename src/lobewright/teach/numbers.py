"""Exact numbers of exercises and how they are written: rounded as on paper (halves away from zero), with their unit."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from lobewright.teach.language import Language, grouped

MOST_PLACES = 6
"""Decimals that nobody writes more of."""


def on_paper(value: Fraction, places: int) -> Fraction:
    """A number rounded to ``places`` decimals, halves away from zero, as people do it."""
    scale = 10**places
    top, bottom = value.numerator, value.denominator
    units = (2 * abs(top) * scale + bottom) // (2 * bottom)
    return Fraction(units if top >= 0 else -units, scale)


@dataclass(frozen=True)
class Quantity:
    """A number with its unit; ``sign``: its direction counts, so a plus is written too. ``unit``: text behind the number."""

    value: Fraction
    unit: str = ""
    places: int = 0
    sign: bool = False

    @cached_property
    def written(self) -> Fraction:
        """The number as it stands on paper."""
        return on_paper(self.value, self.places)

    def words(self, language: Language) -> str:
        return words_of(self.value, self.places, language, self.sign) + self.unit

    @cached_property
    def exact(self) -> bool:
        return self.value == self.written

    def apart(self, other: Quantity) -> bool:
        """Whether both are told apart by anyone who rounds: by one unit of the last place where both are exact, else by two,
        and neither is a small number that is written as nothing."""
        least = 1 if self.exact and other.exact else 2
        vanished = any(one.value and not one.written for one in (self, other))
        return not vanished and abs(self.written - other.written) >= Fraction(least, 10**self.places)


def words_of(value: Fraction | float, places: int, language: Language, sign: bool = False) -> str:
    """A number rounded as on paper, in the marks of the language. What is no exact fraction is rounded by the language itself."""
    if isinstance(value, float):
        return language.number(value, places, sign)
    return language.number(float(on_paper(Fraction(value), places)), places, sign)


def short(value: Fraction | float, language: Language, most: int = 3, sign: bool = False) -> str:
    """A number with no more places than it needs, at most ``most``."""
    exact = Fraction(value)
    places = next((n for n in range(most) if (exact * 10**n).denominator == 1), most)
    return words_of(value, places, language, sign)


def quotient(value: Fraction, language: Language) -> str:
    """A number as a fraction of whole numbers, as it is written in one line."""
    minus = language.marks.minus if value < 0 else ""
    size = abs(value)
    top, under = grouped(f"{size.numerator}"), grouped(f"{size.denominator}")
    return f"{minus}{top}" if size.denominator == 1 else f"{minus}{top}/{under}"


def divisor(value: Fraction, language: Language) -> str:
    """A number as it stands under a stroke in one line: a fraction in brackets."""
    words = quotient(value, language)
    return words if value.denominator == 1 else f"({words})"


def places_for(value: Fraction, least: int) -> int:
    """Decimals that show three figures of a number, no fewer than ``least``."""
    places = least
    while value and abs(value) * 10**places < 100 and places < MOST_PLACES:
        places += 1
    return places


def places_that_keep(part: Fraction, known: Fraction, total: Quantity, least: int) -> int:
    """Decimals, no fewer than ``least``, to write ``part`` with, so that ``known`` and it give the total as it is written: their
    sum, or their difference where the total is that."""
    sign = 1 if total.value == known + part else -1
    places = least
    while on_paper(abs(known + sign * on_paper(part, places)), total.places) != total.written:
        places += 1
    return places


def ratio_places(ratio: Fraction) -> int:
    """Decimals that a ratio is written with: none for a whole number, else as many as show its size."""
    return 0 if ratio.denominator == 1 else 2 if abs(ratio) >= 2 else 4
