"""Scenes kinds, torque, stress, fit and play: what they show is what was computed, by another route where there is one."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from functools import cache

import numpy as np
import pytest
import shapely
from lesson_drives import DE, EN, FOLDER, changed, example, wound_up
from text_faults import smallest, told

from lobewright.assessment import wound as wound_room
from lobewright.assessment.results import Assessment
from lobewright.assessment.run import assess
from lobewright.design.files import design_from_data, read
from lobewright.design.starters import starter_data
from lobewright.motion import FLEXIBLE, GENERATOR, motion
from lobewright.picture.display import Arrow, Group, Item, Text
from lobewright.picture.display import Path as Line
from lobewright.picture.palette import Role
from lobewright.picture.score import Score, score_json
from lobewright.strength.rim_stress import rim_courses
from lobewright.teach import kinds, scene_fit, scene_kinds, scene_play, scene_stress, scene_torque, tried
from lobewright.teach import pushed as pushed_room
from lobewright.teach.kinds import compared, kind_data, own_ratio
from lobewright.teach.lobe_picture import LobePicture
from lobewright.teach.pushed import Pushed
from lobewright.teach.reasons import Why
from lobewright.teach.ring_course import ring_courses
from lobewright.teach.scene import Scene
from lobewright.teach.scenes import SCENES, scene
from lobewright.teach.subject import Subject, subject
from lobewright.torque.ask import FALL, settle_at, wind

NOT_SOLVED = Why("nothing_holds")
MOST_BYTES = 150_000


def reading(score: Score, name: str, u: float) -> float:
    return next(score.number(one.shown.numbers[0].of, u) for one in score.readings if one.name == name)


def forces(items: tuple[Item, ...]) -> int:
    """Arrows of forces; those that lead from names to parts are of another colour."""
    return sum(
        forces(item.items) * len(item.placements)
        if isinstance(item, Group)
        else isinstance(item, Arrow) and item.colour == Role.TOOTH_MARK
        for item in items
    )


def sound(one: Scene) -> None:
    """Every take plays, asks one thing with one answer, and has no place left to put something in."""
    assert one.takes and not one.not_shown
    for take in one.takes:
        size = len(json.dumps(score_json(take.score), separators=(",", ":")))
        assert size < MOST_BYTES
        for u in (0.0, 0.31, 0.77, 1.0):
            take.score.at(u)
        told = [take.title, take.score.description, *(said.words for said in take.score.said)]
        if take.ask:
            assert sum(choice.right for choice in take.ask.choices) == 1
            assert len({choice.words for choice in take.ask.choices}) == len(take.ask.choices)
            told += [words for choice in take.ask.choices for words in (choice.words, choice.why)]
        assert not any("{" in words for words in told)


@pytest.mark.parametrize("name", ["torque", "stress", "fit", "play"])
def test_scenes_are_sound_in_both_languages(name):
    english, german = (scene(name, example("elevation_printed"), language) for language in (EN, DE))
    sound(english)
    sound(german)
    assert [take.name for take in english.takes] == [take.name for take in german.takes]
    assert english.intro != german.intro


# ---- torque ------------------------------------------------------------------------------------------------------------------


def test_forces_shown_on_the_teeth_make_the_torque():
    """Arrows times their arms about the axis: equilibrium of the rigid ring, which the scene does not use."""
    found = wound_up("elevation_printed")
    place = found.at_duty
    teeth, force = found.teeth([place.state], 0)[0], found.forces([place.state], 0)[0]
    height = example("elevation_printed").found.geometry.pitch_height_mm
    c, s = np.cos(teeth[:, 2]), np.sin(teeth[:, 2])
    x, y = teeth[:, 0] + height * c, teeth[:, 1] + height * s
    fx, fy = force[:, 0] * c - force[:, 1] * s, force[:, 0] * s + force[:, 1] * c
    # contacts lie somewhere on the flanks, not all at the pitch height
    assert abs(float((x * fy - y * fx).sum())) == pytest.approx(found.duty_nmm, rel=0.03)


def test_the_picture_reads_the_limit_where_it_stops_and_no_arrow_at_rest():
    found = wound_up("elevation_printed")
    take = scene_torque.scene(example("elevation_printed"), EN).takes[0]
    limit = next(moment.at for moment in take.score.moments if moment.name == "limit")
    assert reading(take.score, "torque", limit) == pytest.approx(found.limit_nmm / 1000.0, rel=0.02)
    assert reading(take.score, "windup", limit) == pytest.approx(math.degrees(found.limit.windup_rad), abs=1e-3)
    assert forces(take.score.at(0.0).items) == 0
    assert forces(take.score.at(limit).items) > 10


def test_the_other_way_round_is_the_mirror_image():
    """A real walk the other way, against the picture's mirror image of the first."""
    found = wound_up("elevation_printed")
    winder = found.drive.winder
    back = settle_at(winder, wind(winder, -1, found.duty_nmm, FALL), -found.duty_nmm)
    assert back.windup_rad == pytest.approx(-found.at_duty.windup_rad, rel=0.01)
    picture = LobePicture(
        example("elevation_printed").motion, found, 0, np.array([0.0, -found.at_duty.windup_rad]), 1.0
    )
    shown = picture._mirrored(found.teeth(picture.states, 0), (1.0, -1.0, -1.0))[1]
    real = found.teeth([back.state], 0)[0]
    assert np.abs(shown[:, :2] - real[:, :2]).max() < 0.005


