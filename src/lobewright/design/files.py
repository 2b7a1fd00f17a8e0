"""Design and workshop files: TOML in, typed models out, comments kept on the way back.

Every fault of a file is found before anything is reported: each table is typed on its own, so that a slip in one does
not hide the slips in the others, and the rules that join tables run on whichever tables could be typed.
"""

from __future__ import annotations

import csv
import re
import tomllib
from dataclasses import replace
from functools import cache, lru_cache
from pathlib import Path
from typing import Annotated, Any, cast

from pydantic import TypeAdapter, ValidationError

from lobewright.design import model
from lobewright.design.rules import find_faults
from lobewright.design.workshop import Workshop
from lobewright.errors import MOST_FAULTS_SHOWN, DesignFault, Fault, FileFault, LobewrightError, clipped, nearest

LARGEST_FILE_BYTES = 1_000_000
LARGEST_OUTLINE_POINTS = 2000
FARTHEST_POINT_MM = 1000
RECORD_HEADING = ["time_s", "turn_deg", "torque_Nm"]
LONGEST_RECORD = 200_000
LONGEST_RECORD_S, FARTHEST_TURN_DEG, LARGEST_TORQUE_NM = 1e9, 1e9, 1e5
DEEPEST = 20
LONG_DOTTED_KEY = re.compile(rf"""(?<![\w"'\-])(?:[\w"'\-]+\s*\.\s*){{{DEEPEST},}}""")
LARGEST_WHOLE_NUMBER = 10**18

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
    "g": "g",
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
    try:
        if path.is_dir():
            raise FileFault("this is a folder, a TOML file is wanted", name)
        if not path.exists():
            raise FileFault("there is no such file", name)
        if not path.is_file():
            raise FileFault("this is a device or a pipe, a file is wanted", name)
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
    if LONG_DOTTED_KEY.search(text):  # such a key takes the parser memory without end
        raise FileFault("this is not a design: it is nested too deeply", name)
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        message = str(error)
        found = re.search(r"line (\d+)", message)
        line = int(found.group(1)) if found else len(text.splitlines()) if "end of document" in message else 0
        message = re.sub(r"\s*\(at .*\)$", "", message).replace("'", "")
        message = re.sub(r"\(([^()]*?),?\) twice", lambda m: m.group(1).replace(", ", ".") + " twice", message)
        raise FileFault([Fault(f"this is not TOML: {message}", line=line)], name) from None
    except RecursionError:
        raise FileFault("this is not a design: it is nested too deeply", name) from None
    except ValueError:  # the one that Python itself raises for digits without end
        raise FileFault("a whole number in it has thousands of digits", name) from None


@lru_cache(maxsize=4)
def _lines(text: str) -> dict[tuple[str | int, ...], int]:
    """Line (1-based) of every key and table that a plain scan for ``[table]``, ``[[table]]`` and ``key =`` finds."""
    counts: dict[str, int] = {}
    current: tuple[str | int, ...] = ()
    lines: dict[tuple[str | int, ...], int] = {}
    for number, raw in enumerate(text.splitlines(), start=1):
        stripped = raw.strip()
        header = re.match(r"^(\[\[?)\s*([A-Za-z0-9_.\-]+)\s*\]\]?", stripped)
        if header:
            name = header.group(2)
            current = tuple(name.split("."))
            if header.group(1) == "[[":
                lines.setdefault(current, number)
                counts[name] = counts.get(name, -1) + 1
                current = (*current, counts[name])
            lines.setdefault(current, number)
            continue
        assignment = re.match(r"^([A-Za-z0-9_.\-]+)\s*=", stripped)
        if assignment:
            lines.setdefault((*current, *assignment.group(1).split(".")), number)
    return lines


def line_of(text: str, place: tuple[str | int, ...]) -> int:
    """Line (1-based) on which a key or its table stands; 0 where it cannot be told.

    Good for files as people write them, silent otherwise.
    """
    lines = _lines(text)
    for count in range(len(place), 0, -1):
        if place[:count] in lines:
            return lines[place[:count]]
    return 0


def place_text(place: tuple[str | int, ...]) -> str:
    """``rigid_ring[1].teeth`` from its parts; rows count from 1, as people do."""
    text = ""
    for part in place:
        word = f"[{part + 1}]" if isinstance(part, int) else clipped(part)
        text += word if isinstance(part, int) or not text else f".{word}"
    return text


