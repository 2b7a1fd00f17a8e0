"""Rigid parts against beams, pins and rings that are solved by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad

from lobewright.design import catalogue
from lobewright.design.model import BoltClass
from lobewright.strength import carrier, fasteners
from lobewright.strength.items import Span
from lobewright.strength.rigid_part import exactly, safety_span
from lobewright.strength.rigid_tooth import ToothSections, rim_stress_mpa, tooth_stress


def test_an_even_beam_bends_most_at_its_root() -> None:
    """12 N, 4 mm before the root of a tooth 2 mm thick and 5 mm wide: 6Fa/(bs²), mean shear F/(bs)."""
    depth = np.linspace(0.0, 5.0, 51)
    found = tooth_stress(ToothSections(depth, np.full(51, 2.0), 5.0), 12.0, 0.0, 1.0)
    assert found.edge_mpa == pytest.approx(6 * 12 * 4 / (5 * 4))
    assert found.shear_mpa == pytest.approx(12 / 10)
    assert found.equivalent_mpa == pytest.approx(math.sqrt(found.edge_mpa**2 + 3 * found.shear_mpa**2))
    assert found.depth_mm == 5.0 and found.thickness_mm == 2.0


def test_a_tooth_that_thickens_evenly_is_weakest_above_its_root() -> None:
    """s = s₀ + c·x under a force at the tip: 6Fx/(b·s²) is largest at x = s₀/c, 6F/(4·b·c·s₀) there; slender, shear is small."""
    start, slope = 1.0, 0.02
    depth = np.linspace(0.0, 200.0, 4001)
    found = tooth_stress(ToothSections(depth, start + slope * depth, 1.0), 1.0, 0.0, 0.0)
    assert found.edge_mpa == pytest.approx(6 / (4 * slope * start), rel=1e-4)
    assert found.depth_mm == pytest.approx(start / slope, rel=0.01)


def test_a_push_along_the_tooth_presses_it_off_its_middle() -> None:
    """Only N, on the flank of an even tooth: N/A and 6·N·(s/2)/(b·s²) = 3·N/A on the loaded side, 4·N/A together."""
    depth = np.linspace(0.0, 3.0, 31)
    sections = ToothSections(depth, np.full(31, 2.0), 5.0)
    for along in (30.0, -30.0):
        found = tooth_stress(sections, 0.0, along, 1.0)
        assert found.edge_mpa == pytest.approx(4 * 30 / 10)
        assert found.shear_mpa == 0.0


def test_a_push_into_the_root_takes_bending_away() -> None:
    """F at 2 mm and N on the flank: edges 6(Fa − Ns/2)/(bs²) ± N/(bs), at the root."""
    depth = np.linspace(0.0, 3.0, 31)
    sections = ToothSections(depth, np.full(31, 2.0), 5.0)
    found = tooth_stress(sections, 20.0, 5.0, 1.0)
    assert found.edge_mpa == pytest.approx(6 * (20 * 2 - 5 * 1) / 20 + 5 / 10)
    assert found.edge_mpa < tooth_stress(sections, 20.0, 0.0, 1.0).edge_mpa
    assert found.edge_mpa < tooth_stress(sections, 20.0, -5.0, 1.0).edge_mpa


@pytest.mark.parametrize("loaded", [1e-9, 4.0, 10.0])
def test_the_axle_s_moment_is_the_integral_of_its_load(loaded: float) -> None:
    force, span = 50.0, 12.0
    line, _ = quad(lambda x: force / loaded * x, 0.0, loaded / 2)
    assert carrier.axle_moment_nmm(force, span, loaded) == pytest.approx(force / 2 * span / 2 - line)


def test_axle_moment_and_stress_at_the_ends_of_the_range() -> None:
    assert carrier.axle_moment_nmm(8.0, 10.0, 0.0) == pytest.approx(8 * 10 / 4)
    assert carrier.axle_moment_nmm(8.0, 10.0, 10.0) == pytest.approx(8 * 10 / 8)
    second = math.pi * 3.0**4 / 64
    assert carrier.round_bending_mpa(20.0, 3.0) == pytest.approx(20.0 * 1.5 / second)


@pytest.mark.parametrize(("wave", "place"), [(2, 1), (2, 2), (4, 3), (4, 4)])
def test_the_rim_s_bending_is_the_curvature_of_the_bent_line(wave: int, place: int) -> None:
    """Line r = R + w·cos nφ without stretch: its curvature is taken from points, linear part in w."""
    radius, thick, modulus, shift = 40.0, 6.0, 2000.0, 1e-4
    phi = np.linspace(0.0, 2.0 * math.pi, 100_001)
    r, first, second = (
        radius + shift * np.cos(wave * phi),
        -shift * wave * np.sin(wave * phi),
        -shift * wave**2 * np.cos(wave * phi),
    )
    curvature = (r**2 + 2 * first**2 - r * second) / (r**2 + first**2) ** 1.5
    # a line kept at its length is as long as the circle: the change from 1/R is all bending
    expected = modulus * thick / 2 * float(np.abs(curvature - 1 / radius).max())
    rim = np.zeros(5)
    rim[place] = shift
    assert rim_stress_mpa(rim, radius, thick, modulus) == pytest.approx(expected, rel=1e-3)


def test_a_breathing_rim_is_stretched() -> None:
    rim = np.array([-0.02, 0.0, 0.0, 0.0, 0.0])
    assert rim_stress_mpa(rim, 40.0, 6.0, 2000.0) == pytest.approx(2000 * 0.02 / 40)


@pytest.mark.parametrize("bolt", catalogue.bolts(), ids=lambda bolt: bolt.size)
def test_stress_area_in_its_other_printed_form(bolt: catalogue.Bolt) -> None:
    other = math.pi / 4 * (bolt.diameter_mm - 0.9382 * bolt.thread_pitch_mm) ** 2
    assert fasteners.bolt_area_mm2(bolt) == pytest.approx(other, rel=1e-4)


def test_pins_on_a_circle_balance_the_torque() -> None:
    force = fasteners.pin_force_n(-6000.0, 6, 50.0)
    assert 6 * force * 50.0 == pytest.approx(6000.0)
    assert fasteners.pin_pressure_mpa(force, 4.0, 10.0) * 4.0 * 10.0 == pytest.approx(force)


def test_the_clamp_is_the_bolt_s_or_what_bears_its_head() -> None:
    """M4 of 8.8 to 0.75 · 580 MPa · 8.78 mm²; in plastic no more than the ring under a head of ø7 over a hole of ø4.5 bears."""
    bolt = catalogue.bolt("M4")
    assert fasteners.clamp_n(bolt, BoltClass.CLASS_8_8, 4.5, 1e6) == pytest.approx(0.75 * 580 * 8.7787, rel=1e-4)
    assert fasteners.clamp_n(bolt, BoltClass.CLASS_8_8, 4.5, 30.0) == pytest.approx(30 * math.pi / 4 * (49 - 20.25))


def test_bands_of_strength_and_load_add_up_in_logarithms() -> None:
    found = safety_span(Span(100.0, 130.0, 143.0), Span(8.0, 10.0, 14.0))
    assert found.middle == pytest.approx(13.0)
    assert math.log(found.middle / found.low) ** 2 == pytest.approx(math.log(1.3) ** 2 + math.log(1.4) ** 2)
    assert math.log(found.high / found.middle) ** 2 == pytest.approx(math.log(1.1) ** 2 + math.log(1.25) ** 2)
    assert safety_span(exactly(50.0), exactly(20.0)) == exactly(2.5)
    assert safety_span(exactly(50.0), exactly(0.0)) == exactly(math.inf)


def test_the_bands_are_those_of_drawn_numbers() -> None:
    """Log-normal strength and load, 90 % bands 1.3 and 1.4 either way: the quotient's 5 and 95 % points, drawn."""
    rng = np.random.default_rng(3)
    strength, load = (np.exp(math.log(s) / 1.6448536 * rng.standard_normal(400_000)) for s in (1.3, 1.4))
    low, high = np.quantile(5.0 * strength / load, (0.05, 0.95))
    found = safety_span(Span(5 / 1.3, 5.0, 5 * 1.3), Span(1 / 1.4, 1.0, 1.4))
    assert (found.low, found.high) == (pytest.approx(low, rel=5e-3), pytest.approx(high, rel=5e-3))
