"""The states of a loaded drive that strength and life are read from: without torque, at the rated and at the peak torque."""

from __future__ import annotations

from dataclasses import dataclass

from lobewright.assessment.load import Loads
from lobewright.assessment.results import Assessment
from lobewright.assessment.stiffness import Stiffnesses, loaded_drive, stiffnesses
from lobewright.strength.items import Span
from lobewright.torque.bands import ROLLER
from lobewright.torque.inputs import DriveInput
from lobewright.torque.model_spread import MODEL_SPREAD
from lobewright.torque.results import LoadShare
from lobewright.torque.survey import survey

SAME = 1e-6
"""Torques closer than this share of the larger are one."""


@dataclass(frozen=True)
class LoadedStates:
    """``shares``: settled states by rising torque, the first without any. ``force_factor``: 90 % band of the forces on rollers
    over those of the states. ``told_nmm``: torque of the last state, less than the duty's peak where the drive skips before."""

    drive: DriveInput
    stiffness: Stiffnesses
    shares: tuple[LoadShare, ...]
    force_factor: Span

    @property
    def told_nmm(self) -> float:
        return self.shares[-1].torque_nmm


def states_of(loads: Loads) -> LoadedStates:
    """What is known already from the drive under torque."""
    band = loads.band(ROLLER)
    factor = model_band() if band is None else Span(band.low / band.middle, 1.0, band.high / band.middle)
    return LoadedStates(loads.drive, loads.stiffness, _rising((loads.at_rest, *loads.shares)), factor)


def solve_states(a: Assessment, rated_nmm: float, peak_nmm: float) -> LoadedStates:
    """The same solved for this alone, without skip torque and bands.

    Raises what :func:`lobewright.torque.survey.survey` and :func:`lobewright.assessment.stiffness.stiffnesses` raise.
    """
    drive = loaded_drive(a)
    stiffness = stiffnesses(drive)
    walked = survey(drive, stiffness.inputs, peak_nmm, rated_nmm, skip_too=False)
    return LoadedStates(drive, stiffness, _rising((walked.at_rest, *walked.shares)), model_band())


def model_band() -> Span:
    """The band of roller forces from what the model leaves out alone."""
    times = MODEL_SPREAD[ROLLER][0]
    return Span(1.0 / times, 1.0, times)


def _rising(shares: tuple[LoadShare, ...]) -> tuple[LoadShare, ...]:
    """The states by rising torque, each torque once."""
    kept: list[LoadShare] = []
    for share in sorted(shares, key=lambda one: one.torque_nmm):
        if not kept or share.torque_nmm - kept[-1].torque_nmm > SAME * abs(share.torque_nmm):
            kept.append(share)
    return tuple(kept)
