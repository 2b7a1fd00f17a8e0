"""The rack model drawn from its own outlines, the roller anywhere on its way."""

from __future__ import annotations

import math

import numpy as np
import shapely

from lobewright.make.bodies import Part, Slab
from lobewright.make.outlines import Contour
from lobewright.make.rack_mesh import tooth_at
from lobewright.make.rack_parts import Kit, kit_parts, rack_depth_mm
from lobewright.motion import FLEXIBLE
from lobewright.picture.display import Anchor, Arrow, Item, Path, Picture, Point, Text
from lobewright.picture.palette import Role

CHORD_MM = 0.02
SAMPLE_MM = 0.5


def _loop(contour: Contour, x_mm: float = 0.0) -> tuple[Point, ...]:
    return tuple((float(x) + x_mm, float(y)) for x, y in contour.sampled(CHORD_MM))


def _flat(part: Part, piece: int, x_mm: float, fill: Role, line: Role) -> tuple[Item, ...]:
    slab = part.body.pieces[piece]
    assert isinstance(slab, Slab)
    loops = tuple(_loop(one.contour, x_mm) for one in (slab.outer, *slab.holes))
    marks = tuple(_loop(pocket.outer.contour, x_mm) for pocket in part.body.pockets)
    plate = Path(loops, fill=fill, line=line, line_px=0.7)
    return (plate, Path(marks, fill=Role.INK)) if marks else (plate,)


def strip_shape(k: Kit, row_index: int, way_mm: float) -> shapely.Polygon:
    """Strip with one row of teeth as the roller lifts it, in coordinates of the base, without its tabs."""
    row, strip = k.racks.rows[row_index], k.strip
    shift = float(k.racks.speeds[FLEXIBLE]) * way_mm
    low, high = k.ends_mm
    u = np.unique(np.concatenate((np.arange(low, high, SAMPLE_MM), (high,)))) + shift - way_mm
    x, y, slope = strip.lifted(u)
    normal = np.column_stack((-slope, np.ones_like(slope))) / np.hypot(1.0, slope)[:, None] * strip.back_mm / 2
    middle = np.column_stack((x, k.low_mm - strip.back_mm / 2 + y))
    shapes = [shapely.Polygon(np.vstack((middle + normal, (middle - normal)[::-1])))]
    pitch = row.strip_pitch_mm
    for n in range(math.ceil((low + 3) / pitch), math.floor((high - 3) / pitch) + 1):
        shapes.append(tooth_at(strip, pitch, n * pitch + shift - way_mm).buffer(0.004))
    return shapely.affinity.translate(shapely.union_all(shapes), way_mm, 0.0)


def _strip(k: Kit, part: Part, row_index: int, way_mm: float) -> tuple[Item, ...]:
    shift = float(k.racks.speeds[FLEXIBLE]) * way_mm
    loop = tuple((float(x), float(y)) for x, y in strip_shape(k, row_index, way_mm).exterior.coords[:-1])
    slab = part.body.pieces[-1]
    assert isinstance(slab, Slab)
    slots = tuple(_loop(hole.contour, shift) for hole in slab.holes)
    y0, half = k.back_mm - 9.0, k.tab_mm / 2
    tabs: list[Item] = []
    for x, slot in zip(k.tabs_x_mm, slots, strict=True):
        more = k.tab_gap_mm + 0.5
        end = half + (more if x > 0 else 0.0), half + (more if x < 0 else 0.0)
        x0, x1 = x - end[0] + shift, x + end[1] + shift
        box = ((x0, y0), (x1, y0), (x1, k.low_mm), (x0, k.low_mm))
        tabs.append(Path((box, slot), fill=Role.FLEXIBLE_SOFT, line=Role.FLEXIBLE, line_px=0.7))
    marks = tuple(_loop(pocket.outer.contour, shift) for pocket in part.body.pockets)
    tabs += [Path(marks, fill=Role.INK)] if marks else []
    return (*tabs, Path((loop,), fill=Role.FLEXIBLE, line=Role.FLEXIBLE, line_px=0.4))


def _rack_roles(k: Kit, name: str) -> tuple[Role, Role]:
    return (Role.RING_A_SOFT, Role.RING_A) if k.order[0] == _index(k, name) else (Role.RING_B_SOFT, Role.RING_B)


def _index(k: Kit, name: str) -> int:
    return next(i for i, row in enumerate(k.racks.rows) if row.name == name)


