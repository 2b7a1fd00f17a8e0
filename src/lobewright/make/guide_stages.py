"""The order of work: each step of the assembly in stages of a few parts, and what stands already when they go in.

Within a step what comes from one side goes in deepest first. A screw follows what it holds, or, where bearings run on it, what
lies under its head; its nut follows the screw, unless it lies inside a part: then it goes in with that part.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from lobewright.make.guide_lots import SAME_SPOT_MM, Lot, Piece
from lobewright.make.order import BENCH, Side, Step
from lobewright.make.placing import Place

MOST_PIECES = 7
"""Numbered things in one picture."""
IN_ITS_PLACE, ITS_NUTS = "reaction_arm", "arm_axle_nut"
"""Take the place of what turns the axle; until then they lie beside the drive."""


@dataclass(frozen=True)
class Stage:
    """One picture of the work. ``number`` counts the steps that a drive has; ``letter`` tells stages of one step apart."""

    step: Step
    number: int
    letter: str
    new: tuple[Piece, ...]
    there: tuple[Lot, ...]

    @property
    def name(self) -> str:
        return f"{self.number}{self.letter}"

    @property
    def lots(self) -> list[Lot]:
        """The loose parts that go in."""
        return [lot for piece in self.new if not piece.whole for lot in piece.lots]


def _held(screw: Lot, hosts: Sequence[Piece]) -> list[int]:
    """Which of the hosts a screw runs through."""
    return [
        k
        for k, host in enumerate(hosts)
        if host.low_mm < screw.top_mm - SAME_SPOT_MM
        and host.top_mm > screw.low_mm + SAME_SPOT_MM
        and (host.whole or not host.lots[0].is_rod)
        and any(lot.covers(place) for lot in host.lots for place in screw.places)
        and not _covers_head(screw, host)
    ]


def _covers_head(screw: Lot, host: Piece) -> bool:
    """Whether a host lies beyond the seat of a screw's head; a spigot of it may reach past the head beside it."""
    if screw.side is Side.FRONT:
        return min(lot.plate_mm[0] for lot in host.lots) > screw.top_mm - SAME_SPOT_MM
    return max(lot.plate_mm[1] for lot in host.lots) < screw.low_mm + SAME_SPOT_MM


def _on_same_line(one: Lot, other: Lot) -> bool:
    def near(p: Place, q: Place) -> bool:
        return math.hypot(p.x_mm - q.x_mm, p.y_mm - q.y_mm) < SAME_SPOT_MM

    return all(any(near(p, q) for q in other.places) for p in one.places)


def in_order(pieces: Sequence[Piece], base: bool) -> list[list[Piece]]:
    """Pieces of a step in the order in which they go in: each plain part with the screws and nuts that go in with it.

    ``base``: nothing stands there yet, and all stacks up one way.
    """
    hosts = [piece for piece in pieces if piece.whole or not (piece.lots[0].is_screw or piece.lots[0].is_nut)]
    loose = [piece for piece in pieces if piece not in hosts]
    if base and hosts:
        rear = sum(piece.side is Side.REAR for piece in hosts)
        side = Side.REAR if 2 * rear > len(hosts) else Side.FRONT
        hosts = [replace(piece, side=side) for piece in hosts]
    nuts = [piece for piece in loose if piece.lots[0].is_nut]
    free = [piece for piece in nuts if not _inside(piece, hosts) and not _screw_of(piece, loose)]
    hosts = _in_turn([*hosts, *free])
    rank = {id(host): float(k) for k, host in enumerate(hosts)}
    for piece in loose:
        if piece.lots[0].is_screw:
            rank[id(piece)] = _screw_rank(piece, hosts)
    for piece in nuts:
        if id(piece) not in rank:
            rank[id(piece)] = _nut_rank(piece, hosts, loose, rank)
    blocks: dict[int, list[Piece]] = {}
    for piece in sorted([*hosts, *(one for one in loose if one not in hosts)], key=lambda one: rank[id(one)]):
        number = math.ceil(rank[id(piece)] - 0.49)
        if piece in nuts and rank[id(piece)] < number and not (base and number == 0):
            piece = replace(piece, beside=hosts[number].side)
        blocks.setdefault(number, []).append(piece)
    return list(blocks.values())


