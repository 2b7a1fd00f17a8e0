"""Which members lessons talk about, what they are called, and how fast they go: exact, from the tooth counts."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from lobewright.errors import MotionFault
from lobewright.make import moving_page as page
from lobewright.motion import FLEXIBLE, GENERATOR, MotionResult, Row, rows_of, solve
from lobewright.picture.palette import Role
from lobewright.picture.score import ratio_figures
from lobewright.teach.language import Language, grouped
from lobewright.teach.reasons import in_english
from lobewright.teach.subject import Subject
from lobewright.verdict import State, Verdict, capital

PART = "shown"
RING_ROLES = ((Role.RING_A, Role.RING_A_SOFT), (Role.RING_B, Role.RING_B_SOFT))


def rows(subject: Subject) -> tuple[Row, ...]:
    """The meshing rows of the design."""
    return rows_of(subject.found.design)


def moved(subject: Subject, held: str, driven: str, read: str) -> MotionResult:
    """Turns of all members with these held, driven and read. Raises MotionFault where that leaves no ratio."""
    return solve(rows(subject), subject.found.design.lobes, held, driven, read)


def usual(subject: Subject) -> MotionResult:
    """The design's own motion with the generator driven; where the design holds the generator, its first ring is held instead.

    What is read is the member that the design drives or reads besides the generator.
    """
    own = subject.found.motion
    if own.fixed != GENERATOR:
        return moved(subject, own.fixed, GENERATOR, own.slow_member)
    first = rows(subject)[0].name
    for slow in dict.fromkeys((own.read, own.driven, FLEXIBLE)):
        if slow not in (GENERATOR, first):
            try:
                return moved(subject, first, GENERATOR, slow)
            except MotionFault:
                continue
    raise MotionFault(f"with {first} held nothing else of this drive turns")


@dataclass(frozen=True)
class Pair:
    """A rigid ring and the row of the flexible ring that it meshes with, whose tooth counts differ."""

    index: int
    row: Row

    @property
    def difference(self) -> int:
        """Spaces of the ring less teeth of the flexible ring: above zero."""
        return self.row.ring_teeth - self.row.flexible_teeth


def pair(subject: Subject) -> Pair:
    """The ring that is held where its count differs from its row's, else the one that is read, else the first that differs; every
    design has one."""
    moved_ = usual(subject)
    found = [Pair(i, row) for i, row in enumerate(rows(subject)) if row.ring_teeth != row.flexible_teeth]
    wanted = (one for name in (moved_.fixed, moved_.read) for one in found if one.row.name == name)
    return next(wanted, found[0])


def role_of(subject: Subject, member: str) -> tuple[Role, Role]:
    """Colour of a member and its soft tint."""
    if member == GENERATOR:
        return Role.GENERATOR, Role.GENERATOR_SOFT
    if member == FLEXIBLE:
        return Role.FLEXIBLE, Role.FLEXIBLE_SOFT
    names = [ring.name for ring in subject.motion.rings]
    return RING_ROLES[names.index(member) % len(RING_ROLES)]


def page_name(member: str) -> str:
    """A member's name in :class:`~lobewright.make.moving_page.Motion`."""
    return page.FLEXIBLE if member == FLEXIBLE else member


def named(subject: Subject, language: Language, member: str, case: str = "the") -> str:
    """A member in words. ``case``: ``the`` (as subject of a sentence), ``acc`` (as its object), ``bare`` (as a heading); ``of``
    (whose it is), of the flexible ring only."""
    if member == GENERATOR:
        return language.say(PART, f"generator_{case}")
    if member == FLEXIBLE:
        kind = "cup" if subject.found.design.is_cup else "ring"
        return language.say(PART, f"flexible_{kind}_{case}")
    return language.say(PART, f"rigid_{case}", name=member)


def drive_line(subject: Subject, language: Language) -> str:
    """What a lesson is about in one line: whose drive, and what sort. It tells no ratio: that is asked."""
    design = subject.found.design
    counts = [str(row.ring_teeth) for row in rows(subject)]
    return language.say(
        PART,
        "drive" if len(counts) > 1 else "drive_one",
        name=design.name,
        what=language.say(PART, f"what_{design.flexible_ring.kind}"),
        teeth=rows(subject)[0].flexible_teeth,
        spaces=language.say(PART, "and").join(counts),
    )


def at_the_lobe(subject: Subject, language: Language, ring: str, held: bool) -> tuple[str, str, str]:
    """How a ring, which may be ``held``, the flexible ring and the generator are called in a picture."""
    first, flexible, generator = (named(subject, language, member, "bare") for member in (ring, FLEXIBLE, GENERATOR))
    return language.say("torque", "held", ring=first) if held else first, flexible, generator


def held_counted(subject: Subject, moved_: MotionResult) -> Fraction | None:
    """The ratio of who counts the teeth of the member that is held instead of those of the one that turns slowly; None where
    the generator is held, or that gives no ratio."""
    if moved_.fixed == GENERATOR:
        return None
    try:
        other = abs(moved(subject, moved_.slow_member, GENERATOR, moved_.fixed).ratio)
    except MotionFault:
        return None
    size = 1 / other if moved_.read == GENERATOR else other
    return size if moved_.ratio > 0 else -size


def apart(subject: Subject) -> bool:
    """Whether teeth do not reach into spaces at all, whatever turns."""
    return any(
        verdict.name.split(":")[0] == "engagement" and verdict.value is not None and verdict.value <= 0.0
        for verdict in subject.found.verdicts
    )


def ratio_words(language: Language, ratio: Fraction) -> str:
    """A ratio, exact (see :func:`~lobewright.picture.score.ratio_figures`)."""
    return " : ".join(grouped(part) for part in ratio_figures(ratio, language.marks).split(" : "))


def fraction_words(language: Language, value: Fraction) -> str:
    """A fraction as such: ``−1/50``; a whole number as it is."""
    size = abs(value)
    sign = language.marks.minus if value < 0 else ""
    return f"{sign}{size.numerator}" + (f"/{size.denominator}" if size.denominator > 1 else "")


def sense(language: Language, turns: Fraction) -> str:
    """``anticlockwise`` or ``clockwise``, in the language."""
    return language.say(PART, "anticlockwise" if turns > 0 else "clockwise")


TOLD = ("flank_gap", "ring_land", "engagement", "minor_gap")
"""Checks whose failure has a sentence of its own in every language."""


def wrongs(subject: Subject, language: Language, *names: str) -> tuple[str, ...]:
    """Sentences of failed checks whose name begins so."""
    return tuple(
        _wrong(subject, language, verdict)
        for verdict in subject.found.verdicts
        if verdict.state is State.FAIL and verdict.name.split(":")[0] in names
    )


def _wrong(subject: Subject, language: Language, verdict: Verdict) -> str:
    check, _, ring = verdict.name.partition(":")
    if check not in TOLD or verdict.value is None:
        return language.say(PART, "fails", sentence=in_english(capital(verdict.sentence), language))
    value_mm = verdict.value
    if check == "engagement":  # is judged as a share of the height
        value_mm = next(mesh.least_engagement_mm for mesh in subject.found.rings if mesh.name == ring)
        check = "engagement" if value_mm > 0.0 else "engagement_none"
    return language.say(PART, f"fails_{check}", ring=named(subject, language, ring), value=language.number(value_mm, 2))
