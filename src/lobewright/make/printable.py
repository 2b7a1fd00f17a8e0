"""Whether parts can be printed as they lie: looked at layer by layer, before any solid is made.

What hangs in the air is the area of a layer less that of the layer below, grown by what the printer's overhang angle allows. It
is a *roof* where it is held all round, a *bridge* where it is held at two places or more, else a *ledge*. Roofs and bridges may
span what the printer bridges; a single ledge may stand out by half a bead. Common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from typing import Any

import numpy as np
import shapely

from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.errors import DesignFault, Fault
from lobewright.make.bodies import Part, Turned
from lobewright.make.first_layer import LEAST_AREA_MM2, NEAR_MM, thin_walls
from lobewright.make.levels import Level, slab_levels, turned_area
from lobewright.make.print_set import Allowance, broken, closed_over, lost_fault
from lobewright.make.splitting import lies_on

CHORD_MM = 0.005
WHOLE_SHARE = 0.05
"""Of a bead: a wall closer than this to whole beads is taken as whole."""
LEAST_BEADS = 2


def _sliced(turned: Turned, layer_mm: float) -> list[Level]:
    """A turned profile as flat rings, one for each layer."""
    flat = turned.profile.polygon()
    _, low, _, high = flat.bounds
    count = max(1, math.ceil((high - low) / layer_mm - 1e-9))
    ends = pairwise(np.linspace(low, high, count + 1).tolist())
    return [Level(a, b, turned_area(flat, (a + b) / 2, CHORD_MM)) for a, b in ends]


def _with_closed(rows: list[Level], layer_mm: float, up: float) -> list[Level]:
    """The levels with the holes that are closed for one layer."""
    closed = closed_over(rows, layer_mm, up)
    heights = sorted({z for one in closed for z in (one.bottom_mm, one.top_mm)})
    found = []
    for row in rows:
        marks = [row.bottom_mm, *(z for z in heights if row.bottom_mm < z < row.top_mm), row.top_mm]
        for low, high in pairwise(marks):
            here = [one.area for one in closed if one.bottom_mm < (low + high) / 2 < one.top_mm]
            found.append(Level(low, high, shapely.union_all([row.area, *here]) if here else row.area))
    return found


def as_printed(part: Part, layer_mm: float) -> list[Level]:
    """The part's levels from the bed up, its nominal outlines; turned profiles layer by layer. Holes across are left out."""
    rows = _with_closed(list(slab_levels(part.body)), layer_mm, -1.0 if part.turned_over else 1.0)
    for piece in part.body.pieces:
        if isinstance(piece, Turned):
            rows += _sliced(piece, layer_mm)
    if part.turned_over:
        rows = [Level(-row.top_mm, -row.bottom_mm, row.area) for row in rows]
    return sorted(rows, key=lambda row: (row.bottom_mm, row.top_mm))


def _below(rows: Sequence[Level], row: Level) -> Any:
    """What stands right under a level, or beside it from below on."""
    under = [one.area for one in rows if one.bottom_mm < row.bottom_mm - 1e-6 and one.top_mm > row.bottom_mm - 1e-6]
    return shapely.union_all(under)


def _lines(shape: Any) -> list[Any]:
    """Joined runs of lines, the short ends between two polygon corners left out."""
    merged = shapely.line_merge(shape) if shape.geom_type == "MultiLineString" else shape
    return [
        one
        for one in shapely.get_parts(merged)
        if one.geom_type in ("LineString", "LinearRing") and one.length > 2 * NEAR_MM
    ]


def _hanging(air: Any, held: Any, ledge_mm: float) -> tuple[str, float]:
    """What an area in the air is, and the length (mm) that counts: a span, or how far a ledge stands out."""
    edge = air.boundary
    free, borne = _lines(edge.difference(held)), _lines(edge.intersection(held))
    if not free and borne:
        sides = shapely.get_coordinates(air.minimum_rotated_rectangle)
        return "roof", float(min(np.hypot(*(sides[1] - sides[0])), np.hypot(*(sides[2] - sides[1]))))
    if len(borne) >= 2 and not any(line.is_ring for line in free):
        return "bridge", max(float(line.length) for line in free)
    if not borne:
        return "island", math.inf
    points = shapely.points(shapely.get_coordinates(air))
    return "ledge", float(shapely.distance(points, held).max()) + ledge_mm


def _overhangs(part: Part, rows: Sequence[Level], printer: m.Printer) -> Iterable[Fault]:
    """What hangs too far, of each kind the worst."""
    worst: dict[str, tuple[float, Fault]] = {}
    for kind, length, fault in _hanging_too_far(part, rows, printer):
        if kind not in worst or length > worst[kind][0]:
            worst[kind] = (length, fault)
    return [fault for _, fault in worst.values()]


