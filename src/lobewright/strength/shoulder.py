"""Stress at the fillet of a step in a wall that is bent."""

from __future__ import annotations

import math

from lobewright.errors import DesignFault, Fault

LEAST, MOST = 0.1, 20.0
"""Step over fillet radius between which the chart is fitted."""


def shoulder_factor(wall_mm: float, step_mm: float, radius_mm: float) -> float:
    """Peak stress at the fillet over the bending stress of the thinner wall.

    ``step_mm``: by how much the wall grows on the side looked at. Fit to the chart of a square shoulder on both sides of a
    flat bar; below and above its range the ratio of step to radius is that of its end. Raises DesignFault for a length that
    is not positive. Source: Young and Budynas, table 17.1 (read on a page that tells it again).

    >>> round(shoulder_factor(10.0, 5.0, 2.0), 3)
    1.537
    """
    for name, value in (("wall_mm", wall_mm), ("step_mm", step_mm), ("radius_mm", radius_mm)):
        if not value > 0.0:
            raise DesignFault([Fault("a shoulder needs its lengths", name, 0, f"{value:g} mm", "above 0 mm")])
    ratio = min(max(step_mm / radius_mm, LEAST), MOST)
    root = math.sqrt(ratio)
    if ratio <= 2.0:
        terms = (
            1.007 + 1.000 * root - 0.031 * ratio,
            -0.270 - 2.404 * root + 0.749 * ratio,
            0.677 + 1.133 * root - 0.904 * ratio,
            -0.414 + 0.271 * root + 0.186 * ratio,
        )
    else:
        terms = (
            1.042 + 0.982 * root - 0.036 * ratio,
            -3.599 + 1.619 * root - 0.431 * ratio,
            6.084 - 5.607 * root + 1.158 * ratio,
            -2.527 + 3.006 * root - 0.691 * ratio,
        )
    share = 2.0 * step_mm / (wall_mm + 2.0 * step_mm)
    return max(1.0, sum(term * share**power for power, term in enumerate(terms)))
