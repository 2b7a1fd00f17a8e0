"""The live page as a person uses it: the real command, a real browser, mouse and keys."""

from __future__ import annotations

import contextlib
import math
import os
import re
import signal
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from live_page import Held, answers_counted, copied, drawn, opened, settled, until, wait, worked_out

pytestmark = pytest.mark.browser

NASTY = '</script><img src=x onerror="window.hit=1"><script>window.hit=2</script>'
RULES_OF_WEIGHT = ("serious", "critical")


def entry(page: Any, place: str) -> Any:
    """The control of a key of the design, seen: what stands round it is opened."""
    control = page.locator(f'[id="entry-{place}"]')
    open_round(control)
    return control


def open_round(control: Any) -> None:
    control.evaluate("""(one) => {
      for (let box = one.closest("details"); box; box = box.parentElement.closest("details")) box.open = true;
    }""")


def typed(page: Any, place: str, text: str) -> None:
    """A value typed and left, as a person does it."""
    field = entry(page, place)
    field.fill(text)
    field.press("Tab")


def state_of(page: Any, verdict: str) -> str:
    return page.locator(f'[data-verdict="{verdict}"]').get_attribute("data-state")


def angle(page: Any, member: str) -> float:
    """Degrees that the readout beside the moving picture shows of a member."""
    words = page.locator("lobewright-moving dl div", has_text=member).locator("dd").inner_text()
    return float(re.match(r"−?[\d.]+", words).group().replace("−", "-"))


def turn_by_hand(page: Any, degrees: int) -> None:
    """Takes hold of the drive at its right edge and leads it round, anticlockwise."""
    worked_out(page)
    grip = page.locator("lobewright-moving .grip")
    grip.scroll_into_view_if_needed()
    box = grip.bounding_box()
    size, x, y = 0.35 * box["width"], box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x + size, y)
    page.mouse.down()
    for turned in range(10, degrees + 1, 10):
        a = math.radians(turned)
        page.mouse.move(x + size * math.cos(a), y - size * math.sin(a))
    page.mouse.up()
    wait(page, "() => !document.querySelector('lobewright-moving').glide")
    drawn(page)


def wait_for_ratio(page: Any, words: str) -> None:
    wait(page, """(words) => document.querySelector('[data-number="ratio"]')?.textContent.includes(words)""", words)


def test_the_output_turns_by_the_ratio_when_the_generator_is_dragged(tab):
    page = tab()
    wait_for_ratio(page, "50")
    turn_by_hand(page, 360)
    assert angle(page, "Wave generator") == pytest.approx(360.0, abs=0.6)
    assert angle(page, "output") == pytest.approx(-360.0 / 50.0, abs=0.07)
    assert angle(page, "base") == 0.0


def test_a_changed_tooth_count_changes_ratio_verdicts_file_and_picture(tab, live):
    page = tab()
    assert state_of(page, "ring_land:output") == "pass"
    typed(page, "rigid_ring[1].teeth", "104")
    wait(page, """() => document.querySelector('[data-verdict="ring_land:output"]').dataset.state === "warn" """)
    wait_for_ratio(page, "25")
    assert "teeth = 104" in (live.folder / "azimuth_belt.toml").read_text("utf-8")
    turn_by_hand(page, 90)
    assert angle(page, "output") == pytest.approx(-angle(page, "Wave generator") / 25.0, abs=0.07)


