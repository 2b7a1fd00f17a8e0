"""Errors of making: forces stay slopes of one energy, errors that are motions are motions, bad input is named."""

import math
from dataclasses import replace

import numpy as np
import pytest

from lobewright.assessment.stiffness import loaded_drive
from lobewright.errors import DesignFault
from lobewright.torque import kernel
from lobewright.torque.ask import FALL, settle_at, wind
from lobewright.torque.errors_in import NO_ERRORS, DriveErrors, PitchErrors, RingErrors
from lobewright.torque.friction_kernel import add_flanks, flank_contacts, flank_places
from lobewright.torque.inputs import estimated_inputs
from lobewright.torque.path import Winder
from lobewright.torque.rest import prepare, turned
from lobewright.torque.rim import estimated_rims
from lobewright.torque.ring_view import centre_of


@pytest.fixture(scope="module")
def printed(assessed_starter):
    drive = loaded_drive(assessed_starter("printed_ring-rollers"))
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


def check_slopes(made, state, seed=2, also=None):
    """Energy, gradient and tangent against each other along one random direction; ``also`` adds to an assembled system."""
    rng = np.random.default_rng(seed)
    way = [1e-3 * rng.standard_normal(part.shape) for part in (state.q, state.lean, state.extra)]

    def at(step):
        system = kernel.empty_system(made.numbers, made.nodes, len(made.rest.extra))
        parts = [a + step * w for a, w in zip((state.q, state.lean, state.extra), way, strict=True)]
        energy = kernel.assemble(*parts, state.near, made.numbers, -math.inf, system)
        return energy + (also(parts, system) if also else 0.0), system

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


def rimmed(drive, inputs):
    """A loaded state of a drive with all errors and rims that give, and what presses on its flanks."""
    made = prepare(drive, replace(inputs, rims=estimated_rims(drive)), errors=ALL_ERRORS)
    state = made.rest.copy()
    state.extra[-1] += 0.012
    ends = [at for row in range(2) for at in made.lean_extras(row)[1:]]
    state.extra[ends] += 1e-4 * np.random.default_rng(1).standard_normal(10)
    return made, state, flank_contacts(state.q, state.lean, state.extra, made.numbers)


def test_rubbing_contacts_press_as_the_teeth_do(printed):
    """What friction takes as normal force and direction is the force of the teeth, also on rings that are not perfect."""
    made, state, (index, value) = rimmed(*printed)
    forces = kernel.tooth_forces(state.q, state.lean, state.extra, made.numbers)
    assert len(index) > 20
    for row in range(2):
        mine = value[index[:, 0] == row]
        # the normal is the direction along the flank turned clockwise; the ring's frame turns with it
        whole = (mine[:, 0] * (mine[:, 2] - 1j * mine[:, 1])).sum() * np.exp(1j * state.extra[made.ring_at[row]])
        found = forces[row, :, 0].sum() + 1j * forces[row, :, 1].sum()
        assert whole == pytest.approx(found, rel=1e-9)
    places = flank_places(state.q, state.lean, state.extra, made.numbers, index)
    assert places[:, :2] == pytest.approx(value[:, 3:5], abs=1e-12)
    assert places[:, 2] == pytest.approx(-value[:, 5], abs=1e-12)


def test_friction_on_rings_that_give_has_slopes_of_one_energy(printed):
    made, state, (index, value) = rimmed(*printed)
    turn = state.extra[[made.ring_at[row] for row in index[:, 0]]]
    along = value[:, 3] * value[:, 1] + value[:, 4] * value[:, 2]
    frozen = np.column_stack((np.full(len(index), 50.0), 0.3 * value[:, 0], value[:, 1:3], along - 1e-4 * np.cos(turn)))

    def shear(parts, system):
        return add_flanks(*parts, made.numbers, index, frozen, system)

    check_slopes(made, state, also=shear)


def settled(drive, inputs, errors, torque_nmm=3000.0, start=None):
    """Place at a torque, from a state nearby or wound up."""
    winder = Winder(prepare(drive, inputs, errors=errors))
    if start is not None:
        place = winder.load_to(torque_nmm, start.copy())
        assert place.outcome.settled
        return winder, place
    return winder, settle_at(winder, wind(winder, 1, torque_nmm, FALL), torque_nmm)


def ring_pull(winder, place, row, wave, rim=None):
    """Force [N] conjugate to an outward wave of a rigid ring's shape (complex: cos − i sin), of its rim where one is given,
    or (wave 1) to its shift: the whole force of the ring's teeth."""
    made, state = winder.drive, place.state
    forces = kernel.tooth_forces(state.q, state.lean, state.extra, made.numbers)[row]
    angle = np.zeros(len(forces))
    for tooth, deepest in enumerate(forces[:, 5].astype(int)):
        # seen from the axis, at the deepest contact: flanks stand a tooth's half width beside its middle
        _, _, _, foot_x, foot_y, c, s = kernel.tooth_frame(state.q, row, tooth, made.numbers)
        along, out = made.numbers.feeler[row, deepest, :2]
        angle[tooth] = math.atan2(foot_y + out * s + along * c, foot_x + out * c - along * s)
    turn = state.extra[made.ring_at[row]]
    whole = forces[:, 0] + 1j * forces[:, 1]
    if wave == 1:
        return -whole.sum() * np.exp(-1j * turn) * made.force_unit_n
    polar = whole * np.exp(-1j * angle)
    pull = (polar.real * np.exp(-1j * wave * (angle - turn))).sum()
    if rim is not None and wave:
        # where cos nφ moves outward, −sin nφ moves along
        pull += rim.side_share(wave) * (polar.imag * -1j * np.exp(-1j * wave * (angle - turn))).sum()
    return pull * made.force_unit_n


