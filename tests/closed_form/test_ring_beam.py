"""The beam ring against closed forms, an independent shooting solution, and its own symmetries.

Tolerances: closed forms hold for small deflection and no stretch, so the solver runs at w/R ≈ 1e-3 with the even part
of the response removed (±P) and EA R²/EI = 1e7; what is left is O(1e-6). The shooting solution is exact for large
deflection without stretch; its own step error is below 1e-9.
"""

import doctest
import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lobewright.errors import ConvergenceFault, DesignFault
from lobewright.ring import oracles
from lobewright.ring.beam import (
    BeamSettings,
    CircleBody,
    CurveBody,
    RingSection,
    solve_ring,
    solve_ring_loads,
)
from lobewright.ring.beam_element import element, element_force_tangent

UNIT = RingSection(1.0, 1.0, 1e7)
BELT = RingSection(31.83, 60.0, 2.0e4, 0.5)
CUP = RingSection(30.0, 206e3 * 12 * 0.6**3 / 12, 206e3 * 12 * 0.6, 0.3)


def rollers(section, deflection, roller_radius, angles):
    """Rollers that push the neutral line out by the deflection at the given angles."""
    reach = section.radius_mm + deflection - section.inner_offset_mm - roller_radius
    return [CircleBody(reach * math.cos(a), reach * math.sin(a), roller_radius) for a in angles]


def radial(angles, force):
    """Equal outward forces."""
    return np.column_stack([np.cos(angles), np.sin(angles)]) * force


def odd_response(section, angles, force, nodes):
    """Radial displacement and moment of the nodes per outward force, even (second-order) part removed."""
    out = []
    for sign in (1.0, -1.0):
        line = solve_ring_loads(section, angles, radial(angles, sign * force), nodes).line
        direction = np.column_stack([np.cos(line.label_rad), np.sin(line.label_rad)])
        move = np.einsum("ij,ij->i", line.positions_mm, direction) - section.radius_mm
        out.append((move, line.moment_nmm))
    return 0.5 * (out[0][0] - out[1][0]) / force, 0.5 * (out[0][1] - out[1][1]) / force


# ---- the closed forms themselves ----------------------------------------------------------------------------------


def test_worked_examples_of_the_closed_forms():
    assert doctest.testmod(oracles).failed == 0


@pytest.mark.parametrize(
    ("loads", "at_load", "midway", "inward", "outward"),
    [  # recalled handbook table, unit WR and WR³/EI; verified there with a Fourier series
        (2, 0.318310, 0.181690, 0.074389, 0.068310),
        (3, 0.188790, 0.099885, 0.015939, 0.014257),
        (4, 0.136620, 0.070487, 0.006079, 0.005386),
        (5, 0.107584, 0.054876, 0.002976, 0.002625),
        (6, 0.088904, 0.045070, 0.001682, 0.001480),
        (8, 0.066133, 0.033323, 0.000693, 0.000608),
    ],
)
def test_equal_loads_table(loads, at_load, midway, inward, outward):
    found = oracles.equal_loads(loads, 1.0, 1.0, 1.0)
    assert found == pytest.approx((at_load, -midway, inward, -outward), abs=6e-7)


def test_pair_of_loads_is_the_limit_of_paired_rollers():
    for phi in (0.3, 1.0, 1.5):
        four = oracles.paired_rollers_moment(0.5, 1.0, 1e-7, phi)
        assert four == pytest.approx(oracles.two_loads_moment(1.0, 1.0, phi), abs=1e-6)
    four = oracles.paired_rollers_moment(1.0, 1.0, math.pi / 4, 0.0)
    assert four == pytest.approx(oracles.equal_loads(4, 1.0, 1.0, 1.0).moment_midway_nmm, abs=1e-12)
    at_roller, on_axis = oracles.paired_rollers_deflection(1.0, 1.0, 1.0, math.pi / 4)
    expected = oracles.equal_loads(4, 1.0, 1.0, 1.0)
    assert (at_roller, on_axis) == pytest.approx((expected.deflection_at_load_mm, expected.deflection_midway_mm), 1e-9)


def test_paired_rollers_lose_their_grip_near_44_degrees():
    before = oracles.paired_rollers_deflection(1.0, 1.0, 1.0, math.radians(43.885))[1]
    after = oracles.paired_rollers_deflection(1.0, 1.0, 1.0, math.radians(43.895))[1]
    assert before > 0.0 > after


