"""A drive as exercises see it: tooth counts, lobes, and who is held, driven and read."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from itertools import permutations

from lobewright.design.model import Design
from lobewright.errors import MotionFault
from lobewright.motion import FLEXIBLE, GENERATOR, MotionResult, Row, rows_of, solve
from lobewright.teach.language import Language

KEPT = 512
"""Solved motions that are kept: exercises about one drive ask for the same ones again and again."""


@dataclass(frozen=True)
class Roles:
    """Names of members: the one that stands still, the one that is turned, the one that is looked at."""

    held: str
    driven: str
    read: str


@lru_cache(KEPT)
def _moves(rows: tuple[Row, ...], lobes: int, roles: Roles) -> MotionResult:
    return solve(rows, lobes, roles.held, roles.driven, roles.read)


@lru_cache(KEPT)
def _possible(rows: tuple[Row, ...], lobes: int) -> tuple[Roles, ...]:
    """Roles that give a unique ratio, in a fixed order."""
    found = []
    for chosen in permutations((GENERATOR, FLEXIBLE, *(row.name for row in rows)), 3):
        try:
            _moves(rows, lobes, Roles(*chosen))
        except MotionFault:
            continue
        found.append(Roles(*chosen))
    return tuple(found)


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
        """The row whose counts differ: that of the held ring where it does, else of the one that is read, else the first such.
        Scenes show the same one."""
        found = [row for row in self.rows if row.ring_teeth != row.flexible_teeth]
        wanted = (row for name in (self.roles.held, self.roles.read) for row in found if row.name == name)
        return next(wanted, found[0])

    def moves(self, roles: Roles | None = None) -> MotionResult:
        """What turns how fast. Raises MotionFault where these roles give no unique ratio."""
        return _moves(self.rows, self.lobes, roles or self.roles)

    def passing(self, member: str) -> Fraction:
        """Turns of a member seen from the generator while the flexible ring turns once: equal counts of teeth pass."""
        if member in (GENERATOR, FLEXIBLE):
            return Fraction(int(member == FLEXIBLE))
        row = next(row for row in self.rows if row.name == member)
        return Fraction(row.flexible_teeth, row.ring_teeth)

    def other_roles(self) -> tuple[Roles, ...]:
        """All other ways to hold, drive and read that give a ratio, in a fixed order."""
        return tuple(roles for roles in _possible(self.rows, self.lobes) if roles != self.roles)


def drive_of(design: Design) -> Drive:
    """The drive of a design. It has a row whose counts differ, for else nothing would turn and the design is refused."""
    chosen = design.motion
    roles = Roles(chosen.fixed, chosen.driven, chosen.read)
    return Drive(rows_of(design), design.lobes, roles, design.is_cup)


def comes_out(flexible_teeth: int, difference: int) -> bool:
    """Whether a tooth stands right at a space in every place where the two are in step. 89 teeth and 91 spaces are in step twice,
    the second time with a gap where no space is."""
    return flexible_teeth % abs(difference) == 0


def even_row(row: Row) -> Row:
    """The row, or the next larger one of its difference, whose counts come out. Differences are multiples of the lobes, so a
    tooth of it stands at every lobe."""
    difference = row.ring_teeth - row.flexible_teeth
    more = next(more for more in range(abs(difference)) if comes_out(row.flexible_teeth + more, difference))
    return Row(row.name, row.ring_teeth + more, row.flexible_teeth + more)


def member_words(member: str, drive: Drive, language: Language, object_case: bool = False) -> str:
    """A member with its article: ``the wave generator``; ``object_case``: as what is done something to (German bends it)."""
    case = "_object" if object_case else ""
    if member == GENERATOR:
        return language.say("drive", f"generator{case}")
    if member == FLEXIBLE:
        return language.say("drive", ("cup" if drive.cup else "flexible") + case)
    return language.say("drive", f"ring{case}", name=member)


def flexible_of(drive: Drive, language: Language) -> str:
    """The flexible ring or cup as that which something belongs to."""
    return language.say("drive", "cup_of" if drive.cup else "flexible_of")


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
