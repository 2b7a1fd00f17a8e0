"""The drive in space, in a real browser with software graphics: it turns by the ratio, is cut, named, and told where none is."""

from __future__ import annotations

import io
import math
import shutil
from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest
from live_page import EXAMPLES, FLAGS, WAIT_S, Held, drawn, missing, settled, wait, worked_out

from lobewright import assess, read
from lobewright.make.assembling import assembled
from lobewright.make.flexible_as_set import BentRing
from lobewright.make.numbering import kind_of, part_numbers
from lobewright.make.placing import Placed

pytestmark = [pytest.mark.browser, pytest.mark.cad]

SOFTWARE = ("--use-angle=swiftshader", "--enable-unsafe-swiftshader")
CUT, STATES = "#solid select >> nth=1", ".solid-groups select"
READY_S = 2 * WAIT_S
"""The meshes wait for their turn behind other slow work; on a busy machine that is most of it."""


@pytest.fixture(scope="module")
def launch() -> Iterator[Any]:
    """Starts the system's Chromium with flags."""
    path = shutil.which("chromium")
    if path is None:
        missing("chromium")
    driving = pytest.importorskip("playwright.sync_api")
    with driving.sync_playwright() as driver:
        yield lambda flags: driver.chromium.launch(executable_path=path, args=flags)


@pytest.fixture(scope="module")
def chromium(launch) -> Iterator[Any]:
    """One that draws in space by software."""
    browser = launch([*(flag for flag in FLAGS if flag != "--disable-gpu"), *SOFTWARE])
    yield browser
    browser.close()


def in_sight(page: Any) -> Any:
    """The tab, when the drive in space is drawn and in sight, and nothing above it is still to come."""
    worked_out(page)
    page.locator("#solid").scroll_into_view_if_needed()
    wait(page, "() => document.querySelector('#solid canvas')?.dataset.shown", seconds=READY_S)
    page.locator("#solid canvas").scroll_into_view_if_needed()
    stands_still(page)
    return page


def stands_still(page: Any) -> None:
    """Until the page scrolls no more: the browser takes its time to glide there, begun some frames after the wheel."""
    page.evaluate("""async () => {
      for (let before = null, same = 0; same < 10; ) {
        await new Promise(requestAnimationFrame);
        same = scrollY === before ? same + 1 : 0;
        before = scrollY;
      }
    }""")


@pytest.fixture
def solid(tab) -> Any:
    return in_sight(tab(viewport={"width": 1280, "height": 900}))


def pose(page: Any, member: str) -> float:
    return page.evaluate("(member) => document.querySelector('#solid canvas').poseOf(member)", member)


def turn_to(page: Any, angle_rad: float) -> None:
    page.evaluate("(rad) => document.querySelector('#solid canvas').turnTo(rad)", angle_rad)


def only(page: Any, group: str) -> None:
    """Leaves all other groups out."""
    page.evaluate("() => { document.querySelector('.solid-groups').closest('details').open = true; }")
    for row in page.locator(".solid-groups label").all():
        row.locator("select").select_option(
            "cut" if row.locator("i").get_attribute("data-group") == group else "hidden"
        )


def seen(page: Any) -> np.ndarray:
    """The picture as it is on the screen, (h, w, 3)."""
    from PIL import Image

    page.mouse.move(2, 2)
    drawn(page)
    return np.asarray(Image.open(io.BytesIO(page.locator("#solid canvas").screenshot())).convert("RGB"), dtype=int)


def inked(image: np.ndarray) -> np.ndarray:
    """Where the paper is covered."""
    return np.abs(image - image[0, 0]).sum(axis=2) > 40


def middle(mask: np.ndarray) -> np.ndarray:
    """Mean of the covered pixels, x to the right and y up."""
    y, x = np.nonzero(mask)
    return np.array([x.mean(), -y.mean()])


def test_the_output_in_the_picture_turns_by_the_ratio(tab) -> None:
    solid = in_sight(tab(viewport={"width": 1280, "height": 900}, device_scale_factor=2))
    ratio = float(assess(read(EXAMPLES / "azimuth_belt.toml")).motion.ratio)
    solid.select_option("#solid select >> nth=0", "facing")
    solid.select_option(CUT, "none")
    only(solid, "output")
    quarter = abs(ratio) / 4 * 2 * math.pi
    masks = []
    for quarters in (0, 1, 2):
        turn_to(solid, quarters * quarter)
        masks.append(inked(seen(solid)))
        assert pose(solid, "output") == pytest.approx(quarters * quarter / ratio, rel=1e-12)
    axis = (middle(masks[0]) + middle(masks[2])) / 2
    marks = [arm(mask, axis) for mask in masks]
    assert abs(marks[0]) > 1e4, "its mark stands out to one side"
    for quarters in (1, 2):
        off = marks[quarters] / marks[0] / (1j * math.copysign(1.0, ratio)) ** quarters
        assert abs(np.angle(off, deg=True)) < 1.5 and abs(off) == pytest.approx(1.0, abs=0.05)


