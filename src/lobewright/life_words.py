"""Strength and life as text and data for the command."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from lobewright.advice import Suggestion
from lobewright.assessment.life import Life
from lobewright.assessment.results import Assessment
from lobewright.command_words import WIDTH, suggestions_json, verdict_json, verdict_lines
from lobewright.design.key_words import edits_words
from lobewright.design.model import Design
from lobewright.report.life_json import life_part, span_part
from lobewright.report.life_numbers import band, few
from lobewright.report.life_plain import (
    curves_used,
    gives_first,
    lives_of,
    reasons,
    skips_first,
    strengths_of,
    words_used,
)
from lobewright.report.life_section import IN_SERVICE, beyond_doubt, near_and_far
from lobewright.strength.items import LifeItem, NotMade, SafetyItem, Span
from lobewright.verdict import capital

if TYPE_CHECKING:
    from lobewright.life_advice import Weakest, WhatIf

NARROWEST = 24
"""Letters of a title that stand in one line however wide the numbers beside it are."""
AS_ABOVE = "as above"
"""Stands for a remark that the row above has too."""
Row = tuple[str, tuple[str, ...], str]
"""Title, cells and remark."""


def life_text(found: Assessment, life: Life, tried: tuple[WhatIf, ...], advice: tuple[Suggestion, ...]) -> str:
    """What ``life`` prints for people. ``tried``: changes and what they would do; ``advice``: those that turn a verdict."""
    lines = [f"{found.design.name}: strength and life", *textwrap.wrap(_asked(life), WIDTH)]
    first = (*skips_first(found), *gives_first(life))
    if first:
        lines.append("")
    for sentence in first:
        lines += textwrap.wrap(sentence, WIDTH, subsequent_indent="    ")
    lives, far = near_and_far(lives_of(life))
    if lives:
        lines += [
            "",
            "Life budget, the weakest first by the low end: how many times the duty it lasts, 1 is just enough",
        ]
        lines += _table(("", "lasts", "90 % band", "asked in the duty"), [_life_row(item) for item in lives])
        lines += _beyond_doubt(far)
    strengths, strong = near_and_far(strengths_of(life))
    if strengths:
        lines += ["", "Strength at the peak, the weakest first by the low end: strength over load, 1 is just enough"]
        lines += _table(("", "safety", "90 % band", "load", "strength"), [_safety_row(item) for item in strengths])
        lines += _beyond_doubt(strong)
    missing = [item for item in life.items if isinstance(item, NotMade)]
    used = (*curves_used(life), *words_used((*lives, *strengths, *missing)))
    if used:
        lines.append("")
    for said in used:
        lines += textwrap.wrap(said, WIDTH, initial_indent="  ", subsequent_indent="    ")
    lines += [*_parked(life), *_what_ifs(tried)]
    graded = verdict_lines(found, {verdict.name for verdict in life.verdicts})
    if graded:
        lines += ["", *graded]
    if advice:
        lines += ["", "Edits that were tried and turn a verdict to pass, with no new fail:"]
        lines += [f"  {one.verdict}: {one.sentence}" for one in advice]
    if missing:
        lines.append("")
    for reason in reasons(missing):
        lines += textwrap.wrap(f"Not made: {reason}.", WIDTH, subsequent_indent="    ")
    lines += ["", "Cautions:"]
    for caution in _cautions(found):
        lines += textwrap.wrap(caution, WIDTH, initial_indent="  - ", subsequent_indent="    ")
    return "\n".join(lines)


def _asked(life: Life) -> str:
    duty = life.duty
    if duty is None:
        return "The design names no duty, so nothing is asked of the parts and no life or strength is graded."
    return (
        f"Asked: a duty of {few(duty.hours, 3)} hours with {few(duty.generator_turns, 3)} turns of the generator, "
        f"{few(duty.bends, 3)} bends of every point of the ring, and a peak of {few(duty.peak_nmm / 1000.0, 3)} N·m. "
        "A band holds nine of ten drives built so, if the stated spreads are right."
    )


def _beyond_doubt(far: Sequence[LifeItem] | Sequence[SafetyItem]) -> list[str]:
    """What is not listed, by name."""
    if not far:
        return []
    names = ", ".join(f"{item.title[:1].lower()}{item.title[1:]}" for item in far)
    text = f"And {beyond_doubt(far)} (numbers in the report and with --json): {names}."
    return textwrap.wrap(text, WIDTH, initial_indent="  ", subsequent_indent="  ")


def _life_row(item: LifeItem) -> Row:
    cells = (few(item.duties.middle), band(item.duties), f"{few(item.asked, 3)} {item.counted}")
    return item.title, cells, item.remark


def _safety_row(item: SafetyItem) -> Row:
    unit = f" {item.unit}" if item.unit else ""
    cells = (
        few(item.safety.middle, 3),
        band(item.safety, 3),
        f"{few(item.load, 3)}{unit}",
        f"{few(item.strength, 3)}{unit}",
    )
    return item.title, cells, item.remark


def _table(heads: tuple[str, ...], rows: list[Row]) -> list[str]:
    """Rows with aligned cells; long titles run on below themselves, remarks stand with their number, or just under it."""
    columns = list(zip(*(cells for _, cells, _ in rows), strict=True))
    widths = [max(len(head), *(len(cell) for cell in column)) for head, column in zip(heads[1:], columns, strict=True)]
    room = max(NARROWEST, WIDTH - 2 - sum(2 + width for width in widths))
    titles = [textwrap.wrap(title, room) or [""] for title, _, _ in rows]
    first = max(len(line) for title in titles for line in title)

    def joined(title: str, cells: tuple[str, ...]) -> str:
        shown = "  ".join(f"{cell:>{width}}" for cell, width in zip(cells, widths, strict=True))
        return f"  {title:<{first}}  {shown}".rstrip()

    lines = [joined(heads[0], heads[1:])]
    before = ""
    for title, (_, cells, told) in zip(titles, rows, strict=True):
        line = joined(title[0], cells)
        remark, before = AS_ABOVE if told and told == before else told, told
        beside = bool(remark) and len(line) + 2 + len(remark) <= WIDTH
        lines.append(f"{line}  {remark}" if beside else line)
        lines += [f"    {part}" for part in title[1:]]
        if remark and not beside:
            lines += textwrap.wrap(remark, WIDTH, initial_indent=" " * 6 + "→ ", subsequent_indent=" " * 8)
    return lines


def _what_ifs(tried: tuple[WhatIf, ...]) -> list[str]:
    """What each change would do to the weakest of all parts."""
    if not tried:
        return []
    rows = [("as it is", _weakest_cells(tried[0].before), "")]
    rows += [(one.words, _weakest_cells(one.after), _change_words(one)) for one in tried]
    return [
        "",
        "What if one thing were changed: the weakest life (times the duty) and strength (times the load)",
        "(hours stay as they are: half as fast is half the work)",
        *_table(("", "life", "90 % band", "strength", "90 % band"), rows),
    ]


def _weakest_cells(weakest: Weakest) -> tuple[str, ...]:
    return (*_span_cells(weakest.duties, 2), *_span_cells(weakest.safety, 3))


def _span_cells(span: Span | None, figures: int) -> tuple[str, str]:
    return ("not made", "") if span is None else (few(span.middle, figures), band(span, figures))


def _change_words(one: WhatIf) -> str:
    """The edits, what is the weakest then where it is another part, and the verdicts that turn."""
    told = [one.sentence]
    for before, after, kind in (
        (one.before.life_title, one.after.life_title, "life"),
        (one.before.strength_title, one.after.strength_title, "strength"),
    ):
        if after and after != before:
            told.append(f"then the weakest {kind}: {after}")
    told += [f"passes then: {', '.join(one.turns)}"] if one.turns else []
    told += [f"fails then: {', '.join(one.breaks)}"] if one.breaks else []
    return "; ".join(told)


def _cautions(found: Assessment) -> tuple[str, ...]:
    """Those of the drive, and what to look for in service after the first of them."""
    return (*found.cautions[:1], IN_SERVICE, *found.cautions[1:])


def _parked(life: Life) -> list[str]:
    parked = life.parked
    if parked is None or not parked.advice:
        return []
    remark = f" {capital(parked.remark).rstrip('.')}." if parked.remark else ""
    return ["", *textwrap.wrap(f"When it is parked: {parked.advice.rstrip('.')}.{remark}", WIDTH)]


def life_json(
    found: Assessment, life: Life, tried: tuple[WhatIf, ...], advice: tuple[Suggestion, ...]
) -> dict[str, Any]:
    """What ``life --json`` prints."""
    return {
        "schema_version": 1,
        "name": found.design.name,
        "design_sha256": found.design_hash,
        "workshop_sha256": found.workshop_hash,
        "life": life_part(life).model_dump(mode="json"),
        "what_ifs": [_what_if_json(one, found.design) for one in tried],
        "verdicts": [verdict_json(verdict) for verdict in life.verdicts],
        "suggestions": suggestions_json(found.design, advice),
        "cautions": list(_cautions(found)),
    }


def _what_if_json(one: WhatIf, design: Design) -> dict[str, Any]:
    """A change as data: spans as in the life part, ``null`` where no such check was made."""

    def weakest(found: Weakest) -> dict[str, Any]:
        return {
            "life_title": found.life_title,
            "duties": None if found.duties is None else span_part(found.duties).model_dump(mode="json"),
            "strength_title": found.strength_title,
            "safety": None if found.safety is None else span_part(found.safety).model_dump(mode="json"),
        }

    return {
        "words": one.words,
        "edits": [edit.as_json() for edit in one.edits],
        "sentence": edits_words(one.edits, design),
        "before": weakest(one.before),
        "after": weakest(one.after),
        "turns": list(one.turns),
        "breaks": list(one.breaks),
    }
