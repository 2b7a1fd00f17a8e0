"""A German lesson is German: in every file of it, English words stand only where they are marked as English."""

from __future__ import annotations

import json
import re
import zipfile
from collections.abc import Callable, Iterator
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from lobewright.design.files import design_from_data, read
from lobewright.design.model import Design
from lobewright.design.starters import starter_data
from lobewright.errors import ConvergenceFault, DesignFault, Fault
from lobewright.lesson_folder import write_lesson
from lobewright.teach import kinds, scene_play, scene_stress, scene_torque
from lobewright.teach.language import Language
from lobewright.teach.lesson_file import plain_lesson
from lobewright.teach.reasons import KNOWN, Why, parted, why
from lobewright.teach.scenes import SCENES

EXAMPLES = Path(__file__).parents[2] / "examples"
ENGLISH = re.compile(
    r"\b(the|of|with|and|teeth|tooth|are|is|not|this|that|it|its|from|by|for|which|one|two|at|to|or|drive|gear|where|when|lobes?"
    r"|spaces?|held|moves|shown|made|because|found|allowed|while|out|only|no|if)\b",
    re.IGNORECASE,
)
"""Small words of English that German has not."""
GERMAN = Language("de")
VOID = {"meta", "br", "img", "input", "link", "hr"}
NAMES = re.compile(r"„[^“]*“|\[[^]]*\]|\S+/\S+|\w+\.\w{2,4}\b|lobewright \w+|--\w+|`[^`]*`")
"""What is called by its name: members and designs, keys of a lesson file, files, commands."""


class Told(HTMLParser):
    """Texts of a page that no part of it calls English, those of its scripts' data with them."""

    def __init__(self, page: str) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[tuple[str, dict[str, str | None]]] = []
        self.texts: list[str] = []
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.texts += [value or "" for name, value in attrs if name in ("alt", "aria-label", "title")]
        if tag not in VOID:
            self.open.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        while self.open and self.open.pop()[0] != tag:
            pass

    def handle_data(self, data: str) -> None:
        tag, attributes = self.open[-1] if self.open else ("", {})
        if tag == "script" and attributes.get("type") == "application/json":
            self.texts += [text for text in _strings(json.loads(data)) if " " in text]
        elif tag not in ("script", "style") and not any(one.get("lang") == "en" for _, one in self.open):
            self.texts.append(data)


def _strings(data: Any) -> Iterator[str]:
    if isinstance(data, str):
        yield data
    elif isinstance(data, (dict, list)):
        for one in data.values() if isinstance(data, dict) else data:
            yield from _strings(one)


def _unmarked(text: str) -> str:
    """Plain text without what it calls English itself."""
    return " ".join(piece for piece, english in parted(text, GERMAN) if not english)


def texts(path: Path) -> list[str]:
    """Everything that is read in a file."""
    if path.suffix == ".pdf":
        reader = PdfReader(path)
        told = [str(value) for key, value in (reader.metadata or {}).items() if key in ("/Title", "/Subject")]
        # lines of a sheet are broken anywhere
        return [_unmarked(" ".join(text.split())) for text in (*told, *(one.extract_text() for one in reader.pages))]
    if path.suffix == ".zip":
        with zipfile.ZipFile(path) as packed:
            found = [packed.read(name).decode() for name in packed.namelist()]
        return [_unmarked(text) for one in found for text in re.findall(r">([^<]+)<", one)]
    content = path.read_text("utf-8")
    if path.suffix == ".html":
        return Told(content).texts
    if path.suffix == ".toml":
        return [line for line in content.splitlines() if "#" in line]
    return [_unmarked(line) for line in content.splitlines()]


def english_in(text: str, own: list[str]) -> set[str]:
    """English words of a text that is no design's own."""
    for one in own:
        text = text.replace(one, " ")
    return set(ENGLISH.findall(NAMES.sub(" ", text)))


def failing() -> Design:
    data = starter_data("printed_cup-rollers")
    data["rigid_ring"][0]["clearance_mm"] = 0.0
    return design_from_data(data, name="klemmt")


SOLVED = "elevation_printed"
"""The one drive that is wound up here: each takes seconds."""
UNSETTLED = why(ConvergenceFault("the unloaded ring on its generator did not settle"))


@pytest.mark.parametrize("name", ["failing", "azimuth_belt", "elevation_printed", "focus_steel"])
def test_all_that_is_read_in_a_german_lesson_is_german(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    design = failing() if name == "failing" else read(EXAMPLES / f"{name}.toml")
    # Of the kinds beside the design one cannot be made and one is not solved: what lower rooms say of it is English.
    monkeypatch.setattr(kinds, "_KEPT", {})
    monkeypatch.setattr(kinds, "pushed", lambda *_: UNSETTLED)
    monkeypatch.setattr(kinds, "_made", refused_for_steel(kinds._made))
    if name != SOLVED:
        for module in (scene_torque, scene_play, scene_stress):
            monkeypatch.setattr(module, "pushed", lambda *_: UNSETTLED)
    if name == "failing":
        monkeypatch.setitem(SCENES, "members", fails)
    lesson = replace(plain_lesson(tmp_path / f"{name}.toml"), language="de", stills=False)
    made = write_lesson(design, lesson, tmp_path / "out")
    own = [text for text in (design.about, design.name) if text]
    read_in = [(file, text) for file in made.files for text in texts(tmp_path / "out" / file)]
    assert len({file for file, _ in read_in}) == len(made.files)
    found = {text.strip(): (file, words) for file, text in read_in if (words := english_in(text, own))}
    assert not found
    if name == "failing":
        page = (tmp_path / "out" / "lesson.html").read_text("utf-8")
        assert "Dieses Getriebe würde klemmen" in page
        assert page.count('<span lang="en">') >= 4
        assert 'Das Programm meldet auf Englisch: “<span lang="en">The teeth cannot be counted.</span>”' in page


def refused_for_steel(made: Callable[..., Any]) -> Callable[..., Any]:
    def make(kind: str, ratio: Any) -> Any:
        if kind == "metal_cup":
            raise DesignFault([Fault("the module is not made", "module_mm", 0, "0.1", "0.2 mm and more")])
        return made(kind, ratio)

    return make


def fails(*_: object) -> None:
    raise DesignFault([Fault("The teeth cannot be counted")])


@pytest.mark.parametrize("key", [*KNOWN.values(), "apart", "nothing_holds"])
def test_kinds_of_reasons_are_told_in_german(key: str) -> None:
    said = Why(key).words(GERMAN)
    assert said == GERMAN.say("reasons", key, told="") and not english_in(said, [])
    assert said != Why(key).words(Language("en"))
