"""A browser, the live page's server, and tabs that must stay silent."""

from __future__ import annotations

import importlib.util
import shutil
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from live_page import FLAGS, Heard, Live, copied, missing, opened, settled


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


@pytest.fixture(scope="module")
def server(tmp_path_factory) -> Iterator[Live]:
    """One command for the tests of a module; see ``live``."""
    with opened(copied(tmp_path_factory.mktemp("live") / "garden")) as running:
        yield running


@pytest.fixture
def live(server) -> Live:
    """The command, its designs as in the examples, the first of them open."""
    import httpx

    fresh = copied(server.folder.parent / "fresh")
    for path in fresh.iterdir():
        path.replace(server.folder / path.name)
    fresh.rmdir()
    shutil.rmtree(server.folder / ".lobewright", ignore_errors=True)
    httpx.post(server.address + "api/open", json={"file": "azimuth_belt.toml"}).raise_for_status()
    return server


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
        heard.listen(page)
        page.goto(live.address)
        settled(page)
        return page

    open_tab.heard = heard  # type: ignore[attr-defined]
    yield open_tab
    for context in contexts:
        context.close()
    assert not heard.words
