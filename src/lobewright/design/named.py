"""Which other files a design names."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from lobewright.design.files import parse_toml, read_text
from lobewright.errors import FileFault

REFERENCES = (("workshop",), ("tooth", "file"), ("recorded_motion", "file"))
"""Where a design names other files; each row of ``rigid_ring`` may name an ``outline`` too."""


def named_in(data: dict[str, Any]) -> list[tuple[str, str]]:
    """Place and name of each file that a design's plain data name."""
    named = []
    for *tables, key in REFERENCES:
        table: Any = data
        for part in tables:
            table = table.get(part) if isinstance(table, dict) else None
        if isinstance(table, dict):
            named.append((".".join([*tables, key]), table.get(key)))
    rows = data.get("rigid_ring")
    for number, row in enumerate(rows if isinstance(rows, list) else [], start=1):
        if isinstance(row, dict):
            named.append((f"rigid_ring[{number}].outline", row.get("outline")))
    return [(place, name) for place, name in named if isinstance(name, str)]


def files_of(design: Path) -> tuple[Path, ...]:
    """A design file and those that it names, there or not; one that cannot be read names none."""
    try:
        named = named_in(parse_toml(read_text(design), str(design)))
    except FileFault:
        return (design,)
    return (design, *(design.parent / name for _, name in named))
