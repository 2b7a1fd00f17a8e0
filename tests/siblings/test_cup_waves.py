"""A cup driven by its rim's waves against the same cup on rollers, on a tight cam and under given loads."""

import numpy as np
import pytest

from lobewright.ring.shell import (
    CupGeometry,
    CupMaterial,
    Rim,
    displacement,
    hold,
    hold_driven,
    hold_on_rollers,
    respond,
    surface_stress,
    torque_load,
)
from lobewright.ring.shell_mesh import BandFactors

CUP = CupGeometry(39.4, 45.0, 0.4, 0.5, 10.0, 0.6, 2.0, 20.0, BandFactors(1.09, 1.47, 2.9, 1.6))
STEEL = CupMaterial(206e3, 0.3)
PLACE, SPREAD = 5.0, 8.0
ANGLES = np.radians(np.arange(-180.0, 180.0, 5.0))


def band_mean(response):
    """Mean radial deflection amplitudes (2, H) over the loaded band, from the displacements at its stations."""
    inside = np.array(response.segment) == "rim"
    inside &= np.abs(response.from_edge_mm - PLACE) <= 0.5 * SPREAD + 1e-9
    height = -response.from_edge_mm[inside]
    moved = response.fields.displacement_mm[:, :, inside, 0]
    return np.trapezoid(moved, height, axis=2) / (height[-1] - height[0])


def apart(one, other):
    mine, theirs = surface_stress(one, ANGLES), surface_stress(other, ANGLES)
    places = np.interp  # stations differ where the meshes do
    out = 0.0
    for name in ("barrel", "corner", "diaphragm"):
        a, b = (np.array(r.segment) == name for r in (one, other))
        for angle in range(0, len(ANGLES), 6):
            for surface in range(2):
                for k in range(3):
                    mine_there = places(other.arc_mm[b], one.arc_mm[a], mine[angle, a, surface, k])
                    # both sides of a node between elements stand there: leave ends of elements out
                    inner = np.diff(other.arc_mm[b], prepend=-1.0, append=-1.0)
                    kept = (inner[:-1] > 1e-9) & (np.abs(inner[1:]) > 1e-9)
                    out = max(out, float(np.abs(mine_there - theirs[angle, b, surface, k])[kept].max()))
    return out / float(np.abs(theirs).max())


def test_rollers():
    rolled = hold_on_rollers(CUP, STEEL, PLACE, 0.05, 2, 2.0, 0.4, SPREAD)
    orders = rolled.load.harmonics
    (driven,) = hold_driven(
        CUP, STEEL, orders, band_mean(rolled.response)[None], np.zeros((1, 2, len(orders))), PLACE, SPREAD
    )
    assert apart(driven, rolled.response) < 0.003
    # half of its waves are enough away from the rim
    few = orders[orders <= 24]
    means = band_mean(rolled.response)[None, :, : len(few)]
    (coarse,) = hold_driven(CUP, STEEL, few, means, np.zeros((1, 2, len(few))), PLACE, SPREAD)
    assert 1e-4 < apart(coarse, rolled.response) < 0.02


def test_tight_cam():
    orders, even = np.array([0, 2, 4]), np.array([0.002, 0.4, -0.01])
    held, _ = hold(CUP, STEEL, orders, even, PLACE, spread_mm=SPREAD)
    radial = np.stack((even, np.zeros(3)))[None]
    (driven,) = hold_driven(CUP, STEEL, orders, radial, np.zeros((1, 2, 3)), PLACE, SPREAD)
    assert np.abs(surface_stress(driven, ANGLES) - surface_stress(held, ANGLES)).max() < 1e-9 * 206e3


@pytest.mark.parametrize("torque", [8000.0, -3000.0])
def test_torque(torque):
    load = torque_load(CUP, PLACE, torque, SPREAD)
    twisted = respond(CUP, STEEL, [load])
    sideways = np.zeros((1, 2, 1))
    sideways[0, 1, 0] = load.odd[0, Rim.TANGENTIAL]
    (driven,) = hold_driven(CUP, STEEL, (0,), np.zeros((1, 2, 1)), sideways, PLACE, SPREAD)
    assert np.abs(surface_stress(driven, ANGLES) - surface_stress(twisted, ANGLES)).max() < 1e-9 * abs(torque)


def test_states_do_not_touch_each_other_and_add_up():
    orders = np.array([0, 2, 3, 4])
    rng = np.random.default_rng(3)
    radial, sideways = rng.standard_normal((2, 3, 2, 4))
    radial[2], sideways[2] = radial[0] + radial[1], sideways[0] + sideways[1]
    first, second, both = hold_driven(CUP, STEEL, orders, radial, sideways, PLACE, SPREAD)
    moved = [displacement(one, ANGLES) for one in (first, second, both)]
    assert np.abs(moved[0] + moved[1] - moved[2]).max() < 1e-9 * np.abs(moved[2]).max()
    (alone,) = hold_driven(CUP, STEEL, orders, radial[1:2], sideways[1:2], PLACE, SPREAD)
    assert np.abs(displacement(alone, ANGLES) - moved[1]).max() < 1e-12 * np.abs(moved[1]).max()
