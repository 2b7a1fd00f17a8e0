"""The drive of a lesson under torque: wound up from rest until it lets go, once for all scenes and languages.

The walk goes in long steps to where the drive lets go (frictionless, generator and counter member held); from its highest place
the limit is then approached in short ones, as ``load`` does, so that both tell one skip torque. What comes after the limit is the
walk's again. Assumes the middle of every stiffness; the band of the skip torque takes too many walks for a lesson.
"""

from __future__ import annotations

import math
from collections import OrderedDict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from lobewright.assessment.limits import Limits, limits
from lobewright.assessment.load import duty_torques_nmm
from lobewright.assessment.loaded_states import LoadedStates, model_band
from lobewright.assessment.results import Assessment
from lobewright.assessment.wound import Wound, wound
from lobewright.errors import ConvergenceFault, LobewrightError
from lobewright.teach.reasons import APART, NOTHING, Why, why
from lobewright.torque import kernel
from lobewright.torque.ask import FALL, NO_TORQUE, Walk, approached, retreat_mm, settle_at, wind
from lobewright.torque.model import State
from lobewright.torque.path import Place, Winder
from lobewright.torque.results import load_share_of

Array = NDArray[np.float64]
Progress = Callable[[str, float], None]
KEPT = 8
LEAST_NMM = 10.0
"""A drive that carries less is not wound up: its teeth only brush, and what is computed then is the noise of the solver."""
HELD = 0.98
"""Of the limit: a torque beyond it is not held."""
CUT = 0.5
"""Of the limit: the torque that numbers are told for where the duty's own is not held."""
JUMPED = 0.5
"""Pitches by which a loaded tooth has moved against its ring when it is over the top of the ring's tooth."""
BEGINS = (NO_TORQUE, 0.1)
"""Of the working torque: what is solved as well, so that the curve shows where play ends and how spring begins."""
SOLVED = 12
"""Even steps of torque from rest to the limit at which stresses and forces are taken for :attr:`Pushed.reached`."""
GIVES = ("rim gives", "teeth lean", "arm gives", "carrier shifts")
"""Parts of what gives, as the torque room names them."""


