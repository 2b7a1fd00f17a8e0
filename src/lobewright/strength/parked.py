"""What happens to a printed ring that stands still while it is bent: its stress relaxes and it takes a set."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lobewright.design import model as m
from lobewright.strength.creep import hold_for_set, modulus_share, set_after_hold
from lobewright.strength.items import Item, NotMade, SafetyItem, Span
from lobewright.strength.material import CreepLaw, StrengthData
from lobewright.strength.remark import Remark, joined
from lobewright.torque.results import sealed
from lobewright.units import ZERO_CELSIUS_K
from lobewright.verdict import Working, capital

Array = NDArray[np.float64]

MINUTE_H = 1.0 / 60.0
"""When the stress is counted from after bending, and the set after it is let go."""
DAY_H = 24.0
LASTING = 0.5
"""Set above which a ring counts as spoilt for now: a limit by custom, as for clamps and press fits of plastic that have lost
half of their grip. It bends unevenly until the set has gone; it does not break."""
FADED = 0.1
"""Set that is no longer felt."""
SET = ("parked_set", "Set of the ring after it has stood still")


@dataclass(frozen=True)
class Parked:
    """A ring held bent. ``hours`` (H,) rising; (H, 3) low, middle, high of the 90 % band: ``stress_left`` over the stress at one
    minute, ``set_share``: what of the deflection stays for now when it is let go. ``asked_hours``: how long the design says it
    stands. ``advice``: what to do, in one sentence. ``noted``: where the figures are weak, or beyond their evidence."""

    hours: Array
    stress_left: Array
    set_share: Array
    asked_hours: float
    advice: str
    noted: Remark

    @property
    def remark(self) -> str:
        """``noted`` in words."""
        return self.noted.words


def parked(design: m.Design, data: StrengthData) -> Parked | NotMade:
    """The ring of a design left standing, from one minute to the days that the design names, at least one day.

    The set is told one minute after the ring is let go. Bands come from the exponent of the creep law alone. Not made where the
    material has no creep law, the reason being its own (steel does not creep, nothing is in print), or may flow.
    Source: creep theory page.
    """
    law = data.creep
    part = "belt" if isinstance(design.flexible_ring, m.Belt) else "ring"
    if law is None:
        return NotMade(*SET, part, data.why_not("creep"))
    if law.exponent.high >= 1.0:
        warm = f"{data.temperature_k - ZERO_CELSIUS_K:.0f} °C".replace("-", "−")
        why = f"{data.words} may flow at {warm} (exponent of creep up to {law.exponent.high:.2g}): no law of creep holds so warm"
        return NotMade(*SET, part, why)
    asked = DAY_H * design.strength.parked_days
    hours = np.union1d(np.geomspace(MINUTE_H, max(asked, DAY_H), 25), [asked] if asked > MINUTE_H else [])
    exponent = law.exponent
    # the steeper the law, the less stress is left and the more it sets
    stress = [modulus_share(one, hours / MINUTE_H) for one in (exponent.high, exponent.middle, exponent.low)]
    return Parked(
        hours=sealed(hours),
        stress_left=sealed(np.column_stack(stress)),
        set_share=sealed(np.array([_set(law, float(held)) for held in hours])),
        asked_hours=asked,
        advice=_advice(design, law, asked or DAY_H),
        noted=joined(_beyond(law, asked), data.remark_on("creep")),
    )


def parked_items(design: m.Design, data: StrengthData) -> tuple[Item, ...]:
    """The set after the days that the design names, against half of the deflection; nothing where it names none.

    The limit is custom, no published one is known; a set goes again when the ring runs or lies free.
    """
    found = parked(design, data)
    if isinstance(found, NotMade):
        return (found,)
    if data.creep is None or found.asked_hours == 0.0:
        return ()
    low, middle, high = (100.0 * share for share in _set(data.creep, found.asked_hours))
    limit = 100.0 * LASTING
    safety = Span(*(limit / share if share > 0.0 else math.inf for share in (high, middle, low)))
    working = Working(
        "set = share of the deflection left a minute after release, by superposing the relaxing stress of J ~ t^n",
        f"n {data.creep.exponent.middle:.3g} ({data.creep.exponent.low:.3g} to {data.creep.exponent.high:.3g}), "
        f"{time_words(found.asked_hours)} bent; limit of {limit:.0f} % by custom: it passes again, nothing breaks",
        (*data.source_keys, "crawford_1998", "trade_practice"),
    )
    return (SafetyItem(*SET, "ring", safety, middle, limit, "%", working, found.noted),)


def time_words(hours: float) -> str:
    """A time in minutes, hours or days, to two figures."""
    for least, size, word in ((2.0 * DAY_H, DAY_H, "days"), (1.0, 1.0, "hours"), (0.0, MINUTE_H, "minutes")):
        if hours >= least:
            count = hours / size
            rounded = f"{count:.0f}" if count >= 100.0 else f"{count:.2g}"
            return f"{rounded} {word[:-1] if rounded == '1' else word}"
    raise ValueError(f"not a time: {hours!r}")


def _set(law: CreepLaw, held_h: float) -> tuple[float, float, float]:
    """Low, middle, high of the set a minute after a hold."""
    ends = law.exponent.low, law.exponent.middle, law.exponent.high
    low, middle, high = (set_after_hold(one, held_h, MINUTE_H) for one in ends)
    return low, middle, high


def _advice(design: m.Design, law: CreepLaw, standing_h: float) -> str:
    low, middle, high = (100.0 * share for share in _set(law, standing_h))
    told = f"{middle:.0f} % ({low:.0f} to {high:.0f} %) of its bend is left a minute after it is let go"
    stood = f"after {time_words(standing_h)} in one place {told}"
    # the cautious end of the law; every second turn the same way bends the ring against what has set
    stay = hold_for_set(law.exponent.high, LASTING) * MINUTE_H
    quarter = 90.0 / design.generator.lobes
    do = "it may stand so"
    if stay < standing_h:
        do = (
            f"turn the generator by {quarter:g}° (a quarter of the lobes' spacing), always the same way, at least every "
            f"{time_words(stay)}, or take it out and store the ring round"
        )
    rest = standing_h / hold_for_set(law.exponent.middle, FADED)
    fades = f"; what has set falls below {100.0 * FADED:.0f} % after {time_words(rest)} without bending"
    return capital(f"{stood}: {do}{fades if rest > MINUTE_H else ''}")


def _beyond(law: CreepLaw, asked_h: float) -> str:
    """What of the time asked for no test has seen."""
    found = []
    if asked_h > law.to_h:
        found.append(f"beyond the longest test of {time_words(law.to_h)}")
    if law.from_h > 2.0 * MINUTE_H:
        found.append(f"the time before {time_words(law.from_h)} is read back from later tests")
    return "; ".join(found)