def asked_of(name: str, torque_nm: float | None, peak_nm: float = 0.0) -> Pushed:
    """The walk of an example whose design asks for another torque, or names no duty."""
    found = wound_up(name)
    own = found.drive.found.design
    asked = {"torque_Nm": torque_nm, "peak_torque_Nm": peak_nm}
    duty = () if torque_nm is None else tuple(step.model_copy(update=asked) for step in own.duty)
    design = own.model_copy(update={"duty": duty})
    return Pushed(replace(found.drive, found=replace(found.drive.found, design=design)), found.ended)


@pytest.mark.parametrize(
    ("torque_nm", "peak_nm", "which", "share", "fails"),
    [(2.5, 4.0, "working", None, False), (28.0, 0.0, "working", None, False), (2.5, 31.0, "working", None, True),
     (40.0, 0.0, "half", 0.5, True), (None, 0.0, "fifth", 0.2, False)],
)  # fmt: skip
def test_a_drive_that_does_not_hold_its_duty_is_not_taught_as_sound(
    monkeypatch, torque_nm, peak_nm, which, share, fails
):
    loaded = asked_of("elevation_printed", torque_nm, peak_nm)
    assert loaded.which == which
    assert loaded.duty_nmm == pytest.approx(share * loaded.limit_nmm if share else 1000.0 * torque_nm)
    for module in (scene_torque, scene_play):
        monkeypatch.setattr(module, "pushed", lambda *_: loaded)
    for language in (EN, DE):
        for name in ("torque", "play"):
            one = scene(name, example("elevation_printed"), language)
            sound(one)
            asked = language.number(max(torque_nm or 0.0, peak_nm), 1)
            assert any(asked in line and "30" in line for line in one.wrong) is fails
            told = [*one.points, *(choice.why for take in one.takes if take.ask for choice in take.ask.choices)]
            told += [moment.title for take in one.takes for moment in take.score.moments]
            working = any("working torque" in line or "Arbeitsmoment" in line for line in told)
            assert working is (which == "working")


def test_what_is_said_near_the_limit_follows_what_gives_and_how_it_ends():
    parts = {"rim gives": 0.11, "teeth lean": 0.01, "arm gives": 0.013, "carrier shifts": 0.0}
    assert scene_torque.near_key(parts, "fall") == "rim_gives"
    assert scene_torque.near_key(parts, "crushed") == "crushed"
    assert scene_torque.near_key(parts | {"arm gives": 0.2}, "lost") == "arm_gives"
    given = scene_torque.parts_mm(wound_up("elevation_printed"))
    # the ring pushes the teeth out there, by more than the arms let them in: no answer to what draws them out
    assert max(given, key=lambda name: given[name]) == "arm gives" and sum(given.values()) < 0.0
    one = scene("torque", example("elevation_printed"), EN)
    # asked is what says no first: what gives would not tell it
    for take in one.takes:
        assert take.ask is not None and "stays bent" in next(row.words for row in take.ask.choices if row.right)
    assert any("Together it is −6" in point for point in one.points)
    said = [words.words for take in one.takes for words in take.score.said]
    assert not any("come out of their spaces" in words for words in said)
    steel = scene("torque", example("focus_steel"), EN)
    for take in one.takes:
        end = take.score.caption(1.0)
        assert "since then the torque falls" in end and reading(take.score, "torque", 1.0) < 0.95 * 29.95
        # bars of what gives would tell nothing: those of what would no longer hold stand there
        assert "minus: " not in repr(take.score.at(0.5).items) and "ring stays bent" in repr(take.score.at(0.5).items)
    assert "torque falls" not in repr(steel.takes[0].score.said) and "dents in bearings" in repr(
        steel.takes[0].score.at(0.5).items
    )
    assert any("farther than is trusted" in words.words for words in steel.takes[0].score.said)


