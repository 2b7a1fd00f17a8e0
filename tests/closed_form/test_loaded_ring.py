"""The loaded drive against answers worked out by hand."""

import math
from dataclasses import replace

import numpy as np
import pytest

from lobewright.assessment.stiffness import loaded_drive
from lobewright.design import catalogue
from lobewright.ring.shell import CupMaterial, cup_geometry, rim_stiffness, torsional_stiffness
from lobewright.torque import kernel
from lobewright.torque.ask import FALL, load_share, settle_at, skip, wind, windup
from lobewright.torque.barrel import barrel_of, planar_ring
from lobewright.torque.inputs import estimated_inputs
from lobewright.torque.model import start_nodes
from lobewright.torque.path import Winder
from lobewright.torque.rest import prepare


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
    drive = loaded_drive(assessed_starter(kind))
    made = prepare(drive, replace(estimated_inputs(drive), run_out_share=0.0))
    wanted = start_nodes(drive, made.nodes, 0.0)
    for row in range(made.rows):
        off = made.rest.q[:, 3 * row : 3 * row + 2] - wanted[:, :2]
        assert np.abs(off).max() * made.radius_mm < most_mm
    arms = made.rest.extra[2 : 2 + len(made.numbers.arm_stiffness)]
    assert np.abs(arms).max(initial=0.0) * made.radius_mm < 1e-6


def test_push_of_one_roller_is_that_of_the_elastica(assessed_starter):
    drive = loaded_drive(assessed_starter("printed_ring-rollers"))
    made = prepare(drive, replace(estimated_inputs(drive), run_out_share=0.0))
    assert made.push == pytest.approx(drive.shape.force_factor, rel=2e-3)


def test_free_play_is_that_of_the_swept_space(assessed_starter):
    """The tooth spaces tell the play of rigid teeth over all positions; one position can have a little more."""
    assessment = assessed_starter("printed_ring-cam_thin_bearing")
    drive = loaded_drive(assessment)
    curve = windup(drive, estimated_inputs(drive), 500.0)
    assert curve.free_play_rad == pytest.approx(assessment.output_free_play_rad, rel=0.015)


def test_web_between_the_rows_is_a_spring_in_series(assessed_starter):
    """Rows that do not stretch turn against each other as one: the web's stiffness is k·2πR·R² and adds in series."""
    drive = loaded_drive(assessed_starter("printed_ring-rollers"))
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


# --- the cup --------------------------------------------------------------------------------------------------------


def cup_of(assessment, harmonics=range(25)):
    """A cup drive with the shell's stiffness as the mean over the face in mesh."""
    drive = loaded_drive(assessment)
    ring, face = assessment.design.flexible_ring, assessment.design.rigid_ring[0]
    material = catalogue.material(ring.material)
    shell = CupMaterial(0.5 * sum(material.modulus_mpa), 0.5 * sum(material.poisson))
    cup = cup_geometry(assessment.design)
    place = face.offset_mm + 0.5 * face.width_mm
    spread = min(face.width_mm, 2.0 * min(place, cup.rim_width_mm - place))
    rim = rim_stiffness(cup, shell, harmonics, place, spread)
    return drive, estimated_inputs(drive, barrel=rim), rim, torsional_stiffness(cup, shell, place)


def test_ring_and_barrel_together_are_the_shell(assessed_starter):
    """Radial stiffness per harmonic, all else free: the planar ring with the barrel's part, against the shell itself."""
    drive, inputs, rim, torsion = cup_of(assessed_starter("printed_cup-rollers"))
    radius = drive.geometry.neutral_radius_mm
    unit = inputs.bending_stiffness_nmm2[0] / radius**2
    barrel = barrel_of(rim, inputs, radius, 400, unit)
    axial = inputs.axial_stiffness_n[0] * radius**2 / inputs.bending_stiffness_nmm2[0]
    for k in range(2, 16):
        at = 2 + 4 * (k - 1)  # two amplitudes of harmonic 0, then even and odd families of two
        part = barrel.stiffness[at : at + 2, at : at + 2] / math.pi
        both = np.linalg.inv(planar_ring(k, axial) + part)[0, 0] * radius**2 / unit
        assert both == pytest.approx(rim.compliance[k, 0, 0], rel=0.01), k
    # a whole turn of the rim by one radian meets the shell's torsional stiffness
    label = 2.0 * math.pi * np.arange(400) / 400
    q = np.zeros((400, 3))
    q[:, 0], q[:, 1] = -1e-6 * np.sin(label), 1e-6 * np.cos(label)
    force = barrel.load(q, 0.0).force
    torque = float((np.cos(label) * force[:, 1] - np.sin(label) * force[:, 0]).sum()) * 1e6 * unit * radius
    assert torque == pytest.approx(torsion, rel=0.02)


def test_a_cup_takes_the_torque_through_its_barrel(assessed_starter):
    drive, inputs, _, torsion = cup_of(assessed_starter("printed_cup-rollers"))
    low, high = (load_share(drive, inputs, torque) for torque in (3000.0, 6000.0))
    for share in (low, high):
        members = share.member_torque_nmm
        assert members["flexible_ring"] == pytest.approx(share.torque_nmm, rel=1e-3)
        assert abs(sum(members.values())) < 1e-6 * share.torque_nmm
    # the whole cannot be stiffer than the barrel alone
    assert 0.0 < 3000.0 / (high.windup_rad - low.windup_rad) < torsion


