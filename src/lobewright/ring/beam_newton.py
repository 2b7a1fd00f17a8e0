"""Equilibrium of the ring: Newton's method with a primal-dual interior path for the one-sided contact.

Every gap condition k has a slack s_k > 0 and a force λ_k > 0 with gap_k + c_k λ_k = s_k and λ_k s_k = μ; μ falls until
the complementarity is met to rounding. Slack and force are condensed into the nodes, so the system stays cyclic
block-tridiagonal. Dimensionless like `beam_element`. Source: common practice in convex optimisation; derived here.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from lobewright.ring.beam_contact import Gaps, GeneratorContact, add_gaps
from lobewright.ring.beam_element import add_element, assemble_ring, line_bend, line_point
from lobewright.ring.beam_linear import RingSystem, solve_held

Array = NDArray[np.float64]

LONGEST_MOVE = 0.05  # of R (and rad) in one iteration: beyond it the tangent says little
SOFTEST = 1e-12  # smallest compliance of a gap in the linear system; touches the path, not the solution

LEAST_FORCE = 1e-6  # of EI/R²: residuals are relative to the acting forces, but never to less than this
OFF_CENTRE = 1e-3  # a product this far under the mean blocks the path: even them out before going on


class Interaction(Protocol):
    """A force on the ring's nodes that follows from the state alone (loads, springs)."""

    def add(self, q: Array, system: RingSystem) -> None:
        """Add its gradient and tangent at q (N, 3), dimensionless, to the system."""


@dataclass(frozen=True)
class DeadLoads:
    """Forces (K, 2) that keep their direction, at line parameters place (K,) (element number + ξ)."""

    place: Array
    force: Array

    def add(self, q: Array, system: RingSystem) -> None:
        """Minus the loads, and the tangent of loads that act between nodes."""
        for element, share, tangent in self.shares(q):
            after = (element + 1) % len(q)
            add_element(element, after, -share, -tangent, system.residual, system.diagonal, system.upper, system.lower)

    def shares(self, q: Array) -> list[tuple[int, Array, Array]]:
        """Element, nodal share (6,) and its derivative (6, 6) of every load."""
        out = []
        for place, (fx, fy) in zip(self.place, self.force, strict=True):
            element = int(place) % len(q)
            _, jac, ends = line_point(q, element, place % 1.0)
            out.append((element, fx * jac[0, 0] + fy * jac[0, 1], line_bend(fx, fy, ends)))
        return out


@dataclass
class Unknowns:
    """Working state: nodes q (N, 3), multipliers of the held motions (H,), slack and force (M,) of the gaps."""

    q: Array
    hold: Array
    slack: Array
    force: Array

    def copy(self) -> "Unknowns":
        """An independent copy."""
        return Unknowns(self.q.copy(), self.hold.copy(), self.slack.copy(), self.force.copy())


@dataclass(frozen=True)
class Outcome:
    """How a Newton run ended: residuals are dimensionless, force_scale is what force_error is relative to."""

    settled: bool
    iterations: int
    force_error: float
    gap_error: float
    product: float
    force_scale: float


@dataclass(frozen=True)
class Aim:
    """What to reach: force residual relative to the acting forces, gap residual over R, product λ·s."""

    force: float
    gap: float
    product: float
    iterations: int


def mean_holds(nodes: int, translation: bool) -> Array:
    """Held motions (k, N, 3): mean turn of the sections, and mean displacement when nothing else holds the ring."""
    hold = np.zeros((3 if translation else 1, nodes, 3))
    hold[0, :, 2] = 1.0 / nodes
    if translation:
        hold[1, :, 0] = hold[2, :, 1] = 1.0 / nodes
    return hold