def model_items(k: Kit, way_mm: float) -> tuple[Item, ...]:
    """The whole model seen from above; the carriage's cover is drawn as a line."""
    parts = {part.name: part for part in kit_parts(k)}
    items: list[Item] = []
    for name in ("base_left", "base_right"):
        items += _flat(parts[name], 0, 0.0, Role.PANEL, Role.RULE)
    for index in k.order:
        row = k.racks.rows[index]
        word = "held" if row.name == k.racks.fixed else "moving"
        x = float(k.racks.speeds[row.name]) * way_mm
        items += _flat(parts[f"rack_{word}_{row.name}"], 0, x, *_rack_roles(k, row.name))
    items += _flat(parts["rail"], 0, 0.0, Role.PAPER, Role.QUIET)
    carriage = parts["carriage"]
    items += _flat(carriage, 0, way_mm, Role.GENERATOR_SOFT, Role.GENERATOR)
    items += _strip(k, parts["strip"], k.order[-1], way_mm)
    for piece in (1, 2):
        items += _flat(carriage, piece, way_mm, Role.GENERATOR, Role.GENERATOR)
    cover = carriage.body.pieces[3]
    assert isinstance(cover, Slab)
    items.append(Path((_loop(cover.outer.contour, way_mm),), line=Role.GENERATOR, line_px=0.8, dash_px=3.0))
    return tuple(items)


def overview(k: Kit, way_mm: float) -> Picture:
    """The model from above with what moves where; drawing units are its millimetres."""
    tab0, tab1 = k.tabs_x_mm
    x0, x1 = tab0 - k.tab_mm / 2 - 5.0, tab1 + k.tab_mm / 2 + 5.0
    y0, y1 = k.rail_top_mm - 30.0, rack_depth_mm(0, len(k.racks.rows)) + 22.0
    numbers = k.racks
    side = 1.0 if numbers.same_sense else -1.0
    arrow_y, middle = k.rail_top_mm - 25.0, k.way_mm / 2
    read = "strip" if numbers.read == FLEXIBLE else f"rack {numbers.read}"
    out_x = x0 + 30.0
    items = (
        *model_items(k, way_mm),
        Arrow((middle - 30.0, arrow_y), (middle + 30.0, arrow_y), colour=Role.GENERATOR, line_px=2.0),
        Text((middle + 34.0, arrow_y - 1.5), f"roller {float(numbers.travel_in_mm):g} mm", 12.0, Role.INK),
        Arrow((out_x - 9 * side, y1 - 7.0), (out_x + 9 * side, y1 - 7.0), colour=Role.TOOTH_MARK, line_px=2.0),
        Text((out_x + 13.0, y1 - 8.5), f"{read} {float(numbers.travel_out_mm):g} mm", 12.0, Role.INK),
    )
    words = f"Rack model from above, roller at {way_mm:g} mm. The roller goes right, the {read} {direction(k)}."
    return Picture((x0, y0, x1, y1), items, "The drive laid flat", words)


def direction(k: Kit) -> str:
    return "the same way" if k.racks.same_sense else "against it"


def close_up(k: Kit, row_index: int, way_mm: float, half_mm: float = 24.0) -> Picture:
    """Teeth at the roller: one rack and the strip's row that goes into it."""
    row = k.racks.rows[row_index]
    word = "held" if row.name == k.racks.fixed else "moving"
    parts = {part.name: part for part in kit_parts(k)}
    x = float(k.racks.speeds[row.name]) * way_mm
    roles = _rack_roles(k, row.name)
    strip = tuple((float(a), float(b)) for a, b in strip_shape(k, row_index, way_mm).exterior.coords[:-1])
    first, last = (math.ceil((way_mm + end - x) / row.rack_pitch_mm) for end in (-half_mm + 1, half_mm - 1))
    items: list[Item] = [
        *_flat(parts["carriage"], 0, way_mm, Role.GENERATOR_SOFT, Role.GENERATOR),
        *_flat(parts[f"rack_{word}_{row.name}"], 0, x, *roles)[:1],
        Path((strip,), fill=Role.FLEXIBLE, line=Role.FLEXIBLE, line_px=0.4),
    ]
    for n in range(first, last):
        strong = n % 5 == 0
        at = (n * row.rack_pitch_mm + x, 3.4)
        items.append(Text(at, f"{n}", 10.0 if strong else 8.0, Role.INK, Anchor.MIDDLE, strong=strong))
    title = f"{word} rack {row.name}: {row.rack_pitch_mm:.3f} mm a space, strip {row.strip_pitch_mm:.3f} mm a tooth"
    view = (way_mm - half_mm, -9.0, way_mm + half_mm, 5.5)
    return Picture(view, tuple(items), title, "Teeth of the strip pressed into the rack by the nose")
