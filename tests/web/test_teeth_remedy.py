"""A changed tooth count breaks a drive; the teeth that mend it are tried and offered."""

from __future__ import annotations

import pytest

from lobewright.design.edits import Edit, edit_text
from lobewright.web.look import edited, look


def looked(folder, file: str, *edits: tuple[str, object], coarse: bool = False):
    text = edit_text((folder / file).read_text("utf-8"), tuple(Edit(*one) for one in edits), dict)
    return text, look(text, [], file, str(folder), coarse)


@pytest.mark.parametrize(
    ("file", "edits", "teeth"),
    [
        ("azimuth_belt.toml", [("flexible_ring.teeth", 101)], [103, 101]),
        ("azimuth_belt.toml", [("flexible_ring.teeth", 120)], [122, 120]),
        ("azimuth_belt.toml", [("flexible_ring.teeth", 80)], [82, 80]),
        ("azimuth_belt.toml", [("rigid_ring[1].teeth", 103)], [102]),
        ("elevation_printed.toml", [("flexible_ring.teeth", 111)], [113]),
    ],
)
def test_teeth_that_fit_again_are_offered_and_mend(folder, file, edits, teeth):
    text, found = looked(folder, file, *edits)
    fault = next(one for one in found["faults"] if "edits" in one)
    assert [one["value"] for one in fault["edits"]] == teeth
    assert all(f"teeth: {count}" in fault["remedy"] for count in teeth)
    assert fault["where"].startswith("Rigid ring ") and fault["where"].endswith(", teeth")
    mended = edited(text, fault["edits"], file, folder)
    assert look(mended, [], file, str(folder), True)["ok"]


def test_nothing_is_offered_that_does_not_mend_all(folder):
    _, found = looked(folder, "azimuth_belt.toml", ("flexible_ring.teeth", 101), ("rigid_ring[2].offset_mm", 1.0))
    assert len(found["faults"]) > 1 and not any("edits" in one for one in found["faults"])


def test_while_moving_nothing_is_tried(folder):
    _, found = looked(folder, "azimuth_belt.toml", ("flexible_ring.teeth", 101), coarse=True)
    assert found["faults"] and not any("edits" in one for one in found["faults"])


def test_a_fault_of_one_number_is_shown_at_the_whole_list(folder):
    text = (folder / "workshop.toml").read_text("utf-8").replace("[220.0, 220.0, 250.0]", "[220.0, 220.0]")
    (folder / "workshop.toml").write_text(text, "utf-8")
    found = look(text, [], "workshop.toml", str(folder), False)
    assert [(one["place"], one["field"]) for one in found["faults"]] == [("printer.bed_mm[3]", "printer.bed_mm")]
