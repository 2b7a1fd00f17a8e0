"""The drive under torque as text and data for the command."""

from __future__ import annotations

import textwrap
from typing import Any

from lobewright.advice import Suggestion
from lobewright.assessment.load import Loads
from lobewright.assessment.load_headline import load_headlines
from lobewright.assessment.results import Assessment
from lobewright.assessment.warmth import warmth_words
from lobewright.command_words import WIDTH, suggestions_json, verdict_json, verdict_lines
from lobewright.report.load_bands import cause_words
from lobewright.report.load_json import load_part
from lobewright.verdict import capital

SHOWN = 3
"""Inputs of a band that are named, widest first."""


def load_text(found: Assessment, loads: Loads, advice: tuple[Suggestion, ...]) -> str:
    """What ``load`` prints for people."""
    duty = "of the duty" if loads.from_duty else "chosen, for the design names no duty"
    lines = [
        f"{found.design.name}: under torque",
        *textwrap.wrap(
            f"Torque and windup are those of {loads.drive.slow_member.replace('_', ' ')}; the largest torque {duty} is "
            f"{loads.peak_nmm / 1000:.3g} N·m, the steady one {loads.rated_nmm / 1000:.3g} N·m. In brackets: the 90 % band.",
            WIDTH,
        ),
        *textwrap.wrap(warmth_words(found.design), WIDTH),
        "",
    ]
    rows = load_headlines(loads)
    width = max(len(row.headline.title) for row in rows)
    lines += [f"  {row.headline.title:<{width}}  {row.text}" for row in rows]
    if loads.skip_band is not None:
        parts = sorted(loads.skip_band.shares.items(), key=lambda part: -part[1])[:SHOWN]
        named = ", ".join(f"{cause_words(name)} {share:.0%}" for name, share in parts)
        lines += ["", *textwrap.wrap(f"What makes the band of the skip torque wide: {named}.", WIDTH)]
        lines += textwrap.wrap(_measured(loads), WIDTH)
    turning = loads.starting
    if turning is not None and turning.back_driving_nmm is None:
        limit = f"{turning.searched_nmm / 1000:.3g} N·m"
        lines += textwrap.wrap(f"Friction locks it against being driven back, up to {limit} at least.", WIDTH)
    if loads.off_centre is not None:
        lines += textwrap.wrap(f"{capital(loads.off_centre.sentence)}.", WIDTH)
    lines += ["", *verdict_lines(found, {verdict.name for verdict in loads.verdicts})]
    if advice:
        lines += ["", "Edits that were tried and turn a verdict to pass, with no new fail:"]
        lines += [f"  {one.verdict}: {one.sentence}" for one in advice]
    for name, why in loads.not_made:
        lines += textwrap.wrap(f"Not made: {name}. {why}", WIDTH)
    lines += ["", "Cautions:"]
    for caution in found.cautions:
        lines += textwrap.wrap(caution, WIDTH, initial_indent="  - ", subsequent_indent="    ")
    return "\n".join(lines)


def _measured(loads: Loads) -> str:
    """What measured skip torques did to the band, or what would narrow it."""
    correction = loads.correction
    if correction is not None and correction.measurements:
        count = correction.measurements
        named = f"{count} measured skip torque{'' if count == 1 else 's'}"
        return f"Corrected by {named} of this process: truth over prediction {correction.factor.middle:.2f}."
    unmeasured = [one.name.replace("_", " ") for one in (loads.bands.weak if loads.bands else ()) if not one.measured]
    told = f" (not measured yet: {', '.join(unmeasured)})" if unmeasured else ""
    return f"Readings in the workshop file narrow it; `build` writes sheets for them{told}."


def load_json(found: Assessment, loads: Loads, advice: tuple[Suggestion, ...]) -> dict[str, Any]:
    """What ``load --json`` prints."""
    return {
        "schema_version": 1,
        "name": found.design.name,
        "design_sha256": found.design_hash,
        "workshop_sha256": found.workshop_hash,
        "headlines": [
            {
                "key": row.headline.key,
                "title": row.headline.title,
                "value": row.headline.value,
                "low": row.low,
                "high": row.high,
                "unit": row.headline.unit,
            }
            for row in load_headlines(loads)
        ],
        "load": load_part(loads).model_dump(mode="json"),
        "causes": {
            name: cause_words(name) for band in (loads.bands.bands if loads.bands else ()) for name in band.shares
        },
        "verdicts": [verdict_json(verdict) for verdict in loads.verdicts],
        "suggestions": suggestions_json(found.design, advice),
        "cautions": list(found.cautions),
    }