def test_ellipse_perimeter():
    assert oracles.ellipse_perimeter(3.0, 3.0) == pytest.approx(6.0 * math.pi, rel=1e-15)
    angle = (np.arange(4000) + 0.5) * 2.0 * math.pi / 4000
    direct = np.hypot(2.0 * np.sin(angle), np.cos(angle)).sum() * 2.0 * math.pi / 4000
    assert oracles.ellipse_perimeter(2.0, 1.0) == pytest.approx(direct, rel=1e-13)


@pytest.mark.parametrize(
    ("load", "deflection", "shortening", "turn"),
    [  # Mattiasson 1981; the last row was seen quoted, the others are remembered
        (1.0, 0.30172, 0.05643, 0.46135),
        (2.0, 0.49346, 0.16064, 0.78175),
        (5.0, 0.71379, 0.38763, 1.21537),
        (10.0, 0.81061, 0.55500, 1.43029),
    ],
)
def test_end_loaded_cantilever_table(load, deflection, shortening, turn):
    assert oracles.end_loaded_cantilever(load, 1.0, 1.0) == pytest.approx((deflection, shortening, turn), abs=6e-6)


# ---- small deflection ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize("loads", [2, 3, 4, 5])
def test_equal_loads(loads):
    angles = 2.0 * math.pi * np.arange(loads) / loads
    move, moment = odd_response(UNIT, angles, 1e-3, 120 * loads)
    exact = oracles.equal_loads(loads, 1.0, 1.0, 1.0)
    stretch = (
        loads / (2.0 * math.pi) / UNIT.axial_stiffness_n
    )  # mean hoop tension's growth, absent from the closed form
    assert move[0] - stretch == pytest.approx(exact.deflection_at_load_mm, rel=1e-5)
    assert move[60] - stretch == pytest.approx(exact.deflection_midway_mm, rel=1e-5)
    everywhere = [oracles.equal_loads_moment(loads, 1.0, 1.0, k * 2 * math.pi / len(move)) for k in range(len(move))]
    assert np.abs(moment - everywhere).max() < 2e-6


def test_two_loads_change_both_diameters():
    move, moment = odd_response(UNIT, np.array([0.0, math.pi]), 1e-3, 240)
    loaded, free = oracles.two_loads_diameter_change(1.0, 1.0, 1.0)
    assert (move[0] + move[120], move[60] + move[180]) == pytest.approx((loaded, free), rel=2e-5)
    assert moment[0] == pytest.approx(oracles.two_loads_moment(1.0, 1.0, 0.0), rel=2e-5)


def test_published_pinched_ring():
    """Radius 100, section 10 × 5 mm, E 200 GPa, 10 N: a loaded point moves 3.57e-5 m (verification case of a general
    finite-element programme that quotes Timoshenko and Young 1968; read, three digits printed). The printed value is the
    formula's, without stretch (which would add 0.1 %), hence the stiffened axis."""
    ring = RingSection(100.0, 200e3 * 10 * 5**3 / 12, 200e3 * 50 * 1e3)
    found = solve_ring_loads(ring, [0.0, math.pi], [[-10.0, 0.0], [10.0, 0.0]], 240)
    assert 100.0 - found.line.positions_mm[0, 0] == pytest.approx(3.57e-2, abs=0.5e-4)


@pytest.mark.parametrize("pair_deg", [15.0, 22.5, 30.0, 40.0])
def test_paired_rollers_by_superposed_chords(pair_deg):
    beta = math.radians(pair_deg)
    angles = np.array([beta, -beta, math.pi + beta, math.pi - beta])
    move, moment = odd_response(UNIT, angles, 1e-3, 480)
    _, on_axis = oracles.paired_rollers_deflection(1.0, 1.0, 1.0, beta)
    assert move[0] == pytest.approx(on_axis, rel=1e-4)
    label = 2.0 * math.pi * np.arange(480) / 480
    exact = [oracles.paired_rollers_moment(1.0, 1.0, beta, phi) for phi in label]
    assert np.abs(moment - exact).max() < 1e-5


