"""Substitutes of the drawer: only for what is lacking, each assessed anew, its cost told as it is."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

import pytest

from lobewright.assessment.results import Assessment
from lobewright.assessment.run import assess
from lobewright.design.edits import apply
from lobewright.design.files import design_from_data
from lobewright.design.starters import starter_data
from lobewright.design.workshop import Workshop
from lobewright.make.drawer import Need
from lobewright.make.substitutes import NMM_PER_NM, numbers, substitutes


@pytest.fixture(scope="module")
def belt() -> Assessment:
    return assess(design_from_data(starter_data("belt-paired_rollers")))


def with_drawer(a: Assessment, **rows: Any) -> Assessment:
    drawer = Workshop.model_validate_json(json.dumps({"schema_version": 1, **rows}))
    return replace(a, design=a.design.model_copy(update={"owned": drawer}))


def owned(a: Assessment, **change: Any) -> dict[str, Any]:
    ring = a.design.flexible_ring
    return {"designation": ring.designation, "teeth": ring.teeth, "width_mm": ring.width_mm, "count": 1, **change}


def test_nothing_is_offered_for_what_is_there(belt: Assessment) -> None:
    size = belt.design.rigid_ring[0].bolt
    a = with_drawer(
        belt,
        belts=[owned(belt)],
        bearings=[{"designation": belt.design.generator.bearing, "count": 99}, {"designation": "608", "count": 99}],
        bolts=[{"size": size, "length_mm": 16.0, "count": 99}, {"size": "M5", "length_mm": 16.0, "count": 99}],
    )
    assert substitutes(a) == ()
    assert substitutes(belt) == substitutes(with_drawer(belt)) == ()


def test_a_shorter_belt_keeps_the_tooth_differences(belt: Assessment) -> None:
    fewer = belt.design.flexible_ring.teeth - 5
    (one,) = substitutes(with_drawer(belt, belts=[owned(belt, teeth=fewer)]))
    made = apply(belt.design, one.edits)
    assert made.flexible_ring.teeth == fewer
    before = [ring.teeth - belt.design.flexible_ring.teeth for ring in belt.design.rigid_ring]
    assert [ring.teeth - fewer for ring in made.rigid_ring] == before
    # The same bend on a smaller ring: the strain grows about as the square of the radius falls.
    assert one.after is not None and one.after.strain_percent > one.before.strain_percent
    assert one.after == numbers(assess(made))
    share = fewer / belt.design.flexible_ring.teeth
    assert one.after.ratio == pytest.approx(one.before.ratio * share)
    assert f"ratio {one.before.ratio:.1f}".replace("-", "−") in one.cost


def test_another_roller_is_compared_anew(belt: Assessment) -> None:
    a = with_drawer(belt, bearings=[{"designation": "608-2RS", "count": 3}, {"designation": "6205", "count": 30}])
    (one,) = [row for row in substitutes(a) if row.taken == "608"]
    assert one.have == 3 and "you own 3 of" in one.drawer
    assert [edit.place for edit in one.edits] == ["generator.bearing"]
    again = assess(apply(a.design, one.edits))
    states = {v.name: v.state for v in again.verdicts}
    assert all(states.get(change.name) == change.second for change in one.changes)
    assert "6205" not in {row.taken for row in substitutes(a)}, "far larger bearings are no substitute"


def test_what_serves_elsewhere_is_not_to_spare(belt: Assessment) -> None:
    a = with_drawer(belt, bearings=[{"designation": "608", "count": 9}])
    axle = Need("bearing of the axle", "608", 2, have=2)
    roller = Need("roller", belt.design.generator.bearing, 8)
    (one,) = [row for row in substitutes(a, (axle, roller)) if row.taken == "608"]
    assert (one.have, one.used) == (7, 2) and "2 more are used elsewhere" in one.drawer


def test_what_cannot_be_says_why(belt: Assessment) -> None:
    (one,) = substitutes(with_drawer(belt, belts=[owned(belt, teeth=20)]))
    assert one.after is None and one.refused in one.sentence and "cannot be: " in one.sentence


def test_another_screw_size_is_an_edit_of_every_ring(belt: Assessment) -> None:
    size = belt.design.rigid_ring[0].bolt
    other = "M4" if size != "M4" else "M5"
    a = with_drawer(belt, bolts=[{"size": other, "length_mm": 16.0, "count": 99}])
    (one,) = [row for row in substitutes(a) if row.taken == other]
    assert {edit.value for edit in one.edits} == {other} and len(one.edits) == len(belt.design.rigid_ring)


def test_torque_is_walked_only_when_asked_for(belt: Assessment, monkeypatch: pytest.MonkeyPatch) -> None:
    class Found:
        torque_nmm = 1500.0

    monkeypatch.setattr("lobewright.make.substitutes.skip", lambda drive, inputs: Found())
    monkeypatch.setattr("lobewright.make.substitutes.stiffnesses", lambda drive: type("S", (), {"inputs": None})())
    assert numbers(belt).skip_torque_nm is None
    assert numbers(belt, torque=True).skip_torque_nm == pytest.approx(1500.0 / NMM_PER_NM)
