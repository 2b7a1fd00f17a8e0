"""An uncertain number: its middle and its 90 % interval."""

from __future__ import annotations

import math
from dataclasses import dataclass

from lobewright.errors import DesignFault, Fault
from lobewright.sources import Flag

NORMAL_95 = 1.6448536269514722
"""Standard deviations from the middle of a normal distribution to each end of its 90 % interval."""


@dataclass(frozen=True)
class Interval:
    """A positive number with a 90 % interval ``low`` … ``high``; ``name`` carries its unit, as fields do.

    Read as log-normal: its logarithm is normal with the given middle and with the half width of the logarithms over 1.645.
    ``measured``: whether the owner's readings made it. ``source_key`` and ``flag`` say where it comes from.
    Raises DesignFault unless 0 < low ≤ middle ≤ high, all finite.
    """

    name: str
    low: float
    middle: float
    high: float
    measured: bool
    source_key: str
    flag: Flag

    def __post_init__(self) -> None:
        if not (0.0 < self.low <= self.middle <= self.high and math.isfinite(self.high)):
            found = f"{self.low:g} … {self.middle:g} … {self.high:g}"
            raise DesignFault([Fault("this interval is not one", self.name, 0, found, "0 < low ≤ middle ≤ high")])

    @property
    def log_spread(self) -> float:
        """Standard deviation of the logarithm."""
        return math.log(self.high / self.low) / (2.0 * NORMAL_95)

    def scaled(self, factor: float, name: str) -> Interval:
        """The interval times a positive factor, under another name."""
        return Interval(
            name, factor * self.low, factor * self.middle, factor * self.high, self.measured, self.source_key, self.flag
        )
