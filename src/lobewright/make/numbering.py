"""The number of each part: one count for parts list, instructions and pictures, in the order in which parts go in."""

from __future__ import annotations

from collections.abc import Sequence

from lobewright.make.bodies import Part
from lobewright.make.placing import Placed


def kind_of(part: Part) -> str:
    """What makes parts alike: the designation of what is bought, else the name."""
    return part.designation or part.name


def part_numbers(placed: Sequence[Placed]) -> dict[str, int]:
    """Number from 1 on of each kind (:func:`kind_of`): by the step in which it first goes in, made parts before bought ones."""
    order = sorted(placed, key=lambda one: (one.step, bool(one.part.designation)))
    kinds = dict.fromkeys(kind_of(one.part) for one in order)
    return {kind: number for number, kind in enumerate(kinds, 1)}
