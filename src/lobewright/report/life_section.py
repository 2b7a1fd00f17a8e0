"""The section "Strength and life" of the report: what breaks or wears out first, in tables and figures."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from html import escape
from typing import TypeVar

from lobewright.assessment.life import Life
from lobewright.assessment.results import Assessment
from lobewright.design import model as m
from lobewright.report.figure_html import figure_html
from lobewright.report.life_figures import CRITERIA, life_figures, worst_point
from lobewright.report.life_numbers import ENDLESS, band, few
from lobewright.report.life_plain import (
    curves_used,
    gives_first,
    lives_of,
    reasons,
    skips_first,
    strengths_of,
    words_used,
)
from lobewright.report.life_plots_time import LOW, outlasts_all
from lobewright.report.working_html import working_html
from lobewright.strength.items import LifeItem, NotMade, SafetyItem
from lobewright.verdict import Working, capital

HEADING = '<h2 id="strength-and-life">Strength and life</h2>\n'
LEAST_SHOWN, BEYOND_DOUBT = 4, 10.0
"""Rows that always stand open; times the duty or the load from which the low end of a band is beyond doubt."""
Made = TypeVar("Made", LifeItem, SafetyItem)
FALLING = (m.Load.ARM, m.Load.MIRROR)
IN_SERVICE = (
    "Look at the parts in service: take the ring out after a tenth of its computed life and look for whitening and cracks at the "
    "roots of the teeth, then again at every doubling."
)


def life_cautions(a: Assessment) -> tuple[str, ...]:
    """What to mind before relying on a computed life, most serious first."""
    found = []
    if a.design.load in FALLING:
        found.append(
            "Keep a stop or prop under a load that can fall, whatever life is computed: rings crack and teeth break without "
            "warning."
        )
    found += [
        IN_SERVICE,
        "Where people or property depend on it, local codes and licensed practice come first; this output is no substitute.",
    ]
    return tuple(found)


def _cell(name: str, text: str) -> str:
    return f'<td class="n" data-name="{escape(name)}">{escape(text)}</td>'


def _name(title: str, remark: str, working: Working) -> str:
    """What stands before the numbers: the name, where they are weak, and how they came about."""
    weak = f"<p>{escape(capital(remark).rstrip('.'))}.</p>" if remark else ""
    return f'<th scope="row">{escape(title)}{weak}{working_html(working)}</th>'


def _table(heads: tuple[str, ...], rows: str) -> str:
    """Heads: the first of the names, then those of numbers."""
    first, *numbers = heads
    cells = "".join(f'<th scope="col" class="n">{escape(head)}</th>' for head in numbers)
    return (
        f'<table class="checks"><thead><tr><th scope="col">{escape(first)}</th>{cells}</tr></thead>\n'
        f"<tbody>\n{rows}</tbody></table>\n"
    )


def _life_row(item: LifeItem, duty_hours: float | None) -> str:
    lasts = few(item.duties.middle)
    if duty_hours:
        hours = item.duties.middle * duty_hours
        lasts += f" ({few(hours)} h)" if hours < 1e9 else ""
    cells = (
        _cell("asked", f"{few(item.asked, 3)} {item.counted}")
        + _cell("times the duty", lasts)
        + _cell("90 % band", band(item.duties))
    )
    return f"<tr>{_name(item.title, item.remark, item.working)}{cells}</tr>\n"


def _safety_row(item: SafetyItem) -> str:
    cells = (
        _cell("safety", few(item.safety.middle, 3))
        + _cell("90 % band", band(item.safety, 3))
        + _cell("load", f"{few(item.load, 3)} {item.unit}".strip())
        + _cell("strength", f"{few(item.strength, 3)} {item.unit}".strip())
    )
    return f"<tr>{_name(item.title, item.remark, item.working)}{cells}</tr>\n"


def near_and_far(items: Sequence[Made]) -> tuple[Sequence[Made], Sequence[Made]]:
    """Checks, the weakest first: those to look at, and those that are beyond doubt even at the low end of their bands."""
    shown = max(LEAST_SHOWN, sum(item.band.low < BEYOND_DOUBT for item in items))
    return items[:shown], items[shown:]


def beyond_doubt(far: Sequence[LifeItem] | Sequence[SafetyItem]) -> str:
    """What is said of all those that are beyond doubt."""
    least = few(min(item.band.low for item in far))
    return f"{ENDLESS if least == ENDLESS else f'{least} times or more'} even at the low end"


def _tables(life: Life) -> str:
    hours = None if life.duty is None else life.duty.hours
    lives, strengths = lives_of(life), strengths_of(life)
    missing = [item for item in life.items if isinstance(item, NotMade)]
    text = ""
    if lives:
        heads = ("part and place", "asked in the duty", "lasts, times the duty", "90 % band")
        text += (
            "<div><p><b>Life budget, the weakest first by the low end of its band.</b> 1 is just enough: the part bears the "
            "whole duty once.</p>\n"
        )
        text += _folded(heads, lives, lambda item: _life_row(item, hours)) + "</div>\n"
    if strengths:
        text += "<div><p><b>Strength at the peak, the weakest first by the low end of its band.</b> A safety is strength over "
        text += "load at the worst moment of the duty; 1 is just enough.</p>\n"
        heads_of_strength = ("part and place", "safety", "90 % band", "load", "strength")
        text += _folded(heads_of_strength, strengths, _safety_row) + "</div>\n"
    used = "".join(
        f"<li>{escape(said)}</li>\n" for said in (*curves_used(life), *words_used((*lives, *strengths, *missing)))
    )
    words = f'<ul class="quiet">\n{used}</ul>\n' if used else ""
    return f'<div class="stack">\n{text}</div>\n{words}' if text else ""


def _folded(heads: tuple[str, ...], items: Sequence[Made], row: Callable[[Made], str]) -> str:
    """A table, and a second one folded away under it for what is beyond doubt."""
    near, far = near_and_far(items)
    text = _table(heads, "".join(row(item) for item in near))
    if far:
        rows = _table(heads, "".join(row(item) for item in far))
        text += f"<details><summary>{len(far)} more, {escape(beyond_doubt(far))}</summary>\n{rows}</details>\n"
    return text


def _lead(life: Life) -> str:
    if life.duty is None:
        return (
            "<p>The design names no duty, so nothing is asked of the parts and no life or strength is graded. Name its steps in "
            "<code>[[duty]]</code>.</p>\n"
        )
    duty = life.duty
    return (
        f"<p>Asked: a duty of {escape(few(duty.hours, 3))} hours with {escape(few(duty.generator_turns, 3))} turns of the "
        f"generator, {escape(few(duty.bends, 3))} bends of every point of the ring, and a peak of "
        f"{escape(few(duty.peak_nmm / 1000.0, 3))} N·m.</p>\n"
    )


def _criteria(life: Life) -> str:
    """Fatigue safety of the worst place of the ring by every criterion, for readers who are used to another one."""
    point = worst_point(life)
    if point is None or not point.safety:
        return ""
    told = "; ".join(f"{CRITERIA[one]} {few(span.middle, 3)} ({band(span, 3)})" for one, span in point.safety.items())
    yielding = point.first_cycle
    more = (
        "" if yielding is None else f" Against yielding at the peak: {few(yielding.middle, 3)} ({band(yielding, 3)})."
    )
    return (
        "<details><summary>the same by other criteria of fatigue</summary>\n"
        f"<p>Fatigue safety where the ring bears the duty least often ({escape(point.course.title)}), by criterion: "
        f"{escape(told)}. The design goes by {escape(CRITERIA[point.criterion])}.{escape(more)}</p></details>\n"
    )


def _meaning(life: Life) -> str:
    """What the numbers mean, where there are any."""
    if not any(not isinstance(item, NotMade) for item in life.items):
        return ""
    return (
        "<p>A band holds nine of ten drives built so, if the stated spreads are right: one in twenty lasts less than its low "
        "end.</p>\n"
    )


def _always(life: Life) -> str:
    """A map of lives that has nothing to draw, in words."""
    found = life.life_map
    if found is None or not outlasts_all(found):
        return ""
    least = float(found.hours[..., LOW].min())
    lasts = "endless" if math.isinf(least) else f"{few(least)} hours or more"
    parts = ", ".join(name.replace("_", " ") for name in found.names)
    return (
        f"<p>Run on and on at up to {escape(few(float(found.torque_nmm.max()) / 1000.0, 3))} N·m and "
        f"{float(found.speed_rpm.max()):.3g} rpm, even the low end of the band is {lasts}: {escape(parts)}.</p>\n"
    )


def _not_made(life: Life) -> str:
    lines = reasons(life.items)
    if not lines:
        return ""
    rows = "".join(f"<li>{escape(line)}</li>\n" for line in lines)
    return f'<p class="quiet">Not made:</p>\n<ul class="quiet">\n{rows}</ul>\n'


def _parked(life: Life) -> str:
    if life.parked is None or not life.parked.advice:
        return ""
    remark = f" {capital(life.parked.remark).rstrip('.')}." if life.parked.remark else ""
    return f"<p><b>When it is parked.</b> {escape(capital(life.parked.advice).rstrip('.'))}.{escape(remark)}</p>\n"


def _told_first(a: Assessment, life: Life) -> list[tuple[str, str]]:
    """Sentences on what gives first, parted at their colon."""
    return [(said.partition(":")[0], said.partition(":")[2]) for said in (*skips_first(a), *gives_first(life))]


def life_section(a: Assessment, life: Life | str) -> str:
    """The section as HTML; where strength and life were not computed, its heading and the reason."""
    if isinstance(life, str):
        return f"{HEADING}<p>Not made: {escape(life)}</p>\n"
    figures = "".join(figure_html(figure) for figure in life_figures(a, life))
    body = f'<div class="figures">\n{figures}</div>\n' if figures else ""
    mind = "".join(f"<li>{escape(line)}</li>\n" for line in life_cautions(a))
    cautions = f"<p><b>Before you rely on it:</b></p>\n<ul>\n{mind}</ul>\n"
    first = "".join(f"<p><b>{escape(head)}:</b>{escape(rest)}</p>\n" for head, rest in _told_first(a, life))
    numbers = f"{_lead(life)}{first}{_meaning(life)}{_tables(life)}{_criteria(life)}{_always(life)}"
    return f"{HEADING}{numbers}{_not_made(life)}{_parked(life)}{cautions}{body}"
