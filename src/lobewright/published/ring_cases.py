"""Evidence for the flexible ring: closed forms and printed numbers in the limit of small deflection, exact lengths beyond.

Sign and frame: our rings are pushed outward, the handbooks' are often squeezed; in the limit of small deflection every
number changes its sign and nothing else. Moments are changes of curvature times EI, positive where bent sharper.
First-order rows are computed at w0/R = 1e-5, so the second-order term (about w0/R) stays below 1e-4 of the number.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from types import SimpleNamespace
from typing import Any

import numpy as np

from lobewright.published.case import CaseMaker, Room
from lobewright.published.designs import belt_drive, module_ring
from lobewright.published.measures import chord_length_mm, ring_frequency_hz
from lobewright.published.model import Model
from lobewright.ring.geometry import RingGeometry
from lobewright.ring.shape import CIRCLE, COSINE, ELLIPSE
from lobewright.sources import Flag

RADIUS = 30.0
SMALL = 1e-5
LIMIT = "first-order number, computed at w0/R = 1e-5: what is left is of the order of w0/R"
INCH = 25.4


def _points(model: Model, lobes: int) -> Any:
    return model.on_points(RADIUS, lobes, RADIUS * (1 + SMALL))


def _bend(shape: Any, at: int) -> float:
    """Change of curvature at a sample in units of 1/R."""
    return float(shape.curvature_1_per_mm[at] * shape.radius_mm - 1)


def _middle(shape: Any) -> int:
    return int(shape.points_per_half_lobe)


def _two_roller(read: Callable[[Any], float]) -> Callable[[Model], float]:
    return lambda model: read(_points(model, 2)) / SMALL


def _pinched(model: Model) -> float:
    """Displacement of a loaded point, mm, of a ring of radius 100 mm and section 10 × 5 mm under two forces of 10 N."""
    stiffness = 200e3 * 10 * 5**3 / 12
    shape = _points(model, 2)
    force_for_small = shape.force_factor * stiffness / 100.0**2
    return float(shape.deflection_mm / shape.radius_mm) * 100.0 * 10.0 / force_for_small


def _pinched_minor_moment(model: Model) -> float:
    shape = _points(model, 2)
    return -_bend(shape, _middle(shape)) / float(shape.force_factor)


def _three_loads(read: Callable[[Any], float]) -> Callable[[Model], float]:
    def compute(model: Model) -> float:
        shape = _points(model, 3)
        return read(shape) / shape.force_factor

    return compute


def _paired(model: Model) -> Any:
    shape, _ = model.on_paired(RADIUS, math.radians(30.0), 8.0, lobe_radius_mm=RADIUS * (1 + SMALL))
    return shape


def _cosine(model: Model, radius_mm: float, lobes: int, share: float) -> Any:
    a, b = model.cam_parameters(radius_mm, lobes, COSINE, share * radius_mm)
    return model.on_curve(radius_mm, lobes, COSINE, a, b)


def _frequency(model: Model, lobes: int) -> float:
    """Free ring, radius 369 mm, 48 mm radially, 50 mm axially, E 185 GPa, 7800 kg/m³."""
    shape = _cosine(model, 369.0, lobes, SMALL)
    return ring_frequency_hz(shape, 185e3 * 50 * 48**3 / 12, 7800e-12 * 50 * 48)


def _turn(shape: Any) -> float:
    """Turn of the normal against the material label halfway between the two axes, in w0/R."""
    halfway = _middle(shape) // 2
    return float(shape.normal_rad[halfway] - shape.arc_mm[halfway] / shape.radius_mm) / SMALL


def _perimeter(model: Model, major: float, minor: float) -> float:
    """Length that the model finds for an ellipse: a ring slightly too short is stretched to it."""
    radius = 0.49 * (major + minor)
    shape = model.on_curve(radius, 2, ELLIPSE, major, minor)
    return float((1 + shape.stretch) * 2 * math.pi * radius)


def _semi_minor(model: Model, radius_mm: float, deflection_mm: float) -> float:
    return float(model.cam_parameters(radius_mm, 2, ELLIPSE, deflection_mm)[1])


def _length_kept(model: Model) -> float:
    """Worst relative departure of the neutral line's length from 2πR over all generators at w0/R = 2 and 5 %."""
    worst = 0.0
    for share in (0.02, 0.05):
        lobe = RADIUS * (1 + share)
        shapes = [model.on_points(RADIUS, n, lobe) for n in (2, 3)]
        shapes += [_cosine(model, RADIUS, n, share) for n in (2, 3)]
        a, b = model.cam_parameters(RADIUS, 2, ELLIPSE, share * RADIUS)
        shapes.append(model.on_curve(RADIUS, 2, ELLIPSE, a, b))
        shapes.append(model.on_curve(RADIUS, 2, ELLIPSE, a - 0.05, b - 0.05))
        centre = 3.2 * share * RADIUS  # nearer the axis two discs reach round further than the ring is long
        shapes.append(model.on_curve(RADIUS, 2, CIRCLE, centre, lobe - centre))
        shapes.append(model.on_paired(RADIUS, math.radians(25.0), 8.0, lobe_radius_mm=lobe)[0])
        for shape in shapes:
            length = chord_length_mm(shape.x_mm, shape.y_mm, shape.curvature_1_per_mm)
            worst = max(worst, abs(length / (2 * math.pi * RADIUS) - 1))
    return worst


