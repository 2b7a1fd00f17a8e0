"""What a cup's barrel adds to its rim: one stiffness per harmonic on radial and tangential displacements of the nodes.

The shell gives the stiffness of the whole rim with barrel and diaphragm; what the planar ring itself has (linear, round) is
taken off harmonic by harmonic, so that ring and barrel together are the shell where displacements are small. Axial motion
and coning of the rim are free. A negative remainder (the planar ring stiffer than the shell at high harmonics) is set to
zero and counted. Source: derived.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lobewright.ring.shell import RimStiffness
from lobewright.torque.inputs import LoadInputs

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Barrel:
    """Energy ½ yᵀ S y of the amplitudes y = Vᵀ q. ``shape`` V (N, 3, m), ``stiffness`` S (m, m) over EI/R², positive or
    zero; ``torsion`` (m,) picks the amplitude whose force is the torque; ``set_to_zero`` counts clipped directions."""

    shape: Array
    stiffness: Array
    twist: int
    set_to_zero: int

    def amplitudes(self, q: Array) -> Array:
        return np.tensordot(q, self.shape, 2)

    def force(self, q: Array) -> Array:
        """Nodal forces (N, 3) of the barrel's resistance: the gradient of its energy."""
        return self.shape @ (self.stiffness @ self.amplitudes(q))


def planar_ring(harmonic: int, axial: float) -> Array:
    """Stiffness (2, 2) per radian of amplitude (radial, tangential) of a round linear ring, EI = 1, R = 1.

    Stretch ε = w + v′, bending κ = −(w + w″); w cos kφ, v sin kφ (odd family: sin, −cos).
    """
    k = float(harmonic)
    stretch = np.array([1.0, k])
    bend = np.array([k * k - 1.0, 0.0])
    return axial * np.outer(stretch, stretch) + np.outer(bend, bend)


def barrel_of(rim: RimStiffness, inputs: LoadInputs, radius_mm: float, nodes: int, unit_n: float) -> Barrel:
    """The barrel's part of a rim stiffness on the nodes of a planar ring."""
    label = np.arange(nodes) * (2.0 * math.pi / nodes)
    axial = inputs.axial_stiffness_n[0] * radius_mm**2 / inputs.bending_stiffness_nmm2[0]
    columns: list[Array] = []
    blocks: list[Array] = []
    clipped, twist = 0, -1
    for place, harmonic in enumerate(rim.harmonics):
        k = int(harmonic)
        if k > nodes // 6:
            break
        # line load per displacement [N/mm²] → per radian of label over EI/R³
        shell = np.linalg.inv(rim.compliance[place][:2, :2]) * radius_mm**2 / unit_n
        extra = shell - planar_ring(k, axial)
        value, vector = np.linalg.eigh(extra)
        clipped += int((value < -1e-9 * abs(value).max()).sum())
        extra = (vector * np.maximum(value, 0.0)) @ vector.T
        weight = 2.0 * math.pi if k == 0 else math.pi
        norm = (1.0 if k == 0 else 2.0) / nodes
        families = ((np.cos(k * label), np.sin(k * label)), (np.sin(k * label), -np.cos(k * label)))
        for family, (radial, tangential) in enumerate(families):
            if k == 0:
                # even: radial only; odd: tangential only (turned round)
                column = (
                    _column(label, norm * radial, True) if family == 0 else _column(label, norm * tangential, False)
                )
                twist = len(columns) if family == 1 else twist
                columns.append(column)
                blocks.append(weight * extra[family : family + 1, family : family + 1])
            else:
                columns += [_column(label, norm * radial, True), _column(label, norm * tangential, False)]
                blocks.append(weight * extra)
    size = len(columns)
    stiffness = np.zeros((size, size))
    at = 0
    for block in blocks:
        n = len(block)
        stiffness[at : at + n, at : at + n] = block
        at += n
    return Barrel(np.moveaxis(np.array(columns), 0, 2), stiffness, twist, clipped)


def _column(label: Array, weight: Array, radial: bool) -> Array:
    """Nodal vector (N, 3) that picks the weighted radial or tangential displacement."""
    out = np.zeros((len(label), 3))
    if radial:
        out[:, 0], out[:, 1] = weight * np.cos(label), weight * np.sin(label)
    else:
        out[:, 0], out[:, 1] = -weight * np.sin(label), weight * np.cos(label)
    return out
