"""Bending strain of the flexible ring from its own shape: an estimate on the plain wall.

Strain of a fibre at distance y from the neutral line is y·(κ − 1/R). The teeth's notch effect and the stiffening are left
to the strength models; the number here ranks generators and catches rings that are far too thick.
"""

from __future__ import annotations

from dataclasses import dataclass

from lobewright.ring.geometry import RingGeometry
from lobewright.ring.shape import RingShape


@dataclass(frozen=True)
class BendingStrain:
    """Extremes met by the worst fibre while the wave passes; ``factor_major``, ``factor_minor`` are the change of curvature
    at the two axes in w0/R²."""

    least: float
    most: float
    factor_major: float
    factor_minor: float

    @property
    def amplitude(self) -> float:
        return (self.most - self.least) / 2

    @property
    def largest(self) -> float:
        return max(abs(self.least), abs(self.most))


def bending_strain(shape: RingShape, geometry: RingGeometry) -> BendingStrain:
    """Strain extremes over all fibres and places; hoop stretch of a tight ring is added to both."""
    radius = shape.radius_mm
    unit = shape.deflection_mm / radius**2
    change = shape.curvature_1_per_mm - 1 / radius
    least = most = 0.0
    for fibre in (geometry.fibre_out_mm, -geometry.fibre_in_mm):
        strain = fibre * change + shape.stretch
        least, most = min(least, float(strain.min())), max(most, float(strain.max()))
    at_minor = shape.points_per_half_lobe
    return BendingStrain(least, most, float(change[0]) / unit, float(change[at_minor]) / unit)
