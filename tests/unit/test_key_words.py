"""Places and edits in the words of the form."""

from __future__ import annotations

import pytest

from lobewright.design.edits import Edit
from lobewright.design.key_words import edit_words, key_label, place_words

DATA = {
    "rigid_ring": [{"name": "base", "teeth": 102}],
    "duty": [{"name": "Tracking the sun", "speed_rpm": 1.0}],
    "process": {"bed_mm": [220.0, 220.0, 250.0]},
    "generator": {"kind": "rollers"},
}


@pytest.mark.parametrize(
    ("place", "words"),
    [
        ("rigid_ring[1].teeth", "Rigid ring base, teeth"),
        ("rigid_ring[3].teeth", "Rigid ring 3, teeth"),
        ("duty[1].speed_rpm", "Work “Tracking the sun”, speed"),
        ("process.bed_mm[2]", "How it is made, bed"),
        ("flexible_ring.measured.cord_offset_mm", "Flexible ring, measured, cord offset"),
        ("process.xy_compensation_mm", "How it is made, XY compensation"),
        ("name", "Name"),
    ],
)
def test_places_are_told_as_the_form_tells_them(place, words):
    assert place_words(place, DATA) == words


@pytest.mark.parametrize(
    ("edit", "words"),
    [
        (Edit("rigid_ring[1].clearance_mm", 0.176), "Rigid ring base, clearance: 0.176 mm"),
        (Edit("generator.fit_mm", -0.2), "Generator, fit: −0.2 mm"),
        (Edit("generator.kind", "paired_rollers"), "Generator, kind: paired rollers"),
        (Edit("generator.set_deflection_mm", None), "Generator, set deflection: left out"),
        (Edit("flexible_ring.teeth", 102), "Flexible ring, teeth: 102"),
        (Edit("generator.pair_half_angle_deg", 30.0), "Generator, pair half angle: 30°"),
        (Edit("assembly.adjustable", True), "What it is built into, adjustable: yes"),
    ],
)
def test_edits_are_told_with_their_unit(edit, words):
    assert edit_words(edit, DATA) == words


def test_labels_leave_the_unit_to_the_field():
    assert key_label("roller_centre_distance_mm") == "Roller centre distance"
    assert key_label("reliability_percent") == "Reliability in %"
