"""Words of the trade: all are listed, told in one sentence, and stand folded on every page."""

from __future__ import annotations

import tomllib
from html import escape
from importlib.resources import files

import pytest

from lobewright.teach import terms
from lobewright.teach.language import LANGUAGES, Language
from lobewright.teach.lesson_page import lesson_page


@pytest.mark.parametrize("code", sorted(LANGUAGES))
def test_every_word_of_the_file_is_listed_and_stands_on_the_page(code: str) -> None:
    text = files("lobewright.teach").joinpath("words", code, "terms.toml").read_text(encoding="utf-8")
    assert set(tomllib.loads(text)) == {"title", *terms.TERMS, *(f"{name}_is" for name in terms.TERMS)}
    page = lesson_page("A lesson", (), Language(code))
    folded = page[page.index('<details class="terms">') :]
    for word, means in terms.terms(Language(code)):
        assert means.endswith(".") and f"<strong>{escape(word)}</strong>: {escape(means)}" in folded
