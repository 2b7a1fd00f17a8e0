"""What the sentences of the instructions need to know of an assembly."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from lobewright.assessment.results import Assessment
from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.make.guide_lots import Lot


@dataclass(frozen=True)
class Line:
    """A sentence or two, told with the first stage of a step that holds one of the named parts (none named: the first stage)."""

    text: str
    parts: tuple[str, ...] = ()


class Facts:
    """What sentences need to know of an assembly."""

    def __init__(self, a: Assessment, lots: Sequence[Lot]) -> None:
        self.a = a
        self.by_name: dict[str, list[Lot]] = {}
        for lot in lots:
            self.by_name.setdefault(lot.part.name, []).append(lot)
        ring = a.design.flexible_ring
        self.belt = isinstance(ring, m.Belt)
        self.cup = a.design.is_cup
        self.printed = isinstance(a.design.process, m.Printer)
        self.input_word = (
            "the crank" if self.has("crank") else "the clamp hub" if self.has("shaft_clamp") else "the coupling"
        )
        self.ring_word = "belt" if self.belt else "cup" if self.cup else "flexible ring"

    def has(self, name: str) -> bool:
        return name in self.by_name

    def count(self, name: str) -> int:
        return sum(len(lot.places) for lot in self.by_name.get(name, ()))

    def has_ears(self, name: str) -> bool:
        """Whether a part keeps the flexible ring in by its ears, so that it goes in one way round only."""
        return any("ears keep" in lot.part.note for lot in self.by_name.get(name, ()))

    def floor_mm(self, name: str) -> float:
        """How low it reaches, from the axis."""
        return min(lot.outline.bounds[1] for lot in self.by_name[name])

    def low_mm(self, name: str) -> float:
        return min(lot.low_mm for lot in self.by_name[name])

    def top_mm(self, name: str) -> float:
        return max(lot.top_mm for lot in self.by_name[name])

    def long_mm(self, name: str) -> float:
        return max(lot.top_mm - lot.low_mm for lot in self.by_name[name])

    def nut_across_mm(self, name: str) -> float:
        """Across the flats of a nut."""
        return catalogue.bolt(self.by_name[name][0].part.designation.split()[-1]).nut_across_flats_mm

    def bearing(self, name: str) -> catalogue.Bearing | None:
        return catalogue.bearing(self.by_name[name][0].part.designation) if self.has(name) else None
