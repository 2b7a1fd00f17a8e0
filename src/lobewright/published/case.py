"""What an evidence case is: a number from outside the model, and the call that has to meet it."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum

from lobewright.errors import LobewrightError, PlatformFault
from lobewright.published.model import Model
from lobewright.sources import Flag, Source, honest_flag, source
from lobewright.verdict import State


class Room(StrEnum):
    """What a case is about."""

    MOTION = "motion"
    RING = "ring"
    TOOTH_SPACE = "tooth space"
    BELT = "belt"
    LOADED = "under torque"
    CUP = "cup"
    STRENGTH = "strength"
    PARTS = "parts"


@dataclass(frozen=True)
class Case:
    """One row of evidence.

    ``expected`` and ``allowed`` share ``unit``; ``allowed`` is absolute and ``reason`` says where it comes from. ``compute``
    takes the public calls of the package, so that a test can hand it wrong ones. ``claimed`` is the flag of the expected
    number; ``flag`` never exceeds what the source allows.
    """

    key: str
    room: Room
    quantity: str
    unit: str
    source_key: str
    claimed: Flag
    expected: float
    allowed: float
    reason: str
    compute: Callable[[Model], float]

    @property
    def source(self) -> Source:
        return source(self.source_key)

    @property
    def flag(self) -> Flag:
        """The claimed flag, lowered where the source is worth less."""
        return honest_flag(self.claimed, self.source)

    def run(self, model: Model, shift: float = 0.0) -> CaseResult:
        """Compute the row. ``shift`` is added to what the model gives; it is there to see the row fail.

        A call that refuses makes a failed row with its sentence, so that the other rows are still seen. Where a part of the
        installation is missing the row is not made.
        """
        try:
            return CaseResult(self, float(self.compute(model)) + shift)
        except PlatformFault as error:
            return CaseResult(self, math.nan, error.sentences()[0], made=False)
        except LobewrightError as error:
            return CaseResult(self, math.nan, error.sentences()[0])


@dataclass(frozen=True)
class CaseMaker:
    """Makes the cases of one subject: their keys begin with ``prefix``; source and flag, number and allowance in pairs."""

    prefix: str
    room: Room

    def __call__(
        self,
        key: str,
        quantity: str,
        unit: str,
        source: tuple[str, Flag],
        numbers: tuple[float, float],
        reason: str,
        compute: Callable[[Model], float],
    ) -> Case:
        return Case(f"{self.prefix}.{key}", self.room, quantity, unit, *source, *numbers, reason, compute)


@dataclass(frozen=True)
class CaseResult:
    """A case and what the model gave; NaN when it gave no number, with its ``refusal`` where it said why. Not ``made``: an
    optional part of the installation that the row needs is missing."""

    case: Case
    computed: float
    refusal: str = ""
    made: bool = True

    @property
    def difference(self) -> float:
        """Computed minus expected."""
        return self.computed - self.case.expected

    @property
    def state(self) -> State:
        """Pass when the difference is finite and smaller than allowed, else fail; or not made."""
        if not self.made:
            return State.NOT_MADE
        inside = math.isfinite(self.difference) and abs(self.difference) < self.case.allowed
        return State.PASS if inside else State.FAIL

    @property
    def passed(self) -> bool:
        return self.state is State.PASS

    @property
    def failed(self) -> bool:
        return self.state is State.FAIL
