"""The page at a shared lesson's address: what there is to open, and the address as a code that telephones and tablets read."""

from __future__ import annotations

import base64
import hashlib
import re
from collections.abc import Iterator
from html import escape, unescape
from pathlib import Path, PurePosixPath
from typing import Any
from urllib.parse import quote

from lobewright.lesson_folder import CAPTIONS, FILMS, PAGE
from lobewright.lesson_folder import SCENES as SCENE_PAGES
from lobewright.picture.palette import css_variables
from lobewright.teach.language import Language
from lobewright.teach.scenes import SCENES
from lobewright.web.shared_files import HEAD_BYTES, Entry, opened

QUIET = 4
"""Blank modules that a code needs round it."""
BLOCKS = {(0, 0): "█", (0, 1): "▀", (1, 0): "▄", (1, 1): " "}
"""Two modules, one above the other, as a letter that shines where they are blank."""
SHINING, USUAL = "\x1b[97;40m", "\x1b[0m"
GROUPS = (
    ("pages", (".html",)),
    ("films", (".mp4", ".gif")),
    ("paper", (".pdf",)),
    ("pictures", (".svg", ".png")),
    ("more", ("",)),
)
"""Files stand under the first of these that takes them."""
SHOWN_AT_ONCE = 16
TITLE = re.compile(rb"<title>([^<]{1,300})</title>")

_STYLE = """
*{box-sizing:border-box}
html{font-size:clamp(100%,70% + .55vw,170%)}
body{margin:0;background:var(--lw-paper);color:var(--lw-ink);font:1.2rem/1.45 Optima,Candara,"Noto Sans","DejaVu Sans",sans-serif}
main{max-width:100rem;margin:0 auto;padding:1.2rem clamp(.8rem,3vw,2.5rem) 3rem}
h1{font-size:clamp(1.5rem,1rem + 2.4vw,2.8rem);line-height:1.15;font-weight:600;margin:0 0 1rem;overflow-wrap:anywhere}
h2{font-size:1.3rem;font-weight:600;margin:1.4rem 0 .2rem}
p{margin:.2rem 0;max-width:62ch}
ul{list-style:none;padding:0;margin:0}
li{border-top:1px solid var(--lw-rule)}
a{display:block;padding:.6rem 0;color:inherit;text-underline-offset:.2em;overflow-wrap:anywhere}
a:focus-visible,summary:focus-visible{outline:3px solid var(--lw-ring-a);outline-offset:2px}
summary{cursor:pointer;padding:.6rem 0;margin-top:.9rem}
summary h2{display:inline}
figure{margin:0}
figure svg{display:block;width:min(100%,66vh);background:#fff;border-radius:.4rem}
figcaption{font-size:clamp(1.3rem,2.6vw,2.4rem);font-weight:600;margin-top:.6rem;overflow-wrap:anywhere}
.quiet{color:var(--lw-quiet);font-size:1rem}
@media (min-width:56rem){.two{display:grid;grid-template-columns:minmax(0,1.15fr) minmax(0,1fr);gap:0 3rem;align-items:start}
 figure{position:sticky;top:1rem}.two h2:first-child{margin-top:0}}
@media (max-width:55.99rem){figure{display:none}}
"""


def code_of(address: str) -> list[list[int]]:
    """The QR code of an address as rows of modules, 1 for dark, with its quiet zone."""
    import segno

    made = segno.make_qr(address, error="m")
    return [[int(one) for one in row] for row in made.matrix_iter(border=QUIET)]


def code_text(code: list[list[int]], coloured: bool) -> str:
    """A code for a terminal, two modules a letter. ``coloured``: white on black whatever the terminal's own colours are; without
    it the code can be read where letters are lighter than what is behind them."""
    rows = [*code, [1] * len(code[0])] if len(code) % 2 else code
    lines = [
        "".join(BLOCKS[pair] for pair in zip(*pair, strict=True)) for pair in zip(rows[::2], rows[1::2], strict=True)
    ]
    return "\n".join(f"{SHINING}{line}{USUAL}" if coloured else line for line in lines)