def test_roller_contact_in_the_small_limit():
    """Force and moments over deflection, extrapolated to no deflection from w0/R = 0.2 % and 0.1 %."""
    force, at_roller, at_minor, minor = oracles.roller_pair(1.0, 1.0, 1.0)
    found = []
    for w in (2e-3, 1e-3):
        state = solve_ring(UNIT, rollers(UNIT, w, 0.2, (0.0, math.pi)), 240)
        found.append(
            np.array(
                [
                    state.body_force_n[0, 0],
                    state.contacts.moment_nmm[0],
                    state.line.moment_nmm[60],
                    state.line.positions_mm[60, 1] - 1.0,
                ]
            )
            / w
        )
    assert 2.0 * found[1] - found[0] == pytest.approx([force, at_roller, at_minor, minor], rel=3e-5)


def test_uniform_pressure_on_an_oversize_disc():
    tension, growth = oracles.pressure_ring(1.0, CUP.radius_mm, CUP.axial_stiffness_n)
    disc = CircleBody(0.0, 0.0, CUP.radius_mm - CUP.inner_offset_mm + growth)
    coarse, state = solve_ring(CUP, [disc], 96), solve_ring(CUP, [disc], 480)
    assert coarse.line.normal_force_n == pytest.approx(tension, rel=3e-5)  # 1/R grows by growth/R = 2e-5
    assert np.abs(coarse.line.moment_nmm).max() < 1e-6 * tension * CUP.radius_mm
    pushed = np.hypot(*state.contacts.force_n.T).sum()
    assert pushed / (2.0 * math.pi * CUP.radius_mm) == pytest.approx(1.0, rel=3e-5)


def test_tight_cosine_cam_gives_the_cosine_moment_and_line_load():
    w, axial = 1e-3, 1e7
    angle = 2.0 * math.pi * np.arange(720) / 720
    reach = 1.0 + w * np.cos(2 * angle) + 1e-5
    state = solve_ring(RingSection(1.0, 1.0, axial), [CurveBody((reach * [np.cos(angle), np.sin(angle)]).T)], 480)
    assert len(state.contacts.body) == 480
    wave = np.cos(2 * state.line.label_rad)
    moment = 2.0 * (state.line.moment_nmm * wave).mean()
    assert moment == pytest.approx(oracles.cosine_moment(w, 2, 1.0, 1.0), rel=5e-3)  # of order w/R
    # pressure carries the hoop tension on the curvature as well: take q = N κ away to see the bending part
    spacing = 2.0 * math.pi / 480
    pressure = np.hypot(*state.contacts.force_n.T) / spacing
    tension = state.line.normal_force_n
    bending = 2.0 * ((pressure - tension * state.line.curvature_per_mm) * wave).mean()
    shear_part = oracles.cosine_moment(w, 2, 1.0, 1.0) * 4.0  # dQ/ds = M'' = −4 M: what bending alone pushes
    assert bending == pytest.approx(shear_part, rel=1e-2)
    # and the whole line load of the free cosine ring is that plus its own hoop force: 12 − 3 = 9
    assert shear_part - oracles.cosine_moment(w, 2, 1.0, 1.0) == pytest.approx(oracles.cosine_line_load(w, 2, 1.0, 1.0))


# ---- large deflection: independent shooting -----------------------------------------------------------------------


def shoot(turn, curvature, pull, length, place, steps=1500):
    """Inextensible curve, θ' = κ, κ' = n_x sin θ (section force along x), by classical Runge–Kutta."""
    h = length / steps
    state = np.array([place[0], place[1], turn, curvature])

    def slope(z):
        return np.array([math.cos(z[2]), math.sin(z[2]), z[3], pull * math.sin(z[2])])

    for _ in range(steps):
        a = slope(state)
        b = slope(state + 0.5 * h * a)
        c = slope(state + 0.5 * h * b)
        d = slope(state + h * c)
        state = state + h / 6.0 * (a + 2 * b + 2 * c + d)
    return state


def quarter_ring(end, guess):
    """Two unknowns such that the quarter ends on the minor axis with a tangent along −x; end(unknowns) → state."""
    z = np.array(guess, float)
    for _ in range(30):
        miss = end(z)[[0, 2]] - [0.0, math.pi]
        jac = np.column_stack([(end(z + d)[[0, 2]] - end(z - d)[[0, 2]]) / 2e-6 for d in 1e-6 * np.eye(2)])
        step = np.linalg.solve(jac, miss)
        z -= step
        if np.abs(step).max() < 1e-11:
            return z, end(z)
    raise AssertionError("shooting did not close")


