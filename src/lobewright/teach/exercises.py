"""Exercises about a drive: a question, an answer, the steps to it, and the slips that people make on the way.

All numbers are exact fractions of the drive's counts and the variant's givens (:mod:`lobewright.teach.variants`); what is written
is rounded once, at the end. Every exercise belongs to a scene of the lesson, whose picture stands beside it.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

from lobewright.motion import FLEXIBLE, GENERATOR, Row, unroll
from lobewright.teach.drive import (
    Drive,
    Roles,
    counts_words,
    even_row,
    flexible_of,
    member_words,
    roles_words,
    way_words,
)
from lobewright.teach.language import Language
from lobewright.teach.numbers import (
    MOST_PLACES,
    Quantity,
    divisor,
    on_paper,
    places_for,
    places_that_keep,
    quotient,
    ratio_places,
    short,
    words_of,
)
from lobewright.teach.variants import Givens, Variant

PART = "exercises"
RADIAN_PLACES = 7
"""Decimals of an angle in radians: so many that arm times angle gives the answer as it stands."""
LEAST_OFF_BY_ONE = 2
"""Below that size of a ratio nobody is off by a whole one."""
NMM_PER_NM = 1000
BEGINS = re.compile(r"(^|[.?!] )[a-zäöü]")
"""First letters of sentences."""


@dataclass(frozen=True)
class Slip:
    """A wrong answer that is really given, and what leads to it."""

    answer: Quantity
    why: str


@dataclass(frozen=True)
class Exercise:
    """``name`` for programs, ``scene`` whose picture helps. ``slips`` may be close to the answer: askers choose among them.
    ``roles``: those that the question names; None where it names none or not all of them. What a sheet says besides, but no
    bank with its choices: ``lead`` before the question, ``digits`` behind it, how far to round; ``guess``: it is asked to predict
    first."""

    name: str
    scene: str
    title: str
    question: str
    answer: Quantity
    steps: tuple[str, ...]
    slips: tuple[Slip, ...]
    roles: Roles | None = None
    lead: str = ""
    digits: str = ""
    guess: bool = False


@dataclass(frozen=True)
class _Desk:
    """What every exercise works with."""

    variant: Variant
    language: Language

    @property
    def drive(self) -> Drive:
        return self.variant.drive

    @property
    def givens(self) -> Givens:
        return self.variant.givens

    def say(self, key: str, **put_in: object) -> str:
        return self.language.say(PART, key, **put_in)

    def sentences(self, key: str, **put_in: object) -> str:
        """Whole sentences; what is put in may begin one, then it gets a large letter."""
        return BEGINS.sub(lambda found: found[0].upper(), self.say(key, **put_in))

    def named(self, member: str, object_case: bool = False) -> str:
        return member_words(member, self.drive, self.language, object_case)

    def digits(self, answer: Quantity) -> str:
        """How far an answer is rounded; empty where it is whole by itself."""
        key = "none" if not answer.places else "one" if answer.places == 1 else "more"
        return "" if answer.exact and not answer.places else self.say(f"digits_{key}", places=answer.places)

    def near(self, row: Row) -> str:
        """A sentence where a row is not the drive's own."""
        return "" if row == self.drive.uneven else self.say("near_counts")

    def roles(self, roles: Roles) -> dict[str, str]:
        """Members of roles as sentences take them: as what is, and as what something is done to."""
        names = {key: self.named(getattr(roles, key)) for key in ("held", "driven", "read")}
        return names | {f"{key}_object": self.named(getattr(roles, key), True) for key in ("held", "driven", "read")}


def _made(
    desk: _Desk,
    name: str,
    scene: str,
    answer: Quantity,
    put_in: Mapping[str, object],
    steps: int,
    slips: list[tuple[str, Fraction]],
) -> Exercise:
    """An exercise from its words ``NAME_title``, ``NAME_ask``, ``NAME_step_K`` and its slips ``slip_KEY``."""
    put_in = {**put_in, "answer": answer.words(desk.language)}
    return Exercise(
        name,
        scene,
        desk.say(f"{name}_title"),
        desk.sentences(f"{name}_ask", **put_in),
        answer,
        tuple(desk.sentences(f"{name}_step_{k}", **put_in) for k in range(1, steps + 1)),
        tuple(
            Slip(Quantity(value, answer.unit, answer.places, answer.sign), desk.sentences(f"slip_{key}", **put_in))
            for key, value in slips
        ),
        digits=desk.digits(answer),
    )


