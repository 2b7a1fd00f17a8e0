"""The exported moving page in a real browser: opened from disk, without a network, turned by hand.

Chromium of the system is driven; where it or its driver is missing the tests are skipped with that word, and in CI
they fail instead.
"""

from __future__ import annotations

import importlib.util
import json
import math
import os
import re
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from lobewright.picture.page import moving_page
from lobewright.picture.palette import PALETTE, Role, Theme

pytestmark = pytest.mark.browser

VECTORS = Path(__file__).parents[1] / "js" / "vectors.json"
NASTY = '</script><script>window.hit=1</script><img src=x onerror="window.hit=2">'
FLAGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
STEP_DEG = 360.0 / 102.0
"""102 teeth pass a lobe in one generator turn, so one tooth is this much of it."""


def missing(what: str) -> None:
    if os.environ.get("CI") == "true":
        pytest.fail(f"{what} is not installed, and in CI the page must be opened")
    pytest.skip(f"{what} is not installed: the page is not opened here")


@pytest.fixture(scope="module")
def chromium() -> Iterator[Any]:
    path = shutil.which("chromium")
    if importlib.util.find_spec("playwright") is None:
        missing("playwright")
    if path is None:
        missing("chromium")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=path, args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture(scope="module")
def parameters() -> dict[str, Any]:
    return json.loads(VECTORS.read_text(encoding="utf-8"))["parameters"]


def wait(page: Any, expression: str) -> None:
    """Until the expression is true. The driver's own waiting evaluates text in the page, which its policy forbids."""
    for _ in range(100):
        if page.evaluate(expression):
            return
        page.wait_for_timeout(50)
    pytest.fail(f"never true in 5 s: {expression}")


@pytest.fixture
def opened(chromium, parameters, tmp_path) -> Iterator[Callable[..., Any]]:
    """Opens the page offline; afterwards there must be no word on the console, no error and no request."""
    heard: list[str] = []
    contexts = []

    def open_page(ring_name: str = "", title: str = "Invented drive", loads: Any = None, **settings: Any) -> Any:
        data = json.loads(json.dumps(parameters))
        if loads:
            data["loads"] = loads
        if ring_name:
            data["rings"][1]["name"] = data["roles"]["read"] = ring_name
        file = tmp_path / "motion.html"
        file.write_text(moving_page(title, {"parameters": data}), encoding="utf-8")
        context = chromium.new_context(offline=True, **{"viewport": {"width": 1100, "height": 900}, **settings})
        contexts.append(context)
        page = context.new_page()
        page.on("console", lambda message: heard.append(f"console {message.type}: {message.text}"))
        page.on("pageerror", lambda error: heard.append(f"error: {error}"))
        page.on("request", lambda request: heard.append(request.url))
        page.goto(file.as_uri())
        wait(page, "document.querySelector('lobewright-moving').shadowRoot.querySelector('dd')?.textContent")
        assert heard == [file.as_uri()]
        return page

    yield open_page
    for context in contexts:
        context.close()
    assert len(heard) == 1, heard


def shown(page: Any, member: str) -> float:
    """The angle in degrees that the readout shows for a member."""
    words = page.locator("dl div", has_text=member).locator("dd").inner_text()
    return float(re.match(r"−?[\d.]+", words).group().replace("−", "-"))


def settled(page: Any) -> None:
    wait(page, "!document.querySelector('lobewright-moving').glide")
    page.evaluate("new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")


def on_rim(page: Any, degrees: float) -> tuple[float, float]:
    box = page.locator(".grip").bounding_box()
    size = 0.35 * box["width"]
    angle = math.radians(degrees)
    return (
        box["x"] + box["width"] / 2 + size * math.cos(angle),
        box["y"] + box["height"] / 2 - size * math.sin(angle),
    )


def test_dragging_round_turns_the_output_by_the_ratio(opened):
    page = opened()
    page.mouse.move(*on_rim(page, 0))
    page.mouse.down()
    for angle in range(10, 451, 10):  # one turn and a quarter, anticlockwise
        page.mouse.move(*on_rim(page, angle))
    page.mouse.up()
    page.mouse.move(*on_rim(page, 200))  # let go: moves nothing more
    settled(page)
    assert shown(page, "Wave generator") == pytest.approx(450.0, abs=0.6)
    assert shown(page, "Output ring") == pytest.approx(-450.0 / 50.0, abs=0.07)
    assert shown(page, "Fixed ring") == 0.0
    assert page.locator(".ratio").inner_text() == "Ratio −50 : 1"


