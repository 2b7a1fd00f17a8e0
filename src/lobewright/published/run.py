"""Run the shipped cases. The command prints them and the tests assert them: the same cases, the same calls."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from lobewright.published import (
    bearing_cases,
    belt_cases,
    belt_strength_cases,
    creep_cases,
    cup_stress_cases,
    fatigue_cases,
    fe_cases,
    fit_cases,
    load_cases,
    material_cases,
    motion_cases,
    motor_flange_cases,
    over_pin_cases,
    parts_cases,
    ring_cases,
    ring_stress_cases,
    tooth_space_cases,
)
from lobewright.published.case import Case, CaseResult
from lobewright.published.model import REAL, Model
from lobewright.sources import Flag

ALL_CASES: tuple[Case, ...] = (
    *motion_cases.CASES,
    *ring_cases.CASES,
    *tooth_space_cases.CASES,
    *belt_cases.CASES,
    *belt_strength_cases.CASES,
    *creep_cases.CASES,
    *fatigue_cases.CASES,
    *load_cases.CASES,
    *fe_cases.CASES,
    *cup_stress_cases.CASES,
    *parts_cases.CASES,
    *material_cases.CASES,
    *bearing_cases.CASES,
    *ring_stress_cases.CASES,
    *fit_cases.CASES,
    *over_pin_cases.CASES,
    *motor_flange_cases.CASES,
)


def run_cases(model: Model = REAL) -> tuple[CaseResult, ...]:
    """Compute every case, in the order of the list. About 5 s once the kernels are compiled."""
    return tuple(case.run(model) for case in ALL_CASES)


@dataclass(frozen=True)
class Counts:
    """How many rows there are, and from where; derived and common-practice rows are never counted as read."""

    rows: int
    passed: int
    failed: int
    by_flag: dict[Flag, int]
    by_room: dict[str, int]

    @property
    def not_made(self) -> int:
        """Rows that need a part of the installation that is missing."""
        return self.rows - self.passed - self.failed

    @property
    def read(self) -> int:
        """Rows whose number was seen in the named source itself."""
        return self.by_flag[Flag.READ]


def count(results: tuple[CaseResult, ...]) -> Counts:
    """Rows by outcome, flag and room."""
    flags = Counter(result.case.flag for result in results)
    rooms = Counter(result.case.room.value for result in results)
    passed, failed = sum(result.passed for result in results), sum(result.failed for result in results)
    return Counts(len(results), passed, failed, {flag: flags[flag] for flag in Flag}, dict(rooms))
