"""Bodies made into solids by the CAD kernel, and solids into closed triangle meshes."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from lobewright.errors import ConvergenceFault, Fault, lacking
from lobewright.make.bodies import Body, Drill, Slab, Turned
from lobewright.make.outlines import Contour

Array = np.ndarray
CHORD_ERROR_MM = 0.003
"""How far a mesh's chords may lie from the arcs: a hundredth of a printed bead."""
CHORD_TURN_RAD = 0.5
MERGED_DIGITS = 6
"""Decimals of a millimetre to which corners of neighbouring faces agree."""


@dataclass(frozen=True)
class Mesh:
    """Triangles of a closed surface: ``corners_mm`` (N, 3), ``triangles`` (M, 3) with outward right-hand order."""

    corners_mm: Array
    triangles: Array

    @property
    def volume_mm3(self) -> float:
        """Sum of the signed tetrahedra over all triangles."""
        a, b, c = (self.corners_mm[self.triangles[:, k]] for k in range(3))
        return float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6)

    @property
    def size_mm(self) -> tuple[float, float, float]:
        x, y, z = np.ptp(self.corners_mm, axis=0)
        return float(x), float(y), float(z)

    @property
    def open_edges(self) -> int:
        """Edges that are not shared by exactly two triangles with opposite sense; 0 for a watertight mesh."""
        t = self.triangles.astype(np.int64)
        edges = np.vstack((t[:, [0, 1]], t[:, [1, 2]], t[:, [2, 0]]))
        code = edges[:, 0] * len(self.corners_mm) + edges[:, 1]
        back = edges[:, 1] * len(self.corners_mm) + edges[:, 0]
        once = len(code) - len(np.unique(code))
        return once + int(np.count_nonzero(~np.isin(code, back)))


def kernel() -> Any:
    """The CAD library. Raises PlatformFault when it is not installed."""
    try:
        import build123d
    except ImportError as error:
        raise lacking("parts need the CAD library build123d", error) from None
    return build123d


def mesh_library() -> Any:
    """The library that joins closed meshes. Raises PlatformFault when it is not installed."""
    try:
        import manifold3d
    except ImportError as error:
        raise lacking("print files and pictures need the library manifold3d", error) from None
    return manifold3d


def _wire(contour: Contour, height_mm: float, upright: bool = False) -> Any:
    """A closed wire at a height; ``upright`` lays the outline's y along the axis instead."""
    from OCP.BRep import BRep_Builder
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge, BRepBuilderAPI_MakeVertex
    from OCP.GC import GC_MakeArcOfCircle
    from OCP.gp import gp_Ax2, gp_Circ, gp_Dir, gp_Pnt
    from OCP.TopoDS import TopoDS_Wire

    def place(p: Array) -> Any:
        x, y = float(p[0]), float(p[1])
        return gp_Pnt(x, 0.0, y) if upright else gp_Pnt(x, y, height_mm)

    builder, wire = BRep_Builder(), TopoDS_Wire()
    builder.MakeWire(wire)
    points, bulges = contour.points_mm, contour.bulges
    if contour.is_circle:
        middle = points.mean(axis=0)
        axis = gp_Dir(0, 0, 1.0 if bulges[0] > 0 else -1.0)
        round_edge = gp_Circ(gp_Ax2(place(middle), axis), float(np.hypot(*(points[0] - middle))))
        builder.Add(wire, BRepBuilderAPI_MakeEdge(round_edge).Edge())
    else:
        corners = [BRepBuilderAPI_MakeVertex(place(p)).Vertex() for p in points]
        for k, bulge in enumerate(bulges):
            j = (k + 1) % len(points)
            if bulge == 0.0:
                edge = BRepBuilderAPI_MakeEdge(corners[k], corners[j])
            else:
                half = (points[j] - points[k]) / 2
                top = (points[j] + points[k]) / 2 + bulge * np.array([half[1], -half[0]])
                arc = GC_MakeArcOfCircle(place(points[k]), place(top), place(points[j])).Value()
                edge = BRepBuilderAPI_MakeEdge(arc, corners[k], corners[j])
            builder.Add(wire, edge.Edge())
    wire.Closed(True)
    return wire


def _slab(slab: Slab) -> Any:
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace
    from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism
    from OCP.gp import gp_Vec

    face = BRepBuilderAPI_MakeFace(_wire(slab.outer.contour.anticlockwise(), slab.bottom_mm), True)
    for hole in slab.holes:
        face.Add(_wire(hole.contour.anticlockwise().reversed(), slab.bottom_mm))
    height = gp_Vec(0, 0, slab.top_mm - slab.bottom_mm)
    return kernel().Solid(BRepPrimAPI_MakePrism(face.Face(), height).Shape())


