"""A drive kept under torque between questions: prepared once, wound up from rest as far as asked, settled anywhere on that way.

What a drive does at a torque hangs on the way to it, so a fine answer always lies on the walk from rest. Only a coarse one, while
the design is being moved, may begin from the state of the drive before.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from lobewright.assessment.results import Assessment
from lobewright.assessment.stiffness import Stiffnesses, loaded_drive, stiffnesses
from lobewright.design import model as m
from lobewright.errors import ConvergenceFault, Fault
from lobewright.torque.ask import FALL, Walk, settle_at, wind
from lobewright.torque.inputs import DriveInput
from lobewright.torque.model import NODES_A_TOOTH, Drive, State
from lobewright.torque.path import Place, Winder, toward
from lobewright.torque.rest import prepare
from lobewright.torque.results import LoadShare, load_share_of

COARSE_NODES_A_TOOTH = 1
ONWARD = 2.0
"""Times the torque that a walk has reached, or once the duty's peak: how far it is carried on at once, so that its steps stay
short where much more is asked than the drive may carry."""
SAFE = 0.95
"""Of the largest torque a drive carries: where it is shown when more is asked of it."""
KEPT_SETTLED = 32
"""Torques of one drive that are kept; more would fill the memory while a slider moves."""
NEAR_PITCHES = 0.25
"""Windup, in pitches, by which a drive that is moved may differ from the one before and still be looked for near it."""


@dataclass(frozen=True)
class Settled:
    """A drive at one torque, that of ``share``; ``carried`` where it is the torque that was asked for, and not less."""

    carried: bool
    place: Place
    share: LoadShare


@dataclass
class Wound:
    """One drive, ready to be asked. ``walk`` is its way from rest, which grows; ``ended`` once it has gone as far as it can."""

    found: Assessment
    drive: DriveInput
    stiffness: Stiffnesses
    winder: Winder
    walk: Walk
    coarse: bool
    kept_by_nmm: dict[float, Settled] = field(default_factory=dict)

    @property
    def carried_nmm(self) -> float:
        """Largest torque of the way walked."""
        return max(place.torque_nmm for place in self.walk.places)

    @property
    def limit_nmm(self) -> float | None:
        """The torque at which it lets go, in long steps; None as long as the walk has not met it."""
        return None if self.walk.ended == "torque" else self.carried_nmm

    def at(self, torque_nmm: float) -> Settled:
        """The drive at a torque (0 or more), else just below the largest that it carries. Raises ConvergenceFault where no state
        is found."""
        if torque_nmm not in self.kept_by_nmm:
            carried = self._reaches(torque_nmm)
            told = torque_nmm if carried else SAFE * self.carried_nmm
            if told <= 0.0 < torque_nmm:
                what = "the drive carries no torque: nothing near holds it"
                raise ConvergenceFault([Fault(what, "torque_nmm", 0, f"{torque_nmm:.6g} N·mm")], self.walk.places)
            place = settle_at(self.winder, self.walk, told) if told > 0.0 else self.walk.places[0]
            return self._kept(torque_nmm, self._settled(carried, told, place))
        return self.kept_by_nmm[torque_nmm]

    def _kept(self, torque_nmm: float, settled: Settled) -> Settled:
        self.kept_by_nmm[torque_nmm] = settled
        while len(self.kept_by_nmm) > KEPT_SETTLED:
            del self.kept_by_nmm[next(iter(self.kept_by_nmm))]
        return settled

    def _settled(self, carried: bool, torque_nmm: float, place: Place) -> Settled:
        winder = self.winder
        share = load_share_of(winder.drive, place, winder.solves, winder.iterations, torque_nmm)
        # without the last digits of the search: no torque is none, not a little less
        return Settled(carried, place, replace(share, torque_nmm=torque_nmm))

    def _reaches(self, torque_nmm: float) -> bool:
        """Whether the drive carries a torque; walks on as far as that needs."""
        steps = self.found.design.duty
        peak = 1000.0 * max((max(step.torque_Nm, step.peak_torque_Nm) for step in steps), default=0.0)
        while self.walk.ended == "torque" and self.carried_nmm < torque_nmm:
            step = max(ONWARD * self.carried_nmm, peak, self.winder.drive.torque_unit_nmm)
            self.walk = wind(self.winder, 1, min(torque_nmm, step), FALL, self.walk.places)
        return self.carried_nmm >= torque_nmm

    def near(self, other: Wound, torque_nmm: float) -> Settled | None:
        """The drive at a torque, sought from the state of a drive like it there; None where nothing is found near.

        Not for belts: slack, they settle into their mesh tooth by tooth, and what they do hangs on the way (the stiffness found
        so was off by a factor of four).
        """
        start = other.kept_by_nmm.get(torque_nmm)
        if isinstance(self.drive.design.flexible_ring, m.Belt) or start is None or not start.carried:
            return None
        state = _carried_over(other, start.place.state, self)
        if state is None:
            return None
        place = self.winder.near_to(start.place.windup_rad, state)
        if not place.outcome.settled or not place.slope_nmm_per_rad > 0.0:
            return None
        place = self.winder.load_to(torque_nmm, toward(place, torque_nmm))
        reach = NEAR_PITCHES * self.winder.drive.drive.rows[self.winder.ring].space.pitch_rad
        if not place.outcome.settled or abs(place.windup_rad - start.place.windup_rad) > reach:
            return None
        return self._kept(torque_nmm, self._settled(True, torque_nmm, place))


def wound(found: Assessment, *, coarse: bool = False) -> Wound:
    """A drive at rest, ready to be wound up.

    Raises DesignFault (no load path), ConvergenceFault (no unloaded state), PlatformFault (no finite elements).
    """
    drive = loaded_drive(found)
    stiffness = stiffnesses(drive, coarse)
    made = prepare(drive, stiffness.inputs, per_tooth=COARSE_NODES_A_TOOTH if coarse else NODES_A_TOOTH)
    winder = Winder(made)
    return Wound(found, drive, stiffness, winder, Walk([winder.rest()], "torque"), coarse)


def _carried_over(other: Wound, state: State, to: Wound) -> State | None:
    """What torque has made of another drive, laid on the rest of this one; None where the two are not alike."""
    theirs, ours = other.winder.drive, to.winder.drive
    before, rest = other.walk.places[0].state, to.walk.places[0].state
    stride, odd = divmod(theirs.nodes, ours.nodes)
    if odd or not _alike(theirs, ours):
        return None
    moved = (state.q - before.q)[::stride]
    return replace(
        rest.copy(),
        q=rest.q + moved,
        lean=rest.lean + state.lean - before.lean,
        extra=rest.extra + state.extra - before.extra,
        near=state.near[..., ::stride].copy(),
    )


def _alike(one: Drive, other: Drive) -> bool:
    """Whether states of two drives have the same teeth and unknowns."""
    shapes = [(drive.rest.lean.shape, drive.rest.extra.shape, drive.rest.near.shape[:2]) for drive in (one, other)]
    teeth = [[(row.outline.teeth, row.space.teeth) for row in drive.drive.rows] for drive in (one, other)]
    return shapes[0] == shapes[1] and teeth[0] == teeth[1] and one.drive.slow_member == other.drive.slow_member
