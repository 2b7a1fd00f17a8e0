"""Parts put in their places: the assembly as data, before any solid is made.

Assembly coordinates: z runs along the drive's axis from the rear (input) to the front (output); z = 0 is the face of the rear
plate's stack on which the held rigid ring lies. x is to the right and y up when seen from the front; the drive stands on its
feet, its axis level.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from lobewright.make.bodies import Part
from lobewright.make.order import Side


class Member(StrEnum):
    """What a placed part moves with."""

    HELD = "held"
    GENERATOR = "generator"
    FLEXIBLE = "flexible"
    OUTPUT = "output"


@dataclass(frozen=True)
class Place:
    """Where a part stands: turned over first (half a turn about its x axis) if ``over``, then turned about z, then moved.

    A part of height h that is turned over lies between −h and 0 before it is moved.
    """

    x_mm: float = 0.0
    y_mm: float = 0.0
    z_mm: float = 0.0
    turn_rad: float = 0.0
    over: bool = False

    def of(self, x_mm: float, y_mm: float, z_mm: float) -> tuple[float, float, float]:
        """A point of the part in assembly coordinates."""
        if self.over:
            y_mm, z_mm = -y_mm, -z_mm
        c, s = math.cos(self.turn_rad), math.sin(self.turn_rad)
        return self.x_mm + c * x_mm - s * y_mm, self.y_mm + s * x_mm + c * y_mm, self.z_mm + z_mm


@dataclass(frozen=True)
class Placed:
    """One part, as often as it stands in the assembly. ``part.quantity`` equals the number of places."""

    part: Part
    places: tuple[Place, ...]
    member: Member
    step: int = 0
    """In which step of the assembly instructions it goes in: one of :class:`lobewright.make.order.Step`, 0 where none is told.

    Within a step what comes from one side goes in deepest first.
    """
    side: Side = Side.BY_PLACE
