"""What must be true of any loaded drive: forces are the slope of one energy, torques balance, sides and sizes are alike."""

import dataclasses
import math
from dataclasses import replace

import numpy as np
import pytest

from lobewright.assessment.stiffness import loaded_drive
from lobewright.errors import ConvergenceFault, DesignFault
from lobewright.torque import kernel
from lobewright.torque.ask import load_share, skip, windup
from lobewright.torque.field import distance_field, field_full
from lobewright.torque.inputs import LoadInputs, estimated_inputs
from lobewright.torque.linear import solve_ring
from lobewright.torque.model import build_numbers
from lobewright.torque.rest import prepare

TORQUE_NMM = 3000.0


@pytest.fixture(scope="module")
def printed(assessed_starter):
    """The printed ring on two rollers with its estimated stiffnesses."""
    drive = loaded_drive(assessed_starter("printed_ring-rollers"))
    return drive, estimated_inputs(drive)


def belt_inputs(drive):
    """Invented round figures of a belt: nothing here is measured."""
    return LoadInputs(
        bending_stiffness_nmm2=tuple(20.0 * row.width_mm for row in drive.rows),
        axial_stiffness_n=tuple(6000.0 * row.width_mm for row in drive.rows),
        wall_modulus_mpa=tuple(2500.0 for _ in drive.rows),
        tooth_stiffness_n_per_mm2=tuple(50.0 for _ in drive.rows),
        flank_bed_n_per_mm3=60.0,
        arm_stiffness_n_per_mm=1000.0,
        bed_n_per_mm3=50.0,
        carrier_stiffness_n_per_mm=5000.0,
        web_tangential_n_per_mm2=5.0,
        web_radial_n_per_mm2=5.0,
    )


# --- the pieces ---------------------------------------------------------------------------------------------------


def test_cyclic_solve_and_inertia_against_dense():
    rng = np.random.default_rng(5)
    for count, size in ((5, 3), (9, 6)):
        diagonal = rng.standard_normal((count, size, size))
        diagonal = diagonal + diagonal.transpose(0, 2, 1) + 3.0 * np.eye(size)
        upper = rng.standard_normal((count, size, size))
        dense = np.zeros((count * size, count * size))
        for i in range(count):
            j = (i + 1) % count
            dense[i * size : (i + 1) * size, i * size : (i + 1) * size] += diagonal[i]
            dense[i * size : (i + 1) * size, j * size : (j + 1) * size] += upper[i]
            dense[j * size : (j + 1) * size, i * size : (i + 1) * size] += upper[i].T
        rhs = rng.standard_normal((count, size, 4))
        found, negative = solve_ring(diagonal, upper, rhs)
        wanted = np.linalg.solve(dense, rhs.reshape(-1, 4)).reshape(rhs.shape)
        assert np.abs(found - wanted).max() < 1e-8 * np.abs(wanted).max()
        assert negative == int((np.linalg.eigvalsh(dense) < 0.0).sum()) > 0


