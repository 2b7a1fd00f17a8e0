"""Stress courses of a cup: which places, which stresses, and that a rim told as places is the rim that the shell had."""

import dataclasses
import math

import numpy as np
import pytest

from lobewright.assessment.stiffness import loaded_drive
from lobewright.design.model import Layers
from lobewright.errors import DesignFault
from lobewright.motion import FLEXIBLE
from lobewright.ring.cell import plane_advice, tooth_cell
from lobewright.ring.shell import CupMaterial, RimLoad, cup_geometry, displacement, respond, roller_load, surface_stress
from lobewright.ring.shell_band import band_factors
from lobewright.ring.shell_stress import von_mises
from lobewright.strength.cup_stress import cup_courses, cup_profile, notched, wall_away
from lobewright.strength.items import NotMade
from lobewright.strength.material import Direction
from lobewright.strength.rim_waves import rim_waves
from lobewright.strength.shoulder import shoulder_factor
from lobewright.torque.inputs import estimated_inputs
from lobewright.torque.results import Health, LoadShare, RowLoad

NODES = 200
HEALTH = Health(NODES, 1, 1, 0.0, 0.0, 0.0, 0.0)


def made(assessed_starter, kind):
    """Drive, inputs and cells of a starter."""
    drive = loaded_drive(assessed_starter(kind))
    cells = (tooth_cell(drive.design, drive.rows[0].outline, plane=plane_advice(drive.design).plane),)
    return drive, estimated_inputs(drive, cells=cells), cells


@pytest.fixture(scope="module")
def steel(assessed_starter):
    return made(assessed_starter, "metal_cup")


@pytest.fixture(scope="module")
def printed(assessed_starter):
    return made(assessed_starter, "printed_cup")


def changed(drive, **fields):
    """The drive with fields of its flexible ring changed."""
    ring = drive.design.flexible_ring.model_copy(update=fields)
    return dataclasses.replace(drive, design=drive.design.model_copy(update={"flexible_ring": ring}))


def share_of(drive, positions, normal, tooth_torque, torque, turn=0.0):
    """A loaded state made up of places of the rim and torques of its teeth; labels from a lobe that has turned."""
    teeth = drive.rows[0].outline.teeth
    label = np.degrees(np.arange(NODES) * (2.0 * math.pi / NODES) - turn)
    at_tooth = np.degrees(np.arange(teeth) * (2.0 * math.pi / teeth) - turn)
    zeros, free = np.zeros(teeth), ("",) * teeth
    none = np.zeros(NODES)
    row = RowLoad(
        "housing",
        at_tooth,
        zeros,
        zeros,
        zeros,
        tooth_torque,
        zeros,
        free,
        zeros,
        label,
        none,
        np.full(NODES, normal),
        none,
        none,
        positions,
    )
    nothing = np.zeros(2)
    members = {"housing": -torque, FLEXIBLE: torque}
    return LoadShare(
        torque,
        0.0,
        members,
        (row,),
        np.zeros((1, 1, 2)),
        nothing,
        nothing,
        nothing,
        none,
        none,
        np.zeros((1, 0)),
        HEALTH,
    )


