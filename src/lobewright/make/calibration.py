"""Readings of the printed coupons made into a printer's allowances, each with its standard uncertainty.

Assumes coupons printed at nominal size, and a first layer that spreads by less than their lead-in.

Lengths. An outside reads n (1 + s) + 2 c, an inside n (1 + s) − 2 c: n nominal, s the scale of that axis, c how far outlines
are laid too fat on each side. Least squares over both axes; a place counts once, by the mean of its repeats, for repeats at
one place tell of hand and caliper and nothing of the printer. So what is left over estimates the printer's spread from place
to place; it is widened by √(ν / (ν − 2)), the standard deviation of Student's t with ν degrees of freedom.

Caliper. One and the same error on all outsides, another on all insides, both rectangular within the limits of DIN 862 for a
digital step of 0.01 mm up to 100 mm: ± 0.02 mm, on insides ± 0.04 mm (as public pages re-tell them). More readings do not
lessen it. Each is carried through the least squares. It drops out of the first layer, where one jaw reads both sizes.

First layer. Half of foot less upper at one pair of walls is one sample; walls of several blocks along both axes are taken as
independent of each other, repeats are not.

Ladders. One hole of each size. The uncertainty is that of the next hole: the step is rectangular, step / √12; the printer's
spread from place to place counts whole, as the lengths tell it or as sizes scatter (n − 1, less the step's share), whichever
is more. An allowance stands beyond c, so twice the uncertainty of c counts too; in a print both are added and c drops out, so
that a hole is a little surer than told. A rectangle covers 58 % within one standard uncertainty and all within two; sums lie
between that and 68 % and 95 %.
"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from lobewright.errors import DesignFault, Fault, FileFault

STEPS_MM = (0.0, 0.1, 0.2, 0.3, 0.4)
"""Added to the width across at each step of a ladder."""
STEP_MM = 0.1
FLANK_RAD = math.radians(20)
"""Of the tooth pair, from the middle of the tooth."""
OUTSIDE_LIMIT_MM, INSIDE_LIMIT_MM = 0.02, 0.04
"""Error limits of a caliper (see above)."""
CALIPER_STEP_MM = 0.01
WORST_OFF_MM = 1.0
"""A reading farther from nominal is a slip of the pen."""
LEAST_FREEDOM = 3
"""Degrees of freedom below which no spread is told."""
LEAST_PAIRS = 4
"""Pairs of walls of which foot and top were read."""
LENGTHS = ("outside_x", "inside_x", "outside_y", "inside_y")
BLOCKS = ("foot_x", "foot_y", "upper_x", "upper_y")
BOLTS = ("M3", "M5")
LADDERS = ("seat_snug", *(f"{size}_passes" for size in BOLTS), "nut_fits", "tooth_seats")
HEAD = ("coupon", "feature", "nominal_mm", "reading_1_mm", "reading_2_mm", "reading_3_mm", "step")


@dataclass(frozen=True)
class Reading:
    """One feature: its readings in mm, or for a ladder the number of the step (0: none fits)."""

    coupon: str
    feature: str
    nominal_mm: float
    readings_mm: tuple[float, ...]
    step: int = -1
    line: int = 0


@dataclass(frozen=True)
class Told:
    """A value with its standard uncertainty. ``key`` names the field of the printer; empty where the file has none.

    ``written``: what goes into the file where that is not the value itself; the words then say so.
    """

    key: str
    words: str
    value: float
    uncertainty: float
    unit: str = "mm"
    written: float | None = None


@dataclass(frozen=True)
class Calibration:
    told: tuple[Told, ...]
    not_made: tuple[str, ...]

    def value(self, key: str) -> Told | None:
        return next((row for row in self.told if row.key == key), None)


def _number(text: str, line: int, place: str, low: float, high: float) -> tuple[float, Fault | None]:
    """A number with decimal point or comma."""
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        value = math.nan
    if low <= value <= high:
        return value, None
    return 0.0, Fault("this is no possible reading", place, line, text, f"{low:g} to {high:g} mm")


def _cells(text: str, name: str) -> list[tuple[int, list[str]]]:
    """Line and cells of each row. Spreadsheets of some countries part cells by semicolons."""
    reader = csv.reader(io.StringIO(text, newline=None), delimiter=";" if ";" in text.split("\n", 1)[0] else ",")
    rows, line = [], 1
    try:
        for row in reader:
            rows.append((line, [cell.strip() for cell in row]))
            line = reader.line_num + 1
    except csv.Error as error:
        raise FileFault([Fault(f"this is no table: {error}", line=line)], name) from None
    return rows


def read_readings(text: str, name: str = "") -> tuple[Reading, ...]:
    """Rows of a filled-in table (CSV); rows left empty are passed over.

    Raises FileFault for what is no table, DesignFault with every wrong cell.
    """
    rows = _cells(text, name)
    if not rows or tuple(rows[0][1]) != HEAD:
        found = ",".join(rows[0][1]) if rows else "nothing"
        raise DesignFault([Fault("the first line does not name the columns", "", 1, found, ",".join(HEAD))], name)
    faults: list[Fault] = []
    found_rows = []
    seen: dict[tuple[str, str, float], int] = {}
    for line, cells in rows[1:]:
        if not any(cells) or cells[0].startswith("#"):
            continue
        if len(cells) != len(HEAD):
            allowed = f"{len(HEAD)} cells, decimals with a point"
            faults.append(Fault("this row has not one cell for each column", "", line, str(len(cells)), allowed))
            continue
        one, wrong = _reading(cells, line)
        before = seen.setdefault((one.coupon, one.feature, one.nominal_mm), line)
        if before != line and not wrong:
            wrong = [Fault("this place was read before", "feature", line, one.feature, f"once, in line {before}")]
        faults += wrong
        if not wrong and (one.readings_mm or one.step >= 0):
            found_rows.append(one)
    if faults:
        raise DesignFault(faults, name)
    return tuple(found_rows)


def _reading(cells: list[str], line: int) -> tuple[Reading, list[Fault]]:
    coupon, feature, nominal_text, *rest = cells
    readings, step_text = rest[:3], rest[3]
    if feature in LADDERS:
        if not step_text:
            return Reading(coupon, feature, 0.0, (), line=line), []
        if step_text not in {str(k) for k in range(len(STEPS_MM) + 1)}:
            allowed = f"a whole number from 1 to {len(STEPS_MM)}, or 0 where no step does"
            wrong = Fault("this is no step of the ladder", "step", line, step_text, allowed)
            return Reading(coupon, feature, 0.0, (), line=line), [wrong]
        return Reading(coupon, feature, 0.0, (), int(step_text), line), []
    if feature not in (*LENGTHS, *BLOCKS):
        allowed = ", ".join((*LENGTHS, *BLOCKS, *LADDERS))
        wrong = Fault("no coupon has this feature", "feature", line, feature, allowed)
        return Reading(coupon, feature, 0.0, (), line=line), [wrong]
    nominal, fault = _number(nominal_text, line, "nominal_mm", 0.1, 300.0)
    if fault:
        return Reading(coupon, feature, 0.0, (), line=line), [fault]
    values, faults = [], []
    for k, cell in enumerate(readings):
        if cell:
            low, high = max(0.05, nominal - WORST_OFF_MM), nominal + WORST_OFF_MM
            value, fault = _number(cell, line, HEAD[3 + k], low, high)
            faults += [fault] if fault else []
            values.append(value)
    return Reading(coupon, feature, nominal, tuple(values), line=line), faults


@dataclass(frozen=True)
class _Fat:
    """How far outlines are laid too fat, and the printer's spread from place to place, mm; all told of lengths."""

    told: tuple[Told, ...]
    missing: tuple[str, ...]
    spread_mm: float = 0.0

    @property
    def offset(self) -> Told | None:
        return self.told[0] if self.told else None


