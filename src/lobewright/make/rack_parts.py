"""Parts of the rack model: base, racks, toothed strip, carriage with nose and pads, rail with a scale.

Coordinates of the model: x along the travel, 0 where the roller starts; y = 0 is the tip line of the racks; z = 0 is the top of
the base. Racks lie on each other on the base; the strip stands below them (y < 0) with its teeth toward them and a plain
margin above the racks' top, by which the carriage's pads hold it down while the nose presses it up between them.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from lobewright.assessment.results import Assessment
from lobewright.design.base import Printer
from lobewright.errors import ConvergenceFault, DesignFault, Fault
from lobewright.make.bodies import Body, Feature, Group, Loop, Part, Slab, exact, made_of
from lobewright.make.outlines import Contour, circle, hull_of_circles, polygon
from lobewright.make.rack_design import BEST_PITCH_MM, MOST_PITCH_MM, RackRow, Racks, racks
from lobewright.make.rack_digits import Box, figures, mark
from lobewright.make.rack_mesh import (
    FREE_GAP_MM,
    TIP_GAP_MM,
    Array,
    Strip,
    half_angle_rad,
    land_mm,
    rack_teeth,
    space_chain,
    tooth_height_mm,
    tooth_points,
)
from lobewright.motion import FLEXIBLE

USUAL_BED_MM, USUAL_BEAD_MM = (220.0, 220.0), 0.45
"""Where no printer is named (assumed)."""
BED_EDGE_MM = 5.0
STRAIN = 0.009
"""Bending strain of the strip's back that the distance of the pads is chosen for: our choice, well below yield of PETG."""
CLEARANCE_MM = 0.15
SCREW_MM, SLOT_MM, THREAD_MM, SCREW_Y_MM = 3.4, 3.4, 2.7, 8.0
"""M3 screws through racks, in holes of the base in which they cut their own thread (common practice)."""
ENGRAVED_MM, MARK_MM, DIGIT_MM = 0.4, 0.7, 4.2
SHOULDER_MM, PAD_MM, NOSE_MM = 10.0, 3.0, 6.0
BODY_MM, RAIL_MM, SLIDE_MM = 14.0, 17.0, 0.2
LEAST_LAND_MM = 0.6
THIN_TIPS = "teeth come out too thin at their tips"
LEAST_STEP_MM = 0.05
STRIP_ACROSS_MM = 15.0
"""Of the strip with its tabs and teeth, no less."""


@dataclass(frozen=True)
class Heights:
    """Along z, mm: base, one rack, the gap between racks, the strip's plain margin, the carriage's cover, the rail."""

    base: float = 5.0
    rack: float = 6.0
    gap: float = 0.4
    margin: float = 4.0
    cover: float = 3.0
    rail: float = 6.0


def sheet_heights(sheet_mm: float) -> Heights:
    """Every layer is one thickness of sheet."""
    return Heights(sheet_mm, sheet_mm, 0.0, sheet_mm, sheet_mm, sheet_mm)


