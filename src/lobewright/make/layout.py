"""Where everything sits along the axis, and how large the frame is: computed before any CAD starts.

Two square plates that stand on their lower edges are joined by four threaded rods. The rear plate carries the input axle on a
pair of bearings, and through a distance plate the held rigid ring. What is read, the front rigid ring or a cup's boss, is
screwed to an output plate whose hub runs in a pair of bearings in the front plate. Everything is a flat plate with straight
bosses, so that it prints without support and can be cut. Common practice for a home workshop, no source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from lobewright.assessment.results import Assessment
from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.design.holding import (
    GAP_MM,
    PLATE_MM,
    SHAFT_MM,
    SHOULDER_MM,
    bearings_on_an_axle,
    face_mm,
    least_wall_mm,
)
from lobewright.errors import DesignFault, Fault

AXLE_SIZE = "M8"
TIE_SIZE = "M5"
USUAL_INPUT_BEARING, USUAL_OUTPUT_BEARING = "608", "6001"
FLOOR_MM = 6.0
"""Thickness of the plates."""
LIP_MM = 2.0
"""Of a bearing seat: what the bearing rests on."""
ROOM_MM = 2.0
"""Between what turns and what stands."""
INPUT_SPACER_MM = 10.0
"""Between the two bearings of the axle."""
ADJUSTABLE_PLATE_MM = 8.0
"""Of a carrier with set screws: an M3 nut on edge and a millimetre on either side of it."""


class Arrangement(StrEnum):
    """Which members stand where."""

    TWO_RINGS = "two_rings"
    CUP_READ = "cup_read"


@dataclass(frozen=True)
class Layout:
    """Planes along z and sizes of the frame, mm; see the module for the arrangement and `placing` for coordinates.

    ``rear_ring`` lies on z = 0; ``flexible_open_z_mm`` is the open edge of row 1 of the flexible ring and ``flexible_over``
    tells that the ring points to the rear (its second row is held). ``distance_mm``: height of the distance plate, whose
    opening has the radius ``open_radius_mm``; the rear plate reaches from ``rear_back_mm`` to −``distance_mm`` and its boss
    back to ``boss_back_mm``. ``output_z_mm`` is the face of the front ring or of the cup's boss; the output plate begins
    ``output_distance_mm`` later. ``front_z_mm`` and ``front_top_mm``: the front plate; its boss ends at ``front_boss_mm``.
    ``half_side_mm``: of the square plates; ``ties_mm``: where the rods stand, (x, y).
    """

    arrangement: Arrangement
    rear_ring: m.RigidRing
    front_ring: m.RigidRing | None
    flexible_open_z_mm: float
    flexible_over: bool
    generator_bottom_mm: float
    generator_top_mm: float
    open_radius_mm: float
    distance_mm: float
    rear_back_mm: float
    boss_back_mm: float
    input_bearing: catalogue.Bearing
    output_bearing: catalogue.Bearing
    output_bearings: int
    output_spacing_mm: float
    output_z_mm: float
    output_distance_mm: float
    front_z_mm: float
    front_top_mm: float
    front_boss_mm: float
    half_side_mm: float
    corner_mm: float
    ties_mm: tuple[tuple[float, float], ...]

    @property
    def held_z_mm(self) -> tuple[float, float]:
        """The held rigid ring, from and to."""
        return 0.0, self.rear_ring.width_mm


def arrangement(design: m.Design) -> tuple[Arrangement | None, str]:
    """How the members stand, or None and the reason why no assembly is laid out."""
    rings = {ring.name for ring in design.rigid_ring}
    motion = design.motion
    if motion.driven != "generator":
        return None, f"only drives whose generator is driven are laid out, {motion.driven} is driven here"
    if motion.fixed in rings and motion.read in rings:
        return Arrangement.TWO_RINGS, ""
    if motion.fixed in rings and motion.read == "flexible_ring" and design.is_cup:
        return Arrangement.CUP_READ, ""
    what = f"no assembly is laid out where {motion.fixed} is held and {motion.read} is read"
    return None, f"{what}: laid out are two rigid rings, and a held rigid ring with a cup that is read"


def carrier_plate_mm(design: m.Design) -> float:
    """Thickness of a roller carrier: set screws and their nuts need more of it."""
    return ADJUSTABLE_PLATE_MM if design.assembly.adjustable else PLATE_MM


def generator_height_mm(design: m.Design) -> float:
    """Height of the generator along the axis, without nuts and screw heads."""
    generator = design.generator
    if isinstance(generator, m.Cam):
        return face_mm(design)
    bearing = catalogue.bearing(generator.bearing)
    if isinstance(generator, m.Discs):
        between = max(bearing.width_mm + GAP_MM, (face_mm(design) - SHOULDER_MM) / 2)
        return 2 * between + SHOULDER_MM
    return 2 * (carrier_plate_mm(design) + SHOULDER_MM) + bearings_on_an_axle(design, bearing) * bearing.width_mm


def input_bearing(design: m.Design) -> catalogue.Bearing:
    """The axle's bearing: as named, else one of the drawer with the axle's bore, else the usual one."""
    if design.assembly.input_bearing:
        return catalogue.bearing(design.assembly.input_bearing)
    owned = design.owned.bearings if design.owned else ()
    fits = [catalogue.bearing(one.designation) for one in owned if one.count >= 2]
    return next((one for one in fits if one.bore_mm == SHAFT_MM), catalogue.bearing(USUAL_INPUT_BEARING))


def _ring(design: m.Design, name: str) -> m.RigidRing:
    return next(ring for ring in design.rigid_ring if ring.name == name)


def _refused(what: str, place: str, value: str, allowed: str) -> DesignFault:
    return DesignFault([Fault(what, place, value=value, allowed=allowed)])


def _bearing_fits(design: m.Design, axle: catalogue.Bearing, output: catalogue.Bearing, open_mm: float) -> None:
    if axle.bore_mm != SHAFT_MM:
        what = f"bearing {axle.designation} does not fit the axle"
        value, allowed = f"bore {axle.bore_mm:g} mm", f"a bore of {SHAFT_MM:g} mm"
        raise _refused(what, "assembly.input_bearing", value, allowed)
    most = 2 * (open_mm + design.rigid_ring[0].rim_mm)
    if output.bore_mm >= most:
        what = f"the bore of the output bearing {output.designation} is larger than the ring"
        raise _refused(what, "output_bearing.bearing", f"{output.bore_mm:g} mm", f"less than {most:.1f} mm")


def layout(a: Assessment) -> Layout:
    """Lay out the assembly of a drive.

    Raises DesignFault where no assembly of ours fits the motion (see :func:`arrangement`), or where a bearing cannot be used.
    """
    design = a.design
    kind, reason = arrangement(design)
    if kind is None:
        raise _refused(reason, "motion", design.motion.fixed, "an arrangement that is laid out")
    rear = _ring(design, design.motion.fixed)
    front = _ring(design, design.motion.read) if kind is Arrangement.TWO_RINGS else None
    over = front is not None and front.offset_mm < rear.offset_mm
    face = face_mm(design)
    # Along the drive's own axis the held ring may be the farther one: then everything is seen from the other side.
    open_z = -rear.offset_mm if not over else rear.offset_mm + rear.width_mm
    middle = open_z + face / 2 if not over else open_z - face / 2
    high = generator_height_mm(design)
    low, top = middle - high / 2, middle + high / 2
    flexible_low = open_z if not over else open_z - face
    nut = catalogue.bolt(AXLE_SIZE).nut_height_mm
    distance = max(-flexible_low + ROOM_MM, -low + nut + 2 * ROOM_MM)
    root = {ring.name: mesh.space.root_radius_mm for ring, mesh in zip(design.rigid_ring, a.rings, strict=True)}
    outermost = max(root[ring.name] + ring.rim_mm for ring in design.rigid_ring)
    held = input_bearing(design)
    stated = design.output_bearing
    output = catalogue.bearing(stated.bearing if stated else USUAL_OUTPUT_BEARING)
    count = stated.count if stated else 2
    spacing = max(stated.spacing_mm if stated else 2 * output.width_mm, output.width_mm)
    _bearing_fits(design, held, output, root[rear.name])
    if front is not None:
        shift = -rear.offset_mm if not over else rear.offset_mm + rear.width_mm
        ends = [
            shift + sign * x
            for sign in (-1 if over else 1,)
            for x in (front.offset_mm, front.offset_mm + front.width_mm)
        ]
        output_z, flexible_top = max(ends), max(open_z, open_z - face if over else open_z + face)
        output_distance = max(flexible_top - output_z + ROOM_MM, top - output_z + nut + 2 * ROOM_MM)
    else:
        ring = design.flexible_ring
        assert isinstance(ring, m.Cup)
        output_z, output_distance = open_z + ring.length_mm, 0.0
    front_z = output_z + output_distance + FLOOR_MM + ROOM_MM + catalogue.bolt(rear.bolt).head_height_mm
    seat = output.width_mm + (spacing if count == 2 else 0.0)
    tie = catalogue.bolt(TIE_SIZE)
    corner = tie.hole_medium_mm / 2 + max(4.0, least_wall_mm(design))
    half = outermost + ROOM_MM + 1.0
    # The rods pass what turns inside the square.
    half = max(half, (outermost + ROOM_MM + tie.nut_across_corners_mm / 2) / math.sqrt(2) + corner)
    at = half - corner
    return Layout(
        arrangement=kind,
        rear_ring=rear,
        front_ring=front,
        flexible_open_z_mm=open_z,
        flexible_over=over,
        generator_bottom_mm=low,
        generator_top_mm=top,
        open_radius_mm=float(root[rear.name]) + 0.5,
        distance_mm=distance,
        rear_back_mm=-distance - FLOOR_MM,
        boss_back_mm=-distance - max(FLOOR_MM, LIP_MM + 2 * held.width_mm + INPUT_SPACER_MM),
        input_bearing=held,
        output_bearing=output,
        output_bearings=count,
        output_spacing_mm=spacing,
        output_z_mm=output_z,
        output_distance_mm=output_distance,
        front_z_mm=front_z,
        front_top_mm=front_z + FLOOR_MM,
        front_boss_mm=front_z + max(FLOOR_MM, LIP_MM + seat),
        half_side_mm=half,
        corner_mm=corner,
        ties_mm=((at, at), (-at, at), (-at, -at), (at, -at)),
    )
