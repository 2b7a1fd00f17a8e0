"""What a cup's barrel adds to its rim: one stiffness per harmonic on radial and tangential displacements of the nodes.

The shell gives the stiffness of the whole rim with barrel and diaphragm; what the planar ring itself has (linear, round) is
taken off harmonic by harmonic, so that ring and barrel together are the shell where displacements are small. Axial motion
and coning of the rim are free. Where the remainder is not positive (the planar ring is the stiffer in stretch) only the
radial stiffness of the shell is met, and where that is below the ring's own nothing is added. Source: derived.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

from lobewright.ring.shell import RimStiffness
from lobewright.torque.inputs import LoadInputs

Array = NDArray[np.float64]

NO_STIFFNESS = 1e-14
"""Of the stiffest axis."""
ONE_THREAD = 200_000
"""Multiplications in one product."""


@dataclass(frozen=True)
class Barrel:
    """Energy ½ yᵀ S y of the amplitudes y = Vᵀ q. ``stiffness`` S (m, m) over EI/R², positive or zero; ``acting`` (N, 3, a)
    and ``acting_stiffness`` (a,): V turned to the principal axes of S, those without stiffness left out; ``radial_only`` and
    ``set_to_zero``: harmonics of which only the radial part, or nothing, was left to the barrel."""

    stiffness: Array
    acting: Array
    acting_stiffness: Array
    radial_only: tuple[int, ...]
    set_to_zero: tuple[int, ...]

    def load(self, q: Array, boss: float) -> BarrelLoad:
        """Energy, nodal gradient, and what the boss's turn adds."""
        force, coupling = np.empty((len(q), 3)), np.empty((len(q), 3))
        energy, torque, stiffness = _load(self.acting, self.acting_stiffness, q, boss, force, coupling)
        return BarrelLoad(energy, force, torque, coupling, stiffness)

    def columns(self, boss: float, out: Array) -> None:
        """V (N, 3, a) along its acting axes, with its nodal directions turned with the boss, into ``out``."""
        c, s = math.cos(boss), math.sin(boss)
        np.multiply(self.acting[:, 0], c, out=out[:, 0])
        out[:, 0] -= s * self.acting[:, 1]
        np.multiply(self.acting[:, 0], s, out=out[:, 1])
        out[:, 1] += c * self.acting[:, 1]
        out[:, 2] = 0.0


def acting_axes(shape: Array, stiffness: Array) -> tuple[Array, Array]:
    """Columns (N, 3, a) of V along the principal axes of S that have stiffness, and that stiffness (a,)."""
    values, axes = np.linalg.eigh(stiffness)
    some = values > NO_STIFFNESS * max(float(values.max(initial=0.0)), 1e-300)
    return np.ascontiguousarray(shape @ axes[:, some]), values[some]


@njit(cache=True, error_model="numpy")
def _load(acting, stiffness, q, boss, force, coupling):
    """Fill gradient and coupling (N, 3) of :class:`BarrelLoad`; returns its energy, torque and stiffness."""
    count, axes = q.shape[0], len(stiffness)
    c, s = math.cos(boss), math.sin(boss)
    y, dy = np.zeros(axes), np.zeros(axes)
    for i in range(count):
        label = i * 2.0 * math.pi / count
        cl, sl = math.cos(label), math.sin(label)
        px, py = cl + q[i, 0], sl + q[i, 1]
        # as the boss sees them: displacement from the round ring; turning the boss on is turning all nodes back
        bx, by = c * px + s * py, c * py - s * px
        for k in range(axes):
            y[k] += acting[i, 0, k] * (bx - cl) + acting[i, 1, k] * (by - sl)
            dy[k] += acting[i, 0, k] * by - acting[i, 1, k] * bx
    energy = stiff = torque = 0.0
    for k in range(axes):
        energy += 0.5 * stiffness[k] * y[k] * y[k]
        stiff += stiffness[k] * dy[k] * dy[k]
        y[k] *= stiffness[k]
        dy[k] *= stiffness[k]
    for i in range(count):
        label = i * 2.0 * math.pi / count
        px, py = math.cos(label) + q[i, 0], math.sin(label) + q[i, 1]
        fx = fy = gx = gy = 0.0
        for k in range(axes):
            fx += acting[i, 0, k] * y[k]
            fy += acting[i, 1, k] * y[k]
            gx += acting[i, 0, k] * dy[k]
            gy += acting[i, 1, k] * dy[k]
        force[i, 0], force[i, 1], force[i, 2] = c * fx - s * fy, s * fx + c * fy, 0.0
        torque += force[i, 0] * py - force[i, 1] * px
        stiff -= force[i, 0] * px + force[i, 1] * py
        coupling[i, 0] = c * gx - s * gy - force[i, 1]
        coupling[i, 1] = s * gx + c * gy + force[i, 0]
        coupling[i, 2] = 0.0
    return energy, torque, stiff