@dataclass(frozen=True)
class Kit:
    """All numbers of one model: see the modules for racks and mesh. ``chains``: one space of each rack."""

    racks: Racks
    strip: Strip
    chains: tuple[Array, ...]
    heights: Heights
    clearance_mm: float

    @property
    def way_mm(self) -> float:
        return float(self.racks.travel_in_mm)

    @property
    def half_carriage_mm(self) -> float:
        return self.strip.half_span_mm + SHOULDER_MM

    @property
    def ends_mm(self) -> tuple[float, float]:
        """Where racks and rail end."""
        return -self.half_carriage_mm - 2.0, self.way_mm + self.half_carriage_mm + 2.0

    @property
    def play_mm(self) -> float:
        """What slots are longer than the screw, to each side."""
        return max(abs(float(self.racks.travel_mm(name))) for name in self.racks.speeds if name != "generator") + 1.5

    @property
    def tab_mm(self) -> float:
        return tab_length_mm(self.play_mm)

    @property
    def length_mm(self) -> float:
        """Of the strip with its tabs: the longest part."""
        low, high = self.ends_mm
        return high - low + 2 * (self.tab_gap_mm + self.tab_mm)

    @property
    def low_mm(self) -> float:
        """Root line of the strip where it lies low."""
        return -TIP_GAP_MM - self.strip.lift_mm

    @property
    def back_mm(self) -> float:
        """The strip's back where it lies low."""
        return self.low_mm - self.strip.back_mm

    @property
    def screws_mm(self) -> tuple[float, ...]:
        """x of the four screws of racks and rail, two on each half of the base."""
        low, high = self.ends_mm
        middle = self.way_mm / 2
        return low + 8.0, middle - 12.0, middle + 12.0, high - 8.0

    @property
    def read_x_mm(self) -> float:
        """Where the scale of a rack that is read has its middle: before the first numbered space."""
        return self.ends_mm[0] / 2

    @property
    def tab_gap_mm(self) -> float:
        """From the racks' ends to the strip's tabs, so that the carriage never meets a tab that moves."""
        return 2.0 + abs(float(self.racks.travel_mm(FLEXIBLE)))

    @property
    def tabs_x_mm(self) -> tuple[float, float]:
        """Middles of the strip's two tabs."""
        low, high = self.ends_mm
        aside = self.tab_gap_mm + self.tab_mm / 2
        return low - aside, high + aside

    @property
    def rail_top_mm(self) -> float:
        """Edge of the rail on which the carriage slides."""
        return self.back_mm - BODY_MM - SLIDE_MM

    @property
    def tab_screw_y_mm(self) -> float:
        return self.back_mm - 4.5

    @property
    def body_top_mm(self) -> float:
        """Of the carriage under its cover."""
        return self.strip_top_mm + self.heights.gap

    def rack_z(self, k: int) -> tuple[float, float]:
        bottom = k * (self.heights.rack + self.heights.gap)
        return bottom, bottom + self.heights.rack

    @property
    def racks_top_mm(self) -> float:
        return self.rack_z(len(self.racks.rows) - 1)[1]

    @property
    def strip_top_mm(self) -> float:
        return self.racks_top_mm + self.heights.gap + self.heights.margin

    @property
    def order(self) -> tuple[int, ...]:
        """Rows from the bottom up: the held rack first."""
        names = [row.name for row in self.racks.rows]
        return tuple(sorted(range(len(names)), key=lambda k: names[k] != self.racks.fixed))


def tab_length_mm(play_mm: float) -> float:
    return 2 * play_mm + 11.0


def _span_mm(lift_mm: float, back_mm: float) -> float:
    return math.ceil(math.sqrt(3 * lift_mm * back_mm / STRAIN))


def kit(
    a: Assessment, heights: Heights | None = None, back_mm: float | None = None, clearance_mm: float = CLEARANCE_MM
) -> Kit:
    """Choose and size the model of a design: the longest that lies across the bed from corner to corner.

    ``back_mm``: the strip's thickness, else two printed beads. Where the usual pitch leaves the racks' teeth too thin, the
    largest one is taken. Raises DesignFault where no model is made (see `racks`) or teeth are too thin even so,
    ConvergenceFault where spaces run into each other.
    """
    process = a.design.process
    bed = process.bed_mm[:2] if isinstance(process, Printer) else USUAL_BED_MM
    back = back_mm or 2 * (process.extrusion_width_mm if isinstance(process, Printer) else USUAL_BEAD_MM)
    longest = (min(bed) - 2 * BED_EDGE_MM) * math.sqrt(2) - STRIP_ACROSS_MM
    sizes = heights or Heights()
    try:
        return _fitted(a, BEST_PITCH_MM, back, sizes, clearance_mm, longest)
    except (DesignFault, ConvergenceFault):
        return _fitted(a, MOST_PITCH_MM, back, sizes, clearance_mm, longest)


def _fitted(
    a: Assessment, pitch_mm: float, back_mm: float, heights: Heights, clearance_mm: float, longest_mm: float
) -> Kit:
    room = longest_mm
    while True:
        numbers = racks(a.design, room, pitch_mm)
        lift = max(tooth_height_mm(row.strip_pitch_mm) for row in numbers.rows) + FREE_GAP_MM
        strip = Strip(back_mm, lift, _span_mm(lift, back_mm), half_angle_rad(a.design))
        made = Kit(numbers, strip, (), heights, clearance_mm)
        if made.length_mm <= longest_mm:
            break
        room = made.way_mm - LEAST_STEP_MM
    chains = tuple(space_chain(strip, row, clearance_mm) for row in numbers.rows)
    for chain, row in zip(chains, numbers.rows, strict=True):
        if land_mm(chain, row) < LEAST_LAND_MM:
            found, allowed = f"{land_mm(chain, row):.2f} mm", f"{LEAST_LAND_MM} mm or more"
            raise DesignFault([Fault(THIN_TIPS, f"rack {row.name}", value=found, allowed=allowed)])
    return replace(made, chains=chains)


