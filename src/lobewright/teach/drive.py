"""A drive as exercises see it: tooth counts, lobes, and who is held, driven and read."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from itertools import permutations

from lobewright.design.model import Design
from lobewright.errors import MotionFault
from lobewright.motion import FLEXIBLE, GENERATOR, MotionResult, Row, rows_of, solve
from lobewright.teach.language import Language


@dataclass(frozen=True)
class Roles:
    """Names of members: the one that stands still, the one that is turned, the one that is looked at."""

    held: str
    driven: str
    read: str


@dataclass(frozen=True)
class Drive:
    """Counts and roles; ``cup``: the flexible ring is a cup."""

    rows: tuple[Row, ...]
    lobes: int
    roles: Roles
    cup: bool

    @property
    def members(self) -> tuple[str, ...]:
        return (GENERATOR, FLEXIBLE, *(row.name for row in self.rows))

    @property
    def uneven(self) -> Row:
        """The row whose counts differ: that of the held ring where it does, else the first such."""
        found = [row for row in self.rows if row.ring_teeth != row.flexible_teeth]
        return next((row for row in found if row.name == self.roles.held), found[0])

    def moves(self, roles: Roles | None = None) -> MotionResult:
        """What turns how fast. Raises MotionFault where these roles give no unique ratio."""
        chosen = roles or self.roles
        return solve(self.rows, self.lobes, chosen.held, chosen.driven, chosen.read)

    def passing(self, member: str) -> Fraction:
        """Turns of a member seen from the generator while the flexible ring turns once: equal counts of teeth pass."""
        if member in (GENERATOR, FLEXIBLE):
            return Fraction(int(member == FLEXIBLE))
        row = next(row for row in self.rows if row.name == member)
        return Fraction(row.flexible_teeth, row.ring_teeth)

    def other_roles(self) -> tuple[Roles, ...]:
        """All other ways to hold, drive and read that give a ratio, in a fixed order."""
        found = []
        for held, driven, read in permutations(self.members, 3):
            roles = Roles(held, driven, read)
            try:
                self.moves(roles)
            except MotionFault:
                continue
            if roles != self.roles:
                found.append(roles)
        return tuple(found)


def drive_of(design: Design) -> Drive:
    """The drive of a design. It has a row whose counts differ, for else nothing would turn and the design is refused."""
    chosen = design.motion
    roles = Roles(chosen.fixed, chosen.driven, chosen.read)
    return Drive(rows_of(design), design.lobes, roles, design.is_cup)


def member_words(member: str, drive: Drive, language: Language, object_case: bool = False) -> str:
    """A member with its article: ``the wave generator``; ``object_case``: as what is done something to (German bends it)."""
    case = "_object" if object_case else ""
    if member == GENERATOR:
        return language.say("drive", f"generator{case}")
    if member == FLEXIBLE:
        return language.say("drive", ("cup" if drive.cup else "flexible") + case)
    return language.say("drive", f"ring{case}", name=member)


def roles_words(drive: Drive, roles: Roles, language: Language) -> str:
    """``Held: the ring “base”. Driven: …`` in one line."""
    named = {key: member_words(getattr(roles, key), drive, language) for key in ("held", "driven", "read")}
    return language.say("drive", "roles", **named)


def counts_words(drive: Drive, language: Language) -> str:
    """All tooth counts and the lobes in one line."""
    rings = []
    for row in drive.rows:
        rings.append(language.say("drive", "ring_count", name=row.name, teeth=row.ring_teeth))
        if row.flexible_teeth != drive.rows[0].flexible_teeth:
            rings.append(language.say("drive", "row_count", name=row.name, teeth=row.flexible_teeth))
    flexible = language.say("drive", "cup_count" if drive.cup else "flexible_count", teeth=drive.rows[0].flexible_teeth)
    return language.say("drive", "counts", flexible=flexible, rings=", ".join(rings), lobes=drive.lobes)


def way_words(value: Fraction, language: Language) -> str:
    """Which way, against the one that is driven."""
    return language.say("drive", "same_way" if value > 0 else "other_way")
