"""How a number came about, folded away under it: equation, numbers put in, sources with a link to their list."""

from __future__ import annotations

import re
from html import escape

from lobewright.sources import source
from lobewright.verdict import Working


def true_minus(text: str) -> str:
    """Hyphens before numbers as minus signs; hyphens inside words and designations stay."""
    return re.sub(r"(?<![\w\-.])-(?=\d)", "−", text)


def working_html(working: Working) -> str:
    """The fold; the page that holds it lists each of its sources under ``source-KEY``."""
    lines = [f"<p><i>How:</i> {escape(working.equation)}</p>"]
    if working.numbers:
        lines.append(f"<p><i>Put in:</i> {escape(true_minus(working.numbers))}</p>")
    for key in working.sources:
        found = source(key)
        text = found.line.rsplit(" (", 1)[0]
        lines.append(
            f'<p><i>Source:</i> <a href="#source-{escape(key)}">{escape(text)}</a> '
            f'<span class="flag">{escape(found.flag.label)}</span></p>'
        )
    return f'<details><summary>working</summary><div class="working">{"".join(lines)}</div></details>'
