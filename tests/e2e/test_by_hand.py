"""What a person would try in the first hour, each with the words or numbers that must come out."""

from __future__ import annotations

import math
import re
from pathlib import Path
from typing import Any

import pytest

from lobewright.advice import suggest
from lobewright.assessment.results import Assessment
from lobewright.assessment.run import assess
from lobewright.cli import main
from lobewright.design.edits import apply
from lobewright.design.files import design_from_data
from lobewright.design.starters import starter_data
from lobewright.errors import DesignFault
from lobewright.verdict import State


def drive(kind: str, flexible: int, more: int, **tables: dict[str, Any]) -> dict[str, Any]:
    """A starter with other tooth counts: the first ring has ``more`` teeth than the flexible one."""
    data = starter_data(kind)
    data["flexible_ring"]["teeth"] = flexible
    for index, ring in enumerate(data["rigid_ring"]):
        ring["teeth"] = flexible + (more if index == 0 else 0)
    for table, values in tables.items():
        data[table] |= values
    return data


def found_for(data: dict[str, Any]) -> Assessment:
    return assess(design_from_data(data))


def test_a_class_model_of_40_and_38_teeth_at_module_2() -> None:
    data = drive("printed_ring-rollers", 38, 2, flexible_ring={"module_mm": 2.0, "wall_mm": 1.6})
    data["tooth"] = {"form": "trapezoid"}
    found = found_for(data)
    assert found.motion.ratio == -19
    assert found.nominal_deflection_mm == pytest.approx(2.0)  # m·(40 − 38)/2
    # R_n = 38 − 0.9·2 − 1.6/2 = 35.4 mm; the wall's strain under narrow rollers is near 4.3·t/2·w0/R².
    assert found.geometry.neutral_radius_mm == pytest.approx(35.4)
    assert found.strain.largest == pytest.approx(4.28 * 0.8 * 2.0 / 35.4**2, rel=0.1)
    assert found.verdict("flexible_strain").state is State.FAIL
    assert "cracks early" in found.verdict("flexible_strain").sentence
    assert found.verdict("ring_land:base").value > 2 * 0.42  # large teeth are easy to print


def test_fine_teeth_of_180_and_182_with_a_nozzle_of_0_4() -> None:
    """Ring teeth come out between one and two extrusion widths thick; with a wider extrusion the mesh gets too shallow."""
    data = drive("printed_ring-discs", 180, 2, flexible_ring={"module_mm": 0.7}, generator={"disc_radius_mm": 57.0})
    data["tooth"] = {"form": "involute"}
    for name in ("base", "output"):
        land = found_for(data).verdict(f"ring_land:{name}")
        assert land.state is State.WARN
        assert 0.42 < land.value < 2 * 0.42
        assert "two extrusion widths thick: weak tips" in land.sentence
    data["process"] |= {"extrusion_width_mm": 0.8}
    wide = found_for(data)
    assert wide.verdict("ring_land:output").value == pytest.approx(
        0.8, abs=1e-3
    )  # tips are cut back to what can be made
    assert wide.rings[1].space.tip_limited_by == "land"
    assert wide.verdict("engagement:output").state is State.FAIL
    assert "skips under hand load" in wide.verdict("engagement:output").sentence
    data["process"] |= {"extrusion_width_mm": 0.95}
    assert found_for(data).verdict("engagement:output").value < wide.verdict("engagement:output").value


def test_a_belt_of_100_teeth_of_2_mm_with_rings_of_102_and_100() -> None:
    found = found_for(drive("belt", 100, 2, flexible_ring={"designation": "C2M"}))
    assert found.motion.ratio_text == "−50 : 1"
    assert found.geometry.neutral_radius_mm == pytest.approx(100 * 2.0 / (2 * math.pi))
    assert found.nominal_deflection_mm == pytest.approx(2.0 * 2 / (2 * math.pi))
    assert found.verdict("belt_stock").state is State.PASS
    assert found.set_shape.deflection_mm == pytest.approx(found.nominal_deflection_mm, abs=1e-9)
    for name in ("base", "output"):
        assert found.verdict(f"flank_gap:{name}").value < found.rings[0].cases[0].smallest_gap_mm + 0.05


