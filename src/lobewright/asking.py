"""All that ``load`` and ``life`` ask of a design, in order: the command and the live page's jobs ask the same."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from lobewright.advice import Suggestion
    from lobewright.assessment.life import Life
    from lobewright.assessment.load import Loads
    from lobewright.assessment.results import Assessment
    from lobewright.design.model import Design
    from lobewright.life_advice import WhatIf
    from lobewright.mapper import Mapper

Progress = Callable[[str, float], None]
ASSESSED, LOADED = 0.02, 0.85
"""Shares of the whole time at which the drive without torque, and then under torque, is known; what is tried afterwards is the
rest. Rough: they make the time that is told to be left no worse than the runs differ among themselves."""


def ask_load(design: Design, progress: Progress, mapper: Mapper) -> tuple[Assessment, Loads, tuple[Suggestion, ...]]:
    """The assessment with its verdicts under torque, the drive under torque, edits that were tried.

    Raises what :func:`lobewright.assessment.run.assess` and :func:`lobewright.assessment.load.load` raise.
    """
    from lobewright.assessment.load import judged, load, part_of
    from lobewright.assessment.run import assess
    from lobewright.load_advice import load_suggestions

    found = assess(design, part_of(progress, 0.0, ASSESSED))
    loads = load(found, part_of(progress, ASSESSED, LOADED), mapper)
    found = judged(found, loads)
    return found, loads, load_suggestions(found, loads, part_of(progress, LOADED, 1.0))


def ask_life(
    design: Design, progress: Progress, mapper: Mapper
) -> tuple[Assessment, Life, tuple[WhatIf, ...], tuple[Suggestion, ...]]:
    """The assessment with all its verdicts, strength and life, what single changes would do, those that turn a verdict.

    Raises what :func:`ask_load` raises, and DesignFault for materials of which too little is known.
    """
    from lobewright.assessment.life import check_materials, life
    from lobewright.assessment.load import judged, load, part_of
    from lobewright.assessment.loaded_states import states_of
    from lobewright.assessment.run import assess
    from lobewright.life_advice import life_suggestions, what_ifs

    found = assess(design, part_of(progress, 0.0, ASSESSED))
    check_materials(found.design)
    loads = load(found, part_of(progress, ASSESSED, LOADED), mapper)
    lasting = life(found, states_of(loads))
    tried = what_ifs(found, loads, lasting, part_of(progress, LOADED, 1.0), mapper)
    return judged(found, loads, lasting.verdicts), lasting, tried, life_suggestions(lasting, tried)
