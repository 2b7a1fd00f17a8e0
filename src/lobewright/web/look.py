"""What the page shows of a design, computed in a process of its own: plain data in, plain data out.

A *look* is one answer to one text: its faults where it is no design, else numbers, verdicts and the moving picture's
parameters. Coarse looks are asked while something is being moved (see ``assess``).
"""

from __future__ import annotations

import re
from dataclasses import asdict
from functools import lru_cache
from pathlib import Path
from typing import Any

from lobewright.advice import suggest
from lobewright.assessment.headline import headlines
from lobewright.assessment.mesh import Care
from lobewright.assessment.results import Assessment
from lobewright.assessment.run import assess
from lobewright.command_words import verdict_json
from lobewright.design.edits import Edit, edit_text
from lobewright.design.files import design_from_data, locate_in, parse_toml, place_parts, workshop_from_data
from lobewright.design.key_words import edit_words, edits_words, place_words
from lobewright.design.model import Design
from lobewright.errors import Fault, FileFault, LobewrightError
from lobewright.make.moving_page import motion_json
from lobewright.make.moving_scene import moving
from lobewright.web.confine import check_references
from lobewright.web.form import entry_at, is_workshop, sections, value_of, workshop_of
from lobewright.web.known import known_names
from lobewright.web.named import NamedState, named_state
from lobewright.web.teeth_remedy import teeth_remedy

Data = dict[str, Any]
KEPT_LOOKS = 64
LIST_ITEM = re.compile(r"(?<=[a-z_A-Z])\[\d+\]$")
"""The end of a place that is one of several numbers."""
TEETH = re.compile(r"^rigid_ring(\[\d+\]\.teeth)?$")
"""Places of faults that new teeth of the rigid rings may mend."""


def design_of(text: str, file: str, folder: Path) -> Design:
    """The design that a text says. Raises FileFault or DesignFault, also for files that it names outside the folder."""
    data = parse_toml(text, file)
    check_references(data, folder)
    return design_from_data(data, text, file, folder)


def _is_table(data: Any, place: str) -> bool:
    """Whether a whole table, or all rows of one, stands at a place."""
    try:
        for part in place_parts(place):
            data = data[part]
    except (KeyError, IndexError, TypeError):
        return False
    return isinstance(data, dict) or (isinstance(data, list) and any(isinstance(one, dict) for one in data))


def edited(text: str, edits: list[Data], file: str, folder: Path) -> str:
    """The text with edits made; each has a place and a value, or a text as a person typed it.

    Raises FileFault for places that are none, FileFault or UnitFault for typed text that is no value of its place.
    """
    data = parse_toml(text, file)
    for one in edits:
        if _is_table(data, one["place"]):
            raise FileFault([Fault("this is a table, and one value of it is changed at a time", one["place"])])
    workshop = workshop_of(data, folder)

    def printer() -> Data:
        table = workshop[1].get("printer")
        if not isinstance(table, dict):
            what = "neither the design nor a workshop file that it names says how it is made"
            raise FileFault(
                [Fault(what, "process", allowed="a table [process], or workshop = a file with a [printer]")]
            )
        return table

    def value(one: Data) -> Any:
        return (
            one["value"] if one.get("text") is None else value_of(entry_at(data, one["place"], workshop), one["text"])
        )

    return edit_text(text, tuple(Edit(one["place"], value(one)) for one in edits), printer, file)


def form(text: str, file: str, folder: Path) -> Data:
    """The form of a text: its sections, see :mod:`lobewright.web.form`, and lists of names that its entries may take."""
    data = parse_toml(text, file)
    workshop = workshop_of(data, folder)
    names = known_names(data, workshop[1], folder)
    return {
        "workshop": is_workshop(data),
        "sections": [asdict(section) for section in sections(data, workshop)],
        "known": names,
    }