def test_one_tooth_difference(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "one.toml"
    assert main(["new", "belt", str(path)]) == 0
    path.write_text(path.read_text("utf-8").replace("teeth = 102", "teeth = 101"), "utf-8")
    capsys.readouterr()
    assert main(["check", str(path)]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    (line,) = err.splitlines()
    assert re.search(r"one\.toml, line \d+: rigid_ring\[1\]\.teeth: the ring cannot be assembled", line)
    assert "found 101" in line
    assert "100 or 102 or 104 … teeth (the row's 100 plus a multiple of 2 lobes)" in line


def test_three_lobes_want_three_teeth_more() -> None:
    data = drive("printed_ring-cam_plain", 99, 3, generator={"lobes": 3})
    found = found_for(data)
    assert found.motion.ratio == -33
    data["rigid_ring"][0]["teeth"] = 101
    with pytest.raises(DesignFault, match="99 or 102 or 105"):
        design_from_data(data)


def test_a_belt_that_nobody_sells() -> None:
    found = found_for(drive("belt", 103, 2))
    verdict = found.verdict("belt_stock")
    assert verdict.state is State.WARN
    assert verdict.value == 3
    assert "obody is known to stock 103 teeth; the nearest are" in verdict.sentence
    suggestion = suggest(found, verdict)
    assert suggestion is not None
    assert [edit.sentence for edit in suggestion.edits] == [
        "set flexible_ring.teeth = 100",
        "set rigid_ring[1].teeth = 102",
        "set rigid_ring[2].teeth = 100",
    ]
    assert assess(apply(found.design, suggestion.edits)).verdict("belt_stock").state is State.PASS


def test_a_belt_that_nobody_sells_but_that_lies_in_the_drawer(tmp_path: Path) -> None:
    from lobewright.design.files import read
    from lobewright.design.starters import starter

    shop = 'schema_version = 1\n[[belts]]\ndesignation = "C3M"\nteeth = 103\nwidth_mm = 15.0\n'
    (tmp_path / "shop.toml").write_text(shop, "utf-8")
    text = starter("belt").replace("teeth = 100", "teeth = 103").replace("teeth = 102", "teeth = 105")
    (tmp_path / "a.toml").write_text('workshop = "shop.toml"\n' + text, "utf-8")
    verdict = assess(read(tmp_path / "a.toml")).verdict("belt_stock")
    assert (verdict.state, verdict.sentence) == (State.PASS, "You own this belt.")


def test_a_ring_larger_than_the_bed() -> None:
    found = found_for(drive("printed_ring-rollers", 230, 2))
    verdict = found.verdict("bed")
    assert verdict.state is State.FAIL
    assert "larger than the bed: it cannot be printed whole; make it smaller" in verdict.sentence
    assert verdict.value == pytest.approx(220.0 - 2 * (found.rings[0].space.root_radius_mm + 9.0), abs=0.01)
    suggestion = suggest(found, verdict)
    assert suggestion is not None
    after = assess(apply(found.design, suggestion.edits))
    assert after.verdict("bed").state is State.PASS
    assert not [v.name for v in after.verdicts if v.state is State.FAIL]


def test_a_loose_roller_distance_and_a_factor_say_the_same() -> None:
    by_factor = found_for(starter_data("belt-rollers"))
    data = starter_data("belt-rollers")
    del data["generator"]["design_deflection_factor"]
    data["generator"]["roller_centre_distance_mm"] = by_factor.setting.distance_mm
    by_distance = found_for(data)
    assert by_distance.design_deflection_mm == pytest.approx(by_factor.design_deflection_mm, abs=1e-9)
    assert [v.value for v in by_distance.verdicts] == pytest.approx([v.value for v in by_factor.verdicts], abs=1e-5)


def test_more_clearance_is_more_play_and_less_land() -> None:
    tight, loose = starter_data("printed_ring"), starter_data("printed_ring")
    loose["rigid_ring"][1]["clearance_mm"] += 0.1
    first, second = found_for(tight), found_for(loose)
    assert second.output_free_play_rad > first.output_free_play_rad + 0.1 / first.rings[1].space.tip_radius_mm
    assert second.verdict("flank_gap:output").value == pytest.approx(
        first.verdict("flank_gap:output").value + 0.1, abs=0.02
    )
