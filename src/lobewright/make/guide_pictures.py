"""Pictures of an assembly for its instructions: whole, drawn apart along its axis, and step by step.

What is already there is faded; what goes in stands off along the axis, on the side from which it comes in, with an arrow to
its seat and the number that it has in the list.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from lobewright.make.bodies import Group, Part
from lobewright.make.drawer import SCREW, bearing_of
from lobewright.make.placing import Member, Place, Placed
from lobewright.make.render import COLOURS, Frame, Thing, View, frame, picture, placed_corners, plain_mesh
from lobewright.make.solids import Mesh
from lobewright.picture.palette import PALETTE, Role, Theme

Array = np.ndarray
WIDTH_PX = 1600
WHOLE_VIEW = View()
APART_VIEW = View(-52.0, 30.0)
GAP_SHARE = 0.10
"""Room between parts drawn apart, over the size of the assembly."""
TOUCH_MM = 0.6
"""Places of one part whose heights come this near are drawn as one stack."""
BETWEEN_MM = 1.0
"""How far a collar may reach into what lies between two alike parts."""
LONG_SHARE = 0.6
"""Of the assembly's length: longer things stand last when it is drawn apart."""
BADGE_PX, LINE_PX = 25, 4
MOST_ARROWS = 4
MOST_APART = 24
"""Lots up to which everything is drawn apart, fasteners too."""
MANY = 8
"""Lots in a step from which on it is done member by member, and has one arrow for each line along the axis."""


@dataclass(frozen=True)
class Lot:
    """Places of one part that move together: a stack, or a circle of alike parts at one height. z range in mm."""

    number: int
    part: Part
    mesh: Mesh
    places: tuple[Place, ...]
    low_mm: float
    top_mm: float
    step: float
    member: Member

    @property
    def middle_mm(self) -> float:
        return (self.low_mm + self.top_mm) / 2

    @property
    def is_screw(self) -> bool:
        """Whether it is a screw that lies along the axis."""
        x, y, z = self.mesh.size_mm
        return SCREW.match(self.part.designation) is not None and z > max(x, y)

    @property
    def is_ring(self) -> bool:
        return self.part.group is Group.FLEXIBLE_RING

    @property
    def from_front(self) -> bool:
        """Of a screw: whether its head looks to the front."""
        return self.places[0].over

    @property
    def entry_mm(self) -> float:
        """Where it stands in the order along the axis: its middle, of a screw its head."""
        if not self.is_screw:
            return self.middle_mm
        return self.top_mm if self.from_front else self.low_mm

    def things(self, shift_mm: float = 0.0, faded: bool = False) -> list[Thing]:
        colour = COLOURS[self.part.group]
        return [(self.mesh, replace(one, z_mm=one.z_mm + shift_mm), colour, faded) for one in self.places]


@dataclass(frozen=True)
class Shifted:
    """A lot and how far along the axis it is drawn from its seat, mm."""

    lot: Lot
    shift_mm: float


def lots(placed: Sequence[Placed], numbers: Sequence[int], meshes: dict[str, Mesh]) -> list[Lot]:
    """The placed parts in lots, each with its number in the list. ``meshes`` keeps what was made, by name of the part."""
    found = []
    for number, one in zip(numbers, placed, strict=True):
        if one.part.name not in meshes:
            meshes[one.part.name] = plain_mesh(one.part)
        mesh = meshes[one.part.name]
        z = mesh.corners_mm[:, 2]
        spans = sorted(
            (
                (place.z_mm - z.max(), place.z_mm - z.min(), place)
                if place.over
                else (place.z_mm + z.min(), place.z_mm + z.max(), place)
                for place in one.places
            ),
            key=lambda row: (row[0], row[1]),
        )
        group: list[Any] = []
        for span in spans:
            if group and span[0] > max(row[1] for row in group) + TOUCH_MM:
                found.append(_lot(number, one, mesh, group))
                group = []
            group.append(span)
        found.append(_lot(number, one, mesh, group))
    return found


def _lot(number: int, one: Placed, mesh: Mesh, group: list[Any]) -> Lot:
    low, top = min(row[0] for row in group), max(row[1] for row in group)
    return Lot(
        number, one.part, mesh, tuple(row[2] for row in group), float(low), float(top), float(one.step), one.member
    )


def in_order(all_lots: Sequence[Lot]) -> list[Lot]:
    """The lots with the steps in which they can go in, beyond what the parts were named with.

    A generator's part that closes over things of a later step (the second carrier over its rollers) waits for them; a rigid
    ring that turns with the output goes in with the flexible ring, not before it; a step of many lots is done member by member.
    """
    flexible = max((lot.step for lot in all_lots if lot.member is Member.FLEXIBLE), default=0.0)
    found = []
    for lot in all_lots:
        step = lot.step
        if lot.part.group is Group.GENERATOR and not lot.part.designation:
            step = max([step, *(other + 0.5 for other in _between(lot, all_lots))])
        if lot.part.group is Group.RIGID_RING and lot.member is Member.OUTPUT:
            step = max(step, flexible)
        found.append(replace(lot, step=step))
    many = {step for step in {lot.step for lot in found} if sum(lot.step == step for lot in found) > MANY}
    order = list(Member)
    return [replace(lot, step=lot.step + 0.1 * order.index(lot.member)) if lot.step in many else lot for lot in found]


