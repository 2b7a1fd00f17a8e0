"""What if one thing were changed: slower, thicker, another material; each solved under torque before it is told."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from lobewright.advice import Suggestion
from lobewright.assessment.life import Life, life
from lobewright.assessment.life_verdicts import SET
from lobewright.assessment.load import Loads
from lobewright.assessment.loaded_states import solve_states
from lobewright.assessment.results import Assessment
from lobewright.assessment.run import assess
from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.design.edits import Edit, apply
from lobewright.errors import LobewrightError
from lobewright.mapper import Mapper
from lobewright.strength.items import LifeItem, SafetyItem, Span
from lobewright.verdict import State

Progress = Callable[[str, float], None]
Edits = tuple[Edit, ...]
MATERIALS = 2
"""Other materials that are tried."""
ALIKE = 3.0
"""Times stiffer or softer that another material may be: beyond it the drive is another one."""
PLASTIC = (catalogue.MaterialKind.PRINTED, catalogue.MaterialKind.POWDER_BED)
"""Kinds of which one print may take the other's place."""


@dataclass(frozen=True)
class Weakest:
    """The weakest life, in times the duty, and the weakest strength, in times the load; None where there is none."""

    life_title: str
    duties: Span | None
    strength_title: str
    safety: Span | None


@dataclass(frozen=True)
class WhatIf:
    """One change and what it does. ``before``, ``after``: the weakest of all parts. ``turns``: verdicts on strength and life that
    pass now and did not before; ``breaks``: verdicts that fail now and did not before (what asks for more torque than its states
    at rated and peak torque is not among them)."""

    words: str
    edits: Edits
    before: Weakest
    after: Weakest
    turns: tuple[str, ...]
    breaks: tuple[str, ...]

    @property
    def sentence(self) -> str:
        """The edits as a person would be told."""
        return "; ".join(edit.sentence for edit in self.edits)


@dataclass(frozen=True)
class _Tried:
    """What came of one change."""

    weakest: Weakest
    passing: frozenset[str]
    failing: frozenset[str]


def weakest_of(found: Life) -> Weakest:
    """The weakest life and the weakest strength of a drive; the set of a standing ring, which goes again, is left aside."""
    lives = [one for one in found.items if isinstance(one, LifeItem)]
    safeties = [one for one in found.items if isinstance(one, SafetyItem) and one.name != SET]
    first = min(lives, key=lambda one: one.duties.low, default=None)
    second = min(safeties, key=lambda one: one.safety.low, default=None)
    return Weakest(
        first.title if first else "",
        first.duties if first else None,
        second.title if second else "",
        second.safety if second else None,
    )


def what_ifs(
    found: Assessment, loads: Loads, lasting: Life, progress: Progress | None = None, mapper: Mapper = map
) -> tuple[WhatIf, ...]:
    """Every change of a short list that could be solved, in the order of the list; none without a duty.

    A change is solved at the middle of all stiffnesses for its states at rated and peak torque, not for its skip torque.
    """
    if lasting.duty is None:
        return ()
    say = progress or (lambda word, share: None)
    tries = list(_changes(found.design))
    before = weakest_of(lasting)
    failed = {one.name for one in (*found.verdicts, *lasting.verdicts) if one.state is State.FAIL}
    passed = {one.name for one in lasting.verdicts if one.state is State.PASS}
    asked = [(found.design, edits, loads.rated_nmm, loads.peak_nmm) for _, edits in tries]
    out = []
    for number, ((words, edits), tried) in enumerate(zip(tries, mapper(_try, asked), strict=True)):
        say(f"what if: {words}", number / len(tries))
        if tried is not None:
            turns, breaks = tuple(sorted(tried.passing - passed)), tuple(sorted(tried.failing - failed))
            out.append(WhatIf(words, edits, before, tried.weakest, turns, breaks))
    return tuple(out)


def life_suggestions(lasting: Life, tried: tuple[WhatIf, ...]) -> tuple[Suggestion, ...]:
    """For every verdict on strength and life that fails or warns, the first change that turns it and breaks nothing."""
    found = []
    for verdict in lasting.verdicts:
        if verdict.state in (State.FAIL, State.WARN):
            good = (one for one in tried if verdict.name in one.turns and not one.breaks)
            found += [Suggestion(verdict.name, one.edits) for one in good][:1]
    return tuple(found)


def _try(asked: tuple[m.Design, Edits, float, float]) -> _Tried | None:
    """One change solved; None where it cannot be."""
    design, edits, rated_nmm, peak_nmm = asked
    try:
        after = assess(apply(design, edits))
        lasting = life(after, solve_states(after, rated_nmm, peak_nmm))
    except LobewrightError:
        return None
    fails = frozenset(one.name for one in (*after.verdicts, *lasting.verdicts) if one.state is State.FAIL)
    return _Tried(
        weakest_of(lasting), frozenset(one.name for one in lasting.verdicts if one.state is State.PASS), fails
    )


# --- the short list -----------------------------------------------------------------------------------------------------


def _changes(design: m.Design) -> Iterator[tuple[str, Edits]]:
    """Words and edits, gentlest first."""
    if design.duty:
        slower = tuple(
            Edit(f"duty[{i}].speed_rpm", round(0.5 * step.speed_rpm, 6)) for i, step in enumerate(design.duty, 1)
        )
        yield "half as fast", slower
    factor = design.generator.design_deflection_factor
    if factor is not None:
        yield "less deflection", (Edit("generator.design_deflection_factor", round(factor - 0.05, 3)),)
    ring = design.flexible_ring
    if isinstance(ring, m.Belt):
        return
    for words, share in (("thinner walls", 0.8), ("thicker walls", 1.25)):
        edits = [Edit("flexible_ring.wall_mm", round(share * ring.wall_mm, 2))]
        if isinstance(ring, m.Cup):
            edits.append(Edit("flexible_ring.barrel_wall_mm", round(share * ring.barrel_wall_mm, 2)))
        yield words, tuple(edits)
    if isinstance(ring, m.Cup):
        yield "a longer cup", (Edit("flexible_ring.length_mm", round(1.25 * ring.length_mm, 1)),)
    yield from _materials(ring.material)


def _materials(name: str) -> Iterator[tuple[str, Edits]]:
    """Materials of about the same stiffness that can be made the same way and bear more bending, the best first."""
    own = catalogue.material(name)
    kinds = PLASTIC if own.kind in PLASTIC else (own.kind,)
    others = [
        row
        for row in catalogue.materials()
        if row.kind in kinds
        and row.bending_strain[0] > own.bending_strain[0]
        and 1.0 / ALIKE < sum(row.modulus_mpa) / sum(own.modulus_mpa) < ALIKE
    ]
    for row in sorted(others, key=lambda one: -one.bending_strain[0])[:MATERIALS]:
        yield f"another material, {row.words}", (Edit("flexible_ring.material", row.name),)
