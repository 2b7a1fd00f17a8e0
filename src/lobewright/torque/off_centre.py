"""The off-centre mesh: a drive assembled one tooth off at one lobe, and what gives it away on the bench.

The flexible ring's teeth sit in the right spaces at every lobe but the last, and there in the neighbouring one. That is the
ring shifted sideways: by half a pitch across the major axis for two lobes, by two thirds along the last lobe's circle for
three, with the rigid rings turned by a pitch over the lobes. From there the drive settles without torque; where teeth and
generator push it back into its centred mesh, no such state exists and the answer says so.

Teeth wedged beside the lobes may carry the output along and let it jump back: then the drive repeats itself only after
several pitches of its generator, and it is run until it does. Frictionless, so real jumps are fewer and larger. Source: derived.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lobewright.errors import ConvergenceFault, DesignFault, Fault
from lobewright.torque import kernel
from lobewright.torque.inputs import DriveInput, LoadInputs
from lobewright.torque.model import NODES_A_TOOTH, Drive, State
from lobewright.torque.path import Place, Winder
from lobewright.torque.pinch import pushes
from lobewright.torque.rest import prepare
from lobewright.torque.results import GENERATOR, member_torques, sealed
from lobewright.torque.solver import newton
from lobewright.torque.transmission import FEWEST_POSITIONS, Progress, Sweep, counter_slip, wound_up

Array = NDArray[np.float64]

IDLE = 1e-4
"""Share of the torque at which a drive counts as without torque: it tells on which flank the play is taken up."""
SETTLING = 300
"""Iterations that a drive set down beside its mesh may need to find its place."""

LONGEST_REPEAT, MOST_PITCHES = 8, 32
"""Pitches after which a drive may repeat itself, and for which it is run at most."""
SAME = 1e-5
"""Departure, over the whole swing of the angle, within which one stretch repeats another."""


@dataclass(frozen=True)
class Ripple:
    """One whole repetition of a drive at constant torque, over turns of the generator against the counter member (P,).

    ``error_rad``: angle of the slow member less the ideal, mean taken off; ``generator_torque_nmm``. ``pitches``: tooth
    pitches after which the drive repeats itself: 1 unless it moves in jerks.
    """

    generator_turn_rad: Array
    error_rad: Array
    generator_torque_nmm: Array
    pitches: int

    @property
    def torque_swing_nmm(self) -> float:
        """Largest less smallest torque of the generator."""
        return float(np.ptp(self.generator_torque_nmm))

    @property
    def angle_swing_rad(self) -> float:
        """Largest less smallest error of angle."""
        return float(np.ptp(self.error_rad))


@dataclass(frozen=True)
class MeshState:
    """One way the drive can be assembled. Figures without torque unless said.

    ``spaces_off`` (rows, lobes): by how many spaces the teeth at a lobe sit off the centred mesh. ``ring_shift_mm`` (rows,
    2): where the middle of the flexible ring stands off the axis, first lobe along x; ``carrier_mm``, ``carrier_force_n``
    (2,) the same of the generator's carrier, and of its bearing's force. ``body_force_n`` (B,): push of every roller or
    disc, or of a cam at every lobe. ``tooth_force_n`` (rows,): sum of the sizes of all tooth forces. ``teeth_touching``
    (rows,). ``lost_motion_rad``: turn of the slow member between ± ``lost_motion_share`` of the torque, None where it is
    not held. ``ripple`` at the torque; None, with ``not_swept`` saying why, where the drive does not go round so.
    """

    spaces_off: NDArray[np.int64]
    ring_shift_mm: Array
    carrier_mm: Array
    carrier_force_n: Array
    body_force_n: Array
    tooth_force_n: Array
    teeth_touching: tuple[int, ...]
    lost_motion_rad: float | None
    ripple: Ripple | None
    not_swept: str

    @property
    def eccentricity_mm(self) -> float:
        """Distance of the flexible ring's middle from the axis, mean of the rows."""
        return float(np.hypot(*self.ring_shift_mm.mean(axis=0)))

    @property
    def uneven_bodies(self) -> float:
        """Largest less smallest push of rollers, discs or a cam's lobes over their mean."""
        mean = float(self.body_force_n.mean())
        return float(np.ptp(self.body_force_n)) / mean if mean > 0.0 else 0.0


