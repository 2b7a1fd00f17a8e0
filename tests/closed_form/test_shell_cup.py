"""The cup as a whole: torque, held deflections, rollers, critical points, refusals.

Loads and deflections of the rim are compared with the shell's own stiffness (two routes to one number) and with bounds
from closed forms; the shell itself is tested in test_shell.py.
"""

import math
import time

import numpy as np
import pytest

from lobewright.errors import DesignFault
from lobewright.ring import oracles_shell as oracles
from lobewright.ring import shell
from lobewright.ring.shell import (
    CupGeometry,
    CupMaterial,
    coning,
    critical_points,
    displacement,
)

STEEL = CupMaterial(206e3, 0.3)
STEEL_CUP = CupGeometry(
    rim_radius_mm=39.4,
    length_mm=45.0,
    barrel_wall_mm=0.4,
    rim_wall_mm=0.5,
    rim_width_mm=10.0,
    diaphragm_mm=0.6,
    corner_radius_mm=2.0,
    boss_radius_mm=20.0,
)


def test_torque_on_the_rim_twists_the_barrel():
    """Torsional stiffness is at most that of the barrel alone (diaphragm in its plane and rim are in series with it)."""
    cup, torque = STEEL_CUP, 30e3
    response = shell.respond(cup, STEEL, [shell.torque_load(cup, 5.0, torque)])
    turn = displacement(response, np.array([0.3]))[0]
    station = np.flatnonzero(np.abs(response.from_edge_mm - 5.0) < 1e-9)[-1]
    stiffness = shell.torsional_stiffness(cup, STEEL, 5.0)
    assert torque / (turn[station, 1] / cup.rim_radius_mm) == pytest.approx(stiffness, rel=1e-9)
    barrel = response.cup.length_mm - cup.rim_width_mm - cup.diaphragm_mm - cup.corner_radius_mm
    _, twist = oracles.tube_torsion(cup.barrel_radius_mm, cup.barrel_wall_mm, 206e3 / 2.6, 1.0)
    disc = (1.0 / cup.boss_radius_mm**2 - 1.0 / cup.inner_radius_mm**2) / (
        4.0 * math.pi * 206e3 / 2.6 * cup.diaphragm_mm
    )
    assert stiffness < 1.0 / (twist * barrel + 0.9 * disc)
    assert stiffness == pytest.approx(1.0 / (twist * (barrel + 6.0) + disc), rel=0.06)
    middle = next(p for p in critical_points(response) if p.name == "mid_barrel")
    fibre, _ = oracles.tube_torsion(cup.barrel_radius_mm, cup.barrel_wall_mm, 206e3 / 2.6, torque)
    assert middle.mean_mpa[2] == pytest.approx(fibre, rel=2e-3)
    assert middle.surface == "outside" and abs(middle.alternating_mpa[2]) < 1e-9 * fibre


def test_generator_reaction_of_a_held_deflection():
    """Force = stiffness × deflection, and the rim goes where it is told."""
    response, reaction = shell.hold(STEEL_CUP, STEEL, [2, 4], [0.5, 0.01], 5.0, spread_mm=8.0)
    rim = shell.rim_stiffness(STEEL_CUP, STEEL, [2, 4], 5.0, spread_mm=8.0)
    assert reaction.even[:, 0] == pytest.approx(np.array([0.5, 0.01]) / rim.compliance[:, 0, 0], rel=1e-7)
    lean = coning(response, 5.0)
    inside = (lean.from_edge_mm > 1.0) & (lean.from_edge_mm < 9.0)
    assert np.ptp(lean.deflection_mm[inside]) > 0.05
    assert np.interp(5.0, lean.from_edge_mm[::-1], lean.deflection_mm[::-1]) == pytest.approx(0.51, abs=2e-3)
    assert lean.tilt_rad == pytest.approx(lean.linear_tilt_rad, rel=0.1)


def test_barrel_deflects_almost_linearly():
    """Two lobes at the rim: along the barrel w stays near the straight line from the diaphragm, and not as e^(−λz)."""
    response, _ = shell.hold(STEEL_CUP, STEEL, [2], [0.5], 5.0)
    lean = coning(response, 5.0)
    assert np.abs(lean.deflection_mm - lean.linear_mm).max() < 0.03 * 0.5
    third = np.argmin(np.abs(lean.from_edge_mm - 30.0))
    assert lean.deflection_mm[third] > 0.3 * 0.5


