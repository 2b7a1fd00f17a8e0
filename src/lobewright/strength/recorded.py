"""Load cycles of one point of the ring in a motion that is no steady turning: recorded, or swinging to and fro.

A point of the ring runs through the labels of a stress course as the generator turns against the ring, and the course grows and
shrinks with the torque. Which point lies under a lobe at the start, and which way the labels run when the torque is positive,
is not told by a duty: several starts and both ways are tried and the most harmful stands for the ring.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lobewright.strength.counting import Cycles, count_repeated
from lobewright.strength.course import StressCourse
from lobewright.strength.pass_kernel import turning_points_of, without_small
from lobewright.strength.swing import Swing, largest_swing

Array = NDArray[np.float64]

LOOKS = 3e6
"""Places of the path at which stress is looked up: they set how many starts are tried, two a label if they suffice."""
FEWEST_STARTS = 3
"""What is tried in any case over one lobe where lobes are alike, else twice as many over the turn: a history so long brings
every point to every label often."""
MOST_STARTS = 360
"""Starts a turn that are tried at most: stress changes little in half a degree."""
SAME_WAY = 0.98
"""Cosine of two swings that count as one; what is lost of a range is at most the rest."""
TINY = 1e-300
"""N·mm; its negative is the smallest torque backwards."""
ALIKE = 2e-3
"""Lobes whose stresses differ by less than this share of the range are alike: starts are tried over one of them."""
COUNTED_POINTS = 30_000
"""Turning points that are counted in full. Where all starts together have more, each is first counted coarsely, and those that
look worst are counted in full, at least one of them."""
COARSE = 0.2
"""Cycles of less than this share of the largest are left out of a coarse count."""
LEVELS = 50
"""Steps of torque, rounded away from zero, at which turns are counted that pass as a whole between two samples."""
SMALL = 0.05
"""Cycles of less than this share of the largest are left out: at the slopes of S–N curves they do no harm that counts."""
RIPPLE = 0.05
"""Turns of the torque by less than this share of its range are ripple: no turn is kept for them."""


@dataclass(frozen=True)
class Path:
    """``bend_rad`` (T,): turn of the generator against the ring; ``torque_nmm`` (T,) signed; straight in between."""

    bend_rad: Array
    torque_nmm: Array


def steady_cycles(course: StressCourse, torque_nmm: float) -> Cycles:
    """Cycles of one whole turn at a steady torque; ``mean_mpa`` is the mean that harms (see :func:`harmful_mean_mpa`)."""
    stress = course.at(torque_nmm)
    swing = largest_swing(stress)
    return with_harmful_mean(count_repeated(swing.along_mpa(stress)), swing.across_mpa(stress))


def path_cycles(course: StressCourse, path: Path, harm: Callable[[Cycles], float]) -> Cycles:
    """Cycles of the worst point in one run along a path that is run again and again.

    ``harm`` ranks cycles (Miner's sum). ``mean_mpa`` as in :func:`steady_cycles`. Turns that pass as a whole between two samples
    are counted as steady ones at the torque of their middle; where the torque turns, one of them is kept in the history, so that
    its extremes meet those of other times. Where stress swings another way with the torque than with the passing lobes, each
    way is counted for itself and the most harmful stands.
    """
    ends = [course.at(torque) for torque in sorted({float(path.torque_nmm.max()), float(path.torque_nmm.min())})]
    whole, short = _whole_turns(path)
    short = _split(short, course.torque_nmm)
    tried: list[tuple[Callable[[Array], Cycles], Array]] = []
    for swing in _swings(ends):
        counted = _counting(swing, ends, _cycles_of_turns(course, swing, whole))
        tried += [(counted, points) for points in _histories(course, swing, short)]
    if sum(len(points) for _, points in tried) > COUNTED_POINTS:
        tried.sort(key=lambda one: harm(one[0](_without_small(one[1], COARSE))), reverse=True)
        within = np.cumsum([len(points) for _, points in tried]) <= COUNTED_POINTS
        tried = tried[: max(1, int(within.sum()))]
    return max((counted(points) for counted, points in tried), key=harm)


def _counting(swing: Swing, ends_mpa: list[Array], turned: Cycles) -> Callable[[Array], Cycles]:
    """What counts turning points along a swing, with the mean that harms and the turns that pass as a whole."""
    across = max(swing.across_mpa(end) for end in ends_mpa)
    return lambda points: with_harmful_mean(count_repeated(points).joined(turned), across)


def _swings(ends_mpa: list[Array]) -> list[Swing]:
    """Ways in which stress swings between the largest and the least torque: of both passes together, of each, and of what
    the torque alone does to their middles; those that are nearly the same once."""
    if len(ends_mpa) == 1:
        return [largest_swing(ends_mpa[0])]
    middles = np.stack([0.5 * (end.max(axis=0) + end.min(axis=0)) for end in ends_mpa])
    found: list[Swing] = []
    for states in (np.concatenate(ends_mpa), *ends_mpa, middles):
        swing = largest_swing(states)
        if all(abs(float(swing.direction @ other.direction)) < SAME_WAY for other in found):
            found.append(swing)
    return found


def harmful_mean_mpa(along_mpa: Array, across_mpa: float) -> Array:
    """Mean stress that harms: the tension along the swing and all that stands across it; compression along it counts as none."""
    return np.hypot(np.maximum(along_mpa, 0.0), across_mpa)


def with_harmful_mean(cycles: Cycles, across_mpa: float) -> Cycles:
    """Cycles counted along a swing with the means that harm (see :func:`harmful_mean_mpa`)."""
    return Cycles(cycles.amplitude_mpa, harmful_mean_mpa(cycles.mean_mpa, across_mpa), cycles.count)


def _whole_turns(path: Path) -> tuple[list[tuple[float, float]], Path]:
    """Pairs of turns and torque that pass as a whole, and the path without them."""
    turns = np.diff(path.bend_rad) / (2.0 * math.pi)
    kept = np.zeros(len(turns))
    kept[_torque_turns(path.torque_nmm)] = 1.0
    whole = np.maximum(np.floor(np.abs(turns)) - kept, 0.0)
    if not whole.any():
        return [], path
    largest = float(np.abs(path.torque_nmm).max())
    middle = 0.5 * (path.torque_nmm[1:] + path.torque_nmm[:-1])
    level = np.sign(middle) * np.ceil(np.round(np.abs(middle) / max(largest, 1e-300) * LEVELS, 9))
    found = [(float(whole[level == one].sum()), float(one) * largest / LEVELS) for one in np.unique(level[whole > 0.0])]
    left = 2.0 * math.pi * (turns - np.sign(turns) * whole)
    return found, Path(np.concatenate(([0.0], np.cumsum(left))), path.torque_nmm)


def _torque_turns(torque_nmm: Array) -> NDArray[np.intp]:
    """The stretches (of T − 1) beside which the torque turns, ripple of less than a twentieth of its range left out."""
    points = torque_nmm.copy()
    turning = points[: without_small(points, RIPPLE * float(np.ptp(points)))]
    found, start = [], 0
    for torque in turning:
        start += int(np.argmax(torque_nmm[start:] == torque))
        found.append(min(start, len(torque_nmm) - 2))
    return np.array(found, dtype=np.intp)


def _split(path: Path, solved_nmm: Array) -> Path:
    """The same path with points wherever its torque crosses 0 or a solved one, since stress may turn there."""
    levels = np.concatenate((-solved_nmm[::-1], [0.0], solved_nmm))
    start, step = path.torque_nmm[:-1], np.diff(path.torque_nmm)
    with np.errstate(divide="ignore", invalid="ignore"):
        part = (levels[None, :] - start[:, None]) / step[:, None]
    stretch, level = np.nonzero((part > 0.0) & (part < 1.0))
    places = np.unique(np.concatenate((np.arange(len(path.torque_nmm), dtype=float), stretch + part[stretch, level])))
    whole = np.arange(len(path.torque_nmm), dtype=float)
    return Path(np.interp(places, whole, path.bend_rad), np.interp(places, whole, path.torque_nmm))


def _cycles_of_turns(course: StressCourse, swing: Swing, whole: list[tuple[float, float]]) -> Cycles:
    cycles = Cycles(np.zeros(0), np.zeros(0), np.zeros(0))
    for turns, torque in whole:
        cycles = cycles.joined(count_repeated(swing.along_mpa(course.at(torque))).times(turns))
    return cycles


def _histories(course: StressCourse, swing: Swing, path: Path) -> list[Array]:
    """Turning points of the stress for all starts and ways that are tried."""
    solved = course.torque_nmm if len(course.torque_nmm) > 1 else course.torque_nmm[0] + np.array([0.0, 1.0])
    forward = swing.along_mpa(np.stack([course.at(max(torque, 0.0)) for torque in solved]))
    backward = swing.along_mpa(np.stack([course.at(min(-torque, -TINY)) for torque in solved]))
    labels = forward.shape[1]
    place = np.ascontiguousarray(path.bend_rad) * labels / (2.0 * math.pi)
    found = np.empty(int(np.abs(np.diff(place)).sum()) + 2 * len(place) + 2)
    period = _period(np.concatenate((forward, backward)))
    fewest = min(FEWEST_STARTS if period < labels else 2 * FEWEST_STARTS, period)
    most = max(fewest, min(2 * period, round(MOST_STARTS * period / labels)))
    starts = int(np.clip(LOOKS // (2 * len(found)), fewest, most))
    tried: list[Array] = []
    # there and back at one torque is the same either way round, from another start
    same = float(np.ptp(path.torque_nmm)) == 0.0 and np.allclose(place, place[::-1])
    for way in (1.0,) if same else (-1.0, 1.0):
        for start in np.arange(starts) * period / starts:
            count = turning_points_of(forward, backward, solved, way * place, path.torque_nmm, float(start), found)
            tried.append(_without_small(found[:count], SMALL))
    return tried


def _period(tables_mpa: Array) -> int:
    """After how many labels stress comes again: fewer than all where lobes are alike."""
    labels = tables_mpa.shape[1]
    alike = ALIKE * float(np.ptp(tables_mpa))
    shifts = [labels // lobes for lobes in range(8, 1, -1) if labels % lobes == 0]
    same = (one for one in shifts if float(np.abs(np.roll(tables_mpa, one, axis=1) - tables_mpa).max()) <= alike)
    return next(same, labels)


def _without_small(points_mpa: Array, share: float) -> Array:
    """Turning points of a repeated history, from its largest on, without those of cycles below a share of the whole range."""
    points = np.roll(points_mpa, -int(points_mpa.argmax()))
    return points[: without_small(points, share * float(np.ptp(points)))]
