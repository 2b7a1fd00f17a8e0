"""One sheet: frame, title block, both views of a part with their dimensions, notes and tables, at a scale of ISO 5455."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from lobewright import __version__
from lobewright.design import model as m
from lobewright.make import drawing_dims as d
from lobewright.make.bodies import Feature
from lobewright.make.drawing_calls import (
    call_text,
    called,
    drill_table,
    hole_table,
    lettered,
    outline_tables,
    size_text,
)
from lobewright.make.drawing_mesh import Detail
from lobewright.make.drawing_sizes import Diameter
from lobewright.make.drawing_views import Views
from lobewright.make.fits import Fit, Seat, has_class, hole_fit, locating_fit, seat_fit, shaft_bore_fit
from lobewright.picture.display import Anchor, Group, Item, Path, Picture, Placement, Point
from lobewright.picture.palette import Role

Array = np.ndarray
SCALES = (10.0, 5.0, 2.0, 1.0, 0.5, 0.2, 0.1)
"""ISO 5455."""
MARGIN_MM, BINDING_MM = 10.0, 20.0
BLOCK_MM = (180.0, 34.0)
TABLE_MM = 108.0
GAP_MM = 30.0
"""Between the views, and left of the first where a height stands there."""
ABOVE_MM, CALL_MM = 14.0, 5.2
"""Above the views, and more for each row of holes that is called there."""
CALL_LIFT_MM = 6.0
TRACE_MM, LOOK_MM = 5.5, 7.0
"""Of the trace of the section: the thick stroke at either end, and the arrow that tells where one looks."""
RIB_ROOM_MM = 0.25
"""A seat with ribs is wider than its bearing by less."""


@dataclass(frozen=True)
class Paper:
    name: str
    width_mm: float
    height_mm: float


A4, A3 = Paper("A4", 297.0, 210.0), Paper("A3", 420.0, 297.0)


@dataclass(frozen=True)
class Heading:
    """What the title block says; ``number`` and ``count`` of the sheets."""

    part: str
    file: str
    drive: str
    quantity: int
    material: str
    date: str
    number: int
    count: int
    tolerance: str


@dataclass(frozen=True)
class Content:
    """What stands on a sheet beside the views: tables (title, rows) and notes; ``detail`` of the mesh.

    ``process``: None where others make the part and hold their own limits. ``seats``: of bearings, in the part;
    ``fine``: the mesh hangs on the part, its sizes keep hundredths.
    """

    views: Views
    process: m.Printer | m.Machined | None
    shaft_mm: float
    tables: tuple[tuple[str, tuple[tuple[str, str], ...]], ...]
    notes: tuple[str, ...]
    detail: Detail | None
    seats: tuple[Seat, ...] = ()
    fine: bool = False


def scale_words(scale: float) -> str:
    return f"{scale:g}:1" if scale >= 1 else f"1:{1 / scale:g}"


def fit_of(content: Content, size_mm: float, feature: Feature, inside: bool) -> Fit | None:
    """The fit that stands behind a diameter; None where the general tolerance holds."""
    machined = isinstance(content.process, m.Machined)
    if content.process is None or (machined and not has_class(size_mm)):
        return None
    for seat in content.seats:
        if seat.housing is inside and abs(size_mm - seat.size_mm) < RIB_ROOM_MM:
            return seat_fit(content.process, seat)
    if feature is Feature.SEAT:
        return locating_fit(content.process, size_mm, inside)
    if inside and abs(size_mm - content.shaft_mm) < 1e-6:
        return shaft_bore_fit(content.process, size_mm)
    return hole_fit(content.process, size_mm) if feature is Feature.BOLT_HOLE and inside else None


def size_tables(content: Content) -> tuple[tuple[str, tuple[tuple[str, str], ...]], ...]:
    """Tables of what no dimension in the views tells: holes by coordinates, outlines by corners, holes across."""
    v = content.views
    holes = hole_table(v, lambda *one: fit_of(content, *one), content.fine)
    return (*holes, *outline_tables(v, content.fine), *drill_table(v))


# --- placing -------------------------------------------------------------------------------------------------------


def _left_mm(v: Views) -> float:
    """Room left of the axial view: a height is drawn there unless the part is round."""
    return 14.0 if v.round_outside else GAP_MM


def _above_mm(v: Views) -> float:
    return ABOVE_MM + CALL_MM * max(0, len(called(v)) - 1) + _lift_mm(v) - CALL_LIFT_MM


def _wants_mm(content: Content, scale: float) -> tuple[float, float]:
    """Width and height that the views with all their dimensions take."""
    v = content.views
    x0, _, x1, _ = v.box_mm
    z0, z1 = v.heights_mm[0], v.heights_mm[-1]
    wide = scale * (x1 - x0 + z1 - z0) + _left_mm(v) + GAP_MM + d.STEP_MM * (len(content.views.diameters) + 1) + 12
    return wide, scale * (_up_mm(v) + _down_mm(v)) + _below_mm(v) + max(_above_mm(v), _over_mm(content, scale))


def _diameter_text(content: Content, one: Diameter) -> str:
    fit = fit_of(content, one.diameter_mm, one.feature, one.inside)
    fine = content.fine or fit is not None or bool(one.words)
    text = f"ø{size_text(one.diameter_mm, fine)}" + (f" {one.words}" if one.words else "")
    return text + (f" {fit.text}" if fit else "")


def _over_mm(content: Content, scale: float) -> float:
    """How far texts of diameters that find no room between their arrows stand out above the views, mm of paper."""
    rows = [0.0]
    for one in content.views.diameters:
        long, wide = d.text_width_mm(_diameter_text(content, one)), scale * one.diameter_mm
        if wide < long + 2 * d.ARROW_MM:
            rows.append(wide / 2 + 2 * d.ARROW_MM + long + 2.0 - scale * _up_mm(content.views))
    return max(rows)


def _up_mm(v: Views) -> float:
    """How far the views reach above the axis, in mm of the part."""
    return max(v.box_mm[3], v.span_mm[1])


def _down_mm(v: Views) -> float:
    """How far the views reach below the axis, in mm of the part."""
    return -min(v.box_mm[1], v.span_mm[0])


def _below_mm(v: Views) -> float:
    """Room below the views for heights and widths."""
    return max(d.STEP_MM * (len(v.heights_mm) - 1) + 10, 22 if v.round_outside else 26)


@dataclass(frozen=True)
class Columns:
    """Tables in columns from the right: their items, the left edge of the last column and the height where it ends."""

    items: tuple[Item, ...]
    left_mm: float
    end_mm: float


def _columns(paper: Paper, content: Content) -> Columns:
    items: list[Item] = []
    top = start = paper.height_mm - MARGIN_MM - 3
    left = paper.width_mm - MARGIN_MM - TABLE_MM - 2
    for title, rows in content.tables:
        made, end = d.table(left, top, TABLE_MM, rows, title)
        if end < MARGIN_MM + BLOCK_MM[1] + 2 and top < start:
            left, top = left - TABLE_MM - 3, start
            made, end = d.table(left, top, TABLE_MM, rows, title)
        items += made
        top = end - 4
    return Columns(tuple(items), left, top)


def _beside(paper: Paper, content: Content) -> bool:
    """Whether the detail has room below the tables; else it stands below the views."""
    detail = content.detail
    if detail is None or not content.tables:
        return False
    room = _columns(paper, content).end_mm - (MARGIN_MM + BLOCK_MM[1])
    return 2 * detail.half_high_mm + 14 <= room and 2 * detail.half_wide_mm + 14 <= TABLE_MM


def _area(paper: Paper, content: Content) -> tuple[float, float, float, float]:
    """Where the views may stand: above the title block, left of the tables."""
    right = _columns(paper, content).left_mm - 4 if content.tables else paper.width_mm - MARGIN_MM - 2
    low = MARGIN_MM + BLOCK_MM[1] + 3
    if content.detail and not _beside(paper, content):
        low += 2 * content.detail.half_high_mm + 14
    return BINDING_MM + 2, low, right, paper.height_mm - MARGIN_MM - 2


def chosen(content: Content) -> tuple[Paper, float]:
    """Paper and scale: A4 as long as the part is shown at half its size at least, else A3."""
    best = (A3, SCALES[-1])
    for paper in (A4, A3):
        if content.tables and paper is A4:
            continue
        x0, y0, x1, y1 = _area(paper, content)
        for scale in SCALES:
            wide, high = _wants_mm(content, scale)
            if wide <= x1 - x0 and high <= y1 - y0:
                best = (paper, scale)
                break
        else:
            continue
        if best[1] >= 0.5:
            return best
    return best


# --- views ---------------------------------------------------------------------------------------------------------


def _at(points: Array, scale: float, middle: Point) -> tuple[Point, ...]:
    return tuple((middle[0] + scale * float(x), middle[1] + scale * float(y)) for x, y in points)


def axial_items(content: Content, scale: float, middle: Point) -> list[Item]:
    """The part seen along its axis, with the callouts of its holes and the trace of the section."""
    v = content.views
    x0, y0, x1, y1 = (scale * b for b in v.box_mm)
    out: list[Item] = []
    runs = tuple(_at(run, scale, middle) for run in v.seen)
    if runs:
        out.append(Path(runs, closed=False, line=Role.INK, line_px=d.WIDE_PX if scale >= 1 else 0.7 * d.WIDE_PX))
    cx, cy = middle
    for run in v.hidden:
        out.append(Path((_at(run, scale, middle),), closed=False, line=Role.INK, line_px=d.THIN_PX, dash_px=1.2 * d.PX))
    out += d.centre_line((cx + x0 - 4, cy), (cx + x1 + 4, cy))
    out += d.centre_line((cx, cy + y0 - 4), (cx, cy + y1 + 4))
    out += _calls(content, scale, middle)
    out += _corner_numbers(v, scale, middle)
    out += _trace(v, scale, middle)
    if not v.round_outside:
        below = 9 if all(spot[1] > cy + y0 - 2 for spot in _letters(v, scale, middle)) else 20
        out += d.dimension(cx + x0, cx + x1, cy + y0 - below, (cy + y0, cy + y0), size_text((x1 - x0) / scale), False)
        # The height keeps clear of the arrow and the letter of the trace where they stand left of the part.
        aside = 9 if all(spot[0] > cx + x0 for spot in _letters(v, scale, middle)) else 22
        out += d.dimension(cy + y0, cy + y1, cx + x0 - aside, (cx + x0, cx + x0), size_text((y1 - y0) / scale), True)
    return out


def _calls(content: Content, scale: float, middle: Point) -> list[Item]:
    """Leaders on holes, pockets, bosses and hexagons, with their circles."""
    v, (cx, cy) = content.views, middle
    out: list[Item] = []
    # The farther right a hole, the higher its text: so no leader crosses the text of another.
    rows = sorted(called(v), key=lambda row: row.first_mm[0])
    for circle in sorted({row.circle_mm for row in rows if row.even and not (row.square or row.in_row)}):
        ring = np.linspace(0, 2 * math.pi, 181)
        points = scale * circle / 2 * np.column_stack((np.cos(ring), np.sin(ring)))
        pairs = [tuple(_at(points[k : k + 4], 1.0, middle)) for k in range(0, 180, 5)]
        out.append(Path(tuple(pairs), closed=False, line=Role.INK, line_px=d.THIN_PX))
    for k, row in enumerate(rows):
        x, y = row.first_mm
        away = math.atan2(y, x) if row.circle_mm > 1e-6 else math.pi / 2
        r = row.diameter_mm / 2
        tip = (cx + scale * (x + r * math.cos(away)), cy + scale * (y + r * math.sin(away)))
        top = cy + scale * v.box_mm[3] + _lift_mm(v) + CALL_MM * k
        text = call_text(v, row, lambda *one: fit_of(content, *one), content.fine)
        knee = (max(BINDING_MM + d.text_width_mm(text) + 4, cx + scale * x - 4), top)
        out += d.leader(tip, knee, text, to_left=True)
    return out


def _corner_numbers(v: Views, scale: float, middle: Point) -> list[Item]:
    """Numbers at the corners that a table tells, outside the outline; one that would lie on another text is left out."""
    out: list[Item] = []
    taken = _letters(v, scale, middle)
    for letter, level in lettered(v):
        points = level.shape.loop.contour.points_mm
        before, after = (np.roll(points, by, axis=0) - points for by in (1, -1))
        inward = before / np.hypot(*before.T)[:, None] + after / np.hypot(*after.T)[:, None]
        for k, (point, way) in enumerate(zip(points, inward, strict=True)):
            long = float(np.hypot(*way))
            # At a tangent there is no inside corner; then away from the middle.
            out_way = (
                -way / long if long > 0.3 else (point - points.mean(axis=0)) / np.hypot(*(point - points.mean(axis=0)))
            )
            spot = np.array(middle) + scale * point + 2.6 * out_way
            at = (float(spot[0]), float(spot[1]) - 0.8)
            if all(abs(at[0] - x) > 5.0 or abs(at[1] - y) > 2.8 for x, y in taken):
                out.append(d.words(at, f"{letter}{k + 1}", 2.2, Anchor.MIDDLE))
                taken.append(at)
    return out


def _exit(v: Views, c: float, s: float) -> float:
    """How far from the axis a ray leaves the part's box, or the circle round the part where that is nearer."""
    x0, y0, x1, y1 = v.box_mm
    ways = [edge / part for edge, part in ((x1, c), (x0, c), (y1, s), (y0, s)) if edge * part > 1e-9]
    farthest = max(float(np.hypot(*run.T).max()) for run in v.seen)
    return min([*ways, farthest])


