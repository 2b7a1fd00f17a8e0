"""Meshing of every rigid ring: generate or take its tooth space, then check it as designed and off nominal."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from lobewright.assessment.results import EdgeMesh, RingMesh
from lobewright.design import model as m
from lobewright.mesh.clearance import COARSE_STRIDE, FINE_STRIDE, clear
from lobewright.mesh.drawn import check_space
from lobewright.mesh.free_play import free_play
from lobewright.mesh.space import TipRule, ToothSpace, given_space, swept_bounds, tooth_space
from lobewright.mesh.teeth import ToothOutline, tooth_outline
from lobewright.ring.generator import Section, Setting, borne_at_back, sections, setting_for, shape_on
from lobewright.ring.geometry import RingGeometry
from lobewright.ring.shape import RingShape


class Care(StrEnum):
    """How a mesh is checked: in full; at a quarter of the poses, and along a cup's face at its edges, where it is tightest;
    or not at all, so that there is no case of it."""

    FULL = "full"
    COARSE = "coarse"
    UNCHECKED = "unchecked"


@dataclass(frozen=True)
class Case:
    """One state in which the mesh is checked: shapes per axial section, oversize of the parts, shift off the axis."""

    name: str
    shapes: tuple[RingShape, ...]
    oversize_mm: float = 0.0
    shift_mm: float = 0.0


class Shapes:
    """Ring shapes by section, kept so that a shape that two rings share is solved once."""

    def __init__(self, design: m.Design, geometry: RingGeometry) -> None:
        self.design = design
        self.geometry = geometry
        self._settings: dict[float, Setting] = {}
        self._shapes: dict[tuple[float, float, float], RingShape] = {}

    def at(self, deflection_mm: float, longer_mm: float = 0.0, looser_mm: float = 0.0) -> RingShape:
        """Shape for a deflection, with a ring that is longer, on a generator whose outline is shorter, by so many mm."""
        key = (round(deflection_mm, 9), longer_mm, looser_mm)
        if key not in self._shapes:
            if key[0] not in self._settings:
                self._settings[key[0]] = setting_for(self.design, self.geometry, deflection_mm)
            setting = self._settings[key[0]].shrunk(looser_mm / (2 * np.pi))
            radius = self.geometry.neutral_radius_mm + longer_mm / (2 * np.pi)
            self._shapes[key] = shape_on(setting, radius)
        return self._shapes[key]

    def over(
        self, places: tuple[Section, ...], deflection_mm: float, longer_mm: float = 0.0, looser_mm: float = 0.0
    ) -> tuple[RingShape, ...]:
        """Shapes at all axial sections of a face."""
        return tuple(self.at(deflection_mm * place.share, longer_mm, looser_mm) for place in places)


def tip_rule(design: m.Design, clearance_mm: float) -> TipRule:
    """Land that the process can make, and the gap that tips keep at the minor axis."""
    process = design.process
    if isinstance(process, m.Printer):
        return TipRule(2 * process.extrusion_width_mm, process.extrusion_width_mm, clearance_mm)
    return TipRule(2 * process.smallest_land_mm, process.smallest_land_mm, clearance_mm)


def oversize_mm(design: m.Design) -> float:
    """How much too fat tooth and ring may be together: the process tolerance for every part that is made."""
    made = 1 if isinstance(design.flexible_ring, m.Belt) else 2
    return made * design.process.tolerance_mm


def cases(
    design: m.Design, shapes: Shapes, places: tuple[Section, ...], wanted_mm: float, screwed_mm: float
) -> Iterator[Case]:
    """The states in which a mesh is checked, the designed one first."""
    generator, ring = design.generator, design.flexible_ring
    yield Case("as designed", shapes.over(places, wanted_mm, 0.0, generator.fit_mm))
    if abs(screwed_mm - wanted_mm) > 1e-9:
        yield Case("as set", shapes.over(places, screwed_mm, 0.0, generator.fit_mm))
    step = generator.set_deflection_tolerance_mm
    if step > 0:
        yield Case("deflection high", shapes.over(places, screwed_mm + step, 0.0, generator.fit_mm))
        yield Case("deflection low", shapes.over(places, screwed_mm - step, 0.0, generator.fit_mm))
    longer = ring.length_tolerance_mm
    if longer > 0:
        word = "belt" if isinstance(ring, m.Belt) else "ring"
        yield Case(f"{word} long", shapes.over(places, screwed_mm, longer, generator.fit_mm))
        yield Case(f"{word} short", shapes.over(places, screwed_mm, -longer, generator.fit_mm))
    if len(places) > 1:
        yield Case("bears at back edge", shapes.over(borne_at_back(places), screwed_mm, 0.0, generator.fit_mm))
    spread = generator.fit_tolerance_mm
    if isinstance(generator, m.Cam) and spread > 0:
        yield Case("fit loosest", shapes.over(places, screwed_mm, 0.0, generator.fit_mm + spread))
        yield Case("fit tightest", shapes.over(places, screwed_mm, 0.0, generator.fit_mm - spread))
    set_shapes = shapes.over(places, screwed_mm, 0.0, generator.fit_mm)
    if generator.run_out_mm > 0:
        yield Case("generator off axis", set_shapes, shift_mm=generator.run_out_mm)
    if oversize_mm(design) > 0:
        yield Case("parts oversize", set_shapes, oversize_mm=oversize_mm(design))


def _space(design: m.Design, ring: m.RigidRing, outline: ToothOutline, shapes: tuple[RingShape, ...]) -> ToothSpace:
    if ring.outline_points:
        points = np.asarray(ring.outline_points)
        check_space(points, ring.teeth, f"rigid_ring[{design.rigid_ring.index(ring) + 1}].outline")
        return given_space(ring.name, ring.teeth, points, outline, shapes)
    rule = tip_rule(design, ring.clearance_mm)
    return tooth_space(ring.name, ring.teeth, outline, shapes, ring.clearance_mm, rule)


def ring_mesh(
    design: m.Design, ring: m.RigidRing, shapes: Shapes, wanted_mm: float, screwed_mm: float, care: Care = Care.FULL
) -> RingMesh:
    """Mesh of one rigid ring; deflections in mm: ``wanted_mm`` makes the teeth, ``screwed_mm`` is what is set."""
    outline = tooth_outline(design, ring.row)
    places = sections(design, ring)
    made_for = shapes.over(places, wanted_mm, 0.0, design.generator.fit_mm)
    space = _space(design, ring, outline, made_for)
    edges = tuple(
        EdgeMesh(
            place,
            shape.deflection_mm,
            float(np.hypot(shape.x_mm, shape.y_mm).max()) + outline.tip_height_mm - space.tip_radius_mm,
            space.tip_radius_mm - shape.radius_mm - shape.minor_deflection_mm - outline.tip_height_mm,
        )
        for place, shape in zip(places, made_for, strict=True)
    )
    coarse = care is Care.COARSE
    looked_at = places[:1] + places[1:][-1:] if coarse else places
    stride = COARSE_STRIDE if coarse else FINE_STRIDE
    met = () if care is Care.UNCHECKED else cases(design, shapes, looked_at, wanted_mm, screwed_mm)
    checked = tuple(
        clear(case.name, space, outline, case.shapes, case.oversize_mm, case.shift_mm, stride) for case in met
    )
    set_shapes = shapes.over(places, screwed_mm, 0.0, design.generator.fit_mm)
    right, left = swept_bounds(outline, set_shapes, ring.teeth, 0.0, space.radius_mm)
    return RingMesh(ring.name, outline.teeth, outline, space, edges, checked, free_play(space, right, left))