def table(drive: Drive, roles: Roles, language: Language) -> list[str]:
    """The two steps that give any ratio: turns seen from the generator, then the held member brought to rest."""
    held = drive.passing(roles.held)
    # The held member goes once backwards, so that the generator comes out with one turn; a held generator needs no second step.
    scale = -1 / held if held else Fraction(1)
    seen, rest = [], []
    for member in dict.fromkeys((roles.held, roles.driven, roles.read)):
        turns, name = scale * drive.passing(member), member_words(member, drive, language)
        counted = _by_count(drive, roles.held, member, language) or quotient(turns, language)
        seen.append(language.say(PART, "table_entry", member=name, turns=counted))
        rest.append(language.say(PART, "table_entry", member=name, turns=quotient(turns - scale * held, language)))
    flexible = member_words(FLEXIBLE, drive, language)
    first = language.say(PART, "table_seen" if held else "table_still", entries="; ".join(seen), flexible=flexible)
    return [first, language.say(PART, "table_rest", entries="; ".join(rest))] if held else [first]


def _by_count(drive: Drive, held: str, member: str, language: Language) -> str:
    """Turns seen from the generator as the counts that they come from, ``−102/100``; empty where counts of two rows mix."""
    teeth = {row.name: (row.ring_teeth, row.flexible_teeth) for row in drive.rows}
    if held == GENERATOR or member in (GENERATOR, held):
        return ""
    if held == FLEXIBLE:
        ring, row = teeth[member]
        return f"{language.marks.minus}{row}/{ring}"
    ring, row = teeth[held]
    if member == FLEXIBLE:
        return f"{language.marks.minus}{ring}/{row}"
    return f"{language.marks.minus}{ring}/{teeth[member][0]}" if teeth[member][1] == row else ""


def _ratio_steps(desk: _Desk, roles: Roles, ratio: Fraction) -> list[str]:
    moves, language = desk.drive.moves(roles), desk.language
    per = moves.turns_in_generator_turn or moves.turns
    return [
        *table(desk.drive, roles, language),
        desk.say(
            "table_ratio", driven=quotient(per[roles.driven], language), read=quotient(per[roles.read], language),
            ratio=f"{words_of(ratio, ratio_places(ratio), language, True)} : 1", way=way_words(ratio, language),
        ),
    ]  # fmt: skip


def _ratio_slips(drive: Drive, roles: Roles, ratio: Fraction) -> list[tuple[str, Fraction]]:
    """Wrong ratios: other way, one too many or too few, lobes, plain gears, another member held; none that would be written as
    another number because the right one is whole."""
    row = drive.uneven
    found = [("sign", -ratio), *(("off_by_one", other) for other in _beside(ratio))]
    found += [("lobes", ratio * drive.lobes), ("plain_gears", Fraction(row.ring_teeth, row.flexible_teeth))]
    other = next((one for one in drive.other_roles() if one.driven == roles.driven and one.read == roles.held), None)
    if other is not None:
        found.append(("other_held", drive.moves(other).ratio))
    return [slip for slip in found if ratio.denominator > 1 or slip[1].denominator == 1]


def _beside(ratio: Fraction) -> list[Fraction]:
    """Ratios that are off by one, the larger size first; none where the ratio is too small to be told from them by a slip."""
    if abs(ratio) < LEAST_OFF_BY_ONE:
        return []
    one = 1 if ratio > 0 else -1
    return [ratio + one, ratio - one]


# --- the exercises, in the order of the lesson --------------------------------------------------------------------


