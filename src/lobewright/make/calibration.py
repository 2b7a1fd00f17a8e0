"""Readings of the printed coupons made into a printer's allowances, each with its standard uncertainty.

Assumes coupons printed at nominal size. An outside reads n (1 + s) + 2 c, an inside n (1 + s) − 2 c: n nominal, s the scale of
that axis, c how far outlines are laid too fat on each side. Least squares over both axes; the spread of the residuals and the
caliper's step (rectangular, step / √12) combine in quadrature. Few readings widen the uncertainty by √(ν / (ν − 2)), the
standard deviation of Student's t with ν degrees of freedom. A ladder answers to within a step: step / √12.
"""

from __future__ import annotations

import csv
import io
import math
from dataclasses import dataclass

import numpy as np

from lobewright.errors import DesignFault, Fault

STEPS_MM = (0.0, 0.1, 0.2, 0.3, 0.4)
"""Added to the width across at each step of a ladder."""
STEP_MM = 0.1
CALIPER_STEP_MM = 0.01
WORST_OFF_MM = 1.0
"""A reading farther from nominal is a slip of the pen."""
LEAST_FREEDOM = 3
"""Degrees of freedom below which no spread is told."""
LEAST_READINGS = 4
LENGTHS = ("outside_x", "inside_x", "outside_y", "inside_y")
OTHERS = ("foot", "upper", "wall")
LADDERS = ("seat_snug", "bolt_passes", "nut_fits", "tooth_free")
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
    """A value with its standard uncertainty. ``key`` names the field of the printer; empty where the file has none."""

    key: str
    words: str
    value: float
    uncertainty: float
    unit: str = "mm"


@dataclass(frozen=True)
class Calibration:
    told: tuple[Told, ...]
    not_made: tuple[str, ...]

    def value(self, key: str) -> Told | None:
        return next((row for row in self.told if row.key == key), None)


def _number(text: str, line: int, place: str, low: float, high: float) -> tuple[float, Fault | None]:
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if low <= value <= high:
        return value, None
    return 0.0, Fault("this is no possible reading", place, line, text, f"{low:g} to {high:g} mm")


def read_readings(text: str, name: str = "") -> tuple[Reading, ...]:
    """Rows of a filled-in table (CSV); rows left empty are passed over. Raises DesignFault with every wrong cell."""
    rows = list(csv.reader(io.StringIO(text)))
    if not rows or tuple(cell.strip() for cell in rows[0]) != HEAD:
        found = ",".join(rows[0]) if rows else "nothing"
        raise DesignFault([Fault("the first line does not name the columns", "", 1, found, ",".join(HEAD))], name)
    faults: list[Fault] = []
    found_rows = []
    for line, row in enumerate(rows[1:], start=2):
        cells = [cell.strip() for cell in row]
        if not any(cells) or cells[0].startswith("#"):
            continue
        if len(cells) != len(HEAD):
            faults.append(
                Fault("this row has not one cell for each column", "", line, str(len(cells)), f"{len(HEAD)} cells")
            )
            continue
        one, wrong = _reading(cells, line)
        faults += wrong
        if not wrong and (one.readings_mm or one.step >= 0):
            found_rows.append(one)
    if faults:
        raise DesignFault(faults, name)
    return tuple(found_rows)


def _reading(cells: list[str], line: int) -> tuple[Reading, list[Fault]]:
    coupon, feature, nominal_text, *rest = cells
    readings, step_text = rest[:3], rest[3]
    empty = Reading(coupon, feature, 0.0, (), line=line)
    if feature in LADDERS:
        if not step_text:
            return empty, []
        if step_text not in {str(k) for k in range(len(STEPS_MM) + 1)}:
            allowed = f"a whole number from 1 to {len(STEPS_MM)}, or 0 where no step does"
            return empty, [Fault("this is no step of the ladder", "step", line, step_text, allowed)]
        return Reading(coupon, feature, 0.0, (), int(step_text), line), []
    if feature not in (*LENGTHS, *OTHERS):
        allowed = ", ".join((*LENGTHS, *OTHERS, *LADDERS))
        return empty, [Fault("no coupon has this feature", "feature", line, feature, allowed)]
    nominal, fault = _number(nominal_text, line, "nominal_mm", 0.1, 300.0)
    if fault:
        return empty, [fault]
    values, faults = [], []
    for k, cell in enumerate(readings):
        if cell:
            low, high = max(0.05, nominal - WORST_OFF_MM), nominal + WORST_OFF_MM
            value, fault = _number(cell, line, HEAD[3 + k], low, high)
            faults += [fault] if fault else []
            values.append(value)
    return Reading(coupon, feature, nominal, tuple(values), line=line), faults


