"""A lesson's page in a real browser, opened from disk without a network: moved by slider, hand and keys, and read."""

from __future__ import annotations

import dataclasses
import math
import re
from collections.abc import Callable, Iterator
from fractions import Fraction
from itertools import pairwise
from typing import Any

import pytest
from live_page import EXAMPLES, drawn, wait
from tests.js.invented_score import invented_scene

from lobewright import assess, read
from lobewright.picture.lettering import lettered
from lobewright.teach.cautions import cautions
from lobewright.teach.language import Language
from lobewright.teach.lesson_page import Around, lesson_page, scene_page
from lobewright.teach.lesson_text import Told
from lobewright.teach.scene import Listed, Take
from lobewright.teach.scenes import scene
from lobewright.teach.subject import subject

pytestmark = pytest.mark.browser

ELEMENT = "document.querySelector('lobewright-scene')"
SIZES = {"wide": (1280, 800), "tablet": (820, 1100), "phone": (390, 800)}


@pytest.fixture
def opened(chromium, tmp_path) -> Iterator[Callable[..., Any]]:
    """Opens a page offline; afterwards there must be no word on the console, no error and no request but for the file."""
    heard: list[str] = []
    contexts = []

    def open_page(text: str = "", **settings: Any) -> Any:
        file = tmp_path / "lesson.html"
        file.write_text(text or scene_page(invented_scene(), Language("en")), encoding="utf-8")
        context = chromium.new_context(offline=True, **{"viewport": {"width": 1280, "height": 800}, **settings})
        contexts.append(context)
        page = context.new_page()
        page.on("console", lambda message: heard.append(f"console {message.type}: {message.text}"))
        page.on("pageerror", lambda error: heard.append(f"error: {error}"))
        page.on("request", lambda request: heard.append(request.url))
        page.goto(file.as_uri())
        wait(page, f"() => {ELEMENT}?.shadowRoot.querySelector('dd')?.textContent")
        assert [one for one in heard if not one.startswith("data:image/svg")] == [file.as_uri()]
        heard.clear()
        return page

    yield open_page
    for context in contexts:
        context.close()
    assert not heard


def free(page: Any) -> None:
    """Goes by the question."""
    page.get_by_role("button", name="Show it without an answer").click()


def frames_kept(page: Any) -> None:
    """From now on ``window.frames_of`` keeps for each frame that is painted its time in ms and its place."""
    drawn(page)
    page.evaluate(f"""() => {{
      window.frames_of = [];
      {ELEMENT}.addEventListener("moved", ({{ detail }}) => window.frames_of.push([document.timeline.currentTime, detail.u]));
    }}""")


def reading(page: Any, name: str) -> float:
    """What the page says of a reading, as a number."""
    drawn(page)
    return number(page.locator(f"[data-reading={name}] dd").inner_text())


def number(words: str) -> float:
    """The first number in a reading."""
    return float(re.search(r"[−+]?[\d.,]+", words).group().replace("−", "-").replace(",", "."))


def grave(page: Any) -> list[tuple[str, str]]:
    """Serious and critical findings of the accessibility rules, with the place of the first of each."""
    from axe_playwright_python.sync_playwright import Axe

    found = Axe().run(page).response["violations"]
    return [(one["id"], one["nodes"][0]["html"]) for one in found if one["impact"] in ("serious", "critical")]


def colours(page: Any) -> int:
    """How many different colours the picture has: more than one where something is painted."""
    return page.evaluate(f"""() => {{
      const canvas = {ELEMENT}.shadowRoot.querySelector("canvas");
      const data = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height).data;
      return new Set(new Uint32Array(data.buffer)).size;
    }}""")


def test_the_slider_turns_the_output_by_the_ratio(opened):
    page = opened()
    free(page)
    slider = page.locator("input[type=range]")
    for place in (0.25, 0.8, 0.1):
        slider.fill(str(place))
        assert reading(page, "small") == pytest.approx(360.0 * place, abs=0.06)
        assert reading(page, "big") == pytest.approx(-240.0 * place, abs=0.06)
    assert "turned" in slider.get_attribute("aria-valuetext")
    assert colours(page) > 20


