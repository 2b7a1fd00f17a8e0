"""Stiffnesses from readings: known truths come back, with the uncertainty that is claimed."""

import math

import numpy as np
import pytest

from lobewright.design.workshop import ArmPush, SkewTest, SqueezeTest, StretchTest, ToothPush
from lobewright.errors import DesignFault
from lobewright.ring import oracles
from lobewright.ring.beam import RingSection, solve_ring_loads
from lobewright.sources import Flag
from lobewright.torque import measured
from lobewright.torque.interval import Interval
from lobewright.torque.measured import NEWTON_PER_GRAM

DIAMETER = 95.49


def exact_loss(force_n: float, stiffness: float, radius: float) -> float:
    """Loss of the loaded diameter of a ring squeezed by two forces, from the exact large-deflection beam."""
    section = RingSection(radius, stiffness, 1e7 * stiffness / radius**2)
    ring = solve_ring_loads(section, [math.pi / 2, -math.pi / 2], [[0.0, -force_n], [0.0, force_n]], nodes=240)
    top, bottom = ring.load_positions_mm[:, 1]
    return 2.0 * radius - (top - bottom)


def squeeze(load_g, shift_mm, **more) -> SqueezeTest:
    wanted = {"designation": "C3M", "width_mm": 15.0, "neutral_diameter_mm": DIAMETER}
    wanted |= {"load_resolution_g": 0.1, "shift_resolution_mm": 0.01, **more}
    return SqueezeTest(load_g=tuple(load_g), shift_mm=tuple(shift_mm), **wanted)


def test_squeezed_ring_constant_is_that_of_the_closed_form() -> None:
    loaded, _ = oracles.two_loads_diameter_change(1.0, 1.0, 1.0)
    assert pytest.approx(loaded, rel=1e-12) == measured.SQUEEZE
    assert pytest.approx(0.14878, abs=5e-6) == measured.SQUEEZE


def test_a_lightly_squeezed_ring_gives_its_stiffness_back() -> None:
    loads = [0.0, 1.0, 2.0]  # up to 0.2 % of the diameter
    shifts = [NEWTON_PER_GRAM * load * measured.SQUEEZE * (DIAMETER / 2) ** 3 / 3000.0 for load in loads]
    found = measured.bending_stiffness(squeeze(loads, shifts, load_resolution_g=1e-3, shift_resolution_mm=1e-4))
    assert found.middle == pytest.approx(3000.0, rel=4e-3)
    assert found.measured and found.flag is Flag.DERIVED


@pytest.mark.parametrize("most", [0.03, 0.1, 0.29])
def test_large_squeezes_are_corrected_to_the_exact_shape(most: float) -> None:
    """``most``: loss of diameter over R, nearly; without the correction 0.1 is 7 % off."""
    radius, stiffness = DIAMETER / 2, 231.0
    forces = np.linspace(0.0, most / measured.SQUEEZE * stiffness / radius**2 * (1 - 0.6 * most), 5)
    shifts = [exact_loss(force, stiffness, radius) if force else 0.0 for force in forces]
    found = measured.bending_stiffness(squeeze(forces / NEWTON_PER_GRAM, shifts))
    assert found.middle == pytest.approx(stiffness, rel=2e-3)


def test_what_plate_and_own_weight_squeeze_is_no_error_where_shift_counts_from_the_round_ring() -> None:
    radius, stiffness, plate = DIAMETER / 2, 231.0, 0.03
    loads = np.array([0.0, 2.0, 4.0, 6.0])
    shifts = [exact_loss(plate + NEWTON_PER_GRAM * load, stiffness, radius) for load in loads]
    right = measured.bending_stiffness(squeeze(loads, shifts)).middle
    zeroed = measured.bending_stiffness(squeeze(loads, np.array(shifts) - shifts[0])).middle
    assert right == pytest.approx(stiffness, rel=3e-3)
    assert zeroed < 0.95 * stiffness


def test_correction_leaves_small_squeezes_alone_and_softens_large_ones() -> None:
    assert measured.squeezed_force_factor(0.0) == 1.0
    losses = np.linspace(0.0, 0.3, 20)
    assert (np.diff(measured.squeezed_force_factor(losses)) < 0.0).all()


