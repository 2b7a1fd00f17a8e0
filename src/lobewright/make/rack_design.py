"""The drive cut open and laid flat, as a model for the classroom: which pitches, how far the roller goes, what comes out.

One turn of the drive becomes a length; each rigid ring becomes a straight rack with its own count of spaces on that length,
the flexible ring a strip with its own count of teeth, the lobe a roller that presses a few teeth of the strip home. Tooth
by tooth the strip passes the roller as fast as every rack does, which is the drive's own relation, so the ratio is the
drive's. Derived; see docs/theory/racks.md.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from lobewright.design import model as m
from lobewright.errors import DesignFault, Fault
from lobewright.motion import FLEXIBLE, GENERATOR, Row, rows_of, solve

LEAST_PITCH_MM, BEST_PITCH_MM, MOST_PITCH_MM = 3.0, 4.0, 6.0
"""Teeth of a printed or cut rack: smaller ones print badly and are not seen from a desk away."""
LEAST_TRAVEL_MM = Fraction(1)
"""What comes out must be seen on a scale of millimetres."""
MOST_DIFFERENCE = Fraction(1, 12)
"""Of counts of rack and strip, over the strip's: beyond it teeth beside the roller find no room."""
STEPS_MM = (Fraction(1), Fraction(1, 2), Fraction(1, 10))
"""Round figures, the roundest first."""
GENERATOR_HELD = "no rack is made of a drive whose generator is held: nothing would press the strip along"
NO_FIGURES = f"no model of racks shows this drive with {float(LEAST_TRAVEL_MM):g} mm or more coming out"
"""Reasons why there is no model."""


@dataclass(frozen=True)
class RackRow:
    """One rigid rack and the teeth of the strip that go into it. Counts are on ``Racks.turn_mm``; pitches follow."""

    name: str
    rack_teeth: int
    strip_teeth: int
    rack_pitch_mm: float
    strip_pitch_mm: float


@dataclass(frozen=True)
class Racks:
    """Numbers of the model.

    ``ratio`` is roller travel over travel of what is read, signed: minus where it goes against the roller; ``own_ratio`` is
    the design's for the same members. ``fewer_teeth`` were taken off every count to make the travel visible. ``travel_in_mm``
    and ``travel_out_mm`` (a size) are exact; ``wave_mm`` is the way of the roller from one place where teeth line up to the
    next like one, ``waves`` how many of them it runs.
    """

    rows: tuple[RackRow, ...]
    fixed: str
    read: str
    ratio: Fraction
    own_ratio: Fraction
    fewer_teeth: int
    wave_mm: Fraction
    travel_in_mm: Fraction
    travel_out_mm: Fraction

    lobes: int
    speeds: dict[str, Fraction]
    """Travel of every member for one unit of roller travel, signed."""

    @property
    def waves(self) -> Fraction:
        return self.travel_in_mm / self.wave_mm

    @property
    def same_sense(self) -> bool:
        return self.ratio > 0

    def travel_mm(self, member: str) -> Fraction:
        """How far a member goes on the roller's whole way, signed."""
        return self.travel_in_mm * self.speeds[member]

    def passed(self, row: RackRow) -> tuple[Fraction, Fraction]:
        """Spaces of the rack and teeth of the strip that pass the roller on its whole way.

        Each is counted in its own pitch, from its own travel seen from the roller: equal where no tooth slips.
        """
        turn = self.wave_mm * self.lobes
        spaces = (self.travel_in_mm - self.travel_mm(row.name)) * row.rack_teeth / turn
        teeth = (self.travel_in_mm - self.travel_mm(FLEXIBLE)) * row.strip_teeth / turn
        return spaces, teeth


def _members(design: m.Design) -> tuple[str, str]:
    """Held member and the other one that is not the generator. Raises DesignFault when the generator is held."""
    motion = design.motion
    if motion.fixed == GENERATOR:
        raise DesignFault([Fault(GENERATOR_HELD, "motion.fixed", value=GENERATOR, allowed="a ring that is held")])
    return motion.fixed, motion.read if motion.read != GENERATOR else motion.driven


def _round_travel(ratio: Fraction, wave: Fraction, room: Fraction) -> tuple[Fraction, Fraction] | None:
    """Roller travel and what comes out: whole waves where one fits, else the longest way with round figures."""
    if wave <= room:
        way = wave * (room // wave)
        return way, way / ratio
    for step in STEPS_MM:
        out = room / ratio // step * step
        while out >= LEAST_TRAVEL_MM:
            if (out * ratio * 2).denominator == 1:
                return out * ratio, out
            out -= step
    return None


def _candidates(
    rows: tuple[Row, ...], lobes: int, ratio: Fraction, room: Fraction, best_mm: float
) -> list[tuple[Fraction, ...]]:
    """(cost…, wave, way, out) of every wave whose output is a round figure and whose pitches can be made."""
    counts = [count for row in rows for count in (row.ring_teeth, row.flexible_teeth)]
    found: list[tuple[Fraction, ...]] = []
    for rank, step in enumerate(STEPS_MM):
        out = step
        while (smallest := lobes * out * ratio / max(counts)) <= MOST_PITCH_MM:
            wave = out * ratio
            largest = lobes * wave / min(counts)
            travel = _round_travel(ratio, wave, room)
            # The largest pitch is the round one: a count of its own may make the others a little smaller than the least.
            if travel and largest >= LEAST_PITCH_MM and smallest >= Fraction(9, 10) * Fraction(LEAST_PITCH_MM):
                parted = Fraction(int(wave > room))
                miss = abs(largest - Fraction(best_mm))
                found.append((parted, Fraction(rank), miss, wave, *travel))
            out += step
    return found


def racks(design: m.Design, room_mm: float, best_pitch_mm: float = BEST_PITCH_MM) -> Racks:
    """Choose pitches and travel for a roller that can go ``room_mm``.

    The ratio is the design's where at least 1 mm comes out of that; else as many teeth as needed are taken off every count,
    which keeps the tooth differences and so the way it works. Raises DesignFault where the generator is held or where no
    round figures are found.
    """
    fixed, read = _members(design)
    own = solve(rows_of(design), design.lobes, fixed, GENERATOR, read).ratio
    room = Fraction(room_mm)
    fewest = min(count for row in rows_of(design) for count in (row.ring_teeth, row.flexible_teeth))
    for fewer in range(fewest - 8):
        rows = tuple(Row(r.name, r.ring_teeth - fewer, r.flexible_teeth - fewer) for r in rows_of(design))
        moved = solve(rows, design.lobes, fixed, GENERATOR, read)
        ratio = moved.ratio
        if max(Fraction(abs(r.ring_teeth - r.flexible_teeth), r.flexible_teeth) for r in rows) > MOST_DIFFERENCE:
            break
        if abs(ratio) * LEAST_TRAVEL_MM > room:
            continue
        found = _candidates(rows, design.lobes, abs(ratio), room, best_pitch_mm)
        if not found:
            continue
        *_, wave, way, out = min(found)
        turn = float(wave * design.lobes)
        made = tuple(
            RackRow(r.name, r.ring_teeth, r.flexible_teeth, turn / r.ring_teeth, turn / r.flexible_teeth) for r in rows
        )
        return Racks(made, fixed, read, ratio, own, fewer, wave, way, out, design.lobes, moved.turns)
    allowed = f"a ratio or tooth counts (fewer are tried) that differ by at most 1/{MOST_DIFFERENCE.denominator} of the strip's"
    raise DesignFault([Fault(NO_FIGURES, "motion", value=f"{float(abs(own)):g} : 1", allowed=allowed)])
