"""The drive of a lesson under torque: wound up from rest until it lets go, once for all scenes and languages.

The walk is the live page's (long steps, frictionless, generator and counter member held): its limit lies within a percent of
the one that ``load`` finds in short steps, and has no band. Assumes the middle of every stiffness.
"""

from __future__ import annotations

import math
from collections import OrderedDict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from lobewright.assessment.load import duty_torques_nmm
from lobewright.assessment.results import Assessment
from lobewright.assessment.wound import Wound, wound
from lobewright.errors import LobewrightError
from lobewright.teach.reasons import APART, NOTHING, Why, why
from lobewright.torque import kernel
from lobewright.torque.ask import FALL, retreat_mm, settle_at, wind
from lobewright.torque.model import State
from lobewright.torque.path import Place

Array = NDArray[np.float64]
Progress = Callable[[str, float], None]
KEPT = 8
LEAST_NMM = 10.0
"""A drive that carries less is not wound up: its teeth only brush, and what is computed then is the noise of the solver."""
HELD = 0.98
"""Of the limit: a torque beyond it is not held. The walk's limit lies within a percent of the exact one."""
CUT = 0.5
"""Of the limit: the torque that numbers are told for where the duty's own is not held."""
GIVES = ("rim gives", "teeth lean", "arm gives", "carrier shifts")
"""Parts of what gives, as the torque room names them."""


@dataclass(frozen=True)
class Pushed:
    """A walk from rest. ``ended``: "fall" (it skips), "crushed" (a tooth breaks first), "lost" or "far" (nothing holds it)."""

    drive: Wound
    ended: str

    @cached_property
    def places(self) -> list[Place]:
        """Places of the walk by rising windup, that of the working torque among them."""
        places = [*self.drive.walk.places, self.at_duty]
        return sorted(places, key=lambda place: place.windup_rad)

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

    def settled(self, torque_nmm: float) -> Place:
        """The place of a torque on the way up. Raises ConvergenceFault where none is found."""
        return settle_at(self.drive.winder, self.drive.walk, torque_nmm)

    def states(self, windups_rad: Iterable[float]) -> list[State]:
        """States at windups of the walk, straight between its places."""
        return [self._between(windup) for windup in windups_rad]

    def _between(self, windup: float) -> State:
        after = int(np.clip(np.searchsorted(self.windup_rad, windup), 1, len(self.places) - 1))
        low, high = self.places[after - 1], self.places[after]
        share = (windup - low.windup_rad) / (high.windup_rad - low.windup_rad)
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
        drive.walk = wind(drive.winder, 1, math.inf, FALL)
        made = Pushed(drive, drive.walk.ended)
        if made.limit_nmm >= LEAST_NMM and made.at_duty.windup_rad > 0.0:
            return made
    except LobewrightError as error:
        return why(error)
    return NOTHING
