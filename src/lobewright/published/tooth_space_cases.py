"""Evidence for the tooth's path and the swept tooth space.

Frame: a rigid ring at rest, its tooth space around the x axis; a flexible tooth moves through it while the wave passes.
φ is the tooth's material label, 0 on a lobe, anticlockwise positive. In the rack limit (radius without end, here 20 000
teeth of module 1) a tooth on the neutral line with tooth difference 2 and w0 = 1 runs
x = ½(2φ − sin 2φ) tangentially and y = cos 2φ radially.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np

from lobewright.mesh.space import TipRule
from lobewright.published import measures
from lobewright.published.case import Case, Room
from lobewright.published.designs import belt_drive, leaning_tooth_ring, steel_cup, three_lobe_ring
from lobewright.published.model import Model
from lobewright.ring.shape import COSINE, ELLIPSE
from lobewright.sources import Flag

MANY = 20_000
LEAN = math.radians(20.0)
RULE = TipRule(0.84, 0.42, 0.12)


def _cam(model: Model, kind: int, radius_mm: float, lobes: int, deflection_mm: float) -> Any:
    a, b = model.cam_parameters(radius_mm, lobes, kind, deflection_mm)
    return model.on_curve(radius_mm, lobes, kind, a, b)


def _path(
    model: Model, shape: Any, flexible_teeth: int, ring_teeth: int, height_mm: float
) -> tuple[np.ndarray, np.ndarray]:
    """Labels and places (complex, ring frame) of the point of a tooth at a height above the neutral line."""
    poses = model.one_lobe(shape, 1)
    body = np.array([[0.0, height_mm]])
    return poses.label_rad, measures.in_ring_frame(body, poses, flexible_teeth, ring_teeth)[:, 0]


def _rack_place(label_deg: float, read: Callable[[complex], float]) -> Callable[[Model], float]:
    def compute(model: Model) -> float:
        radius = MANY / 2
        label, place = _path(model, _cam(model, COSINE, radius, 2, 1.0), MANY, MANY + 2, 0.0)
        at = int(np.argmin(np.abs(label - math.radians(label_deg))))
        return read(complex(place[at]) - radius)

    return compute


def _flank_turns_back(ring_teeth: int, side: int, low_deg: float, high_deg: float) -> Callable[[Model], float]:
    """Label in degrees at which a straight 20° flank stops advancing along its normal."""

    def compute(model: Model) -> float:
        radius = MANY / 2
        label, place = _path(model, _cam(model, COSINE, radius, 2, 1.0), MANY, ring_teeth, 0.0)
        advance = side * place.imag * math.cos(LEAN) + (place.real - radius) * math.sin(LEAN)
        speed = np.gradient(advance, label)
        return math.degrees(measures.crossing(label, speed, math.radians(low_deg), math.radians(high_deg)))

    return compute


def _standing_still(model: Model) -> float:
    """Deflection factor at which a point 1.85 mm above the neutral line has no tangential speed in the ring at the lobe."""
    factors = np.array([1.0, 1.1, 1.2, 1.3])
    speeds = []
    for factor in factors:
        label, place = _path(model, _cam(model, COSINE, 38.15, 2, 0.01 * factor), 8000, 8002, 1.85)
        middle = len(label) // 2
        speeds.append((place.imag[middle + 1] - place.imag[middle - 1]) / (label[middle + 1] - label[middle - 1]))
    return measures.crossing(factors, np.array(speeds), 0.9, 1.4)


def _belt_shape(model: Model, designation: str, teeth: int, deflection_mm: float) -> Any:
    geometry = model.ring_geometry(belt_drive(designation, teeth))
    radius = geometry.neutral_radius_mm
    contact = 8.0 + geometry.inner_offset_mm
    return model.on_paired(radius, math.radians(25.0), contact, lobe_radius_mm=radius + deflection_mm)[0]


def _off(model: Model, outline: Any, shapes: tuple[Any, ...], ring_teeth: int, clearance_mm: float) -> float:
    space = model.tooth_space("ring", ring_teeth, outline, shapes, clearance_mm, RULE)
    return measures.distance_from_union_mm(space, outline, [model.one_lobe(shape, 1) for shape in shapes])


def _belt_union(ring_teeth: int) -> Callable[[Model], float]:
    def compute(model: Model) -> float:
        shape = _belt_shape(model, "C2M", 100, 2 / math.pi)
        return _off(model, model.tooth_outline(belt_drive("C2M", 100)), (shape,), ring_teeth, 0.12)

    return compute


def _three_lobes_union(model: Model) -> float:
    design = three_lobe_ring()
    radius = model.ring_geometry(design).neutral_radius_mm
    shape = _cam(model, COSINE, radius, 3, 1.875)
    return _off(model, model.tooth_outline(design), (shape,), 75, 0.15)


def _cup_union(model: Model) -> float:
    design = steel_cup()
    radius = model.ring_geometry(design).neutral_radius_mm
    shapes = tuple(_cam(model, ELLIPSE, radius, 2, 0.55 * share) for share in (0.9, 1.0, 1.1))
    return _off(model, model.tooth_outline(design), shapes, 162, 0.05)


def _leaning_union(model: Model) -> float:
    design = leaning_tooth_ring()
    radius = model.ring_geometry(design).neutral_radius_mm
    shape = model.on_points(radius, 2, radius + 1.0)
    return _off(model, model.tooth_outline(design), (shape,), 82, 0.15)


def _common_normal(ring_teeth: int, low: float, high: float) -> Callable[[Model], float]:
    def compute(model: Model) -> float:
        shape = _belt_shape(model, "T5", 60, 5 / math.pi)
        outline = model.tooth_outline(belt_drive("T5", 60))
        space = model.tooth_space("ring", ring_teeth, outline, (shape,), 0.0, RULE)
        return measures.normal_speed_share(space, outline, model.one_lobe(shape, 1), low, high)

    return compute


def _gap_as_made(model: Model) -> float:
    mesh = model.assess(belt_drive("C2M", 100)).rings[0]
    return float(mesh.cases[0].smallest_gap_mm)


def _case(
    key: str,
    quantity: str,
    unit: str,
    numbers: tuple[float, float],
    reason: str,
    compute: Callable[[Model], float],
) -> Case:
    source = ("derived_here", Flag.DERIVED)
    return Case(f"space.{key}", Room.TOOTH_SPACE, quantity, unit, *source, *numbers, reason, compute)


UNION = "two-sided Hausdorff distance of the space and the union of 257 poses a lobe drawn by a polygon library"
NORMAL = "the edge's direction is taken between levels of the space, the velocity between poses: about half a degree"
KEPT = "what a tooth space has to keep: 0.002 mm"
RACK = "20 000 teeth stand for a rack: what is left is of the order of 1/teeth and of the step between poses"
CASES = (
    _case(
        "union_100_102",
        f"belt of 2 mm pitch, 100 teeth in 102: {UNION}",
        "mm",
        (0.0, 0.002),
        KEPT,
        _belt_union(102),
    ),
    _case(
        "union_100_100",
        f"the same belt in its output ring of 100: {UNION}",
        "mm",
        (0.0, 0.002),
        KEPT,
        _belt_union(100),
    ),
    _case(
        "union_three_lobes",
        f"double-arc teeth on a three-lobe cam, 72 in 75: {UNION}",
        "mm",
        (0.0, 0.002),
        KEPT,
        _three_lobes_union,
    ),
    _case(
        "union_cup_sections",
        f"involute cup, 160 in 162, sections with 90, 100 and 110 % of the deflection: {UNION}",
        "mm",
        (0.0, 0.002),
        KEPT,
        _cup_union,
    ),
    _case(
        "union_leaning_tooth",
        f"drawn tooth that leans to one side, two rollers, 80 in 82: {UNION}",
        "mm",
        (0.0, 0.002),
        KEPT,
        _leaning_union,
    ),
    _case(
        "common_normal_60_62",
        "trapezoidal belt, 60 teeth in 62: share of the relative velocity along the common normal at contact, worst over the "
        "straight part of the flank (a rounding is drawn by chords, whose normals jump)",
        "",
        (0.0, 0.01),
        NORMAL,
        _common_normal(62, 0.3, 0.7),
    ),
    _case(
        "common_normal_60_60",
        "the same belt in its output ring of 60: share of the relative velocity along the common normal, as above",
        "",
        (0.0, 0.01),
        NORMAL,
        _common_normal(60, 0.05, 0.25),
    ),
    _case(
        "path_tangential",
        "path of a tooth in the rack limit: tangential place at φ = 45°, π/4 − 1/2",
        "mm",
        (0.285398, 5e-4),
        RACK,
        _rack_place(45.0, lambda place: place.imag),
    ),
    _case(
        "path_radial",
        "path of a tooth in the rack limit: radial place at φ = 22.5°, cos 45°",
        "mm",
        (0.707107, 5e-4),
        RACK,
        _rack_place(22.5, lambda place: place.real),
    ),
    _case(
        "flank_minimum",
        "straight 20° flank, tooth difference 2, rack limit: label where it turns back a second time, tan φ = 2 tan 20°",
        "°",
        (36.053, 0.02),
        RACK,
        _flank_turns_back(MANY + 2, 1, 20.0, 50.0),
    ),
    _case(
        "equal_counts_contact",
        "straight 20° flank, equal counts, rack limit: label of contact, off the lobe, ½ arctan(1/(2 tan 20°))",
        "°",
        (26.973, 0.02),
        RACK,
        _flank_turns_back(MANY, -1, 5.0, 50.0),
    ),
    _case(
        "speed_match",
        "point 1.85 mm above a neutral line of radius 38.15 mm, small deflection: factor on the nominal deflection at which it "
        "stands still in the ring at the lobe, 1/(1 − 3·1.85/38.15)",
        "",
        (1.170245, 1e-3),
        "small deflection: what is left is of the order of w0/R = 3e-4",
        _standing_still,
    ),
    _case(
        "gap_as_made",
        "belt drive as designed, base ring: smallest gap over a turn, which the space was made to keep",
        "mm",
        (0.12, 0.002),
        KEPT,
        _gap_as_made,
    ),
)
