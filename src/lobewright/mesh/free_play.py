"""Free play: how far a ring can turn against the flexible ring on its generator before teeth touch, at no torque."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lobewright.mesh.space import ToothSpace

Array = np.ndarray


@dataclass(frozen=True)
class FreePlay:
    """Rotation that a ring is free to make against the flexible ring held on its generator, no torque, in rad.

    A direction is negative when the teeth, as set, already overlap that way; then there is no play, but binding.
    """

    ring: str
    forward_rad: float
    backward_rad: float

    @property
    def total_rad(self) -> float:
        return max(0.0, self.forward_rad + self.backward_rad)


def free_play(space: ToothSpace, swept_right_rad: Array, swept_left_rad: Array) -> FreePlay:
    """Free rotation of a ring from the region that the bare tooth sweeps at the space's own radii.

    First contact over all teeth and all generator positions: a lower bound of the play at a given position. Rigid
    teeth on the deflected ring; the play that wear adds and the windup under torque are other results.
    """
    reached = swept_right_rad > -9.0
    if not reached.any():
        # The teeth do not reach the ring: it turns freely, and half a pitch either way is as far as the word goes.
        return FreePlay(space.name, space.pitch_rad / 2, space.pitch_rad / 2)
    forward = float(np.min(space.right_rad[reached] - swept_right_rad[reached]))
    backward = float(np.min(swept_left_rad[reached] - space.left_rad[reached]))
    return FreePlay(space.name, forward, backward)
