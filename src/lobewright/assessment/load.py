"""Assessment in, the drive under torque out: every question asked in order, each with its reason where it was not answered."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

from lobewright.assessment.load_verdicts import not_made, pinch_verdict, share_verdicts, skip_verdict
from lobewright.assessment.results import Assessment
from lobewright.assessment.stiffness import Stiffnesses, loaded_drive, stiffnesses
from lobewright.design import model as m
from lobewright.errors import LobewrightError
from lobewright.mapper import Mapper
from lobewright.torque.ask import skip
from lobewright.torque.bands import SKIP, Band, Bands, LoadQuestion, bands, skip_question
from lobewright.torque.errors_in import DriveErrors, PitchErrors, RingErrors
from lobewright.torque.friction_data import BALL_BEARING, cam_friction, flank_friction
from lobewright.torque.friction_loop import Loop, hysteresis
from lobewright.torque.inputs import DriveInput, LoadInputs
from lobewright.torque.off_centre import OffCentre, off_centre
from lobewright.torque.over_arms import ArmCurve, over_arms
from lobewright.torque.pinch import Pinch, pinch
from lobewright.torque.results import LoadShare, Skip, Windup
from lobewright.torque.skip_correction import SkipCorrection, corrected, skip_correction
from lobewright.torque.starting import Starting, starting
from lobewright.torque.survey import LOST_MOTION_SHARE, survey
from lobewright.torque.transmission import TransmissionError, transmission_error
from lobewright.torque.weak import weak_inputs
from lobewright.verdict import Verdict, capital

Progress = Callable[[str, float], None]
APART = ("friction", "starting torque", "transmission error", "pinch", "off-centre mesh")
"""Analyses that need nothing of each other, by the names that they are missed under."""


def answer(ask: Callable[[], Any]) -> Any:
    """What was asked for, or the sentence that says why there is no answer; it can be sent to another process."""
    try:
        return ask()
    except LobewrightError as error:
        return error.sentences()[0]


@dataclass(frozen=True)
class Loads:
    """The drive under torque. An analysis that was not made is None and stands in ``not_made`` with its reason.

    ``rated_nmm`` and ``peak_nmm`` are the largest steady and peak torque of the duty, half the peak where it names no steady
    one; without a duty (``from_duty`` false) 0.2 and 0.4 of the skip torque. ``told_nmm``: the largest torque that windup and
    load share are told for, less than the peak where the drive skips before. The band of the skip torque is corrected by measured
    ones of the same process (``correction``).
    ``over_arms`` is None, too, where a generator has no arms or they give little.
    """

    drive: DriveInput
    stiffness: Stiffnesses
    errors: DriveErrors
    rated_nmm: float
    peak_nmm: float
    from_duty: bool
    told_nmm: float
    windup: Windup
    at_rest: LoadShare
    at_rated: LoadShare
    at_peak: LoadShare
    skip: Skip
    bands: Bands | None
    correction: SkipCorrection | None
    loop: Loop | None
    starting: Starting | None
    transmission: TransmissionError | None
    pinch: Pinch | None
    off_centre: OffCentre | None
    over_arms: ArmCurve | None
    not_made: tuple[tuple[str, str], ...]
    verdicts: tuple[Verdict, ...]

    @property
    def shares(self) -> tuple[LoadShare, ...]:
        """The load shares by rising torque, each torque once."""
        same = self.at_rated.torque_nmm == self.at_peak.torque_nmm
        return (self.at_peak,) if same else (self.at_rated, self.at_peak)

    @property
    def skip_band(self) -> Band | None:
        """The band of the skip torque, where one was made."""
        return self.band(SKIP)

    def band(self, name: str) -> Band | None:
        """The band of an answer by its name, None where it was not made."""
        found = () if self.bands is None else self.bands.bands
        return next((band for band in found if band.name == name), None)


ARMS_MATTER = 0.2
"""Share of the generator in what gives way above which the skip torque is told over the stiffness of its arms."""
JOINT_RUNS = 3
"""Runs with all weak inputs drawn at once, to see what the sum over them misses."""
RATED_SHARE, PEAK_SHARE = 0.2, 0.4
"""Torques that are told for a design without a duty, over its skip torque."""


def load(a: Assessment, progress: Progress | None = None, mapper: Mapper = map) -> Loads:
    """Ask an assessed drive everything under torque.

    ``mapper`` maps runs that do not depend on each other, in order (a process pool's ``map``). Raises DesignFault (no load
    path, unusable readings), ConvergenceFault (no state without torque, no skip found), PlatformFault (no finite elements).
    """
    say = progress or (lambda word, share: None)
    drive = loaded_drive(a)
    say("stiffness", 0.0)
    stiffness = stiffnesses(drive)
    inputs, errors = stiffness.inputs, making_errors(a.design)
    say("skip torque", 0.02)
    # walked on its own as the bands do: what a drive falls into past its first fall hangs on little things
    limit = skip(drive, inputs)
    rated, peak, from_duty = duty_torques_nmm(a.design, limit.torque_nmm)
    walked = survey(drive, inputs, peak, rated, skip_too=False, progress=part_of(say, 0.1, 0.2))
    told = walked.windup.reach_nmm
    steady = min(rated, told)
    apart = mapper(answer, _apart(drive, inputs, errors, steady, told if told >= peak else steady))
    missed: list[tuple[str, str]] = []

    def made(name: str, found: Any) -> Any:
        if isinstance(found, str):
            missed.append((name, found))
            return None
        return found

    say("skip torque over arms", 0.2)
    curve = None
    if not isinstance(a.design.generator, m.Cam) and limit.generator_share > ARMS_MATTER:
        curve = made("skip torque over arms", answer(partial(over_arms, drive, inputs, mapper=mapper)))
    weak = weak_inputs(drive, inputs)
    questions = (skip_question, LoadQuestion(told))
    asked = partial(
        bands, drive, inputs, weak, questions, mapper=mapper, checks=JOINT_RUNS, progress=part_of(say, 0.25, 0.9)
    )
    found: Bands | None = made("bands", answer(asked))
    correction = None
    if found is not None and any(band.name == SKIP for band in found.bands):
        correction = skip_correction(a.design, found.of(SKIP))
        found = replace(
            found,
            bands=tuple(corrected(one, correction) if one.name == SKIP else one for one in found.bands),
        )
    say("friction, starting torque, transmission error", 0.9)
    loop, turning, moved, squeezed, aside = map(made, APART, apart)
    result = Loads(
        drive=drive,
        stiffness=stiffness,
        errors=errors,
        rated_nmm=rated,
        peak_nmm=peak,
        from_duty=from_duty,
        told_nmm=told,
        windup=walked.windup,
        at_rest=walked.at_rest,
        at_rated=walked.shares[0],
        at_peak=walked.shares[1],
        skip=limit,
        bands=found,
        correction=correction,
        loop=loop,
        starting=turning,
        transmission=moved,
        pinch=squeezed,
        off_centre=aside,
        over_arms=curve,
        not_made=tuple(missed),
        verdicts=(),
    )
    return replace(result, verdicts=_verdicts(a.design, result))


def _apart(
    drive: DriveInput, inputs: LoadInputs, errors: DriveErrors, steady: float, reach: float
) -> tuple[Callable[[], Any], ...]:
    """The analyses of :data:`APART`; friction is walked to ``reach`` and back."""
    flank, cam = _friction(drive)
    share, ball = LOST_MOTION_SHARE * steady / reach, BALL_BEARING.middle
    return (
        partial(hysteresis, drive, inputs, reach, flank_friction=flank, cam_friction=cam, lost_motion_share=share),
        partial(starting, drive, inputs, steady, flank_friction=flank, cam_friction=cam, bearing_friction=ball),
        partial(transmission_error, drive, inputs, steady, errors=errors),
        partial(pinch, drive, inputs),
        partial(off_centre, drive, inputs, steady),
    )


def judged(a: Assessment, loads: Loads | str, lasting: tuple[Verdict, ...] = ()) -> Assessment:
    """The assessment with its verdicts on torque and those on strength and life (``lasting``); a sentence in place of loads
    says why they were not made."""
    fresh = (not_made(loads),) if isinstance(loads, str) else loads.verdicts
    return replace(a, verdicts=(*a.verdicts, *fresh, *lasting))


def making_errors(design: m.Design) -> DriveErrors:
    """Errors of making that a design names, as the loaded drive takes them; the generator's run-out shifts its centre."""
    ring = design.flexible_ring
    rings = tuple(
        RingErrors(
            run_out_mm=one.run_out_mm, ovality_mm=one.ovality_mm, pitch=PitchErrors(random_mm=one.pitch_error_mm)
        )
        for one in design.rigid_ring
    )
    flexible = tuple(PitchErrors(random_mm=ring.pitch_error_mm) for _ in design.rigid_ring)
    plain = all(one == RingErrors() for one in rings)
    return DriveErrors(
        rings=() if plain else rings,
        flexible_pitch=flexible if ring.pitch_error_mm > 0.0 else (),
        unequal_lobes_mm=design.generator.unequal_lobes_mm,
        generator_run_out_mm=design.generator.run_out_mm,
    )