@lru_cache(maxsize=KEPT_LOOKS)
def _kept(text: str, file: str, folder: Path, coarse: bool, named: NamedState) -> Assessment:
    """``named`` only tells states of the named files apart, which the design is read from."""
    return assess(design_of(text, file, folder), care=Care.COARSE if coarse else Care.FULL)


def _assessed(text: str, file: str, folder: Path, coarse: bool) -> Assessment:
    return _kept(text, file, folder, coarse, named_state(text, folder))


def assessment_json(a: Assessment) -> Data:
    """Numbers, verdicts and the moving picture's parameters."""
    return {
        "name": a.design.name,
        "about": a.design.about,
        "design_sha256": a.design_hash,
        "workshop_sha256": a.workshop_hash,
        "state": a.state.value,
        "ratio": float(a.motion.ratio),
        "ratio_text": a.motion.ratio_text,
        "headlines": [
            {"key": row.key, "title": row.title, "value": row.value, "text": row.text, "unit": row.unit}
            for row in headlines(a)
        ],
        "verdicts": [verdict_json(verdict) for verdict in a.verdicts],
        "cautions": list(a.cautions),
        "motion": motion_json(moving(a)),
    }


def look(text: str, edits: list[Data], file: str, folder: str, coarse: bool) -> Data:
    """A look at a text with edits made: ``{"ok": true, …}``, or ``{"ok": false, "error": …, "faults": […]}``.

    A workshop file has nothing to look at: ``{"ok": false, "workshop": true, "faults": []}``, or its faults. Each fault has its
    place in words (``where``) and the place of the form's entry that shows it (``field``); where new teeth of the rigid rings
    mend the design (looked for unless coarse, and without edits that are not kept), it has them as ``edits``.
    """
    where = Path(folder)
    try:
        text = edited(text, edits, file, where) if edits else text
        if is_workshop(parse_toml(text, file)):
            workshop_from_data(parse_toml(text, file), text, file)
            return {"ok": False, "coarse": coarse, "workshop": True, "error": "", "faults": []}
        return {"ok": True, "coarse": coarse, **assessment_json(_assessed(text, file, where, coarse))}
    except LobewrightError as error:
        locate_in(error, text, file)
        found = error.as_json()
        return {
            "ok": False,
            "coarse": coarse,
            **found,
            "faults": _faults(found, text, file, where, coarse or bool(edits)),
        }


def _faults(found: Data, text: str, file: str, folder: Path, quick: bool) -> list[Data]:
    """Rows of faults with what the page needs beside them."""
    try:
        data = parse_toml(text, file)
    except LobewrightError:
        return found["faults"]
    remedy = () if quick else teeth_remedy(text, file, folder, [one["place"] for one in found["faults"]])
    rows = []
    for one in found["faults"]:
        row = {
            **one,
            "where": place_words(one["place"], data) if one["place"] else "",
            "field": LIST_ITEM.sub("", one["place"]),
        }
        if remedy and TEETH.search(one["place"]):
            words = "; ".join(edit_words(edit, data) for edit in remedy)
            row |= {
                "edits": [edit.as_json() for edit in remedy],
                "remedy": f"Tried, and it can be built then: {words}.",
            }
        rows.append(row)
    return rows


def advice(text: str, verdict: str, file: str, folder: str) -> Data:
    """Edits that were tried and turn a verdict to pass: ``{"ok": true, "edits": […], "sentence": …}``; no edits where none do.

    Raises nothing: faults come back as those of a look.
    """
    try:
        a = _assessed(text, file, Path(folder), False)
        asked = next((one for one in a.verdicts if one.name == verdict), None)
        if asked is None:
            raise FileFault([Fault("there is no such verdict", "verdict", 0, verdict)])
        found = suggest(a, asked)
    except LobewrightError as error:
        return {"ok": False, **error.as_json()}
    if found is None:
        return {"ok": True, "verdict": verdict, "edits": [], "sentence": ""}
    return {
        "ok": True,
        "verdict": verdict,
        "edits": [one.as_json() for one in found.edits],
        "sentence": edits_words(found.edits, a.design),
    }
