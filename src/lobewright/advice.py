"""Edits of a design that would turn a verdict, each tried before it is offered.

For a verdict that fails (or warns) a short list of candidate edits is worked through, gentlest first. A candidate is
offered only when, with it made, that verdict passes and no verdict fails that did not fail before.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from lobewright.assessment.results import Assessment
from lobewright.assessment.run import assess
from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.design.edits import Edit, apply
from lobewright.errors import CatalogueFault, LobewrightError
from lobewright.ring.geometry import ring_geometry
from lobewright.verdict import State, Verdict

Candidates = Iterator[tuple[Edit, ...]]
MOST_TRIES = 10


@dataclass(frozen=True)
class Suggestion:
    """Edits that were tried and turn the verdict named ``verdict`` to pass."""

    verdict: str
    edits: tuple[Edit, ...]

    @property
    def sentence(self) -> str:
        return "; ".join(edit.sentence for edit in self.edits)


def _ring_at(design: m.Design, name: str) -> int:
    return next(i for i, ring in enumerate(design.rigid_ring) if ring.name == name) + 1


def _thinner_teeth(design: m.Design, steps: tuple[float, ...]) -> Candidates:
    if isinstance(design.tooth, m.ModuleTooth):
        for step in steps:
            share = round(design.tooth.thickness_share - step, 3)
            if share > 0.25:
                yield (Edit("tooth.thickness_share", share),)


def _land(design: m.Design, name: str) -> Candidates:
    at = _ring_at(design, name)
    ring = design.rigid_ring[at - 1]
    for share in (0.8, 0.65):
        if ring.clearance_mm * share >= 2 * design.process.tolerance_mm:
            yield (Edit(f"rigid_ring[{at}].clearance_mm", round(ring.clearance_mm * share, 3)),)
    yield from _thinner_teeth(design, (0.04, 0.08, 0.12))
    if not isinstance(design.flexible_ring, m.Belt):
        for factor in (1.15, 1.4, 1.8):
            yield (Edit("flexible_ring.module_mm", round(design.flexible_ring.module_mm * factor, 2)),)


def _flank_gap(design: m.Design, name: str, gap: float) -> Candidates:
    yield from _as_designed(design)
    at = _ring_at(design, name)
    clearance = design.rigid_ring[at - 1].clearance_mm
    for more in (0.025, 0.05, 0.1, 0.2):
        wanted = round(clearance + max(0.0, -gap) + more, 3)
        yield (Edit(f"rigid_ring[{at}].clearance_mm", wanted),)


def _more_deflection(design: m.Design) -> Candidates:
    factor = design.generator.design_deflection_factor
    if factor is not None:
        for step in (0.05, 0.1, 0.15, 0.2, 0.3):
            yield (Edit("generator.design_deflection_factor", round(factor + step, 3)),)


def _as_designed(design: m.Design) -> Candidates:
    if design.generator.set_deflection_mm is not None:
        yield (Edit("generator.set_deflection_mm", None),)


def _minor_gap(design: m.Design) -> Candidates:
    yield from _as_designed(design)
    yield from _more_deflection(design)


def _engagement(design: m.Design, name: str) -> Candidates:
    yield from _more_deflection(design)
    yield from _thinner_teeth(design, (0.04, 0.08))
    if isinstance(design.tooth, m.ModuleTooth):
        yield (Edit("tooth.addendum_factor", round(design.tooth.addendum_factor + 0.1, 3)),)
    yield from _land(design, name)


def _wall(design: m.Design) -> Candidates:
    """Every wall at two extrusion widths or what it is, thicker first where it is thinner."""
    ring = design.flexible_ring
    if isinstance(ring, m.Belt) or not isinstance(design.process, m.Printer):
        return
    for widths in (2.0, 2.5):
        least = round(widths * design.process.extrusion_width_mm, 2)
        edits = [Edit("flexible_ring.wall_mm", least)] if ring.wall_mm < least else []
        if isinstance(ring, m.Cup) and ring.barrel_wall_mm < least:
            edits.append(Edit("flexible_ring.barrel_wall_mm", least))
        yield tuple(edits)


def _strain(design: m.Design) -> Candidates:
    ring = design.flexible_ring
    if isinstance(ring, m.Belt):
        return
    for share in (0.85, 0.7, 0.55, 0.4):
        wall = Edit("flexible_ring.wall_mm", round(ring.wall_mm * share, 2))
        if isinstance(ring, m.Cup):
            yield (wall, Edit("flexible_ring.barrel_wall_mm", round(ring.barrel_wall_mm * share, 2)))
        else:
            yield (wall,)
    kind = catalogue.material(ring.material).kind
    for row in sorted(catalogue.materials(), key=lambda r: r.bending_strain[0]):
        if row.kind is kind and row.bending_strain[0] > catalogue.material(ring.material).bending_strain[0]:
            yield (Edit("flexible_ring.material", row.name),)


def _bed(design: m.Design, lacking_mm: float) -> Candidates:
    need = lacking_mm / 2 + 2.1
    rims = tuple(
        Edit(f"rigid_ring[{i}].rim_mm", round(ring.rim_mm - need, 1)) for i, ring in enumerate(design.rigid_ring, 1)
    )
    if all(isinstance(e.value, float) and e.value >= 3 for e in rims):
        yield rims
    ring = design.flexible_ring
    if isinstance(ring, m.Belt):
        fewer = (lacking_mm + 4) * math.pi / catalogue.belt_profile(ring.designation).pitch_mm
        for teeth in sorted((t for t in _stocked(ring) if 16 <= t <= ring.teeth - fewer), reverse=True)[:2]:
            yield _belt_of(design, teeth)
    else:
        size = ring.module_mm * ring.teeth + 2 * design.rigid_ring[0].rim_mm
        share = 1 - (lacking_mm + 8) / size
        edits = [Edit("flexible_ring.module_mm", math.floor(100 * ring.module_mm * share) / 100)]
        if isinstance(design.generator, m.Discs):
            edits.append(Edit("generator.disc_radius_mm", round(design.generator.disc_radius_mm * share, 1)))
        yield tuple(edits)


def _belt_of(design: m.Design, teeth: int) -> tuple[Edit, ...]:
    """A belt of another length, the tooth differences kept."""
    more = teeth - design.flexible_ring.teeth
    rings = (Edit(f"rigid_ring[{i}].teeth", ring.teeth + more) for i, ring in enumerate(design.rigid_ring, 1))
    return (Edit("flexible_ring.teeth", teeth), *rings)


def _stocked(belt: m.Belt) -> tuple[int, ...]:
    try:
        return catalogue.belt_stock(belt.designation).teeth
    except CatalogueFault:
        return ()


def _stock(design: m.Design) -> Candidates:
    belt = design.flexible_ring
    assert isinstance(belt, m.Belt)
    for teeth in sorted(_stocked(belt), key=lambda t: (abs(t - belt.teeth), t))[:4]:
        yield _belt_of(design, teeth)


def _belt_bend(design: m.Design) -> Candidates:
    generator = design.generator
    if isinstance(generator, m.Rollers) and generator.lobes == 2:
        yield (Edit("generator.kind", "paired_rollers"),)
    factor = generator.design_deflection_factor
    for step in (0.05, 0.1, 0.15):
        if factor is not None:
            yield (Edit("generator.design_deflection_factor", round(factor - step, 3)),)
    belt = design.flexible_ring
    assert isinstance(belt, m.Belt)
    for teeth in sorted(t for t in _stocked(belt) if t > belt.teeth)[:4]:
        yield _belt_of(design, teeth)


def _rollers(design: m.Design) -> Candidates:
    generator = design.generator
    if isinstance(generator, (m.Rollers, m.PairedRollers)):
        size = catalogue.bearing(generator.bearing).outer_mm
        smaller = sorted({b.outer_mm: b for b in catalogue.bearings()}.values(), key=lambda b: -b.outer_mm)
        for row in [b for b in smaller if b.outer_mm < size][:6]:
            yield (Edit("generator.bearing", row.designation),)


def _temperature(design: m.Design) -> Candidates:
    for row in sorted(catalogue.materials(), key=lambda r: r.service_k):
        if row.kind is catalogue.MaterialKind.PRINTED:
            edits = [Edit("process.material", row.name)] if isinstance(design.process, m.Printer) else []
            if isinstance(design.flexible_ring, (m.PrintedRing, m.PrintedCup)):
                edits.append(Edit("flexible_ring.material", row.name))
            if edits:
                yield tuple(edits)


def _fit(design: m.Design, verdict: Verdict) -> Candidates:
    generator = design.generator
    if verdict.value is not None and verdict.limit is not None:
        over = (verdict.value - 0.45 * verdict.limit) / 100 * ring_geometry(design).length_mm
        yield (Edit("generator.fit_mm", round(generator.fit_mm + over, 2)),)
    yield (Edit("generator.fit_mm", round(generator.fit_tolerance_mm, 3)),)


def candidates(design: m.Design, verdict: Verdict) -> Candidates:
    """Edits worth trying for a verdict, gentlest first; none for checks that no edit answers."""
    kind, _, name = verdict.name.partition(":")
    value = verdict.value if verdict.value is not None else 0.0
    table: dict[str, Callable[[], Candidates]] = {
        "ring_land": lambda: _land(design, name),
        "flank_gap": lambda: _flank_gap(design, name, value),
        "minor_gap": lambda: _minor_gap(design),
        "engagement": lambda: _engagement(design, name),
        "flexible_wall": lambda: _wall(design),
        "flexible_strain": lambda: _strain(design),
        "bed": lambda: _bed(design, -value),
        "belt_stock": lambda: _stock(design),
        "roller_room": lambda: _rollers(design),
        "temperature": lambda: _temperature(design),
        "cam_fit": lambda: _fit(design, verdict),
        "belt_bend": lambda: _belt_bend(design),
    }
    return table[kind]()


def _turns(before: Assessment, after: Assessment, name: str) -> bool:
    """True when the verdict passes now and nothing fails that did not fail before."""
    failing = {v.name for v in before.verdicts if v.state is State.FAIL}
    new = {v.name for v in after.verdicts if v.state is State.FAIL} - failing
    return not new and any(v.name == name and v.state is State.PASS for v in after.verdicts)


def suggest(before: Assessment, verdict: Verdict) -> Suggestion | None:
    """The gentlest tried edit that turns one verdict to pass; None when none of the candidates does."""
    for number, edits in enumerate(candidates(before.design, verdict)):
        if number >= MOST_TRIES:
            break
        try:
            after = assess(apply(before.design, edits))
        except LobewrightError:
            continue
        if _turns(before, after, verdict.name):
            return Suggestion(verdict.name, edits)
    return None


def suggestions(before: Assessment, progress: Callable[[str, float], None] | None = None) -> tuple[Suggestion, ...]:
    """Suggestions for every verdict that fails or warns, in the order of the verdicts."""
    troubled = [v for v in before.verdicts if v.state in (State.FAIL, State.WARN)]
    found = []
    for number, verdict in enumerate(troubled):
        if progress:
            progress(f"advice on {verdict.name}", number / len(troubled))
        suggestion = suggest(before, verdict)
        if suggestion is not None:
            found.append(suggestion)
    return tuple(found)