def test_rollers_push_to_the_deflection_and_settle():
    """Mean deflection over each contact is the one asked for; forces of all rollers balance the line load."""
    result = shell.hold_on_rollers(STEEL_CUP, STEEL, 5.0, 0.5, 2, 0.6, spread_mm=8.0)
    assert result.peak_change < 0.01 and result.load.harmonics[-1] >= 24
    moved = displacement(result.response, np.array([0.0, math.pi / 2]))
    inner = np.flatnonzero(np.abs(result.response.from_edge_mm - 5.0) < 4.0)
    assert moved[0, inner, 0].mean() == pytest.approx(0.5, rel=0.02)
    minor = moved[1, inner, 0].mean()
    assert -0.5 < minor < -0.4  # two narrow rollers on a thin ring: −0.918
    angle = np.linspace(-0.4, 0.4, 4001)
    line = (result.load.even[:, 0][:, None] * np.cos(np.outer(result.load.harmonics, angle))).sum(axis=0)
    total = float(((line[1:] + line[:-1]) * np.diff(angle)).sum()) * 0.5 * STEEL_CUP.rim_radius_mm
    assert total == pytest.approx(result.force_n, rel=0.05)  # the series of a box ends at its last harmonic
    wide = shell.hold_on_rollers(STEEL_CUP, STEEL, 5.0, 0.5, 2, 3.0, spread_mm=8.0)
    peaks = [max(p.von_mises_mpa for p in critical_points(r.response) if p.name == "rim") for r in (result, wide)]
    assert peaks[1] < peaks[0]


def test_paired_rollers_push_equally():
    result = shell.hold_on_rollers(STEEL_CUP, STEEL, 5.0, 0.4, 2, 0.6, math.radians(25.0), 8.0)
    moved = displacement(result.response, np.radians([25.0, -25.0, 155.0]))
    inner = np.flatnonzero(np.abs(result.response.from_edge_mm - 5.0) < 4.0)
    means = moved[:, inner, 0].mean(axis=1)
    assert means == pytest.approx(np.full(3, means[0]), rel=1e-9)
    assert means[0] == pytest.approx(0.4, rel=0.02)


def test_peak_stress_lies_where_cups_break():
    """Held two lobes on a steel cup: transition and boss exceed the middle of the barrel."""
    response, _ = shell.hold(STEEL_CUP, STEEL, [2], [0.5], 5.0)
    peaks = {p.name: p for p in critical_points(response)}
    assert set(peaks) == {"rim", "transition", "mid_barrel", "corner", "diaphragm", "boss"}
    assert peaks["transition"].von_mises_mpa > 1.3 * peaks["mid_barrel"].von_mises_mpa
    rim = peaks["rim"]
    assert rim.mean_mpa == pytest.approx((0.0, 0.0, 0.0), abs=1e-9)
    ring = 1.5 * 206e3 * STEEL_CUP.rim_wall_mm * 0.565 / STEEL_CUP.rim_radius_mm**2  # rim at the open edge
    assert rim.alternating_mpa[1] == pytest.approx(ring, rel=0.08)


def test_condensed_stiffness_in_ten_milliseconds():
    """25 harmonics, processor time, best of several."""
    shell.rim_stiffness(STEEL_CUP, STEEL, range(25), 5.0)
    best = math.inf
    for _ in range(10):
        start = time.process_time()
        shell.rim_stiffness(STEEL_CUP, STEEL, range(25), 5.0)
        best = min(best, time.process_time() - start)
    assert best < 0.010


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"rim_wall_mm": 0.0}, "must be positive"),
        ({"corner_radius_mm": -1.0}, "negative"),
        ({"length_mm": 12.0}, "too short"),
        ({"boss_radius_mm": 38.0}, "leaves no diaphragm"),
    ],
)
def test_impossible_cups_are_refused(change, words):
    with pytest.raises(DesignFault, match=words):
        CupGeometry(**{**vars(STEEL_CUP), **change})


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: shell.rim_stiffness(STEEL_CUP, STEEL, [2], 11.0), "does not act on the rim"),
        (lambda: shell.rim_stiffness(STEEL_CUP, STEEL, [2], 2.0, spread_mm=8.0), "does not act on the rim"),
        (lambda: shell.rim_stiffness(STEEL_CUP, STEEL, [2, 2], 5.0), "rising list"),
        (lambda: shell.roller_load(STEEL_CUP, 5.0, 1.0, 2, 0.0, 24), "needs a width"),
        (lambda: CupMaterial(0.0, 0.3), "positive"),
        (lambda: CupMaterial(1.0, 0.5), "out of range"),
    ],
)
def test_wrong_requests_are_answered(call, words):
    with pytest.raises(DesignFault, match=words):
        call()
