"""Whole tables of a design: another kind, one more row, one less; comments of the rest stay."""

from __future__ import annotations

import tomllib

import pytest

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


def test_an_optional_table_comes_and_goes(text, folder):
    less = removed(text, "output_bearing")
    assert "output_bearing" not in tomllib.loads(less)
    assert design_of(added(less, "output_bearing"), "", folder).output_bearing.bearing == "6001"
