"""The design as a form: one entry for each key that it may have, with its words, unit, limits and value, from the models.

Values are taken from the file as it stands, so that the form also shows a design that cannot be built on. A workshop file is a
form of the same make.
"""

from __future__ import annotations

import enum
import math
import re
import types
import typing
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any, Literal

import annotated_types
from pydantic.fields import FieldInfo

from lobewright.design import model as m
from lobewright.design.base import Frozen
from lobewright.design.files import FILLED_BY_READER, parse_toml, place_parts, read_text, unit_of
from lobewright.design.key_words import key_label, row_name, table_label
from lobewright.design.rules import two_lobes_only
from lobewright.design.workshop import Workshop
from lobewright.errors import Fault, FileFault, LobewrightError, UnitFault
from lobewright.units import INSIDE_UNIT, ZERO_CELSIUS_K, Kind, parse
from lobewright.web.confine import inside

Data = dict[str, Any]
NOT_ASKED = {"schema_version", "checks_not_expected"}
"""Keys that are no numbers or choices of the drive."""
DRIVE_TABLES = ("flexible_ring", "tooth", "generator", "rigid_ring", "motion")
"""A file with none of these, but with a table of the workshop, is a workshop file."""
OFTEN = {
    *("load", "design_deflection_factor", "set_deflection_mm", "pair_half_angle_deg", "pressure_angle_deg"),
    *(
        "half_angle_deg",
        "tangent_angle_deg",
        "offset_mm",
        "rim_mm",
        "bolt",
        "bolts",
        "criterion",
        "reliability_percent",
    ),
    *(
        "input",
        "view",
        "adjustable",
        "overturning_moment_Nm",
        "travel_deg",
        "count",
        "spacing_mm",
        "xy_compensation_mm",
    ),
    *("tolerance_mm", "material", "file", "surface"),
}
"""Keys that are changed often though a file need not say them; the others that it need not say are rare."""
RARE_TABLES = {"measured", "second_row", "recorded_motion", "strength", "laser"}
LONG_TEXT = 200
"""Characters: a text that may be longer than this gets several lines."""
KNOWN_NAMES = {
    **{key: "bearing" for key in ("bearing", "input_bearing")},
    **{key: "bolt" for key in ("bolt", "size")},
    **{key: "member" for key in ("fixed", "driven", "read")},
    **{key: key for key in ("material", "workshop")},
}
"""Keys whose values are names, and of which list; see :mod:`lobewright.web.known`."""
LIST_EXAMPLE = (220.0, 220.0, 250.0, 250.0)
"""Numbers that are shown where a list has none to show."""


@dataclass(frozen=True)
class Entry:
    """One key; ``title`` is what it is called.

    ``type`` is number, whole, text, long (text of several lines), choice, flag or list.

    Limits are closed unless ``open_low`` or ``open_high``. ``value`` is what the file says (None where it says nothing),
    ``default`` what counts then. ``unit`` is that of the file, ``accepts`` tells that others may be typed too. ``rare``: few
    designs say it. ``known`` is the list of names that it takes its value from, empty where there is none. ``count``: how many
    numbers a list has, each within the limits.
    """

    place: str
    key: str
    title: str
    words: str
    type: str
    unit: str
    accepts: bool
    needed: bool
    default: Any
    value: Any
    low: float | None = None
    high: float | None = None
    open_low: bool = False
    open_high: bool = False
    choices: tuple[Any, ...] = ()
    rare: bool = False
    known: str = ""
    count: int = 0


@dataclass(frozen=True)
class Section:
    """A table of the design: its entries, and the kinds among which its discriminating key chooses.

    ``chosen`` is the kind that stands. ``row`` counts the rows of a table that may stand several times, from 1; 0 for tables that
    stand once. ``given`` tells whether the file has it; ``source`` is the workshop file that its values come from where it has
    not. ``rare``: few designs have it.
    """

    place: str
    title: str
    words: str
    given: bool
    needed: bool
    row: int
    kind_key: str
    kinds: tuple[str, ...]
    chosen: str
    entries: tuple[Entry, ...]
    source: str = ""
    rare: bool = False


