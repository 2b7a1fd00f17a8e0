"""Following the drive as the slow member is wound up: by its rotation, by its torque, or by arc length past limits."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lobewright.motion import FLEXIBLE
from lobewright.torque.foretold import MOST, foretold, settle
from lobewright.torque.model import Drive, State
from lobewright.torque.rest import loose_extras
from lobewright.torque.solver import ENOUGH, HAIR, LONGEST_MOVE, MOST_ITERATIONS, Outcome, Workspace, newton

Array = NDArray[np.float64]

ARC_ITERATIONS = 14
QUIET = 0.3
"""Torques below this, in EI/R, are teeth brushing past within the play: no limit is looked for there."""


@dataclass(frozen=True)
class Place:
    """One settled place of a path: windup [rad], torque [N·mm] of the slow member and its slope [N·mm/rad] there, its state
    and how it was found."""

    windup_rad: float
    torque_nmm: float
    slope_nmm_per_rad: float
    state: State
    outcome: Outcome
    way: Way | None = None


@dataclass(frozen=True)
class Way:
    """How a settled state moves as it is wound up, per radian: nodes (N, B), leans, extras and gaps to a cam."""

    q: Array
    lean: Array
    extra: Array
    gaps: Array | None

    def on(self, state: State, windup_rad: float) -> State:
        """A state moved on along the way."""
        out = State(
            state.q + windup_rad * self.q,
            state.lean + windup_rad * self.lean,
            state.extra + windup_rad * self.extra,
            state.near.copy(),
        )
        if self.gaps is not None:
            out.gaps = self.gaps[0] + windup_rad * self.gaps[1]
        return out


class Winder:
    """A drive with generator and counter member held and the slow member's rotation or torque given.

    Windup and torque are those of the slow member, anticlockwise positive. ``watch`` is told the count of every solve.
    """

    def __init__(self, drive: Drive) -> None:
        self.drive = drive
        self.work = Workspace(drive)
        names = [row.name for row in drive.drive.rows]
        slow = drive.drive.slow_member
        self.ring = names.index(slow) if slow in names else 0
        self.at = drive.ring_at[self.ring]
        if slow == FLEXIBLE and drive.boss_at is not None:
            self.at = drive.boss_at
        self.home = float(drive.rest.extra[self.at])
        self.loose = loose_extras(drive)
        self.free = np.append(self.loose, self.at)
        self.push = 1.0 + float(np.abs(drive.push).sum())
        self.iterations = 0
        self.solves = 0
        self.watch: Callable[[int], None] | None = None

    def rest(self) -> Place:
        """The drive at no windup, teeth brought in."""
        return self.turn_to(0.0, self.drive.rest.copy())

    def turn_to(self, windup_rad: float, start: State) -> Place:
        """Settle at a given windup: near the start state where that is a start at all, else where the drive falls to."""
        place = self.near_to(windup_rad, start)
        return place if place.outcome.settled else self.fall_to(windup_rad, start)

    def near_to(self, windup_rad: float, start: State) -> Place:
        """Settle at a given windup in few iterations near the start state, or tell that it was not found so."""
        start.extra[self.at] = self.home + windup_rad
        force = self.push + self._last_force()
        near = foretold(self.drive, start, self.loose, np.zeros_like(start.extra), force, self.work)
        # within the play a ring on a cam feels the grain of its nodes: stable here and unstable there, and both are nothing
        quiet = abs(float(self.work.system.extra[self.at])) < QUIET
        if near is None or (near[1].negative > 0 and not quiet):
            lost = Outcome(False, MOST, math.inf, force, math.nan, 0)
            return Place(windup_rad, math.nan, math.nan, start, lost)
        return self._place(*near)

    def fall_to(self, windup_rad: float, start: State, most: int = MOST_ITERATIONS) -> Place:
        """Settle at a given windup by letting the energy fall from a start state, which is changed."""
        start.extra[self.at] = self.home + windup_rad
        start.gaps = None
        none = np.zeros_like(start.extra)
        force = self.push + self._last_force()
        kept = start.copy()
        outcome = newton(self.drive, start, self.loose, none, force, self.work, most)
        if outcome.settled or most > MOST_ITERATIONS:
            return self._place(start, outcome)
        # within the play nothing but drag holds the ring; under load drag would falsify the balance
        self.work.anchor = kept.q.copy()
        held = newton(self.drive, kept, self.loose, none, self.push, self.work, most)
        self.work.anchor = None
        if held.settled and abs(float(self.work.system.extra[self.at])) < QUIET:
            return self._place(kept, held)
        self.work.fill(start, none)
        return self._place(start, outcome)

    def load_to(self, torque_nmm: float, start: State) -> Place:
        """Settle at a given torque from a start state, which is changed."""
        pull = np.zeros_like(start.extra)
        pull[self.at] = torque_nmm / self.drive.torque_unit_nmm
        force = self.push + abs(float(pull[self.at]))
        start, outcome = settle(self.drive, start, self.free, pull, force, self.work)
        self.work.system.extra[self.at] += pull[self.at]
        return self._place(start, outcome)

    def _last_force(self) -> float:
        """Torque at the last state, a measure of the acting forces."""
        value = abs(float(self.work.system.extra[self.at]))
        return value if math.isfinite(value) else 0.0

    def _place(self, state: State, outcome: Outcome) -> Place:
        self.iterations += outcome.iterations
        self.solves += 1
        if self.watch is not None:
            self.watch(self.solves)
        torque = float(self.work.system.extra[self.at]) * self.drive.torque_unit_nmm
        state.gaps = None
        slope, way = self._slope(state) if outcome.settled else (math.nan, None)
        return Place(float(state.extra[self.at]) - self.home, torque, slope, state, outcome, way)

    def _slope(self, state: State) -> tuple[float, Way]:
        """Torque gained per windup along the path through a settled state, and the way it goes."""
        work = self.work
        work.fill(state, np.zeros_like(state.extra), -math.inf)
        solution = work.solve(self.free, HAIR)
        matrix, _, _, extras = solution.reduced()
        count = len(self.loose)
        block, side = matrix[:count, :count], matrix[:count, count]
        answer = np.linalg.solve(block, side)
        de = np.zeros_like(state.extra)
        de[self.loose], de[self.at] = -answer, 1.0
        dq = -extras @ de[self.free]
        still = np.zeros_like(dq)
        here, after = work.gaps_after(still, np.zeros_like(de)), work.gaps_after(dq, de)
        moved = None if here is None or after is None else np.array((here, after - here))
        way = Way(dq, solution.leans(dq, de, 0.0), de, moved)
        return float(matrix[count, count] - side @ answer) * self.drive.torque_unit_nmm, way

    def tangent(self, state: State) -> tuple[Array, Array]:
        """Unit direction of the path (nodes, extras) at a state.

        It winds up where the tangent stiffness is positive and turns round with the sign of its determinant, so that the
        way goes on past limits and through the kinks where contacts open or close.
        """
        self.work.fill(state, np.zeros_like(state.extra), -math.inf)
        solution = self.work.solve(self.free, HAIR)
        matrix, _, _, extras = solution.reduced()
        count = len(self.loose)
        block = matrix[:count, :count]
        # loose equations stay met while the ring turns by one
        de = np.append(np.linalg.solve(block, -matrix[:count, count]), 1.0)
        dq = -extras @ de
        size = math.sqrt(self._inner(dq, dq) + float(de @ de)) * solution.sign(block)
        return dq / size, de / size

    def _inner(self, a: Array, b: Array) -> float:
        return float(np.vdot(a, b)) / self.drive.nodes

    def arc_to(self, start: Place, direction: tuple[Array, Array], length: float) -> Place | None:
        """Settle at an arc length along the path from a place, with the rotation itself unknown; None where it fails."""
        state = start.state.copy()
        dq, de = direction
        state.q += length * dq
        state.extra[self.free] += length * de
        goal_q, goal_e = state.q.copy(), state.extra[self.free].copy()
        none = np.zeros_like(state.extra)
        count = len(self.loose)
        force = self.push + abs(start.torque_nmm) / self.drive.torque_unit_nmm
        best = math.inf
        for iteration in range(1, ARC_ITERATIONS + 1):
            self.work.fill(state, none, -math.inf)
            residual = self.work.residual(self.loose)
            if residual < 0.1 * ENOUGH * force:
                outcome = Outcome(True, iteration, residual / force, force, 0.0, 0)
                return self._place(state, outcome)
            if not math.isfinite(residual) or (iteration > 5 and residual > 100.0 * best):
                return None
            best = min(best, residual)
            solution = self.work.solve(self.free, HAIR)
            matrix, known, own, extras = solution.reduced()
            off = self._inner(dq, state.q - goal_q) + float(de @ (state.extra[self.free] - goal_e))
            row = de - np.einsum("nb,nbf->f", dq, extras) / self.drive.nodes
            matrix[count] = row
            known[count] = -off - self._inner(dq, own)
            try:
                change = np.linalg.solve(matrix, known)
            except np.linalg.LinAlgError:
                return None
            move = own - extras @ change
            full = np.zeros_like(state.extra)
            full[self.free] = change
            lean = solution.leans(move, full)
            share = min(1.0, LONGEST_MOVE / max(float(np.abs(move).max()), 1e-300))
            state.q += share * move
            state.lean += share * lean
            state.extra += share * full
        return None


def ahead(last: Place, windup_rad: float) -> State:
    """A start state for a windup: the last place carried on along its way."""
    if last.way is None:
        return last.state.copy()
    return last.way.on(last.state, windup_rad - last.windup_rad)


def toward(place: Place, torque_nmm: float) -> State:
    """A start state for a torque near that of a place: carried on along its way."""
    if place.way is None or place.slope_nmm_per_rad <= 0.0:
        return place.state.copy()
    return place.way.on(place.state, (torque_nmm - place.torque_nmm) / place.slope_nmm_per_rad)