def _look(v: Views) -> Point:
    """Where one looks in the section, so that heights run to the right."""
    return math.sin(v.cut_rad), -math.cos(v.cut_rad)


def _ends(v: Views, scale: float, middle: Point) -> list[tuple[Point, Point]]:
    """The two strokes of the trace, each from the part outward."""
    c, s = math.cos(v.cut_rad), math.sin(v.cut_rad)
    rows = []
    for sign in (1.0, -1.0):
        reach = scale * _exit(v, sign * c, sign * s)
        a, b = (sign * (reach + gap) for gap in (1.5, 1.5 + TRACE_MM))
        rows.append(((middle[0] + a * c, middle[1] + a * s), (middle[0] + b * c, middle[1] + b * s)))
    return rows


def _letters(v: Views, scale: float, middle: Point) -> list[Point]:
    """Where the letters of the trace stand: behind the arrows."""
    look = _look(v)
    far = LOOK_MM + 2.5
    return [(end[0] - far * look[0], end[1] - far * look[1] - 1.4) for _, end in _ends(v, scale, middle)]


def _lift_mm(v: Views) -> float:
    """How far above the part the lowest call stands: over the letter of the trace."""
    high = v.box_mm[3]
    steep = math.sin(v.cut_rad)
    if abs(v.box_mm[3]) < 1e-9 or not v.seen:
        return CALL_LIFT_MM
    above = [
        sign * steep * (1.5 + TRACE_MM) + math.cos(v.cut_rad) * (LOOK_MM + 2.5) + 3.0
        for sign in (1.0, -1.0)
        if sign * steep * _exit(v, sign * math.cos(v.cut_rad), sign * steep) > 0.6 * high
    ]
    return max([CALL_LIFT_MM, *above])