@cache
def meanings() -> dict[str, dict[str, str]]:
    """Words about keys, by class and key."""
    import tomllib

    return tomllib.loads(files("lobewright.design").joinpath("meanings.toml").read_text("utf-8"))


def _meaning(model: type[Frozen], key: str) -> str:
    for one in model.__mro__:
        if key in meanings().get(one.__name__, {}):
            return meanings()[one.__name__][key]
    return ""


def _peeled(annotation: Any, metadata: tuple[Any, ...] = ()) -> tuple[Any, tuple[Any, ...]]:
    """An annotation without ``Annotated`` and ``| None``, and all that they said of it."""
    while True:
        origin, arguments = typing.get_origin(annotation), typing.get_args(annotation)
        if origin is typing.Annotated:
            more = [
                m for extra in arguments[1:] for m in (extra.metadata if isinstance(extra, FieldInfo) else (extra,))
            ]
            annotation, metadata = arguments[0], (*metadata, *more)
        elif origin in (typing.Union, types.UnionType) and type(None) in arguments:
            rest = tuple(one for one in arguments if one is not type(None))
            annotation = rest[0] if len(rest) == 1 else typing.Union[rest]  # noqa: UP007 - made from a tuple
        else:
            return annotation, metadata


def _models(annotation: Any) -> tuple[type[Frozen], ...]:
    """The table models that an annotation may be: one, or the kinds of a union; none for plain values."""
    if typing.get_origin(annotation) in (typing.Union, types.UnionType):
        return tuple(one for one in typing.get_args(annotation) if isinstance(one, type) and issubclass(one, Frozen))
    return (annotation,) if isinstance(annotation, type) and issubclass(annotation, Frozen) else ()


def _row_model(annotation: Any) -> type[Frozen] | None:
    """The model of a table that may stand several times."""
    if typing.get_origin(annotation) is tuple and typing.get_args(annotation)[-1] is Ellipsis:
        found = _models(_peeled(typing.get_args(annotation)[0])[0])
        return found[0] if found else None
    return None


def _kind_key(models: tuple[type[Frozen], ...]) -> str:
    """The key by which a union is told apart."""
    return (
        next((k for k in ("kind", "form") if all(k in one.model_fields for one in models)), "")
        if len(models) > 1
        else ""
    )


def _kind_of(model: type[Frozen], key: str) -> str:
    return str(typing.get_args(model.model_fields[key].annotation)[0])


def _entry(model: type[Frozen], key: str, place: str, data: Any) -> Entry | None:
    field = model.model_fields[key]
    annotation, metadata = _peeled(field.annotation, tuple(field.metadata))
    limits = _limits(metadata)
    unit = unit_of(key)
    choices: tuple[Any, ...] = ()
    count = 0
    if typing.get_origin(annotation) is Literal:
        choices, kind = typing.get_args(annotation), "choice"
        if key == "lobes" and two_lobes_only(data):
            choices = (2,)
    elif isinstance(annotation, type) and issubclass(annotation, enum.Enum):
        choices, kind = tuple(one.value for one in annotation), "choice"
    elif annotation is bool:
        kind = "flag"
    elif annotation is int:
        kind = "whole"
    elif annotation is float:
        kind = "number"
    elif annotation is str:
        kind = "long" if _longest(metadata) > LONG_TEXT else "text"
    elif typing.get_origin(annotation) is tuple and Ellipsis not in typing.get_args(annotation):
        kind = "list"
        count = len(typing.get_args(annotation))
        limits = _limits(_peeled(typing.get_args(annotation)[0])[1])
    else:
        return None
    default = None if field.is_required() else field.get_default(call_default_factory=True)
    default = default.value if isinstance(default, enum.Enum) else default
    value = data.get(key) if isinstance(data, dict) else None
    plain = value if isinstance(value, (str, int, float, bool, list)) else None
    accepts = kind == "number" and _kind_of_unit(key) is not None
    return Entry(place, key, key_label(key), _meaning(model, key), kind, unit, accepts,
                 field.is_required(), default, plain, *limits, choices,
                 not field.is_required() and key not in OFTEN, _known(model, key), count)  # fmt: skip


