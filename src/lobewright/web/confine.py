"""What of the file system the page may touch: plain files in the project folder, and nothing else."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

from lobewright.design.named import named_in
from lobewright.errors import Fault, FileFault

DESIGN_NAME = re.compile(r"(?!(?i:con|prn|aux|nul|com[0-9]|lpt[0-9]) *\.)[A-Za-z0-9][A-Za-z0-9 _-]{0,59}\.toml")
NAME_ALLOWED = "letters, digits, blanks, _ and -, at most 60, then .toml; no device's name, such as con"


def design_path(folder: Path, name: str) -> Path:
    """Where a design of this name stands in the folder. Raises FileFault for any name that is not a plain file name."""
    if not DESIGN_NAME.fullmatch(name):
        raise FileFault([Fault("a design cannot have this file name", "file", 0, name, NAME_ALLOWED)])
    return inside(folder, name)


def design_names(folder: Path) -> tuple[str, ...]:
    """The names in the folder that a design may have, sorted."""
    return tuple(sorted(path.name for path in folder.glob("*.toml") if DESIGN_NAME.fullmatch(path.name)))


def inside(folder: Path, name: str, place: str = "file") -> Path:
    """A file in the folder or below it, links followed. Raises FileFault where the name leads out of it."""
    if "\x00" in name or "\\" in name or name.startswith("/") or ":" in name:
        raise _outside(name, place)
    root = folder.resolve()
    try:
        path = (root / name).resolve()
    except (OSError, RuntimeError, ValueError):  # a link that leads back to itself, or letters that no file name has
        raise FileFault([Fault("this name leads to no file", place, 0, name, "a file in the project folder")]) from None
    if not path.is_relative_to(root) or path == root:
        raise _outside(name, place)
    return path


def _outside(name: str, place: str) -> FileFault:
    allowed = "a file in the project folder; copy it there"
    return FileFault([Fault("the page reads and writes the project folder only", place, 0, name, allowed)])


def check_references(data: dict[str, Any], folder: Path) -> None:
    """Refuse designs that name files outside the folder. Raises FileFault with every such name."""
    faults: list[Fault] = []
    for place, name in named_in(data):
        try:
            inside(folder, name, place)
        except FileFault as fault:
            faults += fault.faults
    if faults:
        raise FileFault(faults)