class Shell:
    """A drive's cup solved by itself, without the loaded ring: rollers inside and some teeth that push sideways."""

    def __init__(self, made_drive, torque):
        self.drive, self.inputs, cells = made_drive
        rigid = self.drive.design.rigid_ring[0]
        self.cup = cup_geometry(self.drive.design, band_factors(cells[0], self.drive.rows[0].outline))
        width = self.drive.design.flexible_ring.width_mm
        modulus = self.inputs.axial_stiffness_n[0] / cells[0].axial_stiffness_n(1.0, width)
        place, spread = rigid.offset_mm + 0.5 * rigid.width_mm, rigid.width_mm
        radius, teeth = self.cup.rim_radius_mm, self.drive.rows[0].outline.teeth
        at = np.arange(teeth) * (2.0 * math.pi / teeth)
        self.tooth_torque = -torque / teeth * (1.0 + np.cos(2.0 * (at - 0.4)) + 0.5 * np.cos(4.0 * at))
        self.torque = torque
        push = roller_load(self.cup, place, 3.0, 2, 2.0, 40, 0.4, spread)
        line = -torque / (2.0 * math.pi * radius**2)
        even, odd = np.zeros((3, 4)), np.zeros((3, 4))
        even[1, 1] = line * math.sin(0.8)
        odd[0, 1], odd[1, 1], odd[2, 1] = -line, -line * math.cos(0.8), -0.5 * line
        sideways = RimLoad(place, np.array([0, 2, 4]), even, odd, spread)
        poisson = cells[0].poisson
        self.response = respond(self.cup, CupMaterial(modulus, poisson), [push, sideways])
        band = (np.array(self.response.segment) == "rim") & (
            np.abs(self.response.from_edge_mm - place) <= 0.5 * spread + 1e-9
        )
        self.height, self.band = -self.response.from_edge_mm[band], band

    def share(self, turn=0.0, whole_turn=0.0):
        """What the loaded ring would tell of it, its lobes turned, the rim turned as a whole against the boss."""
        label = np.arange(NODES) * (2.0 * math.pi / NODES)
        moved = displacement(self.response, label - turn)[:, self.band]
        length = self.height[-1] - self.height[0]
        radial, around = (np.trapezoid(moved[..., k], self.height, axis=1) / length for k in (0, 1))
        radius = self.cup.rim_radius_mm
        c, s = np.cos(label + whole_turn), np.sin(label + whole_turn)
        out = radius + radial
        positions = np.column_stack((out * c - around * s, out * s + around * c))
        normal = float(radial.mean()) / radius * self.inputs.axial_stiffness_n[0]
        teeth = len(self.tooth_torque)
        at = np.arange(teeth) * (2.0 * math.pi / teeth) - turn
        torque = -self.torque / teeth * (1.0 + np.cos(2.0 * (at - 0.4)) + 0.5 * np.cos(4.0 * at))
        return share_of(self.drive, positions, normal, torque, self.torque, turn)


def by_name(courses):
    return {course.name: course for course in courses}


def farthest(course, shell, torque_row=0):
    """Largest difference of a course from the shell's own stress at its place, over its largest stress."""
    stress = surface_stress(shell.response, np.radians(course.label_deg))
    stations = np.flatnonzero(
        (np.abs(shell.response.from_edge_mm - course.from_edge_mm) < 1e-9) & (np.array(shell.response.segment) != "rim")
    )
    own = stress[:, :, 0 if course.surface == "inside" else 1]
    # a node between two elements stands twice; a whole diaphragm lies at one distance from the edge
    ends = [0.5 * (own[:, one] + own[:, other]) for one in stations for other in stations if abs(one - other) <= 1]
    gap = min(np.abs(course.stress_mpa[torque_row] - there).max() for there in ends)
    return gap / np.abs(course.stress_mpa[torque_row]).max()


@pytest.mark.parametrize(("turn", "whole"), [(0.0, 0.0), (0.7, 0.0), (0.0, 0.2)])
def test_the_stresses_of_a_shell_are_found_again_from_its_rim(steel, turn, whole):
    shell = Shell(steel, 6000.0)
    courses = by_name(cup_courses(*steel, (shell.share(turn, whole),)))
    for name in ("mid_barrel", "corner", "diaphragm"):
        assert farthest(courses[name], shell) < 0.005


def test_a_rim_that_draws_in_without_strain_changes_nothing(steel):
    drive, inputs, _ = steel
    share = Shell(steel, 6000.0).share()
    row = share.rows[0]
    # 3 µm nearer to the axis all round: as a stretch it would be 16 MPa
    nearer = row.positions_mm * (1.0 - 0.003 / np.hypot(*row.positions_mm.T))[:, None]
    drawn = dataclasses.replace(share, rows=(dataclasses.replace(row, positions_mm=nearer),))
    before, after = (rim_waves(one, inputs, drive.geometry.neutral_radius_mm) for one in (share, drawn))
    assert np.abs(before.radial_mm - after.radial_mm).max() < 1e-6
    pulled = dataclasses.replace(row, normal_n=row.normal_n + 10.0)
    waves = rim_waves(dataclasses.replace(share, rows=(pulled,)), inputs, drive.geometry.neutral_radius_mm)
    stretch = 10.0 / inputs.axial_stiffness_n[0] * drive.geometry.neutral_radius_mm
    assert waves.radial_mm[0, 0] - before.radial_mm[0, 0] == pytest.approx(stretch)


