"""A driven cup against thin-shell closed forms: the almost inextensional mode and the torsion of a tube."""

import math

import numpy as np
import pytest

from lobewright.ring.oracles_shell import linear_mode, tube_torsion
from lobewright.ring.shell import CupGeometry, CupMaterial, hold_driven, surface_stress

STEEL = CupMaterial(206e3, 0.3)
SHEAR_MPA = 206e3 / 2.6


def cup(wall, floor, length=60.0):
    """A plain cup of one wall whose floor is stiff in its plane and limp across it where it is thin."""
    return CupGeometry(25.0, length, wall, wall, 8.0, floor, 0.0, 5.0)


def driven(shape, orders, radial, sideways):
    (answer,) = hold_driven(shape, STEEL, orders, radial[None], sideways[None], 4.0, 8.0)
    return answer


@pytest.mark.parametrize("order", [2, 3])
def test_bending_and_twist_of_the_almost_inextensional_barrel(order):
    shape = cup(0.3, 0.1)
    orders, radial = np.array([order]), np.array([[0.2], [0.0]])
    answer = driven(shape, orders, radial, np.zeros((2, 1)))
    place = 30.0
    at = int(np.argmin(np.abs(answer.from_edge_mm - place)))
    # the deflection grows from the floor to the middle of the rim, where it is prescribed
    reach = shape.length_mm - 4.0
    mode = linear_mode(25.0, 0.3, reach, 206e3, 0.3, order)
    share = (shape.length_mm - answer.from_edge_mm[at]) / reach
    stress = surface_stress(answer, np.array([0.0, math.pi / (2 * order)]))[:, at]
    bending = 0.5 * (stress[0, 1, 1] - stress[0, 0, 1])
    assert bending == pytest.approx(0.2 * share * mode.hoop_mpa, rel=0.04)
    twist = 0.5 * (stress[1, 1, 2] - stress[1, 0, 2])
    assert abs(twist) == pytest.approx(0.2 * mode.shear_mpa, rel=0.06)


def test_torque_shears_the_barrel_evenly_and_the_diaphragm_as_its_radius():
    shape, torque = cup(0.5, 1.0), 50e3
    sideways = np.array([[0.0], [-torque / (2.0 * math.pi * 25.0**2)]])
    answer = driven(shape, np.array([0]), np.zeros((2, 1)), sideways)
    stress = surface_stress(answer, np.array([0.0, 1.0]))
    at = int(np.argmin(np.abs(answer.from_edge_mm - 30.0)))
    outer, _ = tube_torsion(25.0, 0.5, SHEAR_MPA, torque)
    assert stress[:, at, 1, 2] == pytest.approx([outer, outer], rel=1e-3)
    assert np.abs(stress[:, at, :, :2]).max() < 1e-3 * outer
    flat = np.flatnonzero(np.array(answer.segment) == "diaphragm")
    near = flat[int(np.argmin(np.abs(answer.radius_mm[flat] - 12.0)))]
    even = torque / (2.0 * math.pi * answer.radius_mm[near] ** 2 * 1.0)
    # the field goes as 1/r² over elements as long as a third of the radius
    assert np.abs(stress[:, near, :, 2]).mean() == pytest.approx(even, rel=0.015)