def _friction(drive: DriveInput) -> tuple[float, float]:
    """Coefficients at the flanks and on a plain cam, at the middle of their ranges: belts run dry, the rest greased."""
    greased = not isinstance(drive.design.flexible_ring, m.Belt)
    on_cam = cam_friction(drive, greased=greased)
    return flank_friction(drive, greased=greased).middle, 0.0 if on_cam is None else on_cam.middle


def duty_torques_nmm(design: m.Design, skip_nmm: float) -> tuple[float, float, bool]:
    """Rated and peak torque [N·mm], and whether the duty names them; else shares of the skip torque.

    A recorded motion is part of the duty: its largest torque, either way, is a peak.
    """
    rated = 1000.0 * max((step.torque_Nm for step in design.duty), default=0.0)
    peaks = [max(step.torque_Nm, step.peak_torque_Nm) for step in design.duty]
    if design.recorded_motion is not None:
        peaks += [abs(torque) for _, _, torque in design.recorded_motion.points]
    peak = 1000.0 * max(peaks, default=0.0)
    if peak > 0.0:
        return (rated if rated > 0.0 else 0.5 * peak), peak, True
    return RATED_SHARE * skip_nmm, PEAK_SHARE * skip_nmm, False


def part_of(say: Progress, low: float, high: float) -> Progress:
    """What a stage tells of itself, as its part of the whole."""
    return lambda word, share: say(word, low + (high - low) * share)


def _verdicts(design: m.Design, loads: Loads) -> tuple[Verdict, ...]:
    if loads.skip_band is None:
        first = not_made(dict(loads.not_made).get("bands", "the band of the skip torque was not made"))
    else:
        first = skip_verdict(loads.skip_band, loads.peak_nmm if loads.from_duty else None, loads.skip)
    rest = [*share_verdicts(design, loads.at_peak)]
    if loads.pinch is not None:
        rest.append(pinch_verdict(loads.pinch))
    found = (first, *rest)
    return tuple(replace(verdict, sentence=capital(verdict.sentence)) for verdict in found)
