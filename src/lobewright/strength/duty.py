"""What a duty asks of ring, generator and bearings: turns, bends, hours, step by step.

A point of the flexible ring is bent n·|ω_g − ω_f|/|ω_g| times a generator turn (n lobes; kinematics, derived in the theory
page on motion).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lobewright.design import model as m
from lobewright.motion import FLEXIBLE, GENERATOR, MotionResult

Array = NDArray[np.float64]


@dataclass(frozen=True)
class DutyPart:
    """One step of the duty. ``swing_rad``: how far the generator swings to and fro against the ring, None where it
    turns on and on.

    Torques and outside loads at the member that is read; ``bends``: load cycles of one point of the ring over the step.
    """

    name: str
    torque_nmm: float
    peak_nmm: float
    hours: float
    generator_turns: float
    generator_rpm: float
    bends: float
    read_turns: float
    swing_rad: float | None
    overturning_nmm: float
    axial_n: float
    radial_n: float


@dataclass(frozen=True)
class Record:
    """A recorded motion: ``time_s`` (T,) rising, ``generator_rad`` (T,), its turn against the ring ``bend_rad`` (T,),
    ``torque_nmm`` (T,) signed; run ``repeats`` times."""

    time_s: Array
    generator_rad: Array
    bend_rad: Array
    torque_nmm: Array
    repeats: float


@dataclass(frozen=True)
class Duty:
    """All that is asked of the drive: steps and, where the design names one, a recorded motion."""

    lobes: int
    parts: tuple[DutyPart, ...]
    record: Record | None

    @property
    def hours(self) -> float:
        recorded = 0.0
        if self.record is not None:
            recorded = self.record.repeats * float(self.record.time_s[-1] - self.record.time_s[0]) / 3600.0
        return recorded + math.fsum(part.hours for part in self.parts)

    @property
    def generator_turns(self) -> float:
        """Turns of the generator, to and fro counted alike."""
        return self._recorded("generator_rad") + math.fsum(part.generator_turns for part in self.parts)

    @property
    def bends(self) -> float:
        """Load cycles of one point of the ring; in a recorded motion, passes of a lobe to and fro."""
        return self.lobes * self._recorded("bend_rad") + math.fsum(part.bends for part in self.parts)

    @property
    def peak_nmm(self) -> float:
        """Largest torque that the duty names."""
        recorded = 0.0 if self.record is None else float(np.abs(self.record.torque_nmm).max())
        return max([recorded, *(max(part.torque_nmm, part.peak_nmm) for part in self.parts)])

    def _recorded(self, name: str) -> float:
        if self.record is None:
            return 0.0
        way = float(np.abs(np.diff(getattr(self.record, name))).sum())
        return self.record.repeats * way / (2.0 * math.pi)


def duty_of(design: m.Design, motion: MotionResult) -> Duty | None:
    """The duty of a design; None where it names neither steps nor a recorded motion."""
    if not design.duty and design.recorded_motion is None:
        return None
    read = motion.turns[motion.read]
    generator = abs(float(motion.turns[GENERATOR] / read))
    against_ring = abs(float((motion.turns[GENERATOR] - motion.turns[FLEXIBLE]) / read))
    parts = tuple(_part(step, design.lobes, generator, against_ring) for step in design.duty)
    return Duty(design.lobes, parts, _record(design.recorded_motion, generator, against_ring))


def _part(step: m.DutyStep, lobes: int, generator: float, against_ring: float) -> DutyPart:
    turns = step.speed_rpm * 60.0 * step.hours
    return DutyPart(
        name=step.name,
        torque_nmm=1000.0 * step.torque_Nm,
        peak_nmm=1000.0 * max(step.torque_Nm, step.peak_torque_Nm),
        hours=step.hours,
        generator_turns=generator * turns,
        generator_rpm=generator * step.speed_rpm,
        bends=lobes * against_ring * turns,
        read_turns=turns,
        swing_rad=None if step.travel_deg is None else against_ring * math.radians(step.travel_deg),
        overturning_nmm=1000.0 * step.overturning_moment_Nm,
        axial_n=step.axial_force_N,
        radial_n=step.radial_force_N,
    )


def _record(recorded: m.RecordedMotion | None, generator: float, against_ring: float) -> Record | None:
    if recorded is None:
        return None
    time, turn, torque = np.array(recorded.points, dtype=float).T
    angle = np.radians(turn)
    found = Record(time, generator * angle, against_ring * angle, 1000.0 * torque, recorded.repeats)
    for column in (found.time_s, found.generator_rad, found.bend_rad, found.torque_nmm):
        column.setflags(write=False)
    return found