@pytest.mark.parametrize("row", [0, 1])
def test_an_oval_ring_turns_the_output_as_virtual_work_says(printed, row):
    """At constant torque T a small change e of shape with the conjugate force Q turns the output by −dQ/dT·e."""
    drive, inputs = printed
    torque, size, angle = 3000.0, 1e-3, 0.4
    _, even = settled(drive, inputs, NO_ERRORS)
    pulls = [
        ring_pull(*settled(drive, inputs, NO_ERRORS, torque * share, even.state), row, 2) for share in (0.998, 1.002)
    ]
    rate = (pulls[1] - pulls[0]) / (0.004 * torque)
    turns = []
    for side in (-1.0, 1.0):
        ring = RingErrors(ovality_mm=side * size, ovality_rad=angle)
        rings = tuple(ring if r == row else RingErrors() for r in range(2))
        turns.append(settled(drive, inputs, DriveErrors(rings), torque, even.state)[1].windup_rad)
    wanted = -(rate * np.exp(2j * angle)).real * 2.0 * size
    assert turns[1] - turns[0] == pytest.approx(wanted, rel=0.02)


def test_a_ring_off_its_axis_turns_the_output_as_virtual_work_says(printed):
    """Two even lobes average a run-out nearly out; with unequal ones what is left is the net pull on the ring."""
    drive, inputs = printed
    torque, size, angle = 3000.0, 1e-3, 0.4
    lobes = DriveErrors(unequal_lobes_mm=0.1)
    _, even = settled(drive, inputs, lobes)
    pulls = [ring_pull(*settled(drive, inputs, lobes, torque * share, even.state), 0, 1) for share in (0.998, 1.002)]
    rate = (pulls[1] - pulls[0]) / (0.004 * torque)
    turns = []
    for side in (-1.0, 1.0):
        errors = replace(lobes, rings=(RingErrors(run_out_mm=side * size, run_out_rad=angle), RingErrors()))
        turns.append(settled(drive, inputs, errors, torque, even.state)[1].windup_rad)
    wanted = (rate * np.exp(-1j * angle)).real * 2.0 * size
    assert turns[1] - turns[0] == pytest.approx(wanted, rel=0.02)


def test_errors_that_are_turns_of_everything_only_turn_the_output(printed):
    """All spaces of the output ring moved on by the same length turn it back by that angle, and nothing else."""
    drive, inputs = printed
    _, even = settled(drive, inputs, NO_ERRORS)
    space = drive.rows[1].space
    pitch = PitchErrors(each_mm=(0.02,) * space.teeth)
    _, moved = settled(drive, inputs, DriveErrors((RingErrors(), RingErrors(pitch=pitch))))
    at = 0.5 * (space.tip_radius_mm + space.root_radius_mm)
    assert moved.windup_rad - even.windup_rad == pytest.approx(-0.02 / at, rel=1e-6)
    row = drive.rows[0].outline
    flexible = PitchErrors(each_mm=(0.02,) * row.teeth)
    _, both = settled(drive, inputs, DriveErrors(flexible_pitch=(flexible, flexible)))
    # both rows moved on by one angle against the nodes: the drive seen from another set of nodes
    assert both.windup_rad == pytest.approx(even.windup_rad, abs=2e-6)


def test_errors_go_with_their_members(printed):
    """A run-out toward the first lobe at rest stands against it when the ring has been turned by half a turn."""
    drive, inputs = printed
    made = prepare(drive, inputs, errors=DriveErrors((RingErrors(0.1), RingErrors())))
    ring = made.numbers
    assert np.array(centre_of(0, math.pi, ring)) == pytest.approx([-0.1 / made.radius_mm, 0.0], abs=1e-12)
    generator = prepare(drive, replace(inputs, run_out_share=0.0), errors=DriveErrors(generator_run_out_mm=0.1))
    later = turned(generator, 0.5 * math.pi)
    assert later.numbers.carrier_home == pytest.approx([0.0, 0.1 / made.radius_mm], abs=1e-12)


@pytest.mark.parametrize(
    ("errors", "word"),
    [
        (DriveErrors((RingErrors(),)), "rings"),
        (DriveErrors((RingErrors(run_out_mm=math.nan), RingErrors())), "run_out_mm"),
        (DriveErrors((RingErrors(ovality_mm=9.0), RingErrors())), "ovality_mm"),
        (DriveErrors((RingErrors(pitch=PitchErrors(random_mm=-0.1)), RingErrors())), "random_mm"),
        (DriveErrors((RingErrors(pitch=PitchErrors(each_mm=(0.1,) * 5)), RingErrors())), "each_mm"),
        (DriveErrors(unequal_lobes_mm=math.inf), "unequal_lobes_mm"),
        (DriveErrors(generator_run_out_rad=math.nan), "generator_run_out_rad"),
        (DriveErrors(seed=-1), "seed"),
    ],
)
def test_bad_errors_are_named(printed, errors, word):
    with pytest.raises(DesignFault, match=word):
        prepare(*printed, errors=errors)