def _line_up(desk: _Desk) -> Exercise:
    row, lobes = even_row(desk.drive.uneven), desk.drive.lobes
    places = Fraction(abs(row.ring_teeth - row.flexible_teeth))
    put_in = {
        "near": desk.near(row), "ring": row.ring_teeth, "flexible": row.flexible_teeth, "lobes": lobes, "places": int(places),
        "between": desk.say("line_up_between") if places > lobes else "",
    }  # fmt: skip
    slips = [
        ("line_up_one", Fraction(1)), ("line_up_half", places / 2), ("line_up_teeth", Fraction(row.flexible_teeth)),
        ("line_up_double", 2 * places), ("line_up_all", Fraction(row.ring_teeth + row.flexible_teeth)),
    ]  # fmt: skip
    return _made(desk, "line_up", "racks", Quantity(places), put_in, 2, slips)


def _laid_flat(drive: Drive) -> tuple[int, int]:
    """Counts of the rack that is held and of the one that moves."""
    row = drive.uneven
    return (
        (row.flexible_teeth, row.ring_teeth) if drive.roles.held == FLEXIBLE else (row.ring_teeth, row.flexible_teeth)
    )


def _which_moves(drive: Drive) -> str:
    return "ring_moves" if drive.roles.held == FLEXIBLE else "strip_moves"


def _racks(desk: _Desk) -> Exercise:
    way, (held, moving) = Fraction(desk.givens.wedge_mm), _laid_flat(desk.drive)
    travel = way / unroll(held, moving).wedge_advantage
    put_in = {
        "held": held, "moving": moving, "way": desk.givens.wedge_mm, "difference": abs(moving - held),
        "exact": quotient(travel, desk.language),
        "with": desk.say("with_wedge" if travel > 0 else "against_wedge"),
        "which": desk.say(_which_moves(desk.drive)),
    }  # fmt: skip
    slips = [
        ("sign", -travel), ("other_count", way * (moving - held) / held), ("one_tooth", travel / abs(moving - held)),
        ("counts_as_gears", way * moving / held), ("lobes", travel * desk.drive.lobes),
    ]  # fmt: skip
    return _made(desk, "racks", "racks", Quantity(travel, " mm", 2, True), put_in, 3, slips)


def _wedge(desk: _Desk) -> Exercise:
    row, (held, moving) = desk.drive.uneven, _laid_flat(desk.drive)
    gain = abs(unroll(held, moving).wedge_advantage)
    push, share = Fraction(desk.givens.push_n), Fraction(desk.givens.share_percent, 100)
    force = push * gain * share
    put_in = {
        "ring": row.ring_teeth, "flexible": row.flexible_teeth, "push": desk.givens.push_n, "moving": moving,
        "which": desk.say(_which_moves(desk.drive)),
        "percent": desk.givens.share_percent, "gain": short(gain, desk.language), "ideal": short(push * gain, desk.language, 1),
    }  # fmt: skip
    slips = [
        ("no_friction", push * gain), ("friction_twice", push * gain * share * share), ("lost_share", push * gain * (1 - share)),
        ("force_divided", push / gain * share), ("lobes", force * desk.drive.lobes), ("wedge_off", push * (gain + 1) * share),
    ]  # fmt: skip
    return _made(desk, "wedge", "wedge", Quantity(force, " N", 1), put_in, 3, slips)


def _per_turn(desk: _Desk) -> Exercise:
    roles = desk.drive.roles
    ratio = desk.drive.moves().ratio
    turn = 360 / ratio
    put_in = desk.roles(roles) | {"ratio": quotient(ratio, desk.language), "way": way_words(ratio, desk.language)}
    slips = [("sign", -turn), *(("off_by_one", 360 / other) for other in _beside(ratio)),
             ("lobe_turn", turn / desk.drive.lobes), ("turned_over", 360 * ratio), ("half_turn", turn / 2)]  # fmt: skip
    made = _made(desk, "per_turn", "rolled", Quantity(turn, "°", 3, True), put_in, 1, slips)
    return replace(made, steps=(*_ratio_steps(desk, roles, ratio), *made.steps), roles=roles)


