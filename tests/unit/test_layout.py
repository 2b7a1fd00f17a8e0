"""The layout of the assembly: clearances along the axis, and what is refused before any CAD."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from lobewright.assessment.results import Assessment
from lobewright.assessment.run import assess
from lobewright.design.files import design_from_data
from lobewright.errors import CatalogueFault, DesignFault
from lobewright.make.hub import HEXAGON_SHARE, hub_shear_mpa
from lobewright.make.layout import ROOM_MM, generator_reach_mm, layout

PRINTER = {
    "kind": "printer",
    "nozzle_mm": 0.4,
    "extrusion_width_mm": 0.42,
    "layer_mm": 0.2,
    "bed_mm": [220.0, 220.0, 250.0],
}
DATA = {
    "schema_version": 1,
    "name": "invented belt",
    "process": PRINTER,
    "flexible_ring": {"kind": "belt", "designation": "C3M", "teeth": 80, "width_mm": 15.0},
    "tooth": {"form": "belt"},
    "generator": {"kind": "paired_rollers", "bearing": "625", "design_deflection_factor": 1.0},
    "rigid_ring": [
        {"name": "base", "teeth": 82, "width_mm": 7.0, "clearance_mm": 0.12, "rim_mm": 9.0},
        {"name": "output", "teeth": 80, "width_mm": 7.0, "offset_mm": 8.0, "clearance_mm": 0.12, "rim_mm": 9.0},
    ],
    "motion": {"fixed": "base", "driven": "generator", "read": "output"},
    "duty": [{"name": "turn", "torque_Nm": 1.0, "peak_torque_Nm": 2.0, "speed_rpm": 1.0, "hours": 10.0}],
}


@cache
def belt() -> Assessment:
    return assess(design_from_data(DATA))


def changed(**rest: object) -> Assessment:
    """The drive with other keys; rings and mesh stay as they were assessed."""
    return replace(belt(), design=design_from_data(DATA | rest))


def test_what_turns_keeps_clear_of_what_stands() -> None:
    l = layout(belt())  # noqa: E741
    reach = generator_reach_mm(belt().design)
    assert l.generator_bottom_mm - reach - ROOM_MM >= -l.distance_mm - 1e-9
    assert l.output_z_mm + l.output_distance_mm - l.axle_front_mm >= ROOM_MM - 1e-9
    outer = belt().rings[0].space.root_radius_mm + 9.0
    assert math.hypot(*l.ties_mm[0]) - outer >= ROOM_MM + 5.0 - 1e-9
    assert l.axle_rear_mm < l.boss_back_mm < l.rear_back_mm < -l.distance_mm < 0.0
    assert l.output_front_mm < l.front_z_mm < l.front_boss_mm < l.flange_rear_mm < l.mark_z_mm < l.flange_front_mm


def test_a_drive_that_is_held_at_its_other_ring_is_seen_from_the_other_side() -> None:
    motion = {"fixed": "output", "driven": "generator", "read": "base"}
    one, other = layout(belt()), layout(changed(motion=motion))
    assert other.flexible_over and not one.flexible_over
    assert other.flexible_open_z_mm == 15.0  # its open edge is 8 + 7 from the held ring's far face
    assert other.output_z_mm == one.output_z_mm == 15.0
    assert other.generator_bottom_mm == pytest.approx(one.generator_bottom_mm)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"output_bearing": {"bearing": "6206", "count": 2, "spacing_mm": 400.0}}, ""),
        (
            {"output_bearing": {"bearing": "6001", "count": 2, "spacing_mm": 30.0}, "peak": 20.0},
            "the output's hub through",
        ),
        ({"assembly": {"input_bearing": "625"}}, "does not fit the axle"),
        ({"bolts": 2}, "cannot be bolted"),
        ({"rim_mm": 5.0}, "cannot be bolted"),
        ({"output_bearing": {"bearing": "623", "count": 1}}, "no hub of ours"),
        ({"motion": {"fixed": "generator", "driven": "base", "read": "output"}}, "only drives whose generator"),
    ],
)
def test_what_cannot_be_is_refused(change: dict[str, object], words: str) -> None:
    change = dict(change)
    peak, ring = change.pop("peak", None), {k: change.pop(k) for k in ("bolts", "rim_mm") if k in change}
    if peak:
        change["duty"] = [DATA["duty"][0] | {"peak_torque_Nm": peak}]  # type: ignore[index]
    if ring:
        change["rigid_ring"] = [one | ring for one in DATA["rigid_ring"]]  # type: ignore[attr-defined]
    if not words:
        assert layout(changed(**change)).output_spacing_mm == 400.0
        return
    with pytest.raises(DesignFault, match=words):
        layout(changed(**change))


def test_a_bearing_that_is_in_no_catalogue_is_refused() -> None:
    with pytest.raises(CatalogueFault):
        layout(changed(assembly={"input_bearing": "no such"}))


def test_the_hexagon_bears_what_prandtls_function_says() -> None:
    """Finite differences: Δφ = −2, T = 2 ∫ φ, largest slope of φ in the middle of a flat; across flats 1."""
    corner, h = 1 / math.sqrt(3), 0.5 / 48
    y, x = np.mgrid[-0.5 : 0.5 + h / 2 : h, -corner - h : corner + h : h]
    inside = (np.abs(y) < 0.5 - 1e-9) & (np.abs(x) * math.sqrt(3) / 2 + np.abs(y) / 2 < 0.5 - 1e-9)
    phi = np.zeros_like(x)
    omega = 1.93
    red = (np.add.outer(np.arange(x.shape[0]), np.arange(x.shape[1])) % 2).astype(bool)
    for _ in range(250):
        for half in (inside & red, inside & ~red):
            near = np.roll(phi, 1, 0) + np.roll(phi, -1, 0) + np.roll(phi, 1, 1) + np.roll(phi, -1, 1)
            phi = np.where(half, phi + omega * ((near + 2 * h * h) / 4 - phi), phi)
    torque = 2 * phi.sum() * h * h
    column = int(np.argmin(np.abs(x[0])))
    slope = (4 * phi[1, column] - phi[2, column]) / (2 * h)
    assert torque / slope == pytest.approx(HEXAGON_SHARE, rel=0.02)
    assert hub_shear_mpa(HEXAGON_SHARE * 1e3, 10.0, 0.0) == pytest.approx(1.0)