@pytest.mark.parametrize("w", [0.03, 0.08])
@pytest.mark.parametrize("turned", [0.0, 0.3217])
def test_two_rollers_at_large_deflection(w, turned):
    (curvature, pull), end = quarter_ring(
        lambda z: shoot(0.5 * math.pi, z[0], z[1], 0.5 * math.pi, (1.0 + w, 0.0)), (1 + 4.2 * w, -6.7 * w)
    )
    state = solve_ring(UNIT, rollers(UNIT, w, 0.2, (turned, turned + math.pi)), 480)
    assert np.hypot(*state.body_force_n[0]) == pytest.approx(-2.0 * pull, rel=2e-6)
    assert state.contacts.moment_nmm == pytest.approx(curvature - 1.0, rel=2e-6)
    if turned == 0.0:
        assert state.line.positions_mm[120] == pytest.approx([0.0, end[1]], abs=2e-7)
        assert state.line.curvature_per_mm[120] == pytest.approx(end[3], abs=2e-6)
    assert state.contacts.single_point.all()


@pytest.mark.parametrize(("w", "offset"), [(0.02, 0.05), (0.05, 0.1)])
def test_two_discs_wrap_and_lift_off(w, offset):
    """The ring keeps the disc's curvature up to an unknown angle and leaves it with that curvature."""
    disc = 1.0 - offset

    def end(z):
        angle, pull = z
        place = (w + offset + disc * math.cos(angle), disc * math.sin(angle))
        return shoot(0.5 * math.pi + angle, 1.0 / disc, pull, 0.5 * math.pi - disc * angle, place)

    (angle, pull), last = quarter_ring(end, (0.4, -9.0 * w))
    bodies = [CircleBody(s * (offset + w), 0.0, disc) for s in (1.0, -1.0)]
    state = solve_ring(UNIT, bodies, 960)  # the arc's end is known to a node, so forces only to second order
    assert np.abs(state.body_force_n[:, 0]) == pytest.approx(-2.0 * pull, rel=3e-4)
    assert state.line.positions_mm[240, 1] == pytest.approx(last[1], abs=1e-5)
    mine = state.contacts.label_rad[(state.contacts.body == 0) & (state.contacts.label_rad < math.pi)]
    assert mine.max() == pytest.approx(disc * angle, abs=2.0 * math.pi / 960)
    inside = state.line.label_rad < disc * angle - 4 * math.pi / 960
    assert state.line.curvature_per_mm[inside] == pytest.approx(1.0 / disc, rel=2e-4)
    assert not state.contacts.single_point.any()


def test_an_arc_shorter_than_an_element_is_not_taken_for_a_point():
    """The disc is bent less than the ring under a point force would be: touching at one point would cut into it."""
    bodies = [CircleBody(s * 0.098, 0.0, 0.922) for s in (1.0, -1.0)]
    state = solve_ring(UNIT, bodies, 48)
    assert not state.contacts.single_point.any()
    assert state.clearance_mm.min() > -1e-12
    sharper = [CircleBody(s * 0.12, 0.0, 0.9) for s in (1.0, -1.0)]
    assert solve_ring(UNIT, sharper, 48).contacts.single_point.all()


def test_element_finds_no_strain_in_an_unstretched_curve():
    """Chord and ends of a curve of direction κ s + c s², by fine sums: only terms beyond the element's may be left."""
    arc, kappa, bow = 0.2, 1.3, 4.0
    s = (np.arange(2000) + 0.5) / 2000 * arc - 0.5 * arc
    direction = 0.5 * math.pi + kappa * s + bow * s**2
    chord = np.array([np.cos(direction).mean(), np.sin(direction).mean()]) * arc
    free = 2.0 * math.sin(0.5 * arc) * np.array([math.cos(0.5 * math.pi), math.sin(0.5 * math.pi)])
    lift = bow * 0.25 * arc**2
    qi = np.array([0.0, 0.0, lift - 0.5 * (kappa - 1.0) * arc])
    qj = np.array([*(chord - free), lift + 0.5 * (kappa - 1.0) * arc])
    strain = element(qi, qj, 0.5 * math.pi, arc, 1e5)[1]
    bowed = (bow * arc**2 / 6.0) ** 2 / 10.0  # what leaving out the bow would cost
    assert abs(strain) < 0.05 * bowed


