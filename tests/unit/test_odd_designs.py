"""Lessons about designs that are not like the examples: three lobes, failing depth, rings of other counts, few teeth."""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction
from functools import cache
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lesson_drives import DE, EN

from lobewright.assessment.run import assess
from lobewright.design.files import design_from_data
from lobewright.design.starters import starter_data
from lobewright.teach import scene_count, scene_fit, shown, tried
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
def unequal() -> Subject:
    """Two rings, both of other counts than the belt: 102 and 104 about 100."""
    data = starter_data("belt-rollers")
    data["flexible_ring"]["teeth"] = 100
    data["rigid_ring"][0]["teeth"], data["rigid_ring"][1]["teeth"] = 102, 104
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
    start, always = numbers(take.score.caption(0.0), "µm")
    assert start == pytest.approx(-1000.0 * one.gap_mm[0].min(), abs=1.0)
    assert always == pytest.approx(-1000.0 * one.worst_mm.max(), abs=6.0) and always % 10 == 0


def test_the_rings_own_difference_is_tried_at_the_drives_own_deflection():
    """Where the other ring has more teeth, the deflection was chosen for that."""
    found = unequal().found
    one = scene_fit._tried(found, 0, 2)
    assert isinstance(one, tried.Tried)
    assert one.shape.deflection_mm == pytest.approx(found.design_deflection_mm)
    assert one.gap_mm[0] == pytest.approx(found.rings[0].cases[0].smallest_gap_mm, abs=0.002)