def _count(desk: _Desk) -> Exercise:
    """Teeth of the flexible ring that one generator turn carries past a mark on the ring it meshes with."""
    row, turns = desk.drive.uneven, desk.givens.generator_turns
    gone = Fraction((row.flexible_teeth - row.ring_teeth) * turns)
    put_in = {
        "ring": row.ring_teeth, "flexible": row.flexible_teeth, "turns": turns, "name": row.name,
        "difference": quotient(Fraction(row.flexible_teeth - row.ring_teeth), desk.language),
        "way": way_words(gone, desk.language), "flexible_name": desk.named(FLEXIBLE),
    }  # fmt: skip
    lobes = desk.drive.lobes
    slips = [
        ("sign", -gone), ("lobe_teeth", gone * lobes), ("one_turn_only", gone / turns),
        ("count_off", gone + (1 if gone > 0 else -1) * turns), ("all_teeth", Fraction(row.flexible_teeth * turns)),
    ]  # fmt: skip
    return _made(desk, "count", "count", Quantity(gone, desk.say("unit_teeth"), 0, True), put_in, 3, slips)


def _ratio(desk: _Desk) -> Exercise:
    roles, ratio = desk.drive.roles, desk.drive.moves().ratio
    answer = Quantity(ratio, " : 1", ratio_places(ratio), True)
    made = _made(desk, "ratio", "count", answer, desk.roles(roles), 0, _ratio_slips(desk.drive, roles, ratio))
    return replace(made, steps=tuple(_ratio_steps(desk, roles, ratio)), roles=roles)


def _swap(desk: _Desk) -> Exercise:
    roles = desk.givens.other_roles
    ratio = desk.drive.moves(roles).ratio
    slips = [
        ("not_swapped", desk.drive.moves().ratio),
        ("turned_over", 1 / ratio),
        *_ratio_slips(desk.drive, roles, ratio),
    ]
    answer = Quantity(ratio, " : 1", ratio_places(ratio), True)
    made = _made(desk, "swap", "members", answer, desk.roles(roles), 0, slips)
    return replace(made, steps=tuple(_ratio_steps(desk, roles, ratio)), roles=roles, guess=True)


def _turns(desk: _Desk) -> Exercise:
    """A fraction of a turn each time: rounding it before multiplying is the slip this is for."""
    roles = _endless(desk.drive)
    ratio, turns = desk.drive.moves(roles).ratio, desk.givens.driven_turns
    angle = 360 * turns / ratio
    once = 360 / ratio
    language = desk.language
    early = Quantity(once, "", 1).written * turns
    whole = Quantity(once, "", 0).written * turns
    other = roles != desk.drive.roles
    put_in = desk.roles(roles) | {
        "turns": turns, "ratio": quotient(ratio, language),
        "once": short(once, language, 5),
        "early": words_of(once, 1, language),
    }  # fmt: skip
    slips = [("early", early), ("early", whole), ("sign", -angle),
             *(("off_by_one", 360 * turns / other) for other in _beside(ratio)[:1]),
             ("one_turn_only", once), ("whole_turns", turns / ratio)]  # fmt: skip
    # Where one turn is a round number nobody rounds too early.
    made = _made(desk, "turns", "rolled", Quantity(angle, "°", 2, True), put_in, 2 + int(early != angle), slips)
    derived = _ratio_steps(desk, roles, ratio) if other else []
    lead = desk.say("turns_swapped") if other else ""
    return replace(made, steps=(*derived, *made.steps), roles=roles, lead=lead)


def _endless(drive: Drive) -> Roles:
    """The drive's own roles where one turn of what is driven gives an angle that no decimals end, so that there is something to
    round; else others with the same driven member where it does; its own where there are none."""

    def rounds(roles: Roles) -> bool:
        once = 360 / drive.moves(roles).ratio
        return once != on_paper(once, MOST_PLACES)

    slow = abs(drive.moves().ratio) >= LEAST_OFF_BY_ONE
    near = [
        roles
        for roles in drive.other_roles()
        if roles.driven == drive.roles.driven and (abs(drive.moves(roles).ratio) >= LEAST_OFF_BY_ONE) is slow
    ]
    return next((roles for roles in (drive.roles, *near) if rounds(roles)), drive.roles)