# ---- stress ------------------------------------------------------------------------------------------------------------------


def test_stress_at_the_mark_is_the_strength_rooms_course():
    found, about = wound_up("elevation_printed"), example("elevation_printed")
    share = found.drive.at(found.duty_nmm).share
    course = rim_courses(found.drive.drive, found.drive.stiffness.cells, (share,))[0]
    take = scene_stress.scene(about, EN).takes[1]
    for u in (0.0, 0.2, 0.43, 0.9):
        label = math.degrees((about.motion.turns("flexible") - 1.0) * 2.0 * math.pi * u)
        wanted = np.interp(label, course.label_deg, course.stress_mpa[0, :, 1], period=360.0)
        assert reading(take.score, "value", u) == pytest.approx(wanted, abs=0.02 * np.ptp(course.stress_mpa[0, :, 1]))


@pytest.mark.parametrize("name", ["azimuth_belt", "elevation_printed", "focus_steel"])
def test_bends_are_counted_as_the_motion_says_and_as_rainflow_finds_them(name):
    about = example(name)
    exact = about.found.motion.load_cycles_per_generator_turn
    assert scene_stress.bends_a_turn(about.motion) == pytest.approx(float(exact), rel=1e-12)
    assert ring_courses(about.found, NOT_SOLVED)[0].cycles[0] == about.motion.shape.lobes


def test_captions_under_torque_say_what_the_mark_reads_there():
    loaded = scene_stress.scene(example("elevation_printed"), EN).takes[1].score
    between = next(moment.at for moment in loaded.moments if moment.name == "between")
    for u in (0.0, between):
        value, said = reading(loaded, "value", u), loaded.caption(u)
        assert f": {EN.number(value, 1, True)} MPa" in said or f": {EN.number(value, 2, True)} MPa" in said
    assert not any("bent more tightly" in said.words or "pulled is pressed" in said.words for said in loaded.said)
    # past the next lobe nothing stale is said
    assert "gone by" in loaded.caption(0.65) and "nearer" in loaded.caption(0.47)
    assert "the lobe after that" in loaded.caption(0.87)


def test_extremes_are_those_of_the_whole_course_and_told_where_they_are():
    one = ring_courses(example("elevation_printed").found, wound_up("elevation_printed"))[1]
    drive = wound_up("elevation_printed").drive
    share = drive.at(wound_up("elevation_printed").duty_nmm).share
    made = [
        course.stress_mpa[-1, :, 1]
        for course in rim_courses(drive.drive, drive.stiffness.cells, (drive.at(0.0).share, share))
        if not isinstance(course, str) and course.name.startswith("rim_root")
    ]
    worst = max(made, key=np.ptp)
    assert (one.lowest, one.highest) == pytest.approx((worst.min(), worst.max()), rel=1e-9)
    assert one.highest > one.values.max() or one.lowest < one.values.min()  # even places would miss them
    points = scene_stress.scene(example("elevation_printed"), EN).points
    assert any(point.startswith("Where: ") and "halfway between two lobes" in point for point in points)