def test_barrel_forces_are_slopes_of_its_energy(assessed_starter):
    drive, inputs, rim, _ = cup_of(assessed_starter("printed_cup-rollers"), range(6))
    radius = drive.geometry.neutral_radius_mm
    barrel = barrel_of(rim, inputs, radius, 96, inputs.bending_stiffness_nmm2[0] / radius**2)
    rng = np.random.default_rng(4)
    q, way = 1e-2 * rng.standard_normal((2, 96, 3))
    boss, step = 0.05, 1e-5
    up, down, here = (barrel.load(q + t * way, boss + t) for t in (step, -step, 0.0))
    slope = float(np.vdot(here.force, way)) + here.torque
    assert (up.energy - down.energy) / (2 * step) == pytest.approx(slope, rel=1e-7)
    turned = barrel.load(q, boss + step), barrel.load(q, boss - step)
    change = (turned[0].force - turned[1].force) / (2 * step)
    assert np.abs(change - here.coupling).max() < 1e-6 * np.abs(change).max()
    assert (turned[0].torque - turned[1].torque) / (2 * step) == pytest.approx(here.stiffness, rel=1e-6)


def test_mean_torques_of_a_cup_follow_the_kinematics(assessed_starter):
    """Housing of 102 held, cup of 100 read: the housing's mean torque is −102/100 of the cup's."""
    drive, inputs, _, _ = cup_of(assessed_starter("printed_cup-rollers"))
    pitch = 2.0 * math.pi / drive.rows[0].outline.teeth
    shares = [load_share(drive, inputs, 3000.0, turn_rad=pitch * i / 12) for i in range(12)]
    housing = np.array([share.member_torque_nmm["housing"] for share in shares])
    assert abs(housing.mean() / (-1.02 * 3000.0) - 1.0) < 1e-4
    assert np.ptp(housing) > 1e-4 * 3000.0


def test_a_cup_skips_and_both_signs_agree(assessed_starter):
    drive, inputs, _, _ = cup_of(assessed_starter("printed_cup-rollers"))
    curve = windup(drive, replace(inputs, run_out_share=0.0), 3000.0)
    assert curve.windup_rad[0] == pytest.approx(-curve.windup_rad[-1], rel=1e-3)
    limit = skip(drive, inputs)
    assert limit.torque_nmm > 3000.0
    assert limit.lower_bound or abs(limit.path_torque_nmm[-1]) < 0.9 * limit.torque_nmm


def test_skew_of_the_rows_is_torque_over_the_webs_circle(assessed_starter):
    """Rows that do not stretch shear their web evenly round: the mean skew is T/(2πR²·k) whatever teeth carry it."""
    drive = loaded_drive(assessed_starter("printed_ring-rollers"))
    inputs = estimated_inputs(drive)
    torque, web = 3000.0, 2.0
    soft = replace(inputs, web_tangential_n_per_mm2=web, web_radial_n_per_mm2=1000.0, run_out_share=0.0)
    share = load_share(drive, soft, torque)
    radius = drive.geometry.neutral_radius_mm
    wanted = torque / (2.0 * math.pi * radius**2 * web)
    # of first order in the deflection over R, 2 %: the web's circle is the round one
    assert share.skew_mm.mean() == pytest.approx(wanted, rel=5e-3)
    stiff = replace(soft, axial_stiffness_n=tuple(1e3 * value for value in inputs.axial_stiffness_n))
    even = load_share(drive, stiff, torque).skew_mm
    assert even.std() < 0.15 * share.skew_mm.std() + 0.02 * wanted
    # turned round, the torque skews the other way
    assert load_share(drive, soft, -torque).skew_mm.mean() == pytest.approx(-wanted, rel=5e-3)


def test_skew_and_roll_are_what_the_webs_energy_is_made_of(assessed_starter):
    """½·Σ arc·R·(k_t·skew² + k_r·roll²) is what the web adds to the energy of a state, in whatever shape."""
    drive = loaded_drive(assessed_starter("printed_ring-rollers"))
    inputs = estimated_inputs(drive)
    made = prepare(drive, inputs)
    winder = Winder(made)
    place = settle_at(winder, wind(winder, 1, 3000.0, FALL), 3000.0)
    share = load_share(drive, inputs, 3000.0)
    energies = []
    for web in (made.numbers.web, np.zeros(2)):
        system = kernel.empty_system(made.numbers, made.nodes, len(made.rest.extra))
        numbers, state = made.numbers._replace(web=web), place.state
        energies.append(kernel.assemble(state.q, state.lean, state.extra, state.near, numbers, -math.inf, system))
    arc_mm = 2.0 * math.pi / made.nodes * made.radius_mm
    tangential = inputs.web_tangential_n_per_mm2 * (share.skew_mm**2).sum()
    radial = inputs.web_radial_n_per_mm2 * (share.roll_mm**2).sum()
    stored = (energies[0] - energies[1]) * made.torque_unit_nmm
    assert stored == pytest.approx(0.5 * arc_mm * (tangential + radial), rel=1e-5)
    assert min(tangential, radial) > 0.01 * max(tangential, radial)
