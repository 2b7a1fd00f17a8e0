"""Is the solid what was generated? Level cuts of a solid against the points that its arcs stand for.

The CAD kernel's solids are made of fitted arcs. Here a solid is cut in the middle of every level and its section is held against
the generated outline itself, tooth space by tooth space, both ways: samples of every section edge against the outline, and
every outline point against the section.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import shapely

from lobewright.assessment.results import Assessment
from lobewright.design import model as m
from lobewright.errors import ConvergenceFault, Fault
from lobewright.make.bodies import Body, Loop, Part, Slab, Turned
from lobewright.make.levels import Level, levels
from lobewright.make.outlines import Chain, polygon, sample, turn
from lobewright.make.parts_generator import cam_curve_mm
from lobewright.make.solids import kernel
from lobewright.make.toothing import space_pitch, tooth_pitch
from lobewright.mesh.teeth import ToothOutline, tooth_outline

Array = np.ndarray
LIMIT_MM = 0.005
SAMPLE_MM = 0.05
"""Spacing of samples on the section's edges, and of points on the outline."""
SLIVER_MM = 1e-4
FAR_MM = 1.0
"""A section farther from the outline is told as this far."""


def _round(pitch: tuple[Array, Chain], count: int) -> Array:
    """A pitch, points and land, laid round the axis."""
    points, land = pitch
    one = np.vstack((points[:-1], sample(land)[:-1]))
    return np.vstack([turn(one, 2 * np.pi * k / count) for k in range(count)])


def _row(a: Assessment, row: int) -> Array:
    known = [mesh.outline for ring, mesh in zip(a.design.rigid_ring, a.rings, strict=True) if ring.row == row]
    outline: ToothOutline = known[0] if known else tooth_outline(a.design, row)
    return _round(tooth_pitch(outline, a.geometry.neutral_radius_mm), outline.teeth)


def generated_outlines(a: Assessment, part: Part) -> tuple[Array, ...]:
    """The generated outlines behind a part's fitted loops, (N, 2) points each, in the order of the loops; () without any."""
    if part.name.startswith("ring_"):
        spaces = [mesh.space for mesh in a.rings if f"ring_{mesh.name}" == part.name]
        return tuple(_round(space_pitch(space), space.teeth) for space in spaces)
    if part.name in ("flexible_ring", "flexible_cup", "belt"):
        second = getattr(a.design.flexible_ring, "second_row", None)
        return tuple(_row(a, row) for row in ((1, 2) if second else (1,)))
    generator = a.design.generator
    if part.name == "cam" and isinstance(generator, m.Cam):
        setting = a.setting.shrunk(generator.fit_mm / (2 * np.pi))
        half = cam_curve_mm(setting, a.geometry.inner_offset_mm + generator.race_height_mm)
        pair = np.vstack((half[::-1] * (1.0, -1.0), half[1:]))[:-1]
        return (np.vstack([turn(pair, 2 * np.pi * k / setting.lobes) for k in range(setting.lobes)]),)
    return ()


def as_generated(part: Part, outlines: Sequence[Array]) -> Body:
    """The part's body with its fitted loops replaced by the generated outlines, in their order.

    Raises ConvergenceFault where there is not one outline for each fitted loop.
    """
    waiting = list(outlines)

    def generated(loop: Loop) -> Loop:
        if not loop.error_mm:
            return loop
        if not waiting:
            what = f"no generated outline is known for a fitted outline of {part.name}"
            raise ConvergenceFault(
                [Fault(what, value=f"{len(outlines)} outlines", allowed="one for each fitted outline")]
            )
        return replace(loop, contour=polygon(waiting.pop(0)).anticlockwise())

    pieces: list[Slab | Turned] = []
    for piece in part.body.pieces:
        if isinstance(piece, Slab):
            holes = tuple(generated(hole) for hole in piece.holes)
            pieces.append(replace(piece, outer=generated(piece.outer), holes=holes))
        else:
            pieces.append(piece)
    return replace(part.body, pieces=tuple(pieces))


