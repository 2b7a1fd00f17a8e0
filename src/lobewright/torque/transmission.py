"""Transmission error: what the slow member's angle departs from the ideal under a constant torque, and its spectrum."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lobewright.errors import ConvergenceFault, DesignFault, Fault
from lobewright.motion import FLEXIBLE, GENERATOR
from lobewright.torque.ask import FALL, settle_at, wind
from lobewright.torque.errors_in import NO_ERRORS, DriveErrors
from lobewright.torque.inputs import DriveInput, LoadInputs
from lobewright.torque.model import NODES_A_TOOTH, Drive, State, home_turns
from lobewright.torque.path import Place, Winder
from lobewright.torque.rest import prepare, turned
from lobewright.torque.results import Health, health_of, member_torques, sealed

Array = NDArray[np.float64]
Progress = Callable[[str, float], None]

FEWEST_POSITIONS, PLACES = 12, 16
"""Positions in a tooth pitch, and places of such a pitch round a turn when errors are on."""
SIDEBANDS = 2
"""Orders on each side of the mesh's own and its multiples that are told apart from it when errors are on."""
WORST_CONDITION = 1e6


@dataclass(frozen=True)
class TransmissionError:
    """Angle of the slow member less the ideal, at constant torque, over turns of the generator against the counter member.

    Arrays by position (P,): ``generator_turn_rad``, ``error_rad`` (anticlockwise positive, mean taken off: ``mean_rad`` is
    the windup that belongs to the torque), ``generator_torque_nmm`` (outside torque on the generator). Spectrum (K,):
    ``orders`` a turn of the generator against the counter member, ascending, above 0, and ``amplitude_rad``,
    ``phase_rad`` of amplitude·cos(order·turn − phase). ``mesh_order``: that of one tooth pitch. ``condition``: of the least
    squares that the spectrum is read by (1: a plain Fourier sum); ``left_over_rad``: root mean square of what no order takes.
    ``sampled`` says in words what was sampled. ``torque_error_share``: departure of the generator's mean torque from the
    ratio, over the ratio's (None where whole mesh periods were not sampled). ``fallbacks``: positions that had to be wound
    up anew. ``health`` of the last position.
    """

    torque_nmm: float
    generator_turn_rad: Array
    error_rad: Array
    mean_rad: float
    generator_torque_nmm: Array
    orders: Array
    amplitude_rad: Array
    phase_rad: Array
    mesh_order: float
    positions_a_pitch: int
    places: int
    turns: float
    condition: float
    left_over_rad: float
    sampled: str
    torque_error_share: float | None
    fallbacks: int
    health: Health

    @property
    def peak_to_peak_rad(self) -> float:
        """Largest less smallest error of the positions."""
        return float(self.error_rad.max() - self.error_rad.min())

    @property
    def torque_ripple_nmm(self) -> float:
        """Largest less smallest torque of the generator."""
        return float(self.generator_torque_nmm.max() - self.generator_torque_nmm.min())

    def amplitude_at(self, order: float) -> float:
        """Amplitude [rad] of the order nearest to the one asked; nan where none lies within half an order."""
        at = int(np.argmin(np.abs(self.orders - order)))
        return float(self.amplitude_rad[at]) if abs(self.orders[at] - order) < 0.5 else math.nan


def transmission_error(
    drive: DriveInput,
    inputs: LoadInputs,
    torque_nmm: float,
    *,
    errors: DriveErrors = NO_ERRORS,
    positions_a_pitch: int = FEWEST_POSITIONS,
    places_a_turn: int | None = None,
    turns: float = 1.0,
    per_tooth: int = NODES_A_TOOTH,
    progress: Progress | None = None,
) -> TransmissionError:
    """Transmission error and torque ripple at a constant torque of the slow member (its sign counts).

    Every place is one tooth pitch in ``positions_a_pitch`` (12 or more) even steps. ``places_a_turn``: how many lie round a
    turn of the generator; left out it is 1 for a perfect drive, which repeats itself every pitch, and 16 with errors (or
    rows of different tooth counts). ``turns``: over how many turns of the generator the places are spread, with
    ``places_a_turn`` in each: errors of the two rings and of the flexible ring go by at rates that differ by the slow turn
    and are told apart over many turns only.
    Raises DesignFault and ConvergenceFault (last_good: the positions settled so far as (turn, windup)).
    """
    places = checked(drive, errors, torque_nmm, positions_a_pitch, places_a_turn, turns)
    made = prepare(drive, inputs, per_tooth=per_tooth, errors=errors)

    def wound(at: Drive) -> Place:
        rest = prepare(drive, inputs, turn_rad=at.turn_rad, per_tooth=per_tooth, errors=errors).rest
        return wound_up(replace(at, rest=rest), torque_nmm)

    return swept(Sweep(made, torque_nmm, wound), positions_a_pitch, places, turns, progress)


