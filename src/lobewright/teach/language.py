"""Languages of lessons: every sentence stands in a file, ``words/<language>/<part>.toml``, and figures follow the language.

A part is what one module says. Its file has one string a key; ``{name}`` stands for what is put in. All languages have the same
parts, keys and names (a test holds them to it); only for ``card`` English is not among them, for it is the card's own.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from lobewright.errors import Fault, FileFault
from lobewright.picture.score import Marks, figure

LANGUAGES = {"en": Marks(".", "−"), "de": Marks(",", "−")}
"""Languages that there are, and how each writes figures."""
GAP = "\u00a0"
"""Between groups of three figures; no line breaks there. The fonts of papers and films have no narrower one."""
LEAST_GROUPED = 5
"""Whole numbers of fewer figures are written in one piece."""


def grouped(number: str) -> str:
    """A written number with the figures before its mark in groups of three, where there are five or more."""
    found = re.search(r"\d+", number)
    if found is None or len(found[0]) < LEAST_GROUPED:
        return number
    whole = f"{int(found[0]):,}".replace(",", GAP)
    return number[: found.start()] + whole + number[found.end() :]


@cache
def _sentences(code: str, part: str) -> dict[str, str]:
    path = files("lobewright.teach").joinpath("words", code, f"{part}.toml")
    return tomllib.loads(path.read_text(encoding="utf-8"))


@dataclass(frozen=True)
class Language:
    """One language, by its code of ISO 639 (``en``, ``de``)."""

    code: str

    def __post_init__(self) -> None:
        if self.code not in LANGUAGES:
            raise FileFault(
                [Fault("lessons are not written in this language", "language", 0, self.code, ", ".join(LANGUAGES))]
            )

    @property
    def marks(self) -> Marks:
        return LANGUAGES[self.code]

    def words(self, part: str) -> dict[str, str]:
        """Every sentence of a part by its key, with ``{name}`` left in it."""
        return dict(_sentences(self.code, part))

    def say(self, part: str, key: str, **put_in: object) -> str:
        """A sentence of a part. What is put in is text, or whole numbers; other numbers go through :meth:`number` first."""
        told = {name: grouped(f"{value}") if isinstance(value, int) else value for name, value in put_in.items()}
        return _sentences(self.code, part)[key].format(**told)

    def number(self, value: float, places: int = 0, sign: bool = False) -> str:
        """A number as this language writes it, for readers: with gaps from five figures on."""
        return grouped(figure(value, places, self.marks, sign))