def test_places_of_a_steel_cup(steel):
    shells = [Shell(steel, torque) for torque in (8000.0, 0.0, 4000.0)]
    courses = cup_courses(*steel, tuple(shell.share() for shell in shells))
    assert [course.name for course in courses] == ["mid_barrel", "transition", "corner", "diaphragm", "boss"]
    ring = steel[0].design.flexible_ring
    for course in courses:
        assert course.torque_nmm.tolist() == [0.0, 4000.0, 8000.0]
        assert course.label_deg[0] == -180.0 and len(course.label_deg) == 360
        assert course.direction is Direction.IN_LAYERS
        assert 1.0 < course.model_spread < 1.6 and course.model_words
    found = by_name(courses)
    step = found["transition"]
    assert step.from_edge_mm == pytest.approx(ring.width_mm)
    assert found["boss"].model_spread > found["corner"].model_spread > found["mid_barrel"].model_spread
    assert math.isinf(found["corner"].notch_radius_mm) and found["corner"].notch_factor == 1.0
    boss = found["boss"]
    assert boss.surface == "inside" and boss.notch_radius_mm == 0.5 * ring.diaphragm_mm
    assert boss.notch_factor == shoulder_factor(ring.diaphragm_mm, 2.0 * ring.diaphragm_mm, boss.notch_radius_mm)
    assert "no fillet" in boss.model_words and "no fillet" in step.model_words


def test_nothing_on_the_cup_is_worse_than_the_places(printed):
    shares = (Shell(printed, 2000.0).share(),)
    # without an extrusion's width and across layers the fillets are the same; places without a fillet are compared
    courses = by_name(cup_courses(*printed, shares))
    profile = cup_profile(*printed, shares[0])
    assert profile.equivalent_mpa.shape == (len(profile.arc_mm), 2) == (len(profile.segment), 2)
    wall = np.array(profile.segment) == "barrel"
    worst = max(von_mises(courses[name].stress_mpa).max() for name in ("mid_barrel", "transition", "corner"))
    assert profile.equivalent_mpa[wall].max() <= worst * (1.0 + 1e-9)
    assert (profile.alternating_mpa <= profile.equivalent_mpa.max()).all()
    assert profile.torque_nmm == 2000.0


def test_a_standing_print_is_told_across_its_layers_too(printed):
    drive, inputs, cells = printed
    courses = by_name(cup_courses(drive, inputs, cells, (Shell(printed, 2000.0).share(),)))
    assert courses["diaphragm"].direction is courses["boss"].direction is Direction.IN_LAYERS
    across, whole = courses["transition_across"], courses["transition"]
    assert across.direction is Direction.ACROSS_LAYERS and whole.direction is Direction.IN_LAYERS
    assert (across.stress_mpa[:, :, 1] == 0.0).all() and np.abs(across.stress_mpa[:, :, 0]).max() > 0.0
    assert across.notch_radius_mm == 0.5 * drive.design.process.extrusion_width_mm
    assert "diaphragm_across" not in courses
    lying = changed(drive, layers=Layers.ALONG_AXIS)
    turned = by_name(cup_courses(lying, inputs, cells, (Shell(printed, 2000.0).share(),)))
    assert set(turned) == {"mid_barrel", "transition", "corner", "diaphragm", "boss"}
    assert all(course.direction is Direction.ACROSS_LAYERS for course in turned.values())


def test_torque_the_other_way_is_the_mirror_image(steel):
    there, back = (Shell(steel, torque).share() for torque in (5000.0, -5000.0))
    # mirror the teeth as well: labels run the other way
    row = back.rows[0]
    mirrored = dataclasses.replace(
        row,
        positions_mm=np.roll(there.rows[0].positions_mm[::-1], 1, axis=0) * (1.0, -1.0),
        torque_nmm=-np.roll(there.rows[0].torque_nmm[::-1], 1),
        normal_n=there.rows[0].normal_n,
    )
    back = dataclasses.replace(back, rows=(mirrored,))
    forth, other = (by_name(cup_courses(*steel, (share,)))["mid_barrel"] for share in (there, back))
    assert np.abs(forth.at(-5000.0) - other.stress_mpa[0]).max() < 1e-9 * np.abs(other.stress_mpa).max()