# --- small shapes ----------------------------------------------------------------------------------------------------


def _box(x0: float, y0: float, x1: float, y1: float) -> Contour:
    return polygon(((x0, y0), (x1, y0), (x1, y1), (x0, y1)))


def _slot(x: float, y: float, play: float) -> Loop:
    r = SLOT_MM / 2
    return exact(hull_of_circles(((x - play, y, r), (x + play, y, r))))


def _hole(x: float, y: float, diameter: float = SCREW_MM) -> Loop:
    return exact(circle(diameter / 2, x, y), Feature.BOLT_HOLE)


def _engraved(boxes: Iterable[Box], top: float) -> tuple[Slab, ...]:
    return tuple(Slab(exact(_box(*box)), (), top - ENGRAVED_MM, top) for box in boxes)


# --- racks and strip -------------------------------------------------------------------------------------------------


def rack_depth_mm(level: int, count: int) -> float:
    """How deep a rack reaches back: lower ones look out from under the upper ones with their numbers."""
    return 20.0 + (count - 1 - level) * 11.0


def rack_marks(k: Kit, row: RackRow, depth: float) -> list[Box]:
    """A mark at every fifth space, a long one and the number at every tenth, along the rear edge."""
    low, high = k.ends_mm
    boxes = []
    for number in range(0, math.floor((high - 3) / row.rack_pitch_mm) + 1):
        x = number * row.rack_pitch_mm
        if number % 5 == 0:
            boxes.append(mark(x, depth - 8.6, depth - (5.8 if number % 10 == 0 else 7.0), MARK_MM))
        if number % 10 == 0:
            boxes += figures(str(number), x, depth - 5.2, DIGIT_MM)
    return [box for box in boxes if low + 1 < box[0] and box[2] < high - 1]


def read_scale(k: Kit, x: float, y0: float) -> list[Box]:
    """Marks every millimetre to both sides of x, the middle and every fifth one longer."""
    reach = math.ceil(k.racks.travel_out_mm) + 1
    return [
        mark(x + n, y0, y0 + (4.2 if n == 0 else 3.0 if n % 5 == 0 else 2.0), 0.5) for n in range(-reach, reach + 1)
    ]


def _rack(k: Kit, level: int, material: str) -> Part:
    index = k.order[level]
    row, chain = k.racks.rows[index], k.chains[index]
    held = row.name == k.racks.fixed
    low, high = k.ends_mm
    first, last = math.ceil((low + 3) / row.rack_pitch_mm), math.floor((high - 3) / row.rack_pitch_mm)
    depth = rack_depth_mm(level, len(k.racks.rows))
    points = np.vstack(((low, 0.0), (low, depth), (high, depth), (high, 0.0), rack_teeth(chain, row, first, last)))
    outer = exact(polygon(points[::-1]))
    if held:
        holes = tuple(_hole(x, SCREW_Y_MM) for x in k.screws_mm)
    else:
        holes = tuple(_slot(x, SCREW_Y_MM, k.play_mm) for x in k.screws_mm)
    bottom, top = k.rack_z(level)
    marks = rack_marks(k, row, depth)
    above = level + 1 < len(k.racks.rows)
    if above and k.racks.read == k.racks.rows[k.order[level + 1]].name:
        marks += read_scale(k, k.read_x_mm, rack_depth_mm(level + 1, len(k.racks.rows)) + 0.6)
    if row.name == k.racks.read:
        marks.append(mark(k.read_x_mm, depth - 4.2, depth - 0.6, 0.5))
    word = "held" if held else "moving"
    note = f"pitch {row.rack_pitch_mm:.4f} mm, marked at every fifth space, numbered at every tenth"
    body = Body((Slab(outer, holes, bottom, top),), _engraved(marks, top))
    return Part(
        f"rack_{word}_{row.name}",
        f"{word} rack of ring {row.name}",
        1,
        body,
        material,
        note,
        True,
        group=Group.RIGID_RING,
    )