def _section(solid: Any, height_mm: float) -> list[Array]:
    """Points along every edge of the solid's level cut, (N, 2) each."""
    from OCP.BRepAdaptor import BRepAdaptor_Curve
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Section
    from OCP.GCPnts import GCPnts_AbscissaPoint, GCPnts_QuasiUniformAbscissa
    from OCP.gp import gp_Dir, gp_Pln, gp_Pnt

    cut = BRepAlgoAPI_Section(solid.wrapped, gp_Pln(gp_Pnt(0, 0, height_mm), gp_Dir(0, 0, 1)), False)
    cut.Approximation(False)
    cut.Build()
    lines = []
    for edge in kernel().Shape.cast(cut.Shape()).edges():
        curve = BRepAdaptor_Curve(edge.wrapped)
        count = max(5, int(GCPnts_AbscissaPoint.Length_s(curve) / SAMPLE_MM) + 2)
        spots = GCPnts_QuasiUniformAbscissa(curve, count)
        found = [curve.Value(spots.Parameter(k)) for k in range(1, spots.NbPoints() + 1)]
        lines.append(np.array([(p.X(), p.Y()) for p in found]))
    return lines


def _farthest_mm(points: Array, lines: Sequence[Array]) -> float:
    """Largest distance of points from the nearest piece of polylines, ``FAR_MM`` at the most."""
    pieces = np.vstack([np.stack((line[:-1], line[1:]), axis=1) for line in lines])
    tree = shapely.STRtree(shapely.linestrings(pieces))
    near, apart = tree.query_nearest(
        shapely.points(points), max_distance=FAR_MM, return_distance=True, all_matches=False
    )
    return FAR_MM if len(np.unique(near[0])) < len(points) else float(apart.max(initial=0.0))


def _borders(area: shapely.Geometry) -> list[Array]:
    # Where a pocket leaves a hole's rim as it was, the difference can keep a sliver of no width: no part of the outline.
    parts = [part for part in shapely.get_parts(area) if not shapely.buffer(part, -SLIVER_MM).is_empty]
    rings = [
        ring for part in parts for ring in (part.exterior, *part.interiors) if shapely.Polygon(ring).area > SLIVER_MM
    ]
    return [shapely.get_coordinates(shapely.segmentize(ring, SAMPLE_MM)) for ring in rings]


def _checked_levels(part: Part, outlines: Sequence[Array]) -> list[Level]:
    """Levels that slabs give: turned profiles are not fitted, and level drill holes bound a level by more than outlines."""
    slabs = [piece for piece in part.body.pieces if isinstance(piece, Slab)]
    drilled = [(drill.start_mm[2], drill.diameter_mm / 2) for drill in part.body.drills]
    found = []
    for level in levels(as_generated(part, outlines)):
        middle = (level.bottom_mm + level.top_mm) / 2
        in_slab = any(slab.bottom_mm < middle < slab.top_mm for slab in slabs)
        if in_slab and all(abs(middle - z) > radius for z, radius in drilled):
            found.append(level)
    return found


def section_error_mm(solid: Any, part: Part, outlines: Sequence[Array] = ()) -> float:
    """Largest distance in mm between a nominal solid's level cuts and the generated outlines, both ways, over all its slabs.

    ``outlines``: see :func:`generated_outlines`; outlines that were not fitted are taken as they are. Raises ConvergenceFault
    where a fitted outline has no generated one. PlatformFault without the CAD library.
    """
    worst = 0.0
    for level in _checked_levels(part, outlines):
        cut = _section(solid, (level.bottom_mm + level.top_mm) / 2)
        borders = _borders(level.area)
        if not cut:
            return FAR_MM
        worst = max(worst, _farthest_mm(np.vstack(cut), borders), _farthest_mm(np.vstack(borders), cut))
    return worst


def require_section(solid: Any, part: Part, outlines: Sequence[Array] = ()) -> float:
    """The error of :func:`section_error_mm` in mm. Raises ConvergenceFault above 0.005 mm."""
    error = section_error_mm(solid, part, outlines)
    if error > LIMIT_MM:
        what = f"the solid of {part.name} does not follow its generated outline"
        raise ConvergenceFault([Fault(what, value=f"{error:.4f} mm", allowed=f"at most {LIMIT_MM:g} mm")])
    return error
