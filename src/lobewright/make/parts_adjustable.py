"""A roller generator whose deflection is set by screws: slotted carriers, sliders with a scale, radial set screws.

Each axle stands in a radial slot. A hexagon head screw in a nut inside the plate pushes it outward; the ring itself pushes it
back; the axle's nuts lock it. The screw's head stands in a window, where an open spanner reaches it from outside.

The scale is a vernier: carrier and slider each have a row of marks, and mark i of both rows meet when the roller stands where
the model of the ring needs it for the deflection that mark i stands for (:func:`lobewright.ring.generator.setting_for`).
Plain marks as close as the steps could be neither printed nor read. Sizes are common practice for a home workshop, no source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely

from lobewright.assessment.results import Assessment
from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.design.holding import (
    GAP_MM,
    HUB_BOLTS,
    HUB_CIRCLE_MM,
    SHAFT_MM,
    SHOULDER_MM,
    Axle,
    axle,
    bearings_on_an_axle,
    clearance_hole_mm,
    hub_mm,
    least_wall_mm,
)
from lobewright.errors import DesignFault, Fault
from lobewright.make.bodies import Body, Drill, Feature, Group, Loop, Part, Slab, exact, made_of
from lobewright.make.bought import bought, tube
from lobewright.make.generator_tube import RETIGHTEN, TubeSize, key_pocket, tube_note, tube_part, tube_size
from lobewright.make.layout import ADJUSTABLE_PLATE_MM
from lobewright.make.outlines import Contour, bolt_circle, circle, hull_of_circles, polygon, turn
from lobewright.ring.generator import lobe_angles_rad, setting_for

Array = np.ndarray
SLIDER_MM = 2.0
"""Thickness of a slider."""
SET_BOLT = "M3"
SET_HEAD_MM, SET_FLATS_MM = 2.0, 5.5
"""Head of a hexagon screw M3: height and width across flats (ISO 4017; remembered)."""
SET_LENGTHS_MM = (8.0, 10.0, 12.0, 16.0, 20.0)
LAND_MM = 3.0
"""Material that the set screw passes on either side of its nut."""
NUT_PLAY_MM = 0.3
SPANNER_MM = 13.0
"""Width of the jaws of a 5.5 mm open spanner, and so of a window."""
HEAD_PLAY_MM = 0.8
MARK_PITCH_MM, MARK_WIDTH_MM, MARK_DEEP_MM = 1.4, 0.5, 0.4
MARK_LONG_MM, SET_MARK_MORE_MM = 2.2, 1.0
MARKS_INWARD_MM = 7.0
"""Middle of the scale, inward of the axle."""
STEPS_MM = (0.02, 0.05, 0.1, 0.2, 0.25, 0.5, 1.0)
MOST_MARKS_ASIDE = 5
RANGE_SHARE = 0.35
"""Of the set deflection, to either side: what the scale covers at most."""
COLLAR_SHARE = 0.3
"""Of a bearing's radial height: its inner ring, over which the collar of the slot may run."""


@dataclass(frozen=True)
class Scale:
    """Deflections of the scale's marks and the roller centres' distances from the axis that make them; ``middle`` is the
    index of the set deflection."""

    deflections_mm: tuple[float, ...]
    distances_mm: tuple[float, ...]
    middle: int

    @property
    def set_mm(self) -> float:
        return self.distances_mm[self.middle]


def scale_of(a: Assessment) -> Scale:
    """Marks round the set deflection in the finest step whose travel of the rollers the process can still show.

    Raises DesignFault where the bearing leaves no travel, ConvergenceFault or DesignFault of the ring's model.
    """
    bearing = _bearing(a)
    middle = a.set_deflection_mm
    far = [float(setting_for(a.design, a.geometry, middle * share).distance_mm) for share in (0.99, 1.01)]
    slope = (far[1] - far[0]) / (0.02 * middle)
    step = next((step for step in STEPS_MM if step * slope >= a.design.process.tolerance_mm - 1e-9), STEPS_MM[-1])
    most = COLLAR_SHARE * (bearing.outer_mm - bearing.bore_mm) / 2
    aside = min(MOST_MARKS_ASIDE, int(RANGE_SHARE * middle / step), int(most / 2 / (step * slope)))
    if aside < 1:
        what = f"rollers {bearing.designation} leave no travel that can be set in steps of {step:g} mm"
        value, allowed = f"{most:.2f} mm of travel", "a larger bearing, or assembly.adjustable = false"
        raise DesignFault([Fault(what, "assembly.adjustable", value=value, allowed=allowed)])
    deflections = tuple(middle + k * step for k in range(-aside, aside + 1))
    distances = tuple(float(setting_for(a.design, a.geometry, w).distance_mm) for w in deflections)
    return Scale(deflections, distances, aside)


