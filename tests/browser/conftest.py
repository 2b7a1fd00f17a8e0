"""A browser, the live page's server, and tabs that must stay silent."""

from __future__ import annotations

import contextlib
import importlib.util
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from live_page import FLAGS, WAIT_S, Heard, Live, copied, missing, opened, settled


@pytest.fixture(scope="module")
def chromium() -> Iterator[Any]:
    path = shutil.which("chromium")
    if importlib.util.find_spec("playwright") is None:
        missing("playwright")
    if path is None:
        missing("chromium")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=path, args=list(FLAGS))
        yield browser
        browser.close()


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Tests of this folder may wait for several things one after the other, each as long as a slow computer needs."""
    for item in items:
        if item.path.parent == Path(__file__).parent and not item.get_closest_marker("timeout"):
            item.add_marker(pytest.mark.timeout(5 * WAIT_S))


class Server:
    """One command for the tests of a module; another one where a job was begun with it, for jobs are kept as long as it runs."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.ending = contextlib.ExitStack()
        self.running: Live | None = None

    def fresh(self) -> Live:
        """The command, its folder as the examples are and with nothing else in it, the first design open."""
        import httpx

        if self.running:
            jobs = httpx.get(self.running.address + "api/news", timeout=WAIT_S).json()["jobs"]
            for job in jobs:
                self.running.tell(f"api/jobs/{job['number']}/stop", {})
            if jobs:
                self.end()
        shutil.rmtree(self.folder / ".lobewright", ignore_errors=True)
        fresh = copied(self.folder.parent / "fresh")
        for path in self.folder.iterdir():
            if path.is_dir():
                shutil.rmtree(path)
            elif not (fresh / path.name).exists():
                path.unlink()
        for path in fresh.iterdir():
            path.replace(self.folder / path.name)
        fresh.rmdir()
        if self.running is None:
            self.running = self.ending.enter_context(opened(self.folder))
        else:
            self.running.tell("api/open", {"file": "azimuth_belt.toml"})
        return self.running

    def end(self) -> None:
        self.running = None
        self.ending.close()


@pytest.fixture(scope="module")
def server(tmp_path_factory) -> Iterator[Server]:
    """See ``live``."""
    folder = tmp_path_factory.mktemp("live") / "garden"
    folder.mkdir()
    one = Server(folder)
    yield one
    one.end()


@pytest.fixture
def live(server) -> Live:
    """The command as if it had just begun; what was shown in the test before is forgotten."""
    return server.fresh()


@pytest.fixture
def tab(chromium, live) -> Iterator[Callable[..., Any]]:
    """Opens the live page in a tab; ``bypass_csp`` lets a tool of the tests into it. Afterwards the console must be empty."""
    heard = Heard(live.address)
    contexts = []

    def open_tab(context: Any = None, **settings: Any) -> Any:
        if context is None:
            context = chromium.new_context(**{"viewport": {"width": 1280, "height": 800}, **settings})
            contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(1000 * WAIT_S)
        heard.listen(page)
        page.goto(live.address)
        settled(page)
        return page

    open_tab.heard = heard  # type: ignore[attr-defined]
    yield open_tab
    for context in contexts:
        context.close()
    assert not heard.words