def _turned(turned: Turned) -> Any:
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeRevol
    from OCP.gp import gp_Ax1, gp_Dir, gp_Pnt

    face = BRepBuilderAPI_MakeFace(_wire(turned.profile.anticlockwise(), 0.0, upright=True), True).Face()
    axis = gp_Ax1(gp_Pnt(0, 0, 0), gp_Dir(0, 0, 1))
    return kernel().Solid(BRepPrimAPI_MakeRevol(face, axis).Shape())


def _drill(drill: Drill) -> Any:
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeCylinder
    from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt

    along = gp_Dir(math.cos(drill.direction_rad), math.sin(drill.direction_rad), 0.0)
    place = gp_Ax2(gp_Pnt(*drill.start_mm), along)
    return kernel().Solid(BRepPrimAPI_MakeCylinder(place, drill.diameter_mm / 2, drill.length_mm).Solid())


def solid(body: Body, name: str) -> Any:
    """The body as one valid solid of the CAD library, labelled with its name.

    Raises PlatformFault without the library, ConvergenceFault when the kernel returns no single valid solid.
    """
    made = [_slab(piece) if isinstance(piece, Slab) else _turned(piece) for piece in body.pieces]
    # Pieces only touch, which the kernel is told (glue). Merging of faces afterwards is left out: it can leave an edge
    # that only one face knows, and so an open mesh.
    with kernel().SkipClean():
        whole = made[0].fuse(*made[1:], glue=True) if len(made) > 1 else made[0]
        tools = [*(_slab(pocket) for pocket in body.pockets), *(_drill(drill) for drill in body.drills)]
        if tools:
            whole = whole.cut(*tools)
    solids = whole.solids()
    if len(solids) != 1 or not solids[0].is_valid:
        what = f"the CAD kernel could not join the pieces of {name}"
        raise ConvergenceFault([Fault(what, value=f"{len(solids)} solids", allowed="1 valid solid")])
    one = solids[0]
    one.label = name
    return one


def overturned(solid_: Any) -> Any:
    """The solid turned half a turn about the x axis and set down on z = 0."""
    cad = kernel()
    turned = solid_.rotate(cad.Axis.X, 180)
    return turned.translate((0, 0, -turned.bounding_box().min.Z))


def mesh(solid_: Any, name: str, chord_error_mm: float = CHORD_ERROR_MM) -> Mesh:
    """A watertight mesh of a solid. Raises ConvergenceFault when the kernel leaves a gap."""
    from OCP.BRep import BRep_Tool
    from OCP.BRepMesh import BRepMesh_IncrementalMesh
    from OCP.TopAbs import TopAbs_Orientation
    from OCP.TopLoc import TopLoc_Location

    BRepMesh_IncrementalMesh(solid_.wrapped, chord_error_mm, False, CHORD_TURN_RAD, False)
    corners, triangles, count = [], [], 0
    for face in solid_.faces():
        place = TopLoc_Location()
        found = BRep_Tool.Triangulation_s(face.wrapped, place)
        if found is None:
            raise ConvergenceFault([Fault(f"the CAD kernel left a face of {name} without triangles")])
        shift = place.Transformation()
        nodes = [found.Node(k).Transformed(shift) for k in range(1, found.NbNodes() + 1)]
        corners += [(p.X(), p.Y(), p.Z()) for p in nodes]
        rows = np.array([found.Triangle(k).Get() for k in range(1, found.NbTriangles() + 1)]) + (count - 1)
        back = face.wrapped.Orientation() == TopAbs_Orientation.TopAbs_REVERSED
        triangles.append(rows[:, ::-1] if back else rows)
        count += len(nodes)
    rounded = np.round(np.array(corners), MERGED_DIGITS) + 0.0
    unique, place_of = np.unique(rounded, axis=0, return_inverse=True)
    rows = place_of.reshape(-1)[np.vstack(triangles)]
    whole = (rows[:, 0] != rows[:, 1]) & (rows[:, 1] != rows[:, 2]) & (rows[:, 2] != rows[:, 0])
    made = Mesh(unique, rows[whole])
    if made.open_edges:
        what = f"the mesh of {name} is not watertight"
        raise ConvergenceFault([Fault(what, value=f"{made.open_edges} open edges", allowed="0")])
    return made
