"""What a sheet says of holes, pockets, bosses, hexagons, outlines and drilled holes: texts at leaders and rows of tables."""

from __future__ import annotations

import math
from collections.abc import Callable

from lobewright.make.bodies import Drill, Feature
from lobewright.make.drawing_sizes import ALIKE_MM, Kind, Level, Pattern, Point, arcs
from lobewright.make.drawing_views import Views
from lobewright.make.fits import Fit

FitOf = Callable[[float, Feature, bool], Fit | None]
Table = tuple[str, tuple[tuple[str, str], ...]]
SMALL_MM = 3.0
"""Free sizes below it keep hundredths."""
CHOSEN_SHARE = 1e-3
"""Of a hundredth: what lies so near to a whole number of them was chosen so, what is reckoned does not."""


def size_text(value_mm: float, fine: bool = False) -> str:
    """A size in mm: hundredths where a fit or the mesh hangs on it (``fine``), on small ones and where it was chosen in
    hundredths, else tenths."""
    chosen = abs(value_mm * 100 - round(value_mm * 100)) < CHOSEN_SHARE
    text = f"{value_mm:.{2 if fine or chosen or abs(value_mm) < SMALL_MM else 1}f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text.replace("-", "−")


def _depth(row: Level, span: Point, zero: float) -> str:
    """How deep and from which side of the axial view, or between which heights."""
    deep = f"× {size_text(row.top_mm - row.bottom_mm)} deep"
    if row.top_mm > span[1] - ALIKE_MM:
        return f"{deep} near side"
    if row.bottom_mm < span[0] + ALIKE_MM:
        return f"{deep} far side"
    return f"{deep}, height {size_text(row.bottom_mm - zero)} to {size_text(row.top_mm - zero)}"


def _level_text(row: Level, pattern: Pattern, zero: float, fit_of: FitOf, fine: bool) -> str:
    one, high = row.shape, size_text(row.top_mm - row.bottom_mm)
    fit = fit_of(one.size_mm, one.loop.feature, row.inside)
    tail = f" {fit.text}" if fit and one.kind is not Kind.HEXAGON else ""
    fitted = fit is not None or (one.kind is Kind.HEXAGON and one.loop.feature is not Feature.NUT)
    size = size_text(one.size_mm, fine or fitted)
    name = f"hexagon a/f {size}" if one.kind is Kind.HEXAGON else f"ø{size}{tail}"
    if one.kind is Kind.HEXAGON and one.dip_radius_mm:
        name += f", corners cleared R{size_text(one.dip_radius_mm, True)},"
    if one.kind is Kind.DIPPED:
        name += f" wall, {one.dips} ribs to ø{size_text(one.reach_mm, True)}"
    if not row.inside:
        return f"{name} × {high} high" if one.kind is Kind.HEXAGON else f"boss {name} × {high} high"
    whole = row.bottom_mm < pattern.span_mm[0] + ALIKE_MM and row.top_mm > pattern.span_mm[1] - ALIKE_MM
    if whole or (row is pattern.levels[0] and pattern.through and one.kind is Kind.CIRCLE):
        return name
    return f"{name} {_depth(row, pattern.span_mm, zero)}"


def stack_text(v: Views, row: Pattern, fit_of: FitOf, fine: bool) -> str:
    """What lies round each middle of a pattern, with their number."""
    rows = [_level_text(level, row, v.heights_mm[0], fit_of, fine) for level in row.levels]
    return (f"{row.count} × " if row.count > 1 else "") + ", ".join(rows)


def call_text(v: Views, row: Pattern, fit_of: FitOf, fine: bool) -> str:
    """The text at the leader of a pattern: what and where."""
    what = stack_text(v, row, fit_of, fine)
    x, y = row.first_mm
    if row.square:
        return f"{what} at {size_text(2 * abs(x), fine)} × {size_text(2 * abs(y), fine)}"
    if row.in_row:
        (xa, y), (xb, _) = row.places_mm
        side = "above" if y > 0 else "below"
        if abs(y) < ALIKE_MM:
            return f"{what}, {size_text(xb - xa, fine)} apart"
        return f"{what}, {size_text(xb - xa, fine)} apart, {size_text(abs(y), fine)} {side} the axis"
    if row.count == 1:
        return what if row.circle_mm < ALIKE_MM else f"{what} at {place_text(row.first_mm, fine)}"
    first = min(math.degrees(math.atan2(py, px)) % 360.0 for px, py in row.places_mm)
    turned = f", first at {first:.2f}".rstrip("0").rstrip(".") + "°" if 0.01 < first < 359.99 else ""
    return f"{what} on ø{size_text(row.circle_mm, fine)}{turned}"


