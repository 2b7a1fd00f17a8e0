"""Names of the parts beside the round drive, each with a line to its part."""

from __future__ import annotations

import math

from lobewright.motion import FLEXIBLE, GENERATOR
from lobewright.picture.palette import Role
from lobewright.picture.score import Data
from lobewright.teach import drawn, shown
from lobewright.teach.language import Language
from lobewright.teach.subject import Subject
from lobewright.verdict import capital

PART = "shown"
SIZE_PX = 15.0
LEFT, RIGHT, HIGH, LOW = -1.17, 1.24, 1.08, -1.13
"""Where names begin or end beside the drive, and how high they stand, in radii of what is drawn."""


def part_names(
    subject: Subject, language: Language, front: int, held: str, size_mm: float, rims: bool = True
) -> list[Data]:
    """Names in the four corners about a drive drawn by :func:`~lobewright.teach.drawn.round_drive` with rims. ``held``: a member
    of the design; ``size_mm``: radius of what is drawn; ``rims``: whether rings behind are there."""
    motion = subject.motion
    ring = motion.rings[front]
    body = 0.5 * (ring.root_radius_mm + ring.outer_radius_mm)
    rigid = [(front, body)] + [(i, drawn.RIM_MIDDLE * size_mm) for i in range(len(motion.rings)) if rims and i != front]
    hub = 0.1 * motion.shape.radius_mm
    spots = [(GENERATOR, -1, 1, hub), (FLEXIBLE, -1, -1, motion.shape.radius_mm)]
    spots += [(motion.rings[i].name, 1, up, far) for (i, far), up in zip(rigid, (1, -1), strict=False)]
    items: list[Data] = []
    for member, side, up, far in spots:
        name = shown.named(subject, language, member, "bare")
        text = language.say(PART, "part_held", name=name) if member == held else capital(name)
        y = (HIGH if up > 0 else LOW) * size_mm
        tail = (side * 0.98 * size_mm, y + (-0.04 if up > 0 else 0.09) * size_mm)
        head = (side * far * math.sqrt(0.5), up * far * math.sqrt(0.5))
        x, anchor = (LEFT, "start") if side < 0 else (RIGHT, "end")
        items.append(drawn.arrow([round(v, 3) for v in tail], [round(v, 3) for v in head], Role.INK, 1.2))
        items.append(drawn.words((x * size_mm, y), text, SIZE_PX, Role.INK, anchor=anchor, strong=True))
    return items


def behind(subject: Subject, language: Language, front: int) -> tuple[str, ...]:
    """A sentence about each ring that is drawn as a rim."""
    names = [ring.name for ring in subject.motion.rings]
    return tuple(
        language.say(
            PART,
            "point_rim",
            Behind=capital(shown.named(subject, language, name)),
            front=shown.named(subject, language, names[front]),
        )
        for name in names
        if name != names[front]
    )
