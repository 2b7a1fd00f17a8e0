"""Newton's iteration on the energy of the loaded ring, with a search along each step, and its linear system.

A step solves the tangent (damped by a hair, which moves a free ring no way and leaves the equations as they are), and is
taken as far as it lowers the energy. Damping grows while a step climbs. So the iteration ends at a stable equilibrium or
says that it found none.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from lobewright.torque import kernel
from lobewright.torque.barrel import gram
from lobewright.torque.linear import backward, eliminate, forward
from lobewright.torque.model import Drive, State

Array = NDArray[np.float64]
Indices = NDArray[np.int64]

HAIR = 1e-8
"""Damping of every unknown: far under the softest bending mode of a node, far above rounding."""
NOTHING, STALLED = 1e-13, 1e-6
"""A step that would gain less than this energy (in EI/R), at a residual below this (in EI/R²), is not taken: a ring that
is free to creep round within the play feels the grain of its own nodes, and nothing else."""
DRAG = 1e-3
"""Drag on a ring that rattles within its play, in EI/R³ a node: bearing drag stands for what nothing else holds."""
LONGEST_MOVE = 0.02
"""Of R: the largest nodal move in one iteration."""
AIM = 1e-11
"""Nodal residual over the sum of acting forces at which the state counts as settled."""
ENOUGH = 1e-9
"""Residual at which a stalled iteration still counts as settled (rounding of a very stiff axis)."""
LEAST_SHIFT, MOST_SHIFT = 1e-4, 1e6
UNBENT_FROM = 1.0
"""Damping that makes an unstable tangent positive, and from which the tooth contacts are taken as unbent first."""
MOST_ITERATIONS = 60
LEAN_FLOOR = 0.05
"""Stiffness of a tooth's lean, over its own, below which the minimising tangent takes its contact as unbent."""


@dataclass(frozen=True)
class Outcome:
    """How an iteration ended. ``residual`` over ``scale``; ``energy`` less the work of the given torques."""

    settled: bool
    iterations: int
    residual: float
    scale: float
    energy: float
    negative: int


class Rubbing(Protocol):
    """Friction that is hung into a workspace."""

    def add(self, state: State, system: kernel.System) -> float:
        """Add its forces and stiffness to an assembled system; returns its energy."""


