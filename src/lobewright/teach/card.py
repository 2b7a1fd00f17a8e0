"""Words of the card model in the language of a lesson. English are those of the card itself."""

from __future__ import annotations

from lobewright.make.card_words import ENGLISH, CardWords
from lobewright.teach.language import Language

PART = "card"


def card_words(language: Language) -> CardWords:
    """What is printed on the card, and the steps that the plan tells as well."""
    if language.code == "en":
        return ENGLISH
    return CardWords(marks=language.marks, **language.words(PART))
