"""Whole tables of a design: another kind, one more row, one less; comments of the rest stay."""

from __future__ import annotations

import tomllib

import pytest
import tomlkit

from lobewright.design import starters
from lobewright.errors import DesignFault, FileFault
from lobewright.web.look import design_of
from lobewright.web.tables import ROWS, added, removed, with_kind


@pytest.fixture
def text(project):
    return project.state().text


def test_another_kind_of_ring_brings_its_teeth_and_stays_a_design(text, folder):
    changed = with_kind(text, "flexible_ring", "printed_ring")
    design = design_of(changed, "", folder)
    assert design.flexible_ring.kind == "printed_ring" and design.tooth.form != "belt"
    assert "# Invented example: place, loads and names" in changed


@pytest.mark.parametrize("pair", starters.KINDS)
def test_every_kind_from_the_usual_belt_drive_is_a_design_or_says_why_not(text, folder, pair):
    ring, generator = pair.split("-")
    kind = "cam" if generator.startswith("cam") else generator
    try:
        changed = with_kind(with_kind(text, "flexible_ring", ring), "generator", kind)
        design = design_of(changed, "", folder)
    except (FileFault, DesignFault) as told:
        assert told.faults[0].what
        return
    assert design.flexible_ring.kind == ring and design.generator.kind == kind


def test_kinds_that_are_none_are_refused(text):
    with pytest.raises(FileFault, match="no such kind"):
        with_kind(text, "generator", "belt")
    with pytest.raises(FileFault, match="no such table"):
        with_kind(text, "no_such", "belt")


def test_one_more_step_and_one_less(text, folder):
    more = added(text, "duty")
    assert len(design_of(more, "", folder).duty) == 3
    assert tomllib.loads(removed(more, "duty[3]")) == tomllib.loads(text)
    none = removed(removed(text, "duty[2]"), "duty[1]")
    assert "duty" not in tomllib.loads(none) and len(tomllib.loads(added(none, "duty"))["duty"]) == 1


@pytest.mark.parametrize("place", ROWS[1:])
def test_one_more_row_in_the_drawer_is_a_workshop_still(folder, place):
    from lobewright.design.files import workshop_from_data

    text = (folder / "workshop.toml").read_text("utf-8")
    rows = len(tomllib.loads(text).get(place, []))
    assert len(getattr(workshop_from_data(tomllib.loads(added(text, place))), place)) == rows + 1


def test_what_is_needed_or_there_already_is_refused(text):
    with pytest.raises(FileFault, match="cannot be taken out"):
        removed(text, "flexible_ring")
    with pytest.raises(FileFault, match="there already"):
        added(text, "output_bearing")
    with pytest.raises(FileFault, match="there already"):
        added(added(text, "strength"), "strength")


ODD = (
    "3",
    '"ab"',
    "[]",
    "[3]",
    "{}",
    "[{}]",
    "[{}, 3]",
    "true",
    "{kind = 3}",
    '{kind = ["a"]}',
    '{kind = "belt", second_row = 3}',
)


@pytest.mark.parametrize("odd", ODD)
@pytest.mark.parametrize("place", ["duty", "flexible_ring", "rigid_ring", "generator", "bearings"])
def test_what_stands_where_a_table_should_is_told_and_leaves_toml(text, place, odd):
    document = tomlkit.parse(text)
    document.pop(place, None)
    odd_text = f"{place} = {odd}\n" + tomlkit.dumps(document)
    changes = [(added, place), (added, f"{place}.measured"), (removed, place), (removed, f"{place}[1]"),
               (with_kind, "flexible_ring", "printed_ring"), (with_kind, "generator", "cam")]  # fmt: skip
    for change, *asked in changes:
        try:
            made = change(odd_text, *asked)
        except FileFault as told:
            assert told.faults[0].what
        else:
            assert tomllib.loads(made) != tomllib.loads(odd_text)


def test_one_more_row_in_brackets(text, folder):
    plain = tomllib.loads(text)["duty"]
    rows = ", ".join("{" + ", ".join(f"{k} = {v!r}" for k, v in row.items()) + "}" for row in plain)
    none = removed(removed(text, "duty[2]"), "duty[1]")
    more = added(f"duty = [{rows}]\n{none}", "duty")
    assert len(design_of(more, "", folder).duty) == len(plain) + 1


def test_an_optional_table_comes_and_goes(text, folder):
    less = removed(text, "output_bearing")
    assert "output_bearing" not in tomllib.loads(less)
    assert design_of(added(less, "output_bearing"), "", folder).output_bearing.bearing == "6001"