class Workspace:
    """A drive's system at one state, and its solution with some extras held.

    With an ``anchor`` (N, B) the nodes are dragged toward it: only for a ring that rattles in its play.
    """

    def __init__(self, drive: Drive) -> None:
        self.drive = drive
        self.system = kernel.empty_system(drive.numbers, drive.nodes, len(drive.rest.extra))
        self.anchor: Array | None = None
        self.friction: Rubbing | None = None
        rows, bodies = drive.numbers.share.size, drive.numbers.body_kind.size
        cam = bodies > 0 and drive.numbers.body_kind[0] == kernel.CURVE
        self.held = np.zeros((rows, bodies, drive.nodes, 4) if cam else (0, 0, 0, 4))
        size = self.system.residual.shape[1]
        acting = 0 if drive.barrel is None else len(drive.barrel.acting_stiffness)
        self.pins = 0 if drive.barrel is None else 2 * len(PINNED)
        self.border = acting + self.pins
        self.ahead = np.empty((drive.nodes - 1, size, size))
        self.closing = np.empty_like(self.ahead)
        self.boss = 0.0

    def fill(self, state: State, pull: Array, floor: float = LEAN_FLOOR, foretold: bool = False) -> float:
        """Assemble; returns the energy less the work of ``pull`` (E,) on the extras.

        ``foretold``: a cam's contacts are those of the state's foretold gaps.
        """
        numbers, system = self.drive.numbers, self.system
        if foretold and state.gaps is not None:
            self.held[..., 0] = state.gaps
        else:
            foretold = False
        energy = kernel.assemble_held(
            state.q, state.lean, state.extra, state.near, self.held, foretold, numbers, floor, system
        )
        if self.drive.barrel is not None and self.drive.boss_at is not None:
            boss = self.drive.boss_at
            self.boss = float(state.extra[boss])
            load = self.drive.barrel.load(state.q, self.boss)
            energy += load.energy
            system.residual[:] += load.force
            system.extra[boss] += load.torque
            system.coupling[:, :, boss] += load.coupling
            system.extra_block[boss, boss] += load.stiffness
        if self.friction is not None:
            energy += self.friction.add(state, system)
        if self.anchor is not None:
            off = state.q - self.anchor
            energy += 0.5 * DRAG * float(np.vdot(off, off))
            system.residual[:] += DRAG * off
            at = np.arange(off.shape[1])
            system.diagonal[:, at, at] += DRAG
        system.extra[:] -= pull
        return float(energy - pull @ state.extra)

    def gaps_after(self, dq: Array, de: Array) -> Array | None:
        """Gaps (rows, bodies, N) to a cam after a small move from the state that was filled last; None without a cam."""
        if not self.held.size:
            return None
        out = np.empty(self.held.shape[:3])
        for row in range(out.shape[0]):
            normal = self.held[row, :, :, 1:3]
            along = normal[..., 0] * (dq[:, 3 * row] - de[0]) + normal[..., 1] * (dq[:, 3 * row + 1] - de[1])
            out[row] = self.held[row, :, :, 3] + along
        return out

    def residual(self, free: Indices) -> float:
        """Largest unbalanced force or torque over nodes, leans and free extras."""
        system = self.system
        worst = max(float(np.abs(system.residual).max()), float(np.abs(system.lean_residual).max()))
        return max(worst, float(np.abs(system.extra[free]).max(initial=0.0)))

    def solve(self, free: Indices, damping: float) -> Solution:
        """Solve the tangent for minus the residual and for the extras ``free`` (indices)."""
        system, drive, border = self.system, self.drive, self.border
        extra = system.extra.copy()
        b = np.empty((*system.residual.shape, border + 1 + len(free)))
        kernel.condensed(system, drive.numbers, b[:, :, border], extra)
        b[:, :, border + 1 :] = system.coupling[:, :, free]
        diagonal = system.diagonal
        if border:
            diagonal = diagonal.copy()
            self._add_border(b[:, :, :border], diagonal)
        scaled = np.empty_like(b)
        negative = forward(diagonal, system.upper, damping, b, scaled, self.ahead, self.closing)
        own = np.ascontiguousarray(scaled[:, :, border:]) if border else scaled
        if border:
            negative += self._bring_in_border(b, scaled, own)
        backward(own, self.ahead, self.closing)
        return Solution(self, free, own, extra, damping, negative)

    def _add_border(self, columns: Array, diagonal: Array) -> None:
        """Directions in which the barrel acts and of the pins that hold a cup's ring while its barrel is brought in."""
        assert self.drive.barrel is not None
        acting = self.border - self.pins
        self.drive.barrel.columns(self.boss, columns[:, :, :acting])
        columns[:, :, acting:] = 0.0
        for number, share in enumerate(PINNED):
            node = int(share * self.drive.nodes)
            for axis in range(2):
                columns[node, axis, acting + 2 * number + axis] = 1.0
                diagonal[node, axis, axis] += PIN

    def _bring_in_border(self, b: Array, scaled: Array, own: Array) -> int:
        """Add the barrel and take the pins out again, in place in ``own``; returns what that adds to the negative
        eigenvalues (the pins' number less the negative pivots of S⁻¹ + VᵀK⁻¹V, by the inertia of the bordered system)."""
        assert self.drive.barrel is not None
        border, products = self.border, gram(b[:, :, : self.border], scaled)
        give = products[:, :border].copy()
        give[np.diag_indices(border)] += np.append(
            1.0 / self.drive.barrel.acting_stiffness, np.full(self.pins, -1.0 / PIN)
        )
        held = np.ascontiguousarray(products[:, border:])
        negative = eliminate(give, held, border)
        size, many = b.shape[0] * b.shape[1], own.shape[2]
        own -= (scaled.reshape(size, -1)[:, :border] @ held).reshape(*b.shape[:2], many)
        return self.pins - negative


PIN = 1.0
"""Springs, in EI/R³, that hold two nodes of a cup's ring while its barrel is brought in, and are taken out with it."""
PINNED = (0.0, 0.5)
"""Where they stand, in turns: two nodes, so that the ring cannot turn about one."""


@dataclass
class Solution:
    """A factorised step: x (N, B, 1 + F) for the residual and the free extras."""

    work: Workspace
    free: Indices
    x: Array
    extra: Array
    damping: float
    negative: int

    def sign(self, matrix: Array) -> float:
        """Sign of the determinant of the whole tangent with extras left as in ``matrix`` (k, k), leans included."""
        swaps = self.negative + int((self.work.system.lean_stiffness < 0.0).sum())
        sign = float(np.linalg.slogdet(matrix)[0])
        return -sign if swaps % 2 else sign

    def reduced(self) -> tuple[Array, Array, Array, Array]:
        """Equations left for the free extras: matrix (F, F), right-hand side (F,), and x for residual and extras."""
        system, count = self.work.system, len(self.free)
        unknowns = self.x.shape[0] * self.x.shape[1]
        product = system.coupling[:, :, self.free].reshape(unknowns, count).T @ self.x.reshape(unknowns, 1 + count)
        matrix = system.extra_block[self.free[:, None], self.free] - product[:, 1:]
        return matrix, -self.extra[self.free] - product[:, 0], self.x[:, :, 0], self.x[:, :, 1:]

    def step(self, damping: float = 0.0) -> tuple[Array, Array, Array] | None:
        """Change of nodes, leans and extras (all E) that meets the equations, the free extras damped; None where they cannot be
        solved."""
        matrix, known, own, extras = self.reduced()
        matrix = matrix + damping * np.eye(len(self.free))
        try:
            de_free = np.linalg.solve(matrix, known) if len(self.free) else known
        except np.linalg.LinAlgError:
            return None
        dq = own - extras @ de_free
        de = np.zeros_like(self.extra)
        de[self.free] = de_free
        return dq, self.leans(dq, de), de

    def leans(self, dq: Array, de: Array, unmet: float = 1.0) -> Array:
        """Change of the leans that goes with a change of nodes and extras (all E); ``unmet`` share of their residual."""
        return kernel.lean_change(self.work.system, self.work.drive.numbers, dq, de, unmet)


