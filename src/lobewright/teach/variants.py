"""Variants of the exercises: every student gets another drive near the class's, and other numbers; the same name, the same sheet.

A neighbour has as many teeth more or fewer on every count, so all tooth differences stay and fit the lobes. It is a design like
any other: read again by the rules of design files and assessed (motion, ring, deflection) before it is given out.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass, replace
from fractions import Fraction

from lobewright.assessment.mesh import Care
from lobewright.assessment.results import Assessment
from lobewright.assessment.run import assess
from lobewright.design.edits import Edit, apply
from lobewright.design.model import Design
from lobewright.errors import LobewrightError
from lobewright.motion import GENERATOR
from lobewright.teach.drive import Drive, Roles, comes_out, drive_of
from lobewright.teach.numbers import on_paper

MOST_SHIFT_SHARE = Fraction(1, 5)
"""Of the flexible ring's count: how far neighbours go."""
PITCH_PLACES, PLAY_PLACES = 3, 3
"""Decimals of what is given to students, so that they reckon with what we reckon with."""


@dataclass(frozen=True)
class Givens:
    """Numbers that an exercise gives besides the drive's; all whole, so that they are what they read."""

    wedge_mm: int
    push_n: int
    share_percent: int
    generator_turns: int
    driven_turns: int
    driven_rpm: int
    quarter_deg: int
    load_nmm: int
    hours: int
    wrong_difference: int
    arm_mm: int
    other_roles: Roles


@dataclass(frozen=True)
class Variant:
    """What one sheet is about. ``pitch_mm`` of the flexible teeth and ``play_deg`` (both ways, of the class's drive) are rounded
    as the sheet gives them. ``student`` is empty for the class's own sheet."""

    student: str
    drive: Drive
    givens: Givens
    pitch_mm: Fraction
    play_deg: Fraction


def shifted(design: Design, more: int) -> Design:
    """A design with ``more`` teeth on every count. Raises DesignFault where the rules refuse it."""
    edits = [Edit("flexible_ring.teeth", design.flexible_ring.teeth + more)]
    second = getattr(design.flexible_ring, "second_row", None)
    if second is not None:
        edits.append(Edit("flexible_ring.second_row.teeth", second.teeth + more))
    edits += [Edit(f"rigid_ring[{place}].teeth", ring.teeth + more) for place, ring in enumerate(design.rigid_ring, 1)]
    return apply(design, tuple(edits))


def is_real(design: Design, more: int) -> bool:
    """Whether the neighbour can exist: rules, motion, ring and deflection; whether it is a good drive is another question."""
    try:
        assess(shifted(design, more), care=Care.UNCHECKED)
    except LobewrightError:
        return False
    return True


def _loads_nmm(found: Assessment) -> int:
    """A torque to begin with: the peak of the duties in whole N·mm, 100 where there is none."""
    peaks = [duty.peak_torque_Nm for duty in found.design.duty]
    return max(round(1000 * max(peaks, default=0.1)), 10)


def _one_of(dice: random.Random, *values: int) -> int:
    return values[dice.randrange(len(values))]


def _givens(dice: random.Random, found: Assessment, drive: Drive) -> Givens:
    own = drive.moves().ratio
    others = [one for one in drive.other_roles() if drive.moves(one).ratio != own]
    # Members that exchange places with the generator still turning are asked first; else any.
    near = [one for one in others if one.driven == GENERATOR] or others
    misfits = [more for more in range(1, 3 * drive.lobes) if more % drive.lobes]
    return Givens(
        wedge_mm=10 * dice.randrange(10, 41),
        push_n=dice.randrange(2, 13),
        share_percent=_one_of(dice, 40, 50, 60, 70, 80),
        generator_turns=dice.randrange(3, 10),
        driven_turns=dice.randrange(7, 40),
        driven_rpm=10 * dice.randrange(3, 31),
        quarter_deg=_one_of(dice, 30, 45, 60, 90, 120),
        load_nmm=_loads_nmm(found) * dice.randrange(4, 17) // 8,
        hours=dice.randrange(2, 20),
        wrong_difference=misfits[dice.randrange(len(misfits))],
        arm_mm=50 * dice.randrange(3, 17),
        other_roles=near[dice.randrange(len(near))],
    )


def _variant(found: Assessment, dice: random.Random, student: str, drive: Drive) -> Variant:
    pitch = Fraction(found.geometry.neutral_pitch_mm(found.geometry.teeth))
    degrees = Fraction(found.output_free_play_rad) * 180 / Fraction(math.pi)
    return Variant(
        student, drive, _givens(dice, found, drive), on_paper(pitch, PITCH_PLACES), on_paper(degrees, PLAY_PLACES)
    )


def class_variant(found: Assessment) -> Variant:
    """The sheet of the whole class: the design itself."""
    return _variant(found, random.Random(f"{found.design_hash}/"), "", drive_of(found.design))


def variant(found: Assessment, student: str) -> Variant:
    """The sheet of one student. The same design and name give the same sheet, whatever else is asked.

    Neighbours with a tooth right at a space in every place where rows are in step go before others. Where no neighbour is real it
    is the class's drive with other numbers.
    """
    dice = random.Random(f"{found.design_hash}/{student.strip().casefold()}")
    design = found.design
    most = int(MOST_SHIFT_SHARE * design.flexible_ring.teeth)
    shifts = [more for more in range(-most, most + 1) if more]
    dice.shuffle(shifts)
    row = drive_of(design).uneven
    shifts.sort(key=lambda more: not comes_out(row.flexible_teeth + more, row.ring_teeth - row.flexible_teeth))
    drive = next((drive_of(shifted(design, more)) for more in shifts if is_real(design, more)), drive_of(design))
    return _variant(found, dice, student, drive)


def with_drive(one: Variant, drive: Drive) -> Variant:
    """The same numbers about another drive of the same members."""
    return replace(one, drive=drive)
