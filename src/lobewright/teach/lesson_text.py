"""An instructor's text between scenes: Markdown in, safe HTML out.

Text is text: a tag in it is told as a fault and never becomes one on the page, comments (``<!-- … -->``) are for who writes and
are left out. Links may lead to web pages, mail and places in
the page; pictures are figures of the lesson's own scenes, ``![what it shows](count/tooth_3)`` or with the take,
``![…](members/base_held/tooth_3)``, or PNG and JPEG files beside the text. Headings are one step lower than written, for the page
has its own title.
"""

from __future__ import annotations

import base64
import re
import unicodedata
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from html import escape
from pathlib import Path
from typing import Any
from urllib.parse import unquote

from lobewright.errors import Fault, lacking

SCHEMES = ("https:", "http:", "mailto:")
LARGEST_PICTURE_BYTES = 2_000_000
MAGIC = {b"\x89PNG\r\n\x1a\n": "image/png", b"\xff\xd8\xff": "image/jpeg"}
FIGURE = re.compile(r"^[a-z][a-z0-9_]*(/[a-z0-9_]+){1,2}$")
COMMENTS = re.compile(r"\s*(<!--(?:(?!-->).)*-->\s*)+", re.DOTALL)
TAGS, BREAKS = ("html_block", "html_inline"), ("softbreak", "hardbreak")
FIGURE_WORDS = "SCENE/MOMENT or SCENE/TAKE/MOMENT of a scene, or a PNG or JPEG file beside the text"


@dataclass(frozen=True)
class Told:
    """Text that stands between scenes, as HTML that may go into a page as it is."""

    html: str


@dataclass(frozen=True)
class Figure:
    """A picture of a text: ``name`` as written, its line, and what it shows in words."""

    name: str
    line: int
    words: str


@cache
def _reader() -> Any:
    try:
        from markdown_it import MarkdownIt
    except ImportError as error:
        raise lacking("Texts need the library markdown-it-py", error, "lesson") from None

    class Reader(MarkdownIt):
        def validateLink(self, url: str) -> bool:
            return True  # every link is looked at here, so that a bad one is told

    return Reader("commonmark", {"html": True}).enable("table")  # tags are known as such, and then never let through


def _tokens(text: str) -> Iterator[tuple[Any, int]]:
    """Every token with the line it stands on, as far as it is known."""
    for token in _reader().parse(text):
        line = token.map[0] + 1 if token.map else 0
        yield token, line
        for child in token.children or ():
            yield child, line
            line += child.content.count("\n") if child.type == "html_inline" else child.type in BREAKS


def _may_lead(link: str) -> bool:
    return link.lower().startswith(SCHEMES) or link.startswith("#")


def figures(text: str) -> list[Figure]:
    """Pictures of a text, in order. Raises PlatformFault."""
    return [Figure(_source(one), line, one.content) for one, line in _tokens(text) if one.type == "image"]


def picture_files(text: str) -> list[str]:
    """Names of the picture files of a text, in order. Raises PlatformFault."""
    return [one.name for one in figures(text) if not FIGURE.match(one.name)]


def _source(image: Any) -> str:
    """What a picture names, as it was written: Markdown turns all but plain letters into signs for links."""
    return unquote(str(image.attrGet("src") or ""))


def _control_letters(text: str) -> Iterator[tuple[str, int]]:
    """Letters that print nothing and that no page may hold, with their lines."""
    for number, line in enumerate(text.split("\n"), 1):
        yield from (
            (letter, number) for letter in line if unicodedata.category(letter) == "Cc" and letter not in "\t\r"
        )


def lies_within(folder: Path, name: str) -> bool:
    """Whether a name leads to a place in a folder or below it, links followed: a lesson shows nothing from elsewhere."""
    if Path(name).is_absolute() or ".." in Path(name).parts:
        return False
    try:
        return (folder / name).resolve().is_relative_to(folder.resolve())
    except (OSError, RuntimeError, ValueError):
        return False


