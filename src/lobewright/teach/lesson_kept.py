"""A lesson as the text of a lesson file: what was chosen elsewhere is kept, and made anew when its design has changed."""

from __future__ import annotations

from typing import Any

import tomlkit

from lobewright.teach.lesson_file import Lesson, Part, ScenePart, TextPart

HEAD = "A lesson file. What may stand here is told in the documentation under Lesson file."


def kept_text(lesson: Lesson, design: str) -> str:
    """The lesson as a lesson file; ``design`` names its design as seen from there. What is as usual is left out.

    Whether papers are written is no matter of the file; a lesson without stills says so in each of its scenes.
    """
    document: Any = tomlkit.document()
    document.add(tomlkit.comment(HEAD))
    document["lesson_version"] = 1
    document["design"] = design
    document["language"] = lesson.language
    for key, value in (("title", lesson.title), ("date", lesson.date), ("students", list(lesson.students))):
        if value:
            document[key] = value
    document["groups"] = lesson.groups
    rows = tomlkit.aot()
    for part in lesson.parts:
        rows.append(_row(part, lesson.stills))
    document["part"] = rows
    return tomlkit.dumps(document)


def _row(part: ScenePart | TextPart, stills: bool) -> Any:
    row: Any = tomlkit.table()
    if isinstance(part, TextPart):
        row["text"] = part.file
        return row
    given = part if stills else part.model_copy(update={"stills": ()})
    for key, field in Part.model_fields.items():
        value = getattr(given, key)
        if value != field.default:
            row[key] = list(value) if isinstance(value, tuple) else value
    return row
