"""What the drawer has instead: other bearings, another belt, other bolts, and what each would cost in strain, mesh and torque.

Each substitute is an edit of the design that is assessed anew and compared; nothing is offered that was not tried. Torque is
walked to the skip only when asked for, since it takes seconds a design.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from lobewright.assessment.compare import VerdictChange, compare
from lobewright.assessment.results import Assessment
from lobewright.assessment.run import assess
from lobewright.assessment.stiffness import loaded_drive, stiffnesses
from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.design.edits import Edit, apply
from lobewright.design.holding import bearings_on_an_axle
from lobewright.design.owned import owned_belts
from lobewright.errors import LobewrightError
from lobewright.make.drawer import Need, bearing_of, belt_words
from lobewright.ring.generator import lobe_angles_rad
from lobewright.torque.ask import skip
from lobewright.verdict import State

MOST = 3
"""Substitutes tried for one need, the nearest first."""
FARTHEST = 2.0
"""Times larger or smaller that a bearing may be and still count as near."""
NMM_PER_NM = 1000.0


@dataclass(frozen=True)
class Numbers:
    """What a substitute is judged by. ``gap_mm``, ``depth_mm``: least over rings and states. ``skip_torque_nm`` is None where
    it was not asked for."""

    ratio: float
    strain_percent: float
    gap_mm: float
    depth_mm: float
    skip_torque_nm: float | None


@dataclass(frozen=True)
class Substitute:
    """One thing of the drawer in place of another.

    ``have`` of the drawer's are to spare for ``need``; ``used`` more serve elsewhere. ``after`` is None where the edited design
    cannot be; ``refused`` then says why. ``changes``: verdicts whose state differs.
    """

    asked: str
    taken: str
    have: int
    need: int
    edits: tuple[Edit, ...]
    before: Numbers
    after: Numbers | None
    changes: tuple[VerdictChange, ...] = ()
    refused: str = ""
    used: int = 0

    @property
    def fails(self) -> tuple[str, ...]:
        """Verdicts that fail with the substitute and did not before."""
        return tuple(one.name for one in self.changes if one.second is State.FAIL)

    @property
    def drawer(self) -> str:
        share = "" if self.have >= self.need else f" of the {self.need} that it takes"
        elsewhere = f", {self.used} more are used elsewhere" if self.used else ""
        return f"you own {self.have}{share}{elsewhere}"

    @property
    def cost(self) -> str:
        """What it costs, as a person would be told."""
        if self.after is None:
            return f"cannot be: {self.refused}"
        old, new = self.before, self.after
        rows = [
            _told("bending strain", old.strain_percent, new.strain_percent, "%", 3),
            _told("smallest gap of teeth", old.gap_mm, new.gap_mm, "mm", 3),
            _told("depth in mesh", old.depth_mm, new.depth_mm, "mm", 3),
        ]
        if old.skip_torque_nm is not None and new.skip_torque_nm is not None:
            rows.append(_told("skip torque", old.skip_torque_nm, new.skip_torque_nm, "N·m", 1))
        if abs(new.ratio - old.ratio) > 1e-9:
            rows.append(_told("ratio", old.ratio, new.ratio, ": 1", 1))
        return "; ".join((*rows, _verdicts(self.changes)))

    @property
    def sentence(self) -> str:
        """All of it, as a person would be told."""
        return f"Instead of {self.asked} take {self.taken} ({self.drawer}): {self.cost}"


def _told(words: str, old: float, new: float, unit: str, digits: int) -> str:
    first, second = (f"{value:.{digits}f}".replace("-", "−") for value in (old, new))
    return f"{words} stays {first} {unit}" if first == second else f"{words} {first} {unit} → {second} {unit}"


def _verdicts(changes: Sequence[VerdictChange]) -> str:
    if not changes:
        return "no verdict changes"
    return "verdicts: " + ", ".join(
        f"{one.name.replace('_', ' ')} {one.first or 'absent'} → {one.second or 'absent'}" for one in changes
    )


def numbers(a: Assessment, torque: bool = False) -> Numbers:
    """The numbers of a design; the skip torque at the middle of all stiffnesses only when ``torque``.

    Raises DesignFault, ConvergenceFault or PlatformFault from the torque model.
    """
    limit = None
    if torque:
        drive = loaded_drive(a)
        limit = skip(drive, stiffnesses(drive).inputs).torque_nmm / NMM_PER_NM
    return Numbers(
        float(a.motion.ratio),
        100 * a.strain.amplitude,
        min(ring.worst_case.smallest_gap_mm for ring in a.rings),
        min(ring.least_engagement_mm for ring in a.rings),
        limit,
    )


def substitutes(a: Assessment, wanted: Sequence[Need] = (), torque: bool = False) -> tuple[Substitute, ...]:
    """What the drawer has instead of what it lacks, each assessed anew.

    ``wanted``: the needs of the whole assembly (see :func:`lobewright.make.drawer.needs`); without them only belt, generator
    bearing and ring bolts are looked at. ``torque``: state the skip torque too, some seconds a design.
    """
    tries = [*_belts(a), *_generator_bearings(a, wanted), *_output_bearings(a, wanted), *_ring_bolts(a)]
    if not tries:
        return ()
    before = numbers(a, torque)
    return tuple(_spared(_tried(a, before, torque, *one), wanted) for one in tries)


def _spared(one: Substitute, wanted: Sequence[Need]) -> Substitute:
    """The substitute less what of it the assembly uses elsewhere."""
    name = bearing_of(one.taken)
    asked = sum(need.have for need in wanted if name is not None and bearing_of(need.designation) == name)
    used = min(one.have, asked)
    return replace(one, have=one.have - used, used=used)


Try = tuple[str, str, int, int, tuple[Edit, ...]]


def _tried(
    a: Assessment, before: Numbers, torque: bool, asked: str, taken: str, have: int, need: int, edits: tuple[Edit, ...]
) -> Substitute:
    try:
        after = assess(apply(a.design, edits))
        found = numbers(after, torque)
    except LobewrightError as error:
        return Substitute(asked, taken, have, need, edits, before, None, refused=error.faults[0].sentence())
    return Substitute(asked, taken, have, need, edits, before, found, compare(a, after).verdicts)


def _belts(a: Assessment) -> Iterator[Try]:
    """Other lengths of the same profile, and other profiles of the same pitch and length; rings keep their differences."""
    design, ring = a.design, a.design.flexible_ring
    if not isinstance(ring, m.Belt) or design.owned is None or owned_belts(design):
        return
    own = catalogue.belt_profile(ring.designation)
    near = [
        belt
        for belt in design.owned.belts
        if belt.count and math.isclose(catalogue.belt_profile(belt.designation).pitch_mm, own.pitch_mm)
    ]
    for belt in sorted(near, key=lambda one: (abs(one.teeth - ring.teeth), one.designation))[:MOST]:
        edits: list[Edit] = []
        name = catalogue.belt_profile(belt.designation).designation
        if name != own.designation:
            edits.append(Edit("flexible_ring.designation", name))
        if belt.teeth != ring.teeth:
            more = belt.teeth - ring.teeth
            edits.append(Edit("flexible_ring.teeth", belt.teeth))
            edits += [Edit(f"rigid_ring[{i}].teeth", one.teeth + more) for i, one in enumerate(design.rigid_ring, 1)]
        if belt.width_mm != ring.width_mm:
            edits.append(Edit("flexible_ring.width_mm", belt.width_mm))
        yield belt_words(design), f"{name}, {belt.teeth} teeth, {belt.width_mm:g} mm wide", belt.count, 1, tuple(edits)


def _lacking(wanted: Sequence[Need], name: str, have: int, need: int) -> bool:
    """Whether the drawer falls short; by the whole assembly's needs where they are known."""
    known = next((one for one in wanted if bearing_of(one.designation) == name), None)
    return known.lacking > 0 if known else have < need