def wound_up(drive: Drive, torque_nmm: float) -> Place:
    """The place of a torque, wound up from the drive's rest. Raises ConvergenceFault where it is not held."""
    winder = Winder(drive)
    walk = wind(winder, 1 if torque_nmm > 0.0 else -1, abs(torque_nmm), FALL)
    if walk.ended != "torque":
        most = max(abs(place.torque_nmm) for place in walk.places)
        what = f"the drive does not hold this torque with its generator at {math.degrees(drive.turn_rad):.4g}°"
        fault = Fault(what, "torque_nmm", 0, f"{abs(torque_nmm):.6g} N·mm", f"up to about {most:.6g} N·mm")
        raise ConvergenceFault([fault], walk.places)
    return settle_at(winder, walk, torque_nmm)


def swept(
    sweep: Sweep, positions: int, places: int, turns: float, progress: Progress | None = None
) -> TransmissionError:
    """A drive swept over places round the turn, each a tooth pitch in even steps."""
    drive = sweep.made.drive
    say = progress or (lambda word, share: None)
    pitch = 2.0 * math.pi / drive.rows[0].outline.teeth
    slip = counter_slip(drive)
    starts = np.rint(np.arange(places) * (turns * 2.0 * math.pi / places / (1.0 - slip) / pitch)).astype(int)
    windup, torque = [], []
    before: list[State] = []
    for number, start in enumerate(starts):
        here: list[State] = []
        for step in range(positions):
            say("transmission error", (number * positions + step) / (places * positions))
            turn = (start + step / positions) * pitch
            roll = int(start - starts[number - 1]) if number else 0
            place = sweep.settle(turn, here, before, roll)
            here.append(sweep.seen_from_home(place.state))
            windup.append(place.windup_rad)
            torque.append(member_torques(sweep.at, place)[0][GENERATOR])
        before = here
    turn = (starts[:, None] + np.arange(positions) / positions).ravel() * pitch * (1.0 - slip)
    sampled = Sampled(turn, np.array(windup), np.array(torque), positions, places, turns)
    return _result(sweep, sampled, health_of(sweep.at, place, sweep.solves, sweep.iterations, sweep.torque_nmm))


@dataclass(frozen=True)
class Sampled:
    """Turn of the generator, windup and generator torque (P,) of places of one pitch each, and how they lie."""

    turn_rad: Array
    windup_rad: Array
    torque_nmm: Array
    positions: int
    places: int
    turns: float


def _result(sweep: Sweep, sampled: Sampled, health: Health) -> TransmissionError:
    drive = sweep.made.drive
    slip, slow = counter_slip(drive), slow_slip(drive)
    mesh = drive.rows[0].outline.teeth / (1.0 - slip)
    mean = float(sampled.windup_rad.mean())
    fit = spectrum(sampled, mesh)
    ratio = -sweep.torque_nmm * (slow - slip) / (1.0 - slip)
    share = abs(float(sampled.torque_nmm.mean()) / ratio - 1.0) if sampled.places == 1 and ratio != 0.0 else None
    return TransmissionError(
        torque_nmm=sweep.torque_nmm,
        generator_turn_rad=sealed(sampled.turn_rad),
        error_rad=sealed(sampled.windup_rad - mean),
        mean_rad=mean,
        generator_torque_nmm=sealed(sampled.torque_nmm),
        orders=sealed(fit.orders),
        amplitude_rad=sealed(np.hypot(fit.cosine, fit.sine)),
        phase_rad=sealed(np.arctan2(fit.sine, fit.cosine)),
        mesh_order=mesh,
        positions_a_pitch=sampled.positions,
        places=sampled.places,
        turns=sampled.turns,
        condition=fit.condition,
        left_over_rad=fit.left_over,
        sampled=_words(sampled, mesh),
        torque_error_share=share,
        fallbacks=sweep.fallbacks,
        health=health,
    )


