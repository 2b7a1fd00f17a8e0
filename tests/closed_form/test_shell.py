"""The shell of revolution against closed forms of plates, tubes, cylinders and rings, and its own symmetries.

Where the closed form is exact for the model (plane stress in a plane, torsion, axisymmetric plates with their shear),
tolerances are those of the mesh, 1e-5 or tighter. Thin-shell forms leave out terms of the order h/R (edge bending) or
√(R h)/L (inextensional bending); those tests use very thin walls, and some also ask that the difference shrinks as it must.
"""

import doctest
import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lobewright.errors import ConvergenceFault, DesignFault
from lobewright.ring import oracles_shell as oracles
from lobewright.ring import shell, shell_element, shell_mesh
from lobewright.ring.shell import BandFactors, CupGeometry, CupMaterial, Rim, RimLoad
from lobewright.ring.shell_cup import cup_segments
from lobewright.ring.shell_mesh import PLAIN, Line
from lobewright.ring.shell_model import (
    AXIAL,
    RADIAL,
    TANGENTIAL,
    TURN,
    TWIST,
    band_load,
    build_model,
    forces,
    node_stiffness,
    solve_held,
)
from lobewright.ring.shell_report import displacement, surface_stress
from lobewright.ring.shell_stress import recover, von_mises

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
PRINTED_CUP = CupGeometry(47.0, 50.0, 1.0, 1.2, 12.0, 2.0, 3.0, 20.0)


def solve(model, order, held, rhs, values=None):
    """Unknowns (n,) of one harmonic. held, rhs, values: {(node, kind): value}; held without a value is zero."""
    n = model.meridian.unknowns
    fixed, given, load = np.zeros(n, dtype=bool), np.zeros((1, n, 1)), np.zeros((1, n, 1))
    for node, kind in held:
        fixed[5 * (node % model.meridian.nodes) + kind] = True
    for (node, kind), value in (values or {}).items():
        given[0, 5 * (node % model.meridian.nodes) + kind] = value
        fixed[5 * (node % model.meridian.nodes) + kind] = True
    for (node, kind), value in rhs.items():
        load[0, 5 * (node % model.meridian.nodes) + kind] = value
    return solve_held(model, np.array([order]), fixed, given, load)[0, :, 0]


def at(x, node, kind):
    return x.reshape(-1, 5)[node, kind]


def read(model, order, x):
    """Recovered fields of one harmonic without the leading axes."""
    found = recover(model, np.array([order]), x[None, None, :])
    return found.displacement_mm[0, 0], found.resultant[0, 0], found.stress_mpa[0, 0]


def clamp(node):
    return [(node, kind) for kind in range(5)]


def plate(inner, outer, wall, material, refine=1.0):
    return build_model((Line("plate", (inner, 0.0), (outer, 0.0), wall),), material, refine)


@pytest.mark.parametrize("module", [oracles, shell_element, shell_mesh])
def test_worked_examples(module):
    result = doctest.testmod(module)
    assert result.attempted and not result.failed


# ---- k = 0 --------------------------------------------------------------------------------------------------------


def edge_cylinder(radius, wall):
    """Long tube with its far end clamped, and the closed form."""
    form = oracles.edge_bending(radius, wall, STEEL.modulus_mpa, STEEL.poisson)
    return build_model((Line("tube", (radius, 0.0), (radius, 12.0 / form.decay_per_mm), wall),), STEEL), form


@pytest.mark.parametrize(
    ("radius", "wall", "tolerance"),
    # shear across the wall and h/R terms make a difference of the size h/R (sqrt of it in none of these rows)
    [(25.0, 0.5, 0.02), (25.0, 0.005, 2e-4)],
)
def test_edge_bending_of_a_long_cylinder(radius, wall, tolerance):
    model, form = edge_cylinder(radius, wall)
    by_shear = solve(model, 0, clamp(0), {(-1, RADIAL): radius})
    by_moment = solve(model, 0, clamp(0), {(-1, TURN): radius})
    assert at(by_shear, -1, RADIAL) == pytest.approx(form.deflection_by_shear, rel=tolerance)
    assert at(by_shear, -1, TURN) == pytest.approx(form.turn_by_shear, rel=tolerance)
    assert at(by_moment, -1, RADIAL) == pytest.approx(form.deflection_by_moment, rel=tolerance)
    assert at(by_moment, -1, TURN) == pytest.approx(form.turn_by_moment, rel=tolerance)


