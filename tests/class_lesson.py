"""The lesson file of a class that tests of several folders read, write anew and spoil."""

from __future__ import annotations

from pathlib import Path

CLASS = """lesson_version = 1
design = "azimuth_belt.toml"
language = "de"
title = "Eine Umdrehung"
date = 2026-12-07
students = ["Ada", "Bo"]

[[part]]
text = "before.md"

[[part]]
scene = "count"
takes = ["turn"]
stills = ["tooth_3"]
stops = ["tooth_3"]
stop_seconds = 3.0
films = ["gif"]
"""


def class_lesson(folder: Path, lesson: str = CLASS, before: str = "# Vorher\n") -> Path:
    """A lesson file and the text that it names, in a folder."""
    (folder / "before.md").write_text(before, encoding="utf-8")
    (folder / "class.toml").write_text(lesson, encoding="utf-8")
    return folder / "class.toml"
