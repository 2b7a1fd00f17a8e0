"""Strength and life as their part of ``results.json``."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from lobewright.assessment.life import Life
from lobewright.report import life_model as r
from lobewright.report.load_json import DIGITS
from lobewright.sources import source
from lobewright.strength.course import CupProfile, StressCourse
from lobewright.strength.duty import Duty
from lobewright.strength.items import LifeItem, NotMade, SafetyItem, Span
from lobewright.strength.parked import Parked
from lobewright.strength.point import LifeMap, PointLife
from lobewright.verdict import Working

Array = NDArray[np.float64]


def life_part(life: Life) -> r.LifePart:
    """Everything on strength and life, in people's units."""
    items = life.items
    return r.LifePart(
        duty=None if life.duty is None else _duty(life.duty),
        lives=tuple(_life(item) for item in items if isinstance(item, LifeItem)),
        strengths=tuple(_safety(item) for item in items if isinstance(item, SafetyItem)),
        not_made=tuple(
            r.NotMadePart(name=item.name, title=item.title, part=item.part, why=item.why, of_life=item.of_life)
            for item in items
            if isinstance(item, NotMade)
        ),
        courses=tuple(_course(course) for course in life.courses),
        points=tuple(_point(point) for point in life.points),
        cup_profile=None if life.profile is None else _profile(life.profile),
        life_map=None if life.life_map is None else _map(life.life_map),
        parked=None if life.parked is None else _parked(life.parked),
    )


def _bound(value: float) -> float | None:
    """A number of JSON; None for what nothing bounds from above. Anything else that is not finite is refused by the model."""
    return None if value == math.inf else float(value)


def _few(values: Array, factor: float = 1.0) -> tuple[float, ...]:
    return tuple(float(f"{float(value) * factor:.{DIGITS}g}") for value in values)


def _few_bound(value: float) -> float | None:
    return None if value == math.inf else float(f"{float(value):.{DIGITS}g}")


def span_part(span: Span) -> r.SpanPart:
    """A band with its endless bounds as null."""
    low, middle, high = (_bound(value) for value in (span.low, span.middle, span.high))
    return r.SpanPart(low=low, middle=middle, high=high, endless=middle is None)


def _working(working: Working) -> r.WorkPart:
    sources = tuple(source(key).line for key in working.sources)
    return r.WorkPart(equation=working.equation, numbers=working.numbers, sources=sources)


def _duty(duty: Duty) -> r.DutyPart:
    return r.DutyPart(
        hours=duty.hours, generator_turns=duty.generator_turns, bends=duty.bends, peak_Nm=duty.peak_nmm / 1000.0
    )


def _life(item: LifeItem) -> r.LifeItemPart:
    return r.LifeItemPart(
        name=item.name,
        title=item.title,
        part=item.part,
        duties=span_part(item.duties),
        asked=item.asked,
        counted=item.counted,
        remark=item.remark,
        working=_working(item.working),
    )


def _safety(item: SafetyItem) -> r.SafetyItemPart:
    return r.SafetyItemPart(
        name=item.name,
        title=item.title,
        part=item.part,
        safety=span_part(item.safety),
        load=item.load,
        strength=_bound(item.strength),
        unit=item.unit,
        remark=item.remark,
        working=_working(item.working),
    )


def _course(course: StressCourse) -> r.CoursePart:
    least, most = course.stress_mpa.min(axis=1), course.stress_mpa.max(axis=1)
    rows = []
    for torque, low, high in zip(course.torque_nmm, least, most, strict=True):
        (meridional_low, hoop_low, shear_low), (meridional_high, hoop_high, shear_high) = _few(low), _few(high)
        rows.append(
            r.CourseTorquePart(
                torque_Nm=float(torque) / 1000.0,
                hoop_least_MPa=hoop_low,
                hoop_most_MPa=hoop_high,
                meridional_least_MPa=meridional_low,
                meridional_most_MPa=meridional_high,
                shear_least_MPa=shear_low,
                shear_most_MPa=shear_high,
            )
        )
    return r.CoursePart(
        name=course.name,
        title=course.title,
        surface=course.surface,
        from_edge_mm=course.from_edge_mm,
        direction=course.direction.value,
        notch_factor=course.notch_factor,
        notch_radius_mm=_bound(course.notch_radius_mm),
        model_spread=course.model_spread,
        model_words=course.model_words,
        at=tuple(rows),
    )


def _steps(point: PointLife) -> tuple[r.StepPart, ...]:
    return tuple(
        r.StepPart(
            step=name,
            cycles=float(point.cycles[k]),
            alternating_MPa=float(point.alternating_mpa[k]),
            mean_MPa=float(point.mean_mpa[k]),
            equivalent_MPa=_bound(point.equivalent_mpa[k]),
            damage=_bound(point.damage[k]),
        )
        for k, name in enumerate(point.steps)
    )


def _point(point: PointLife) -> r.PointPart:
    curve = point.curve
    return r.PointPart(
        course=point.course.name,
        material=point.data.material,
        direction=point.data.direction.value,
        temperature_K=point.data.temperature_k,
        fatigue_notch_factor=point.fatigue_notch_factor,
        criterion=point.criterion.value,
        steps=_steps(point),
        curve=r.CurvePart(
            cycles=_few(curve.cycles),
            amplitude_MPa=_few(curve.amplitude_mpa),
            beyond_slope=_bound(curve.beyond_slope),
            spread=curve.spread,
            tested_to_cycles=curve.tested_to_cycles,
            words=point.data.curve_words,
        ),
        stress_spread=point.stress_spread,
        duties=span_part(point.duties),
        safety={criterion.value: span_part(span) for criterion, span in point.safety.items()},
        first_cycle=None if point.first_cycle is None else span_part(point.first_cycle),
        beyond_evidence=point.beyond_evidence,
        material_remark=point.data.remark_on("curve", "ultimate", "yield").words,
    )


def _profile(found: CupProfile) -> r.ProfilePart:
    return r.ProfilePart(
        torque_Nm=found.torque_nmm / 1000.0,
        arc_mm=_few(found.arc_mm),
        from_edge_mm=_few(found.from_edge_mm),
        segment=found.segment,
        equivalent_inside_MPa=_few(found.equivalent_mpa[:, 0]),
        equivalent_outside_MPa=_few(found.equivalent_mpa[:, 1]),
        alternating_inside_MPa=_few(found.alternating_mpa[:, 0]),
        alternating_outside_MPa=_few(found.alternating_mpa[:, 1]),
    )


def _map(found: LifeMap) -> r.MapPart:
    def bounds(values: Array) -> r.Bounds:
        low, middle, high = (_few_bound(float(value)) for value in values)
        return low, middle, high

    return r.MapPart(
        parts=found.names,
        torque_Nm=_few(found.torque_nmm, 1e-3),
        speed_rpm=_few(found.speed_rpm),
        hours=tuple(tuple(tuple(bounds(cell) for cell in row) for row in part) for part in found.hours),
    )


def _parked(found: Parked) -> r.ParkedPart:
    def rows(values: Array) -> tuple[tuple[float, float, float], ...]:
        return tuple((low, middle, high) for low, middle, high in (_few(row) for row in values))

    return r.ParkedPart(
        hours=_few(found.hours),
        stress_left_share=rows(found.stress_left),
        set_share=rows(found.set_share),
        asked_hours=found.asked_hours,
        advice=found.advice,
        remark=found.remark,
    )
