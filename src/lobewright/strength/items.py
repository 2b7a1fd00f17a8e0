"""What a strength or life check answers: one shape for all of them, so that the weakest can be found among them."""

from __future__ import annotations

import math
from dataclasses import dataclass

from lobewright.strength.remark import NOTHING, Remark
from lobewright.verdict import Working


@dataclass(frozen=True)
class Span:
    """A number with its 90 % band, low ≤ middle ≤ high; ``math.inf`` where nothing bounds it. Raises ValueError otherwise."""

    low: float
    middle: float
    high: float

    def __post_init__(self) -> None:
        if math.isnan(self.low) or not self.low <= self.middle <= self.high:
            raise ValueError(f"not a band: {self.low:g} … {self.middle:g} … {self.high:g}")

    def scaled(self, factor: float) -> Span:
        """The band times a positive number."""
        return Span(factor * self.low, factor * self.middle, factor * self.high)


@dataclass(frozen=True)
class LifeItem:
    """How often one part bears the whole duty before it fails.

    ``duties``: life over the duty, 1 is just enough. ``asked``: what the duty asks of it, counted in ``counted`` ("bends",
    "turns of a roller"). ``part``: "ring", "bearing" or "belt". ``noted``: where the number is weak or lies outside every
    evidence, told in the same line as the number; empty where neither is so.
    """

    name: str
    title: str
    part: str
    duties: Span
    asked: float
    counted: str
    working: Working
    noted: Remark = NOTHING

    @property
    def band(self) -> Span:
        """What is compared with 1, as of every check that was made."""
        return self.duties

    @property
    def remark(self) -> str:
        """``noted`` in words."""
        return self.noted.words


@dataclass(frozen=True)
class SafetyItem:
    """One strength over one load: ``safety`` 1 is just enough. ``load`` and ``strength`` share ``unit``.

    ``part``: "ring", "bearing", "belt", "rigid" (rigid rings, generator, bolts). ``noted`` as for :class:`LifeItem`.
    """

    name: str
    title: str
    part: str
    safety: Span
    load: float
    strength: float
    unit: str
    working: Working
    noted: Remark = NOTHING

    @property
    def band(self) -> Span:
        """What is compared with 1, as of every check that was made."""
        return self.safety

    @property
    def remark(self) -> str:
        """``noted`` in words."""
        return self.noted.words


@dataclass(frozen=True)
class NotMade:
    """A check that could not be made, and why in one sentence; ``part`` as for the items. ``of_life``: it would have told a
    life, not a strength."""

    name: str
    title: str
    part: str
    why: str
    of_life: bool = False


Item = LifeItem | SafetyItem | NotMade
