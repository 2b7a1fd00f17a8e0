"""Mapped mesh of one pitch of the flexible ring: a wall with one tooth on it, all of it one integer lattice.

The wall is three blocks side by side (left land, under the tooth, right land), the tooth a fourth above the middle one;
blocks meet in the middle of the root roundings, so no corner of a block is flat or sharp. Points between the sides are
blended from them (transfinite interpolation). Every block is nine-node quadrilaterals, so a mesh is stored as the points
at half steps of the lattice. ``refined`` cuts every element in four on the same curves.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from lobewright.errors import DesignFault, Fault
from lobewright.ring.cell_outline import GROWTH, Blocks, SmoothOutline, element_sizes, smooth_outline, tooth_blocks

Array = np.ndarray

FLAT_SHARE = 1e-9
"""A tooth lower than this share of the wall is no tooth."""
FLANK_LEAST = 6
"""Elements up a flank at least: a flank force must be spread over a few."""


@dataclass(frozen=True)
class CellMesh:
    """Quadrilaterals on a lattice. ``places_mm`` (2C + 1, 2R + 1, 2): points at half steps, NaN where nothing is;
    ``cells`` (n, 2): lattice position of each element's lower left corner. ``outer`` and ``inner`` (2E + 1, 2): half-step
    positions along the outline and the inner surface, left to right; ``left`` and ``right``: up the two end sections;
    ``tooth`` (K, 2): all half-step positions of the tooth's block, its seam with the wall included."""

    places_mm: Array
    cells: Array
    outer: Array
    inner: Array
    left: Array
    right: Array
    tooth: Array

    def along_mm(self, track: Array) -> Array:
        """Points of a list of half-step positions, shape (len, 2)."""
        return self.places_mm[track[:, 0], track[:, 1]]


def _nodes(knots: Array, refine: int) -> Array:
    """All nodes, element middles included, of a line with every element between knots cut in ``refine``."""
    weight = np.arange(2 * refine) / (2 * refine)
    inner = knots[:-1, None] * (1 - weight) + knots[1:, None] * weight
    return np.append(inner.ravel(), knots[-1])


def _needed(curve: SmoothOutline, size: Array, low: float, high: float) -> float:
    """Number of elements that the sizes ask for between two arc lengths."""
    inside = (curve.arc_mm > low) & (curve.arc_mm < high)
    arc = np.concatenate(([low], curve.arc_mm[inside], [high]))
    return float(np.trapezoid(1 / np.interp(arc, curve.arc_mm, size), arc))


def _piece(curve: SmoothOutline, size: Array, low: float, high: float, count: int) -> Array:
    inside = (curve.arc_mm > low) & (curve.arc_mm < high)
    arc = np.concatenate(([low], curve.arc_mm[inside], [high]))
    rate = 1 / np.interp(arc, curve.arc_mm, size)
    total = np.concatenate(([0.0], np.cumsum((rate[1:] + rate[:-1]) / 2 * np.diff(arc))))
    knots = np.interp(np.linspace(0.0, total[-1], count + 1), total, arc)
    knots[0], knots[-1] = low, high
    return knots


def _breaks(curve: SmoothOutline, low: float, high: float) -> list[float]:
    """Ends of a side and the corners between: element ends must fall on corners."""
    room = 1e-6 * (high - low)
    return [low, *(float(c) for c in curve.corners_mm if low + room < c < high - room), high]


def _least(curve: SmoothOutline, size: Array, low: float, high: float) -> int:
    breaks = _breaks(curve, low, high)
    return sum(max(1, math.ceil(_needed(curve, size, a, b) - 0.25)) for a, b in pairwise(breaks))


def _side(curve: SmoothOutline, size: Array, low: float, high: float, count: int) -> Array:
    """Arc lengths of the ends of ``count`` elements, each piece between corners getting its share."""
    breaks = _breaks(curve, low, high)
    spans = list(pairwise(breaks))
    need = [_needed(curve, size, a, b) for a, b in spans]
    given = [1] * len(spans)
    for _ in range(count - len(spans)):
        given[int(np.argmax([n / g for n, g in zip(need, given, strict=True)]))] += 1
    parts = [_piece(curve, size, a, b, n) for (a, b), n in zip(spans, given, strict=True)]
    return np.concatenate([parts[0], *(p[1:] for p in parts[1:])])


def _graded(length: float, first: float, last: float, largest: float, count: int = 0) -> Array:
    """Fractions 0 … 1 of a line whose elements start at size ``first``, end at ``last`` and grow in between."""
    along = np.linspace(0.0, length, 400)
    size = np.minimum(np.minimum(first + GROWTH * along, last + GROWTH * (length - along)), largest)
    total = np.concatenate(([0.0], np.cumsum((1 / size[1:] + 1 / size[:-1]) / 2 * np.diff(along))))
    count = count or max(2, math.ceil(total[-1] - 0.25))
    return np.interp(np.linspace(0.0, total[-1], count + 1), total, along) / length


