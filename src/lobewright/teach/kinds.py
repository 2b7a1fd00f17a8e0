"""Three drives of different kinds at one ratio: a belt, a printed cup, a steel cup; the design itself stands in for its own kind.

The others are the starters with their tooth counts set for the ratio, two teeth of difference on two lobes; a printed or steel
cup keeps its starter's pitch diameter, so that its module follows; a belt keeps its pitch, so that its size follows. Nothing else
is tuned: they are made to compare, not to build.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from lobewright.assessment.mesh import Care
from lobewright.assessment.results import Assessment
from lobewright.assessment.run import assess
from lobewright.design import model as m
from lobewright.design.files import design_from_data
from lobewright.design.starters import starter_data
from lobewright.errors import LobewrightError
from lobewright.teach.pushed import Pushed, pushed
from lobewright.teach.reasons import Why, why

Progress = Callable[[str, float], None]
KINDS = ("belt", "printed_cup", "metal_cup")
DIFFERENCE = 2
SAFE = 0.5
"""Of the least limit among the drives: largest torque at which they are compared."""
DUTY_OF_LEAST = 0.2
KEPT = 4


@dataclass(frozen=True)
class Kind:
    """One drive of the three. ``own``: it is the design itself. ``push``: under torque, or the reason why not."""

    kind: str
    own: bool
    found: Assessment
    push: Pushed | Why

    @property
    def word(self) -> str:
        """Kind of its flexible ring, which for the design itself may be a printed ring."""
        return str(self.found.design.flexible_ring.kind)

    @property
    def teeth(self) -> tuple[int, int]:
        """Teeth of the flexible ring, and of the rigid ring with the difference."""
        mesh = next(mesh for mesh in self.found.rings if mesh.space.teeth != mesh.flexible_teeth)
        return mesh.flexible_teeth, mesh.space.teeth

    @property
    def outer_mm(self) -> float:
        """Outside diameter of the largest rigid ring."""
        pairs = zip(self.found.rings, self.found.design.rigid_ring, strict=True)
        return 2.0 * max(mesh.space.root_radius_mm + made.rim_mm for mesh, made in pairs)


@dataclass(frozen=True)
class Compared:
    """The drives side by side. ``ratio``: generator over output, signed, of the design; ``met`` of the others, the nearest that
    two lobes give. ``missed``: kinds that cannot be made so, with the reason."""

    kinds: tuple[Kind, ...]
    ratio: Fraction
    met: Fraction
    missed: tuple[tuple[str, Why], ...]

    @property
    def torque_nmm(self) -> float:
        """The design's working torque, no more than half of what the weakest carries."""
        solved = [one for one in self.kinds if isinstance(one.push, Pushed)]
        least = min((one.push.limit_nmm for one in solved if isinstance(one.push, Pushed)), default=0.0)
        own = next(
            (one.push.duty_nmm for one in solved if one.own and isinstance(one.push, Pushed)), DUTY_OF_LEAST * least
        )
        return min(own, SAFE * least)


def own_ratio(found: Assessment) -> Fraction:
    """Turns of the generator for one of the slow member that is read or driven, signed; of the tooth counts where the generator
    is held."""
    turns = found.motion.turns_in_generator_turn
    slow = found.motion.slow_member
    if turns and turns[slow]:
        return 1 / turns[slow]
    mesh = next(mesh for mesh in found.rings if mesh.space.teeth != mesh.flexible_teeth)
    return Fraction(-mesh.flexible_teeth, mesh.space.teeth - mesh.flexible_teeth)


def ratio_met(ratio: Fraction) -> Fraction:
    """The nearest ratio that whole teeth give with two teeth of difference."""
    size = round(abs(ratio) * DIFFERENCE)
    return Fraction(size if ratio > 0 else -size, DIFFERENCE)


def kind_data(kind: str, ratio: Fraction) -> dict[str, Any]:
    """A starter as plain data, its teeth set for a ratio that whole teeth give.

    Held ring, flexible ring read: −Z/2 : 1. Flexible ring held, or for a belt its equal ring, the other ring read: (Z + 2)/2 : 1.
    """
    data = starter_data(kind)
    ring, rigid = data["flexible_ring"], data["rigid_ring"]
    count = int(abs(ratio) * DIFFERENCE)
    teeth = count if ratio < 0 else count - DIFFERENCE
    if kind != "belt":
        ring["module_mm"] = ring["module_mm"] * ring["teeth"] / teeth
    ring["teeth"], rigid[0]["teeth"] = teeth, teeth + DIFFERENCE
    if kind == "belt":
        rigid[1]["teeth"] = teeth
    if ratio > 0:
        data["motion"] = {**data["motion"], "fixed": data["motion"]["read"], "read": rigid[0]["name"]}
    return data


def own_kind(found: Assessment) -> str:
    """Which of the three a design is most like."""
    ring = found.design.flexible_ring
    return "belt" if isinstance(ring, m.Belt) else "metal_cup" if isinstance(ring, m.MetalCup) else "printed_cup"


_KEPT: OrderedDict[tuple[str, str], Compared] = OrderedDict()


def compared(found: Assessment, progress: Progress | None = None) -> Compared:
    """The drives side by side."""
    key = found.design_hash, found.workshop_hash
    if key not in _KEPT:
        _KEPT[key] = _compared(found, progress)
        while len(_KEPT) > KEPT:
            _KEPT.popitem(last=False)
    return _KEPT[key]


def _compared(found: Assessment, progress: Progress | None) -> Compared:
    ratio = own_ratio(found)
    met = ratio_met(ratio)
    made: list[Kind] = []
    missed: list[tuple[str, Why]] = []
    for kind in KINDS:
        if kind == own_kind(found):
            made.append(Kind(kind, True, found, pushed(found, progress)))
            continue
        try:
            other = _made(kind, met)
        except LobewrightError as error:
            missed.append((kind, why(error)))
            continue
        made.append(Kind(kind, False, other, pushed(other, progress)))
    return Compared(tuple(made), ratio, met, tuple(missed))


def _made(kind: str, ratio: Fraction) -> Assessment:
    return assess(design_from_data(kind_data(kind, ratio), name=kind), care=Care.COARSE)
