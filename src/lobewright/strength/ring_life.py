"""How long one place of the flexible ring bears a duty: stress course → cycles → criterion → S–N curve → Miner's sum.

Stress at a place is taken as fatigue feels it: the course's peak times K_f over K_t, for the amplitude and for the mean alike.
The band of a life comes from one factor between stress and strength, log-normal, whose half width is the root of the squares
of those of the model's stress, of the modulus (the stress of a ring bent to a given shape grows with it) and of the curve; the
static strengths of the criterion go with the curve. Life falls with that factor throughout, so its ends are the ends of life.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from lobewright.design.model import Criterion, Surface
from lobewright.errors import DesignFault, Fault
from lobewright.strength.counting import Cycles
from lobewright.strength.course import StressCourse
from lobewright.strength.criteria import NEEDS, REVERSED_EQUATIONS, first_cycle_safety
from lobewright.strength.duty import Duty, DutyPart
from lobewright.strength.items import Item, LifeItem, NotMade, SafetyItem, Span
from lobewright.strength.judged_place import JudgedPlace, judged_place, log_half_width, why_no_life
from lobewright.strength.material import StrengthData
from lobewright.strength.point import PointLife
from lobewright.strength.recorded import Path, path_cycles, steady_cycles
from lobewright.strength.remark import joined
from lobewright.strength.sn import SnCurve
from lobewright.strength.swing import von_mises_mpa
from lobewright.verdict import Working

Array = NDArray[np.float64]

BOOK = "budynas_nisbett_2011"
RECORDED = "recorded motion"


def point_life(
    course: StressCourse,
    data: StrengthData,
    duty: Duty,
    criterion: Criterion,
    surface: Surface | None,
    wall_mm: float,
) -> PointLife | NotMade:
    """The life of one place over a duty, or why it cannot be told.

    ``surface``: finish of a metal part, None for prints; ``wall_mm``: thickness of the wall there.
    """
    recorded = 0.0 if duty.record is None else float(np.abs(duty.record.torque_nmm).max())
    largest = max([recorded, *(part.torque_nmm for part in duty.parts)])
    why = why_no_life(data, criterion, surface) or _beyond_course(course, largest)
    if why:
        return NotMade(f"ring_fatigue:{course.name}", _title(course), "ring", why, of_life=True)
    place = judged_place(course, data, criterion, surface, wall_mm)
    steps = _counted(course, duty, place)
    counted = [cycles for _, _, cycles in steps]
    damage = np.array([place.damage(cycles) for cycles in counted])
    alternating, mean, equivalent = np.array([place.worst_cycle_mpa(cycles) for cycles in counted]).T
    harmful = int(damage.argmax()) if damage.any() else int(equivalent.argmax())
    duties = place.times_borne(counted)
    return PointLife(
        course=course,
        data=data,
        fatigue_notch_factor=place.felt_factor * course.notch_factor,
        steps=tuple(name for name, _, _ in steps),
        cycles=np.array([bends for _, bends, _ in steps]),
        alternating_mpa=alternating,
        mean_mpa=mean,
        equivalent_mpa=equivalent,
        damage=damage,
        curve=place.curve,
        stress_spread=place.stress_spread,
        criterion=criterion,
        duties=duties,
        safety=place.safety(float(alternating[harmful]), float(mean[harmful])),
        first_cycle=_first_cycle(course, data, duty, place),
        beyond_evidence=_beyond_evidence(place.curve, data, duty.bends, duties.middle),
    )


def items_of(point: PointLife, duty: Duty) -> tuple[Item, ...]:
    """The life and the first-cycle safety of a place as items; the duty is the one that the point was asked for."""
    course, data, worst = point.course, point.data, point.worst
    numbers = (
        f"{point.steps[worst]}: σ_a {point.alternating_mpa[worst]:.3g} MPa, σ_m {point.mean_mpa[worst]:.3g} MPa"
        f" (K_f {point.fatigue_notch_factor:.3g}), {_strength_words(point)}, σ_ar {point.equivalent_mpa[worst]:.3g} MPa,"
        f" n {power_words(point.cycles[worst])} bends, D {point.damage[worst]:.3g} of {point.damage.sum():.3g};"
        f" stress known within a factor of {point.stress_spread:.3g}, curve within {point.curve.spread:.3g}"
    )
    equation = f"{REVERSED_EQUATIONS[point.criterion]}; D = Σ n/N(σ_ar); duties = 1/D"
    life = LifeItem(
        name=f"ring_fatigue:{course.name}",
        title=_title(course),
        part="ring",
        duties=point.duties,
        asked=float(point.cycles.sum()),
        counted="bends",
        working=Working(equation, numbers, _sources(data)),
        noted=joined(point.beyond_evidence, data.remark_on("curve", "ultimate")),
    )
    return (life, _yield_item(point, duty))


def cycles_at(
    course: StressCourse,
    data: StrengthData,
    criterion: Criterion,
    surface: Surface | None,
    wall_mm: float,
    torque_nmm: float,
    lobes: int,
) -> Span:
    """Bends to failure at a steady torque, ``lobes`` of them a turn; for a map of life over torque.

    Raises DesignFault where a figure is lacking or the course was not solved as far as the torque.
    """
    beyond = _beyond_course(course, torque_nmm)
    if beyond:
        raise DesignFault([Fault(beyond, course.name)])
    place = judged_place(course, data, criterion, surface, wall_mm)
    return place.times_borne([steady_cycles(course, torque_nmm)]).scaled(float(lobes))


def power_words(cycles: float) -> str:
    """A number of cycles as people write it: 950, 2·10⁶, 10⁸."""
    if not math.isfinite(cycles) or cycles < 9999.5:
        return f"{cycles:.3g}"
    digits, exponent = f"{cycles:.1e}".split("e")
    digits = digits.removesuffix(".0")
    raised = str(int(exponent)).translate(str.maketrans("0123456789", "⁰¹²³⁴⁵⁶⁷⁸⁹"))
    return f"10{raised}" if digits == "1" else f"{digits}·10{raised}"


# --- pieces ----------------------------------------------------------------------------------------------------------


def _title(course: StressCourse) -> str:
    return f"Fatigue of the ring: {course.title}"


def _sources(data: StrengthData) -> tuple[str, ...]:
    return tuple(dict.fromkeys((BOOK, *data.source_keys)))


def _beyond_course(course: StressCourse, torque_nmm: float) -> str:
    """Why stress at a torque is not known; empty where it is."""
    if abs(torque_nmm) <= (1.0 + 1e-9) * course.torque_nmm[-1]:
        return ""
    asked, solved = 1e-3 * abs(torque_nmm), 1e-3 * course.torque_nmm[-1]
    return f"the stress was solved to {solved:.3g} N·m, and {asked:.3g} N·m are asked for"


def _counted(course: StressCourse, duty: Duty, place: JudgedPlace) -> list[tuple[str, float, Cycles]]:
    """Name, bends and cycles of every step, a recorded motion last."""
    steps = [(part.name, part.bends, _part_cycles(course, part, duty.lobes, place)) for part in duty.parts]
    if duty.record is not None:
        record = duty.record
        path = Path(record.bend_rad, record.torque_nmm)
        bends = duty.bends - math.fsum(part.bends for part in duty.parts)
        steps.append((RECORDED, bends, path_cycles(course, path, place.damage).times(record.repeats)))
    return steps


def _part_cycles(course: StressCourse, part: DutyPart, lobes: int, place: JudgedPlace) -> Cycles:
    """Cycles of a whole step: turns on and on, or runs to and fro."""
    if part.swing_rad is None or part.bends == 0.0:
        return steady_cycles(course, part.torque_nmm).times(part.bends / lobes)
    runs = 2.0 * math.pi * part.bends / lobes / (2.0 * part.swing_rad)
    path = Path(np.array([0.0, part.swing_rad, 0.0]), np.full(3, part.torque_nmm))
    return path_cycles(course, path, place.damage).times(runs)


def largest_stress_mpa(course: StressCourse, torque_nmm: float, felt_factor: float) -> float:
    """Largest von Mises stress of a pass; never quite 0, so that a safety is a number."""
    return max(felt_factor * float(von_mises_mpa(course.at(torque_nmm)).max()), 1e-12)


def _first_cycle(course: StressCourse, data: StrengthData, duty: Duty, place: JudgedPlace) -> Span | None:
    """Yield stress over the largest stress of a pass at the duty's peak, None where one of them is not known."""
    if data.yield_mpa is None or _beyond_course(course, duty.peak_nmm):
        return None
    largest = largest_stress_mpa(course, duty.peak_nmm, place.felt_factor)
    n = float(first_cycle_safety(largest, 0.0, data.yield_mpa.middle))
    factor = math.exp(math.hypot(math.log(place.stress_spread), log_half_width(data.yield_mpa)))
    return Span(n / factor, n, n * factor)


