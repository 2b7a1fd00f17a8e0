"""Stress along the surfaces of a toothed rim under a settled load: the tooth cell's answers times what each pitch carries.

A pitch carries the mean moment and tension of the loaded ring, a moment that rises along it, and its tooth's force. The force
acts where the contact lies, often near the tip: its height follows from its moment about the axis, and the stress it makes is
read between cells that are loaded at several heights.

Assumptions: those of the tooth cell; a tooth is touched on one flank; a neighbour's force comes in through moment and tension
only. Sources: statics and plane elasticity, derived (theory page on ring stress).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from lobewright.ring.cell import KEPT, PATCH_SHARE, SurfaceStress, ToothCell, cell_of_outline
from lobewright.ring.cell_mesh import plan_cell
from lobewright.ring.cell_solve import CellModel, HeldFields, Plane, solve_held, solve_sheared
from lobewright.torque.results import RowLoad

Array = NDArray[np.float64]

LEVELS = (0.45, 0.6, 0.75)
"""Heights of the loaded patch over the tooth's height between which, and beyond which in a straight line, stress is read."""
LOWEST, HIGHEST = 0.2, 1.0
"""Range of heights, over the tooth's, in which a contact is taken to lie."""
CLEAR_LEVEL = LEVELS[0] - PATCH_SHARE
"""Over the tooth's height: no patch reaches further down."""
EVEN_PLACES = 16
"""Places of a pitch over which its tension is averaged."""
EVEN_SHARE = 1e-6
"""Of the pitch: how far a tooth may be from its mirror image and count as even."""


@dataclass(frozen=True)
class FlankAnswer:
    """Stress at points of a surface for a force of 1 N/mm on one flank, tangential (anticlockwise) and outward.

    ``arm_mm`` (H, 2): x and height of the loaded patch; ``per_force`` (H, P, 2) in 1/mm; ``rise_mm`` (H, 2): rise of the moment
    about the neutral line from the clockwise to the anticlockwise end of the held pitch.
    """

    arm_mm: Array
    per_force: Array
    rise_mm: Array


@dataclass(frozen=True)
class SurfaceAnswer:
    """Stress at points (P, 2) of one surface for loads of one per unit width: ``per_moment`` (P,) for 1 N·mm/mm about the
    neutral line, ``per_rise`` (P,) for a moment without a mean that rises by that much over the pitch, anticlockwise,
    ``per_tension`` (P,) for 1 N/mm of hoop tension, and for forces on the ``right`` (x above 0) or ``left`` flank."""

    points_mm: Array
    per_moment: Array
    per_rise: Array
    per_tension: Array
    right: FlankAnswer
    left: FlankAnswer


@dataclass(frozen=True)
class PitchLoads:
    """What each pitch of a row carries, by tooth (T,) in the order of its labels ``label_deg``, −180 … 180.

    ``moment_nmm`` and ``normal_n``: means over the pitch, positive for tension outside and for tension; ``rise_nmm``: rise of the
    moment over the pitch, anticlockwise. ``tangential_n`` (anticlockwise) and
    ``outward_n``: the tooth's force, ``couple_nmm`` its moment about the neutral line under the tooth's middle.
    """

    label_deg: Array
    moment_nmm: Array
    rise_nmm: Array
    normal_n: Array
    tangential_n: Array
    outward_n: Array
    couple_nmm: Array


# --- what a pitch answers --------------------------------------------------------------------------------------------


def surface_answers(cell: ToothCell, outline_mm: Array) -> tuple[SurfaceAnswer, SurfaceAnswer]:
    """The tooth side below every loaded patch, and the inner surface. ``outline_mm`` (N, 2): the one the cell was made of.

    Takes a twentieth of a second, kept in memory; four times that once for a tooth that leans. Raises as
    :func:`cell_of_outline` does.
    """
    points = np.ascontiguousarray(outline_mm, dtype=float)
    land = cell.mid_wall_mm + 0.5 * cell.wall_mm
    right, rise = _flanks(cell, points)
    if _is_even(cell):
        left = tuple(_mirrored(one) for one in right)
    else:
        turned = np.ascontiguousarray(points[::-1] * (-1.0, 1.0))
        bottom, height = land - cell.wall_mm, cell.tooth.load_height_mm
        other = cell_of_outline(turned, cell.teeth, bottom, height, cell.poisson, cell.plane)
        at = (cell.outer.points_mm, cell.inner.points_mm)
        of = (other.outer.points_mm, other.inner.points_mm)
        left = tuple(
            _moved(_mirrored(one), mine, theirs[::-1] * (-1.0, 1.0))
            for one, mine, theirs in zip(_flanks(other, turned)[0], at, of, strict=True)
        )
    clear = cell.outer.points_mm[:, 1] < land + CLEAR_LEVEL * cell.tooth_height_mm
    every = np.ones(len(cell.inner.points_mm), dtype=bool)
    outer = _kept(cell.outer, rise[0], right[0], left[0], clear)
    return outer, _kept(cell.inner, rise[1], right[1], left[1], every)


