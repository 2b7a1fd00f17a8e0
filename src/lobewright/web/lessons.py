"""Lessons as the page asks for them: plain ones with what was chosen, those of lesson files in the folder, choices kept as one.

What a lesson is made with is loaded when somebody teaches: the page must begin quickly.
"""

from __future__ import annotations

import re
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from lobewright.design.files import line_of, parse_toml, read_text
from lobewright.design.writing import write_new, write_whole
from lobewright.errors import DesignFault, Fault, FileFault, LobewrightError, OutputFault
from lobewright.teach.lesson_mark import is_lesson
from lobewright.web.confine import design_names, design_path, inside
from lobewright.web.known import says
from lobewright.web.named import NamedState, named_state

if TYPE_CHECKING:
    from lobewright.teach.lesson_file import Lesson, ScenePart
    from lobewright.teach.subject import Subject

Data = dict[str, Any]
SAYS_LESSON = re.compile(r"^\s*lesson_version\s*=", re.MULTILINE)
"""Tells a lesson file that cannot be read as TOML: its fault is told where it is looked for."""


def lesson_names(folder: Path) -> tuple[str, ...]:
    """The lesson files of the folder, also those with faults."""
    return tuple(name for name in design_names(folder) if says(folder, name, _read_as_lesson))


@lru_cache(maxsize=256)
def _read_as_lesson(path: Path, changed_ns: int, size: int) -> bool:
    """``changed_ns`` and ``size`` only tell states of the file apart."""
    try:
        text = read_text(path)
    except LobewrightError:
        return False
    try:
        return is_lesson(parse_toml(text, path.name))
    except LobewrightError:
        return bool(SAYS_LESSON.search(text))


def lesson_choices(folder: Path) -> Data:
    """What a lesson may hold: languages with the titles of all scenes in each, in lesson order; kinds of films; lesson files."""
    from lobewright.teach.films import KINDS
    from lobewright.teach.language import LANGUAGES, Language
    from lobewright.teach.scenes import SCENES

    return {
        "languages": {code: {name: Language(code).say(name, "title") for name in SCENES} for code in LANGUAGES},
        "films": list(KINDS),
        "files": list(lesson_names(folder)),
    }


def read_file(folder: Path, name: str) -> Lesson:
    """The lesson of a file in the folder. Raises FileFault or DesignFault with every fault of it and of its texts."""
    from lobewright.teach.lesson_file import read_lesson

    design_path(folder, name)
    path = folder / name  # not where a link leads: what it names lies beside the link
    try:
        text = read_text(path)
        data = parse_toml(text, name)
        if not is_lesson(data):
            raise FileFault("this is no lesson file", name)
        named = data.get("design")
        if isinstance(named, str):
            _design_inside(folder, named, text)
        return read_lesson(path)
    except (FileFault, DesignFault) as error:
        raise type(error)(sorted(error.faults, key=lambda one: one.line), name) from None


def _design_inside(folder: Path, named: str, text: str) -> None:
    try:
        inside(folder, named, "design")
    except FileFault as error:
        raise FileFault([replace(one, line=line_of(text, ("design",))) for one in error.faults]) from None


def lesson_json(lesson: Lesson, folder: Path) -> Data:
    """What a lesson file asks for, to be looked at before it is written."""
    from lobewright.teach.language import Language
    from lobewright.teach.lesson_file import TextPart

    language = Language(lesson.language)
    parts = [
        {"text": part.file} if isinstance(part, TextPart)
        else {"title": language.say(part.scene, "title"), **part.model_dump(exclude={"text"})}
        for part in lesson.parts
    ]  # fmt: skip
    return {
        "file": lesson.file,
        "design": inside(folder, lesson.design.relative_to(folder).as_posix()).relative_to(folder).as_posix(),
        "title": lesson.title,
        "language": lesson.language,
        "date": lesson.date.isoformat() if lesson.date else None,
        "students": len(lesson.students),
        "parts": parts,
    }


