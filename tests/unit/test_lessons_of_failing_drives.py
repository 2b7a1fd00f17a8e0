"""Lessons about drives that jam, carry nothing, have three lobes or no whole ratio: nothing is lost, and nothing untrue is said."""

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