def _trace(v: Views, scale: float, middle: Point) -> list[Item]:
    """Where the plane of section runs, the arrows that tell where one looks, and their letters."""
    out: list[Item] = []
    look = _look(v)
    for (a, b), spot in zip(_ends(v, scale, middle), _letters(v, scale, middle), strict=True):
        tail = (b[0] - LOOK_MM * look[0], b[1] - LOOK_MM * look[1])
        out += [d.line(a, b, d.WIDE_PX), d.line(tail, b), d.arrow_head(b, math.atan2(look[1], look[0]))]
        # Paper behind the letter: leaders may run there.
        out += [d.on_paper(spot, "A", 4.0)[0], d.words(spot, "A", 4.0, Anchor.MIDDLE, strong=True)]
    return out


def _loops(flat: shapely.Geometry, scale: float, middle: Point, z0: float) -> list[tuple[tuple[Point, ...], ...]]:
    out = []
    for part in shapely.get_parts(flat):
        if part.geom_type == "Polygon" and part.area > 1e-9:
            rings = [part.exterior, *part.interiors]
            out.append(tuple(_at(shapely.get_coordinates(ring)[:-1] - (z0, 0.0), scale, middle) for ring in rings))
    return out


def section_items(content: Content, scale: float, middle: Point) -> list[Item]:
    """Section A-A: heights along the sheet, the axis in the middle, dimensions of heights below and of diameters beside."""
    v = content.views
    z0, z1 = v.heights_mm[0], v.heights_mm[-1]
    cx, cy = middle
    out: list[Item] = []
    edges = [shapely.get_coordinates(part) - (z0, 0.0) for part in shapely.get_parts(v.beyond) if part.length > 1e-6]
    if edges:
        out.append(
            Path(tuple(_at(one, scale, middle) for one in edges), closed=False, line=Role.INK, line_px=d.THIN_PX)
        )
    for loops in _loops(v.cut, scale, middle, z0):
        out.append(Path(loops, fill=Role.PAPER, hatch=Role.INK, line=Role.INK, line_px=d.WIDE_PX))
    right = cx + scale * (z1 - z0)
    low, high = (cy + scale * end for end in v.span_mm)
    out += d.centre_line((cx - 5, cy), (right + 5, cy))
    for k, z in enumerate(v.heights_mm[1:]):
        level = low - 8 - d.STEP_MM * k
        out += d.dimension(cx, cx + scale * (z - z0), level, (low, low), size_text(z - z0), False)
    for k, one in enumerate(content.views.diameters):
        half = scale * one.diameter_mm / 2
        text = _diameter_text(content, one)
        start = cx + scale * (one.top_mm - z0)
        out += d.dimension(cy - half, cy + half, right + 9 + d.STEP_MM * k, (start, start), text, True)
    out.append(d.words(((cx + right) / 2, high + 5), "A-A", 4.0, Anchor.MIDDLE, strong=True))
    return out


