"""Shared by all tests: assessed starters, computed once in a test process."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from lobewright.assessment.results import Assessment


@pytest.fixture(scope="session")
def assessed_starter() -> Callable[[str], Assessment]:
    """Assessment of the starter of a kind."""
    from lobewright.assessment.run import assess
    from lobewright.design.files import design_from_data
    from lobewright.design.starters import starter_data

    kept: dict[str, Assessment] = {}

    def of(kind: str) -> Assessment:
        if kind not in kept:
            kept[kind] = assess(design_from_data(starter_data(kind)))
        return kept[kind]

    return of


@pytest.fixture(autouse=True)
def _no_time_stamp_from_outside(monkeypatch: pytest.MonkeyPatch) -> None:
    """A time stamp set for a reproducible build of the system must not reach the tests."""
    monkeypatch.delenv("SOURCE_DATE_EPOCH", raising=False)
