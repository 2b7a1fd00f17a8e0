"""Edits of whole tables: another kind of ring or generator, one more step of duty, a table that comes or goes."""

from __future__ import annotations

from typing import Any

import tomlkit
from tomlkit.items import AoT, InlineTable

from lobewright.design import starters
from lobewright.design.files import parse_toml, place_parts
from lobewright.errors import Fault, FileFault
from lobewright.web.form import Section, sections

Data = dict[str, Any]
FRESH: dict[str, Data] = {
    "bearings": {"designation": "608", "count": 1},
    "bolts": {"size": "M3", "length_mm": 16.0, "count": 10},
    "belts": {"designation": "C3M", "teeth": 100, "width_mm": 15.0, "count": 1},
    "motors": {"name": "motor", "holding_torque_Nm": 0.4, "shaft_mm": 5.0, "count": 1},
    "laser": {"kerf_mm": 0.15, "sheet_mm": 3.0},
    "printer": {
        "kind": "printer",
        "nozzle_mm": 0.4,
        "extrusion_width_mm": 0.42,
        "layer_mm": 0.2,
        "bed_mm": [220.0, 220.0, 250.0],
    },
    "duty": {"name": "work", "torque_Nm": 0.1, "peak_torque_Nm": 0.2, "speed_rpm": 1.0, "hours": 100.0},
    "recorded_motion": {"file": "motion.csv", "repeats": 1000.0},
    "output_bearing": {"bearing": "6001", "count": 2, "spacing_mm": 25.0},
    "second_row": {"teeth": 100, "width_mm": 8.0},
}
"""Tables that need values from the start; others begin empty, with all defaults."""
ROWS = ("duty", "bearings", "bolts", "belts", "motors")
"""Tables that stand once for each row, and may get one more here."""


def _section(data: Data, place: str) -> Section:
    found = next((one for one in sections(data) if one.place == place), None)
    if found is None:
        raise FileFault([Fault("there is no such table", place)])
    return found


def with_kind(text: str, place: str, kind: str) -> str:
    """The text with a table of another kind, filled from the starter of that kind.

    Another flexible ring brings its teeth with it. Raises FileFault for kinds that are none, and with the reason where the pair
    cannot be built.
    """
    data = parse_toml(text, "")
    section = _section(data, place)
    if kind not in section.kinds:
        raise FileFault([Fault("no such kind", place, 0, kind, ", ".join(section.kinds))])
    document: Any = tomlkit.parse(text)
    if place not in ("flexible_ring", "generator"):
        document[place] = _kind_table(place, section.kind_key, kind, data)
        return tomlkit.dumps(document)
    _needs_tables(data, "rigid_ring")
    ring, generator = _pair(data)
    pair = f"{kind}-{generator}" if place == "flexible_ring" else f"{ring}-{_starter_generator(kind, ring)}"
    fresh = starters.starter_data(pair)
    document[place] = fresh[place]
    if place == "flexible_ring":
        document["tooth"] = fresh["tooth"]
        teeth = [one["teeth"] for one in fresh["rigid_ring"]]
        if "rigid_ring" in document and len(document["rigid_ring"]) == len(teeth):
            for row, count in zip(document["rigid_ring"], teeth, strict=True):
                row["teeth"] = count
    return tomlkit.dumps(document)


def _kind_table(place: str, kind_key: str, kind: str, data: Data) -> Data:
    if place == "process":
        ring = "metal_cup" if kind == "machined" else "printed_ring"
        return starters.starter_data(ring)["process"]
    given = data.get(place)
    kept = {k: v for k, v in given.items() if k != kind_key} if isinstance(given, dict) and kind != "belt" else {}
    if place == "tooth":
        kept = {k: v for k, v in kept.items() if k in ("addendum_factor", "dedendum_factor", "thickness_share")}
    extra = {"file": "tooth.csv"} if kind == "outline" else {}
    return {kind_key: kind, **({} if kind in ("belt", "outline") else kept), **extra}


def _needs_tables(data: Data, place: str) -> None:
    """Raises FileFault where something else than rows of a table stands at a place of the file's top."""
    rows = data.get(place, [])
    if not isinstance(rows, list) or not all(isinstance(one, dict) for one in rows):
        raise FileFault([Fault("what stands here is no table", place, allowed="tables; mend the file by hand")])


def _word(table: Any, key: str, default: str) -> str:
    """A word of a table; the default where it, or the table, is none."""
    found = table.get(key, default) if isinstance(table, dict) else default
    return found if isinstance(found, str) else default


def _pair(data: Data) -> tuple[str, str]:
    """Names of ring and generator as the starters have them; the usual ones where the file names none."""
    ring = _word(data.get("flexible_ring"), "kind", "belt")
    ring = ring if ring in starters.RINGS else "belt"
    generator = data.get("generator")
    kind = _word(generator, "kind", "")
    name = f"cam_{_word(generator, 'under', 'plain')}" if kind == "cam" else kind
    return ring, name if name in starters.GENERATORS else starters.USUAL_GENERATOR[ring]


def _starter_generator(kind: str, ring: str) -> str:
    if kind != "cam":
        return kind
    return "cam_thin_bearing" if f"{ring}-cam_thin_bearing" in starters.KINDS else "cam_plain"


def _fresh(key: str, inline: bool) -> Any:
    """A table as it begins; ``inline`` in braces, for it goes into something that stands in brackets or braces."""
    fresh: Any = tomlkit.inline_table() if inline else tomlkit.table()
    for name, value in FRESH.get(key, {}).items():
        fresh[name] = value
    return fresh


def added(text: str, place: str) -> str:
    """The text with one more row of a table (see ``ROWS``), or with a table that it lacks. Raises FileFault."""
    data = parse_toml(text, "")
    document: Any = tomlkit.parse(text)
    *above, key = place_parts(place)
    if place in ROWS:
        _needs_tables(data, place)
        if place not in document:
            document[place] = tomlkit.aot()
        rows = document[place]
        rows.append(_fresh(place, inline=not isinstance(rows, AoT)))
        return tomlkit.dumps(document)
    section = _section(data, place)
    if section.given or section.row:
        raise FileFault([Fault("this table is there already", place)])
    if section.kinds:
        return with_kind(text, place, section.kinds[0])
    table: Any = document
    for part in above:
        table = table[part]
    table[key] = _fresh(str(key), inline=isinstance(table, InlineTable))
    return tomlkit.dumps(document)


def removed(text: str, place: str) -> str:
    """The text without a table, or without one row of it. Raises FileFault for what is needed or not there."""
    section = _section(parse_toml(text, ""), place)
    if section.needed or not section.given or not place:
        raise FileFault(
            [Fault("this table cannot be taken out", place, allowed="a table that is there and not needed")]
        )
    document: Any = tomlkit.parse(text)
    table: Any = document
    *above, key = place_parts(place)
    for part in above:
        table = table[part]
    if isinstance(key, int) and len(table) == 1:
        del document[above[0]]
    else:
        del table[key]
    return tomlkit.dumps(document)
