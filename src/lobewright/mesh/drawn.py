"""Is a drawn outline one that can be worked with? Checks of teeth and tooth spaces that come from a file."""

from __future__ import annotations

import math

import numpy as np
import shapely

from lobewright.errors import DesignFault, Fault

Array = np.ndarray
LEAST_HEIGHT_MM = 0.05
END_SHARE = 0.25
"""How far the ends of a drawn tooth may lie off the land, as a share of the tooth's height."""


def check_tooth(points_mm: Array, land_mm: float, place: str) -> None:
    """Refuse a tooth outline (N, 2), left to right, that no tooth has. Raises DesignFault."""
    x, y = points_mm.T
    height = float(y.max()) - land_mm
    off = float(max(abs(y[0] - land_mm), abs(y[-1] - land_mm)))
    if height < LEAST_HEIGHT_MM:
        what, value = "the drawn tooth does not stand above the land between teeth", f"tip at {y.max():.3g} mm"
        allowed = (
            f"a tip {LEAST_HEIGHT_MM} mm or more above the land, which lies {land_mm:.3g} mm above the neutral line"
        )
    elif not shapely.LineString(points_mm).is_simple:
        what, value, allowed = (
            "the drawn outline crosses itself",
            f"{len(x)} points",
            "a line from root over tip to root",
        )
    elif x[0] > x.min() + 1e-9 or x[-1] < x.max() - 1e-9:
        what, value = (
            "the drawn outline reaches farther to the side than its ends",
            f"{x.min():.3g} to {x.max():.3g} mm",
        )
        allowed = f"ends that are outermost, now {x[0]:.3g} and {x[-1]:.3g} mm"
    elif off > END_SHARE * height:
        what, value = "the drawn outline does not begin and end at the root", f"{off:.3g} mm off"
        allowed = f"ends within {END_SHARE * height:.3g} mm of the land, {land_mm:.3g} mm above the neutral line"
    else:
        return
    raise DesignFault([Fault(what, place, 0, value, allowed)])


def check_space(points_mm: Array, ring_teeth: int, place: str) -> None:
    """Refuse a tooth space outline (N, 2), ring axis at 0, that no ring has. Raises DesignFault."""
    radius = np.hypot(*points_mm.T)
    angle = np.arctan2(points_mm[:, 1], points_mm[:, 0])
    pitch = 2 * math.pi / ring_teeth
    depth = float(radius.max() - max(radius[0], radius[-1]))
    if not shapely.LineString(points_mm).is_simple:
        what, value = "the drawn tooth space crosses itself", f"{len(radius)} points"
        allowed = "a line from tip corner over root to tip corner"
    elif np.abs(angle).max() >= pitch:
        what, value = (
            "the drawn tooth space is wider than its pitch",
            f"{math.degrees(np.abs(angle).max()):.3g}° off the x axis",
        )
        allowed = f"a space around the x axis of the ring, less than {math.degrees(pitch):.3g}° to either side"
    elif depth < LEAST_HEIGHT_MM or not (angle[0] < 0 < angle[-1] or angle[-1] < 0 < angle[0]):
        what, value = "the drawn tooth space has no depth or does not run across the x axis", f"{depth:.3g} mm deep"
        allowed = f"{LEAST_HEIGHT_MM} mm or more from tip corners to root, one corner on either side"
    else:
        return
    raise DesignFault([Fault(what, place, 0, value, allowed)])
