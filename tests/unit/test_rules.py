"""Designs that cannot exist are refused by name; designs at the edge of what can are not."""

from __future__ import annotations

from typing import Any

import pytest

from lobewright.design.files import design_from_data
from lobewright.design.starters import starter_data
from lobewright.errors import DesignFault

Change = dict[str, Any]


def changed(kind: str, changes: Change) -> dict[str, Any]:
    """A starter's data with dotted places set; rows count from 0 here."""
    data: Any = starter_data(kind)
    for place, value in changes.items():
        at = data
        *path, last = place.split(".")
        for part in path:
            at = at[int(part)] if part.isdigit() else at.setdefault(part, {})
        if value is None:
            del at[last]
        else:
            at[last] = value
    return data


def teeth(flexible: int, *rigid: int) -> Change:
    return {"flexible_ring.teeth": flexible} | {f"rigid_ring.{i}.teeth": z for i, z in enumerate(rigid)}


REFUSED: list[tuple[str, Change, str, str]] = [
    (
        "belt",
        {"flexible_ring.measured.tooth_height_mm": 2.0},
        "flexible_ring.measured.tooth_height_mm",
        "far from the belt",
    ),
    ("belt", {"flexible_ring.measured.cord_offset_mm": 1.28}, "flexible_ring.measured.total_thickness_mm", "no back"),
    ("belt", teeth(100, 101, 100), "rigid_ring[1].teeth", "cannot be assembled: its teeth meet .* 100 or 102 or 104"),
    ("belt", teeth(100, 98, 100), "rigid_ring[1].teeth", "cannot be assembled"),
    ("belt", teeth(100, 100, 100), "rigid_ring", "nothing would turn"),
    ("belt", teeth(100, 120, 100), "rigid_ring[1].teeth", "too large to bend to .found 20 more teeth.*at most 8 teeth"),
    ("belt", teeth(20, 24, 20), "rigid_ring[1].teeth", "too large to bend to .*at most 2 teeth"),
    ("belt-rollers", {"generator.lobes": 3}, "rigid_ring[1].teeth", "100 or 103 or 106 .*3 lobes"),
    ("belt", {"generator.lobes": 3}, "generator.lobes", "two rollers a lobe are worked out for 2 lobes only"),
    ("belt-discs", {"generator.lobes": 3}, "generator.lobes", "two discs make 2 lobes"),
    ("printed_cup", {"generator.lobes": 3}, "generator.lobes", "an ellipse has 2 lobes"),
    ("printed_cup", {"generator.race_height_mm": 0.0}, "generator.race_height_mm", "no height"),
    ("printed_cup", {"generator.race_height_mm": 30.0}, "generator.race_height_mm", "leaves no cam"),
    ("printed_ring-cam_plain", {"generator.race_height_mm": 2.0}, "generator.race_height_mm", "has no bearing"),
    (
        "printed_ring-cam_plain",
        {"generator.design_deflection_factor": None},
        "generator.design_deflection_factor",
        "missing",
    ),
    (
        "belt",
        {"generator.roller_centre_distance_mm": 30.0},
        "generator.design_deflection_factor",
        "given once .found both",
    ),
    ("belt-discs", {"generator.disc_radius_mm": 47.0}, "generator.disc_radius_mm", "discs do not fit inside the ring"),
    ("printed_cup", {"flexible_ring.length_mm": 16.0}, "flexible_ring.length_mm", "too short .*more than 17 mm"),
    ("printed_cup", {"flexible_ring.boss_diameter_mm": 95.0}, "flexible_ring.boss_diameter_mm", "does not fit inside"),
    ("printed_cup", {"flexible_ring.bore_mm": 40.0}, "flexible_ring.bore_mm", "the bore is not inside the boss"),
    ("printed_cup", {"flexible_ring.barrel_wall_mm": 3.0}, "flexible_ring.barrel_wall_mm", "too thick to bend"),
    ("printed_ring", {"flexible_ring.wall_mm": 19.0}, "flexible_ring.wall_mm", "too thick for a flexible ring"),
    ("printed_ring", {"flexible_ring.material": "cheese"}, "flexible_ring.material", "no material of this name"),
    ("printed_ring", {"tooth": {"form": "belt"}}, "tooth.form", "does not go with this ring"),
    ("belt", {"tooth": {"form": "involute"}}, "tooth.form", "does not go with this ring"),
    (
        "belt",
        {"rigid_ring.1.offset_mm": 3.0},
        "rigid_ring[2].offset_mm",
        "faces of base and output overlap.*at least 7 mm",
    ),
    ("belt", {"rigid_ring.1.offset_mm": 12.0}, "rigid_ring[2].offset_mm", "beyond the flexible ring's teeth"),
    ("belt", {"rigid_ring.1.row": 2}, "rigid_ring[2].row", "no second tooth row"),
    ("belt", {"rigid_ring.1.name": "base"}, "rigid_ring[2].name", "name is taken"),
    ("belt", {"rigid_ring.1.name": "generator"}, "rigid_ring[2].name", "name is taken"),
    ("belt", {"rigid_ring.1.bolt": "M7"}, "rigid_ring[2].bolt", "no bolt of this name"),
    ("belt", {"motion.read": "base"}, "motion", "must be three members"),
    ("belt", {"duty.0.peak_torque_Nm": 0.01}, "duty[1].peak_torque_Nm", "below the steady torque"),
    ("belt", {"process.extrusion_width_mm": 1.2}, "process.extrusion_width_mm", "0.24 to 1 mm for this nozzle"),
]


