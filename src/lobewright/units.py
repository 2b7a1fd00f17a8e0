"""Text to numbers and numbers to text, at the edge only.

Inside the package every number is in one coherent set: mm, N, MPa, N·mm, rad, s, K. People write and read N·m,
kgf·cm, degrees, arc-minutes, rpm and °C; this module is the only place that knows both.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from lobewright.errors import Fault, UnitFault

STANDARD_GRAVITY = 9.80665
"""m/s², exact by definition (3rd CGPM, 1901); makes the kilogram-force."""
INCH_MM = 25.4
POUND_FORCE_N = 0.45359237 * STANDARD_GRAVITY
ZERO_CELSIUS_K = 273.15


class Kind(StrEnum):
    """What a number measures; each kind has one inside unit."""

    LENGTH = "length"
    FORCE = "force"
    TORQUE = "torque"
    STRESS = "stress"
    ANGLE = "angle"
    SPEED = "speed"
    TIME = "time"
    TEMPERATURE = "temperature"
    TORSIONAL_STIFFNESS = "torsional stiffness"
    LINE_FORCE = "force per width"


INSIDE_UNIT = {
    Kind.LENGTH: "mm",
    Kind.FORCE: "N",
    Kind.TORQUE: "N·mm",
    Kind.STRESS: "MPa",
    Kind.ANGLE: "rad",
    Kind.SPEED: "rad/s",
    Kind.TIME: "s",
    Kind.TEMPERATURE: "K",
    Kind.TORSIONAL_STIFFNESS: "N·mm/rad",
    Kind.LINE_FORCE: "N/mm",
}


@dataclass(frozen=True)
class _Scale:
    """inside = factor × (number + shift)."""

    factor: float
    shift: float = 0.0


_KGF = STANDARD_GRAVITY
_DEGREE = math.pi / 180.0
_TURN = 2.0 * math.pi

# Unit names as written after `_squeeze`: no blanks, no product dots, ASCII where there is an ASCII form.
_UNITS: dict[Kind, dict[str, _Scale]] = {
    Kind.LENGTH: {
        "mm": _Scale(1.0),
        "cm": _Scale(10.0),
        "m": _Scale(1000.0),
        "um": _Scale(1e-3),
        "in": _Scale(INCH_MM),
        "inch": _Scale(INCH_MM),
        '"': _Scale(INCH_MM),
    },
    Kind.FORCE: {
        "N": _Scale(1.0),
        "kN": _Scale(1e3),
        "mN": _Scale(1e-3),
        "kgf": _Scale(_KGF),
        "gf": _Scale(_KGF * 1e-3),
        "lbf": _Scale(POUND_FORCE_N),
    },
    Kind.TORQUE: {
        "Nm": _Scale(1e3),
        "Nmm": _Scale(1.0),
        "Ncm": _Scale(10.0),
        "mNm": _Scale(1.0),
        "kNm": _Scale(1e6),
        "kgfcm": _Scale(_KGF * 10.0),
        "kgcm": _Scale(_KGF * 10.0),
        "kgfm": _Scale(_KGF * 1e3),
        "kgfmm": _Scale(_KGF),
        "lbfin": _Scale(POUND_FORCE_N * INCH_MM),
        "lbfft": _Scale(POUND_FORCE_N * INCH_MM * 12.0),
        "ozfin": _Scale(POUND_FORCE_N / 16.0 * INCH_MM),
        # as shops and data sheets write them: a pound or an ounce in a torque is a force, whichever stands first
        "lbin": _Scale(POUND_FORCE_N * INCH_MM),
        "inlb": _Scale(POUND_FORCE_N * INCH_MM),
        "lbft": _Scale(POUND_FORCE_N * INCH_MM * 12.0),
        "ftlb": _Scale(POUND_FORCE_N * INCH_MM * 12.0),
        "ozin": _Scale(POUND_FORCE_N / 16.0 * INCH_MM),
    },
    Kind.STRESS: {
        "MPa": _Scale(1.0),
        "GPa": _Scale(1e3),
        "kPa": _Scale(1e-3),
        "Pa": _Scale(1e-6),
        "N/mm2": _Scale(1.0),
        "bar": _Scale(0.1),
        "psi": _Scale(POUND_FORCE_N / INCH_MM**2),
        "ksi": _Scale(POUND_FORCE_N / INCH_MM**2 * 1e3),
    },
    Kind.ANGLE: {
        "rad": _Scale(1.0),
        "mrad": _Scale(1e-3),
        "deg": _Scale(_DEGREE),
        "'": _Scale(_DEGREE / 60.0),
        "arcmin": _Scale(_DEGREE / 60.0),
        '"': _Scale(_DEGREE / 3600.0),
        "arcsec": _Scale(_DEGREE / 3600.0),
        "turn": _Scale(_TURN),
        "turns": _Scale(_TURN),
        "rev": _Scale(_TURN),
    },
    Kind.SPEED: {
        "rad/s": _Scale(1.0),
        "rpm": _Scale(_TURN / 60.0),
        "r/min": _Scale(_TURN / 60.0),
        "rev/min": _Scale(_TURN / 60.0),
        "1/min": _Scale(_TURN / 60.0),
        "min^-1": _Scale(_TURN / 60.0),
        "rev/s": _Scale(_TURN),
        "deg/s": _Scale(_DEGREE),
    },
    Kind.TIME: {
        "s": _Scale(1.0),
        "ms": _Scale(1e-3),
        "min": _Scale(60.0),
        "h": _Scale(3600.0),
        "d": _Scale(86400.0),
    },
    Kind.TEMPERATURE: {
        "K": _Scale(1.0),
        "degC": _Scale(1.0, ZERO_CELSIUS_K),
        "C": _Scale(1.0, ZERO_CELSIUS_K),
        "degF": _Scale(5.0 / 9.0, 459.67),
        "F": _Scale(5.0 / 9.0, 459.67),
    },
    Kind.TORSIONAL_STIFFNESS: {
        "Nm/rad": _Scale(1e3),
        "Nmm/rad": _Scale(1.0),
        "Nm/deg": _Scale(1e3 / _DEGREE),
        "Nm/'": _Scale(1e3 * 60.0 / _DEGREE),
        "Nm/arcmin": _Scale(1e3 * 60.0 / _DEGREE),
        "kgfm/'": _Scale(_KGF * 1e3 * 60.0 / _DEGREE),
        "kgfm/arcmin": _Scale(_KGF * 1e3 * 60.0 / _DEGREE),
    },
    Kind.LINE_FORCE: {"N/mm": _Scale(1.0), "kN/m": _Scale(1.0), "N/cm": _Scale(0.1), "N/m": _Scale(1e-3)},
}

# How the units are offered in an error, most usual first.
_SHOWN = {
    Kind.LENGTH: "mm, cm, m, µm, in",
    Kind.FORCE: "N, kN, kgf, gf, lbf",
    Kind.TORQUE: "N·m, N·mm, N·cm, mN·m, kgf·cm, kgf·m, lbf·in, lbf·ft, ozf·in",
    Kind.STRESS: "MPa, GPa, N/mm², bar, psi, ksi",
    Kind.ANGLE: "°, ′ (arcmin), ″ (arcsec), rad, mrad, turn",
    Kind.SPEED: "rpm, rad/s, °/s, rev/s",
    Kind.TIME: "s, ms, min, h, d",
    Kind.TEMPERATURE: "°C, K, °F",
    Kind.TORSIONAL_STIFFNESS: "N·m/rad, N·m/°, N·m/arcmin, kgf·m/arcmin",
    Kind.LINE_FORCE: "N/mm, N/cm, N/m, kN/m",
}

_SAME_SIGN = str.maketrans(
    {
        "−": "-",
        "–": "-",
        "′": "'",
        "’": "'",
        "″": '"',
        "”": '"',
        "µ": "u",
        "μ": "u",
        "²": "2",
        "\u00a0": " ",
        "\u202f": " ",
        "\u2009": " ",
    }
)
_PIECE = re.compile(
    r"\s*([+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d+)?)\s*((?:[^\d+\-]|-(?=[A-Za-z]))*(?:\^?-1|⁻¹|1/min|(?<=[A-Za-z])2)?)"
)
_THOUSANDS = re.compile(r"[+-]?[1-9]\d{0,2},\d{3}")
_FINEST_LAST = ("deg", "'", '"')


def _squeeze(unit: str) -> str:
    """One spelling for every way of writing the same unit."""
    text = unit.replace("⁻¹", "^-1").replace("''", '"').replace("°", "deg")
    for mark in " \t·⋅*×.-":
        text = text.replace(mark, "") if mark != "-" else re.sub(r"(?<!\^)-", "", text)
    return "min^-1" if text in ("min-1", "min^-1") else text


def _a(kind: Kind) -> str:
    return f"an {kind}" if kind is Kind.ANGLE else f"a {kind}"


def _fault(what: str, kind: Kind, text: str, place: str) -> UnitFault:
    return UnitFault([Fault(what, place=place, value=repr(text), allowed=f"a number with {_SHOWN[kind]}")])


def _pieces(text: str, kind: Kind, place: str) -> list[tuple[float, str]]:
    """Numbers and their squeezed units, in the order written."""
    plain = text.translate(_SAME_SIGN).strip()
    pieces: list[tuple[float, str]] = []
    at = 0
    while at < len(plain):
        match = _PIECE.match(plain, at)
        if match is None or match.end() == at:
            raise _fault(f"this is not {_a(kind)} with a unit", kind, text, place)
        number = match.group(1)
        if _THOUSANDS.fullmatch(number):
            raise _fault("a comma before three digits can be read in two ways", kind, text, place)
        pieces.append((float(number.replace(",", ".")), _squeeze(match.group(2))))
        at = match.end()
    if not pieces:
        raise _fault(f"this is not {_a(kind)} with a unit", kind, text, place)
    return pieces


def parse(text: str, kind: Kind, place: str = "") -> float:
    """The number in the inside unit of its kind (``INSIDE_UNIT``).

    Angles may be written in parts, from coarse to fine: ``1° 30′ 15″``. ``place`` is the key shown in an error.
    Raises UnitFault when the text is not a number with a unit of this kind, or is not finite.
    """
    if not isinstance(text, str):
        raise _fault(f"{_a(kind)} is written as text with its unit", kind, str(text), place)
    pieces = _pieces(text, kind, place)
    known = _UNITS[kind]
    for _, unit in pieces:
        if not unit:
            raise _fault(f"this {kind} has no unit", kind, text, place)
        if unit not in known:
            raise _fault(f"{unit!r} is not a unit of {kind}", kind, text, place)
    if len(pieces) > 1:
        _check_parts(pieces, kind, text, place)
    sign = -1.0 if pieces[0][0] < 0.0 or text.translate(_SAME_SIGN).lstrip().startswith("-") else 1.0
    value = 0.0
    for number, unit in pieces:
        scale = known[unit]
        value += scale.factor * ((abs(number) * sign if len(pieces) > 1 else number) + scale.shift)
    if not math.isfinite(value):
        raise _fault("this number is too large", kind, text, place)
    if kind is Kind.TEMPERATURE and value < 0.0:
        raise _fault("this is below absolute zero", kind, text, place)
    return value


def _check_parts(pieces: list[tuple[float, str]], kind: Kind, text: str, place: str) -> None:
    units = [unit for _, unit in pieces]
    order = [_FINEST_LAST.index(unit) for unit in units if unit in _FINEST_LAST]
    in_order = len(order) == len(units) and all(a < b for a, b in pairwise(order))
    if kind is not Kind.ANGLE or not in_order or any(number < 0.0 for number, _ in pieces[1:]):
        raise _fault("only an angle may have parts, written ° ′ ″ in that order", kind, text, place)


def _checked(value: float) -> float:
    if not math.isfinite(value):
        raise ValueError(f"a number that is not finite cannot be shown: {value}")
    return value


def _decimals(value: float, digits: int) -> str:
    """The value with about this many significant digits, never in exponent form, minus zero avoided."""
    if value == 0.0:
        return "0"
    places = max(0, digits - 1 - math.floor(math.log10(abs(value))))
    text = f"{value:.{places}f}"
    return text.replace("-", "−") if float(text) != 0.0 else text.lstrip("-")


def _fixed(value: float, places: int) -> str:
    text = f"{_checked(value):.{places}f}"
    return text.replace("-", "−") if float(text) != 0.0 else text.lstrip("-")


def show_length(length_mm: float) -> str:
    """mm: three places (a micrometre) below 10, two below 1000, one above."""
    size = abs(_checked(length_mm))
    return f"{_fixed(length_mm, 3 if size < 10.0 else 2 if size < 1000.0 else 1)} mm"


def show_force(force_n: float) -> str:
    """N with three significant digits."""
    return f"{_decimals(_checked(force_n), 3)} N"


def show_torque(torque_nmm: float) -> str:
    """N·m with three significant digits; N·mm below a hundredth of a newton metre."""
    if 0.0 < abs(_checked(torque_nmm)) < 10.0:
        return f"{_decimals(torque_nmm, 3)} N·mm"
    return f"{_decimals(torque_nmm / 1e3, 3)} N·m"


def show_stress(stress_mpa: float) -> str:
    """MPa with three significant digits."""
    return f"{_decimals(_checked(stress_mpa), 3)} MPa"


def show_angle(angle_rad: float) -> str:
    """Degrees with two places."""
    return f"{_fixed(math.degrees(angle_rad), 2)}°"


def show_small_angle(angle_rad: float) -> str:
    """Arc-minutes with two places, for backlash, lost motion and errors."""
    return f"{_fixed(math.degrees(angle_rad) * 60.0, 2)}′"


def show_speed(speed_rad_per_s: float) -> str:
    """rpm with four significant digits."""
    return f"{_decimals(_checked(speed_rad_per_s) * 60.0 / _TURN, 4)} rpm"


def show_temperature(temperature_k: float) -> str:
    """°C with one place."""
    return f"{_fixed(temperature_k - ZERO_CELSIUS_K, 1)} °C"


def show_torsional_stiffness(stiffness_nmm_per_rad: float) -> str:
    """N·m/rad with three significant digits."""
    return f"{_decimals(_checked(stiffness_nmm_per_rad) / 1e3, 3)} N·m/rad"


def show_time(time_s: float) -> str:
    """Seconds below two minutes, minutes below two hours, hours above."""
    size = abs(_checked(time_s))
    if size < 120.0:
        return f"{_decimals(time_s, 3)} s"
    if size < 7200.0:
        return f"{_decimals(time_s / 60.0, 3)} min"
    return f"{_decimals(time_s / 3600.0, 3)} h"