def _yield_item(point: PointLife, duty: Duty) -> SafetyItem | NotMade:
    course, data = point.course, point.data
    name, title = f"ring_yield:{course.name}", f"Yielding at the first bend: {course.title}"
    if data.yield_mpa is None:
        return NotMade(name, title, "ring", f"no yield stress of {data.words}: {data.why_not('yield')}")
    if point.first_cycle is None:
        return NotMade(name, title, "ring", _beyond_course(course, duty.peak_nmm))
    load = largest_stress_mpa(course, duty.peak_nmm, point.fatigue_notch_factor / course.notch_factor)
    numbers = f"at {1e-3 * duty.peak_nmm:.3g} N·m: σ_max {load:.3g} MPa, S_y {data.yield_mpa.middle:.3g} MPa"
    working = Working("n = S_y/σ_max, von Mises, notch as fatigue feels it", numbers, _sources(data))
    return SafetyItem(
        name, title, "ring", point.first_cycle, load, data.yield_mpa.middle, "MPa", working, data.remark_on("yield")
    )


def _strength_words(point: PointLife) -> str:
    needs_ultimate = NEEDS[point.criterion] == "ultimate"
    interval = point.data.ultimate_mpa if needs_ultimate else point.data.yield_mpa
    symbol = "S_u" if needs_ultimate else "S_y"
    return f"{symbol} {interval.middle:.3g} MPa" if interval is not None else f"{symbol} not known"


def _beyond_evidence(curve: SnCurve, data: StrengthData, asked_bends: float, duties_borne: float) -> str:
    """Where the bends asked for, or those told, lie beyond every test behind the curve; empty where neither does."""
    longest = f"(longest {power_words(curve.tested_to_cycles)})"
    if asked_bends > curve.tested_to_cycles:
        return f"{power_words(asked_bends)} bends of {data.words} lie outside every test behind its S–N curve {longest}"
    told = duties_borne * asked_bends if asked_bends > 0.0 else 0.0
    if told > curve.tested_to_cycles:
        reached = f"{power_words(curve.tested_to_cycles)} bends"
        return f"endless as far as tests went, {reached}" if math.isinf(told) else f"told beyond every test ({reached})"
    return ""
