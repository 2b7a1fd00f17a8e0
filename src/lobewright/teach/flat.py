"""The drive cut open and laid flat, as items of a score: a rack, a strip over it, a wedge that runs along and presses it down.

x runs to the right, which is anticlockwise round the drive; what is outward in the drive is down. Flat places are polar places:
x is the angle times the neutral radius, heights are radii, drawn ``tall`` times. So the pitches are U/Z on one length U, all that
moves keeps the drive's own ratio, and rack, strip and wedge are the drive's own outlines. Teeth are drawn upright: their lean of
a few hundredths, a fraction of a pixel here, is left out.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from lobewright.make.moving_page import Motion
from lobewright.motion import FLEXIBLE
from lobewright.picture.palette import Role
from lobewright.picture.score import Data, Number, course
from lobewright.teach import drawn, shown
from lobewright.teach.drawn import TURN, Array, group, path, row
from lobewright.teach.subject import Subject

UNDER = 0.012
"""How far below its outline the wall's colour begins, over its thickness."""
EDGES = 192
"""Places of magnified edges on the length of one turn."""
MARGIN = 2
"""Teeth that are drawn beyond what is in view."""
WEDGE = 0.3
"""Share of a wave over which a wedge touches the strip."""


@dataclass(frozen=True)
class Flat:
    """One rigid ring and its row, laid flat. ``rack`` and ``strip`` are travels for one unit of wedge travel; the wedge goes
    ``way_turns`` of the length U while u goes from 0 to 1."""

    motion: Motion
    index: int
    tall: int
    rack: float
    strip: float
    way_turns: float

    @property
    def turn_mm(self) -> float:
        """The length U that one turn of the drive becomes."""
        return TURN * self.motion.shape.radius_mm

    @property
    def way_mm(self) -> float:
        return self.turn_mm * self.way_turns

    @property
    def rack_teeth(self) -> int:
        return self.motion.rings[self.index].teeth

    @property
    def strip_teeth(self) -> int:
        return self.motion.rows[self.motion.rings[self.index].row].teeth

    def placed(self, points: Array) -> Array:
        """Points (k, 2) of the drive on the flat picture, near x = 0."""
        radius = self.motion.shape.radius_mm
        x = radius * np.unwrap(np.arctan2(points[:, 1], points[:, 0]))
        return np.column_stack((x, -self.tall * (np.hypot(points[:, 0], points[:, 1]) - radius)))

    def y_mm(self, radius_mm: float) -> float:
        """Height of a radius on the flat picture."""
        return -self.tall * (radius_mm - self.motion.shape.radius_mm)


def flat(subject: Subject, pair: shown.Pair, way_turns: float) -> Flat:
    """The pair laid flat, moving as the drive does with its generator driven; teeth drawn about 1.3 pitches tall."""
    motion, turns = subject.motion, shown.usual(subject).turns
    made = motion.rows[motion.rings[pair.index].row].outline_mm
    pitch = TURN * motion.shape.radius_mm / pair.row.flexible_teeth
    tall = max(1, round(1.3 * pitch / float(made[:, 1].max() - made[0, 1])))
    return Flat(motion, pair.index, tall, float(turns[pair.row.name]), float(turns[FLEXIBLE]), way_turns)


def alike(f: Flat) -> Flat:
    """The same with as many spaces in the rack as the strip has teeth: nothing moves but the wedge. The rack is another ring of
    the drive where one has them, else the same one with its spaces set anew."""
    rings, rows = f.motion.rings, f.motion.rows
    fits = (i for i, ring in enumerate(rings) if ring.teeth == f.strip_teeth == rows[ring.row].teeth)
    index = next(fits, None)
    if index is not None:
        return replace(f, index=index, rack=0.0, strip=0.0)
    made = replace(rings[f.index], teeth=f.strip_teeth, turns=f.motion.flexible_turns)
    changed = tuple(made if i == f.index else ring for i, ring in enumerate(rings))
    return replace(f, motion=replace(f.motion, rings=changed), rack=0.0, strip=0.0)


