"""Torque that starts a drive at its generator, and torque of the slow member that drives it back, by virtual work.

Normal forces and slip are those of two frictionless states with the generator a little apart, so friction counts to first
order in μ. See ``docs/theory/friction_in_mesh.md``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.errors import ConvergenceFault, DesignFault, Fault
from lobewright.torque import friction_kernel, kernel
from lobewright.torque.ask import Progress
from lobewright.torque.friction import check_friction
from lobewright.torque.inputs import DriveInput, LoadInputs
from lobewright.torque.model import NODES_A_TOOTH, Drive, State, home_turns
from lobewright.torque.path import Place, Winder
from lobewright.torque.rest import prepare, turned
from lobewright.torque.results import GENERATOR, member_torques, sealed
from lobewright.torque.transmission import Sweep, counter_slip, slow_slip, wound_up

Array = NDArray[np.float64]

BEARING_FRICTION = 0.002
"""Of a deep-groove ball bearing, referred to its bore, lightly greased and without rubbing seals: 0.0015 to 0.003; remembered."""
MOST_BEARING_FRICTION = 0.1
LITTLE_TURN = 2e-4
"""Turn of the generator over which slip is taken [rad]."""
POSITIONS = 6
FARTHEST_LOAD = 4.0
"""Loads over the one that is asked about up to which back-driving is looked for."""
CLOSE = 0.01
"""Share within which the back-driving torque is found."""
NO_LOAD = 1e-6
"""Share of the load that counts as none: what drives a drive back that has no friction without load."""
MOST_LOADS = 8


@dataclass(frozen=True)
class Spread:
    """Mean, least and largest over the positions of a mesh period."""

    mean: float
    least: float
    largest: float


@dataclass(frozen=True)
class Starting:
    """Torques that start the drive; all positive when they act the way they are named. Arrays by position (P,).

    ``unloaded_nmm`` and ``loaded_nmm``: at the generator, without load and driving against ``load_nmm`` at the slow member.
    ``lowering_nmm``: at the generator to let the load down: positive means that it must be driven, negative that it must be
    held. ``back_driving_nmm``: at the slow member so that it turns a free generator; None where friction locks the drive
    up to ``searched_nmm``. ``ideal_nmm``: at the generator without any friction, from the tooth counts. ``loss_nmm``: work
    of friction a radian of the generator against the counter member, under the load, of "flanks", "cam" and "bearings".
    ``efficiency``: of driving against the load; ``back_efficiency``: of driving back at this load, 2 − 1/efficiency as the
    losses are the same both ways, and not above 0 where the load alone does not move the drive.
    """

    load_nmm: float
    flank_friction: float
    cam_friction: float
    bearing_friction: float
    unloaded_nmm: Spread
    loaded_nmm: Spread
    lowering_nmm: Spread
    back_driving_nmm: Spread | None
    searched_nmm: float
    ideal_nmm: float
    loss_nmm: dict[str, float]
    efficiency: float
    back_efficiency: float
    generator_turn_rad: Array
    loaded_at_nmm: Array

    @property
    def back_drives(self) -> bool:
        """Whether the slow member can turn the generator within the loads searched."""
        return self.back_driving_nmm is not None


@dataclass(frozen=True)
class _Loss:
    """At each position (P,): frictionless torque at the generator against the load, and work a radian by kind (P, 3)."""

    ideal: Array
    parts: Array

    @property
    def total(self) -> Array:
        return self.parts.sum(axis=1)


def starting(
    drive: DriveInput,
    inputs: LoadInputs,
    load_nmm: float,
    *,
    flank_friction: float,
    cam_friction: float = 0.0,
    bearing_friction: float = BEARING_FRICTION,
    positions: int = POSITIONS,
    per_tooth: int = NODES_A_TOOTH,
    progress: Progress | None = None,
) -> Starting:
    """Starting and back-driving torque, over ``positions`` in one mesh period.

    Raises DesignFault (coefficients outside 0 … 2, bearings outside 0 … 0.1, load not above 0, fewer than 3 positions) and
    ConvergenceFault where the drive does not hold the load.
    """
    check_friction(drive, flank_friction, cam_friction)
    _check(load_nmm, bearing_friction, positions)
    say = progress or (lambda word, share: None)
    case = _Case(prepare(drive, inputs, per_tooth=per_tooth), flank_friction, cam_friction, bearing_friction, positions)
    say("without load", 0.0)
    bare = case.loss(0.0)
    say("under load", 0.3)
    loaded = case.loss(load_nmm)
    say("driven back", 0.6)
    back, searched = case.back_driving(load_nmm, bare, loaded)
    ideal, lost = load_nmm * abs(case.slow / case.generator), float(loaded.total.mean())
    forward = ideal + lost
    return Starting(
        load_nmm=load_nmm,
        flank_friction=flank_friction,
        cam_friction=cam_friction,
        bearing_friction=bearing_friction,
        unloaded_nmm=_spread(bare.total),
        loaded_nmm=_spread(loaded.ideal + loaded.total),
        lowering_nmm=_spread(loaded.total - loaded.ideal),
        back_driving_nmm=back,
        searched_nmm=searched,
        ideal_nmm=ideal,
        loss_nmm=dict(zip(("flanks", "cam", "bearings"), loaded.parts.mean(axis=0).tolist(), strict=True)),
        efficiency=ideal / forward,
        back_efficiency=(ideal - lost) / ideal,
        generator_turn_rad=sealed(case.turns * (1.0 - counter_slip(drive))),
        loaded_at_nmm=sealed(loaded.ideal + loaded.total),
    )


def _check(load: float, bearing: float, positions: int) -> None:
    faults = []
    if not (math.isfinite(load) and load > 0.0):
        faults.append(Fault("the load must be positive", "load_nmm", 0, f"{load:g}", "above 0 N·mm"))
    if not 0.0 <= bearing <= MOST_BEARING_FRICTION:
        what, allowed = "this friction of a rolling bearing is out of range", f"0 to {MOST_BEARING_FRICTION:g}"
        faults.append(Fault(what, "bearing_friction", 0, f"{bearing:g}", allowed))
    if positions < 3:
        faults.append(Fault("too few positions in a mesh period", "positions", 0, str(positions), "3 or more"))
    if faults:
        raise DesignFault(faults)


def _spread(values: Array) -> Spread:
    return Spread(float(values.mean()), float(values.min()), float(values.max()))


class _Case:
    """One drive with its friction, asked at several loads."""

    def __init__(self, made: Drive, flank: float, cam: float, bearing: float, positions: int) -> None:
        self.made, self.flank, self.cam, self.bearing = made, flank, cam, bearing
        self.turns = np.arange(positions) / positions * (2.0 * math.pi / made.drive.rows[0].outline.teeth)
        counter = counter_slip(made.drive)
        # turns against the counter member, for one turn of the generator seen from the flexible ring
        self.generator = 1.0 - counter
        self.slow = slow_slip(made.drive) - counter

    def loss(self, load_nmm: float) -> _Loss:
        """Frictionless torque and friction work at every position under a load."""
        sweep = Sweep(self.made, load_nmm, lambda at: self._wound(at, load_nmm))
        here: list[State] = []
        ideal, parts = [], []
        for turn in self.turns:
            place = self._settle(sweep, turn, here)
            at = sweep.at
            ideal.append(-math.copysign(1.0, self.slow / self.generator) * member_torques(at, place)[0][GENERATOR])
            parts.append(self._rubbed(at, place, load_nmm))
            here.append(sweep.seen_from_home(place.state))
        return _Loss(np.array(ideal), np.array(parts))

    def _settle(self, sweep: Sweep, turn: float, here: list[State]) -> Place:
        if sweep.torque_nmm > 0.0:
            return sweep.settle(turn, here, [], 0)
        # without load the play has no place of its own: the rings stand where they mesh ideally
        sweep.at = turned(self.made, turn)
        return self._wound(sweep.at, 0.0)

    def _wound(self, at: Drive, load_nmm: float) -> Place:
        rest = prepare(self.made.drive, self.made.inputs, turn_rad=at.turn_rad, per_tooth=self._per_tooth()).rest
        fresh = replace(at, rest=rest)
        if load_nmm > 0.0:
            return wound_up(fresh, load_nmm)
        place = Winder(fresh).rest()
        if not place.outcome.settled:
            raise ConvergenceFault("the drive without load did not settle with its teeth in place", None)
        return place

    def _per_tooth(self) -> int:
        return self.made.nodes // self.made.drive.rows[0].outline.teeth

    def _rubbed(self, at: Drive, place: Place, load_nmm: float) -> list[float]:
        """Work [N·mm a radian of the generator] of flanks, cam and bearings at a place."""
        moved = turned(self.made, at.turn_rad + LITTLE_TURN)
        start = place.state.copy()
        start.extra[list(at.ring_at)] += home_turns(at.drive, LITTLE_TURN)
        winder = Winder(moved)
        winder.home += float(place.state.extra[winder.at] - at.rest.extra[winder.at])
        after = winder.load_to(load_nmm, start) if load_nmm > 0.0 else winder.turn_to(0.0, start)
        if not after.outcome.settled:
            what = "the drive did not settle with its generator turned on a little"
            raise ConvergenceFault([Fault(what, "load_nmm", 0, f"{load_nmm:.6g} N·mm")], place)
        step = LITTLE_TURN * abs(self.generator)
        unit = at.torque_unit_nmm
        flanks = self.flank * _flank_slip(at, place.state, after.state) * unit / step
        cam = self.cam * _cam_slip(at, place.state, after.state) * unit / step if self.cam > 0.0 else 0.0
        # the bearings turn against the ring that runs on them
        drag = self.bearing * _bearing_lever(at, place.state) / abs(self.generator)
        return [flanks, cam, drag]

    def back_driving(self, load: float, bare: _Loss, loaded: _Loss) -> tuple[Spread | None, float]:
        """Torque of the slow member that overcomes all friction, by the secant between loads; None where it locks."""
        low, high = (0.0, bare), (load, loaded)
        for _ in range(MOST_LOADS):
            found = _balance(low, high)
            if found is not None and (found.mean <= NO_LOAD * load or abs(found.mean - high[0]) <= CLOSE * high[0]):
                return found, max(load, high[0])
            wanted = 2.0 * high[0] if found is None or found.mean > 2.0 * high[0] else found.mean
            if wanted > FARTHEST_LOAD * load:
                return None, max(load, high[0])
            try:
                low, high = (low if wanted < high[0] else high), (wanted, self.loss(wanted))
            except ConvergenceFault:
                # it skips before it would be driven back
                return None, high[0]
        return _balance(low, high), max(load, high[0])


def _balance(low: tuple[float, _Loss], high: tuple[float, _Loss]) -> Spread | None:
    """Load at which ideal torque and loss are equal, each linear between two loads, for the mean and each position."""
    first, second = low[1].ideal - low[1].total, high[1].ideal - high[1].total
    gain = (second - first) / (high[0] - low[0])
    mean = float(gain.mean())
    if mean <= 0.0:
        return None
    centre = high[0] - float(second.mean()) / mean
    # positions differ by their own torque at that load, told with the mean's slope
    here = (second + gain * (centre - high[0])) / mean
    return Spread(max(0.0, centre), max(0.0, centre - float(here.max())), centre - float(here.min()))


def _flank_slip(at: Drive, before: State, after: State) -> float:
    """Sum of normal force times slip of the flanks between two states, dimensionless."""
    index, value = friction_kernel.flank_contacts(before.q, before.lean, before.extra, at.numbers)
    there = friction_kernel.flank_places(after.q, after.lean, after.extra, at.numbers, index)
    along = (value[:, 1:3] * (there[:, :2] - value[:, 3:5])).sum(axis=1)
    return float((value[:, 0] * np.abs(along)).sum())


def _cam_slip(at: Drive, before: State, after: State) -> float:
    """The same of the ring on a cam that turns on with the generator."""
    index, value = friction_kernel.cam_contacts(before.q, before.extra, before.near, at.numbers)
    there = friction_kernel.cam_places(after.q, after.extra, after.near, at.numbers, index)
    c, s = math.cos(LITTLE_TURN), math.sin(LITTLE_TURN)
    seen = np.column_stack((c * there[:, 0] + s * there[:, 1], c * there[:, 1] - s * there[:, 0]))
    along = (value[:, 1:3] * (seen - value[:, 3:5])).sum(axis=1)
    return float((value[:, 0] * np.abs(along)).sum())


def _bearing_lever(at: Drive, state: State) -> float:
    """Sum over bearings of ½ · load · bore · turns for one turn of the generator against the flexible ring [N·mm]."""
    generator, geometry = at.drive.design.generator, at.drive.geometry
    inner = geometry.neutral_radius_mm - geometry.inner_offset_mm
    if isinstance(generator, m.Cam):
        if generator.under is m.CamUnder.PLAIN:
            return 0.0
        _, value = friction_kernel.cam_contacts(state.q, state.extra, state.near, at.numbers)
        return 0.5 * float(value[:, 0].sum()) * at.force_unit_n * 2.0 * (inner - generator.race_height_mm)
    force, _, _ = kernel.body_forces(state.q, state.extra, state.near, at.numbers)
    load = float(np.hypot(*force.sum(axis=1).T).sum()) * at.force_unit_n
    bearing = catalogue.bearing(generator.bearing)
    rolling = generator.disc_radius_mm if isinstance(generator, m.Discs) else 0.5 * bearing.outer_mm
    return 0.5 * load * bearing.bore_mm * inner / rolling
