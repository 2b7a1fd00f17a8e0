"""A ring with another tooth difference, tried on: does it go over the flexible ring on its generator, whichever way it is turned?

The flexible ring, its teeth and the kind of generator stay those of the design. The deflection is the design's share of the
nominal one for this difference, the shape on the generator is solved for it, and the ring's spaces are what the teeth sweep at
the first lobe, grown by the design's clearance: as good a ring as there can be for that lobe. Then the ring is turned by a pitch,
and the outlines of ring and teeth are laid on each other at every lobe. Rigid outlines in one plane (a cup in the middle of its
face).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray

from lobewright.assessment.mesh import Shapes, tip_rule
from lobewright.assessment.results import Assessment
from lobewright.mesh.space import ToothSpace, tooth_space
from lobewright.mesh.teeth import ToothOutline
from lobewright.ring.shape import RingShape
from lobewright.teach import drawn

Array = NDArray[np.float64]
FAR_MM = 0.3
"""Distance of teeth beyond which it is not told."""
SLACK_MM = 2e-4
"""How far a dropped point of an outline may lie from what is laid on each other."""
APART = 0.05
"""Greatest distance of an outline's points, over the tooth's height."""
TOUCH_MM = 1e-3
"""Overlaps no deeper than that are touch: outlines are laid on each other at points."""
LEAST_MM2 = 1e-4
"""Overlaps smaller than that cannot be seen."""
ON_MM = 1e-6
"""How near a point lies to a line that it is on."""
SHARP_RAD = 0.5
"""Corners that turn by more than that are points of a drawn overlap."""
WALL = 0.25
"""Depth of the wall that is taken with a tooth, over the tooth's height."""
TURNS = 25
"""Turns of the ring over one pitch, both ends in, at which it is laid on the teeth."""


@dataclass(frozen=True)
class Tried:
    """One difference tried. ``gap_mm`` (TURNS, lobes): smallest distance of teeth at each lobe, or less than 0 by the depth of
    the deepest overlap there."""

    difference: int
    outline: ToothOutline
    shape: RingShape
    space: ToothSpace
    gap_mm: Array

    @cached_property
    def _space_mm(self) -> Array:
        return self._even(self.space.outline_mm())

    @cached_property
    def tooth_mm(self) -> Array:
        """Outline (N, 2) of a tooth in its own frame, (across, outward)."""
        return self._even(self.outline.points_mm)

    def _even(self, points: Array) -> Array:
        """A line without needless points, and with none farther apart than a share of the tooth: depths are asked at points."""
        line = shapely.LineString(drawn.thin(points, SLACK_MM))
        return np.asarray(shapely.get_coordinates(shapely.segmentize(line, APART * self.outline.height_mm)))

    @property
    def worst_mm(self) -> Array:
        """Smallest gap over all lobes at every turn of the ring."""
        return self.gap_mm.min(axis=1)

    @property
    def best(self) -> int:
        """The turn at which the ring fits best."""
        return int(np.argmax(np.round(self.worst_mm, 4)))

    @property
    def best_between(self) -> bool:
        """Whether one place is better than the first: with two lobes, half way from where the one fits to where the other does.
        With more lobes it is about as bad everywhere."""
        return self.shape.lobes == 2 and self.best > 0

    @property
    def fits(self) -> bool:
        """Whether there is a turn at which nothing overlaps; teeth may touch."""
        return bool(self.worst_mm.max() >= -TOUCH_MM)

    @property
    def touches(self) -> bool:
        """Whether teeth have no room in their spaces at the first place."""
        return bool(abs(self.worst_mm[0]) <= TOUCH_MM)

    def turn_rad(self, number: int) -> float:
        return self.space.pitch_rad * number / (TURNS - 1)

    def place(self, tooth: int) -> tuple[float, float, float]:
        """Foot of a tooth on the neutral line and its outward direction, the generator's first lobe along x: x mm, y mm, rad."""
        return self.place_between(float(tooth))

    def place_between(self, tooth: float) -> tuple[float, float, float]:
        """The same of a place between two teeth."""
        shape = self.shape
        at = np.mod(tooth, self.outline.teeth) * len(shape.arc_mm) / self.outline.teeth
        low = int(at)
        share, high = at - low, (low + 1) % len(shape.arc_mm)
        lap = 2.0 * math.pi if high == 0 else 0.0
        mixed = [
            (1.0 - share) * float(row[low]) + share * (float(row[high]) + more)
            for row, more in ((shape.x_mm, 0.0), (shape.y_mm, 0.0), (shape.normal_rad, lap))
        ]
        return mixed[0], mixed[1], mixed[2]

    def tooth_at(self, tooth: int) -> Array:
        """Outline of a tooth in place, from mid-land to mid-land: (N, 2)."""
        return self._placed(tooth, self.tooth_mm)

    def body_at(self, tooth: int) -> shapely.Polygon:
        """A tooth in place with a strip of wall under it: closed along its own lands an outline would run back on itself."""
        edge = self.tooth_mm
        deep = float(edge[:, 1].min()) - WALL * self.outline.height_mm
        return shapely.Polygon(self._placed(tooth, np.vstack((edge, (edge[-1, 0], deep), (edge[0, 0], deep)))))

    def _placed(self, tooth: int, points: Array) -> Array:
        x, y, normal = self.place(tooth)
        across, out = points.T
        c, s = math.cos(normal), math.sin(normal)
        return np.column_stack((x + out * c - across * s, y + out * s + across * c))

    def ring_tooth(self, number: int, turn_rad: float) -> shapely.Polygon:
        """A tooth of the ring from the middle of a space to that of the next, with some of the rim."""
        middle = int(np.argmax(np.hypot(*self._space_mm.T)))
        pitch, far = self.space.pitch_rad, 1.1
        run = self._space_mm
        edge = np.vstack((run[middle:], drawn.turned(run[: middle + 1], pitch)))
        body = np.vstack((edge, far * edge[-1], far * edge[0]))
        return shapely.Polygon(drawn.turned(body, number * pitch + turn_rad))

    def ring_teeth(self, near_rad: float, turn_rad: float, reach: int) -> shapely.Polygon:
        """The ring's material near an angle with the ring turned: ``reach`` spaces to either side, as one polygon."""
        pitch, space = self.space.pitch_rad, self._space_mm
        middle = round((near_rad - turn_rad) / pitch)
        edge = []
        for number in range(middle - reach, middle + reach + 1):
            angle = number * pitch + turn_rad
            c, s = math.cos(angle), math.sin(angle)
            edge.append(space @ np.array([[c, s], [-s, c]]))
        inner = np.vstack(edge)
        far = 1.1 * self.space.root_radius_mm
        ends = [(middle + side * (reach + 0.5)) * pitch + turn_rad for side in (1, -1)]
        arc = np.linspace(ends[0], ends[1], 4 * reach + 2)
        inner_ends = [self.space.tip_radius_mm * np.array([[math.cos(a), math.sin(a)]]) for a in ends]
        outer = far * np.column_stack((np.cos(arc), np.sin(arc)))
        return shapely.Polygon(np.vstack((inner_ends[1], inner, inner_ends[0], outer)))


