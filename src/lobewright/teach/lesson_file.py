"""Lesson files: which design, in which language, which scenes and texts in which order, which moments are kept.

A small TOML file, so that a lesson can be made anew when its design has changed. All its faults, and those of the texts that it
names, are told at once; names of takes and moments are looked up when the scenes have been computed, and then told together.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import Field, ValidationError

from lobewright.design.base import Frozen
from lobewright.design.files import line_of, parse_toml, place_text, read_text, tuples, type_tables
from lobewright.errors import DesignFault, Fault, FileFault, nearest
from lobewright.teach.films import KINDS
from lobewright.teach.language import LANGUAGES
from lobewright.teach.lesson_mark import MOMENT_NAME, Day, is_lesson
from lobewright.teach.lesson_text import FIGURE, figures, lies_within, picture_files, text_faults
from lobewright.teach.reel import STOP_SECONDS, places
from lobewright.teach.scene import Scene, Take
from lobewright.teach.scenes import SCENES

Moment = Annotated[str, Field(pattern=MOMENT_NAME)]
Line = Annotated[str, Field(min_length=1, max_length=200)]


class Part(Frozen):
    """A part of a lesson: a scene, or a text between scenes; exactly one of both.

    Without ``takes`` a scene is shown with all of them; without ``stills`` every moment is kept as a picture. Films stand
    still at ``stops``, ``stop_seconds`` long; ``films`` are made of every shown take.
    """

    scene: str = ""
    text: str = ""
    takes: tuple[Moment, ...] = ()
    stills: tuple[Moment, ...] | None = None
    stops: tuple[Moment, ...] = ()
    stop_seconds: Annotated[float, Field(gt=0, le=60)] = STOP_SECONDS
    films: tuple[str, ...] = ()


class LessonFile(Frozen):
    """A lesson file as it is written."""

    lesson_version: Literal[1] = 1
    design: Line
    language: str = "en"
    title: Annotated[str, Field(max_length=200)] = ""
    date: Day | None = None
    groups: Annotated[int, Field(ge=1, le=40)] = 4
    students: Annotated[tuple[Line, ...], Field(max_length=200)] = ()
    part: Annotated[tuple[Part, ...], Field(min_length=1, max_length=60)]


@dataclass(frozen=True)
class TextPart:
    """A text between scenes: its Markdown, its place, the folder that its pictures lie in."""

    file: str
    text: str
    folder: Path


ScenePart = Part
"""A part of a lesson file that names a scene."""


@dataclass(frozen=True)
class Lesson:
    """What is asked for: everything that a lesson is made from, but the design itself. ``written`` is the file's own text;
    without ``stills`` or ``paper`` these are left out. ``read``: files that it was read from, but the design's own."""

    design: Path
    language: str
    title: str
    parts: tuple[ScenePart | TextPart, ...]
    students: tuple[str, ...] = ()
    date: datetime.date | None = None
    groups: int = 4
    file: str = ""
    written: str = ""
    stills: bool = True
    paper: bool = True
    read: tuple[Path, ...] = ()

    @property
    def scenes(self) -> tuple[ScenePart, ...]:
        return tuple(part for part in self.parts if isinstance(part, Part))


def plain_lesson(design: Path, language: str = "en", scenes: Iterable[str] = (), films: Iterable[str] = ()) -> Lesson:
    """The lesson of a design for which no file was written: all scenes, or those named, in lesson order.

    Raises FileFault for a language, a scene or a kind of film that there is not.
    """
    scenes, films = tuple(scenes), tuple(films)
    faults = [*_unknown(scenes, SCENES, "scene", "there is no such scene")]
    faults += _unknown(films, KINDS, "films", "there is no such kind of film")
    faults += _unknown((language,), LANGUAGES, "language", "lessons are not written in this language")
    if faults:
        raise FileFault(faults)
    parts = tuple(Part(scene=name, films=films) for name in SCENES if not scenes or name in scenes)
    return Lesson(design, language, "", parts)


def _unknown(names: Iterable[str], known: Iterable[str], place: str, what: str, line: int = 0) -> list[Fault]:
    some = tuple(known)
    return [Fault(what, place, line, name, ", ".join(some)) for name in names if name not in some]


def read_lesson(path: Path | str) -> Lesson:
    """Read a lesson file and its texts; a design file gives the plain lesson of that design.

    Raises FileFault (not a usable file) or DesignFault (every fault at once, each with place, line, value, allowed).
    """
    path = Path(path)
    text = read_text(path)
    data = parse_toml(text, str(path))
    if not is_lesson(data):
        return plain_lesson(path)
    plain = tuples(data, str(path))
    typed, faults = type_tables(LessonFile, plain, text)
    if "language" in typed:
        what, line = "lessons are not written in this language", line_of(text, ("language",))
        faults += _unknown((typed["language"],), LANGUAGES, "language", what, line)
    if "design" in typed and not (path.parent / typed["design"]).is_file():
        faults.append(Fault("there is no such design file", "design", line_of(text, ("design",)), typed["design"]))
    rows = _typed_parts(plain.get("part"))
    faults += _part_faults(rows, text)
    named = _named(plain.get("part"))
    parts: list[ScenePart | TextPart] = []
    for number, part in rows.items():
        if part.scene or not part.text:
            parts.append(part)
            continue
        one, found = _text_part(path.parent, part, named, line_of(text, ("part", number, "text")), number)
        faults += found
        parts.append(one)
    if faults:
        raise DesignFault(faults, str(path))
    whole = LessonFile.model_validate(typed)
    return Lesson(
        path.parent / whole.design,
        whole.language,
        whole.title,
        tuple(parts),
        whole.students,
        whole.date,
        whole.groups,
        path.name,
        text,
        read=(path, *_files(path.parent, parts)),
    )