def _time(desk: _Desk) -> Exercise:
    ratio, rpm, degrees = abs(desk.drive.moves().ratio), Fraction(desk.givens.driven_rpm), desk.givens.quarter_deg
    seconds = Fraction(degrees, 360) * ratio / rpm * 60
    put_in = desk.roles(desk.drive.roles) | {
        "rpm": desk.givens.driven_rpm, "degrees": degrees, "ratio": quotient(ratio, desk.language),
        "turns": short(Fraction(degrees, 360) * ratio, desk.language),
    }  # fmt: skip
    slips = [("minutes", seconds / 60), ("whole_turn", seconds * 360 / degrees), ("no_ratio", seconds / ratio),
             *(("off_by_one", seconds * other / ratio) for other in _beside(ratio)[:1]),
             ("lobes", seconds * desk.drive.lobes)]  # fmt: skip
    made = _made(desk, "time", "members", Quantity(seconds, " s", places_for(seconds, 2)), put_in, 3, slips)
    return replace(made, roles=desk.drive.roles)


def _torque_in(desk: _Desk) -> Exercise:
    ratio, load = abs(desk.drive.moves().ratio), Fraction(desk.givens.load_nmm, NMM_PER_NM)
    torque = load / ratio
    put_in = desk.roles(desk.drive.roles) | {
        "load": short(load, desk.language), "ratio": quotient(ratio, desk.language), "under": divisor(ratio, desk.language),
    }  # fmt: skip
    slips = [("torque_up", load * ratio), ("torque_same", load), ("lobe_share", torque / desk.drive.lobes),
             *(("off_by_one", load / other) for other in _beside(ratio)[:1]), ("lobes", torque * desk.drive.lobes)]  # fmt: skip
    made = _made(desk, "torque_in", "torque", Quantity(torque, " N·m", places_for(torque, 2)), put_in, 2, slips)
    # wrong answers may be thousands of times as large: each has its own decimals
    wrong = (replace(slip.answer, places=places_for(slip.answer.value, 2)) for slip in made.slips)
    told = tuple(replace(slip, answer=answer) for slip, answer in zip(made.slips, wrong, strict=True))
    return replace(made, slips=told, roles=desk.drive.roles)


def _torque_held(desk: _Desk) -> Exercise:
    ratio, load = desk.drive.moves().ratio, Fraction(desk.givens.load_nmm, NMM_PER_NM)
    drive_torque = load / abs(ratio)
    held = Quantity(abs(load - load / ratio), " N·m", places_for(drive_torque, 2))
    places = places_that_keep(drive_torque, load, held, held.places)
    # Where what is driven bears more than what is read, the larger stands first.
    parts = sorted((load, drive_torque), reverse=True) if ratio > 0 else [load, drive_torque]
    put_in = desk.roles(desk.drive.roles) | {
        "load": short(load, desk.language), "input": short(drive_torque, desk.language, places),
        "first": short(parts[0], desk.language, places), "second": short(parts[1], desk.language, places),
        "same": desk.say("torques_against" if ratio > 0 else "torques_with"),
        "mark": desk.language.marks.minus if ratio > 0 else "+",
    }  # fmt: skip
    slips = [("held_no_input", load), ("held_sign", abs(load + load / ratio)), ("held_input_only", drive_torque),
             ("held_double", 2 * load), ("torque_up", load * abs(ratio))]  # fmt: skip
    return replace(_made(desk, "torque_held", "torque", held, put_in, 3, slips), roles=desk.drive.roles)


