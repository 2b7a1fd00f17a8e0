"""Teeth of the strip as the roller lifts them, and the spaces of a straight rack that let them in and out.

Coordinates: x along the travel, y toward the rack; y = 0 is the rack's tip line. The strip between roller and pads is a beam
that is clamped at the pads and pushed up in its middle; teeth are stiff.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely

from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.errors import ConvergenceFault, Fault
from lobewright.make.rack_design import RackRow

Array = np.ndarray
HEIGHT_SHARE, TIP_SHARE = 0.40, 0.22
"""Height of a strip's tooth and width of its tip over the pitch: our choice, for teeth that are seen and printable."""
USUAL_HALF_ANGLE_DEG = 20.0
TIP_GAP_MM = 0.25
"""From the strip's root line to the rack's tips where the roller stands."""
FREE_GAP_MM = 0.6
"""Between the tips of strip and rack away from the roller."""
POSES = 161
SIMPLER_MM = 0.003


@dataclass(frozen=True)
class Strip:
    """What all rows of a strip share, mm. ``lift_mm`` is what the roller lifts it by, ``half_span_mm`` from roller to pad."""

    back_mm: float
    lift_mm: float
    half_span_mm: float
    half_angle_rad: float

    def lifted(self, u: Array) -> tuple[Array, Array, Array]:
        """x and height of the neutral line (0 where it lies low) and its slope, of material ``u`` mm from the roller.

        Clamped at both ends and pushed in the middle: a cubic on each side. x is short of u by the arc's detour.
        """
        c, h = self.half_span_mm, self.lift_mm
        share = np.minimum(np.abs(u) / c, 1.0)
        y = h * (1 - 3 * share**2 + 2 * share**3)
        slope = -np.sign(u) * 6 * h / c * (share - share**2)
        # Half of slope² integrated from the roller: 18 h²/c (s³/3 − s⁴/2 + s⁵/5).
        detour = 18 * h * h / c * (share**3 / 3 - share**4 / 2 + share**5 / 5)
        return u - np.sign(u) * detour, y, slope

    @property
    def bending_strain(self) -> float:
        """Largest strain of the back at the roller, without the teeth."""
        return 3 * self.lift_mm * self.back_mm / self.half_span_mm**2


def half_angle_rad(design: m.Design) -> float:
    """Half angle of the model's straight flanks: the design's where it has one, else 20°."""
    tooth = design.tooth
    if isinstance(tooth, m.InvoluteTooth):
        return math.radians(tooth.pressure_angle_deg)
    if isinstance(tooth, m.TrapezoidTooth):
        return math.radians(min(tooth.half_angle_deg, 25.0))
    ring = design.flexible_ring
    if isinstance(tooth, m.BeltTooth) and isinstance(ring, m.Belt):
        angle = catalogue.belt_profile(ring.designation).tooth_angle_deg
        if angle:
            return math.radians(min(angle / 2, 25.0))
    return math.radians(USUAL_HALF_ANGLE_DEG)


def tooth_height_mm(pitch_mm: float) -> float:
    return HEIGHT_SHARE * pitch_mm


def tooth_points(strip: Strip, pitch_mm: float, overlap_mm: float = 0.0) -> Array:
    """Corners of one tooth about its centre line, (4, 2), y from the root line; ``overlap_mm`` lets it into the back."""
    high, tip = tooth_height_mm(pitch_mm), TIP_SHARE * pitch_mm / 2
    foot = tip + high * math.tan(strip.half_angle_rad)
    return np.array([(-foot, -overlap_mm), (foot, -overlap_mm), (tip, high), (-tip, high)])


def tooth_at(strip: Strip, pitch_mm: float, u_mm: float) -> shapely.Polygon:
    """A tooth whose foot is ``u_mm`` of strip from the roller, in coordinates of the roller."""
    x, y, slope = (float(v) for v in strip.lifted(np.asarray(u_mm)))
    angle = math.atan(slope)
    corners = tooth_points(strip, pitch_mm) + np.array((0.0, strip.back_mm / 2))
    c, s = math.cos(angle), math.sin(angle)
    turned = corners @ np.array([[c, s], [-s, c]])
    low = -TIP_GAP_MM - strip.back_mm / 2 - strip.lift_mm
    return shapely.Polygon(turned + np.array((x, low + y)))