def _longest(metadata: tuple[Any, ...]) -> int:
    return max((one.max_length for one in metadata if isinstance(one, annotated_types.MaxLen)), default=0)


def _known(model: type[Frozen], key: str) -> str:
    """The list of names that a key takes its value from."""
    if key == "designation":
        return "bearing" if "Bearing" in model.__name__ else "belt"
    return KNOWN_NAMES.get(key, "")


def _limits(metadata: tuple[Any, ...]) -> tuple[float | None, float | None, bool, bool]:
    low: Any = None
    high: Any = None
    open_low = open_high = False
    for one in metadata:
        if isinstance(one, annotated_types.Ge):
            low, open_low = one.ge, False
        elif isinstance(one, annotated_types.Gt):
            low, open_low = one.gt, True
        elif isinstance(one, annotated_types.Le):
            high, open_high = one.le, False
        elif isinstance(one, annotated_types.Lt):
            high, open_high = one.lt, True
    return low, high, open_low, open_high


def is_workshop(data: Data) -> bool:
    """Whether a file is what a person owns and has measured, not a drive."""
    tables = {key for key, field in Workshop.model_fields.items() if _tables(field)}
    return not any(key in data for key in DRIVE_TABLES) and any(key in data for key in tables)


def workshop_of(data: Data, folder: Path) -> tuple[str, Data]:
    """Name and plain data of the workshop file that a design names; empty where it names none or it cannot be read."""
    name = data.get("workshop")
    if not isinstance(name, str):
        return "", {}
    try:
        return name, parse_toml(read_text(inside(folder, name, "workshop")), name)
    except LobewrightError:
        return "", {}  # a look tells why


def sections(data: Data, workshop: tuple[str, Data] = ("", {})) -> Iterator[Section]:
    """Every table of a design, given or not, in the order of the model; the plain keys of the top come first.

    ``workshop``: name and data of the file that gives the printer where the design does not. A workshop file's own tables where
    the data are one.
    """
    model: type[Frozen] = Workshop if is_workshop(data) else m.Design
    top = [key for key, field in model.model_fields.items() if not _tables(field) and key not in NOT_ASKED]
    entries = tuple(e for key in top if key not in FILLED_BY_READER and (e := _entry(model, key, key, data)))
    yield Section("", "The drive" if model is m.Design else "The workshop", "", True, True, 0, "", (), "", entries)
    for key, field in model.model_fields.items():
        if key in FILLED_BY_READER or not _tables(field):
            continue
        annotation, _ = _peeled(field.annotation)
        row_model = _row_model(annotation)
        words = _meaning(model, key)
        if row_model is None:
            table, source = data.get(key), ""
            if key == "process" and table is None and isinstance(workshop[1].get("printer"), dict):
                source, table = workshop[0], workshop[1]["printer"]
            yield from _table(_models(annotation), key, table_label(key), words, table, field.is_required(), 0, source)
            continue
        rows = data.get(key)
        for number, table in enumerate(rows if isinstance(rows, list) else [], start=1):
            title = f"{table_label(key)}: {row_name(table, number)}"
            yield from _table((row_model,), f"{key}[{number}]", title, words, table, False, number)


def _tables(field: FieldInfo) -> bool:
    annotation, _ = _peeled(field.annotation)
    return bool(_models(annotation)) or _row_model(annotation) is not None


