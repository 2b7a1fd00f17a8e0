"""Errors of making: forces stay slopes of one energy, errors that are motions are motions, bad input is named."""

import math
from dataclasses import replace

import numpy as np
import pytest

from lobewright.errors import DesignFault
from lobewright.torque import kernel
from lobewright.torque.errors_in import NO_ERRORS, DriveErrors, PitchErrors, RingErrors
from lobewright.torque.inputs import DriveInput, RowInput, estimated_inputs
from lobewright.torque.rest import prepare, turned


def drive_of(assessment):
    rows = zip(assessment.rings, assessment.design.rigid_ring, strict=True)
    row_inputs = tuple(RowInput(r.name, r.outline, r.space, ring.width_mm) for r, ring in rows)
    return DriveInput(assessment.design, assessment.geometry, assessment.setting, assessment.set_shape, row_inputs)


@pytest.fixture(scope="module")
def printed(assessed_starter):
    drive = drive_of(assessed_starter("printed_ring-rollers"))
    return drive, estimated_inputs(drive)


ALL_ERRORS = DriveErrors(
    rings=(
        RingErrors(0.05, 0.3, 0.04, 1.1, PitchErrors(0.02, 0.4, 0.01)),
        RingErrors(0.03, 2.0, 0.02, 0.1, PitchErrors(0.01, 0.0, 0.02)),
    ),
    flexible_pitch=(PitchErrors(0.02, 0.2, 0.01), PitchErrors(random_mm=0.02)),
    unequal_lobes_mm=0.05,
    generator_run_out_mm=0.04,
    generator_run_out_rad=0.7,
    seed=4,
)


def check_slopes(made, state, seed=2):
    """Energy, gradient and tangent against each other along one random direction."""
    rng = np.random.default_rng(seed)
    way = [1e-3 * rng.standard_normal(part.shape) for part in (state.q, state.lean, state.extra)]

    def at(step):
        system = kernel.empty_system(made.numbers, made.nodes, len(made.rest.extra))
        parts = [a + step * w for a, w in zip((state.q, state.lean, state.extra), way, strict=True)]
        return kernel.assemble(*parts, state.near, made.numbers, -math.inf, system), system

    step = 1e-6
    (above, up), (below, down), (_, here) = at(step), at(-step), at(0.0)
    slope = np.vdot(here.residual, way[0]) + np.vdot(here.lean_residual, way[1]) + here.extra @ way[2]
    assert (above - below) / (2 * step) == pytest.approx(slope, rel=1e-6)
    q, lean, extra = way
    change = np.einsum("nab,nb->na", here.diagonal, q) + np.einsum("nab,nb->na", here.upper, np.roll(q, -1, axis=0))
    change += np.roll(np.einsum("nba,nb->na", here.upper, q), 1, axis=0) + here.coupling @ extra
    turns = here.extra_block @ extra + np.einsum("nae,na->e", here.coupling, q)
    for row in range(made.rows):
        teeth = int(made.numbers.teeth[row])
        node, side = made.numbers.tooth_node[row, :teeth], here.lean_coupling[row, :teeth]
        ends = list(made.lean_extras(row))
        moved = np.einsum("tc,tc->t", side[:, :3], q[node, 3 * row : 3 * row + 3]) + side[:, 3:] @ extra[ends]
        back = moved / here.lean_stiffness[row, :teeth] + lean[row, :teeth]
        change[node, 3 * row : 3 * row + 3] += side[:, :3] * back[:, None]
        turns[ends] += side[:, 3:].T @ back
    measured = (up.residual - down.residual) / (2 * step)
    assert np.abs(measured - change).max() < 1e-4 * np.abs(measured).max()
    measured = (up.extra - down.extra) / (2 * step)
    assert np.abs(measured - turns).max() < 1e-4 * np.abs(measured).max()


def test_forces_and_tangent_are_slopes_of_the_energy_with_all_errors(printed):
    made = prepare(*printed, errors=ALL_ERRORS)
    state = made.rest.copy()
    state.extra[-1] += 0.012
    state.lean += 1e-5 * np.random.default_rng(3).standard_normal(state.lean.shape)
    check_slopes(made, state)