def _others(design: m.Design, own: catalogue.Bearing, same_bore: bool = False) -> list[tuple[catalogue.Bearing, int]]:
    """Bearings of the drawer near one in size, the nearest first, and how many there are."""
    counts: dict[str, int] = {}
    for row in design.owned.bearings if design.owned else ():
        name = bearing_of(row.designation)
        if name and name != own.designation:
            counts[name] = counts.get(name, 0) + row.count
    near = []
    for name, count in counts.items():
        other = catalogue.bearing(name)
        fits = other.bore_mm == own.bore_mm if same_bore else True
        if count and fits and 1 / FARTHEST <= other.outer_mm / own.outer_mm <= FARTHEST:
            near.append((other, count))
    return sorted(near, key=lambda one: (abs(math.log(one[0].outer_mm / own.outer_mm)), one[0].designation))[:MOST]


def _bearings_needed(a: Assessment, design: m.Design, bearing: catalogue.Bearing) -> int:
    """Bearings in a generator: on each axle of a roller as many as the face has room for; at least one a disc."""
    axles = 2 if isinstance(design.generator, m.Discs) else len(lobe_angles_rad(a.setting))
    return axles * (1 if isinstance(design.generator, m.Discs) else bearings_on_an_axle(design, bearing))


def _owned_count(design: m.Design, name: str) -> int:
    owned = design.owned.bearings if design.owned else ()
    return sum(row.count for row in owned if bearing_of(row.designation) == name)


