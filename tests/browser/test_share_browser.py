"""A shared lesson as a class sees it: the code on the wall, the list on a telephone, pages that ask for nothing more."""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from live_page import Heard, wait
from tests.js.invented_score import invented_scene
from tests.web.sharing import begun

from lobewright.teach.language import Language
from lobewright.teach.lesson_page import lesson_page

pytestmark = pytest.mark.browser

PLAYER = "document.querySelector('lobewright-scene')?.shadowRoot"
SCENES = 10
LOOKED_ON_S = 3.0


@pytest.fixture(scope="module")
def shown(tmp_path_factory) -> Iterator[SimpleNamespace]:
    folder: Path = tmp_path_factory.mktemp("share")
    page = lesson_page("All scenes", [invented_scene()] * SCENES, Language("en"))
    (folder / "all_scenes.html").write_text(page, "utf-8")
    (folder / "racks.html").write_text(lesson_page("Racks", [invented_scene()], Language("en")), "utf-8")
    (folder / "handout.pdf").write_bytes(b"%PDF-1.4")
    (folder / "racks.vtt").write_text("WEBVTT", "utf-8")
    one = begun(folder, "127.0.0.1")
    yield one
    one.process.kill()
    one.process.communicate()


@pytest.fixture
def tab(chromium, shown) -> Iterator[Any]:
    """Opens the entry page; ``heard.words`` must be empty afterwards, ``asked`` are the requests."""
    heard, asked, contexts = Heard(shown.address), [], []

    def open_tab(**settings: Any) -> Any:
        context = chromium.new_context(**{"viewport": {"width": 1280, "height": 800}, **settings})
        contexts.append(context)
        page = context.new_page()
        heard.listen(page)
        page.on("request", lambda request: asked.append(request.url))
        page.goto(shown.address)
        return page

    open_tab.asked = asked  # type: ignore[attr-defined]
    yield open_tab
    for context in contexts:
        context.close()
    assert not heard.words


@pytest.mark.parametrize(
    ("width", "height", "scheme"), [(1280, 800, "light"), (1920, 1080, "dark"), (1024, 768, "light")]
)
def test_the_code_on_the_wall_is_read_by_another_program(tab, shown, width, height, scheme):
    cv2 = pytest.importorskip("cv2")
    page = tab(viewport={"width": width, "height": height}, color_scheme=scheme)
    picture = cv2.imdecode(np.frombuffer(page.screenshot(), np.uint8), cv2.IMREAD_COLOR)
    words, corners, _ = cv2.QRCodeDetector().detectAndDecode(picture)
    assert words == shown.address
    assert np.ptp(corners[0], axis=0).min() > 0.4 * height, "large enough to be read from the last row"
    address = page.get_by_text(shown.address, exact=True).bounding_box()
    assert address["y"] + address["height"] < height, "the address to type stands on the same screen"


def test_a_telephone_sees_the_list_first(tab):
    page = tab(viewport={"width": 390, "height": 844})
    assert not page.locator("figure").is_visible()
    assert page.get_by_role("link").all_inner_texts() == ["All scenes", "Racks", "handout.pdf"]
    assert all(one.bounding_box()["height"] >= 44 for one in page.get_by_role("link").all()), "a finger hits it"
    page.get_by_text("Other files (1)").click()
    assert page.get_by_role("link", name="racks.vtt").is_visible()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_entry_page_breaks_no_rule_of_accessibility(tab, scheme):
    axe = pytest.importorskip("axe_playwright_python.sync_playwright")
    page = tab(color_scheme=scheme, bypass_csp=True)
    assert axe.Axe().run(page).response["violations"] == []


def test_a_page_that_moves_asks_for_nothing_more(tab, shown):
    page = tab()
    page.get_by_role("link", name="All scenes").click()
    page.wait_for_url("**/all_scenes.html")
    wait(page, f"() => {PLAYER}?.querySelector('dd')?.textContent")
    assert tab.asked[1:] == [shown.address + "all_scenes.html"], "one request brings all of it"
    reading = f"() => {PLAYER}.querySelector('dd').textContent"
    page.get_by_role("button", name=Language("en").say("page", "skip"), exact=True).first.click()
    page.locator(".pace select").first.select_option("0.1")  # so that it does not come to its end meanwhile
    page.get_by_role("button", name=Language("en").say("page", "play"), exact=True).first.click()
    seen, began = set(), time.monotonic()
    while len(seen) < 6 or time.monotonic() - began < LOOKED_ON_S:
        seen.add(wait(page, f"(seen) => [({reading})()].find((now) => !seen.includes(now))", list(seen)))
    assert tab.asked[1:] == [shown.address + "all_scenes.html"]