def _table(
    models: tuple[type[Frozen], ...],
    place: str,
    title: str,
    words: str,
    table: Any,
    needed: bool,
    row: int,
    source: str = "",
) -> Iterator[Section]:
    kind_key = _kind_key(models)
    kinds = tuple(_kind_of(one, kind_key) for one in models) if kind_key else ()
    told = isinstance(table, dict)
    given = told and not source
    chosen = str(table.get(kind_key, "")) if told and kind_key else ""
    rare = place.rsplit(".", 1)[-1] in RARE_TABLES
    model = (
        next((one for one, kind in zip(models, kinds, strict=True) if kind == chosen), None) if kind_key else models[0]
    )
    if model is None:
        yield Section(place, title, words, given, needed, row, kind_key, kinds, chosen, (), source, rare)
        return
    asked = [key for key in model.model_fields if key not in FILLED_BY_READER and key not in (kind_key, "kind")]
    plain = [key for key in asked if not _tables(model.model_fields[key])]
    entries = tuple(e for key in plain if (e := _entry(model, key, f"{place}.{key}", table)))
    yield Section(place, title, words, given, needed, row, kind_key, kinds, chosen, entries, source, rare)
    for key in asked:
        if key in plain:
            continue
        inner, _ = _peeled(model.model_fields[key].annotation)
        below = table.get(key) if given else None
        yield from _table(_models(inner), f"{place}.{key}", f"{title}: {table_label(key).lower()}", _meaning(model, key),
                          below, False, 0)  # fmt: skip


_KIND_OF_SUFFIX = {
    "mm": (Kind.LENGTH, 1.0, 0.0),
    "deg": (Kind.ANGLE, math.pi / 180, 0.0),
    "Nm": (Kind.TORQUE, 1e3, 0.0),
    "rpm": (Kind.SPEED, 2 * math.pi / 60, 0.0),
    "C": (Kind.TEMPERATURE, 1.0, ZERO_CELSIUS_K),
    "hours": (Kind.TIME, 3600.0, 0.0),
    "N": (Kind.FORCE, 1.0, 0.0),
}
"""What a key's last word says: the kind of its number, and how the file's unit goes over into the inside one."""


def _kind_of_unit(key: str) -> tuple[Kind, float, float] | None:
    return _KIND_OF_SUFFIX.get(key.rsplit("_", 1)[-1])


def value_of(entry: Entry, text: str) -> Any:
    """The value that a person typed, in the unit of the file; other units of the same kind are turned into it.

    Empty text takes the key out where it may be left out (None). Raises FileFault or UnitFault with what is allowed.
    """
    text = text.strip()
    if not text:
        if entry.needed:
            raise FileFault([Fault("this must be said", entry.place, 0, "", _allowed(entry))])
        return None
    if entry.type == "flag":
        if text not in ("true", "false"):
            raise FileFault([Fault("this is neither yes nor no", entry.place, 0, text, "true or false")])
        return text == "true"
    if entry.type == "choice":
        found = next((one for one in entry.choices if str(one) == text), None)
        if found is None:
            raise FileFault([Fault("no such value", entry.place, 0, text, _allowed(entry))])
        return found
    if entry.type in ("text", "long"):
        return text
    if entry.type == "list":
        return _numbers(entry, text)
    number = _number(entry, text)
    if entry.type == "whole":
        if number != round(number):
            raise FileFault([Fault("this is not a whole number", entry.place, 0, text, _allowed(entry))])
        number = round(number)
    _within(entry, number, text)
    return number