def _files(folder: Path, parts: Iterable[ScenePart | TextPart]) -> Iterator[Path]:
    """Texts of a lesson and the picture files in them."""
    for part in parts:
        if isinstance(part, TextPart):
            yield folder / part.file
            yield from (part.folder / name for name in picture_files(part.text))


def _named(rows: Any) -> tuple[str, ...]:
    """Scenes that the parts name, also those with a slip elsewhere: a figure of such a scene is none."""
    names = [row.get("scene") for row in (rows if isinstance(rows, tuple) else ()) if isinstance(row, dict)]
    return tuple(name for name in names if isinstance(name, str) and name)


def _typed_parts(rows: Any) -> dict[int, Part]:
    """The parts that can be read, by their place, so that a slip in one does not hide those in others."""
    out: dict[int, Part] = {}
    for number, row in enumerate(rows if isinstance(rows, tuple) else ()):
        with suppress(ValidationError):
            out[number] = Part.model_validate(row)
    return out


def _part_faults(parts: dict[int, Part], text: str) -> list[Fault]:
    """Parts that are both or neither, scenes and kinds of films that there are not, a scene that comes twice."""
    faults: list[Fault] = []
    seen: set[str] = set()
    for number, part in parts.items():
        place = place_text(("part", number))

        def line(key: str, number: int = number) -> int:
            return line_of(text, ("part", number, key))

        if bool(part.scene) == bool(part.text):
            what = "a part is a scene or a text, one of both"
            faults.append(Fault(what, place, line_of(text, ("part", number)), allowed='scene = "…" or text = "….md"'))
        if part.scene and part.scene not in SCENES:
            what, allowed = "there is no such scene", nearest(part.scene, SCENES)
            faults.append(Fault(what, f"{place}.scene", line("scene"), part.scene, allowed))
        elif part.scene in seen:
            what = "this scene comes twice"
            faults.append(
                Fault(what, f"{place}.scene", line("scene"), part.scene, "each scene once; takes choose in it")
            )
        if part.scene:
            seen.add(part.scene)
        else:
            given = [key for key in ("takes", "stills", "stops", "films") if getattr(part, key)]
            faults += [Fault("a text has no such key", f"{place}.{key}", line(key)) for key in given]
        faults += _unknown(part.films, KINDS, f"{place}.films", "there is no such kind of film", line("films"))
    return faults


def _text_part(
    folder: Path, part: Part, scenes: tuple[str, ...], line: int, number: int
) -> tuple[TextPart, list[Fault]]:
    """The text of a part, with what is wrong in it: the text's own lines are told by name."""
    path, place = folder / part.text, f"{place_text(('part', number))}.text"
    if not lies_within(folder, part.text):
        what = "a text must lie in the folder of the lesson file or below it"
        return TextPart(part.text, "", folder), [Fault(what, place, line, part.text)]
    try:
        text = read_text(path)
    except FileFault as error:
        return TextPart(part.text, "", folder), [
            Fault(f"the text cannot be used: {one.what}", place, line, part.text, one.allowed) for one in error.faults
        ]
    found = text_faults(text, path.parent, scenes)
    told = [Fault(f"{part.text}, line {one.line}: {one.what}", place, line, one.value, one.allowed) for one in found]
    return TextPart(part.text, text, path.parent), told


def figure_place(name: str, scenes: dict[str, Scene]) -> tuple[Take, str] | str:
    """The take and moment that a text's figure names, or what would be allowed in its place."""
    scene, *take, moment = name.split("/")
    takes = scenes[scene].takes
    found = [one for one in takes if not take or one.name == take[0]]
    if not found:
        return ", ".join(f"{scene}/{one.name}/…" for one in takes) or f"nothing: {scenes[scene].not_shown}"
    fitting = [one for one in found if moment in places(one)]
    if not fitting:
        return ", ".join(f"{scene}/{one.name}/{at}" for one in found for at in places(one))
    return fitting[0], moment


def scene_faults(lesson: Lesson, scenes: dict[str, Scene]) -> list[Fault]:
    """Takes, moments and figures that the scenes do not have, now that they are computed. A scene that cannot be shown for this
    design has no takes; what is asked of it is left out, as its page tells."""
    faults = []
    for number, part in enumerate(lesson.parts):
        place = place_text(("part", number))
        if isinstance(part, TextPart):
            for one in figures(part.text):
                shown = FIGURE.match(one.name) and one.name.split("/")[0] in scenes
                found = figure_place(one.name, scenes) if shown else ("", "")
                if isinstance(found, str):
                    what = f"{part.file}, line {one.line}: there is no such figure"
                    line = line_of(lesson.written, ("part", number, "text"))
                    faults.append(Fault(what, f"{place}.text", line, one.name, found))
            continue
        takes = {take.name: take for take in scenes[part.scene].takes}
        if not takes:
            continue
        faults += _unknown(
            part.takes,
            takes,
            f"{place}.takes",
            "there is no such take",
            line_of(lesson.written, ("part", number, "takes")),
        )
        known = {at for take in takes.values() if not part.takes or take.name in part.takes for at in places(take)}
        for key, names in (("stills", part.stills or ()), ("stops", part.stops)):
            line = line_of(lesson.written, ("part", number, key))
            faults += _unknown(names, sorted(known), f"{place}.{key}", "there is no such moment", line)
    return faults
