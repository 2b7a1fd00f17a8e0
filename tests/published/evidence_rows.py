"""Pick evidence rows by source, and assert them."""

from __future__ import annotations

import pytest

from lobewright.published import ALL_CASES
from lobewright.published.case import Case
from lobewright.published.model import REAL


def rows_from(source_key: str) -> tuple[Case, ...]:
    """The cases of one source; an empty answer is a slip in the test."""
    rows = tuple(case for case in ALL_CASES if case.source_key == source_key)
    assert rows, f"no case names the source {source_key}"
    return rows


def every_row(source_key: str) -> pytest.MarkDecorator:
    """Parametrize a test with the cases of one source."""
    return pytest.mark.parametrize("case", rows_from(source_key), ids=lambda case: case.key)


def row(key: str) -> Case:
    """One case by key."""
    return next(case for case in ALL_CASES if case.key == key)


def assert_passes(case: Case) -> None:
    """Run a case on the package as it is."""
    result = case.run(REAL)
    assert result.passed, (
        f"{case.key}: expected {case.expected} ± {case.allowed} {case.unit} ({case.reason}), "
        f"computed {result.computed}, difference {result.difference:.3g} {result.refusal}"
    )
