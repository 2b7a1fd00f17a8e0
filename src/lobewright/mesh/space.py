"""The tooth space of a rigid ring: swept region grown by the clearance, closed by the deepest tip circle that works."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from lobewright.mesh.poses import Poses, one_lobe
from lobewright.mesh.sweep import highest_radius, sweep
from lobewright.mesh.teeth import ToothOutline, grow
from lobewright.ring.shape import RingShape

Array = np.ndarray
LEVELS = 72


@dataclass(frozen=True)
class TipRule:
    """What the ring's tip radius must keep: land in mm at every height (wanted, and at the least), gap at the minor axis."""

    wanted_land_mm: float
    least_land_mm: float
    minor_gap_mm: float


@dataclass(frozen=True)
class ToothSpace:
    """One tooth space of a rigid ring around angle 0, in the ring's frame.

    ``radius_mm`` (K,) ascends from the tip circle to the root; ``right_rad`` and ``left_rad`` (K,) bound the
    space there; arrays read-only. ``land_mm`` (K,) is the thickness of the ring's tooth at each radius (negative where
    neighbouring spaces meet), ``least_land_mm`` the least of it. ``tip_limited_by`` names what set the tip circle:
    ``land``, ``flexible_land`` (the rim between teeth), ``minor_axis``, or ``given``. ``engagement_mm`` is how far a
    flexible tip reaches past the tip circle at the lobe, ``minor_gap_mm`` what is left between tips at the minor axis.
    """

    name: str
    teeth: int
    clearance_mm: float
    radius_mm: Array
    right_rad: Array
    left_rad: Array
    tip_radius_mm: float
    root_radius_mm: float
    least_land_mm: float
    tip_limited_by: str
    engagement_mm: float
    minor_gap_mm: float

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
        r = np.concatenate((self.radius_mm, self.radius_mm[::-1]))
        a = np.concatenate((self.left_rad, self.right_rad[::-1]))
        return np.column_stack((r * np.cos(a), r * np.sin(a)))


def _levels(low: float, high: float) -> Array:
    """Radii from low to high, crowded toward the root where the outline turns along the circle."""
    t = np.linspace(0.0, 1.0, LEVELS)
    blend = 0.35 * t + 0.65 * np.sin(0.5 * math.pi * t)
    crowd = 1.0 - (1.0 - t) ** 2
    mix = 0.5 * blend + 0.5 * crowd
    levels = low + (high - low) * mix / mix[-1]
    levels[-1] = high - 1e-9
    return levels


class _Bounds:
    """The region swept by a grown tooth over all axial sections, asked at any radii."""

    def __init__(self, outline: ToothOutline, shapes: tuple[RingShape, ...], ring_teeth: int, growth_mm: float) -> None:
        self.points = grow(outline, growth_mm)
        self.poses = tuple(one_lobe(shape) for shape in shapes)
        self.turned = tuple(poses.turned_rad(outline.teeth, ring_teeth) for poses in self.poses)
        self.pitch = 2 * math.pi / ring_teeth
        self.high = max(_reach(self.points, poses) for poses in self.poses)

    def at(self, levels: Array) -> tuple[Array, Array]:
        """Right and left angle at given ascending radii."""
        right = np.full(len(levels), -10.0)
        left = np.full(len(levels), 10.0)
        for poses, turned in zip(self.poses, self.turned, strict=True):
            most, least = sweep(self.points, poses.x_mm, poses.y_mm, poses.normal_rad, turned, self.pitch, levels)
            right, left = np.maximum(right, most), np.minimum(left, least)
        return right, left


def swept_bounds(
    outline: ToothOutline, shapes: tuple[RingShape, ...], ring_teeth: int, growth_mm: float, levels: Array
) -> tuple[Array, Array]:
    """Right and left angle (rad) of the region swept by the grown tooth at given ascending radii, all sections together."""
    return _Bounds(outline, shapes, ring_teeth, growth_mm).at(levels)


