"""What `make` tells while it works, and what the rack kit's notes say of a drive without a printer."""

from __future__ import annotations

from pathlib import Path

from lobewright.assessment.run import assess
from lobewright.design.files import read
from lobewright.make.everything import sparse
from lobewright.make.rack_files import _read_me
from lobewright.make.rack_paper import PAPERS, paper_sheet
from lobewright.make.rack_parts import kit
from lobewright.picture.display import Text

EXAMPLES = Path(__file__).parents[2] / "examples"


def test_at_most_twenty_lines_tell_of_the_work_and_the_last_is_its_end() -> None:
    told: list[float] = []
    tell = sparse(lambda word, share: told.append(share))
    for k in range(1001):
        tell("a part", k / 1000)
    assert len(told) <= 21 and told[0] == 0.0 and told[-1] == 1.0
    # Work in steps larger than a line's share is told step by step.
    told.clear()
    tell = sparse(lambda word, share: told.append(share))
    for share in (0.0, 0.4, 0.41, 0.9, 0.99, 1.0):
        tell("a step", share)
    assert told == [0.0, 0.4, 0.9, 0.99, 1.0]


def test_the_kit_of_a_turned_drive_speaks_of_no_printer_of_its_own() -> None:
    turned, printed = (assess(read(EXAMPLES / f"{name}.toml")) for name in ("focus_steel", "elevation_printed"))
    said = _read_me(turned, kit(turned), [])
    assert "your printer" not in said and "names no printer" in said and "the toothed strip moves" in said
    assert "For your printer" in _read_me(printed, kit(printed), [])


def test_every_scale_of_the_card_has_its_words() -> None:
    a = assess(read(EXAMPLES / "elevation_printed.toml"))
    words = [item.text for item in paper_sheet(a, PAPERS[0]).items if isinstance(item, Text)]
    for scale in ("wedge, mm", "travel of the moving strip, mm", "space no.", "tooth no."):
        assert words.count(scale) == 1
