"""What the files say that a design names: a verdict follows from them as it follows from the design's own text."""

from __future__ import annotations

import hashlib
from functools import lru_cache
from pathlib import Path

from lobewright.design.files import parse_toml, read_text
from lobewright.design.named import named_in
from lobewright.errors import LobewrightError
from lobewright.web.confine import inside

NamedState = tuple[tuple[str, str], ...]
NOT_READ = "not read"


@lru_cache(maxsize=16)
def _names(text: str) -> tuple[str, ...]:
    try:
        data = parse_toml(text, "")
    except LobewrightError:
        return ()
    return tuple(sorted({name for _, name in named_in(data)}))


def named_state(text: str, folder: Path) -> NamedState:
    """Name and SHA-256 of each file that a design's text names, for keys of what is kept; a file that cannot be read or leads
    out of the folder has a mark in place of the sum. Empty where the text is no TOML.
    """
    return tuple((name, _sum(name, folder)) for name in _names(text))


def _sum(name: str, folder: Path) -> str:
    try:
        return hashlib.sha256(read_text(inside(folder, name)).encode()).hexdigest()
    except LobewrightError:
        return NOT_READ
