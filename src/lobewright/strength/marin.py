"""From the polished test piece to the metal part: surface and size (R. G. Budynas, J. K. Nisbett, 9th ed., 2011, table 6-2,
eqs. 6-19 and 6-20).

Loading: the ring's wall is bent, as the test piece is, and stresses of many directions enter as von Mises stresses, so the
factor of loading is 1. Printed parts have no such factors: their curves are of printed pieces.
"""

from __future__ import annotations

import numpy as np

from lobewright.design.model import Surface
from lobewright.strength.sn import SnCurve

SURFACE = {
    Surface.GROUND: (1.58, -0.085),
    Surface.MACHINED: (4.51, -0.265),
    Surface.ROLLED: (57.7, -0.718),
}
"""a and b of a·S_u^b, S_u in MPa; rolled is hot-rolled."""

SHORT_CYCLES, LONG_CYCLES = 1e3, 1e6
"""Below the first neither surface nor size counts, from the second on they count in full: the book's line runs from f·S_u at a
thousand cycles to the worked part's endurance at a million (eqs. 6-14 and 6-15)."""


def surface_factor(surface: Surface, ultimate_mpa: float) -> float:
    """What a finish leaves of the endurance of a polished piece, at most 1; a fit to tests with wide scatter."""
    a, b = SURFACE[surface]
    return min(1.0, a * ultimate_mpa**b)


def size_factor(wall_mm: float) -> float:
    """What the size leaves of the endurance of a test piece 7.62 mm thick, at most 1.

    The book gives it for round bars of 2.79 to 51 mm and says for other sections which round bar stresses as much material.
    For the endless strip of a ring it says nothing: the wall's thickness is taken for the diameter. Thinner than the test
    piece there would be a gain, which is not counted.
    """
    return min(1.0, (wall_mm / 7.62) ** -0.107)


def worked_curve(curve: SnCurve, surface: Surface, ultimate_mpa: float, wall_mm: float) -> SnCurve:
    """The curve of a worked metal part from that of the polished piece: both factors from a million cycles on, none of them
    at a thousand, in between in the proportion of the logarithms."""
    factor = surface_factor(surface, ultimate_mpa) * size_factor(wall_mm)
    share = np.clip(np.log(curve.cycles / SHORT_CYCLES) / np.log(LONG_CYCLES / SHORT_CYCLES), 0.0, 1.0)
    return SnCurve(
        curve.cycles, curve.amplitude_mpa * factor**share, curve.beyond_slope, curve.spread, curve.tested_to_cycles
    )
