"""Assembly instructions: whole, with the design's own numbers, the same bytes twice; pictures in the order of work."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest
from export_drives import assessed

from lobewright.design import catalogue
from lobewright.errors import LobewrightError
from lobewright.make.bodies import Group
from lobewright.make.bought import nut_part, screw_part
from lobewright.make.guide import steps_of, write_guide
from lobewright.make.guide_pictures import drawn_apart, in_order, lots, standing_off
from lobewright.make.guide_words import centred, check_sheet, first_run, lubrication
from lobewright.make.parts_generator import generator_parts
from lobewright.make.parts_rings import rigid_ring
from lobewright.make.placing import Member, Place, Placed

pytestmark = pytest.mark.cad


def placed(name: str) -> tuple[Placed, ...]:
    """Rings, carriers and axle screws of the small belt drive, by hand."""
    a = assessed(name)
    carrier = next(part for part in generator_parts(a) if part.name == "carrier")
    m5 = catalogue.bolt("M5")
    spots = [(20.0, 0.0), (-20.0, 0.0)]
    roller = replace(nut_part(m5, 2, "roller"), words="ball bearing", designation="MR105")
    rings = [
        Placed(
            replace(rigid_ring(a, ring, made), group=Group.RIGID_RING), (Place(z_mm=ring.offset_mm),), Member.HELD, 4
        )
        for ring, made in zip(a.design.rigid_ring, a.rings, strict=True)
    ]
    return (
        *rings,
        Placed(carrier, (Place(z_mm=-8.0), Place(z_mm=14.0, over=True)), Member.GENERATOR, 1),
        Placed(
            screw_part(m5, 25.0, 2, "axle_screw", "screw"),
            tuple(Place(*s, -8.0 - m5.head_height_mm) for s in spots),
            Member.GENERATOR,
            1,
        ),
        Placed(roller, tuple(Place(*s, 0.0) for s in spots), Member.GENERATOR, 2),
        Placed(nut_part(m5, 2, "axle_nut"), tuple(Place(*s, 14.0) for s in spots), Member.GENERATOR, 3),
    )


def text_of(path: Path) -> str:
    pdfium = pytest.importorskip("pypdfium2")
    with pdfium.PdfDocument(path) as document:
        return "\n".join(page.get_textpage().get_text_bounded() for page in document)


def test_the_guide_is_whole_and_the_same_twice(tmp_path: Path) -> None:
    a, parts = assessed("belt"), placed("belt")
    first = write_guide(a, parts, tmp_path / "a", "2024-05-01")
    second = write_guide(a, parts, tmp_path / "b", "2024-05-01")
    assert [p.name for p in first] == ["guide.pdf", "whole.png", "apart.png", *(f"step_{k}.png" for k in range(1, 6))]
    assert [p.read_bytes() for p in first] == [p.read_bytes() for p in second]
    data = first[0].read_bytes()
    assert b"/FontFile2" in data, "the font is embedded"
    assert len(re.findall(rb"/Subtype /Image", data)) == len(first) - 1


def test_the_numbers_are_those_of_the_design() -> None:
    a = assessed("belt")
    counts = " ".join(centred(a).lines)
    # 62 spaces on 60 teeth with two lobes: 31 and 30 from lobe to lobe; the other ring 30 and 30.
    assert "31 spaces of the rigid ring (62 in all) and 30 teeth" in counts
    assert "30 spaces of the rigid ring (60 in all) and 30 teeth" in counts
    rows = {row.what: row.expected for row in check_sheet(a)}
    assert rows["Turns of the generator for one of the output"] == "30"
    assert rows["Sense of the output, against the generator's"] == "opposite"
    arm = a.design.assembly.arm_mm
    play = next(text for what, text in rows.items() if what.startswith("Free play"))
    assert float(play.split()[2]) == pytest.approx(a.output_free_play_rad * arm, abs=0.006)
    assert "12.00°, against the crank" in " ".join(first_run(a).lines)
    assert lubrication(a).flag.startswith("common practice")
    assert lubrication(a).lines != lubrication(assessed("steel")).lines


def test_what_closes_over_later_things_goes_in_after_them() -> None:
    found = in_order(lots(placed("belt"), range(1, 7), {}))
    carriers = sorted((lot for lot in found if lot.part.name == "carrier"), key=lambda lot: lot.low_mm)
    rollers = next(lot for lot in found if lot.part.name == "roller")
    nuts = next(lot for lot in found if lot.part.name == "axle_nut")
    assert [lot.step for lot in carriers] == [1.0, 2.5] and carriers[1].step > rollers.step
    assert nuts.step > carriers[1].step
    assert [sorted({lot.part.name for lot in some}) for some in steps_of(found)][:2] == [
        ["axle_screw", "carrier"],
        ["roller"],
    ]


def test_drawn_apart_nothing_overlaps_and_screws_keep_their_side() -> None:
    found = in_order(lots(placed("belt"), range(1, 7), {}))
    spans = [(one.lot.low_mm + one.shift_mm, one.lot.top_mm + one.shift_mm) for one in drawn_apart(found)]
    assert all(after[0] > before[1] for before, after in pairwise(spans))
    steps = steps_of(found)
    off = standing_off(steps[0], [], found)
    screw = next(one for one in off if one.lot.is_screw)
    others = [one.lot.low_mm + one.shift_mm for one in off if not one.lot.is_screw]
    assert screw.lot.top_mm + screw.shift_mm < min(others), "its head looks to the rear, so it comes from there"
    there = [lot for some in steps[:3] for lot in some]
    nuts = [one for one in standing_off(steps[3], there, found) if one.lot.part.name == "axle_nut"]
    assert all(one.shift_mm > 0 for one in nuts), "nuts at the front come from the front"


def test_without_parts_there_is_no_guide(tmp_path: Path) -> None:
    with pytest.raises(LobewrightError, match="instructions need an assembly"):
        write_guide(assessed("belt"), (), tmp_path / "none")
    assert not (tmp_path / "none").exists()


def test_a_letter_that_the_font_lacks_is_refused(tmp_path: Path) -> None:
    a = assessed("belt")
    odd = replace(a, design=a.design.model_copy(update={"name": "屋上"}))
    with pytest.raises(LobewrightError, match="the font of the instructions lacks a letter"):
        write_guide(odd, placed("belt"), tmp_path / "odd")
    assert not (tmp_path / "odd").exists()


def test_the_words_are_on_the_pages(tmp_path: Path) -> None:
    a = assessed("belt")
    said = text_of(write_guide(a, placed("belt"), tmp_path, "2024-05-01")[0])
    for words in ("Step 1", "Step 5", "Care", "Check sheet", "First run, by hand", "Grease", "2024-05-01"):
        assert words in said
    for caution in a.cautions:
        assert caution[:25] in said
