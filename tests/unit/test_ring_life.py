"""The life of one place of the ring: what is told, what is not made, what stands beside the number."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from lobewright.design.model import Criterion, Surface
from lobewright.errors import DesignFault
from lobewright.sources import Flag, all_sources
from lobewright.strength.course import StressCourse
from lobewright.strength.criteria import equivalent_reversed_mpa, fatigue_safety, first_cycle_safety
from lobewright.strength.damage import damage_shares, duties_borne
from lobewright.strength.duty import Duty, DutyPart, Record
from lobewright.strength.items import LifeItem, NotMade, SafetyItem
from lobewright.strength.marin import size_factor, surface_factor, worked_curve
from lobewright.strength.material import Direction, StrengthData
from lobewright.strength.notch import fatigue_notch_factor, neuber_sensitivity, peterson_sensitivity
from lobewright.strength.point import PointLife
from lobewright.strength.recorded import Path, path_cycles
from lobewright.strength.remark import Remark
from lobewright.strength.ring_life import cycles_at, items_of, point_life, power_words
from lobewright.strength.sn import SnCurve
from lobewright.torque.interval import Interval

LABEL = 5.0 * np.arange(72) - 180.0
CURVE = SnCurve(np.array([1e3, 1e6]), np.array([40.0, 20.0]), 12.0, 1.3, 2e6)
GOODMAN, ELLIPTIC = Criterion.MODIFIED_GOODMAN, Criterion.ASME_ELLIPTIC


def known(middle: float) -> Interval:
    return Interval("mpa", middle / 1.1, middle, middle * 1.1, False, "memory", Flag.REMEMBERED)


PLASTIC = StrengthData(
    material="invented",
    words="an invented plastic",
    direction=Direction.IN_LAYERS,
    temperature_k=296.0,
    metal=False,
    modulus_mpa=known(2000.0),
    ultimate_mpa=known(50.0),
    yield_mpa=known(40.0),
    curve=CURVE,
    curve_words="made up",
    creep=None,
    lacking=(("curve", "nobody has bent it often"), ("yield", "it breaks first")),
    remarks=(("curve", Remark("one source")), ("yield", Remark("one source"))),
    source_keys=("memory",),
)
STEEL = replace(
    PLASTIC,
    words="an invented steel",
    metal=True,
    ultimate_mpa=known(1000.0),
    yield_mpa=known(850.0),
    curve=SnCurve(np.array([1e3, 1e6]), np.array([900.0, 500.0]), math.inf, 1.2, 1e7),
    remarks=(),
)


def course(hoop_mpa: float = 10.0, mean_mpa: float = 2.0, notch: tuple[float, float] = (1.0, math.inf)) -> StressCourse:
    """Hoop stress of 2φ about a mean, twice as large at 1 N·m as without torque."""
    wave = mean_mpa + hoop_mpa * np.cos(np.radians(2.0 * LABEL))
    stress = np.zeros((2, 72, 3))
    stress[:, :, 1] = np.outer([1.0, 2.0], wave)
    torque = np.array([0.0, 1000.0])
    return StressCourse(
        "root", "tooth root", "outside", 4.0, torque, LABEL, stress, *notch, Direction.IN_LAYERS, 1.2, "invented"
    )


def part(torque_nmm: float = 1000.0, bends: float = 1e5, peak_nmm: float = 0.0) -> DutyPart:
    peak = max(torque_nmm, peak_nmm)
    return DutyPart("lift", torque_nmm, peak, 1.0, bends / 2.0, 1.0, bends, 1.0, None, 0.0, 0.0, 0.0)


def duty(*parts: DutyPart, record: Record | None = None) -> Duty:
    return Duty(2, parts or (part(),), record)


def told(
    one: StressCourse | None = None,
    data: StrengthData = PLASTIC,
    asked: Duty | None = None,
    criterion: Criterion = GOODMAN,
    surface: Surface | None = None,
) -> PointLife:
    found = point_life(one or course(), data, asked or duty(), criterion, surface, 1.0)
    assert isinstance(found, PointLife)
    return found


def refused(data: StrengthData, criterion: Criterion = GOODMAN, surface: Surface | None = None) -> NotMade:
    found = point_life(course(), data, duty(), criterion, surface, 1.0)
    assert isinstance(found, NotMade)
    return found


# --- numbers ---------------------------------------------------------------------------------------------------------


def test_mean_and_amplitude_go_through_the_criterion_to_the_curve() -> None:
    found = told()
    assert found.alternating_mpa == pytest.approx([20.0])
    assert found.mean_mpa == pytest.approx([4.0])
    assert found.equivalent_mpa == pytest.approx([20.0 / (1.0 - 4.0 / 50.0)])
    assert found.damage == pytest.approx(1e5 / CURVE.life_cycles(found.equivalent_mpa))
    assert found.duties.low < found.duties.middle < found.duties.high


def test_a_compressive_mean_counts_as_none() -> None:
    found = told(course(10.0, -5.0))
    assert found.mean_mpa == pytest.approx([0.0], abs=1e-9)
    assert found.equivalent_mpa == pytest.approx([20.0])


def test_a_criterion_that_asks_more_tells_less() -> None:
    lives = {one: told(criterion=one).duties.middle for one in Criterion}
    assert lives[Criterion.SODERBERG] < lives[GOODMAN] < lives[Criterion.GERBER]
    assert set(told().safety) == set(Criterion)
    assert told().safety[Criterion.SODERBERG].middle < told().safety[Criterion.GERBER].middle


def test_safety_is_against_the_longest_tested_life() -> None:
    found = told()
    endurance = CURVE.amplitude_at(np.array(2e6))
    assert found.safety[GOODMAN].middle == pytest.approx(float(1.0 / (20.0 / endurance + 4.0 / 50.0)))


def test_steps_add_up_and_the_worst_is_named() -> None:
    asked = duty(part(0.0, 1e6), part(1000.0, 1e5), part(500.0, 10.0))
    found = told(asked=asked)
    assert found.cycles == pytest.approx([1e6, 1e5, 10.0])
    assert found.worst == 1
    assert found.duties.middle == pytest.approx(1.0 / found.damage.sum())


def test_a_record_is_one_step_more() -> None:
    time = np.linspace(0.0, 10.0, 50)
    record = Record(time, 40.0 * time, 2.0 * math.pi * time, np.full(50, 1000.0), 5.0)
    found = told(asked=duty(part(0.0, 1e3), record=record))
    assert found.steps == ("lift", "recorded motion")
    assert found.cycles[1] == pytest.approx(100.0)
    assert found.damage[1] == pytest.approx(1e-3 * told().damage[0], rel=1e-3)


def test_the_first_cycle_is_at_the_peak_of_the_duty() -> None:
    found = told(asked=duty(part(500.0, 1e5, 1000.0)))
    assert found.first_cycle is not None
    assert found.first_cycle.middle == pytest.approx(40.0 / 24.0)


def test_the_notch_of_a_metal_is_felt_in_part_and_of_a_print_in_full() -> None:
    sharp = course(100.0, 0.0, (2.0, 0.3))
    steel, plastic = told(sharp, STEEL), told(sharp, PLASTIC)
    assert plastic.fatigue_notch_factor == 2.0
    assert 1.0 < steel.fatigue_notch_factor < 2.0
    assert steel.alternating_mpa == pytest.approx([100.0 * steel.fatigue_notch_factor])


def test_a_finish_lowers_the_curve_of_a_metal_only() -> None:
    assert told(data=STEEL, surface=Surface.MACHINED).curve.amplitude_mpa[-1] < STEEL.curve.amplitude_mpa[-1]
    assert told(data=PLASTIC, surface=Surface.MACHINED).curve == PLASTIC.curve


def test_the_map_asks_the_same_as_the_duty() -> None:
    span = cycles_at(course(), PLASTIC, GOODMAN, None, 1.0, 1000.0, 2)
    assert span.middle == pytest.approx(told().duties.middle * 1e5)
    assert span.low == pytest.approx(told().duties.low * 1e5)


def test_stress_above_the_static_strength_bears_nothing() -> None:
    found = told(course(10.0, 60.0))
    assert (found.duties.low, found.duties.middle, found.duties.high) == (0.0, 0.0, 0.0)
    assert math.isinf(found.damage[0])


# --- not made --------------------------------------------------------------------------------------------------------


def test_an_amplitude_at_the_tensile_strength_breaks_at_once_however_far_the_curve_goes_on() -> None:
    steep = replace(PLASTIC, curve=SnCurve(np.array([1e4, 1e5]), np.array([30.0, 11.0]), 10.0, 1.0, 1e5))
    assert steep.curve is not None and steep.curve.life_cycles(np.array(51.0)) > 1e3
    assert told(course(24.5, 0.0), steep).duties.middle > 0.0
    assert told(course(25.5, 0.0), steep).duties.middle == 0.0


def test_without_a_curve_no_life_is_told() -> None:
    found = refused(replace(PLASTIC, curve=None))
    assert found.name == "ring_fatigue:root"
    assert found.of_life
    assert found.why == "no S–N curve of an invented plastic: nobody has bent it often"


def test_a_criterion_without_its_strength_tells_nothing() -> None:
    without = replace(PLASTIC, yield_mpa=None)
    assert "no yield stress of an invented plastic: it breaks first" in refused(without, ELLIPTIC).why
    assert set(told(data=without).safety) == {GOODMAN, Criterion.GERBER}
    assert "no ultimate stress" in refused(replace(PLASTIC, ultimate_mpa=None)).why
    assert "no ultimate stress" in refused(replace(STEEL, ultimate_mpa=None), ELLIPTIC, Surface.GROUND).why


def test_without_a_yield_stress_the_first_cycle_is_not_made() -> None:
    without = replace(PLASTIC, yield_mpa=None)
    _, first = items_of(told(data=without), duty())
    assert isinstance(first, NotMade)
    assert not first.of_life
    assert "it breaks first" in first.why


def test_torque_beyond_the_solved_stress_is_not_made_up() -> None:
    found = point_life(course(), PLASTIC, duty(part(1500.0)), GOODMAN, None, 1.0)
    assert isinstance(found, NotMade)
    assert found.why == "the stress was solved to 1 N·m, and 1.5 N·m are asked for"
    asked = duty(part(1000.0, 1e5, 1500.0))
    _, first = items_of(told(asked=asked), asked)
    assert isinstance(first, NotMade)
    assert "1.5 N·m" in first.why
    with pytest.raises(DesignFault, match="solved to 1 N·m"):
        cycles_at(course(), PLASTIC, GOODMAN, None, 1.0, 1500.0, 2)
    with pytest.raises(DesignFault, match="nobody has bent it often"):
        cycles_at(course(), replace(PLASTIC, curve=None), GOODMAN, None, 1.0, 500.0, 2)


# --- items -----------------------------------------------------------------------------------------------------------


def test_items_say_how_they_were_reckoned() -> None:
    life, first = items_of(told(), duty())
    assert isinstance(life, LifeItem)
    assert (life.name, life.part, life.counted) == ("ring_fatigue:root", "ring", "bends")
    assert "σ_a 20 MPa" in life.working.numbers
    assert "σ_m 4 MPa" in life.working.numbers
    assert "n 10⁵ bends" in life.working.numbers
    assert "1 − σ_m/S_u" in life.working.equation
    assert life.asked == pytest.approx(1e5)
    assert isinstance(first, SafetyItem)
    assert (first.name, first.unit) == ("ring_yield:root", "MPa")
    assert first.strength / first.load == pytest.approx(first.safety.middle)
    assert first.remark == life.remark == "one source"
    assert set(life.working.sources) <= {one.key for one in all_sources()}


def test_bends_beyond_every_test_are_said_beside_the_number() -> None:
    life, _ = items_of(told(asked=duty(part(0.0, 1e8))), duty(part(0.0, 1e8)))
    assert life.remark == (
        "10⁸ bends of an invented plastic lie outside every test behind its S–N curve (longest 2·10⁶); one source"
    )
    assert told(asked=duty(part(0.0, 10.0))).beyond_evidence == "told beyond every test (2·10⁶ bends)"
    assert "endless as far as tests went" in told(course(1.0, 0.0), STEEL).beyond_evidence
    assert told().beyond_evidence == ""


@pytest.mark.parametrize(
    ("number", "words"),
    [
        (0.0, "0"),
        (950.0, "950"),
        (12345.0, "1.2·10⁴"),
        (1e8, "10⁸"),
        (2e6, "2·10⁶"),
        (9.96e5, "10⁶"),
        (math.inf, "inf"),
    ],
)
def test_large_numbers_are_written_as_people_write_them(number: float, words: str) -> None:
    assert power_words(number) == words


# --- pieces ----------------------------------------------------------------------------------------------------------


def test_notches_outside_the_fit_are_taken_on_the_safe_side() -> None:
    for ultimate in (200.0, 1800.0):
        with pytest.raises(DesignFault, match="340 to 1700 MPa"):
            neuber_sensitivity(0.3, ultimate)
    assert fatigue_notch_factor(2.0, 0.3, 1800.0, True) == 2.0
    assert fatigue_notch_factor(2.0, 0.3, None, True) == 2.0
    assert fatigue_notch_factor(2.0, 0.3, 1000.0, False) == 2.0
    assert fatigue_notch_factor(2.0, 0.3, 200.0, True) == fatigue_notch_factor(2.0, 0.3, 340.0, True)
    assert fatigue_notch_factor(1.0, math.inf, 1000.0, True) == 1.0
    larger = max(neuber_sensitivity(3.0, 690.0), peterson_sensitivity(3.0, 690.0))
    assert fatigue_notch_factor(3.0, 3.0, 690.0, True) == pytest.approx(1.0 + 2.0 * larger)


def test_strong_steels_and_blunt_notches_are_more_sensitive() -> None:
    for rule in (neuber_sensitivity, peterson_sensitivity):
        assert 0.0 < rule(0.2, 500.0) < rule(0.2, 1000.0) < rule(0.2, 1600.0) < 1.0
        assert rule(0.2, 800.0) < rule(2.0, 800.0)


def test_finish_and_size_never_help() -> None:
    assert surface_factor(Surface.GROUND, 100.0) == 1.0
    order = [surface_factor(one, 1000.0) for one in (Surface.GROUND, Surface.MACHINED, Surface.ROLLED)]
    assert order == sorted(order, reverse=True)
    assert size_factor(1.0) == size_factor(7.62) == 1.0
    assert size_factor(30.0) < 1.0


def test_the_worked_curve_turns_about_a_thousand_cycles() -> None:
    curve = SnCurve(np.array([1e2, 1e3, 1e6, 1e8]), np.array([900.0, 800.0, 400.0, 390.0]), math.inf, 1.2, 1e7)
    worked = worked_curve(curve, Surface.ROLLED, 900.0, 1.0)
    share = worked.amplitude_mpa / curve.amplitude_mpa
    factor = surface_factor(Surface.ROLLED, 900.0)
    assert share == pytest.approx([1.0, 1.0, factor, factor])


def test_a_level_stretch_of_a_curve_lasts_to_its_end() -> None:
    curve = SnCurve(np.array([1e3, 1e5, 1e6]), np.array([50.0, 50.0, 20.0]), math.inf, 1.2, 1e6)
    assert curve.life_cycles(np.array([60.0, 50.0, 20.0, 0.0])) == pytest.approx([0.0, 1e5, math.inf, math.inf])
    assert curve.amplitude_at(np.array([0.0, 1e4, 1e9])) == pytest.approx([50.0, 50.0, 20.0])


def test_the_first_line_goes_on_to_one_cycle() -> None:
    at_one = float(CURVE.amplitude_at(np.array(1.0)))
    assert at_one == pytest.approx(80.0)
    assert CURVE.life_cycles(np.array([at_one * 0.999999, at_one * 1.01])) == pytest.approx([1.0, 0.0], rel=1e-3)


def test_a_mean_at_the_static_strength_leaves_nothing() -> None:
    for criterion in Criterion:
        assert math.isinf(equivalent_reversed_mpa(1.0, 400.0, 400.0, 400.0, criterion))
        assert math.isinf(fatigue_safety(0.0, 0.0, 50.0, 400.0, 400.0, criterion))
    with pytest.raises(DesignFault, match="needs the yield stress"):
        fatigue_safety(1.0, 1.0, 50.0, 400.0, None, Criterion.SODERBERG)
    assert first_cycle_safety(10.0, -30.0, 400.0) == pytest.approx(10.0)


def test_no_harm_is_endless() -> None:
    assert damage_shares([5.0, 5.0, 0.0], [math.inf, 0.0, 0.0]) == pytest.approx([0.0, math.inf, 0.0])
    assert math.isinf(duties_borne(0.0))


def test_the_short_list_of_starts_holds_the_worst(monkeypatch: pytest.MonkeyPatch) -> None:
    """A history too long to count every start tells what counting every start tells."""
    rng = np.random.default_rng(3)
    path = Path(np.cumsum(rng.normal(scale=0.6, size=600)), rng.uniform(0.0, 1000.0, size=600))

    def harm(cycles: object) -> float:
        return float(cycles.count @ cycles.amplitude_mpa**6)  # type: ignore[attr-defined]

    whole = harm(path_cycles(course(), path, harm))
    monkeypatch.setattr("lobewright.strength.recorded.COUNTED_POINTS", 1)
    assert harm(path_cycles(course(), path, harm)) == pytest.approx(whole, rel=1e-9)


def test_a_course_of_one_torque_is_followed_too() -> None:
    two = course()
    one = replace(two, torque_nmm=two.torque_nmm[1:], stress_mpa=two.stress_mpa[1:])
    time = np.linspace(0.0, 10.0, 50)
    record = Record(time, 40.0 * time, 2.0 * math.pi * time, np.full(50, 1000.0), 5.0)
    asked = Duty(2, (), record)
    assert told(one, asked=asked).damage == pytest.approx(told(two, asked=asked).damage)
