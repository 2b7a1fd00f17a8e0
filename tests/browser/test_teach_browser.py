"""The view `Teach it`: a lesson is chosen, written and opened as a teacher does it."""

from __future__ import annotations

import json
import shutil
from typing import Any

import httpx
import pytest
from live_page import wait

from lobewright.assessment.run import assess
from lobewright.design.files import read
from lobewright.report.results_json import results_text
from lobewright.teach.language import Language

pytestmark = pytest.mark.browser

LISTED = """() => document.querySelector("#teach .written").textContent.includes("azimuth_belt_lesson")"""
WRITTEN = (
    *(
        "lesson.html",
        "scenes/count.html",
        "paper/handout.pdf",
        "teacher/answers.pdf",
        "films/count_a.mp4",
        "README.txt",
    ),
    *("frames/count_a/0001.png", "frames/count_a/0002.png", "stills/count_a_half.svg", "stills/count_a_half.png"),
)


def teaching(page: Any) -> Any:
    """Until the view is seen and knows what may be chosen."""
    wait(
        page,
        """() => {
      const view = document.querySelector("#teach");
      view.scrollIntoView({ behavior: "instant" }); // what stands above may still be growing
      return view.querySelector("legend");
    }""",
    )
    return page


@pytest.fixture
def written(live):
    """A lesson as the command leaves it, written before the page is opened; no job tells of it."""
    place = live.folder / "azimuth_belt_lesson"
    for name in WRITTEN:
        (place / name).parent.mkdir(parents=True, exist_ok=True)
        (place / name).write_bytes(b"x")
    (place / "results.json").write_text(results_text(assess(read(live.folder / "azimuth_belt.toml")), None), "utf-8")
    yield live
    shutil.rmtree(place)


def test_what_is_asked_is_what_was_chosen(live, tab):
    page = teaching(tab())
    view = page.locator("#teach")
    asked = []

    def answer(route):
        asked.append(json.loads(route.request.post_data))
        route.fulfill(status=422, json={"error": "Refused", "faults": [{"what": "no", "sentence": "Not now."}]})

    tab.heard.refusals_meant = True
    page.route("**/api/jobs", answer)
    view.get_by_label("Small moving pictures (GIF)").check()
    students = view.get_by_label("students who get numbers of their own in it")
    for wrong in ("201", "-1", "two"):
        students.fill(wrong)
        assert view.get_by_text("a whole number from 0 to 200").is_visible(), wrong
        assert view.get_by_role("button", name="Write the lesson").is_disabled()
    students.fill("24")
    view.get_by_role("button", name="Write the lesson").click()
    wait(page, "() => document.querySelector('#teach [data-job]').textContent.includes('Not now.')")
    (one,) = asked
    assert one["kind"] == "lesson" and one["file"] == "azimuth_belt.toml"
    names = [box.get_attribute("value") for box in view.locator("fieldset.scenes input").all()]
    assert one["lesson"] == {
        "language": "en",
        "scenes": names,
        "films": ["gif"],
        "stills": True,
        "paper": True,
        "students": 24,
    }
    page.unroute_all(behavior="wait")


def test_what_was_written_is_listed_apart_for_class_and_teacher_and_told_as_old(written, tab):
    page = teaching(tab())
    wait(page, LISTED)
    view = page.locator("#teach")
    folds = view.locator(".written summary").all_inner_texts()
    assert folds == ["To open in class (2)", "To hand out (1)", "For you alone: answers, questions, plan (1)", "Films (1)",
                     "Chosen moments as pictures (1)", "Other files (2)"]  # fmt: skip
    assert view.get_by_text("2 numbered pictures in azimuth_belt_lesson/frames/count_a").is_visible()
    old = view.get_by_text("written from an earlier state of the design")
    assert not old.is_visible()
    edit = {"edits": [{"place": "rigid_ring[1].width_mm", "value": 6.5}]}
    httpx.post(written.address + "api/edits", json=edit, timeout=30).raise_for_status()
    old.wait_for(state="visible", timeout=20_000)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_view_breaks_no_rule_of_accessibility(written, tab, scheme):
    axe = pytest.importorskip("axe_playwright_python.sync_playwright")
    page = teaching(tab(color_scheme=scheme, bypass_csp=True))
    wait(page, LISTED)
    found = axe.Axe().run(page, context="#teach").response["violations"]
    assert [(one["id"], one["nodes"][0]["html"]) for one in found if one["impact"] in ("serious", "critical")] == []


def test_a_lesson_is_chosen_written_and_opened(live, tab):
    page = teaching(tab())
    view = page.locator("#teach")
    button = view.get_by_role("button", name="Write the lesson")
    view.get_by_label("Deutsch").check()
    boxes = view.locator("fieldset.scenes input")
    german = view.locator("fieldset.scenes label", has_text="Eine Umdrehung, abgezählt")
    for one in boxes.all():
        one.uncheck()
    assert button.is_disabled() and view.get_by_text("Choose at least one scene.").is_visible()
    german.locator("input").check()
    for words in ("Chosen moments as pictures", "Hand-out with exercises"):
        view.get_by_label(words).uncheck()
    button.click()
    wait(page, LISTED, seconds=100)
    assert view.locator("[role=status]").inner_text().startswith("Done")
    links = view.locator(".written a")
    assert (
        links.first.inner_text() == "The whole lesson in one page"
        and links.nth(1).inner_text() == "Eine Umdrehung, abgezählt"
    )
    with page.context.expect_page() as opening:
        links.first.click()
    lesson = opening.value
    heard: list[str] = []
    lesson.on("console", lambda message: heard.append(message.text))
    lesson.reload()
    player = "document.querySelector('lobewright-scene')?.shadowRoot"
    before = wait(lesson, f"() => {player}?.querySelector('dd')?.textContent")
    lesson.get_by_role("button", name=Language("de").say("page", "skip")).click()
    lesson.locator("input[type=range]").first.fill("0.5")
    wait(lesson, f"(before) => {player}.querySelector('dd').textContent !== before", before)
    assert lesson.evaluate("document.documentElement.lang") == "de" and not heard
