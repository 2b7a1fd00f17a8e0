"""Bearing seats that hold by thin ribs: the seat is a little wide, and ribs that stand into it give way as the bearing goes in.

A plain seat needs the printer to meet a diameter within a few hundredths; ribs ask for much less, since only they are
squeezed. Number, width and heights are common practice for a home workshop, no source.
"""

from __future__ import annotations

import math

import numpy as np

from lobewright.errors import DesignFault, Fault
from lobewright.make.bodies import Feature, Loop, exact
from lobewright.make.outlines import Contour, bulge_of, circle

RIBS = 6
RIB_WIDTH_MM = 1.0
"""At the foot; two beads of a usual nozzle bulge that far."""
RIB_HEIGHT_MM = 0.15
"""From the wall of the seat to the rib's crest."""
OPENED_MM = 0.1
"""By how much the wall stands back from the bearing, each side; the crests so reach 0.05 mm into it."""
LEAST_DIAMETER_MM = 6.0
"""Below it, six ribs leave no wall between them worth the name."""


def seat(diameter_mm: float, crush_ribs: bool, x_mm: float = 0.0, y_mm: float = 0.0) -> Loop:
    """Outline of a bearing's seat round ``x_mm``, ``y_mm``: a plain circle, or a wider one with ribs round it.

    The area that the loop states comes from sampled points, as of every outline. Raises DesignFault for a ribbed seat below
    ``LEAST_DIAMETER_MM``.
    """
    if not crush_ribs:
        return exact(circle(diameter_mm / 2, x_mm, y_mm), Feature.SEAT)
    if diameter_mm < LEAST_DIAMETER_MM:
        what, value = "a bearing seat is too small for crush ribs", f"ø{diameter_mm:g} mm"
        allowed = f"at least ø{LEAST_DIAMETER_MM:g} mm, or assembly.crush_ribs = false"
        raise DesignFault([Fault(what, "assembly.crush_ribs", value=value, allowed=allowed)])
    wall = diameter_mm / 2 + OPENED_MM
    half = math.asin(RIB_WIDTH_MM / 2 / wall)
    step = 2 * math.pi / RIBS
    angles = np.array([k * step + sign * half for k in range(RIBS) for sign in (-1, 1)])
    # Sagitta over half the chord is the bulge; the crest lies inside, to the left of an anticlockwise outline.
    crest = -(wall * math.cos(half) - (wall - RIB_HEIGHT_MM)) / (RIB_WIDTH_MM / 2)
    bulges = np.tile([crest, bulge_of(step - 2 * half)], RIBS)
    points = np.column_stack((x_mm + wall * np.cos(angles), y_mm + wall * np.sin(angles)))
    return exact(Contour(points, bulges), Feature.SEAT)
