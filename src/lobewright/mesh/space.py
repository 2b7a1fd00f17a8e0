"""The tooth space of a rigid ring: swept region grown by the clearance, closed by the deepest tip circle that works."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from lobewright.mesh.poses import Poses, one_lobe
from lobewright.mesh.sweep import highest_radius, lay
from lobewright.mesh.swept import Bounds, SweptRegion
from lobewright.mesh.teeth import ToothOutline
from lobewright.ring.shape import RingShape

Array = np.ndarray
LEVELS = 64
ROOT_ANGLES = 49


@dataclass(frozen=True)
class TipRule:
    """What the ring's tip radius must keep: land in mm at every height (wanted, and at the least), gap at the minor axis."""

    wanted_land_mm: float
    least_land_mm: float
    minor_gap_mm: float


@dataclass(frozen=True)
class ToothSpace:
    """One tooth space of a rigid ring around angle 0, in the ring's frame.

    ``radius_mm`` (K,) ascends from the tip circle to where the flanks turn into the root; ``right_rad`` and ``left_rad``
    (K,) bound the space there; ``root_mm`` (M, 2) are the points of the root between, left to right; arrays read-only.
    ``land_mm`` (K,) is the thickness of the ring's tooth at each radius (negative where neighbouring spaces meet),
    ``least_land_mm`` the least of it. ``tip_limited_by`` names what set the tip circle: ``land``, ``flexible_land`` (the
    rim between teeth), ``minor_axis``, or ``given``. ``engagement_mm`` is how far a flexible tip reaches past the tip
    circle at the lobe, ``minor_gap_mm`` what is left between tips at the minor axis. ``pose_error_mm`` is how far the last
    doubling of poses moved the flanks.
    """

    name: str
    teeth: int
    clearance_mm: float
    radius_mm: Array
    right_rad: Array
    left_rad: Array
    root_mm: Array
    tip_radius_mm: float
    root_radius_mm: float
    least_land_mm: float
    tip_limited_by: str
    engagement_mm: float
    minor_gap_mm: float
    pose_error_mm: float

    @property
    def pitch_rad(self) -> float:
        return 2 * math.pi / self.teeth

    @property
    def land_mm(self) -> Array:
        return (self.pitch_rad - self.right_rad + self.left_rad) * self.radius_mm

    def bounds_at(self, radius_mm: Array) -> tuple[Array, Array]:
        """Right and left angle at given radii, linear between levels."""
        right = np.interp(radius_mm, self.radius_mm, self.right_rad)
        return right, np.interp(radius_mm, self.radius_mm, self.left_rad)

    def outline_mm(self) -> Array:
        """The space as an open line (N, 2) in mm, left tip corner over the root to the right tip corner.

        The space lies around the positive x axis of the ring's frame.
        """
        left = np.column_stack((np.cos(self.left_rad), np.sin(self.left_rad))) * self.radius_mm[:, None]
        right = np.column_stack((np.cos(self.right_rad), np.sin(self.right_rad))) * self.radius_mm[:, None]
        return np.vstack((left, self.root_mm, right[::-1]))


def _levels(low: float, high: float) -> Array:
    """Radii from low to high, closer at the mouth and toward the root, where the flanks bend."""
    t = np.linspace(0.0, 1.0, LEVELS)
    return low + (high - low) * (0.1 * t + 0.45 * (1.0 - np.cos(math.pi * t)))


def _flank_end(levels: Array, right: Array, left: Array) -> int:
    """Index of the last level at which both flanks still run more along the radius than along the circle."""
    slope = np.maximum(-np.gradient(right, levels), np.gradient(left, levels)) * levels
    lying = np.flatnonzero((slope > 1.0) & (levels > 0.5 * (levels[0] + levels[-1])))
    return int(lying[0]) if len(lying) else len(levels) - 1


@dataclass(frozen=True)
class _Drawn:
    """Flanks by radius and root by angle, as they stand in :class:`ToothSpace`."""

    levels: Array
    right: Array
    left: Array
    root: Array
    root_radius: float
    pose_error: float


def _draw(
    tip: float, high: float, flanks: Callable[[Array], Bounds], root: Callable[[Array, float, int], Array]
) -> _Drawn:
    """Ask the flanks from the tip circle to where they turn into the root, and the root between them."""
    levels = _levels(tip, high)
    found = flanks(levels)
    end = _flank_end(levels, found.right_rad, found.left_rad) + 1
    levels, right, left = levels[:end], found.right_rad[:end], found.left_rad[:end]
    # The root's own angles lie closer together at its two ends, where it bends into the flanks.
    spread = 0.5 - 0.5 * np.cos(np.linspace(0, math.pi, ROOT_ANGLES + 2)[1:-1])
    angles = left[-1] + (right[-1] - left[-1]) * spread
    reach = root(angles, float(levels[-1]), found.stride)
    points = np.column_stack((reach * np.cos(angles), reach * np.sin(angles)))
    for array in (levels, right, left, points):
        array.setflags(write=False)
    return _Drawn(levels, right, left, points, float(reach.max()), found.pose_error_mm)


def swept_bounds(
    outline: ToothOutline, shapes: tuple[RingShape, ...], ring_teeth: int, growth_mm: float, levels: Array
) -> tuple[Array, Array]:
    """Right and left angle (rad) of the region swept by the grown tooth at given ascending radii, all sections together."""
    bounds = SweptRegion(outline, shapes, ring_teeth, growth_mm).flanks(levels)
    return bounds.right_rad, bounds.left_rad


