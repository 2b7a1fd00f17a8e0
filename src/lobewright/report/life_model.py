"""The part of ``results.json`` on strength and life: stress in MPa, torque in N·m, lengths in mm, times in hours.

Lives and safeties are counted in "times what is asked". JSON has no infinity, so ``null`` stands where nothing bounds a
number: an endless life, an amplitude that the criterion leaves no room for, the radius of a smooth wall.
"""

from __future__ import annotations

from lobewright.design.base import Frozen

Bounds = tuple[float | None, float | None, float | None]
"""Low, middle and high of a 90 % band; ``null`` where endless."""


class SpanPart(Frozen):
    """A number with its 90 % band. ``endless``: nothing bounds its middle; a bound that is ``null`` is endless."""

    low: float | None
    middle: float | None
    high: float | None
    endless: bool


class WorkPart(Frozen):
    """How a number came about; ``sources`` on one line each, with their flags."""

    equation: str
    numbers: str
    sources: tuple[str, ...]


class LifeItemPart(Frozen):
    """How often one part bears the whole duty. ``duties``: 1 is just enough; ``asked`` is counted in ``counted``; ``remark``
    says where the number is weak or lies beyond all evidence."""

    name: str
    title: str
    part: str
    duties: SpanPart
    asked: float
    counted: str
    remark: str
    working: WorkPart


class SafetyItemPart(Frozen):
    """Strength over load, 1 is just enough; ``load`` and ``strength`` share ``unit``."""

    name: str
    title: str
    part: str
    safety: SpanPart
    load: float
    strength: float | None
    unit: str
    remark: str
    working: WorkPart


class NotMadePart(Frozen):
    """A check that could not be made, and why; ``of_life``: it would have told a life, not a strength."""

    name: str
    title: str
    part: str
    why: str
    of_life: bool


class DutyPart(Frozen):
    """What the duty asks in all: load cycles of one point of the ring in ``bends``."""

    hours: float
    generator_turns: float
    bends: float
    peak_Nm: float


class CourseTorquePart(Frozen):
    """Least and most round the ring at one torque, notch included."""

    torque_Nm: float
    hoop_least_MPa: float
    hoop_most_MPa: float
    meridional_least_MPa: float
    meridional_most_MPa: float
    shear_least_MPa: float
    shear_most_MPa: float


class CoursePart(Frozen):
    """Stress of one critical place of the ring. ``from_edge_mm`` from the open edge; ``notch_radius_mm`` is ``null`` for a smooth
    wall; ``model_spread``: 90 % band of the stress from the model, a factor either way."""

    name: str
    title: str
    surface: str
    from_edge_mm: float
    direction: str
    notch_factor: float
    notch_radius_mm: float | None
    model_spread: float
    model_words: str
    at: tuple[CourseTorquePart, ...]


class StepPart(Frozen):
    """One step of the duty at one place; ``equivalent_MPa`` at ratio −1; ``damage`` is Miner's share, ``null`` without bound."""

    step: str
    cycles: float
    alternating_MPa: float
    mean_MPa: float
    equivalent_MPa: float | None
    damage: float | None


class CurvePart(Frozen):
    """S–N curve of the place itself at ratio −1; ``beyond_slope`` is ``null`` for an endurance limit; ``spread``: 90 % band of
    the amplitude, a factor either way."""

    cycles: tuple[float, ...]
    amplitude_MPa: tuple[float, ...]
    beyond_slope: float | None
    spread: float
    tested_to_cycles: float
    words: str


class PointPart(Frozen):
    """One critical place over the duty. ``course`` names the place among ``courses``; ``safety`` by criterion against the curve's
    amplitude at its longest tested life; ``first_cycle`` against yielding, ``null`` where no yield stress is known."""

    course: str
    material: str
    direction: str
    temperature_K: float
    fatigue_notch_factor: float
    criterion: str
    steps: tuple[StepPart, ...]
    curve: CurvePart
    stress_spread: float
    duties: SpanPart
    safety: dict[str, SpanPart]
    first_cycle: SpanPart | None
    beyond_evidence: str
    material_remark: str


class ProfilePart(Frozen):
    """Stress along a cup from the boss, the worst over all angles; teeth and fillets are not in it."""

    torque_Nm: float
    arc_mm: tuple[float, ...]
    from_edge_mm: tuple[float, ...]
    segment: tuple[str, ...]
    equivalent_inside_MPa: tuple[float, ...]
    equivalent_outside_MPa: tuple[float, ...]
    alternating_inside_MPa: tuple[float, ...]
    alternating_outside_MPa: tuple[float, ...]


class MapPart(Frozen):
    """Hours of life if the drive ran on and on: ``hours[part][speed][torque]`` is low, middle and high of the band."""

    parts: tuple[str, ...]
    torque_Nm: tuple[float, ...]
    speed_rpm: tuple[float, ...]
    hours: tuple[tuple[tuple[Bounds, ...], ...], ...]


class ParkedPart(Frozen):
    """A printed ring that stands bent: shares of the stress at one minute and of the bend, each low, middle, high."""

    hours: tuple[float, ...]
    stress_left_share: tuple[tuple[float, float, float], ...]
    set_share: tuple[tuple[float, float, float], ...]
    asked_hours: float
    advice: str
    remark: str


class LifePart(Frozen):
    """Strength and life. ``lives`` and ``strengths`` have the weakest first; ``null`` stands for what does not apply or could not
    be made, with its reason in ``not_made``."""

    duty: DutyPart | None
    lives: tuple[LifeItemPart, ...]
    strengths: tuple[SafetyItemPart, ...]
    not_made: tuple[NotMadePart, ...]
    courses: tuple[CoursePart, ...]
    points: tuple[PointPart, ...]
    cup_profile: ProfilePart | None
    life_map: MapPart | None
    parked: ParkedPart | None