@pytest.mark.parametrize(("kind", "changes", "place", "words"), REFUSED, ids=lambda value: str(value)[:40])
def test_refused(kind: str, changes: Change, place: str, words: str) -> None:
    with pytest.raises(DesignFault, match=words) as caught:
        design_from_data(changed(kind, changes))
    assert place in [fault.place for fault in caught.value.faults]


def test_a_cup_has_one_ring_and_an_open_ring_two() -> None:
    cup = starter_data("printed_cup")
    cup["rigid_ring"].append({**cup["rigid_ring"][0], "name": "other", "offset_mm": 11.0, "width_mm": 1.0})
    with pytest.raises(DesignFault, match="a cup drive has one rigid ring"):
        design_from_data(cup)
    belt = starter_data("belt")
    belt["rigid_ring"] = belt["rigid_ring"][:1]
    with pytest.raises(DesignFault, match="needs two rigid rings"):
        design_from_data(belt)


ALLOWED: list[tuple[str, Change]] = [
    ("belt", teeth(100, 108, 100)),
    ("belt", teeth(24, 26, 24) | {"generator.bearing": "MR63"}),
    ("belt-rollers", {"generator.lobes": 3} | teeth(100, 103, 100)),
    ("printed_ring-cam_plain", {"generator.lobes": 3} | teeth(100, 103, 100)),
    ("belt", {"rigid_ring.1.offset_mm": 7.0}),
    ("belt", {"generator.design_deflection_factor": None, "generator.roller_centre_distance_mm": 39.0}),
    ("printed_ring", {"tooth": {"form": "trapezoid"}}),
    ("belt", {"flexible_ring.measured": {"tooth_height_mm": 1.25, "total_thickness_mm": 2.5, "cord_offset_mm": 0.4}}),
    ("printed_ring", {"tooth": {"form": "double_arc"}}),
]


@pytest.mark.parametrize(("kind", "changes"), ALLOWED, ids=lambda value: str(value)[:40])
def test_allowed(kind: str, changes: Change) -> None:
    design = design_from_data(changed(kind, changes))
    assert design.lobes in (2, 3)
    assert design.schema_version == 1


def test_a_second_row_of_its_own_count() -> None:
    data = changed(
        "printed_ring", {"flexible_ring.second_row": {"teeth": 104, "width_mm": 11.0}, "flexible_ring.width_mm": 11.0}
    )
    data["rigid_ring"][1] |= {"teeth": 106, "row": 2, "offset_mm": 11.0}
    design = design_from_data(data)
    assert (design.row_teeth(1), design.row_teeth(2)) == (100, 104)
    data["rigid_ring"][1]["teeth"] = 105
    with pytest.raises(DesignFault, match="104 or 106 or 108"):
        design_from_data(data)


def test_every_rule_is_heard_at_once() -> None:
    changes = teeth(100, 101, 100) | {"motion.read": "nobody", "duty.0.peak_torque_Nm": 0.01, "rigid_ring.0.bolt": "M7"}
    with pytest.raises(DesignFault) as caught:
        design_from_data(changed("belt", changes))
    places = {fault.place for fault in caught.value.faults}
    assert places == {"rigid_ring[1].teeth", "motion.read", "duty[1].peak_torque_Nm", "rigid_ring[1].bolt"}
