"""Words in letters that the page's font has: others are taken apart into a letter and its accent, or written in Latin ones."""

from __future__ import annotations

import unicodedata
from collections.abc import Container

from lobewright.errors import Fault, LobewrightError

SIGNS = {
    "→": "to", "←": "from", "↔": "to and from", "⇒": "to", "≥": ">=", "≤": "<=", "≠": "not", "≈": "about", "−": "-", "‐": "-",
    "‑": "-", "⌀": "ø", "∅": "ø", "′": "'", "″": '"', "·": ".", "\u2009": " ", "\u202f": " ", "\u2007": " ", "\u200b": "",
    "√": "root ", "∞": "infinity", "✓": "yes", "Ω": "Ohm", "ł": "l", "Ł": "L", "đ": "d", "Đ": "D", "ħ": "h", "ı": "i", "ß": "ss",
}  # fmt: skip
GREEK = dict(
    zip(
        "αβγδεζηθικλμνξοπρςστυφχψω",
        [
            "a",
            "b",
            "g",
            "d",
            "e",
            "z",
            "i",
            "th",
            "i",
            "k",
            "l",
            "m",
            "n",
            "x",
            "o",
            "p",
            "r",
            "s",
            "s",
            "t",
            "y",
            "f",
            "ch",
            "ps",
            "o",
        ],
        strict=True,
    )
)
CYRILLIC = dict(
    zip(
        "абвгдеёжзийклмнопрстуфхцчшщъыьэюяіїєґ",
        [
            "a",
            "b",
            "v",
            "g",
            "d",
            "e",
            "yo",
            "zh",
            "z",
            "i",
            "y",
            "k",
            "l",
            "m",
            "n",
            "o",
            "p",
            "r",
            "s",
            "t",
            "u",
            "f",
            "kh",
            "ts",
            "ch",
            "sh",
            "shch",
            "'",
            "y",
            "'",
            "e",
            "yu",
            "ya",
            "i",
            "yi",
            "ye",
            "g",
        ],
        strict=True,
    )
)
LATIN = SIGNS | GREEK | CYRILLIC
"""What a letter is written as where the font lacks it; Greek and Cyrillic as they are commonly written in Latin letters."""


def in_known_letters(text: str, known: Container[int]) -> str:
    """Text in letters that a font has; ``known`` holds their code points.

    Raises LobewrightError for a letter that it lacks and that nothing here stands for.
    """
    return "".join(letter if ord(letter) < 32 or ord(letter) in known else _other(letter, known) for letter in text)


def _other(letter: str, known: Container[int]) -> str:
    plain = "".join(one for one in unicodedata.normalize("NFKD", letter) if not unicodedata.combining(one))
    for tried in (LATIN.get(letter), plain, _written(plain)):
        if tried is not None and all(ord(one) in known for one in tried) and (tried or letter in LATIN):
            return tried
    what = "the font of the instructions lacks a letter"
    raise LobewrightError(
        [Fault(what, "guide", value=repr(letter), allowed="letters of Latin, Greek or Cyrillic scripts")]
    )


def _written(text: str) -> str | None:
    """Greek and Cyrillic letters, capitals too, in Latin ones."""
    found = []
    for letter in text:
        small = LATIN.get(letter.lower())
        if small is None:
            return None
        found.append(small.capitalize() if letter != letter.lower() else small)
    return "".join(found)
