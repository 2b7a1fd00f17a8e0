"""Few circular arcs in place of many outline points.

Every arc begins and ends on the outline. For each pair of outline points the best arc between them is the one whose
largest distance from the points in between is least; the chain with the fewest arcs, and among those with the smallest
largest distance, follows by dynamic programming. The distance that is reported is measured afterwards on the finished
chain, both ways: from the outline to the arcs and from the arcs to the outline.

Circles through both ends of a chord of half length a, in coordinates x along and y left of the chord with the middle
at 0, are t·(x² + y² − a²) = y for one number t (0 is the chord itself), so a point's distance from the circle is
(t·(x² + y² − a²) − y) / (√(t²x² + (ty − ½)²) + √(t²a² + ¼)), which is exact and has no pole. The bulge of the arc is
2ta/(1 + √(1 + 4t²a²)). Derived.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from numba import njit

from lobewright.errors import ConvergenceFault, Fault
from lobewright.make.outlines import Chain, sample

Array = np.ndarray
TOLERANCE_MM = 0.002
"""How far the arcs of a part may lie from the generated outline."""
AIMS = (0.8, 0.95)
"""Shares of the tolerance that the search may use, the second where the first needs too many arcs; the rest covers what
lies between the points it looks at."""
MOST_BULGE = 0.8
GIVE_UP = 25.0
"""An arc that misses by this many tolerances will not come good by reaching farther."""
FLAT_MM = 1e-7
"""An arc that bows by less is a line."""
SAMPLED_MM = 5e-5
"""Bow of the chords that stand for the arcs when the distance is measured."""
GOLDEN = (math.sqrt(5) - 1) / 2
PIECES = 60
"""Outline pieces longer than this part of the whole get more points."""


@dataclass(frozen=True)
class Fit:
    """Arcs in place of an outline. ``error_mm`` is the largest distance between both, measured both ways."""

    chain: Chain
    error_mm: float

    @property
    def edges(self) -> int:
        return len(self.chain.bulges)


@njit(cache=True)
def _miss(t: float, x: Array, y: Array, count: int, a: float, stop: float) -> float:
    """Largest distance of points from the arc; points off its ends or beyond its chord count at least by how far.

    Misses above ``stop`` are not worked out to the end.
    """
    worst = 0.0
    root = math.sqrt(t * t * a * a + 0.25)
    for k in range(count):
        top = t * (x[k] * x[k] + y[k] * y[k] - a * a) - y[k]
        off = abs(top) / (math.sqrt(t * t * x[k] * x[k] + (t * y[k] - 0.5) ** 2) + root)
        worst = max(worst, off, abs(x[k]) - a, abs(y[k]) if t * y[k] > 0.0 else 0.0)
        if worst > stop:
            break
    return worst


@njit(cache=True)
def _best_arc(px: Array, py: Array, i: int, j: int, most_bulge: float, x: Array, y: Array) -> tuple[float, float]:
    """Number t and largest miss of the best arc from point i to point j; ``x`` and ``y`` are room to work in."""
    dx, dy = px[j] - px[i], py[j] - py[i]
    length = math.sqrt(dx * dx + dy * dy)
    if j == i + 1 or length == 0.0:
        return 0.0, 0.0
    a = length / 2
    cx, cy = (px[i] + px[j]) / 2, (py[i] + py[j]) / 2
    ux, uy = dx / length, dy / length
    most = most_bulge / (a * (1.0 - most_bulge * most_bulge))
    low, high = most, -most
    for k in range(i + 1, j):
        qx, qy = px[k] - cx, py[k] - cy
        x[k - i - 1], y[k - i - 1] = qx * ux + qy * uy, qy * ux - qx * uy
        below = x[k - i - 1] ** 2 + y[k - i - 1] ** 2 - a * a
        if below < -0.05 * a * a:
            through = y[k - i - 1] / below
            low, high = min(low, through), max(high, through)
    low, high = max(min(low, high), -most), min(max(low, high), most)
    count = j - i - 1
    if low >= high:
        return low, _miss(low, x, y, count, a, np.inf)
    one, two = high - GOLDEN * (high - low), low + GOLDEN * (high - low)
    at_one, at_two = _miss(one, x, y, count, a, np.inf), _miss(two, x, y, count, a, np.inf)
    for _ in range(16):
        if at_one < at_two:
            high, two, at_two = two, one, at_one
            one = high - GOLDEN * (high - low)
            at_one = _miss(one, x, y, count, a, at_two)
        else:
            low, one, at_one = one, two, at_two
            two = low + GOLDEN * (high - low)
            at_two = _miss(two, x, y, count, a, at_one)
    t = one if at_one < at_two else two
    return t, _miss(t, x, y, count, a, np.inf)


@njit(cache=True)
def _misses(px: Array, py: Array, nodes: Array, most_bulge: float, give_up: float) -> tuple[Array, Array]:
    """For all pairs i < j of nodes: number t and largest miss of the best arc; those not looked at are infinite.

    ``nodes`` are the places among the points where an arc may end.
    """
    n = len(nodes)
    number, miss = np.zeros((n, n)), np.full((n, n), np.inf)
    x, y = np.empty(len(px)), np.empty(len(px))
    for i in range(n):
        beyond = 0
        for j in range(i + 1, n):
            number[i, j], miss[i, j] = _best_arc(px, py, nodes[i], nodes[j], most_bulge, x, y)
            beyond = beyond + 1 if miss[i, j] > give_up else 0
            if beyond > 8:
                break
    return number, miss


@njit(cache=True)
def _fewest(miss: Array, allowed: float) -> Array:
    """Breakpoints of the chain with the fewest arcs within ``allowed``, then the smallest largest miss."""
    n = len(miss)
    count = np.full(n, n + 1)
    worst = np.full(n, np.inf)
    before = np.full(n, -1)
    count[0], worst[0] = 0, 0.0
    for j in range(1, n):
        for i in range(j):
            if miss[i, j] > allowed or count[i] > n:
                continue
            steps, most = count[i] + 1, max(worst[i], miss[i, j])
            if steps < count[j] or (steps == count[j] and most < worst[j]):
                count[j], worst[j], before[j] = steps, most, i
    path = np.zeros(count[n - 1] + 1, dtype=np.int64)
    at = n - 1
    for k in range(count[n - 1], -1, -1):
        path[k] = at
        at = before[at]
    return path


def _dense(line_mm: Array) -> tuple[Array, Array]:
    """Outline points with long pieces divided, then one more in the middle of each piece; places of the former.

    An arc that touches only the corners of an outline shows at the middles.
    """
    step = float(np.hypot(*np.diff(line_mm, axis=0).T).sum()) / PIECES
    rows = [line_mm[:1]]
    for a, b in pairwise(line_mm):
        count = 2 * max(1, math.ceil(math.hypot(*(b - a)) / step))
        rows.append(a + (b - a) * (np.arange(1, count + 1) / count)[:, None])
    points = np.vstack(rows)
    return points, np.arange(0, len(points), 2)


def fit_arcs(points_mm: Array, name: str, most_edges: int = 0, tolerance_mm: float = TOLERANCE_MM) -> Fit:
    """Replace an open outline (N, 2) by the fewest arcs and lines within a tolerance; both ends are kept.

    ``most_edges`` is a limit on their number (0: none). Raises ConvergenceFault, naming the outline by ``name``, when
    the tolerance or the limit is missed.
    """
    apart = np.hypot(*np.diff(points_mm, axis=0).T) > 1e-6
    points, nodes = _dense(points_mm[np.concatenate((apart, [True]))])
    number, miss = _misses(points[:, 0].copy(), points[:, 1].copy(), nodes, MOST_BULGE, GIVE_UP * tolerance_mm)
    fit = _chain(points[nodes], number, _fewest(miss, AIMS[0] * tolerance_mm), points_mm)
    if most_edges and fit.edges > most_edges:
        fit = _chain(points[nodes], number, _fewest(miss, AIMS[1] * tolerance_mm), points_mm)
    if fit.error_mm > tolerance_mm:
        what = f"the arcs do not follow the outline of {name}"
        allowed = f"at most {tolerance_mm:g} mm"
        raise ConvergenceFault([Fault(what, value=f"{fit.error_mm:.4f} mm", allowed=allowed)], last_good=fit)
    if most_edges and fit.edges > most_edges:
        what = f"the outline of {name} needs too many arcs"
        raise ConvergenceFault([Fault(what, value=f"{fit.edges}", allowed=f"at most {most_edges}")], last_good=fit)
    return fit


def _chain(nodes_mm: Array, number: Array, path: Array, points_mm: Array) -> Fit:
    """The arcs along a path of nodes, with their distance from the outline's points."""
    corners, t = nodes_mm[path], number[path[:-1], path[1:]]
    half = np.hypot(*np.diff(corners, axis=0).T) / 2
    bulges = 2 * t * half / (1 + np.sqrt(1 + 4 * (t * half) ** 2))
    bulges[np.abs(bulges) * half < FLAT_MM] = 0.0
    chain = Chain(corners, bulges)
    return Fit(chain, distance_mm(points_mm, sample(chain, SAMPLED_MM)))


def distance_mm(one_mm: Array, other_mm: Array) -> float:
    """Largest distance between two open lines, both ways, looked at every few micrometres of bow."""
    lines = [shapely.LineString(points) for points in (one_mm, other_mm)]
    worst = 0.0
    for line, target in (lines, lines[::-1]):
        step = max(line.length / 2000, 1e-3)
        dense = shapely.points(shapely.get_coordinates(shapely.segmentize(line, step)))
        shapely.prepare(target)
        worst = max(worst, float(shapely.distance(dense, target).max()))
    return worst