# --- frame -------------------------------------------------------------------------------------------------------


def _first_angle(x: float, y: float) -> list[Item]:
    """The symbol of first angle projection (ISO 5456): the cone's side view left, its end view right of it."""
    cone = ((x, y - 2.0), (x + 7.0, y - 3.5), (x + 7.0, y + 3.5), (x, y + 2.0))
    out: list[Item] = [Path((cone,), line=Role.INK, line_px=0.6 * d.WIDE_PX)]
    for radius in (2.0, 3.5):
        ring = np.linspace(0, 2 * math.pi, 49)
        points = np.column_stack((x + 13.5 + radius * np.cos(ring), y + radius * np.sin(ring)))
        out.append(Path((tuple((float(a), float(b)) for a, b in points),), line=Role.INK, line_px=0.6 * d.WIDE_PX))
    return [*out, *d.centre_line((x - 1.5, y), (x + 8.5, y)), *d.centre_line((x + 9, y), (x + 18, y))]


def frame_items(paper: Paper, head: Heading, scale: float) -> list[Item]:
    """Border and title block (in the manner of ISO 7200)."""
    right, low = paper.width_mm - MARGIN_MM, MARGIN_MM
    x, top = right - BLOCK_MM[0], low + BLOCK_MM[1]
    out: list[Item] = [d.box(BINDING_MM, low, right, paper.height_mm - MARGIN_MM, 1.4 * d.WIDE_PX)]
    out.append(d.box(x, low, right, top, d.WIDE_PX, Role.PAPER))
    for y in (low + 10, low + 20):
        out.append(d.line((x, y), (right, y)))
    columns = ((x + 90, low + 20, top), (x + 130, low + 20, top), (x + 90, low, low + 20), (x + 118, low, low + 20))
    out += [d.line((at, a), (at, b)) for at, a, b in (*columns, (x + 152, low, low + 20))]
    cells = (
        (x, top, "part", head.part, d.TITLE_MM, 90.0),
        (x + 90, top, "quantity", str(head.quantity), 4.0, 40.0),
        (x + 130, top, "sheet", f"{head.number} of {head.count}", 4.0, 50.0),
        (x, low + 20, "drive", head.drive, d.TEXT_MM, 90.0),
        (x, low + 10, "material", head.material, d.TEXT_MM, 90.0),
        (x + 90, low + 20, "scale", scale_words(scale), 4.0, 28.0),
        (x + 90, low + 10, "size", paper.name, 4.0, 28.0),
        (x + 118, low + 20, "unit", "mm", 4.0, 34.0),
        (x + 118, low + 10, "date", head.date, d.TEXT_MM, 34.0),
        (x + 152, low + 10, "made by", f"Lobewright {__version__}", d.SMALL_MM, 28.0),
    )
    for left, up, label, text, size, wide in cells:
        room = wide - 3.0
        shrunk = min(size, size * room / max(d.text_width_mm(text, size), 1e-9))
        out.append(d.words((left + 1.5, up - 3.0), label, 2.0))
        out.append(d.words((left + 1.5, up - (11.0 if up == top else 8.2)), text, shrunk, strong=size > 4.0))
    return [*out, *_first_angle(x + 156, low + 15)]


