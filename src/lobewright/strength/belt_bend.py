"""How tightly a timing belt may be bent over its back: one limit for the quick check and for the check under torque.

As the flexible ring a belt is turned inside out: its teeth look outward, its back lies on the generator, so it bends as over an
idler on the back of an ordinary drive. For those larger radii are asked than for pulleys, on which the teeth look inward.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from lobewright.design import model as m
from lobewright.ring.geometry import belt_heights
from lobewright.strength.items import Span

BACK_BEND = 2.0
"""Radius of the cord on the smallest usual back idler over that on the smallest usual pulley: 1.6 to 2.6, middle 2.06, for the
six belts of the catalogue for which both are known."""
LIMIT_SPREAD = 1.3
"""Factor either way at 90 % of a smallest radius: scatter of those six, and between makes."""


@dataclass(frozen=True)
class SmallestBend:
    """Smallest usual radius of the cord in mm with the back inward, 90 % band.

    ``known``: an idler is in print for this belt, else the limit is told from its pulley by comparison. ``how`` says which of
    the two in words; ``source_key`` is where its number comes from.
    """

    radius_mm: Span
    known: bool
    how: str
    source_key: str


def smallest_bend(belt: m.Belt) -> SmallestBend | None:
    """What a belt may be bent to over its back; None where neither a smallest idler nor a smallest pulley is known.

    From the smallest flat back idler where one is in print, ``d/2 +`` depth of the back below the cord; else :data:`BACK_BEND`
    times the smallest pulley's pitch radius ``p·Z_min/2π``. Limits by custom, for thousands of hours at speed; they carry no
    count of bends. Raises CatalogueFault for an unknown belt.
    """
    profile, cord, height, total = belt_heights(belt)
    if profile.min_back_idler_mm is not None:
        radius, how, cell = (
            0.5 * profile.min_back_idler_mm + total - height - cord,
            "smallest flat idler",
            "min_back_idler_mm",
        )
    elif profile.min_pulley_teeth is not None:
        radius = BACK_BEND * profile.pitch_mm * profile.min_pulley_teeth / (2.0 * math.pi)
        how, cell = f"{BACK_BEND:g} times the smallest usual pulley's pitch radius", "min_pulley_teeth"
    else:
        return None
    span = Span(radius / LIMIT_SPREAD, radius, radius * LIMIT_SPREAD)
    return SmallestBend(span, profile.min_back_idler_mm is not None, how, profile.origin(cell).source.key)
