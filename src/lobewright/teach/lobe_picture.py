"""The drive near a lobe while it is wound up, true in size: rigid ring, flexible teeth and wall, generator, forces on teeth.

The lobe stands on top. Windups may be negative: with the generator as it stands at the start the drive is its own mirror image,
and what it does the other way is the mirror image too (taken so as well where the flanks of a drawn outline differ).
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lobewright.make.moving_page import Motion
from lobewright.motion import FLEXIBLE
from lobewright.picture.pdf import text_width_px
from lobewright.picture.score import Data
from lobewright.teach import drawn
from lobewright.teach.pushed import Pushed
from lobewright.teach.tables import PLACES_RAD, Tables

Array = NDArray[np.float64]
MOST_WALL_STEPS = 25
"""States at which the edges of the wall are drawn; of more (an odd count) every other one."""
PLACES = 2
"""Places after the point of what is drawn, mm: a quarter of a pixel in the largest film."""
NOTICED = 0.03
"""Share of the largest force above which a tooth gets an arrow."""
OVERLAY = 1.02
"""Bodies laid side by side reach so much beyond each other, so that no seam shows."""


class LobePicture:
    """One ring's picture at windups that follow u in even steps. ``extra_rad``: how far the rigid ring stands further on, seen
    from the flexible teeth; ``outline_mm`` of the flexible teeth where it is not the design's."""

    def __init__(
        self,
        motion: Motion,
        push: Pushed,
        index: int,
        windups_rad: Array,
        reach_rad: float,
        extra_rad: Array | None = None,
        outline_mm: Array | None = None,
    ) -> None:
        self.motion, self.push, self.ring = motion, push, motion.rings[index]
        self.index, self.row = index, push.row(self.ring.name)
        self.made = push.drive.drive.rows[self.row]
        self.held = self.ring.name != push.drive.drive.slow_member
        self.size = self.ring.root_radius_mm
        self.reach = reach_rad
        self.windups = windups_rad
        self.extra = np.zeros(len(windups_rad)) if extra_rad is None else extra_rad
        self.outline = np.asarray(self.made.outline.points_mm if outline_mm is None else outline_mm)
        self.states = push.states(np.abs(windups_rad))
        self.tables = Tables()
        self.slack = drawn.SLACK * motion.shape.radius_mm

    @property
    def back(self) -> NDArray[np.bool_]:
        """Which of the windups are negative."""
        return self.windups < 0.0

    def forces(self) -> Array:
        """Force of the rigid ring on every tooth (S, T, 2): outward, anticlockwise along the ring."""
        return self._mirrored(self.push.forces_at(np.abs(self.windups), self.row), (1.0, -1.0))

    def _mirrored(self, found: Array, signs: tuple[float, ...]) -> Array:
        """Places round the ring (S, N, k), those of negative windups as their mirror images."""
        out = found.copy()
        out[self.back] = np.roll(found[self.back, ::-1], 1, axis=1) * np.array(signs)
        return out

    def items(self, arrow_mm: float) -> list[Data]:
        """The drive, its lobe on top, the axis at (0, 0)."""
        inside = [*self._generator(), *self._wall(), *self._teeth(), *self._ring(), *self._arrows(arrow_mm)]
        return [drawn.group(inside, (0.0, 0.0, round(0.5 * math.pi, 6)))]

    def names(
        self, named: tuple[str, str, str], right_mm: float, unit: float, floor_mm: float, over_mm: float = 0.0
    ) -> list[Data]:
        """Names of ring, flexible ring and generator about the lobe on top, the axis at (0, 0): the ring's so far to the right,
        beside most of the arrows, and so far over its teeth; ``unit``: a pixel; ``floor_mm``: lower edge of what is seen."""
        ring, flexible, generator = named
        beside = right_mm - 0.5 * text_width_px(ring, 14.0, True) * unit
        land, inner = self.made.outline.land_height_mm, self.motion.inner_offset_mm
        wall = float(self.motion.shape.x_mm[0]) + 0.5 * (land - inner)
        low = wall - 0.5 * (land + inner) - 46.0 * unit
        high = math.sqrt((self.size + over_mm) ** 2 - beside**2) + 14.0 * unit
        return [
            drawn.words((right_mm, high), ring, 14.0, anchor="middle", strong=True),
            drawn.words((0.0, low), flexible, 14.0, anchor="middle", strong=True),
            drawn.arrow((0.0, low + 16.0 * unit), (0.0, wall), drawn.Role.INK, 1.4),
            *self._generator_named(generator, low - 40.0 * unit, unit, floor_mm),
        ]

    def _generator_named(self, name: str, low: float, unit: float, floor: float) -> list[Data]:
        """The generator's name at a height under the lobe, with an arrow where it does not stand in a body of it."""
        rollers = [wheel for wheel in self.motion.wheels if not drawn.holds_middle(wheel)]
        here = drawn.words((0.0, low), name, 14.0, anchor="middle", strong=True)
        if len(rollers) < len(self.motion.wheels):
            return [here]
        near = min(rollers, key=lambda wheel: (math.hypot(wheel.y_mm, wheel.x_mm - low), wheel.y_mm))
        side = math.copysign(1.0, -near.y_mm)
        edge = abs(near.y_mm) - near.radius_mm
        start = (0.5 * text_width_px(name, 14.0, True) + 6.0) * unit
        if edge < 0.0:  # the roller is under the lobe: on it, below its pin where it would stand on that
            pin = 0.2 * near.radius_mm
            over_pin = abs(low - near.x_mm) < pin + 16.0 * unit
            return [{**here, "at": [0.0, near.x_mm - pin - 18.0 * unit]} if over_pin else here]
        tail, head = (round(side * start, 3), round(low + 4.0 * unit, 3)), (-near.y_mm, near.x_mm)
        # no room between the rollers: below them, or where that is not seen on one of them, over its pin
        if edge < start:
            if near.x_mm - near.radius_mm - 30.0 * unit < floor:
                high = max(near.x_mm + 0.2 * near.radius_mm + 8.0 * unit, floor + 6.0 * unit)
                return [{**here, "at": [round(head[0], 3), round(high, 3)]}]
            low = near.x_mm - near.radius_mm - 24.0 * unit
            here, tail = {**here, "at": [0.0, low]}, (round(20.0 * side * unit, 3), round(low + 16.0 * unit, 3))
        away = math.dist(tail, head)
        share = 1.0 - 0.8 * near.radius_mm / away
        end = tuple(round(a + share * (b - a), 3) for a, b in zip(tail, head, strict=True))
        return [here, drawn.arrow(tail, end, drawn.Role.INK, 1.4)]

    def _ring(self) -> list[Data]:
        ring, (strong, soft) = self.ring, (str(role) for role in drawn.RING_ROLES[self.index % 2])
        pitch = drawn.TURN / ring.teeth
        run = drawn.ring_tooth(ring, self.slack)
        far = self.size + 0.35 * (self.size - ring.tip_radius_mm)
        mean, half = 0.5 * pitch, 0.5 * OVERLAY * pitch
        foot = np.array([(far * math.cos(a), far * math.sin(a)) for a in (mean + half, mean - half)])
        tooth = [
            drawn.path(np.vstack((run, foot)), fill=soft),
            drawn.path(run, closed=False, line=strong, line_px=1.5),
        ]
        count = math.ceil(self.reach / pitch)
        side = np.where(self.back, -1.0, 1.0)
        turned = side * self.push.ring_turn(self.states, self.row) + self.extra
        turn = self.tables.follow("ring", turned, PLACES_RAD)
        ends = np.linspace(-self.reach, self.reach, 49)
        near = self.size + 0.3 * (self.size - ring.tip_radius_mm)
        body = [(r * math.cos(a), r * math.sin(a)) for r, way in ((near, ends), (1.2 * far, ends[::-1])) for a in way]
        items = [
            drawn.path(np.array(body), fill=soft),
            drawn.group(tooth, *((0.0, 0.0, round(k * pitch, 6)) for k in range(-count, count))),
        ]
        return [drawn.group(items, (0.0, 0.0, turn))]

    def _seen(self) -> list[int]:
        count = self.made.outline.teeth
        reach = math.ceil(count * self.reach / drawn.TURN)
        return [k % count for k in range(-reach, reach + 1)]

    def _teeth(self) -> list[Data]:
        place = self._mirrored(self.push.teeth(self.states, self.row), (1.0, -1.0, -1.0))
        run = drawn.tooth_run(self.outline, self.slack)
        land = float(run[0, 0])
        deep = 0.3 * (land + self.motion.inner_offset_mm)
        closed = np.vstack((run, (land - deep, run[-1, 1]), (land - deep, run[0, 1])))
        tooth = [drawn.path(closed, fill="flexible_soft"), drawn.path(run, closed=False, line="flexible", line_px=1.5)]
        self.seats = {k: self._seat(f"t{k}", place[:, k]) for k in self._seen()}
        return [drawn.group(tooth, *self.seats.values())]

    def _seat(self, name: str, place: Array) -> list[Data | float]:
        turn = np.mod(place[:, 2] + math.pi, drawn.TURN) - math.pi
        return [
            self.tables.follow(f"{name}x", place[:, 0], PLACES),
            self.tables.follow(f"{name}y", place[:, 1], PLACES),
            self.tables.follow(f"{name}a", turn, 3),
        ]

    def _wall(self) -> list[Data]:
        places = self._mirrored(self.push.wall(self.states, self.row), (1.0, -1.0, -1.0))
        nodes = places.shape[1]
        reach = math.ceil(nodes * self.reach / drawn.TURN)
        picked = np.arange(-reach, reach + 1, max(1, nodes // 100)) % nodes
        land = self.made.outline.land_height_mm
        stages, lines = [], []
        stride = 2 if len(places) > MOST_WALL_STEPS else 1
        for one in places[::stride, picked]:
            out = np.column_stack((np.cos(one[:, 2]), np.sin(one[:, 2])))
            inner = one[:, :2] - self.motion.inner_offset_mm * out
            stages.append([drawn.flat_run(np.vstack((one[:, :2] + land * out, inner[::-1])), PLACES)])
            lines.append([drawn.flat_run(inner, PLACES)])
        at: Data = {"s": 1.0}
        return [
            {"kind": "stages", "at": at, "loops": stages, "fill": "flexible_soft"},
            {"kind": "stages", "at": at, "loops": lines, "closed": False, "line": "flexible", "line_px": 1.5},
        ]

    def _generator(self) -> list[Data]:
        shift = self.push.arms_mm(self.states)
        items = []
        for number, wheel in enumerate(self.motion.wheels):
            look: dict[str, Any] = {"fill": "generator_soft", "line": "generator", "line_px": 1.5}
            body = [drawn.wheel_item(wheel, **look)]
            place: list[Data | float] = [0.0, 0.0, 0.0]
            if shift.shape[1]:
                far = math.hypot(wheel.x_mm, wheel.y_mm)
                x, y = wheel.x_mm / far, wheel.y_mm / far
                pin = [round(wheel.x_mm, 3), round(wheel.y_mm, 3)]
                body.append(
                    {"kind": "disc", "centre": pin, "radius": round(0.2 * wheel.radius_mm, 3), "fill": "generator"}
                )
                own = np.where(self.back, shift[:, self._arm(x, -y)], shift[:, self._arm(x, y)])
                place = [
                    self.tables.follow(f"w{number}x", own * x, 4),
                    self.tables.follow(f"w{number}y", own * y, 4),
                    0.0,
                ]
            items.append(drawn.group(body, place))
        return items

    def _arm(self, x: float, y: float) -> int:
        """Which arm of the loaded drive points so."""
        return int(np.argmax(self.push.drive.winder.drive.numbers.body_direction @ (x, y)))

    def _arrows(self, arrow_mm: float) -> list[Data]:
        """What the rigid ring pushes on the teeth."""
        force = self.forces()
        size = np.hypot(force[..., 0], force[..., 1])
        most = float(size.max())
        if most <= 0.0:
            return []
        scale = arrow_mm / most
        at = self.push.drive.drive.geometry.pitch_height_mm
        items = []
        for k in self._seen():
            if size[:, k].max() < NOTICED * most:
                continue
            tail = [
                self.tables.follow(f"f{k}o", at - scale * force[:, k, 0], 2),
                self.tables.follow(f"f{k}t", -scale * force[:, k, 1], 2),
            ]
            arrow = {"kind": "arrow", "tail": tail, "head": [at, 0.0], "colour": "tooth_mark", "line_px": 2.0}
            fade = self.tables.follow(f"f{k}s", np.minimum(1.0, size[:, k] / (NOTICED * most)), 2)
            items.append(drawn.group([arrow], self.seats[k], fade=fade))
        return items


def relative_sign(push: Pushed) -> float:
    """+1 where a rigid ring is the member that is wound up; −1 where the flexible ring is, so that its ring falls behind."""
    return -1.0 if push.drive.drive.slow_member == FLEXIBLE else 1.0
