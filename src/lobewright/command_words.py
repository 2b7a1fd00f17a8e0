"""Results as text and as data for the command."""

from __future__ import annotations

import textwrap
from collections.abc import Collection
from typing import Any

from lobewright.advice import Suggestion
from lobewright.assessment.compare import Comparison
from lobewright.assessment.headline import headlines
from lobewright.assessment.results import Assessment
from lobewright.design.catalogue import BeltMatch
from lobewright.design.key_words import edits_words
from lobewright.design.model import Design
from lobewright.sources import source
from lobewright.verdict import State, Verdict

WIDTH = 100
MARK = {State.PASS: "pass    ", State.WARN: "warn    ", State.FAIL: "FAIL    ", State.NOT_MADE: "not made"}


def exit_status(found: Assessment, strict: bool) -> int:
    """0 when no verdict failed, 1 when one did or, strictly, when one was not made and the design does not say why."""
    if found.state is State.FAIL:
        return 1
    return 1 if strict and found.not_made_unexpected else 0


def _number(verdict: Verdict) -> str:
    if verdict.value is None or verdict.limit is None:
        return ""
    value = verdict.value
    shown = f"{value:.3g}" if 0.0 < abs(value) < 0.001 else f"{value:.0f}" if abs(value) >= 1000.0 else f"{value:.3f}"
    return f"{shown} {verdict.unit} ({verdict.bound} {verdict.limit:.3g})"


def verdict_lines(found: Assessment, names: Collection[str] | None = None) -> list[str]:
    """One line of grade, name and number for each verdict (of those named), its sentence under it."""
    lines = []
    for verdict in found.verdicts:
        if names is not None and verdict.name not in names:
            continue
        lines.append(f"{MARK[verdict.state]}  {verdict.title}: {_number(verdict)}".rstrip(": "))
        reason = found.design.checks_not_expected.get(verdict.name.split(":")[0])
        text = verdict.sentence
        if verdict.state is State.NOT_MADE and reason:
            text += f" The design says: {reason}"
        lines += textwrap.wrap(text, WIDTH, initial_indent=" " * 10, subsequent_indent=" " * 10)
    return lines


def check_text(found: Assessment, advice: tuple[Suggestion, ...]) -> str:
    """What ``check`` prints for people."""
    lines = [
        f"{found.design.name}: {found.motion.ratio_text}, ratio of {found.motion.driven} to {found.motion.read}, "
        f"{found.motion.fixed} held",
        "",
    ]
    if found.design.about:
        lines[1:1] = textwrap.wrap(found.design.about, WIDTH)
    rows = headlines(found)[1:]
    width = max(len(row.title) for row in rows)
    lines += [f"  {row.title:<{width}}  {row.text}" for row in rows]
    lines += [
        "",
        *verdict_lines(found),
        "",
        "Not asked here, for it takes longer: what it does under torque (`lobewright load`), and whether ring,",
        "bearings and bolts bear it, and for how long (`lobewright life`).",
    ]
    if advice:
        lines += ["", "Edits that were tried and turn a verdict to pass, with no new fail:"]
        lines += [f"  {one.verdict}: {one.sentence}" for one in advice]
    lines += ["", "Cautions:"]
    for caution in found.cautions:
        lines += textwrap.wrap(caution, WIDTH, initial_indent="  - ", subsequent_indent="    ")
    return "\n".join(lines)


def verdict_json(verdict: Verdict) -> dict[str, Any]:
    """A verdict as data."""
    return {
        "name": verdict.name,
        "title": verdict.title,
        "state": verdict.state.value,
        "value": verdict.value,
        "limit": verdict.limit,
        "bound": verdict.bound.value,
        "unit": verdict.unit,
        "margin": verdict.margin,
        "sentence": verdict.sentence,
        "working": {
            "equation": verdict.working.equation,
            "numbers": verdict.working.numbers,
            "sources": [source(key).line for key in verdict.working.sources],
        },
    }