def marks_mm(scale: Scale) -> tuple[Array, Array]:
    """Where the marks stand: on the carrier from the drive's axis, on the slider from the roller's axle (negative)."""
    order = np.arange(len(scale.distances_mm)) - scale.middle
    carrier = scale.set_mm - MARKS_INWARD_MM + MARK_PITCH_MM * order
    return carrier, carrier - np.array(scale.distances_mm)


def table_text(a: Assessment, scale: Scale) -> str:
    """The scale in numbers; with two lobes also what a caliper reads over opposite rollers."""
    outer = _bearing(a).outer_mm
    rows = []
    for w, d in zip(scale.deflections_mm, scale.distances_mm, strict=True):
        over = f", {2 * d + outer:.2f} mm over opposite rollers" if a.setting.lobes == 2 else ""
        rows.append(f"{w:.3f} mm: {d:.3f} mm{over}")
    return "deflection: roller centre from the axis: " + "; ".join(rows)


def _bearing(a: Assessment) -> catalogue.Bearing:
    generator = a.design.generator
    if not isinstance(generator, (m.Rollers, m.PairedRollers)):
        what, allowed = "only roller generators can be adjusted", "rollers or paired_rollers"
        raise DesignFault([Fault(what, "assembly.adjustable", value=generator.kind, allowed=allowed)])
    return catalogue.bearing(generator.bearing)


@dataclass(frozen=True)
class Run:
    """What lies along the radius of one axle, from the axis outward, mm."""

    window_in: float
    window_out: float
    nut_in: float
    nut_out: float
    slot_in: float
    slot_out_centre: float
    screw_mm: float


def run_of(scale: Scale, held: Axle) -> Run:
    """Slot, nut and window along one axle's radius. The set screw is the shortest usual one that reaches."""
    low, high = scale.distances_mm[0], scale.distances_mm[-1]
    half, shank = held.hole_mm / 2, held.bolt.diameter_mm / 2
    slot = low - half
    nut_out = slot - LAND_MM
    nut_in = nut_out - catalogue.bolt(SET_BOLT).nut_height_mm - NUT_PLAY_MM
    window = nut_in - LAND_MM
    least = high - shank - window + 0.3
    length = next(length for length in SET_LENGTHS_MM if length >= least)
    inner = low - shank - length - SET_HEAD_MM - HEAD_PLAY_MM
    return Run(inner, window, nut_in, nut_out, slot, high, length)


def _box(x0: float, x1: float, y0: float, y1: float, angle_rad: float = 0.0) -> Contour:
    flat = np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]])
    return polygon(turn(flat, angle_rad))


def _slot(run: Run, half_mm: float, angle_rad: float) -> Loop:
    """Flat at its inner end as wide as the set screw that comes out there, its corners cut off; round at the outer one."""
    near, far, flat = run.slot_in, run.slot_out_centre, min(half_mm, clearance_hole_mm(SET_BOLT) / 2 + 0.05)
    cut = near + half_mm - flat
    rows = [[near, -flat], [cut, -half_mm], [far, -half_mm], [far, half_mm], [cut, half_mm], [near, flat]]
    bulges = np.array([0.0, 0.0, 1.0, 0.0, 0.0, 0.0])
    if half_mm - flat < 1e-9:
        rows, bulges = [rows[0], *rows[2:4], rows[5]], np.array([0.0, 1.0, 0.0, 0.0])
    return exact(Contour(turn(np.array(rows), angle_rad), bulges), Feature.BOLT_HOLE)