def deflection_for(found: Assessment, ring: int, difference: int) -> float:
    """Deflection [mm] for a tooth difference: the design's share of the nominal one, which grows with the difference. For the
    difference that the ring has it is the design's own, also where that was chosen for another ring with more teeth."""
    own = [mesh.space.teeth - mesh.flexible_teeth for mesh in found.rings]
    return found.design_deflection_mm * (1.0 if difference == own[ring] else difference / max(own))


def try_on(found: Assessment, ring: int, difference: int) -> Tried:
    """A ring with so many teeth more than the flexible row that the design's ring (its index) meshes with.

    Raises DesignFault or ConvergenceFault where there is no such shape.
    """
    design, mesh = found.design, found.rings[ring]
    shapes = Shapes(design, found.geometry)
    shape = shapes.at(deflection_for(found, ring, difference), 0.0, design.generator.fit_mm)
    clearance = design.rigid_ring[ring].clearance_mm
    teeth = mesh.flexible_teeth + difference
    space = tooth_space(mesh.name, teeth, mesh.outline, (shape,), clearance, tip_rule(design, clearance))
    bare = Tried(difference, mesh.outline, shape, space, np.zeros((TURNS, shape.lobes)))
    gaps = [[_gap(bare, lobe, bare.turn_rad(number)) for lobe in range(shape.lobes)] for number in range(TURNS)]
    return Tried(difference, mesh.outline, shape, space, np.array(gaps))


def teeth_near(tried: Tried, lobe: int, share: float = 0.5) -> range:
    """Teeth about a lobe, to either side by a share of the way to the next."""
    middle = tried.outline.teeth * lobe / tried.shape.lobes
    reach = share * tried.outline.teeth / tried.shape.lobes
    return range(math.ceil(middle - reach), math.floor(middle + reach) + 1)