def test_dragging_the_unrolled_picture_sideways_carries_the_lobe_along(opened):
    page = opened()
    box = page.locator(".sheet").bounding_box()
    page.mouse.move(box["x"] + 10, box["y"] + 60)
    page.mouse.down()
    page.mouse.move(box["x"] + 10 + box["width"] / 2, box["y"] + 60, steps=8)
    page.mouse.up()
    settled(page)
    strips = page.evaluate("document.querySelector('lobewright-moving').pieces()")
    assert shown(page, "Wave generator") == pytest.approx(360.0 / strips / 2, abs=0.6)


def test_keys_and_buttons_step_by_one_tooth(opened):
    page = opened()
    page.locator(".grip").focus()
    for _ in range(3):
        page.keyboard.press("ArrowRight")
    settled(page)
    assert shown(page, "Wave generator") == pytest.approx(3 * STEP_DEG, abs=0.051)
    page.get_by_role("button", name="One tooth back").click()
    settled(page)
    assert shown(page, "Wave generator") == pytest.approx(2 * STEP_DEG, abs=0.051)
    slider = page.get_by_role("slider", name="Turn")
    assert slider.get_attribute("aria-valuetext").startswith("Wave generator at 7.1°, Output ring at −0.1°")
    page.locator(".grip").focus()
    page.keyboard.press("Home")
    settled(page)
    assert shown(page, "Wave generator") == 0.0


def test_play_turns_at_the_set_speed_and_stops(opened):
    page = opened()
    page.locator(".grip").focus()
    page.keyboard.press("+")
    begun = page.evaluate("performance.now()")
    page.keyboard.press("Space")
    wait(page, "document.querySelector('lobewright-moving').angle > 0.3")
    page.get_by_role("button", name="Stop").click()
    settled(page)
    turned = shown(page, "Wave generator")
    # 8 turns a minute are 48° a second; busy machines lose frames, none gains any
    assert 17.0 < turned < 0.048 * (page.evaluate("performance.now()") - begun) + 1.0
    page.wait_for_timeout(150)
    assert shown(page, "Wave generator") == turned
    page.get_by_role("button", name="Turn the other way").click()
    page.get_by_role("button", name="Play").click()
    page.wait_for_timeout(300)
    page.get_by_role("button", name="Stop").click()
    settled(page)
    assert shown(page, "Wave generator") < turned


def test_reduced_motion_steps_tooth_by_tooth(opened):
    page = opened(reduced_motion="reduce")
    page.get_by_role("button", name="Play").click()
    stood = page.evaluate(
        """async () => {
            const drive = document.querySelector("lobewright-moving"), stood = new Set(), start = performance.now();
            while (performance.now() - start < 1500 || stood.size < 2) {
                stood.add(drive.angle);
                await new Promise(requestAnimationFrame);
            }
            return [...stood];
        }"""
    )
    # it stands at whole teeth only: moving on evenly it would have been seen in between
    assert [math.degrees(angle) / STEP_DEG % 1.0 for angle in stood] == pytest.approx([0.0] * len(stood), abs=1e-6)
    page.get_by_role("button", name="Stop").click()
    settled(page)
    steps = shown(page, "Wave generator") / STEP_DEG
    assert steps >= 0.98
    assert steps == pytest.approx(round(steps), abs=0.03)


def test_touch_turns_too(opened):
    page = opened(viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True)
    session = page.context.new_cdp_session(page)

    def touch(kind: str, degrees: float | None) -> None:
        spots = [] if degrees is None else [dict(zip("xy", on_rim(page, degrees), strict=True))]
        session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": spots})

    touch("touchStart", 90)
    for angle in range(85, -1, -5):  # a quarter turn, clockwise
        touch("touchMove", angle)
    touch("touchEnd", None)
    settled(page)
    assert shown(page, "Wave generator") == pytest.approx(-90.0, abs=2.0)
    assert page.evaluate("scrollY") == 0