def open_ring(elements, steps, moment, force):
    """The element open-ended: an arc of one full turn clamped at its start, loaded at its end; dense Newton."""
    arc = 2.0 * math.pi / elements
    q = np.zeros((elements + 1, 3))
    for k in range(1, steps + 1):
        for _ in range(40):
            residual = np.zeros(3 * elements + 3)
            tangent = np.zeros((3 * elements + 3, 3 * elements + 3))
            for i in range(elements):
                _, grad, block = element_force_tangent(q[i], q[i + 1], (i + 0.5) * arc + 0.5 * math.pi, arc, 1e5)
                residual[3 * i : 3 * i + 6] += grad
                tangent[3 * i : 3 * i + 6, 3 * i : 3 * i + 6] += block
            residual[-3:] -= np.array([*force, moment]) * k / steps
            step = np.linalg.solve(tangent[3:, 3:], residual[3:])
            q[1:] -= step.reshape(-1, 3)
            if np.abs(step).max() < 1e-9:
                break
        else:
            raise AssertionError("open ring did not settle")
    return np.array([1.0 + q[-1, 0], q[-1, 1], 2.5 * math.pi + q[-1, 2]])


@pytest.mark.parametrize("moment", [-1.0, -0.5, 0.4])
def test_cut_ring_unrolls_under_an_end_moment(moment):
    """Constant curvature 1 + M; at M = −1 the ring lies straight. The element meets it to rounding at any length."""
    x, y, turn = oracles.rolled_cantilever(2.0 * math.pi, 1.0 + moment)
    assert open_ring(24, 20, moment, (0.0, 0.0)) == pytest.approx([1.0 - y, x, 0.5 * math.pi + turn], abs=1e-7)


def test_cut_ring_under_an_end_force():
    """A fixed force along x at the end of the cut ring, against Runge–Kutta from the clamp, moment there unknown."""
    low, high = 0.0, 2.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        if shoot(0.5 * math.pi, middle, -0.05, 2.0 * math.pi, (1.0, 0.0), 600)[3] > 1.0:
            high = middle
        else:
            low = middle
    expected = shoot(0.5 * math.pi, middle, -0.05, 2.0 * math.pi, (1.0, 0.0), 600)[:3]
    assert np.abs(expected - [1.0, 0.0, 2.5 * math.pi]).max() > 0.05
    assert open_ring(96, 4, 0.0, (-0.05, 0.0)) == pytest.approx(expected, abs=2e-6)


# ---- cams: one-sided contact --------------------------------------------------------------------------------------


def cosine_cam(section, w, fit):
    """Polar cosine cam of the parallel curve inside the neutral line, with mean radius less by fit."""
    angle = 2.0 * math.pi * np.arange(720) / 720
    r = section.radius_mm - section.inner_offset_mm - fit + w * np.cos(2 * angle) - 0.75 * w**2 / section.radius_mm
    return CurveBody(np.column_stack([r * np.cos(angle), r * np.sin(angle)]))


def elliptic_cam(section, w, fit):
    """Ellipse inside the neutral line, the neutral ellipse having the ring's length when fit is 0."""
    angle = 2.0 * math.pi * np.arange(720) / 720
    major = section.radius_mm + w
    minor = oracles.ellipse_semi_minor(section.radius_mm, w)
    x, y = major * np.cos(angle), minor * np.sin(angle)
    normal = np.column_stack([np.cos(angle) / major, np.sin(angle) / minor])
    normal /= np.hypot(*normal.T)[:, None]
    return CurveBody(np.column_stack([x, y]) - (section.inner_offset_mm + fit) * normal)


def assert_one_sided(state):
    """Only pushing, no penetration, gap or force zero, forces in balance."""
    force, health = state.contacts.force_n, state.health
    total = np.hypot(*force.T).sum()
    inward = np.column_stack([np.cos(state.line.normal_angle_rad), np.sin(state.line.normal_angle_rad)])
    node = np.rint(state.contacts.label_rad * health.nodes / (2 * math.pi)).astype(int) % health.nodes
    assert (np.einsum("ij,ij->i", force, inward[node]) > 0.0).all()
    assert state.clearance_mm.min() > -1e-10 * state.section.radius_mm
    assert health.complementarity < 1e-12
    assert (state.contacts.gap_mm < 1e-8 * state.section.radius_mm).all()
    assert np.abs(health.force_balance_n).max() < 1e-8 * total
    assert abs(health.moment_balance_nmm) < 1e-8 * total * state.section.radius_mm
    assert abs(health.holding_torque_nmm) < 1e-5 * total * state.section.radius_mm


