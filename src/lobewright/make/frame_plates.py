"""What plates of the frame share: outlines and holes that meet each other."""

from __future__ import annotations

import math
from dataclasses import replace

from lobewright.assessment.results import Assessment
from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.design.holding import bolt_circle_radius_mm
from lobewright.make import layout as lay
from lobewright.make.bodies import Feature, Loop, Part, exact
from lobewright.make.layout import Layout
from lobewright.make.order import Side, Step
from lobewright.make.outlines import bolt_circle, circle, polygon
from lobewright.make.placing import Member, Place, Placed

CAP_SCREWS = 4


def placed(part: Part, places: tuple[Place, ...], member: Member, step: Step, side: Side = Side.BY_PLACE) -> Placed:
    """A part as often as it has places."""
    return Placed(replace(part, quantity=len(places)), places, member, step, side)


def spots(loops: tuple[Loop, ...]) -> tuple[tuple[float, float], ...]:
    """Middles of round holes."""
    return tuple((float(x), float(y)) for x, y in (one.contour.points_mm.mean(axis=0) for one in loops))


def holes(radius_mm: float, size: str, count: int, first_rad: float) -> tuple[Loop, ...]:
    """Clearance holes on a circle, ISO 273 medium."""
    hole = catalogue.bolt(size).hole_medium_mm
    return tuple(exact(one, Feature.BOLT_HOLE) for one in bolt_circle(radius_mm, hole, count, first_rad))


def ring_holes(a: Assessment, ring: m.RigidRing) -> tuple[Loop, ...]:
    """Holes that meet those of a rigid ring."""
    mesh = next(made for one, made in zip(a.design.rigid_ring, a.rings, strict=True) if one.name == ring.name)
    radius = bolt_circle_radius_mm(ring, mesh.space.root_radius_mm)
    return holes(radius, ring.bolt, ring.bolts, math.pi / ring.bolts)


def cap_holes(bearing: catalogue.Bearing) -> tuple[Loop, ...]:
    return holes(lay.cap_circle_mm(bearing), lay.CAP_BOLT, CAP_SCREWS, math.pi / CAP_SCREWS)


def tie_holes(l: Layout) -> tuple[Loop, ...]:  # noqa: E741 - as all such functions
    half = catalogue.bolt(lay.TIE_SIZE).hole_medium_mm / 2
    return tuple(exact(circle(half, x, y), Feature.BOLT_HOLE) for x, y in l.ties_mm)


def square(half_mm: float, mast_mm: float = 0.0, mast_half_mm: float = 0.0) -> Loop:
    """Outline of a plate; a mast stands up from its upper edge to ``mast_mm``."""
    h, w = half_mm, mast_half_mm
    mast = [(w, h), (w, mast_mm), (-w, mast_mm), (-w, h)] if mast_mm > half_mm else []
    return exact(polygon([(-h, -h), (h, -h), (h, h), *mast, (-h, h)]))
