"""What jobs wrote and found, as the page tells of it when the design has changed, or when it cannot be had."""

from __future__ import annotations

import json

import pytest
from live_page import wait

from lobewright.assessment.run import assess
from lobewright.design.files import read
from lobewright.report.results_json import results_text

OLD = """() => [...document.querySelectorAll("main .meanwhile")].some(
    (one) => one.checkVisibility() && one.textContent.includes("do not print from it"))"""
LISTED = (
    """() => [...document.querySelectorAll(".written")].some((one) => one.textContent.includes("azimuth_belt_make"))"""
)


@pytest.fixture
def made(live):
    """A folder as ``make`` leaves it, of the design as it stands, written before the program began: no job tells of it."""
    place = live.folder / "azimuth_belt_make"
    place.mkdir(exist_ok=True)
    (place / "results.json").write_text(results_text(assess(read(live.folder / "azimuth_belt.toml")), None), "utf-8")
    return live


def shown(page):
    """Until the view of what was made has told of the folder."""
    wait(page, LISTED)
    return page


def test_what_was_made_from_another_state_is_told_as_old(made, tab):
    page = shown(tab())
    assert not page.evaluate(OLD)
    edit = {"edits": [{"place": "rigid_ring[1].width_mm", "value": 6.5}]}
    made.tell("api/edits", edit)
    wait(page, OLD)
    page.reload()
    shown(page)
    wait(page, OLD)
    made.tell("api/step", {"by": -1})
    wait(page, f"() => !({OLD})()")


def test_a_result_that_cannot_be_had_is_told(live, tab):
    tab.heard.refusals_meant = True
    page = tab()
    job = {"number": 7, "kind": "load", "file": "azimuth_belt.toml", "revision": 0, "phase": "done", "word": "done", "share": 1,
           "seconds": 9.0, "left_s": None}  # fmt: skip

    def news(route):
        answer = route.fetch()
        route.fulfill(response=answer, body=json.dumps({**answer.json(), "jobs": [job]}))

    page.route("**/api/news", news)
    wait(page, """() => document.querySelector('[data-job="load"]').textContent.includes("cannot be shown. ")""")
    page.unroute_all(behavior="wait")