def arm(mask: np.ndarray, axis: np.ndarray) -> complex:
    """To which side of the axis the covered pixels lie, the far ones above all."""
    y, x = np.nonzero(mask)
    z = x - axis[0] + 1j * (-y - axis[1])
    return complex((z * np.abs(z) ** 2).sum())


def test_the_ring_is_bent_and_its_shape_goes_round_with_the_generator(solid) -> None:
    a = assess(read(EXAMPLES / "azimuth_belt.toml"))
    x0, y0, x1, y1 = BentRing(a).at(0.0, 0.0)[0].level.area.bounds
    wanted = (x1 - x0) / (y1 - y0)
    assert wanted > 1.02
    solid.select_option("#solid select >> nth=0", "facing")
    solid.select_option(CUT, "none")
    only(solid, "flexible_ring")
    solid.get_by_role("button", name="Nearer").click()
    for turns, ratio in ((0.0, wanted), (0.25, 1 / wanted)):
        turn_to(solid, turns * 2 * math.pi)
        y, x = np.nonzero(inked(seen(solid)))
        assert (np.ptp(x) + 1) / (np.ptp(y) + 1) == pytest.approx(ratio, abs=0.008)


def test_buttons_slider_and_keys_do_what_they_say(solid) -> None:
    words = solid.locator("#solid-words")
    for _ in range(3):
        solid.get_by_role("button", name="On 15°").click()
    assert pose(solid, "generator") == pytest.approx(math.pi / 4)
    solid.get_by_label("Generator at").fill("180")
    wait(solid, "() => document.querySelector('.solid-turns').textContent === 'Generator 180.0°, output −3.6°'")
    uncut, first = seen(solid), words.inner_text()
    solid.locator("#solid canvas").focus()
    for key in ("ArrowLeft", "ArrowUp"):
        solid.keyboard.press(key)
    turned = seen(solid)
    assert np.abs(turned - uncut).max() > 60 and words.inner_text() != first
    assert "34° above" in words.inner_text()
    solid.keyboard.press("0")
    assert np.abs(seen(solid) - uncut).max() == 0 and words.inner_text() == first
    solid.select_option(CUT, "none")
    whole = seen(solid)
    assert np.abs(whole - uncut).max() > 60 and inked(whole).sum() > inked(uncut).sum()


def test_wherever_it_is_seen_from_nothing_of_it_is_cut_off(solid) -> None:
    solid.select_option(CUT, "none")
    canvas = solid.locator("#solid canvas")
    for place, turned in (("front", 0.0), ("left", 2.0)):
        turn_to(solid, turned)
        solid.select_option("#solid select >> nth=0", place)
        canvas.focus()
        for keys in (("ArrowLeft",) * 8, ("ArrowUp",) * 4, ("ArrowLeft",) * 8, ("ArrowDown",) * 8, ("ArrowRight",) * 4):
            for key in keys:
                solid.keyboard.press(key)
            mask = inked(seen(solid)[6:-6, 6:-6])  # inside the focus frame
            assert mask.sum() > 5000
            assert not (mask[:2].any() or mask[-2:].any() or mask[:, :2].any() or mask[:, -2:].any())


def test_parts_are_chosen_by_their_number_in_the_parts_list(solid) -> None:
    rows = solid.get_by_label("Show me").locator("option").all_inner_texts()[1:]
    kinds = part_numbers(placed_parts())
    assert [int(row.split()[0]) for row in rows] == sorted(set(kinds.values()))
    assert sum("nut, ISO 4032 M4 (9 of them)" in row for row in rows) == 1
    assert len({row.split("  ", 1)[1] for row in rows}) == len(rows), "no two rows are told alike"


def test_another_design_is_named_while_its_drive_is_not_there(solid, live) -> None:
    late = Held(solid, "**/api/solid")
    live.tell("api/open", {"file": "focus_steel.toml"})
    told = "(words) => document.querySelector('#solid [role=status]').textContent.endsWith(words)"
    wait(solid, told, "another drive: roof garden mirror, azimuth.")
    late.wait()
    late.let_go()
    wait(
        solid,
        "() => document.querySelector('#solid canvas').dataset.shown.startsWith('focus_steel.toml')",
        seconds=READY_S,
    )
    wait(solid, "() => document.querySelector('#solid [role=status]').textContent === ''")


