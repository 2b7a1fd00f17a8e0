"""The section of a rigid ring's rim, and what it resists by thin-ring theory (see :mod:`lobewright.torque.rim`)."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields, replace

from lobewright.errors import DesignFault, Fault


@dataclass(frozen=True)
class RimGive:
    """Give of one rigid ring's rim: radius and stiffnesses of its section, and how far inside its neutral line the teeth
    touch. Raises DesignFault for values that are not positive."""

    radius_mm: float
    inside_mm: float
    bending_stiffness_nmm2: float
    axial_stiffness_n: float

    def __post_init__(self) -> None:
        faults = [
            Fault(
                "this input of a rigid ring's rim is out of range",
                item.name,
                0,
                f"{getattr(self, item.name):g}",
                "above 0",
            )
            for item in fields(self)
            if not (math.isfinite(getattr(self, item.name)) and getattr(self, item.name) > 0.0)
        ]
        if self.inside_mm >= self.radius_mm and not faults:
            faults.append(
                Fault("the teeth lie beyond the axis", "inside_mm", 0, f"{self.inside_mm:g}", "under the radius")
            )
        if faults:
            raise DesignFault(faults)

    def stiffer(self, factor: float) -> RimGive:
        """The same rim, ``factor`` times as stiff."""
        return replace(
            self,
            bending_stiffness_nmm2=factor * self.bending_stiffness_nmm2,
            axial_stiffness_n=factor * self.axial_stiffness_n,
        )

    def stiffness_n_per_mm(self, wave: int) -> float:
        """Force over amplitude of the rim's breathing (0) or of w = a cos nφ (n ≥ 2)."""
        if wave == 0:
            return 2.0 * math.pi * self.axial_stiffness_n / self.radius_mm
        return math.pi * self.bending_stiffness_nmm2 * (wave**2 - 1) ** 2 / self.radius_mm**3

    def side_share(self, wave: int) -> float:
        """Tangential shift where the teeth touch, over the amplitude: −this·sin nφ goes with cos nφ."""
        return (1.0 + self.inside_mm * (wave**2 - 1) / self.radius_mm) / wave
