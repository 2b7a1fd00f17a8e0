"""The form and the views beside it, as a person meets them: nothing typed is lost, a drive is begun, kept beside, brought."""

from __future__ import annotations

from typing import Any

from live_page import Held, answers_counted, told_of, wait

from lobewright.design.starters import starter

WIDTH = "entry-flexible_ring.width_mm"
VALUE = "([id, value]) => document.getElementById(id)?.value === value"


def opened_group(page: Any, name: str) -> None:
    """Open a group and all that is folded in it, as pressing it would."""
    wait(page, "(name) => document.getElementById(`group-${name}`)?.parentElement", name)
    page.evaluate("""(name) => { document.getElementById(`group-${name}`).parentElement.open = true; }""", name)


def test_what_is_typed_outlasts_changes_from_elsewhere(tab):
    page = tab()
    other = tab(page.context)
    field = page.locator(f'[id="{WIDTH}"]')
    wait(page, VALUE, [WIDTH, "15"])
    field.fill("15.7")
    for turn, width in ((1, "14"), (2, "13")):
        there = other.locator(f'[id="{WIDTH}"]')
        there.fill(width)
        there.press("Enter")
        wait(
            page,
            "(width) => document.querySelector('#form .meanwhile:not([hidden])')?.textContent.includes(width)",
            f"now {width}.",
        )
        assert field.input_value() == "15.7" and page.evaluate("document.activeElement.id") == WIDTH
        if turn == 1:  # another row makes the form anew
            rows = page.locator("#form details").count()
            other.locator('[id="add-duty"]').click()
            wait(page, "(rows) => document.querySelectorAll('#form details').length > rows", rows)
            assert field.input_value() == "15.7" and page.evaluate("document.activeElement.id") == WIDTH
    field.press("Escape")
    assert field.input_value() == "13"


def test_what_was_refused_is_gone_when_a_change_is_taken_back(tab):
    page = tab()
    tab.heard.refusals_meant = True
    wait(page, VALUE, [WIDTH, "15"])
    field = page.locator(f'[id="{WIDTH}"]')
    field.fill("14")
    field.press("Enter")
    wait(page, "() => !document.querySelector('#undo').disabled")
    field.fill("a hand")
    field.press("Enter")
    wait(page, f"() => document.getElementById('{WIDTH}').ariaInvalid === 'true'")
    page.get_by_role("button", name="Take back").click()
    wait(page, VALUE, [WIDTH, "15"])
    assert page.locator("#form .meanwhile:visible").count() == 0 and field.get_attribute("aria-invalid") is None


def test_what_is_kept_from_here_is_not_told_as_the_change_of_another(tab):
    page = tab()
    wait(page, VALUE, [WIDTH, "15"])
    field = page.locator(f'[id="{WIDTH}"]')
    answers_counted(page)
    forms = Held(page, "**/api/form")
    field.fill("14")
    field.press("Enter")
    wait(page, "() => !document.querySelector('#undo').disabled")
    field.fill("13")  # and typed on before the form comes back with the first
    forms.wait()
    forms.let_go("/api/form")
    assert page.locator("#form .meanwhile:visible").count() == 0 and field.input_value() == "13"
    field.press("Enter")
    told_of(page, "/api/form", 2)
    assert page.locator("#form .meanwhile:visible").count() == 0 and field.input_value() == "13"


def test_names_are_chosen_with_words_that_tell_them(tab, live):
    page = tab()
    choice = page.locator('[id="entry-generator.bearing"]')
    wait(page, VALUE, ["entry-generator.bearing", "625"])
    words = choice.locator("option").all_inner_texts()
    assert words[0] == "625: 5 × 16 × 5 mm, in your drawer"
    page.locator('[id="entry-flexible_ring.designation"]').select_option("H3M")
    wait(page, "() => !document.querySelector('#undo').disabled")
    assert 'designation = "H3M"' in (live.folder / "azimuth_belt.toml").read_text("utf-8")
    page.get_by_role("button", name="Take back").click()
    wait(page, VALUE, ["entry-flexible_ring.designation", "C3M"])
    assert "3" not in page.locator('[id="entry-generator.lobes"] option').all_inner_texts()