@pytest.mark.parametrize(("count", "noise_mm"), [(4, 0.15), (8, 0.05), (8, 0.3)])
def test_of_200_invented_belts_85_to_95_percent_lie_inside_the_interval(count: int, noise_mm: float) -> None:
    random = np.random.default_rng(20261125 + count)
    inside = 0
    for _ in range(200):
        stiffness, radius = math.exp(random.uniform(math.log(60), math.log(1500))), random.uniform(20, 60)
        force = np.linspace(0.0, 0.08 / measured.SQUEEZE * stiffness / radius**2, count)
        load = np.round(force / NEWTON_PER_GRAM, 1)
        ratio = load * NEWTON_PER_GRAM * measured.SQUEEZE * radius**2 / stiffness
        loss = ratio.copy()
        for _ in range(30):  # invert force = first order × factor
            loss = ratio / measured.squeezed_force_factor(loss)
        shift = np.round(loss * radius + random.normal(0.0, noise_mm, count), 2)
        found = measured.bending_stiffness(squeeze(load, shift, neutral_diameter_mm=2 * radius))
        inside += found.low <= stiffness <= found.high
    assert 170 <= inside <= 190


def test_student_points_against_printed_ones() -> None:
    """t at 95 % one-sided: 6.314, 2.920, 2.353, 2.015, 1.812 (Abramowitz and Stegun, table 26.10, remembered)."""
    found = [measured.student_95(n) for n in (1, 2, 3, 5, 10, math.inf)]
    assert found == pytest.approx([6.314, 2.920, 2.353, 2.015, 1.812, 1.645], rel=1e-3)


def test_two_exact_readings_leave_only_the_steps_of_the_instruments() -> None:
    test = ArmPush(
        generator="rollers",
        bearing="625",
        load_g=(0.0, 10_000.0),
        shift_mm=(0.0, 0.10),
        load_resolution_g=1e-6,
        shift_resolution_mm=0.01,
    )
    found = measured.arm_stiffness(test)
    force = 10_000 * NEWTON_PER_GRAM
    assert found.middle == pytest.approx(force / 0.10)
    # each end is uncertain by 0.01/√12, their difference by √2 of that
    expected = 1.6448536 * 0.01 / math.sqrt(12) * math.sqrt(2) / 0.10
    assert math.log(found.high / found.middle) == pytest.approx(expected, rel=1e-6)


def test_each_reading_goes_to_its_stiffness() -> None:
    lines = {
        "load_g": (0.0, 1000.0, 2000.0),
        "shift_mm": (0.0, 0.1, 0.2),
        "load_resolution_g": 0.1,
        "shift_resolution_mm": 1e-4,
    }
    rate = 1000 * NEWTON_PER_GRAM / 0.1
    stretch = StretchTest(designation="C3M", width_mm=15.0, span_mm=200.0, strands=2, **lines)
    assert measured.axial_stiffness(stretch).middle == pytest.approx(rate * 200.0 / 2)
    skew = SkewTest(designation="C3M", held_length_mm=60.0, free_width_mm=8.0, **lines)
    assert measured.web_shear(skew).middle == pytest.approx(rate * 8.0 / 60.0)
    push = ToothPush(designation="C3M", width_mm=15.0, push_height_mm=0.6, **lines)
    assert measured.tooth_stiffness(push).middle == pytest.approx(rate / 15.0)


def test_readings_without_a_clear_slope_are_refused_in_a_sentence() -> None:
    test = squeeze([0.0, 10.0, 20.0, 30.0], [0.0, 3.0, -2.0, 2.5])
    with pytest.raises(DesignFault, match=r"squeeze_test: these readings scatter too much .* allowed: .* larger loads"):
        measured.bending_stiffness(test)


def _interval(middle: float, wide: float) -> Interval:
    return Interval("x_n", middle / wide, middle, middle * wide, True, "derived_here", Flag.DERIVED)


def test_agreeing_tests_narrow_and_disagreeing_ones_widen() -> None:
    alone = _interval(100.0, 1.3)
    both = measured.pooled([alone, _interval(105.0, 1.3)])
    assert both.log_spread == pytest.approx(alone.log_spread / math.sqrt(2), rel=1e-9)
    assert both.middle == pytest.approx(math.sqrt(100 * 105), rel=1e-9)
    apart = measured.pooled([_interval(50.0, 1.05), _interval(200.0, 1.05)])
    assert apart.low < 60.0 and apart.high > 170.0
    assert measured.pooled([]) is None and measured.pooled([alone]) is alone