def newton(
    x: Unknowns,
    axial: float,
    interactions: Sequence[Interaction],
    hold: Array,
    contact: GeneratorContact | None,
    load_scale: float,
    aim: Aim,
) -> Outcome:
    """Drive x in place to equilibrium.

    axial: EA·R²/EI; interactions: forces other than the ring's own and its contact; load_scale: sum of the given loads.
    """
    damp = 0.1
    outcome: Outcome
    for iteration in range(aim.iterations + 1):
        system = RingSystem.zero(len(x.q))
        assemble_ring(x.q, axial, system.residual, system.diagonal, system.upper, system.lower)
        for part in interactions:
            part.add(x.q, system)
        system.residual[:] += np.tensordot(x.hold, hold, 1)
        gaps = contact.gaps(x.q) if contact else NO_GAPS
        mismatch = gaps.gap + gaps.compliance * x.force - x.slack
        product = x.force * x.slack
        mean = float(product.mean()) if len(product) else 0.0
        target = max(0.5 * aim.product, damp * mean) if mean > aim.product else 0.5 * aim.product
        soft = x.slack / np.maximum(x.force, 1e-300) + gaps.compliance + SOFTEST
        pull = (target / np.maximum(x.force, 1e-300) - x.slack - mismatch) / soft
        rhs = np.zeros_like(x.q)
        add_gaps(gaps, x.force, 1.0 / soft, pull, system, rhs)
        scale = max(load_scale, float(x.force.sum()), LEAST_FORCE)
        outcome = Outcome(
            False,
            iteration,
            float(np.abs(system.residual).max()) / scale,
            float(np.abs(mismatch).max(initial=0.0)),
            float(product.max(initial=0.0)),
            scale,
        )
        if not math.isfinite(outcome.force_error):
            return outcome
        allowed = aim.force + _rounding(x.q, axial) / scale
        if outcome.force_error < allowed and outcome.gap_error < aim.gap and outcome.product <= aim.product:
            return replace(outcome, settled=True)
        rhs -= system.residual
        try:
            step, hold_step = solve_held(system, rhs, hold, -np.tensordot(hold, x.q, ((1, 2), (0, 1))))
        except np.linalg.LinAlgError:
            return outcome
        if not np.isfinite(step).all():
            return outcome
        damp = _move(x, gaps, step, hold_step, pull, soft, mismatch)
    return outcome


def _rounding(q: Array, axial: float) -> float:
    """Nodal force that rounding can leave: the last digit of an element's strain and skew, times its stiffness."""
    arc = 2.0 * math.pi / len(q)
    digit = np.finfo(float).eps * (1.0 + float(np.abs(q).max()) / arc)
    return 4.0 * digit * (axial + 12.0 / arc**2)


NO_GAPS = Gaps(np.zeros(0, dtype=np.int64), np.zeros(0), np.zeros((0, 6)), np.zeros((0, 6, 6)), np.zeros(0))


def _move(x: Unknowns, gaps: Gaps, step: Array, hold_step: Array, pull: Array, soft: Array, mismatch: Array) -> float:
    """Take the step as far as slack and force stay positive; returns by how much the next step lowers the product."""
    after = (gaps.element + 1) % len(step)
    closing = np.einsum("kc,kc->k", gaps.gradient[:, :3], step[gaps.element])
    closing += np.einsum("kc,kc->k", gaps.gradient[:, 3:], step[after])
    force_step = pull - closing / soft
    slack_step = closing + (gaps.compliance + SOFTEST) * force_step + mismatch
    short = min(1.0, LONGEST_MOVE / max(float(np.abs(step).max()), 1e-300))
    primal = min(short, _longest(x.slack, slack_step))
    dual = min(short, _longest(x.force, force_step))
    x.q += primal * step
    x.slack += primal * slack_step
    x.hold += dual * hold_step
    x.force += dual * force_step
    reach = min(primal, dual)
    product = x.slack * x.force
    if reach < 0.95 and len(product) and product.min() < OFF_CENTRE * product.mean():
        return 1.0
    return 0.02 if reach > 0.95 else (0.1 if reach > 0.5 else 0.5)


def _longest(value: Array, change: Array) -> float:
    """Longest share of the change that leaves the values positive, with a margin."""
    falling = change < 0.0
    if not falling.any():
        return 1.0
    return min(1.0, 0.995 * float((-value[falling] / change[falling]).min()))