def test_a_hand_that_turns_the_wheel_by_a_quarter_turns_it_by_a_quarter(opened):
    page = opened()
    free(page)
    box = page.locator(".hold").bounding_box()
    scale = box["width"] / 48.0
    centre = (box["x"] + 16.0 * scale, box["y"] + 13.0 * scale)

    def at(degrees: float) -> tuple[float, float]:
        angle = math.radians(degrees)
        return centre[0] + 5.0 * scale * math.cos(angle), centre[1] - 5.0 * scale * math.sin(angle)

    held = page.get_by_role("slider", name="Two invented wheels. Move by hand: the small wheel")
    assert held.count() == 1
    page.mouse.move(*at(150))
    page.mouse.down()
    for angle in range(155, 241, 5):  # over the place where angles jump from 180 to -180 degrees
        page.mouse.move(*at(angle))
    page.mouse.up()
    page.mouse.move(*at(20))  # let go: moves nothing more
    assert reading(page, "small") == pytest.approx(90.0, abs=0.5)
    assert reading(page, "big") == pytest.approx(-60.0, abs=0.5)


def test_a_finger_slides_what_slides_and_a_loop_goes_round(opened):
    page = opened(has_touch=True)
    page.locator(".pick", has_text="Slid along").click()
    box = page.locator(".hold").bounding_box()
    scale = box["width"] / 48.0

    def slide(units: float) -> None:
        x, y = box["x"] + 20.0 * scale, box["y"] + 60.0
        page.evaluate(
            """([x, y, far]) => {
              const hold = document.querySelector("lobewright-scene").shadowRoot.querySelector(".hold");
              hold.setPointerCapture = () => {};
              const send = (name, at) => hold.dispatchEvent(new PointerEvent(name, {
                pointerId: 7, pointerType: "touch", clientX: at, clientY: y, bubbles: true }));
              send("pointerdown", x);
              for (let k = 1; k <= 10; k += 1) send("pointermove", x + (far * k) / 10);
              send("pointerup", x + far);
            }""",
            [x, y, units * scale],
        )

    slide(3.0)  # of 12 for the whole way
    assert reading(page, "small") == pytest.approx(90.0, abs=0.1)
    slide(12.0)
    assert reading(page, "small") == pytest.approx(90.0, abs=0.1)
    slide(-6.0)
    assert reading(page, "small") == pytest.approx(270.0, abs=0.1)


def test_keys_move_stop_and_play(opened):
    page = opened()
    free(page)
    page.locator(".hold").focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowLeft")
    assert reading(page, "small") == pytest.approx(3.6, abs=0.06)
    page.keyboard.press("End")
    assert reading(page, "small") == 360.0
    page.keyboard.press("Home")
    assert reading(page, "small") == 0.0
    for way in (".hold", ".way input"):  # Page Down reads on, as on any page, and Page Up goes back
        page.locator(way).focus()
        page.keyboard.press("PageDown")
        wait(page, f"() => {ELEMENT}.u === 0.25")
        page.keyboard.press("PageDown")
        wait(page, f"() => {ELEMENT}.u === 0.5")
        page.keyboard.press("PageUp")
        wait(page, f"() => {ELEMENT}.u === 0.25")
        page.keyboard.press("PageUp")
        wait(page, f"() => {ELEMENT}.u === 0")
    page.keyboard.press("PageDown")
    wait(page, f"() => {ELEMENT}.u === 0.25")
    assert reading(page, "teeth") == 3
    assert page.locator(".hold").get_attribute("aria-valuenow") == "25"
    page.locator(".pace select").select_option("0.1")  # so that it is stopped long before its end
    page.locator(".hold").focus()
    page.keyboard.press(" ")
    wait(page, f"() => {ELEMENT}.u > 0.26")
    page.keyboard.press(" ")
    stood = page.evaluate(f"{ELEMENT}.u")
    for _ in range(5):
        drawn(page)
    assert stood < 1.0
    assert page.evaluate(f"{ELEMENT}.u") == stood