def test_lobes_differ_under_torque_by_the_generator_off_centre_only(monkeypatch):
    """And the words say how far off it is taken."""
    about = example("azimuth_belt")
    own = ring_courses(about.found, wound_up("azimuth_belt"))[1]
    points = scene_stress.scene(about, EN).points
    assert own.apart(2) > 0.1 and any("the generator 4.8 µm off centre" in point for point in points)
    made = wound_room.stiffnesses

    def centred(*asked):
        found = made(*asked)
        return replace(found, inputs=replace(found.inputs, run_out_share=0.0))

    monkeypatch.setattr(wound_room, "stiffnesses", centred)
    even = pushed_room._pushed(about.found)
    assert isinstance(even, Pushed)
    assert ring_courses(about.found, even)[1].apart(2) < 1e-6


def test_two_rollers_a_lobe_are_told_and_cords_are_not_pressed(monkeypatch):
    about = example("azimuth_belt")
    bent = ring_courses(about.found, NOT_SOLVED)[0]
    pull = replace(bent, name="tension", unit="N/mm", torque_nmm=50.0)
    monkeypatch.setattr(scene_stress, "pushed", not_solved)
    monkeypatch.setattr(scene_stress, "ring_courses", lambda *_: (bent, pull))
    for language, pressed in ((EN, "press"), (DE, "drückt")):
        rest, loaded = scene_stress.scene(about, language).takes
        assert ("Two rollers make one lobe" if language is EN else "Zwei Rollen") in rest.score.said[0].words
        told = repr(loaded.score.at(0.0).items) + loaded.title + loaded.score.description
        assert pressed not in told and ("change" in told or "nderung" in told)
        assert pressed in repr(rest.score.at(0.0).items)


def test_bends_told_are_those_of_a_generator_turn_and_of_an_output_turn():
    points = scene_stress.scene(example("elevation_printed"), EN).points
    # 100 teeth in 102 spaces: in 50 turns one way the ring turns once the other way, and two lobes pass 51 times each
    assert "bends every place 2.04 times" in points[0]
    assert points[1] == "While the cup turns once, every place is bent 102 times."


def test_bends_are_told_of_the_slow_member_where_the_generator_is_read():
    """80 turns of the generator to one of the cup the other way: two lobes pass 81 times each."""
    for driven, seen in ((GENERATOR, FLEXIBLE), (FLEXIBLE, GENERATOR)):
        about = changed("metal_cup", driven=driven, read=seen)
        points = scene_stress._points(about, (), EN)
        assert points[1] == "While the cup turns once, every place is bent 162 times."


# ---- fit ---------------------------------------------------------------------------------------------------------------------


def tried_on(difference: int) -> tried.Tried:
    found = scene_fit._tried(example("elevation_printed").found, 0, difference)
    assert isinstance(found, tried.Tried)
    return found


def test_the_designs_own_difference_has_the_gap_that_the_mesh_check_finds():
    own = tried_on(2)
    wanted = example("elevation_printed").found.rings[0].cases[0].smallest_gap_mm
    assert own.fits and own.best == 0
    assert own.gap_mm[0] == pytest.approx(wanted, abs=0.002)


def test_one_tooth_more_collides_at_one_lobe_or_the_other():
    one = tried_on(1)
    height = one.outline.height_mm
    assert one.gap_mm[0, 0] > 0.0 > one.gap_mm[0, 1]
    assert -height < one.worst_mm.max() < -0.3 * height
    # racks that are out of step by half a pitch: what one lobe meets, the other meets half a pitch on
    half = (tried.TURNS - 1) // 2
    assert np.abs(one.gap_mm[: half + 1, 0] - one.gap_mm[half:, 1]).max() < 0.005


def filled(items: tuple[Item, ...]) -> Iterator[tuple[float, float, shapely.Geometry]]:
    """What is filled as overlap of each tooth, with the tooth's place on the neutral line; in the tooth's frame."""
    for item in items:
        if not isinstance(item, Group):
            continue
        found = [one for one in item.items if isinstance(one, Line) and one.fill is Role.OVERLAP]
        if found and len(item.placements) == 1:
            loops = [shapely.Polygon(loop).buffer(0) for one in found for loop in one.loops]
            yield item.placements[0].x, item.placements[0].y, shapely.union_all(loops)
        yield from filled(item.items)