def _bent_straight(model: Model, thickness_mm: float, radius_mm: float) -> float:
    """Largest strain of a straight strip bent to a radius of its neutral line: a ring of endless radius, bent."""
    bent = np.full(8, 1 / radius_mm)
    endless = SimpleNamespace(
        radius_mm=1e15, deflection_mm=1.0, curvature_1_per_mm=bent, stretch=0.0, points_per_half_lobe=2
    )
    half = thickness_mm / 2
    strip = RingGeometry(100, 1e15, half, half, half, half, half)
    return float(model.bending_strain(endless, strip).most)


def _breathing(model: Model) -> float:
    """How far a point of the ring goes out and in while the wave passes, mm."""
    shape = model.assess(belt_drive("C2M", 90)).set_shape
    return float(shape.deflection_mm - shape.minor_deflection_mm)


def _root_radius(model: Model) -> float:
    geometry = model.ring_geometry(module_ring(0.375, 160, 0.75, 1.35))
    return float(geometry.neutral_radius_mm + geometry.land_height_mm)


def _inner_radius(model: Model) -> float:
    geometry = model.ring_geometry(module_ring(0.375, 160, 0.75, 1.35))
    return float(geometry.neutral_radius_mm - geometry.inner_offset_mm)


_case = CaseMaker("ring", Room.RING)


PINCHED = ("timoshenko_young_1968", Flag.READ_SECOND)
MANUAL = ("edf_v2_03_109", Flag.READ)
TABLE_17 = ("abramowitz_stegun_1964", Flag.READ_SECOND)
MESSAGE = ("hopper_1999", Flag.READ)
SHEETS = ("washington_cee459_2004", Flag.READ_SECOND)
TEXTBOOK = ("gere_goodno_2009", Flag.READ)
ARTICLE = ("cjme_2021_621", Flag.READ)
OURS = ("derived_here", Flag.DERIVED)
TRADE = ("trade_practice", Flag.COMMON_PRACTICE)
LAST_DIGIT = "half of the last printed digit"