def strip_edge(k: Kit, row: RackRow) -> Array:
    """The toothed upper edge of the straight strip, from left to right, (N, 2); tooth 0 at x = 0."""
    low, high = k.ends_mm
    pitch = row.strip_pitch_mm
    corners = tooth_points(k.strip, pitch)[[0, 3, 2, 1]]
    numbers = range(math.ceil((low + 3) / pitch), math.floor((high - 3) / pitch) + 1)
    return np.vstack([corners + np.array((n * pitch, k.low_mm)) for n in numbers])


def _strip(k: Kit, material: str) -> Part:
    tab0, tab1 = k.tabs_x_mm
    half, y0 = k.tab_mm / 2, k.back_mm - 9.0
    low, high = tab0 + half, tab1 - half
    under = [(high, k.back_mm), (low, k.back_mm), (low, y0), (low - k.tab_mm, y0), (low - k.tab_mm, k.low_mm)]
    over = [(high + k.tab_mm, k.low_mm), (high + k.tab_mm, y0), (high, y0)]
    held = k.racks.fixed == FLEXIBLE
    holes = tuple(_hole(x, k.tab_screw_y_mm) if held else _slot(x, k.tab_screw_y_mm, k.play_mm) for x in k.tabs_x_mm)
    pieces, bottom = [], 0.0
    for index in k.order:
        row = k.racks.rows[index]
        outer = exact(polygon([*under, *strip_edge(k, row), *over]))
        top = k.rack_z(k.order.index(index))[1] + k.heights.gap / 2
        pieces.append(Slab(outer, holes, bottom, top))
        bottom = top
    pieces.append(Slab(exact(polygon([*under, *over])), holes, bottom, k.strip_top_mm))
    pockets: tuple[Slab, ...] = ()
    if k.racks.read == FLEXIBLE:
        pockets = _engraved([mark(tab0, y0 + 0.5, y0 + 2.2, 0.5)], k.strip_top_mm)
    note = f"back {k.strip.back_mm:.2f} mm; lay it so that no seam of the slicer stands on a tooth"
    body = Body(tuple(pieces), pockets)
    return Part(
        "strip", "toothed strip, the flexible ring laid flat", 1, body, material, note, True, group=Group.FLEXIBLE_RING
    )


# --- carriage, rail, base --------------------------------------------------------------------------------------------


def _carriage_outline(k: Kit) -> Contour:
    """Block with a pointer below, shoulders that carry the strip's back, and the round nose that lifts it."""
    e, c, y = k.half_carriage_mm, k.strip.half_span_mm, k.back_mm
    foot, floor = y - BODY_MM, y - 0.5
    crest = -TIP_GAP_MM - k.strip.back_mm
    angles = np.linspace(math.pi, 0.0, 25)
    nose = np.column_stack((NOSE_MM * np.cos(angles), crest - NOSE_MM + NOSE_MM * np.sin(angles)))
    nose = nose[nose[:, 1] > floor + 0.05]
    side = math.sqrt(NOSE_MM**2 - (floor - crest + NOSE_MM) ** 2)
    left = [(-e, foot), (-e, y), (-c - 2.0, y), (-c - 2.0, floor), (-side, floor)]
    right = [(side, floor), (c + 2.0, floor), (c + 2.0, y), (e, y), (e, foot)]
    return polygon([*left, *nose, *right, (1.6, foot), (0.0, foot + 3.0), (-1.6, foot)])


def _cover_outline(k: Kit) -> Contour:
    """A U whose arms reach over the strip to the pads, open about the nose so that the mesh is seen."""
    e, c, y = k.half_carriage_mm, k.strip.half_span_mm, k.back_mm
    foot, sill, top = y - BODY_MM, y - 3.0, k.low_mm + 5.0
    inner = c - 5.0
    arms = [(e, foot), (e, top), (inner, top), (inner, sill), (-inner, sill), (-inner, top), (-e, top), (-e, foot)]
    return polygon([*arms, (-1.6, foot), (0.0, foot + 3.0), (1.6, foot)])


