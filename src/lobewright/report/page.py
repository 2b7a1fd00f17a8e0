"""``report.html``: one file that holds the whole report, asks for nothing from anywhere, and prints.

The same assessment gives the same bytes, apart from the stamp. Every text from a design is escaped; the content security
policy forbids every request and every script and lets one style run, named by its SHA-256 (W3C, Content Security Policy
Level 3).
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Sequence
from html import escape
from importlib import resources
from typing import Protocol

from lobewright import __version__
from lobewright.assessment.headline import headlines
from lobewright.assessment.life import Life
from lobewright.assessment.load import Loads
from lobewright.assessment.results import Assessment
from lobewright.picture.palette import PALETTE, Theme, css_variables
from lobewright.report import words
from lobewright.report.captions import bending_figure, drive_figure, more_figures
from lobewright.report.design_table import design_sections
from lobewright.report.figure_html import figure_html
from lobewright.report.life_changes import Change, changes_html
from lobewright.report.life_section import life_section
from lobewright.report.load_report import load_html
from lobewright.report.results_json import LIFE_NOT_ASKED, NOT_ASKED, is_invented
from lobewright.report.working_html import working_html
from lobewright.sources import source
from lobewright.strength.items import NotMade
from lobewright.verdict import State, Verdict, Working


class EditLike(Protocol):
    """One change of a design, in words."""

    @property
    def sentence(self) -> str: ...


class Suggestion(Protocol):
    """Edits that were tried and turn the verdict of that name to pass."""

    @property
    def verdict(self) -> str: ...
    @property
    def sentence(self) -> str: ...
    @property
    def edits(self) -> Sequence[EditLike]: ...


_SIGNS = {
    State.PASS: '<circle cx="8" cy="8" r="7" fill="none" stroke="currentColor" stroke-width="1.6"/>'
    '<path d="M4.4 8.4l2.5 2.6 4.8-5.6" fill="none" stroke="currentColor" stroke-width="1.9"/>',
    State.WARN: '<path d="M8 1.4L15.2 14.4H.8Z" fill="none" stroke="currentColor" stroke-width="1.6"/>'
    '<path d="M8 5.6v4.6M8 11.4v1.8" stroke="currentColor" stroke-width="1.9"/>',
    State.FAIL: '<path d="M1 1H15V15H1Z" fill="currentColor"/>'
    '<path d="M4.4 4.4l7.2 7.2M11.6 4.4l-7.2 7.2" stroke="var(--lw-paper)" stroke-width="2.1"/>',
    State.NOT_MADE: '<circle cx="8" cy="8" r="7" fill="none" stroke="currentColor" stroke-width="1.6"'
    ' stroke-dasharray="2.4 2.4"/>',
}


def _css() -> str:
    light = "".join(f"--lw-{str(role).replace('_', '-')}:{colour};" for role, colour in PALETTE[Theme.LIGHT].items())
    own = resources.files("lobewright.report").joinpath("report.css").read_text("utf-8")
    # Paper is white whatever the screen's theme, so the light colours are named once more for print.
    return f"{css_variables()}{own}@media print{{:root{{color-scheme:light;{light}--lw-paper:#ffffff}}}}\n"


def state_mark(state: State, text: str = "") -> str:
    """Sign, word and colour of a state; the word always stands there."""
    kind = state.value.replace(" ", "-")
    sign = f'<svg viewBox="0 0 16 16" aria-hidden="true">{_SIGNS[state]}</svg>'
    return f'<span class="state {kind}">{sign}{escape(text or state.value)}</span>'


def _row(number: str, title: str, text: str, working: Working) -> str:
    value, _, unit = number.partition(" ")
    shown = f"{escape(value)} <small>{escape(unit)}</small>" if unit else escape(value)
    return f"<div><dt>{shown}</dt><dd><b>{escape(title)}</b><p>{escape(text)}</p>{working_html(working)}</dd></div>\n"


def _numbers(a: Assessment) -> str:
    ratio = next(row for row in headlines(a) if row.key == "ratio")
    found = [_row(a.motion.ratio_text, "Ratio, signed", words.ratio_words(a), ratio.working)]
    cam = words.cam_headline(a)
    for row in words.headlines_shown(a):
        found.append(
            _row(row.text.replace("-", "−"), row.title, words.headline_words(a, row), words.full_working(a, row))
        )
        if row.key == "deflection" and cam is not None:
            found.append(_row(*cam))
    figures = f"{figure_html(drive_figure(a))}{figure_html(bending_figure(a))}"
    return (
        f'<h2>What it is</h2>\n<div class="numbers"><dl class="rows">\n{"".join(found)}</dl>\n'
        f'<div class="stack">\n{figures}</div></div>\n'
    )


def _verdict_row(a: Assessment, verdict: Verdict, offered: Sequence[Suggestion]) -> str:
    reason = a.design.checks_not_expected.get(verdict.name.split(":")[0])
    body = f"<p>{escape(verdict.sentence[:1].upper() + verdict.sentence[1:])}</p>"
    if verdict.state is State.NOT_MADE and reason:
        body += f"<p>The design says: {escape(reason)}</p>"
    for one in offered:
        body += f'<p class="edit">Tried, and it passes: <code>{escape(one.sentence)}</code></p>'
    if verdict.state is not State.NOT_MADE or verdict.working.numbers:
        body += working_html(verdict.working)
    value = "" if verdict.value is None else words.show(verdict.value, verdict.unit)
    limit = words.limit_words(verdict)
    spare = words.margin_words(verdict)
    cells = (("found", value), ("limit", limit), ("to spare", spare))
    numbers = "".join(f'<td class="n" data-name="{name}">{escape(text)}</td>' for name, text in cells)
    return (
        f'<tr id="check-{escape(verdict.name)}"><td>{state_mark(verdict.state)}</td>'
        f'<th scope="row">{escape(verdict.title)}{body}</th>{numbers}</tr>\n'
    )


def _checks(a: Assessment, suggestions: Sequence[Suggestion]) -> str:
    rows = "".join(
        _verdict_row(a, verdict, [one for one in suggestions if one.verdict == verdict.name])
        for verdict in words.sorted_verdicts(a)
    )
    return (
        '<h2>Checks</h2>\n<table class="checks"><thead><tr><th scope="col">state</th><th scope="col">check</th>'
        '<th scope="col" class="n">found</th><th scope="col" class="n">limit</th>'
        f'<th scope="col" class="n">to spare</th></tr></thead>\n<tbody>\n{rows}</tbody></table>\n'
    )


def _design(a: Assessment) -> str:
    tables = []
    for name, rows in design_sections(a.design):
        lines = "".join(
            f'<tr class="{"usual" if row.usual else "named"}"><th scope="row">{escape(row.key)}</th>'
            f"<td>{escape(row.value)}</td></tr>"
            for row in rows
        )
        tables.append(f"<table><caption>{escape(name)}</caption><tbody>{lines}</tbody></table>\n")
    return (
        "<h2>The design</h2>\n<p>As read from the file. Values in lighter ink are the usual ones.</p>\n"
        f'<div class="design">{"".join(tables)}</div>\n'
    )


def _source_keys(a: Assessment) -> tuple[str, ...]:
    """Keys of all sources that the page names, in the order of the page."""
    keys = [key for row in headlines(a) for key in row.working.sources]
    cam = words.cam_headline(a)
    if cam is not None:
        keys += cam[3].sources
    return tuple(dict.fromkeys((*keys, *a.source_keys)))


def _sources(a: Assessment, lasting: Life | str) -> str:
    keys = _source_keys(a)
    if isinstance(lasting, Life):
        made = (item for item in lasting.items if not isinstance(item, NotMade))
        keys = tuple(dict.fromkeys([*keys, *(key for item in made for key in item.working.sources)]))
    found = [source(key) for key in keys]
    rows = "".join(
        f'<li id="source-{escape(one.key)}">{escape(one.line.rsplit(" (", 1)[0])} '
        f'<span class="flag">{escape(one.flag.label)}</span></li>\n'
        for one in found
    )
    flags = dict.fromkeys(one.flag for one in found)
    meaning = " ".join(f"{flag.label.capitalize()}: {flag.words[:1].lower()}{flag.words[1:]}" for flag in flags)
    return f'<h2>Sources</h2>\n<ul class="sources">\n{rows}</ul>\n<p class="quiet">{escape(meaning)}</p>\n'


def _head(a: Assessment) -> str:
    design = a.design
    invented = (
        '<p class="invented">An invented example: no such drive stands anywhere.</p>\n' if is_invented(design) else ""
    )
    about = f'<p class="quiet">{escape(design.about)}</p>\n' if design.about else ""
    counts = "".join(f"<li>{state_mark(state, text)}</li>" for state, text in words.state_counts(a))
    cautions = "".join(f"<li>{escape(line)}</li>\n" for line in a.cautions)
    troubles = "; ".join(
        f'<a href="#check-{escape(verdict.name)}">{escape(verdict.title)}</a>'
        for verdict in words.sorted_verdicts(a)
        if verdict.state in (State.FAIL, State.WARN)
    )
    look = f"<p>Look first at: {troubles}.</p>\n" if troubles else ""
    return (
        f"{invented}<h1>{escape(design.name)}</h1>\n{about}"
        f'<p class="lead">{escape(words.motion_sentence(a))}</p>\n<ul class="sum">{counts}</ul>\n{look}'
        f'<section class="cautions"><h2>Before you build it or turn it</h2><ul>\n{cautions}</ul></section>\n'
    )


def _foot(a: Assessment, stamp: str | None) -> str:
    made = f" Made {escape(stamp)}." if stamp else ""
    owned = f" Workshop file {a.workshop_hash[:16]}…." if a.design.owned is not None else ""
    return (
        f"<footer><p>Lobewright {escape(__version__)}.{made} Design {a.design_hash[:16]}….{owned} The numbers of this page "
        "stand in full in results.json.</p></footer>\n"
    )


def report_page(
    assessment: Assessment,
    stamp: str | None,
    suggestions: Sequence[Suggestion] = (),
    loads: Loads | str = NOT_ASKED,
    lasting: Life | str = LIFE_NOT_ASKED,
    changes: Sequence[Change] = (),
) -> str:
    """The report as one HTML file.

    ``stamp`` is the time of making as text, or None; ``suggestions`` are edits that were tried, shown beside the verdicts
    that they turn; ``loads`` is what was found under torque, ``lasting`` strength and life, or the sentence that says why
    nothing was; ``changes``: what one change would do to them.
    """
    a = assessment
    css = _css()
    digest = base64.b64encode(hashlib.sha256(css.encode()).digest()).decode()
    policy = f"default-src 'none'; style-src 'sha256-{digest}'; base-uri 'none'; form-action 'none'"
    figures = "".join(figure_html(figure) for figure in more_figures(a))
    body = (
        f"{_head(a)}{_numbers(a)}{_checks(a, suggestions)}{load_html(a, loads)}{life_section(a, lasting)}{changes_html(changes)}"
        f'<h2>Figures</h2>\n<div class="figures">\n{figures}</div>\n{_design(a)}{_sources(a, lasting)}{_foot(a, stamp)}'
    )
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        '<meta name="color-scheme" content="light dark">\n'
        f"<title>{escape(a.design.name)}: report</title>\n<style>{css}</style>\n</head>\n<body>\n<main>\n"
        f"{body}</main>\n</body>\n</html>\n"
    )
