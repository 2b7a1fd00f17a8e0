"""One-sided, frictionless contact of the ring's line with the generator's bodies, as a set of gap conditions.

A body touches either at *stations* (the nodes; for contact arcs, where ring and body are curved alike) or at one
*point* that slides freely along the smooth line between the nodes (a roller). Dimensionless like `beam_element`.
"""

import math
from dataclasses import dataclass, field

import numpy as np
from numba import njit
from numpy.typing import NDArray

from lobewright.ring.beam_bodies import CircleBody, CurveBody, circle_distance, curve_distance, curve_table
from lobewright.ring.beam_element import line_bend, line_point
from lobewright.ring.beam_linear import RingSystem

Array = NDArray[np.float64]
Indices = NDArray[np.int64]


@dataclass(frozen=True)
class Gaps:
    """Gap conditions at one state: element (M,), gap (M,) over R, gradient (M, 6), second derivative (M, 6, 6) in the
    element's nodes, and compliance (M,) of the line between its nodes under a unit force there."""

    element: Indices
    gap: Array
    gradient: Array
    second: Array
    compliance: Array


@njit(cache=True, error_model="numpy")
def _station_gaps(q, nodes, kind, circle, table, near, offset, gap, gradient, second):
    """Fill gaps of the given nodes to one body (kind 0 circle, 1 curve); near (K,) is updated in place."""
    arc = 2.0 * math.pi / q.shape[0]
    for k in range(nodes.shape[0]):
        i = nodes[k]
        px, py = math.cos(i * arc) + q[i, 0], math.sin(i * arc) + q[i, 1]
        if kind == 0:
            d, nx, ny, factor = circle_distance(circle[0], circle[1], circle[2], px, py)
        else:
            d, nx, ny, factor, near[k] = curve_distance(table, near[k], px, py)
        gap[k] = d - offset
        gradient[k, 0], gradient[k, 1] = nx, ny
        second[k, 0, 0] = factor * ny * ny
        second[k, 0, 1] = second[k, 1, 0] = -factor * nx * ny
        second[k, 1, 1] = factor * nx * nx


@njit(cache=True, error_model="numpy")
def _point_gap(q, circle, offset, place):
    """Least distance of the line from a circle near line parameter `place` (element number + ξ).

    Returns (place, gap, gradient (6,), second (6, 6), relative curvature d²gap/dξ²).
    """
    count = q.shape[0]
    for _ in range(50):
        i = math.floor(place) % count
        xi = place - math.floor(place)
        x, _, _ = line_point(q, i, xi)
        _, nx, ny, factor = circle_distance(circle[0], circle[1], circle[2], x[0, 0], x[0, 1])
        across = -ny * x[1, 0] + nx * x[1, 1]
        slope = nx * x[1, 0] + ny * x[1, 1]
        curve = factor * across * across + nx * x[2, 0] + ny * x[2, 1]
        if curve <= 0.0:
            break
        move = min(0.5, max(-0.5, -slope / curve))
        if abs(move) < 1e-14:
            break
        place += move
    i = math.floor(place) % count
    xi = place - math.floor(place)
    x, jac, ends = line_point(q, i, xi)
    d, nx, ny, factor = circle_distance(circle[0], circle[1], circle[2], x[0, 0], x[0, 1])
    tx, ty = -ny, nx
    across = tx * x[1, 0] + ty * x[1, 1]
    curve = factor * across * across + nx * x[2, 0] + ny * x[2, 1]
    gradient = nx * jac[0, 0] + ny * jac[0, 1]
    along = tx * jac[0, 0] + ty * jac[0, 1]
    slide = nx * jac[1, 0] + ny * jac[1, 1] + factor * across * along
    second = line_bend(nx, ny, ends)
    for r in range(6):
        for c in range(6):
            second[r, c] += factor * along[r] * along[c]
            if curve > 0.0:
                second[r, c] -= slide[r] * slide[c] / curve
    return i + xi, d - offset, gradient, second, curve


@njit(cache=True, error_model="numpy")
def add_gap_terms(element, gradient, second, force, stiffness, push, residual, rhs, diagonal, upper, lower):
    """Contact forces into the residual; condensed stiffness, geometric stiffness and push into the linear system."""
    count = residual.shape[0]
    for k in range(element.shape[0]):
        i = element[k]
        j = i + 1 if i + 1 < count else 0
        for r in range(6):
            a, p = (i, r) if r < 3 else (j, r - 3)
            residual[a, p] -= force[k] * gradient[k, r]
            rhs[a, p] += push[k] * gradient[k, r]
            for c in range(6):
                value = stiffness[k] * gradient[k, r] * gradient[k, c] - force[k] * second[k, r, c]
                if r < 3 and c < 3:
                    diagonal[i, r, c] += value
                elif r >= 3 and c >= 3:
                    diagonal[j, r - 3, c - 3] += value
                elif r < 3:
                    upper[i, r, c - 3] += value
                else:
                    lower[i, r - 3, c] += value


