"""The cup as a whole: torque, held deflections, rollers, critical points, refusals.

Loads and deflections of the rim are compared with the shell's own stiffness (two routes to one number) and with bounds
from closed forms; the shell itself is tested in test_shell.py.
"""

import json
import math
from pathlib import Path

import numpy as np
import pytest

from lobewright.design.files import design_from_data
from lobewright.design.starters import starter_data
from lobewright.errors import DesignFault
from lobewright.ring import oracles_shell as oracles
from lobewright.ring import shell
from lobewright.ring.geometry import ring_geometry
from lobewright.ring.shell import (
    BandFactors,
    CupGeometry,
    CupMaterial,
    coning,
    critical_points,
    cup_geometry,
    displacement,
)
from lobewright.ring.shell_cup import cup_segments

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
    # the rim's normals turn with it, the same all around, but for a shear of the order h/R
    everywhere = displacement(response, np.array([0.0, 1.0, 2.0]))[:, station, 4]
    assert everywhere == pytest.approx(turn[station, 1] / cup.rim_radius_mm, rel=0.01)
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


def band_mean(response, angles):
    """Radial displacement averaged over the angles and over the 8 mm about the middle of the rim."""
    band = np.abs(response.from_edge_mm - 5.0) < 4.0 + 1e-9
    height, moved = response.from_edge_mm[band], displacement(response, angles)[:, band, 0].mean(axis=0)
    return np.trapezoid(moved, height) / np.ptp(height) * np.sign(height[-1] - height[0])


def test_rollers_push_to_the_deflection_and_settle():
    """Mean deflection over each contact is the one asked for."""
    result = shell.hold_on_rollers(STEEL_CUP, STEEL, 5.0, 0.5, 2, 3.0, spread_mm=8.0)
    assert result.peak_change < 0.01 and result.load.harmonics[-1] >= 24
    half = 3.0 / STEEL_CUP.rim_radius_mm
    middles = half * (np.arange(-50, 50) + 0.5) / 50.0
    for lobe in (0.0, math.pi):
        assert band_mean(result.response, lobe + middles) == pytest.approx(0.5, rel=1e-4)
    assert -0.5 < band_mean(result.response, np.array([0.5 * math.pi])) < -0.4
    narrow = shell.hold_on_rollers(STEEL_CUP, STEEL, 5.0, 0.5, 2, 0.6, spread_mm=8.0)
    peaks = [max(p.von_mises_mpa for p in critical_points(r.response) if p.name == "rim") for r in (narrow, result)]
    assert peaks[1] < peaks[0]


@pytest.mark.parametrize("lobes", [2, 3])
def test_roller_load_is_a_box_under_every_roller(lobes):
    """Sum of its harmonics: P/(2·half width) inside the contact, nothing outside, P in all."""
    half, pair = 3.0, math.radians(20.0)
    load = shell.roller_load(STEEL_CUP, 5.0, 7.0, lobes, half, 2400, pair)
    width = half / STEEL_CUP.rim_radius_mm

    def line(angle):
        return np.cos(np.outer(angle, load.harmonics)) @ load.even[:, 0]

    for centre in (pair, -pair, pair + 2.0 * math.pi / lobes):
        near = centre + width * np.linspace(-0.7, 0.7, 9)
        assert line(near) == pytest.approx(7.0 / (2.0 * half), rel=0.05)
        assert np.abs(line(np.array([centre - 1.4 * width, centre + 1.4 * width]))).max() < 0.05
    assert load.even[0, 0] * 2.0 * math.pi * STEEL_CUP.rim_radius_mm == pytest.approx(2 * lobes * 7.0, rel=1e-12)


def test_paired_rollers_push_equally():
    result = shell.hold_on_rollers(STEEL_CUP, STEEL, 5.0, 0.4, 2, 0.6, math.radians(25.0), 8.0)
    means = [band_mean(result.response, np.radians([angle])) for angle in (25.0, -25.0, 155.0)]
    assert means == pytest.approx([means[0]] * 3, rel=1e-9)
    assert means[0] == pytest.approx(0.4, rel=1e-3)


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


@pytest.mark.parametrize("kind", ["printed_cup", "metal_cup"])
def test_cup_of_a_design(kind):
    """Radii as the part is made: flush inside, rim about the neutral radius, overall length with the diaphragm."""
    design = design_from_data(starter_data(kind))
    ring, cup = design.flexible_ring, cup_geometry(design, BandFactors(hoop_bending=1.3))
    assert cup.rim_radius_mm == ring_geometry(design).neutral_radius_mm
    assert cup.inner_radius_mm == pytest.approx(ring_geometry(design).inner_radius_mm, rel=1e-12)
    assert cup.barrel_radius_mm - 0.5 * cup.barrel_wall_mm == pytest.approx(cup.inner_radius_mm, rel=1e-12)
    assert (cup.length_mm, 2.0 * cup.boss_radius_mm) == (ring.length_mm, ring.boss_diameter_mm)
    segments = cup_segments(cup, (5.0,))
    assert segments[0].start_mm == (cup.boss_radius_mm, 0.5 * ring.diaphragm_mm)
    assert segments[-1].end_mm == (cup.rim_radius_mm, ring.length_mm)
    assert [s.name for s in segments] == ["diaphragm", "corner", "barrel", "rim", "rim"]
    plain = shell.rim_stiffness(cup_geometry(design), STEEL, [2], 5.0).compliance[0, 0, 0]
    assert 0.7 < shell.rim_stiffness(cup, STEEL, [2], 5.0).compliance[0, 0, 0] / plain < 0.99
    with pytest.raises(DesignFault, match="no cup"):
        cup_geometry(design_from_data(starter_data("belt")))


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


