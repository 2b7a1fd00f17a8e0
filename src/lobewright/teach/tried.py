"""A ring with another tooth difference, tried on: does it go over the flexible ring on its generator, whichever way it is turned?

The flexible ring, its teeth and the kind of generator stay those of the design. The deflection is the design's share of the
nominal one for this difference, the shape on the generator is solved for it, and the ring's spaces are what the teeth sweep at
the first lobe, grown by the design's clearance: as good a ring as there can be for that lobe. Then the ring is turned by a pitch,
and the outlines of ring and teeth are laid on each other at every lobe. Rigid outlines in one plane (a cup in the middle of its
face).
"""

from __future__ import annotations

import math
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
    def _tooth_mm(self) -> Array:
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
        """Outline of a tooth in place, with a strip of wall under it: (N, 2)."""
        x, y, normal = self.place(tooth)
        across, out = self._tooth_mm.T
        c, s = math.cos(normal), math.sin(normal)
        return np.column_stack((x + out * c - across * s, y + out * s + across * c))

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


def deflection_for(found: Assessment, difference: int) -> float:
    """Deflection [mm] for a tooth difference: the design's share of the nominal one, which grows with the difference."""
    own = max(mesh.space.teeth - mesh.flexible_teeth for mesh in found.rings)
    return found.design_deflection_mm * difference / own


def try_on(found: Assessment, ring: int, difference: int) -> Tried:
    """A ring with so many teeth more than the flexible row that the design's ring (its index) meshes with.

    Raises DesignFault or ConvergenceFault where there is no such shape.
    """
    design, mesh = found.design, found.rings[ring]
    shapes = Shapes(design, found.geometry)
    shape = shapes.at(deflection_for(found, difference), 0.0, design.generator.fit_mm)
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
        body = shapely.Polygon(points)
        corners = shapely.points(shapely.get_coordinates(ring))
        shapely.prepare([ring, body])
        edge = ring.exterior
        found = [*shapely.distance(inside[shapely.covers(ring, inside)], edge)]
        found += [*shapely.distance(corners[shapely.covers(body, corners)], line)]
        smallest = min(smallest, -max((float(depth) for depth in found), default=0.0))
    return smallest


def overlaps(tried: Tried, tooth: int, ring: shapely.Polygon, points: int) -> list[Array | None]:
    """Where a tooth lies inside the ring: its part on the anticlockwise side and that on the other, (points, 2) each or none."""
    x, y, normal = tried.place(tooth)
    both = shapely.intersection(shapely.Polygon(tried.tooth_at(tooth)).buffer(0), ring)
    parts = [part for part in shapely.get_parts(both) if part.geom_type == "Polygon" and part.area > 1e-6]
    sides: list[Array | None] = [None, None]
    for part in sorted(parts, key=lambda one: one.area):
        middle = part.centroid
        left = (middle.y - y) * math.cos(normal) - (middle.x - x) * math.sin(normal) > 0.0
        edge = shapely.normalize(part).exterior
        at = np.arange(points) / points
        sides[0 if left else 1] = np.asarray(shapely.get_coordinates(edge.interpolate(at, normalized=True)))
    return sides