def test_it_stops_at_the_third_tooth_and_says_so(opened):
    page = opened()
    free(page)
    page.get_by_role("button", name="half a turn").click()
    wait(page, f"() => {ELEMENT}.u === 0.5 && !{ELEMENT}.glide")
    assert page.locator(".now").inner_text().startswith("Half a turn: six teeth")
    page.get_by_role("button", name="third tooth").click()
    wait(page, f"() => {ELEMENT}.u === 0.25 && !{ELEMENT}.glide")
    assert reading(page, "teeth") == 3
    assert page.locator(".now").inner_text().startswith("Tooth by tooth")


def test_playing_takes_the_seconds_of_the_score_and_ends(opened):
    page = opened()
    free(page)
    page.locator(".pace select").select_option("2")
    frames_kept(page)
    page.evaluate(f"() => {ELEMENT}.play(true)")
    wait(page, f"() => !{ELEMENT}.playing && {ELEMENT}.u === 1")
    (first, _), *rest = page.evaluate("window.frames_of")
    moved = [(2.0 * (now - first) / 6000.0, u) for now, u in rest if u < 1.0]
    assert moved and all(u == pytest.approx(due, abs=1e-3) for due, u in moved)
    assert reading(page, "small") == 360.0
    assert page.locator(".play").inner_text() == "Play"


def test_it_asks_before_it_moves_and_says_why(opened):
    page = opened()
    assert page.locator(".play").is_disabled()
    assert page.locator("dl").is_hidden() and page.locator(".stops").is_hidden()
    assert page.get_by_text("Each tooth of the one is answered").is_hidden()
    page.locator(".hold").focus()
    page.keyboard.press("End")
    assert page.evaluate(f"{ELEMENT}.u") == 0.0
    page.get_by_role("button", name="Two thirds of a turn, the same way").click()
    assert page.locator(".verdict").inner_text() == "Not so. Where two wheels touch, both rims run the same way."
    assert page.locator(".play").is_enabled()
    page.get_by_role("button", name="Choose another answer").click()
    page.get_by_role("button", name="Two thirds of a turn, the other way").click()
    assert page.locator(".verdict").inner_text().startswith("That is right. 12 teeth pass")
    page.locator(".pick", has_text="Slid along").click()
    assert page.locator(".ask").is_hidden() and page.locator(".play").is_enabled()


def test_a_lesson_on_a_design_turns_by_the_ratio_that_its_teeth_give(opened):
    """The roof garden's turntable: 100 teeth in a held ring of 102, read at a ring of 100."""
    about = subject(assess(read(EXAMPLES / "azimuth_belt.toml")))
    english = Language("en")
    page = opened(
        lesson_page("A lesson", [scene(name, about, english) for name in ("racks", "count", "members")], english)
    )
    ratio = Fraction(100 - 102, 100)
    racks, count, members = (page.locator("lobewright-scene").nth(k) for k in range(3))

    def told(element: Any, name: str) -> float:
        drawn(page)
        return number(element.locator(f"[data-reading={name}] dd").inner_text())

    for element in (racks, count, members):
        element.locator(".skip").click()
    racks.locator("input[type=range]").fill("0.6")
    assert told(racks, "out") == pytest.approx(ratio * told(racks, "in"), abs=0.006)
    count.locator(".hold").focus()
    page.keyboard.press("End")
    assert told(count, "generator") == 360.0 and told(count, "count") == 102
    assert told(count, "read") == pytest.approx(360.0 * ratio, abs=0.006)
    page.keyboard.press("Home")
    count.locator(".look").scroll_into_view_if_needed()
    box, (x0, y0, x1, _) = count.locator(".hold").bounding_box(), count.evaluate("(one) => one.score.view")
    scale = box["width"] / (x1 - x0)
    centre = box["x"] - x0 * scale, box["y"] + box["height"] + y0 * scale
    for k in range(19):
        angle = math.radians(10.0 * k)
        page.mouse.move(centre[0] + 40.0 * scale * math.cos(angle), centre[1] - 40.0 * scale * math.sin(angle))
        if k == 0:
            page.mouse.down()
    page.mouse.up()
    assert told(count, "generator") == pytest.approx(180.0, abs=1.0)
    assert told(count, "read") == pytest.approx(ratio * told(count, "generator"), abs=0.02)
    members.get_by_role("button", name="Half way").click()
    wait(page, "() => document.querySelectorAll('lobewright-scene')[2].u === 0.5")
    assert told(members, "driven") == 360.0
    assert told(members, "read") == pytest.approx(360.0 * ratio, abs=0.06)