def _fit(rows: list[Reading]) -> _Fat:
    """Offset and scales; each place counts by the mean of its readings."""
    axes = [axis for axis in "xy" if any(row.feature.endswith(axis) for row in rows)]
    outer = np.array([row.feature.startswith("outside") for row in rows], dtype=float)
    freedom = len(rows) - 1 - len(axes)
    if not 0 < outer.sum() < len(rows) or freedom < LEAST_FREEDOM:
        need = "readings of outsides and insides, at least 3 more than the axes and one"
        return _Fat((), (f"xy_compensation_mm: {len(rows)} lengths were read; it needs {need}",))
    design = np.zeros((len(rows), 1 + len(axes)))
    off = np.array([float(np.mean(row.readings_mm)) - row.nominal_mm for row in rows])
    design[:, 0] = 4.0 * outer - 2.0
    for k, row in enumerate(rows):
        design[k, 1 + axes.index(row.feature[-1])] = row.nominal_mm
    if np.linalg.matrix_rank(design) < design.shape[1]:
        return _Fat((), ("xy_compensation_mm: scale and offset cannot be told apart by these lengths",))
    inverse = np.linalg.pinv(design)
    found = inverse @ off
    left = off - design @ found
    spread = float(left @ left) / (freedom - 2) + CALIPER_STEP_MM**2 / 12
    # An error of all outsides, one of all insides, each rectangular, and what each does to every number found.
    shared = ((inverse @ outer) * OUTSIDE_LIMIT_MM) ** 2 + ((inverse @ (1.0 - outer)) * INSIDE_LIMIT_MM) ** 2
    sure = np.sqrt(np.sum(inverse**2, axis=1) * spread + shared / 3)
    told = [Told("xy_compensation_mm", "laid too fat, each side", float(found[0]), float(sure[0]))]
    for k, axis in enumerate(axes, start=1):
        told.append(Told("", f"scale along {axis}", 100 * float(found[k]), 100 * float(sure[k]), "%"))
    return _Fat(tuple(told), (), math.sqrt(spread))


