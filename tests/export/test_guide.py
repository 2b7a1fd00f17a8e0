"""Assembly instructions: whole, with the design's own numbers, the same bytes twice; stages in an order that can be done."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from export_drives import assessed

from lobewright.assessment.run import assess
from lobewright.design import catalogue
from lobewright.design.files import read
from lobewright.errors import LobewrightError
from lobewright.make.assembling import assembled
from lobewright.make.bodies import Group
from lobewright.make.bought import nut_part, screw_part
from lobewright.make.guide import part_file, write_guide
from lobewright.make.guide_how import Facts, sentences, title
from lobewright.make.guide_letters import in_known_letters
from lobewright.make.guide_lots import Lot, lots
from lobewright.make.guide_pictures import drawn_apart, of_stage, standing_off, told_apart
from lobewright.make.guide_stages import Stage, stages
from lobewright.make.guide_words import before, cautions, centred, check_sheet, first_run, lubrication, told_with
from lobewright.make.order import Side, Step
from lobewright.make.parts_generator import generator_parts
from lobewright.make.parts_rings import rigid_ring
from lobewright.make.placing import Member, Place, Placed

pytestmark = pytest.mark.cad
EXAMPLES = Path(__file__).parents[2] / "examples"
NAMES = ("azimuth_belt", "elevation_printed", "focus_steel")


@pytest.fixture(scope="module", params=NAMES)
def example(request: pytest.FixtureRequest) -> tuple[str, list[Lot], list[Stage], Facts]:
    a = assess(read(EXAMPLES / f"{request.param}.toml"))
    found = lots(assembled(a))
    return request.param, found, stages(found), Facts(a, found)


def placed(name: str) -> tuple[Placed, ...]:
    """Rings, carriers and axle screws of the small belt drive; screws, nuts and rings do not say from where they come."""
    a = assessed(name)
    carrier = next(part for part in generator_parts(a) if part.name == "carrier")
    m5 = catalogue.bolt("M5")
    spots = [(20.0, 0.0), (-20.0, 0.0)]
    roller = replace(nut_part(m5, 2, "roller"), words="ball bearing", designation="MR105")
    heads = tuple(Place(*spot, -8.0 - m5.head_height_mm) for spot in spots)
    rings = [
        Placed(replace(rigid_ring(a, ring, mesh), group=Group.RIGID_RING), (Place(z_mm=ring.offset_mm),), who, step)
        for ring, mesh, who, step in zip(
            a.design.rigid_ring, a.rings, (Member.HELD, Member.OUTPUT), (Step.HELD_RING, Step.OUTPUT), strict=True
        )
    ]
    rows = (
        (nut_part(m5, 2, "axle_nut"), tuple(Place(*spot, 14.0) for spot in spots)),
        (screw_part(m5, 25.0, 2, "axle_screw", "screw"), heads),
        (carrier, (Place(z_mm=-8.0), Place(z_mm=14.0, over=True))),
        (roller, tuple(Place(*spot, 0.0) for spot in spots)),
    )
    sides = {"carrier": Side.FRONT, "roller": Side.FRONT}
    return (
        *rings,
        *(
            Placed(part, places, Member.GENERATOR, Step.GENERATOR, sides.get(part.name, Side.BY_PLACE))
            for part, places in rows
        ),
    )


def text_of(path: Path) -> str:
    pdfium = pytest.importorskip("pypdfium2")
    with pdfium.PdfDocument(path) as document:
        return "\n".join(page.get_textpage().get_text_bounded() for page in document)


def names(stage: Stage) -> list[str]:
    return ["+" if piece.whole else piece.lots[0].part.name for piece in stage.new]


def in_turn(work: Sequence[Stage], step: Step) -> list[str]:
    return [name for stage in work if stage.step is step for name in names(stage)]


# --- the order of work -----------------------------------------------------------------------------------------------


def test_a_generator_stacks_up_on_its_screws() -> None:
    """Whatever the order of the rows: carrier, screws from below, rollers over them, the other carrier, nuts."""
    work = stages(lots(placed("belt")))
    assert in_turn(work, Step.GENERATOR) == ["carrier", "axle_screw", "roller", "carrier", "axle_nut"]
    assert [stage.step for stage in work] == [
        Step.GENERATOR,
        Step.GENERATOR_ON_AXLE,
        Step.HELD_RING,
        Step.OUTPUT,
        Step.OUTPUT_ON,
    ]
    assert [stage.number for stage in work] == [1, 2, 3, 4, 5]
    assert names(work[1]) == ["+"] and work[1].new[0].of == 1, "it goes on as one, with nothing new"


def test_bearings_then_tubes_then_bearing_then_cap(example: tuple[str, list[Lot], list[Stage], Facts]) -> None:
    _, _, work, _ = example
    rear = in_turn(work, Step.REAR)
    assert rear[0] == "rear_plate" and rear[1] == "axle_bearing"
    assert set(rear[2:4]) == {"axle_outer_tube", "axle_inner_tube"}
    assert rear[4:] == ["axle_bearing", "rear_cap", "rear_cap_screw", "rear_cap_nut"]


def test_nuts_that_a_part_covers_go_in_before_it(example: tuple[str, list[Lot], list[Stage], Facts]) -> None:
    name, _, work, facts = example
    output = in_turn(work, Step.OUTPUT)
    flange = in_turn(work, Step.FLANGE)
    assert flange.index("flange_nut") < flange.index("output_flange")
    assert output.index("clamp_nut") < output.index("output_hub" if facts.cup else "output_plate")
    if not facts.cup:
        return
    assert output.index("boss_nut") < output.index("flexible_cup"), "nuts inside first"
    assert (
        output.index("hub_nut") < output.index("output_plate") < output.index("boss_screw") < output.index("output_hub")
    ), name


def test_no_picture_has_too_many_numbers_and_each_lot_goes_in_once(
    example: tuple[str, list[Lot], list[Stage], Facts],
) -> None:
    _, all_lots, work, _ = example
    for stage in work:
        assert len({(one.of, one.lots[0].number) for one in stage.new}) <= 7
    went = [id(lot.mesh) for stage in work[:-1] for lot in stage.lots]
    meant = [id(lot.mesh) for lot in all_lots if lot.part.name != "reaction_arm"]
    assert sorted(went) == sorted(meant)
    assert "reaction_arm" in names(work[-1]) and not any(lot.step is Step.INPUT for lot in work[-1].there)


def test_the_bench_shows_the_bench_only(example: tuple[str, list[Lot], list[Stage], Facts]) -> None:
    _, all_lots, work, _ = example
    for stage in work:
        there = {lot.step for lot in stage.there}
        if stage.step in (Step.GENERATOR, Step.OUTPUT, Step.FRONT):
            assert there <= {stage.step}
        if stage.step is Step.HELD_RING:
            assert Step.OUTPUT not in there and Step.GENERATOR in there
    on = next(stage for stage in work if stage.step is Step.FRONT_ON)
    assert names(on).index("upper_distance_tube") < names(on).index("+") < names(on).index("tie_nut")
    moving = next(one for one in on.new if one.whole)
    assert len(moving.lots) == sum(lot.step is Step.FRONT for lot in all_lots)


# --- pictures --------------------------------------------------------------------------------------------------------


def test_what_stands_off_comes_from_its_side_and_nothing_overlaps() -> None:
    work = stages(lots(placed("belt")))
    off = standing_off(work[0], 5.0)
    base, *rest = off
    assert base.shift_mm == 0.0 and base.piece.lots[0].part.name == "carrier"
    for one in rest:
        rear = one.piece.lots[0].part.name == "axle_screw"
        assert (one.piece.side is Side.REAR) == rear and (one.shift_mm < 0) == rear
    for k, one in enumerate(off):
        for other in off[:k]:
            if one.piece.meets(other.piece):
                assert one.low_mm >= other.top_mm or other.low_mm >= one.top_mm


def test_drawn_apart_by_place_from_rear_to_front(example: tuple[str, list[Lot], list[Stage], Facts]) -> None:
    _, all_lots, _, facts = example
    row = [one.piece.lots[0].part.name for one in drawn_apart(told_apart(all_lots), 3.0)]
    ring = "belt" if facts.belt else "flexible_cup"
    wanted = [
        "rear_cap",
        "rear_plate",
        "axle_front_collar",
        "distance_plate",
        ring,
        "output_plate",
        "front_plate",
        "front_cap",
    ]
    assert [name for name in row if name in wanted] == wanted
    assert row.index("output_flange") > row.index("front_cap")


def test_every_number_of_a_picture_ends_on_what_it_names(example: tuple[str, list[Lot], list[Stage], Facts]) -> None:
    """Nothing that goes in is out of sight: what is hidden shines through."""
    name, _, work, _ = example
    if name != "azimuth_belt":
        return
    for stage in work:
        seen = of_stage(stage, 700)
        assert seen.hidden == (), stage.name
        assert np.ptp(seen.image) > 100


# --- words -----------------------------------------------------------------------------------------------------------


def test_every_stage_is_told_and_no_sentence_twice(example: tuple[str, list[Lot], list[Stage], Facts]) -> None:
    name, _, work, facts = example
    said: list[str] = []
    for stage in work:
        same = [one for one in work if one.step is stage.step]
        lines = sentences(facts, same, same.index(stage))
        assert title(stage, facts)
        assert lines or same.index(stage) > 0, stage.name
        said += lines
    assert len(said) == len(set(said))
    words = " ".join(said).lower()
    assert ("inside out" in words) == facts.belt
    assert ("oval" in words) == facts.cup
    assert "inner rings" in words and "used again" in words
    if name == "focus_steel":
        everything = (
            words + " ".join(line for one in (before(facts.a, []), lubrication(facts.a)) for line in one.lines).lower()
        )
        assert not re.search(r"print|string|layer|spool", everything)


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
    assert "12.00°, against the generator" in " ".join(first_run(a).lines)
    assert lubrication(a).flag.startswith("common practice")
    assert lubrication(a).lines != lubrication(assessed("steel")).lines


def test_what_cannot_be_reached_later_is_told_in_time(example: tuple[str, list[Lot], list[Stage], Facts]) -> None:
    name, _, work, facts = example
    said: dict[Step, str] = {}
    for stage in work:
        same = [one for one in work if one.step is stage.step]
        said[stage.step] = said.get(stage.step, "") + " ".join(sentences(facts, same, same.index(stage)))
    steel = name == "focus_steel"
    assert ("Grease the thin bearing first" in said[Step.GENERATOR]) == steel
    assert ("Grease its teeth before it goes in" in said[Step.HELD_RING]) == steel
    assert ("under a dial gauge" in said[Step.GENERATOR]) == steel, "a printed one is judged by its drag"
    assert ("its ears to the front" in said[Step.BEHIND]) == facts.belt
    if facts.cup:
        deep = {"elevation_printed": 58, "focus_steel": 38}[name]
        assert f"{deep} mm deep in the cup: 7 mm socket" in said[Step.OUTPUT]
        assert ("thread lock" in said[Step.OUTPUT]) == steel
    assert "all four feet" in said[Step.FRONT_ON] and "shift the plate" in said[Step.FRONT_ON]
    rated = facts.a.design.rated_torque_Nm
    assert f"{rated / 0.12 / 9.81:.2g} kg there are the rated {rated:g} N·m" in said[Step.TEST]
    assert "box of sand" in said[Step.TEST] and "above 3 n·m" in said[Step.TEST].lower()


def test_tools_are_those_of_the_screws_and_nuts(example: tuple[str, list[Lot], list[Stage], Facts]) -> None:
    name, all_lots, _, facts = example
    parts = [lot.part for lot in all_lots]
    first, second = before(facts.a, parts).lines[:2]
    # Keys of ISO 4762 and flats of ISO 4032: M3 2.5 and 5.5, M4 3 and 7, M5 4 and 8, M6 5 and 10, M8 6 and 13.
    keys = "2.5, 3, 4, 5 and 6" if name == "elevation_printed" else "2.5, 3, 4 and 5"
    assert f"hexagon keys of {keys} mm" in first and "spanners of 5.5, 7, 8, 10 and 13 mm" in first
    assert ("socket on an extension" in first) == facts.cup
    assert "wood screws" in second and ("thread lock" in second) == (name == "focus_steel")
    few = before(facts.a, [part for part in parts if part.name != "foot" and "M8" not in part.designation]).lines
    assert "wood screws" not in few[1] and "13 mm" not in few[0]


def test_what_only_a_maker_has_to_know_stands_with_the_part(example: tuple[str, list[Lot], list[Stage], Facts]) -> None:
    name, all_lots, _, facts = example
    told = {lot.part.name for lot in all_lots if "not judged" in told_with(lot.part)}
    assert told == ({"output_hub"} if name == "focus_steel" else set())
    assert not any("not judged" in text for text in cautions(facts.a))


def test_a_hand_goes_to_the_ring_only_when_the_power_is_off() -> None:
    last = first_run(assessed("belt")).lines[-1]
    assert last.index("power off and unplugged") < last.index("feel the ring")


def test_a_file_for_each_made_part() -> None:
    a = assessed("belt")
    (ring, *_) = (one.part for one in placed("belt"))
    assert part_file(a, ring) == "print/ring_base_print.3mf"
    assert part_file(assessed("steel"), ring) == "nominal/ring_base.step"


def test_letters_that_the_font_lacks_are_written_otherwise_or_refused() -> None:
    latin1 = range(32, 256)
    assert in_known_letters("a → b, Łódź, Ωμέγα, Юрий", latin1) == "a to b, Lódz, Ohmmega, Yuriy"
    with pytest.raises(LobewrightError, match="lacks a letter"):
        in_known_letters("屋上", latin1)


# --- the document ----------------------------------------------------------------------------------------------------


def test_the_guide_is_whole_and_the_same_twice(tmp_path: Path) -> None:
    a, parts = assessed("belt"), placed("belt")
    first = write_guide(a, parts, tmp_path / "a", "2024-05-01", width_px=400)
    second = write_guide(a, parts, tmp_path / "b", "2024-05-01", width_px=400)
    assert [p.name for p in first] == ["guide.pdf", "whole.png", "apart.png", *(f"step_0{k}.png" for k in range(1, 6))]
    assert [p.read_bytes() for p in first] == [p.read_bytes() for p in second]
    data = first[0].read_bytes()
    assert b"/FontFile2" in data, "the font is embedded"
    assert len(re.findall(rb"/Subtype /Image", data)) == len(first) - 1
    said = text_of(first[0])
    for words in (
        "Step 1",
        "Step 5",
        "Care",
        "Check sheet",
        "First run, by hand",
        "Grease",
        "2024-05-01",
        "Before you begin",
    ):
        assert words in said
    page = said.split("Parts\r\n")[0]
    for caution in cautions(a):
        assert caution[:25] in page, "cautions stand on the first page"


def test_without_parts_there_is_no_guide(tmp_path: Path) -> None:
    with pytest.raises(LobewrightError, match="instructions need an assembly"):
        write_guide(assessed("belt"), (), tmp_path / "none")
    assert not (tmp_path / "none").exists()