def test_an_impossible_design_says_why_and_is_taken_back(tab, live):
    page = tab()
    before = (live.folder / "azimuth_belt.toml").read_bytes()
    typed(page, "generator.pair_half_angle_deg", "45")
    wait(page, "() => document.querySelector('#judged [role=alert]:not([hidden])')")
    told = page.locator("#judged").get_by_role("alert").inner_text()
    assert "pair half angle" in told and "found 45°" in told and "less than about 43°" in told
    field = entry(page, "generator.pair_half_angle_deg")
    assert field.get_attribute("aria-invalid") == "true"
    notes = [page.locator(f'[id="{one}"]').inner_text() for one in field.get_attribute("aria-describedby").split()]
    assert any("less than about 43°" in one for one in notes)
    assert page.locator('[data-number="ratio"]').inner_text(), "what stood before stays in sight"
    page.get_by_role("button", name="Take back").click()
    wait(page, "() => !document.querySelector('#judged [role=alert]:not([hidden])')")
    assert (live.folder / "azimuth_belt.toml").read_bytes() == before
    assert entry(page, "generator.pair_half_angle_deg").get_attribute("aria-invalid") is None


def test_what_is_no_number_is_refused_beside_its_field(tab, live):
    page = tab()
    tab.heard.refusals_meant = True
    before = (live.folder / "azimuth_belt.toml").read_bytes()
    typed(page, "rigid_ring[2].clearance_mm", "a hair")
    field = entry(page, "rigid_ring[2].clearance_mm")
    wait(page, """() => document.querySelector('[id="entry-rigid_ring[2].clearance_mm"]').ariaInvalid === "true" """)
    assert field.input_value() == "a hair" and (live.folder / "azimuth_belt.toml").read_bytes() == before
    typed(page, "rigid_ring[2].clearance_mm", "0.2 mm")
    wait(page, """() => !document.querySelector('[id="entry-rigid_ring[2].clearance_mm"]').ariaInvalid""")
    assert "clearance_mm = 0.2" in (live.folder / "azimuth_belt.toml").read_text("utf-8")


def test_an_advice_is_applied_by_one_press_and_holds(tab, live):
    page = tab()
    typed(page, "generator.run_out_mm", "0.15")
    name = "flank_gap:output"
    wait(page, """(name) => document.querySelector(`[data-verdict="${name}"]`).dataset.state === "fail" """, name)
    check = page.locator(f'[data-verdict="{name}"]')
    check.locator("summary").click()
    check.get_by_role("button", name="What would help?").click()
    check.get_by_role("button", name="Do this").click()
    wait(page, """(name) => document.querySelector(`[data-verdict="${name}"]`).dataset.state === "pass" """, name)
    page.get_by_role("button", name="Take back").click()
    wait(page, """(name) => document.querySelector(`[data-verdict="${name}"]`).dataset.state === "fail" """, name)
    page.get_by_role("button", name="Bring back").click()
    wait(page, """(name) => document.querySelector(`[data-verdict="${name}"]`).dataset.state === "pass" """, name)


def other_hands(live, **body: Any) -> None:
    """A change of the open design that does not come from this page."""
    live.tell("api/edits", {"edits": [body]})


def test_an_advice_of_an_earlier_state_is_not_offered(tab, live):
    page = tab()
    typed(page, "generator.run_out_mm", "0.15")
    wait(page, """() => document.querySelector('[data-verdict="flank_gap:output"]').dataset.state === "fail" """)
    check = page.locator('[data-verdict="flank_gap:output"]')
    check.locator("summary").click()
    ask = check.get_by_role("button", name="What would help?")
    ask.click()
    check.get_by_role("button", name="Do this").wait_for()
    other_hands(live, place="duty[1].hours", value=700.0)
    wait(page, """() => document.querySelector('[id="entry-duty[1].hours"]').value === "700" """)
    assert check.get_by_role("button", name="Do this").count() == 0

    answers_counted(page)
    late = Held(page, "**/api/advice", answered=True)
    ask.click()
    late.wait()
    assert check.locator(".answer").inner_text() == "Trying edits …"
    other_hands(live, place="duty[1].hours", value=800.0)
    wait(page, """() => document.querySelector('[id="entry-duty[1].hours"]').value === "800" """)
    late.let_go("/api/advice")
    assert check.get_by_role("button", name="Do this").count() == 0
    assert check.locator(".answer").inner_text() == ""


