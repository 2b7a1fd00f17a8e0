"""Assessment and loads in, strength and life out: what breaks or wears out first in the duty, and when."""

from __future__ import annotations

from dataclasses import dataclass

from lobewright.strength.course import CupProfile, StressCourse
from lobewright.strength.duty import Duty
from lobewright.strength.items import Item
from lobewright.strength.parked import Parked
from lobewright.strength.point import LifeMap, PointLife
from lobewright.verdict import Verdict


@dataclass(frozen=True)
class Life:
    """Strength and life of a drive. ``items``: every check, the weakest first, those not made last. ``duty``: None where the
    design names none; then nothing is graded. ``courses``: stress of the ring's critical places; ``points``: the same over the
    duty. ``profile``: along a cup; ``life_map``: life over torque and speed; ``parked``: what a standing ring does. What does
    not apply or could not be made is None and its reason stands among the items."""

    duty: Duty | None
    items: tuple[Item, ...]
    courses: tuple[StressCourse, ...]
    points: tuple[PointLife, ...]
    profile: CupProfile | None
    life_map: LifeMap | None
    parked: Parked | None
    verdicts: tuple[Verdict, ...]