def suggestions_json(design: Design, advice: tuple[Suggestion, ...]) -> list[dict[str, Any]]:
    """Edits that turn a verdict, and in words what they do."""
    return [
        {
            "verdict": one.verdict,
            "edits": [edit.as_json() for edit in one.edits],
            "sentence": edits_words(one.edits, design),
        }
        for one in advice
    ]


def check_json(found: Assessment, advice: tuple[Suggestion, ...]) -> dict[str, Any]:
    """What ``check --json`` prints."""
    return {
        "schema_version": 1,
        "name": found.design.name,
        "design_sha256": found.design_hash,
        "workshop_sha256": found.workshop_hash,
        "ratio": float(found.motion.ratio),
        "ratio_exact": str(found.motion.ratio),
        "headlines": [
            {"key": row.key, "title": row.title, "value": row.value, "unit": row.unit} for row in headlines(found)
        ],
        "verdicts": [verdict_json(verdict) for verdict in found.verdicts],
        "suggestions": suggestions_json(found.design, advice),
        "cautions": list(found.cautions),
    }


def comparison_text(first: str, second: str, found: Comparison) -> str:
    """What ``compare`` prints for people."""

    def show(value: float | None, digits: int) -> str:
        return "–" if value is None else f"{value:.{digits}f}"

    width = max(len(row.title) for row in found.numbers)
    lines = [f"A: {first}", f"B: {second}", "", f"{'':<{width}}  {'A':>12}  {'B':>12}  {'B − A':>12}"]
    for row in found.numbers:
        difference = row.difference
        change = "same" if difference == 0 else show(difference, row.digits)
        lines.append(
            f"{row.title:<{width}}  {show(row.first, row.digits):>12}  {show(row.second, row.digits):>12}  {change:>12}"
            f"  {row.unit}".rstrip()
        )
    lines.append("")
    for verdict in found.verdicts:
        lines.append(f"{verdict.name}: {verdict.first or 'no such check'} → {verdict.second or 'no such check'}")
    if not found.verdicts:
        lines.append("No verdict changed.")
    return "\n".join(lines)


def comparison_json(found: Comparison) -> dict[str, Any]:
    """What ``compare --json`` prints."""
    return {
        "numbers": [
            {
                "key": row.key,
                "title": row.title,
                "unit": row.unit,
                "first": row.first,
                "second": row.second,
                "difference": row.difference,
            }
            for row in found.numbers
        ],
        "verdicts": [
            {
                "name": v.name,
                "first": v.first.value if v.first else None,
                "second": v.second.value if v.second else None,
            }
            for v in found.verdicts
        ],
    }


def belts_text(found: tuple[BeltMatch, ...]) -> str:
    """What ``belts`` prints for people: the agreeing rows, or the three nearest where none agrees."""
    agreeing = [match for match in found if match.agrees]
    lines = ["Belts that agree with the readings:" if agreeing else "No belt agrees with the readings; the nearest:"]
    for match in agreeing or found[:3]:
        row = match.profile
        lines.append(
            f"  {row.designation:<5} pitch {row.pitch_mm:g} mm ({match.pitch_error_mm:+.3f}), thickness "
            f"{row.total_thickness_mm:g} mm ({match.thickness_error_mm:+.2f}): {row.words}"
        )
        lines.append(f"        {row.origin().line}")
        if match.tie:
            lines += textwrap.wrap(match.tie, WIDTH, initial_indent="        ", subsequent_indent="        ")
    return "\n".join(lines)


def belts_json(found: tuple[BeltMatch, ...]) -> dict[str, Any]:
    """What ``belts --json`` prints."""
    return {
        "matches": [
            {
                "designation": match.profile.designation,
                "pitch_mm": match.profile.pitch_mm,
                "total_thickness_mm": match.profile.total_thickness_mm,
                "pitch_error_mm": match.pitch_error_mm,
                "thickness_error_mm": match.thickness_error_mm,
                "distance": match.distance,
                "agrees": match.agrees,
                "tie": match.tie,
                "source": match.profile.origin().line,
            }
            for match in found
        ]
    }
