"""Order of accuracy of the beam ring, asserted as the slope of error against node count.

Smooth lines (loads on nodes, followed cams): fourth order, down to a second-order term of the size EI/(EA R²) times the
deflection (the normal force is taken constant in an element), so the order is shown on a stiff axis. Contact arcs end
between nodes, so their error falls at second order on the average, unevenly. A point contact between nodes sees the kink
of the shear inside its element: third order. Errors are taken from a finer mesh's answer that is itself far below them.
"""

import math
import time

import numpy as np
import pytest

from lobewright.ring import oracles
from lobewright.ring.beam import CircleBody, CurveBody, RingSection, solve_ring, solve_ring_loads
from lobewright.ring.beam_linear import solve_cyclic

RING = RingSection(1.0, 1.0, 3e4)
STIFF_AXIS = RingSection(1.0, 1.0, 1e6)
MESHES = (48, 96, 192, 384)


def slope(errors, meshes=MESHES):
    """Fitted order: minus the slope of log error over log node count."""
    return -np.polyfit(np.log(meshes), np.log(errors), 1)[0]


def at_common_nodes(values, count=24):
    """Values at the labels that all meshes share."""
    return values[:: len(values) // count]


def rollers(w, turned=0.0):
    """Two rollers of radius 0.2 at w."""
    return [CircleBody((0.8 + w) * math.cos(a), (0.8 + w) * math.sin(a), 0.2) for a in (turned, turned + math.pi)]


def test_point_loads_on_nodes_fourth_order():
    """Large deflection under four loads, shape and moment."""
    label = 0.25 * math.pi + 0.5 * math.pi * np.arange(4)
    load = 0.9 * np.column_stack([np.cos(label), np.sin(label)]) * [[1.0, -1.0]]
    lines = [solve_ring_loads(STIFF_AXIS, label, load, n).line for n in (*MESHES, 1536)]
    for part in ("positions_mm", "moment_nmm"):
        values = [at_common_nodes(getattr(line, part)) for line in lines]
        errors = [np.abs(v - values[-1]).max() for v in values[:-1]]
        assert slope(errors) > 3.7, (part, errors)
        assert errors[1] < 2e-5
    soft = [at_common_nodes(solve_ring_loads(RING, label, load, n).line.positions_mm) for n in (192, 1536)]
    assert np.abs(soft[1] - soft[0]).max() < 1e-8


def test_rollers_on_nodes_fourth_order():
    states = [solve_ring(RING, rollers(0.08), n) for n in (*MESHES, 1536)]
    force = [s.body_force_n[0, 0] for s in states]
    errors = [abs(f / force[-1] - 1.0) for f in force[:-1]]
    assert slope(errors) > 3.2, errors
    assert errors[1] < 2e-6
    places = [at_common_nodes(s.line.positions_mm) for s in states]
    errors = [np.abs(p - places[-1]).max() for p in places[:-1]]
    assert slope(errors) > 3.4, errors


def test_rollers_between_nodes_third_order():
    """Worst of several places of the roller inside an element; the force must not depend on the place."""
    exact = solve_ring(RING, rollers(0.05), 1536).body_force_n[0, 0]
    meshes = MESHES[:3]
    errors = []
    for n in meshes:
        pitch = 2.0 * math.pi / n
        found = [
            np.hypot(*solve_ring(RING, rollers(0.05, part * pitch), n).body_force_n[0])
            for part in (0.2, 0.35, 0.5, 0.65, 0.8)
        ]
        errors.append(max(abs(f / exact - 1.0) for f in found))
    assert slope(errors, meshes) > 2.5, errors
    assert errors[1] < 1e-5


def test_followed_ellipse_fourth_order():
    """A tight cam is followed: force of the whole pressure and hoop tension against a fine mesh."""
    angle = 2.0 * math.pi * np.arange(1440) / 1440
    minor = oracles.ellipse_semi_minor(1.0, 0.03)
    cam = CurveBody(1.002 * np.column_stack([1.03 * np.cos(angle), minor * np.sin(angle)]))
    states = [solve_ring(RING, [cam], n) for n in (*MESHES, 1536)]
    assert all(len(s.contacts.body) == s.health.nodes for s in states)
    pressed = [np.hypot(*s.contacts.force_n.T).sum() for s in states]
    errors = [abs(p / pressed[-1] - 1.0) for p in pressed[:-1]]
    assert slope(errors) > 3.7, errors
    curvature = [at_common_nodes(s.line.curvature_per_mm) for s in states]
    errors = [np.abs(c - curvature[-1]).max() for c in curvature[:-1]]
    assert errors[2] < 2e-3 and errors[0] > 8 * errors[2]


@pytest.mark.parametrize("kind", ["discs", "loose ellipse"])
def test_contact_arcs_second_order(kind):
    """Free boundary: averaged over a spread of mesh sizes, so that the place of the arc's end in its element evens out."""
    if kind == "discs":
        bodies = [CircleBody(0.07, 0.0, 0.95), CircleBody(-0.07, 0.0, 0.95)]
    else:
        angle = 2.0 * math.pi * np.arange(1440) / 1440
        minor = oracles.ellipse_semi_minor(1.0, 0.02)
        bodies = [CurveBody(0.998 * np.column_stack([1.02 * np.cos(angle), minor * np.sin(angle)]))]

    def reading(n):
        state = solve_ring(RING, bodies, n)
        return np.array([state.line.energy_nmm, state.line.positions_mm[n // 4, 1]])

    exact = reading(2880)
    groups = [(48, 56, 64), (96, 112, 128), (192, 224, 256), (384, 448, 512)]
    errors = np.array([np.mean([np.abs(reading(n) / exact - 1.0) for n in group], axis=0) for group in groups])
    for column in errors.T:
        assert slope(column, [g[1] for g in groups]) > 1.7, column
        assert column[2] < 2e-4


def test_cost_of_the_solve_grows_with_the_nodes_and_not_faster():
    """Time of the linear solve, best of many: 16 times the nodes, less than 80 times the time. Linear cost
    gives 16; quadratic cost (fill outside the band) 256. The room between is for a busy machine."""

    def pace(n):
        draw = np.random.default_rng(1)
        diagonal = np.tile(10.0 * np.eye(3), (n, 1, 1))
        side, load = draw.normal(size=(2, n, 3, 3)), draw.normal(size=(n, 3, 5))
        best = math.inf
        for _ in range(30):
            start = time.perf_counter()
            solution = solve_cyclic(diagonal, side[0], side[1], load)
            best = min(best, time.perf_counter() - start)
        left = np.einsum("irc,ick->irk", diagonal, solution)
        left += np.einsum("irc,ick->irk", side[0], np.roll(solution, -1, axis=0))
        left += np.roll(np.einsum("irc,ick->irk", side[1], solution), 1, axis=0)
        assert np.abs(left - load).max() < 1e-9
        return best

    pace(256)
    assert pace(4096) < 80 * pace(256)