def test_phone_width_fits_and_its_keys_are_large_enough(opened):
    page = opened(viewport={"width": 360, "height": 740}, title="A long title: " + "greenhouse" * 8)
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    for button in page.get_by_role("button").all():
        box = button.bounding_box()
        assert box["height"] >= 44
        assert box["x"] >= 0
        assert box["x"] + box["width"] <= 360


def test_hostile_names_are_shown_and_never_run(opened):
    page = opened(ring_name=NASTY, title=NASTY)
    assert page.evaluate("window.hit") is None
    assert page.locator("img").count() == 0
    assert page.locator("h1").inner_text() == NASTY
    assert shown(page, NASTY) == 0.0


def test_torque_is_chosen_by_key_and_its_forces_are_told_and_painted(opened):
    page = opened(loads=json.loads(VECTORS.read_text(encoding="utf-8"))["loads"])
    slider = page.get_by_role("slider", name="Torque")
    painted = "document.querySelector('lobewright-moving').shadowRoot.querySelector('canvas').toDataURL()"
    seen = {}
    slider.focus()
    page.keyboard.press("Home")
    for torque in ("−1.00 N·m", "no torque", "1.00 N·m", "2.00 N·m"):
        settled(page)
        assert page.locator(".load output").inner_text() == torque
        assert slider.get_attribute("aria-valuetext").startswith(torque)
        told = page.locator(".forces").inner_text()
        assert told.startswith("No torque" if torque == "no torque" else f"At {torque} on Output ring")
        seen[torque] = page.evaluate(painted)
        page.keyboard.press("ArrowRight")
    assert len(set(seen.values())) == 4
    page.get_by_role("radio", name="Output ring").check()
    settled(page)
    assert "push on Output ring" in page.locator(".forces").inner_text()


def test_without_loads_there_is_no_control_for_torque(opened):
    page = opened()
    assert page.locator(".load, .forces, .push").count() == 0


def pixel(page: Any, x_mm: float, y_mm: float) -> str:
    """Colour of the round picture at a point in mm, as #rrggbb."""
    return page.evaluate(
        """([x, y]) => {
          const element = document.querySelector("lobewright-moving");
          const canvas = element.shadowRoot.querySelector("canvas");
          const half = 1.13 * 38;
          const spot = [x, -y].map((mm) => Math.round((mm / half + 1) * canvas.width / 2));
          const copy = new OffscreenCanvas(1, 1).getContext("2d");
          copy.drawImage(canvas, ...spot, 1, 1, 0, 0, 1, 1);
          const seen = copy.getImageData(0, 0, 1, 1).data;
          return "#" + [...seen.slice(0, 3)].map((part) => part.toString(16).padStart(2, "0")).join("");
        }""",
        [x_mm, y_mm],
    )


@pytest.mark.parametrize("theme", Theme)
def test_marked_tooth_is_painted_where_python_puts_it(opened, theme):
    page = opened(color_scheme=str(theme), device_scale_factor=2)
    for row in json.loads(VECTORS.read_text(encoding="utf-8"))["poses"]:
        page.evaluate("(angle) => { document.querySelector('lobewright-moving').angle = angle; }", row["angle_rad"])
        settled(page)
        x, y, normal = row["teeth"][0]
        tip = complex(x, y) + 0.7 * complex(math.cos(normal), math.sin(normal))
        tip *= complex(math.cos(row["generator_rad"]), math.sin(row["generator_rad"]))
        assert pixel(page, tip.real, tip.imag) == PALETTE[theme][Role.TOOTH_MARK], row["angle_rad"]
        assert pixel(page, 0.0, 0.0) == PALETTE[theme][Role.GENERATOR]
    page.emulate_media(color_scheme="dark" if theme is Theme.LIGHT else "light")  # changes over while open
    settled(page)
    other = next(one for one in Theme if one is not theme)
    assert pixel(page, 0.0, 0.0) == PALETTE[other][Role.GENERATOR]


def test_a_frame_is_light(opened):
    page = opened()
    median = page.evaluate(
        """() => {
          const element = document.querySelector("lobewright-moving");
          const times = [];
          for (let k = 0; k < 80; k += 1) {
            const begun = performance.now();
            element.turned += 0.03;
            element.draw();
            times.push(performance.now() - begun);
          }
          return times.sort((a, b) => a - b)[40];
        }"""
    )
    assert median < 8.0
