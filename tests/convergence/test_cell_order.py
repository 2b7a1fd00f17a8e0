"""Order of accuracy of the tooth cell, asserted as the fitted slope of error against element size, and its error estimates.

Nine-node elements on a smooth outline: stiffness is an energy, so it falls with the fourth power of the element size;
surface stress from the strain at the sides' Gauss points with the second at least. A sharp hollow of turn 90° holds
stress to limited order: the energy falls with h^1.09 (wedge of 270°, exponent 0.5445 twice; M. L. Williams, J. Appl.
Mech. 19, 1952, remembered).
"""

import math

import numpy as np
import pytest

from lobewright.ring.cell import solve_cell
from lobewright.ring.cell_mesh import plan_cell
from lobewright.ring.cell_solve import CellModel, Plane, solve_held, solve_repeating

CUTS = (1, 2, 4)


def arc(x, y, radius, start_deg, end_deg, chords=12):
    t = np.radians(np.linspace(start_deg, end_deg, chords + 1))
    return np.column_stack((x + radius * np.cos(t), y + radius * np.sin(t)))


def tooth(root, tip=0.2):
    """Upright tooth, pitch 3, width 1.4, height 1 on land at 1."""
    foot = arc(-0.7 - root, 1 + root, root, -90, 0) if root else [[-0.7, 1.0]]
    left = np.vstack(([[-1.5, 1.0]], foot, arc(-0.7 + tip, 2 - tip, tip, 180, 90)))
    return np.vstack((left, left[::-1] * (-1, 1)))


def wave():
    """Outline of one cosine wave a pitch, shallow enough for one block: smooth everywhere, joints included."""
    x = np.linspace(-1.5, 1.5, 121)
    return np.column_stack((x, 1.2 + 0.2 * np.cos(2 * math.pi * x / 3)))


def slope(errors, cuts=CUTS):
    return -np.polyfit(np.log(cuts), np.log(errors), 1)[0]


def answers(points, cut):
    """EA, EI, neutral height, and peaks of the stress in stretch and in bending."""
    model = CellModel(plan_cell(points, 0.0).mesh(cut), 0.3, Plane.STRESS)
    fields = solve_repeating(model, 3.0, 0.5)
    (a, b), (_, c) = fields.stiffness
    peaks = np.abs(fields.outer_stress).max(axis=0)
    return np.array([a, c - b * b / a, b / a, *peaks])


def test_stiffness_fourth_order():
    values = np.array([answers(tooth(0.3), cut)[:3] for cut in (*CUTS, 8)])
    errors = np.abs(values[:-1] - values[-1])
    for k in range(3):
        assert slope(errors[:, k]) > 3.2, errors[:, k]
    assert errors[1, 1] / values[-1, 1] < 1e-4


def test_stiffness_fourth_order_on_a_wave():
    values = np.array([answers(wave(), cut)[:3] for cut in (*CUTS, 8)])
    errors = np.abs(values[:-1] - values[-1])
    for k in range(3):
        assert slope(errors[:, k]) > 3.6, errors[:, k]


def test_peak_stress_second_order():
    values = np.array([answers(wave(), cut)[3:] for cut in (*CUTS, 8)])
    errors = np.abs(values[:-1] - values[-1])
    for k in range(2):
        assert slope(errors[:, k]) > 1.8, errors[:, k]


def test_sharp_hollow_is_of_the_order_of_its_wedge():
    """Uniform cutting of the graded mesh: the corner alone sets the order."""
    values = np.array([answers(tooth(0.0), cut)[1] for cut in (1, 2, 4, 8)])
    steps = np.diff(values)
    orders = np.log2(steps[:-1] / steps[1:])
    assert orders[-1] == pytest.approx(2 * 0.5445, abs=0.25)


def test_give_of_the_tooth():
    """A fixed patch of force on a smooth tooth: the held cell's displacement is an energy as well; the patch's ends lie inside
    elements, so the fall is uneven but no slower than third order."""
    values = []
    for cut in (*CUTS, 8):
        held = solve_held(CellModel(plan_cell(tooth(0.3), 0.0).mesh(cut), 0.3, Plane.STRESS), 1.5, 0.25)
        values.append([held.displacement[0, 0], held.displacement[1, 1], held.displacement[0, 1]])
    errors = np.abs(np.array(values[:-1]) - values[-1])
    for k in range(2):
        assert slope(errors[:, k]) > 3.0, errors[:, k]


@pytest.mark.parametrize("root", [0.4, 0.15, 0.0])
def test_estimates_hold(root):
    """The estimate stands above the true error, taken from a mesh four times finer, and not far above it."""
    got = solve_cell(tooth(root), 80, 0.0, 1.5, 0.3, Plane.STRESS)
    finest = answers(tooth(root), 8)
    true = [
        abs(got.axial_ratio / finest[0] - 1),
        abs(got.bending_ratio / 12 / finest[1] - 1),
        abs(got.neutral_height_mm - finest[2]),
    ]
    said = [got.errors.axial, got.errors.bending, got.errors.neutral_mm]
    for error, estimate in zip(true, said, strict=True):
        assert error < estimate
        assert estimate < 2e-3
    if root:
        peak = got.root.stretch / (finest[3] / finest[0]) - 1
        assert abs(peak) < max(got.errors.stress, 1e-3)
        assert got.errors.stress < 0.03
    else:
        assert got.root is None
