"""Strength and life in the terminal: every number with its band and remark, nothing wider than the page."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import pytest
from tests.report.conftest import DRIVES
from tests.report.life_results import WORKING, invented_duty, invented_items, invented_life

from lobewright.advice import Suggestion
from lobewright.assessment.life import Life
from lobewright.assessment.results import Assessment
from lobewright.assessment.run import assess
from lobewright.command_words import WIDTH
from lobewright.design.edits import Edit
from lobewright.design.files import design_from_data
from lobewright.life_words import life_json, life_text
from lobewright.report.life_numbers import band, few
from lobewright.strength.items import LifeItem, NotMade, SafetyItem, Span
from lobewright.strength.remark import Remark


@pytest.fixture(scope="module")
def life() -> Life:
    return invented_life()


@pytest.fixture(scope="module")
def found(life: Life) -> Assessment:
    bare = assess(design_from_data(DRIVES["printed_cup"]))
    return replace(bare, verdicts=(*bare.verdicts, *life.verdicts))


def row_of(text: str, title: str) -> str:
    return next(line for line in text.splitlines() if line.startswith(f"  {title}"))


def test_every_item_stands_with_number_band_and_remark(found: Assessment, life: Life) -> None:
    text = life_text(found, life, (), ())
    lines = text.splitlines()
    for item in life.items:
        if isinstance(item, NotMade):
            assert f"Not made: {item.title}:" in text
            continue
        row = row_of(text, item.title[:30])
        span, figures = (item.duties, 2) if isinstance(item, LifeItem) else (item.safety, 3)
        assert few(span.middle, figures) in row and band(span, figures) in row
        if item.remark:
            at = lines.index(row)
            assert item.remark in " ".join(line.strip(" →") for line in lines[at : at + 4])


def test_items_stand_in_their_order(found: Assessment, life: Life) -> None:
    text = life_text(found, life, (), ()).partition("Life budget")[2]
    places = [text.index(item.title[:30]) for item in life.items if not isinstance(item, NotMade)]
    assert places == sorted(places)


def test_columns_are_aligned(found: Assessment, life: Life) -> None:
    lines = life_text(found, life, (), ()).splitlines()
    for head, cells in (("asked in the duty", ("bends", "roller", "turns")), ("strength", ("MPa", "N", "N"))):
        top = next(k for k, line in enumerate(lines) if line.endswith(head))
        rows = [line for line in lines[top + 1 :] if line.endswith(cells) and not line.startswith("   ")][: len(cells)]
        assert {len(line) for line in rows} == {len(lines[top])}


def test_no_line_is_wider_than_the_page(found: Assessment, life: Life) -> None:
    assert max(len(line) for line in life_text(found, life, (), ()).splitlines()) <= WIDTH


def test_a_short_remark_stands_in_the_line(found: Assessment) -> None:
    items = (
        SafetyItem("bolts", "Bolts", "rigid", Span(2.0, 3.0, 4.0), 140.0, 420.0, "N", WORKING, Remark("by custom")),
        SafetyItem("pins", "Pins", "rigid", Span(2.0, 3.0, 4.0), 140.0, 420.0, "N", WORKING, Remark("by custom " * 12)),
    )
    text = life_text(found, invented_life(items=items), (), ())
    assert row_of(text, "Bolts").endswith("420 N  by custom")
    assert row_of(text, "Pins").endswith("420 N") and "→ by custom by custom" in text


def test_a_remark_of_two_rows_is_told_once(found: Assessment) -> None:
    one, two, three = (
        SafetyItem(name, name, "rigid", Span(2.0, 3.0, 4.0), 140.0, 420.0, "N", WORKING, Remark(remark))
        for name, remark in (("Bolts", "by custom"), ("Pins", "by custom"), ("Rims", ""))
    )
    text = life_text(found, invented_life(items=(one, two, three, one)), (), ())
    assert text.count("420 N  by custom") == 2 and text.count("420 N  as above") == 1
    assert row_of(text, "Rims").endswith("420 N")


def test_verdicts_advice_duty_and_cautions(found: Assessment, life: Life) -> None:
    advice = (Suggestion("life:ring", (Edit("flexible_ring.wall_mm", 0.8),)),)
    text = life_text(found, life, (), advice)
    assert "FAIL      Life of the flexible ring" in text and "not made  Yielding of the ring" in text
    assert advice[0].sentence in text
    assert "8180 hours" in text and "peak of 4.20 N·m" in text
    assert "in service" in text and "licensed practice" in text and text.count("Cautions:") == 1
    assert "When it is parked: turn the generator" in text
    bare = life_text(found, invented_life(duty=None, parked=None, items=(), verdicts=()), (), ())
    assert "names no duty" in bare and "Life budget" not in bare and "parked" not in bare and "FAIL" not in bare


def tried() -> tuple[Any, ...]:
    """Two changes, in the shape of those of the advice."""
    before = SimpleNamespace(
        life_title="Root", duties=Span(0.3, 2.7, 31.0), strength_title="Layers", safety=Span(0.8, 1.37, 2.2)
    )
    after = SimpleNamespace(
        life_title="Rollers", duties=Span(1.1, 5.0, math.inf), strength_title="Layers", safety=Span(1.0, 1.5, 2.4)
    )
    none = SimpleNamespace(life_title="", duties=None, strength_title="Layers", safety=Span(0.7, 1.2, 2.0))
    edits = (Edit("flexible_ring.wall_mm", 0.8),)
    sentence = edits[0].sentence
    return (
        SimpleNamespace(
            words="thinner walls",
            edits=edits,
            sentence=sentence,
            before=before,
            after=after,
            turns=("ring_life",),
            breaks=("tooth_strength",),
        ),
        SimpleNamespace(
            words="half as fast", edits=edits, sentence=sentence, before=before, after=none, turns=(), breaks=()
        ),
    )


def test_what_ifs_tell_before_and_after(found: Assessment, life: Life) -> None:
    text = life_text(found, life, tried(), ())
    assert "2.7" in row_of(text, "as it is") and "0.800 … 2.20" in row_of(text, "as it is")
    assert "1.1 … endless" in row_of(text, "thinner walls") and "1.50" in row_of(text, "thinner walls")
    assert "not made" in row_of(text, "half as fast")
    flat = " ".join(text.split())
    assert "then the weakest life: Rollers; passes then: ring_life; fails then: tooth_strength" in flat
    assert "then the weakest strength" not in flat and tried()[0].sentence in flat
    assert max(len(line) for line in text.splitlines()) <= WIDTH
    data = life_json(found, life, tried(), ())["what_ifs"]
    assert data[0]["after"]["duties"] == {"low": 1.1, "middle": 5.0, "high": None, "endless": False}
    assert data[1]["after"]["duties"] is None and data[0]["turns"] == ["ring_life"]
    assert data[0]["edits"] == [tried()[0].edits[0].as_json()]


def test_data_agree_with_the_life(found: Assessment, life: Life) -> None:
    data = life_json(found, life, (), ())
    assert json.loads(json.dumps(data, allow_nan=False)) == json.loads(json.dumps(data))
    assert [one["name"] for one in data["verdicts"]] == [verdict.name for verdict in life.verdicts]
    lives = [item for item in invented_items() if isinstance(item, LifeItem)]
    assert [one["duties"]["middle"] for one in data["life"]["lives"]] == [2.7, 12.0, 1.4e6, None]
    assert [one["asked"] for one in data["life"]["lives"]] == [item.asked for item in lives]
    assert data["life"]["duty"]["generator_turns"] == invented_duty().generator_turns
    assert data["design_sha256"] == found.design_hash
