"""Teeth of the rigid rings that fit the flexible ring's again, where a change of one of them has left a design that cannot be.

Tried before they are offered: the design must then be admissible and its shape must be found.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from lobewright.assessment.mesh import Care
from lobewright.assessment.run import assess
from lobewright.design.edits import Edit, edit_text
from lobewright.design.files import design_from_data, parse_toml
from lobewright.errors import LobewrightError

Data = dict[str, Any]


def teeth_remedy(text: str, file: str, folder: Path, places: list[str]) -> tuple[Edit, ...]:
    """Edits of the rigid rings' teeth that make the design admissible; none where none do. ``places``: those of its faults.

    First all rings of a row move together, so that what they differ by among themselves is kept; then each ring at fault alone
    takes the nearest number that its row allows.
    """
    if not any(place.startswith("rigid_ring") for place in places):
        return ()
    data = parse_toml(text, file)
    try:
        tries = [_moved(data), _nearest(data)]
    except (KeyError, TypeError, AttributeError, IndexError):
        return ()  # not whole enough to say what its teeth would be
    for teeth in tries:
        edits = tuple(
            Edit(f"rigid_ring[{number}].teeth", wanted)
            for number, (ring, wanted) in enumerate(zip(data["rigid_ring"], teeth, strict=True), start=1)
            if ring["teeth"] != wanted
        )
        if edits and _admissible(text, edits, file, folder):
            return edits
    return ()


def _admissible(text: str, edits: tuple[Edit, ...], file: str, folder: Path) -> bool:
    try:
        after = edit_text(text, edits, dict, file)
        assess(design_from_data(parse_toml(after, file), after, file, folder), care=Care.COARSE)
    except LobewrightError:
        return False
    return True


def _rows(data: Data) -> Iterator[tuple[int, list[int]]]:
    """Teeth of each row of the flexible ring, and the numbers (from 0) of the rigid rings on it."""
    ring = data["flexible_ring"]
    for row in (1, 2):
        on = [number for number, one in enumerate(data["rigid_ring"]) if one.get("row", 1) == row]
        if on:
            yield (ring if row == 1 else ring["second_row"])["teeth"], on


def _moved(data: Data) -> list[int]:
    """The least ring of a row has as many teeth as the row where another one has more, else one more for each lobe."""
    lobes = data["generator"].get("lobes", 2)
    teeth = [one["teeth"] for one in data["rigid_ring"]]
    for own, on in _rows(data):
        least = min(teeth[number] for number in on)
        more = 0 if any(teeth[number] > least for number in on) else lobes
        for number in on:
            teeth[number] = own + more + (data["rigid_ring"][number]["teeth"] - least)
    return teeth


def _nearest(data: Data) -> list[int]:
    """Each ring the nearest number that can be assembled, the lower one of two."""
    lobes = data["generator"].get("lobes", 2)
    teeth = [one["teeth"] for one in data["rigid_ring"]]
    for own, on in _rows(data):
        for number in on:
            differ = teeth[number] - own
            teeth[number] = own + lobes * max(0, -((lobes - 2 * differ) // (2 * lobes)))
    return teeth