def test_difference_from_thin_edge_bending_is_of_the_order_of_the_wall():
    differences = []
    for wall in (0.4, 0.2, 0.1):
        model, form = edge_cylinder(25.0, wall)
        x = solve(model, 0, clamp(0), {(-1, RADIAL): 25.0})
        differences.append(at(x, -1, RADIAL) / form.deflection_by_shear - 1.0)
    assert differences[0] / differences[1] == pytest.approx(2.0, abs=0.15)
    assert differences[1] / differences[2] == pytest.approx(2.0, abs=0.1)


def test_ring_load_inside_a_long_cylinder():
    """w under the load; moment, and the wave of w that decays as e^(−λz)(cos λz + sin λz)."""
    radius, wall = 25.0, 0.005
    form = oracles.edge_bending(radius, wall, STEEL.modulus_mpa, STEEL.poisson)
    reach = 12.0 / form.decay_per_mm
    halves = (
        Line("below", (radius, 0.0), (radius, reach), wall),
        Line("above", (radius, reach), (radius, 2 * reach), wall),
    )
    model = build_model(halves, STEEL, refine=4.0)
    node = int(model.meridian.ends[1])
    # the far end slides along the axis: held there, the tube's mean hoop strain would pull it (0.7 % of the wave)
    x = solve(model, 0, clamp(0) + [(-1, kind) for kind in (RADIAL, TANGENTIAL, TURN, TWIST)], {(node, RADIAL): radius})
    moved, resultant, _ = read(model, 0, x)
    scaled = (model.meridian.arc_mm.ravel() - reach) * form.decay_per_mm
    wave = np.exp(-np.abs(scaled)) * (np.cos(scaled) + np.sin(np.abs(scaled)))
    assert np.abs(moved[:, 0] / form.deflection_under_ring_load - wave).max() < 5e-4
    # an outward load bends the wall outward under it: the outside is pulled, M positive
    at_load = np.flatnonzero(np.abs(scaled) < 1e-9)
    assert resultant[at_load, 3] == pytest.approx(form.moment_under_ring_load, rel=2e-3)


def test_torsion_of_a_tube_is_exact():
    """50 N·m on a tube of R 25, wall 0.5, G 79 GPa: the worked row, thin and exact."""
    material = CupMaterial(79e3 * 2.0 * 1.3, 0.3)
    model = build_model((Line("tube", (25.0, 0.0), (25.0, 30.0), 0.5),), material)
    torque = 50e3
    fibre, twist = oracles.tube_torsion(25.0, 0.5, 79e3, torque)
    # per radian: torque/(2π) is work-conjugate to the turn v/R; the twist of the free end is left to the shell
    x = solve(model, 0, clamp(0), {(-1, TANGENTIAL): torque / (2.0 * math.pi * 25.0)})
    _, resultant, stress = read(model, 0, x)
    middle = len(stress) // 2
    assert stress[middle, 1, 2] == pytest.approx(fibre, rel=1e-4)
    assert stress[middle, 1, 2] == pytest.approx(25.717, abs=1e-3)
    assert resultant[middle, 2] == pytest.approx(torque / (2.0 * math.pi * 25.0**2), rel=2e-4)
    exact = solve(
        model, 0, clamp(0), {(-1, TWIST): 0.0}, {(-1, TANGENTIAL): twist * 30.0 * 25.0, (-1, TWIST): twist * 30.0}
    )
    assert at(exact, 9, TANGENTIAL) == pytest.approx(twist * model.meridian.place_mm[3, 0, 1] * 25.0, rel=1e-9)
    assert at(x, -1, TANGENTIAL) / (30.0 * 25.0) == pytest.approx(1.28936e-5, rel=2e-3)


def test_pressure_ring():
    """Even line load q over a short free band: w = q R²/(E h b) all over; (h/R)² remains."""
    material = CupMaterial(206e3, 0.0)
    model = build_model((Line("ring", (25.0, 0.0), (25.0, 2.0), 0.1),), material)
    load = 25.0 * 3.0 * band_load(model, 0.0, 2.0)[:, [Rim.RADIAL]]
    held = np.zeros(model.meridian.unknowns, dtype=bool)
    held[[AXIAL, TANGENTIAL]] = True
    x = solve_held(model, np.array([0]), held, None, load[None])[0, :, 0]
    assert np.abs(x[RADIAL::5] / (3.0 * 25.0**2 / (206e3 * 0.1 * 2.0)) - 1.0).max() < 1e-5
    _, resultant, stress = read(model, 0, x)
    assert resultant[:, 1] == pytest.approx(3.0 * 25.0 / 2.0, rel=1e-5)
    assert stress[:, 1, 1] == pytest.approx(3.0 * 25.0 / (2.0 * 0.1), rel=5e-3)  # outer fibre sits at R + h/2


