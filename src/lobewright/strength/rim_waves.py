"""The loaded rim of a cup as harmonics: how its teeth row stands out round the ring, and what its teeth push sideways."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lobewright.motion import FLEXIBLE
from lobewright.torque.inputs import LoadInputs
from lobewright.torque.results import LoadShare

Array = NDArray[np.float64]

HIGHEST = 48
"""Harmonics of the rim; beyond them the shell places move by less than a hundredth (see the theory page)."""
NODES_A_WAVE = 4


@dataclass(frozen=True)
class RimWaves:
    """Amplitudes by ``harmonics`` (H,), even and odd family, of angles counted anticlockwise from the first lobe.

    ``radial_mm`` (2, H): radial deflection, cos and sin. ``tangential_n_per_mm`` (2, H): line load on the middle of the
    wall, sin and −cos, so that a torque T on the rim, anticlockwise, is −T/(2πR²) in the odd family of harmonic 0.
    """

    harmonics: NDArray[np.int64]
    radial_mm: Array
    tangential_n_per_mm: Array


def rim_waves(share: LoadShare, inputs: LoadInputs, radius_mm: float) -> RimWaves:
    """Waves of the loaded rim of a cup; ``radius_mm`` of its middle, round.

    The turn of the rim as a whole is taken out, so it does not matter which member stands. Harmonic 0 of the deflection is
    the mean stretch of the ring under its normal force, not the mean of its places: a bent ring draws in without being
    strained. Teeth act where they stand, each with the torque of its force about the axis; their sum is replaced by what
    the cup carries to its boss, which is less by what the generator takes.
    """
    row = share.rows[0]
    nodes = len(row.positions_mm)
    label = np.arange(nodes, dtype=np.float64) * (2.0 * math.pi / nodes)
    radial = _standing_out(row.positions_mm, label, radius_mm)
    highest = min(HIGHEST, nodes // NODES_A_WAVE)
    orders = np.arange(highest + 1)
    from_lobe = np.radians(row.section_label_deg)
    phase = np.outer(orders, from_lobe)
    deflection = 2.0 / nodes * np.stack((np.cos(phase) @ radial, np.sin(phase) @ radial))
    stretch = float(row.normal_n.mean()) / inputs.axial_stiffness_n[0]
    deflection[:, 0] = stretch * radius_mm, 0.0
    at_tooth = np.outer(orders, np.radians(row.label_deg))
    push = row.torque_nmm / (math.pi * radius_mm**2)
    sideways = np.stack((np.sin(at_tooth) @ push, -np.cos(at_tooth) @ push))
    sideways[1, 0] = share.member_torque_nmm[FLEXIBLE] / (2.0 * math.pi * radius_mm**2)
    for values in (orders, deflection, sideways):
        values.setflags(write=False)
    return RimWaves(orders, deflection, sideways)


def _standing_out(positions_mm: Array, label: Array, radius_mm: float) -> Array:
    """Radial deflection (N,) at every label, after turning the rim back by its mean turn."""
    c, s = np.cos(label), np.sin(label)
    x, y = positions_mm.T
    turn = float(np.arctan2(c * y - s * x, c * x + s * y).mean())
    return np.cos(label + turn) * x + np.sin(label + turn) * y - radius_mm