def _fit(rows: list[Reading]) -> tuple[list[Told], list[str]]:
    """Offset and scales; each feature counts by the mean of its readings."""
    axes = [axis for axis in "xy" if any(row.feature.endswith(axis) for row in rows)]
    sides = {row.feature.split("_")[0] for row in rows}
    freedom = len(rows) - 1 - len(axes)
    if sides != {"outside", "inside"} or freedom < LEAST_FREEDOM:
        need = "readings of outsides and insides, at least 3 more than the axes and one"
        return [], [f"xy_compensation_mm: {len(rows)} lengths were read; it needs {need}"]
    design = np.zeros((len(rows), 1 + len(axes)))
    off = np.array([float(np.mean(row.readings_mm)) - row.nominal_mm for row in rows])
    for k, row in enumerate(rows):
        design[k, 0] = 2.0 if row.feature.startswith("outside") else -2.0
        design[k, 1 + axes.index(row.feature[-1])] = row.nominal_mm
    if np.linalg.matrix_rank(design) < design.shape[1]:
        return [], ["xy_compensation_mm: scale and offset cannot be told apart by these lengths"]
    found = np.linalg.lstsq(design, off, rcond=None)[0]
    left = off - design @ found
    spread = float(left @ left) / (freedom - 2) + CALIPER_STEP_MM**2 / 12
    sure = np.sqrt(np.diag(np.linalg.inv(design.T @ design)) * spread)
    told = [Told("xy_compensation_mm", "laid too fat, each side", float(found[0]), float(sure[0]))]
    for k, axis in enumerate(axes, start=1):
        told.append(Told("", f"scale along {axis}", 100 * float(found[k]), 100 * float(sure[k]), "%"))
    return told, []


def _off(rows: tuple[Reading, ...], feature: str) -> np.ndarray:
    """Readings less nominal, mm."""
    values = [value - row.nominal_mm for row in rows if row.feature == feature for value in row.readings_mm]
    return np.array(values)


def _squares(values: np.ndarray) -> float:
    return float(((values - values.mean()) ** 2).sum())


def _first_layer(rows: tuple[Reading, ...]) -> tuple[list[Told], list[str]]:
    """Half of foot less upper; both share one spread."""
    foot, upper = _off(rows, "foot"), _off(rows, "upper")
    freedom = len(foot) + len(upper) - 2
    if min(len(foot), len(upper)) < LEAST_READINGS:
        need = f"{LEAST_READINGS} readings of the foot and {LEAST_READINGS} of the block above it"
        return [], [f"first_layer_mm: {len(foot)} and {len(upper)} were read; it needs {need}"]
    variance = (_squares(foot) + _squares(upper)) / (freedom - 2) * (1 / len(foot) + 1 / len(upper))
    sure = math.sqrt(variance + 2 * CALIPER_STEP_MM**2 / 12) / 2
    value = float(foot.mean() - upper.mean()) / 2
    return [Told("first_layer_mm", "first layer spreads, each side", max(0.0, value), sure)], []


def _walls(rows: tuple[Reading, ...]) -> tuple[list[Told], list[str]]:
    off = _off(rows, "wall")
    freedom = len(off) - 1
    if len(off) < LEAST_READINGS:
        return [], [f"thickness of walls: {len(off)} readings; it needs {LEAST_READINGS}"]
    sure = math.sqrt(_squares(off) / (freedom - 2) / len(off) + CALIPER_STEP_MM**2 / 12)
    return [Told("", "walls come out too thick by", float(off.mean()), sure)], []


def _ladder(
    rows: tuple[Reading, ...], feature: str, key: str, words: str, lead_mm: float, fat: Told | None
) -> tuple[list[Told], list[str]]:
    """A ladder's answer less twice the offset. ``lead_mm``: from the step named to the middle of where the limit lies."""
    label = key or words
    steps = [row.step for row in rows if row.feature == feature]
    if not steps:
        return [], [f"{label}: no step of the ladder was named"]
    if fat is None:
        return [], [f"{label}: it stands beyond xy_compensation_mm, which is not told"]
    if 0 in steps:
        return [], [f"{label}: no step of the ladder did; the limit lies beyond {STEPS_MM[-1]:g} mm"]
    if lead_mm and 1 in steps:
        return [], [f"{label}: the first step did already; the limit lies below the ladder"]
    values = np.array([STEPS_MM[step - 1] + lead_mm for step in steps])
    # Ladders of several sizes share the offset; their means do not narrow what a step can tell.
    sure = math.sqrt(STEP_MM**2 / 12 + float(values.var()) + (2 * fat.uncertainty) ** 2)
    return [Told(key, words, float(values.mean()) - 2 * fat.value, sure)], []


def calibrate(rows: tuple[Reading, ...]) -> Calibration:
    """What the readings tell of a printer, and what they cannot tell with the reason.

    Raises DesignFault where nothing at all was filled in.
    """
    if not rows:
        raise DesignFault([Fault("no reading is filled in", allowed="at least one reading in mm or one step")])
    lengths = [row for row in rows if row.feature in LENGTHS]
    told, missing = _fit(lengths)
    fat = told[0] if told else None
    for more, gaps in (
        _ladder(rows, "seat_snug", "seat_allowance_mm", "added to bearing seats", 0.0, fat),
        _ladder(rows, "bolt_passes", "bolt_hole_allowance_mm", "added to bolt holes", -STEP_MM / 2, fat),
        _first_layer(rows),
        _walls(rows),
        _ladder(rows, "tooth_free", "", "least clearance at which a tooth runs free", -STEP_MM / 2, fat),
        _ladder(rows, "nut_fits", "", "nut pockets need, beyond the offset", -STEP_MM / 2, fat),
    ):
        told, missing = [*told, *more], [*missing, *gaps]
    return Calibration(tuple(told), tuple(missing))
