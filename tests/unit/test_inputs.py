"""What turns the generator, and the seats with ribs: sizes against closed forms, told by the notes."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest

from lobewright.assessment.results import Assessment
from lobewright.assessment.run import assess
from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.design.holding import axle
from lobewright.design.motor_flange import motor_flange
from lobewright.design.workshop import MeasuredSkip, OwnedMotor, Workshop
from lobewright.errors import DesignFault
from lobewright.make.bodies import Feature
from lobewright.make.crush_ribs import OPENED_MM, RIB_HEIGHT_MM, RIBS, seat
from lobewright.make.layout import layout
from lobewright.make.parts_adjustable import (
    MARK_PITCH_MM,
    adjustable_parts,
    marks_mm,
    run_of,
    scale_of,
)
from lobewright.make.parts_arms import arm_parts, round_torques_Nm, weights_g
from lobewright.make.parts_inputs import input_parts, motor_note
from lobewright.make.placing import Placed
from lobewright.published.designs import belt_drive
from lobewright.ring.generator import setting_for, shape_on


def test_a_ribbed_seat_holds_by_six_crests_and_is_clear_elsewhere() -> None:
    loop = seat(22.0, True, 3.0, -4.0)
    points = loop.contour.sampled(1e-5) - (3.0, -4.0)
    reach = np.hypot(*points.T)
    assert reach.min() == pytest.approx(11.0 + OPENED_MM - RIB_HEIGHT_MM, abs=1e-4)
    assert reach.max() == pytest.approx(11.0 + OPENED_MM, abs=1e-4)
    # Where a ring of 22 mm overlaps the outline stand the crests, and nowhere else.
    inside = reach < 11.0
    assert np.count_nonzero(inside & ~np.roll(inside, 1)) == RIBS
    assert loop.feature is Feature.SEAT
    assert loop.area_mm2 < math.pi * (11.0 + OPENED_MM) ** 2


def test_a_plain_seat_is_the_bearing_s_circle() -> None:
    assert seat(22.0, False).contour.is_circle
    assert seat(22.0, False).contour.area_mm2 == pytest.approx(math.pi * 121, rel=1e-9)


def test_no_ribs_in_a_tiny_seat() -> None:
    with pytest.raises(DesignFault, match="too small for crush ribs"):
        seat(5.0, True)


@cache
def _base() -> Assessment:
    design = belt_drive("C3M", 100)
    rings = tuple(ring.model_copy(update={"rim_mm": 9.0}) for ring in design.rigid_ring)
    return assess(design.model_copy(update={"rigid_ring": rings}))


def _with(owned: Workshop | None = None, duty_Nm: float = 1.0, **assembly: Any) -> Assessment:
    a = _base()
    step = m.DutyStep(name="turn", torque_Nm=duty_Nm, peak_torque_Nm=duty_Nm, speed_rpm=1.0, hours=1.0)
    assembled = m.Assembly(**assembly)
    return replace(a, design=a.design.model_copy(update={"owned": owned, "duty": (step,), "assembly": assembled}))


def _named(placed: tuple[Placed, ...], name: str) -> Placed:
    return next(one for one in placed if one.part.name == name)


STRONG = OwnedMotor(name="stepper", holding_torque_Nm=0.45, shaft_mm=5.0)


def test_a_motor_is_weighed_against_duty_and_skip_torque() -> None:
    owned = Workshop(schema_version=1, motors=(STRONG,))
    assert "22.5 N·m at the output" in motor_note(_with(owned), STRONG)
    assert "the rated 1 N·m need 0.02 N·m" in motor_note(_with(owned), STRONG)
    assert "not known here" in motor_note(_with(owned), STRONG)
    assert "TOO WEAK" in motor_note(_with(owned, duty_Nm=30.0), STRONG)
    assert "keep it below 20 %" in motor_note(_with(owned), STRONG, skip_Nm=4.5)
    assert "STRONGER" not in motor_note(_with(owned), STRONG, skip_Nm=23.0)
    measured = MeasuredSkip(design="evidence: belt drive", torque_Nm=9.0, uncertainty_Nm=0.5)
    known = _with(owned.model_copy(update={"skip_torque": (measured,)}))
    assert "keep it below 40 %" in motor_note(known, STRONG)


def test_the_workshop_s_motor_gives_the_clamp_its_bore() -> None:
    for motors, bore in (((STRONG,), 5.0), ((), 8.0)):
        a = _with(Workshop(schema_version=1, motors=motors), input=m.Input.CLAMP)
        hub = _named(input_parts(a, layout(a)), "shaft_clamp").part
        rear, front = hub.body.pieces
        flank = hub.body.drills[0].length_mm
        assert flank == pytest.approx(5.75)
        inner = [np.hypot(*piece.outer.contour.sampled(1e-4).T).min() for piece in (rear, front)]
        assert inner == pytest.approx([bore / 2, 4.0], abs=1e-3)


def test_a_motor_s_shaft_ends_where_the_axle_ends() -> None:
    a = _with(input=m.Input.STEPPER_23)
    lay = layout(a)
    placed = input_parts(a, lay)
    motor = _named(placed, "motor")
    end = motor.places[0].z_mm + max(piece.top_mm for piece in motor.part.body.pieces)
    assert end == pytest.approx(lay.axle_rear_mm - 1.0)
    assert "no motor with a shaft of ø6.35 mm" in _named(placed, "motor_plate").part.note


@pytest.mark.parametrize(("size", "hole_in"), [(17, None), (23, 0.195)])
def test_a_motor_s_bolts_pass_the_narrowest_holes_of_its_size(size: int, hole_in: float | None) -> None:
    """Size 23 has clearance holes of 0.195 in in the table (4.95 mm): an M5 does not pass; size 17 has threads."""
    flange = motor_flange(size)
    assert flange.through == (hole_in is not None)
    if hole_in is not None:
        bolt = catalogue.bolt(flange.bolt)
        assert bolt.diameter_mm < hole_in * 25.4 < catalogue.bolt("M5").diameter_mm
        # Head and nut bear beside the hole of 5.1 mm that is often drilled.
        assert min(bolt.head_diameter_mm, bolt.nut_across_flats_mm) > 5.1 + 1.5


def test_marks_meet_where_the_ring_has_their_deflection() -> None:
    a = _with(adjustable=True)
    scale = scale_of(a)
    carrier, slider = marks_mm(scale)
    assert len(carrier) >= 5 and np.diff(carrier) == pytest.approx(MARK_PITCH_MM)
    for k, w in enumerate(scale.deflections_mm):
        # Slide the axle until mark k meets, and lay the ring on rollers that stand there.
        distance = carrier[k] - slider[k]
        known = setting_for(a.design, a.geometry, a.set_deflection_mm)
        shape = shape_on(replace(known, distance_mm=distance), a.geometry.neutral_radius_mm)
        assert shape.deflection_mm == pytest.approx(w, abs=1e-6)
        others = np.delete(np.abs(carrier - (slider + distance)), k)
        assert others.min() > 0.9 * a.design.process.tolerance_mm


def test_the_set_screw_reaches_the_tightest_mark_and_its_head_stays_in_the_window() -> None:
    a = _with(adjustable=True)
    scale = scale_of(a)
    held = axle(catalogue.bearing("625"))
    run, shank = run_of(scale, held), held.bolt.diameter_mm / 2
    assert scale.distances_mm[-1] - shank - run.screw_mm < run.window_out
    assert scale.distances_mm[0] - shank - run.screw_mm - 2.0 > run.window_in
    names = {part.name: part for part in adjustable_parts(a)}
    assert names["slider"].quantity == names["set_screw"].quantity == 8


def test_a_generator_without_rollers_or_room_is_refused() -> None:
    a = _with(adjustable=True)
    cam = m.Cam(kind="cam", curve=m.CamCurve.ELLIPSE, under=m.CamUnder.PLAIN)
    with pytest.raises(DesignFault, match="only roller generators"):
        adjustable_parts(replace(a, design=a.design.model_copy(update={"generator": cam})))
    small = assess(belt_drive("C2M", 60))
    with pytest.raises(DesignFault, match="too small for set screws"):
        adjustable_parts(small)


def test_weights_make_round_torques() -> None:
    # 1 kg at 0.5 m is 4.903 N·m.
    assert weights_g(4.903325, 500.0) == pytest.approx(1000.0)
    assert round_torques_Nm(2.5) == pytest.approx((0.5, 1.0, 1.5, 2.0, 2.5))
    assert round_torques_Nm(0.05) == pytest.approx((0.01, 0.02, 0.03, 0.04, 0.05))
    assert all(len(round_torques_Nm(most)) <= 8 for most in (0.07, 0.9, 7.3, 8.0, 81.0))


def test_the_arm_s_notches_stand_at_its_length() -> None:
    a = _with(arm_mm=120.0)
    arm = _named(arm_parts(a, layout(a)), "test_arm").part
    points = arm.body.pieces[0].outer.contour.points_mm
    inside = [
        p for p, q, r in zip(points, np.roll(points, 1, 0), np.roll(points, -1, 0), strict=True) if _bent_in(q, p, r)
    ]
    assert sorted(p[1] > 0 for p in inside) == [False, True]
    # Cut square to an edge that leans by a few degrees, the V's bottom is off by its depth times that.
    assert [p[0] for p in inside] == pytest.approx([120.0, 120.0], abs=0.3)


def _bent_in(before: np.ndarray, at: np.ndarray, after: np.ndarray) -> bool:
    a, b = at - before, after - at
    return bool(a[0] * b[1] - a[1] * b[0] < -1e-6)
