"""Scenes torque, stress and play of every example and of a cup on a cam: what is read, drawn and said agree at every place."""

from __future__ import annotations

import math

import numpy as np
import pytest
from lesson_drives import DE, EN, EXAMPLES, changed, example

from lobewright.picture.display import Arrow, Group, Item
from lobewright.picture.palette import Role
from lobewright.picture.score import Score
from lobewright.teach import scene_play, scene_rolled, scene_stress, scene_torque
from lobewright.teach.limit_words import torque_words
from lobewright.teach.plots import ticks
from lobewright.teach.pushed import Pushed, pushed
from lobewright.teach.scene import Scene
from lobewright.teach.subject import Subject

DRIVES = (*EXAMPLES, "cup on a cam")
EVERYWHERE = np.linspace(0.0, 1.0, 401)
FAINT = 0.05
"""Arrows that are faded further are not seen."""
NOTHING = 2e-3
"""Of the torque that is told: less is none."""


def drive(name: str) -> Subject:
    return example(name) if name in EXAMPLES else changed("printed_cup")


def walk(name: str) -> Pushed:
    found = pushed(drive(name).found)
    assert isinstance(found, Pushed)
    return found


def reading(score: Score, name: str, u: float) -> float:
    return next(score.number(one.shown.numbers[0].of, u) for one in score.readings if one.name == name)


def arrows(items: tuple[Item, ...]) -> int:
    """Forces drawn on teeth."""
    return sum(
        arrows(item.items) * len(item.placements) * (item.fade > FAINT)
        if isinstance(item, Group)
        else isinstance(item, Arrow) and item.colour == Role.TOOTH_MARK
        for item in items
    )


def told(scene: Scene) -> str:
    """Every word of a scene."""
    said = [one.words for take in scene.takes for one in take.score.said]
    asked = [words for take in scene.takes if take.ask for row in take.ask.choices for words in (row.words, row.why)]
    return " ".join((*scene.intro, *scene.points, *said, *asked))


@pytest.mark.parametrize("name", DRIVES)
def test_no_tooth_is_said_to_carry_more_than_at_the_settled_places_beside(name):
    """A state half way between two settled places presses on its teeth as no drive does: a cup read 2019 N while its torque
    fell, eighteen times what its most loaded tooth bore at the limit."""
    found = walk(name)
    for take in scene_torque.scene(drive(name), EN).takes:
        row = found.row(take.name.removeprefix("ring_"))
        most = np.hypot(*np.moveaxis(found.forces([place.state for place in found.places], row), 2, 0)).max(axis=1)
        for u in EVERYWHERE:
            # the table is straight over a hundredth of the way
            ends = max(u - 0.01, 0.0), min(u + 0.01, 1.0)
            first, last = (math.radians(reading(take.score, "windup", end)) for end in ends)
            low, high = np.searchsorted(found.windup_rad, (first - 1e-6, last + 1e-6))
            assert reading(take.score, "force", u) <= 1.001 * most[max(low - 1, 0) : high + 1].max() + 0.01, u
        at = next(moment.at for moment in take.score.moments if moment.name == "limit")
        settled = np.hypot(*found.forces([found.limit.state], row)[0].T).max()
        assert reading(take.score, "force", at) == pytest.approx(settled, abs=0.01)


@pytest.mark.parametrize("name", DRIVES)
def test_stops_read_the_torque_that_they_are_named_for_and_play_reads_none(name):
    found = walk(name)
    for take in scene_torque.scene(drive(name), EN).takes:
        duty = next(moment.at for moment in take.score.moments if moment.name == "duty")
        assert reading(take.score, "torque", duty) == pytest.approx(found.duty_nmm / 1000.0, rel=1e-3, abs=1e-4)
        assert reading(take.score, "windup", duty) == pytest.approx(math.degrees(found.at_duty.windup_rad), abs=1e-3)
        figure = next(one for one in take.score.readings if one.name == "torque").shown
        assert float(take.score.words(figure, duty).split()[0]) == pytest.approx(found.duty_nmm / 1000.0, rel=0.1)
        touch = next(one.since for one in take.score.said if one.words.startswith("Now teeth touch"))
        assert 0.0 < touch < duty
        for u in EVERYWHERE[touch + 1e-9 >= EVERYWHERE]:
            assert 1000.0 * abs(reading(take.score, "torque", u)) <= NOTHING * found.duty_nmm
            assert reading(take.score, "force", u) < 0.01 * reading(take.score, "force", 0.95)
        assert reading(take.score, "windup", touch) == pytest.approx(math.degrees(found.slack_rad), abs=1e-3)


@pytest.mark.parametrize("name", DRIVES)
def test_captions_of_play_are_true_of_torque_and_arrows_wherever_they_stand(name):
    found = walk(name)
    most = found.duty_nmm / 1000.0
    for take in scene_play.scene(drive(name), EN).takes:
        score = take.score
        for u in EVERYWHERE[EVERYWHERE < 0.5]:
            said, torque = score.caption(round(float(u), 6)), abs(reading(score, "torque", u))
            if said.startswith(("No torque", "The teeth are thinner", "From here on nothing springs back")):
                assert torque <= NOTHING * most, (take.name, u)
            if said.startswith("Flanks touch"):
                assert "It is a spring" in said
                later = abs(reading(score, "torque", min(u + 0.005, 0.25)))
                assert later > torque or u >= 0.245, (take.name, u)
            if said.startswith("Let go"):
                assert u > 0.25 and torque < most
        touch = next(one.since for one in score.said if one.words.startswith("Flanks touch"))
        assert arrows(score.at(touch).items) == 0 < arrows(score.at(0.25).items)
        assert "It is a spring" in score.caption(0.25)
        assert reading(score, "torque", 0.25) == pytest.approx(most, rel=1e-3, abs=1e-4)
        # both bars are those of the curve: where it leaves the axis, and from there on
        worn = 0.5 * scene_play.play_of(found.drive.found, found).added_rad if take.name == "worn" else 0.0
        assert reading(score, "angle", touch) == pytest.approx(math.degrees(found.slack_rad + worn), abs=1e-3)