def _not_below_nothing(row: Told, nothing: str) -> Told:
    """A value that cannot lie below 0: where it reads so, 0 is written and the words say it."""
    if row.value >= 0:
        return row
    return replace(row, written=0.0, words=f"{row.words}; below 0 is {nothing}, 0 is written")


def _first_layer(rows: tuple[Reading, ...]) -> tuple[list[Told], list[str]]:
    """Half of foot less upper, one sample from each pair of walls."""
    means = {(row.coupon, row.feature): float(np.mean(row.readings_mm)) for row in rows if row.feature in BLOCKS}
    pairs = [(foot, means.get((name, f"upper_{key[-1]}"))) for (name, key), foot in means.items() if "foot" in key]
    halves = np.array([(foot - upper) / 2 for foot, upper in pairs if upper is not None])
    count = len(halves)
    if count < LEAST_PAIRS:
        need = f"{LEAST_PAIRS} walls' foot and top, of several blocks"
        return [], [f"first_layer_mm: foot and top of {count} pairs of walls were read; it needs {need}"]
    variance = float(halves.var(ddof=1)) * (count - 1) / (count - 3) / count
    # Two readings with the caliper's step, halved; the step may be the same at every block.
    sure = math.sqrt(variance + CALIPER_STEP_MM**2 / 12 / 2)
    told = Told("first_layer_mm", "first layer spreads, each side", float(halves.mean()), sure)
    return [_not_below_nothing(told, "a first layer that does not spread")], []


def tooth_gap_mm(step_mm: float, fat_mm: float) -> float:
    """Least distance between printed flanks of the tooth pair, the tooth in the middle, its shoulders on the strip.

    A space is wider than its tooth by ``step_mm`` along the pitch, so each flank has step / 2 · cos α (α ``FLANK_RAD``) to
    its neighbour. Outlines laid too fat by c bring neighbours nearer by 2 c, the shoulders too: these hold the tooth drawn
    out by 2 c, which opens each flank by 2 c · sin α. Together step / 2 · cos α − 2 c (1 − sin α); negative where it does not
    go in.
    """
    return step_mm / 2 * math.cos(FLANK_RAD) - 2 * fat_mm * (1 - math.sin(FLANK_RAD))