@dataclass(frozen=True)
class Pushed:
    """A walk from rest. ``ended``: "fall" (it skips), "crushed" (a tooth leans too far), "lost" or "far" (nothing holds it)."""

    drive: Wound
    ended: str

    @cached_property
    def places(self) -> list[Place]:
        """Places of the walk by rising windup; among them that of the working torque, and where the teeth begin to bear."""
        walked = {place.windup_rad: place for place in (*self._begins, self.at_duty, *self.drive.walk.places)}
        return [walked[windup] for windup in sorted(walked)]

    @cached_property
    def _begins(self) -> tuple[Place, ...]:
        """Settled places of small torques: a step of the walk may pass over most of the way on which teeth begin to bear."""
        found = []
        for share in BEGINS:
            try:
                place = self.settled(share * self.duty_nmm)
            except ConvergenceFault:  # the grain of a slack ring's contacts; the curve between its places
                continue
            if 0.0 < place.windup_rad < self.at_duty.windup_rad:
                found.append(place)
        return tuple(found)

    @cached_property
    def at_duty(self) -> Place:
        """The place of the working torque."""
        return self.settled(self.duty_nmm)

    @cached_property
    def limit(self) -> Place:
        """Where it carries most."""
        return max(self.drive.walk.places, key=lambda place: place.torque_nmm)

    @property
    def limit_nmm(self) -> float:
        return self.limit.torque_nmm

    @cached_property
    def duty_nmm(self) -> float:
        """The torque to tell numbers for; :attr:`which` says what it is."""
        rated, _, _ = duty_torques_nmm(self.drive.found.design, self.limit_nmm)
        return CUT * self.limit_nmm if self.which == "half" else rated

    @cached_property
    def which(self) -> str:
        """What :attr:`duty_nmm` is: "working" (the duty's largest steady torque), "half" (half the limit, for that one is not
        held) or "fifth" (of the limit: the design names no duty)."""
        rated, _, from_duty = duty_torques_nmm(self.drive.found.design, self.limit_nmm)
        if not from_duty:
            return "fifth"
        return "half" if rated > HELD * self.limit_nmm else "working"

    @cached_property
    def too_much_nmm(self) -> float | None:
        """The duty's largest torque where the drive does not hold it, gusts and the like with it."""
        _, peak, from_duty = duty_torques_nmm(self.drive.found.design, self.limit_nmm)
        return peak if from_duty and peak > HELD * self.limit_nmm else None

    @cached_property
    def windup_rad(self) -> Array:
        return np.array([place.windup_rad for place in self.places])

    @cached_property
    def torque_nmm(self) -> Array:
        return np.array([place.torque_nmm for place in self.places])

    def windup_at(self, torque_nmm: float) -> float:
        """Windup at which the way up first meets a torque, straight between its places."""
        after = int(np.argmax(self.torque_nmm >= torque_nmm))
        if after == 0:
            return float(self.windup_rad[0])
        low, high = self.torque_nmm[after - 1], self.torque_nmm[after]
        share = (torque_nmm - low) / (high - low)
        return float(self.windup_rad[after - 1] + share * (self.windup_rad[after] - self.windup_rad[after - 1]))

    @cached_property
    def slack_rad(self) -> float:
        """Windup before the teeth begin to bear: half of the free play as ``load`` tells it, from the curve itself."""
        return min(max(self.windup_at(NO_TORQUE * self.duty_nmm), 0.0), self.at_duty.windup_rad)

    @cached_property
    def jumped_in(self) -> str | None:
        """The rigid ring against which a tooth has moved by half a pitch or more where the walk ends; None where none has."""
        made, last = self.drive.winder.drive, self.places[-1].state
        found = []
        for row, one in enumerate(made.drive.rows):
            seen = [self.teeth([state], row)[0] for state in (self.places[0].state, last)]
            angle = [np.arctan2(at[:, 1], at[:, 0]) for at in seen]
            turn = self.ring_turn([self.places[0].state, last], row)
            moved = np.angle(np.exp(1j * (angle[1] - angle[0] - turn[1] + turn[0])))
            loaded = np.hypot(*self.forces([last], row)[0].T) > 0.0
            found.append((float(np.abs(moved[loaded]).max(initial=0.0)) / one.space.pitch_rad, one.name))
        most, name = max(found)
        return name if most >= JUMPED else None

    def settled(self, torque_nmm: float) -> Place:
        """The place of a torque on the way up. Raises ConvergenceFault where none is found."""
        return settle_at(self.drive.winder, self.drive.walk, torque_nmm)

    def states(self, windups_rad: Iterable[float]) -> list[State]:
        """States at windups of the walk, straight between its places."""
        return [self._between(windup) for windup in windups_rad]

    def _beside(self, windup: float) -> tuple[int, float]:
        """Index of the place after a windup, and how far it is on the way there from the one before, 0 to 1."""
        after = int(np.clip(np.searchsorted(self.windup_rad, windup), 1, len(self.places) - 1))
        low, high = self.windup_rad[after - 1], self.windup_rad[after]
        return after, float((windup - low) / (high - low))

    def _between(self, windup: float) -> State:
        after, share = self._beside(windup)
        low, high = self.places[after - 1], self.places[after]
        mixed = {
            name: (1.0 - share) * getattr(low.state, name) + share * getattr(high.state, name)
            for name in ("q", "lean", "extra")
        }
        return replace(low.state.copy(), **mixed)

    def given(self, places: Sequence[Place]) -> dict[str, Array]:
        """What gives at places [mm of the loaded teeth's retreat from their spaces], one array a part."""
        made, rest = self.drive.winder.drive, self.drive.walk.places[0]
        found = [retreat_mm(made, rest, place) for place in places]
        return {name: np.array([one[name] for one in found]) for name in GIVES}

    @cached_property
    def reached(self) -> Limits | Why:
        """What says no before the drive lets go, or why that is not known."""
        winder, design = self.drive.winder, self.drive.found.design
        try:
            told = [share * self.limit_nmm / SOLVED for share in range(1, SOLVED)]
            rest = self.drive.walk.places[0]
            places = [(0.0, rest), *((one, self.settled(one)) for one in told), (self.limit_nmm, self.limit)]
            shares = tuple(
                replace(load_share_of(winder.drive, place, winder.solves, winder.iterations, one), torque_nmm=one)
                for one, place in places
            )
            states = LoadedStates(self.drive.drive, self.drive.stiffness, shares, model_band())
            rated, _, _ = duty_torques_nmm(design, self.limit_nmm)
            return limits(self.drive.found, states, rated)
        except LobewrightError as error:
            return why(error)

    def row(self, name: str) -> int:
        """Index of the row that meshes with a rigid ring."""
        return [row.name for row in self.drive.drive.rows].index(name)

    def teeth(self, states: Sequence[State], row: int) -> Array:
        """Where the teeth of a row are: (S, T, 3), x mm, y mm of the foot on the neutral line, angle of the outward direction."""
        made = self.drive.winder.drive
        count, radius = int(made.numbers.teeth[row]), made.radius_mm
        outline = made.drive.rows[row].outline
        lever = max(min(made.drive.geometry.pitch_height_mm, outline.land_height_mm + 0.8 * outline.height_mm)
                    - outline.land_height_mm, 0.2 * outline.height_mm)  # fmt: skip
        out = np.empty((len(states), count, 3))
        for at, state in enumerate(states):
            for tooth in range(count):
                _, _, _, fx, fy, c, s = kernel.tooth_frame(state.q, row, tooth, made.numbers)
                # it leans about its foot on the wall
                turn = math.atan2(s, c)
                leaned = turn - math.atan(float(state.lean[row, tooth]) * radius / lever)
                land = outline.land_height_mm
                x = fx * radius + land * (c - math.cos(leaned))
                y = fy * radius + land * (s - math.sin(leaned))
                out[at, tooth] = x, y, leaned
        return out

    def forces(self, states: Sequence[State], row: int) -> Array:
        """Force of the rigid ring on every tooth of a row, seen from it: (S, T, 2) N, outward and anticlockwise."""
        made = self.drive.winder.drive
        count = int(made.numbers.teeth[row])
        found = [kernel.tooth_forces(one.q, one.lean, one.extra, made.numbers)[row, :count, 6:8] for one in states]
        return np.array(found) * made.force_unit_n

    def forces_at(self, windups_rad: Iterable[float], row: int) -> Array:
        """The same at windups of the walk, straight between what was solved at its places: (W, T, 2) N. Teeth in a state half
        way between two settled ones may press many times as hard as in either, for nothing has settled there."""
        solved, found = self._solved_forces[row], []
        for windup in windups_rad:
            after, share = self._beside(windup)
            found.append((1.0 - share) * solved[after - 1] + share * solved[after])
        return np.array(found)

    @cached_property
    def _solved_forces(self) -> list[Array]:
        """Forces on the teeth of every row at all places."""
        states = [place.state for place in self.places]
        return [self.forces(states, row) for row in range(len(self.drive.drive.rows))]

    def wall(self, states: Sequence[State], row: int) -> Array:
        """Neutral line of a row at its nodes: (S, N, 3), x mm, y mm, angle of the outward direction."""
        made = self.drive.winder.drive
        label = np.arange(made.nodes) * (2.0 * math.pi / made.nodes)
        o = 3 * row
        rows = [
            np.column_stack((
                made.radius_mm * (np.cos(label) + one.q[:, o]),
                made.radius_mm * (np.sin(label) + one.q[:, o + 1]),
                label + one.q[:, o + 2],
            ))
            for one in states
        ]  # fmt: skip
        return np.array(rows)

    def ring_turn(self, states: Sequence[State], row: int) -> Array:
        """Turn of a row's rigid ring: (S,) rad."""
        return np.array([one.extra[self.drive.winder.drive.ring_at[row]] for one in states])

    def arms_mm(self, states: Sequence[State]) -> Array:
        """Outward shift of every roller or disc: (S, A)."""
        made = self.drive.winder.drive
        return np.array([one.extra[2 : 2 + len(made.numbers.arm_stiffness)] for one in states]) * made.radius_mm


