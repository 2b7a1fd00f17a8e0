"""Exercises and question bank: every answer by a second route, a thousand variants, wrong choices that stay wrong."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from fractions import Fraction
from functools import cache

import numpy as np
import pytest

from lobewright.assessment.headline import headlines
from lobewright.assessment.mesh import Care
from lobewright.assessment.run import assess
from lobewright.design.files import design_from_data
from lobewright.design.starters import starter_data
from lobewright.motion import FLEXIBLE, GENERATOR, Row
from lobewright.teach import shown, variants
from lobewright.teach.bank import LEAST_WRONG, bank, teeth_in_spaces, wrong_choices
from lobewright.teach.drive import Drive, Roles, drive_of
from lobewright.teach.exercises import Exercise, drive_lines, exercises
from lobewright.teach.language import Language
from lobewright.teach.numbers import Quantity, on_paper
from lobewright.teach.subject import subject
from lobewright.teach.variants import class_variant, is_real, shifted, variant

ENGLISH = Language("en")
KINDS = ("belt", "printed_cup", "metal_cup")
VARIANTS = 1000


@cache
def found(kind: str):
    return assess(design_from_data(starter_data(kind)))


@pytest.fixture(autouse=True)
def neighbours_once(monkeypatch):
    """The question whether a neighbour is real is answered by the program, once for each."""
    known: dict[tuple[str, int], bool] = {}

    def asked(design, more):
        key = (design.name + design.flexible_ring.kind, more)
        if key not in known:
            known[key] = is_real(design, more)
        return known[key]

    monkeypatch.setattr(variants, "is_real", asked)


# --- the second route: counting, and Willis' relation, from tooth counts alone -----------------------------------------


def seen_turns(drive: Drive) -> dict[str, Fraction]:
    """Whole turns of everything, seen from the generator, after the flexible ring went by so often that all counts come out."""
    often = math.lcm(*(row.ring_teeth for row in drive.rows))
    turns = {GENERATOR: Fraction(0), FLEXIBLE: Fraction(often)}
    for row in drive.rows:
        passed = often * row.flexible_teeth  # teeth of the row, and so many spaces of the ring
        assert passed % row.ring_teeth == 0
        turns[row.name] = Fraction(passed // row.ring_teeth)
    return turns


def room_turns(drive: Drive, roles: Roles) -> dict[str, Fraction]:
    """Turns in the room with one member held, per turn of the driven one."""
    seen = seen_turns(drive)
    room = {name: turns - seen[roles.held] for name, turns in seen.items()}
    return {name: turns / room[roles.driven] for name, turns in room.items()}


def willis(drive: Drive, roles: Roles) -> Fraction:
    return 1 / room_turns(drive, roles)[roles.read]


def rack_travel(held: int, moving: int, way: Fraction) -> Fraction:
    """Tooth n of the moving rack stands in space n of the held one when the wedge is there."""
    held_pitch, moving_pitch, n = Fraction(1, held), Fraction(1, moving), 7
    wedge, shift = n * held_pitch, n * held_pitch - n * moving_pitch
    return way * shift / wedge


def counted_teeth(ring: int, flexible: int, turns: int) -> int:
    """One lobe goes round the held ring, and each space that it passes gets the next tooth of the flexible ring in turn. How far
    the ring has gone on along itself is told by which tooth lies in the first space at the end of each turn."""
    order, moved, first = list(range(flexible)), 0, 0
    for _ in range(turns):
        order = order[ring % flexible :] + order[: ring % flexible]
        # The tooth that lies there now lay `behind` teeth after the old one: the ring went back by so many, or on by the rest.
        behind = (order[0] - first) % flexible
        moved -= behind if 2 * behind < flexible else behind - flexible
        first = order[0]
    return moved


def places_met(ring: int, flexible: int) -> int:
    """Places on one length, whose ends are one, where a tooth of so many stands right at a space of so many."""
    teeth, spaces = ({Fraction(n, count) for n in range(count)} for count in (flexible, ring))
    return len(teeth & spaces)


def tooth_off(ring: int, flexible: int, lobes: int) -> Fraction:
    """How far the tooth at the second lobe stands from a space, in pitches of the ring; a tooth has to stand there."""
    lobe = Fraction(1, lobes)
    assert lobe in {Fraction(n, flexible) for n in range(flexible)}, f"no tooth of {flexible} stands at the next lobe"
    return min(abs(Fraction(n, ring) - lobe) for n in range(ring)) * ring


def asked_counts(made: tuple[Exercise, ...], name: str, words: str) -> tuple[int, ...]:
    """Whole numbers that a question really gives."""
    question = next(one.question for one in made if one.name == name)
    return tuple(int(number) for number in re.search(words, question).groups())


def second_route(one: variants.Variant, made: tuple[Exercise, ...]) -> dict[str, Fraction]:
    """Answers by name, of the exercises that were made about a variant."""
    drive, givens = one.drive, one.givens
    row, roles = drive.uneven, drive.roles
    ratio, room = willis(drive, roles), room_turns(drive, roles)
    turned = next(exercise.roles for exercise in made if exercise.name == "turns")
    line_up = asked_counts(made, "line_up", r"rack with (\d+) spaces and a strip with (\d+) teeth")
    lobes, flexible, misfit = asked_counts(made, "fit", r"has (\d+) lobes, .* (\d+) teeth\. .* with (\d+) spaces")
    held, moving = (
        (row.flexible_teeth, row.ring_teeth) if roles.held == FLEXIBLE else (row.ring_teeth, row.flexible_teeth)
    )
    strip = rack_travel(held, moving, Fraction(1))
    load = Fraction(givens.load_nmm, 1000)  # the sheet has N·m
    # Torques on the drive: the load acts against the read member's turning; power and torques add up to nothing.
    on_read = -load if room[roles.read] > 0 else load
    on_driven = -on_read * room[roles.read]
    seconds = Fraction(60, givens.driven_rpm)
    return {
        "line_up": Fraction(places_met(*line_up)),
        "racks": rack_travel(held, moving, Fraction(givens.wedge_mm)),
        "wedge": abs(Fraction(givens.push_n) / strip) * givens.share_percent / 100,
        "per_turn": 360 * room[roles.read],
        "turns": 360 * room_turns(drive, turned)[turned.read] * givens.driven_turns,
        "count": Fraction(counted_teeth(row.ring_teeth, row.flexible_teeth, givens.generator_turns)),
        "ratio": ratio,
        "swap": willis(drive, givens.other_roles),
        "time": seconds * Fraction(givens.quarter_deg, 360) / abs(room[roles.read]),
        "torque_in": abs(on_driven),
        "torque_held": abs(on_read + on_driven),
        "bends": drive.lobes * abs(room[GENERATOR] - room[FLEXIBLE]) * givens.driven_rpm * 60 * givens.hours,
        "fit": tooth_off(misfit, flexible, lobes) * one.pitch_mm,
        "play": 2 * givens.arm_mm * Fraction(math.sin(math.radians(float(one.play_deg)) / 2)),
    }


def held_to_second_route(one: variants.Variant, made: tuple[Exercise, ...]) -> None:
    expected = second_route(one, made)
    assert {exercise.name for exercise in made} >= set(expected) - {"play"}
    for exercise in made:
        value, route = exercise.answer.value, expected[exercise.name]
        # The chord of so small an angle is its arc to 1e-4; all other answers are exact.
        assert value == route or (exercise.name == "play" and abs(value / route - 1) < 1e-4), exercise.name
        assert any(exercise.answer.words(ENGLISH) in step for step in exercise.steps), exercise.name
    held_to_torques_as_written(made)


def held_to_torques_as_written(made: tuple[Exercise, ...]) -> None:
    """Who reckons with the numbers of a step as they stand gets the answer as it stands."""
    one = next(one for one in made if one.name == "torque_held")
    first, mark, second, answer = re.search(r"bears (\S+) ([+−]) (\S+) = (\S+) N·m\.", one.steps[2]).groups()
    total = Fraction(first) + (1 if mark == "+" else -1) * Fraction(second)
    assert on_paper(total, one.answer.places) == Fraction(answer) == one.answer.written
    assert one.answer.places >= 2 and abs(one.answer.value) < 5000


def held_to_one_right_answer(made: tuple[Exercise, ...]) -> None:
    for exercise in made:
        right, wrong = exercise.answer, wrong_choices(exercise, ENGLISH)
        assert len(wrong) >= LEAST_WRONG, exercise.name
        words = [right.words(ENGLISH), *(choice.words for choice in wrong)]
        assert len(set(words)) == len(words)
        shown = {slip.answer.words(ENGLISH): slip.answer for slip in exercise.slips}
        for choice in wrong:
            other = shown[choice.words]
            for places in range(right.places, right.places + 3):
                assert on_paper(other.value, places) != on_paper(right.value, places), exercise.name
            assert choice.why and not choice.right


@pytest.mark.parametrize("kind", KINDS)
def test_a_thousand_variants_have_one_right_answer_each_and_it_is_found_by_another_way(kind):
    counts = set()
    for number in range(VARIANTS if kind == "belt" else VARIANTS // 20):
        one = variant(found(kind), f"student {number}")
        counts.add(one.drive.rows[0].flexible_teeth)
        made = exercises(one, ENGLISH)
        held_to_second_route(one, made)
        held_to_one_right_answer(made)
    assert len(counts) > 15


def test_an_angle_in_radians_is_written_so_that_the_sheet_gives_its_own_answer():
    for number in range(300):
        one = next(
            made for made in exercises(variant(found("belt"), f"student {number}"), ENGLISH) if made.name == "play"
        )
        arm, radians = re.search(r"= (\d+) mm × ([\d.]+) = ", one.steps[1]).groups()
        assert on_paper(Fraction(arm) * Fraction(radians), 2) == one.answer.written


@pytest.mark.parametrize("ring, flexible, lobes", [(102, 100, 2), (91, 89, 2), (94, 90, 2), (93, 89, 2), (61, 58, 3)])
def test_a_tooth_stands_at_every_place_that_is_counted_whatever_the_drive(ring, flexible, lobes):
    """91 spaces and 89 teeth are in step twice, but a tooth stands right at a space only once."""
    rows = tuple(Row(name, ring if name == "base" else flexible, flexible) for name in ("base", "output"))
    drive = Drive(rows, lobes, Roles("base", GENERATOR, "output"), False)
    misfit = 1 + lobes * 2
    own = class_variant(found("belt"))
    one = replace(own, drive=drive, givens=replace(own.givens, wrong_difference=misfit))
    made = exercises(one, ENGLISH)
    held_to_second_route(one, made)
    held_to_one_right_answer(made)
    near = [exercise.name for exercise in made if "beside those of the drive" in exercise.question]
    assert near == ([] if flexible % (ring - flexible) == 0 else ["line_up", "fit"])
    line_up = made[0]
    assert line_up.answer.value == ring - flexible
    counts = asked_counts(made, "line_up", r"rack with (\d+) spaces and a strip with (\d+) teeth")
    assert counts[0] - counts[1] == ring - flexible <= counts[1] - flexible + (ring - flexible)


@pytest.mark.parametrize("kind", KINDS)
def test_neighbours_are_drives_with_a_tooth_at_every_place_that_is_counted(kind):
    for number in range(40):
        row = variant(found(kind), f"student {number}").drive.uneven
        assert places_met(row.ring_teeth, row.flexible_teeth) == row.ring_teeth - row.flexible_teeth


@pytest.mark.parametrize("code", ["en", "de"])
def test_a_sheet_says_how_far_to_round_and_a_bank_with_choices_does_not(code):
    language, own = Language(code), class_variant(found("belt"))
    for one in exercises(own, language):
        places = one.answer.places
        assert bool(one.digits) is (bool(places) or not one.answer.exact), one.name
        assert (f"{places}\u00a0" in one.digits) is (places > 1), one.name
        assert (one.guess, bool(one.lead)) == (one.name == "swap", one.name == "turns")
    for one in bank(subject(found("belt")), language):
        assert not re.search("ecimals|Nachkommastelle|this sheet|diesem Blatt|Round to|Zahl runden", one.text), one.name


@pytest.mark.parametrize("kind", KINDS)
def test_who_is_asked_to_round_at_the_end_has_something_to_round(kind):
    """360/50 ends after one decimal: then another member is held, and one turn of that is no decimal at all."""
    own, swapped = class_variant(found(kind)), 0
    for one in (own, *(variant(found(kind), f"student {number}") for number in range(30))):
        asked = next(made for made in exercises(one, ENGLISH) if made.name == "turns")
        ratio = willis(one.drive, asked.roles)
        once = 360 / ratio
        assert on_paper(once, 6) != once and asked.roles.driven == one.drive.roles.driven
        early = [slip for slip in asked.slips if slip.why.startswith("Rounded too early")]
        assert len(early) == 2 and "first, the error" in asked.steps[-1]
        assert any(slip.answer.apart(asked.answer) for slip in early)
        other = asked.roles != one.drive.roles
        swapped += other
        assert ("this time another member is held" in asked.lead) is other is bool(asked.lead)
        assert any("Ratio = " in step for step in asked.steps) is other
    assert swapped


def test_torques_of_exercises_are_given_in_the_unit_of_the_scenes():
    for kind in KINDS:
        for one in exercises(class_variant(found(kind)), ENGLISH):
            wrong = [slip.answer.words(ENGLISH) for slip in one.slips]
            assert "N·mm" not in " ".join((one.question, one.answer.words(ENGLISH), *one.steps, *wrong)), one.name
            if one.name == "torque_in":
                assert not any(re.search(r"\d\d\d\.\d{3}", words) for words in wrong), wrong


def test_the_bank_says_once_who_is_held_driven_and_read():
    for code in ("en", "de"):
        language = Language(code)
        own = class_variant(found("belt"))
        roles = drive_lines(own, language)[1]
        questions = [one for one in bank(subject(found("belt")), language) if one.name.endswith("_1")]
        told = {one.name[:-2]: one.text.count(roles) for one in questions}
        assert set(told.values()) <= {0, 1} and all(told[name] == 1 for name in ("swap", "racks", "count"))
        # German exercises give the roles in these very words, English ones in a sentence
        assert all(told[name] == int(code == "de") for name in ("ratio",)) and told["bends"] == told["per_turn"] == 0
        assert all("102" in one.text for one in questions)


def test_places_that_line_up_are_told_where_they_lie():
    for ring, between in ((102, False), (104, True)):
        drive = Drive((Row("base", ring, 100), Row("output", 100, 100)), 2, Roles("base", GENERATOR, "output"), False)
        one = exercises(variants.with_drive(class_variant(found("belt")), drive), ENGLISH)[0]
        assert one.answer.value == ring - 100 and ("between the lobes" in one.steps[1]) is between
        assert "The two ends are one place" in one.question


def test_a_drive_with_its_generator_held_gets_no_senseless_choices():
    """1.02 : 1 is not mistaken for 2.02 : 1, and nothing is written as 1 : 1 that is not."""
    own = class_variant(found("belt"))
    for roles in own.drive.other_roles():
        drive = replace(own.drive, roles=roles)
        made = exercises(replace(own, drive=drive, givens=replace(own.givens, other_roles=own.drive.roles)), ENGLISH)
        off_by_one = [
            slip for one in made if one.name != "swap" for slip in one.slips if slip.why.startswith("Off by one")
        ]
        assert bool(off_by_one) is (abs(drive.moves().ratio) >= 2)
        ratio = next(one for one in made if one.name == "ratio")
        assert all(slip.answer.written == slip.answer.value for slip in ratio.slips if ratio.answer.exact)


def test_all_ways_to_hold_drive_and_read_agree_with_counting():
    for kind in KINDS:
        drive = drive_of(found(kind).design)
        for roles in (drive.roles, *drive.other_roles()):
            assert drive.moves(roles).ratio == willis(drive, roles)


@pytest.mark.parametrize("kind", ["belt", "metal_cup"])
def test_a_drive_used_in_any_way_has_answers_and_wrong_choices(kind):
    own = class_variant(found(kind))
    for roles in own.drive.other_roles():
        drive = replace(own.drive, roles=roles)
        givens = replace(own.givens, other_roles=drive.other_roles()[0])
        made = exercises(replace(own, drive=drive, givens=givens), ENGLISH)
        held_to_second_route(replace(own, drive=drive, givens=givens), made)
        held_to_one_right_answer(made)


@pytest.mark.parametrize("code, ring, strip", [("en", "the rack of the ring", "the toothed strip"),
                                               ("de", "die Zahnstange des Rings", "der Zahnstreifen")])  # fmt: skip
def test_the_force_asked_for_is_that_of_the_rack_that_moves(code, ring, strip):
    """A held flexible ring gives no force away: its rigid ring moves, 102 to the difference of 2."""
    own = class_variant(found("metal_cup"))
    for held, moves, gain in (("housing", strip, 160), (FLEXIBLE, ring, 162)):
        read = FLEXIBLE if held == "housing" else "housing"
        drive = replace(own.drive, roles=Roles(held, GENERATOR, read))
        one = exercises(replace(own, drive=drive), Language(code))[2]
        assert one.name == "wedge" and moves in one.question.split(". ")[-1] and moves in one.steps[0]
        givens = own.givens
        assert one.answer.value == Fraction(givens.push_n * gain, 2) * givens.share_percent / 100


def test_play_is_asked_of_the_slow_member_where_the_generator_is_read():
    own = class_variant(found("metal_cup"))
    for roles in (Roles("housing", GENERATOR, FLEXIBLE), Roles("housing", FLEXIBLE, GENERATOR)):
        drive = replace(own.drive, roles=roles)
        one = next(one for one in exercises(replace(own, drive=drive), ENGLISH) if one.name == "play")
        assert one.question.startswith(
            "With the ring “housing” and the wave generator held, the flexible cup can be moved"
        )
    data = starter_data("metal_cup")
    data["motion"] = {"fixed": "housing", "driven": FLEXIBLE, "read": GENERATOR}
    told = {row.key: row.title for row in headlines(assess(design_from_data(data)))}["free_play"]
    assert told == "Free play of the flexible ring with the generator still at no torque, at least"


@pytest.mark.parametrize("held, seen", [("base", "output"), (FLEXIBLE, "output"), (FLEXIBLE, "base")])
def test_exercises_are_about_the_row_that_scenes_show(held, seen):
    data = starter_data("belt")
    data["rigid_ring"][1]["teeth"] = 104
    data["motion"] = {"fixed": held, "driven": GENERATOR, "read": seen}
    unequal = subject(assess(design_from_data(data), care=Care.UNCHECKED))
    assert drive_of(unequal.found.design).uneven == shown.pair(unequal).row


def test_two_rows_and_three_lobes_agree_with_counting():
    rows = (Row("base", 63, 60), Row("output", 60, 57))
    drive = Drive(rows, 3, Roles("base", GENERATOR, "output"), False)
    one = variants.with_drive(class_variant(found("belt")), drive)
    assert drive.moves().ratio == willis(drive, drive.roles)
    held_to_second_route(one, exercises(one, ENGLISH))
    held_to_one_right_answer(exercises(one, ENGLISH))


def test_a_variant_is_the_same_for_the_same_name_and_a_real_neighbour():
    belt = found("belt")
    anna = variant(belt, "Anna")
    again = variant(belt, " anna ")
    assert (anna.drive, anna.givens) == (again.drive, again.givens) and anna.drive != class_variant(belt).drive
    assert anna.givens != variant(belt, "Ben").givens
    assert anna.drive.moves(anna.givens.other_roles).ratio != anna.drive.moves().ratio
    more = anna.drive.rows[0].flexible_teeth - belt.design.flexible_ring.teeth
    assert drive_of(shifted(belt.design, more)) == anna.drive
    assert all((row.ring_teeth - row.flexible_teeth) % anna.drive.lobes == 0 for row in anna.drive.rows)
    assert not is_real(belt.design, -90)


def test_halves_are_rounded_away_from_zero_and_slips_that_round_alike_are_none():
    assert on_paper(Fraction(1, 8), 2) == Fraction(13, 100) and on_paper(Fraction(-5, 2), 0) == -3
    right = Quantity(Fraction(1434, 1000), places=1)
    assert not right.apart(Quantity(Fraction(1449, 1000), places=1))
    assert not right.apart(Quantity(Fraction(151, 100), places=1))  # 1.5 for who rounds 1.45 first
    assert right.apart(Quantity(Fraction(16, 10), places=1))
    assert Quantity(Fraction(-50), places=0).apart(Quantity(Fraction(-51), places=0))
    assert not Quantity(Fraction(5), places=0).apart(Quantity(Fraction(1, 10), places=0))


@pytest.mark.parametrize("code", ["en", "de"])
def test_the_bank_asks_each_question_with_one_right_choice_and_a_reason_for_all(code):
    language = Language(code)
    questions = bank(subject(found("belt")), language)
    assert len({one.name for one in questions}) == len(questions) > 40
    for one in questions:
        assert [choice.right for choice in one.choices].count(True) == 1
        assert all(choice.why for choice in one.choices)
        assert len({choice.words for choice in one.choices}) == len(one.choices) >= 3
    places = {one.right_place for one in questions}
    assert len(places) >= 4, "the right choice stands in the same place too often"


def test_directions_of_the_bank_follow_the_counts():
    question = next(one for one in bank(subject(found("belt")), ENGLISH) if one.name == "along")
    assert "against" in question.right.words  # more spaces than teeth: the ring goes back


def tips_beyond(found, ring: int) -> float:
    """Teeth whose tips reach past a ring's tips, from the solved shape and the outline."""
    mesh, shape = found.rings[ring], found.set_shape
    tip = float(mesh.outline.points_mm[:, 1].max())
    x, y = shape.x_mm + tip * np.cos(shape.normal_rad), shape.y_mm + tip * np.sin(shape.normal_rad)
    return float((np.hypot(x, y) > mesh.space.tip_radius_mm).mean()) * mesh.flexible_teeth


