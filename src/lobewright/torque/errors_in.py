"""Errors of making and mounting that a drive is given: run-out, ovality, unequal lobes, pitch errors.

Errors of a rigid ring turn with the ring, those of the generator with the generator, pitch errors of the flexible ring
go with its material. A generator that runs out in perfect rings repeats itself every tooth and so gives no error of a
turn; a *fixed* offset between the axes is a run-out of the ring that stands.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, fields
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from lobewright.errors import DesignFault, Fault
from lobewright.torque.inputs import DriveInput, RowInput
from lobewright.torque.kernel import Numbers
from lobewright.torque.ring_view import WAVES

Array = NDArray[np.float64]
Given = TypeVar("Given")

MOST_FLAT = 0.46
"""Of a pitch, half the part of a tooth space over which its pitch error is constant."""


@dataclass(frozen=True)
class PitchErrors:
    """Tangential place errors of one row of teeth or tooth spaces: anticlockwise positive, at the pitch height.

    ``wave_mm``: amplitude of an error of one sine a turn, ``wave_rad`` where it is largest; ``random_mm``: standard deviation of
    independent normal errors; ``each_mm``: an error for every tooth, () for none. They add.
    """

    wave_mm: float = 0.0
    wave_rad: float = 0.0
    random_mm: float = 0.0
    each_mm: tuple[float, ...] = ()

    def of(self, teeth: int, seed: tuple[int, ...]) -> Array:
        """Error (teeth,) [mm] of every tooth."""
        label = np.arange(teeth) * (2.0 * math.pi / teeth)
        out = self.wave_mm * np.cos(label - self.wave_rad)
        if self.random_mm > 0.0:
            out = out + self.random_mm * np.random.default_rng(seed).standard_normal(teeth)
        return out + np.array(self.each_mm) if self.each_mm else out


@dataclass(frozen=True)
class RingErrors:
    """Errors of one rigid ring. Angles in the ring's own frame, from the middle of its first tooth space.

    ``run_out_mm``: distance of the toothing's centre from the axis it turns about (half of what a dial shows), toward
    ``run_out_rad``; ``ovality_mm``: amplitude of cos 2φ of the radius (a quarter of the largest less the smallest
    diameter), largest at ``ovality_rad``; ``pitch``: of its tooth spaces.
    """

    run_out_mm: float = 0.0
    run_out_rad: float = 0.0
    ovality_mm: float = 0.0
    ovality_rad: float = 0.0
    pitch: PitchErrors = PitchErrors()


@dataclass(frozen=True)
class DriveErrors:
    """All errors of a drive; none by default.

    ``rings``: one a rigid ring in the order of the rows, or () for perfect ones; ``flexible_pitch``: of the flexible
    ring's row of teeth at each rigid ring, or (). ``unequal_lobes_mm``: how much farther out the first lobe is set than the
    others; ``generator_run_out_mm``: the generator's centre off its axis toward ``generator_run_out_rad`` from the first lobe
    (on top of the inputs' ``run_out_share``). ``seed`` draws the random parts.
    """

    rings: tuple[RingErrors, ...] = ()
    flexible_pitch: tuple[PitchErrors, ...] = ()
    unequal_lobes_mm: float = 0.0
    generator_run_out_mm: float = 0.0
    generator_run_out_rad: float = 0.0
    seed: int = 0

    @property
    def turning(self) -> bool:
        """Whether anything differs from tooth to tooth as the generator goes round."""
        return any(ring != RingErrors() for ring in self.rings) or any(
            pitch != PitchErrors() for pitch in self.flexible_pitch
        )


NO_ERRORS = DriveErrors()


def check_errors(drive: DriveInput, errors: DriveErrors) -> None:
    """Raise DesignFault where an error has no finite size, is too large for the teeth, or the counts do not fit."""
    faults: list[Fault] = []
    rows = len(drive.rows)
    least = min(0.5 * row.outline.pitch_mm for row in drive.rows)
    for name in ("rings", "flexible_pitch"):
        count = len(getattr(errors, name))
        if count not in (0, rows):
            faults.append(Fault("one set of errors a rigid ring is needed", name, 0, str(count), f"0 or {rows}"))
    for where, part in _parts(errors):
        for item in fields(part):
            value = getattr(part, item.name)
            if not isinstance(value, float | int) or isinstance(value, bool) or item.name == "seed":
                continue
            inside = abs(value) < least if item.name.endswith("_mm") else math.isfinite(value)
            inside = inside and (value >= 0.0 or item.name != "random_mm")
            if not inside:
                allowed = f"a size under {least:g} mm" if item.name.endswith("_mm") else "a finite angle"
                faults.append(Fault("this error is out of range", where + item.name, 0, f"{value:g}", allowed))
    if errors.seed < 0:
        faults.append(Fault("a seed is a whole number", "seed", 0, str(errors.seed), "0 or more"))
    faults += _wrong_counts(drive, errors, least)
    if faults:
        raise DesignFault(faults)


def _parts(errors: DriveErrors) -> list[tuple[str, DriveErrors | RingErrors | PitchErrors]]:
    parts: list[tuple[str, DriveErrors | RingErrors | PitchErrors]] = [("", errors)]
    for r, ring in enumerate(errors.rings):
        parts += [(f"rings[{r}].", ring), (f"rings[{r}].pitch.", ring.pitch)]
    return parts + [(f"flexible_pitch[{r}].", pitch) for r, pitch in enumerate(errors.flexible_pitch)]


def _wrong_counts(drive: DriveInput, errors: DriveErrors, least: float) -> list[Fault]:
    """Faults of errors given tooth by tooth."""
    lists = [
        (f"rings[{r}].pitch", ring.pitch, row.space.teeth) for r, (ring, row) in enumerate(_pairs(errors.rings, drive))
    ]
    lists += [
        (f"flexible_pitch[{r}]", pitch, row.outline.teeth)
        for r, (pitch, row) in enumerate(_pairs(errors.flexible_pitch, drive))
    ]
    faults = []
    for where, pitch, teeth in lists:
        each = np.array(pitch.each_mm)
        if each.size not in (0, teeth):
            faults.append(Fault("one error a tooth is needed", f"{where}.each_mm", 0, str(each.size), f"0 or {teeth}"))
        if not (np.abs(each) < least).all():
            faults.append(
                Fault("an error of a tooth is out of range", f"{where}.each_mm", 0, "", f"under {least:g} mm")
            )
    return faults


def _pairs(given: Iterable[Given], drive: DriveInput) -> list[tuple[Given, RowInput]]:
    return list(zip(given, drive.rows, strict=False))


def ring_errors(numbers: Numbers, drive: DriveInput, errors: DriveErrors) -> Numbers:
    """The numbers with the errors of the rigid rings and of the flexible ring's teeth brought in."""
    radius = drive.geometry.neutral_radius_mm
    rows = len(drive.rows)
    wave = np.zeros((rows, WAVES, 4))
    centre = np.zeros((rows, 2))
    spaces = np.zeros((rows, 2))
    shift = np.zeros((rows, max(row.space.teeth for row in drive.rows)))
    place = numbers.tooth_place.copy()
    for r, (ring, row) in enumerate(_pairs(errors.rings, drive)):
        centre[r] = ring.run_out_mm / radius * _toward(ring.run_out_rad)
        wave[r, 2, :2] = ring.ovality_mm / radius * _toward(2.0 * ring.ovality_rad)
        space = row.space
        if ring.pitch != PitchErrors():
            at = 0.5 * (space.tip_radius_mm + space.root_radius_mm)
            shift[r, : space.teeth] = ring.pitch.of(space.teeth, (errors.seed, r, 0)) / at
            right, left = space.bounds_at(np.array([space.tip_radius_mm]))
            spaces[r] = space.teeth, min(MOST_FLAT, 0.5 * float(right[0] - left[0]) / space.pitch_rad)
    for r, (pitch, row) in enumerate(_pairs(errors.flexible_pitch, drive)):
        count = row.outline.teeth
        turn = pitch.of(count, (errors.seed, r, 1)) / (radius + drive.geometry.pitch_height_mm)
        turn = turn + numbers.tooth_place[r, :count, 2]
        place[r, :count] = np.column_stack((np.sin(turn), np.cos(turn) - 1.0, turn))
    return numbers._replace(
        ring_uneven=np.array([int(wave[r].any() or spaces[r, 0] > 0) for r in range(rows)]),
        ring_centre=centre,
        ring_wave=wave,
        ring_spaces=spaces,
        ring_shift=shift,
        tooth_place=place,
    )


def _toward(angle: float) -> Array:
    return np.array([math.cos(angle), math.sin(angle)])