def _kept(
    surface: SurfaceStress, rise: Array, right: FlankAnswer, left: FlankAnswer, some: NDArray[np.bool_]
) -> SurfaceAnswer:
    return SurfaceAnswer(
        surface.points_mm[some],
        surface.per_moment_1_per_mm2[some],
        rise[some],
        surface.per_force_1_per_mm[some],
        replace(right, per_force=right.per_force[:, some]),
        replace(left, per_force=left.per_force[:, some]),
    )


def _is_even(cell: ToothCell) -> bool:
    points = cell.outer.points_mm
    return bool(np.abs(points[::-1] * (-1.0, 1.0) - points).max() < EVEN_SHARE * cell.pitch_mm)


def _mirrored(one: FlankAnswer) -> FlankAnswer:
    # a pitch seen in a mirror: ends change places, and with them what a rise is
    return FlankAnswer(one.arm_mm * (-1.0, 1.0), one.per_force[:, ::-1] * (-1.0, 1.0), one.rise_mm * (1.0, -1.0))


def _moved(one: FlankAnswer, to_mm: Array, from_mm: Array) -> FlankAnswer:
    """The answer at other points of the same surface: at the nearest one."""
    near = np.hypot(*(to_mm[:, None] - from_mm[None]).transpose(2, 0, 1)).argmin(axis=1)
    return replace(one, per_force=one.per_force[:, near])


def _flanks(cell: ToothCell, points: Array) -> tuple[tuple[FlankAnswer, FlankAnswer], tuple[Array, Array]]:
    """Outer and inner surface under forces on the right flank: the cell's own answer, and by how much another height changes
    it, from the coarser mesh; and both surfaces under a moment that rises by one."""
    bottom = cell.mid_wall_mm - 0.5 * cell.wall_mm
    half = PATCH_SHARE * cell.tooth_height_mm
    land = bottom + cell.wall_mm
    heights = (cell.tooth.load_height_mm, *(land + level * cell.tooth_height_mm for level in LEVELS))
    (own, *others), sheared = _solved(points.tobytes(), bottom, half, heights, cell.poisson, cell.plane)
    arm = np.array([one.arm_mm for one in others])
    outer, inner = (
        np.array([fine + _refined(getattr(one, name) - getattr(own, name)) for one in others])
        for name, fine in (
            ("outer_stress", cell.outer.per_flank_1_per_mm),
            ("inner_stress", cell.inner.per_flank_1_per_mm),
        )
    )
    rise = _end_moments(cell, outer, inner, -1) - _end_moments(cell, outer, inner, 0)
    over, under = (_refined(one[:, None]) for one in sheared)
    unit = (_end_moments(cell, over, under, -1) - _end_moments(cell, over, under, 0)).item()
    return (FlankAnswer(arm, outer, rise), FlankAnswer(arm, inner, rise)), (over[:, 0] / unit, under[:, 0] / unit)


def _end_moments(cell: ToothCell, outer: Array, inner: Array, end: int) -> Array:
    """Moment (..., C) about the neutral line in an end section, where direct stress is linear from surface to surface; stresses
    (..., P, C)."""
    beside = -2 if end else 1
    # from the two Gauss points of the last side to its end
    out, inside = (
        s[..., end, :] + 0.5 * (math.sqrt(3.0) - 1.0) * (s[..., end, :] - s[..., beside, :]) for s in (outer, inner)
    )
    tension = 0.5 * cell.wall_mm * (out + inside)
    return cell.wall_mm**2 / 12.0 * (out - inside) - cell.neutral_height_mm * tension


@lru_cache(maxsize=KEPT)
def _solved(
    points: bytes, bottom_mm: float, half_mm: float, heights_mm: tuple[float, ...], poisson: float, plane: Plane
) -> tuple[tuple[HeldFields, ...], tuple[Array, Array]]:
    plan = plan_cell(np.frombuffer(points).reshape(-1, 2), bottom_mm)
    model = CellModel(plan.mesh(1), poisson, plane)
    return tuple(solve_held(model, height, half_mm) for height in heights_mm), solve_sheared(model)


