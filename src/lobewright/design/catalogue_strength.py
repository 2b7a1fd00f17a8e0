"""Strength, fatigue, creep and temperature of the catalogue's materials: rows of ``catalogue_data/materials_strength.toml``.

The rows are as they are printed: amplitudes at the ratio of their test, moduli at two times. What follows from them for one
direction and temperature is worked out by the strength room. Figures hold at 23 °C; shares are of the figures there.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

from lobewright.design.catalogue import Origin, _find, _origin, _read, material
from lobewright.units import ZERO_CELSIUS_K

ROOM_K = 23.0 + ZERO_CELSIUS_K
"""Temperature of the figures."""


@dataclass(frozen=True)
class ShareRow:
    """A share with its 90 % interval."""

    low_share: float
    middle_share: float
    high_share: float
    origin: Origin


@dataclass(frozen=True)
class SnPoint:
    """One point of an S–N curve at the ratio of its test: ``amplitude_mpa``, or ``amplitude_share`` of the tensile strength."""

    cycles: float
    amplitude_mpa: float | None
    amplitude_share: float | None
    fatigue_ratio: float
    origin: Origin


@dataclass(frozen=True)
class SnRow:
    """An S–N curve of smooth pieces along the layers; ``also``: further sources that say the same."""

    points: tuple[SnPoint, ...]
    beyond_slope: float
    spread: float
    tested_to_cycles: float
    made: str
    frequency_hz: tuple[float, ...]
    origin: Origin
    also: tuple[str, ...]


@dataclass(frozen=True)
class SteelRule:
    """A steel's S–N line from its tensile strength; ``piece_sd_share``: standard deviation of a piece over the limit, which
    ``largest_limit_mpa`` bounds."""

    endurance_share: ShareRow
    piece_sd_share: float
    largest_limit_mpa: float
    tested_to_cycles: float
    made: str
    origin: Origin
    also: tuple[str, ...]


@dataclass(frozen=True)
class CreepRow:
    """E(t) = E(1 h)·(t/h)^−exponent between two times; ``spread``: 90 % band of the exponent, a factor either way."""

    exponent: float
    from_h: float
    to_h: float
    spread: float
    origin: Origin


@dataclass(frozen=True)
class TemperatureRow:
    """Shares of the figures at 23 °C, straight between rising temperatures; ``spread`` a factor either way at the last one."""

    warm_k: tuple[float, ...]
    modulus_share: tuple[float, ...]
    strength_share: tuple[float, ...]
    spread: float
    origin: Origin


@dataclass(frozen=True)
class StrengthRow:
    """All of one material. ``lacking``: figure ("yield", "curve", "creep") to the reason why it is not known."""

    name: str
    coldest_k: float
    hottest_k: float
    conditioning: str
    yield_share: ShareRow | None
    across_share: ShareRow | None
    curve: SnRow | SteelRule | None
    creep: CreepRow | None
    temperature: TemperatureRow
    lacking: Mapping[str, str]


def strength_row(name: str) -> StrengthRow:
    """The strength figures of a material of the catalogue. Raises CatalogueFault."""
    return _find(_rows(), name, material(name).name, "strength figures")


def strength_rows() -> tuple[StrengthRow, ...]:
    """The strength figures of all materials, in the order of the file."""
    return tuple(_rows().values())


@cache
def _rows() -> dict[str, StrengthRow]:
    return {name: _row(name, table) for name, table in _read("materials_strength.toml").items()}


def _row(name: str, table: Mapping[str, Any]) -> StrengthRow:
    return StrengthRow(
        name=name,
        coldest_k=table["coldest_c"] + ZERO_CELSIUS_K,
        hottest_k=material(name).service_k,
        conditioning=table.get("conditioning", ""),
        yield_share=_share(table.get("yield_share")),
        across_share=_share(table.get("across_share")),
        curve=_curve(table),
        creep=_creep(table.get("creep")),
        temperature=_temperature(table["temperature"]),
        lacking=dict(table.get("lacking", {})),
    )


def _share(table: Mapping[str, Any] | None) -> ShareRow | None:
    return None if table is None else _share_row(table["value"], table)


def _share_row(ends: Sequence[float], table: Mapping[str, Any]) -> ShareRow:
    low, middle, high = ends
    return ShareRow(low, middle, high, _origin(table))


def _curve(table: Mapping[str, Any]) -> SnRow | SteelRule | None:
    if "steel_rule" in table:
        rule = table["steel_rule"]
        return SteelRule(
            endurance_share=_share_row(rule["endurance_share"], rule),
            piece_sd_share=rule["piece_sd_share"],
            largest_limit_mpa=rule["largest_limit_mpa"],
            tested_to_cycles=rule["tested_to_cycles"],
            made=rule["made"],
            origin=_origin(rule),
            also=tuple(rule.get("also", ())),
        )
    if "curve" not in table:
        return None
    curve = table["curve"]
    return SnRow(
        points=tuple(
            SnPoint(one["cycles"], one.get("mpa"), one.get("share"), one["ratio"], _origin(curve | one))
            for one in curve["points"]
        ),
        beyond_slope=curve["beyond_slope"],
        spread=curve["spread"],
        tested_to_cycles=curve["tested_to_cycles"],
        made=curve["made"],
        frequency_hz=tuple(curve["frequency_hz"]),
        origin=_origin(curve),
        also=tuple(curve.get("also", ())),
    )


def _creep(table: Mapping[str, Any] | None) -> CreepRow | None:
    if table is None:
        return None
    if "exponent" in table:
        exponent, times = table["exponent"], (table["from_h"], table["to_h"])
    else:
        times = table["times_h"]
        exponent = math.log(table["modulus_mpa"][0] / table["modulus_mpa"][1]) / math.log(times[1] / times[0])
    return CreepRow(exponent, *times, table["spread"], _origin(table))


def _temperature(table: Mapping[str, Any]) -> TemperatureRow:
    return TemperatureRow(
        warm_k=tuple(celsius + ZERO_CELSIUS_K for celsius in table["celsius"]),
        modulus_share=tuple(table["modulus_share"]),
        strength_share=tuple(table["strength_share"]),
        spread=table["spread"],
        origin=_origin(table),
    )
