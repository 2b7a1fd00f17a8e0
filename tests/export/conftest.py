"""The fixture of the export tests."""

from __future__ import annotations

import os
from collections.abc import Callable
from functools import cache

import pytest
from export_drives import Made, assessed, written_once


@pytest.fixture(scope="session")
def made(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], Made]:
    """The parts of one of the drives, written when first asked for; one folder for all workers of a run."""
    root = tmp_path_factory.getbasetemp()
    if "PYTEST_XDIST_WORKER" in os.environ:
        root = root.parent

    @cache
    def write(name: str) -> Made:
        folder = root / f"parts_{name}"
        return Made(assessed(name), folder, written_once(folder, name))

    return write
