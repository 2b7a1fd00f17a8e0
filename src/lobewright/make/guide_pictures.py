"""Pictures of an assembly for its instructions: whole, drawn apart along its axis, and stage by stage.

What is already there is faded; what goes in stands off along the axis, on the side from which it comes in, with an arrow to
its seat and the number that it has in the list. Seen from the front, or from behind where most comes from there.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from lobewright.make.guide_labels import Label, Way, annotated, visible_share
from lobewright.make.guide_lots import Lot, Piece
from lobewright.make.guide_stages import Stage
from lobewright.make.order import BENCH, Side, Step
from lobewright.make.placing import Place
from lobewright.make.render import Drawn, Frame, Thing, View, drawn, frame, picture, placed_corners

Array = np.ndarray
WIDTH_PX = 1320
FRONT_VIEW, REAR_VIEW = View(), View(-138.0, 26.0)
"""In both the rear is on the left and the front on the right."""
APART_VIEW = View(-52.0, 30.0)
MOST_HIGH, MOST_HIGH_APART = 0.60, 0.50
GAP_SHARE = 0.09
"""Room between parts drawn apart, over the size of what is drawn."""
MOST_WAYS = 6
"""Lines from alike parts to their seats."""
TOUCH_MM = 0.05
LEAST_SEEN_PX, SHINE = 150, 0.5
"""A piece of which less is seen shines through what is before it, by this share."""
APART_LEFT_OUT = (Step.INPUT, Step.TEST)


@dataclass(frozen=True)
class Shifted:
    """A piece and how far along the axis it is drawn from its seat, mm."""

    piece: Piece
    shift_mm: float

    @property
    def low_mm(self) -> float:
        return self.piece.low_mm + self.shift_mm

    @property
    def top_mm(self) -> float:
        return self.piece.top_mm + self.shift_mm


@dataclass(frozen=True)
class Pictured:
    """A picture, from which side it is seen, and the numbers of parts that cannot be seen in it."""

    image: Array
    from_rear: bool
    hidden: tuple[str, ...]


def size_mm(lots: Sequence[Lot]) -> float:
    """A length to measure gaps by: the geometric mean of length and breadth."""
    low, top = min(lot.low_mm for lot in lots), max(lot.top_mm for lot in lots)
    broad = max(lot.broad_mm for lot in lots)
    return float(np.sqrt(max(top - low, 1.0) * 2 * broad))


# --- what stands off -------------------------------------------------------------------------------------------------


def standing_off(stage: Stage, gap_mm: float) -> list[Shifted]:
    """The new pieces off their seats, each on its side, in the order in which they go in.

    Where nothing stands there yet the first plain part stays where it is. Things that can pass each other along the axis
    stand side by side.
    """
    there = [Piece((lot,), lot.side) for lot in stage.there]
    found: list[Shifted] = []
    if not stage.there:
        first = next((k for k, one in enumerate(stage.new) if not (one.lots[0].is_nut or one.lots[0].is_screw)), 0)
        base = stage.new[first]
        found.append(Shifted(base, 0.0))
        there = [base]
    for side, way in ((Side.FRONT, 1.0), (Side.REAR, -1.0)):
        line: list[Shifted] = []
        for piece in stage.new:
            if piece.line is not side or any(piece is one.piece for one in found):
                continue
            lead = way * (piece.low_mm if way > 0 else piece.top_mm)
            stops = [way * (one.top_mm if way > 0 else one.low_mm) for one in there if one.meets(piece)]
            stops += [way * (one.top_mm if way > 0 else one.low_mm) for one in line if one.piece.meets(piece)]
            line.append(Shifted(piece, way * (max([lead, *stops]) + gap_mm - lead)))
        found += line
    return found


# --- pictures --------------------------------------------------------------------------------------------------------


def whole(lots: Sequence[Lot], width_px: int = WIDTH_PX) -> Array:
    """The drive as it stands, without the arms for tests."""
    shown = [lot for lot in lots if lot.step is not Step.TEST] or list(lots)
    return picture([thing for lot in shown for thing in lot.things(bent=True)], FRONT_VIEW, width_px)


def told_apart(lots: Sequence[Lot]) -> list[Lot]:
    """What is drawn apart: the drive itself, without fasteners, rods, input and arms."""
    kept = [lot for lot in lots if lot.step not in APART_LEFT_OUT]
    return [lot for lot in kept if not lot.part.designation or lot.is_bearing or lot.is_ring] or list(lots)


def drawn_apart(lots: Sequence[Lot], gap_mm: float) -> list[Shifted]:
    """Every lot after the one behind it, rear to front by their places; the generator's parts stay together."""
    generator = [lot for lot in lots if lot.step is Step.GENERATOR]
    rest = [[lot] for lot in lots if lot.step is not Step.GENERATOR]
    units = [*rest, *([generator] if generator else [])]

    def height(unit: Sequence[Lot]) -> float:
        return float(np.mean([lot.plate_mm for lot in unit]))

    order = [
        lot
        for unit in sorted(units, key=lambda one: (round(height(one), 3), one[0].is_ring, one[0].number))
        for lot in sorted(unit, key=lambda lot: lot.plate_mm)
    ]
    found: list[Shifted] = []
    start = min(lot.low_mm for lot in lots)
    for lot in order:
        piece = Piece((lot,), Side.FRONT)
        stops = [one.top_mm + gap_mm for one in found if one.piece.meets(piece)]
        # What stands beside the axis keeps its place in the row: it does not slip back past what is behind it.
        behind = found[-1].low_mm if found else start
        found.append(Shifted(piece, max([start, behind, *stops]) - lot.low_mm))
    return found