def test_a_sharp_corner_is_not_judged(steel):
    drive, inputs, cells = steel
    courses = cup_courses(changed(drive, corner_radius_mm=0.0), inputs, cells, (Shell(steel, 0.0).share(),))
    (refused,) = [one for one in courses if isinstance(one, NotMade)]
    assert refused.name == "corner" and "no bound" in refused.why and refused.part == "ring"
    assert len(courses) == 5


def test_a_wall_without_a_step_has_no_fillet(steel):
    drive, inputs, cells = steel
    even = changed(drive, barrel_wall_mm=drive.design.flexible_ring.wall_mm)
    step = by_name(cup_courses(even, inputs, cells, (Shell(steel, 0.0).share(),)))["transition"]
    assert step.notch_factor == 1.0 and "no thinner than the rim" in step.model_words


def test_other_rings_and_equal_torques(assessed_starter, steel):
    drive = loaded_drive(assessed_starter("printed_ring-rollers"))
    assert cup_courses(drive, estimated_inputs(drive), (), ()) == ()
    assert cup_profile(drive, estimated_inputs(drive), (), Shell(steel, 0.0).share()) is None
    share = Shell(steel, 1000.0).share()
    with pytest.raises(DesignFault, match="no stress course"):
        cup_courses(*steel, (share, share))


def test_a_fillet_raises_what_it_should():
    stress = np.array([[100.0, 10.0, 20.0]])
    assert notched(stress, np.array([12.0]), 1.5, 0.3).tolist() == [[150.0, 25.0, 18.0]]
    assert stress.tolist() == [[100.0, 10.0, 20.0]]


def test_a_course_at_a_fillet_takes_its_shear_from_beside(printed):
    shell = Shell(printed, 2000.0)
    step = by_name(cup_courses(*printed, (shell.share(),)))["transition"]
    stress = surface_stress(shell.response, np.radians(step.label_deg))[:, :, 1]
    barrel = np.flatnonzero(np.array(shell.response.segment) == "barrel")
    edge, wall = int(barrel[-1]), shell.cup.barrel_wall_mm
    beside = wall_away(shell.response, barrel, edge, wall)
    gap = shell.response.arc_mm[edge] - shell.response.arc_mm[beside]
    assert wall <= gap < 3.0 * wall
    rise = shell.cup.rim_wall_mm - wall
    assert step.surface == "outside" and step.notch_factor == shoulder_factor(wall, rise, step.notch_radius_mm)
    assert step.stress_mpa[0][:, 0] == pytest.approx(
        step.notch_factor * stress[:, edge, 0], abs=0.005 * np.abs(stress).max()
    )
    assert step.stress_mpa[0][:, 2] == pytest.approx(
        step.notch_factor * stress[:, beside, 2], abs=0.005 * np.abs(stress).max()
    )
    assert wall_away(shell.response, barrel[-2:], edge, 50.0) == barrel[-2]


@pytest.mark.parametrize(
    ("wall", "step", "radius", "factor"),
    [(1.0, 1.0, 0.5, 1.22195), (1.0, 1.0, 0.05, 2.38696), (1.0, 1.0, 0.02, 2.38696), (10.0, 5.0, 2.0, 1.53705)],
)
def test_shoulder(wall, step, radius, factor):
    assert shoulder_factor(wall, step, radius) == pytest.approx(factor, abs=1e-5)


def test_a_blunt_fillet_of_a_small_step_is_no_notch_and_a_sharp_one_is_worse():
    factors = [shoulder_factor(1.0, 0.2, radius) for radius in (2.0, 0.5, 0.2, 0.1, 0.05)]
    assert factors == sorted(factors) and 1.0 <= factors[0] < 1.25
    with pytest.raises(DesignFault, match="above 0 mm"):
        shoulder_factor(1.0, 0.0, 0.1)