def test_a_late_answer_about_a_torque_does_not_wipe_what_is_wrong_with_the_next(tab):
    page = tab()
    tab.heard.refusals_meant = True
    windup = "() => document.querySelector('.push [data-number=\"windup\"]')?.textContent"
    before = wait(page, windup)
    late = Held(page, "**/api/push", first=True, answered=True)
    field = page.locator("#torque")
    field.fill("0.21")
    field.press("Enter")
    late.wait()
    field.fill("banana")
    field.press("Enter")
    wait(page, "() => document.querySelector('#torque-fault:not([hidden])')")
    late.let_go()
    wait(page, f"(before) => ({windup})() !== before", before)
    assert page.locator("#torque-fault").is_visible() and field.get_attribute("aria-invalid") == "true"
    assert field.input_value() == "banana"
    page.get_by_role("button", name=re.compile("^steady")).click()
    wait(page, "() => document.querySelector('#torque-fault').hidden")


def test_nothing_of_another_design_stands_under_torque(tab):
    page = tab()
    wait(page, "() => document.querySelector('.push [data-number]')")
    held = Held(page, "**/api/push")
    page.locator("#files").select_option("focus_steel.toml")
    wait(page, "() => document.querySelector('h1').textContent.includes('focus')")
    assert page.locator(".push [data-number]").count() == 0 and page.locator("#torque").input_value() == ""
    assert "Being worked out for this drive" in page.locator("#load .push").inner_text()
    held.wait()
    held.let_go()
    wait(page, "() => document.querySelector('.push [data-number]')")


def test_a_change_meant_for_a_design_that_is_open_no_more_is_told(tab, live):
    page = tab()
    tab.heard.refusals_meant = True
    news = Held(page, "**/api/news")  # it does not hear of the other design,
    news.wait()  # nor has it by the news that it asked for before
    files = ("azimuth_belt.toml", "focus_steel.toml")
    before = [(live.folder / one).read_bytes() for one in files]
    live.tell("api/open", {"file": files[1]})
    typed(page, "rigid_ring[1].teeth", "104")
    alert = page.locator("#head").get_by_role("alert").first
    alert.wait_for(state="visible")
    assert alert.inner_text() == "Another design was opened meanwhile, focus_steel.toml; nothing was done."
    wait(page, "() => document.querySelector('h1').textContent.includes('focus')")
    assert page.locator("#files").input_value() == files[1]
    assert [(live.folder / one).read_bytes() for one in files] == before
    news.let_go()


def test_a_look_that_fails_is_asked_again(tab, live):
    page = tab()
    failing = []

    def fail(route):
        failing.append(route)
        route.fulfill(status=500, json={"error": "PlatformFault", "file": "", "faults": []})

    page.route("**/api/look", fail)
    typed(page, "rigid_ring[1].teeth", "104")
    page.get_by_text("Of the state before").wait_for()
    assert "50" in page.locator('[data-number="ratio"]').inner_text()
    page.unroute("**/api/look")
    wait_for_ratio(page, "25")
    assert failing and not page.get_by_text("Of the state before").is_visible()
    meant = [words for words in tab.heard.words if "status of 500" in words]
    assert tab.heard.words == meant
    tab.heard.words.clear()


def test_a_slider_brought_back_to_its_start_is_looked_at_in_full(tab, live):
    page = tab()
    entry(page, "rigid_ring[2].clearance_mm")
    slider = page.locator('[id="entry-rigid_ring[2].clearance_mm-slider"]')
    file = (live.folder / "azimuth_belt.toml").read_bytes()
    coarse = page.locator("#judged").get_by_text("looked at coarsely")
    for act in ("one.dataset.start = one.value; one.value = one.max", "one.value = one.dataset.start"):
        slider.evaluate("(one) => { " + act + "; one.dispatchEvent(new Event('input', { bubbles: true })); }")
        coarse.wait_for(state="visible")
    slider.evaluate("(one) => one.dispatchEvent(new Event('change', { bubbles: true }))")
    coarse.wait_for(state="hidden")
    assert (live.folder / "azimuth_belt.toml").read_bytes() == file


