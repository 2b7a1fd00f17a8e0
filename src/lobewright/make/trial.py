"""A first print of a few minutes: a sector of each rigid ring and four flexible teeth, to feel the mesh before the long print."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import shapely

from lobewright.assessment.results import Assessment, RingMesh
from lobewright.design import model as m
from lobewright.make.bodies import Body, Group, Loop, Part, Slab, made_of
from lobewright.make.filling import laid, print_minutes
from lobewright.make.outlines import Chain, joined, round_arc, turn
from lobewright.make.parts_flexible import row_pitch
from lobewright.make.toothing import Pitch, rigid_pitch

SECTOR_RAD = math.radians(40)
FLEXIBLE_TEETH = 4
HEIGHT_MM = 4.0
RIM_MM = 3.0
LEAST_SPACES = 3
MOST_MINUTES = 20.0
"""For all trial pieces together."""
USUAL = m.Printer(kind="printer", nozzle_mm=0.4, extrusion_width_mm=0.42, layer_mm=0.2, bed_mm=(220.0, 220.0, 250.0))
"""Where the process is no printer, trial pieces are still meant for one."""


def trial_minutes(design: m.Design, part: Part) -> float:
    """Estimate of the printing time of a trial piece, solid throughout."""
    printer = design.process if isinstance(design.process, m.Printer) else USUAL
    return print_minutes(laid(part, printer, solid=True), printer)


def _sector(pitch: Pitch, pitches: int, outer_mm: float, inner_mm: float = 0.0) -> Loop:
    """A run of pitches closed by an arc on the other side: outside for a rigid ring, inside (``inner_mm``) for teeth."""
    run = pitch.run(pitches)
    angles = np.arctan2(run.points_mm[[0, -1], 1], run.points_mm[[0, -1], 0])
    back = round_arc(inner_mm or outer_mm, float(angles[1]), float(angles[0]))
    contour = joined([run, back]).anticlockwise()
    return Loop(contour, _area_mm2(pitch, pitches, run, back), pitch.edges, pitch.error_mm)


def _area_mm2(pitch: Pitch, pitches: int, run: Chain, back: Chain) -> float:
    """Area from the outline's points: whole pitches seen from the axis, against the sector of the closing arc."""
    step = 2 * math.pi / pitch.count
    points = np.vstack([turn(pitch.points_mm, k * step) for k in range(pitch.count)])
    toothed = shapely.Polygon(points).area * pitches / pitch.count
    plain = float(np.hypot(*back.points_mm[0])) ** 2 * pitches * step / 2
    return abs(plain - toothed)


def _rigid(a: Assessment, ring: m.RigidRing, mesh: RingMesh, most_minutes: float) -> Part:
    pitch = rigid_pitch(mesh.space)
    outer = mesh.space.root_radius_mm + min(ring.rim_mm, RIM_MM)
    spaces = max(LEAST_SPACES, round(SECTOR_RAD / mesh.space.pitch_rad))
    height = min(HEIGHT_MM, ring.width_mm)
    name, words, material = (
        f"ring_{ring.name}_sector",
        f"sector of ring {ring.name}",
        ring.material or made_of(a.design),
    )
    while True:
        slab = Slab(_sector(pitch, spaces, outer), (), 0.0, height)
        span = math.degrees(spaces * mesh.space.pitch_rad)
        note = f"{spaces} tooth spaces ({span:.1f}° of the ring), {height:g} mm high, rim thinned"
        part = Part(name, words, 1, Body((slab,)), material, note, group=Group.TEST)
        if spaces == LEAST_SPACES or trial_minutes(a.design, part) <= most_minutes:
            return part
        spaces -= 1


def _flexible(a: Assessment) -> Part:
    ring = a.design.flexible_ring
    pitch = row_pitch(a, 1)
    loop = _sector(pitch, FLEXIBLE_TEETH, 0.0, a.geometry.inner_radius_mm)
    slab = Slab(loop, (), 0.0, min(HEIGHT_MM, ring.width_mm))
    note = f"{FLEXIBLE_TEETH} teeth of the undeformed ring: lay them into the sector"
    material = made_of(a.design)
    return Part("flexible_teeth", "four flexible teeth", 1, Body((slab,)), material, note, group=Group.TEST)


def trial_parts(a: Assessment) -> tuple[Part, ...]:
    """Trial pieces; for a belt only the sectors, since the belt itself is at hand."""
    belt = isinstance(a.design.flexible_ring, m.Belt)
    flexible = () if belt else (_flexible(a),)
    used = sum(trial_minutes(a.design, part) for part in flexible)
    share = (MOST_MINUTES - used) / len(a.rings)
    sectors = [_rigid(a, ring, mesh, share) for ring, mesh in zip(a.design.rigid_ring, a.rings, strict=True)]
    if belt:
        sectors = [replace(part, note=f"{part.note}; lay your belt into it, teeth outward") for part in sectors]
    return (*sectors, *flexible)
