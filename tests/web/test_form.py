"""The form shows what a file says and may say, and takes what people type."""

from __future__ import annotations

import tomllib

import pytest

from lobewright.design.files import read
from lobewright.errors import FileFault, LobewrightError, UnitFault
from lobewright.web.form import entry_at, is_workshop, sections, value_of, workshop_of
from lobewright.web.known import known_names

WORKSHOP = ("workshop.toml", {"printer": {"kind": "printer", "bed_mm": [220.0, 220.0, 250.0]}})


@pytest.fixture
def data(project):
    return tomllib.loads(project.state().text)


def test_every_value_of_the_file_stands_in_the_form(data):
    entries = {one.place: one.value for section in sections(data) for one in section.entries}

    def leaves(table, place):
        for key, value in table.items():
            here = f"{place}.{key}" if place else key
            if isinstance(value, dict):
                yield from leaves(value, here)
            elif isinstance(value, list) and value and isinstance(value[0], dict):
                for number, row in enumerate(value, start=1):
                    yield from leaves(row, f"{here}[{number}]")
            else:
                yield here, value

    shown_otherwise = {"schema_version", "flexible_ring.kind", "tooth.form", "generator.kind"}
    said = {place: v for place, v in leaves(data, "") if not place.startswith("checks_not_expected")}
    assert {place: v for place, v in said.items() if place not in shown_otherwise} == {
        place: value for place, value in entries.items() if value is not None
    }


def test_entries_have_words_and_those_that_must_be_said_are_not_rare(data):
    for section in sections(data):
        for entry in section.entries:
            assert entry.words, entry.place
            assert not (entry.needed and entry.rare), entry.place


@pytest.mark.parametrize(
    ("place", "typed", "value"),
    [
        ("flexible_ring.width_mm", "16", 16.0),
        ("flexible_ring.width_mm", " 15,5 ", 15.5),
        ("flexible_ring.width_mm", "1,6 cm", 16.0),
        ("flexible_ring.width_mm", "0.5 in", 12.7),
        ("generator.fit_mm", "−0.2", -0.2),
        ("ambient_temperature_C", "313.15 K", 40.0),
        ("flexible_ring.teeth", "102", 102),
        ("about", "", None),
        ("rigid_ring[2].bolt_class", "A2-70", "A2-70"),
        ("assembly.adjustable", "true", True),
        ("process.bed_mm", "220, 210, 250", [220.0, 210.0, 250.0]),
        ("process.bed_mm", "10 x 11 × 12,5 cm", [100.0, 110.0, 125.0]),
    ],
)
def test_what_is_typed_is_taken_in_the_unit_of_the_file(data, place, typed, value):
    assert value_of(entry_at(data, place, WORKSHOP), typed) == (value if value is None else pytest.approx(value))


@pytest.mark.parametrize(
    ("place", "typed", "fault", "allowed"),
    [
        ("flexible_ring.width_mm", "15 kg", UnitFault, "or a plain number in mm"),
        ("flexible_ring.width_mm", "1.5.2", LobewrightError, "a plain number in mm"),
        ("flexible_ring.width_mm", "101", FileFault, "at least 2 and at most 100 mm"),
        ("flexible_ring.width_mm", "nan", FileFault, "a number"),
        ("flexible_ring.teeth", "99.5", FileFault, "a whole number at least 16"),
        ("flexible_ring.teeth", "", FileFault, "a whole number"),
        ("rigid_ring[1].bolt_class", "9.9", FileFault, "8.8"),
        ("generator.set_deflection_mm", "0", FileFault, "more than 0"),
        ("process.bed_mm", "220", FileFault, "three numbers with commas between, as 220, 220, 250"),
        ("process.bed_mm", "220, wide, 250", FileFault, "three numbers"),
        ("process.bed_mm", "220, 0, 250", FileFault, "each more than 0"),
    ],
)
def test_what_cannot_be_is_refused_with_what_is_allowed(data, place, typed, fault, allowed):
    with pytest.raises(fault) as told:
        value_of(entry_at(data, place, WORKSHOP), typed)
    assert told.value.faults[0].place == place and allowed in told.value.faults[0].allowed