@pytest.mark.parametrize("name", ["azimuth_belt", "elevation_printed"])
@pytest.mark.parametrize("u", [0.0, 0.25, 0.5, 0.8, 1.0])
def test_the_overlap_of_every_tooth_in_the_window_is_filled(name, u):
    """What is drawn, held to the intersection of tooth and ring."""
    found = example(name).found
    ring = next(i for i, mesh in enumerate(found.rings) if mesh.space.teeth != mesh.flexible_teeth)
    own = found.rings[ring].space.teeth - found.rings[ring].flexible_teeth
    for take, difference in zip(scene("fit", example(name), EN).takes, (1, own), strict=True):
        one = scene_fit._tried(found, ring, difference)
        height = one.outline.height_mm
        drawn = list(filled(take.score.at(u).items))
        hits = 0
        for lobe in (0, 1):
            for tooth in tried.teeth_near(one, lobe, 0.5 * scene_fit.PITCHES * one.shape.lobes / one.outline.teeth):
                x, y, _ = one.place(tooth)
                turned = one.ring_teeth(math.atan2(y, x), u * one.space.pitch_rad, 2)
                wanted = shapely.intersection(one.body_at(tooth), turned).area
                here = [area.area for px, py, area in drawn if math.hypot(px - x, py - y) < 1e-3]
                assert sum(here) == pytest.approx(wanted, rel=0.08, abs=0.01 * height**2), (difference, lobe, tooth)
                hits += wanted > 0.1 * height**2
        # at one lobe or at both, and at none only where all teeth stand in spaces
        assert hits >= (0 if difference == own and u in (0.0, 1.0) else scene_fit.PITCHES - 1)


@cache
def three_lobes() -> Subject:
    data = starter_data("printed_cup")
    data["generator"] |= {"curve": "cosine", "lobes": 3}
    data["flexible_ring"]["teeth"], data["rigid_ring"][0]["teeth"] = 99, 102
    return subject(assess(design_from_data(data)))


@pytest.mark.parametrize("language", [EN, DE])
def test_with_three_lobes_no_place_is_better_than_the_first_and_none_is_told(language):
    one = scene("fit", three_lobes(), language)
    sound(one)
    collides, fits = one.takes
    found = scene_fit._tried(three_lobes().found, 0, 1)
    assert found.best == 0 and (found.gap_mm[0] < 0.0).sum() == 2
    said = " ".join(words.words for words in collides.score.said)
    assert ("2 of 3 lobes" if language is EN else "2 von 3 Wellenbergen") in said
    told = [said, collides.score.description, *one.points, *(choice.why for choice in collides.ask.choices)]
    assert not any("both lobes" in words or "beiden Wellenbergen." in words for words in told)
    assert [moment.name for moment in collides.score.moments] == ["first", "other"]
    # where lobe `other` is said to come free, it does, and the first is blocked
    number = int(next(moment.title for moment in collides.score.moments if moment.name == "other").split()[1]) - 1
    at = round(collides.score.moments[1].at * (tried.TURNS - 1))
    assert found.gap_mm[at, number] > 0.0 > found.gap_mm[at, 0]
    assert [moment.name for moment in fits.score.moments] == ["first", "half"]


def test_with_two_lobes_the_best_place_lies_between_and_the_other_lobe_comes_free_half_a_pitch_on():
    take = scene("fit", example("elevation_printed"), EN).takes[0]
    places = {moment.name: moment.at for moment in take.score.moments}
    assert 0.0 < places["best"] < places["other"] == 0.5


