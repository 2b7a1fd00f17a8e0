"""Standard sizes that the frame is built with and the catalogue does not hold: washers, the flange of what is driven, nut traps.

The rows were read on public pages without a named author that retell the standards, so they count as remembered.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from lobewright.design import catalogue
from lobewright.make.bodies import Feature, Loop, Part, exact
from lobewright.make.bought import bought, hexagon, tube, usual_length_mm

WASHERS_MM = {"M3": (3.2, 7.0, 0.5), "M4": (4.3, 9.0, 0.8), "M5": (5.3, 10.0, 1.0), "M8": (8.4, 16.0, 1.6)}
"""Plain washers, ISO 7089: inside and outside diameter, thickness."""
NUT_PLAY_MM = 0.2
"""Across the flats of a nut trap."""
THREAD_END_MM = 0.5
"""A screw stands out of its nut by this at least."""
LONG_STEP_MM = 10.0


@dataclass(frozen=True)
class Flange:
    """A circular plate for what is driven: outside and bolt circle diameters, mm, and its bolts."""

    outside_mm: float
    circle_mm: float
    bolts: int
    bolt: str

    @property
    def designation(self) -> str:
        return f"ISO 9409-1-{self.circle_mm:g}-{self.bolts}-{self.bolt}"


FLANGES = (Flange(50.0, 40.0, 4, "M6"), Flange(63.0, 50.0, 4, "M6"), Flange(80.0, 63.0, 6, "M6"))
"""ISO 9409-1: outside diameters and bolt circles; its centring recess is not made."""


def nut_trap(bolt: catalogue.Bolt, x_mm: float, y_mm: float) -> Loop:
    """Outline of a pocket for a hexagon nut, two flats square to the way to the axis: the least that it takes of a rim."""
    turn = math.atan2(y_mm, x_mm) + math.pi / 2
    return exact(hexagon(bolt.nut_across_flats_mm + NUT_PLAY_MM, x_mm, y_mm, turn), Feature.NUT)


def trap_depth_mm(bolt: catalogue.Bolt) -> float:
    """Depth at which a nut sits flush."""
    return bolt.nut_height_mm + NUT_PLAY_MM


def screw_length_mm(bolt: catalogue.Bolt, grip_mm: float) -> float:
    """The shortest usual length that clamps ``grip_mm`` and fills a nut; steps of 10 mm beyond the table."""
    least = grip_mm + bolt.nut_height_mm + THREAD_END_MM
    return usual_length_mm(least) or LONG_STEP_MM * math.ceil(least / LONG_STEP_MM)


def more_for_usual_mm(room_mm: float) -> float:
    """What to add to a room so that a screw of a usual length, which may not stand out of it, fills it to 0.2 mm."""
    least = room_mm - NUT_PLAY_MM
    return (usual_length_mm(least) or LONG_STEP_MM * math.ceil(least / LONG_STEP_MM - 1e-9)) - least


def nut_reach_mm(bolt: catalogue.Bolt, grip_mm: float) -> float:
    """How far the end of a screw with its nut stands out of what is clamped."""
    return screw_length_mm(bolt, grip_mm) - grip_mm


def washer_part(size: str, quantity: int, name: str, words: str = "plain washer") -> Part:
    """A plain washer lying on z = 0."""
    inside, outside, thick = WASHERS_MM[size]
    return bought(name, words, quantity, tube(outside, inside, thick), f"ISO 7089 {size[1:]}")