def test_many_takes_stand_in_a_list(opened):
    made = invented_scene()
    takes = tuple(dataclasses.replace(made.takes[1], name=f"take_{k}", title=f"Take {k}") for k in range(5))
    page = opened(scene_page(dataclasses.replace(made, takes=takes), Language("en")))
    page.get_by_label("Show", exact=True).locator("visible=true").last.select_option(label="Take 3")
    assert page.evaluate(f"{ELEMENT}.take") == 3 and page.locator(".pick").count() == 0
    for letters, side_by_side in (
        (30, 2),
        (40, 0),
    ):  # two long titles would take as many lines as the picture has to spare
        long = tuple(dataclasses.replace(take, title=name * letters) for take, name in zip(takes, "ab", strict=False))
        page = opened(scene_page(dataclasses.replace(made, takes=long), Language("en")))
        assert page.locator(".pick").count() == side_by_side


def test_where_less_motion_is_asked_for_it_goes_by_steps(opened):
    page = opened(reduced_motion="reduce")
    free(page)
    frames_kept(page)
    page.evaluate(f"() => {ELEMENT}.play(true)")
    wait(page, f"() => {ELEMENT}.u > 0.15")
    steps: dict[float, float] = {}
    for now, u in page.evaluate("window.frames_of"):
        steps.setdefault(u, now)
    times = list(steps.values())
    assert len(times) >= 3 and all(after - before > 800.0 for before, after in pairwise(times))


def test_what_no_hand_moves_is_a_picture_with_a_name_and_no_slider(opened):
    made = invented_scene()
    score = dataclasses.replace(made.takes[1].score, drag=None)
    page = opened(
        scene_page(dataclasses.replace(made, takes=(Take("seen", "Seen", score),)), Language("en")), bypass_csp=True
    )
    picture = page.get_by_role("img", name="Two invented wheels")
    assert picture.get_attribute("aria-valuenow") is None and picture.get_attribute("tabindex") is None
    assert picture.get_attribute("aria-disabled") is None
    assert grave(page) == []


def test_german_figures_and_words(opened):
    page = opened(scene_page(invented_scene("de"), Language("de")))
    page.get_by_role("button", name="Ohne Antwort zeigen").click()
    page.locator("input[type=range]").fill("0.3")
    drawn(page)
    assert page.locator("[data-reading=big] .figure").inner_text() == "−72,0° gedreht"


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_paper_is_light_where_it_is_printed_and_can_be_switched(opened, scheme):
    page = opened(color_scheme=scheme)
    paper = "() => getComputedStyle(document.body).backgroundColor"
    before = page.evaluate(paper)
    page.get_by_role("button", name="Light or dark").click()
    drawn(page)
    assert page.evaluate(paper) != before
    page.evaluate("dispatchEvent(new Event('beforeprint'))")
    assert page.evaluate(paper) == "rgb(246, 247, 243)"
    assert page.get_by_text("Each tooth of the one is answered").is_visible()
    page.evaluate("dispatchEvent(new Event('afterprint'))")
    assert page.evaluate(paper) != before
    assert page.pdf()[:5] == b"%PDF-"


def test_big_type_is_big(opened):
    page = opened(viewport={"width": 1920, "height": 1080})
    size = f"() => parseFloat(getComputedStyle({ELEMENT}.shadowRoot.querySelector('dd')).fontSize)"
    before = page.evaluate(size)
    page.get_by_role("button", name="Big type").click()
    assert page.evaluate(size) == pytest.approx(1.5 * before)


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_no_serious_finding_of_the_accessibility_rules(opened, scheme, size):
    width, height = SIZES[size]
    told = Told('<h2>Told</h2><p>Text with <a href="https://example.org">a link</a>.</p>')
    page = opened(
        lesson_page(
            "Invented lesson", (told, invented_scene(), invented_scene()), Language("en"), Around(below=("Invented.",))
        ),
        color_scheme=scheme,
        viewport={"width": width, "height": height},
        bypass_csp=True,
    )
    for given in (None, 0):
        if given is not None:
            page.evaluate(f"() => {ELEMENT}.answer({given})")
        page.evaluate(
            "() => document.querySelectorAll('lobewright-scene').forEach((one) => "
            "one.shadowRoot.querySelectorAll('details').forEach((more) => { more.open = true; }))"
        )
        assert grave(page) == []
    assert page.evaluate("() => document.documentElement.scrollWidth") <= width