# ---- against solid elements -----------------------------------------------------------------------------------------

SOLID = json.loads((Path(__file__).parents[2] / "benchmarks" / "fe" / "cup_solid.json").read_text("utf-8"))
"""Kept numbers of a three-dimensional model of bricks, made by benchmarks/fe/cup_solid.py with a general FE code."""


def shell_under(case, load):
    """The shell under the load of the bricks; its straight part at φ = 0 by height: displacement, stress."""
    cup = CupGeometry(**case["cup"])
    place, spread, push = 0.5 * cup.rim_width_mm, SOLID["spread_mm"], SOLID["line_load_n_per_mm"]
    if load == "lobes":
        even = np.array([[push, 0.0, 0.0, 0.0]])
        acting = shell.RimLoad(place, np.array([2]), even, 0.0 * even, spread)
    else:
        half = cup.rim_radius_mm * math.radians(SOLID["contact_half_angle_deg"])
        acting = shell.roller_load(cup, place, 2.0 * half * push, 2, half, 96, spread_mm=spread)
    response = shell.respond(cup, CupMaterial(SOLID["modulus_mpa"], SOLID["poisson"]), [acting])
    moved = displacement(response, np.zeros(1))[0, :, 0]
    return cup, response, moved, shell.surface_stress(response, np.zeros(1))[0]


@pytest.mark.parametrize("load", ["lobes", "contact"])
@pytest.mark.parametrize("name", ["steel", "printed", "thick"])
def test_deflection_and_reaction_of_solid_elements(name, load):
    """Mean deflection of the loaded band (the inverse of the reaction to a given one) and coning: 0.5 % (R/h 80 … 15).

    Clamped solid and clamped shell differ by terms of the order h/L at the boss; hence not tighter.
    """
    case = SOLID["cases"][name]
    cup, response, moved, _ = shell_under(case, load)
    height, solid = np.array(case[load]["z_mm"]), np.array(case[load]["radial_mm"])
    straight = np.isin(np.array(response.segment), ("barrel", "rim"))
    mine = np.interp(height, cup.length_mm - response.from_edge_mm[straight], moved[straight])
    middle = cup.length_mm - 0.5 * cup.rim_width_mm
    band = np.abs(height - middle) < 0.5 * SOLID["spread_mm"] + 1e-9
    means = [np.trapezoid(w[band], height[band]) for w in (mine, solid)]
    assert means[0] == pytest.approx(means[1], rel=5e-3)
    step = np.argmin(np.abs(height - (cup.length_mm - cup.rim_width_mm)))
    assert mine[-1] - mine[step] == pytest.approx(solid[-1] - solid[step], rel=5e-3)
    barrel = height > cup.diaphragm_mm + cup.corner_radius_mm + 1e-9
    assert np.abs(mine - solid)[barrel].max() < 5e-3 * solid.max()


@pytest.mark.parametrize("load", ["lobes", "contact"])
@pytest.mark.parametrize("name", ["steel", "printed", "thick"])
def test_stresses_of_solid_elements(name, load):
    """Surface stresses at φ = 0 where a shell can know them: one wall from the step and from the edges of the load,
    2 % of the highest there. Corner: its highest stress within 10 %, inside and outside (straight normals in a turn of
    R/h 3 … 5, and the outside of the taper has a slight kink where it begins)."""
    case = SOLID["cases"][name]
    cup, response, _, stress = shell_under(case, load)
    height, radius = np.array(case[load]["z_mm"]), np.array(case[load]["r_mm"])
    names = np.array(response.segment)
    straight = np.isin(names, ("barrel", "rim"))
    own = cup.length_mm - response.from_edge_mm[straight]
    turn, step = cup.diaphragm_mm + cup.corner_radius_mm, cup.length_mm - cup.rim_width_mm
    gap = 0.5 * (cup.rim_width_mm - SOLID["spread_mm"])
    disturbed = [turn, step, step + gap, cup.length_mm - gap, cup.length_mm]
    kept = (height > turn) & (np.abs(height[:, None] - disturbed).min(axis=1) > cup.rim_wall_mm)
    assert kept.sum() > 12
    highest = np.abs(case[load]["outside_mpa"]).max()
    for surface, side in enumerate(("inside_mpa", "outside_mpa")):
        solid = np.array(case[load][side])
        for column in range(2):
            mine = np.interp(height[kept], own, stress[straight, surface, column])
            assert np.abs(mine - solid[kept, column]).max() < 0.02 * highest
        corner = (height < turn - 1e-9) & (radius > cup.inner_radius_mm - cup.corner_radius_mm + 1e-9)
        peaks = np.abs(stress[names == "corner", surface, 0]).max(), np.abs(solid[corner, 0]).max()
        assert peaks[0] == pytest.approx(peaks[1], rel=0.10)
