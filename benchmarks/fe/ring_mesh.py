"""Meshes of plain and toothed rings, rollers and rigid rings for the plane decks of :mod:`ring_deck`."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

import numpy as np
from ring_deck import Model

Array = np.ndarray
Grid = dict[tuple[int, int], int]


def halves(steps: Array) -> Array:
    """The values and the middles between them."""
    out = np.empty(2 * len(steps) - 1)
    out[::2] = steps
    out[1::2] = 0.5 * (steps[1:] + steps[:-1])
    return out


def annulus(
    model: Model, group: str, centre: tuple[float, float], radii: tuple[float, float], angles: Array, rows: int
) -> tuple[Grid, dict[tuple[int, int], int]]:
    """Sector between two radii over ascending angles (rad); a whole turn closes on itself."""
    closed = abs(angles[-1] - angles[0] - 2 * math.pi) < 1e-9
    turns, levels = halves(angles), halves(np.linspace(*radii, rows + 1))
    grid: Grid = {}
    for i, a in enumerate(turns):
        for j, r in enumerate(levels):
            if i % 2 and j % 2:
                continue
            if closed and i == len(turns) - 1:
                grid[i, j] = grid[0, j]
            else:
                grid[i, j] = model.node(centre[0] + r * math.cos(a), centre[1] + r * math.sin(a))
    return grid, model.block(group, grid, len(angles) - 1, rows)


def roller(
    model: Model,
    name: str,
    centre: tuple[float, float],
    radius: float,
    at: float,
    half: float,
    face: float,
    inside: bool = True,
    cut: float | None = None,
) -> list[int]:
    """Rigid arc of quadratic elements about ``at`` ± ``half`` (rad); faces about ``face`` mm long. Returns its nodes.

    ``inside`` is a roller (its outside touches), otherwise a circle around (its inside touches). ``cut`` ends the arc at
    an angle (a plane of symmetry). The surface is called ``S`` + name.
    """
    low, high = at - half, at + half
    if cut is not None:
        low = max(low, cut)
    parts = max(2, round((high - low) * radius / face))
    radii = (radius - 0.5, radius) if inside else (radius, radius + 0.5)
    grid, elements = annulus(model, name, centre, radii, np.linspace(low, high, parts + 1), 1)
    model.surfaces["S" + name] = [(e, 2 if inside else 4) for e in elements.values()]
    nodes = sorted(set(grid.values()))
    model.sets["N" + name] = nodes
    return nodes


@dataclass(frozen=True)
class Tooth:
    """Right half of a flexible tooth, tip to wall, tangential x and height y above the neutral line; a straight flank."""

    tip_half_mm: float
    tip_mm: float
    flank_top: tuple[float, float]
    flank_foot: tuple[float, float]
    round_centre: tuple[float, float]
    round_mm: float

    def right(self, parts_flank: int, parts_round: int) -> tuple[list[tuple[float, float]], list[tuple[float, float]]]:
        """Flank points from the foot to the middle of the rounding, and top points from there to the middle of the tip."""
        foot, top = np.array(self.flank_foot), np.array(self.flank_top)
        side = [tuple(foot + (top - foot) * t) for t in np.linspace(0.0, 1.0, parts_flank + 1)]
        start = math.atan2(top[1] - self.round_centre[1], top[0] - self.round_centre[0])
        arc = [
            (self.round_centre[0] + self.round_mm * math.cos(a), self.round_centre[1] + self.round_mm * math.sin(a))
            for a in np.linspace(start, math.pi / 2, 2 * parts_round + 1)
        ]
        return side + arc[1 : parts_round + 1], arc[parts_round:]


def coons(left: Array, right: Array, low: Array, high: Array) -> Array:
    """Points (columns, rows, 2) inside four sides: left and right run up, low and high run left to right."""
    u = np.linspace(0, 1, len(low))[:, None, None]
    v = np.linspace(0, 1, len(left))[None, :, None]
    ruled = (1 - u) * left[None] + u * right[None] + (1 - v) * low[:, None] + v * high[:, None]
    corners = (1 - u) * ((1 - v) * low[0] + v * high[0]) + u * ((1 - v) * low[-1] + v * high[-1])
    return ruled - corners


@dataclass(frozen=True)
class Fineness:
    """Elements: rows in the wall, columns in half a land, in the tooth's base; rows on the flank, on half a rounding."""

    wall: int
    land: int
    base: int
    flank: int
    rounding: int
    roller_face_mm: float


@dataclass(frozen=True)
class ToothedRing:
    """Numbers needed after the mesh is made: half-step grid of the wall, columns in a pitch, elements of the flanks."""

    wall: Grid
    columns: int
    outside: list[tuple[int, int]]
    inside: list[tuple[int, int]]


