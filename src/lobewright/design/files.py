"""Design and workshop files: TOML in, typed models out, comments kept on the way back.

Every fault of a file is found before anything is reported: each table is typed on its own, so that a slip in one does
not hide the slips in the others, and the rules that join tables run on whichever tables could be typed.
"""

from __future__ import annotations

import csv
import math
import re
import tomllib
from pathlib import Path
from typing import Annotated, Any, cast

from pydantic import TypeAdapter, ValidationError

from lobewright.design import model
from lobewright.design.rules import find_faults
from lobewright.design.workshop import Workshop
from lobewright.errors import DesignFault, Fault, FileFault, nearest

LARGEST_FILE_BYTES = 1_000_000
LARGEST_OUTLINE_POINTS = 2000

UNIT_OF_SUFFIX = {
    "mm": "mm",
    "deg": "degrees",
    "Nm": "N·m",
    "rpm": "rpm",
    "C": "°C",
    "hours": "hours",
    "factor": "as a factor",
    "share": "as a share of the pitch",
    "N": "N",
    "Nmm2": "N·mm²",
    "teeth": "teeth",
}
UNION_TAGS = {"belt", "printed_ring", "printed_cup", "metal_cup", "involute", "trapezoid", "double_arc"} | {
    "rollers",
    "paired_rollers",
    "discs",
    "cam",
    "printer",
    "machined",
}
"""Kinds and forms that the typed model puts into an error's path; no key of the file bears these names."""
FILLED_BY_READER = {"owned", "points", "outline_points"}


def unit_of(key: str) -> str:
    """Unit that a key declares in its name, in words for a person; empty where it has none."""
    return UNIT_OF_SUFFIX.get(key.rsplit("_", 1)[-1], "") if key else ""


def read_text(path: Path) -> str:
    """A text file's content, or a :class:`FileFault` that says why it cannot be one."""
    name = str(path)
    if path.is_dir():
        raise FileFault("this is a folder, a TOML file is wanted", name)
    if not path.exists():
        raise FileFault("there is no such file", name)
    try:
        size = path.stat().st_size
        if size > LARGEST_FILE_BYTES:
            limit = f"at most {LARGEST_FILE_BYTES} bytes"
            raise FileFault([Fault("the file is too large", value=f"{size} bytes", allowed=limit)], name)
        return path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise FileFault(f"the file is not UTF-8 text (byte {error.start})", name) from None
    except OSError as error:
        raise FileFault(f"the file cannot be read: {error.strerror}", name) from None


def parse_toml(text: str, name: str) -> dict[str, Any]:
    """TOML text as plain data; syntax errors become one sentence with the line."""
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        message = str(error)
        found = re.search(r"line (\d+)", message)
        line = int(found.group(1)) if found else 0
        message = re.sub(r"\s*\(at .*\)$", "", message).replace("'", "")
        raise FileFault([Fault(f"this is not TOML: {message}", line=line)], name) from None
    except RecursionError:
        raise FileFault("this is not a design: it is nested too deeply", name) from None


def line_of(text: str, place: tuple[str | int, ...]) -> int:
    """Line (1-based) on which a key or its table stands; 0 where it cannot be told.

    A plain scan for ``[table]``, ``[[table]]`` and ``key =``: good for files as people write them, silent otherwise.
    """
    counts: dict[str, int] = {}
    current: tuple[str | int, ...] = ()
    best = 0
    for number, raw in enumerate(text.splitlines(), start=1):
        stripped = raw.strip()
        header = re.match(r"^(\[\[?)\s*([A-Za-z0-9_.\-]+)\s*\]\]?", stripped)
        if header:
            name = header.group(2)
            keys: tuple[str | int, ...] = tuple(name.split("."))
            if header.group(1) == "[[":
                counts[name] = counts.get(name, -1) + 1
                keys = (*keys, counts[name])
            current = keys
            if current == place[: len(current)]:
                best = number
            continue
        assignment = re.match(r"^([A-Za-z0-9_\-]+)\s*=", stripped)
        if assignment:
            full = (*current, assignment.group(1))
            if full == place[: len(full)]:
                best = number
                if full == place:
                    return number
    return best