@pytest.mark.parametrize("name", DRIVES)
def test_what_gives_is_told_only_where_it_tells_why_the_drive_lets_go(name):
    """A ring that pushes its teeth in by 15 µm and teeth that lean out by 15 µm tell nothing."""
    nothing = {"rim gives": -15.02, "teeth lean": 15.19, "arm gives": 0.0, "carrier shifts": 0.0}
    assert scene_torque.near_key(nothing, "fall") == "within"
    assert scene_torque.near_key(nothing | {"teeth lean": 17.0}, "fall") == "teeth_lean"
    found = walk(name)
    key = scene_torque.near_key(scene_torque.parts_mm(found), found.ended)
    assert key == {"azimuth_belt": "rim_gives", "focus_steel": "crushed"}.get(name, "within")
    for language in (EN, DE):
        for take in scene_torque.scene(drive(name), language).takes:
            right = next(row.words for row in take.ask.choices if row.right)
            gives = [language.say("torque", f"choice_{part}") for part in ("rim_gives", "teeth_lean", "arm_gives")]
            assert (right in gives) is (name == "azimuth_belt")
            bars = language.say("torque", "bars" if name == "azimuth_belt" else "bars_limits")
            assert bars in repr(take.score.at(0.95).items)


@pytest.mark.parametrize("name", DRIVES)
def test_forces_that_are_left_without_torque_are_explained(name):
    found = walk(name)
    left: dict[str, bool] = {}
    for take in scene_torque.scene(drive(name), EN).takes:
        row = found.row(take.name.removeprefix("ring_"))
        force = found.forces([found.places[-1].state], row)[0]
        gone = bool(found.torque_nmm[-1] < 0.02 * found.limit_nmm)
        left[take.name] = gone and reading(take.score, "force", 1.0) > 1.0
        assert ("tip on tip" in take.score.caption(1.0)) is left[take.name]
        if left[take.name]:
            assert abs(force[:, 1].sum()) < 0.05 * np.hypot(*force.T).sum()
            assert force[:, 0].max() <= 0.0 > force[:, 0].min()  # inward
    assert any(left.values()) is (name == "cup on a cam")


@pytest.mark.parametrize("name", DRIVES)
def test_arms_and_pairs_are_told_of_drives_that_have_them(name):
    arms = name in ("azimuth_belt", "elevation_printed")
    scenes = [room.scene(drive(name), EN) for room in (scene_torque, scene_play, scene_rolled)]
    words = " ".join(map(told, scenes)).replace("at an arm of 100 mm", "")
    assert (" arms" in words) is arms and ("both sides of a lobe" in words) is arms
    german = " ".join(told(room.scene(drive(name), DE)) for room in (scene_torque, scene_play))
    assert (" Arme " in german) is arms
    assert not any(word in words for word in ("says no", "three examples", "from 0 N·m on"))


@pytest.mark.parametrize("name", DRIVES)
@pytest.mark.parametrize("room", [scene_torque, scene_play, scene_stress])
def test_at_every_stop_its_own_sentence_is_said_also_where_a_hand_slid_there(name, room):
    """A slider goes by thousandths."""
    own = {
        "pushed": "It is a spring", "between": "etween two lobes", "next_lobe": "The next lobe is there",
        "second_lobe": "The lobe after that is there", "lobe": "A lobe stands under", "rest": "No torque",
        "limit": f"At {torque_words(walk(name).limit_nmm, EN)} N·m",
    }  # fmt: skip
    for take in room.scene(drive(name), EN).takes:
        for moment in take.score.moments:
            assert moment.at == round(moment.at, 3)
            said = take.score.caption(moment.at)
            # a last stop at the very end gives way to what the whole tells
            assert own.get(moment.name, "") in said or moment.at == 1.0, moment.name
        assert len(take.title) <= 36


def test_a_plot_of_both_signs_has_ticks_on_both_sides_of_zero():
    for low, high in ((-4.3, 5.15), (-0.9, 9.0), (-130.0, 220.0), (-5.2, 4.3)):
        found, _ = ticks(low, high, 4)
        assert found[-1] > 0.0 and (found[0] < 0.0 or min(-low, high) < 0.1 * (high - low)), (low, high)
        assert len(found) <= 9


def test_limits_that_hold_without_torque_are_told_in_words():
    """A cup that may crack from bending alone was said to crack from 0 N·m on."""
    points = " ".join(scene_torque.scene(drive("cup on a cam"), EN).points)
    assert "even without torque, from bending alone" in points


@pytest.mark.parametrize("language", (EN, DE))
def test_a_drive_that_is_not_trusted_further_is_not_said_to_have_let_go(language):
    """Two discs in the steel cup: a tooth leans too far first, and the torque that is computed beyond that falls."""
    subject = changed("metal_cup-discs")
    push = pushed(subject.found)
    assert isinstance(push, Pushed) and push.ended == "crushed"
    said = [one.words for take in scene_torque.scene(subject, language).takes for one in take.score.said]
    past = [words for words in said if "is computed" in words or "ist berechnet" in words]
    assert len(past) == 1 and not any(word in words for words in said for word in ("let go", "losgelassen"))