CUT = """() => {
  const plain = CanvasRenderingContext2D.prototype.fillText;
  window.cut = new Map();
  CanvasRenderingContext2D.prototype.fillText = function (words, ...rest) {
    const { a, b, e } = this.getTransform();
    const wide = a * this.measureText(words).width;
    const left = e - { left: 0, center: wide / 2, right: wide }[this.textAlign];
    if (Math.abs(b) < 1e-6 && words.length > 5) window.cut.set(words, [left, this.canvas.width - left - wide]);
    return plain.call(this, words, ...rest);
  };
}"""


def test_big_type_is_not_cut_at_the_edges_of_a_picture(opened):
    """Words at both edges and in the middle, and the moving texts of a real scene in German, as large as a projector needs."""
    made = invented_scene()
    words = (("start", -18.0, "Words that begin at the left and go on to the far edge of the picture, and on"),
             ("end", 18.0, "Words that end at the right and begin before its near edge, which is far away"),
             ("middle", 12.0, "Words about a place near the right"))  # fmt: skip
    items = [
        {"kind": "text", "at": [x, 3.0 * k], "text": text, "size_px": 30.0, "anchor": anchor}
        for k, (anchor, x, text) in enumerate(words)
    ]
    score = lettered(dataclasses.replace(made.takes[1].score, items=tuple(items)))
    about = subject(assess(read(EXAMPLES / "azimuth_belt.toml")))
    for shown in (
        dataclasses.replace(made, takes=(Take("seen", "Seen", score),)),
        scene("count", about, Language("de")),
    ):
        page = opened(scene_page(shown, Language("en")))
        page.evaluate(CUT)
        page.get_by_role("button", name="Big type").click()
        if shown.takes[0].ask:
            free(page)
        for u in (0.0, 0.3, 1.0):
            page.evaluate(f"{ELEMENT}.stand({u})")
            drawn(page)
        rooms = page.evaluate("Object.fromEntries(window.cut)")
        assert len(rooms) >= 3
        assert {text: room for text, room in rooms.items() if min(room) < -1.0} == {}


@pytest.fixture(scope="module")
def belt():
    return subject(assess(read(EXAMPLES / "azimuth_belt.toml")))


def box(page: Any, what: str) -> dict[str, float]:
    """Where something of the player stands in the window."""
    found = page.locator(what).first.bounding_box()
    return {**found, "right": found["x"] + found["width"], "bottom": found["y"] + found["height"]}


@pytest.mark.parametrize("name", ["count", "members", "racks"])
def test_picture_question_and_first_keys_are_in_view_on_a_laptop_in_big_type(opened, belt, name):
    """German, whose words are long; the scene with its cautions and its choice of takes above the picture."""
    page = opened(
        scene_page(
            scene(name, belt, Language("de")), Language("de"), Around(before=cautions(belt.found, Language("de")))
        ),
        viewport={"width": 1366, "height": 768},
    )
    page.get_by_role("button", name="Große Schrift").click()
    look, first = box(page, ".look"), box(page, ".choices button")
    assert look["bottom"] <= 768 and look["height"] >= 0.45 * 768 and box(page, ".play")["bottom"] <= 768
    assert first["bottom"] <= 768 and first["x"] >= look["right"]
    page.locator(".skip").click()
    assert box(page, ".look")["bottom"] <= 768 and box(page, ".play")["bottom"] <= 768
    assert page.evaluate("() => document.documentElement.scrollWidth") <= 1366


