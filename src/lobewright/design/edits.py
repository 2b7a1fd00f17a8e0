"""Machine-readable edits of a design: a dotted place and a new value, applied to a model or to a file with its comments."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import tomlkit

from lobewright.design.files import design_from_data, parse_toml, place_parts, read, read_text
from lobewright.design.model import Design
from lobewright.errors import Fault, FileFault

Value = float | int | str | bool


@dataclass(frozen=True)
class Edit:
    """Set ``place`` (``generator.bearing``, ``rigid_ring[1].teeth``; rows count from 1) to ``value``; None takes the key out."""

    place: str
    value: Value | None

    @property
    def sentence(self) -> str:
        """The edit as a person would be told."""
        if self.value is None:
            return f"take out {self.place}"
        shown = (
            f'"{self.value}"'
            if isinstance(self.value, str)
            else f"{self.value:g}"
            if isinstance(self.value, float)
            else self.value
        )
        return f"set {self.place} = {shown}"

    def as_json(self) -> dict[str, Any]:
        return {"place": self.place, "value": self.value}


def _says(found: Any, value: Value) -> bool:
    """Whether a file says this value already: 0.20 is left as a person wrote it where 0.2 is wanted."""
    return isinstance(found, type(value)) and isinstance(found, bool) == isinstance(value, bool) and found == value


def _put(data: Any, edit: Edit, table: Callable[[], Any] | None = None) -> None:
    """Change nested tables in place; ``table`` makes one that is missing on the way. Raises FileFault for no such place."""
    *path, last = place_parts(edit.place)
    try:
        for part in path:
            if table is not None and isinstance(part, str) and part not in data:
                data[part] = table()
            if isinstance(part, int) and part < 0:  # rows count from 1: row 0 is not the last one
                raise IndexError
            data = data[part]
        if edit.value is None:
            data.pop(last, None)
        elif not _says(data.get(last), edit.value):
            data[last] = edit.value
    except (KeyError, IndexError, TypeError, AttributeError, ValueError):
        # the last two: a plain value, which has nothing in it; a table in braces, which no table can be begun in
        raise FileFault([Fault("there is no such place to edit", edit.place)]) from None


def as_data(design: Design) -> dict[str, Any]:
    """A design as the plain data that a TOML file would give, typed workshop and outline points kept aside."""
    data = design.model_dump(mode="json", exclude={"owned"}, exclude_none=True)

    def lists(value: Any) -> Any:
        if isinstance(value, (list, tuple)):
            return [lists(v) for v in value]
        if isinstance(value, dict):
            return {k: lists(v) for k, v in value.items()}
        return value

    return lists(data)


def apply(design: Design, edits: tuple[Edit, ...]) -> Design:
    """The edited design, checked like any other. Raises DesignFault when it cannot be."""
    data = as_data(design)
    workshop = data.pop("workshop", None)
    for edit in edits:
        _put(data, edit)
    changed = design_from_data(data)
    return changed.model_copy(update={"workshop": workshop, "owned": design.owned})


def edit_text(text: str, edits: tuple[Edit, ...], printer: Callable[[], dict[str, Any]], name: str = "") -> str:
    """Text of a design with the edits made and every comment kept.

    An edit of a printer that stands in the workshop file copies that printer, which ``printer`` gives as data, into the design
    first: the workshop file serves other designs too. Raises FileFault where the text is no TOML or has no such place.
    """
    parse_toml(text, name)
    document = tomlkit.parse(text)
    for edit in edits:
        if edit.place.startswith("process.") and "process" not in document:
            document["process"] = printer()
        # A table that the model has and the file lacks is begun; any other place is a slip.
        known = place_parts(edit.place)[0] in Design.model_fields
        _put(document, edit, tomlkit.table if known else None)
    return tomlkit.dumps(document)


def edit_file(path: Path, edits: tuple[Edit, ...]) -> str:
    """Text of a design file with the edits made, see :func:`edit_text`; the file itself is left alone.

    Raises FileFault where the file cannot be used or has no such place, DesignFault where a printer is to be copied from a
    design that cannot be read.
    """
    return edit_text(read_text(path), edits, lambda: read(path).process.model_dump(mode="json"), str(path))