def _blend(bottom: Array, top: Array, left: Array, right: Array) -> Array:
    """Points between four sides (transfinite interpolation): bottom, top (C, 2), left, right (R, 2)."""

    def fraction(side: Array) -> Array:
        steps = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(side, axis=0).T))))
        return steps / steps[-1]

    eta = ((fraction(left) + fraction(right)) / 2)[None, :]
    low, high = fraction(bottom)[:, None], fraction(top)[:, None]
    xi = ((1 - eta) * low + eta * high)[..., None]
    eta = eta[..., None]
    across = (1 - eta) * bottom[:, None] + eta * top[:, None]
    up = (1 - xi) * left[None, :] + xi * right[None, :]
    corners = (1 - eta) * ((1 - xi) * bottom[0] + xi * bottom[-1]) + eta * ((1 - xi) * top[0] + xi * top[-1])
    return across + up - corners


def _line(a: Array, b: Array, fraction: Array) -> Array:
    return a + (b - a) * fraction[:, None]


@dataclass(frozen=True)
class CellPlan:
    """Curve, blocks and element ends of the coarse mesh; ``mesh(refine)`` draws it with elements cut.

    ``lands``, ``flanks`` and ``top`` hold arc lengths of element ends (a land may be empty), ``seam`` fractions of the
    line between the two roots, ``rows`` fractions of the wall from the inner surface up.
    """

    curve: SmoothOutline
    blocks: Blocks | None
    bottom_mm: float
    lands: tuple[Array, Array]
    flanks: tuple[Array, Array]
    top: Array
    seam: Array
    rows: Array

    def mesh(self, refine: int = 1) -> CellMesh:
        """The mesh with every element cut in ``refine`` × ``refine``.

        Raises DesignFault when the outline hangs over or winds so much that an element would fold.
        """
        mesh = _uneven_wall(self, refine) if self.blocks is None else _wall_and_tooth(self, refine)
        _must_not_fold(mesh)
        return mesh


def plan_cell(points_mm: Array, bottom_mm: float, finer: float = 1.0) -> CellPlan:
    """Plan the mesh of one pitch between the outline (N, 2) and the inner surface at height ``bottom_mm``.

    ``finer`` divides all element sizes (for studies of the order of accuracy; the cell itself refines by cutting).
    """
    curve = smooth_outline(points_mm)
    heights = curve.place_mm[:, 1]
    pitch = curve.points_mm[-1, 0] - curve.points_mm[0, 0]
    wall, tooth = float(heights.min()) - bottom_mm, float(np.ptp(heights))
    blocks = tooth_blocks(curve) if tooth > FLAT_SHARE * wall else None
    largest = min(pitch / 6, 0.6 * wall) / finer
    sizes = element_sizes(curve, largest, 1e-3 * wall / finer, 0.04 * min(tooth + 1e-3 * wall, wall) / finer, finer)
    whole, none = float(curve.arc_mm[-1]), np.empty(0)
    if blocks is None:
        top = _side(curve, sizes, 0.0, whole, max(4, _least(curve, sizes, 0.0, whole)))
        rows = _graded(wall, largest, float(sizes.min()), largest)
        return CellPlan(curve, None, bottom_mm, (none, none), (none, none), top, none, rows)
    b = blocks
    lands = tuple(
        _side(curve, sizes, low, high, _least(curve, sizes, low, high)) if high - low > 1e-9 else none
        for low, high in ((0.0, b.root_left_mm), (b.root_right_mm, whole))
    )
    sides = ((b.root_left_mm, b.tip_left_mm), (b.tip_right_mm, b.root_right_mm))
    most = max(math.ceil(FLANK_LEAST * finer), *(_least(curve, sizes, low, high) for low, high in sides))
    flanks = tuple(_side(curve, sizes, low, high, most) for low, high in sides)
    roots = np.array([b.root_left_mm, b.root_right_mm])
    width = float(np.hypot(*np.diff(curve.at_arc(roots), axis=0)[0]))
    first, last = np.interp(roots, curve.arc_mm, sizes)
    across = _least(curve, sizes, b.tip_left_mm, b.tip_right_mm)
    across = max(across, len(_graded(width, first, last, largest)) - 1)
    return CellPlan(
        curve,
        blocks,
        bottom_mm,
        (lands[0], lands[1]),
        (flanks[0], flanks[1]),
        _side(curve, sizes, b.tip_left_mm, b.tip_right_mm, across),
        _graded(width, first, last, largest, across),
        _graded(wall, largest, float(min(first, last)), largest),
    )


def _foot(plan: CellPlan, line: Array, left_mm: float, right_mm: float) -> Array:
    """Points on the inner surface below a line of points: its spacing, evened out by half."""
    steps = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))))
    fraction = (steps / steps[-1] + np.linspace(0.0, 1.0, len(line))) / 2
    return np.column_stack((left_mm + (right_mm - left_mm) * fraction, np.full(len(line), plan.bottom_mm)))


def _mesh(places: Array, cells: Array, outer: Array, wall_rows: int, tooth: Array) -> CellMesh:
    """Tracks along the inner surface and up the ends added to a filled lattice; ``wall_rows`` in half steps."""
    across, up = np.arange(places.shape[0]), np.arange(wall_rows + 1)
    inner = np.column_stack((across, np.zeros_like(across)))
    left, right = (np.column_stack((np.full_like(up, column), up)) for column in (0, places.shape[0] - 1))
    return CellMesh(places, cells, outer, inner, left, right, tooth)