def test_other_units_and_a_decimal_comma_are_shown_as_the_file_has_them(tab, live):
    page = tab()
    wait(page, VALUE, [WIDTH, "15"])
    for typed, kept in (("1,6 cm", "16"), ("15,5", "15.5")):
        page.locator(f'[id="{WIDTH}"]').fill(typed)
        page.locator(f'[id="{WIDTH}"]').press("Enter")
        wait(page, VALUE, [WIDTH, kept])
        assert f"width_mm = {float(kept)}" in (live.folder / "azimuth_belt.toml").read_text("utf-8")


def test_a_refused_pair_leaves_the_kind_and_says_why(tab, live):
    (live.folder / "plain.toml").write_text(starter("printed_cup-cam_plain"), "utf-8")
    page = tab()
    tab.heard.refusals_meant = True
    answers_counted(page)
    looks = Held(page, "**/api/look")
    page.locator("#files").select_option("plain.toml")
    wait(page, "() => document.getElementById('kind-flexible_ring')?.value === 'printed_cup'")
    looks.wait()
    before = (live.folder / "plain.toml").read_bytes()
    page.locator('[id="kind-flexible_ring"]').select_option("belt")
    told = "() => document.getElementById('fault-table-flexible_ring').textContent.includes('Nothing was changed')"
    wait(page, told)
    looks.let_go("/api/look")
    assert page.evaluate(told), "a look that was asked for before does not wipe it"
    assert page.locator('[id="kind-flexible_ring"]').input_value() == "printed_cup"
    assert (live.folder / "plain.toml").read_bytes() == before


def test_the_printer_of_the_workshop_is_shown_as_that(tab, live):
    page = tab()
    wait(page, "() => document.getElementById('group-process')?.textContent.includes('from workshop.toml')")
    opened_group(page, "process")
    assert page.locator('[id="entry-process.nozzle_mm"]').input_value() == "0.4"
    page.get_by_role("button", name="Open workshop.toml").click()
    wait(page, "() => document.querySelector('.told').textContent.includes('workshop file')")
    assert page.locator("#motion").is_hidden() and page.locator("#begin").is_visible()
    assert page.locator("#ways a").first.inner_text() == "The workshop"
    top = page.evaluate(
        "() => ['form', 'begin'].map((one) => document.getElementById(one).getBoundingClientRect().top)"
    )
    assert 0 < top[0] < 300 < top[1], "its entries come first, and are in sight"
    opened_group(page, "bearings[1]")
    count = page.locator('[id="entry-bearings[1].count"]')
    count.fill("7")
    count.press("Enter")
    wait(page, "() => !document.querySelector('#undo').disabled")
    assert "count = 7" in (live.folder / "workshop.toml").read_text("utf-8")


def test_a_drive_is_begun_from_a_ratio_and_taken(tab, live):
    page = tab()
    page.get_by_label("A ratio that I need").check()
    page.get_by_label("Turns of the generator for one turn of the output").fill("61,8")
    page.get_by_role("button", name="Propose a drive").click()
    wait(page, "() => document.querySelector('.proposal').textContent.includes('break first')")
    assert "−62 : 1" in page.locator(".proposal").inner_text() and page.locator(".proposal li").count() == 2
    assert not (live.folder / "ring_of_mine.toml").exists()
    page.get_by_label("Name of its file").fill("ring_of_mine")
    page.get_by_role("button", name="Take it").click()
    wait(page, """() => document.querySelector('[data-number="ratio"]').textContent.includes("62")""")
    assert (live.folder / "ring_of_mine.toml").exists() and page.locator("#files").input_value() == "ring_of_mine.toml"