def _deepest(region: SweptRegion, floor: float, wanted_land: float) -> float:
    """Smallest radius, not below ``floor``, from which outward the ring's tooth is at least ``wanted_land`` thick.

    Found between two levels, then once more between those two: the land can jump where neighbouring spaces meet.
    Where no radius keeps the wanted land the answer is the radius of the thickest land.
    """
    low, high = floor, region.highest_mm
    for first in (True, False):
        levels = np.linspace(low, high, 49)[:-1] if first else np.linspace(low, high, 17)
        bounds = region.flanks(levels)
        land = (region.pitch_rad - bounds.right_rad + bounds.left_rad) * levels
        good = land >= wanted_land
        if good.all():
            return float(levels[0])
        last_bad = int(np.flatnonzero(~good)[-1])
        if last_bad == len(levels) - 1:
            return float(levels[np.argmax(land)]) if first else high
        low, high = float(levels[last_bad]), float(levels[last_bad + 1])
    return high


def _reach(points: Array, poses: Poses) -> float:
    return highest_radius(points, poses.x_mm, poses.y_mm, poses.normal_rad)


def minor_tip_radius_mm(outline: ToothOutline, shapes: tuple[RingShape, ...]) -> float:
    """Largest radius that a flexible tooth tip has when it passes a minor axis, over all sections."""
    best = 0.0
    for shape in shapes:
        poses = one_lobe(shape)
        end = Poses(poses.x_mm[:1], poses.y_mm[:1], poses.normal_rad[:1], poses.label_rad[:1])
        best = max(best, _reach(outline.points_mm, end))
    return best


def _space(
    name: str, teeth: int, clearance: float, tip: float, drawn: _Drawn, limited: str, tip_top: float, minor: float
) -> ToothSpace:
    land = (2 * math.pi / teeth - drawn.right + drawn.left) * drawn.levels
    return ToothSpace(
        name=name,
        teeth=teeth,
        clearance_mm=clearance,
        radius_mm=drawn.levels,
        right_rad=drawn.right,
        left_rad=drawn.left,
        root_mm=drawn.root,
        tip_radius_mm=tip,
        root_radius_mm=drawn.root_radius,
        least_land_mm=float(land.min()),
        tip_limited_by=limited,
        engagement_mm=tip_top - tip,
        minor_gap_mm=tip - minor,
        pose_error_mm=drawn.pose_error,
    )


def tooth_space(
    name: str,
    ring_teeth: int,
    outline: ToothOutline,
    shapes: tuple[RingShape, ...],
    clearance_mm: float,
    rule: TipRule,
) -> ToothSpace:
    """Generate a ring's tooth space for one flexible tooth form.

    ``shapes`` holds the ring's shape at each axial section (one for an open ring, several for a cup): the space is the
    union over all. Assumes shapes with the lobes' symmetry, so that one lobe tells all. The tip circle is the deepest
    that keeps the wanted land; where that leaves less than half the tooth in mesh, half the tooth is put in mesh as long
    as the least land is kept.
    """
    region = SweptRegion(outline, shapes, ring_teeth, clearance_mm)
    land_top = max(float(np.hypot(shape.x_mm, shape.y_mm).max()) for shape in shapes) + outline.land_height_mm
    low = land_top + clearance_mm
    minor = minor_tip_radius_mm(outline, shapes)
    tip_top = max(_reach(outline.points_mm, one_lobe(shape)) for shape in shapes)
    floor, limited = low, "flexible_land"
    if ring_teeth != outline.teeth and minor + rule.minor_gap_mm > low:
        floor, limited = minor + rule.minor_gap_mm, "minor_axis"
    tip = _deepest(region, floor, rule.wanted_land_mm)
    half_mesh = tip_top - 0.5 * outline.height_mm
    if tip > half_mesh:
        # Half the tooth in mesh comes before a thick land, but never a land that cannot be made.
        tip = max(half_mesh, _deepest(region, floor, rule.least_land_mm))
    drawn = _draw(tip, region.highest_mm - 1e-6, region.flanks, region.root)
    return _space(name, ring_teeth, clearance_mm, tip, drawn, "land" if tip > floor else limited, tip_top, minor)


def given_space(
    name: str, ring_teeth: int, points_mm: Array, outline: ToothOutline, shapes: tuple[RingShape, ...]
) -> ToothSpace:
    """A tooth space that was measured or taken from a standard, as an outline (x along the space, y across, ring axis at 0).

    The points run from one tip corner over the root to the other. Clearance is not known and stated as 0.
    """
    polar = np.column_stack((np.hypot(*points_mm.T), np.arctan2(points_mm[:, 1], points_mm[:, 0])))
    tip = float(max(polar[0, 0], polar[-1, 0]))

    def along(grid: Array, axis: int) -> tuple[Array, Array]:
        most, least = np.full(len(grid), -10.0), np.full(len(grid), 10.0)
        lay(polar, axis, grid, most, least)
        return most, least

    high = float(polar[:, 0].max()) - 1e-6
    drawn = _draw(
        tip, high, lambda radii: Bounds(*along(radii, 0), 1, 0.0), lambda angles, _low, _stride: along(angles, 1)[0]
    )
    minor = minor_tip_radius_mm(outline, shapes)
    tip_top = max(_reach(outline.points_mm, one_lobe(shape)) for shape in shapes)
    return _space(name, ring_teeth, 0.0, tip, drawn, "given", tip_top, minor)
