"""The picture of the README: drawn by the program, kept in docs, following light and dark."""

from __future__ import annotations

import re
from pathlib import Path
from xml.etree import ElementTree

import pytest

from lobewright.assessment.results import Assessment
from lobewright.assessment.run import assess
from lobewright.design.files import read
from lobewright.report.readme import main, readme_picture

ROOT = Path(__file__).parents[2]
SHOWN = ROOT / "examples" / "azimuth_belt.toml"
KEPT = ROOT / "docs" / "picture.svg"


def words(svg: str) -> list[str]:
    """Everything that the picture says, numbers with it."""
    return [
        element.text or ""
        for element in ElementTree.fromstring(svg).iter()
        if element.tag.endswith(("text", "title", "desc"))
    ]


def test_it_is_one_document_of_its_own(drive: Assessment) -> None:
    svg = readme_picture(drive)
    ElementTree.fromstring(svg)
    assert svg == readme_picture(drive)
    assert "prefers-color-scheme:dark" in svg
    assert not re.search(r"https?:(?!//www\.w3\.org/2000/svg)|<script|@import|url\((?!#)", svg)
    assert len(svg) < 200_000


def test_kept_picture_says_what_the_example_says_today() -> None:
    assert words(KEPT.read_text("utf-8")) == words(readme_picture(assess(read(SHOWN))))


def test_the_command_prints_it(capsys: pytest.CaptureFixture[str]) -> None:
    main([str(SHOWN)])
    assert capsys.readouterr().out == readme_picture(assess(read(SHOWN)))
