"""Evidence rows as text and as plain data."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from textwrap import wrap

from lobewright.published.case import CaseResult, Room
from lobewright.published.run import count
from lobewright.sources import Flag, Source

WIDTH = 110
FORMAT_VERSION = 1


def number(value: float) -> str:
    """A number with nine significant digits at most."""
    return f"{value:.9g}".replace("-", "−")


def summary_lines(results: tuple[CaseResult, ...]) -> tuple[str, ...]:
    """How many rows pass, and what they rest on, a line each."""
    counts = count(results)
    by_flag = ", ".join(f"{counts.by_flag[flag]} {flag.label}" for flag in Flag if counts.by_flag[flag])
    by_room = ", ".join(f"{rows} {room}" for room, rows in counts.by_room.items())
    not_made = f", {counts.not_made} not made" if counts.not_made else ""
    return (
        f"{counts.rows} rows: {counts.passed} pass, {counts.failed} fail{not_made}",
        f"by origin: {by_flag}",
        f"by subject: {by_room}",
    )


def sources_used(results: Iterable[CaseResult]) -> tuple[Source, ...]:
    """The sources behind the rows, each once, in order of first use."""
    return tuple({result.case.source_key: result.case.source for result in results}.values())


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None


def _row(result: CaseResult) -> Iterator[str]:
    case = result.case
    unit = f" {case.unit}" if case.unit else ""
    yield from wrap(f"{result.state.value.upper()}  {case.quantity}", WIDTH, subsequent_indent="      ")
    if math.isfinite(result.computed):
        difference = f"{result.difference:+.2g}".replace("-", "−")
        computed = f"computed {number(result.computed)}{unit}, difference {difference}"
    else:
        computed = result.refusal or "no number computed"
    allowed = f"{case.allowed:.2g}".replace("-", "−")
    yield f"      expected {number(case.expected)}{unit}, allowed ±{allowed}, {computed}"
    yield f"      [{case.source_key}] {case.flag.label}; {case.reason}"


def as_text(results: tuple[CaseResult, ...]) -> str:
    """The rows by subject, then the sources, then the counts."""
    lines: list[str] = []
    for room in Room:
        rows = [result for result in results if result.case.room is room]
        if rows:
            lines += ["", room.value.upper(), ""]
        for result in rows:
            lines += _row(result)
    lines += ["", "SOURCES", ""]
    for one in sources_used(results):
        lines += wrap(f"[{one.key}] {one.line}", WIDTH, subsequent_indent="      ")
    lines += ["", *summary_lines(results)]
    return "\n".join(lines).lstrip("\n") + "\n"


def as_json(results: tuple[CaseResult, ...]) -> dict[str, object]:
    """The same as plain data for ``json.dumps``."""
    counts = count(results)
    return {
        "format": FORMAT_VERSION,
        "rows": [
            {
                "key": result.case.key,
                "room": result.case.room.value,
                "quantity": result.case.quantity,
                "unit": result.case.unit,
                "source": result.case.source_key,
                "flag": result.case.flag.value,
                "expected": result.case.expected,
                "computed": _finite(result.computed),
                "difference": _finite(result.difference),
                "refusal": result.refusal,
                "allowed": result.case.allowed,
                "allowed_because": result.case.reason,
                "outcome": result.state.value,
            }
            for result in results
        ],
        "sources": {one.key: one.line for one in sources_used(results)},
        "counts": {
            "rows": counts.rows,
            "pass": counts.passed,
            "fail": counts.failed,
            "not_made": counts.not_made,
            "by_flag": {flag.value: rows for flag, rows in counts.by_flag.items()},
            "by_room": counts.by_room,
        },
    }
