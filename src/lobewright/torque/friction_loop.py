"""The loop of torque against windup with friction: first loading, then to and fro until it closes."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import partial

import numpy as np
from numpy.typing import NDArray

from lobewright.errors import ConvergenceFault, DesignFault, Fault
from lobewright.torque import kernel
from lobewright.torque.ask import BANDS, LONGEST_STEP, SHORTEST_STEP, Progress
from lobewright.torque.friction import Friction, check_friction
from lobewright.torque.inputs import DriveInput, LoadInputs
from lobewright.torque.model import NODES_A_TOOTH, Drive, State
from lobewright.torque.path import Place, Winder, ahead, toward
from lobewright.torque.rest import prepare
from lobewright.torque.results import Health, member_torques, sealed
from lobewright.torque.solver import HAIR, LONGEST_MOVE

Array = NDArray[np.float64]

FIRST, BACK, FORTH = 0, 1, 2
"""Branches of a loop: first loading, from +T to −T, from −T to +T."""
NO_TORQUE = 1e-3
"""Share of the reach that counts as none: below it single teeth brush past."""
GAIN, MOST_GAIN = 0.05, 0.12
"""Torque that a step aims at, and the most it may bring, over the reach."""
FIRST_STEP = 1 / 256
"""First step of a branch, in pitches: everything sticks there."""
LOADED_STEP = 1 / 700
"""Longest step under load, in pitches."""
SNAPS = (1 / 4096, 1 / 1024, 1 / 256, 1 / 64)
"""Steps, in pitches, over which a drive is let fall where no path leads on."""
NEARER = 4
"""Newton steps with the friction read anew, before it is frozen."""
NEAR, CLOSE = 2e-6, 0.2
"""Torque error over the reach at which a place counts as that torque's, and over the torque at which control by torque may
find it: far from it, where teeth hardly touch, a ring under torque runs away."""
FARTHEST = 3.0
"""Pitches of windup after which a drive that carries nothing is given up."""
READ_OFF = 0.02
"""Distance of two places over the largest windup, within which the windup of a torque between them may be read off."""
MOST_STEPS, MOST_HALVINGS = 1500, 40


@dataclass(frozen=True)
class Loop:
    """Torque against windup of the slow member through a closed loop; arrays (K,) in the order in which they were passed.

    ``branch``: 0 first loading, 1 from +reach to −reach, 2 back to +reach. ``hysteresis_rad``: distance of the two places
    where the drive comes to rest without torque, after +reach and after −reach; it holds the ``free_play_rad``, and what
    friction adds is ``friction_width_rad``. ``lost_motion_rad``: between ± ``lost_motion_share`` of the reach, each the middle
    of loading and unloading. ``stiffness_nmm_per_rad``: slopes of the loading branches in ``bands`` (shares of the reach).
    ``dissipated_nmm``: work of friction in a closed loop, ``area_nmm`` the loop's own area (equal but for the steps);
    ``closing_rad``: by how much the loop misses its start. ``largest_use``: largest friction force over μ times the
    normal force among contacts with a thousandth of reach over R. ``rough_places``: tries below 6 % of the reach, where
    single teeth brush past, whose contact forces were still creeping on, and ``roughest`` by how much of reach over R from
    one pass to the next. ``snaps``: how often the drive slipped at once
    into another state. ``passes``: solves with frozen normal forces. ``health``: of the place at +reach.
    """

    windup_rad: Array
    torque_nmm: Array
    branch: NDArray[np.int64]
    reach_nmm: float
    flank_friction: float
    cam_friction: float
    hysteresis_rad: float
    free_play_rad: float
    lost_motion_rad: float
    lost_motion_share: float
    bands: tuple[tuple[float, float], ...]
    stiffness_nmm_per_rad: tuple[float, ...]
    dissipated_nmm: float
    area_nmm: float
    closing_rad: float
    largest_use: float
    rough_places: int
    roughest: float
    snaps: int
    passes: int
    health: Health

    @property
    def friction_width_rad(self) -> float:
        """What friction adds to the width of the loop at no torque."""
        return self.hysteresis_rad - self.free_play_rad


def hysteresis(
    drive: DriveInput,
    inputs: LoadInputs,
    reach_nmm: float,
    *,
    flank_friction: float,
    cam_friction: float = 0.0,
    lost_motion_share: float = 0.03,
    turn_rad: float = 0.0,
    per_tooth: int = NODES_A_TOOTH,
    progress: Progress | None = None,
) -> Loop:
    """The loop of the slow member with generator and counter member held: 0 → +reach → −reach → +reach.

    ``cam_friction`` is for a ring that slides on a plain cam; on rollers, discs and thin bearings nothing slides.
    Raises DesignFault (coefficients outside 0 … 2, cam friction where nothing slides, reach not above 0, no load path) and
    ConvergenceFault (last_good: the places so far) where the drive skips before the torque is reached or does not settle.
    """
    check_friction(drive, flank_friction, cam_friction)
    _check_shares(reach_nmm, lost_motion_share)
    made = prepare(drive, inputs, turn_rad=turn_rad, per_tooth=per_tooth)
    walker = _Walker(made, flank_friction, cam_friction, reach_nmm)
    say = progress or (lambda word, share: None)
    shares = sorted({NO_TORQUE, lost_motion_share, *(s for band in BANDS for s in band)})
    say("first loading", 0.0)
    walker.branch(FIRST, 1, shares)
    say("unloading", 0.2)
    walker.branch(BACK, -1, [-s for s in reversed(shares[:-1])] + shares)
    say("loading again", 0.6)
    walker.branch(FORTH, 1, [-s for s in reversed(shares[:-1])] + shares)
    return walker.loop(lost_motion_share)


def _check_shares(reach_nmm: float, lost_motion_share: float) -> None:
    faults = []
    if not (math.isfinite(reach_nmm) and reach_nmm > 0.0):
        faults.append(Fault("the torque must be positive", "reach_nmm", 0, f"{reach_nmm:g}", "above 0 N·mm"))
    if not NO_TORQUE < lost_motion_share < 1.0:
        allowed = f"between {NO_TORQUE:g} and 1"
        faults.append(Fault("no such share of the torque", "lost_motion_share", 0, f"{lost_motion_share:g}", allowed))
    if faults:
        raise DesignFault(faults)


@dataclass
class _Walker:
    """A walk with friction, place after place, each told from the one before it."""

    made: Drive
    flank: float
    cam: float
    reach: float
    places: list[Place] = field(default_factory=list)
    branches: list[int] = field(default_factory=list)
    work: list[float] = field(default_factory=list)
    at: dict[tuple[int, float], float] = field(default_factory=dict)
    use: float = 0.0
    snaps: int = 0

    def __post_init__(self) -> None:
        self.winder = Winder(self.made)
        self.pitch = self.made.drive.rows[self.winder.ring].space.pitch_rad
        start = self.winder.rest()
        if not start.outcome.settled:
            raise ConvergenceFault("the drive without torque did not settle with its teeth in place", None)
        unit = self.made.torque_unit_nmm
        self.friction = Friction(self.made, self.flank, self.cam, start.state, self.reach / unit)
        self.winder.work.friction = self.friction
        self._add(FIRST, start)

    def _add(self, branch: int, place: Place) -> None:
        self.work.append(self.friction.keep(place.state) * self.made.torque_unit_nmm)
        self.places.append(place)
        self.branches.append(branch)
        self.use = max(self.use, self.friction.largest_use())

    def branch(self, number: int, side: int, shares: list[float]) -> None:
        """Walk to side · reach through the torques side · share · reach of all shares, in rising order."""
        self.at[number, -1.0] = self.places[-1].windup_rad
        step = FIRST_STEP * self.pitch
        wanted = list(shares)
        origin, shortest = self.places[-1].windup_rad, SHORTEST_STEP * self.pitch
        for _ in range(MOST_STEPS):
            last = self.places[-1]
            if abs(last.windup_rad - origin) > FARTHEST * self.pitch:
                break
            place = self._turned(last, last.windup_rad + side * step)
            gain = math.inf if place is None else side * (place.torque_nmm - last.torque_nmm)
            if (gain > MOST_GAIN * self.reach or gain < -0.5 * GAIN * self.reach) and step > shortest:
                step = max(0.3 * step, shortest)
                continue
            if place is None:
                place = self._snapped(last, side)
                if place is None:
                    break
                gain = side * (place.torque_nmm - last.torque_nmm)
            if side * place.torque_nmm >= wanted[0] * self.reach * (1.0 - 1e-9):
                place, windup = self._at_torque(last, place, side * wanted[0] * self.reach)
                self.at[number, wanted.pop(0)] = windup
            self._add(number, place)
            if not wanted:
                return
            quiet = abs(place.torque_nmm) < NO_TORQUE * self.reach
            longest = min(1.5 * step, (LONGEST_STEP if quiet else LOADED_STEP) * self.pitch)
            step = longest if gain <= 0.0 else min(longest, step * GAIN * self.reach / max(gain, 1e-12))
            step = max(step, shortest)
        most = max(side * place.torque_nmm for place in self.places)
        what = "the drive carries less than this torque with friction: it skips, or nothing near holds it"
        fault = Fault(what, "reach_nmm", 0, f"{self.reach:.6g} N·mm", f"up to about {most:.6g} N·mm")
        raise ConvergenceFault([fault], self.places)

    def _turned(self, near: Place, to: float) -> Place | None:
        """The place at a windup, from a place near it; None where none is found."""
        for start in (ahead(near, to), near.state.copy()):
            begin = self._nearer(to, start)
            place = self.friction.settle(partial(self._go, to, start=start), begin)
            if place is not None:
                return place
        return None

    def _nearer(self, to: float, start: State) -> State:
        """A start state after a few Newton steps with the friction read anew before each; as it was where they lead away.

        Not on a cam: its bed is so stiff that between two steps its forces say nothing.
        """
        if self.cam > 0.0:
            return start
        winder, state, best = self.winder, start.copy(), math.inf
        state.extra[winder.at] = winder.home + to
        none, loose = np.zeros_like(state.extra), winder.loose
        for _ in range(NEARER):
            self.friction.now = self.friction.frozen_at(state)
            winder.work.fill(state, none, -math.inf)
            residual = winder.work.residual(loose)
            if not residual < best:
                return start
            best = residual
            solution = winder.work.solve(loose, HAIR)
            matrix, known, own, extras = solution.reduced()
            de = np.zeros_like(state.extra)
            de[loose] = np.linalg.solve(matrix, known)
            dq = own - extras @ de[loose]
            if not float(np.abs(dq).max()) < LONGEST_MOVE or solution.negative:
                return start
            dl = solution.leans(dq, de)
            state.q, state.lean, state.extra = state.q + dq, state.lean + dl, state.extra + de
        return state

    def _snapped(self, last: Place, side: int) -> Place | None:
        """The state that a drive falls into beyond a place from which no path leads on; None where none is found."""
        for step in SNAPS:
            place = self._turned(last, last.windup_rad + side * step * self.pitch)
            if place is not None:
                self.snaps += 1
                return place
        return None

    def _go(self, to: float, state: State, start: State) -> Place:
        """Settle at a windup near a state; a ring that falls or rattles in its play falls from the step's start."""
        place = self.winder.near_to(to, state)
        return place if place.outcome.settled else self.winder.fall_to(to, start.copy())

    def _at_torque(self, last: Place, over: Place, torque: float) -> tuple[Place, float]:
        """A place at or just past a torque that lies between two places, and the windup at the torque.

        By windup until it is near, then by torque control; where teeth hardly touch and no place is found, the torque's
        windup is read off between two that lie close together.
        """
        pair, weight = (last, over), [1.0, 1.0]
        for _ in range(MOST_HALVINGS):
            near = min(pair, key=lambda place: abs(place.torque_nmm - torque))
            low, high = sorted(place.windup_rad for place in pair)
            found = None
            if abs(near.torque_nmm - torque) <= CLOSE * abs(torque):
                found = self.friction.settle(lambda state: self.winder.load_to(torque, state), toward(near, torque))
            if found is not None and low <= found.windup_rad <= high:
                return found, found.windup_rad
            off = [w * (place.torque_nmm - torque) for w, place in zip(weight, pair, strict=True)]
            secant = min(0.95, max(0.05, off[0] / (off[0] - off[1])))
            found = self._inside(pair, near, secant)
            if found is None:
                break
            if abs(found.torque_nmm - torque) <= NEAR * self.reach:
                return found, found.windup_rad
            # false position, with the weight halved of an end that stays
            if (found.torque_nmm - torque) * off[0] > 0.0:
                pair, weight = (found, pair[1]), [1.0, 0.5 * weight[1]]
            else:
                pair, weight = (pair[0], found), [0.5 * weight[0], 1.0]
        a, b = pair
        span = max(abs(place.windup_rad) for place in (*self.places, over))
        if abs(b.windup_rad - a.windup_rad) <= READ_OFF * span:
            share = (torque - a.torque_nmm) / (b.torque_nmm - a.torque_nmm)
            past = self._turned(b, b.windup_rad)
            if past is not None:
                return past, a.windup_rad + share * (b.windup_rad - a.windup_rad)
        what = "no equilibrium with friction was found at this torque although torques below and above it have one"
        raise ConvergenceFault([Fault(what, "torque_nmm", 0, f"{torque:.6g} N·mm")], self.places)

    def _inside(self, pair: tuple[Place, Place], near: Place, share: float) -> Place | None:
        """A place between two, at a share of the way or, where none is found there, at others."""
        for part in (share, 0.5, 0.25, 0.75):
            found = self._turned(near, pair[0].windup_rad + part * (pair[1].windup_rad - pair[0].windup_rad))
            if found is not None:
                return found
        return None

    def loop(self, lost_motion_share: float) -> Loop:
        """The result of the three branches."""
        windup = np.array([place.windup_rad for place in self.places])
        torque = np.array([place.torque_nmm for place in self.places])
        branch = np.array(self.branches)
        closed = np.flatnonzero(branch != FIRST)
        closed = np.concatenate(([closed[0] - 1], closed))
        area = float(np.trapezoid(torque[closed], windup[closed]))
        at, lost = self.at, lost_motion_share
        middle = [0.5 * (at[FORTH, side * lost] + at[BACK, -side * lost]) for side in (1, -1)]
        plays = [abs(at[b, NO_TORQUE] - at[b, -NO_TORQUE]) for b in (FORTH, BACK)]
        slopes = []
        for low, high in BANDS:
            gain = (high - low) * self.reach
            slopes.append(0.5 * sum(gain / abs(at[b, high] - at[b, low]) for b in (FORTH, BACK)))
        return Loop(
            windup_rad=sealed(windup),
            torque_nmm=sealed(torque),
            branch=sealed(branch),
            reach_nmm=self.reach,
            flank_friction=self.flank,
            cam_friction=self.cam,
            hysteresis_rad=at[BACK, -NO_TORQUE] - at[FORTH, -NO_TORQUE],
            free_play_rad=0.5 * sum(plays),
            lost_motion_rad=middle[0] - middle[1],
            lost_motion_share=lost,
            bands=BANDS,
            stiffness_nmm_per_rad=tuple(slopes),
            dissipated_nmm=float(np.array(self.work)[branch != FIRST].sum()),
            area_nmm=area,
            closing_rad=float(windup[-1] - windup[closed[0]]),
            largest_use=self.use,
            rough_places=self.friction.rough,
            roughest=self.friction.roughest,
            snaps=self.snaps,
            passes=self.friction.passes,
            health=self._health(),
        )

    def _health(self) -> Health:
        """Health of the last place with the friction in every balance."""
        place, drive = self.places[-1], self.made
        state = place.state
        torques, _, _ = member_torques(drive, place)
        force, _, _ = kernel.body_forces(state.q, state.extra, state.near, drive.numbers)
        teeth = kernel.tooth_forces(state.q, state.lean, state.extra, drive.numbers)
        total = teeth[:, :, :2].sum(axis=(0, 1)) + force.sum(axis=(0, 1))
        if drive.barrel is not None and drive.boss_at is not None:
            total = total - drive.barrel.load(state.q, float(state.extra[drive.boss_at])).force[:, :2].sum(axis=0)
        rubbing = self.friction.wrench(state)
        total = total + rubbing[:2]
        error = sum(torques.values()) + float(rubbing[2]) * drive.torque_unit_nmm
        over = max(abs(place.torque_nmm), 1e-3 * self.reach)
        return Health(
            nodes=drive.nodes,
            solves=self.winder.solves,
            iterations=self.winder.iterations,
            residual=place.outcome.residual,
            torque_error_nmm=error,
            torque_error_share=abs(error) / over,
            force_error_n=float(np.hypot(*total)) * drive.force_unit_n,
        )
