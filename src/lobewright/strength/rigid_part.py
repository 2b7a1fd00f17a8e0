"""One check of a rigid part: a strength with its band over a load with its band."""

from __future__ import annotations

import math
from dataclasses import dataclass

from lobewright.strength.items import NotMade, SafetyItem, Span
from lobewright.strength.material import StrengthData
from lobewright.strength.remark import Remark, joined
from lobewright.torque.interval import Interval
from lobewright.verdict import Working

RIGID = "rigid"
STANDING_LOAD = "plastic gives way under a standing load long before it breaks: look at it again after some days"


def exactly(value: float) -> Span:
    """A number without a band of its own."""
    return Span(value, value, value)


def safety_span(strength: Span, load: Span) -> Span:
    """Strength over load, both positive, load 0 for a part that bears nothing (endless safety then).

    Both are read as log-normal and apart from each other: the 90 % ends lie the root of the summed squares of both half bands
    off the middle, in logarithms.
    """
    if load.middle == 0.0:
        return exactly(math.inf)
    middle = strength.middle / load.middle
    down = math.hypot(math.log(strength.middle / strength.low), math.log(load.high / load.middle))
    up = math.hypot(math.log(strength.high / strength.middle), math.log(load.middle / load.low))
    return Span(middle * math.exp(-down), middle, middle * math.exp(up))


@dataclass(frozen=True)
class Limit:
    """The stress that a part may bear once: where it yields, or breaks when that is not known; ``words`` with a place for it."""

    stress_mpa: Span
    words: str

    def told(self, material: str) -> str:
        """The limit in words."""
        return f"{material} {self.words.format(f'{self.stress_mpa.middle:.3g} MPa')}"


def limit_of(data: StrengthData) -> Limit | None:
    """Yield stress of a material, else its strength; None where neither is known."""
    for found, words in (
        (data.yield_mpa, "yields at {}"),
        (data.ultimate_mpa, "breaks at {}, where it yields is not known"),
    ):
        if found is not None:
            return Limit(span_of(found), words)
    return None


def span_of(found: Interval) -> Span:
    """The band of an interval."""
    return Span(found.low, found.middle, found.high)


@dataclass(frozen=True)
class Check:
    """What one check is called and how it came about; ``equation``, ``numbers`` and ``sources`` as in :class:`Working`."""

    name: str
    title: str
    equation: str
    numbers: str
    sources: tuple[str, ...]
    remark: Remark | str = ""

    def against(self, strength: Span, load: Span, words: str = "", unit: str = "MPa") -> SafetyItem:
        """The item; ``words``: what the strength is."""
        told = f"{self.numbers}; {words}" if words else self.numbers
        return SafetyItem(
            name=self.name,
            title=self.title,
            part=RIGID,
            safety=safety_span(strength, load),
            load=load.middle,
            strength=strength.middle,
            unit=unit,
            working=Working(self.equation, told, tuple(dict.fromkeys(self.sources))),
            noted=joined(self.remark),
        )

    def in_material(self, data: StrengthData, load_mpa: Span) -> SafetyItem | NotMade:
        """The item of a stress in a material; not made where the material's strength is not known."""
        limit = limit_of(data)
        if limit is None:
            return self.not_made(data.why_not("ultimate"))
        sourced = Check(
            self.name,
            self.title,
            self.equation,
            self.numbers,
            (*self.sources, *data.source_keys),
            joined(self.remark, data.remark_on("ultimate" if data.yield_mpa is None else "yield")),
        )
        return sourced.against(limit.stress_mpa, load_mpa, limit.told(data.words))

    def not_made(self, why: str) -> NotMade:
        """The check that could not be made."""
        return NotMade(self.name, self.title, RIGID, why)