@dataclass(frozen=True)
class OffCentre:
    """The drive one tooth off at its last lobe (``side`` +1: the ring's teeth stand a space ahead) beside its centred mesh.

    ``off`` is None where no stable state of that kind exists; ``sentence`` then says so, else what gives it away.
    """

    torque_nmm: float
    lost_motion_share: float
    side: int
    centred: MeshState
    off: MeshState | None
    sentence: str


def off_centre(
    drive: DriveInput,
    inputs: LoadInputs,
    torque_nmm: float,
    *,
    side: int = 1,
    lost_motion_share: float = 0.03,
    positions_a_pitch: int = FEWEST_POSITIONS,
    per_tooth: int = NODES_A_TOOTH,
    progress: Progress | None = None,
) -> OffCentre:
    """Whether the drive can stand one tooth off at its last lobe, and how that differs from its centred mesh.

    ``torque_nmm`` of the slow member, at which ripple is told in ``positions_a_pitch`` even steps a pitch. Raises
    DesignFault, and ConvergenceFault where the centred drive does not hold the torque.
    """
    faults = []
    if not (math.isfinite(torque_nmm) and torque_nmm != 0.0):
        faults.append(Fault("the ripple needs a torque", "torque_nmm", 0, f"{torque_nmm:g}", "a size above 0 N·mm"))
    if positions_a_pitch < FEWEST_POSITIONS:
        what, allowed = "too few positions in a tooth pitch", f"{FEWEST_POSITIONS} or more"
        faults.append(Fault(what, "positions_a_pitch", 0, str(positions_a_pitch), allowed))
    if side not in (1, -1):
        faults.append(Fault("no such side", "side", 0, str(side), "1 or -1"))
    if not 0.0 < lost_motion_share < 1.0:
        faults.append(Fault("no such share", "lost_motion_share", 0, f"{lost_motion_share:g}", "between 0 and 1"))
    if faults:
        raise DesignFault(faults)
    made = prepare(drive, inputs, per_tooth=per_tooth)
    probe = lost_motion_share * abs(torque_nmm)
    idle = wound_up(made, IDLE * torque_nmm)
    lost = wound_up(made, probe).windup_rad - wound_up(made, -probe).windup_rad
    loaded = wound_up(made, torque_nmm)
    question = _Question(made, torque_nmm, positions_a_pitch, progress or (lambda word, share: None))
    centred = question.state_of(idle, lost, loaded)
    found = set_off(made, side, IDLE * torque_nmm)
    if found is None:
        sentence = (
            "no stable state one tooth off at a lobe was found: from there teeth and generator push the drive back into its "
            "centred mesh"
        )
        return OffCentre(torque_nmm, lost_motion_share, side, centred, None, sentence)
    pair = [question.loaded(found, sign * probe) for sign in (1.0, -1.0)]
    lost_off = pair[0].windup_rad - pair[1].windup_rad if pair[0] is not None and pair[1] is not None else None
    off = question.state_of(found, lost_off, question.loaded(found, torque_nmm))
    return OffCentre(torque_nmm, lost_motion_share, side, centred, off, _words(centred, off, lost_motion_share))


