"""Every suggestion is an edit that was tried: made in the file, or in memory, its verdict passes and nothing new fails."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import pytest
import tomlkit

from lobewright.advice import candidates, suggest, suggestions
from lobewright.assessment.results import Assessment
from lobewright.assessment.run import assess
from lobewright.design.edits import Edit, apply, as_data, edit_file
from lobewright.design.files import design_from_data, read
from lobewright.design.starters import starter, starter_data
from lobewright.errors import DesignFault, FileFault
from lobewright.verdict import State, Verdict, Working

Change = tuple[str, Any]
EXAMPLES = Path(__file__).parents[2] / "examples"

TROUBLES: dict[str, tuple[str, list[Change]]] = {  # the verdict in trouble, a starter, what makes the trouble
    "flank_gap:base": ("printed_ring", [("rigid_ring[1].clearance_mm", 0.02)]),
    "flank_gap:output": ("printed_ring-rollers", [("generator.set_deflection_mm", 1.4)]),
    "ring_land:output": ("printed_ring", [("tooth.thickness_share", 0.6)]),
    "minor_gap:base": ("printed_ring-rollers", [("generator.set_deflection_mm", 0.31)]),
    "engagement:base": ("printed_ring", [("rigid_ring[1].clearance_mm", 0.9)]),
    "flexible_wall": ("printed_cup", [("flexible_ring.wall_mm", 0.4), ("flexible_ring.barrel_wall_mm", 0.3)]),
    "flexible_strain": ("printed_cup", [("flexible_ring.wall_mm", 3.0)]),
    "bed": ("printed_ring", [("process.bed_mm", [110.0, 110.0, 100.0])]),
    "bed (belt)": ("belt", [("process.bed_mm", [115.0, 110.0, 100.0])]),
    "temperature": ("printed_ring", [("ambient_temperature_C", 70.0)]),
    "cam_fit": ("printed_ring-cam_plain", [("generator.fit_mm", -2.0)]),
    "roller_room": ("belt", [("generator.pair_half_angle_deg", 10.0)]),
    "belt_stock": (
        "belt",
        [("flexible_ring.teeth", 103), ("rigid_ring[1].teeth", 105), ("rigid_ring[2].teeth", 103)],
    ),
    "belt_bend": (
        "belt-rollers",
        [
            ("flexible_ring.designation", "T10"),
            ("flexible_ring.width_mm", 16.0),
            ("flexible_ring.teeth", 20),
            ("rigid_ring[1].teeth", 22),
            ("rigid_ring[2].teeth", 20),
        ],
    ),
}


def in_trouble(kind: str, changes: list[Change]) -> str:
    """Text of a starter with the changes made, comments kept."""
    document: Any = tomlkit.parse(starter(kind))
    for place, value in changes:
        at = document
        *path, last = place.replace("[", ".").replace("]", "").split(".")
        for part in path:
            at = at[int(part) - 1] if part.isdigit() else at[part]
        at[last] = value
    return tomlkit.dumps(document)


def fails(found: Assessment) -> set[str]:
    return {verdict.name for verdict in found.verdicts if verdict.state is State.FAIL}


@pytest.mark.parametrize("trouble", TROUBLES)
def test_a_suggestion_works_in_the_file_and_in_memory(trouble: str, tmp_path: Path) -> None:
    kind, changes = TROUBLES[trouble]
    name = trouble.split(" ")[0]
    path = tmp_path / "drive.toml"
    path.write_text(in_trouble(kind, changes), "utf-8")
    before = assess(read(path))
    assert before.verdict(name).state in (State.FAIL, State.WARN)
    found = suggest(before, before.verdict(name))
    assert found is not None
    edited = edit_file(path, found.edits)
    assert [line.split("#", 1)[1] for line in edited.splitlines() if "#" in line] == [
        line.split("#", 1)[1] for line in path.read_text("utf-8").splitlines() if "#" in line
    ]
    path.write_text(edited, "utf-8")
    after = assess(read(path))
    assert after.verdict(name).state is State.PASS
    assert fails(after) <= fails(before)
    in_memory = apply(before.design, found.edits)
    assert in_memory == after.design
    for edit in found.edits:
        assert edit.place in found.sentence
        assert set(edit.as_json()) == {"place", "value"}


def test_every_verdict_has_candidates_or_is_declared_unanswered() -> None:
    """Walks the verdicts of starters that together meet every kind of check."""
    kinds = {"belt-rollers", "belt-cam_thin_bearing", "printed_ring-paired_rollers", "metal_cup"}
    names: dict[str, Assessment] = {}
    for kind in kinds:
        found = assess(design_from_data(starter_data(kind)))
        names |= {verdict.name: found for verdict in found.verdicts}
    seen = {name.split(":")[0] for name in names}
    answered = {trouble.split(" ")[0].split(":")[0] for trouble in TROUBLES}  # each is turned by an edit above
    assert answered == seen
    with pytest.raises(KeyError):
        candidates(found.design, Verdict("new_check", "", State.FAIL, "", Working("", "")))


def test_no_suggestion_where_none_was_found_to_work() -> None:
    """Four teeth more bend a belt so far that no edit keeps both a thick tooth and the rest."""
    data = starter_data("belt-rollers")
    data["rigid_ring"][0]["teeth"] = 108
    before = assess(design_from_data(data))
    offered = {one.verdict for one in suggestions(before)}
    troubled = {v.name for v in before.verdicts if v.state in (State.FAIL, State.WARN)}
    assert troubled - offered
    for one in suggestions(before):
        assert assess(apply(before.design, one.edits)).verdict(one.verdict).state is State.PASS


def test_a_printer_of_the_workshop_is_copied_before_it_is_edited(tmp_path: Path) -> None:
    for name in ("azimuth_belt.toml", "workshop.toml"):
        shutil.copy(EXAMPLES / name, tmp_path / name)
    path = tmp_path / "azimuth_belt.toml"
    kept = (tmp_path / "workshop.toml").read_bytes()
    text = path.read_text("utf-8").replace("ambient_temperature_C = 40.0", "ambient_temperature_C = 66.0")
    path.write_text(text, "utf-8")
    before = assess(read(path))
    found = suggest(before, before.verdict("temperature"))
    assert found is not None
    path.write_text(edit_file(path, found.edits), "utf-8")
    after = read(path)
    assert after.process == before.design.process.model_copy(update={"material": found.edits[0].value})
    assert assess(after).verdict("temperature").state is State.PASS
    assert (tmp_path / "workshop.toml").read_bytes() == kept


# --- edits --------------------------------------------------------------------------------------------------------


def test_edits_in_sentences() -> None:
    assert Edit("rigid_ring[2].clearance_mm", 0.15).sentence == "set rigid_ring[2].clearance_mm = 0.15"
    assert Edit("generator.bearing", "625").sentence == 'set generator.bearing = "625"'
    assert Edit("flexible_ring.teeth", 100).sentence == "set flexible_ring.teeth = 100"
    assert Edit("generator.set_deflection_mm", None).sentence == "take out generator.set_deflection_mm"


@pytest.mark.parametrize(
    "place", ["rigid_ring[3].teeth", "nothing.teeth", "name.teeth", "rigid_ring[0].teeth", "rigid_ring.teeth"]
)
def test_places_that_do_not_exist(place: str, tmp_path: Path) -> None:
    path = tmp_path / "drive.toml"
    path.write_text(starter("belt"), "utf-8")
    for make in (lambda e: edit_file(path, e), lambda e: apply(read(path), e)):
        with pytest.raises(FileFault, match="no such place to edit"):
            make((Edit(place, 50),))


def test_an_edit_that_cannot_be_is_refused_like_any_design() -> None:
    design = design_from_data(starter_data("belt"))
    with pytest.raises(DesignFault, match="at least 16"):
        apply(design, (Edit("flexible_ring.teeth", 3),))
    with pytest.raises(DesignFault, match="no such key"):
        apply(design, (Edit("flexible_ring.tooth", 3),))


def test_a_file_that_is_no_toml_cannot_be_edited(tmp_path: Path) -> None:
    path = tmp_path / "drive.toml"
    path.write_text("a = [", "utf-8")
    with pytest.raises(FileFault, match="this is not TOML"):
        edit_file(path, (Edit("a", 1),))


def test_no_edits_give_the_same_design_and_the_same_text(tmp_path: Path) -> None:
    for name in ("azimuth_belt.toml", "elevation_printed.toml", "focus_steel.toml"):
        design = read(EXAMPLES / name)
        assert apply(design, ()) == design
        assert edit_file(EXAMPLES / name, ()) == (EXAMPLES / name).read_text("utf-8")
        assert "owned" not in as_data(design)