def band_round(circles: list[tuple[float, float, float]]) -> Contour:
    """The tightest band round circles (x, y, radius), whichever of them touch it."""
    angles = np.linspace(0.0, 2 * math.pi, 720, endpoint=False)
    owner = {}
    for k, (x, y, r) in enumerate(circles):
        for p in np.column_stack((x + r * np.cos(angles), y + r * np.sin(angles))):
            owner[float(p[0]), float(p[1])] = k
    rim = shapely.MultiPoint(list(owner)).convex_hull.normalize().exterior.coords[:-1]
    if not shapely.LinearRing(rim).is_ccw:
        rim = rim[::-1]
    order = [owner[p[0], p[1]] for p in rim]
    kept = [k for k, before in zip(order, [order[-1], *order[:-1]], strict=True) if k != before]
    return hull_of_circles([circles[k] for k in kept])


def slider_half_mm(held: Axle) -> float:
    """Half the width of a slider: the marks stand beside the axle's nut."""
    return held.bolt.nut_across_corners_mm / 2 + MARK_LONG_MM


def _outline(a: Assessment, scale: Scale, held: Axle) -> Contour:
    """Band round the axles where they stand innermost, the hub and the scales."""
    edge = _bearing(a).outer_mm / 2 - GAP_MM
    hub, _ = hub_mm(math.inf)
    reach = slider_half_mm(held) + 0.3 + MARK_LONG_MM + 0.6
    wide = math.hypot(reach, MARK_PITCH_MM * scale.middle + 0.6)
    circles = [(0.0, 0.0, hub)]
    for t in lobe_angles_rad(a.setting):
        for r, size in ((scale.distances_mm[0], edge), (scale.set_mm - MARKS_INWARD_MM, wide)):
            circles.append((r * math.cos(t), r * math.sin(t), size))
    return band_round(circles)


def _marks(
    rows: Array, middle: int, start: float, sides: tuple[int, ...], angle_rad: float, away: int
) -> list[Contour]:
    """Marks across a radius, from ``start`` beside it; ``away`` tells on which side of it they lengthen."""
    found = []
    for side in sides:
        for k, r in enumerate(rows):
            more = SET_MARK_MORE_MM if k == middle else 0.0
            ends = sorted((side * start, side * (start + away * (MARK_LONG_MM + more))))
            found.append(_box(r - MARK_WIDTH_MM / 2, r + MARK_WIDTH_MM / 2, ends[0], ends[1], angle_rad))
    return found


def _shoulder(bearing: catalogue.Bearing, run: Run, held: Axle, scale: Scale, angle_rad: float) -> Slab:
    """A low collar round the slot, under the bearing's inner ring wherever the axle stands."""
    radius = bearing.bore_mm / 2 + COLLAR_SHARE * (bearing.outer_mm - bearing.bore_mm) / 2
    c, s = math.cos(angle_rad), math.sin(angle_rad)
    ends = [(r * c, r * s, radius) for r in (scale.distances_mm[0], scale.distances_mm[-1])]
    outer = exact(hull_of_circles(ends))
    slot = _slot(run, held.hole_mm / 2, angle_rad)
    return Slab(outer, (slot,), ADJUSTABLE_PLATE_MM, ADJUSTABLE_PLATE_MM + SHOULDER_MM)


def _hub_holes(others: list[Loop], wall_mm: float) -> tuple[list[Loop], str]:
    """Bore of the axle, and the holes of a flange where nothing is in their way."""
    bore = exact(circle(SHAFT_MM / 2))
    rows = bolt_circle(HUB_CIRCLE_MM / 2, clearance_hole_mm("M3"), HUB_BOLTS, math.pi / HUB_BOLTS)
    blocked = shapely.union_all([loop.contour.polygon(1e-2) for loop in others]).buffer(wall_mm)
    if any(blocked.intersects(one.polygon(1e-2)) for one in rows):
        return [bore], f"bore ø{SHAFT_MM:g} mm, clamped by the axle's nuts; no room for flange bolts"
    return [
        bore,
        *(exact(one, Feature.BOLT_HOLE) for one in rows),
    ], f"bore ø{SHAFT_MM:g} mm, {HUB_BOLTS} holes for a flange"