def _in_turn(hosts: Sequence[Piece]) -> list[Piece]:
    """Plain parts, rods, what is slid on them, nuts; what stands side by side one after the other, the larger heap first."""
    plain = [piece.lots[0] for piece in hosts if not piece.whole]
    rods = [lot for lot in plain if lot.is_rod]
    # Rods that bearings run on stand first, and all is stacked over them.
    stacked = any(lot.is_bearing and _on_same_line(lot, rod) for lot in plain for rod in rods)

    def turn(piece: Piece) -> int:
        lot = piece.lots[0]
        if stacked and not lot.is_nut:
            return 0
        if piece.whole or not (lot.is_rod or lot.is_nut):
            return 2 if not piece.whole and any(_on_same_line(lot, rod) for rod in rods) else 0
        return 1 if lot.is_rod else 3

    groups: list[list[Piece]] = []
    for piece in hosts:
        near = [group for group in groups if any(piece.meets(one) for one in group)]
        groups = [group for group in groups if group not in near]
        groups.append([piece, *(one for group in near for one in group)])
    groups.sort(key=lambda group: (-len(group), min(one.lots[0].number for one in group)))
    return [
        piece
        for group in groups
        for piece in sorted(group, key=lambda one: (turn(one), one.side is Side.REAR, _depth(one), one.lots[0].number))
    ]


def _depth(piece: Piece) -> float:
    return -piece.lead_mm if piece.side is Side.REAR else piece.lead_mm


def _inside(nut: Piece, hosts: Sequence[Piece]) -> list[Piece]:
    """Hosts between whose faces a nut lies."""
    middle, lot = (nut.low_mm + nut.top_mm) / 2, nut.lots[0]
    return [
        host
        for host in hosts
        if not host.whole
        and not host.lots[0].is_rod
        and host.low_mm < middle < host.top_mm
        and any(one.covers(lot.places[0]) for one in host.lots)
    ]


def _screw_of(nut: Piece, loose: Sequence[Piece]) -> Piece | None:
    lot = nut.lots[0]
    for piece in loose:
        screw = piece.lots[0]
        if screw.is_screw and _on_same_line(lot, screw) and screw.low_mm < lot.top_mm and lot.low_mm < screw.top_mm:
            return piece
    return None


def _screw_rank(piece: Piece, hosts: Sequence[Piece]) -> float:
    screw = piece.lots[0]
    if (screw.side is Side.FRONT) != screw.places[0].over:
        return _in_row(
            piece, hosts, len(hosts) - 0.55
        )  # its head looks against the way in: it goes in with a sub-assembly
    held = _held(screw, hosts)
    if not held:
        return len(hosts) - 0.55
    if any(hosts[k].lots[0].is_bearing and _on_same_line(screw, hosts[k].lots[0]) for k in held):
        way = 1.0 if screw.side is Side.REAR else -1.0
        return min(held, key=lambda k: way * hosts[k].low_mm) + 0.4
    return max(held) + 0.45


def _in_row(piece: Piece, hosts: Sequence[Piece], last: float) -> float:
    """Before the first host that comes after it from the same side; ``last`` where none does."""
    after = [k for k, host in enumerate(hosts) if host.side is piece.side and _depth(host) > _depth(piece)]
    return after[0] - 0.3 if after else last


def _nut_rank(nut: Piece, hosts: Sequence[Piece], loose: Sequence[Piece], rank: dict[int, float]) -> float:
    if around := _inside(nut, hosts):
        host = min(around, key=lambda one: one.top_mm - one.low_mm)
        return rank[id(host)] + (0.3 if nut.side is host.side else -0.3)
    screw = _screw_of(nut, loose)
    assert screw is not None
    if screw.side is nut.side:  # it is put on the screw in one row with what the screw holds
        return _in_row(nut, hosts, rank[id(screw)] + 0.01)
    last = max(_held(screw.lots[0], hosts), default=0)
    return max(rank[id(screw)] + 0.01, last + 0.46)


def _runs(blocks: Sequence[Sequence[Piece]]) -> list[list[Piece]]:
    """Blocks put together to as few pictures as can be, of nearly equal content."""
    count = math.ceil(_labels([piece for block in blocks for piece in block]) / MOST_PIECES)
    most = sum(_labels(block) for block in blocks) / count
    runs: list[list[Piece]] = [[]]
    for block in blocks:
        now = _labels([*runs[-1], *block])
        if runs[-1] and (now > MOST_PIECES or (count > 1 and now > most + 1.0)):
            runs.append([])
        runs[-1] += block
    return runs