def _carriage(k: Kit, material: str) -> Part:
    c, high = k.strip.half_span_mm, k.body_top_mm
    low = k.racks_top_mm + k.heights.gap
    body = Slab(exact(_carriage_outline(k)), (), 0.0, high)
    pads = tuple(
        Slab(exact(_box(x - PAD_MM / 2, k.low_mm + 0.05, x + PAD_MM / 2, k.low_mm + 5.0)), (), low, high)
        for x in (-c, c)
    )
    cover = Slab(exact(_cover_outline(k)), (), high, high + k.heights.cover)
    note = "the nose is the lobe; a drop of oil or candle wax on nose, shoulders and pads"
    whole = Body((body, *pads, cover))
    words = "carriage with nose and pads"
    return Part("carriage", words, 1, whole, material, note, drawn=True, turned_over=True, group=Group.GENERATOR)


def rail_marks(k: Kit) -> list[Box]:
    """A mark every 5 mm of roller travel, longer every 10, a number every 20."""
    top, boxes = k.rail_top_mm, []
    for way in range(0, math.floor(k.way_mm) + 1, 5):
        boxes.append(mark(way, top - (3.8 if way % 10 == 0 else 2.6), top - 0.8, MARK_MM))
        if way % 20 == 0:
            boxes += figures(str(way), way, top - 9.0, DIGIT_MM)
    return boxes


def _rail(k: Kit, material: str) -> Part:
    low, high = k.ends_mm
    top = k.rail_top_mm
    holes = tuple(_hole(x, top - 13.0) for x in k.screws_mm)
    slab = Slab(exact(_box(low, top - RAIL_MM, high, top)), holes, 0.0, k.heights.rail)
    body = Body((slab,), _engraved(rail_marks(k), k.heights.rail))
    note = "the scale counts the roller's travel in mm"
    return Part("rail", "rail with the roller's scale", 1, body, material, note, True, group=Group.FRAME)


def _base(k: Kit, right: bool, material: str) -> Part:
    tab0, tab1 = k.tabs_x_mm
    depth = rack_depth_mm(0, len(k.racks.rows))
    x0, x1 = tab0 - k.tab_mm / 2 - 3.0, tab1 + k.tab_mm / 2 + 3.0
    y0, y1, middle = k.rail_top_mm - RAIL_MM - 2.0, depth + 8.0, k.way_mm / 2
    x0, x1 = (middle, x1) if right else (x0, middle)
    spots = [(x, y) for y in (SCREW_Y_MM, k.rail_top_mm - 13.0) for x in k.screws_mm]
    spots += [(x, k.tab_screw_y_mm) for x in k.tabs_x_mm]
    holes = tuple(_hole(x, y, THREAD_MM) for x, y in spots if x0 < x < x1)
    marks: list[Box] = []
    if not right and k.racks.read == FLEXIBLE:
        reach = k.back_mm - 9.0 - 0.6
        marks += [(a, 2 * reach - d, b, 2 * reach - c) for a, c, b, d in read_scale(k, tab0, reach)]
    elif not right and len(k.racks.rows) == 1:
        marks += read_scale(k, k.read_x_mm, depth + 0.6)
    if right:
        marks += figures(ratio_digits(k.racks), x1 - 24.0, depth + 2.2, DIGIT_MM)
    name = "base_right" if right else "base_left"
    words = f"{'right' if right else 'left'} half of the base; the held rack and the rail tie both halves together"
    body = Body((Slab(exact(_box(x0, y0, x1, y1)), holes, -k.heights.base, 0.0),), _engraved(marks, 0.0))
    note = f"M3 screws cut their thread in the {THREAD_MM} mm holes"
    return Part(name, words, 1, body, material, note, True, group=Group.FRAME)


def ratio_digits(numbers: Racks) -> str:
    """The ratio as the figures can show it; a fraction is rounded to a whole number."""
    return f"{'-' if numbers.ratio < 0 else ''}{round(abs(numbers.ratio))}:1"


def kit_parts(k: Kit, material: str = "") -> tuple[Part, ...]:
    """All parts of a model, in its coordinates with the roller at 0."""
    levels = range(len(k.racks.rows))
    return (
        _base(k, False, material),
        _base(k, True, material),
        *(_rack(k, level, material) for level in levels),
        _strip(k, material),
        _carriage(k, material),
        _rail(k, material),
    )


def rack_parts(a: Assessment) -> tuple[Part, ...]:
    """Parts of the printed model of a design, see `kit` for what may be raised."""
    return kit_parts(kit(a), made_of(a.design))