def spaces_off(made: Drive, state: State) -> NDArray[np.int64]:
    """By how many spaces (rows, lobes) the teeth at each lobe sit off the centred mesh."""
    lobes = made.drive.setting.lobes
    out = np.zeros((made.rows, lobes), dtype=np.int64)
    for r, row in enumerate(made.drive.rows):
        teeth, spaces = row.outline.teeth, row.space.teeth
        for k in range(lobes):
            tooth = round((made.turn_rad + 2.0 * math.pi * k / lobes) * teeth / (2.0 * math.pi))
            label = 2.0 * math.pi * tooth / teeth
            _, _, _, x, y, _, _ = kernel.tooth_frame(state.q, r, tooth % teeth, made.numbers)
            turn = math.atan2(y, x) - label
            angle = label + math.remainder(turn, 2.0 * math.pi) - state.extra[made.ring_at[r]]
            out[r, k] = round(angle * spaces / (2.0 * math.pi)) - tooth - (spaces - teeth) * k // lobes
    return out


def set_off(made: Drive, side: int, torque_nmm: float) -> Place | None:
    """The drive set down one tooth off at its last lobe and settled there; None where it leaves that mesh."""
    lobes = made.drive.setting.lobes
    pitch = made.drive.rows[0].space.pitch_rad
    last = made.turn_rad + 2.0 * math.pi * (lobes - 1) / lobes
    reach = side * (0.5 if lobes == 2 else 2.0 / lobes) * made.drive.rows[0].outline.pitch_mm / made.radius_mm
    wanted = np.tile(np.append(np.zeros(lobes - 1, dtype=np.int64), side), (made.rows, 1))
    way = reach * np.array([-math.sin(last), math.cos(last)])
    winder = Winder(made)
    none = np.zeros_like(made.rest.extra)
    for with_generator in (False, True):
        state = made.rest.copy()
        for row in range(made.rows):
            state.q[:, 3 * row : 3 * row + 2] += way
        state.extra[list(made.ring_at)] -= side * pitch / lobes
        if with_generator:
            state.extra[:2] += way
        outcome = newton(made, state, winder.loose, none, winder.push, winder.work, SETTLING)
        if not outcome.settled:
            continue
        place = winder.load_to(torque_nmm, state)
        if place.outcome.settled and (spaces_off(made, place.state) == wanted).all():
            return place
    return None


@dataclass(frozen=True)
class _Question:
    """What is asked of each way the drive can be assembled."""

    made: Drive
    torque_nmm: float
    positions: int
    say: Progress

    def loaded(self, idle: Place, torque_nmm: float) -> Place | None:
        """The place of a torque near one without, in the same mesh; None where there is none."""
        winder, state = Winder(self.made), idle.state
        mesh = spaces_off(self.made, idle.state)
        for share in (0.25, 0.5, 0.75, 1.0):
            place = winder.load_to(share * torque_nmm, state.copy())
            if not place.outcome.settled or (spaces_off(self.made, place.state) != mesh).any():
                return None
            state = place.state
        return place

    def state_of(self, idle: Place, lost: float | None, loaded: Place | None) -> MeshState:
        """Everything about one way of assembly, from its places without torque and at the torque."""
        made, state = self.made, idle.state
        radius, unit = made.radius_mm, made.force_unit_n
        forces = kernel.tooth_forces(state.q, state.lean, state.extra, made.numbers)
        sizes = np.hypot(forces[..., 0], forces[..., 1])
        shift = np.array([state.q[:, 3 * r : 3 * r + 2].mean(axis=0) for r in range(made.rows)])
        numbers = made.numbers
        bearing = -numbers.carrier_stiffness * (state.extra[:2] - numbers.carrier_home)
        ripple, why = None, "it does not hold the torque in this mesh"
        if loaded is not None:
            try:
                ripple, why = self._ripple(loaded), ""
            except ConvergenceFault as fault:
                why = str(fault)
        return MeshState(
            spaces_off=sealed(spaces_off(made, state)),
            ring_shift_mm=sealed(shift * radius),
            carrier_mm=sealed(state.extra[:2] * radius),
            carrier_force_n=sealed(bearing * unit),
            body_force_n=sealed(pushes(made, state) * unit),
            tooth_force_n=sealed(sizes.sum(axis=1) * unit),
            teeth_touching=tuple(int((sizes[r] > 0.0).sum()) for r in range(made.rows)),
            lost_motion_rad=lost,
            ripple=ripple,
            not_swept=why,
        )

    def _ripple(self, loaded: Place) -> Ripple:
        """The drive run on until it repeats itself. Raises ConvergenceFault where it leaves its mesh or never does."""
        mesh = spaces_off(self.made, loaded.state)

        def wound(at: Drive) -> Place:
            if at.turn_rad == self.made.turn_rad:
                return loaded
            what = f"the drive leaves this mesh when its generator has turned by {math.degrees(at.turn_rad):.4g}°"
            raise ConvergenceFault([Fault(what, "torque_nmm", 0, f"{self.torque_nmm:.6g} N·mm")], None)

        sweep = Sweep(self.made, self.torque_nmm, wound, lambda at, state: bool((spaces_off(at, state) == mesh).all()))
        step = 2.0 * math.pi / self.made.drive.rows[0].outline.teeth / self.positions
        here: list[State] = []
        windup: list[float] = []
        torque: list[float] = []
        for pitch in range(1, MOST_PITCHES + 1):
            self.say("off-centre mesh", pitch / MOST_PITCHES)
            for _ in range(self.positions):
                place = sweep.settle(len(windup) * step, here[-2:], [], 0)
                here = [*here[-1:], sweep.seen_from_home(place.state)]
                windup.append(place.windup_rad)
                torque.append(member_torques(sweep.at, place)[0][GENERATOR])
            pitches = _repeats(np.array(windup), self.positions)
            if pitches:
                last = pitches * self.positions
                turn = (
                    np.arange(len(windup) - last, len(windup), dtype=np.float64)
                    * step
                    * (1.0 - counter_slip(self.made.drive))
                )
                error = np.array(windup[-last:])
                return Ripple(sealed(turn), sealed(error - error.mean()), sealed(np.array(torque[-last:])), pitches)
        what = f"the drive does not repeat itself within {MOST_PITCHES} tooth pitches of its generator"
        raise ConvergenceFault([Fault(what, "torque_nmm", 0, f"{self.torque_nmm:.6g} N·mm")], None)


