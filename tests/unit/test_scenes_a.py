"""Scenes racks, wedge, rolled, count and members: what turns is what kinematics says, and every picture can be played."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable, Iterator
from fractions import Fraction
from typing import Any

import numpy as np
import pytest
from lesson_drives import DE, EN, EXAMPLES, changed, example

from lobewright.assessment.results import Assessment
from lobewright.assessment.run import assess
from lobewright.design.files import design_from_data
from lobewright.design.starters import KINDS, starter_data
from lobewright.errors import FileFault
from lobewright.make.moving_page import pose
from lobewright.motion import FLEXIBLE, GENERATOR
from lobewright.picture.display import Disc, Group, Item, RingArc, Text
from lobewright.picture.display import Path as Outline
from lobewright.picture.palette import Role
from lobewright.picture.score import Score, score_json
from lobewright.teach import scene_count, scene_members, scene_racks, shown, wedging
from lobewright.teach.document import markdown
from lobewright.teach.flat import between_turns, flat
from lobewright.teach.language import Language
from lobewright.teach.reel import reel, text_alternative
from lobewright.teach.scene import Scene
from lobewright.teach.scenes import scene
from lobewright.teach.shot_list import shot_list
from lobewright.teach.subject import Subject, subject

NAMES = ("racks", "wedge", "rolled", "count", "members")
MOST_BYTES = {"members": 140_000, "rolled": 140_000}
"""Of one scene; the others stay below 60 kB."""


THREE_LOBES = {"kind": "printed_cup-rollers", "lobes": 3}
GENERATOR_HELD = {"kind": "printed_cup-rollers", "fixed": GENERATOR, "driven": "housing", "read": FLEXIBLE}
FOUR_MORE = {"kind": "belt-rollers", "more": 4}
"""Four spaces more than teeth at two lobes: teeth and spaces agree between the lobes as well."""
CUP_HELD = {"kind": "printed_cup-rollers", "fixed": FLEXIBLE, "driven": GENERATOR, "read": "housing"}
SPEEDS_UP = {"kind": "printed_cup-rollers", "fixed": "housing", "driven": FLEXIBLE, "read": GENERATOR}
OTHERS = (THREE_LOBES, FOUR_MORE, GENERATOR_HELD, CUP_HELD, SPEEDS_UP)
SUBJECTS: list[Callable[[], Subject]] = [
    *(lambda name=name: example(name) for name in EXAMPLES),
    *(lambda one=one: changed(**one) for one in OTHERS),
]


def placed(items: tuple[Item, ...], turn: float = 0.0, at: complex = 0j) -> Iterator[tuple[Item, complex, float]]:
    """Every primitive with the place and angle of the group that it stands in; what is magnified (clipped) is left out."""
    for item in items:
        if isinstance(item, Group):
            if item.clip:
                continue
            for place in item.placements:
                here = at + complex(place.x, place.y) * np.exp(1j * turn)
                yield from placed(item.items, turn + place.angle_rad, here)
        else:
            yield item, at, turn


def seats(score: Score, u: float, role: Role) -> list[tuple[complex, float]]:
    """Places of all filled teeth or pieces of a colour that are drawn once a tooth."""
    found = [
        (at, turn)
        for item, at, turn in placed(score.at(u).items)
        if isinstance(item, Outline) and item.closed and item.fill is role and len(item.loops) == 1
    ]
    return found


def reading(score: Score, name: str, u: float) -> float:
    one = next(one for one in score.readings if one.name == name)
    return score.number(one.shown.numbers[0].of, u)


def the_score(name: str, of: Subject, language: Language = EN, take: int = 0) -> Score:
    return scene(name, of, language).takes[take].score


def check_scene(made: Scene, name: str, places: tuple[float, ...] = (0.37, 1.0)) -> None:
    assert made.name == name and made.title and made.intro and made.takes and not made.not_shown
    size = sum(len(json.dumps(score_json(take.score), separators=(",", ":"))) for take in made.takes)
    assert size < MOST_BYTES.get(name, 60_000)
    for take in made.takes:
        assert all(isinstance(one.title, str) for one in take.score.readings)
        assert re.fullmatch(r"[a-z0-9_]+", take.name) and 6.0 <= take.score.seconds <= 12.0
        for u in places:
            picture = take.score.at(u)
            assert picture.items and len(picture.description) > 80
            assert all(take.score.words(one.shown, u) for one in take.score.readings) and take.score.caption(u)
        assert take.score.drag and len({one.name for one in take.score.moments}) == len(take.score.moments)
        assert take.ask and [choice.right for choice in take.ask.choices].count(True) == 1
        told = [choice.words for choice in take.ask.choices]
        assert len(told) >= 3 and len(set(told)) == len(told) and all(choice.why for choice in take.ask.choices)
    words = [made.title, *made.intro, *made.points]
    words += [
        text
        for take in made.takes
        for text in (take.title, take.score.description, *(s.words for s in take.score.said))
    ]
    assert not [text for text in words if re.search(r"[{}]|None|Fraction", text)]


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("of", SUBJECTS)
def test_a_scene_is_whole_in_both_languages(name: str, of: Callable[[], Subject]) -> None:
    check_scene(scene(name, of(), EN), name)
    check_scene(scene(name, of(), DE), name, ())
    assert [t.name for t in scene(name, of(), EN).takes] == [t.name for t in scene(name, of(), DE).takes]


@pytest.mark.parametrize("kind", KINDS)
def test_every_starter_has_all_scenes(kind: str, assessed_starter: Callable[[str], Assessment]) -> None:
    of = subject(assessed_starter(kind))
    for name in NAMES:
        check_scene(scene(name, of, EN), name, (0.37,) if name != "members" else ())


def test_an_unknown_scene_is_refused_by_name() -> None:
    with pytest.raises(FileFault, match="rakcs"):
        scene("rakcs", example("azimuth_belt"), EN)


# ---- count -------------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("of", SUBJECTS)
def test_counting_gives_the_ratio_of_the_equations(of: Callable[[], Subject]) -> None:
    count = scene_count.counted(of())
    assert count.ratio == count.moved.ratio and count.gone == count.has + count.back
    score = the_score("count", of())
    turns = count.moved.turns[count.moved.read]
    for u in (0.0, 0.1, 0.5, 1.0):
        assert reading(score, "read", u) == pytest.approx(float(360 * turns) * u, abs=1e-9)
    assert reading(score, "teeth", 1.0) == pytest.approx(float(turns * count.has), abs=1e-9)


def test_a_tooth_is_counted_when_it_stands_in_its_space() -> None:
    score = the_score("count", example("azimuth_belt"), DE)
    shown_count = next(one.shown for one in score.readings if one.name == "count")
    moments = {one.name: one.at for one in score.moments}
    assert list(moments) == ["tooth_1", "tooth_2", "tooth_3", "half", "whole"]
    for k in (1, 2, 3):
        at = moments[f"tooth_{k}"]
        assert (score.words(shown_count, at - 1e-4), score.words(shown_count, at)) == (str(k - 1), str(k))
    assert score.words(shown_count, 1.0) == "102"
    assert "−7,20" in score.words(score.readings[2].shown, 1.0)


@pytest.mark.parametrize("name", EXAMPLES)
@pytest.mark.parametrize("u", [0.0, 0.123, 0.5, 1.0])
def test_the_counted_drive_stands_where_its_pose_has_it(name: str, u: float) -> None:
    of = example(name)
    motion, score = of.motion, the_score("count", of)
    moved = shown.usual(of)
    angle = 2 * math.pi * u
    front = motion.rings[scene_count.counted(of).front]
    wanted = pose(motion, angle)
    teeth = wanted.teeth[front.row]
    spots = (teeth[:, 0] + 1j * teeth[:, 1]) * np.exp(1j * angle)
    found = seats(score, u, Role.FLEXIBLE_SOFT)[: len(spots)]
    assert len(found) == len(spots)
    assert np.abs(np.array([at for at, _ in found]) - spots).max() < 4e-4 * motion.shape.radius_mm
    leans = [
        math.remainder(turn - normal - angle, 2 * math.pi) for (_, turn), normal in zip(found, teeth[:, 2], strict=True)
    ]
    assert max(map(abs, leans)) < 2e-3
    angles = [
        turn for item, _, turn in placed(score.at(u).items) if isinstance(item, Outline) and item.fill is Role.INK
    ]
    assert any(math.isclose(one, float(moved.turns[front.name]) * angle, abs_tol=1e-6) for one in angles)


def test_what_is_said_at_a_counted_tooth_names_that_tooth() -> None:
    score = the_score("count", example("azimuth_belt"))
    assert [score.caption(one.at) for one in score.moments[:3]] == [
        f"Tooth {k} stands in space {k}." for k in (1, 2, 3)
    ]


@pytest.mark.parametrize("name", ["racks", "count"])
def test_teeth_that_do_not_reach_are_not_said_to_stand_in_spaces(name: str) -> None:
    data = starter_data("printed_cup-rollers")
    data["rigid_ring"][0]["clearance_mm"] = 3.0
    of = subject(assess(design_from_data(data)))
    assert shown.apart(of) and "do not reach" in the_score(name, of).caption(0.0)
    assert "do not reach" not in the_score(name, example("elevation_printed")).caption(0.0)


@pytest.mark.parametrize(
    ("one", "told"),
    [
        ({}, "the first 2 come by twice. At the end tooth 2 stands in space 0"),
        (CUP_HELD, "2 of the 102 spaces have not"),
    ],
)
def test_what_is_left_over_after_a_turn_is_told(one: dict[str, str], told: str) -> None:
    assert told in scene("count", changed(**one) if one else example("azimuth_belt"), EN).points[0]


# ---- members -----------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("of", SUBJECTS)
def test_swapped_members_turn_as_solved(of: Callable[[], Subject]) -> None:
    swaps, made = scene_members.swaps(of()), scene("members", of(), EN)
    own = of().found.motion
    assert len(swaps) == len(made.takes) == 6 and (swaps[0].moved.fixed, swaps[0].moved.driven) == (
        own.fixed,
        own.driven,
    )
    for swap, take in zip(swaps, made.takes, strict=True):
        moved = swap.moved
        assert swap.turns[moved.driven] / swap.turns[moved.read] == moved.ratio and swap.turns[moved.fixed] == 0
        farthest, lead = max(map(abs, swap.turns.values())), abs(swap.turns[moved.driven])
        assert 1 <= farthest <= scene_members.FASTEST_TURNS
        assert (farthest == scene_members.FASTEST_TURNS) if lead < 1 else lead.denominator == 1
        for u in (0.25, 1.0):
            for name, member in (("driven", moved.driven), ("read", moved.read)):
                assert reading(take.score, name, u) == pytest.approx(360.0 * float(swap.turns[member]) * u, abs=1e-9)


def test_wrong_choices_are_real_slips_and_never_right() -> None:
    of = example("elevation_printed")
    own = scene_members.choices(of, shown.usual(of))
    assert own == {"right": -50, "sign": 50, "held": 51, "off": -51, "upside": Fraction(-1, 50)}
    assert scene_members.choices(of, shown.moved(of, FLEXIBLE, GENERATOR, "housing"))["off"] == 50
    for swap in scene_members.swaps(of):
        ratios = list(scene_members.choices(of, swap.moved).values())
        assert ratios[0] == swap.moved.ratio and len(set(ratios)) == len(ratios) >= 4


@pytest.mark.parametrize("of", SUBJECTS)
def test_the_member_that_is_held_is_hatched_in_the_drive_and_named_so(of: Callable[[], Subject]) -> None:
    for swap, take in zip(scene_members.swaps(of()), scene("members", of(), EN).takes, strict=True):
        held, size = swap.moved.fixed, take.score.view[3]
        strong = shown.role_of(of(), held)[0]
        hatched = [
            item
            for item, at, _ in placed(take.score.at(0.4).items)
            if isinstance(item, Outline) and item.hatch is strong and at.real + max(item.loops[0])[0] < size
        ]
        assert hatched  # the hatched dial stands to the right of the drive
        texts = [item.text for item, *_ in placed(take.score.at(0.4).items) if isinstance(item, Text)]
        if held != FLEXIBLE or of().found.design.is_cup:
            assert f"{shown.named(of(), EN, held, 'bare')}, held" in texts


def test_the_relation_is_worked_with_the_numbers_of_the_drive() -> None:
    points = scene("members", example("azimuth_belt"), EN).points
    assert any("(0 − 1) × 102 = (x − 1) × 100, so x = 1 − 102/100 = −1/50" in one for one in points)
    score = the_score("members", example("azimuth_belt"))
    for u, signs in ((0.0, (False, False)), (0.5, (False, True))):
        assert tuple("(minus: clockwise)" in score.told(one, u) for one in score.readings[:2]) == signs


@pytest.mark.parametrize("of", SUBJECTS)
def test_turns_on_the_dials_tell_the_ratio_from_one_that_is_off_by_one(of: Callable[[], Subject]) -> None:
    for swap, take in zip(scene_members.swaps(of()), scene("members", of(), EN).takes, strict=True):
        texts = [item.text for item, *_ in placed(take.score.at(1.0).items) if isinstance(item, Text)]
        told = [text.removeprefix("turns: ") for text in texts if text.startswith("turns: ")]
        driven, read = (float(one.replace("−", "-")) for one in told)
        wrong = [one for one in scene_members.choices(of(), swap.moved).values() if one != swap.moved.ratio]
        off = abs(driven / read / float(swap.moved.ratio) - 1.0)
        assert off < 0.2 * min(abs(float(one / swap.moved.ratio) - 1.0) for one in wrong)


@pytest.mark.parametrize("of", SUBJECTS)
def test_rings_of_turns_on_one_dial_stay_clear_of_those_on_the_next(of: Callable[[], Subject]) -> None:
    for take in scene("members", of(), EN).takes:
        _, low, _, size = take.score.view
        arcs = [item for item, *_ in placed(take.score.at(1.0).items) if isinstance(item, RingArc)]
        dials: dict[float, float] = {}
        for arc in arcs:
            if arc.centre[0] > size and arc.sweep_rad:
                dials[arc.centre[1]] = max(arc.outer, dials.get(arc.centre[1], 0.0))
        ends = [end for y, outer in sorted(dials.items()) for end in (y - outer, y + outer)]
        assert len(dials) == 2 and [low, *ends, size] == sorted([low, *ends, size])


def test_a_second_turn_has_a_ring_of_its_own_on_the_dial() -> None:
    """At one turn and at two the fastest dial looks different."""
    score = the_score("members", example("azimuth_belt"))

    def rings(u: float) -> list[float]:
        items = [item for item, *_ in placed(score.at(u).items) if isinstance(item, RingArc)]
        return [
            item.sweep_rad / (2.0 * math.pi) for item in items if item.centre[0] > score.view[3] and item.inner > 0.0
        ]

    assert [round(one, 3) for one in rings(0.5)][:2] == [1.0, 0.0]
    assert [round(one, 3) for one in rings(0.75)][1] == 0.5 and [round(one, 3) for one in rings(1.0)][1] == 1.0


@pytest.mark.parametrize("of", SUBJECTS)
def test_the_letter_of_a_framed_place_keeps_its_size_and_the_trial_rack_is_of_no_ring(
    of: Callable[[], Subject],
) -> None:
    for take in scene("racks", of(), EN).takes:
        unit = (take.score.view[2] - take.score.view[0]) / 960.0
        for u in (0.0, 0.31, 0.5, 1.0):
            found = [
                item for item, *_ in placed(take.score.at(u).items) if isinstance(item, Text) and item.text in "AB"
            ]
            assert found and all(item.size(unit) >= 0.85 * item.size_px * unit for item in found)
    made = scene("racks", of(), EN).takes[1].score
    colours = {item.fill for item, *_ in placed(made.at(0.5).items) if isinstance(item, Outline)}
    assert not colours & {Role.RING_A_SOFT, Role.RING_B_SOFT} and Role.RULE in colours
    assert next(one.title for one in made.readings if one.name == "out") == "Strip has gone"


# ---- racks -------------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("of", SUBJECTS)
def test_travel_of_the_racks_is_in_the_ratio_of_the_counts(of: Callable[[], Subject]) -> None:
    score = the_score("racks", of())
    moved = shown.usual(of())
    for u in (0.2, 1.0):
        went, came = reading(score, "in", u), reading(score, "out", u)
        assert went / came == pytest.approx(float(moved.ratio), rel=1e-12)
    lobes = of().found.design.lobes
    assert reading(score, "in", 1.0) == pytest.approx(2 * math.pi * of().motion.shape.radius_mm / lobes)


@pytest.mark.parametrize("of", SUBJECTS)
@pytest.mark.parametrize("u", [0.0, 0.31, 1.0])
def test_teeth_and_spaces_agree_under_the_wedge_and_are_half_a_pitch_off_at_the_other_place(
    of: Callable[[], Subject], u: float
) -> None:
    score, pair = the_score("racks", of()), shown.pair(of())
    way = 2 * math.pi * of().motion.shape.radius_mm / of().found.design.lobes
    soft = shown.role_of(of(), pair.row.name)[1]

    def numbers(role: Role) -> np.ndarray:
        # Teeth, not the bodies that they stand on; what is marked is another colour.
        wide = 2.0 * math.pi * of().motion.shape.radius_mm / pair.row.flexible_teeth
        found = [
            at.real
            for item, at, _ in placed(score.at(u).items)
            if isinstance(item, Outline)
            and item.closed
            and item.fill is role
            and np.ptp(item.loops[0], axis=0)[0] < 2 * wide
        ]
        return np.sort(found)

    teeth, spaces = numbers(Role.FLEXIBLE_SOFT), numbers(soft)
    seen = []
    found = [(one.text, at.real) for one, at, _ in placed(score.at(u).items) if isinstance(one, Text)]
    between = max(at for text, at in found if text == "B") - way * u
    for place, off in ((way * u, 0.0), (way * u - between, 0.5), (way * u + between, 0.5)):
        if score.view[0] < place < score.view[2]:
            ahead = np.interp(place, teeth, np.arange(len(teeth))) - np.interp(place, spaces, np.arange(len(spaces)))
            assert abs(math.remainder(ahead - off, 1.0)) < 0.01
            seen.append(off)
    assert set(seen) == {0.0, 0.5}


@pytest.mark.parametrize("of", SUBJECTS)
@pytest.mark.parametrize("u", [0.0, 0.31, 1.0])
def test_the_framed_places_are_those_that_are_magnified(of: Callable[[], Subject], u: float) -> None:
    turn, score = 2 * math.pi * of().motion.shape.radius_mm, the_score("racks", of())
    pair, lobes = shown.pair(of()), of().found.design.lobes
    found = [(item.text, at.real) for item, at, _ in placed(score.at(u).items) if isinstance(item, Text)]
    assert [at for text, at in found if text == "A"] == pytest.approx([turn * u / lobes], abs=2e-3)
    beside = [at - turn * u / lobes for text, at in found if text == "B"]
    # With one more division a lobe it is the middle between two lobes, else about half way to where they agree again.
    far = 0.002 if pair.difference == lobes else 0.5
    assert beside and [abs(at) for at in beside] == pytest.approx([0.5 * turn / pair.difference] * len(beside), rel=far)
    # Those that are in view as a whole are shown; half a wave beside the middle of the way there are both.
    laid = flat(of(), pair, 1.0 / lobes)
    seen = scene_racks.seen_teeth(laid, between_turns(laid))
    half = 0.5 * seen * turn / pair.row.flexible_teeth
    whole = [k for k in (-1, 1) if score.view[0] + half < turn * u / lobes + k * abs(beside[0]) < score.view[2] - half]
    assert [math.copysign(1, at) for at in beside] == whole


@pytest.mark.parametrize("of", SUBJECTS)
def test_teeth_of_the_strip_are_whole_in_both_magnified_places(of: Callable[[], Subject]) -> None:
    for take in scene_racks.scene(of(), EN).takes:
        picture = take.score.at(0.0)
        clipped = [item for item in picture.items if isinstance(item, Group) and item.clip]
        lenses = [item for item in clipped if any(isinstance(one, Group) for one in item.items)]
        assert len(lenses) == 2
        for lens in lenses:
            assert lens.clip
            x0, y0, x1, y1 = lens.clip
            whole = []
            for item, at, _ in placed((Group(lens.items, lens.placements),)):
                if isinstance(item, Outline) and item.closed and item.fill is Role.FLEXIBLE_SOFT:
                    x, y = np.add(item.loops[0], [at.real, at.imag]).T
                    if np.ptp(x) < 0.3 * (x1 - x0) and x0 < x.min() and x.max() < x1:
                        whole.append(y0 < y.min() and y.max() < y1)
            assert len(whole) > 5 and sum(whole) >= 0.5 * len(whole)
            assert whole[len(whole) // 2]


@pytest.mark.parametrize("of", SUBJECTS)
def test_with_equal_counts_nothing_shifts_and_divisions_are_alike(of: Callable[[], Subject]) -> None:
    take = scene("racks", of(), EN).takes[1]
    assert take.name == "equal" and reading(take.score, "out", 1.0) == 0.0 and reading(take.score, "in", 1.0) > 0.0
    teeth = shown.pair(of()).row.flexible_teeth
    # A ring of the drive that has as many spaces is shown itself, for its spaces fit.
    fits = [ring.name for ring in of().motion.rings if ring.teeth == teeth] or [shown.pair(of()).row.name]
    soft, pitch = shown.role_of(of(), fits[0])[1], 2 * math.pi * of().motion.shape.radius_mm / teeth
    lent = fits[0] == shown.pair(of()).row.name
    assert ("may rub" in take.score.caption(0.0)) is ("may rub" in take.score.description) is lent
    for u in (0.0, 0.4):
        spaces = np.array([at.real for at, _ in seats(take.score, u, soft)])[1:]
        assert np.diff(np.sort(spaces)) == pytest.approx(pitch, rel=1e-6)


def test_four_spaces_more_at_two_lobes_agree_between_the_lobes_as_well() -> None:
    made = scene("racks", changed(**FOUR_MORE), EN)
    told = next(point for point in made.points if "From one such place" in point)
    teeth = shown.pair(changed(**FOUR_MORE)).row.flexible_teeth
    assert [float(one) for one in re.findall(r"there are ([\d.]+) .* but ([\d.]+)", told)[0]] == [
        (teeth + 4) / 4,
        teeth / 4,
    ]


# ---- wedge -------------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("of", SUBJECTS)
def test_the_wedge_gains_in_force_what_it_loses_in_travel(of: Callable[[], Subject]) -> None:
    pair = wedging.wedge_pair(of(), shown.pair(of()))
    assert pair.gain(0.0, 0.0) == pytest.approx(float(abs(pair.ratio)), rel=1e-12)
    score = the_score("wedge", of())
    assert reading(score, "in", 1.0) / reading(score, "out", 1.0) == pytest.approx(float(abs(pair.ratio)), rel=1e-12)
    turns = shown.usual(of()).turns
    moving = turns[FLEXIBLE] or turns[shown.pair(of()).row.name]
    assert 1 / moving == pair.ratio


@pytest.mark.parametrize("strip_moves", [True, False])
@pytest.mark.parametrize(("wedge", "flank"), [(0.0, 0.3), (0.12, 0.0), (0.002, 0.12), (0.2, 0.25)])
def test_forces_on_the_tooth_stand_in_balance(strip_moves: bool, wedge: float, flank: float) -> None:
    slope, lean = math.radians(2.4), math.radians(25.0)
    pair = wedging.WedgePair(Fraction(1), strip_moves, slope, lean)
    # Unknown: normal force of wedge and of flank, load. Balance of the wedge along the rail, of the tooth along and across.
    on_wedge = math.sin(slope) + wedge * math.cos(slope), math.cos(slope) - wedge * math.sin(slope)
    on_flank = math.cos(lean) - flank * math.sin(lean), math.sin(lean) + flank * math.cos(lean)
    rows = [[on_wedge[0], 0.0, 0.0], [on_wedge[1], -on_flank[1], 0.0]]
    rows.append([on_wedge[0], -on_flank[0], 1.0] if strip_moves else [0.0, -on_flank[0], 1.0])
    load = np.linalg.solve(np.array(rows), np.array([1.0, 0.0, 0.0]))[2]
    assert pair.gain(wedge, flank) == pytest.approx(load, rel=1e-12)


@pytest.mark.parametrize("one", [{}, CUP_HELD])
def test_the_equation_that_is_told_gives_the_force_that_is_shown(one: dict[str, str]) -> None:
    of = changed(**one) if one else example("azimuth_belt")
    told = next(point for point in scene("wedge", of, EN).points if "1/tan" in point)
    slope, flank = (math.radians(float(one)) for one in re.findall(r"([\d.]+)°", told))
    product = 1 / math.tan(slope) / math.tan(flank)
    force = reading(the_score("wedge", of), "force", 0.5)
    less = 1.0 if "less 1" in told else 0.0
    assert product - less == pytest.approx(force, rel=0.005) and (less == 1.0) is (not one)


def test_a_wedge_that_slides_has_no_roller_on_the_tooth() -> None:
    takes = {take.name: take.score for take in scene("wedge", example("azimuth_belt"), EN).takes}
    discs = {
        name: [
            one for one, *_ in placed(score.at(0.4).items) if isinstance(one, Disc) and one.fill is Role.GENERATOR_SOFT
        ]
        for name, score in takes.items()
    }
    assert {name: len(found) for name, found in discs.items()} == {"free": 1, "own": 1, "slides": 0}


@pytest.mark.parametrize("name", NAMES)
def test_a_picture_that_has_not_moved_does_not_give_the_answer_away(name: str) -> None:
    of = example("azimuth_belt")
    for take in scene(name, of, EN).takes:
        assert take.ask
        right = next(choice.words for choice in take.ask.choices if choice.right)
        texts = [item.text for item, *_ in placed(take.score.at(0.0).items) if isinstance(item, Text)]
        assert not [text for text in texts if right in text]
        assert take.score.at(0.3) != take.score.at(0.0)


def test_friction_takes_force_and_no_travel_and_locks_at_last() -> None:
    of = example("elevation_printed")
    takes = {take.name: take.score for take in scene("wedge", of, EN).takes}
    assert list(takes) == ["free", "own", "slides"]
    force = [reading(score, "force", 0.5) for score in takes.values()]
    assert force[0] > force[1] > force[2] > 0.0
    assert len({reading(score, "out", 1.0) for score in takes.values()}) == 1
    assert wedging.wedge_pair(of, shown.pair(of)).gain(1.2, 1.2) == 0.0
    own, slides = wedging.rubbing(of)
    assert own.wedge[2] < 0.01 and slides is not None and slides.wedge == slides.flank == own.flank


# ---- rolled ------------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("of", SUBJECTS)
def test_rolled_up_the_racks_are_the_round_drive(of: Callable[[], Subject]) -> None:
    motion, pair = of().motion, shown.pair(of())
    score = the_score("rolled", of())
    radius, ring = motion.shape.radius_mm, motion.rings[pair.index]
    wanted = pose(motion, 0.0).teeth[ring.row]
    found = seats(score, 1.0, Role.FLEXIBLE_SOFT)
    assert len(found) == len(wanted)
    for x, y, normal in wanted:
        at, turn = min(found, key=lambda one: abs(one[0] - complex(x, y)))
        assert abs(at - complex(x, y)) < 1e-4 * radius and abs(math.remainder(turn - normal, 2 * math.pi)) < 1e-4
    soft = Role.RING_A_SOFT if pair.index == 0 else Role.RING_B_SOFT
    pieces = sorted(math.atan2(at.imag, at.real) % (2 * math.pi) for at, _ in seats(score, 1.0, soft))
    middles = (np.arange(ring.teeth) + 0.5) * 2 * math.pi / ring.teeth
    assert np.abs(np.array(pieces) - middles).max() < 1e-4
    rollers = [wheel for wheel in motion.wheels if math.hypot(wheel.x_mm, wheel.y_mm) > wheel.radius_mm > 0.0]
    discs = [
        one.centre
        for one, *_ in placed(score.at(1.0).items)
        if isinstance(one, Disc) and one.fill is Role.GENERATOR_SOFT
    ]
    for wheel in rollers:
        assert min(math.dist(centre, (wheel.x_mm, wheel.y_mm)) for centre in discs) < 1e-3


def test_rolling_is_one_motion_that_keeps_lengths() -> None:
    of = example("elevation_printed")
    score, pitch = the_score("rolled", of), 2 * math.pi * of.motion.shape.radius_mm / 102
    before: Any = None
    for u in np.linspace(0.0, 1.0, 41):
        spots = np.array([at for at, _ in seats(score, float(u), Role.RING_A_SOFT)])
        right = spots[: int(np.argmin(np.abs(np.diff(spots)) < 5 * pitch)) + 1]
        steps = np.abs(np.diff(right))
        assert np.abs(steps - pitch).max() < 2e-3 * pitch  # a chord of one pitch is shorter than its arc by 1.6e-4
        if before is not None:
            assert np.abs(spots - before).max() < 0.16 * 2 * math.pi * of.motion.shape.radius_mm
        before = spots
    flat = np.array([at for at, _ in seats(score, 0.0, Role.RING_A_SOFT)])
    assert np.ptp(flat.imag) == 0.0 and np.ptp(flat.real) == pytest.approx(101 * pitch, rel=1e-6)


@pytest.mark.parametrize("of", SUBJECTS)
def test_parts_are_named_while_flat_and_when_round_and_every_lobe_is_told(of: Callable[[], Subject]) -> None:
    score = the_score("rolled", of())

    def texts(u: float) -> list[str]:
        return [item.text for item, *_ in placed(score.at(u).items) if isinstance(item, Text)]

    ring = shown.named(of(), EN, shown.pair(of()).row.name, "bare")
    assert texts(0.0).count("lobe") == of().found.design.lobes and f"Rack: {ring[0].lower()}{ring[1:]}" in texts(0.0)
    assert "lobe" not in texts(0.5) and "What presses: the wave generator" in texts(0.5)
    assert {ring, "Wave generator", "Red pin: tooth 0"} <= set(texts(1.0)) and not [
        t for t in texts(1.0) if ": the" in t
    ]
    heights = [at.imag + item.at[1] for item, at, _ in placed(score.at(1.0).items) if isinstance(item, Text)]
    assert min(heights) > score.view[1]


# ---- what is wrong is said ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("language", [EN, DE])
def test_a_design_that_fails_still_teaches_and_says_so(language: Language) -> None:
    data = starter_data("printed_cup-rollers")
    data["rigid_ring"][0]["clearance_mm"] = 0.0
    of = subject(assess(design_from_data(data)))
    told = {"en": "would bind", "de": "würde klemmen"}[language.code]
    for name in NAMES:
        made = scene(name, of, language)
        assert made.takes and not made.not_shown and [told in one for one in made.wrong] == [True]
    assert not scene("racks", example("azimuth_belt"), language).wrong


@pytest.mark.parametrize("language", [EN, DE])
def test_equal_counts_are_told_by_words_of_their_own(language: Language) -> None:
    made = scene("racks", example("azimuth_belt"), language)
    flat, equal = made.takes
    told = text_alternative(reel(made, equal), made, language)
    assert not any(line in told for line in (*made.intro, *made.points))
    assert all(line in told for line in (*equal.intro, *equal.points)) and equal.intro and equal.points
    assert "100" in equal.intro[0] and "102" not in equal.intro[0]
    assert all(line in text_alternative(reel(made, flat), made, language) for line in (*made.intro, *made.points))
    listed = markdown(shot_list((made,), "belt", (), language))
    assert all(line in listed for line in (*equal.intro, *equal.points))


@pytest.mark.parametrize("of", SUBJECTS[:4])
@pytest.mark.parametrize("u", [0.0, 0.4, 0.8, 1.0])
def test_the_magnified_tooth_is_the_one_that_is_rolled_up(of: Callable[[], Subject], u: float) -> None:
    """Pin, mark of the space and the teeth beside stand as far from each other as in the whole picture, times one scale; the
    space is below the tooth."""
    picture = the_score("rolled", of()).at(u)

    def seen(items: tuple[Item, ...]) -> tuple[complex, complex, list[complex]]:
        pins, marks, teeth = [], [], []
        for item, at, turn in placed(items):
            if isinstance(item, Disc) and item.fill is Role.TOOTH_MARK:
                pins.append(at + complex(*item.centre) * complex(math.cos(turn), math.sin(turn)))
            elif isinstance(item, Outline) and item.fill is Role.INK:
                marks.append(at + complex(*item.loops[0][0]) * complex(math.cos(turn), math.sin(turn)))
            elif isinstance(item, Outline) and item.fill is Role.FLEXIBLE_SOFT:
                teeth.append(at)
        (pin,), (mark,) = pins, marks
        return pin, mark, sorted(teeth, key=lambda tooth: abs(tooth - mark))[:5]

    close = next(
        item for item in picture.items if isinstance(item, Group) and item.clip and len(item.items[0].items) > 5
    )
    (whole_pin, whole_mark, whole), (pin, mark, few) = seen(picture.items), seen(close.items)
    times = abs(few[1] - few[0]) / abs(whole[1] - whole[0])
    assert times > 2.0 and abs(pin - mark) == pytest.approx(times * abs(whole_pin - whole_mark), rel=1e-3)
    for tooth, same in zip(few, whole, strict=True):
        assert abs(tooth - mark) == pytest.approx(times * abs(same - whole_mark), rel=5e-3, abs=0.02 * abs(pin - mark))
    assert mark.imag < pin.imag and abs(mark.real - pin.real) < 1e-2 * abs(pin - mark)
