"""Evidence for fatigue: criteria, notches, S–N lines, Miner's sum and counted cycles from handbooks and a standard.

Stresses in kpsi go in as they are where only ratios of stresses matter.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from lobewright.design.model import Criterion, Surface
from lobewright.published.case import CaseMaker, Room
from lobewright.published.model import Model
from lobewright.sources import Flag
from lobewright.strength.course import StressCourse
from lobewright.strength.material import Direction
from lobewright.strength.sn import SnCurve
from lobewright.units import INCH_MM, POUND_FORCE_N

KSI_MPA = 1e3 * POUND_FORCE_N / INCH_MM**2
GOODMAN, GERBER, ELLIPTIC, SODERBERG = (
    Criterion.MODIFIED_GOODMAN,
    Criterion.GERBER,
    Criterion.ASME_ELLIPTIC,
    Criterion.SODERBERG,
)
HISTORY = np.array([-2.0, 1.0, -3.0, 5.0, -1.0, 3.0, -4.0, 4.0, -2.0])
"""The example of the standard."""
HIDDEN = np.array([80.0, 40.0, 60.0, -60.0, -20.0, -40.0])
"""The book's history with a cycle that hides in its repetition, begun at its largest stress."""


def _safety(
    alternating: float, mean: float, strengths: tuple[float, float, float], criterion: Criterion
) -> Callable[[Model], float]:
    """Safety with endurance, ultimate and yield stress."""
    return lambda model: float(model.fatigue_safety(alternating, mean, *strengths, criterion))


def _line(model: Model, ultimate: float, endurance: float, fraction: float = 0.9) -> SnCurve:
    """The book's line from f·S_u at a thousand cycles to S_e at a million, and on."""
    slope = math.log(1e3) / math.log(fraction * ultimate / endurance)
    return model.sn_curve(np.array([1e3, 1e6]), np.array([fraction * ultimate, endurance]), slope, 1.0, 1e6)


def _life(model: Model, ultimate: float, endurance: float, amplitude: float) -> float:
    return float(_line(model, ultimate, endurance).life_cycles(np.array(amplitude)))


def _left(
    model: Model, strengths: tuple[float, float], run: tuple[tuple[float, float], ...], amplitude: float
) -> float:
    """Cycles left at an amplitude after (amplitude, cycles) were run."""
    life = _line(model, *strengths).life_cycles
    amplitudes, cycles = np.array(run).T
    damage = float(model.damage_shares(cycles, life(amplitudes)).sum())
    return (1.0 - damage) * float(life(np.array(amplitude)))


def _shared_life(model: Model) -> float:
    """Cycles to failure at 350, 400 and 500 MPa in shares of 85, 12 and 3 %."""
    life = _line(model, 660.0, 280.0).life_cycles(np.array([350.0, 400.0, 500.0]))
    return 1.0 / float(model.damage_shares(np.array([0.85, 0.12, 0.03]), life).sum())


def _blocks(model: Model) -> float:
    """How often the history with the hidden cycle is borne, in thousands: S_u 151, S_e 67.5 kpsi, f 0.795."""
    cycles = model.count_repeated(HIDDEN)
    reversed_ = model.equivalent_reversed_mpa(cycles.amplitude_mpa, cycles.mean_mpa, 151.0, None, GERBER)
    life = np.where(reversed_ > 67.5, _line(model, 151.0, 67.5, 0.795).life_cycles(reversed_), math.inf)
    damage = float(model.damage_shares(cycles.count, life).sum())
    return 1e-3 / damage if damage else math.inf


def _counted(model: Model, range_: float) -> float:
    cycles = model.count_cycles(HISTORY)
    return float(cycles.count[np.isclose(2.0 * cycles.amplitude_mpa, range_)].sum())


def _hidden_mean(model: Model) -> float:
    """Mean of the two inner cycles of the history that lies lower."""
    cycles = model.count_repeated(HIDDEN)
    return float(cycles.mean_mpa[cycles.amplitude_mpa < 0.5 * cycles.amplitude_mpa.max()].min())


def _bar(bent: float, twisted: tuple[float, float]) -> StressCourse:
    """Bending that alternates and torsion (mean, alternating) in step with it."""
    label = 10.0 * np.arange(36, dtype=np.float64) - 180.0
    wave = np.cos(np.radians(label))
    stress = np.stack([bent * wave, np.zeros(36), twisted[0] + twisted[1] * wave], axis=-1)[None]
    return StressCourse(
        "bar", "bar", "outside", 0.0, np.array([1.0]), label, stress, 1.0, math.inf, Direction.IN_LAYERS, 1.0, "given"
    )