def place_text(place: tuple[str | int, ...]) -> str:
    """``rigid_ring[1].teeth`` from its parts; rows count from 1, as people do."""
    text = ""
    for part in place:
        text += f"[{part + 1}]" if isinstance(part, int) else (f".{part}" if text else part)
    return text


def _short(value: object) -> str:
    text = f'"{value}"' if isinstance(value, str) else str(value)
    return text if len(text) <= 60 else text[:57] + "..."


def _allowed_range(context: dict[str, Any], unit: str) -> str:
    words = {"ge": "at least", "gt": "more than", "le": "at most", "lt": "less than"}
    text = " and ".join(f"{words[k]} {context[k]:g}" for k in ("ge", "gt", "le", "lt") if k in context)
    return f"{text} {unit}".strip()


def _fault_from(error: dict[str, Any], prefix: tuple[str | int, ...], text: str, known: list[str]) -> Fault:
    """One typed-model error as a sentence of ours."""
    location = tuple(p for p in error["loc"] if p not in UNION_TAGS)
    place = (*prefix, *location)
    key = str(place[-1]) if place else ""
    unit = unit_of(key)
    kind, context = error["type"], error.get("ctx", {})
    value, allowed = _short(error["input"]), ""
    if kind == "missing":
        what, value, allowed = "this key is missing", "", f"a value in {unit}" if unit else "a value"
    elif kind == "extra_forbidden":
        what, value, allowed = "no such key", "", nearest(key, known)
    elif kind in {"greater_than", "greater_than_equal", "less_than", "less_than_equal"}:
        what, allowed = "the value is out of range", _allowed_range(context, unit)
    elif kind == "union_tag_invalid":
        what, allowed = "no such kind", context["expected_tags"].replace("'", "")
        place = (*place, context["discriminator"].strip("'"))
        value = _short(context["tag"])
    elif kind == "union_tag_not_found":
        what, value = "this key is missing", ""
        place = (*place, context["discriminator"].strip("'"))
        allowed = "the kind, as text"
    elif kind in {"enum", "literal_error"}:
        what, allowed = "no such value", str(context["expected"]).replace("'", "")
    elif kind in {"float_type", "int_type"}:
        what, allowed = "this is not a number", f"a {'whole ' if kind == 'int_type' else ''}number {unit}".strip()
    elif kind == "string_pattern_mismatch":
        what, allowed = "this name cannot be used", "small letters, digits and _, a letter first, at most 31"
    elif kind == "finite_number":
        what, allowed = "the number is not finite", f"a finite number {unit}".strip()
    else:
        what = error["msg"][:1].lower() + error["msg"][1:]
    return Fault(what, place_text(place), line_of(text, place), value, allowed)


def _known_keys(annotation: Any, data: Any) -> list[str]:
    """Keys that a table may have, for the nearest-name hint."""
    names: set[str] = set()
    schema = TypeAdapter(annotation).json_schema()
    stack: list[Any] = [schema]
    while stack:
        node = stack.pop()
        if isinstance(node, dict):
            names |= set(node.get("properties", {}))
            stack.extend(node.values())
        elif isinstance(node, list):
            stack.extend(node)
    return sorted(names - FILLED_BY_READER)


def _tuples(value: Any) -> Any:
    if isinstance(value, list):
        return tuple(_tuples(v) for v in value)
    if isinstance(value, dict):
        return {k: _tuples(v) for k, v in value.items()}
    return value


def type_tables(whole: type[model.Frozen], data: dict[str, Any], text: str) -> tuple[dict[str, Any], list[Fault]]:
    """Type every top-level key on its own: the typed parts and all faults."""
    parts: dict[str, Any] = {}
    faults: list[Fault] = []
    for key in data:
        if key not in whole.model_fields or key in FILLED_BY_READER:
            hint = nearest(key, set(whole.model_fields) - FILLED_BY_READER)
            faults.append(Fault("no such key", key, line_of(text, (key,)), allowed=hint))
    for key, field in whole.model_fields.items():
        if key not in data:
            if field.is_required():
                faults.append(Fault("this table or key is missing", key))
            else:
                parts[key] = field.get_default(call_default_factory=True)
            continue
        annotation = field.annotation
        for extra in (*field.metadata, *([field] if field.discriminator else [])):
            annotation = Annotated[annotation, extra]
        try:
            parts[key] = TypeAdapter(annotation).validate_python(data[key])
        except ValidationError as error:
            known = _known_keys(annotation, data[key])
            faults += [_fault_from(cast("dict[str, Any]", e), (key,), text, known) for e in error.errors()]
    return parts, faults


