"""Lists of names that a form's entries may take: of the catalogue, of the drawer, of the drive's own members, of the folder.

Each is a list of pairs: the name, and what tells a person which one it is. What lies in the drawer comes first.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache, lru_cache
from pathlib import Path
from typing import Any

from lobewright.design import catalogue
from lobewright.design.files import parse_toml, read_text
from lobewright.errors import LobewrightError
from lobewright.web.confine import design_names, design_path
from lobewright.web.form import is_workshop

Data = dict[str, Any]
Names = list[tuple[str, str]]
IN_DRAWER = "in your drawer"
TEETH = {catalogue.ToothLook.TRAPEZOID: "trapezoidal", catalogue.ToothLook.ROUND: "round"}


@cache
def _catalogue() -> dict[str, Names]:
    return {
        "bearing": [
            (b.designation, f"{b.bore_mm:g} × {b.outer_mm:g} × {b.width_mm:g} mm") for b in catalogue.bearings()
        ],
        "belt": [
            (p.designation, f"{TEETH[p.tooth]} teeth, pitch {p.pitch_mm:g} mm") for p in catalogue.belt_profiles()
        ],
        "bolt": [(one.size, "") for one in catalogue.bolts()],
        "material": [(one.name, "") for one in catalogue.materials()],
    }


def _owned(workshop: Data, table: str, key: str) -> list[str]:
    rows = workshop.get(table)
    named = [row.get(key) for row in rows if isinstance(row, dict)] if isinstance(rows, list) else []
    return [one for one in named if isinstance(one, str)]


def workshop_names(folder: Path) -> tuple[str, ...]:
    """The files of the folder that tell what is owned and measured, and are no drives; what cannot be read is none of them."""
    return tuple(name for name in design_names(folder) if says(folder, name, _read_as_workshop))


def says(folder: Path, name: str, read_as: Callable[[Path, int, int], bool]) -> bool:
    """What ``read_as`` tells of a file of the folder, asked with the file's time and size so that it may keep its answers; no for
    a file that is not there or may not be named."""
    try:
        path = design_path(folder, name)
        stands = path.stat()
    except (LobewrightError, OSError):
        return False
    return read_as(path, stands.st_mtime_ns, stands.st_size)


@lru_cache(maxsize=256)
def _read_as_workshop(path: Path, changed_ns: int, size: int) -> bool:
    """``changed_ns`` and ``size`` only tell states of the file apart."""
    try:
        return is_workshop(parse_toml(read_text(path), path.name))
    except LobewrightError:
        return False


def known_names(data: Data, workshop: Data, folder: Path) -> dict[str, Names]:
    """The lists for a design's data and the data of its workshop file (empty where there is none)."""
    owned = {
        "bearing": _owned(workshop, "bearings", "designation"),
        "belt": _owned(workshop, "belts", "designation"),
        "bolt": _owned(workshop, "bolts", "size"),
        "material": [],
    }
    names: dict[str, Names] = {}
    for kind, rows in _catalogue().items():
        mine = set(owned[kind])
        ours = [(name, ", ".join(filter(None, (words, IN_DRAWER)))) for name, words in rows if name in mine]
        names[kind] = ours + [(name, words) for name, words in rows if name not in mine]
    names["member"] = [(one, "") for one in ("generator", "flexible_ring", *_owned(data, "rigid_ring", "name"))]
    names["workshop"] = [(name, "") for name in design_names(folder)]
    return names