def test_teeth_that_stand_in_spaces_are_counted_at_the_ring_that_is_named():
    data = starter_data("belt")
    data["rigid_ring"][0]["teeth"], data["rigid_ring"][1]["teeth"] = 100, 102
    swapped = assess(design_from_data(data))
    for one, ring, teeth in ((found("belt"), 0, 51), (swapped, 1, 52)):
        about = subject(one)
        name = one.design.rigid_ring[ring].name
        assert abs(teeth_in_spaces(about, name) - tips_beyond(one, ring)) < 1.0
        assert abs(teeth_in_spaces(about, name) - teeth) <= 1
        question = next(one for one in bank(about, ENGLISH) if one.name == "two_teeth")
        assert f"“{name}”" in question.text and f"About {teeth_in_spaces(about, name)} of" in question.right.words
        assert "carry" not in question.title


def test_from_lobe_to_lobe_the_ring_moves_by_whole_teeth_of_its_own_with_a_ring_held():
    for lobes_share, teeth in ((1, 102), (2, 104)):
        data = starter_data("belt")
        data["rigid_ring"][0]["teeth"] = teeth
        question = next(one for one in bank(subject(assess(design_from_data(data))), ENGLISH) if one.name == "half")
        assert (
            question.right.words
            == f"It has moved by {lobes_share} of its teeth ({teeth - 100} teeth shared by 2 lobes)"
            and "“base” held" in question.text
        )


def test_a_ratio_that_is_no_whole_number_stands_in_brackets_under_a_stroke():
    data = starter_data("belt")
    data["flexible_ring"]["teeth"] = 87
    for ring, teeth in zip(data["rigid_ring"], (89, 87), strict=True):
        ring["teeth"] = teeth
    own = class_variant(assess(design_from_data(data)))
    one = next(one for one in exercises(own, ENGLISH) if one.name == "torque_in")
    assert "1/(87/2) of the torque" in one.steps[0]
    load, under, answer = re.fullmatch(r"(\S+) N·m / (\S+) = (\S+) N·m\.", one.steps[1]).groups()
    # read as it stands, from left to right
    assert float(answer) == pytest.approx(eval(f"{load} / {under}", {"__builtins__": {}}), abs=0.005)


@pytest.mark.parametrize("code", ["en", "de"])
def test_a_cup_is_called_so_in_question_and_steps_and_every_step_is_a_sentence(code):
    language = Language(code)
    for one in exercises(class_variant(found("printed_cup")), language):
        for text in (one.question, *one.steps):
            assert "flexible ring" not in text and "flexible Ring" not in text and "flexibler Ring" not in text, text
            assert text[0] not in "=×/"
