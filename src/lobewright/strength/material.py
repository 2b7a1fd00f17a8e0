"""What strength and life need of a material: in one direction, at one temperature, each figure with spread and origin."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from lobewright.strength.remark import Remark, Weak, joined, remembered
from lobewright.strength.sn import SnCurve
from lobewright.torque.interval import Interval

REMEMBERED = Remark("remembered", frozenset({Weak.REMEMBERED}))
"""Of a figure from memory; several that are told together share the word."""
WORDS = {"ultimate": "tensile strength", "yield": "yield stress", "curve": "S–N curve", "creep": "creep"}
"""Figures in words."""


class Direction(StrEnum):
    """How a stress lies to the layers of a print; materials without layers are the same in both."""

    IN_LAYERS = "in_layers"
    ACROSS_LAYERS = "across_layers"


@dataclass(frozen=True)
class CreepLaw:
    """Creep modulus E(t) = E(1 h) · (t/1 h)^−exponent, t in hours, between ``from_h`` and ``to_h`` of evidence.

    ``exponent`` is an interval; relaxation at held strain is read from the same law (see :mod:`lobewright.strength.creep`).
    """

    exponent: Interval
    from_h: float
    to_h: float


@dataclass(frozen=True)
class StrengthData:
    """One material in one direction at one temperature. What is not known is None and has its reason in ``lacking``.

    ``metal``: notches are judged by a notch sensitivity; else the full stress peak counts. ``curve``: S–N curve of smooth
    pieces, ``curve_words`` where it comes from and for which process, frequency and ratio it was made. ``lacking``: (figure,
    why not) pairs, figures by name: "ultimate", "yield", "curve", "creep". ``remarks``: (figure, what its user should know
    of it) pairs where a figure is weak. ``source_keys``: every source behind them.
    """

    material: str
    words: str
    direction: Direction
    temperature_k: float
    metal: bool
    modulus_mpa: Interval
    ultimate_mpa: Interval | None
    yield_mpa: Interval | None
    curve: SnCurve | None
    curve_words: str
    creep: CreepLaw | None
    lacking: tuple[tuple[str, str], ...]
    remarks: tuple[tuple[str, Remark], ...]
    source_keys: tuple[str, ...]

    def remark_on(self, *figures: str) -> Remark:
        """What a result that rests on these figures should say beside its number; empty where they are well founded."""
        found = [(figure, remark) for figure, remark in self.remarks if figure in figures]
        known = [WORDS[figure] for figure, remark in found if remark == REMEMBERED]
        others = [remark for _, remark in found if remark != REMEMBERED]
        return joined(*([remembered(" and ".join(known))] if known else []), *others)

    def why_not(self, figure: str) -> str:
        """Why a figure is lacking, in one sentence."""
        return dict(self.lacking).get(figure, f"no {figure} data for {self.material}")
