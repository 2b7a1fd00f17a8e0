"""States and limits that a careful reader once found missing; each was seen failing before it was mended."""

from __future__ import annotations

import math
from typing import Any

import pytest

from lobewright.assessment.run import assess
from lobewright.design.files import design_from_data
from lobewright.design.starters import starter_data
from lobewright.errors import DesignFault
from lobewright.ring.geometry import nominal_deflection_mm
from lobewright.verdict import State


def changed(kind: str, **places: Any) -> dict[str, Any]:
    data = starter_data(kind)
    for place, value in places.items():
        at: Any = data
        *path, last = place.split("__")
        for part in path:
            at = at[int(part)] if part.isdigit() else at[part]
        at[last] = value
    return data


def test_depth_in_mesh_is_judged_as_set_and_not_as_designed() -> None:
    found = assess(design_from_data(changed("belt", generator__set_deflection_mm=0.5)))
    output = next(mesh for mesh in found.rings if mesh.name == "output")
    assert output.least_engagement_mm < 0.25 * output.outline.height_mm
    assert found.verdict("engagement:output").state is State.FAIL


def test_rollers_have_no_fit() -> None:
    with pytest.raises(DesignFault, match="rollers have no fit"):
        design_from_data(changed("belt", generator__fit_mm=0.9))


def test_deflection_shown_is_what_the_fit_leaves() -> None:
    found = assess(design_from_data(changed("printed_ring-cam_plain", generator__fit_mm=0.6)))
    assert found.set_shape.deflection_mm == pytest.approx(found.set_deflection_mm - 0.6 / (2 * math.pi), abs=2e-3)


def test_free_play_counts_only_rings_between_the_members_in_use() -> None:
    both = assess(design_from_data(changed("belt")))
    held = assess(design_from_data(changed("belt", motion__read="flexible_ring")))
    assert held.output_free_play_rad == held.rings[0].free_play.total_rad < both.output_free_play_rad


def test_a_ring_must_lie_on_its_own_row() -> None:
    data = changed("printed_ring-rollers", flexible_ring__second_row={"teeth": 104, "width_mm": 11.0})
    data["rigid_ring"][1] |= {"row": 2, "teeth": 106, "offset_mm": 10.5}
    with pytest.raises(DesignFault, match="does not lie on tooth row 2"):
        design_from_data(data)


def test_a_second_row_has_a_nominal_deflection_of_its_own_pitch() -> None:
    data = changed("printed_ring-rollers", flexible_ring__second_row={"teeth": 90, "width_mm": 11.0})
    data["rigid_ring"][0]["teeth"] = 100
    data["rigid_ring"][1] |= {"row": 2, "teeth": 92, "offset_mm": 21.5}
    assert nominal_deflection_mm(design_from_data(data)) == pytest.approx(100 / 90)


def test_a_straight_generator_in_a_cup_is_also_tried_at_its_back_edge() -> None:
    found = assess(design_from_data(starter_data("printed_cup")))
    cases = {case.case: case for case in found.rings[0].cases}
    assert cases["bears at back edge"].smallest_gap_mm < cases["as designed"].smallest_gap_mm - 0.02


def test_a_wall_that_cannot_be_printed_fails() -> None:
    found = assess(design_from_data(changed("printed_ring-rollers", flexible_ring__wall_mm=0.3)))
    assert found.verdict("flexible_wall").state is State.FAIL


def test_a_cup_taller_than_the_printer_fails() -> None:
    found = assess(design_from_data(changed("printed_cup", flexible_ring__length_mm=400.0)))
    assert found.verdict("bed").state is State.FAIL


def test_a_belt_of_another_width_is_not_the_one_owned() -> None:
    from lobewright.design.owned import owned_belts
    from lobewright.design.workshop import OwnedBelt, Workshop

    design = design_from_data(starter_data("belt"))
    for width, count, wanted in ((3.0, 4, 0), (15.0, 0, 0), (15.0, 2, 2)):
        row = OwnedBelt(designation="C3M", teeth=100, width_mm=width, count=count)
        owned = design.model_copy(update={"owned": Workshop(schema_version=1, belts=(row,))})
        assert owned_belts(owned) == wanted