def place_parts(place: str) -> tuple[str | int, ...]:
    """The parts of a place as :func:`place_text` writes it."""
    parts: list[str | int] = []
    for piece in place.split("."):
        name, _, row = piece.partition("[")
        parts.append(name)
        if row.rstrip("]").isdecimal():
            parts.append(int(row.rstrip("]")) - 1)
    return tuple(parts)


def locate(error: LobewrightError, path: Path | str) -> None:
    """Give the faults of an error that arose after reading the design file's name and, where found, its lines."""
    locate_in(error, read_text(Path(path)), str(path))


def locate_in(error: LobewrightError, text: str, name: str) -> None:
    """The same for the text of a design that bears a name."""
    error.file = name
    error.faults = tuple(replace(f, line=f.line or line_of(text, place_parts(f.place))) for f in error.faults)


def _short(value: object) -> str:
    if isinstance(value, int) and abs(value) > LARGEST_WHOLE_NUMBER:
        return "a whole number of more than 18 digits"
    return f'"{clipped(value, 60)}"' if isinstance(value, str) else clipped(str(value), 60)


def _allowed_range(context: dict[str, Any], unit: str) -> str:
    words = {"ge": "at least", "gt": "more than", "le": "at most", "lt": "less than"}
    ends = {
        k: end if isinstance(end, str) else f"{end:g}" for k, end in context.items() if k in words
    }  # a day is a text here
    text = " and ".join(f"{word} {ends[k]}" for k, word in words.items() if k in ends)
    return f"{text} {unit}".strip()


def _without_tags(location: tuple[str | int, ...], data: Any) -> tuple[str | int, ...]:
    """A typed model's path without the kinds that it puts in, which are no keys of the file."""
    path: list[str | int] = []
    for part in location:
        inside = isinstance(data, dict) and part in data
        if part in UNION_TAGS and not inside:
            continue
        path.append(part)
        data = (
            data[part] if inside or (isinstance(part, int) and isinstance(data, tuple) and part < len(data)) else None
        )
    return tuple(path)


WRONG_TYPES = {
    "string_type": ("this is not text", "text in quotes"),
    "tuple_type": ("this is not a list", "a list in square brackets"),
    "dict_type": ("this is not a table", "a table"),
    "model_type": ("this is not a table", "a table"),
    "model_attributes_type": ("this is not a table", "a table"),
    "union_tag_not_found": ("this key is missing", "the kind, as text"),
}
"""What the typed model calls a fault of type, and how a person would be told."""


def _fault_from(error: dict[str, Any], prefix: tuple[str | int, ...], data: Any, text: str, known: list[str]) -> Fault:
    """One typed-model error as a sentence of ours."""
    place = (*prefix, *_without_tags(error["loc"], data))
    key = str(next((part for part in reversed(place) if isinstance(part, str)), ""))
    unit = unit_of(key)
    kind, context = error["type"], error.get("ctx", {})
    value, allowed = _short(error["input"]), ""
    if kind == "missing":
        what, value, allowed = "this key is missing", "", f"a value in {unit}" if unit else "a value"
    elif kind == "extra_forbidden":
        what, value, allowed = "no such key", "", nearest(key, known) if known else ""
    elif kind in {"greater_than", "greater_than_equal", "less_than", "less_than_equal"}:
        what, allowed = "the value is out of range", _allowed_range(context, unit)
    elif kind == "union_tag_invalid":
        what, allowed = "no such kind", context["expected_tags"].replace("'", "")
        place = (*place, context["discriminator"].strip("'"))
        value = _short(context["tag"])
    elif kind == "union_tag_not_found":
        (what, allowed), value = WRONG_TYPES[kind], ""
        place = (*place, context["discriminator"].strip("'"))
    elif kind in WRONG_TYPES:
        what, allowed = WRONG_TYPES[kind]
    elif kind in {"too_short", "too_long", "string_too_short", "string_too_long"}:
        least, most = context.get("min_length"), context.get("max_length")
        what = "there is too little here" if least is not None else "there is too much here"
        count = f"at least {least}" if least is not None else f"at most {most}"
        allowed = f"{count} {'characters' if kind.startswith('string') else 'entries'}"
    elif kind in {"enum", "literal_error"}:
        what, allowed = "no such value", str(context["expected"]).replace("'", "")
    elif kind in {"float_type", "int_type", "float_parsing", "int_from_float"}:
        whole = kind in {"int_type", "int_from_float"}
        what = "this is not a whole number" if whole else "this is not a number"
        allowed = f"a {'whole ' if whole else ''}number {unit}".strip()
    elif kind == "string_pattern_mismatch":
        what, allowed = "this name cannot be used", "small letters, digits and _, a letter first, at most 31"
    elif kind == "readings":
        what, value, allowed = context["what"], context["found"], context["allowed"]
    elif kind == "finite_number":
        what, allowed = "the number is not finite", f"a finite number {unit}".strip()
    else:
        what = error["msg"][:1].lower() + error["msg"][1:]
    return Fault(what, place_text(place), line_of(text, place), value, allowed)


