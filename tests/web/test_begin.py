"""From one answer to a whole design, its mends told, and the two numbers that would break first."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from lobewright.assessment.run import assess
from lobewright.design import catalogue, starters
from lobewright.errors import FileFault
from lobewright.verdict import State
from lobewright.web.begin import asked_ratio, begun, choices, from_bearing, from_belt, from_ratio, weakest
from lobewright.web.look import design_of


def test_a_belt_in_the_drawer_becomes_its_own_drive(folder):
    design = design_of(from_belt("C3M", 120, 9.0), "", folder)
    ring, outer = design.flexible_ring, [one.teeth for one in design.rigid_ring]
    assert (ring.designation, ring.teeth, ring.width_mm, outer) == ("C3M", 120, 9.0, [122, 120])
    assert sum(one.width_mm for one in design.rigid_ring) < ring.width_mm


@pytest.mark.parametrize("ratio", [20, 50, 72.4, 200])
def test_a_ratio_is_met_to_the_nearest_that_two_lobes_give(folder, ratio):
    found = assess(design_of(from_ratio(ratio), "", folder))
    assert abs(abs(float(found.motion.ratio)) - ratio) <= 0.5


def test_a_bearing_becomes_the_roller(folder):
    design = design_of(from_bearing("608"), "", folder)
    assert design.generator.bearing == "608" and design.flexible_ring.teeth in catalogue.stocked_teeth("C3M")


@pytest.mark.parametrize(
    ("basis", "answer", "told"),
    [
        ("belt", {"designation": "C3M", "teeth": 5, "width_mm": 9}, "16 to 600"),
        ("belt", {"designation": "C3M", "teeth": 100, "width_mm": 500}, "4 to 100 mm"),
        ("belt", {"designation": "none", "teeth": 100, "width_mm": 9}, "none"),
        ("belt", {"designation": "C3M"}, "how many teeth the belt has"),
        ("belt", {"designation": "C3M", "teeth": 99.5, "width_mm": 9}, "a whole number, 16 to 600"),
        ("belt", {"designation": "C3M", "teeth": 99, "width_mm": "wide"}, "how wide the belt is"),
        ("ratio", {"ratio": "abc"}, "20 to 200, as 60 or 60:1"),
        ("ratio", {"ratio": "60:2"}, "how often the generator turns"),
        ("bearing", {}, "which bearing"),
        ("ratio", {"ratio": float("inf")}, "20 to 200"),
        ("ratio", {"ratio": 1000}, "20 to 200"),
        ("bearing", {"designation": "62999"}, "62999"),
        ("starter", {"kind": "../secret"}, "secret"),
        ("luck", {}, "belt, ratio, bearing or starter"),
    ],
)
def test_answers_that_lead_to_no_drive_say_why(folder, basis, answer, told):
    found = begun(basis, answer, str(folder))
    assert found["ok"] is False and told in str(found["faults"])


@pytest.mark.parametrize("said", ["60:1", "1 : 60", "−60", -60, "60,0", 60])
def test_a_ratio_is_taken_as_people_write_it(said):
    assert asked_ratio({"ratio": said}) == 60


def test_a_ratio_that_cannot_be_met_says_which_is(folder):
    found = begun("ratio", {"ratio": 37.3}, str(folder))
    assert found["notes"] == ["Asked for 37.3; 37 is the nearest that can be made with two lobes."]


def test_a_proposal_says_what_the_bearing_does(folder):
    found = begun("bearing", {"designation": "625"}, str(folder))
    assert "625" in found["name"] and "Four bearings 625 (ø16 mm)" in found["notes"][0]


def test_what_fails_and_warns_is_told_before_what_has_room(folder):
    """A gap's limit is 0 and has no room to compare with; it fails all the same."""
    text = from_ratio(50).replace("clearance_mm = ", "clearance_mm = 0.02 # ")
    a = assess(design_of(text, "", folder))
    found = weakest(a)
    assert a.state is State.FAIL and found[0].state is State.FAIL
    assert {v.name for v in a.verdicts if v.state in (State.FAIL, State.WARN)} <= {v.name for v in found}


def test_weakest_has_the_least_room_of_all(folder):
    a = assess(design_of(starters.starter("belt-paired_rollers"), "", folder))
    first, second = weakest(a)
    rooms = sorted(v.margin / abs(v.limit) for v in a.verdicts if v.margin is not None and v.limit)
    assert [v.margin / abs(v.limit) for v in (first, second)] == pytest.approx(rooms[:2])


@pytest.mark.parametrize("teeth", [45, 60, 100, 200])
def test_what_fails_is_mended_by_edits_that_are_told(folder, teeth):
    found = begun("belt", {"designation": "MXL" if teeth == 45 else "C3M", "teeth": teeth, "width_mm": 6}, str(folder))
    assert found["ok"] and len(found["weakest"]) >= 2
    state = assess(design_of(found["text"], "", folder)).state
    assert found["state"] == state.value and (state is not State.FAIL or not found["mended"])


def test_the_drawers_things_are_offered(folder):
    found = choices(folder)
    assert found["owned"]["belts"][0]["designation"] == "C3M" and found["kinds"] == list(starters.KINDS)
    assert {one["designation"] for one in found["owned"]["bearings"]} == {"625", "608"}


def test_a_design_that_was_begun_is_written_once(client, folder):
    text = client.post("/api/begin", json={"basis": "ratio", "answer": {"ratio": 50}}).json()["text"]
    asked = {"file": "mine.toml", "text": text}
    state = client.post("/api/new", json=asked).json()
    assert state["open"]["file"] == "mine.toml" and (folder / "mine.toml").read_text("utf-8") == text
    again = client.post("/api/new", json={**asked, "text": "name = 'other'"})
    assert again.status_code == 422 and (folder / "mine.toml").read_text("utf-8") == text


def test_a_file_that_is_no_toml_is_not_brought(client, folder):
    assert client.post("/api/new", json={"file": "bad.toml", "text": "<script>"}).status_code == 422
    assert not (folder / "bad.toml").exists()


def test_faults_of_the_catalogue_are_ours(folder):
    with pytest.raises(FileFault, match="too large"):
        from_bearing(max(catalogue.bearings(), key=lambda one: one.outer_mm).designation)


def test_a_link_out_of_the_folder_is_no_drawer(folder):
    """What lies there is the business of other programs, and of nobody who looks at this page."""
    for name in ("workshop.toml", "sheet_workshop.toml"):
        (folder / name).unlink(missing_ok=True)
    elsewhere = folder.parent / "elsewhere.toml"
    shutil.copy(Path(__file__).parents[2] / "examples" / "workshop.toml", elsewhere)
    shutil.copy(elsewhere, folder / "mine.toml")
    assert choices(folder)["owned"]["bearings"]
    (folder / "mine.toml").unlink()
    (folder / "mine.toml").symlink_to(elsewhere)
    assert not choices(folder)["owned"]["bearings"]