def _refined(values: Array) -> Array:
    """Values (2E, C) at two Gauss points of every side, at those of the mesh with sides half as long; straight between and
    beyond them."""
    gauss = 0.5 + np.array([-0.5, 0.5]) / math.sqrt(3.0)
    coarse = (np.arange(len(values) // 2)[:, None] + gauss).ravel()
    fine = 0.5 * (np.arange(len(values))[:, None] + gauss).ravel()
    low = np.clip(np.searchsorted(coarse, fine) - 1, 0, len(coarse) - 2)
    share = ((fine - coarse[low]) / (coarse[low + 1] - coarse[low]))[:, None]
    return (1.0 - share) * values[low] + share * values[low + 1]


# --- what a pitch carries --------------------------------------------------------------------------------------------


def pitch_loads(load: RowLoad, cell: ToothCell) -> PitchLoads:
    """What each pitch of a row carries; the row's nodes lie evenly round the ring.

    The moments of a held pitch, weighted by how much each place turns under a moment, have no mean, because its ends do not
    turn. So the ring's mean with the same weights is what must be added to its answer.
    """
    order = np.argsort(load.label_deg)
    teeth, nodes = len(load.label_deg), len(load.section_label_deg)
    place = np.mod(load.label_deg[order] - load.section_label_deg[0], 360.0) * (nodes / 360.0)
    couple = _couples(load, order, place)
    x = 0.5 * (cell.turn_place[1:] + cell.turn_place[:-1])
    weight = np.diff(cell.turn_share)
    # the jump that a tooth's couple makes at its node is odd about the tooth's middle and has no part in the mean
    moment = _between(load.moment_nmm, place[:, None] + x * nodes / teeth)
    even = (np.arange(EVEN_PLACES) + 0.5) / EVEN_PLACES - 0.5
    normal = _between(load.normal_n, place[:, None] + even * nodes / teeth)
    below, above = (_between(load.moment_nmm, place + side * nodes / teeth) for side in (-0.5, 0.5))
    return PitchLoads(
        load.label_deg[order],
        moment @ weight,
        above - below,
        normal.mean(axis=1),
        load.tangential_n[order],
        load.outward_n[order],
        couple,
    )


def _between(values: Array, place: Array) -> Array:
    """Values (N,) round the ring at places counted in nodes, straight between nodes."""
    low = np.floor(place).astype(int)
    share = place - low
    return (1.0 - share) * values[low % len(values)] + share * values[(low + 1) % len(values)]


def _couples(load: RowLoad, order: NDArray[np.int64], place: Array) -> Array:
    """Couple of each tooth's force about the neutral line under its middle, from its moment about the axis."""
    line = load.positions_mm[:, 0] + 1j * load.positions_mm[:, 1]
    waves = np.fft.fftfreq(len(line), 1.0 / len(line))
    amplitude = np.fft.fft(line) / len(line)
    turned = np.exp(2j * math.pi / len(line) * np.outer(place, waves))
    foot, along = turned @ amplitude, turned @ (1j * waves * amplitude)
    along /= np.abs(along)
    force = (load.tangential_n[order] - 1j * load.outward_n[order]) * along
    return load.torque_nmm[order] - (np.conj(foot) * force).imag


# --- stress ----------------------------------------------------------------------------------------------------------


def hoop_stress_mpa(answer: SurfaceAnswer, loads: PitchLoads, body_mm: float, face_mm: float) -> tuple[Array, Array]:
    """Stress (T, P) along the surface of a ring ``body_mm`` wide whose teeth are pressed over ``face_mm``; what of it the
    tooth's own force makes in a held pitch stands alone as well.
    """
    # a force toward −x presses on the flank at +x
    pressed = (loads.tangential_n < 0.0)[:, None]
    right, left = (_of_flank(flank, loads) for flank in (answer.right, answer.left))
    tooth, held = (np.where(pressed, r, le) for r, le in zip(right, left, strict=True))
    section = (
        loads.moment_nmm[:, None] * answer.per_moment
        + (loads.rise_nmm[:, None] - held) * answer.per_rise
        + loads.normal_n[:, None] * answer.per_tension
    )
    return section / body_mm + tooth / face_mm, tooth / face_mm


def _of_flank(flank: FlankAnswer, loads: PitchLoads) -> tuple[Array, Array]:
    """Stress (T, P) times width, and rise of the moment (T, 1), of every tooth's force, were it on this flank."""
    force = np.column_stack((loads.tangential_n, loads.outward_n))
    # the couple of the force at each height; between which of them the tooth's own lies
    couples = force @ np.stack((flank.arm_mm[:, 1], -flank.arm_mm[:, 0]))
    step = np.diff(couples, axis=1)
    at = (loads.couple_nmm[:, None] - couples[:, :-1]) / np.where(step == 0.0, 1.0, step)
    low = np.where(at[:, 0] > 1.0, 1, 0)
    reach = np.clip(at[np.arange(len(low)), low] + low, _place(LOWEST), _place(HIGHEST))
    share = (reach - low)[:, None]

    def between(values: Array) -> Array:
        lower, higher = (np.einsum("tpc,tc->tp", values[low + k], force) for k in (0, 1))
        return (1.0 - share) * lower + share * higher

    return between(flank.per_force), between(flank.rise_mm[:, None])


def _place(level: float) -> float:
    """A height over the tooth's, counted in the three evenly spaced LEVELS."""
    return (level - LEVELS[0]) / (LEVELS[1] - LEVELS[0])