def _known_keys(adapter: TypeAdapter[Any]) -> list[str]:
    """Keys that a table may have, for the nearest-name hint."""
    names: set[str] = set()
    stack: list[Any] = [adapter.json_schema()]
    while stack:
        node = stack.pop()
        if isinstance(node, dict):
            names |= set(node.get("properties", {}))
            stack.extend(node.values())
        elif isinstance(node, list):
            stack.extend(node)
    return sorted(names - FILLED_BY_READER)


def tuples(value: Any, name: str, depth: int = 0) -> Any:
    """Plain data with tuples for lists and no endless numbers. Raises FileFault where it is nested beyond any design."""
    if depth > DEEPEST:
        raise FileFault("this is not a design: it is nested too deeply", name)
    if isinstance(value, (list, tuple)):
        return tuple(tuples(v, name, depth + 1) for v in value)
    if isinstance(value, dict):
        return {k: tuples(v, name, depth + 1) for k, v in value.items()}
    if isinstance(value, int) and abs(value) > LARGEST_WHOLE_NUMBER:
        return (LARGEST_WHOLE_NUMBER + 1) * (1 if value > 0 else -1)
    return value


@cache
def _typed(whole: type[model.Frozen], key: str) -> TypeAdapter[Any]:
    """What types the value of one top-level key; kept, for it is slow to make."""
    field = whole.model_fields[key]
    annotation: Any = field.annotation
    for extra in (*field.metadata, *([field] if field.discriminator else [])):
        annotation = Annotated[annotation, extra]
    return TypeAdapter(annotation)


def type_tables(whole: type[model.Frozen], data: dict[str, Any], text: str) -> tuple[dict[str, Any], list[Fault]]:
    """Type every top-level key on its own: the typed parts and all faults."""
    parts: dict[str, Any] = {}
    faults: list[Fault] = []
    for key in data:
        if key not in whole.model_fields or key in FILLED_BY_READER:
            hint = nearest(key, set(whole.model_fields) - FILLED_BY_READER) if len(faults) < MOST_FAULTS_SHOWN else ""
            faults.append(Fault("no such key", place_text((key,)), line_of(text, (key,)), allowed=hint))
    for key, field in whole.model_fields.items():
        if key not in data:
            if field.is_required():
                faults.append(Fault("this table or key is missing", key))
            else:
                parts[key] = field.get_default(call_default_factory=True)
            continue
        try:
            parts[key] = _typed(whole, key).validate_python(data[key])
        except ValidationError as error:
            known = _known_keys(_typed(whole, key))
            for one in error.errors(include_url=False):
                if one["type"] == "too_short" and len(one["input"]) >= one["ctx"]["min_length"]:
                    continue  # rows with faults are not counted there; theirs are told
                hints = known if len(faults) < MOST_FAULTS_SHOWN else []  # those that are not shown need none
                faults.append(_fault_from(cast("dict[str, Any]", one), (key,), data[key], text, hints))
    return parts, faults


def _csv_rows(path: Path, place: str, what: str) -> tuple[list[tuple[int, list[str]]], Fault | None]:
    """Line number and cells of every row of a CSV file, empty ones and remarks left out; or why it cannot be used."""
    try:
        rows = list(csv.reader(read_text(path).splitlines()))
    except (FileFault, csv.Error) as error:
        why = error.faults[0].what if isinstance(error, FileFault) else error
        return [], Fault(f"the {what} {clipped(path.name)} cannot be used: {why}", place)
    return [(n, row) for n, row in enumerate(rows, start=1) if row and not row[0].lstrip().startswith("#")], None