def _room(a: Assessment, outline: Contour, holes: list[Loop], wall_mm: float) -> None:
    """Raises DesignFault where openings leave no wall, or the plate does not pass the bent ring."""
    whole = outline.polygon(1e-2)
    shape = a.set_shape
    ring = shapely.Polygon(np.column_stack((shape.x_mm, shape.y_mm))).buffer(-a.geometry.inner_offset_mm - GAP_MM / 2)
    flat = [loop.contour.polygon(1e-2) for loop in holes]
    gaps = [one.distance(other) for k, one in enumerate(flat) for other in flat[:k]]
    rims = [whole.exterior.distance(one) if whole.contains(one) else 0.0 for one in flat]
    least = min(*gaps, *rims)
    if least < wall_mm or not ring.contains(whole):
        what = "the generator is too small for set screws beside its axles"
        value = f"{least:.1f} mm of wall left" if least < wall_mm else "a plate as large as the ring's inside"
        allowed = f"walls of {wall_mm:.1f} mm, or assembly.adjustable = false"
        raise DesignFault([Fault(what, "assembly.adjustable", value=value, allowed=allowed)])


def tube_of(a: Assessment, scale: Scale, run: Run) -> TubeSize | None:
    """The tube between the carriers: it clears the rollers where they stand innermost, and its pockets the windows."""
    bearing = _bearing(a)
    between = bearings_on_an_axle(a.design, bearing) * bearing.width_mm + 2 * SHOULDER_MM
    pocket = run.window_in - least_wall_mm(a.design) - NUT_PLAY_MM + GAP_MM
    return tube_size(between, min(pocket, scale.distances_mm[0] - bearing.outer_mm / 2), bool(made_of(a.design)))


def _carrier(a: Assessment, scale: Scale) -> Part:
    bearing, held = _bearing(a), axle(_bearing(a))
    run, wall = run_of(scale, held), least_wall_mm(a.design)
    nut, hole = catalogue.bolt(SET_BOLT), clearance_hole_mm(SET_BOLT)
    outline = _outline(a, scale, held)
    holes: list[Loop] = []
    drills: list[Drill] = []
    angles = lobe_angles_rad(a.setting)
    half = (nut.nut_across_flats_mm + NUT_PLAY_MM) / 2
    level = ADJUSTABLE_PLATE_MM / 2
    for t in angles:
        holes.append(_slot(run, held.hole_mm / 2, t))
        holes.append(exact(_box(run.nut_in, run.nut_out, -half, half, t), Feature.NUT))
        holes.append(exact(_box(run.window_in, run.window_out, -SPANNER_MM / 2, SPANNER_MM / 2, t)))
        for start, end in ((run.window_out, run.nut_in), (run.nut_out, run.slot_in)):
            place = (start * math.cos(t), start * math.sin(t), level)
            drills.append(Drill(place, t, hole, end - start))
    size = tube_of(a, scale, run)
    if size and size.key_mm:
        bore = exact(circle(SHAFT_MM / 2))
        key = key_pocket(size, bore, ADJUSTABLE_PLATE_MM)
        _room(a, outline, [*holes, key.outer], wall)
        hub, hub_note, pockets = [bore], f"bore ø{SHAFT_MM:g} mm", [key]
    else:
        hub, hub_note = _hub_holes(holes, wall)
        _room(a, outline, [*holes, *hub], wall)
        pockets = []
    holes += hub
    rows, _ = marks_mm(scale)
    solid = outline.polygon(1e-2).buffer(-0.4).difference(shapely.union_all([h.contour.polygon(1e-2) for h in holes]))
    for t in angles:
        for side in (-1, 1):
            marks = _marks(rows, scale.middle, slider_half_mm(held) + 0.3, (side,), t, 1)
            if all(solid.contains(mark.polygon(1e-2)) for mark in marks):
                pockets += [Slab(exact(mark), (), 0.0, MARK_DEEP_MM) for mark in marks]
    collars = tuple(_shoulder(bearing, run, held, scale, t) for t in angles)
    plate = Slab(exact(outline), tuple(holes), 0.0, ADJUSTABLE_PLATE_MM)
    step = scale.deflections_mm[1] - scale.deflections_mm[0]
    note = (
        f"slots for axles {held.bolt.size}; set screws {SET_BOLT}×{run.screw_mm:g} with hexagon head, a flat "
        f"({nut.thread_pitch_mm / 6:.3f} mm) is the finest step; {len(rows)} marks, one a {step:g} mm of deflection, the "
        f"long one is the set {a.set_deflection_mm:.3f} mm; {table_text(a, scale)}; {hub_note}; {tube_note(size)}"
    )
    if made_of(a.design):
        note = f"{note}; {RETIGHTEN}"
    body = Body((plate, *collars), tuple(pockets), tuple(drills))
    words = "adjustable roller carrier"
    return Part("carrier", words, 2, body, made_of(a.design), note, drawn=True, group=Group.GENERATOR)