def lesson_of(wants: Data, folder: Path, file: str) -> Lesson:
    """The lesson about the design ``file`` that was asked for: of a lesson file, or as chosen; day and students that are given
    count before those of a lesson file.

    Raises FileFault or DesignFault: faults of the file, one of another design, names that there are not.
    """
    from lobewright.teach.papers import file_names

    lesson = _of_file(wants["file"], folder, file) if wants["file"] else _chosen(wants, folder / file)
    numbered = tuple(str(number + 1) for number in range(wants["students"]))
    students = tuple(wants["names"]) or numbered or lesson.students
    if wants["paper"]:
        file_names(students)
    when = wants["date"] or lesson.date
    return replace(lesson, stills=wants["stills"], paper=wants["paper"], students=students, date=when)


def _of_file(name: str, folder: Path, file: str) -> Lesson:
    lesson = read_file(folder, name)
    if lesson.design.resolve() != (folder / file).resolve():
        line = line_of(lesson.written, ("design",))
        what, found = "this lesson belongs to another design", lesson_json(lesson, folder)["design"]
        raise FileFault([Fault(what, "design", line, found, f"{file}, which is open")], name)
    return lesson


def _chosen(wants: Data, design: Path) -> Lesson:
    from lobewright.teach.lesson_file import plain_lesson

    plain = plain_lesson(design, wants["language"], wants["scenes"], wants["films"])
    return replace(plain, parts=tuple(_closer(part, wants["choices"].get(part.scene)) for part in plain.scenes))


def _closer(part: ScenePart, choice: Data | None) -> ScenePart:
    """A scene's part with the takes and moments that were chosen for it."""
    if choice is None:
        return part
    given = {key: None if value is None else tuple(value) for key, value in choice.items()}
    return part.model_copy(update=given)


def keep(lesson: Lesson, folder: Path, file: str, name: str, over: bool) -> None:
    """Keep a lesson about the design ``file`` as a lesson file of the folder; ``over`` an earlier lesson file only.

    Raises FileFault for a name that no file here can have, OutputFault where another file has it.
    """
    from lobewright.teach.lesson_kept import kept_text

    path, text = design_path(folder, name), kept_text(lesson, file)
    if not over or not path.exists():
        write_new(path, text)
    elif says(folder, name, _read_as_lesson):
        write_whole(path, text)
    else:
        raise OutputFault("this is no lesson file; it is left alone", name)


def moments(text: str, file: str, folder: str, scene: str, language: str) -> Data:
    """Takes and moments of a scene of a design: names for a lesson file, and titles for people.

    Raises FileFault for a scene or a language that there is not, FileFault or DesignFault where the text is no design.
    """
    from lobewright.teach.lesson_file import plain_lesson

    plain_lesson(Path(file), language, [scene])
    return _moments(text, named_state(text, Path(folder)), file, folder, scene, language)


@lru_cache(maxsize=64)
def _moments(text: str, named: NamedState, file: str, folder: str, scene: str, language: str) -> Data:
    from lobewright.teach import scenes
    from lobewright.teach.language import Language
    from lobewright.teach.reel import chosen, moment

    words = Language(language)
    found = scenes.scene(scene, _subject(text, named, file, folder), words)
    rows: dict[str, str] = {}
    for take in found.takes:
        for name in chosen(take):
            rows.setdefault(name, moment(take, name, words).title)
    return {
        "scene": scene,
        "takes": [{"name": take.name, "title": take.title} for take in found.takes],
        "moments": [{"name": name, "title": title} for name, title in rows.items()],
        "not_shown": found.not_shown,
    }


@lru_cache(maxsize=2)
def _subject(text: str, named: NamedState, file: str, folder: str) -> Subject:
    """The design as scenes need it; ``named`` only tells states of the files that it names apart."""
    from lobewright.assessment.run import assess
    from lobewright.teach.subject import subject
    from lobewright.web.look import design_of

    return subject(assess(design_of(text, file, Path(folder))))