def test_captions_of_fit_are_true_wherever_they_stand():
    """What is said at a place, held to the gaps there."""
    for about in (example("elevation_printed"), three_lobes()):
        found = about.found
        takes = scene("fit", about, EN).takes
        own = found.rings[0].space.teeth - found.rings[0].flexible_teeth
        for take, difference in zip(takes, (1, own), strict=True):
            gap = scene_fit._tried(found, 0, difference).gap_mm
            for at in range(tried.TURNS):
                u = at / (tried.TURNS - 1)
                said = take.score.caption(round(u, 4))
                if "middle of a space" in said:
                    assert gap[at, 0] > 0.0, u
                if "comes free" in said:
                    assert gap[at, int(said.split("lobe ")[1][0]) - 1] > gap[at].min() and gap[at].min() < 0.0, u
                if "µm of room" in said or "in a space again" in said:
                    assert gap[at].min() > 0.0, u
                if "run into each other at every lobe" in said:
                    assert gap[at].max() < 0.0 or u > 0.9, u
                if "too deep" in said or "at lobe 1 too" in said:
                    assert gap[at].max() < 0.0 or u > 0.9, u
                if "still" in said and "too deep" in said:
                    # of a place that it names, and close to it
                    place, depth = (float(one) for one in re.findall(r"[\d.]+(?= pitches| µm)", said))
                    there = np.interp(place, np.linspace(0.0, 1.0, tried.TURNS), gap.min(axis=1))
                    assert there == pytest.approx(-0.001 * depth, abs=0.001) and 0.0 <= u - place <= 0.11, u
                if "is blocked again" in said:
                    assert gap[at, int(said.split("lobe ")[1][0]) - 1] < 0.0, u
                if "lobes come free again" in said:
                    assert gap[at:].max() > 0.0 > gap[at].max() or u > 0.9, u
                if "as at the start" in said:
                    assert gap[at, 0] > 0.0, u


# ---- play --------------------------------------------------------------------------------------------------------------------


def test_no_wear_is_the_play_of_the_assessment_and_wear_adds_at_least_its_depth_on_both_flanks():
    found = example("azimuth_belt").found
    assert scene_play.worn_play_rad(found, 0.0) == pytest.approx(found.output_free_play_rad, rel=1e-9)
    depth = 0.05
    added = scene_play.worn_play_rad(found, depth) - found.output_free_play_rad
    least = sum(2.0 * depth / mesh.space.root_radius_mm for mesh in found.rings)
    assert least < added < 2.0 * least


def test_rocking_reaches_the_torque_at_the_windup_both_ways():
    found = wound_up("elevation_printed")
    for take in scene_play.scene(example("elevation_printed"), EN).takes:
        for u, sign in ((0.25, 1.0), (0.75, -1.0)):
            assert reading(take.score, "torque", u) == pytest.approx(sign * found.duty_nmm / 1000.0, rel=0.01)
        assert reading(take.score, "torque", 0.5) == 0.0
    assert reading(take.score, "angle", 0.25) > math.degrees(found.at_duty.windup_rad)


def test_ways_at_the_arm_are_the_angles_times_its_length():
    one = scene_play.scene(example("elevation_printed"), EN)
    for take in one.takes:
        angle, arm = (reading(take.score, name, 0.25) for name in ("angle", "arm"))
        assert arm == pytest.approx(100.0 * math.radians(angle), rel=1e-6)
    windup, slack, springs, way, length = (float(one) for one in re.findall(r"([\d.]+)(?:°| mm)", one.points[1]))
    assert windup == pytest.approx(slack + springs, abs=0.011)
    assert length == 100.0 and way == pytest.approx(length * math.radians(springs), abs=0.015)
    assert windup == pytest.approx(math.degrees(wound_up("elevation_printed").at_duty.windup_rad), abs=0.005)


# ---- kinds -------------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", kinds.KINDS)
@pytest.mark.parametrize("twice", [-200, -101, -66, 66, 101, 162])
def test_kinds_have_the_ratio_exactly(kind, twice):
    ratio = Fraction(twice, 2)
    assert motion(design_from_data(kind_data(kind, ratio))).ratio == ratio


def not_solved(found: Assessment, progress: object = None) -> Why:
    return NOT_SOLVED


def test_what_answers_kinds_comes_late_and_a_failing_kind_is_not_said_to_carry(monkeypatch):
    monkeypatch.setattr(kinds, "pushed", not_solved)
    monkeypatch.setattr(kinds, "_KEPT", {})
    one = scene_kinds.scene(example("elevation_printed"), EN)
    score = one.takes[0].score

    def faded(u: float) -> list[float]:
        return [item.fade for item in score.at(u).items if isinstance(item, Group) and "windup at" in repr(item)]

    def always(u: float) -> bool:
        return any("windup at" in repr(item) for item in score.at(u).items if not isinstance(item, Group))

    assert max(faded(0.0), default=0.0) <= 0.0 and max(faded(0.75), default=0.0) <= 0.0
    assert len(faded(0.9)) == 3 and min(faded(0.9)) >= 1.0 and not always(0.0)
    sides = compared(example("elevation_printed").found)
    failing = sum(scene_kinds._failed(side) > 0 for side in sides.kinds)
    assert failing > 0 and repr(score.at(1.0).items).count("fails checks as it is") == failing