def apart(lots: Sequence[Lot], width_px: int = WIDTH_PX) -> Pictured:
    """The assembly drawn apart, numbered."""
    shown = told_apart(lots)
    return _pictured(
        (), drawn_apart(shown, 0.5 * GAP_SHARE * size_mm(shown)), APART_VIEW, width_px, MOST_HIGH_APART, False
    )


def of_stage(stage: Stage, width_px: int = WIDTH_PX) -> Pictured:
    """One stage: what is there faded, what goes in off its seat, arrows and numbers."""
    loose = [lot for piece in stage.new for lot in piece.lots]
    off = standing_off(stage, GAP_SHARE * size_mm([*stage.there, *loose]))
    rear = stage.step not in BENCH and 2 * sum(piece.line is Side.REAR for piece in stage.new) > len(stage.new)
    there = [thing for lot in stage.there for thing in lot.things(faded=True, bent=stage.step is not Step.OUTPUT)]
    return _pictured(there, off, REAR_VIEW if rear else FRONT_VIEW, width_px, MOST_HIGH, arrows=True)


def _pictured(
    there: Sequence[Thing], new: Sequence[Shifted], view: View, width_px: int, most_high: float, arrows: bool
) -> Pictured:
    things = list(there)
    faded = len(things)
    owners: list[frozenset[int]] = []
    for one in new:
        bent = not arrows or one.piece.whole
        more = [thing for lot in one.piece.lots for thing in lot.things(one.shift_mm, bent=bent)]
        owners.append(frozenset(range(len(things), len(things) + len(more))))
        things += more
    where = frame(things, view, width_px, most_high)
    seen = _shining_through(drawn(things, where), things, owners, where)
    solid = frozenset(range(faded, len(things)))
    hiding = np.isin(seen.owner, list(solid))
    ways = [way for one in new for way in _ways(one, seen, where, hiding)] if arrows else []
    image, hidden = annotated(seen, where, _labels(new, owners, each=arrows), ways, solid)
    return Pictured(image, view is REAR_VIEW, hidden)


def _shining_through(seen: Drawn, things: Sequence[Thing], owners: Sequence[frozenset[int]], where: Frame) -> Drawn:
    """The same picture with pieces that are hidden, or nearly, shining through what is before them."""
    shown = np.bincount(seen.owner[seen.owner >= 0], minlength=len(things))
    lost = [k for some in owners if shown[list(some)].sum() < LEAST_SEEN_PX * len(some) for k in sorted(some)]
    if not lost:
        return seen
    own = drawn([things[k] for k in lost], where)
    at = own.owner >= 0
    image, owner, depth = seen.image.copy(), seen.owner.copy(), seen.depth_mm.copy()
    image[at] = (SHINE * own.image[at] + (1 - SHINE) * image[at]).astype(np.uint8)
    owner[at], depth[at] = np.array(lost)[own.owner[at]], own.depth_mm[at]
    return Drawn(image, owner, depth)


def _labels(new: Sequence[Shifted], owners: Sequence[frozenset[int]], each: bool) -> list[Label]:
    """One label for each piece, or one for all of a number; alike pieces one after the other share theirs."""
    texts = [f"from step {one.piece.of}" if one.piece.of else str(one.piece.lots[0].number) for one in new]
    found: dict[str, Label] = {}
    for k, text in enumerate(texts):
        key = text if not each else f"{text} {new[k].shift_mm > 0}"
        if key not in found:
            found[key] = Label(text, owners[k])
        elif not each:
            continue
        else:
            found[f"{key} {k}"] = Label(text, owners[k])
    return list(found.values())


def _ways(one: Shifted, seen: Drawn, where: Frame, hiding: Array) -> list[Way]:
    """Lines from the side of a piece that looks to its seat, along the axis, to where that side will stand."""
    if abs(one.shift_mm) < 1.0:
        return []
    piece = one.piece
    near = piece.lead_mm if piece.whole else (piece.low_mm if one.shift_mm > 0 else piece.top_mm)

    def way(x: float, y: float) -> Way:
        return Way((x, y, near + one.shift_mm), (x, y, near))

    lot = piece.lots[0] if not piece.whole else max(piece.lots, key=lambda part: part.broad_mm)
    if len(lot.places) > 1 and not piece.whole:
        spots = {(round(p.x_mm, 1), round(p.y_mm, 1)): p for p in lot.places}
        return [way(p.x_mm, p.y_mm) for p in list(spots.values())[:MOST_WAYS]]
    place: Place = lot.places[0]
    corners = placed_corners(lot.mesh, place)[:, :2]
    tries = [way(place.x_mm, place.y_mm)]
    for toward in ((0.0, 1.0), (-1.0, 0.0), (0.0, -1.0), (1.0, 0.0)):
        x, y = corners[int(np.argmax(corners @ np.array(toward)))].tolist()
        tries.append(way(x, y))
    return [max(tries, key=lambda a_way: round(visible_share(seen, where, a_way, hiding), 2))]
