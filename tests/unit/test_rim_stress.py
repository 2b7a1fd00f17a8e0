"""Stress courses of a rim: which point, which names, which bands; loads given, not solved."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from rim_ring import row_load, share

from lobewright.assessment.results import Assessment
from lobewright.assessment.stiffness import loaded_drive
from lobewright.design.model import Layers
from lobewright.errors import DesignFault
from lobewright.mesh.teeth import tooth_outline
from lobewright.ring.cell import ToothCell, cell_of_outline, tooth_cell
from lobewright.ring.cell_solve import Plane
from lobewright.strength.course import StressCourse
from lobewright.strength.items import NotMade
from lobewright.strength.material import Direction
from lobewright.strength.rim_field import hoop_stress_mpa, pitch_loads, surface_answers
from lobewright.strength.rim_stress import body_widths_mm, hollow_radius_mm, rim_courses
from lobewright.torque.inputs import DriveInput
from lobewright.torque.results import LoadShare, RowLoad

MOMENT_NMM = 20.0


@pytest.fixture(scope="module")
def drive(assessed_starter: Callable[[str], Assessment]) -> DriveInput:
    return loaded_drive(assessed_starter("printed_ring"))


@pytest.fixture(scope="module")
def cup(assessed_starter: Callable[[str], Assessment]) -> DriveInput:
    return loaded_drive(assessed_starter("printed_cup"))


def cells_of(drive: DriveInput, plane: Plane = Plane.STRESS) -> tuple[ToothCell, ...]:
    return tuple(tooth_cell(drive.design, row.outline, plane=plane) for row in drive.rows)


def oval(
    drive: DriveInput, size: float = 1.0, force: np.ndarray | None = None, arm: np.ndarray | None = None
) -> RowLoad:
    """Moment of an oval ring, largest at the lobes."""
    teeth = drive.rows[0].outline.teeth
    angle = np.arange(8 * teeth) * (2.0 * math.pi / (8 * teeth))
    moment = size * MOMENT_NMM * np.cos(2.0 * angle)
    return row_load(teeth, drive.geometry.neutral_radius_mm, moment, np.zeros(len(angle)), force, arm)


def rising(drive: DriveInput, **more: np.ndarray) -> tuple[LoadShare, ...]:
    return tuple(
        share(torque, (oval(drive, 1.0 + torque / 1000.0, **more),) * len(drive.rows)) for torque in (0.0, 1000.0)
    )


def courses(drive: DriveInput, cells: tuple[ToothCell, ...], shares: tuple[LoadShare, ...]) -> dict[str, StressCourse]:
    found = rim_courses(drive, cells, shares)
    assert all(isinstance(one, StressCourse) for one in found)
    return {one.name: one for one in found}


def test_a_belt_has_no_courses(assessed_starter: Callable[[str], Assessment]) -> None:
    belt = loaded_drive(assessed_starter("belt"))
    assert rim_courses(belt, (), (share(0.0, ()),)) == ()  # type: ignore[arg-type]


def test_rows_surfaces_and_places(drive: DriveInput) -> None:
    found = courses(drive, cells_of(drive), rising(drive))
    names = [row.name for row in drive.rows]
    assert list(found) == [f"{what}:{name}" for name in names for what in ("rim_root", "rim_inside")]
    made = drive.design.rigid_ring
    assert [one.from_edge_mm for one in found.values()][::2] == [r.offset_mm + 0.5 * r.width_mm for r in made]
    root, inside = found[f"rim_root:{names[0]}"], found[f"rim_inside:{names[0]}"]
    assert (root.surface, inside.surface) == ("outside", "inside")
    assert (inside.notch_factor, inside.notch_radius_mm) == (1.0, math.inf)
    np.testing.assert_array_equal(root.torque_nmm, (0.0, 1000.0))
    teeth = drive.rows[0].outline.teeth
    np.testing.assert_allclose(root.label_deg, -180.0 + 180.0 / teeth * np.arange(2 * teeth))


def test_an_oval_ring_has_the_cell_s_peak_at_its_lobes(drive: DriveInput) -> None:
    cells = cells_of(drive)
    root = courses(drive, cells, rising(drive))[f"rim_root:{drive.rows[0].name}"]
    nominal = 6.0 * MOMENT_NMM / (body_widths_mm(drive)[0] * cells[0].wall_mm ** 2)
    hoop = root.stress_mpa[0, :, 1]
    # one pitch is a mean over an arc: 1 - (2 half pitches)^2/6
    assert hoop.max() == pytest.approx(cells[0].root.bending * nominal, rel=3e-3)
    assert hoop.min() == pytest.approx(-hoop.max(), rel=1e-3)
    assert root.label_deg[hoop.argmax()] % 180.0 == pytest.approx(0.0, abs=2.0)
    np.testing.assert_allclose(root.stress_mpa[1], 2.0 * root.stress_mpa[0])
    assert root.notch_factor == pytest.approx(cells[0].root.bending, rel=1e-6)
    assert root.notch_radius_mm == pytest.approx(0.3 * drive.design.flexible_ring.module_mm, rel=0.03)


def test_the_textbook_s_cam_stress_times_the_tooth_s_factor(drive: DriveInput) -> None:
    """A thin ring on an oval of height w0: 1.5 E t w0/R² in a plain wall; teeth stiffen it and gather stress."""
    cell, height, modulus = cells_of(drive)[0], 1.0, 2000.0
    radius, width = drive.geometry.neutral_radius_mm, body_widths_mm(drive)[0]
    moment = 3.0 * cell.bending_stiffness_nmm2(modulus, width) * height / radius**2
    shares = tuple(share(torque, (oval(drive, moment / MOMENT_NMM),) * 2) for torque in (0.0, 1.0))
    root = courses(drive, cells_of(drive), shares)[f"rim_root:{drive.rows[0].name}"]
    plain = 1.5 * modulus * cell.wall_mm * height / radius**2
    assert root.stress_mpa[..., 1].max() == pytest.approx(cell.bending_ratio * cell.root.bending * plain, rel=3e-3)


def test_both_lobes_are_told_apart(drive: DriveInput) -> None:
    teeth = drive.rows[0].outline.teeth
    angle = np.arange(8 * teeth) * (2.0 * math.pi / (8 * teeth))
    row = row_load(teeth, drive.geometry.neutral_radius_mm, np.cos(angle), np.zeros(len(angle)))
    root = next(iter(courses(drive, cells_of(drive), (share(0.0, (row, row)),)).values()))
    hoop = root.stress_mpa[0, :, 1]
    assert abs(root.label_deg[hoop.argmax()]) < 5.0
    assert abs(root.label_deg[hoop.argmin()]) > 175.0


def test_the_strips_beside_and_between_the_rows_bend_too(drive: DriveInput) -> None:
    assert drive.design.flexible_ring.width_mm == 21.0
    assert body_widths_mm(drive) == (10.5, 10.5)


def test_inside_and_outside_have_opposite_signs(drive: DriveInput) -> None:
    found = courses(drive, cells_of(drive), rising(drive))
    root, inside = (found[f"rim_{what}:{drive.rows[0].name}"].stress_mpa[0, :, 1] for what in ("root", "inside"))
    at = root.argmax()
    assert root[at] > 0.0 > inside[at]


def test_plane_strain_holds_the_width(drive: DriveInput) -> None:
    flat, kept = (courses(drive, cells_of(drive, plane), rising(drive)) for plane in Plane)
    name = f"rim_root:{drive.rows[0].name}"
    assert not flat[name].stress_mpa[..., 0].any()
    poisson = cells_of(drive)[0].poisson
    np.testing.assert_allclose(kept[name].stress_mpa[..., 0], poisson * kept[name].stress_mpa[..., 1])
    assert not kept[name].stress_mpa[..., 2].any()


def test_a_cup_opens_like_a_cone(cup: DriveInput) -> None:
    cells = cells_of(cup, Plane.STRAIN)
    found = courses(cup, cells, rising(cup))
    assert list(found) == ["rim_root", "rim_inside"]
    made = cup.design.rigid_ring[0]
    middle = made.offset_mm + 0.5 * made.width_mm
    lever = cup.design.flexible_ring.length_mm / (cup.design.flexible_ring.length_mm - middle)
    nominal = 6.0 * MOMENT_NMM / (body_widths_mm(cup)[0] * cells[0].wall_mm ** 2)
    inside = found["rim_inside"]
    assert (found["rim_root"].from_edge_mm, inside.from_edge_mm) == (middle, 0.0)
    peak = np.abs(inside.stress_mpa[0, :, 1]).max()
    assert peak == pytest.approx(lever * cells[0].root.bending_inner * nominal, rel=5e-3)
    half = 0.5 * (lever - 1.0)
    assert f"cup opens like a cone {100.0 * half:.1f} %" in inside.model_words
    assert inside.model_spread - 1.0 > half


@pytest.mark.parametrize("torques", [(0.0, 0.0), (1000.0, 0.0), (-5.0, 1000.0), ()])
def test_torques_must_rise_from_rest(drive: DriveInput, torques: tuple[float, ...]) -> None:
    shares = tuple(share(torque, (oval(drive),) * 2) for torque in torques)
    with pytest.raises(DesignFault, match="rise from 0"):
        rim_courses(drive, cells_of(drive), shares)


def test_rest_is_zero_torque_whatever_its_last_digits_say(drive: DriveInput) -> None:
    shares = tuple(share(torque, (oval(drive),) * 2) for torque in (-3e-8, 1000.0))
    found = courses(drive, cells_of(drive), shares)
    assert next(iter(found.values())).torque_nmm[0] == 0.0


def test_a_sharp_hollow_is_not_judged_and_says_why(drive: DriveInput) -> None:
    tooth = drive.design.tooth.model_copy(update={"root_round_factor": 0.0})
    design = drive.design.model_copy(update={"tooth": tooth})
    rows = tuple(replace(row, outline=tooth_outline(design)) for row in drive.rows)
    sharp = replace(drive, design=design, rows=rows)
    cells = cells_of(sharp)
    assert cells[0].root is None
    found = rim_courses(sharp, cells, rising(sharp))
    assert [type(one) for one in found] == [NotMade, StressCourse] * 2
    assert "sharp" in found[0].why and found[0].of_life


@pytest.mark.parametrize(
    ("layers", "direction"),
    [(Layers.ACROSS_AXIS, Direction.IN_LAYERS), (Layers.ALONG_AXIS, Direction.ACROSS_LAYERS)],
)
def test_how_hoop_stress_lies_to_the_layers(drive: DriveInput, layers: Layers, direction: Direction) -> None:
    ring = drive.design.flexible_ring.model_copy(update={"layers": layers})
    turned = replace(drive, design=drive.design.model_copy(update={"flexible_ring": ring}))
    found = courses(turned, cells_of(drive), rising(turned))
    assert {one.direction for one in found.values()} == {direction}


def test_a_tooth_s_own_force_counts_only_in_its_own_pitch_and_widens_the_band(drive: DriveInput) -> None:
    cell, teeth = cells_of(drive)[0], drive.rows[0].outline.teeth
    force, arm = np.zeros((teeth, 2)), np.zeros((teeth, 2))
    force[10] = -10.0, -4.0
    arm[:] = cell.tooth.load_x_mm, cell.tooth.load_height_mm
    answer = surface_answers(cell, drive.rows[0].outline.points_mm)[0]
    still, pressed = (pitch_loads(oval(drive, 1.0, *more), cell) for more in ((), (force, arm)))
    changed = hoop_stress_mpa(answer, pressed, 10.0, 10.0)[0] - hoop_stress_mpa(answer, still, 10.0, 10.0)[0]
    assert np.flatnonzero(np.abs(changed).max(axis=1) > 1e-9).tolist() == [np.flatnonzero(pressed.tangential_n)[0]]
    name = f"rim_root:{drive.rows[0].name}"
    free, wide = (
        courses(drive, cells_of(drive), rising(drive, **more))[name] for more in ({}, {"force": force, "arm": arm})
    )
    assert "force of a single tooth 0.0 %" in free.model_words
    assert wide.model_spread > free.model_spread


def test_the_flank_s_stress_is_the_cell_s_where_the_cell_is_loaded(drive: DriveInput) -> None:
    cell, teeth = cells_of(drive)[0], drive.rows[0].outline.teeth
    force = np.tile((-10.0, -4.0), (teeth, 1))
    arm = np.tile((cell.tooth.load_x_mm, cell.tooth.load_height_mm), (teeth, 1))
    answer = surface_answers(cell, drive.rows[0].outline.points_mm)[0]
    flank = hoop_stress_mpa(answer, pitch_loads(oval(drive, 1.0, force, arm), cell), 10.0, 8.0)[1][0]
    clear = np.isin(cell.outer.points_mm, answer.points_mm).all(axis=1)
    own = cell.outer.per_flank_1_per_mm[clear] @ (-10.0, -4.0) / 8.0
    # straight between three heights
    np.testing.assert_allclose(flank, own, atol=0.03 * np.abs(own).max())


def test_force_nearer_to_the_tip_pulls_harder(drive: DriveInput) -> None:
    cell, teeth = cells_of(drive)[0], drive.rows[0].outline.teeth
    answer = surface_answers(cell, drive.rows[0].outline.points_mm)[0]
    land = float(drive.rows[0].outline.land_height_mm)
    left = answer.points_mm[:, 0] < 0.0
    peaks = []
    for level in (0.5, 0.7, 0.9):
        force, arm = np.zeros((teeth, 2)), np.zeros((teeth, 2))
        force[5] = -10.0, 0.0
        arm[5] = 0.5, land + level * cell.tooth_height_mm
        loads = pitch_loads(oval(drive, 0.0, force, arm), cell)
        peaks.append(hoop_stress_mpa(answer, loads, 10.0, 10.0)[1][:, left].min())
    assert peaks[0] > peaks[1] > peaks[2]
    assert peaks[1] - peaks[0] == pytest.approx(peaks[2] - peaks[1], rel=0.25)


@pytest.mark.parametrize("bend", [0.0, 0.03])
def test_the_couple_of_a_contact_comes_back_from_its_moment_about_the_axis(drive: DriveInput, bend: float) -> None:
    """On a round ring, and on one bent by a wave that leaves its sections square to it."""
    teeth, radius = drive.rows[0].outline.teeth, drive.geometry.neutral_radius_mm
    angle = np.arange(2 * teeth) * (math.pi / teeth)
    line = radius * np.exp(1j * angle) * (1.0 + bend * np.cos(2.0 * angle))
    along = 1j * line + radius * np.exp(1j * angle) * (-2.0 * bend * np.sin(2.0 * angle))
    along /= np.abs(along)
    force = np.column_stack((np.linspace(-9.0, 5.0, teeth), np.linspace(-3.0, -4.0, teeth)))
    x, y = np.linspace(-0.5, 0.5, teeth), np.linspace(1.0, 1.6, teeth)
    foot, side = line[::2], along[::2]
    place, push = foot + (x - 1j * y) * side, (force[:, 0] - 1j * force[:, 1]) * side
    load = replace(
        oval(drive, 0.0, force),
        torque_nmm=(np.conj(place) * push).imag,
        section_label_deg=np.degrees(angle),
        moment_nmm=np.zeros(2 * teeth),
        normal_n=np.zeros(2 * teeth),
        positions_mm=np.column_stack((line.real, line.imag)),
    )
    loads = pitch_loads(load, cells_of(drive)[0])
    order = np.argsort(load.label_deg)
    np.testing.assert_allclose(loads.couple_nmm, (y * force[:, 0] - x * force[:, 1])[order], atol=1e-9)


def test_an_even_moment_is_its_own_mean_and_does_not_rise(drive: DriveInput) -> None:
    cell, teeth = cells_of(drive)[0], drive.rows[0].outline.teeth
    even = np.full(2 * teeth, 7.0)
    loads = pitch_loads(row_load(teeth, drive.geometry.neutral_radius_mm, even, 2.0 * even), cell)
    np.testing.assert_allclose(loads.moment_nmm, 7.0, rtol=1e-6)
    np.testing.assert_allclose(loads.normal_n, 14.0)
    np.testing.assert_allclose(loads.rise_nmm, 0.0, atol=1e-12)


def test_a_mirrored_load_is_a_mirrored_stress(drive: DriveInput) -> None:
    cell, teeth = cells_of(drive)[0], drive.rows[0].outline.teeth
    answer = surface_answers(cell, drive.rows[0].outline.points_mm)[0]
    check_mirror(drive, cell, cell, answer, answer, teeth)


def check_mirror(drive, cell, other, answer, mirrored, teeth) -> None:
    force, arm = np.zeros((teeth, 2)), np.zeros((teeth, 2))
    force[3] = -10.0, -4.0
    arm[:] = cell.tooth.load_x_mm, 1.15 * cell.tooth.load_height_mm
    across = np.roll(force[::-1], 1, axis=0) * (-1.0, 1.0)
    angle = np.arange(8 * teeth) * (2.0 * math.pi / (8 * teeth))
    moment, normal = np.cos(2.0 * angle - 0.3), np.sin(3.0 * angle)
    radius = drive.geometry.neutral_radius_mm
    one = row_load(teeth, radius, moment, normal, force, arm)
    two = row_load(teeth, radius, np.roll(moment[::-1], 1), np.roll(normal[::-1], 1), across, arm * (-1.0, 1.0))
    loads = pitch_loads(one, cell), pitch_loads(two, other)
    first, second = (hoop_stress_mpa(a, load, 10.0, 8.0)[0] for a, load in ((answer, loads[0]), (mirrored, loads[1])))
    at = np.searchsorted(loads[1].label_deg, -loads[0].label_deg - 1e-6) % teeth
    np.testing.assert_allclose(second[at][:, ::-1], first, atol=0.02 * np.abs(first).max())


def test_a_leaning_tooth_is_mirrored_too(drive: DriveInput) -> None:
    """Its left flank is solved from its own mirror image, at the nearest points of another mesh: within 2 %."""
    cell, teeth = cells_of(drive)[0], drive.rows[0].outline.teeth
    points = np.array(drive.rows[0].outline.points_mm)
    land = points[:, 1].min()
    leaning = points + np.column_stack((0.15 * (points[:, 1] - land), np.zeros(len(points))))
    turned = leaning[::-1] * (-1.0, 1.0)
    given = (teeth, land - cell.wall_mm, cell.tooth.load_height_mm, cell.poisson, Plane.STRESS)
    one, two = (cell_of_outline(outline, *given) for outline in (leaning, turned))
    check_mirror(drive, one, two, surface_answers(one, leaning)[0], surface_answers(two, turned)[0], teeth)


def test_no_hollow_near_a_flat_place(drive: DriveInput) -> None:
    points = drive.rows[0].outline.points_mm
    assert hollow_radius_mm(points, points[0], 0.1) == math.inf


def test_a_moment_that_rises_is_straight_along_a_wall_with_hardly_a_tooth() -> None:
    """Then the inner surface has −6 M/t² with M rising evenly through 0; and any tooth's answer is odd."""
    right = np.array([(0.1, 0.1), (0.15, 0.0), (1.5, 0.0)])
    outline = np.vstack((right[::-1] * (-1.0, 1.0), right))
    cell = cell_of_outline(outline, 40, -1.0, 0.05, 0.3, Plane.STRESS)
    _, inner = surface_answers(cell, outline)
    np.testing.assert_allclose(inner.per_rise, -6.0 * inner.points_mm[:, 0] / 3.0, atol=0.03)
    np.testing.assert_allclose(inner.per_rise, -inner.per_rise[::-1], atol=1e-6)