@pytest.mark.parametrize("size", [(1280, 800), (1366, 768)])
@pytest.mark.parametrize("big", [False, True])
def test_readings_stay_in_view_while_the_slider_is_used(opened, belt, size, big):
    """From the picture's upper edge down to the last reading; in usual type from the choice of takes down to the caption."""
    names = ("racks", "wedge", "count", "members")
    german = Language("de")
    page = opened(
        lesson_page("Stunde", [scene(name, belt, german) for name in names], german),
        viewport={"width": size[0], "height": size[1]},
    )
    if big:
        page.get_by_role("button", name="Große Schrift").click()
    for place in range(len(names)):
        element = page.locator("lobewright-scene").nth(place)
        element.locator(".skip").click()
        element.locator("input[type=range]").fill("0.6")
        drawn(page)
        top = (element.locator(".look") if big else element).bounding_box()["y"]
        found = [element.locator(one).bounding_box() for one in ("dl", "input[type=range]", "dl" if big else ".said")]
        assert [one["y"] + one["height"] - top for one in found if one["y"] + one["height"] - top > size[1]] == [], (
            names[place]
        )


def test_a_remark_is_small_and_told_only_below_zero(opened):
    page = opened()
    free(page)
    drawn(page)
    remark = page.locator("[data-reading=big] small")
    slider = page.locator("input[type=range]")
    before = box(page, "dl")
    assert (
        page.locator("dl small").count() == 1
        and remark.is_hidden()
        and "minus" not in slider.get_attribute("aria-valuetext")
    )
    slider.fill("0.4")
    drawn(page)
    assert remark.is_visible() and remark.inner_text() == "(minus: clockwise)" and box(page, "dl") == before
    assert "−96.0° (minus: clockwise)" in slider.get_attribute("aria-valuetext")
    sizes = page.evaluate(f"""() => ["small", ".figure"].map((what) =>
      parseFloat(getComputedStyle({ELEMENT}.shadowRoot.querySelector(`[data-reading=big] ${{what}}`)).fontSize))""")
    assert sizes[0] < 0.7 * sizes[1]


@pytest.mark.parametrize("size", [(1920, 1080), (1366, 768), (844, 390)])
@pytest.mark.parametrize("big", [False, True])
def test_the_whole_screen_is_used(opened, belt, size, big):
    page = opened(
        scene_page(scene("members", belt, Language("de")), Language("de")),
        viewport={"width": size[0], "height": size[1]},
    )
    if big:
        page.get_by_role("button", name="Große Schrift").click()
    page.locator(".full").click()
    wait(page, "() => document.fullscreenElement")
    wait(page, "([wide, high]) => innerWidth === wide && innerHeight === high", size)
    drawn(page)
    for answered in (False, True):
        if answered:
            page.locator(".choices button").first.click()
            drawn(page)
        look = box(page, ".look")
        assert max(look["width"] / size[0], look["height"] / size[1]) >= 0.8
        assert look["x"] >= 0 and look["y"] >= 0 and look["right"] <= size[0] and look["bottom"] <= size[1]
        if size[1] > 480:
            play = box(page, ".play")
            assert play["bottom"] <= size[1]
    if size[1] > 480 and not big:  # all that is told and every stop, without a step down
        assert box(page, "dl")["bottom"] <= size[1] and box(page, ".stops")["bottom"] <= size[1]
    assert page.locator("div.more").is_hidden() and page.locator(".intro").is_hidden()


def test_a_page_of_one_scene_begins_with_its_own_cautions_and_the_most_serious_and_folds_the_rest(opened, belt):
    english = Language("en")
    before = cautions(belt.found, english)
    made = scene("count", belt, english)
    page = opened(scene_page(made, english, Around(before=before)), viewport={"width": 390, "height": 844})
    (own,) = made.cautions
    rest = [line for line in before if line not in (before[0], own)]
    assert own in before and "sunlight" in before[0] and len(rest) == len(before) - 2 >= 3
    for line in (before[0], own):
        shown = page.get_by_text(line)
        assert shown.is_visible() and shown.bounding_box()["y"] < box(page, ".look")["y"] < 844
    for line in rest:
        assert page.get_by_text(line).count() == 1 and page.get_by_text(line).is_hidden()
    more = page.get_by_text(f"{len(rest)} more cautions")
    assert more.bounding_box()["y"] < box(page, ".look")["y"]
    more.click()
    assert all(page.get_by_text(line).is_visible() for line in rest)