def _between(lot: Lot, all_lots: Sequence[Lot]) -> list[float]:
    """Steps, later than its own, of what stands between a lot and the lowest one of the same part."""
    first = min((one for one in all_lots if one.number == lot.number), key=lambda one: one.low_mm)
    if lot is first:
        return []
    return [
        one.step
        for one in all_lots
        if one.member is lot.member
        and one.step > lot.step
        and first.top_mm - BETWEEN_MM <= one.low_mm
        and one.top_mm <= lot.low_mm + BETWEEN_MM
    ]


def _extent(there: Sequence[Lot]) -> tuple[float, float]:
    return min(lot.low_mm for lot in there), max(lot.top_mm for lot in there)


def _size_mm(all_lots: Sequence[Lot]) -> float:
    """A length to measure gaps by: the geometric mean of length and breadth of the assembly."""
    low, top = _extent(all_lots)
    broad = max(float(np.abs(placed_corners(lot.mesh, lot.places[0])[:, :2]).max()) for lot in all_lots)
    return float(np.sqrt(max(top - low, 1.0) * 2 * broad))


def drawn_apart(all_lots: Sequence[Lot]) -> list[Shifted]:
    """Every lot after the one before it along the axis, the longest ones last."""
    low, top = _extent(all_lots)
    long = [lot for lot in all_lots if lot.top_mm - lot.low_mm > LONG_SHARE * (top - low)]
    keep = {id(lot) for lot in long} if len(long) < len(all_lots) else set()
    order = sorted(all_lots, key=lambda lot: (id(lot) in keep, lot.entry_mm, lot.number))
    return _in_line(order, low, 0.3 * GAP_SHARE * _size_mm(all_lots), 1.0)


def _in_line(order: Sequence[Lot], start_mm: float, gap_mm: float, way: float) -> list[Shifted]:
    """Lots set one after the other from a height on, upward (``way`` 1) or downward (−1)."""
    cursor, found = start_mm, []
    for lot in order:
        shift = cursor - (lot.low_mm if way > 0 else lot.top_mm)
        found.append(Shifted(lot, shift))
        cursor += way * (lot.top_mm - lot.low_mm + gap_mm)
    return found


def standing_off(new: Sequence[Lot], there: Sequence[Lot], all_lots: Sequence[Lot]) -> list[Shifted]:
    """The new lots of a step off their seats, each on the side from which it goes in; the first lots are only drawn apart."""
    gap = GAP_SHARE * _size_mm(all_lots)
    found: list[Shifted] = []
    if there:
        low, top = _extent(there)
        coming = [lot.from_front if lot.is_screw else top - lot.top_mm <= lot.low_mm - low for lot in new]
    else:
        plain = sorted((lot for lot in new if not lot.is_screw), key=lambda lot: (lot.middle_mm, lot.number))
        found = _in_line(plain, min(lot.low_mm for lot in plain or new), 0.6 * gap, 1.0)
        ends = [end for one in found for end in (one.lot.low_mm + one.shift_mm, one.lot.top_mm + one.shift_mm)]
        low, top = (min(ends), max(ends)) if ends else _extent(new)
        new = [lot for lot in new if lot.is_screw]
        coming = [lot.from_front for lot in new]
    for way, edge in ((1.0, top), (-1.0, low)):
        some = [lot for lot, front in zip(new, coming, strict=True) if front == (way > 0)]
        order = sorted(some, key=lambda lot: (way * lot.middle_mm, lot.number))
        if order:
            start = max(edge, order[0].low_mm) if way > 0 else min(edge, order[0].top_mm)
            found += _in_line(order, start + way * gap, 0.6 * gap, way)
    return found


def whole(all_lots: Sequence[Lot], width_px: int = WIDTH_PX) -> Array:
    """The assembly as it stands."""
    return picture([thing for lot in all_lots for thing in lot.things()], WHOLE_VIEW, width_px)


def told_apart(all_lots: Sequence[Lot]) -> list[Lot]:
    """What is drawn apart: all of a small assembly; of a large one the drive itself, without fasteners, input and arms."""
    if len(all_lots) <= MOST_APART:
        return list(all_lots)
    kept = [lot for lot in all_lots if lot.part.group not in (Group.TEST, Group.INPUT)]
    return [lot for lot in kept if not lot.part.designation or bearing_of(lot.part.designation) or lot.is_ring]


def apart(all_lots: Sequence[Lot], width_px: int = WIDTH_PX) -> Array:
    """The assembly drawn apart, numbered."""
    return _numbered([], drawn_apart(told_apart(all_lots)), APART_VIEW, width_px, arrows=False)