def _read_record(path: Path, place: str) -> tuple[tuple[tuple[float, float, float], ...], list[Fault]]:
    """Rows of a recorded motion: three numeric columns, time rising; a heading line allowed."""
    name = clipped(path.name)
    rows, fault = _csv_rows(path, place, "recorded motion")
    if fault is not None:
        return (), [fault]
    points: list[tuple[float, float, float]] = []
    for number, row in rows:
        where = f"{name}, line {number}"
        try:
            time, turn, torque = (float(cell) for cell in row)
        except ValueError:
            heading = [cell.strip() for cell in row]
            if not points and heading == RECORD_HEADING:
                continue
            found = ", ".join(heading)[:60]
            allowed = f"a heading {','.join(RECORD_HEADING)}, then three numbers a line"
            return (), [Fault(f"{where}: this is no row of a recorded motion", place, 0, found, allowed)]
        if not (abs(time) <= LONGEST_RECORD_S and abs(turn) <= FARTHEST_TURN_DEG and abs(torque) <= LARGEST_TORQUE_NM):
            allowed = f"± {LONGEST_RECORD_S:g} s, ± {FARTHEST_TURN_DEG:g} degrees, ± {LARGEST_TORQUE_NM:g} N·m"
            return (), [Fault(f"{where}: a number is out of range", place, 0, ", ".join(row)[:60], allowed)]
        if points and time <= points[-1][0]:
            allowed = f"more than {points[-1][0]:g} s, the time before it"
            return (), [Fault(f"{where}: time does not rise", place, 0, f"{time:g} s", allowed)]
        points.append((time, turn, torque))
    if not 2 <= len(points) <= LONGEST_RECORD:
        allowed = f"2 to {LONGEST_RECORD} rows"
        return (), [Fault("the recorded motion has an unusable number of rows", place, 0, str(len(points)), allowed)]
    return tuple(points), []


def _read_outline(path: Path, place: str) -> tuple[tuple[tuple[float, float], ...], list[Fault]]:
    """Points of an outline CSV (two numeric columns, a heading line allowed)."""
    name = clipped(path.name)
    rows, fault = _csv_rows(path, place, "outline")
    if fault is not None:
        return (), [fault]
    points: list[tuple[float, float]] = []
    for number, row in rows:
        try:
            x, y = (float(cell) for cell in row)
        except ValueError:
            if number == 1:
                continue
            return (), [Fault(f"{name}, line {number}: two numbers x_mm, y_mm are wanted", place)]
        if not (abs(x) <= FARTHEST_POINT_MM and abs(y) <= FARTHEST_POINT_MM):
            what = f"{name}, line {number}: a point lies outside what can be made"
            return (), [Fault(what, place, 0, f"{x:g}, {y:g}", f"−{FARTHEST_POINT_MM} to {FARTHEST_POINT_MM} mm")]
        points.append((x, y))
    if not 5 <= len(points) <= LARGEST_OUTLINE_POINTS:
        allowed = f"5 to {LARGEST_OUTLINE_POINTS} points"
        return (), [Fault("the outline has an unusable number of points", place, 0, str(len(points)), allowed)]
    return tuple(points), []


def _fill_from_files(data: dict[str, Any], folder: Path) -> list[Fault]:
    """Read the outline and motion files that a design names into its data."""
    faults: list[Fault] = []
    recorded = data.get("recorded_motion")
    if isinstance(recorded, dict) and isinstance(recorded.get("file"), str) and not recorded.get("points"):
        recorded["points"], found = _read_record(folder / recorded["file"], "recorded_motion.file")
        faults += found
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
    text = read_text(Path(path))
    return workshop_from_data(parse_toml(text, str(path)), text, str(path))


def workshop_from_data(data: dict[str, Any], text: str = "", name: str = "") -> Workshop:
    """A typed workshop from plain data; raises DesignFault with all faults."""
    parts, faults = type_tables(Workshop, tuples(data, name), text)
    if faults:
        raise DesignFault(faults, name)
    return Workshop.model_validate(parts)


def design_from_data(data: dict[str, Any], text: str = "", name: str = "", folder: Path = Path()) -> model.Design:
    """A typed, admissible design from plain data; raises DesignFault with all faults."""
    data = tuples(data, name)
    faults = _fill_from_files(data, folder)
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
