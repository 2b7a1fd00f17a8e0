"""Drives that the tests of scenes look at: computed once in a test process, wound up once where a test asks for that."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from lobewright.assessment.limits import Limits
from lobewright.assessment.run import assess
from lobewright.design.files import design_from_data, read
from lobewright.design.starters import starter_data
from lobewright.teach.language import Language
from lobewright.teach.pushed import Pushed, pushed
from lobewright.teach.subject import Subject, subject

FOLDER = Path(__file__).parents[2] / "examples"
EXAMPLES = ("azimuth_belt", "elevation_printed", "focus_steel")
EN, DE = Language("en"), Language("de")


@cache
def example(name: str) -> Subject:
    return subject(assess(read(FOLDER / f"{name}.toml")))


@cache
def changed(kind: str, lobes: int = 2, more: int | None = None, **motion: str) -> Subject:
    """A starter with other members, with three lobes, or with so many more teeth on its first ring than on its flexible one."""
    data = starter_data(kind)
    if lobes == 3:
        data["generator"]["lobes"] = 3
        data["flexible_ring"]["teeth"], more = 99, 3
    if more is not None:
        data["rigid_ring"][0]["teeth"] = data["flexible_ring"]["teeth"] + more
    data["motion"] |= motion
    return subject(assess(design_from_data(data)))


def wound_up(name: str) -> Pushed:
    """An example under torque; kept where scenes keep it."""
    found = pushed(example(name).found)
    assert isinstance(found, Pushed)
    return found


def reached(name: str) -> Limits:
    """What says no before an example lets go; kept with it."""
    found = wound_up(name).reached
    assert isinstance(found, Limits)
    return found
