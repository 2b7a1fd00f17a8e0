"""The loaded drive against answers worked out by hand."""

import math
from dataclasses import replace

import numpy as np
import pytest

from lobewright.torque.ask import load_share, windup
from lobewright.torque.inputs import DriveInput, RowInput, estimated_inputs
from lobewright.torque.model import start_nodes
from lobewright.torque.rest import prepare


def drive_of(assessment):
    rows = zip(assessment.rings, assessment.design.rigid_ring, strict=True)
    row_inputs = tuple(RowInput(r.name, r.outline, r.space, ring.width_mm) for r, ring in rows)
    return DriveInput(assessment.design, assessment.geometry, assessment.setting, assessment.set_shape, row_inputs)


@pytest.mark.parametrize(
    ("kind", "most_mm"),
    [
        ("printed_ring-rollers", 2e-3),
        ("printed_ring-paired_rollers", 2e-3),
        ("printed_ring-discs", 2e-3),
        ("printed_ring-cam_thin_bearing", 4e-3),  # the bed under a cam is not set for its give
    ],
)
def test_without_torque_the_ring_has_its_exact_shape(assessed_starter, kind, most_mm):
    """The shape is an unstretched elastica on rigid contacts; here wall, contacts and arms give and are set for it."""
    drive = drive_of(assessed_starter(kind))
    made = prepare(drive, replace(estimated_inputs(drive), run_out_share=0.0))
    wanted = start_nodes(drive, made.nodes, 0.0)
    for row in range(made.rows):
        off = made.rest.q[:, 3 * row : 3 * row + 2] - wanted[:, :2]
        assert np.abs(off).max() * made.radius_mm < most_mm
    arms = made.rest.extra[2 : 2 + len(made.numbers.arm_stiffness)]
    assert np.abs(arms).max(initial=0.0) * made.radius_mm < 1e-6


def test_push_of_one_roller_is_that_of_the_elastica(assessed_starter):
    drive = drive_of(assessed_starter("printed_ring-rollers"))
    made = prepare(drive, replace(estimated_inputs(drive), run_out_share=0.0))
    assert made.push == pytest.approx(drive.shape.force_factor, rel=2e-3)


def test_free_play_is_that_of_the_swept_space(assessed_starter):
    """The tooth spaces tell the play of rigid teeth over all positions; one position can have a little more."""
    assessment = assessed_starter("printed_ring-cam_thin_bearing")
    drive = drive_of(assessment)
    curve = windup(drive, estimated_inputs(drive), 500.0)
    assert curve.free_play_rad == pytest.approx(assessment.output_free_play_rad, rel=0.015)


def test_web_between_the_rows_is_a_spring_in_series(assessed_starter):
    """Rows that do not stretch turn against each other as one: the web's stiffness is k·2πR·R² and adds in series."""
    drive = drive_of(assessed_starter("printed_ring-rollers"))
    inputs = estimated_inputs(drive)
    stiff = replace(
        inputs,
        axial_stiffness_n=tuple(1e3 * value for value in inputs.axial_stiffness_n),
        web_radial_n_per_mm2=1000.0,
        run_out_share=0.0,
    )
    give = []
    for web in (2.0, 4.0):
        low, high = (
            load_share(drive, replace(stiff, web_tangential_n_per_mm2=web), torque).windup_rad
            for torque in (3000.0, 6000.0)
        )
        give.append((high - low) / 3000.0)
    circle = 2.0 * math.pi * drive.geometry.neutral_radius_mm**3
    assert give[0] - give[1] == pytest.approx(1.0 / (2.0 * circle) - 1.0 / (4.0 * circle), rel=0.01)