# ---- plates -------------------------------------------------------------------------------------------------------


def test_annular_plate_with_guided_boss():
    """Outer edge clamped, boss pushed along the axis: bending and shear add up exactly."""
    outer, inner, wall = 40.0, 16.0, 0.8
    model = plate(inner, outer, wall, STEEL)
    x = solve(
        model, 0, [*clamp(-1), (0, RADIAL), (0, TURN), (0, TANGENTIAL), (0, TWIST)], {(0, AXIAL): 1.0 / (2.0 * math.pi)}
    )
    bending = oracles.guided_annulus(outer, inner) * outer**2 / oracles.plate_stiffness(206e3, wall, 0.3)
    shear = oracles.annulus_shear(outer, inner, wall, 206e3 / 2.6)
    assert at(x, 0, AXIAL) == pytest.approx(bending + shear, rel=1e-6)
    assert oracles.guided_annulus(outer, inner) == pytest.approx(0.003985108, abs=5e-10)


def patch_load(model, reach, pressure):
    """Axial nodal loads per radian of an even pressure out to a radius where an element ends."""
    points, weights = np.polynomial.legendre.leggauss(4)
    line = model.meridian
    shape, _ = shell_element.lagrange(shell_element.lobatto(line.degree), points)
    load = np.zeros(line.unknowns)
    for nodes, place in zip(line.element_nodes(), line.place_mm, strict=True):
        if place[-1, 0] < reach * (1 + 1e-9):
            radius = shape @ place[:, 0]
            load[5 * nodes + AXIAL] += pressure * (weights * radius) @ shape * 0.5 * np.ptp(place[:, 0])
    return {(int(i) // 5, AXIAL): load[i] for i in np.flatnonzero(load)}


def test_clamped_plate_under_a_patch():
    """a 150, h 1.5, E 200 GPa, ν 0.29, 1 MPa on r 10: remembered sheet says 2.295 mm, M_c 87, M_edge −25, 233/−67 MPa.

    The form here gives 2.2546 mm, 87.37, −24.94 N·mm/mm; shear adds 0.1 %.
    """
    material, force = CupMaterial(200e3, 0.29), math.pi * 100.0
    lines = (Line("patch", (0.0, 0.0), (10.0, 0.0), 1.5), Line("rest", (10.0, 0.0), (150.0, 0.0), 1.5))
    model = build_model(lines, material, refine=2.0)
    axis = [(0, kind) for kind in (RADIAL, TANGENTIAL, TURN, TWIST)]
    x = solve(model, 0, axis + clamp(-1), patch_load(model, 10.0, 1.0))
    centre, inner, edge = oracles.clamped_patch_plate(150.0, 10.0, 1.5, 200e3, 0.29, force)
    assert (centre, inner, edge) == pytest.approx((2.2546, 87.37, -24.94), abs=6e-3)
    shear = force / (2.0 * math.pi * 5.0 / 6.0 * material.modulus_mpa / 2.58 * 1.5) * (math.log(15.0) + 0.5)
    assert at(x, 0, AXIAL) == pytest.approx(centre + shear, rel=1e-5)
    _, resultant, stress = read(model, 0, x)
    # the patch pushes along +z, away from the outside of a diaphragm: the inside is pulled in the middle
    assert -resultant[0, 3] == pytest.approx(inner, rel=2e-3)
    assert -resultant[-1, 3] == pytest.approx(edge, rel=2e-3)
    assert stress[0, 0, 0] == pytest.approx(233.0, abs=0.5)
    assert stress[-1, 0, 0] == pytest.approx(-66.5, abs=0.2)


def test_supported_plate_under_pressure():
    material = CupMaterial(200e3, 0.29)
    model = plate(0.0, 150.0, 1.5, material, refine=2.0)
    axis = [(0, kind) for kind in (RADIAL, TANGENTIAL, TURN, TWIST)]
    x = solve(model, 0, [*axis, (-1, AXIAL), (-1, TANGENTIAL)], patch_load(model, 150.0, 0.01))
    deflection, moment = oracles.supported_plate(150.0, 1.5, 200e3, 0.29, 0.01)
    shear = 0.01 * 150.0**2 / (4.0 * 5.0 / 6.0 * 200e3 / 2.58 * 1.5)
    assert at(x, 0, AXIAL) == pytest.approx(deflection + shear, rel=1e-5)
    assert -read(model, 0, x)[1][0, 3] == pytest.approx(moment, rel=1e-3)


def test_plate_warped_by_two_lobes():
    """Edge w cos 2φ: A r² + B r⁴ + C r⁻² + F. The free twist at the edge makes a difference of the order h/a."""
    outer, inner = 40.0, 20.0
    differences = []
    for wall in (0.2, 0.1, 0.05):
        model = plate(inner, outer, wall, STEEL, refine=2.0)
        x = solve(model, 2, clamp(0), {}, {(-1, AXIAL): 1.0})
        load = forces(model, [2], x[None, :, None])[0, -3, 0] / outer
        expected, moment = oracles.bent_annulus(outer, inner, wall, 206e3, 0.3)
        differences.append(load / expected - 1.0)
        assert -read(model, 2, x)[1][0, 3] == pytest.approx(moment, rel=2.0 * wall / outer)
    assert abs(differences[2]) < 0.05 / outer
    assert differences[0] / differences[1] == pytest.approx(2.0, abs=0.2)
    assert differences[1] / differences[2] == pytest.approx(2.0, abs=0.1)


def test_plate_stretched_by_two_lobes_is_exact():
    outer, inner = 40.0, 10.0
    model = plate(inner, outer, 0.6, STEEL, refine=2.0)
    x = solve(model, 2, clamp(0), {(-1, RADIAL): outer * 0.6})
    radial, around, stress = oracles.stretched_annulus(outer, inner, 206e3, 0.3)
    assert (at(x, -1, RADIAL), at(x, -1, TANGENTIAL)) == pytest.approx((radial, around), rel=1e-6)
    found = read(model, 2, x)[2][0]
    assert found == pytest.approx(np.tile(stress, (2, 1)), abs=2e-3 * np.abs(stress).max())


# ---- rings and tubes ----------------------------------------------------------------------------------------------


def ring_stiffness(radius, wall, width, order, material, factors=PLAIN):
    """Even radial line load per deflection of a free band."""
    model = build_model((Line("ring", (radius, 0.0), (radius, width), wall, factors),), material)
    band = band_load(model, 0.0, width)[:, Rim.RADIAL]
    held = np.zeros(model.meridian.unknowns, dtype=bool)
    # the symmetric motion leaves tilt and axial shift free: hold them where they are zero anyway
    held[[AXIAL]] = True
    load = (radius * band)[None, :, None]
    x = solve_held(model, np.array([order]), held, None, load)[0, :, 0]
    return 1.0 / (band @ x)


@pytest.mark.parametrize("order", [2, 3, 5, 8])
def test_narrow_free_rim_is_a_thin_ring(order):
    """Beam limit b²/(R h) ≪ 1; left are stretch, shear and curvature, of the size (k h/R)²."""
    radius, wall = 50.0, 0.25
    expected = oracles.ring_stiffness(radius, 206e3 * 0.2 * wall**3 / 12.0, order)
    found = ring_stiffness(radius, wall, 0.2, order, STEEL)
    assert found == pytest.approx(expected, rel=2.0 * (order * wall / radius) ** 2 + 1e-4)


def test_wide_free_rim_bends_as_a_plate():
    """The stiffness per EI goes from 1 to 1/(1 − ν²) = 1.0989 as b²/(R h) grows."""
    ratios = []
    for width in (0.25, 2.0, 6.0, 20.0, 60.0):
        beam = oracles.ring_stiffness(50.0, 206e3 * width * 0.25**3 / 12.0, 2)
        ratios.append(ring_stiffness(50.0, 0.25, width, 2, STEEL) / beam)
    assert ratios[0] == pytest.approx(1.0, abs=1e-3)
    assert all(a < b for a, b in pairwise(ratios))
    assert 1.08 < ratios[-1] < 1.0 / (1.0 - 0.3**2)


def test_teeth_multiply_bending_and_tension():
    """An equivalent band of 1.3 EI and 1.2 EA: two lobes feel the first, pressure the second (axial factor 1)."""
    material = CupMaterial(206e3, 0.0)
    plain, teeth = PLAIN, BandFactors(hoop_tension=1.2, hoop_bending=1.3)
    bent = [ring_stiffness(50.0, 0.5, 2.0, 2, material, f) for f in (plain, teeth)]
    pulled = [ring_stiffness(50.0, 0.5, 2.0, 0, material, f) for f in (plain, teeth)]
    assert bent[1] / bent[0] == pytest.approx(1.3, rel=1e-3)
    assert pulled[1] / pulled[0] == pytest.approx(1.2, rel=1e-3)
    # along the axis: decay and edge stiffness of a long tube under an edge moment go with the root of the root
    turns = []
    for factors in (plain, BandFactors(axial_bending=4.0)):
        model = build_model((Line("tube", (25.0, 0.0), (25.0, 20.0), 0.05, factors),), material)
        turns.append(at(solve(model, 0, clamp(0), {(-1, TURN): 25.0}), -1, TURN))
    assert turns[0] / turns[1] == pytest.approx(4.0**0.75, rel=5e-3)


def test_scaled_strains_are_bars_along_a_wall():
    """SᵀES with S from the factors: f D along, g D around, the plain wall's ν D between them."""
    poisson, factors = 0.3, BandFactors(1.2, 1.4, 3.5, 1.3)
    plain = np.array([[1.0, poisson], [poisson, 1.0]])
    for root, along, around in zip(factors.roots(poisson), (1.0, 3.5), (1.2, 1.4), strict=True):
        scaled = np.array([[root[0], root[5]], [0.0, root[1]]])
        assert scaled.T @ plain @ scaled == pytest.approx(np.array([[along, poisson], [poisson, around]]), rel=1e-12)
    assert factors.roots(poisson)[1][2] ** 2 == pytest.approx(1.3, rel=1e-15)
    assert PLAIN.roots(poisson)[0] == pytest.approx([1.0] * 5 + [0.0], abs=1e-15)


@pytest.mark.parametrize(
    "teeth", [BandFactors(hoop_bending=1.1), BandFactors(axial_bending=3.5), BandFactors(twist=1.3)]
)
def test_teeth_never_make_a_cup_softer(teeth):
    cups = CupGeometry(**vars(STEEL_CUP)), CupGeometry(**{**vars(STEEL_CUP), "teeth": teeth})
    plain, toothed = (shell.rim_stiffness(cup, STEEL, [2, 3], 5.0, 8.0).compliance[:, 0, 0] for cup in cups)
    assert (toothed < plain * (1.0 - 1e-6)).all()


def test_factors_that_no_teeth_have_are_refused():
    with pytest.raises(DesignFault, match=r"BandFactors\.twist"):
        BandFactors(twist=-1.0)


def test_long_tube_bends_as_a_beam():
    """k = 1, clamped: what is left is the held Poisson contraction at the clamp, and warping at the ends, of the size (R/L)²."""
    radius, wall, length = 10.0, 0.1, 400.0
    model = build_model((Line("tube", (radius, 0.0), (radius, length), wall),), STEEL)
    share = radius / (2.0 * math.pi * radius)
    x = solve(model, 1, clamp(0), {(-1, RADIAL): share, (-1, TANGENTIAL): -share})
    expected = oracles.tube_cantilever(radius, wall, length, 206e3, 0.3)
    assert at(x, -1, RADIAL) == pytest.approx(expected, rel=2.0 * (radius / length) ** 2)
    assert at(x, -1, TANGENTIAL) == pytest.approx(-expected, rel=2.0 * (radius / length) ** 2)


def test_equivalent_stress():
    """One direction counts as it is, shear √3 times, equal pull in two directions once."""
    states = np.array([[3.0, 0.0, 0.0], [0.0, -3.0, 0.0], [0.0, 0.0, 3.0], [3.0, 3.0, 0.0], [3.0, -3.0, 0.0]])
    assert von_mises(states) == pytest.approx([3.0, 3.0, 3.0 * math.sqrt(3.0), 3.0, 3.0 * math.sqrt(3.0)], rel=1e-12)


# ---- the almost inextensional two-lobe mode -----------------------------------------------------------------------


def linear_cylinder(wall, poisson, refine=1.0, order=2):
    """Cylinder R 25, L 40 on an end that keeps its circle and nothing else; radial line load at the free edge."""
    model = build_model((Line("tube", (25.0, 0.0), (25.0, 40.0), wall),), CupMaterial(206e3, poisson), refine)
    x = solve(model, order, [(0, RADIAL), (0, TANGENTIAL)], {(-1, RADIAL): 25.0})
    return model, x / at(x, -1, RADIAL), 1.0 / at(x, -1, RADIAL)


@pytest.mark.parametrize("order", [2, 3])
def test_two_lobes_grow_linearly_along_a_cup(order):
    """Thin limit: v, u, stresses and force of the inextensional mode; ν = 0 has no layer at the free edge."""
    wall = 0.02
    model, x, line_load = linear_cylinder(wall, 0.0, order=order)
    form = oracles.linear_mode(25.0, wall, 40.0, 206e3, 0.0, order)
    assert line_load == pytest.approx(form.line_load, rel=2e-3)
    assert at(x, -1, TANGENTIAL) == pytest.approx(form.tangential, rel=1e-3)
    assert at(x, -1, AXIAL) == pytest.approx(form.axial, rel=1e-3)
    height = model.meridian.arc_mm.ravel()
    moved, _, stress = read(model, order, x)
    assert np.abs(moved[:, 0] - height / 40.0).max() < 2e-3
    inner = (height > 5.0) & (height < 35.0)
    assert stress[inner, 1, 1] == pytest.approx(form.hoop_mpa * height[inner] / 40.0, abs=0.02 * form.hoop_mpa)
    assert stress[inner, 1, 2] == pytest.approx(form.shear_mpa, rel=0.05)


def test_stress_of_the_linear_mode():
    """σ_φ = 3 E h w0/(2(1 − ν²)R²), σ_z = ν σ_φ between the edges, τ = 1.5 G h w0/(R L) of bending."""
    wall = 0.01
    model, x, line_load = linear_cylinder(wall, 0.3, refine=2.0)
    form = oracles.linear_mode(25.0, wall, 40.0, 206e3, 0.3)
    height = model.meridian.arc_mm.ravel()
    _, _, stress = read(model, 2, x)
    bending = 0.5 * (stress[:, 1] - stress[:, 0])
    inner = (height > 8.0) & (height < 36.0)
    share = height[inner] / 40.0
    assert bending[inner, 1] == pytest.approx(form.hoop_mpa * share, rel=0.01, abs=0.01 * form.hoop_mpa)
    assert bending[inner, 0] == pytest.approx(form.meridional_mpa * share, rel=0.03, abs=0.02 * form.meridional_mpa)
    assert bending[inner, 2] == pytest.approx(form.shear_mpa, rel=0.03)
    assert line_load == pytest.approx(form.line_load, rel=0.02)


def test_walls_do_not_lock():
    """Coarse mesh, walls from R/h 15 to 2500: stiffness over h³ tends to the closed form instead of growing."""
    for wall in (0.1, 0.01):
        coarse, fine = linear_cylinder(wall, 0.3, refine=0.25)[2], linear_cylinder(wall, 0.3, refine=4.0)[2]
        assert coarse == pytest.approx(fine, rel=1e-3)
    ratio = [
        linear_cylinder(wall, 0.0)[2] / oracles.linear_mode(25.0, wall, 40.0, 206e3, 0.0).line_load
        for wall in (1.6, 0.4, 0.1, 0.025)
    ]
    assert all(abs(b - 1.0) < abs(a - 1.0) for a, b in pairwise(ratio))
    assert ratio[-1] == pytest.approx(1.0, abs=3e-3)


def test_a_real_diaphragm_only_stiffens():
    """The same cup on a real diaphragm is stiffer than on one that is limp across its plane."""
    real = shell.rim_stiffness(STEEL_CUP, STEEL, [2], 5.0).compliance[0, 0, 0]
    limp = build_model(cup_segments(STEEL_CUP, (5.0,))[2:], STEEL)
    node = int(limp.meridian.ends[2])
    x = solve(limp, 2, [(0, RADIAL), (0, TANGENTIAL)], {(node, RADIAL): STEEL_CUP.rim_radius_mm})
    assert 1.0 / real > 1.02 / at(x, node, RADIAL)


# ---- identities ---------------------------------------------------------------------------------------------------


def rigid_motion(meridian, order, kind):
    """Nodal unknowns (n,) of a rigid motion in its harmonic."""
    out = np.zeros((meridian.nodes, 5))
    nodes = meridian.element_nodes().ravel()
    base = meridian.place_mm - meridian.offset_mm[:, :, None] * meridian.normal
    r, z = np.zeros((2, meridian.nodes))
    n_r, n_z = np.zeros((2, meridian.nodes))
    r[nodes], z[nodes] = base[..., 0].ravel(), base[..., 1].ravel()
    n_r[nodes], n_z[nodes] = meridian.normal[..., 0].ravel(), meridian.normal[..., 1].ravel()
    if (order, kind) == (0, "along"):
        out[:, AXIAL] = 1.0
    elif (order, kind) == (0, "turn"):
        out[:, TANGENTIAL], out[:, TWIST] = r, n_r
    elif (order, kind) == (1, "along"):
        out[:, RADIAL], out[:, TANGENTIAL] = 1.0, -1.0
    else:
        out[:, RADIAL], out[:, TANGENTIAL], out[:, AXIAL] = z, -z, -r
        out[:, TURN], out[:, TWIST] = 1.0, -n_z
    return out.ravel()


@pytest.mark.parametrize("order", [0, 1])
@pytest.mark.parametrize("kind", ["along", "turn"])
@pytest.mark.parametrize("cup", [STEEL_CUP, PRINTED_CUP])
def test_rigid_motions_carry_no_force(order, kind, cup):
    """Exact to rounding, corner, step of the wall and all; against the force of a motion that strains."""
    model = build_model(cup_segments(cup, (5.0,)), STEEL)
    x = rigid_motion(model.meridian, order, kind)
    stray = np.abs(forces(model, [order], x[None, :, None])).max()
    straining = np.abs(forces(model, [order + 2], x[None, :, None])).max()
    assert stray < 1e-9 * straining
    with pytest.raises(ConvergenceFault, match="nothing holds the shell"):
        solve(model, order, [], {(0, AXIAL): 1.0})


STEPPED_PLATE = (Line("thick", (10.0, 0.0), (20.0, 0.0), 2.0), Line("thin", (20.0, 0.4), (30.0, 0.4), 1.2))
"""Flush above, stepped below; the middles of the walls are 0.4 mm apart."""


@pytest.mark.parametrize("segments", [cup_segments(STEEL_CUP, (5.0,)), STEPPED_PLATE])
def test_rigid_motions_are_read_back_at_the_middle_of_every_wall(segments):
    """Across the step too, where the unknowns sit on the neighbour's middle; no stress."""
    line = (model := build_model(segments, STEEL)).meridian
    r, z = line.place_mm[..., 0].ravel(), line.place_mm[..., 1].ravel()
    for order, kind, expected in (
        (0, "turn", (0.0 * r, r, 0.0 * r)),
        (1, "turn", (z, -z, -r)),
        (1, "along", (1.0 + 0.0 * r, -1.0 + 0.0 * r, 0.0 * r)),
    ):
        moved, _, stress = read(model, order, rigid_motion(line, order, kind))
        for column, values in enumerate(expected):
            assert moved[:, column] == pytest.approx(values, abs=1e-9 * r.max())
        assert np.abs(stress).max() < 1e-9 * STEEL.modulus_mpa


@pytest.mark.parametrize("row", [Rim.RADIAL, Rim.TANGENTIAL, Rim.AXIAL, Rim.TURN])
def test_section_at_the_step_joins_the_rim(row):
    """A load at the very end of the rim acts as one a hair inside it: same levers, same displacement."""
    cup = PRINTED_CUP
    at_step, beside = (
        shell.rim_stiffness(cup, STEEL, [0, 1, 2, 5], place).compliance
        for place in (cup.rim_width_mm, cup.rim_width_mm - 1e-5)
    )
    size = np.sqrt(np.einsum("hii->hi", beside))
    scaled = (at_step - beside) / (size[:, :, None] * size[:, None, :])
    assert np.abs(scaled[:, row]).max() < 1e-4


def test_free_cup_is_held_by_its_rim_alone():
    """Boss free, k = 0 and 1: the rim's stiffness has as many zero eigenvalues as there are rigid motions."""
    model = build_model(cup_segments(STEEL_CUP, (5.0,)), STEEL)
    node = int(model.meridian.ends[4])
    free = node_stiffness(model, np.arange(4), node, (RADIAL, TANGENTIAL, AXIAL, TURN))
    held = node_stiffness(model, np.arange(4), node, (RADIAL, TANGENTIAL, AXIAL, TURN), (0,))
    for order, motions in ((0, 2), (1, 2), (2, 0), (3, 0)):
        values = np.linalg.eigvalsh(free[order])
        assert (np.abs(values) < 1e-7 * values[-1]).sum() == motions
        assert np.linalg.eigvalsh(held[order])[0] > 1e-6 * values[-1]
        assert np.linalg.eigvalsh(held[order] - free[order])[0] > -1e-7 * values[-1]


def test_condensed_and_prescribed_stiffness_agree():
    """Inverse compliance of the public call against forces for prescribed unit displacements."""
    orders = np.arange(25)
    model = build_model(cup_segments(STEEL_CUP, (5.0,)), STEEL)
    kinds = (RADIAL, TANGENTIAL, AXIAL, TURN)
    direct = node_stiffness(model, orders, int(model.meridian.ends[4]), kinds, (0,)) / STEEL_CUP.rim_radius_mm
    rim = shell.rim_stiffness(STEEL_CUP, STEEL, orders, 5.0)
    size = np.sqrt(np.einsum("hii->hi", direct))
    scaled = (rim.matrix - direct) / (size[:, :, None] * size[:, None, :])
    assert np.abs(scaled).max() < 1e-7
    assert np.abs(rim.matrix - rim.matrix.transpose(0, 2, 1)).max() < 1e-9 * rim.matrix.max()
    assert (np.linalg.eigvalsh(rim.matrix) > 0.0).all()
    assert np.abs(rim.matrix[0, 1, [0, 2, 3]]).max() < 1e-9 * rim.matrix[0, 1, 1]


def one_load(place, order, row, family="even", amount=1.0):
    amplitude = np.zeros((1, 4))
    amplitude[0, row] = amount
    even, odd = (amplitude, 0 * amplitude) if family == "even" else (0 * amplitude, amplitude)
    return RimLoad(place, np.array([order]), even, odd)


def moved_at(response, place, order_row, family=0):
    """Displacement amplitude of the rim at a place that is a station."""
    station = np.flatnonzero(np.abs(response.from_edge_mm - place) < 1e-9)[-1]
    return response.fields.displacement_mm[family, 0, station, order_row]


@pytest.mark.parametrize("order", [0, 1, 2, 7])
@pytest.mark.parametrize("rows", [(0, 1), (0, 2), (1, 3), (2, 3), (0, 0)])
def test_loads_at_two_places_are_reciprocal(order, rows):
    """Maxwell and Betti: radial load at the generator moves the mesh as a load of the mesh moves the generator."""
    first, second = 2.0, 7.5
    marks = [one_load(first, order, 0, amount=0.0), one_load(second, order, 0, amount=0.0)]
    there = shell.respond(PRINTED_CUP, STEEL, [one_load(first, order, rows[0]), *marks])
    back = shell.respond(PRINTED_CUP, STEEL, [one_load(second, order, rows[1]), *marks])
    left, right = moved_at(there, second, rows[1]), moved_at(back, first, rows[0])
    scale = max(abs(moved_at(r, p, row)) for r in (there, back) for p in (first, second) for row in rows)
    assert left == pytest.approx(right, rel=1e-7, abs=1e-9 * scale)


@settings(max_examples=20, deadline=None)
@given(
    size=st.floats(0.02, 50.0),
    modulus=st.floats(1e-3, 1e6),
    order=st.integers(0, 30),
    cup=st.sampled_from([STEEL_CUP, PRINTED_CUP]),
)
def test_size_and_units_do_not_matter(size, modulus, order, cup):
    """Stiffness per modulus: displacement rows keep, each turn row takes one length."""
    lengths = {k: v * size for k, v in vars(cup).items() if k.endswith("_mm")}
    scaled = shell.rim_stiffness(CupGeometry(**lengths), CupMaterial(modulus, 0.3), [order], 5.0 * size).matrix[0]
    base = shell.rim_stiffness(cup, CupMaterial(1.0, 0.3), [order], 5.0).matrix[0]
    units = np.array([1.0, 1.0, 1.0, size])
    expected = modulus * base * np.outer(units, units)
    root = np.sqrt(np.diag(expected))
    assert np.abs((scaled - expected) / np.outer(root, root)).max() < 1e-6


def test_odd_family_is_the_even_one_turned():
    """sin kφ is cos kφ seen from a quarter wave on: displacements and stresses follow."""
    order, turned = 3, math.pi / 6.0
    even = shell.respond(STEEL_CUP, STEEL, [one_load(5.0, order, Rim.RADIAL)])
    odd = shell.respond(STEEL_CUP, STEEL, [one_load(5.0, order, Rim.RADIAL, "odd")])
    angles = np.linspace(0.0, 2.0, 17)
    for field in (displacement, surface_stress):
        ahead = field(odd, angles + turned)
        assert np.abs(ahead - field(even, angles)).max() < 1e-9 * np.abs(ahead).max()