def test_a_slider_is_followed_while_it_moves_and_kept_when_let_go(tab, live):
    page = tab()
    entry(page, "rigid_ring[2].clearance_mm")
    slider = page.locator('[id="entry-rigid_ring[2].clearance_mm-slider"]')
    numbers = "() => [...document.querySelectorAll('[data-number]')].map((one) => one.textContent).join('|')"
    before, file = page.evaluate(numbers), (live.folder / "azimuth_belt.toml").read_bytes()
    slider.evaluate("""(one) => {
      one.value = one.max;
      one.dispatchEvent(new Event("input", { bubbles: true }));
    }""")
    wait(page, f"(before) => ({numbers})() !== before", before)
    assert (live.folder / "azimuth_belt.toml").read_bytes() == file, "what is only moved is not kept"
    slider.evaluate("""(one) => one.dispatchEvent(new Event("change", { bubbles: true }))""")
    value = slider.input_value()
    wait(page, "() => !document.querySelector('#undo').disabled")
    assert f"clearance_mm = {float(value):g}" in (live.folder / "azimuth_belt.toml").read_text("utf-8")


def times_kept(page: Any) -> None:
    """From now on ``window.shown`` keeps when the ratio was first shown as what it is, by the clock that all tabs share."""
    page.evaluate("""() => {
      const cell = document.querySelector('[data-number="ratio"]');
      window.shown = new Map();
      new MutationObserver(() => window.shown.has(cell.textContent) || window.shown.set(cell.textContent, Date.now()))
        .observe(cell, { childList: true, characterData: true, subtree: true });
    }""")


def shown_at(page: Any, words: str) -> float:
    """When the ratio was first shown with these words, s."""
    found = "(words) => [...window.shown].find(([text]) => text.includes(words))?.[1]"
    return wait(page, found, words) / 1000.0


def test_two_tabs_show_the_same_within_two_seconds(tab):
    """Counted is from one tab's picture of it to the other's, by the browser itself."""
    one = tab()
    other = tab(one.context)
    other.bring_to_front()
    for page in (one, other):
        wait_for_ratio(page, "50")
        times_kept(page)
    typed(one, "rigid_ring[1].teeth", "104")
    assert shown_at(other, "25") - shown_at(one, "25") < 2.0
    for page in (one, other):
        times_kept(page)
    other.get_by_role("button", name="Take back").click()
    assert shown_at(one, "50") - shown_at(other, "50") < 2.0


def test_a_file_changed_by_hand_is_followed(tab, live):
    page = tab()
    tab.heard.refusals_meant = True
    path = live.folder / "azimuth_belt.toml"
    path.write_text(path.read_text("utf-8").replace("teeth = 102", "teeth = 104"), "utf-8")
    wait_for_ratio(page, "25")
    path.write_text("this is no design\n", "utf-8")
    wait(page, "() => document.querySelector('#judged [role=alert]:not([hidden])')")
    page.get_by_role("button", name="Take back").click()
    wait(page, "() => !document.querySelector('#judged [role=alert]:not([hidden])')")  # the ratio never left the page
    wait_for_ratio(page, "25")
    assert "teeth = 104" in path.read_text("utf-8")


