"""The view `Teach it`: a lesson is chosen, written and opened as a teacher does it."""

from __future__ import annotations

import json
from typing import Any

import pytest
from live_page import WAIT_S, Held, answers_counted, until, wait
from tests.class_lesson import CLASS, class_lesson

from lobewright.assessment.run import assess
from lobewright.design.files import read
from lobewright.report.results_json import results_text
from lobewright.teach.language import Language
from lobewright.teach.lesson_file import Part, read_lesson

pytestmark = pytest.mark.browser

WRITTEN_S = 2 * WAIT_S
"""Until a lesson of one scene is written where much else runs; alone it takes some seconds."""
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


def moments_of(page: Any, title: str) -> Any:
    """Takes and moments of a scene, unfolded."""
    scene = page.locator("#teach .scene").filter(has_text=title)
    scene.locator("summary").click()
    scene.locator("table").wait_for()
    return scene


@pytest.fixture
def written(live):
    """A lesson as the command leaves it, written before the page is opened; no job tells of it."""
    place = live.folder / "azimuth_belt_lesson"
    for name in WRITTEN:
        (place / name).parent.mkdir(parents=True, exist_ok=True)
        (place / name).write_bytes(b"x")
    (place / "results.json").write_text(results_text(assess(read(live.folder / "azimuth_belt.toml")), None), "utf-8")
    return live


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
    students = view.get_by_label("students who get a hand-out with numbers of their own")
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
        "choices": {},
        "films": ["gif"],
        "stills": True,
        "paper": True,
        "date": None,
        "names": [],
        "students": 24,
    }
    view.get_by_text("Students by name").click()
    names = view.get_by_label("Names, one on each line")
    names.fill("Ada\nBo\nada")
    assert view.get_by_text("“ada” stands there twice").is_visible() and names.get_attribute("aria-invalid") == "true"
    names.fill("Ada\n\n Bo \n")
    view.get_by_label("day of the lesson").fill("2026-12-07")
    view.get_by_role("button", name="Write the lesson").click()
    until(page, lambda: len(asked) == 2, "it was not asked for once more")
    _, two = (one["lesson"] for one in asked)
    assert (two["names"], two["students"], two["date"]) == (["Ada", "Bo"], 0, "2026-12-07")
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
    written.tell("api/edits", edit)
    old.wait_for(state="visible")


@pytest.mark.parametrize(("scheme", "wide"), [("light", 1280), ("dark", 390)])
def test_the_view_breaks_no_rule_of_accessibility(written, tab, scheme, wide):
    axe = pytest.importorskip("axe_playwright_python.sync_playwright")
    class_lesson(written.folder)
    page = teaching(tab(color_scheme=scheme, bypass_csp=True, viewport={"width": wide, "height": 900}))
    wait(page, LISTED)
    for summary in page.locator("#teach :is(.choice > div > .for, .group) summary").all():
        summary.click()
    moments_of(page, "The wedge")
    no_serious_finding(axe, page)
    page.locator("#teach").get_by_label("Which lesson").select_option("class.toml")
    wait(page, "() => document.querySelector('#teach .lesson li')")
    no_serious_finding(axe, page)


def no_serious_finding(axe: Any, page: Any) -> None:
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
    wait(page, LISTED, seconds=WRITTEN_S)
    assert view.locator("[data-job] > [role=status]").inner_text().startswith("Done")
    links = view.locator(".written a")
    assert (
        links.first.inner_text() == "The whole lesson in one page"
        and links.nth(1).inner_text() == "Eine Umdrehung, abgezählt"
    )
    with page.context.expect_page() as opening:
        links.first.click()
    lesson = opening.value
    lesson.wait_for_url("**/lesson.html")
    heard: list[str] = []
    lesson.on("console", lambda message: heard.append(message.text))
    lesson.reload()
    player = "document.querySelector('lobewright-scene')?.shadowRoot"
    before = wait(lesson, f"() => {player}?.querySelector('dd')?.textContent")
    lesson.get_by_role("button", name=Language("de").say("page", "skip")).click()
    lesson.locator("input[type=range]").first.fill("0.5")
    wait(lesson, f"(before) => {player}.querySelector('dd').textContent !== before", before)
    assert lesson.evaluate("document.documentElement.lang") == "de" and not heard


