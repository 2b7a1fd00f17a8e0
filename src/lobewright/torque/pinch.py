"""Pinch: wall and teeth squeezed between generator and rigid ring when the set deflection over-fills the gap at a lobe."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lobewright.torque import kernel
from lobewright.torque.errors_in import NO_ERRORS, DriveErrors
from lobewright.torque.inputs import DriveInput, LoadInputs
from lobewright.torque.model import NODES_A_TOOTH, Drive, State
from lobewright.torque.path import Winder
from lobewright.torque.rest import body_push, prepare
from lobewright.torque.results import RowLoad, load_share_of, sealed

Array = NDArray[np.float64]

FELT_SHARE = 0.01
"""Of the generator's free push: tooth forces below this are a tooth that brushes, not a pinch."""


@dataclass(frozen=True)
class Pinch:
    """The drive without torque, teeth brought in.

    ``force_n`` (rows, lobes): how hard each rigid ring presses inward on the teeth nearer to that lobe than to others.
    ``body_force_n`` (B,): push of every roller or disc, or of a cam at every lobe, against ``free_push_n`` (B,) without
    teeth. ``contact`` (rows, lobes): where the hardest pressed tooth touches, "tip" (in the root), "land" (the ring's tips on
    the land), "left" or "right" (flanks that wedge), "" (nothing). ``arm_mm`` (A,): shift of the arms, outward, against the
    set position. ``torque_nmm`` that holds the slow member there: nothing, but for rounding.
    """

    force_n: Array
    body_force_n: Array
    free_push_n: Array
    contact: tuple[tuple[str, ...], ...]
    arm_mm: Array
    torque_nmm: float

    @property
    def pinched(self) -> bool:
        """Whether a ring presses at some lobe with more than a hundredth of the generator's free push there."""
        return bool(self.force_n.max() > FELT_SHARE * float(self.free_push_n.max()))


def pinch(
    drive: DriveInput,
    inputs: LoadInputs,
    *,
    turn_rad: float = 0.0,
    errors: DriveErrors = NO_ERRORS,
    per_tooth: int = NODES_A_TOOTH,
) -> Pinch:
    """What presses without torque. Forces are zero where nothing touches. Raises DesignFault and ConvergenceFault."""
    made = prepare(drive, inputs, turn_rad=turn_rad, per_tooth=per_tooth, errors=errors)
    winder = Winder(made)
    place = winder.rest()
    loose = winder.load_to(0.0, place.state.copy())
    # a drive that is pinched finds its own angle; one in its play stays where it stands
    place = loose if loose.outcome.settled else place
    share = load_share_of(made, place, winder.solves, winder.iterations, 1.0)
    found = [_at_lobes(row, drive.setting.lobes) for row in share.rows]
    return Pinch(
        force_n=sealed(np.array([force for force, _ in found])),
        body_force_n=sealed(pushes(made, place.state) * made.force_unit_n),
        free_push_n=sealed(pushes(made, made.rest) * made.force_unit_n),
        contact=tuple(places for _, places in found),
        arm_mm=share.arm_mm,
        torque_nmm=place.torque_nmm,
    )


def pushes(made: Drive, state: State) -> Array:
    """Outward push (B,) of every roller or disc, or of a cam at every lobe, dimensionless."""
    if made.numbers.body_kind[0] != kernel.CURVE:
        return body_push(made, state)[0]
    numbers, lobes = made.numbers, made.drive.setting.lobes
    label = np.arange(made.nodes) * (2.0 * math.pi / made.nodes)
    out = np.zeros(lobes)
    for row in range(made.rows):
        bed = numbers.body_stiffness[0, row] * 2.0 * math.pi / made.nodes
        for i in range(made.nodes):
            gap, nx, ny, *_ = kernel.station_gap(
                state.q, i, row, state.extra[0], state.extra[1], state.near[row, 0, i], numbers
            )
            if gap < 0.0:
                lobe = round((label[i] - made.turn_rad) * lobes / (2.0 * math.pi)) % lobes
                angle = made.turn_rad + 2.0 * math.pi * lobe / lobes
                out[lobe] -= bed * gap * (nx * math.cos(angle) + ny * math.sin(angle))
    return out


def _at_lobes(row: RowLoad, lobes: int) -> tuple[Array, tuple[str, ...]]:
    """Inward force at each lobe and where its hardest pressed tooth touches."""
    nearest = np.rint(row.label_deg * lobes / 360.0).astype(int) % lobes
    force = np.zeros(lobes)
    places = []
    for lobe in range(lobes):
        teeth = np.flatnonzero(nearest == lobe)
        force[lobe] = -float(row.outward_n[teeth].sum())
        hardest = teeth[int(np.argmax(row.force_n[teeth]))]
        places.append(row.place[hardest] if row.force_n[hardest] > 0.0 else "")
    return force, tuple(places)