def note_items(paper: Paper, notes: Sequence[str]) -> list[Item]:
    """Notes left of the title block, from its upper edge down; a sheet with tables has wider ones."""
    wide = paper.width_mm - MARGIN_MM - BLOCK_MM[0] - BINDING_MM - 5
    rows = [line for note in notes for line in d.wrapped(note, wide)]
    size = d.SMALL_MM
    while len(rows) * 1.4 * size > BLOCK_MM[1] - 2 and size > 1.4:
        size -= 0.1
        rows = [line for note in notes for line in d.wrapped(note, wide, size)]
    top = MARGIN_MM + BLOCK_MM[1] - 1.0
    return [d.words((BINDING_MM + 2, top - (k + 0.8) * 1.4 * size), row, size) for k, row in enumerate(rows)]


def sheet(content: Content, head: Heading) -> tuple[Picture, Paper, float]:
    """The whole sheet as a picture in mm of paper, with the paper and the scale that were chosen."""
    paper, scale = chosen(content)
    v = content.views
    ax0, ay0, ax1, ay1 = _area(paper, content)
    wide, high = _wants_mm(content, scale)
    x0, _, x1, _ = (scale * b for b in v.box_mm)
    left = ax0 + max(0.0, (ax1 - ax0 - wide) / 2)
    cy = ay0 + max(0.0, (ay1 - ay0 - high) / 2) + _below_mm(v) + scale * _down_mm(v)
    cx = left + _left_mm(v) - x0
    items = [*frame_items(paper, head, scale), *axial_items(content, scale, (cx, cy))]
    items += section_items(content, scale, (cx + x1 + GAP_MM, cy))
    items += _columns(paper, content).items
    if content.detail:
        detail = content.detail
        edge = _columns(paper, content).left_mm + 2 if _beside(paper, content) else BINDING_MM + 20
        at = (edge + detail.half_wide_mm, MARGIN_MM + BLOCK_MM[1] + 9 + detail.half_high_mm)
        shift = Placement(*at)
        # A clipping window does not move with its group, so the detail is drawn where it stands.
        items += [_moved(item, shift) for item in detail.items]
        items.append(d.words((at[0] - detail.half_wide_mm, at[1] - detail.half_high_mm - 4), detail.words, d.SMALL_MM))
    items += note_items(paper, content.notes)
    about = (
        f"Dimensioned drawing of {head.part} for {head.drive}, scale {scale_words(scale)}, {paper.name}, first angle"
    )
    picture = Picture((0.0, 0.0, paper.width_mm, paper.height_mm), tuple(items), f"{head.drive}: {head.part}", about)
    return picture, paper, scale


def _moved(item: Item, by: Placement) -> Item:
    """An item put elsewhere on the sheet, its clipping window with it."""
    if isinstance(item, Group) and item.clip:
        x0, y0, x1, y1 = item.clip
        return Group(item.items, (by,), item.fade, (x0 + by.x, y0 + by.y, x1 + by.x, y1 + by.y))
    return Group((item,), (by,))