def _swept(strip: Strip, row: RackRow) -> shapely.Polygon:
    """All that a tooth covers of the rack while the roller goes by, in coordinates of its space, both ways alike."""
    quick = row.strip_pitch_mm / row.rack_pitch_mm
    reach = strip.half_span_mm / quick
    poses = []
    for ahead in np.linspace(-reach, reach, POSES):
        tooth = tooth_at(strip, row.strip_pitch_mm, ahead * quick)
        poses.append(shapely.affinity.translate(tooth, -ahead, 0.0))
    between = [shapely.union(a, b).convex_hull for a, b in pairwise(poses)]
    return shapely.union_all(between)


def space_chain(strip: Strip, row: RackRow, clearance_mm: float) -> Array:
    """Outline of one space from its right end on the tip line over the root to its left end, (N, 2).

    Raises ConvergenceFault where neighbouring spaces run into each other.
    """
    grown = _swept(strip, row).buffer(clearance_mm, quad_segs=6)
    box = shapely.box(-5 * row.rack_pitch_mm, 0.0, 5 * row.rack_pitch_mm, 5 * row.rack_pitch_mm)
    space = shapely.simplify(grown.intersection(box), SIMPLER_MM)
    width = space.bounds[2] - space.bounds[0]
    if not isinstance(space, shapely.Polygon) or width >= row.rack_pitch_mm:
        what = f"the spaces of rack {row.name} run into each other"
        allowed = f"less than the pitch of {row.rack_pitch_mm:.3f} mm"
        raise ConvergenceFault([Fault(what, value=f"{width:.3f} mm", allowed=allowed)])
    points = np.array(shapely.geometry.polygon.orient(space).exterior.coords)[:-1]
    on_line = np.flatnonzero(points[:, 1] < 1e-9)
    start = on_line[np.argmax(points[on_line, 0])]
    return np.roll(points, -start, axis=0)


def land_mm(chain: Array, row: RackRow) -> float:
    """Width of a rack tooth at its tip."""
    return row.rack_pitch_mm - float(chain[0, 0] - chain[-1, 0])


def rack_teeth(chain: Array, row: RackRow, first: int, last: int) -> Array:
    """The toothed edge from space ``first`` to ``last``, from right to left, space 0 about x = 0, (N, 2)."""
    return np.vstack([chain + np.array((k * row.rack_pitch_mm, 0.0)) for k in range(last, first - 1, -1)])


def teeth_at(strip: Strip, row: RackRow, way_mm: float, shift_mm: float = 0.0) -> dict[int, shapely.Polygon]:
    """Teeth of the strip between the pads, by number, in coordinates of the rack; the roller has gone ``way_mm`` past space 0.

    Tooth n meets space n, by counting alone. ``shift_mm`` moves the strip out of its place along the travel.
    """
    passed = way_mm / row.rack_pitch_mm
    reach = strip.half_span_mm / row.strip_pitch_mm
    found = {}
    for n in range(math.ceil(passed - reach), math.floor(passed + reach) + 1):
        tooth = tooth_at(strip, row.strip_pitch_mm, (n - passed) * row.strip_pitch_mm + shift_mm)
        found[n] = shapely.affinity.translate(tooth, way_mm, 0.0)
    return found


def overlap_mm2(strip: Strip, row: RackRow, chain: Array, way_mm: float, shift_mm: float = 0.0) -> float:
    """Area in which teeth of the strip and the rack would stand in each other; 0 where they mesh."""
    teeth = teeth_at(strip, row, way_mm, shift_mm)
    first, last = min(teeth) - 1, max(teeth) + 1
    edge = rack_teeth(chain, row, first, last)
    top = float(chain[:, 1].max()) + 2.0
    rack = shapely.Polygon(np.vstack((edge, ((edge[-1, 0], top), (edge[0, 0], top)))))
    return float(rack.intersection(shapely.union_all(list(teeth.values()))).area)


def play_mm(strip: Strip, row: RackRow, chain: Array) -> float:
    """How far the strip can be pushed to one side before a tooth touches the rack: the larger of two places of the roller."""
    found = []
    for way in (0.0, row.rack_pitch_mm / 2):
        low, high = 0.0, row.rack_pitch_mm / 2
        for _ in range(20):
            middle = (low + high) / 2
            free = overlap_mm2(strip, row, chain, way, middle) < 1e-9
            low, high = (middle, high) if free else (low, middle)
        found.append(low)
    return max(found)