def test_distance_field_is_the_distance_on_flanks_and_its_slope_is_one(printed):
    space = printed[0].rows[0].space
    field = distance_field(space, 1.0, 0.5)
    inside = space.radius_mm[len(space.radius_mm) // 3 : -len(space.radius_mm) // 4]
    right, _ = space.bounds_at(inside)
    for radius, angle in zip(inside, right, strict=True):
        row = (radius - field.first_radius_mm) / field.radius_step_mm
        d, d_r, d_c, *_ = field_full(field.samples_mm, row, angle / field.angle_step_rad)
        slope = math.hypot(d_r / field.radius_step_mm, d_c / field.angle_step_rad / radius)
        assert abs(d) < 5e-4
        assert slope == pytest.approx(1.0, abs=0.02)


def test_forces_and_tangent_are_slopes_of_the_energy(printed):
    """Directional differences at a loaded state with arms, carrier, lean and turns all moving."""
    drive, inputs = printed
    made = prepare(drive, inputs)
    rng = np.random.default_rng(2)
    state = made.rest.copy()
    state.extra[-1] += 0.012
    state.lean += 1e-5 * rng.standard_normal(state.lean.shape)
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
    for row in range(made.rows):
        teeth = int(made.numbers.teeth[row])
        node, side = made.numbers.tooth_node[row, :teeth], here.lean_coupling[row, :teeth]
        moved = (
            np.einsum("tc,tc->t", side[:, :3], q[node, 3 * row : 3 * row + 3]) + side[:, 3] * extra[made.ring_at[row]]
        )
        back = moved / here.lean_stiffness[row, :teeth] + lean[row, :teeth]
        change[node, 3 * row : 3 * row + 3] += side[:, :3] * back[:, None]
    measured = (up.residual - down.residual) / (2 * step)
    assert np.abs(measured - change).max() < 1e-4 * np.abs(measured).max()


# --- balances -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("torque_nmm", [1.0, TORQUE_NMM, -TORQUE_NMM])
def test_outside_torques_and_forces_balance(printed, torque_nmm):
    share = load_share(*printed, torque_nmm)
    assert share.torque_nmm == pytest.approx(torque_nmm, rel=1e-6)
    assert share.member_torque_nmm["output"] == pytest.approx(torque_nmm, rel=1e-6)
    assert share.health.torque_error_share < 1e-6
    assert share.health.force_error_n < 1e-6 * max(abs(torque_nmm) / 48.0, 1.0)
    for row in share.rows:
        assert row.torque_nmm.sum() == pytest.approx(share.member_torque_nmm[row.name], rel=1e-9)
    # what rollers and carrier feel is one force
    total = share.body_force_n.sum(axis=(0, 1))
    assert np.abs(total - share.carrier_force_n).max() < 1e-6 * np.abs(share.body_force_n).max()


def test_mean_torques_over_a_mesh_period_follow_the_kinematics(printed):
    """Held base 102, read output 100: without friction the base's mean torque is −102/100 of the output's."""
    drive, inputs = printed
    period = 2.0 * math.pi / drive.rows[0].outline.teeth
    shares = [load_share(drive, inputs, TORQUE_NMM, turn_rad=period * i / 12) for i in range(12)]
    base = np.array([s.member_torque_nmm["base"] for s in shares])
    driven = np.array([s.member_torque_nmm["generator"] for s in shares])
    assert abs(base.mean() / (-1.02 * TORQUE_NMM) - 1.0) < 1e-4
    assert abs(driven.mean() - 0.02 * TORQUE_NMM) < 1e-4 * TORQUE_NMM
    assert np.ptp(base) > 1e-4 * TORQUE_NMM, "the torque ripples, so the mean says something"


# --- neutrality ---------------------------------------------------------------------------------------------------


def test_both_directions_are_mirror_images_when_nothing_is_off_centre(printed):
    drive, inputs = printed
    curve = windup(drive, replace(inputs, run_out_share=0.0), TORQUE_NMM)
    assert curve.windup_rad[0] == pytest.approx(-curve.windup_rad[-1], rel=1e-3)
    assert curve.torque_nmm[0] == pytest.approx(-TORQUE_NMM, rel=1e-9)
    assert (np.diff(curve.windup_rad) >= 0.0).all()
    assert curve.free_play_rad < curve.lost_motion_rad < curve.windup_rad[-1] - curve.windup_rad[0]


def test_turning_the_generator_by_a_tooth_changes_nothing(printed):
    drive, inputs = printed
    pitch = 2.0 * math.pi / drive.rows[0].outline.teeth
    first, turned = (load_share(drive, inputs, TORQUE_NMM, turn_rad=pitch * k) for k in (0, 7))
    assert turned.windup_rad == pytest.approx(first.windup_rad, rel=1e-6)
    for a, b in zip(first.rows, turned.rows, strict=True):
        assert np.abs(np.roll(a.force_n, 7) - b.force_n).max() < 1e-4 * a.force_n.max()


def scaled(item, by):
    """A dataclass with every length multiplied; lengths are known by their names."""
    changes = {}
    for field in dataclasses.fields(item):
        value = getattr(item, field.name)
        if dataclasses.is_dataclass(value) and not isinstance(value, type):
            changes[field.name] = scaled(value, by)
        elif isinstance(value, tuple) and value and dataclasses.is_dataclass(value[0]):
            changes[field.name] = tuple(scaled(part, by) for part in value)
        elif field.name == "curvature_1_per_mm":
            changes[field.name] = value / by
        elif field.name.endswith("_mm"):
            changes[field.name] = value * by
    return replace(item, **changes)


def test_size_and_modulus_scale_out(printed):
    """Twice the size and three times the modulus: torque × 24 at the same windup, forces × 12."""
    drive, inputs = printed
    size, modulus = 2.0, 3.0
    large = replace(
        inputs,
        bending_stiffness_nmm2=tuple(modulus * size**4 * v for v in inputs.bending_stiffness_nmm2),
        axial_stiffness_n=tuple(modulus * size**2 * v for v in inputs.axial_stiffness_n),
        tooth_stiffness_n_per_mm2=tuple(modulus * v for v in inputs.tooth_stiffness_n_per_mm2),
        flank_bed_n_per_mm3=modulus / size * inputs.flank_bed_n_per_mm3,
        arm_stiffness_n_per_mm=modulus * size * inputs.arm_stiffness_n_per_mm,
        bed_n_per_mm3=modulus / size * inputs.bed_n_per_mm3,
        carrier_stiffness_n_per_mm=modulus * size * inputs.carrier_stiffness_n_per_mm,
        web_tangential_n_per_mm2=modulus * inputs.web_tangential_n_per_mm2,
        web_radial_n_per_mm2=modulus * inputs.web_radial_n_per_mm2,
    )
    factor = modulus * size**3
    small, big = load_share(drive, inputs, TORQUE_NMM), load_share(scaled(drive, size), large, factor * TORQUE_NMM)
    assert big.windup_rad == pytest.approx(small.windup_rad, rel=1e-6)
    assert (
        np.abs(big.body_force_n - modulus * size**2 * small.body_force_n).max() < 1e-3 * np.abs(big.body_force_n).max()
    )


# --- limits and refusals --------------------------------------------------------------------------------------------


def test_a_skip_is_the_top_of_its_path_and_in_balance(printed):
    found = skip(*printed)
    fallen = found.direction * found.path_torque_nmm[-1]
    assert found.lower_bound or fallen < 0.9 * found.torque_nmm
    assert found.path_torque_nmm.max() == pytest.approx(found.torque_nmm)
    assert found.health.torque_error_share < 1e-6
    assert found.gives_way == "arm gives"


def test_a_torque_beyond_the_skip_is_refused_with_the_places_so_far(printed):
    drive, inputs = printed
    soft = replace(inputs, arm_stiffness_n_per_mm=300.0)
    with pytest.raises(ConvergenceFault, match="skips") as caught:
        load_share(drive, soft, 1e6)
    places = caught.value.last_good
    assert len(places) > 5
    assert all(math.isfinite(place.torque_nmm) for place in places)


def test_a_belt_like_drive_winds_up_and_skews(assessed_starter):
    drive = loaded_drive(assessed_starter("belt-discs"))
    inputs = belt_inputs(drive)
    curve = windup(drive, inputs, 1000.0)
    assert curve.health.torque_error_share < 1e-6
    share = load_share(drive, inputs, 1000.0)
    # the web carries the whole torque from one row to the other
    pull = inputs.web_tangential_n_per_mm2 * share.skew_mm * 2.0 * math.pi * drive.geometry.neutral_radius_mm**2
    assert abs(pull.mean()) == pytest.approx(1000.0, rel=0.03)
    assert np.abs(share.roll_mm).max() > 0.0


def test_bad_input_is_named(assessed_starter, printed):
    belt = loaded_drive(assessed_starter("belt-discs"))
    with pytest.raises(DesignFault, match="belt"):
        estimated_inputs(belt)
    drive, inputs = printed
    with pytest.raises(DesignFault, match="arm_stiffness_n_per_mm"):
        replace(inputs, arm_stiffness_n_per_mm=0.0)
    with pytest.raises(DesignFault, match="torque"):
        windup(drive, inputs, math.nan)
    with pytest.raises(DesignFault, match="one value a row"):
        load_share(drive, replace(inputs, axial_stiffness_n=(1e4,)), 10.0)
    with pytest.raises(DesignFault, match="2 rigid rings"):
        load_share(replace(drive, rows=drive.rows[:1]), inputs, 10.0)


def test_teeth_between_nodes_stand_where_their_label_says(printed):
    """On the undeformed circle, also where nodes are no multiple of the teeth (a second row of another count)."""
    drive, inputs = printed
    numbers, _ = build_numbers(drive, inputs, 230, 0.0)
    q = np.zeros((230, 6))
    for tooth in range(100):
        _, _, _, x, y, c, s = kernel.tooth_frame(q, 1, tooth, numbers)
        label = 2.0 * math.pi * tooth / 100
        assert np.allclose([x, y, c, s], [math.cos(label), math.sin(label)] * 2, atol=1e-12)