@dataclass(frozen=True)
class BarrelLoad:
    """What the barrel does at one state, dimensionless: ``energy``, gradient ``force`` (N, 3) in the nodes and ``torque`` in
    the boss's turn, ``coupling`` (N, 3) of both, ``stiffness`` of the boss's turn."""

    energy: float
    force: Array
    torque: float
    coupling: Array
    stiffness: float


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
    label = np.arange(nodes, dtype=np.float64) * (2.0 * math.pi / nodes)
    axial = inputs.axial_stiffness_n[0] * radius_mm**2 / inputs.bending_stiffness_nmm2[0]
    columns: list[Array] = []
    blocks: list[Array] = []
    radial_only: list[int] = []
    set_to_zero: list[int] = []
    for place, harmonic in enumerate(rim.harmonics):
        k = int(harmonic)
        if k > nodes // 6:
            break
        # line load per displacement [N/mm²] → per radian of label over EI/R³
        shell = np.linalg.inv(rim.compliance[place][:2, :2]) * radius_mm**2 / unit_n
        extra = shell - planar_ring(k, axial)
        if np.linalg.eigvalsh(extra)[0] < 0.0:
            extra = _radial_part(k, shell)
            (radial_only if extra.any() else set_to_zero).append(k)
        weight = 2.0 * math.pi if k == 0 else math.pi
        norm = (1.0 if k == 0 else 2.0) / nodes
        families = ((np.cos(k * label), np.sin(k * label)), (np.sin(k * label), -np.cos(k * label)))
        for family, (radial, tangential) in enumerate(families):
            if k == 0:
                # even: radial only; odd: tangential only (turned round)
                columns.append(_column(label, norm * (tangential if family else radial), family == 0))
                blocks.append(weight * extra[family : family + 1, family : family + 1])
            else:
                columns += [_column(label, norm * radial, True), _column(label, norm * tangential, False)]
                blocks.append(weight * extra)
    stiffness = np.zeros((len(columns), len(columns)))
    at = 0
    for block in blocks:
        stiffness[at : at + len(block), at : at + len(block)] = block
        at += len(block)
    acting, values = acting_axes(np.moveaxis(np.array(columns), 0, 2), stiffness)
    return Barrel(stiffness, acting, values, tuple(radial_only), tuple(set_to_zero))


def _radial_part(harmonic: int, shell: Array) -> Array:
    """Stiffness (2, 2) that brings a planar ring to the shell's radial stiffness with the tangential motion free."""
    out = np.zeros((2, 2))
    if harmonic == 0:
        out[1, 1] = shell[1, 1]
        return out
    free = 1.0 / np.linalg.inv(shell)[0, 0]
    out[0, 0] = max(0.0, float(free) - (harmonic**2 - 1.0) ** 2)
    return out


def gram(left: Array, right: Array) -> Array:
    """Sum over nodes and components of left (N, B, m) times right (N, B, k), shape (m, k).

    In portions, so small that the linear algebra library keeps to one thread: its threads waiting for each other on a
    busy machine cost a hundred times the product itself.
    """
    count, size, many = left.shape
    few = right.shape[2]
    portion = max(1, ONE_THREAD // (size * max(many * few, 1)))
    if portion >= count:
        return left.reshape(-1, many).T @ right.reshape(-1, few)
    out = np.zeros((many, few))
    for start in range(0, count, portion):
        part = left[start : start + portion].reshape(-1, many)
        out += part.T @ np.ascontiguousarray(right[start : start + portion]).reshape(-1, few)
    return out


def _column(label: Array, weight: Array, radial: bool) -> Array:
    """Nodal vector (N, 3) that picks the weighted radial or tangential displacement."""
    out = np.zeros((len(label), 3))
    if radial:
        out[:, 0], out[:, 1] = weight * np.cos(label), weight * np.sin(label)
    else:
        out[:, 0], out[:, 1] = -weight * np.sin(label), weight * np.cos(label)
    return out
