"""Windup, load shares and the ratcheting torque of one drive from one walk."""

from __future__ import annotations

from dataclasses import dataclass

from lobewright.torque.ask import (
    FALL,
    Progress,
    Walk,
    check_torque,
    past_the_limit,
    settle_at,
    skip_of,
    wind,
    windup_of,
)
from lobewright.torque.inputs import DriveInput, LoadInputs
from lobewright.torque.model import NODES_A_TOOTH
from lobewright.torque.path import Winder
from lobewright.torque.rest import prepare
from lobewright.torque.results import LoadShare, Skip, Windup, load_share_of

LOST_MOTION_SHARE = 0.03
SAFE = 0.95
"""Of the largest torque a side carries: how far windup is told where the drive skips before the peak torque."""
SLOWING = 0.97
"""What is left to tell of a stage's progress after every solve."""


@dataclass(frozen=True)
class Survey:
    """One drive's ``windup``, its load shares without torque (``at_rest``) and at rated and peak torque, and its ``skip`` (None
    where not asked).

    Where the drive skips before the peak torque, ``windup.reach_nmm`` is 0.95 of what the weaker side carries, and no share
    is told beyond it.
    """

    windup: Windup
    at_rest: LoadShare
    shares: tuple[LoadShare, ...]
    skip: Skip | None


def survey(
    drive: DriveInput,
    inputs: LoadInputs,
    peak_nmm: float,
    rated_nmm: float,
    *,
    skip_too: bool = True,
    turn_rad: float = 0.0,
    per_tooth: int = NODES_A_TOOTH,
    progress: Progress | None = None,
) -> Survey:
    """Windup to ± the peak torque, load shares at rated and peak torque, and the ratcheting torque anticlockwise.

    The walk to the peak is carried on to the skip. Raises DesignFault (no load path, torques not above 0) and
    ConvergenceFault (no state without torque, the path to a skip lost).
    """
    check_torque(peak_nmm)
    check_torque(rated_nmm)
    winder = Winder(prepare(drive, inputs, turn_rad=turn_rad, per_tooth=per_tooth))
    stages = _Stages(winder, progress)
    stages.begin("windup", 0.0, 0.3)
    forth = wind(winder, 1, peak_nmm, FALL)
    limit = None
    if skip_too:
        stages.begin("skip", 0.3, 0.7)
        limit = _limit(winder, forth)
    stages.begin("windup", 0.7, 0.85)
    back = wind(winder, -1, peak_nmm, FALL)
    reach = min(_carried(winder, forth, 1, peak_nmm), _carried(winder, back, -1, peak_nmm))
    windup = windup_of(winder, back, forth, reach, LOST_MOTION_SHARE)
    stages.begin("load share", 0.85, 1.0)
    rest = load_share_of(winder.drive, forth.places[0], winder.solves, winder.iterations, rated_nmm)
    shares = []
    for torque in (rated_nmm, peak_nmm):
        told = min(torque, reach)
        place = settle_at(winder, forth, told)
        shares.append(load_share_of(winder.drive, place, winder.solves, winder.iterations, told))
    return Survey(windup, rest, tuple(shares), limit)


def _limit(winder: Winder, forth: Walk) -> Skip:
    """The skip at the end of a walk, or beyond it."""
    start = forth.places
    if forth.ended != "torque":
        start = start[: 1 + max(range(len(start)), key=lambda i: start[i].torque_nmm)]
    places, ended = past_the_limit(winder, 1, FALL, lambda word, share: None, start)
    return skip_of(winder, places, ended, 1, FALL)


def _carried(winder: Winder, walk: Walk, side: int, peak_nmm: float) -> float:
    """The peak torque where a side carries it, else a safe share of what it carries; both only as far as it was walked."""
    if walk.ended == "torque":
        return peak_nmm
    return SAFE * max(side * place.torque_nmm for place in walk.places)


class _Stages:
    """Progress that rises with every solve, as far as the stage it is in."""

    def __init__(self, winder: Winder, progress: Progress | None) -> None:
        self.winder, self.progress = winder, progress
        self.word, self.share, self.end = "", 0.0, 0.0
        winder.watch = self.told

    def begin(self, word: str, start: float, end: float) -> None:
        """A stage that takes the share of the whole from ``start`` to ``end``."""
        self.word, self.share, self.end = word, start, end
        self.told(0)

    def told(self, solves: int) -> None:
        """One more solve."""
        if self.progress is not None:
            self.share = self.end - SLOWING * (self.end - self.share)
            self.progress(self.word, self.share)
