"""One HTML file that holds everything: the data, the module that moves it, the words around it.

The file asks for nothing from anywhere: its content security policy forbids every request and lets exactly one
script and one style run, named by their SHA-256 (W3C, Content Security Policy Level 3). The module stands inline
because browsers do not load modules from ``file:``. The same input gives the same bytes.
"""

from __future__ import annotations

import base64
import hashlib
import json
import math
import re
from collections.abc import Mapping, Sequence
from html import escape
from importlib.resources import files
from typing import Any

from lobewright.errors import Fault, LobewrightError
from lobewright.picture.palette import css_variables, palette_json

ELEMENT = "lobewright-moving"

_STYLE = """
body{margin:0;background:var(--lw-paper);color:var(--lw-ink);
 font:1rem/1.5 Optima,Candara,"Noto Sans","DejaVu Sans",sans-serif}
main{max-width:66rem;margin:0 auto;padding:1.2rem clamp(.7rem,3vw,2rem) 2.5rem}
h1{font-size:clamp(1.25rem,1rem + 1.6vw,1.9rem);line-height:1.2;font-weight:600;margin:0 0 .35rem;
 overflow-wrap:anywhere}
p{max-width:62ch;margin:.4rem 0;overflow-wrap:anywhere}
.after{margin-top:1.4rem;padding-top:.7rem;border-top:1px solid var(--lw-rule);color:var(--lw-quiet);font-size:.92rem}
"""


_IMPORT = re.compile(r'^import \{[^}]*\} from "\./(\w+\.js)";\n', re.MULTILINE)


def module_text(name: str = "moving.js") -> str:
    """The source of a page module in one piece: each module that it imports stands in the place of its import."""
    text = files("lobewright.picture").joinpath(name).read_text(encoding="utf-8")
    return _IMPORT.sub(lambda found: module_text(found[1]), text)


def script_json(data: Any) -> str:
    """JSON that may stand inside a script element: ``<``, ``>`` and ``&`` escaped, ASCII only, keys sorted.

    Raises LobewrightError for numbers that are not finite, which JSON cannot say.
    """
    try:
        text = json.dumps(data, sort_keys=True, separators=(",", ":"), allow_nan=False)
    except ValueError as error:
        raise LobewrightError(
            [Fault("data of a page holds a number that is not finite", place="page.data", allowed="finite numbers")]
        ) from error
    return text.replace("&", "\\u0026").replace("<", "\\u003c").replace(">", "\\u003e")


def rounded(data: Any, places: int) -> Any:
    """Lists, tuples and mappings with every float rounded; minus zero becomes zero."""
    if isinstance(data, float):
        return round(data, places) + 0.0 if math.isfinite(data) else data
    if isinstance(data, Mapping):
        return {key: rounded(value, places) for key, value in data.items()}
    if isinstance(data, (list, tuple)):
        return [rounded(value, places) for value in data]
    return data


def digest(text: str) -> str:
    """What a content security policy names an inline text by. Raises LobewrightError where it cannot stand inline."""
    _check_inline(text)
    return "'sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode() + "'"


def _check_inline(text: str) -> None:
    """An inline module must reach the browser letter for letter, or its digest no longer fits."""
    bad = re.search(r"</script|<!--|\r|\x00", text, re.IGNORECASE)
    if bad:
        raise LobewrightError(
            [
                Fault(
                    "a module with this text cannot stand inside a page",
                    place="page.module",
                    value=repr(bad.group()),
                    allowed="no closing script tag, no comment opener, no carriage return, no NUL",
                )
            ]
        )


def moving_page(
    title: str,
    data: Mapping[str, Any],
    before: Sequence[str] = (),
    after: Sequence[str] = (),
    module: str | None = None,
) -> str:
    """The whole HTML file as text.

    ``data`` is what the element takes (its palette is added here); ``before`` and ``after`` are plain-text paragraphs
    above and below the picture. ``module`` is the module text, by default the one shipped in the package. Any text
    may hold markup: it is shown, never run. Raises LobewrightError for numbers that are not finite and for a module
    that cannot be inlined unchanged.
    """
    text = module_text() if module is None else module
    style = css_variables() + _STYLE
    policy = (
        f"default-src 'none'; script-src {digest(text)}; style-src {digest(style)}; base-uri 'none'; form-action 'none'"
    )
    top = "".join(f"<p>{escape(line)}</p>\n" for line in before)
    foot = "".join(f"<p>{escape(line)}</p>\n" for line in after)
    below = f'<div class="after">\n{foot}</div>\n' if foot else ""
    payload = script_json({**data, "palette": palette_json()})
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        '<meta name="color-scheme" content="light dark">\n'
        f"<title>{escape(title)}</title>\n<style>{style}</style>\n</head>\n<body>\n<main>\n"
        f"<h1>{escape(title)}</h1>\n{top}"
        f'<{ELEMENT} source="moving-data"></{ELEMENT}>\n'
        "<noscript><p>The picture on this page moves by a script, and scripts are switched off here.</p></noscript>\n"
        f"{below}</main>\n"
        f'<script type="application/json" id="moving-data">{payload}</script>\n'
        f'<script type="module">{text}</script>\n</body>\n</html>\n'
    )
