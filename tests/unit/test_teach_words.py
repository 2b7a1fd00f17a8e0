"""Words of lessons: every language says everything, and puts in the same names."""

from __future__ import annotations

import string
import tomllib
from importlib.resources import files

import pytest

from lobewright.errors import FileFault
from lobewright.teach.language import LANGUAGES, Language

WORDS = files("lobewright.teach").joinpath("words")
PARTS = sorted(path.name for path in WORDS.joinpath("en").iterdir() if path.name.endswith(".toml"))


ENGLISH_ELSEWHERE = {"card.toml"}
"""Parts whose English words are another room's; a test of their own holds them."""


def _said(code: str, part: str) -> dict[str, str]:
    return tomllib.loads(WORDS.joinpath(code, part).read_text(encoding="utf-8"))


def _names(text: str) -> set[str]:
    return {name for _, name, _, _ in string.Formatter().parse(text) if name is not None}


def test_every_language_has_the_same_parts():
    for code in LANGUAGES:
        assert sorted(path.name for path in WORDS.joinpath(code).iterdir() if path.name.endswith(".toml")) == sorted(
            {*PARTS, *(() if code == "en" else ENGLISH_ELSEWHERE)}
        )


@pytest.mark.parametrize("part", PARTS)
@pytest.mark.parametrize("code", sorted(set(LANGUAGES) - {"en"}))
def test_a_part_says_the_same_keys_with_the_same_names_put_in(code, part):
    english, other = _said("en", part), _said(code, part)
    assert set(english) == set(other)
    for key, text in english.items():
        assert text.strip() and other[key].strip()
        assert _names(text) == _names(other[key]), key


def test_another_language_is_refused_with_those_there_are():
    with pytest.raises(FileFault, match="de"):
        Language("xx")


def test_figures_follow_the_language():
    assert Language("en").number(-2.5, 1) == "−2.5"
    assert Language("de").number(2.5, 1, sign=True) == "+2,5"