@pytest.mark.parametrize("cam", [cosine_cam, elliptic_cam])
@pytest.mark.parametrize("section", [BELT, CUP])
def test_loose_cam_lifts_off_near_the_minor_axis(cam, section):
    state = solve_ring(section, [cam(section, 0.02 * section.radius_mm, 2e-3 * section.radius_mm)], 480)
    assert_one_sided(state)
    from_lobe = np.abs(np.remainder(state.contacts.label_rad + 0.5 * math.pi, math.pi) - 0.5 * math.pi)
    assert 0.1 < from_lobe.max() < 1.2
    assert state.clearance_mm[120] > 1e-3 * section.radius_mm
    assert state.line.normal_force_n.min() > 0.0


@pytest.mark.parametrize("cam", [cosine_cam, elliptic_cam])
def test_tight_cam_is_followed_under_hoop_tension(cam):
    state = solve_ring(CUP, [cam(CUP, 0.375, -0.03)], 480)
    assert_one_sided(state)
    assert len(state.contacts.body) == 480
    assert np.abs(state.clearance_mm).max() < 1e-9
    if cam is elliptic_cam:
        length = oracles.ellipse_perimeter(30.375, oracles.ellipse_semi_minor(30.0, 0.375)) + 2 * math.pi * 0.03
        stretch = length / (60.0 * math.pi) - 1.0
        assert state.line.axial_strain.mean() == pytest.approx(stretch, rel=1e-4)
        assert state.line.normal_force_n.mean() == pytest.approx(stretch * CUP.axial_stiffness_n, rel=1e-3)
        curvature = 30.375 / oracles.ellipse_semi_minor(30.0, 0.375) ** 2  # of the line that fit −0.03 moves out
        assert state.line.curvature_per_mm[0] / (1 + stretch) == pytest.approx(1 / (1 / curvature + 0.03), rel=2e-4)


def test_a_tighter_fit_touches_more_and_pulls_harder():
    states = [solve_ring(CUP, [elliptic_cam(CUP, 0.375, fit)], 240) for fit in (0.06, 0.02, 0.0, -0.02)]
    touching = [len(s.contacts.body) for s in states]
    pull = [s.line.normal_force_n.mean() for s in states]
    assert touching == sorted(touching) and touching[0] < touching[-1]
    assert pull == sorted(pull)


# ---- balance, symmetry, neutrality --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "bodies",
    [
        rollers(BELT, 0.64, 5.5, (0.0, math.pi)),
        rollers(BELT, 0.64, 5.5, (0.4, -0.4, math.pi + 0.4, math.pi - 0.4)),
        rollers(BELT, 0.64, 5.5, (0.2, 0.2 + 2 * math.pi / 3, 0.2 + 4 * math.pi / 3)),
        [CircleBody(3.0, 0.0, 28.9), CircleBody(-3.0, 0.0, 28.9)],
        [*rollers(BELT, 0.64, 5.5, (0.0,)), *rollers(BELT, 0.9, 5.5, (math.pi,))],
    ],
    ids=["two", "paired", "three", "discs", "unequal"],
)
def test_generator_only_pushes_and_balances(bodies):
    assert_one_sided(solve_ring(BELT, bodies, 480))


def test_contact_forces_put_on_as_loads_give_the_same_ring():
    state = solve_ring(BELT, rollers(BELT, 0.64, 5.5, (0.4, -0.4, math.pi + 0.4, math.pi - 0.4)), 240)
    loaded = solve_ring_loads(BELT, state.contacts.label_rad, state.contacts.force_n, 240)
    difference = loaded.line.positions_mm - state.line.positions_mm
    assert np.abs(difference - difference.mean(axis=0)).max() < 1e-8
    assert loaded.load_moment_nmm == pytest.approx(state.contacts.moment_nmm, rel=1e-7)


def test_roller_force_is_the_slope_of_the_energy():
    low, mid, high = (solve_ring(CUP, rollers(CUP, w, 6.0, (0.0, math.pi)), 240) for w in (0.599, 0.6, 0.601))
    slope = (high.line.energy_nmm - low.line.energy_nmm) / 0.002
    assert slope == pytest.approx(2.0 * mid.body_force_n[0, 0], rel=1e-6)


def test_moment_and_shear_fit_together():
    """dM/ds = shear between the rollers, by differences."""
    line = solve_ring(CUP, rollers(CUP, 0.9, 6.0, (0.0, math.pi)), 480).line
    spacing = 2.0 * math.pi * CUP.radius_mm / 480
    slope = (line.moment_nmm[7:237] - line.moment_nmm[5:235]) / (2.0 * spacing)
    inner = line.shear_force_n[6:236]
    assert np.abs(slope - inner).max() < 1e-4 * np.abs(inner).max()


