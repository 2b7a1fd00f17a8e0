"""Text to numbers and back. Expected numbers come from the definitions of the units, worked by hand."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lobewright import units
from lobewright.errors import UnitFault
from lobewright.units import Kind, parse


@pytest.mark.parametrize(
    ("text", "kind", "inside"),
    [
        ("4 N·m", Kind.TORQUE, 4000.0),
        ("4 Nm", Kind.TORQUE, 4000.0),
        ("4N*m", Kind.TORQUE, 4000.0),
        ("0.5 N·mm", Kind.TORQUE, 0.5),
        ("41 kgf·cm", Kind.TORQUE, 41 * 98.0665),
        ("41 kgf-cm", Kind.TORQUE, 41 * 98.0665),
        ("16 ozf·in", Kind.TORQUE, 112.98482902761668),
        ("16 oz-in", Kind.TORQUE, 112.98482902761668),
        ("1 lb·in", Kind.TORQUE, 112.98482902761668),
        ("1 in-lb", Kind.TORQUE, 112.98482902761668),
        ("1 lb-ft", Kind.TORQUE, 1355.8179483314004),
        ("1 ft-lb", Kind.TORQUE, 1355.8179483314004),
        ("41 kg·cm", Kind.TORQUE, 41 * 98.0665),
        ("3.5′", Kind.ANGLE, math.radians(3.5 / 60)),
        ("3.5 arcmin", Kind.ANGLE, math.radians(3.5 / 60)),
        ("1° 30′ 36″", Kind.ANGLE, math.radians(1.51)),
        ("−0° 30'", Kind.ANGLE, -math.radians(0.5)),
        ("200 rpm", Kind.SPEED, 20.943951023931955),
        ("60 1/min", Kind.SPEED, 2 * math.pi),
        ("60 min⁻¹", Kind.SPEED, 2 * math.pi),
        ("180 °/s", Kind.SPEED, math.pi),
        ("40 °C", Kind.TEMPERATURE, 313.15),
        ("-40 °F", Kind.TEMPERATURE, 233.15),
        ("2 GPa", Kind.STRESS, 2000.0),
        ("5 N/mm²", Kind.STRESS, 5.0),
        ("12 µm", Kind.LENGTH, 0.012),
        ("3,5 mm", Kind.LENGTH, 3.5),
        ("3.6 in", Kind.LENGTH, 91.44),
        ("1 kgf·m/arcmin", Kind.TORSIONAL_STIFFNESS, 9806.65 * 60 * 180 / math.pi),
        ("1.5 h", Kind.TIME, 5400.0),
        ("7 kN/m", Kind.LINE_FORCE, 7.0),
        ("2 kN", Kind.FORCE, 2000.0),
    ],
)
def test_people_s_units_become_inside_units(text: str, kind: Kind, inside: float) -> None:
    assert parse(text, kind) == pytest.approx(inside, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "kind", "says"),
    [
        ("4", Kind.TORQUE, "has no unit"),
        ("4 mm", Kind.TORQUE, "'mm' is not a unit of torque"),
        ("4 nm", Kind.TORQUE, "'nm' is not a unit of torque"),
        ("four N·m", Kind.TORQUE, "not a torque with a unit"),
        ("", Kind.LENGTH, "not a length with a unit"),
        ("nan mm", Kind.LENGTH, "not a length with a unit"),
        ("1e999 mm", Kind.LENGTH, "too large"),
        ("1,000 mm", Kind.LENGTH, "two ways"),
        ("-1 K", Kind.TEMPERATURE, "below absolute zero"),
        ("3 mm 2 mm", Kind.LENGTH, "only an angle may have parts"),
        ("30′ 1°", Kind.ANGLE, "only an angle may have parts"),
        ("1° 30′ 2 rad", Kind.ANGLE, "only an angle may have parts"),
    ],
)
def test_a_wrong_text_is_refused_in_one_sentence(text: str, kind: Kind, says: str) -> None:
    with pytest.raises(UnitFault) as caught:
        parse(text, kind, place="duty.rated_torque")
    (sentence,) = caught.value.sentences()
    assert says in sentence
    assert sentence.startswith("duty.rated_torque: ")
    assert "allowed: a number with" in sentence


def test_a_bare_number_is_refused_because_its_unit_is_unknown() -> None:
    with pytest.raises(UnitFault, match="written as text with its unit"):
        parse(4, Kind.TORQUE)  # type: ignore[arg-type]


def test_every_kind_reads_its_own_inside_unit_as_one() -> None:
    for kind, unit in units.INSIDE_UNIT.items():
        assert parse(f"1 {unit}", kind) == pytest.approx(1.0, rel=1e-15)


def test_every_unit_offered_in_an_error_can_be_read() -> None:
    for kind in Kind:
        with pytest.raises(UnitFault) as caught:
            parse("1 furlong", kind)
        offered = caught.value.faults[0].allowed.removeprefix("a number with ")
        for entry in offered.split(", "):
            for unit in entry.replace(")", "").split(" ("):
                assert math.isfinite(parse(f"300 {unit}", kind))


FINITE = st.floats(min_value=-1e6, max_value=1e6, allow_nan=False)


@given(FINITE)
def test_a_shown_length_reads_back_to_its_last_digit(length_mm: float) -> None:
    half_a_digit = 0.0005 if abs(length_mm) < 10 else 0.005 if abs(length_mm) < 1000 else 0.05
    back = parse(units.show_length(length_mm), Kind.LENGTH)
    assert abs(back - length_mm) <= half_a_digit * (1 + 1e-6)


@given(FINITE.filter(lambda x: abs(x) > 1e-3))
def test_a_shown_torque_reads_back_within_half_a_percent(torque_nmm: float) -> None:
    assert parse(units.show_torque(torque_nmm), Kind.TORQUE) == pytest.approx(torque_nmm, rel=5.1e-3)


@given(FINITE.filter(lambda x: abs(x) > 1e-3))
def test_a_shown_speed_reads_back_within_half_a_thousandth(speed: float) -> None:
    assert parse(units.show_speed(speed), Kind.SPEED) == pytest.approx(speed, rel=5.1e-4)


@pytest.mark.parametrize(
    ("shown", "text"),
    [
        (units.show_length(0.63662), "0.637 mm"),
        (units.show_length(31.83099), "31.83 mm"),
        (units.show_length(-0.0002), "0.000 mm"),
        (units.show_torque(4000.0), "4.00 N·m"),
        (units.show_torque(5.0), "5.00 N·mm"),
        (units.show_torque(-123456.0), "−123 N·m"),
        (units.show_small_angle(0.3e-3), "1.03′"),
        (units.show_angle(math.pi / 3), "60.00°"),
        (units.show_speed(20.943951), "200.0 rpm"),
        (units.show_temperature(313.15), "40.0 °C"),
        (units.show_force(8.3077), "8.31 N"),
        (units.show_stress(110.18), "110 MPa"),
        (units.show_torsional_stiffness(1.2345e7), "12345 N·m/rad"),
        (units.show_time(90.0), "90.0 s"),
        (units.show_time(5400.0), "90.0 min"),
        (units.show_time(7.2e6), "2000 h"),
    ],
)
def test_numbers_are_shown_with_sensible_digits(shown: str, text: str) -> None:
    assert shown == text


def test_a_number_that_is_not_finite_is_never_shown() -> None:
    for show in (units.show_length, units.show_torque, units.show_angle, units.show_time):
        with pytest.raises(ValueError, match="not finite"):
            show(math.nan)
