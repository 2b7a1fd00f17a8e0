"""The usual cautions in the language of the lesson. In English they are the assessment's own sentences."""

from __future__ import annotations

from lobewright.assessment.cautions import cautions as english
from lobewright.assessment.results import Assessment
from lobewright.design import model as m
from lobewright.teach.language import Language

PART = "cautions"
ORDER = (
    "sun",
    "falls_wind",
    "falls",
    "turns_on",
    "steel_spring",
    "steel_edges",
    "spring",
    "discs",
    "fumes",
    "tools",
    "pinch",
    "codes",
)


def caution(name: str, language: Language) -> str:
    """One caution; ``name`` is one of :data:`ORDER`, or ``eyes``."""
    return language.say(PART, name)


def names(found: Assessment) -> tuple[str, ...]:
    """Which cautions a design has, most serious first."""
    design = found.design
    cup = isinstance(design.flexible_ring, m.MetalCup)
    there = {
        "sun": design.load is m.Load.MIRROR,
        "falls_wind": design.load is m.Load.MIRROR,
        "falls": design.load is m.Load.ARM,
        "turns_on": design.load is m.Load.TURNTABLE,
        "steel_spring": cup,
        "steel_edges": cup,
        "spring": not cup,
        "discs": isinstance(design.generator, m.Discs) and not design.is_cup,
        "fumes": isinstance(design.process, m.Printer),
        "tools": True,
        "pinch": True,
        "codes": True,
    }
    return tuple(name for name in ORDER if there[name])


def cautions(found: Assessment, language: Language) -> tuple[str, ...]:
    """The cautions of a design, most serious first."""
    if language.code == "en":
        return english(found.design)
    return tuple(caution(name, language) for name in names(found))
