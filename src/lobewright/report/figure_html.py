"""A figure of a page as HTML: picture, colours named, title and caption."""

from __future__ import annotations

from html import escape

from lobewright.picture.palette import Role
from lobewright.report.captions import Figure
from lobewright.report.inline import inline_svg


def _chip(role: Role, meaning: str) -> str:
    name = str(role).replace("_", "-")
    soft = f'<rect x="1" y="1" width="14" height="14" fill="var(--lw-{name}-soft)" stroke="var(--lw-{name})" '
    return f'<li><svg viewBox="0 0 16 16" aria-hidden="true">{soft}stroke-width="2"/></svg>{escape(meaning)}</li>'


def figure_html(figure: Figure) -> str:
    """The ``figure`` element; the figure's key is its id and the prefix of the names inside its picture."""
    chips = "".join(_chip(role, meaning) for role, meaning in figure.chips)
    key = f'<ul class="chips">{chips}</ul>' if chips else ""
    picture = inline_svg(figure.picture, figure.key, figure.width_px)
    text = f"<b>{escape(figure.title)}.</b> {escape(figure.caption)}"
    return f'<figure id="{figure.key}">{picture}{key}<figcaption>{text}</figcaption></figure>\n'
