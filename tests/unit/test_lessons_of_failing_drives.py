"""Lessons about drives that jam, carry nothing, have three lobes or no whole ratio: nothing is lost, nothing untrue is said."""

from __future__ import annotations

from functools import cache

from lobewright.assessment.run import assess
from lobewright.design.files import design_from_data
from lobewright.design.starters import starter_data
from lobewright.teach.language import Language
from lobewright.teach.scenes import scene
from lobewright.teach.subject import Subject, subject

ENGLISH = Language("en")


@cache
def jammed() -> Subject:
    """Teeth without clearance, pushed out too far."""
    data = starter_data("belt")
    data["rigid_ring"][0]["clearance_mm"] = 0.0
    data["generator"]["set_deflection_mm"] = 1.6
    return subject(assess(design_from_data(data)))


def test_a_drive_without_room_shows_that_its_ring_goes_on_and_touches():
    shown = scene("fit", jammed(), ENGLISH)
    assert not shown.not_shown and [take.name for take in shown.takes] == ["difference_1", "own"]
    own = shown.takes[1].score
    assert "touch" in own.caption(0.0) and "room" not in own.caption(1.0)
    assert "with 0 µm of room" not in " ".join(shown.points)


@cache
def unequal() -> Subject:
    """Two rings that both differ from the flexible one, hardly in mesh, and a duty far beyond what they hold."""
    data = starter_data("belt")
    data["name"], data["load"] = "bad", "mirror"
    data["generator"]["design_deflection_factor"] = 1.35
    for ring, teeth in zip(data["rigid_ring"], (104, 102), strict=True):
        ring["teeth"] = teeth
    data["process"]["xy_compensation_mm"] = 0.2
    data["duty"][0] |= {"torque_Nm": 9.0, "peak_torque_Nm": 20.0, "hours": 3000.0}
    return subject(assess(design_from_data(data)))


def test_a_drive_that_skips_at_next_to_nothing_is_said_to_as_load_says_it():
    """`load` finds 0.006 N·m for it."""
    shown = scene("torque", unequal(), ENGLISH)
    assert "skips at 0.01 N·m or less" in shown.not_shown and "asks for 20 N·m" in shown.not_shown
    assert "höchstens 0,01 N·m" in scene("torque", unequal(), Language("de")).not_shown
