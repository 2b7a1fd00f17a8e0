"""Settling near a known state by plain Newton steps with foretold contacts: few iterations, or None.

A cam bears through a bed so stiff that a step of the ring along it lifts every node off by more than the bed's give. So
which nodes bear, and the bend their forces give the tangent, is taken from the step's own forecast of the gaps (gap and
force as separate unknowns, the force taken out node by node). No energy is watched: what is not found so, or found unstable,
is left to :func:`lobewright.torque.solver.newton`.
Source: common practice in contact (active sets, mixed unknowns); elimination derived.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from lobewright.torque.model import Drive, State
from lobewright.torque.solver import (
    ENOUGH,
    HAIR,
    LONGEST_MOVE,
    MOST_ITERATIONS,
    NOTHING,
    STALLED,
    Outcome,
    Workspace,
    aim_of,
    newton,
)

Array = NDArray[np.float64]
Indices = NDArray[np.int64]

MOST = 20
"""Iterations after which the search is given up."""
HESITANT, CAUTION = 5, 0.6
"""Iterations after which contacts are taken to come and go in turn, and the share of a step that is then taken."""
FARTHEST = 0.2
"""Of R: a nodal move in one iteration at which it is given up."""
WORSE = 1e4
"""Residual over the best one at which it is given up."""


def foretold(
    drive: Drive, start: State, free: Indices, pull: Array, force: float, work: Workspace
) -> tuple[State, Outcome] | None:
    """An equilibrium near ``start`` and how it was found, or None. Arguments as of ``newton``; ``start`` is not changed.

    It is stable where the outcome tells no negative eigenvalue.
    """
    state = start.copy()
    aim = aim_of(drive, state, force)
    best, before, now, negative, exact, idle = math.inf, math.inf, math.inf, 0, state.gaps is None, False
    for iteration in range(MOST + 1):
        energy = work.fill(state, pull, -math.inf, foretold=not exact)
        residual = work.residual(free)
        if not residual < WORSE * best:
            return None
        best, before, now = min(best, residual), now, residual
        rounding = residual < ENOUGH * force and residual > 0.1 * before
        if residual <= aim or rounding or (idle and residual < STALLED):
            if exact:
                negative += int((work.system.lean_stiffness < 0.0).sum())
                return state, Outcome(True, iteration, residual / force, force, energy, negative)
            exact = True
            continue
        if iteration == MOST:
            return None
        solution = work.solve(free, HAIR)
        moved = solution.step()
        if moved is None:
            return None
        dq, dl, de = moved
        most = float(np.abs(dq).max())
        if not most < FARTHEST:
            return None
        if most > LONGEST_MOVE:
            dq, dl, de = (LONGEST_MOVE / most * part for part in (dq, dl, de))
        if iteration >= HESITANT and residual > 0.5 * before:
            dq, dl, de = CAUTION * dq, CAUTION * dl, CAUTION * de
        negative = solution.negative
        system = work.system
        gain = np.vdot(system.residual, dq) + np.vdot(system.lean_residual, dl) + system.extra @ de
        idle = abs(float(gain)) < NOTHING
        state.gaps = work.gaps_after(dq, de)
        exact = state.gaps is None
        state.q, state.lean, state.extra = state.q + dq, state.lean + dl, state.extra + de
    return None


def settle(
    drive: Drive, start: State, free: Indices, pull: Array, force: float, work: Workspace, most: int = MOST_ITERATIONS
) -> tuple[State, Outcome]:
    """A stable state near ``start``, else where the energy falls to from it, and how it ended. Arguments as of ``newton``."""
    near = foretold(drive, start, free, pull, force, work)
    if near is not None and near[1].negative == 0:
        return near
    return start, newton(drive, start, free, pull, force, work, most)