def test_a_part_is_named_with_its_number_in_the_parts_list(solid) -> None:
    parts = {one.part.name: one.part for one in placed_parts()}
    numbers = part_numbers(placed_parts())
    axle, plate = numbers[kind_of(parts["axle"])], numbers[kind_of(parts["front_plate"])]
    solid.get_by_label("Show me").select_option(label=f"{axle}  axle, {parts['axle'].designation}")
    name = solid.locator(".solid-name")
    wait(solid, "() => document.querySelector('.solid-name').textContent.includes('–')")
    assert name.inner_text().startswith(f"{axle} ")
    solid.get_by_label("Show me").select_option(label="all parts")
    solid.select_option("#solid select >> nth=0", "facing")
    solid.select_option(CUT, "none")
    mask = inked(seen(solid))
    box = solid.locator("#solid canvas").bounding_box()
    y, x = np.nonzero(mask)
    solid.mouse.move(box["x"] + x.mean(), box["y"] + y.max() - 12)
    wait(solid, "() => document.querySelector('.solid-name').textContent.includes('– frame')")
    assert name.inner_text().startswith(f"{plate} ")


def placed_parts() -> tuple[Placed, ...]:
    return assembled(assess(read(EXAMPLES / "azimuth_belt.toml")))


def test_it_turns_by_itself_in_little_work_a_frame(solid) -> None:
    solid.get_by_role("button", name="Turn the generator").click()
    work = solid.evaluate("""async () => {
      const canvas = document.querySelector("#solid canvas"), work = [];
      while (work.length < 60) {
        await new Promise(requestAnimationFrame);
        work.push(canvas.frameMs());
      }
      return work;
    }""")
    wait(solid, "() => document.querySelector('#solid canvas').poseOf('generator') > 0.2")
    solid.get_by_role("button", name="Stop").click()
    assert np.median(work) < 8.0
    turned = pose(solid, "generator")
    for _ in range(5):
        drawn(solid)
    assert pose(solid, "generator") == turned


def test_a_drive_before_the_last_change_is_marked_and_the_next_one_follows(solid, live) -> None:
    first = solid.locator("#solid canvas").get_attribute("data-shown")
    broken = {"edits": [{"place": "generator.pair_half_angle_deg", "value": 45}]}
    live.tell("api/edits", broken)
    told = solid.locator("#solid [role=status]")
    wait(solid, "() => document.querySelector('#solid [role=status]').textContent.includes('has no drive to show')")
    assert told.inner_text().endswith("Shown is the drive before the last change.")
    live.tell("api/step", {"by": -1})
    wait(solid, "(first) => document.querySelector('#solid canvas').dataset.shown !== first", first, READY_S)
    wait(solid, "() => document.querySelector('#solid [role=status]').textContent === ''")


def test_less_motion_is_respected_and_a_lost_card_comes_back(tab) -> None:
    page = in_sight(tab(viewport={"width": 1280, "height": 900}, reduced_motion="reduce"))
    assert page.get_by_role("button", name="Turn the generator").count() == 0
    before = seen(page)
    page.evaluate("""() => new Promise((done) => {
      const canvas = document.querySelector('#solid canvas');
      const card = canvas.getContext('webgl2').getExtension('WEBGL_lose_context');
      canvas.addEventListener('webglcontextrestored', () => setTimeout(done));
      canvas.addEventListener('webglcontextlost', () => setTimeout(() => card.restoreContext()));
      card.loseContext();
    })""")
    assert np.abs(seen(page) - before).max() == 0


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_the_rules_of_accessibility_hold_for_it(tab, theme) -> None:
    axe = pytest.importorskip("axe_playwright_python.sync_playwright")
    page = in_sight(tab(color_scheme=theme, bypass_csp=True))
    page.evaluate("() => document.querySelectorAll('#solid details').forEach((one) => { one.open = true; })")
    found = axe.Axe().run(page, context="#solid").response["violations"]
    assert not [(one["id"], one["impact"], one["help"]) for one in found]


def test_a_browser_without_graphics_is_told_in_words(launch, live) -> None:
    browser = launch([*FLAGS, "--disable-3d-apis"])
    page = browser.new_page()
    errors: list[str] = []
    page.on("pageerror", lambda error: errors.append(str(error)))
    page.goto(live.address)
    settled(page)
    page.locator("#solid").scroll_into_view_if_needed()
    wait(page, "() => document.querySelector('#solid').textContent.includes('draws nothing in space')", seconds=READY_S)
    assert page.locator("#solid canvas").count() == 0
    assert not errors
    browser.close()


def test_scrolled_under_the_head_the_picture_leaves_nothing_black(launch, tab):
    """As a browser without a graphics card puts its pages together."""
    from PIL import Image

    browser = launch([flag for flag in FLAGS if flag != "--disable-gpu"])
    page = in_sight(tab(browser.new_context(viewport={"width": 1280, "height": 1000}, color_scheme="light")))
    page.evaluate("document.querySelector('.solid').scrollIntoView()")
    for by in (0, 150, 300, 150, 150):
        page.mouse.move(400, 500)
        page.mouse.wheel(0, by)
        stands_still(page)
        pixels = np.asarray(Image.open(io.BytesIO(page.screenshot())).convert("RGB"))
        assert np.count_nonzero(pixels.max(axis=2) == 0) < 100, by
    browser.close()