def aim_of(drive: Drive, state: State, force: float) -> float:
    """The residual at which a state counts as settled: a share of the acting forces, not below rounding."""
    arc = 2.0 * math.pi / drive.nodes
    digit = np.finfo(float).eps * (1.0 + float(np.abs(state.q).max()) / arc)
    rounding = 4.0 * digit * (float((drive.numbers.axial * drive.numbers.share).max()) + 12.0 / arc**2)
    return AIM * force + rounding


def newton(
    drive: Drive,
    state: State,
    free: Indices,
    pull: Array,
    force: float,
    work: Workspace | None = None,
    most: int = MOST_ITERATIONS,
) -> Outcome:
    """Drive the state in place to a stable equilibrium with the extras ``free`` and given torques ``pull`` (E,).

    ``force``: sum of acting forces that the residual is told relative to, dimensionless; ``most`` iterations.
    """
    work = work or Workspace(drive)
    aim = aim_of(drive, state, force)
    energy = work.fill(state, pull)
    residual = work.residual(free)
    damping, iteration, negative = HAIR, 0, 0
    best, lower, now, idle = residual, energy, residual, False
    while residual > aim and iteration < most:
        iteration += 1
        moved, damping = _downhill(drive, work, state, free, pull, damping)
        if moved is None:
            break
        dq, dl, de, slope, negative = moved
        if abs(slope) < NOTHING and residual < STALLED:
            idle = True
            break
        share = min(1.0, LONGEST_MOVE / max(float(np.abs(dq).max()), 1e-300))
        taken = False
        for _ in range(14):
            trial = State(state.q + share * dq, state.lean + share * dl, state.extra + share * de, state.near)
            lower = work.fill(trial, pull)
            now = work.residual(free)
            small = abs(share * slope) < 1e-11 * max(abs(energy), 1e-9)
            if lower <= energy + 1e-4 * share * slope or (small and now < 2.0 * residual):
                taken = True
                break
            share *= 0.5
        if not taken or not math.isfinite(lower):
            damping = max(LEAST_SHIFT, 30.0 * damping)
            if damping > MOST_SHIFT:
                break
            work.fill(state, pull)
            continue
        state.q, state.lean, state.extra = trial.q, trial.lean, trial.extra
        energy, residual = lower, now
        damping = 0.1 * damping if share > 0.3 else damping
        damping = damping if damping > LEAST_SHIFT else HAIR
        if iteration > 20 and residual > 0.5 * best and residual < ENOUGH * force:
            break
        best = min(best, residual)
    settled = math.isfinite(residual) and (residual <= aim or residual < ENOUGH * force or idle)
    return Outcome(settled, iteration, residual / force, force, energy, negative)


Step = tuple[Array, Array, Array, float, int]


def _downhill(
    drive: Drive, work: Workspace, state: State, free: Indices, pull: Array, damping: float
) -> tuple[Step | None, float]:
    """A step of a tangent made positive, and the damping that did it: damped, or with all tooth contacts unbent."""
    start = damping
    for floor in (LEAN_FLOOR, math.inf):
        if floor > LEAN_FLOOR:
            work.fill(state, pull, floor)
            damping = HAIR if start < UNBENT_FROM else start
        while damping < (UNBENT_FROM if floor == LEAN_FLOOR else MOST_SHIFT):
            step = _step(drive, work, state, free, damping)
            if step is not None and step[3] < 0.0 and step[4] == 0:
                return step, damping
            damping = max(LEAST_SHIFT, 5.0 * damping)
    return None, damping


def _step(
    drive: Drive, work: Workspace, state: State, free: Indices, damping: float
) -> tuple[Array, Array, Array, float, int] | None:
    """One step (nodes, leans, extras, slope, negative eigenvalues), None where the tangent cannot be solved."""
    solution = work.solve(free, damping)
    moved = solution.step(damping)
    if moved is None:
        return None
    dq, dl, de = moved
    system = work.system
    slope = float(np.vdot(system.residual, dq) + np.vdot(system.lean_residual, dl) + system.extra @ de)
    if not math.isfinite(slope):
        return None
    return dq, dl, de, slope, solution.negative