def _slider(a: Assessment, scale: Scale) -> Part:
    """Lies between carrier and axle nut; its marks stand at both sides, so that it fits every axle. x points outward."""
    held, half = axle(_bearing(a)), slider_half_mm(axle(_bearing(a)))
    _, rows = marks_mm(scale)
    inner = float(rows[0]) - 1.0
    outer_end = held.hole_mm / 2 + 2 * least_wall_mm(a.design)
    hole = exact(circle(held.hole_mm / 2), Feature.BOLT_HOLE)
    nose = held.hole_mm / 2
    corners = [(inner, -half), (0.0, -half), (outer_end, -nose), (outer_end, nose), (0.0, half), (inner, half)]
    plate = Slab(exact(polygon(corners)), (hole,), 0.0, SLIDER_MM)
    marks = _marks(rows, scale.middle, half, (-1, 1), 0.0, -1)
    pockets = tuple(Slab(exact(mark), (), SLIDER_MM - MARK_DEEP_MM, SLIDER_MM) for mark in marks)
    note = "marks up; lay it under the axle's nut, its lines parallel to those of the carrier"
    count = 2 * len(lobe_angles_rad(a.setting))
    body = Body((plate,), pockets)
    return Part("slider", "slider with vernier", count, body, made_of(a.design), note, group=Group.GENERATOR)


def _set_screw(length_mm: float, count: int) -> Part:
    """A hexagon screw that lies along x, its tip at 0, as square bars."""
    nut = catalogue.bolt(SET_BOLT)
    half, middle = nut.diameter_mm / 2 * math.sqrt(0.5), SET_FLATS_MM / 2
    head = Slab(exact(_box(-length_mm - SET_HEAD_MM, -length_mm, -middle, middle)), (), 0.0, SET_FLATS_MM)
    shank = Slab(exact(_box(-length_mm, 0.0, -half, half)), (), middle - half, middle + half)
    designation = f"ISO 4017 {SET_BOLT}×{length_mm:g}"
    return bought("set_screw", "set screw with hexagon head", count, Body((head, shank)), designation)


def _set_nut(count: int) -> Part:
    """A nut that stands on edge, as a block with a slot for the screw left out: two halves beside the shank."""
    nut = catalogue.bolt(SET_BOLT)
    flats, corners, high = nut.nut_across_flats_mm / 2, nut.nut_across_corners_mm, nut.nut_height_mm
    hole = nut.diameter_mm / 2
    low = Slab(exact(_box(-high / 2, high / 2, -flats, flats)), (), 0.0, corners / 2 - hole)
    sides = tuple(
        Slab(exact(_box(-high / 2, high / 2, *ends)), (), corners / 2 - hole, corners / 2 + hole)
        for ends in ((-flats, -hole), (hole, flats))
    )
    top = Slab(low.outer, (), corners / 2 + hole, corners)
    return bought("set_nut", "nut of a set screw", count, Body((low, *sides, top)), f"ISO 4032 {SET_BOLT}")


def adjustable_parts(a: Assessment) -> tuple[Part, ...]:
    """Carriers, sliders, set screws with nuts, and sleeves where bolt and bore differ.

    Raises DesignFault for generators without rollers and where there is no room for the screws.
    """
    scale, bearing = scale_of(a), _bearing(a)
    held, count = axle(bearing), 2 * len(lobe_angles_rad(a.setting))
    parts = [_carrier(a, scale), _slider(a, scale), _set_screw(run_of(scale, held).screw_mm, count), _set_nut(count)]
    if held.sleeve:
        length = bearings_on_an_axle(a.design, bearing) * bearing.width_mm
        note = f"fills the bearing bore of {bearing.bore_mm:g} mm round {held.bolt.size}"
        body = tube(bearing.bore_mm, held.hole_mm, length)
        parts.append(Part("axle_sleeve", "axle sleeve", count // 2, body, made_of(a.design), note))
    if size := tube_of(a, scale, run_of(scale, held)):
        parts.append(tube_part(a, size))
    return tuple(parts)