def _words(sampled: Sampled, mesh: float) -> str:
    if sampled.places == 1:
        return (
            f"one tooth pitch in {sampled.positions} positions: the drive repeats itself every pitch, "
            f"so the orders are multiples of {mesh:g} a turn of the generator"
        )
    return (
        f"{sampled.places} places over {sampled.turns:g} turns of the generator, each one tooth pitch in "
        f"{sampled.positions} positions; orders nearer to each other than {1.0 / sampled.turns:g} are told as one"
    )


@dataclass(frozen=True)
class Spectrum:
    """Waves (K,) by order, the condition of the least squares behind them and what they leave (root mean square)."""

    orders: Array
    cosine: Array
    sine: Array
    condition: float
    left_over: float


def spectrum(sampled: Sampled, mesh: float) -> Spectrum:
    """Waves of the windup: slow ones that the places can tell, and multiples of the mesh with their sidebands.

    Least squares over the samples. Raises ConvergenceFault where these cannot tell the orders apart.
    """
    slow = np.arange(1, (sampled.places - 1) // 2 + 1) / sampled.turns
    band = np.arange(-SIDEBANDS, SIDEBANDS + 1) / sampled.turns if len(slow) > SIDEBANDS else np.zeros(1)
    multiples = np.arange(1, (sampled.positions - 1) // 2 + 1) * mesh
    orders = np.concatenate((slow, (multiples[:, None] + band).ravel()))
    angle = sampled.turn_rad[:, None] * orders
    basis = np.column_stack((np.ones(len(angle)), np.cos(angle), np.sin(angle)))
    size = np.linalg.norm(basis, axis=0)
    condition = float(np.linalg.cond(basis / size))
    if not condition < WORST_CONDITION:
        what = "the sampled positions cannot tell these orders apart"
        raise ConvergenceFault([Fault(what, "places_a_turn", 0, str(sampled.places), "other places or turns")], sampled)
    # about their mean, so that rounding is that of the error and not of the windup
    wanted = sampled.windup_rad - sampled.windup_rad.mean()
    answer = np.linalg.lstsq(basis / size, wanted, rcond=None)[0] / size
    left = wanted - basis @ answer
    count = len(orders)
    return Spectrum(orders, answer[1 : 1 + count], answer[1 + count :], condition, float(np.sqrt((left**2).mean())))


def counter_slip(drive: DriveInput) -> float:
    """Turn of the counter member for one turn of the generator, both seen from the flexible ring's material."""
    names = [row.name for row in drive.rows]
    if drive.counter_member == FLEXIBLE:
        return 0.0
    return float(home_turns(drive, 1.0)[names.index(drive.counter_member)])


def slow_slip(drive: DriveInput) -> float:
    """The same of the slow member."""
    names = [row.name for row in drive.rows]
    return 0.0 if drive.slow_member == FLEXIBLE else float(home_turns(drive, 1.0)[names.index(drive.slow_member)])


def checked(
    drive: DriveInput, errors: DriveErrors, torque_nmm: float, positions: int, places: int | None, turns: float
) -> int:
    """Number of places; raises DesignFault for what cannot be asked."""
    faults = []
    if not (math.isfinite(torque_nmm) and torque_nmm != 0.0):
        allowed = "a size above 0 N·mm: without torque the play has no place of its own"
        faults.append(Fault("transmission error needs a torque", "torque_nmm", 0, f"{torque_nmm:g}", allowed))
    if positions < FEWEST_POSITIONS:
        allowed = f"{FEWEST_POSITIONS} or more"
        faults.append(Fault("too few positions in a tooth pitch", "positions_a_pitch", 0, str(positions), allowed))
    if places is not None and places < 1:
        faults.append(Fault("too few places round the turn", "places_a_turn", 0, str(places), "1 or more"))
    if not (math.isfinite(turns) and turns > 0.0):
        faults.append(Fault("the turns must be positive", "turns", 0, f"{turns:g}", "above 0 turns"))
    if faults:
        raise DesignFault(faults)
    if places is None:
        even = not errors.turning and len({row.outline.teeth for row in drive.rows}) == 1
        places = 1 if even else PLACES
    return max(1, round(places * turns)) if places > 1 else 1


class Sweep:
    """Settles one position after the other at a constant torque, from the nearest state known.

    ``wound`` makes the place of the torque where none is near (a drive turned as asked); it may refuse. ``belongs`` says
    whether a settled state still is of the kind that is swept.
    """

    def __init__(
        self,
        made: Drive,
        torque_nmm: float,
        wound: Callable[[Drive], Place],
        belongs: Callable[[Drive, State], bool] = lambda at, state: True,
    ) -> None:
        self.made = self.at = made
        self.torque_nmm = torque_nmm
        self.wound = wound
        self.belongs = belongs
        self.fallbacks = self.solves = self.iterations = 0
        self.known: list[tuple[float, float]] = []

    def settle(self, turn_rad: float, here: list[State], before: list[State], roll: int) -> Place:
        """The place at a turn of the generator, from those settled so far in this pitch (``here``) and in the pitch
        ``before`` that lies ``roll`` teeth back; else wound up from rest."""
        self.at = turned(self.made, turn_rad)
        winder = Winder(self.at)
        place = None
        for start in self._starts(here, before, roll):
            start.extra[list(self.at.ring_at)] += home_turns(self.at.drive, turn_rad)
            found = winder.load_to(self.torque_nmm, start)
            if found.outcome.settled and self.belongs(self.at, found.state):
                place = found
                break
        if place is None:
            self.fallbacks += bool(self.known)
            place = self._anew()
        self.solves += winder.solves
        self.iterations += winder.iterations
        self.known.append((turn_rad, place.windup_rad))
        return place

    def seen_from_home(self, state: State) -> State:
        """A settled state with the turns of the rings told from where they mesh ideally."""
        out = state.copy()
        out.extra[list(self.at.ring_at)] -= home_turns(self.at.drive, self.at.turn_rad)
        return out

    def _starts(self, here: list[State], before: list[State], roll: int) -> list[State]:
        """Start states, turns of the rings told from home, the likeliest first."""
        starts = []
        if before:
            same = rolled(self.at, before[len(here)], roll)
            if here:
                # errors hardly change within a pitch: go on as the pitch before went on
                starts.append(_moved_on(here[-1], rolled(self.at, before[len(here) - 1], roll), same))
            starts.append(same)
        if here:
            starts.append(_moved_on(here[-1], here[-2] if len(here) > 1 else here[-1], here[-1]))
        return starts

    def _anew(self) -> Place:
        """The place made anew. Raises ConvergenceFault with the positions known so far."""
        try:
            return self.wound(self.at)
        except ConvergenceFault as fault:
            raise ConvergenceFault(fault.faults, self.known) from fault


def _moved_on(last: State, start: State, end: State) -> State:
    """The last state moved as it is from start to end."""
    return State(
        last.q + end.q - start.q,
        last.lean + end.lean - start.lean,
        last.extra + end.extra - start.extra,
        end.near.copy(),
    )


def rolled(drive: Drive, state: State, teeth: int) -> State:
    """A state as it stands when the generator has gone on by whole teeth of the first row; exact for a perfect drive."""
    first_teeth = drive.drive.rows[0].outline.teeth
    nodes = teeth * drive.nodes // first_teeth
    angle = teeth * 2.0 * math.pi / first_teeth
    c, s = math.cos(angle), math.sin(angle)
    label = np.arange(drive.nodes) * (2.0 * math.pi / drive.nodes)
    q = state.q.copy()
    for row in range(drive.rows):
        o = 3 * row
        x, y = np.cos(label) + state.q[:, o], np.sin(label) + state.q[:, o + 1]
        q[:, o] = np.roll(c * x - s * y, nodes) - np.cos(label)
        q[:, o + 1] = np.roll(s * x + c * y, nodes) - np.sin(label)
        q[:, o + 2] = np.roll(state.q[:, o + 2], nodes)
    lean = state.lean.copy()
    for row, given in enumerate(drive.drive.rows):
        count = given.outline.teeth
        lean[row, :count] = np.roll(lean[row, :count], round(teeth * count / first_teeth))
    extra = state.extra.copy()
    for row, given in enumerate(drive.drive.rows):
        at = drive.lean_extras(row)[1:]
        # the picture runs round the ring by whole spaces: its waves turn in the ring's frame
        for first, wave in ((1, 2), (3, 4)) if at else ():
            turn = wave * teeth * given.outline.teeth / first_teeth * 2.0 * math.pi / given.space.teeth
            a, b = extra[at[first]], extra[at[first + 1]]
            extra[at[first]] = math.cos(turn) * a - math.sin(turn) * b
            extra[at[first + 1]] = math.sin(turn) * a + math.cos(turn) * b
    extra[:2] = c * extra[0] - s * extra[1], s * extra[0] + c * extra[1]
    return State(q, lean, extra, np.roll(state.near, nodes, axis=2))
