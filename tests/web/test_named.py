"""What follows from the files that a design names is not kept beyond a change of them."""

from __future__ import annotations

import pytest

from lobewright.web import look as looks
from lobewright.web import push as pushes
from lobewright.web import solid as solids
from lobewright.web.named import named_state

BELT = "azimuth_belt.toml"


@pytest.fixture
def text(folder) -> str:
    return (folder / BELT).read_text("utf-8")


def another_workshop(folder) -> None:
    path = folder / "workshop.toml"
    before = path.read_text("utf-8")
    path.write_text(before.replace("nozzle_mm = 0.4", "nozzle_mm = 0.5"), "utf-8")
    assert path.read_text("utf-8") != before


def test_files_are_told_apart_by_what_they_say(text, folder):
    first = named_state(text, folder)
    assert [name for name, _ in first] == ["workshop.toml"]
    another_workshop(folder)
    second = named_state(text, folder)
    (folder / "workshop.toml").unlink()
    assert len({first, second, named_state(text, folder)}) == 3
    assert named_state("a = = 3", folder) == ()


def test_a_look_follows_the_workshop(text, folder):
    def look():
        return looks.look(text, [], BELT, str(folder), True)["workshop_sha256"]

    before = look()
    another_workshop(folder)
    assert look() != before


def test_a_drive_under_torque_and_the_solid_follow_the_workshop(text, folder, monkeypatch):
    made = []
    monkeypatch.setattr(pushes, "wound", lambda found, coarse: made.append(found.workshop_hash))
    monkeypatch.setattr(solids, "solid_of", lambda found: found.workshop_hash.encode())
    kept = pushes.Kept()

    def both():
        kept.drive((text, BELT, str(folder), named_state(text, folder)), False)
        return solids.solid(text, BELT, str(folder))

    first = both()
    assert both() == first and len(made) == 1
    another_workshop(folder)
    assert both() != first and len(set(made)) == 2