def step(new: Sequence[Lot], there: Sequence[Lot], all_lots: Sequence[Lot], width_px: int = WIDTH_PX) -> Array:
    """One step: what is there faded, what goes in off its seat, arrows and numbers."""
    return _numbered(there, standing_off(new, there, all_lots), WHOLE_VIEW, width_px, arrows=True)


def _numbered(there: Sequence[Lot], new: Sequence[Shifted], view: View, width_px: int, arrows: bool) -> Array:
    things = [thing for lot in there for thing in lot.things(faded=True)]
    things += [thing for one in new for thing in one.lot.things(one.shift_mm)]
    where = frame(things, view, width_px, most_high=0.62)
    image = picture(things, view, width_px, where)
    return _annotated(image, where, new, arrows)


def _top(one: Shifted, where: Frame) -> tuple[float, float]:
    """Where the uppermost point of a lot is seen."""
    seen = np.vstack([placed_corners(one.lot.mesh, place) for place in one.lot.places])
    seen[:, 2] += one.shift_mm
    return where.at(seen[int(np.argmax(seen @ where.axes[1]))])


def _annotated(image: Array, where: Frame, new: Sequence[Shifted], arrows: bool) -> Array:
    from PIL import Image, ImageDraw, ImageFont
    from reportlab.pdfbase.ttfonts import TTFont

    ink = PALETTE[Theme.LIGHT][Role.INK]
    mark = PALETTE[Theme.LIGHT][Role.TOOTH_MARK]
    canvas = Image.fromarray(image)
    draw = ImageDraw.Draw(canvas)
    # The PDF library ships a free font; the pictures use the same one as the page.
    font = ImageFont.truetype(TTFont("LobewrightBadge", "VeraBd.ttf").face.filename, BADGE_PX)
    if arrows:
        lines: set[tuple[float, float]] = set()
        for one in sorted(new, key=lambda row: -abs(row.shift_mm)):
            for place in one.lot.places[:MOST_ARROWS]:
                line = (round(place.x_mm, 1), round(place.y_mm, 1))
                if len(new) <= MANY or line not in lines:
                    _arrow(draw, where, one, place, mark)
                lines.add(line)
    taken: list[tuple[float, float]] = []
    told: set[int] = set()
    for one in new:
        if one.lot.number in told and (not arrows or len(new) > MANY):
            continue
        told.add(one.lot.number)
        top = _top(one, where)
        x, y = _free(top[0], top[1] - 1.3 * BADGE_PX, taken, where)
        taken.append((x, y))
        draw.line((x, y, *top), fill=ink, width=2)
        box = (x - BADGE_PX, y - BADGE_PX, x + BADGE_PX, y + BADGE_PX)
        draw.ellipse(box, fill="#ffffff", outline=ink, width=3)
        draw.text((x, y), str(one.lot.number), fill=ink, font=font, anchor="mm")
    return np.asarray(canvas)


def _free(x: float, y: float, taken: Sequence[tuple[float, float]], where: Frame) -> tuple[float, float]:
    """A spot for a badge near a point, inside the picture and off the badges that stand already."""
    edge = BADGE_PX + 3
    spots = [
        (x + dx * BADGE_PX, y + dy * BADGE_PX)
        for dy in (0, 1.2, -1.2, 2.4, -2.4, 3.6)
        for dx in (0, 2.3, -2.3, 4.6, -4.6)
    ]
    inside = [(min(max(u, edge), where.width_px - edge), min(max(v, edge), where.height_px - edge)) for u, v in spots]
    for u, v in inside:
        if all(np.hypot(u - p, v - q) > 2.15 * BADGE_PX for p, q in taken):
            return float(u), float(v)
    return inside[0]


def _arrow(draw: Any, where: Frame, one: Shifted, place: Place, colour: str) -> None:
    """From the side of a part that looks to its seat, along the axis, to where that side will stand."""
    if abs(one.shift_mm) < 1.0:
        return
    near = one.lot.low_mm if one.shift_mm > 0 else one.lot.top_mm
    x, y = place.x_mm, place.y_mm
    if x == y == 0.0:  # from the uppermost corner of what stands on the axis, where it can be seen
        corners = placed_corners(one.lot.mesh, place)
        x, y = corners[int(np.argmax(corners[:, 1])), :2].tolist()
    x0, y0 = where.at((x, y, near + one.shift_mm))
    x1, y1 = where.at((x, y, near))
    length = float(np.hypot(x1 - x0, y1 - y0))
    if length < 30:
        return
    ux, uy = (x1 - x0) / length, (y1 - y0) / length
    head = 20.0
    draw.line((x0, y0, x1 - head * ux, y1 - head * uy), fill=colour, width=LINE_PX)
    back = (x1 - head * ux, y1 - head * uy)
    half = 0.42 * head
    draw.polygon(
        [(x1, y1), (back[0] - half * uy, back[1] + half * ux), (back[0] + half * uy, back[1] - half * ux)], fill=colour
    )
