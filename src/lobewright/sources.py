"""Where a number comes from, and how far it may be trusted.

Every catalogue row, evidence value and physical rule names a source by its key. The sources themselves stand in
``sources.toml`` beside this module, one table a key, so that a person can read and correct them.

A source claims to have been *read* only when it can be found again: author or body, title or number, year and
place. The loader lowers any claim that lacks one of them to *remembered*; it never raises one.
"""

from __future__ import annotations

import difflib
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import cache
from importlib import resources
from typing import Any


class Flag(StrEnum):
    """How a number came to us."""

    READ = "read"
    READ_SECOND = "read_second"
    REMEMBERED = "remembered"
    DERIVED = "derived"
    COMMON_PRACTICE = "common_practice"

    @property
    def words(self) -> str:
        """One sentence that tells a person what the flag means."""
        return _WORDS[self]

    @property
    def label(self) -> str:
        """The flag as it is shown in tables."""
        return self.value.replace("_", " ")


_WORDS = {
    Flag.READ: "Seen in the named source itself.",
    Flag.READ_SECOND: "Seen on a page that re-tells the named source; go to the original before quoting it.",
    Flag.REMEMBERED: "From memory or from a source that cannot be named in full; check it before relying on it.",
    Flag.DERIVED: "Worked out from first principles and confirmed by a second method.",
    Flag.COMMON_PRACTICE: "Usual in the trade, with no single source behind it.",
}

_CLAIMS_A_READING = (Flag.READ, Flag.READ_SECOND)


@dataclass(frozen=True)
class Source:
    """One source. ``text`` is the author or body and the title or number; ``place`` a clause, table or page."""

    key: str
    text: str
    flag: Flag
    year: int | None = None
    place: str = ""

    @property
    def line(self) -> str:
        """The source on one line, as it is printed under a table or in a report."""
        parts = [self.text]
        if self.year is not None:
            parts.append(str(self.year))
        if self.place:
            parts.append(self.place)
        return f"{', '.join(parts)} ({self.flag.label})"

    def at(self, place: str) -> Source:
        """The same source at another clause, table or page."""
        return replace(self, place=place)


def complete(author: str, title: str, year: int | None, place: str) -> bool:
    """Whether a source can be found again from what is known of it."""
    return bool(author.strip() and title.strip() and year is not None and place.strip())


def honest_flag(claimed: Flag, source: Source) -> Flag:
    """The flag that a single value may carry, given the source it names.

    A value cannot have been read in a source that itself was only remembered or read at second hand.
    """
    if claimed not in _CLAIMS_A_READING:
        return claimed
    if source.flag not in _CLAIMS_A_READING:
        return Flag.REMEMBERED
    return Flag.READ_SECOND if Flag.READ_SECOND in (claimed, source.flag) else Flag.READ


def source_from_table(key: str, table: Mapping[str, Any]) -> Source:
    """Build a source from its table; a reading that lacks author, title, year or place becomes remembered.

    Raises ValueError when the table has no title, an unknown flag or an unknown field.
    """
    unknown = set(table) - {"author", "title", "flag", "year", "place"}
    if unknown:
        raise ValueError(f"source {key!r} has an unknown field {sorted(unknown)[0]!r}")
    author, title = str(table.get("author", "")), str(table.get("title", ""))
    if not title.strip():
        raise ValueError(f"source {key!r} has no title")
    year, place = table.get("year"), str(table.get("place", ""))
    flag = Flag(table["flag"])
    if flag in _CLAIMS_A_READING and not complete(author, title, year, place):
        flag = Flag.REMEMBERED
    text = f"{author}, {title}" if author.strip() else title
    return Source(key, text, flag, year, place)


def load_sources(toml_text: str) -> dict[str, Source]:
    """All sources in a TOML text, by key."""
    return {key: source_from_table(key, table) for key, table in tomllib.loads(toml_text).items()}


@cache
def _registry() -> dict[str, Source]:
    return load_sources(resources.files("lobewright").joinpath("sources.toml").read_text("utf-8"))


def source(key: str) -> Source:
    """The source with this key. Raises LookupError with the nearest keys when there is none."""
    registry = _registry()
    if key not in registry:
        near = difflib.get_close_matches(key, registry, n=3)
        hint = f"; nearest: {', '.join(near)}" if near else ""
        raise LookupError(f"no source has the key {key!r}{hint}")
    return registry[key]


def all_sources() -> tuple[Source, ...]:
    """Every source known to the package, in the order of the file."""
    return tuple(_registry().values())


def bibliography() -> str:
    """Every source as the rows of a Markdown table, by key: the bibliography in ``docs/sources.md``."""
    rows = sorted(all_sources(), key=lambda one: one.key)
    return "".join(f"| `{one.key}` | {one.line} |\n" for one in rows)