def test_names_are_shown_and_never_run(tab, live):
    path = live.folder / "azimuth_belt.toml"
    text = path.read_text("utf-8").replace('"roof garden mirror, azimuth"', f"'{NASTY}'")
    text = text.replace('"follow the sun"', f"'{NASTY}'")
    path.write_text(re.sub('about = ".*"', f"about = '{NASTY}'", text), "utf-8")
    page = tab()
    page.evaluate("() => document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    wait(page, "(words) => document.querySelector('h1').textContent === words", NASTY)
    typed(page, "rigid_ring[1].name", NASTY)
    wait(
        page,
        """(words) => [...document.querySelectorAll('#judged [role=alert]')].some(
      (one) => one.textContent.includes("small letters, digits") && one.textContent.includes(words))""",
        NASTY[:40],
    )
    assert page.evaluate("() => window.hit") is None
    assert page.locator("img:not([src^='data:']):not([src^='blob:']), script:not([src])").count() == 0


@pytest.fixture
def standing(live) -> Iterator[Callable[[Any], None]]:
    """Makes the process of the first job stand still, so that it does not end before it is looked at and stopped."""
    place = live.folder / ".lobewright" / "jobs" / "1" / "process"
    heads = []

    def stand_still(page: Any) -> None:
        until(page, place.exists, "no job has begun")
        heads.append(int(place.read_text("utf-8")))
        os.kill(heads[0], signal.SIGSTOP)

    yield stand_still
    for head in heads:
        with contextlib.suppress(OSError):
            os.killpg(head, signal.SIGKILL)


SEEN_JOB = """() => document.querySelector('[data-job="load"] progress')?.checkVisibility()"""
STOPPED_JOB = """() => document.querySelector('[data-job="load"] [role=status]').textContent === "Stopped." """


def test_a_job_outlives_a_reload_and_is_stopped(tab, standing):
    page = tab()
    page.evaluate("""() => fetch("/api/jobs", { method: "POST", headers: { "content-type": "application/json" },
      body: JSON.stringify({ kind: "load" }) }).then((answer) => answer.status)""")
    standing(page)
    wait(page, SEEN_JOB)
    page.reload()
    settled(page)
    wait(page, SEEN_JOB)
    page.locator('[data-job="load"]').get_by_role("button", name="Stop").click()
    wait(page, STOPPED_JOB)
    assert not page.evaluate(SEEN_JOB)
    page.reload()
    settled(page)
    wait(page, STOPPED_JOB)


def test_a_job_is_begun_once_and_seen_at_once_however_late_the_news_are(tab, standing):
    page = tab()
    box = page.locator('[data-job="load"]')
    begin = box.get_by_role("button", name="Ask everything under torque")
    answers_counted(page)
    news = Held(page, "**/api/news", answered=True)
    news.wait()  # what comes of it is of before
    asked = Held(page, "**/api/jobs")
    for _ in range(2):
        begin.click()
    asked.wait()
    drawn(page)
    assert asked.count == 1
    asked.let_go("/api/jobs")
    assert begin.is_disabled() and page.evaluate(SEEN_JOB)
    standing(page)
    news.let_go("/api/news")
    assert begin.is_disabled() and page.evaluate(SEEN_JOB)
    box.get_by_role("button", name="Stop").click()
    wait(page, STOPPED_JOB)


def test_the_page_says_when_the_program_has_gone(chromium, tmp_path):
    with opened(copied(tmp_path / "garden")) as running:
        page = chromium.new_page()
        page.goto(running.address)
        settled(page)
        assert running.leave() == 0
        assert running.process.stderr.read() == ""
        page.locator("#head").get_by_role("alert").wait_for(state="visible")
        page.close()


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("size", [(1280, 800), (600, 900)], ids=["wide", "narrow"])
def test_the_rules_of_accessibility_hold(tab, theme, size):
    from axe_playwright_python.sync_playwright import Axe

    page = tab(color_scheme=theme, viewport={"width": size[0], "height": size[1]}, bypass_csp=True)
    worked_out(page)
    page.evaluate("() => document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    found = Axe().run(page).response["violations"]
    assert page.evaluate("() => document.documentElement.scrollWidth") <= size[0]
    grave = [(one["id"], one["help"], [node["target"] for node in one["nodes"]][:5])
             for one in found if one["impact"] in RULES_OF_WEIGHT]  # fmt: skip
    assert not grave