def _read_outline(path: Path, place: str) -> tuple[tuple[tuple[float, float], ...], list[Fault]]:
    """Points of an outline CSV (two numeric columns, a heading line allowed)."""
    try:
        rows = list(csv.reader(read_text(path).splitlines()))
    except FileFault as error:
        return (), [Fault(f"the outline {path.name} cannot be used: {error.faults[0].what}", place)]
    points: list[tuple[float, float]] = []
    for number, row in enumerate(rows, start=1):
        if not row or row[0].lstrip().startswith("#"):
            continue
        try:
            x, y = (float(cell) for cell in row)
        except ValueError:
            if number == 1:
                continue
            return (), [Fault(f"{path.name}, line {number}: two numbers x_mm, y_mm are wanted", place)]
        if not (math.isfinite(x) and math.isfinite(y)):
            return (), [Fault(f"{path.name}, line {number}: the numbers are not finite", place)]
        points.append((x, y))
    if not 5 <= len(points) <= LARGEST_OUTLINE_POINTS:
        allowed = f"5 to {LARGEST_OUTLINE_POINTS} points"
        return (), [Fault("the outline has an unusable number of points", place, 0, str(len(points)), allowed)]
    return tuple(points), []


def _fill_outlines(data: dict[str, Any], folder: Path) -> list[Fault]:
    """Read the outline files that a design names into its data."""
    faults: list[Fault] = []
    tooth = data.get("tooth")
    if isinstance(tooth, dict) and isinstance(tooth.get("file"), str) and not tooth.get("points"):
        tooth["points"], found = _read_outline(folder / tooth["file"], "tooth.file")
        faults += found
    rings = data.get("rigid_ring")
    for index, ring in enumerate(rings if isinstance(rings, (list, tuple)) else ()):
        if isinstance(ring, dict) and isinstance(ring.get("outline"), str) and not ring.get("outline_points"):
            place = f"rigid_ring[{index + 1}].outline"
            ring["outline_points"], found = _read_outline(folder / ring["outline"], place)
            faults += found
    return faults


def read_workshop(path: Path | str) -> Workshop:
    """Read a workshop file.

    Raises FileFault when the file cannot be used and DesignFault with every fault found.
    """
    path = Path(path)
    text = read_text(path)
    data = _tuples(parse_toml(text, str(path)))
    parts, faults = type_tables(Workshop, data, text)
    if faults:
        raise DesignFault(faults, str(path))
    return Workshop.model_validate(parts)


def design_from_data(data: dict[str, Any], text: str = "", name: str = "", folder: Path = Path()) -> model.Design:
    """A typed, admissible design from plain data; raises DesignFault with all faults."""
    data = _tuples(data)
    faults = _fill_outlines(data, folder)
    owned: Workshop | None = None
    if isinstance(data.get("workshop"), str):
        try:
            owned = read_workshop(folder / data["workshop"])
        except (FileFault, DesignFault) as error:
            line = line_of(text, ("workshop",))
            faults += [Fault(f"the workshop file cannot be used: {s}", "workshop", line) for s in error.sentences()]
    if owned is not None and owned.printer is not None and "process" not in data:
        data["process"] = owned.printer.model_dump()
    parts, found = type_tables(model.Design, data, text)
    faults += found
    for rule in find_faults(parts):
        faults.append(Fault(rule.what, place_text(rule.place), line_of(text, rule.place), rule.value, rule.allowed))
    if faults:
        raise DesignFault(faults, name)
    return model.Design.model_validate({**parts, "owned": owned})


def read(path: Path | str) -> model.Design:
    """Read a design file (TOML) into a complete, admissible :class:`~lobewright.design.model.Design`.

    The workshop file and the outline files that it names are read too (paths relative to the design file).
    Raises FileFault (not a usable file) or DesignFault (every fault at once, each with key, line, value, allowed).
    """
    path = Path(path)
    text = read_text(path)
    return design_from_data(parse_toml(text, str(path)), text, str(path), path.parent)
