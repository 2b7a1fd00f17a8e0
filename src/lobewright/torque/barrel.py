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

    def seen(self, q: Array, boss: float) -> Array:
        """Displacements (N, 3) from the round ring as the boss sees them when it has turned by ``boss``."""
        x, y = self.places(q)
        c, s = math.cos(boss), math.sin(boss)
        label = _labels(len(q))
        return np.column_stack((c * x + s * y - np.cos(label), c * y - s * x - np.sin(label), np.zeros(len(q))))

    def places(self, q: Array) -> tuple[Array, Array]:
        """Where the nodes are (N,), (N,)."""
        label = _labels(len(q))
        return np.cos(label) + q[:, 0], np.sin(label) + q[:, 1]

    def load(self, q: Array, boss: float) -> BarrelLoad:
        """Energy, nodal gradient, and what the boss's turn adds."""
        flat = self.acting.reshape(-1, len(self.acting_stiffness))
        px, py = self.places(q)
        # turning the boss on is turning all nodes back: dX/dβ = (y, −x) as the boss sees it, turned
        back = np.column_stack((py, -px, np.zeros(len(q))))
        seen = np.column_stack((self.seen(q, boss).ravel(), _turn(back, -boss).ravel()))
        y, dy = (seen.T @ flat) * self.acting_stiffness
        given = flat @ np.column_stack((y, dy))
        force, stiff = (_turn(given[:, k].reshape(-1, 3), boss) for k in range(2))
        turned_force = np.column_stack((-force[:, 1], force[:, 0], np.zeros(len(q))))
        return BarrelLoad(
            energy=0.5 * float(given[:, 0] @ seen[:, 0]),
            force=force,
            torque=float(np.vdot(force, back)),
            coupling=stiff + turned_force,
            stiffness=float(given[:, 1] @ seen[:, 1]) - float((force[:, 0] * px + force[:, 1] * py).sum()),
        )

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


def _turn(vectors: Array, angle: float) -> Array:
    """Nodal vectors (N, 3) turned in the plane."""
    c, s = math.cos(angle), math.sin(angle)
    return np.column_stack(
        (c * vectors[:, 0] - s * vectors[:, 1], s * vectors[:, 0] + c * vectors[:, 1], vectors[:, 2])
    )


@dataclass(frozen=True)
class BarrelLoad:
    """What the barrel does at one state, dimensionless: ``energy``, gradient ``force`` (N, 3) in the nodes and ``torque`` in
    the boss's turn, ``coupling`` (N, 3) of both, ``stiffness`` of the boss's turn."""

    energy: float
    force: Array
    torque: float
    coupling: Array
    stiffness: float


def _labels(count: int) -> Array:
    return np.arange(count) * (2.0 * math.pi / count)


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