@dataclass
class BodyContact:
    """Working state of one body's contact: its stations, or the place of its single touching point."""

    body: CircleBody | CurveBody
    radius_mm: float
    offset: float
    nodes: Indices = field(default_factory=lambda: np.zeros(0, dtype=np.int64))
    place: float | None = None
    relative_curvature: float = 1.0

    def __post_init__(self) -> None:
        shrink = 1.0 / self.radius_mm
        if isinstance(self.body, CircleBody):
            self.kind = 0
            self.full_circle = shrink * np.array([self.body.x_mm, self.body.y_mm, self.body.radius_mm])
            self.full_table = np.zeros((1, 7))
            self.middle = self.full_circle[:2]
        else:
            self.kind = 1
            self.full_circle = np.zeros(3)
            self.full_table = curve_table(self.body.points_mm * shrink)
            self.middle = self.full_table[:, 5:7].mean(axis=0)
        self.near = np.zeros(0, dtype=np.int64)
        self.resize(np.zeros(2), 1.0)

    def reach(self, centre: Array) -> float:
        """How far the body at full size stands out from a centre (2,), over R."""
        if self.kind == 0:
            return math.hypot(*(self.middle - centre)) + float(self.full_circle[2])
        return float(np.hypot(*(self.full_table[:, 5:7] - centre).T).max())

    def resize(self, centre: Array, size: float) -> None:
        """Take the body shrunk about a centre (2,), over R; size 1 is the body itself."""
        self.circle = size * self.full_circle
        self.circle[:2] += (1.0 - size) * centre
        self.table = self.full_table * np.array([size, 1.0, 1.0, 1.0 / size, 1.0 / size, size, size])
        self.table[:, 5:7] += (1.0 - size) * centre

    def set_stations(self, q: Array, reach: float) -> None:
        """Make all nodes within reach of the body its stations and forget the touching point."""
        everywhere = np.arange(q.shape[0])
        self.near = self._first_near(q)
        gap = self._fill(q, everywhere)[0]
        keep = gap < reach
        self.nodes, self.near, self.place = everywhere[keep], self.near[keep], None

    def node_gaps(self, q: Array) -> Array:
        """Gap (N,) of every node, over R."""
        saved, self.near = self.near, self._first_near(q)
        gap = self._fill(q, np.arange(q.shape[0]))[0]
        self.near = saved
        return gap

    def gaps(self, q: Array) -> Gaps:
        """The body's gap conditions at state q."""
        if self.place is None:
            gap, gradient, second = self._fill(q, self.nodes)
            return Gaps(self.nodes, gap, gradient, second, np.zeros(len(gap)))
        self.place, gap, gradient, second, self.relative_curvature = _point_gap(q, self.circle, self.offset, self.place)
        xi = self.place % 1.0
        arc = 2.0 * math.pi / q.shape[0]
        compliance = (arc * xi * (1.0 - xi)) ** 3 / 3.0
        element = np.array([int(self.place) % q.shape[0]])
        return Gaps(element, np.array([gap]), gradient[None], second[None], np.array([compliance]))

    def _first_near(self, q: Array) -> Indices:
        """Knot of the cam nearest by direction seen from the middle of its points (zeros for a circle)."""
        if self.kind == 0:
            return np.zeros(q.shape[0], dtype=np.int64)
        label = 2.0 * math.pi * np.arange(q.shape[0]) / q.shape[0]
        points = self.table[:, 5:7]
        middle = points.mean(axis=0)
        place = np.column_stack([np.cos(label), np.sin(label)]) + q[:, :2] - middle
        seen = np.unwrap(np.arctan2(points[:, 1] - middle[1], points[:, 0] - middle[0]))
        wanted = seen[0] + np.mod(np.arctan2(place[:, 1], place[:, 0]) - seen[0], 2.0 * math.pi)
        return np.clip(np.searchsorted(seen, wanted), 0, len(points) - 1).astype(np.int64)

    def _fill(self, q: Array, nodes: Indices) -> tuple[Array, Array, Array]:
        gap, gradient, second = np.empty(len(nodes)), np.zeros((len(nodes), 6)), np.zeros((len(nodes), 6, 6))
        _station_gaps(q, nodes, self.kind, self.circle, self.table, self.near, self.offset, gap, gradient, second)
        return gap, gradient, second


class GeneratorContact:
    """All gap conditions of a generator; `owner` (M,) tells the body of each."""

    def __init__(self, bodies: list[BodyContact]) -> None:
        self.bodies = bodies

    def gaps(self, q: Array) -> Gaps:
        """All gap conditions at state q, body after body."""
        parts = [body.gaps(q) for body in self.bodies]
        self.owner = np.repeat(np.arange(len(parts)), [len(part.gap) for part in parts])
        return Gaps(
            np.concatenate([part.element for part in parts]),
            np.concatenate([part.gap for part in parts]),
            np.concatenate([part.gradient for part in parts]),
            np.concatenate([part.second for part in parts]),
            np.concatenate([part.compliance for part in parts]),
        )


def add_gaps(gaps: Gaps, force: Array, stiffness: Array, push: Array, system: RingSystem, rhs: Array) -> None:
    """`add_gap_terms` on a system."""
    add_gap_terms(
        gaps.element,
        gaps.gradient,
        gaps.second,
        force,
        stiffness,
        push,
        system.residual,
        rhs,
        system.diagonal,
        system.upper,
        system.lower,
    )
