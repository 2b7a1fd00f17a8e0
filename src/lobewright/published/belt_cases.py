"""Evidence for belts turned teeth-outward: lengths, radii, tooth outlines.

A pulley groove is the belt's tooth grown by a clearance, teeth inward. Its width and angle are compared with the tooth
that our outline draws teeth-outward: same tooth, heights counted from the land, x across the tooth.
"""

from __future__ import annotations

import math

import numpy as np

from lobewright.published.case import Case, Room
from lobewright.published.designs import belt_drive
from lobewright.published.model import Model
from lobewright.sources import Flag


def _length(model: Model, designation: str, teeth: int) -> float:
    return float(model.ring_geometry(belt_drive(designation, teeth)).length_mm)


def _land_radius(model: Model, designation: str, teeth: int) -> float:
    geometry = model.ring_geometry(belt_drive(designation, teeth))
    return float(geometry.neutral_radius_mm + geometry.land_height_mm)


def _half_width(model: Model, designation: str, teeth: int, above_land_mm: float) -> float:
    """Half the tooth's width at a height above its land: mean of both flanks."""
    outline = model.tooth_outline(belt_drive(designation, teeth))
    points, height = outline.points_mm, outline.land_height_mm + above_land_mm
    top = int(np.argmax(points[:, 1]))
    right = np.interp(-height, -points[top:, 1], points[top:, 0])
    left = np.interp(height, points[: top + 1, 1], points[: top + 1, 0])
    return float(right - left) / 2


def _flank_angle(model: Model, designation: str, teeth: int) -> float:
    """Angle between the flanks in degrees, from the width at 40 and 60 % of the tooth's height."""
    outline = model.tooth_outline(belt_drive(designation, teeth))
    low, high = 0.4 * outline.height_mm, 0.6 * outline.height_mm
    narrower = _half_width(model, designation, teeth, low) - _half_width(model, designation, teeth, high)
    return 2 * math.degrees(math.atan2(narrower, high - low))


GROOVE = "a groove is wider than its tooth by a clearance that the drawing does not state: up to 0.02 mm a side"
ANGLE = "coordinates of the drawing are rounded to 1e-6 mm; the nominal angle is a whole number of degrees"
CASES = (
    Case(
        "belt.length_60x5",
        Room.BELT,
        "belt of 60 teeth at 5 mm turned inside out: length of its neutral line",
        "mm",
        "kaiser_2017",
        Flag.READ,
        300.0,
        1e-6,
        "the cord keeps its length exactly",
        lambda model: _length(model, "T5", 60),
    ),
    Case(
        "belt.length_code_100",
        Room.BELT,
        "inch length code 100 at pitch 2.032 mm, 125 teeth: length of the neutral line",
        "mm",
        "rma_ip_24_lengths",
        Flag.READ_SECOND,
        254.0,
        1e-6,
        "an exact number of inches",
        lambda model: _length(model, "MXL", 125),
    ),
    Case(
        "belt.land_radius",
        Room.BELT,
        "2 mm modified curvilinear belt, 100 teeth, inside out: radius of the land between teeth, from the pulley's outside "
        "diameter 2 (pZ/2π − 0.254 mm)",
        "mm",
        "pulley_outlines_2012",
        Flag.READ,
        32.084989,
        1e-5,
        "0.254 mm is exact in the drawing; pitch radius to 1e-6 mm",
        lambda model: _land_radius(model, "C2M", 100),
    ),
    Case(
        "belt.half_width_c2m",
        Room.BELT,
        "2 mm modified curvilinear tooth: half width 0.343 mm above the land",
        "mm",
        "pulley_outlines_2012",
        Flag.READ,
        0.547158,
        0.02,
        GROOVE,
        lambda model: _half_width(model, "C2M", 100, 0.343077),
    ),
    Case(
        "belt.half_width_c3m",
        Room.BELT,
        "3 mm modified curvilinear tooth: half width 0.591 mm above the land",
        "mm",
        "pulley_outlines_2012",
        Flag.READ,
        0.800056,
        0.02,
        GROOVE,
        lambda model: _half_width(model, "C3M", 100, 0.591388),
    ),
    Case(
        "belt.flank_angle_xl",
        Room.BELT,
        "trapezoidal tooth of pitch 5.08 mm: angle between its flanks",
        "°",
        "pulley_outlines_2012",
        Flag.READ,
        49.99,
        0.1,
        ANGLE,
        lambda model: _flank_angle(model, "XL", 60),
    ),
    Case(
        "belt.flank_angle_t5",
        Room.BELT,
        "trapezoidal tooth of pitch 5 mm: angle between its flanks",
        "°",
        "pulley_outlines_2012",
        Flag.READ,
        40.01,
        0.1,
        ANGLE,
        lambda model: _flank_angle(model, "T5", 60),
    ),
)