def _hanging_too_far(part: Part, rows: Sequence[Level], printer: m.Printer) -> Iterator[tuple[str, float, Fault]]:
    reach = printer.layer_mm * math.tan(math.radians(printer.overhang_deg)) + NEAR_MM
    bed = rows[0].bottom_mm
    for row in rows:
        if row.bottom_mm <= bed + 1e-6:
            continue
        held = _below(rows, row).buffer(reach)
        for air in shapely.get_parts(row.area.difference(held)):
            if air.geom_type != "Polygon" or air.area < LEAST_AREA_MM2:
                continue
            kind, length = _hanging(air, held.buffer(NEAR_MM), reach)
            # A slope repeats its step layer by layer; only a single step may stand out further.
            single = printer.extrusion_width_mm / 2 if row.top_mm - row.bottom_mm > 1.5 * printer.layer_mm else 0.0
            most = printer.bridge_mm if kind in ("roof", "bridge") else single + reach
            if length <= most:
                continue
            height = row.bottom_mm - bed
            if kind == "island":
                what = f"{part.name} begins in the air {height:.1f} mm above the bed"
                yield kind, length, Fault(what, allowed="something below it, or support")
            else:
                place = "process.bridge_mm" if kind in ("roof", "bridge") else "process.overhang_deg"
                what = f"{part.name} has a {kind} {height:.1f} mm above the bed that does not print without support"
                yield kind, length, Fault(what, place, value=f"{length:.1f} mm", allowed=f"at most {most:.1f} mm")


def _walls(part: Part, rows: Sequence[Level], printer: m.Printer) -> Iterator[Fault]:
    least = LEAST_BEADS * printer.extrusion_width_mm
    seen = [row for k, row in enumerate(rows) if k == 0 or not row.area.equals(rows[k - 1].area)]
    if any(thin_walls(row.area, least, ribs=False) for row in seen):
        what = f"{part.name} has a wall thinner than {LEAST_BEADS} beads"
        yield Fault(what, "process.extrusion_width_mm", allowed=f"at least {least:g} mm")


def _size(part: Part, rows: Sequence[Level], printer: m.Printer) -> Iterator[Fault]:
    x0, y0, x1, y1 = shapely.union_all([row.area for row in rows]).bounds
    x, y, z = x1 - x0, y1 - y0, rows[-1].top_mm - rows[0].bottom_mm
    bed_x, bed_y, bed_z = printer.bed_mm
    value = f"{x:.1f} × {y:.1f} × {z:.1f} mm"
    allowed = f"at most {bed_x:g} × {bed_y:g} × {bed_z:g} mm"
    if z > bed_z:
        yield Fault(f"{part.name} is higher than the printer prints", "process.bed_mm", value=value, allowed=allowed)
    elif not lies_on(x, y, printer.bed_mm):
        yield Fault(f"{part.name} is larger than the bed", "process.bed_mm", value=value, allowed=allowed)


def print_faults(parts: Iterable[Part], printer: m.Printer) -> list[Fault]:
    """All that keeps parts from being printed as they lie, one sentence each. ``parts``: those that are printed.

    A part that says where it needs support is not looked at for what hangs.
    """
    found: list[Fault] = []
    for part in parts:
        rows = as_printed(part, printer.layer_mm)
        if not part.material:
            found.append(Fault(f"{part.name} has no material", allowed="a material of the catalogue"))
        found += _size(part, rows, printer)
        thin = list(_walls(part, rows, printer))
        lost = "" if thin else broken(part, Allowance.of(printer))
        found += [*thin, lost_fault(lost)] if lost else thin
        if not part.support:
            found += _overhangs(part, rows, printer)
    return found


def require_printable(parts: Iterable[Part], printer: m.Printer) -> None:
    """Raises DesignFault with all of :func:`print_faults`."""
    faults = print_faults(parts, printer)
    if faults:
        raise DesignFault(faults)


def bead_notes(design: m.Design) -> tuple[str, ...]:
    """Walls of a printed flexible ring that are no whole number of beads, and the nearest that is."""
    printer, ring = design.process, design.flexible_ring
    if not isinstance(printer, m.Printer) or not isinstance(ring, m.PrintedRing | m.PrintedCup):
        return ()
    if catalogue.material(ring.material).kind is not catalogue.MaterialKind.PRINTED:
        return ()
    walls = {"wall_mm": ring.wall_mm}
    if isinstance(ring, m.PrintedCup):
        walls["barrel_wall_mm"] = ring.barrel_wall_mm
    notes, width = [], printer.extrusion_width_mm
    for key, wall in walls.items():
        beads = max(LEAST_BEADS, round(wall / width))
        if abs(wall - beads * width) > WHOLE_SHARE * width:
            notes.append(
                f"flexible_ring.{key} of {wall:g} mm is {wall / width:.2f} beads; {beads} beads are {beads * width:.2f} mm"
            )
    return tuple(notes)
