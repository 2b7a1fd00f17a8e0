"""The live page as a person uses it: the real command, a real browser, mouse and keys."""

from __future__ import annotations

import math
import re
from typing import Any

import httpx
import pytest
from live_page import copied, opened, settled, wait

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
    page.evaluate("() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")


def wait_for_ratio(page: Any, words: str) -> None:
    wait(page, """(words) => document.querySelector('[data-number="ratio"]')?.textContent.includes(words)""", words)


def test_the_output_turns_by_the_ratio_when_the_generator_is_dragged(tab):
    page = tab()
    wait_for_ratio(page, "50")
    wait(page, "() => document.querySelector('lobewright-moving')?.shadowRoot.querySelector('dd')?.textContent")
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
    httpx.post(live.address + "api/edits", json={"edits": [body]}).raise_for_status()


def held_back(page: Any, late: list[Any]) -> list[Any]:
    """Answers that a route holds back, once the first is there."""
    for _ in range(600):
        if late:
            return late
        page.wait_for_timeout(50)
    pytest.fail("no answer came to be held back")


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

    late = []
    page.route("**/api/advice", lambda route: late.append((route, route.fetch())))
    ask.click()
    wait(page, "() => document.querySelector('[data-verdict=\"flank_gap:output\"] .answer').textContent")
    other_hands(live, place="duty[1].hours", value=800.0)
    wait(page, """() => document.querySelector('[id="entry-duty[1].hours"]').value === "800" """)
    for route, answer in held_back(page, late):
        route.fulfill(response=answer)
    page.wait_for_timeout(200)
    assert check.get_by_role("button", name="Do this").count() == 0
    assert check.locator(".answer").inner_text() == ""


def test_a_late_answer_about_a_torque_does_not_wipe_what_is_wrong_with_the_next(tab):
    page = tab()
    tab.heard.refusals_meant = True
    windup = "() => document.querySelector('.push [data-number=\"windup\"]')?.textContent"
    before = wait(page, windup)
    late = []
    page.route("**/api/push", lambda route: route.continue_() if late else late.append((route, route.fetch())))
    field = page.locator("#torque")
    field.fill("0.21")
    field.press("Enter")
    held_back(page, late)
    field.fill("banana")
    field.press("Enter")
    wait(page, "() => document.querySelector('#torque-fault:not([hidden])')")
    for route, answer in held_back(page, late):
        route.fulfill(response=answer)
    wait(page, f"(before) => ({windup})() !== before", before)
    assert page.locator("#torque-fault").is_visible() and field.get_attribute("aria-invalid") == "true"
    assert field.input_value() == "banana"
    page.get_by_role("button", name=re.compile("^steady")).click()
    wait(page, "() => document.querySelector('#torque-fault').hidden")


def test_nothing_of_another_design_stands_under_torque(tab):
    page = tab()
    wait(page, "() => document.querySelector('.push [data-number]')")
    held = []
    page.route("**/api/push", lambda route: held.append(route))
    page.locator("#files").select_option("focus_steel.toml")
    wait(page, "() => document.querySelector('h1').textContent.includes('focus')")
    assert page.locator(".push [data-number]").count() == 0 and page.locator("#torque").input_value() == ""
    assert "Being worked out for this drive" in page.locator("#load .push").inner_text()
    for route in held:
        route.continue_()
    page.unroute("**/api/push")
    wait(page, "() => document.querySelector('.push [data-number]')")


def test_a_change_meant_for_a_design_that_is_open_no_more_is_told(tab, live):
    page = tab()
    tab.heard.refusals_meant = True
    heard = httpx.get(live.address + "api/news").json()
    page.route("**/api/news", lambda route: route.fulfill(json=heard))  # it has not heard of the other design yet
    files = ("azimuth_belt.toml", "focus_steel.toml")
    before = [(live.folder / one).read_bytes() for one in files]
    httpx.post(live.address + "api/open", json={"file": files[1]}).raise_for_status()
    typed(page, "rigid_ring[1].teeth", "104")
    alert = page.locator("#head").get_by_role("alert").first
    alert.wait_for(state="visible", timeout=5000)
    assert alert.inner_text() == "Another design was opened meanwhile, focus_steel.toml; nothing was done."
    wait(page, "() => document.querySelector('h1').textContent.includes('focus')")
    assert page.locator("#files").input_value() == files[1]
    assert [(live.folder / one).read_bytes() for one in files] == before


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
    coarse.wait_for(state="hidden", timeout=5000)
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


def test_two_tabs_show_the_same_within_two_seconds(tab):
    one = tab()
    other = tab(one.context)
    other.bring_to_front()
    typed(one, "rigid_ring[1].teeth", "104")
    wait_for_ratio(one, "25")
    seen = """() => document.querySelector('[data-number="ratio"]').textContent.includes("25")"""
    wait(other, seen, seconds=2.0)
    other.get_by_role("button", name="Take back").click()
    wait_for_ratio(other, "50")
    wait(one, """() => document.querySelector('[data-number="ratio"]').textContent.includes("50")""", seconds=2.0)


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


def test_a_job_outlives_a_reload_and_is_stopped(tab, live):
    page = tab()
    page.evaluate("""() => fetch("/api/jobs", { method: "POST", headers: { "content-type": "application/json" },
      body: JSON.stringify({ kind: "load" }) })""")
    box = page.locator('[data-job="load"]')
    wait(page, """() => document.querySelector('[data-job="load"] progress')?.checkVisibility()""")
    page.reload()
    settled(page)
    wait(page, """() => document.querySelector('[data-job="load"] progress')?.checkVisibility()""")
    box.get_by_role("button", name="Stop").click()
    wait(page, """() => !document.querySelector('[data-job="load"] progress').checkVisibility()""", seconds=6)
    assert "stopped" in box.inner_text().lower()
    page.reload()
    settled(page)
    assert "stopped" in page.locator('[data-job="load"]').inner_text().lower()


def test_the_page_says_when_the_program_has_gone(chromium, tmp_path):
    with opened(copied(tmp_path / "garden")) as running:
        page = chromium.new_page()
        page.goto(running.address)
        settled(page)
        assert running.leave() == 0
        assert running.process.stderr.read() == ""
        page.locator("#head").get_by_role("alert").wait_for(state="visible", timeout=5000)
        page.close()


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("size", [(1280, 800), (600, 900)], ids=["wide", "narrow"])
def test_the_rules_of_accessibility_hold(tab, theme, size):
    from axe_playwright_python.sync_playwright import Axe

    page = tab(color_scheme=theme, viewport={"width": size[0], "height": size[1]}, bypass_csp=True)
    page.evaluate("() => document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    found = Axe().run(page).response["violations"]
    assert page.evaluate("() => document.documentElement.scrollWidth") <= size[0]
    grave = [(one["id"], one["help"], [node["target"] for node in one["nodes"]][:5])
             for one in found if one["impact"] in RULES_OF_WEIGHT]  # fmt: skip
    assert not grave