def _labels(pieces: Sequence[Piece]) -> int:
    """Numbered things among pieces: alike ones count once."""
    return len({(piece.of, piece.lots[0].number) for piece in pieces})


def stages(all_lots: Sequence[Lot]) -> list[Stage]:
    """All stages of the work, first to last. What is put together on the bench is shown by itself, and goes on as one."""
    found: list[Stage] = []
    has = {lot.step for lot in all_lots} | {BENCH[lot.step] for lot in all_lots if lot.step in BENCH}
    numbers = {step: number for number, step in enumerate(sorted(has), 1)}
    for step in sorted(has):
        own = [lot for lot in all_lots if lot.step is step and lot.part.name not in (IN_ITS_PLACE, ITS_NUTS)]
        bench = BENCH.get(step)
        moving = [lot for lot in all_lots if BENCH.get(lot.step) is step]
        if bench:
            there = [lot for lot in all_lots if lot.step < step and BENCH.get(lot.step) is bench]
        else:
            there = [lot for lot in all_lots if BENCH.get(lot.step, lot.step) < step]
        pieces = [Piece((lot,), lot.side) for lot in own]
        if moving:
            pieces.append(Piece(tuple(moving), Side.FRONT, numbers[max(lot.step for lot in moving)]))
        runs = _runs(in_order(pieces, base=not there)) if pieces else []
        for run in runs:
            letter = "" if len(runs) == 1 else chr(ord("a") + len(found) - sum(one.step is not step for one in found))
            found.append(Stage(step, numbers[step], letter, tuple(run), tuple(there)))
            there = [*there, *(lot for piece in run for lot in piece.lots)]
    return _in_its_place(all_lots, found)


def _in_its_place(all_lots: Sequence[Lot], found: Sequence[Stage]) -> list[Stage]:
    """The stages with that of the arm in place of the input, on the axle; a crank's nuts are used again."""
    arms = [lot for lot in all_lots if lot.part.name == IN_ITS_PLACE]
    inputs = [lot for lot in all_lots if lot.step is Step.INPUT]
    if not arms or not inputs:
        return list(found)
    arm, high = arms[0], arms[0].top_mm - arms[0].low_mm
    crank = next((lot for lot in inputs if lot.part.name == "crank"), None)
    face = crank.top_mm if crank else min(lot.low_mm for lot in all_lots if lot.part.name == "axle") + 2 * high
    new = [replace(arm, places=(Place(z_mm=face, over=True),), low_mm=face - high, top_mm=face, side=Side.REAR)]
    if crank:
        shift = crank.low_mm - new[0].low_mm
        again = [lot for lot in inputs if lot.part.name == "crank_axle_nut"]
        new += [_moved(lot, -shift) for lot in again]
    for lot in (one for one in all_lots if one.part.name == ITS_NUTS):
        top = face - min(lot.low_mm - arm.low_mm, high)
        place = Place(z_mm=top, over=True)
        long = lot.top_mm - lot.low_mm
        new.append(replace(lot, places=(place,), low_mm=top - long, top_mm=top, side=Side.REAR))
    there = [lot for lot in all_lots if lot.step < Step.INPUT]
    new_pieces = tuple(Piece((lot,), Side.REAR) for lot in new)
    tests = [stage for stage in found if stage.step is Step.TEST]
    rest = [stage for stage in found if stage.step is not Step.TEST]
    if len(tests) == 1:
        tests = [replace(tests[0], letter="a")]
    letter = chr(ord("a") + len(tests)) if tests else ""
    number = tests[0].number if tests else rest[-1].number + 1
    return [*rest, *tests, Stage(Step.TEST, number, letter, new_pieces, tuple(there))]


def _moved(lot: Lot, by_mm: float) -> Lot:
    places = tuple(replace(place, z_mm=place.z_mm + by_mm) for place in lot.places)
    return replace(lot, places=places, low_mm=lot.low_mm + by_mm, top_mm=lot.top_mm + by_mm, side=Side.REAR)
