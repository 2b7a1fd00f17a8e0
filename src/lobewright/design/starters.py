"""Commented starter designs: one for every pair of flexible ring and wave generator that can be built."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib import resources
from typing import Any

from lobewright.design.rules import PAIRS_REFUSED
from lobewright.errors import Fault, FileFault, nearest

WORKSHOP = "workshop"
RINGS = ("belt", "printed_ring", "printed_cup", "metal_cup")
GENERATORS = ("rollers", "paired_rollers", "discs", "cam_thin_bearing", "cam_plain")
LONGEST_NAME = 80
USUAL_GENERATOR = {
    "belt": "paired_rollers",
    "printed_ring": "discs",
    "printed_cup": "cam_thin_bearing",
    "metal_cup": "cam_thin_bearing",
}
KINDS = tuple(f"{ring}-{gen}" for ring in RINGS for gen in GENERATORS if (ring, gen) not in PAIRS_REFUSED)

_COMMON = {
    "bearing": "625",
    "disc_bearing": "61805",
    "set_tolerance": "0.04",
    "run_out": "0.03",
    "fit_tolerance": "0.1",
}
_NUMBERS: dict[str, dict[str, str]] = {
    "belt": {
        **_COMMON,
        "teeth": "100",
        "more_teeth": "102",
        "disc_radius": "42.0",
        "race_height": "6.0",
        "half_width": "7.0",
        "second_offset": "8.0",
        "clearance": "0.1",
        "torque": "0.05",
        "peak": "0.1",
    },
    "printed_ring": {
        **_COMMON,
        "bearing": "608",
        "teeth": "100",
        "more_teeth": "102",
        "disc_radius": "44.0",
        "race_height": "6.0",
        "half_width": "10.0",
        "second_offset": "11.0",
        "clearance": "0.15",
        "torque": "0.5",
        "peak": "1.0",
    },
    "printed_cup": {
        **_COMMON,
        "bearing": "608",
        "teeth": "100",
        "more_teeth": "102",
        "disc_radius": "44.0",
        "race_height": "6.0",
        "face_width": "10.0",
        "clearance": "0.15",
        "torque": "0.5",
        "peak": "1.0",
    },
    "metal_cup": {
        **_COMMON,
        "teeth": "160",
        "more_teeth": "162",
        "disc_radius": "36.0",
        "race_height": "5.0",
        "face_width": "8.0",
        "clearance": "0.09",
        "set_tolerance": "0.01",
        "run_out": "0.01",
        "fit_tolerance": "0.02",
        "torque": "10.0",
        "peak": "20.0",
    },
}


@cache
def _piece(name: str) -> str:
    return resources.files("lobewright.design").joinpath("starter", f"{name}.toml").read_text("utf-8")


def split_kind(kind: str) -> tuple[str, str]:
    """Ring and generator of a starter's name; a ring alone takes its usual generator.

    Raises FileFault for names that are none, and for pairs that cannot be built, with the reason.
    """
    if kind in USUAL_GENERATOR:
        return kind, USUAL_GENERATOR[kind]
    ring, _, generator = kind.partition("-")
    if (ring, generator) in PAIRS_REFUSED:
        raise FileFault(f"{ring} with {generator} cannot be built: {PAIRS_REFUSED[ring, generator]}")
    if kind not in KINDS:
        near = nearest(kind, (*KINDS, *RINGS, WORKSHOP))
        allowed = (
            near if near.startswith("nearest") else f"{', '.join((*RINGS, WORKSHOP))}, or a pair such as belt-rollers"
        )
        raise FileFault([Fault("no such kind of drive", "", 0, kind, allowed)])
    return ring, generator


def starter(kind: str, name: str = "roof garden starter") -> str:
    """Text of a commented starter file. ``kind`` is a ring (``belt``), a pair (``belt-rollers``) or ``workshop``.

    Raises FileFault for a kind that is none and for a name that no drive can have.
    """
    if kind == WORKSHOP:
        return _piece(WORKSHOP)
    ring, generator = split_kind(kind)
    cup = ring.endswith("cup")
    pieces = [
        "head",
        f"ring_{ring}",
        f"generator_{generator}",
        "rigid_cup" if cup else "rigid_open",
        "process_machined" if ring == "metal_cup" else "process_printer",
        "tail",
    ]
    if not 1 <= len(name) <= LONGEST_NAME or not name.isprintable():
        allowed = f"1 to {LONGEST_NAME} printable characters"
        raise FileFault([Fault("this name cannot be given to a drive", "name", 0, f'"{name}"', allowed)])
    numbers = {**_NUMBERS[ring], "name": name.replace("\\", "\\\\").replace('"', '\\"')}
    text = "".join(_piece(piece) for piece in pieces)
    for key, value in numbers.items():
        text = text.replace("{" + key + "}", value)
    return text


def starter_about() -> str:
    """What every starter says of itself until somebody writes there what the drive is for."""
    return str(tomllib.loads(_piece("head"))["about"])


def starter_data(kind: str) -> dict[str, Any]:
    """A starter as plain data."""
    return tomllib.loads(starter(kind))