def _repeats(windup: Array, positions: int) -> int:
    """The fewest pitches after which the windup has repeated itself; 0 where it has not."""
    swing = float(np.ptp(windup))
    for pitches in range(1, LONGEST_REPEAT + 1):
        length = pitches * positions
        if len(windup) < 2 * length:
            break
        if np.abs(windup[-length:] - windup[-2 * length : -length]).max() <= SAME * swing:
            return pitches
    return 0


def _words(centred: MeshState, off: MeshState, share: float) -> str:
    """One sentence on what gives the off-centre mesh away."""
    signs = [
        f"the flexible ring stands {off.eccentricity_mm:.3g} mm off centre",
        f"the generator's bearing feels {np.hypot(*off.carrier_force_n):.3g} N instead of "
        f"{np.hypot(*centred.carrier_force_n):.3g} N, once round with the generator",
        f"teeth press with {off.tooth_force_n.sum():.3g} N without torque instead of {centred.tooth_force_n.sum():.3g} N",
    ]
    if off.lost_motion_rad is not None and centred.lost_motion_rad is not None:
        signs.append(
            f"the output turns {math.degrees(off.lost_motion_rad) * 60.0:.3g}′ between ± {100.0 * share:g} % of the torque "
            f"instead of {math.degrees(centred.lost_motion_rad) * 60.0:.3g}′"
        )
    if off.ripple is not None and centred.ripple is not None:
        signs.append(
            f"the generator's torque swings by {off.ripple.torque_swing_nmm:.3g} N·mm instead of "
            f"{centred.ripple.torque_swing_nmm:.3g} N·mm"
            + (f", in jerks that come every {off.ripple.pitches} tooth pitches" if off.ripple.pitches > 1 else "")
        )
    else:
        signs.append(f"at the torque asked: {off.not_swept or centred.not_swept}")
    return "one tooth off at a lobe it can stand: " + "; ".join(signs)