def flat_tables(f: Flat) -> dict[str, list[float]]:
    """Loop tables over the material's share of a turn: ``ahead`` mm along, ``out`` mm outward of the round line."""
    tables = drawn.shape_tables(f.motion)
    x, y = np.array(tables["x"]), np.array(tables["y"])
    at = TURN * np.arange(len(x)) / len(x)
    ahead = np.mod(np.arctan2(y, x) - at + math.pi, TURN) - math.pi
    radius = f.motion.shape.radius_mm
    return {
        "ahead": [round(float(v), 4) + 0.0 for v in radius * ahead],
        "out": [round(float(v), 4) + 0.0 for v in np.hypot(x, y) - radius],
    }


def out_mm(f: Flat, turns: float) -> float:
    """How far outward of the round line the neutral line stands, at a place ``turns`` of a turn beside a lobe."""
    tables = flat_tables(f)
    count = len(tables["out"]) // 2
    places = np.arange(count) / len(tables["out"]) + np.array(tables["ahead"][:count]) / f.turn_mm
    return float(np.interp(turns, places, tables["out"][:count]))


def between_turns(f: Flat) -> float:
    """How far beside a lobe, as a share of a turn, tooth stands over tooth: about half way to where teeth and spaces agree
    again. Between two lobes the wave itself leads teeth along, so that the place is looked for; in the middle it does not."""
    tables = flat_tables(f)
    count = len(tables["ahead"]) // (2 * f.motion.shape.lobes) + 1
    labels = np.arange(count) / len(tables["ahead"])
    places = labels + np.array(tables["ahead"][:count]) / f.turn_mm
    off = np.abs(f.rack_teeth * places - f.strip_teeth * labels) - 0.5
    wanted = 0.5 / abs(f.rack_teeth - f.strip_teeth)
    if abs(wanted - 0.5 / f.motion.shape.lobes) < 1e-9:
        return wanted
    crossed = np.flatnonzero(off[:-1] * off[1:] <= 0.0)
    found = [places[i] - off[i] * (places[i + 1] - places[i]) / (off[i + 1] - off[i]) for i in crossed]
    return float(min(found, key=lambda one: abs(one - wanted), default=wanted))


def _span(low: float, high: float, shift: float, pitch: float) -> tuple[int, int]:
    """First number and count of the teeth that cover from low to high while they shift by ``shift``."""
    first = math.floor((low - max(0.0, shift)) / pitch) - MARGIN
    return first, math.ceil((high - min(0.0, shift)) / pitch) + MARGIN - first + 1


def rack_items(
    f: Flat,
    scale: float,
    watch: float,
    view: tuple[float, float],
    depth: float,
    hatched: bool,
    roles: tuple[Role, Role] | None = None,
) -> list[Data]:
    """The rack where ``view`` (mm of the flat drive) is seen; ``watch`` 0: from the room, 1: from the wedge. ``depth`` of the
    body below the roots, in drawing units; ``roles``: its colours where they are not the ring's."""
    ring = f.motion.rings[f.index]
    strong, soft = (str(role) for role in roles or drawn.RING_ROLES[f.index % 2])
    pitch = f.turn_mm / f.rack_teeth
    shift = (f.rack - watch) * f.way_mm
    first, count = _span(*view, shift, pitch)
    run = scale * f.placed(drawn.ring_tooth(ring, drawn.SLACK * f.motion.shape.radius_mm))
    root = scale * f.y_mm(ring.root_radius_mm)
    deep = root - 0.3 * depth
    tooth = np.vstack((run, (run[-1, 0], deep), (run[0, 0], deep)))
    x0, x1 = scale * first * pitch, scale * (first + count) * pitch
    body = np.array(((x0, root), (x1, root), (x1, root - depth), (x0, root - depth)))
    hatch: Data = {"hatch": strong} if hatched else {}
    teeth = row(count, [course(x0, row={"v": x1 - x0}), 0.0, 0.0])
    items = [
        path(body, fill=soft, **hatch),
        group([path(tooth, fill=soft), path(run, closed=False, line=strong)], teeth),
    ]
    return [group(items, [course(slope=scale * shift) if shift else 0.0, 0.0, 0.0])]


def rack_mark(f: Flat) -> list[Data]:
    """Tooth 0 of the rack, dark, which goes with the rack, and a dashed line that stands where it began."""
    ring = f.motion.rings[f.index]
    run = f.placed(drawn.ring_tooth(ring, drawn.SLACK * f.motion.shape.radius_mm))
    strong = str(drawn.RING_ROLES[f.index % 2][0])
    x, tip, root = 0.5 * f.turn_mm / f.rack_teeth, f.y_mm(ring.tip_radius_mm), f.y_mm(ring.root_radius_mm)
    line = np.array(((x, tip + 0.8 * (tip - root)), (x, root - 0.8 * (tip - root))))
    tooth = group([path(run, fill=strong)], [course(slope=f.rack * f.way_mm), 0.0, 0.0])
    return [tooth, path(line, closed=False, line="ink", line_px=1.5, dash_px=4.0)]