def _steps(rows: tuple[Reading, ...], features: Sequence[str], label: str, first_may: bool) -> tuple[list[int], str]:
    """Steps named on ladders, or why they tell nothing. ``first_may``: the first step is an answer like any other."""
    steps = [row.step for row in rows if row.feature in features and row.step >= 0]
    if not steps:
        return [], f"{label}: no step of the ladder was named"
    if 0 in steps:
        return [], f"{label}: no step of the ladder did; the limit lies beyond {STEPS_MM[-1]:g} mm"
    if 1 in steps and not first_may:
        return [], f"{label}: the first step did already; the limit lies below the ladder"
    return steps, ""


def _ladder(
    rows: tuple[Reading, ...], features: Sequence[str], key: str, words: str, fat: _Fat, lead_mm: float = -STEP_MM / 2
) -> tuple[list[Told], list[str]]:
    """A ladder's answer less twice the offset. ``lead_mm``: from the step named to the middle of where the limit lies."""
    label = key or words
    steps, why = _steps(rows, features, label, lead_mm == 0.0)
    if why:
        return [], [why]
    if fat.offset is None:
        return [], [f"{label}: it stands beyond xy_compensation_mm, which is not told"]
    values = np.array([STEPS_MM[step - 1] + lead_mm for step in steps])
    scatter = float(values.var(ddof=1)) - STEP_MM**2 / 12 if len(values) > 1 else 0.0
    sure = math.sqrt(STEP_MM**2 / 12 + max(scatter, fat.spread_mm**2) + (2 * fat.offset.uncertainty) ** 2)
    return [Told(key, words, float(values.mean()) - 2 * fat.offset.value, sure)], []


def _tooth(rows: tuple[Reading, ...], fat: _Fat) -> tuple[list[Told], list[str]]:
    """Gap of printed flanks at which the tooth just seats: what flanks need beyond the offset."""
    key = "least_clearance_mm"
    steps, why = _steps(rows, ("tooth_seats",), key, False)
    if why:
        return [], [why]
    if fat.offset is None:
        return [], [f"{key}: it stands beyond xy_compensation_mm, which is not told"]
    off = fat.offset
    gap = tooth_gap_mm(STEPS_MM[steps[0] - 1] - STEP_MM / 2, off.value)
    by_step = tooth_gap_mm(STEP_MM, 0.0) / math.sqrt(12)
    by_fat = tooth_gap_mm(0.0, off.uncertainty)
    sure = math.sqrt(by_step**2 + by_fat**2 + (fat.spread_mm / 2) ** 2)
    return [_not_below_nothing(Told(key, "printed teeth seat with this gap a flank", gap, sure), "no gap needed")], []


def calibrate(rows: tuple[Reading, ...], name: str = "") -> Calibration:
    """What the readings tell of a printer, and what they cannot tell with the reason.

    Raises DesignFault where nothing at all was filled in; ``name`` is the file's in its sentence.
    """
    if not rows:
        raise DesignFault([Fault("no reading is filled in", allowed="at least one reading in mm or one step")], name)
    fat = _fit([row for row in rows if row.feature in LENGTHS])
    told, missing = [*fat.told], [*fat.missing]
    bolts = [f"{size}_passes" for size in BOLTS]
    for more, gaps in (
        _ladder(rows, ["seat_snug"], "seat_allowance_mm", "added to bearing seats", fat, 0.0),
        _ladder(rows, bolts, "bolt_hole_allowance_mm", "added to bolt holes", fat),
        _first_layer(rows),
        _tooth(rows, fat),
        _ladder(rows, ["nut_fits"], "", "nut pockets need, beyond the offset", fat),
    ):
        told, missing = [*told, *more], [*missing, *gaps]
    return Calibration(tuple(told), tuple(missing))
