"""Evidence for sizes over and between pins: involute spur gears, for which handbooks print them.

The outline is that of the involute in closed form, drawn by points here; the model finds where the pin rests on those points.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from lobewright.published.case import CaseMaker, Room
from lobewright.published.model import Model
from lobewright.sources import Flag

Array = np.ndarray
EXAMPLES, WIRES = ("over_pins_examples", Flag.REMEMBERED), ("over_wires_table", Flag.REMEMBERED)
REASON = "half of the last printed digit, and a tenth of that for an outline of points"
ALLOWED = 5.5e-5
PRESSURE_RAD = math.radians(20.0)
POINTS = 3001
case = CaseMaker("over_pins", Room.PARTS)


def involute_space_mm(teeth: int, internal: bool) -> Array:
    """One tooth space of a gear of module 1, 20°, tooth as wide as the space on the pitch circle, as an open line (N, 2)."""
    pitch = teeth / 2
    base = pitch * math.cos(PRESSURE_RAD)
    low, high = (pitch - 0.9, pitch + 1.25) if internal else (pitch - 1.25, pitch + 1.0)
    radius = np.linspace(max(low, base), high, POINTS)
    angle = np.arccos(np.minimum(1.0, base / radius))
    turned = np.tan(angle) - angle - (math.tan(PRESSURE_RAD) - PRESSURE_RAD)
    half = math.pi / (2 * teeth) + (-turned if internal else turned)
    right = np.column_stack((radius * np.cos(half), -radius * np.sin(half)))
    if not internal:
        # Below the base circle the flank runs straight down to the root.
        foot = low * np.array([math.cos(half[0]), -math.sin(half[0])])
        right = np.vstack((foot, right))[::-1]
    return np.vstack((right, (right * (1.0, -1.0))[::-1]))


def _size(teeth: int, pin_mm: float, internal: bool = False) -> Callable[[Model], float]:
    def compute(model: Model) -> float:
        return float(model.pin_seat(involute_space_mm(teeth, internal), teeth, pin_mm, internal).size_mm)

    return compute


CASES = (
    case(
        "external", "20 teeth, pins of 1.7: size over them", "mm", EXAMPLES, (22.2941, ALLOWED), REASON, _size(20, 1.7)
    ),
    case(
        "internal",
        "40 internal teeth, pins of 1.7: size between them",
        "mm",
        EXAMPLES,
        (37.5951, ALLOWED),
        REASON,
        _size(40, 1.7, True),
    ),
    *(
        case(
            f"wires_{teeth}",
            f"{teeth} teeth, wires of 1.728: size over them",
            "modules",
            WIRES,
            (printed, ALLOWED),
            REASON,
            _size(teeth, 1.728),
        )
        for teeth, printed in ((7, 9.1260), (8, 10.3271), (11, 13.2332), (15, 17.2871), (20, 22.3900))
    ),
)
