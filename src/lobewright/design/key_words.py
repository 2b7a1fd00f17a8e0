"""Keys, places and edits of a design in words: one maker for the form's labels, for faults, advice, proposals and what-ifs."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from lobewright.design.edits import Edit, as_data
from lobewright.design.files import place_parts, unit_of
from lobewright.design.model import Design
from lobewright.design.rules import RESERVED
from lobewright.verdict import capital

TABLES = {
    "motion": "Held, driven, read",
    "process": "How it is made",
    "duty": "Work",
    "strength": "How strength is judged",
    "assembly": "What it is built into",
}
"""What tables are called where the key's own words say too little."""
LABELS = {
    "xy_compensation_mm": "XY compensation",
}
"""What keys are called where their own words, without the unit, say too little or wrong."""
NAMING = ("name", "designation", "size", "material")
"""Keys by which a row of a table is told from the others, the first that it has."""
UNIT = re.compile(r"_(mm|deg|Nm|rpm|C|hours|factor|share|N|g|percent|MPa|Nmm2)$")
PLAIN_NAME = re.compile(r"[a-z0-9_]+|[A-Z0-9.\-]+")
UNIT_WORDS = {"as a factor": "times", "as a share of the pitch": "of the pitch", "degrees": "°", "teeth": ""}
"""How a unit is said behind a number, where otherwise than in the file's own words."""


def table_label(key: str) -> str:
    """What a table is called: ``flexible_ring`` → Flexible ring."""
    return capital(TABLES.get(key, key).replace("_", " "))


def key_label(key: str) -> str:
    """What a key is called, without its unit: ``roller_centre_distance_mm`` → Roller centre distance."""
    if key in LABELS:
        return LABELS[key]
    more = " in %" if key.endswith("_percent") else ""
    return capital(UNIT.sub("", key).replace("_", " ")) + more


def member_words(name: str) -> str:
    """A member as it is spoken of: the generator, the flexible ring, or a rigid ring by its own name."""
    return f"the {name.replace('_', ' ')}" if name in RESERVED else name


def row_name(table: Any, number: int) -> str:
    """What a row is called by its own keys, else its number (from 1)."""
    named = (table.get(key) for key in NAMING) if isinstance(table, dict) else iter(())
    return next((one for one in named if isinstance(one, str) and one), str(number))


def place_words(place: str, data: Mapping[str, Any]) -> str:
    """Where a value stands, in words: ``rigid_ring[1].teeth`` → Rigid ring base, teeth. ``data``: the design as plain data,
    which names the rows; rows that it has not are told by their numbers. A single key of a list is told as the list.
    """
    at: Any = data
    words: list[str] = []
    for part in place_parts(place):
        if isinstance(part, int):
            known = isinstance(at, (list, tuple)) and 0 <= part < len(at)
            at = at[part] if known else None
            if not isinstance(at, dict) and known:
                continue  # one of several numbers: the field shows them all
            name = row_name(at, part + 1)
            words[-1] += f" {name}" if PLAIN_NAME.fullmatch(name) else f" “{name}”"
            continue
        at = at.get(part) if isinstance(at, Mapping) else None
        is_table = (
            part in TABLES or isinstance(at, dict) or (isinstance(at, (list, tuple)) and at and isinstance(at[0], dict))
        )
        words.append(table_label(part) if is_table else key_label(part))
    return ", ".join([words[0], *(word[:1].lower() + word[1:] if word[1:2].islower() else word for word in words[1:])])


def edit_words(edit: Edit, data: Mapping[str, Any]) -> str:
    """An edit as a person would be told: ``Rigid ring base, clearance: 0.176 mm``; see :func:`place_words`."""
    where = place_words(edit.place, data)
    value = edit.value
    if value is None:
        return f"{where}: left out"
    if isinstance(value, bool):
        return f"{where}: {'yes' if value else 'no'}"
    if isinstance(value, str):
        return f"{where}: {value.replace('_', ' ')}"
    unit = unit_of(edit.place.rsplit(".", 1)[-1])
    return f"{where}: {f'{value:.6g}'.replace('-', '−')} {UNIT_WORDS.get(unit, unit)}".replace(" °", "°").rstrip()


def edits_words(edits: tuple[Edit, ...], design: Design) -> str:
    """Edits of a design that are made together."""
    data = as_data(design)
    return "; ".join(edit_words(edit, data) for edit in edits)
