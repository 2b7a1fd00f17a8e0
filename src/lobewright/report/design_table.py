"""The design echoed: every key of the file with its value, the usual ones in a lighter ink."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel

from lobewright.design.files import FILLED_BY_READER, unit_of
from lobewright.design.model import Design
from lobewright.report.figures import signed

KIND_KEYS = ("kind", "form", "name")
NO_UNIT = ("teeth", "_factor", "_share")
TOP_KEYS = ("workshop", "load", "ambient_temperature_C")


@dataclass(frozen=True)
class Row:
    key: str
    value: str
    usual: bool


def value_text(key: str, value: Any) -> str:
    """A value as people read it, with the unit that its key declares."""
    if value is None:
        return "not named"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        text = f"{value:.10g}".replace("-", "−")
    elif isinstance(value, int):
        text = signed(value, 0)
    elif isinstance(value, tuple):
        text = " × ".join(f"{part:g}" for part in value)
    else:
        return str(value)
    unit = "" if key.endswith(NO_UNIT) else unit_of(key)
    return f"{text} {unit}".strip()


def _rows(model: BaseModel, prefix: str = "") -> Iterator[Row]:
    # What a table is stands first, wherever its class declares it.
    for key, field in sorted(type(model).model_fields.items(), key=lambda item: item[0] not in KIND_KEYS):
        value = getattr(model, key)
        if key in FILLED_BY_READER:
            continue
        if isinstance(value, BaseModel):
            yield from _rows(value, f"{prefix}{key}.")
            continue
        usual = not field.is_required() and value == field.get_default(call_default_factory=True)
        yield Row(prefix + key, value_text(key, value), usual)


def design_sections(design: Design) -> tuple[tuple[str, tuple[Row, ...]], ...]:
    """(table name, rows) in the order of the design file; lists of tables are numbered from 1."""
    top = {row.key: row for row in _rows_top(design)}
    found: list[tuple[str, tuple[Row, ...]]] = [("design", tuple(top[key] for key in TOP_KEYS))]
    for key in ("flexible_ring", "tooth", "generator"):
        found.append((key, tuple(_rows(getattr(design, key)))))
    found += [(f"rigid_ring {i}", tuple(_rows(ring))) for i, ring in enumerate(design.rigid_ring, 1)]
    found += [(key, tuple(_rows(getattr(design, key)))) for key in ("motion", "process")]
    found += [(f"duty {i}", tuple(_rows(step))) for i, step in enumerate(design.duty, 1)]
    if design.output_bearing:
        found.append(("output_bearing", tuple(_rows(design.output_bearing))))
    found += [(key, tuple(_rows(getattr(design, key)))) for key in ("strength", "assembly")]
    if design.checks_not_expected:
        rows = tuple(Row(name, why, False) for name, why in sorted(design.checks_not_expected.items()))
        found.append(("checks_not_expected", rows))
    return tuple(found)


def _rows_top(design: Design) -> Iterator[Row]:
    for key in TOP_KEYS:
        field = type(design).model_fields[key]
        value = getattr(design, key)
        yield Row(key, value_text(key, value), value == field.get_default())