def _gap(tried: Tried, lobe: int, turn_rad: float) -> float:
    """Smallest distance of teeth near a lobe, or minus the depth of the deepest overlap; no more than ``FAR_MM`` told."""
    smallest = FAR_MM
    for tooth in teeth_near(tried, lobe, 0.45):
        points = tried.tooth_at(tooth)
        if np.hypot(*points.T).max() < tried.space.tip_radius_mm - FAR_MM:
            continue
        x, y, _ = tried.place(tooth)
        ring = tried.ring_teeth(math.atan2(y, x), turn_rad, 1)
        line = shapely.LineString(points)
        if not ring.intersects(line):
            smallest = min(smallest, float(shapely.distance(ring, line)))
            continue
        inside = shapely.points(points)
        body = tried.body_at(tooth)
        corners = shapely.points(shapely.get_coordinates(ring))
        shapely.prepare([ring, body])
        edge = ring.exterior
        found = [*shapely.distance(inside[shapely.covers(ring, inside)], edge)]
        found += [*shapely.distance(corners[shapely.covers(body, corners)], line)]
        smallest = min(smallest, -max((float(depth) for depth in found), default=0.0))
    return smallest


def overlap(tried: Tried, tooth: int, number: int, turn_rad: float) -> shapely.Geometry:
    """Where a tooth and its wall lie inside a tooth of the ring, in the first one's frame (outward, anticlockwise), mm."""
    x, y, normal = tried.place(tooth)
    both = shapely.intersection(tried.body_at(tooth), tried.ring_tooth(number, turn_rad))
    c, s = math.cos(normal), math.sin(normal)
    return shapely.transform(both, lambda at: (at - (x, y)) @ np.array(((c, -s), (s, c))))


def overlaps(tried: Tried, tooth: int, turns_rad: Sequence[float], points: int) -> list[list[Array | None]]:
    """Overlaps (see :func:`overlap`) of a tooth with each tooth of the ring that meets it while the ring is turned: at every turn
    an outline (points, 2), or none. Half of the points run along the tooth's edge, half along the ring's, so that an outline goes
    steadily from turn to turn."""
    x, y, _ = tried.place(tooth)
    pitch, angle = tried.space.pitch_rad, math.atan2(y, x)
    low, high = ((angle - turn) / pitch for turn in (max(turns_rad), min(turns_rad)))
    found = []
    for number in range(math.floor(low) - 1, math.ceil(high) + 1):
        rows: list[Array | None] = []
        for turn in turns_rad:
            parts = shapely.get_parts(overlap(tried, tooth, number, turn))
            largest = max((one for one in parts if one.geom_type == "Polygon"), key=lambda one: one.area, default=None)
            rows.append(None if largest is None or largest.area < LEAST_MM2 else _drawn(tried, largest, points))
        if any(row is not None for row in rows):
            found.append(rows)
    return found


def _drawn(tried: Tried, part: shapely.Polygon, points: int) -> Array:
    """The edge of an overlap (points, 2), from where its way along the tooth begins."""
    corners = np.asarray(shapely.get_coordinates(part.exterior))[:-1]
    corners = corners if part.exterior.is_ccw else corners[::-1]
    middles = shapely.points(0.5 * (corners + np.roll(corners, -1, axis=0)))
    edge = shapely.LineString(tried.tooth_mm[:, ::-1])
    own = np.asarray(shapely.distance(middles, edge)) < ON_MM
    begins = np.flatnonzero(own & ~np.roll(own, 1))
    first = max(begins, key=lambda at: _run(own, int(at)), default=0)
    length = _run(own, int(first)) if len(begins) else len(corners) // 2
    closed = np.vstack((np.roll(corners, -int(first), axis=0), corners[first]))
    half = points // 2
    return np.vstack((_even(closed[: length + 1], half), _even(closed[length:], points - half)))


def _run(flags: NDArray[np.bool_], first: int) -> int:
    """How many flags are set one after the other from a place on, going round."""
    rolled = np.roll(flags, -first)
    return len(rolled) if rolled.all() else int(np.argmin(rolled))


def _even(line: Array, points: int) -> Array:
    """So many points of a line, its first and not its last, evenly along it but for the sharp corners, which are kept."""
    steps = np.diff(line, axis=0)
    gone = np.concatenate(([0.0], np.cumsum(np.hypot(*steps.T))))
    at = np.arange(points) * gone[-1] / points
    turn = np.abs(np.angle(np.exp(1j * np.diff(np.arctan2(steps[:, 1], steps[:, 0])))))
    for corner in 1 + np.flatnonzero(turn > SHARP_RAD):
        near = int(np.argmin(np.abs(at - gone[corner])))
        at[max(near, 1)] = gone[corner]
    at.sort()
    return np.column_stack([np.interp(at, gone, line[:, axis]) for axis in (0, 1)])