def toothed_ring(
    model: Model, teeth: int, radii: tuple[float, float], neutral: float, tooth: Tooth, fine: Fineness
) -> ToothedRing:
    """Wall between two radii with teeth on it; tooth 0 at angle 0. Element set RING."""
    columns = 2 * fine.land + fine.base
    foot = math.atan2(tooth.flank_foot[0], neutral + tooth.flank_foot[1])
    pitch = 2 * math.pi / teeth
    one = np.concatenate(
        (
            np.linspace(-pitch / 2, -foot, fine.land + 1),
            np.linspace(-foot, foot, fine.base + 1)[1:],
            np.linspace(foot, pitch / 2, fine.land + 1)[1:],
        )
    )
    angles = np.concatenate([one[:-1] + k * pitch for k in range(teeth)] + [[one[0] + 2 * math.pi]])
    wall, elements = annulus(model, "RING", (0.0, 0.0), radii, angles, fine.wall)
    inside = [(elements[i, 0], 4) for i in range(columns * teeth)]
    outside = []
    for k in range(teeth):
        first = k * columns
        lands = [*range(first, first + fine.land), *range(first + fine.land + fine.base, first + columns)]
        outside += [(elements[i, fine.wall - 1], 2) for i in lands]
        outside += _one_tooth(model, wall, 2 * (first + fine.land), 2 * fine.wall, k * pitch, neutral, tooth, fine)
    return ToothedRing(wall, columns, outside, inside)


def _one_tooth(
    model: Model, wall: Grid, first: int, top: int, turn: float, neutral: float, tooth: Tooth, fine: Fineness
) -> list[tuple[int, int]]:
    """Elements of one tooth on the wall's outer nodes; returns its outer faces."""
    side, crown = tooth.right(fine.flank, fine.rounding)
    middle = fine.base - 2 * fine.rounding
    flat = np.linspace(-tooth.tip_half_mm, tooth.tip_half_mm, middle + 1)
    right_top = np.array(crown[::-1])
    high = np.vstack(
        (right_top[::-1] * (-1, 1), np.column_stack((flat[1:-1], np.full(middle - 1, tooth.tip_mm))), right_top)
    )
    right = np.array(side)
    cos, sin = math.cos(turn), math.sin(turn)
    count = fine.base + 1
    low = np.array([_local(model.nodes[wall[first + 2 * c, top] - 1], turn, neutral) for c in range(count)])
    points = coons(right * (-1, 1), right, low, high)
    # Low runs from the clockwise foot to the other; tangential x is anticlockwise, so the order agrees.
    grid: Grid = {(i, 0): wall[first + i, top] for i in range(2 * fine.base + 1)}
    rows = len(side) - 1
    for i in range(2 * fine.base + 1):
        for j in range(1, 2 * rows + 1):
            if i % 2 and j % 2:
                continue
            ends = [(a, b) for a in {i // 2, (i + 1) // 2} for b in {j // 2, (j + 1) // 2}]
            x, y = np.mean([points[e] for e in ends], axis=0)
            out = neutral + y
            grid[i, j] = model.node(out * cos - x * sin, out * sin + x * cos)
    elements = model.block("RING", grid, fine.base, rows)
    sides = [(elements[0, j], 1) for j in range(rows)] + [(elements[fine.base - 1, j], 3) for j in range(rows)]
    return sides + [(elements[i, rows - 1], 2) for i in range(fine.base)]


def _local(place: tuple[float, float], turn: float, neutral: float) -> tuple[float, float]:
    x, y = place
    return (-x * math.sin(turn) + y * math.cos(turn), x * math.cos(turn) + y * math.sin(turn) - neutral)


def rigid_teeth(model: Model, space: Array, teeth: int, back: float, parts: float) -> list[list[int]]:
    """Rigid ring of linear elements from the outline of one space (around +x, clockwise end first) to a back circle.

    Segments of the outline are cut to at most ``parts`` mm. Returns the nodes of each tooth: tooth k lies anticlockwise of
    space k and shares its root middles with nobody (the root's nodes go to the nearer tooth). Surface SRIGID, set NRIGID.
    """
    line = [space[0]]
    for a, b in itertools.pairwise(space):
        pieces = max(1, math.ceil(float(np.hypot(*(b - a))) / parts))
        line += [a + (b - a) * (k + 1) / pieces for k in range(pieces)]
    rows = np.array(line[:-1])  # the last point is the next space's first
    radius, angle = np.hypot(*rows.T), np.arctan2(rows[:, 1], rows[:, 0])
    pitch = 2 * math.pi / teeth
    front, rear, owner = [], [], []
    for k in range(teeth):
        for r, a in zip(radius, angle, strict=True):
            turn = a + k * pitch
            front.append(model.node(r * math.cos(turn), r * math.sin(turn)))
            rear.append(model.node(back * math.cos(turn), back * math.sin(turn)))
            owner.append(k if a >= 0 else (k - 1) % teeth)
    total = len(front)
    faces = []
    for n in range(total):
        m = (n + 1) % total
        faces.append((model.element("RIGID", [front[n], rear[n], rear[m], front[m]]), 4))
    model.surfaces["SRIGID"] = faces
    model.sets["NRIGID"] = front + rear
    groups: list[list[int]] = [[] for _ in range(teeth)]
    for node_front, node_rear, k in zip(front, rear, owner, strict=True):
        groups[k] += [node_front, node_rear]
    return groups
