"""Lessons about designs that are not like the examples: three lobes, failing depth, rings of other counts, few teeth."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import replace
from fractions import Fraction
from functools import cache
from itertools import permutations
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lesson_drives import DE, EN, changed

from lobewright.assessment.run import assess
from lobewright.design.files import design_from_data
from lobewright.design.starters import starter_data
from lobewright.errors import ConvergenceFault, MotionFault
from lobewright.make.rack_paper import PAPERS, instructions, paper_racks, paper_sheet
from lobewright.motion import FLEXIBLE, GENERATOR, rows_of, solve
from lobewright.teach import kinds, scene_count, scene_fit, scene_kinds, scene_wedge, shown, tried, wedging
from lobewright.teach.card import card_words
from lobewright.teach.reasons import why
from lobewright.teach.scene import Scene
from lobewright.teach.scenes import scene
from lobewright.teach.subject import Subject, subject

BOTH = pytest.mark.parametrize("language", [EN, DE], ids=lambda one: one.code)


def made(data: dict[str, Any]) -> Subject:
    return subject(assess(design_from_data(data)))


@cache
def three() -> Subject:
    """A belt of 100 teeth on three lobes, which do not divide it, in a ring of 103."""
    data = starter_data("belt-rollers")
    data["generator"]["lobes"] = 3
    data["flexible_ring"]["teeth"], data["rigid_ring"][1]["teeth"] = 100, 100
    data["rigid_ring"][0]["teeth"] = 103
    return made(data)


@cache
def unequal(**motion: str) -> Subject:
    """Two rings, both of other counts than the belt: 102 and 104 about 100."""
    data = starter_data("belt-rollers")
    data["flexible_ring"]["teeth"] = 100
    data["rigid_ring"][0]["teeth"], data["rigid_ring"][1]["teeth"] = 102, 104
    data["motion"] |= motion
    return made(data)


@cache
def few(teeth: int) -> Subject:
    """A steel cup of few teeth with four more in its ring."""
    data = starter_data("metal_cup")
    data["flexible_ring"] |= {"teeth": teeth, "module_mm": 48.0 / teeth, "boss_diameter_mm": 16.0}
    data["rigid_ring"][0]["teeth"] = teeth + 4
    return made(data)


@cache
def shallow() -> Subject:
    """A steel cup pushed out so little that its teeth hardly reach into the spaces."""
    data = starter_data("metal_cup")
    data["generator"]["design_deflection_factor"] = 0.35
    return made(data)


# ---- ratios ------------------------------------------------------------------------------------------------------------------


@given(st.fractions(max_denominator=400).filter(lambda ratio: 0 < abs(ratio) < 9000))
def test_a_ratio_is_told_exactly_and_with_two_places_at_most(ratio):
    told = shown.ratio_words(DE, ratio)
    first, second = told.replace("−", "-").replace(",", ".").replace("\u00a0", "").split(" : ")
    assert Fraction(first) / Fraction(second) == ratio
    assert not re.search(r",\d{3}", told)


def test_ratios_are_told_as_people_write_them():
    wanted = {(-50, 1): "−50 : 1", (-100, 3): "−100 : 3", (1, 51): "1 : 51", (52, 51): "52 : 51", (51, 50): "1.02 : 1"}
    assert [shown.ratio_words(EN, Fraction(*pair)) for pair in wanted] == list(wanted.values())


# ---- what does not work ------------------------------------------------------------------------------------------------------


@BOTH
def test_a_depth_that_is_told_in_mm_is_one(language):
    """The check grades a share of the tooth's height."""
    mesh = shallow().found.rings[0]
    (told,) = shown.wrongs(shallow(), language, "engagement")
    assert f" {language.number(mesh.least_engagement_mm, 2)} mm" in told
    graded = next(one for one in shallow().found.verdicts if one.name.startswith("engagement"))
    assert graded.value == pytest.approx(mesh.least_engagement_mm / mesh.outline.height_mm)


@BOTH
def test_no_depth_is_told_of_teeth_that_do_not_reach_in(language):
    found = shallow().found
    cases = tuple(replace(case, engagement_mm=case.engagement_mm - 1.0) for case in found.rings[0].cases)
    apart = replace(shallow(), found=replace(found, rings=(replace(found.rings[0], cases=cases),)))
    (told,) = shown.wrongs(apart, language, "engagement")
    assert " mm" not in told and "−" not in told


# ---- count -------------------------------------------------------------------------------------------------------------------


@BOTH
def test_at_the_stop_of_a_tooth_its_own_caption_stands_whatever_the_count(language):
    count = scene_count.counted(three())
    for passes in range(20, 401):
        other = replace(count, passes=passes)
        said = scene_count._said(three(), language, other)
        for moment in scene_count._moments(language, other)[:3]:
            told = [one.words for one in said if one.since <= moment.at][-1]
            assert told == language.say("count", "said_tooth", tooth=int(moment.name[-1])), (passes, moment.name)


# ---- fit ---------------------------------------------------------------------------------------------------------------------


def numbers(text: str, before: str) -> list[float]:
    return [float(one.replace(",", ".")) for one in re.findall(rf"([\d.,]+) {before}", text)]