def test_unequal_rollers_are_equal_ones_shifted():
    same = solve_ring(BELT, rollers(BELT, 0.64, 5.5, (0.0, math.pi)), 240)
    bodies = [*rollers(BELT, 0.69, 5.5, (0.0,)), *rollers(BELT, 0.59, 5.5, (math.pi,))]
    shifted = solve_ring(BELT, bodies, 240)
    assert shifted.line.positions_mm - [0.05, 0.0] == pytest.approx(same.line.positions_mm, abs=1e-9)
    assert shifted.body_force_n == pytest.approx(same.body_force_n, rel=1e-8, abs=1e-8)


def test_generator_shifted_off_centre_takes_the_ring_along():
    bodies = rollers(BELT, 0.64, 5.5, (0.4, -0.4, math.pi + 0.4, math.pi - 0.4))
    moved = [CircleBody(b.x_mm + 0.05, b.y_mm - 0.03, b.radius_mm) for b in bodies]
    here, there = solve_ring(BELT, bodies, 240), solve_ring(BELT, moved, 240)
    assert there.line.positions_mm - [0.05, -0.03] == pytest.approx(here.line.positions_mm, abs=1e-8)


def test_cam_shifted_off_centre_takes_the_ring_along():
    cam = elliptic_cam(BELT, 0.64, 0.05)
    moved = CurveBody(np.add(cam.points_mm, [0.05, -0.03]))
    here, there = solve_ring(BELT, [cam], 240), solve_ring(BELT, [moved], 240)
    assert there.line.positions_mm - [0.05, -0.03] == pytest.approx(here.line.positions_mm, abs=1e-8)
    assert_one_sided(there)


def test_mirror_symmetry():
    state = solve_ring(BELT, rollers(BELT, 0.64, 5.5, (0.4, -0.4, math.pi + 0.4, math.pi - 0.4)), 240)
    x, y = state.line.positions_mm.T
    back = (-np.arange(240)) % 240
    across = (120 - np.arange(240)) % 240
    assert x[back] == pytest.approx(x, abs=1e-9) and y[back] == pytest.approx(-y, abs=1e-9)
    assert x[across] == pytest.approx(-x, abs=1e-9) and y[across] == pytest.approx(y, abs=1e-9)
    assert state.line.shear_force_n[back] == pytest.approx(-state.line.shear_force_n, abs=1e-7)


def turned(positions, angle):
    """Positions turned about the origin."""
    c, s = math.cos(angle), math.sin(angle)
    return positions @ np.array([[c, s], [-s, c]])


def test_turning_by_whole_nodes_changes_nothing():
    pitch = 7 * 2.0 * math.pi / 240
    first = solve_ring(BELT, rollers(BELT, 0.64, 5.5, (0.4, -0.4, math.pi + 0.4, math.pi - 0.4)), 240)
    angles = (0.4 + pitch, -0.4 + pitch, math.pi + 0.4 + pitch, math.pi - 0.4 + pitch)
    second = solve_ring(BELT, rollers(BELT, 0.64, 5.5, angles), 240)
    expected = turned(np.roll(first.line.positions_mm, 7, axis=0), pitch)
    assert second.line.positions_mm == pytest.approx(expected, abs=1e-8)
    assert np.roll(first.line.moment_nmm, 7) == pytest.approx(second.line.moment_nmm, abs=1e-7)


@settings(max_examples=12, deadline=None)
@given(angle=st.floats(0.0, 2.0 * math.pi))
def test_turning_by_any_angle_changes_only_the_mesh_error(angle):
    first = solve_ring(CUP, rollers(CUP, 0.6, 6.0, (0.0, math.pi)), 240)
    second = solve_ring(CUP, rollers(CUP, 0.6, 6.0, (angle, angle + math.pi)), 240)
    assert np.hypot(*second.body_force_n.T) == pytest.approx(np.hypot(*first.body_force_n.T), rel=3e-6)
    assert second.contacts.moment_nmm == pytest.approx(first.contacts.moment_nmm, rel=3e-5)
    assert second.line.energy_nmm == pytest.approx(first.line.energy_nmm, rel=3e-6)


