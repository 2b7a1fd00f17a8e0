"""How a lesson file is known among other TOML files and what its values may be, without loading what a lesson is made with."""

from __future__ import annotations

import datetime
from typing import Annotated, Any

from pydantic import Field

MARKS_OF_A_DESIGN = ("flexible_ring", "rigid_ring", "generator")
MOMENT_NAME = r"^[a-z0-9_]{1,40}$"
"""What names of takes and moments look like."""
DAYS = datetime.date(2000, 1, 1), datetime.date(2199, 12, 31)
"""First and last day that a lesson may be held on; the plan counts back from it."""
Day = Annotated[datetime.date, Field(ge=DAYS[0], le=DAYS[1])]


def is_lesson(data: dict[str, Any]) -> bool:
    """Whether a file's data are those of a lesson; else they are those of a design."""
    return ("part" in data or "lesson_version" in data or isinstance(data.get("design"), str)) and not any(
        mark in data for mark in MARKS_OF_A_DESIGN
    )