@BOTH
def test_with_three_lobes_that_do_not_divide_the_teeth_captions_are_true(language):
    take = scene("fit", three(), language).takes[0]
    one = scene_fit._tried(three().found, 0, 1)
    assert isinstance(one, tried.Tried) and one.best > 0, "the turns tried have a best one that is none"
    lobe_word, free, shut = ("lobe", "comes free", "blocked again") if language is EN else (
        "Wellenberg", "frei", "wieder gesperrt")  # fmt: skip
    told_free = set()
    for at in range(tried.TURNS - 1):
        said = take.score.caption(round(at / (tried.TURNS - 1), 4))
        assert "both" not in said and "beiden Wellenbergen" not in said
        gap = one.gap_mm[at]
        if shut in said:
            assert gap[int(said.split(f"{lobe_word} ")[1][0]) - 1] < 0.0, (at, said)
        elif free in said:
            lobe = int(said.split(f"{lobe_word} ")[1][0])
            told_free.add(lobe)
            assert gap[lobe - 1] > 0.0 and (gap < 0.0).sum() == 2, (at, said)
        elif at:
            assert gap[0] < 0.0 and gap.max() < 0.0, (at, said)
    assert told_free == {2, 3}
    assert [moment.name for moment in take.score.moments] == ["first", "other"]
    (start,) = numbers(take.score.caption(0.0), "µm")
    assert start == pytest.approx(-1000.0 * one.gap_mm[0].min(), abs=1.0)
    (about,) = numbers(next(choice.why for choice in take.ask.choices if "µm" in choice.why), "µm")
    assert about == pytest.approx(-1000.0 * one.worst_mm.max(), abs=6.0) and about % 10 == 0


def test_the_rings_own_difference_is_tried_at_the_drives_own_deflection():
    """Where the other ring has more teeth, the deflection was chosen for that."""
    found = unequal().found
    one = scene_fit._tried(found, 0, 2)
    assert isinstance(one, tried.Tried)
    assert one.shape.deflection_mm == pytest.approx(found.design_deflection_mm)
    assert one.gap_mm[0] == pytest.approx(found.rings[0].cases[0].smallest_gap_mm, abs=0.002)


# ---- kinds -------------------------------------------------------------------------------------------------------------------


@cache
def beside(ratio: tuple[int, int]) -> kinds.Compared:
    """A design, as if it had this ratio, beside a cup with the nearest; nothing is put under torque."""
    own = Fraction(*ratio)
    met = kinds.ratio_met(own)
    not_pushed = why(ConvergenceFault("not asked for"))
    both = (("belt", True, three().found), ("metal_cup", False, kinds._made("metal_cup", met)))
    return kinds.Compared(tuple(kinds.Kind(*one, not_pushed) for one in both), own, met, ())


@BOTH
@pytest.mark.parametrize("ratio", [(-100, 3), (-50, 1)])
def test_kinds_with_other_ratios_are_not_called_alike(language, ratio, monkeypatch):
    sides = beside(ratio)
    monkeypatch.setattr(scene_kinds, "compared", lambda found, progress: sides)
    one = scene_kinds.scene(three(), language)
    score = one.takes[0].score
    own, met = (shown.ratio_words(language, value) for value in (sides.ratio, sides.met))
    nearly = "nearly" if language is EN else " fast "
    for told in (one.intro[0], score.description, score.caption(0.0), score.caption(0.6), one.points[0].lower()):
        assert (nearly in f" {told}") == (own != met), told
    for told in (score.description, score.caption(0.6), one.points[0]):
        assert own in told and met in told
        # one that is told in whole numbers can be compared with the others
        assert (f"{language.number(-100 / 3, 1)} : 1)" in told) == (own == "−100 : 3")


# ---- racks and wedge ---------------------------------------------------------------------------------------------------------


def figures(text: str) -> list[Fraction]:
    return [Fraction(one.replace(",", ".")) for one in re.findall(r"\d+(?:[.,]\d+)?", text)]


@BOTH
def test_a_third_count_is_a_step_of_its_own(language):
    """The drive has 52 : 1, its strip 50 : 1; what lies between is said in both scenes."""
    racks, wedge = (scene(name, unequal(), language) for name in ("racks", "wedge"))
    travel, other = racks.points[2:4]
    assert "−50 : 1" in travel and "52 : 1" not in travel
    right = next(choice.why for choice in racks.takes[0].ask.choices if choice.right)
    for told in (other, right):
        assert "52 : 1" in told
        *_, first, second, out, _, _ = figures(told)
        assert abs(abs(first - second) - out) <= Fraction(1, 100), told
    assert "52 : 1" in wedge.intro[1] and "50 : 1" in wedge.intro[1]
    assert ("tooth and rack 50 : 1" if language is EN else "Zahn und Zahnstange 50 : 1") in wedge.points[-1]


@BOTH
@pytest.mark.parametrize("about", [three, shallow])
def test_only_a_drive_with_the_pairs_ratio_is_said_to_have_it(language, about):
    told = scene("wedge", about(), language)
    assert ("just the ratio of this drive" if language is EN else "die Übersetzung dieses Getriebes") in told.intro[1]


