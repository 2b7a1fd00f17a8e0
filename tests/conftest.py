"""Shared by all tests: assessed starters, computed once in a test process; the order of files where two processes share them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from lobewright.assessment.results import Assessment

HERE = Path(__file__).parent
LONGEST_FIRST = (
    "export/test_sliced.py",
    "e2e/test_make_command.py",
    "browser/test_one_view.py",
    "browser/test_lesson_page.py",
    "unit/test_scenes_a.py",
    "unit/test_scenes_b.py",
    "browser/test_moving_browser.py",
    "export/test_german_lesson.py",
    "web/test_jobs.py",
    "browser/test_live_page.py",
    "report/test_loads.py",
    "export/test_moving_parts.py",
    "browser/test_solid_browser.py",
    "docs/test_examples.py",
    "published/test_every_row_can_fail.py",
    "web/test_lesson_job.py",
    "browser/test_teach_browser.py",
    "export/test_films.py",
    "web/test_push.py",
    "export/test_lesson_folder.py",
    "unit/test_papers.py",
    "unit/test_lettering.py",
    "web/test_api.py",
    "e2e/test_life_command.py",
    "browser/test_form_browser.py",
    "export/test_read_back.py",
    "web/test_serve.py",
    "unit/test_advice.py",
    "identities/test_friction.py",
    "export/test_repeat.py",
    "web/test_project.py",
    "export/test_guide.py",
    "unit/test_bands.py",
    "closed_form/test_cell.py",
    "browser/test_made_browser.py",
    "web/test_share.py",
    "unit/test_said.py",
    "report/test_page.py",
    "export/test_sheets_pdf.py",
    "unit/test_load_edges.py",
    "identities/test_off_centre.py",
    "identities/test_transmission.py",
)
"""Files that take ten seconds and more, roughly in the order of what they take. They are begun first: a long file that is begun
last runs alone, while the other process has nothing left to do. A file that is missing here does no harm but that."""


def pytest_configure(config: pytest.Config) -> None:
    """Of pytest-xdist: files in the order in which they are collected, not by how many tests they hold."""
    if hasattr(config.option, "loadscopereorder"):
        config.option.loadscopereorder = False
    gone = [name for name in LONGEST_FIRST if not (HERE / name).is_file()]
    if gone:
        raise pytest.UsageError(f"tests/conftest.py, LONGEST_FIRST: there is no {', '.join(gone)}")


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """The longest files first where several processes share the tests."""
    if hasattr(config, "workerinput"):
        places = {HERE / name: place for place, name in enumerate(LONGEST_FIRST)}
        items.sort(key=lambda item: places.get(item.path, len(places)))


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