def test_what_is_small_in_a_picture_is_listed_on_a_telephone_and_what_answers_comes_after(opened):
    made = invented_scene()
    lists = (Listed("Small wheel", ("12 teeth",), ("turns by a third",)), Listed("Big wheel", ("18 teeth",)))
    shown = dataclasses.replace(made, takes=(dataclasses.replace(made.takes[0], lists=lists),))
    page = opened(scene_page(shown, Language("en")), viewport={"width": 390, "height": 844}, bypass_csp=True)
    assert (
        page.get_by_text("12 teeth", exact=True).is_visible() and page.get_by_text("18 teeth", exact=True).is_visible()
    )
    assert page.get_by_text("turns by a third").is_hidden() and page.locator(".full").is_visible()
    free(page)
    assert page.get_by_text("turns by a third").is_visible()
    assert grave(page) == []


def test_a_take_has_words_of_its_own_in_the_place_of_those_of_the_scene(opened):
    made = invented_scene()
    first, second = made.takes
    own = dataclasses.replace(second, intro=("It slides here.",), points=("Nothing turns.",))
    page = opened(scene_page(dataclasses.replace(made, takes=(first, own)), Language("en")))
    common, slides = page.get_by_text("Invented for tests"), page.get_by_text("It slides here.")
    assert common.is_visible() and slides.is_hidden()
    page.locator(".pick", has_text="Slid along").click()
    assert (
        common.is_hidden()
        and slides.is_visible()
        and page.get_by_text("What to see").locator("visible=true").count() == 1
    )
    page.get_by_text("What to see").locator("visible=true").click()
    assert page.get_by_text("Nothing turns.").is_visible() and page.get_by_text("Each tooth of the one").is_hidden()
    page.locator(".pick", has_text="Turned by hand").click()
    assert common.is_visible() and slides.is_hidden()


SEEN = """() => {
  const plain = CanvasRenderingContext2D.prototype.fillText;
  window.words = new Set();
  CanvasRenderingContext2D.prototype.fillText = function (words, ...rest) {
    window.words.add(words);
    return plain.call(this, words, ...rest);
  };
}"""
PIXELS = """() => {
  const tone = getComputedStyle(document.documentElement).getPropertyValue("--lw-overlap").trim();
  const [r, g, b] = tone.match(/[0-9a-f]{2}/gi).map((two) => parseInt(two, 16));
  const canvas = document.querySelector("lobewright-scene").shadowRoot.querySelector("canvas");
  const { width, height } = canvas;
  const copy = Object.assign(document.createElement("canvas"), { width, height }).getContext("2d");
  copy.drawImage(canvas, 0, 0);
  const { data } = copy.getImageData(0, 0, width, height);
  let count = 0;
  for (let k = 0; k < data.length; k += 4) count += data[k] === r && data[k + 1] === g && data[k + 2] === b;
  return count;
}"""
"""How many pixels of the picture have the colour of a tooth inside a tooth."""


def test_a_picture_whose_question_waits_does_not_answer_it(opened, belt):
    """Does one tooth more fit? At the first lobe it does; the other lobe, the curves and every depth come with the answer."""
    made = scene("fit", belt, Language("en"))
    ask = made.takes[0].ask
    page = opened(scene_page(made, Language("en")))
    page.evaluate(SEEN)
    page.evaluate(f"{ELEMENT}.stand(0)")
    drawn(page)
    shown = page.evaluate("[...window.words]")
    known = {"1", "2", *re.findall(r"\d+", ask.question)}  # lobes, and the teeth that are asked about
    assert {"Lobe 1", "Lobe 2"} <= set(shown) and set(re.findall(r"[\d.,]+", " ".join(shown))) <= known
    assert not any("µm" in words for words in shown) and page.evaluate(PIXELS) == 0
    told = page.locator("[role=slider]").first
    assert page.locator(".now").inner_text() == "" and page.locator("dl").is_hidden()
    assert told.get_attribute("aria-valuetext") == ask.question and told.get_attribute("aria-describedby") is None
    page.locator(".choices button").first.click()
    drawn(page)
    assert any("µm" in words for words in page.evaluate("[...window.words]")) and page.evaluate(PIXELS) > 100
    assert "µm" in page.locator(".now").inner_text() and "µm" in page.locator("dl").inner_text()