_KEPT: OrderedDict[tuple[str, str], Pushed | Why] = OrderedDict()


def pushed(found: Assessment, progress: Progress | None = None) -> Pushed | Why:
    """The drive wound up to where it lets go, or the reason why it is not solved under torque."""
    key = found.design_hash, found.workshop_hash
    if key not in _KEPT:
        if progress is not None:
            progress(f"winding up {found.design.name}", 0.0)
        _KEPT[key] = _pushed(found)
        while len(_KEPT) > KEPT:
            _KEPT.popitem(last=False)
    return _KEPT[key]


def _pushed(found: Assessment) -> Pushed | Why:
    if all(mesh.space.engagement_mm <= 0.0 for mesh in found.rings):
        return APART
    try:
        drive = wound(found)
        drive.walk = _walked(drive.winder)
        made = Pushed(drive, drive.walk.ended)
        if made.limit_nmm >= LEAST_NMM and made.at_duty.windup_rad > 0.0:
            return made
        return _little(made) if made.ended in ("fall", "crushed") else NOTHING
    except LobewrightError as error:
        return why(error)


def _little(made: Pushed) -> Why:
    """That a drive lets go of so little that nothing is told of it, and what its duty asks."""
    _, peak, from_duty = duty_torques_nmm(made.drive.found.design, made.limit_nmm)
    limit, asked = LEAST_NMM / 1000.0, peak / 1000.0
    return Why("holds_little_duty" if from_duty else "holds_little", limit_nm=limit, asked_nm=asked)


def _walked(winder: Winder) -> Walk:
    """The way from rest to where the drive lets go, and on to where it has."""
    far = wind(winder, 1, math.inf, FALL)
    try:
        near, ended = approached(winder, far, 1, FALL, lambda word, share: None)
    except ConvergenceFault:
        return far  # nothing holds it any longer, and no limit was passed
    top = max(range(len(near)), key=lambda at: near[at].torque_nmm)
    if ended == "crushed":
        return Walk(near, ended)
    # past the limit the exact path turns back; what a held rotation falls to is the walk's
    beyond = [place for place in far.places if place.windup_rad > near[top].windup_rad]
    return Walk([*near[: top + 1], *beyond], "fall")
