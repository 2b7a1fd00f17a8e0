"""The moving picture in a real browser: the exported page opened from disk, without a network, and the view of the live page.

Chromium of the system is driven; where it or its driver is missing the tests are skipped with that word, and in CI
they fail instead.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from live_page import drawn, wait, work_ms

from lobewright.picture.page import moving_page
from lobewright.picture.palette import PALETTE, Role, Theme

pytestmark = pytest.mark.browser

VECTORS = Path(__file__).parents[1] / "js" / "vectors.json"
ELEMENT = "document.querySelector('lobewright-moving')"
NASTY = '</script><script>window.hit=1</script><img src=x onerror="window.hit=2">'
STEP_DEG = 360.0 / 102.0
"""102 teeth pass a lobe in one generator turn, so one tooth is this much of it."""


@pytest.fixture(scope="module")
def parameters() -> dict[str, Any]:
    return json.loads(VECTORS.read_text(encoding="utf-8"))["parameters"]


@pytest.fixture
def opened(chromium, parameters, tmp_path) -> Iterator[Callable[..., Any]]:
    """Opens the page offline; afterwards there must be no word on the console, no error and no request."""
    heard: list[str] = []
    contexts = []

    def open_page(ring_name: str = "", title: str = "Invented drive", more: Any = None, **settings: Any) -> Any:
        data = {**json.loads(json.dumps(parameters)), **(more or {})}
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


def given(*names: str) -> dict[str, Any]:
    """What the vectors keep under these names."""
    kept = json.loads(VECTORS.read_text(encoding="utf-8"))
    return {name: kept[name] for name in names}


def shown(page: Any, member: str) -> float:
    """The angle in degrees that the readout shows for a member."""
    words = page.locator("dl div", has_text=member).locator("dd").inner_text()
    return float(re.match(r"−?[\d.]+", words).group().replace("−", "-"))


def settled(page: Any) -> None:
    wait(page, "!document.querySelector('lobewright-moving').glide")
    drawn(page)


def close_up(page: Any) -> Any:
    """The picture of a few teeth, in view, known to be, and painted."""
    hold = page.locator(".hold")
    hold.scroll_into_view_if_needed()
    wait(page, f"!{ELEMENT}.unseen.has({ELEMENT}.at.near)")
    settled(page)
    return hold


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
    turned, angle = shown(page, "Wave generator"), page.evaluate(f"{ELEMENT}.angle")
    # 8 turns a minute are 48° a second; busy machines lose frames, none gains any
    assert 17.0 < turned < 0.048 * (page.evaluate("performance.now()") - begun) + 1.0
    for _ in range(5):
        drawn(page)
    assert shown(page, "Wave generator") == turned
    page.get_by_role("button", name="Turn the other way").click()
    page.get_by_role("button", name="Play").click()
    wait(page, f"(angle) => {ELEMENT}.angle < angle - 0.05", angle)
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
    page = opened(more=given("loads"))
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
    assert page.locator(".load:visible, .forces:visible, .push:visible, .stress:visible").count() == 0


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
    other = next(one for one in Theme if one is not theme)
    page.evaluate("""() => {
      window.list = matchMedia("(prefers-color-scheme: dark)"); // the element's own would not tell it what was read here
      window.list.addEventListener("change", () => { window.changed = true; });
    }""")
    page.emulate_media(color_scheme=str(other))  # changes over while open
    wait(page, "window.changed")
    settled(page)
    assert pixel(page, 0.0, 0.0) == PALETTE[other][Role.GENERATOR]


def test_a_frame_is_light(opened):
    page = opened()
    frames = """(count) => {
      const element = document.querySelector("lobewright-moving");
      for (let k = 0; k < count; k += 1) {
        element.turned += 0.03;
        element.draw();
      }
    }"""
    page.evaluate(frames, 20)  # so that it is compiled
    assert work_ms(page, lambda: page.evaluate(frames, 80)) / 80 < 8.0


# --- close up --------------------------------------------------------------------------------------------------------


def micrometres(words: str) -> float:
    """A gap as the page says it, in mm."""
    found = re.search(r"(overlap )?([\d.]+) µm", words)
    return (-1 if found.group(1) else 1) * float(found.group(2)) / 1000.0


def width_mm(page: Any) -> float:
    return float(page.locator(".wide output").inner_text().removesuffix(" mm across"))


def test_the_gap_under_the_pointer_is_what_python_finds(opened):
    page = opened()
    page.evaluate(f"() => {{ {ELEMENT}.angle = 0.3; }}")
    settled(page)
    kept = next(row for row in given("gaps")["gaps"] if (row["size"], row["angle_rad"], row["tooth"]) == (1.0, 0.3, 0))
    hold = close_up(page)
    box = hold.bounding_box()
    scale = box["width"] / page.evaluate(f"{ELEMENT}.look.width_mm")
    # the tooth stands upright, halfway up (0.625 mm) in the middle; anticlockwise is to the left
    for point, (along, up) in ((2, (-0.36, 1.0)), (3, (0.36, 1.0)), (4, (0.62, 0.25))):
        x, y = (-along * scale, (0.625 - up) * scale)
        page.mouse.move(box["x"] + box["width"] / 2 + x, box["y"] + box["height"] / 2 + y)
        settled(page)
        told = micrometres(page.locator(".at-cross").inner_text())
        assert told == pytest.approx(kept["points_mm"][point], abs=0.012)  # a pixel is 0.01 mm here
    least = micrometres(page.locator(".least").inner_text())
    assert least <= min(kept["points_mm"]) + 1e-3


def test_the_close_picture_goes_by_keys(opened):
    page = opened()
    hold = close_up(page)
    hold.focus()
    before = width_mm(page)
    page.keyboard.press("+")
    page.keyboard.press("+")
    settled(page)
    assert width_mm(page) == pytest.approx(before / 1.25**2, rel=0.01)
    assert page.locator(".where").is_hidden()
    page.keyboard.press("ArrowRight")
    settled(page)
    assert page.get_by_label("Look at").input_value() == "place"
    place = page.get_by_role("slider", name="Place")
    assert place.get_attribute("aria-valuetext").startswith("359.")  # clockwise of the marked lobe at 0°
    assert hold.get_attribute("aria-label").startswith("Teeth close up at a place in the picture, ")
    page.keyboard.press("Home")
    settled(page)
    assert page.get_by_label("Look at").input_value() == "tooth"
    page.get_by_label("Look at").select_option("lobe 2")
    page.get_by_role("slider", name="Width").focus()
    page.keyboard.press("Home")
    settled(page)
    assert width_mm(page) == pytest.approx(28.0, rel=0.01)
    assert page.evaluate(f"{ELEMENT}.look.spot") == 1


def test_the_wheel_scrolls_the_page_until_the_picture_is_chosen(opened):
    page = opened(viewport={"width": 1000, "height": 500})
    hold = close_up(page)
    before = width_mm(page)
    hold.hover()
    stood = page.evaluate("scrollY")
    page.mouse.wheel(0, 60)
    wait(page, f"scrollY === {stood + 60}")
    drawn(page)
    assert width_mm(page) == before
    hold.focus()
    hold.hover()
    drawn(page)
    stood = page.evaluate("scrollY")
    page.mouse.wheel(0, -200)
    wait(page, f"{ELEMENT}.look.width_mm < {0.9 * before}")
    drawn(page)
    assert page.evaluate("scrollY") == stood


def test_dragging_carries_the_teeth_along_and_two_fingers_bring_them_closer(opened):
    page = opened(viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True)
    box = close_up(page).bounding_box()
    middle = (box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    session = page.context.new_cdp_session(page)
    before, stood = width_mm(page), page.evaluate("scrollY")

    def touch(kind: str, *across: float) -> None:
        spots = [{"x": middle[0] + x, "y": middle[1], "id": k} for k, x in enumerate(across)]
        session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": spots})

    touch("touchStart", -40.0, 40.0)
    for apart in (50.0, 60.0, 70.0, 80.0):
        touch("touchMove", -apart, apart)
    touch("touchEnd")
    settled(page)
    assert width_mm(page) == pytest.approx(before / 2.0, rel=0.05)
    touch("touchStart", 0.0)
    for across in (-20.0, -40.0, -60.0):
        touch("touchMove", across)
    touch("touchEnd")
    settled(page)
    assert page.evaluate("scrollY") == stood
    moved = math.radians(float(page.locator(".where output").inner_text().removesuffix("°")) - 360.0) * 32.5
    assert moved == pytest.approx(-60.0 * width_mm(page) / box["width"], rel=0.2)


def test_a_deflection_drawn_larger_says_so_and_tells_no_gap(opened):
    page = opened()
    page.get_by_role("slider", name="Deflection drawn").focus()
    for _ in range(3):
        page.keyboard.press("ArrowRight")
    settled(page)
    assert page.locator(".times output").inner_text() == "4 times"
    close_up(page)
    assert page.locator(".least").inner_text().endswith("not told")
    assert (
        page.get_by_role("slider", name="Turn")
        .get_attribute("aria-valuetext")
        .endswith("Deflection drawn 4 times: not true geometry")
    )
    page.keyboard.press("Home")
    settled(page)
    assert page.locator(".times output").inner_text() == "as it is"
    assert "µm" in page.locator(".least").inner_text()


def test_stress_is_told_for_the_chosen_torque(opened, parameters):
    size = len(parameters["shape"]["x_mm"])
    values = [30.0 * math.cos(4.0 * math.pi * k / size - 1.0) for k in range(size)]
    stress = {"what": "bending", "unit": "MPa", "cases": [{"torque_nm": 2.0, "values": values}]}
    page = opened(more={**given("loads"), "stress": stress})
    assert page.locator(".stress").inner_text().startswith("Bending at 2.00 N·m: largest 30.0 MPa, 2")
    assert page.locator(".levels li").all_inner_texts()[-1] == "over 22.5 MPa"
    page.get_by_role("slider", name="Torque").focus()
    page.keyboard.press("ArrowLeft")
    settled(page)
    assert page.locator(".stress").inner_text() == "Bending: not known at 1.00 N·m."


def test_other_parameters_change_the_picture_where_it_stands(opened):
    """It keeps playing, keeps the angle and the focus, and makes no control anew; loads come and go."""
    page = opened(more=given("loads"))
    page.get_by_role("slider", name="Torque").focus()
    page.keyboard.press("ArrowLeft")
    found = page.evaluate(
        """async (loads) => {
          const drive = document.querySelector("lobewright-moving"), root = drive.root;
          const frame = () => new Promise(requestAnimationFrame);
          const { loads: had, ...bare } = drive.parts.parameters;
          const control = root.querySelector(".load input"), count = root.querySelectorAll("*").length;
          drive.play(true);
          const angles = [];
          for (let k = 0; k < 40; k += 1) {
            const wider = { ...bare, rings: bare.rings.map((ring) => ({ ...ring, outer_radius_mm: 38 + k / 40 })) };
            const given = k < 39 ? { ...wider, loads: k % 4 ? had : undefined } : { ...bare, loads };
            drive.show({ parameters: given, older: k === 39 });
            angles.push(drive.angle);
            if (k === 20) control.focus();
            await frame();
          }
          await frame();
          return {
            angles, playing: drive.playing, same: control === root.querySelector(".load input"), torque: control.value,
            focus: root.activeElement === control, grown: root.querySelectorAll("*").length - count,
            words: root.querySelector(".load output").textContent, forces: root.querySelector(".forces").textContent,
          };
        }""",
        given("loads")["loads"],
    )
    steps = [after - before for before, after in zip(found["angles"], found["angles"][1:], strict=False)]
    assert found["playing"] and found["same"] and found["grown"] == 0
    assert min(steps) >= 0.0 and max(steps) < 0.06 and found["angles"][-1] > 0.0
    assert found["words"] == "1.00 N·m"  # as it was chosen
    assert found["forces"].startswith("Of the drive before: At 1.00 N·m")


def test_other_members_are_named_and_the_ring_in_front_still_exists(opened):
    page = opened()
    page.get_by_role("radio", name="Output ring").check()
    page.evaluate(
        """() => {
          const drive = document.querySelector("lobewright-moving"), { parameters } = drive.parts;
          drive.angle = 2;
          const [ring] = parameters.rings;
          drive.show({ parameters: { ...parameters, rings: [{ ...ring, name: "Housing" }],
            turns: { ...parameters.turns, rings: [0] }, roles: { held: "Housing", driven: "generator", read: "flexible" } } });
        }"""
    )
    settled(page)
    assert page.locator("dl dt").all_inner_texts()[-1].startswith("Housing")
    assert page.locator("dl > div").count() == 3
    assert page.locator("[data-pick=front]").is_hidden()
    assert shown(page, "Wave generator") == pytest.approx(114.6)


@pytest.mark.parametrize("theme", Theme)
def test_no_serious_finding_of_the_accessibility_rules(opened, theme):
    from axe_playwright_python.sync_playwright import Axe

    page = opened(more=given("loads"), color_scheme=str(theme), bypass_csp=True)
    found = Axe().run(page).response["violations"]
    assert [one["id"] for one in found if one["impact"] in ("serious", "critical")] == []


# --- the view of the live page ---------------------------------------------------------------------------------------


def test_the_view_keeps_playing_while_looks_come_and_tells_every_angle(tab, live):
    page = tab()
    wait(page, f"{ELEMENT}?.parts")
    page.evaluate(f"() => {ELEMENT}.play(true)")
    wait(page, f"{ELEMENT}.angle > 0.05")
    before = page.evaluate(f"({{angle: {ELEMENT}.angle, outer: {ELEMENT}.parts.outer}})")
    edit = {"edits": [{"place": "rigid_ring[1].rim_mm", "value": 11.0}]}
    live.tell("api/edits", edit)
    wait(page, f"{ELEMENT}.parts.outer > {before['outer'] + 1.5}")
    assert page.evaluate(f"{ELEMENT}.playing")
    assert page.evaluate(f"{ELEMENT}.angle") > before["angle"]
    page.evaluate(f"() => {ELEMENT}.play(false)")


def test_what_presses_is_shown_also_where_the_colours_come_late(tab, chromium):
    context = chromium.new_context(viewport={"width": 1280, "height": 800})
    held: list[Any] = []
    context.route("**/pages/palette.json", lambda route: held.append(route))
    page = tab(context)
    wait(page, "() => document.querySelector('.push [data-number]')")
    for route in held:
        route.continue_()
    wait(page, f"() => {ELEMENT}.parts?.parameters.loads")
    context.close()


def test_the_view_keeps_the_last_drive_where_none_can_be_and_says_so(tab, live):
    page = tab()
    wait(page, f"{ELEMENT}?.parts")
    page.evaluate(f"() => {{ {ELEMENT}.angle = 1; }}")
    edit = {"edits": [{"place": "rigid_ring[1].teeth", "value": 3}]}
    live.tell("api/edits", edit)
    wait(page, f"{ELEMENT}.classList.contains('old')")
    assert page.locator("#motion [role=status]").inner_text() == (
        "This is the drive as it was: what is written now cannot be one."
    )
    assert page.evaluate(f"{ELEMENT}.angle") == 1
