"""What holds for rigid parts whatever their numbers: scale, proportion, and that more material is never weaker."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lobewright.strength import carrier, fasteners
from lobewright.strength.items import Span
from lobewright.strength.rigid_part import safety_span
from lobewright.strength.rigid_tooth import ToothSections, fillet_tension_mpa, rim_stress_mpa, tooth_stress

positive = st.floats(0.1, 100.0)
share = st.floats(0.0, 0.9)


@st.composite
def teeth(draw: st.DrawFn) -> ToothSections:
    steps = draw(st.lists(st.floats(0.02, 0.5), min_size=3, max_size=12))
    thick = draw(st.lists(st.floats(0.3, 4.0), min_size=len(steps), max_size=len(steps)))
    return ToothSections(np.cumsum(steps) - steps[0], np.array(thick), draw(positive))


@given(teeth(), positive, st.floats(-20.0, 20.0), share, positive)
def test_stress_is_in_proportion_to_force(sections, sideways, along, deep, times) -> None:
    at = deep * sections.depth_mm[-1]
    one = tooth_stress(sections, sideways, along, at)
    more = tooth_stress(sections, times * sideways, times * along, at)
    wide = tooth_stress(replace(sections, width_mm=times * sections.width_mm), sideways, along, at)
    assert more.equivalent_mpa == pytest.approx(times * one.equivalent_mpa, rel=1e-9)
    assert wide.equivalent_mpa == pytest.approx(one.equivalent_mpa / times, rel=1e-9)


@given(teeth(), positive, st.floats(-20.0, 20.0), share, st.floats(0.2, 5.0))
def test_a_tooth_of_another_scale(sections, sideways, along, deep, times) -> None:
    """All lengths times k, the same forces: stress over k², at k times the depth."""
    at = deep * sections.depth_mm[-1]
    larger = ToothSections(times * sections.depth_mm, times * sections.thickness_mm, times * sections.width_mm)
    one, other = tooth_stress(sections, sideways, along, at), tooth_stress(larger, sideways, along, times * at)
    assert other.equivalent_mpa == pytest.approx(one.equivalent_mpa / times**2, rel=1e-6)


@given(teeth(), positive, share, st.floats(1.0, 3.0))
def test_a_thicker_land_is_never_weaker(sections, sideways, deep, times) -> None:
    at = deep * sections.depth_mm[-1]
    thicker = replace(sections, thickness_mm=sections.thickness_mm * times)
    more = tooth_stress(thicker, sideways, 0.0, at).equivalent_mpa
    assert more <= tooth_stress(sections, sideways, 0.0, at).equivalent_mpa * (1 + 1e-12)


@given(teeth(), positive, share, share)
def test_a_push_nearer_to_the_tip_is_never_milder(sections, sideways, one, other) -> None:
    high, low = sorted((one * sections.depth_mm[-1], other * sections.depth_mm[-1]))
    near, deep = (tooth_stress(sections, sideways, 0.0, at).equivalent_mpa for at in (high, low))
    assert near >= deep * (1 - 1e-12)


@given(teeth(), positive, st.floats(-1.0, 2.0), share, st.floats(0.2, 5.0))
def test_the_fillet_s_tension_scales_and_falls_with_the_press(sections, sideways, press, deep, times) -> None:
    at = deep * sections.depth_mm[-1]
    one = fillet_tension_mpa(sections, sideways, press * sideways, at)
    larger = ToothSections(times * sections.depth_mm, times * sections.thickness_mm, times * sections.width_mm)
    other = fillet_tension_mpa(larger, times * sideways, times * press * sideways, times * at)
    assert other == pytest.approx(one / times, rel=1e-6)
    assert one > 0.0
    assert fillet_tension_mpa(sections, sideways, (press + 0.1) * sideways, at) <= one


@given(positive, st.integers(1, 40), positive, positive, positive)
def test_pins(torque, pins, radius, diameter, length) -> None:
    force = fasteners.pin_force_n(torque, pins, radius)
    assert fasteners.pin_force_n(-torque, pins, radius) == force
    assert fasteners.pin_force_n(torque, pins + 1, radius) < force
    assert fasteners.pin_pressure_mpa(force, diameter, 2 * length) == pytest.approx(
        fasteners.pin_pressure_mpa(force, diameter, length) / 2
    )


@given(st.lists(st.floats(-1.0, 1.0), min_size=5, max_size=5), st.floats(0.0, 6.3))
def test_a_rim_is_stressed_alike_wherever_its_waves_point(rim, turn) -> None:
    """Turning cos 2φ, sin 2φ and cos 4φ, sin 4φ together about the axis."""
    turned = [rim[0]]
    for wave, at in ((2, 1), (4, 3)):
        c, s = np.cos(wave * turn), np.sin(wave * turn)
        turned += [c * rim[at] - s * rim[at + 1], s * rim[at] + c * rim[at + 1]]
    one, other = (rim_stress_mpa(np.array(shift), 40.0, 8.0, 2000.0) for shift in (rim, turned))
    assert one == pytest.approx(other, rel=1e-9, abs=1e-9)


@given(positive, st.floats(1.0, 3.0), st.floats(1.0, 3.0), positive, st.floats(1.0, 3.0), st.floats(1.0, 3.0))
def test_a_safety_holds_its_middle_and_is_no_narrower_than_either_band(middle, down, up, load, less, more) -> None:
    found = safety_span(Span(middle / down, middle, middle * up), Span(load / less, load, load * more))
    assert found.middle == pytest.approx(middle / load)
    assert found.low <= found.middle / max(down, more) * (1 + 1e-9)
    assert found.high >= found.middle * max(up, less) * (1 - 1e-9)


@given(positive, st.floats(5.0, 50.0), share)
def test_an_axle_bends_less_the_wider_its_load(force, span, loaded) -> None:
    at, even = (carrier.axle_moment_nmm(force, span, width) for width in (loaded * span, span))
    assert force * span / 4 >= at > even == pytest.approx(force * span / 8)
