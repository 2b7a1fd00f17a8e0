"""Edits of a design that would lift its skip torque, each tried under torque before it is offered."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from lobewright.advice import Suggestion
from lobewright.assessment.load import Loads
from lobewright.assessment.load_verdicts import SPARE
from lobewright.assessment.results import Assessment
from lobewright.assessment.run import assess
from lobewright.assessment.stiffness import loaded_drive, stiffnesses
from lobewright.design import model as m
from lobewright.design.edits import Edit, apply
from lobewright.errors import LobewrightError
from lobewright.torque.bands import SKIP, skip_question
from lobewright.verdict import State

Progress = Callable[[str, float], None]
Edits = tuple[Edit, ...]


def load_suggestions(found: Assessment, loads: Loads, progress: Progress | None = None) -> tuple[Suggestion, ...]:
    """The gentlest tried edit that lifts the skip torque's low end above the duty's peak with its spare, if one does.

    A candidate is solved under torque at the middle of all inputs; the ratio of low end to middle is taken from the band of
    the design as it is. It is offered only when no other verdict of the drive without torque fails that did not fail before.
    """
    say = progress or (lambda word, share: None)
    verdict = next(one for one in loads.verdicts if one.name == "skip_torque")
    if verdict.state not in (State.FAIL, State.WARN) or loads.skip_band is None:
        return ()
    wanted = SPARE * loads.peak_nmm * loads.skip_band.middle / loads.skip_band.low
    failing = {one.name for one in found.verdicts if one.state is State.FAIL}
    tries = list(_candidates(found.design))
    for number, edits in enumerate(tries):
        say("advice on skip_torque", number / len(tries))
        try:
            after = assess(apply(found.design, edits))
            if {one.name for one in after.verdicts if one.state is State.FAIL} - failing:
                continue
            drive = loaded_drive(after)
            torque = skip_question(drive, stiffnesses(drive).inputs).values[SKIP]
        except LobewrightError:
            continue
        factor = loads.correction.factor.middle if loads.correction else 1.0
        if torque * factor >= wanted:
            return (Suggestion("skip_torque", edits),)
    return ()


def _candidates(design: m.Design) -> Iterator[Edits]:
    """What lifts the skip torque most often, gentlest first: deeper mesh, closer teeth, wider faces, better held ring."""
    generator = design.generator
    factor = generator.design_deflection_factor
    if factor is not None:
        for step in (0.05, 0.1):
            yield (Edit("generator.design_deflection_factor", round(factor + step, 3)),)
    if isinstance(design.tooth, m.ModuleTooth):
        yield (Edit("tooth.addendum_factor", round(design.tooth.addendum_factor + 0.1, 3)),)
    ring = design.flexible_ring
    if not isinstance(ring, m.Belt):
        thicker = [Edit("flexible_ring.wall_mm", round(1.2 * ring.wall_mm, 2))]
        if isinstance(ring, m.Cup):
            thicker.append(Edit("flexible_ring.barrel_wall_mm", round(1.2 * ring.barrel_wall_mm, 2)))
        yield tuple(thicker)
    if isinstance(generator, m.Rollers) and generator.lobes == 2:
        yield (Edit("generator.kind", "paired_rollers"),)
