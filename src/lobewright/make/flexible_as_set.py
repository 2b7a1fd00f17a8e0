"""The flexible ring as it stands in the drive: bent by its generator, tooth by tooth, in flat levels.

The neutral line has its computed shape; every tooth stands on it as a rigid body and the land follows the line. In a cup the
departure from the circle fades in proportion to the distance from the closed end, as the check of the mesh takes it (see
:func:`lobewright.ring.generator.sections`); it is the stated one in the middle of the rigid ring's face. The toothed rim has
shapes solved for its deflection; along the barrel the shape of the rim is scaled, and corner, diaphragm and boss stay round.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

import numpy as np
import shapely

from lobewright import motion as kinematics
from lobewright.assessment.mesh import Shapes
from lobewright.assessment.results import Assessment
from lobewright.design import model as m
from lobewright.make.bodies import Body, Turned
from lobewright.make.levels import Level, placed_level
from lobewright.make.outlines import polygon
from lobewright.make.parts_flexible import cup_profile, row_outline
from lobewright.make.placing import Place
from lobewright.mesh.teeth import ToothOutline
from lobewright.ring.shape import RingShape

Array = np.ndarray
RIM_LEVELS, BARREL_LEVELS = 3, 6
LAND_PARTS = 4
"""Chords of the land between two teeth."""
THINNED_MM = 2e-4
"""How far a dropped point of the toothed outline may lie from the chord that replaces it."""
INNER_POINTS = 720
CORNER_CHORD_MM = 0.005
"""Bow of the chords that stand for a cup's corner."""


@dataclass(frozen=True)
class Bent:
    """A level of the bent ring. ``lean_mm``: how far it stands from where the stated deflection puts it (0: open rings)."""

    level: Level
    lean_mm: float = 0.0


def flexible_place(open_z_mm: float, over: bool) -> Place:
    """Where the flexible ring as made, its open edge at 0, stands."""
    return Place(z_mm=open_z_mm, over=over)


def _at(shape: RingShape, label_rad: Array, share: float = 1.0) -> tuple[Array, Array, Array]:
    """Place and normal of the neutral line at material labels, (N,) each; ``share`` scales the departure from the circle."""
    count = len(shape.arc_mm)
    step = 2 * math.pi / count
    own = np.arange(count) * step
    turned = np.mod(label_rad, 2 * math.pi)

    def wrapped(values: Array) -> Array:
        return np.interp(turned, np.append(own, 2 * math.pi), np.append(values, values[0]))

    c, s, radius = np.cos(label_rad), np.sin(label_rad), shape.radius_mm
    # The departures are smooth, so that chords between their samples lie far closer than chords of the line itself.
    x = radius * c + share * wrapped(shape.x_mm - radius * np.cos(own))
    y = radius * s + share * wrapped(shape.y_mm - radius * np.sin(own))
    return x, y, label_rad + share * wrapped(shape.normal_rad - own)


def _parallel(shape: RingShape, height_mm: float, share: float = 1.0) -> shapely.Polygon:
    """Area inside a curve parallel to the neutral line."""
    x, y, normal = _at(shape, np.arange(INNER_POINTS) * (2 * math.pi / INNER_POINTS), share)
    return shapely.Polygon(np.column_stack((x + height_mm * np.cos(normal), y + height_mm * np.sin(normal))))


def toothed(shape: RingShape, outline: ToothOutline, turn_rad: float) -> shapely.Polygon:
    """Area inside the toothed outside of a bent ring whose material is turned by ``turn_rad`` from the generator's axis."""
    points = outline.points_mm
    above = np.flatnonzero(points[:, 1] > outline.land_height_mm + 1e-5)
    tooth = points[max(above[0] - 1, 0) : min(above[-1] + 1, len(points) - 1) + 1]
    # Anticlockwise round the ring is the way of growing x on the outline.
    pitch = 2 * math.pi / outline.teeth
    label = turn_rad + pitch * np.arange(outline.teeth)
    x, y, normal = (one[:, None] for one in _at(shape, label))
    c, s = np.cos(normal), np.sin(normal)
    across, up = tooth[None, :, 0], tooth[None, :, 1]
    rows = np.stack((x + up * c - across * s, y + up * s + across * c), axis=-1)
    first, last = tooth[-1, 0] / shape.radius_mm, pitch + tooth[0, 0] / shape.radius_mm
    if (last - first) * shape.radius_mm > 0.05:
        inner = np.linspace(first, last, LAND_PARTS + 1)[1:-1]
        lx, ly, ln = _at(shape, (label[:, None] + inner[None, :]).ravel())
        height = outline.land_height_mm
        land = np.column_stack((lx + height * np.cos(ln), ly + height * np.sin(ln)))
        rows = np.concatenate((rows, land.reshape(outline.teeth, -1, 2)), axis=1)
    area = shapely.simplify(shapely.Polygon(rows.reshape(-1, 2)), THINNED_MM)
    return area if area.is_valid else shapely.make_valid(area)