def _bends(desk: _Desk) -> Exercise:
    """How often one place of the flexible ring is bent out; the ring itself turns meanwhile."""
    moves, lobes = desk.drive.moves(), desk.drive.lobes
    passes = abs(moves.turns[GENERATOR] - moves.turns[FLEXIBLE])
    total = desk.givens.driven_rpm * 60 * desk.givens.hours
    bends = total * passes * lobes
    language = desk.language
    put_in = desk.roles(desk.drive.roles) | {
        "rpm": desk.givens.driven_rpm, "hours": desk.givens.hours, "lobes": lobes, "total": total,
        "flexible_name": desk.named(FLEXIBLE), "flexible_of": flexible_of(desk.drive, desk.language),
        "generator_name": desk.named(GENERATOR),
        "generator_turns": quotient(moves.turns[GENERATOR], language),
        "flexible_turns": quotient(moves.turns[FLEXIBLE], language),
        "passes": quotient(passes, language),
    }  # fmt: skip
    slips = [("bends_once", bends / lobes), ("bends_still", Fraction(total * lobes)), ("bends_minutes", bends / 60),
             ("bends_read", total * lobes / abs(moves.ratio)), ("bends_double", 2 * bends)]  # fmt: skip
    return replace(_made(desk, "bends", "stress", Quantity(bends), put_in, 3, slips), roles=desk.drive.roles)


def _fit(desk: _Desk) -> Exercise:
    """How far off a wrong tooth difference stands at the next lobe."""
    lobes, more, pitch = desk.drive.lobes, desk.givens.wrong_difference, desk.variant.pitch_mm
    row = even_row(desk.drive.uneven)
    ahead = Fraction(more, lobes) % 1
    off = min(ahead, 1 - ahead)
    answer = off * pitch
    put_in = {
        "lobes": lobes, "more": more, "flexible": row.flexible_teeth, "pitch": words_of(pitch, 3, desk.language),
        "near": desk.near(row), "ring": row.flexible_teeth + more, "share": short(Fraction(more, lobes), desk.language),
        "off": quotient(off, desk.language), "flexible_name": desk.named(FLEXIBLE),
    }  # fmt: skip
    slips = [("fit_none", Fraction(0)), ("fit_whole", pitch), ("fit_difference", more * pitch), ("fit_quarter", answer / 2),
             ("fit_spread", pitch * more / row.flexible_teeth)]  # fmt: skip
    return _made(desk, "fit", "fit", Quantity(answer, " mm", 2), put_in, 3, slips)


def _play(desk: _Desk) -> Exercise | None:
    """What free play moves at the end of an arm; not asked where there is none to speak of."""
    play, arm = desk.variant.play_deg, Fraction(desk.givens.arm_mm)
    if not play:
        return None
    radian = Fraction(math.pi) / 180
    moved = arm * play * radian
    roles = _slow(desk.drive.roles)
    ratio = abs(desk.drive.moves(roles).ratio)
    put_in = desk.roles(roles) | {
        "play": words_of(play, 3, desk.language), "arm": desk.givens.arm_mm,
        "radians": words_of(play * radian, RADIAN_PLACES, desk.language),
    }  # fmt: skip
    slips = [("play_degrees", arm * play), ("play_turn", arm * play / 360), ("play_double", 2 * moved), ("play_half", moved / 2),
             ("play_geared", moved * ratio)]  # fmt: skip
    return replace(_made(desk, "play", "play", Quantity(moved, " mm", 2), put_in, 3, slips), roles=roles)


def _slow(roles: Roles) -> Roles:
    """Roles with the generator standing still: a drive's play is that of its slow member, whichever of both is read."""
    return Roles(roles.held, GENERATOR, roles.driven) if roles.read == GENERATOR else roles


ORDER: tuple[Callable[[_Desk], Exercise | None], ...] = (
    _line_up, _racks, _wedge, _per_turn, _turns, _count, _ratio, _swap, _time, _torque_in, _torque_held, _bends, _fit, _play,
)  # fmt: skip


def exercises(variant: Variant, language: Language) -> tuple[Exercise, ...]:
    """All exercises about a variant, in the order of the lesson."""
    desk = _Desk(variant, language)
    return tuple(made for make in ORDER if (made := make(desk)) is not None)


def drive_lines(variant: Variant, language: Language) -> tuple[str, str]:
    """What the drive of a variant is: counts, and who is held, driven and read."""
    return counts_words(variant.drive, language), roles_words(variant.drive, variant.drive.roles, language)