def test_a_kept_state_stays_beside_while_the_design_moves(tab):
    page = tab()
    wait(page, "() => !document.querySelector('#compare button').disabled")
    page.get_by_role("button", name="Keep this state beside").click()
    assert page.locator("#compare .differs").count() == 0
    opened_group(page, "rigid_ring[2]")
    field = page.locator('[id="entry-rigid_ring[2].clearance_mm"]')
    field.fill("0.2")
    field.press("Enter")
    wait(page, "() => document.querySelector('#compare .differs')")
    differing = [one.split("\n") for one in page.locator("#compare .differs").all_inner_texts()]
    assert any("Smallest gap" in row[0] for row in differing)
    page.get_by_role("button", name="Put it away").click()
    assert page.locator("#compare table").is_hidden()


def test_drives_alone_stand_beside_and_ratios_are_told_in_turns(tab):
    page = tab()
    wait(page, "() => !document.querySelector('#compare button').disabled")
    files = page.locator("#compare select")
    names = files.locator("option").all_inner_texts()
    assert "focus_steel" in names and "workshop" not in names
    files.select_option("focus_steel.toml")
    ratios = page.locator("#compare tbody", has_text="Turns of the generator")
    ratios.wait_for()
    now, beside, differs = ratios.locator("td").all_inner_texts()
    ours, theirs = (int(one.replace("−", "-").split(" ")[0]) for one in (now, beside))
    more = abs(ours) - abs(theirs)
    assert more and differs.startswith(f"{abs(more)} turns {'more' if more > 0 else 'fewer'}")
    assert ("the other way round" in differs) == (ours * theirs < 0)


def test_of_two_that_are_chosen_to_stand_beside_the_later_one_does(tab):
    page = tab()
    files = page.locator("#compare select")
    answers_counted(page)
    late = Held(page, "**/api/look", first=True)
    files.select_option("focus_steel.toml")
    late.wait()
    files.select_option("elevation_printed.toml")
    page.get_by_text("Beside: greenhouse arm").wait_for()
    late.let_go("/api/look")
    assert files.input_value() == "elevation_printed.toml" and page.get_by_text("Beside: greenhouse arm").is_visible()


def test_a_proposal_does_not_stand_under_another_question(tab):
    page = tab()
    page.get_by_label("A ratio that I need").check()
    answers_counted(page)
    page.get_by_label("Turns of the generator for one turn of the output").fill("60")
    late = Held(page, "**/api/begin")
    page.get_by_role("button", name="Propose a drive").click()
    late.wait()
    page.get_by_label("A belt", exact=True).check()
    late.let_go("/api/begin")
    assert page.locator(".proposal").inner_text() == ""


def test_files_that_are_brought_are_checked_before_they_are_sent(tab, live):
    page = tab()
    tab.heard.refusals_meant = True
    before = {one.name for one in live.folder.iterdir()}
    told = "([words]) => document.querySelector('.bring [role=status]').textContent.includes(words)"
    text = (live.folder / "azimuth_belt.toml").read_bytes()
    for name, content, words in (
        ("drive.exe", text, "ends in .toml"),
        ("long.toml", b"#" * 1_000_001, "at most 1000 kB"),
        ("wild.toml", b"\xff\xfe", "not UTF-8"),
        ("page.toml", b"<script>alert(1)</script>", "not TOML"),
    ):
        page.locator("#bring").set_input_files({"name": name, "mimeType": "text/plain", "buffer": content})
        wait(page, told, [words])
    assert {one.name for one in live.folder.iterdir()} - {".lobewright"} == before - {".lobewright"}
    page.locator("#bring").set_input_files({"name": "azimuth_belt.toml", "mimeType": "text/plain", "buffer": text})
    wait(page, told, ["azimuth_belt_2.toml is open now"])
    assert (live.folder / "azimuth_belt_2.toml").read_bytes() == text