class BentRing:
    """The bent ring of a drive; what does not change with the angle is computed once.

    Its own frame: open edge at z = 0, z toward the closed end or second row, x along a major axis. ``rim_levels`` and
    ``barrel_levels``: of a cup, of even height.
    """

    def __init__(self, a: Assessment, rim_levels: int = RIM_LEVELS, barrel_levels: int = BARREL_LEVELS) -> None:
        self.a, self._rim_levels, self._barrel_levels = a, rim_levels, barrel_levels
        self._cup = a.design.flexible_ring if isinstance(a.design.flexible_ring, m.Cup) else None
        self._shapes = Shapes(a.design, a.geometry)
        self._inner = -a.geometry.inner_offset_mm

    def _share(self, from_edge_mm: float) -> float:
        cup, ring = self._cup, self.a.design.rigid_ring[0]
        assert cup is not None
        return (cup.length_mm - from_edge_mm) / (cup.length_mm - ring.offset_mm - ring.width_mm / 2)

    def _lean_mm(self, shape: RingShape) -> float:
        """How far the ring's shape stands from the one that is set, where it is farthest."""
        wanted = self.a.set_shape
        return float(np.hypot(shape.x_mm - wanted.x_mm, shape.y_mm - wanted.y_mm).max())

    def _rows(self) -> list[tuple[float, float, float, ToothOutline]]:
        """Bottom, top, share of the deflection and outline of every toothed level."""
        ring = self.a.design.flexible_ring
        first = row_outline(self.a, 1)
        if self._cup:
            edges = np.linspace(0.0, ring.width_mm, self._rim_levels + 1).tolist()
            return [(b, t, self._share((b + t) / 2), first) for b, t in itertools.pairwise(edges)]
        rows = [(0.0, ring.width_mm, 1.0, first)]
        second = getattr(ring, "second_row", None)
        if second:
            rows.append((ring.width_mm, ring.width_mm + second.width_mm, 1.0, row_outline(self.a, 2)))
        return rows

    def at(self, generator_rad: float, flexible_rad: float) -> tuple[Bent, ...]:
        """Levels at a turn of generator and flexible ring, in the drive's own frame (not turned over)."""
        found = []
        fit, set_mm = self.a.design.generator.fit_mm, self.a.set_deflection_mm
        for bottom, top, share, outline in self._rows():
            shape = self._shapes.at(set_mm * share, 0.0, fit)
            inside = _parallel(shape, self._inner)
            area = shapely.difference(toothed(shape, outline, flexible_rad - generator_rad), inside)
            found.append(Bent(Level(bottom, top, _turned(area, generator_rad)), self._lean_mm(shape)))
        return (*found, *(self._barrel(generator_rad) if self._cup else ()))

    def _barrel(self, generator_rad: float) -> list[Bent]:
        cup, found = self._cup, []
        assert cup is not None
        outside = cup.corner_radius_mm + min(cup.barrel_wall_mm, cup.diaphragm_mm)
        end = cup.length_mm - outside
        edges = np.linspace(cup.width_mm, end, self._barrel_levels + 1).tolist()
        x, y, radius = self.a.set_shape.x_mm, self.a.set_shape.y_mm, self.a.set_shape.radius_mm
        label = self.a.set_shape.arc_mm / radius
        for bottom, top in itertools.pairwise(edges):
            share = self._share((bottom + top) / 2)
            hull = _parallel(self.a.set_shape, self._inner + cup.barrel_wall_mm, share)
            area = shapely.difference(hull, _parallel(self.a.set_shape, self._inner, share))
            lean = abs(1 - share) * float(np.hypot(x - radius * np.cos(label), y - radius * np.sin(label)).max())
            found.append(Bent(Level(bottom, top, _turned(area, generator_rad)), lean))
        return found

    def closed_end(self, body: Body) -> Body | None:
        """Corner, diaphragm and boss of a cup as made, in its own frame; None for open rings."""
        if not self._cup:
            return None
        outside = self._cup.corner_radius_mm + min(self._cup.barrel_wall_mm, self._cup.diaphragm_mm)
        flat = cup_profile(self._cup, self.a.geometry.inner_radius_mm).polygon(CORNER_CHORD_MM)
        start, reach = self._cup.length_mm - outside, self.a.geometry.neutral_radius_mm + self._cup.barrel_wall_mm
        end = shapely.intersection(flat, shapely.box(0.0, start, 2 * reach, self._cup.length_mm))
        return Body((Turned(polygon(shapely.get_coordinates(end)[:-1]).anticlockwise()),), body.pockets)


def _turned(area: shapely.Geometry, angle_rad: float) -> shapely.Geometry:
    return placed_level(Level(0.0, 1.0, area), Place(turn_rad=angle_rad)).area


def turns(a: Assessment, generator_rad: float) -> dict[str, float]:
    """Turn in rad of every member, by name, for a turn of the generator against the held member."""
    shares = a.motion.turns_in_generator_turn
    return {name: float(share) * generator_rad for name, share in shares.items()}


def flexible_levels(bent: BentRing, place: Place, generator_rad: float) -> tuple[Bent, ...]:
    """Levels of the bent part of the ring where it stands. Turned over, it is seen from behind and turns the other way."""
    way = -1.0 if place.over else 1.0
    angle = turns(bent.a, way * generator_rad)
    own = bent.at(angle[kinematics.GENERATOR], angle[kinematics.FLEXIBLE])
    return tuple(Bent(placed_level(one.level, place), one.lean_mm) for one in own)