CASES = (
    _case(
        "pinched_deflection",
        "ring of radius 100 mm, section 10 × 5 mm, E 200 GPa, two opposite forces of 10 N: displacement of a loaded point",
        "mm",
        PINCHED,
        (3.57e-2, 5e-5),
        LAST_DIGIT,
        _pinched,
    ),
    _case(
        "pinched_minor_moment",
        "thin ring under two opposite forces P: moment midway between them in PR",
        "",
        SHEETS,
        (0.182, 5e-4),
        LAST_DIGIT,
        _pinched_minor_moment,
    ),
    _case(
        "two_lobe_frequency",
        "free ring, radius 369 mm, 48 × 50 mm, steel: frequency of the two-lobe mode, from our cosine shape's bending and "
        "displacement",
        "Hz",
        MANUAL,
        (211.65, 0.02),
        f"{LAST_DIGIT}, and second order in the deflection",
        lambda model: _frequency(model, 2),
    ),
    _case(
        "three_lobe_frequency",
        "the same ring: frequency of the three-lobe mode",
        "Hz",
        MANUAL,
        (598.64, 0.02),
        f"{LAST_DIGIT}, and second order in the deflection",
        lambda model: _frequency(model, 3),
    ),
    _case(
        "ellipse_2_1",
        "perimeter of the ellipse with semi-axes 2 and 1",
        "mm",
        MESSAGE,
        (9.688448221, 1e-8),
        "ten printed digits",
        lambda model: _perimeter(model, 2.0, 1.0),
    ),
    _case(
        "ellipse_100_20",
        "perimeter of the ellipse with semi-axes 100 and 20",
        "mm",
        MESSAGE,
        (420.20089079378, 1e-9),
        "fourteen of the printed digits, less rounding",
        lambda model: _perimeter(model, 100.0, 20.0),
    ),
    _case(
        "ellipse_e_010",
        "complete elliptic integral E at m = 0.10, as a quarter of the length of our ellipse",
        "",
        TABLE_17,
        (1.530757637, 2e-9),
        "ten printed digits; the table is off by up to one in the last",
        lambda model: _perimeter(model, 1.0, math.sqrt(0.9)) / 4,
    ),
    _case(
        "ellipse_e_050",
        "complete elliptic integral E at m = 0.50, as a quarter of the length of our ellipse",
        "",
        TABLE_17,
        (1.350643881, 2e-9),
        "ten printed digits; the table is off by up to one in the last",
        lambda model: _perimeter(model, 1.0, math.sqrt(0.5)) / 4,
    ),
    _case(
        "bent_wire_strain",
        "problem 5.4-1: wire of 1/16 in bent round a drum of radius 24 in, largest strain",
        "10⁻⁶",
        TEXTBOOK,
        (1300.0, 5.0),
        "printed to three figures",
        lambda model: 1e6 * _bent_straight(model, INCH / 16, (24 + 1 / 32) * INCH),
    ),
    _case(
        "bent_wire_stress",
        "problem 5.5-2: steel wire of 1.25 mm, E 200 GPa, round a pulley of radius 500 mm, largest stress",
        "MPa",
        TEXTBOOK,
        (250.0, 0.5),
        "printed to three figures",
        lambda model: 200e3 * _bent_straight(model, 1.25, 500.0 + 0.625),
    ),
    _case(
        "bent_rule_stress",
        "problem 5.5-3: rule 0.175 in thick and 48 in long bent to an arc of 40°, E 30·10⁶ psi, largest stress",
        "ksi",
        TEXTBOOK,
        (38.2, 0.05),
        LAST_DIGIT,
        lambda model: 30e3 * _bent_straight(model, 0.175 * INCH, 48 * INCH / math.radians(40.0)),
    ),
    _case(
        "root_radius",
        "module 0.375 mm, 160 teeth, dedendum 1.35 modules: root radius of the flexible ring",
        "mm",
        ARTICLE,
        (29.494, 5e-4),
        LAST_DIGIT,
        _root_radius,
    ),
    _case(
        "inner_radius",
        "the same ring with a wall of 2 modules: inner radius",
        "mm",
        ARTICLE,
        (28.744, 5e-4),
        LAST_DIGIT,
        _inner_radius,
    ),
    _case(
        "two_rollers_force",
        "two narrow rollers: contact force in EI·w0/R³",
        "",
        OURS,
        (13.4428, 1e-3),
        LIMIT,
        _two_roller(lambda shape: shape.force_factor),
    ),
    _case(
        "two_rollers_moment",
        "two narrow rollers: moment at a roller in EI·w0/R²",
        "",
        OURS,
        (4.27898, 2e-4),
        LIMIT,
        _two_roller(lambda shape: _bend(shape, 0)),
    ),
    _case(
        "two_rollers_minor_moment",
        "two narrow rollers: moment midway in EI·w0/R²",
        "",
        OURS,
        (-2.44243, 2e-4),
        LIMIT,
        _two_roller(lambda shape: _bend(shape, _middle(shape))),
    ),
    _case(
        "two_rollers_minor_deflection",
        "two narrow rollers: displacement midway in w0 (not −1: a roller pair is no cosine)",
        "",
        OURS,
        (-0.91828, 1e-4),
        LIMIT,
        _two_roller(lambda shape: shape.minor_deflection_mm / shape.radius_mm),
    ),
    _case(
        "three_rollers_deflection",
        "three equal radial forces W: displacement at a force in WR³/EI",
        "",
        OURS,
        (0.015939, 2e-6),
        "six printed digits of the closed form, and first order as above",
        _three_loads(lambda shape: shape.deflection_mm / shape.radius_mm),
    ),
    _case(
        "three_rollers_moment",
        "three equal radial forces W: moment at a force in WR",
        "",
        OURS,
        (0.188790, 2e-5),
        "six printed digits of the closed form, and first order as above",
        _three_loads(lambda shape: _bend(shape, 0)),
    ),
    _case(
        "paired_force",
        "paired rollers at ±30° from the lobe: force of one in EI·w0/R³ (superposed chord loads)",
        "",
        OURS,
        (14.963324, 3e-3),
        LIMIT,
        lambda model: _paired(model).force_factor / SMALL,
    ),
    _case(
        "paired_moment",
        "paired rollers at ±30°: moment on the major axis in EI·w0/R² (superposed chord loads)",
        "",
        OURS,
        (2.044286, 3e-4),
        LIMIT,
        lambda model: _bend(_paired(model), 0) / SMALL,
    ),
    _case(
        "cosine_normal_turn",
        "cosine cam: turn of the normal at 45° in w0/R",
        "",
        OURS,
        (1.5, 1e-4),
        LIMIT,
        lambda model: _turn(_cosine(model, RADIUS, 2, SMALL)),
    ),
    _case(
        "two_rollers_normal_turn",
        "two narrow rollers: turn of the normal at 45° in w0/R, the moment summed from a roller to there",
        "",
        OURS,
        (1.392049, 1e-4),
        LIMIT,
        lambda model: _turn(_points(model, 2)),
    ),
    _case(
        "paired_normal_turn",
        "paired rollers at ±30°: turn of the normal at 45° in w0/R, the moment summed from the axis to there",
        "",
        OURS,
        (1.681465, 2e-4),
        LIMIT,
        lambda model: _turn(_paired(model)),
    ),
    _case(
        "length_preserving_ellipse",
        "ellipse of the ring's length, R 30 mm, w0 0.375 mm: semi-minor axis",
        "mm",
        OURS,
        (29.622641, 2e-6),
        "printed to a millionth by two independent elliptic integrals",
        lambda model: _semi_minor(model, 30.0, 0.375),
    ),
    _case(
        "length_preserving_ellipse_deep",
        "ellipse of the ring's length, R 20 mm, w0 1 mm: semi-minor axis",
        "mm",
        OURS,
        (18.974334, 2e-6),
        "printed to a millionth by two independent elliptic integrals",
        lambda model: _semi_minor(model, 20.0, 1.0),
    ),
    _case(
        "length_kept",
        "eight generators, w0/R 2 and 5 %: worst relative departure of the neutral line's length from 2πR",
        "",
        OURS,
        (0.0, 1e-6),
        "what a tooth count round the ring needs",
        _length_kept,
    ),
    _case(
        "palm_sized_flexing",
        "palm-sized unit (belt of 2 mm pitch, 90 teeth): how far a point goes out and in, a millimetre or two",
        "mm",
        TRADE,
        (1.5, 0.5),
        "said as one to two millimetres",
        _breathing,
    ),
)