def _picture(folder: Path, name: str) -> tuple[str, str]:
    """A picture file as data of a page, or why it cannot be one."""
    path = folder / name
    if not lies_within(folder, name):
        return "", "a picture must lie in the folder of the text or below it"
    try:
        if not path.is_file():
            return "", "there is no such picture"
        if path.stat().st_size > LARGEST_PICTURE_BYTES:
            return "", "the picture is too large"
        data = path.read_bytes()
    except OSError as error:
        return "", f"the picture cannot be read: {error.strerror or error}"
    kind = next((kind for magic, kind in MAGIC.items() if data.startswith(magic)), "")
    if not kind:
        return "", "this is no picture that a page may hold"
    return f"data:{kind};base64,{base64.b64encode(data).decode()}", ""


def text_faults(text: str, folder: Path, scenes: tuple[str, ...]) -> list[Fault]:
    """What a text may not say: control letters, tags, links that run something, figures that are none.

    ``scenes``: names of the lesson's own. Names of takes and moments are looked up when the scenes are there. Raises
    PlatformFault.
    """
    what, allowed = "a control letter cannot stand in a lesson's text", "letters, signs, tabs and line ends"
    faults = [Fault(what, "", line, letter, allowed) for letter, line in _control_letters(text)]
    for one, line in _tokens(text):
        if one.type in TAGS and not COMMENTS.fullmatch(one.content):
            what = "a tag cannot stand in a lesson's text; nothing of it would be run or shown"
            allowed = "Markdown; write `<` between back quotes to show it"
            if one.content.lstrip().startswith("<!--"):
                what = "this comment is not closed, or something stands beside it that would be left out with it"
                allowed = "<!-- … -->, alone on its lines or within a paragraph"
            faults.append(Fault(what, "", line, one.content.strip(), allowed))
        link = str(one.attrGet("href") or "") if one.type == "link_open" else ""
        if one.type == "link_open" and not _may_lead(link):
            faults.append(Fault("this link may lead nowhere from a page", "", line, link, ", ".join(SCHEMES) + ", #"))
    for one in figures(text):
        known = FIGURE.match(one.name)
        if known and one.name.split("/")[0] not in scenes:
            faults.append(Fault("this figure's scene is not in the lesson", "", one.line, one.name, ", ".join(scenes)))
        elif not known:
            why = "a picture comes from a file" if ":" in one.name else _picture(folder, one.name)[1]
            if why:
                faults.append(Fault(why, "", one.line, one.name, FIGURE_WORDS))
        if not one.words.strip():
            what = "this picture says nothing to those who do not see it"
            faults.append(Fault(what, "", one.line, one.name, "![what it shows](…)"))
    return sorted(faults, key=lambda fault: fault.line)


def told(text: str, folder: Path, figure: Callable[[str], str]) -> Told:
    """A text without faults as HTML. ``figure`` gives the SVG of a figure by its name. Raises what that raises."""
    reader = _reader()
    tokens = reader.parse(text)
    for token in (part for one in tokens for part in (one, *(one.children or ()))):
        if token.type in ("heading_open", "heading_close"):
            token.tag = f"h{min(int(token.tag[1]) + 1, 6)}"
        elif token.type in TAGS:
            token.content = "" if COMMENTS.fullmatch(token.content) else escape(token.content)
        elif token.type == "image":
            name = _source(token)
            token.attrSet("src", _svg_data(figure(name)) if FIGURE.match(name) else _picture(folder, name)[0])
        elif token.type == "link_open" and not str(token.attrGet("href")).startswith("#"):
            token.attrSet("rel", "noopener noreferrer")
    return Told(str(reader.renderer.render(tokens, reader.options, {})))


def _svg_data(svg: str) -> str:
    return "data:image/svg+xml;base64," + base64.b64encode(svg.encode()).decode()