def test_the_workshops_printer_is_shown_as_the_workshops(data, folder):
    found = next(one for one in sections(data, workshop_of(data, folder)) if one.place == "process")
    printer = read(folder / "azimuth_belt.toml").process
    assert found.source == "workshop.toml" and not found.given and found.chosen == "printer"
    assert {one.key: one.value for one in found.entries}["nozzle_mm"] == printer.nozzle_mm


def test_a_workshop_outside_the_folder_shows_nothing(data, folder):
    data["workshop"] = "../secret.toml"
    assert workshop_of(data, folder) == ("", {})


def test_an_edit_of_the_workshops_printer_stays_in_the_design(client, folder):
    before = (folder / "workshop.toml").read_text("utf-8")
    answer = client.post("/api/edits", json={"edits": [{"place": "process.nozzle_mm", "text": "0,6"}]})
    assert answer.status_code == 200
    assert (folder / "workshop.toml").read_text("utf-8") == before
    assert read(folder / "azimuth_belt.toml").process.nozzle_mm == 0.6


def test_a_printer_is_changed_whatever_else_is_wrong(client, folder):
    """Only the workshop's printer is read for it: the fault of the teeth is no reason."""
    wrong = [{"place": "flexible_ring.teeth", "value": 101}, {"place": "process.nozzle_mm", "text": "0.6"}]
    for edit in wrong:
        assert client.post("/api/edits", json={"edits": [edit]}).status_code == 200
    said = tomllib.loads((folder / "azimuth_belt.toml").read_text("utf-8"))["process"]
    workshop = tomllib.loads((folder / "workshop.toml").read_text("utf-8"))["printer"]
    assert said == {**workshop, "nozzle_mm": 0.6}


def test_a_printer_that_nobody_names_is_not_changed(client, folder):
    (folder / "workshop.toml").unlink()
    answer = client.post("/api/edits", json={"edits": [{"place": "process.nozzle_mm", "value": 0.6}]})
    assert answer.status_code == 422 and "how it is made" in answer.text


def test_a_workshop_file_is_a_form_too(client, folder):
    assert client.post("/api/open", json={"file": "workshop.toml"}).status_code == 200
    form = client.get("/api/form").json()
    titles = [one["title"] for one in form["sections"]]
    assert form["workshop"] and "Printer" in titles and "Bearings: 625" in titles
    assert client.post("/api/edits", json={"edits": [{"place": "bearings[1].count", "text": "7"}]}).status_code == 200
    assert tomllib.loads((folder / "workshop.toml").read_text("utf-8"))["bearings"][0]["count"] == 7
    look = client.post("/api/look", json={"edits": []}).json()
    assert look["workshop"] and look["faults"] == [] and not look["ok"]


def test_only_files_without_a_drive_are_workshops(data):
    assert (
        not is_workshop(data)
        and not is_workshop({"schema_version": 1})
        and not is_workshop({"printer": {}, "tooth": {}})
    )
    assert is_workshop({"bolts": []})


def test_known_names_begin_with_the_drawer(data, folder):
    names = known_names(data, workshop_of(data, folder)[1], folder)
    assert [name for name, _ in names["bearing"][:2]] == ["625", "608"] and len(names["bearing"]) > 20
    assert "in your drawer" in names["belt"][0][1] and names["belt"][0][0] == "C3M"
    assert [name for name, _ in names["member"]] == ["generator", "flexible_ring", "base", "output"]
    assert all(len({name for name, _ in rows}) == len(rows) for rows in names.values())


@pytest.mark.parametrize(
    ("generator", "lobes"),
    [({"kind": "discs"}, (2,)), ({"kind": "rollers"}, (2, 3)), ({"kind": "cam", "curve": "ellipse"}, (2,)),
     ({"kind": "cam", "curve": "cosine"}, (2, 3))],
)  # fmt: skip
def test_lobes_are_offered_where_they_are_not_refused(data, generator, lobes):
    assert entry_at({**data, "generator": generator}, "generator.lobes").choices == lobes
