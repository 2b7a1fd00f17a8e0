"""A changed tooth count breaks the drive; the page offers the teeth that mend it, with one button."""

from __future__ import annotations

from live_page import wait

TEETH = "entry-flexible_ring.teeth"


def test_teeth_that_mend_the_drive_are_one_press_away(tab):
    page = tab()
    wait(page, f"() => document.getElementById('{TEETH}')?.value === '100'")
    field = page.locator(f'[id="{TEETH}"]')
    field.fill("121")
    field.press("Enter")
    wait(page, "() => document.querySelector('#judged .answer:not([hidden]) button')")
    offered = page.locator("#judged > .answer")
    assert "Rigid ring base, teeth: 123; Rigid ring output, teeth: 121" in offered.inner_text()
    offered.get_by_role("button").click()
    wait(page, "() => document.querySelector('[data-number=ratio]').textContent.includes('121/2')"
               " || document.querySelector('[data-number=ratio]').textContent.includes('60.5')")  # fmt: skip
    assert page.locator("#judged .faults:visible").count() == 0 and offered.is_hidden()
