"""What one change would do to the weakest life and the weakest strength, as a table of the report."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from typing import Protocol

from lobewright.report.life_numbers import band, few
from lobewright.strength.items import Span

SAME = "the same place"
"""Said where a change leaves the weakest the weakest."""


class Weakest(Protocol):
    """The weakest life in times the duty, the weakest strength in times the load."""

    @property
    def life_title(self) -> str: ...
    @property
    def duties(self) -> Span | None: ...
    @property
    def strength_title(self) -> str: ...
    @property
    def safety(self) -> Span | None: ...


class Change(Protocol):
    """One change that was tried, what was weakest before and after it, and which verdicts it turns."""

    @property
    def words(self) -> str: ...
    @property
    def sentence(self) -> str: ...
    @property
    def before(self) -> Weakest: ...
    @property
    def after(self) -> Weakest: ...
    @property
    def turns(self) -> tuple[str, ...]: ...
    @property
    def breaks(self) -> tuple[str, ...]: ...


def changes_html(changes: Sequence[Change]) -> str:
    """The table; empty where nothing was tried."""
    if not changes:
        return ""
    before = changes[0].before
    rows = [_row("as it is", "", before)]
    rows += [_row(one.words, _said(one), one.after, before) for one in changes]
    return (
        "<h3>What one change would do</h3>\n"
        "<p>Each was solved under torque, at the middle of all stiffnesses; its skip torque was not asked again. Hours stay as "
        "they are: half as fast is half the work. Lives are in times the duty, strengths in times the load.</p>\n"
        '<table class="checks"><thead><tr><th scope="col">change</th><th scope="col">weakest life</th>'
        '<th scope="col" class="n">times the duty</th><th scope="col">weakest strength</th>'
        f'<th scope="col" class="n">times the load</th></tr></thead>\n<tbody>\n{"".join(rows)}</tbody></table>\n'
    )


def _row(words: str, said: str, weakest: Weakest, before: Weakest | None = None) -> str:
    """``before``: what was weakest as it is; the same place is not named again."""
    more = f'<p class="quiet">{escape(said)}</p>' if said else ""
    cells = "".join(
        f"<td>{escape(SAME if title and title == was else title or 'none')}</td>"
        f'<td class="n" data-name="{kind}">{escape(_numbers(span, figures))}</td>'
        for kind, title, was, span, figures in (
            ("life", weakest.life_title, before and before.life_title, weakest.duties, 2),
            ("strength", weakest.strength_title, before and before.strength_title, weakest.safety, 3),
        )
    )
    return f'<tr><th scope="row">{escape(words)}{more}</th>{cells}</tr>\n'


def _numbers(span: Span | None, figures: int) -> str:
    return "not made" if span is None else f"{few(span.middle, figures)} ({band(span, figures)})"


def _said(change: Change) -> str:
    parts = [change.sentence]
    parts += [f"passes then: {', '.join(change.turns)}"] if change.turns else []
    parts += [f"fails then: {', '.join(change.breaks)}"] if change.breaks else []
    return "; ".join(parts)