def code_svg(code: list[list[int]], said: str) -> str:
    """A code as an SVG element; ``said`` tells those who do not see it what it is."""
    runs = "".join(f"M{x} {y}h1v1h-1z" for y, row in enumerate(code) for x, dark in enumerate(row) if dark)
    size = len(code)
    return (
        f'<svg viewBox="0 0 {size} {size}" role="img" aria-label="{escape(said)}" shape-rendering="crispEdges">'
        f'<path fill="#fff" d="M0 0h{size}v{size}H0z"/><path fill="#000" d="{runs}"/></svg>'
    )


def entry(folder: Path, names: tuple[str, ...], title: str, language: Language, address: str, code: Any) -> Entry:
    """The entry page. ``code``: the address's code, None where nobody else can reach it."""

    def say(key: str, **put_in: object) -> str:
        return escape(language.say("share", key, **put_in))

    figure = ""
    if code is not None:
        svg = code_svg(code, language.say("share", "code", address=address))
        figure = f"<figure>{svg}<figcaption>{escape(address)}</figcaption></figure>\n"
    lists = "".join(
        _group(key, {name: _title(folder, name, names, language) for name in rows}, say(key))
        for key, rows in _grouped(names)
    )
    style = css_variables() + _STYLE
    digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
    body = (
        f'<!DOCTYPE html>\n<html lang="{language.code}">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        '<meta name="color-scheme" content="light dark">\n<link rel="icon" href="data:,">\n'
        f"<title>{escape(title)}</title>\n<style>{style}</style>\n</head>\n<body>\n<main>\n"
        f"<h1>{escape(title)}</h1>\n"
        f'<div class="two">\n{figure}<div>\n{lists}<p class="quiet">{say("read_only")}</p>\n</div>\n</div>\n'
        "</main>\n</body>\n</html>\n"
    )
    allowed = (
        f"default-src 'none'; style-src 'sha256-{digest}'; img-src data:; base-uri 'none'; form-action 'none'; "
        "frame-ancestors 'none'"
    )
    return Entry(body.encode(), allowed)


def _grouped(names: tuple[str, ...]) -> Iterator[tuple[str, list[str]]]:
    """Files under their headings, scenes in lesson order."""
    order = [PAGE, *(f"{SCENE_PAGES}/{name}.html" for name in SCENES)]
    left = sorted(names, key=lambda name: order.index(name) if name in order else len(order))
    for key, suffixes in GROUPS:
        mine = [name for name in left if not suffixes[0] or PurePosixPath(name).suffix.lower() in suffixes]
        left = [name for name in left if name not in mine]
        if mine:
            yield key, mine


def _group(key: str, titles: dict[str, str], heading: str) -> str:
    """A heading and its links; many of them, or those for few, are folded."""
    rows = "".join(f'<li><a href="{quote(name)}">{escape(title)}</a></li>\n' for name, title in titles.items())
    rows = f"<ul>\n{rows}</ul>\n"
    if len(titles) > SHOWN_AT_ONCE or key == "more":
        return f"<details><summary><h2>{heading} ({len(titles)})</h2></summary>\n{rows}</details>\n"
    return f"<h2>{heading}</h2>\n{rows}"


def _title(folder: Path, name: str, names: tuple[str, ...], language: Language) -> str:
    """What a file is called: a page's own title, a film's by its words, else its name."""
    if name == PAGE:
        return language.say("share", "whole")
    path = PurePosixPath(name)
    if path.suffix == ".html":
        met = TITLE.search(_beginning(folder, name))
        return unescape(met.group(1).decode("utf-8", "replace")).strip() if met else name
    words = f"{CAPTIONS}/{path.stem.removesuffix('_4k')}.txt"
    if path.parent.name == FILMS and words in names:
        first = ": ".join(_beginning(folder, words).decode("utf-8", "replace").split("\n\n")[0].split("\n"))
        return f"{first} ({path.suffix[1:].upper()}{', 4K' if path.stem.endswith('_4k') else ''})"
    return name


def _beginning(folder: Path, name: str) -> bytes:
    with opened(folder, name) as file:
        return file.read(HEAD_BYTES)