def _numbers(entry: Entry, text: str) -> list[float]:
    """Numbers with semicolons or "×" between, or else with commas: as many as the list has."""
    between = r"[;x×]" if re.search(r"[;x×]", text) else ","
    pieces = [one.strip() for one in re.split(between, text.strip("[] ")) if one.strip()]
    if len(pieces) != entry.count:
        raise FileFault([Fault(f"these are not {_counted(entry.count)}", entry.place, 0, text, _allowed(entry))])
    unit = re.search(r"[^\d.,\s+−-].*$", pieces[-1])
    if unit and not any(re.search(r"[^\d.,\s+−-]", one) for one in pieces[:-1]):
        pieces = [
            *(f"{one} {unit.group()}" for one in pieces[:-1]),
            pieces[-1],
        ]  # a unit behind the last one is that of all
    numbers = []
    for one in pieces:
        try:
            numbers.append(_number(entry, one))
        except LobewrightError:
            what = f"these are not {_counted(entry.count)}"
            raise FileFault([Fault(what, entry.place, 0, text, _allowed(entry))]) from None
        _within(entry, numbers[-1], one)
    return numbers


def _counted(count: int) -> str:
    return f"{ {2: 'two', 3: 'three'}.get(count, count) } numbers"


def plain_number(text: str) -> float:
    """A number as a person types it: a decimal comma and a true minus sign are taken. Raises ValueError for anything else."""
    plain = text.strip().replace("−", "-")
    return float(plain.replace(",", ".") if plain.count(",") == 1 and "." not in plain else plain)


def _number(entry: Entry, text: str) -> float:
    try:
        number = plain_number(text)
    except ValueError:
        known = _kind_of_unit(entry.key)
        if known is None:
            raise FileFault([Fault("this is not a number", entry.place, 0, text, _allowed(entry))]) from None
        kind, factor, shift = known
        try:
            number = round((parse(text, kind, entry.place)) / factor - shift, 9)
        except UnitFault as fault:
            more = "" if not entry.unit else f", or a plain number in {entry.unit}"
            raise UnitFault([Fault(f.what, entry.place, 0, text, f.allowed + more) for f in fault.faults]) from None
    if not math.isfinite(number):
        raise FileFault([Fault("the number is not finite", entry.place, 0, text, _allowed(entry))])
    return number


def _within(entry: Entry, number: float, text: str) -> None:
    below = entry.low is not None and (number <= entry.low if entry.open_low else number < entry.low)
    above = entry.high is not None and (number >= entry.high if entry.open_high else number > entry.high)
    if below or above:
        raise FileFault([Fault("the value is out of range", entry.place, 0, text, _allowed(entry))])


def _allowed(entry: Entry) -> str:
    """What an entry accepts, in words."""
    if entry.choices:
        return ", ".join(str(one) for one in entry.choices)
    if entry.type == "list":
        example = entry.value if isinstance(entry.value, list) and len(entry.value) == entry.count else LIST_EXAMPLE
        shown = ", ".join(f"{one:g}" for one in example[: entry.count])
        return f"{_counted(entry.count)} with commas between, as {shown}, each{_limit_words(entry)}"
    if entry.type in ("text", "long", "flag"):
        return "true or false" if entry.type == "flag" else "text"
    whole = "a whole number" if entry.type == "whole" else "a number"
    return f"{whole}{_limit_words(entry)}"


def _limit_words(entry: Entry) -> str:
    """Limits and unit of a number, a space before them; empty where it has none."""
    words = []
    if entry.low is not None:
        words.append(f"{'more than' if entry.open_low else 'at least'} {entry.low:g}")
    if entry.high is not None:
        words.append(f"{'less than' if entry.open_high else 'at most'} {entry.high:g}")
    return f" {' and '.join(words)} {entry.unit}".replace("  ", " ").rstrip()


def entry_at(data: Data, place: str, workshop: tuple[str, Data] = ("", {})) -> Entry:
    """The entry of a place; see :func:`sections`. Raises FileFault where the design has no such key."""
    for section in sections(data, workshop):
        for entry in section.entries:
            if entry.place == place:
                return entry
    place_parts(place)
    raise FileFault([Fault("there is no such place to edit", place)])


assert set(INSIDE_UNIT) >= {kind for kind, _, _ in _KIND_OF_SUFFIX.values()}