def test_a_drive_that_is_not_solved_says_so_and_shows_what_is_left(monkeypatch):
    for module in (scene_torque, scene_play, scene_stress, kinds):
        monkeypatch.setattr(module, "pushed", not_solved)
    monkeypatch.setattr(kinds, "_KEPT", {})
    about = example("elevation_printed")
    for name in ("torque", "play"):
        one = scene(name, about, EN)
        assert not one.takes and "nothing holds it" in one.not_shown
    left = scene("stress", about, EN)
    assert [take.name for take in left.takes] == ["strain_at_rest"]
    assert any("nothing holds it" in point for point in left.points)
    sides = compared(about.found)
    assert [one.own for one in sides.kinds] == [False, True, False]
    assert sides.met == own_ratio(about.found) == -50
    one = scene_kinds.scene(about, DE)
    sound(one)
    assert one.takes[0].ask is None
    outputs = [reading(one.takes[0].score, kind, 1.0) for kind in kinds.KINDS]
    assert outputs == pytest.approx([-360.0 * scene_kinds.TURNS / 50.0] * 3)


# ---- drives that cannot work ---------------------------------------------------------------------------------------------------


@cache
def loose() -> Subject:
    """Teeth that do not reach into the spaces."""
    design = read(FOLDER / "elevation_printed.toml")
    ring = design.rigid_ring[0].model_copy(update={"clearance_mm": 0.9})
    return subject(assess(design.model_copy(update={"rigid_ring": (ring,)})))


@pytest.mark.parametrize("name", SCENES)
def test_a_drive_whose_teeth_do_not_reach_has_every_scene_or_a_reason_and_no_noise(name):
    for language in (EN, DE):
        one = scene(name, loose(), language)
        assert one.takes or one.not_shown
        assert "0.00 N" not in repr(one) and "0,00 N" not in repr(one)
    if name in ("torque", "play", "fit"):
        assert not one.takes and "Die Zähne reichen nicht in die Lücken" in one.not_shown and one.wrong
        assert not one.points


@pytest.mark.parametrize("name", ["kinds", "torque", "stress", "fit", "play"])
def test_no_text_of_a_computed_scene_is_cut_or_lies_on_another(name):
    """In German, which is longer, at every width at which pictures are shown."""
    made = scene(name, example("elevation_printed"), DE)
    for take in made.takes:
        assert told(take.score, (0.0, 0.52, 1.0)) == set(), take.name
        assert {text: share for text, share in smallest(take.score, 1.0).items() if share < 0.85} == {}, take.name


def texts(items: tuple[Item, ...]) -> list[str]:
    return [
        words
        for item in items
        for words in (texts(item.items) if isinstance(item, Group) else [item.text] if isinstance(item, Text) else [])
    ]


def curves(items: tuple[Item, ...]) -> int:
    """Lines with many points: the curves of plots."""
    return sum(
        curves(item.items)
        if isinstance(item, Group)
        else isinstance(item, Line) and not item.closed and item.fill is None and max(map(len, item.loops)) > 60
        for item in items
    )


@pytest.mark.parametrize("name", SCENES)
def test_a_picture_whose_question_waits_holds_no_figure_of_its_answer(name):
    """Nor curves that it could be read from: in stress and play they come with the answer."""
    for language in (EN, DE):
        made = scene(name, example("elevation_printed"), language)
        for take in (take for take in made.takes if take.ask):
            right = next(choice.words for choice in take.ask.choices if choice.right)
            asked = take.score.at(0.0, asked=True).items
            question = set(re.findall(r"\d+[.,]\d+", take.ask.question))
            figures = set(re.findall(r"\d+[.,]\d+", right)) - question
            shown = " ".join(texts(asked))
            assert not [one for one in figures if one in shown], take.name
            if name in ("stress", "play"):
                assert curves(asked) < curves(take.score.at(0.0).items)