def test_moments_are_chosen_kept_as_a_lesson_file_and_written_from_it(live, tab):
    tab.heard.refusals_meant = True
    page = teaching(tab())
    view = page.locator("#teach")
    for one in view.locator("fieldset.scenes > .scene > label input").all():
        one.uncheck()
    count = view.locator(".scene").filter(has_text="One turn, counted")
    count.locator("label input").check()
    moments_of(page, "One turn, counted")
    count.get_by_label("Tooth 3: films stand still").check()
    for one in count.get_by_label(": as a picture").all():
        one.set_checked("Tooth 3" in one.get_attribute("aria-label"))
    view.locator("summary", has_text="Keep these choices as a lesson file").click()
    name, keep = view.get_by_label("Name of the file"), view.get_by_role("button", name="Keep it")
    for taken, words in (("focus_steel", "There is a file of this name already"), ("a/b", "cannot have this name")):
        name.fill(taken)
        keep.click()
        view.get_by_text(words).wait_for()
        assert not view.get_by_role("button", name="Write over").is_visible()
    name.fill("third tooth")
    keep.click()
    view.get_by_text("Kept as third tooth.toml").wait_for()
    keep.click()
    view.get_by_role("button", name="Write over third tooth.toml").click()
    view.get_by_text("Kept as third tooth.toml").wait_for()
    assert read_lesson(live.folder / "third tooth.toml").parts == (
        Part(scene="count", stills=("tooth_3",), stops=("tooth_3",)),
    )

    assert "third tooth" not in page.locator("#files").inner_text(), "no design"
    view.get_by_label("Which lesson").select_option("third tooth.toml")
    view.get_by_text("films stand still for 2 s at tooth_3").wait_for()
    assert not view.get_by_label("The wedge", exact=True).is_visible()
    view.locator("summary", has_text="Show it to a class").click()
    command = 'lobewright lesson "third tooth.toml" --out azimuth_belt_lesson --no-paper --share'
    view.get_by_label("Hand-out with exercises").uncheck()
    assert view.locator(".command").inner_text().strip() == command
    view.get_by_role("button", name="Write the lesson").click()
    view.locator(".written summary", has_text="Chosen moments as pictures (1)").wait_for(timeout=1000 * WRITTEN_S)
    stills = sorted(one.name for one in (live.folder / "azimuth_belt_lesson" / "stills").iterdir())
    assert stills == ["count_turn_tooth_3.png", "count_turn_tooth_3.svg"]


def test_choices_are_kept_once_however_often_the_button_is_pressed(live, tab):
    view = teaching(page := tab()).locator("#teach")
    view.locator("summary", has_text="Keep these choices as a lesson file").click()
    view.get_by_label("Name of the file").fill("once")
    asked = Held(page, "**/api/lesson/keep")
    for _ in range(2):
        view.get_by_role("button", name="Keep it").click()
    asked.wait()
    asked.let_go()
    view.get_by_text("Kept as once.toml").wait_for()
    assert asked.count == 1


def test_faults_of_a_lesson_file_are_told_and_one_of_another_design_names_it(live, tab):
    tab.heard.refusals_meant = True
    class_lesson(live.folder, CLASS.replace('"count"', '"cuont"').replace("before.md", "after.md"))
    page = teaching(tab())
    view = page.locator("#teach")
    view.get_by_label("Which lesson").select_option("class.toml")
    view.get_by_text("class.toml, line 9: part[1].text: the text cannot be used: there is no such file").wait_for()
    assert view.get_by_text("class.toml, line 12: part[2].scene: there is no such scene (found cuont)").is_visible()
    button = view.get_by_role("button", name="Write the lesson")
    assert button.is_disabled()
    class_lesson(live.folder, CLASS.replace("azimuth_belt", "focus_steel"))
    page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")  # as when the tab is come back to
    view.get_by_text("This lesson belongs to focus_steel.toml").wait_for()
    assert button.is_disabled()
    view.get_by_role("button", name="Open focus_steel.toml").click()
    view.get_by_text("This lesson belongs to").wait_for(state="detached")
    assert not button.is_disabled()


def test_what_one_lesson_file_says_is_not_taken_for_another(live, tab):
    class_lesson(live.folder)
    (live.folder / "other.toml").write_text(CLASS.replace("Eine Umdrehung", "Noch eine Umdrehung"), "utf-8")
    page = teaching(tab())
    view = page.locator("#teach")
    which, button = view.get_by_label("Which lesson"), view.get_by_role("button", name="Write the lesson")
    which.select_option("class.toml")
    view.get_by_text("“Eine Umdrehung”").wait_for()
    assert button.is_enabled()
    answers_counted(page)
    late = Held(page, "**/api/lesson/file*")
    which.select_option("other.toml")
    late.wait()
    assert button.is_disabled() and view.locator(".lesson").inner_text() == ""
    late.let_go()
    view.get_by_text("“Noch eine Umdrehung”").wait_for()
    assert button.is_enabled()
    late = Held(page, "**/api/lesson/file*", first=True, answered=True)
    page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")  # asked, and changed before that is answered
    late.wait()
    (live.folder / "other.toml").write_text(CLASS.replace("Eine Umdrehung", "Eine andere Umdrehung"), "utf-8")
    page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    view.get_by_text("“Eine andere Umdrehung”").wait_for()
    late.let_go()
    wait(page, "() => window.told.filter((path) => path.startsWith('/api/lesson/file')).length === 3")
    assert view.get_by_text("“Eine andere Umdrehung”").is_visible()