@BOTH
@pytest.mark.parametrize("about", [three, unequal, shallow])
@pytest.mark.parametrize("name", ["racks", "wedge"])
def test_who_divides_the_ways_that_are_written_gets_the_ratio(language, about, name):
    """To one part in a hundred."""
    score = scene(name, about(), language).takes[0].score
    way_in, way_out = (figures(score.told(one, 1.0))[0] for one in score.readings[:2])
    pair = shown.pair(about())
    whole = abs(shown.usual(about()).ratio) if name == "racks" else Fraction(pair.row.flexible_teeth, pair.difference)
    assert float(way_in / way_out) == pytest.approx(float(whole), rel=0.01)


@BOTH
@pytest.mark.parametrize(("teeth", "times"), [(44, 1), (60, 2)])
def test_a_wedge_is_called_steeper_only_where_it_is(language, teeth, times):
    last = scene("wedge", few(teeth), language).points[-1]
    told = f"{times} times" if language is EN else f"{times}-mal"
    assert (told in last) == (times > 1)
    assert ("drawn as steep as" if language is EN else "ist so steil gezeichnet") in last or times > 1


@given(st.integers(20, 400), st.sampled_from((2, 3, 4, 6)), st.floats(12.0, 35.0), st.booleans())
def test_the_push_on_a_wedge_is_in_view_from_the_start(teeth, difference, flank_deg, strip_moves):
    flank = math.radians(flank_deg)
    slope = math.atan(difference / (teeth + difference) / math.tan(flank))
    ratio = Fraction(teeth, -difference) if strip_moves else Fraction(teeth + difference, difference)
    drawn = scene_wedge.sketch(wedging.WedgePair(ratio, strip_moves, slope, flank))
    assert 0.0 < drawn.way <= scene_wedge.MOST_WAY and drawn.slope == pytest.approx(drawn.steeper * math.tan(slope))


# ---- all of them -------------------------------------------------------------------------------------------------------------

HELD = {"fixed": FLEXIBLE, "driven": GENERATOR, "read": "housing"}
ODD = {
    "three lobes": three,
    "unequal": unequal,
    "unequal, belt held": lambda: unequal(fixed=FLEXIBLE, driven=GENERATOR, read="output"),
    "shallow": shallow,
    "cup held": lambda: changed("metal_cup", **HELD),
    "speeds up": lambda: changed("metal_cup", fixed="housing", driven=FLEXIBLE, read=GENERATOR),
    "few teeth": lambda: few(44),
}
SCENES = [(name, odd) for odd in ODD for name in ("racks", "wedge", "count", "members")]
SCENES += [("fit", odd) for odd in ("three lobes", "unequal", "few teeth")]


def true_words(one: Scene) -> Iterator[str]:
    """All that a scene says, but for answers that are wrong."""
    yield from (one.title, *one.intro, *one.points, *one.wrong)
    for take in one.takes:
        score = take.score
        yield from (take.title, score.title, score.description, *take.intro, *take.points)
        yield from (said.words for said in score.said)
        yield from (score.told(reading, 1.0) for reading in score.readings)
        if take.ask:
            yield take.ask.question
            yield from (f"{choice.words}. {choice.why}" for choice in take.ask.choices if choice.right)


def ratios(about: Subject) -> set[Fraction]:
    """Of all ways to hold, drive and read a drive's members, without their signs."""
    rows = rows_of(about.found.design)
    found = set()
    for held, driven, read in permutations((GENERATOR, FLEXIBLE, *(row.name for row in rows)), 3):
        with suppress(MotionFault):
            found.add(abs(solve(rows, about.found.design.lobes, held, driven, read).ratio))
    return found


@BOTH
@pytest.mark.parametrize(("name", "odd"), SCENES)
def test_scenes_of_odd_designs_say_no_ratio_that_is_none_and_nothing_too_finely(language, name, odd):
    about = ODD[odd]()
    there = ratios(about)
    for told in true_words(scene(name, about, language)):
        assert "{" not in told
        assert not re.search(r"\d[.,]\d{4}", told), told
        assert not re.search(r"(?<![\d.,])[01]( times|-mal)\b", told), told
        for first, second in re.findall(r"(\d+(?:[.,]\d+)?) : (\d+(?:[.,]\d+)?)", told.replace("\u00a0", "")):
            assert Fraction(first.replace(",", ".")) / Fraction(second.replace(",", ".")) in there, told
        if about.found.design.lobes == 3:
            assert not re.search("both lobes|(an|bei) beiden (Wellen)?[Bb]erge", told), told


@BOTH
def test_the_card_tells_ways_as_a_ruler_reads_and_ratios_exactly(language):
    numbers, words_ = paper_racks(three().found, PAPERS[0]), card_words(language)
    told = " ".join(instructions(numbers, words_))
    assert language.number(float(numbers.travel_in_mm), 1) in told and not re.search(r"\d[.,]\d\d", told)
    assert "−100 : 3." in paper_sheet(three().found, PAPERS[0], words_).description
