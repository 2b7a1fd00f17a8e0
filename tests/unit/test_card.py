"""The card model in every language: the same lengths on paper, all words on the sheet and in the language."""

from __future__ import annotations

import io
import itertools
import string
import tomllib
from dataclasses import asdict
from functools import cache
from importlib.resources import files
from pathlib import Path

import pytest
from pypdf import PdfReader

from lobewright.assessment.results import Assessment
from lobewright.assessment.run import assess
from lobewright.design.files import read
from lobewright.make.card_words import ENGLISH
from lobewright.make.rack_paper import EDGE_MM, PAPERS, paper_sheet
from lobewright.picture.display import Anchor, Text
from lobewright.picture.display import Path as Drawn
from lobewright.picture.palette import Role
from lobewright.picture.pdf import PX_MM, text_width_px
from lobewright.teach.card import card_words
from lobewright.teach.language import LANGUAGES, Language
from lobewright.teach.papers import _rack_card
from lobewright.teach.subject import subject

EXAMPLES = Path(__file__).parents[2] / "examples"
LEAST_EDGE_MM = 8.0
"""Printers leave less than that free."""


@cache
def example(name: str) -> Assessment:
    return assess(read(EXAMPLES / f"{name}.toml"))


@pytest.mark.parametrize("name", ["azimuth_belt", "elevation_printed", "focus_steel"])
@pytest.mark.parametrize("code", LANGUAGES)
def test_the_card_has_the_same_lengths_in_every_language_and_its_words_on_the_sheet(code, name):
    for paper in PAPERS:
        english = paper_sheet(example(name), paper)
        picture = paper_sheet(example(name), paper, card_words(Language(code)))
        lines = [item for item in picture.items if not isinstance(item, Text)]
        assert lines == [item for item in english.items if not isinstance(item, Text)]
        assert picture.view == (0.0, 0.0, paper.width_mm, paper.height_mm)
        runs = [run for item in lines if isinstance(item, Drawn) for run in item.loops if len(run) == 2]
        assert any(b == d and c - a == pytest.approx(100.0) for (a, b), (c, d) in runs)  # its bar to be measured
        for text in (item for item in picture.items if isinstance(item, Text)):
            wide = text_width_px(text.text, text.size_px, text.strong) * PX_MM
            begin = text.at[0] - {Anchor.START: 0.0, Anchor.MIDDLE: 0.5, Anchor.END: 1.0}[text.anchor] * wide
            assert begin >= LEAST_EDGE_MM and begin + wide <= paper.width_mm - LEAST_EDGE_MM, text.text


def test_parts_of_the_card_begin_at_one_margin_and_fill_the_sheet():
    for name in ("azimuth_belt", "elevation_printed", "focus_steel"):
        for paper in PAPERS:
            items = paper_sheet(example(name), paper).items
            boxes = [
                item.loops[0]
                for item in items
                if isinstance(item, Drawn) and item.closed and len(item.loops[0]) == 4 and item.fill is not Role.PAPER
            ]
            parts = sorted((box for box in boxes if box[1][0] - box[0][0] > 40.0), key=lambda box: -box[2][1])
            assert len(parts) == 4  # held strip, moving strip, ledge, wedge card
            assert len({round(box[0][0], 6) for box in parts}) == 1
            air = [upper[0][1] - lower[2][1] for upper, lower in itertools.pairwise(parts)]
            assert min(air) > 10.0 and max(air) < 2.0 * min(air)  # room for the scissors, nowhere a hole
            assert parts[-1][0][1] == pytest.approx(EDGE_MM)


@pytest.mark.parametrize("code", sorted(set(LANGUAGES) - {"en"}))
def test_another_language_says_all_that_the_card_says_with_the_same_names_put_in(code):
    own = tomllib.loads(files("lobewright.teach").joinpath("words", code, "card.toml").read_text(encoding="utf-8"))
    english = {key: words for key, words in asdict(ENGLISH).items() if key != "marks"}
    assert set(own) == set(english)

    def names(text: str) -> set[str | None]:
        return {name for _, name, _, _ in string.Formatter().parse(text)} - {None}

    for key, words in english.items():
        assert names(own[key]) == names(words), key


def test_a_german_lesson_has_a_german_card_on_a_sheet_of_its_size():
    ((name, data),) = _rack_card(subject(example("azimuth_belt")), Language("de")).items()
    page = PdfReader(io.BytesIO(data)).pages[0]
    assert [float(v) * 25.4 / 72 for v in page.mediabox[2:]] == pytest.approx([297.0, 210.0], abs=0.01)
    said = page.extract_text()
    assert name == "paper/rack_card_a4.pdf"
    assert "FEST: Zahnstange „base“, Lücken alle 3,922 mm" in said and "4,000 mm" in said
    assert "HELD" not in said and "roller" not in said