def _grid(columns: range, rows: range) -> Array:
    return np.array([(c, r) for c in columns for r in rows])


def _wall_block(plan: CellPlan, top: Array, left_foot: float, right_foot: float, rows: Array) -> Array:
    """Part of the wall below a line of points."""
    bottom = _foot(plan, top, left_foot, right_foot)
    return _blend(bottom, top, _line(bottom[0], top[0], rows), _line(bottom[-1], top[-1], rows))


def _uneven_wall(plan: CellPlan, refine: int) -> CellMesh:
    top = plan.curve.at_arc(_nodes(plan.top, refine))
    rows = _nodes(plan.rows, refine)
    places = _wall_block(plan, top, top[0, 0], top[-1, 0], rows)
    columns, high = (len(top) - 1) // 2, (len(rows) - 1) // 2
    along = np.arange(len(top))
    outer = np.column_stack((along, np.full_like(along, len(rows) - 1)))
    return _mesh(places, _grid(range(columns), range(high)), outer, len(rows) - 1, np.empty((0, 2), dtype=int))


SAG_SHARE = 0.1
"""How far the seam under a tooth sags, of its length: it opens the corners of the tooth's block."""
LEAN = math.tan(math.radians(15.0))
"""How the lines below the roots lean inward, for the same reason."""


def _wall_and_tooth(plan: CellPlan, refine: int) -> CellMesh:
    curve, rows = plan.curve, _nodes(plan.rows, refine)
    land_left, land_right = (
        curve.at_arc(_nodes(land, refine)) if len(land) else np.empty((0, 2)) for land in plan.lands
    )
    flank_left, flank_right = (curve.at_arc(_nodes(side, refine)) for side in plan.flanks)
    flank_right = flank_right[::-1]
    a, b = flank_left[0], flank_right[0]
    fraction = _nodes(plan.seam, refine)
    width = float(np.hypot(*(b - a)))
    depth = min(a[1], b[1]) - plan.bottom_mm
    seam = _line(a, b, fraction)
    seam[:, 1] -= 4 * min(SAG_SHARE * width, 0.25 * depth) * fraction * (1 - fraction)
    shift = min(LEAN * depth, 0.2 * width)
    first, last = curve.points_mm[0, 0], curve.points_mm[-1, 0]
    foot_left = a[0] + shift if len(land_left) else first
    foot_right = b[0] - shift if len(land_right) else last
    parts: list[Array] = []
    columns = [0]
    for line, low, high in (
        (land_left, first, foot_left),
        (seam, foot_left, foot_right),
        (land_right, foot_right, last),
    ):
        columns.append(columns[-1] + max(0, len(line) - 1))
        if len(line):
            block = _wall_block(plan, line, low, high, rows)
            parts.append(block if not parts else block[1:])
    wall = np.concatenate(parts)
    up = len(rows) - 1
    places = np.full((columns[-1] + 1, up + len(flank_left), 2), np.nan)
    places[:, : up + 1] = wall
    tooth = slice(columns[1], columns[2] + 1)
    places[tooth, up:] = _blend(seam, curve.at_arc(_nodes(plan.top, refine)), flank_left, flank_right)
    cells = np.vstack(
        (
            _grid(range(columns[-1] // 2), range(up // 2)),
            _grid(range(columns[1] // 2, columns[2] // 2), range(up // 2, (places.shape[1] - 1) // 2)),
        )
    )
    tip = places.shape[1] - 1
    track = [(c, up) for c in range(columns[1])]
    track += [(columns[1], r) for r in range(up, tip)]
    track += [(c, tip) for c in range(columns[1], columns[2])]
    track += [(columns[2], r) for r in range(tip, up, -1)]
    track += [(c, up) for c in range(columns[2], columns[3] + 1)]
    return _mesh(places, cells, np.array(track), up, _grid(range(columns[1], columns[2] + 1), range(up, tip + 1)))


def _must_not_fold(mesh: CellMesh) -> None:
    """Every element must turn the same way at its corners and middles."""
    c, r = (2 * mesh.cells).T
    worst = math.inf
    for i, j in ((0, 0), (2, 0), (0, 2), (2, 2)):
        here = mesh.places_mm[c + i, r + j]
        across = (mesh.places_mm[c + 1, r + j] - here) * (1 if i == 0 else -1)
        up = (mesh.places_mm[c + i, r + 1] - here) * (1 if j == 0 else -1)
        area = across[:, 0] * up[:, 1] - across[:, 1] * up[:, 0]
        worst = min(worst, float((area / (np.hypot(*across.T) * np.hypot(*up.T))).min()))
    if not worst > 0.02:
        raise DesignFault(
            [
                Fault(
                    "the tooth's outline winds or hangs over too much for the tooth cell to be meshed",
                    "tooth",
                    value=f"smallest sine of an element's corner {worst:.3f}",
                    allowed="an outline with one tip whose flanks do not come back under it, sine above 0.02",
                )
            ]
        )