def strip_items(f: Flat, scale: float, watch: float, view: tuple[float, float], hatched: bool) -> list[Data]:
    """The strip with its teeth down, as the wedge presses it, tooth 0 marked."""
    motion = f.motion
    made = motion.rows[motion.rings[f.index].row]
    pitch = f.turn_mm / made.teeth
    shift = (f.strip - watch) * f.way_mm
    first, count = _span(*view, shift, pitch)
    outline = drawn.tooth_run(made.outline_mm, drawn.SLACK * motion.shape.radius_mm)
    land = float(outline[0, 0])
    wall = land + motion.inner_offset_mm
    stands = drawn.standing(outline[:, ::-1])[:, ::-1]
    run = scale * f.placed(stands + np.array((motion.shape.radius_mm, 0.0)))
    high = run[0, 1] + 0.3 * scale * f.tall * wall
    closed = np.vstack((run, (run[-1, 0], high), (run[0, 0], high)))
    sides = np.vstack(((run[0, 0], high), run, (run[-1, 0], high)))
    rate = (f.strip - 1.0) * f.way_turns

    def seats(tooth: int, teeth: int) -> list[Number]:
        label, more = tooth / made.teeth, teeth / made.teeth
        ahead = {"v": scale * teeth * pitch, "a": more}
        return [
            course(scale * tooth * pitch, scale * shift, "ahead", scale, label, rate, True, ahead),
            course(0.0, 0.0, "out", -scale * f.tall, label, rate, True, {"a": more}),
            0.0,
        ]

    hatch: Data = {"hatch": "flexible"} if hatched else {}
    outer, inner = _edges(f, scale, view, 1.0 - watch)
    # teeth stand upright on a wall that slopes: their outlines run on into it, and the wall covers them up to its own outline
    band = path(np.vstack((outer(land - UNDER * wall), inner[::-1])), fill="flexible_soft", **hatch)
    wedge_way = [course(slope=scale * f.way_mm * (1.0 - watch)) if watch != 1.0 else 0.0, 0.0, 0.0]
    tooth = [path(closed, fill="flexible_soft"), path(sides, closed=False, line="flexible")]
    under = path(np.vstack((outer(land), inner[::-1])), fill="flexible_soft")
    return [
        group([under, path(outer(land), closed=False, line="flexible")], wedge_way),
        group(tooth, row(count, seats(first, count))),
        group([band, path(inner, closed=False, line="flexible")], wedge_way),
        group([path(run, fill="tooth_mark", line="tooth_mark")], seats(0, 0)),
    ]


def _edges(f: Flat, scale: float, view: tuple[float, float], goes: float) -> tuple[Callable[[float], Array], Array]:
    """Lines along the strip in the wedge's frame: a maker of one by its height outside the neutral line, and the inner one."""
    low, high = view[0] - goes * f.way_mm, view[1]
    places = EDGES if scale > 1.0 else drawn.BAND
    step = f.turn_mm / places
    wanted = np.arange(math.floor(low / step) - 1, math.ceil(high / step) + 2)

    def line(out_mm: float) -> Array:
        points = drawn.edge(f.motion, out_mm, places)
        flat_points = f.placed(points)
        turns, at = np.divmod(wanted, places)
        return scale * (flat_points[at] + np.column_stack((turns * f.turn_mm, np.zeros(len(at)))))

    return line, line(-f.motion.inner_offset_mm)


def wedge_items(f: Flat, scale: float, top: float) -> list[Data]:
    """One wedge at lobe 0, in its own frame, that ends at height ``top``."""
    half = WEDGE * f.turn_mm / f.motion.shape.lobes / 2
    _, inner = _edges(f, scale, (-half, half), 0.0)
    body = np.vstack((inner, (0.8 * inner[-1, 0], top), (0.8 * inner[0, 0], top)))
    return [path(body, fill="generator_soft", line="generator", line_px=1.5)]