def _bar_safety(criterion: Criterion) -> Callable[[Model], float]:
    """Safety of the bar of problem 6-14, from its course."""

    def compute(model: Model) -> float:
        cycles = model.steady_cycles(BOTH, 1.0)
        one = int(cycles.amplitude_mpa.argmax())
        return float(model.fatigue_safety(cycles.amplitude_mpa[one], cycles.mean_mpa[one], *STEEL, criterion))

    return compute


def _yields(course: StressCourse) -> Callable[[Model], float]:
    return lambda model: float(model.first_cycle_safety(model.largest_stress_mpa(course, 1.0, 1.0), 0.0, STEEL[2]))


def _notch_of_shaft(model: Model) -> float:
    """K_f of a shoulder of 3 mm in steel of 690 MPa, K_t 1.65."""
    return 1.0 + float(model.neuber_sensitivity(3.0, 690.0)) * 0.65


_case = CaseMaker("fatigue", Room.STRENGTH)


BOOK = ("budynas_nisbett_2011", Flag.READ)
SOLVED = ("budynas_nisbett_2006_ch6", Flag.READ)
SHEETS = ("bannantine_1990", Flag.READ_SECOND)
STANDARD = ("astm_e1049", Flag.READ_SECOND)
COMPANION = ("bhandari", Flag.REMEMBERED)
DIGITS = "last printed digit"
BAR = (33.9, 100.0, 84.0)
STEEL = (276.0, 551.0, 413.0)
PART = (270.0, 600.0, 450.0)
TWISTED, BOTH = _bar(69.0, (138.0, 0.0)), _bar(83.0, (103.0, 69.0))
"""Bars of problems 6-13 and 6-14."""
CASES = (
    _case(
        "bar_gerber",
        "bar under 8.38 ± 8.38 kpsi, S_e 33.9, S_u 100: Gerber",
        "",
        BOOK,
        (3.66, 0.005),
        DIGITS,
        _safety(8.38, 8.38, BAR, GERBER),
    ),
    _case(
        "bar_elliptic",
        "the same bar, S_y 84 kpsi: ASME-elliptic",
        "",
        BOOK,
        (3.75, 0.005),
        DIGITS,
        _safety(8.38, 8.38, BAR, ELLIPTIC),
    ),
    _case(
        "bar_first_cycle",
        "the same bar: first cycle, Langer",
        "",
        BOOK,
        (5.01, 0.005),
        DIGITS,
        lambda model: float(model.first_cycle_safety(8.38, 8.38, 84.0)),
    ),
    _case(
        "twisted_goodman",
        "bar under 172 MPa alternating, 178.4 MPa steady, S_e 276, S_u 551: modified Goodman",
        "",
        SOLVED,
        (1.06, 0.005),
        DIGITS,
        _safety(172.0, 178.4, STEEL, GOODMAN),
    ),
    _case(
        "twisted_gerber",
        "the same bar: Gerber",
        "",
        SOLVED,
        (1.31, 0.005),
        DIGITS,
        _safety(172.0, 178.4, STEEL, GERBER),
    ),
    _case(
        "twisted_elliptic",
        "the same bar, S_y 413 MPa: ASME-elliptic",
        "",
        SOLVED,
        (1.32, 0.005),
        DIGITS,
        _safety(172.0, 178.4, STEEL, ELLIPTIC),
    ),
    _case(
        "more_twisted_goodman",
        "bar of the same steel under 69 MPa alternating, 239 MPa steady: modified Goodman",
        "",
        SOLVED,
        (1.46, 0.005),
        DIGITS,
        _safety(69.0, 239.0, STEEL, GOODMAN),
    ),
    _case(
        "more_twisted_gerber",
        "the same bar: Gerber",
        "",
        SOLVED,
        (1.73, 0.005),
        DIGITS,
        _safety(69.0, 239.0, STEEL, GERBER),
    ),
    _case(
        "more_twisted_elliptic",
        "the same bar: ASME-elliptic",
        "",
        SOLVED,
        (1.59, 0.005),
        DIGITS,
        _safety(69.0, 239.0, STEEL, ELLIPTIC),
    ),
    _case(
        "more_twisted_first_cycle",
        "the same bar, bent by ±69 MPa and twisted by a steady 138 MPa: first cycle, largest von Mises stress",
        "",
        SOLVED,
        (1.66, 0.005),
        DIGITS,
        _yields(TWISTED),
    ),
    _case(
        "both_alternating",
        "bending of ±83 MPa and torsion of 103 ± 69 MPa: alternating von Mises stress",
        "MPa",
        SOLVED,
        (145.5, 0.06),
        DIGITS,
        lambda model: float(model.steady_cycles(BOTH, 1.0).amplitude_mpa.max()),
    ),
    _case(
        "both_mean",
        "the same bar: mean von Mises stress",
        "MPa",
        SOLVED,
        (178.4, 0.06),
        DIGITS,
        lambda model: float(model.steady_cycles(BOTH, 1.0).mean_mpa.max()),
    ),
    *(
        _case(
            f"both_{word}",
            f"the same bar, from its course: {criterion.value.replace('_', ' ')}",
            "",
            SOLVED,
            (expected, 0.005),
            DIGITS,
            _bar_safety(criterion),
        )
        for word, criterion, expected in (
            ("goodman", GOODMAN, 1.18),
            ("gerber", GERBER, 1.47),
            ("elliptic", ELLIPTIC, 1.47),
        )
    ),
    _case(
        "both_first_cycle",
        "the same bar: first cycle, largest von Mises stress",
        "",
        SOLVED,
        (1.34, 0.005),
        DIGITS,
        _yields(BOTH),
    ),
    _case(
        "component_soderberg",
        "component under 40 to 100 MPa, S_e 270, S_y 450: Soderberg",
        "",
        COMPANION,
        (3.75, 0.005),
        "exact with these stresses; a companion's two places",
        _safety(30.0, 70.0, PART, SODERBERG),
    ),
    _case(
        "component_goodman",
        "the same component, S_u 600 MPa: modified Goodman",
        "",
        COMPANION,
        (4.39, 0.005),
        DIGITS,
        _safety(30.0, 70.0, PART, GOODMAN),
    ),
    _case(
        "component_gerber",
        "the same component: Gerber",
        "",
        COMPANION,
        (5.41, 0.005),
        DIGITS,
        _safety(30.0, 70.0, PART, GERBER),
    ),
    _case(
        "tensile_mean",
        "steel pieces under 621 ± 379 MPa, line ending at 1758 MPa: fully reversed amplitude",
        "MPa",
        ("dowling_2012", Flag.READ),
        (586.0, 0.06),
        DIGITS,
        lambda model: float(model.equivalent_reversed_mpa(379.0, 621.0, 1758.0, None, GOODMAN)),
    ),
    _case(
        "shoulder",
        "shaft shoulder of radius 3 mm, 690 MPa, K_t 1.65: K_f after Neuber",
        "",
        BOOK,
        (1.55, 0.005),
        DIGITS,
        _notch_of_shaft,
    ),
    _case(
        "hole_sensitivity",
        "hole of radius 0.025 in, steel of 50 kpsi: notch sensitivity after Peterson",
        "",
        SHEETS,
        (0.50, 0.005),
        DIGITS,
        lambda model: float(model.peterson_sensitivity(0.025 * INCH_MM, 50.0 * KSI_MPA)),
    ),
    _case(
        "small_hole_sensitivity",
        "hole of radius 0.0025 in, steel of 100 kpsi: notch sensitivity after Peterson",
        "",
        SHEETS,
        (0.26, 0.005),
        DIGITS,
        lambda model: float(model.peterson_sensitivity(0.0025 * INCH_MM, 100.0 * KSI_MPA)),
    ),
    _case(
        "hole_notch",
        "hole of radius 0.025 in, steel of 100 kpsi, K_t 3: K_f",
        "",
        SHEETS,
        (2.55, 0.005),
        DIGITS,
        lambda model: float(model.fatigue_notch_factor(3.0, 0.025 * INCH_MM, 100.0 * KSI_MPA, True)),
    ),
    _case(
        "machined",
        "machined steel of 520 MPa: surface factor",
        "",
        BOOK,
        (0.860, 5e-4),
        DIGITS,
        lambda model: float(model.surface_factor(Surface.MACHINED, 520.0)),
    ),
    _case(
        "shaft_surface",
        "machined steel of 1226 MPa: surface factor",
        "",
        SOLVED,
        (0.685, 5e-4),
        DIGITS,
        lambda model: float(model.surface_factor(Surface.MACHINED, 1226.0)),
    ),
    _case(
        "shaft_size",
        "22 mm thick: size factor",
        "",
        SOLVED,
        (0.893, 5e-4),
        DIGITS,
        lambda model: float(model.size_factor(22.0)),
    ),
    _case(
        "life_of_bar",
        "S_u 551, S_e 276 MPa, f 0.9: life at 358.5 MPa",
        "cycles",
        SOLVED,
        (45800.0, 50.0),
        "three printed digits",
        lambda model: _life(model, 551.0, 276.0, 358.5),
    ),
    _case(
        "life_at_sixty",
        "S_u 80, S_e 40 kpsi, f 0.9: life at 60 kpsi",
        "cycles",
        BOOK,
        (8520.0, 5.0),
        "three printed digits",
        lambda model: _life(model, 80.0, 40.0, 60.0),
    ),
    _case(
        "left_at_forty",
        "the same steel after 3000 cycles at 60 kpsi: cycles left at 40 kpsi",
        "10⁶ cycles",
        BOOK,
        (0.648, 5e-4),
        DIGITS,
        lambda model: 1e-6 * _left(model, (80.0, 40.0), ((60.0, 3000.0),), 40.0),
    ),
    _case(
        "left_after_one_level",
        "S_u 590, S_e 200 MPa after 50 000 cycles at 266.5 MPa: cycles left at 315 MPa",
        "cycles",
        SOLVED,
        (24880.0, 25.0),
        "four digits from lives rounded to three",
        lambda model: _left(model, (590.0, 200.0), ((266.5, 50e3),), 315.0),
    ),
    _case(
        "left_after_two_levels",
        "S_u 76, S_e 30 kpsi after 4000 cycles at 48 and 60 000 at 38 kpsi: cycles left at 32 kpsi",
        "cycles",
        SOLVED,
        (209160.0, 120.0),
        "exponent rounded to five digits and lives to four or five",
        lambda model: _left(model, (76.0, 30.0), ((48.0, 4e3), (38.0, 60e3)), 32.0),
    ),
    _case(
        "two_levels_damage",
        "90 kpsi at 10³, 50 kpsi at 10⁶ cycles: damage of 1000 cycles at 80 and 50 000 at 60 kpsi",
        "",
        SHEETS,
        (0.677, 5e-4),
        DIGITS,
        lambda model: (
            1.0 - _left(model, (100.0, 50.0), ((80.0, 1e3), (60.0, 50e3)), 70.0) / _life(model, 100.0, 50.0, 70.0)
        ),
    ),
    _case(
        "two_levels_left",
        "the same piece: cycles left at 70 kpsi",
        "cycles",
        SHEETS,
        (6200.0, 5.0),
        "printed to the nearest hundred or ten",
        lambda model: _left(model, (100.0, 50.0), ((80.0, 1e3), (60.0, 50e3)), 70.0),
    ),
    _case(
        "shared_life",
        "S_u 660, S_e 280 MPa: life with 85 % at 350, 12 % at 400, 3 % at 500 MPa",
        "cycles",
        COMPANION,
        (62731.0, 1.0),
        "a companion's digits",
        _shared_life,
    ),
    _case(
        "hidden_amplitude",
        "history with a hidden cycle, repeated: amplitude of its largest cycle",
        "kpsi",
        BOOK,
        (70.0, 1e-6),
        "exact",
        lambda model: float(model.count_repeated(HIDDEN).amplitude_mpa.max()),
    ),
    _case(
        "hidden_mean",
        "the same history: mean of its lowest cycle",
        "kpsi",
        BOOK,
        (-30.0, 1e-6),
        "exact",
        _hidden_mean,
    ),
    _case(
        "hidden_blocks",
        "the same history, S_u 151, S_e 67.5 kpsi, f 0.795, Gerber: how often it is borne",
        "10³",
        BOOK,
        (619.0, 7.0),
        "the book rounds the line's exponent to three digits, which moves the life by 1 %; S_u and f from memory",
        _blocks,
    ),
    _case(
        "counted_four",
        "the standard's example of rainflow counting: cycles of range 4",
        "cycles",
        STANDARD,
        (1.5, 1e-6),
        "exact",
        lambda model: _counted(model, 4.0),
    ),
    _case(
        "counted_nine",
        "the same: cycles of range 9, the largest",
        "cycles",
        STANDARD,
        (0.5, 1e-6),
        "exact",
        lambda model: _counted(model, 9.0),
    ),
)