def _deepest(bounds: _Bounds, floor: float, wanted_land: float) -> float:
    """Smallest radius, not below ``floor``, from which outward the ring's tooth is at least ``wanted_land`` thick.

    Found between two levels, then once more between those two: the land can jump where neighbouring spaces meet.
    Where no radius keeps the wanted land the answer is the radius of the thickest land.
    """
    low, high = floor, bounds.high
    for _ in range(2):
        levels = np.linspace(low, high, 49)[:-1] if high == bounds.high else np.linspace(low, high, 17)
        right, left = bounds.at(levels)
        land = (bounds.pitch - right + left) * levels
        good = land >= wanted_land
        if good.all():
            return float(levels[0])
        last_bad = int(np.flatnonzero(~good)[-1])
        if last_bad == len(levels) - 1:
            return float(levels[np.argmax(land)]) if high == bounds.high else high
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
    bounds = _Bounds(outline, shapes, ring_teeth, clearance_mm)
    land_top = max(float(np.hypot(shape.x_mm, shape.y_mm).max()) for shape in shapes) + outline.land_height_mm
    low = land_top + clearance_mm
    minor = minor_tip_radius_mm(outline, shapes)
    tip_top = max(_reach(outline.points_mm, one_lobe(shape)) for shape in shapes)
    floor, limited = low, "flexible_land"
    if ring_teeth != outline.teeth and minor + rule.minor_gap_mm > low:
        floor, limited = minor + rule.minor_gap_mm, "minor_axis"
    tip = _deepest(bounds, floor, rule.wanted_land_mm)
    half_mesh = tip_top - 0.5 * outline.height_mm
    if tip > half_mesh:
        # Half the tooth in mesh comes before a thick land, but never a land that cannot be made.
        tip = max(half_mesh, _deepest(bounds, floor, rule.least_land_mm))
    levels = _levels(tip, bounds.high)
    right, left = bounds.at(levels)
    for array in (levels, right, left):
        array.setflags(write=False)
    land = float(((2 * math.pi / ring_teeth - right + left) * levels).min())
    return ToothSpace(
        name=name,
        teeth=ring_teeth,
        clearance_mm=clearance_mm,
        radius_mm=levels,
        right_rad=right,
        left_rad=left,
        tip_radius_mm=tip,
        root_radius_mm=bounds.high,
        least_land_mm=land,
        tip_limited_by="land" if tip > floor else limited,
        engagement_mm=tip_top - tip,
        minor_gap_mm=tip - minor,
    )


def given_space(
    name: str, ring_teeth: int, points_mm: Array, outline: ToothOutline, shapes: tuple[RingShape, ...]
) -> ToothSpace:
    """A tooth space that was measured or taken from a standard, as an outline (x along the space, y across, ring axis at 0).

    The points run from one tip corner over the root to the other. Clearance is not known and stated as 0.
    """
    radius = np.hypot(points_mm[:, 0], points_mm[:, 1])
    angle = np.arctan2(points_mm[:, 1], points_mm[:, 0])
    tip, root = float(min(radius[0], radius[-1])), float(radius.max())
    levels = _levels(tip, root)
    right = np.full(len(levels), -10.0)
    left = np.full(len(levels), 10.0)
    for j in range(len(radius) - 1):
        r0, r1, a0, a1 = radius[j], radius[j + 1], angle[j], angle[j + 1]
        if r0 > r1:
            r0, r1, a0, a1 = r1, r0, a1, a0
        inside = (levels >= r0) & (levels <= r1)
        a = a0 + (a1 - a0) * (levels[inside] - r0) / max(r1 - r0, 1e-12)
        right[inside] = np.maximum(right[inside], a)
        left[inside] = np.minimum(left[inside], a)
    minor = minor_tip_radius_mm(outline, shapes)
    tip_top = max(_reach(outline.points_mm, one_lobe(shape)) for shape in shapes)
    land = float(((2 * math.pi / ring_teeth - right + left) * levels).min())
    for array in (levels, right, left):
        array.setflags(write=False)
    return ToothSpace(name, ring_teeth, 0.0, levels, right, left, tip, root, land, "given", tip_top - tip, tip - minor)