@settings(max_examples=15, deadline=None)
@given(length=st.floats(0.02, 50.0), force=st.floats(1e-3, 1e3))
def test_scale_neutrality(length, force):
    """Lengths × length and EI, EA to match: forces × force, angles and shapes unchanged."""
    big = RingSection(BELT.radius_mm * length, 60.0 * force * length**2, 2.0e4 * force, 0.5 * length)
    bodies = [CircleBody(b.x_mm * length, b.y_mm * length, b.radius_mm * length) for b in LOOSE_DISCS]
    first, second = solve_ring(BELT, LOOSE_DISCS, 96), solve_ring(big, bodies, 96)
    assert second.line.positions_mm / length == pytest.approx(first.line.positions_mm, abs=1e-8)
    assert second.body_force_n / force == pytest.approx(first.body_force_n, rel=1e-7, abs=1e-8)


LOOSE_DISCS = [CircleBody(3.0, 0.0, 28.9), CircleBody(-3.0, 0.1, 28.9)]


def test_stress_free_start_is_label_and_axis():
    """A symmetric generator leaves node 0 on the major axis and label φ counts from it."""
    state = solve_ring(BELT, rollers(BELT, 0.64, 5.5, (0.0, math.pi)), 240)
    assert state.line.positions_mm[0] == pytest.approx([31.83 + 0.64, 0.0], abs=1e-9)
    assert state.line.normal_angle_rad[0] == pytest.approx(0.0, abs=1e-10)
    assert state.line.label_rad[60] == pytest.approx(0.5 * math.pi)


# ---- faults -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("body", [CircleBody(0.0, 0.0, 31.3), CircleBody(27.0, 0.0, 5.5), CircleBody(40.0, 0.0, 3.0)])
def test_a_generator_that_fits_inside_is_refused(body):
    with pytest.raises(DesignFault, match="fits inside"):
        solve_ring(BELT, [body])


def test_a_generator_outside_the_ring_is_refused():
    with pytest.raises(DesignFault, match="lies outside"):
        solve_ring(BELT, [CircleBody(60.0, 0.0, 35.0)])
    with pytest.raises(DesignFault, match="at least one body"):
        solve_ring(BELT, [])


def test_loads_out_of_balance_are_refused():
    with pytest.raises(DesignFault, match="do not balance"):
        solve_ring_loads(UNIT, [0.0], [[1.0, 0.0]])


def test_too_few_nodes_and_bad_sections_are_refused():
    with pytest.raises(DesignFault, match="too few nodes"):
        solve_ring(BELT, rollers(BELT, 0.64, 5.5, (0.0, math.pi)), 12)
    with pytest.raises(DesignFault, match="not positive"):
        RingSection(30.0, -1.0, 1.0)
    with pytest.raises(DesignFault, match="convex"):
        angle = 2.0 * math.pi * np.arange(90) / 90
        CurveBody(np.column_stack([np.cos(angle), np.sin(angle)]) * (1 + 0.3 * np.cos(4 * angle))[:, None])


def test_a_run_that_does_not_settle_carries_the_last_good_state():
    """Allowed too few iterations for the later steps: the fault names the share, the state is a balanced one."""
    bodies = rollers(BELT, 3.0, 3.0, (0.4, -0.4, math.pi + 0.4, math.pi - 0.4))
    with pytest.raises(ConvergenceFault, match="did not settle at") as caught:
        solve_ring(BELT, bodies, 96, BeamSettings(largest_step=0.01, iterations=10))
    state = caught.value.last_good
    assert state is not None
    assert_one_sided(state)
    assert state.health.force_residual_relative < 1e-8
    with pytest.raises(ConvergenceFault) as caught:
        solve_ring(BELT, bodies, 96, BeamSettings(iterations=2))
    assert caught.value.last_good is None


def test_progress_is_told():
    told = []
    solve_ring(BELT, rollers(BELT, 2.5, 5.5, (0.0, math.pi)), 96, progress=lambda share, words: told.append(share))
    assert told == sorted(told) and len(told) == 2 and told[-1] == 1.0


def test_example_of_the_theory_page():
    page = (Path(__file__).parents[2] / "docs" / "theory" / "ring_beam.md").read_text("utf-8")
    names: dict[str, object] = {}
    exec(page.split("```python\n")[1].split("```")[0], names)
    assert names["force"] == pytest.approx(8.47, abs=0.005)
    assert names["moment"] == pytest.approx(80.2, abs=0.05)
    assert oracles.roller_pair(0.375, 30.0, 44496.0)[0] == pytest.approx(8.3077, abs=5e-5)  # derived by hand before
