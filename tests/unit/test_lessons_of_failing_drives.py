"""Lessons about drives that jam, carry nothing, have three lobes or no whole ratio: nothing is lost, nothing untrue is said."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache

import pytest

from lobewright.assessment.run import assess
from lobewright.design.files import design_from_data
from lobewright.design.starters import starter_data
from lobewright.teach import handout
from lobewright.teach.document import Para, markdown
from lobewright.teach.exercises import exercises
from lobewright.teach.language import Language
from lobewright.teach.plan import plan
from lobewright.teach.scene import Scene
from lobewright.teach.scenes import SCENES, scene
from lobewright.teach.subject import Subject, subject
from lobewright.teach.variants import class_variant

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


def page(about: Subject, language: Language, without: tuple[str, ...] = ()) -> tuple[Scene, ...]:
    """A page of all scenes, those of failing checks as they are."""
    real = scene("fit", about, language)
    return tuple(
        replace(
            real,
            name=name,
            takes=() if name in without else real.takes,
            not_shown="It skips." if name in without else "",
        )
        for name in SCENES
    )


@pytest.mark.parametrize("code", ["en", "de"])
def test_a_drive_with_two_unequal_rings_and_no_card_has_a_plan_that_relies_on_neither(code):
    language = Language(code)
    scenes = page(unequal(), language, ("torque", "play"))
    text = markdown(plan(unequal(), scenes, language))
    numbers = "(Scenes of the page: 7, 10.)" if code == "en" else "(Szenen der Seite: 7, 10.)"
    begin, course = text.split("##")[0], text.split("##")[3]
    assert f"**It skips. {numbers}**" in begin
    for word in ("torque", "play"):
        assert language.say(word, "title") not in course
    assert language.say("stress", "title") in course
    for word in ("card", "Karton", "scissors", "Scheren"):
        assert word not in text.split("## " + language.say("plan", "fallback"))[0], word
    angle = r"−14\.4°" if code == "en" else "−14,4°"
    assert re.search(rf"base.* 4 \S+ (its )?100 .*{angle}", text) and language.number(-7.059, 3) not in text
    assert language.say("plan", "no_drive") in text and language.say("reasons", "two_move") in text


@pytest.mark.parametrize("code", ["en", "de"])
def test_a_drive_that_jams_says_so_on_its_handout_and_its_plan_speaks_of_no_play(code):
    language = Language(code)
    scenes, own = page(jammed(), language), class_variant(jammed().found)
    wrong = handout.wrong_lines(scenes)
    assert handout.wrong_lines([replace(scenes[0], name="kinds")]) == ()  # other drives are told of there
    assert len(wrong) == 2 and all(("bind" if code == "en" else "klemmen") in line for line in wrong)
    about = handout.ClassSheet("jams", language, wrong=wrong)
    blocks = handout.handout(own, {}, about)
    assert [one.text for one in blocks if isinstance(one, Para) and one.strong] == list(wrong)
    student = handout.handout(replace(own, student="Ada"), {}, about)
    told = [one.text for one in student if isinstance(one, Para) and one.strong]
    assert all(("class" if code == "en" else "Klasse") in line for line in told[1:]) and len(told) == 3
    text = markdown(plan(jammed(), scenes, language))
    assert language.number(0.0, 3) + "°" not in text
    assert len(exercises(own, language)) == 13  # play is not asked for
    assert ("Exercises 10 to 12, the rest" if code == "en" else "Aufgaben 10 bis 12, der Rest") in text
    assert ("Exercise 13." if code == "en" else "Aufgabe 13.") in text


def test_with_three_lobes_no_plan_speaks_of_two_places():
    data = starter_data("belt")
    data["flexible_ring"]["teeth"] = 99
    data["generator"] |= {"kind": "rollers", "lobes": 3}
    data["generator"].pop("pair_half_angle_deg")
    data["rigid_ring"][1]["teeth"] = 99
    three = subject(assess(design_from_data(data)))
    text = markdown(plan(three, page(three, ENGLISH), ENGLISH))
    assert "the places have gone at which everything lines up" in text and "3 lobes must meet" in text
    assert "3 of its 99 teeth" in text and "−10.909°" in text
