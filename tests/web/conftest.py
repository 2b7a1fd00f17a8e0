"""A project in a folder of its own, and a client that asks the application without a network."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest
from processes import WAIT_S

from lobewright.web.project import Project

EXAMPLES = Path(__file__).parents[2] / "examples"
HOST = "127.0.0.1:8190"


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Tests of this folder may wait for several things one after the other, each as long as a slow computer needs."""
    for item in items:
        if item.path.parent == Path(__file__).parent and not item.get_closest_marker("timeout"):
            item.add_marker(pytest.mark.timeout(5 * WAIT_S))


@pytest.fixture
def folder(tmp_path) -> Path:
    """The examples in a folder, and a secret beside it that no page may reach."""
    place = tmp_path / "garden"
    place.mkdir()
    for path in EXAMPLES.iterdir():
        if path.suffix in (".toml", ".csv"):
            shutil.copy(path, place)
    (tmp_path / "secret.toml").write_text('secret = "not for the page"', "utf-8")
    return place


@pytest.fixture
def project(folder) -> Project:
    return Project(folder, "azimuth_belt.toml")


@pytest.fixture
def client(project) -> Iterator[httpx.Client]:
    """Speaks to the application as the page does; the processes that compute are started when they are first asked."""
    testing = pytest.importorskip("starlette.testclient")
    from lobewright.web.app import application

    app = application(project, frozenset({HOST}))
    with testing.TestClient(app, base_url=f"http://{HOST}") as asking:
        yield asking