def _generator_bearings(a: Assessment, wanted: Sequence[Need]) -> Iterator[Try]:
    design, generator = a.design, a.design.generator
    if isinstance(generator, m.Cam):
        return
    own = catalogue.bearing(generator.bearing)
    need = _bearings_needed(a, design, own)
    have = _owned_count(design, own.designation)
    if not _lacking(wanted, own.designation, have, need):
        return
    for other, count in _others(design, own):
        edits = (Edit("generator.bearing", other.designation),)
        yield f"{need} bearings {own.designation}", other.designation, count, _bearings_needed(a, design, other), edits


def _output_bearings(a: Assessment, wanted: Sequence[Need]) -> Iterator[Try]:
    design, stated = a.design, a.design.output_bearing
    if stated is None:
        return
    own = catalogue.bearing(stated.bearing)
    if not _lacking(wanted, own.designation, _owned_count(design, own.designation), stated.count):
        return
    for other, count in _others(design, own, same_bore=True):
        edits = (Edit("output_bearing.bearing", other.designation),)
        yield f"{stated.count} bearings {own.designation}", other.designation, count, stated.count, edits


def _ring_bolts(a: Assessment) -> Iterator[Try]:
    """Another size for the rings' bolts, where the drawer has none of the size asked for."""
    design = a.design
    sizes: dict[str, int] = {}
    for row in design.owned.bolts if design.owned else ():
        sizes[row.size.upper()] = sizes.get(row.size.upper(), 0) + row.count
    need: dict[str, int] = {}
    for ring in design.rigid_ring:
        need[ring.bolt.upper()] = need.get(ring.bolt.upper(), 0) + ring.bolts
    for size, wanted in need.items():
        if sizes.get(size, 0) >= wanted or not wanted:
            continue
        own = catalogue.bolt(size).diameter_mm
        others = [other for other, count in sizes.items() if other != size and count >= wanted]
        for other in sorted(others, key=lambda name: abs(catalogue.bolt(name).diameter_mm - own))[:1]:
            edits = tuple(
                Edit(f"rigid_ring[{i}].bolt", other)
                for i, ring in enumerate(design.rigid_ring, 1)
                if ring.bolt.upper() == size
            )
            yield f"{wanted} ring screws {size}", other, sizes[other], wanted, edits


def motor_words(design: m.Design, a: Assessment) -> tuple[str, ...]:
    """Motors of the drawer, each with the torque it holds at the output without friction, and what the duty asks at most."""
    ratio = abs(float(a.motion.ratio))
    asked = max((max(step.torque_Nm, step.peak_torque_Nm) for step in design.duty), default=None)
    rows = []
    for motor in design.owned.motors if design.owned else ():
        most = motor.holding_torque_Nm * ratio
        text = f"{motor.name} (you own {motor.count}): holds {most:.3g} N·m at the output without friction"
        if asked is not None:
            text += f", the duty asks for {asked:g} N·m at most"
        rows.append(f"{text}; shaft ø{motor.shaft_mm:g} mm")
    return tuple(rows)