def place_text(place: Point, fine: bool, zero: Point = (0.0, 0.0)) -> str:
    """Coordinates from the axis, or from ``zero``."""
    return f"x {size_text(place[0] - zero[0], fine)}, y {size_text(place[1] - zero[1], fine)}"


def called(v: Views) -> list[Pattern]:
    """Patterns told at leaders; the others stand in the table of holes."""
    return [row for row in v.holes if row.square or row.in_row or (v.diameters and not row.free)]


def _from_where(v: Views) -> str:
    return "from the axis" if v.diameters else "from the lower left corner"


def hole_table(v: Views, fit_of: FitOf, fine: bool) -> tuple[Table, ...]:
    """Holes told by coordinates: those of a part without an axis, and those in no order."""
    at_leaders = called(v)
    rows = [
        (stack_text(v, row, fit_of, fine) if k == 0 else "", place_text(place, fine, v.zero_mm))
        for row in v.holes
        if not any(row is one for one in at_leaders)
        for k, place in enumerate(row.places_mm)
    ]
    return ((f"holes, {_from_where(v)}", tuple(rows)),) if rows else ()


def _heights(row: Level, zero: float) -> str:
    return f"heights {size_text(row.bottom_mm - zero)} to {size_text(row.top_mm - zero)}"


def lettered(v: Views) -> list[tuple[str, Level]]:
    """Outlines told by their corners, each with its letter."""
    rows = [row for row in v.outlines if row.shape.kind is Kind.CORNERS]
    return [(chr(ord("a") + k), row) for k, row in enumerate(rows)]


def _rectangle(row: Level, v: Views) -> tuple[str, str]:
    points = row.shape.loop.contour.points_mm - v.zero_mm
    (x0, y0), (x1, y1) = points.min(axis=0), points.max(axis=0)
    name = "opening" if row.inside else "rectangle"
    size = f"{size_text(x1 - x0)} × {size_text(y1 - y0)}, {_heights(row, v.heights_mm[0])}"
    where = f"x {size_text(x0)} to {size_text(x1)}, y {size_text(y0)} to {size_text(y1)}"
    return f"{name} {size}", where


def outline_tables(v: Views, fine: bool) -> tuple[Table, ...]:
    """Outlines by their corners; an arc stands behind the corner from which it runs anticlockwise round the outline."""
    tables: list[Table] = []
    flat = tuple(_rectangle(row, v) for row in v.outlines if row.shape.kind is Kind.RECTANGLE)
    if flat:
        tables.append((f"rectangles, {_from_where(v)}", flat))
    for letter, row in lettered(v):
        contour = row.shape.loop.contour
        rows = []
        for k, (point, arc) in enumerate(zip(contour.points_mm, arcs(contour), strict=True)):
            said = place_text((float(point[0]), float(point[1])), fine, v.zero_mm)
            if arc:
                way = "" if contour.bulges[k] > 0 else " inward"
                said += f"; then R{size_text(arc[0], fine)}{way} round {place_text(arc[1], fine, v.zero_mm)}"
            rows.append((f"{letter}{k + 1}", said))
        name = "opening" if row.inside else "outline"
        tables.append((f"{name} {letter}, {_heights(row, v.heights_mm[0])}, {_from_where(v)}", tuple(rows)))
    return tuple(tables)


def curve_table(v: Views) -> tuple[Table, ...]:
    """Outlines that have too many corners for a sheet, with where they are held."""
    rows = [
        (
            f"{len(row.shape.loop.contour.points_mm)} corners, {_heights(row, v.heights_mm[0])}",
            "not told: in the STEP file",
        )
        for row in v.outlines
        if row.shape.kind is Kind.TABLED
    ]
    return (("curves", tuple(rows)),) if rows else ()


def drill_table(v: Views) -> tuple[Table, ...]:
    """Holes drilled across the axis."""

    def row(drill: Drill) -> tuple[str, str]:
        x, y, z = drill.start_mm
        toward = math.degrees(drill.direction_rad) % 360.0
        where = (
            f"height {size_text(z - v.heights_mm[0])}, from {place_text((x, y), False, v.zero_mm)} toward {toward:g}°"
        )
        return f"ø{size_text(drill.diameter_mm)} × {size_text(drill.length_mm)} deep", where

    return ((f"holes across, {_from_where(v)}", tuple(row(drill) for drill in v.drills)),) if v.drills else ()
