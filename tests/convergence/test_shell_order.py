"""Order of accuracy of the shell element, asserted as the slope of error against the number of equal elements.

With p Gauss points for degree p, displacements at the ends of elements converge with order 2p, as for the exact solution of
a line of ordinary differential equations; stresses carried from the Gauss points to the ends with order p. Errors are
taken from a mesh of degree 5 that is itself near rounding (some 1e-10), so only errors well above that are fitted.
"""

from itertools import pairwise

import numpy as np
import pytest

from lobewright.ring import shell
from lobewright.ring.shell import CupGeometry, CupMaterial, critical_points
from lobewright.ring.shell_mesh import Corner, Line
from lobewright.ring.shell_model import build_model, solve_held
from lobewright.ring.shell_stress import recover

MATERIAL = CupMaterial(206e3, 0.3)
WHOLE = 1e-6
"""A refinement this low leaves every straight segment one element."""


def reading(count, degree, order, wall=0.5):
    """Clamped cylinder R 25, L 8 under radial and tangential edge loads: displacements at the edge and half way, and
    stresses half way (element ends)."""
    cuts = 8.0 * np.arange(count + 1) / count
    pieces = [Line("tube", (25.0, a), (25.0, b), wall) for a, b in pairwise(cuts)]
    model = build_model(tuple(pieces), MATERIAL, WHOLE, degree)
    assert len(model.meridian.half_mm) == count
    held = np.zeros(model.meridian.unknowns, dtype=bool)
    held[:5] = True
    load = np.zeros((1, len(held), 1))
    load[0, -5:-3, 0] = 25.0, 5.0
    x = solve_held(model, [order], held, None, load)
    found = recover(model, [order], np.moveaxis(x, 2, 0))
    station = count // 2 * (degree + 1)
    moved, stress = found.displacement_mm[0, 0], found.stress_mpa[0, 0]
    return np.array([moved[-1, 0], moved[station, 0]]), stress[station, 1, :2]


def slope(errors, counts):
    """Fitted order: minus the slope of log error over log element count."""
    return -np.polyfit(np.log(counts), np.log(errors), 1)[0]


@pytest.mark.parametrize("order", [0, 2])
@pytest.mark.parametrize(("degree", "counts"), [(2, (8, 16, 32)), (3, (4, 8, 16))])
def test_displacements_at_element_ends(degree, counts, order):
    exact = reading(64, 5, order)[0]
    errors = np.array([np.abs(reading(n, degree, order)[0] / exact - 1.0) for n in counts])
    assert slope(errors[:, 1], counts) > 2 * degree - 0.3, errors
    # at the loaded edge degree 3 reaches rounding with 16 elements
    kept = 3 if degree == 2 else 2
    assert slope(errors[:kept, 0], counts[:kept]) > 2 * degree - 0.3, errors
    assert errors[0, 1] < 2e-3


@pytest.mark.parametrize("order", [0, 2])
@pytest.mark.parametrize("degree", [2, 3, 4])
def test_stresses(degree, order):
    counts = (8, 16, 32)
    exact = reading(64, 5, order)[1]
    errors = np.array([np.abs(reading(n, degree, order)[1] / exact - 1.0) for n in counts])
    for column in errors.T:
        assert slope(column, counts) > degree - 0.4, errors
    assert errors[2].max() < (6e-3, 1e-4, 1e-5)[degree - 2]


def test_thin_walls_converge_as_fast_as_thick_ones():
    """No locking: with the wall from R/h 15 to 1000, three elements of degree 3 a decay length reach the same error."""
    errors = []
    for ratio in (15.0, 60.0, 250.0, 1000.0):
        wall = 25.0 / ratio
        decay = np.sqrt(25.0 * wall)
        pieces = [Line("tube", (25.0, decay * i / 3), (25.0, decay * (i + 1) / 3), wall) for i in range(18)]
        ends = []
        for degree in (3, 5):
            model = build_model(tuple(pieces), MATERIAL, WHOLE, degree)
            held = np.zeros(model.meridian.unknowns, dtype=bool)
            held[:5] = True
            load = np.zeros((1, len(held), 1))
            load[0, -5, 0] = 1.0
            ends.append(solve_held(model, [2], held, None, load)[0, -5, 0])
        errors.append(abs(ends[0] / ends[1] - 1.0))
    assert max(errors) < 1e-6


def test_curved_tapered_corner_at_order_four():
    """Degree 2, a corner between plate and tube of other walls; all elements halved each time."""
    values = []
    for count, degree in ((4, 2), (8, 2), (16, 2), (8, 5)):
        corner = Corner("corner", (22.0, 3.0), 2.0, 1.0, 0.5)
        plate = [Line("plate", (18.0 + 4.0 * a, 0.5), (18.0 + 4.0 * b, 0.5), 1.0) for a, b in even_pieces(count)]
        tube = [Line("tube", (24.25, 3.0 + 4.0 * a), (24.25, 3.0 + 4.0 * b), 0.5) for a, b in even_pieces(count)]
        model = build_model((*plate, corner, *tube), MATERIAL, 0.4 * count, degree)
        held = np.zeros(model.meridian.unknowns, dtype=bool)
        held[:5] = True
        load = np.zeros((1, len(held), 1))
        load[0, -5, 0] = 1.0
        values.append(solve_held(model, [2], held, None, load)[0, -5, 0])
    errors = np.abs(np.array(values[:3]) / values[3] - 1.0)
    assert slope(errors, (4, 8, 16)) > 3.6, errors
    assert errors[0] < 1e-5


def even_pieces(count):
    """Shares of a length cut into equal pieces."""
    return pairwise(np.linspace(0.0, 1.0, count + 1))


@pytest.mark.parametrize("cup", ["steel", "printed"])
def test_stresses_of_a_cup_on_its_usual_mesh(cup):
    """Worst points under rollers (96 harmonics) and under two lobes: within 0.5 % of a mesh four times as fine."""
    shape = {
        "steel": CupGeometry(39.4, 45.0, 0.4, 0.5, 10.0, 0.6, 2.0, 20.0),
        "printed": CupGeometry(47.0, 50.0, 1.0, 1.2, 12.0, 2.0, 3.0, 20.0),
    }[cup]
    rollers = shell.roller_load(shape, 5.0, 10.0, 2, 0.5, 96, spread_mm=8.0)
    lobes = shell.roller_load(shape, 5.0, 10.0, 2, 0.5, 2)
    for load in (rollers, lobes):
        usual, fine = (
            [p.von_mises_mpa for p in critical_points(shell.respond(shape, MATERIAL, [load], refine))]
            for refine in (1.0, 4.0)
        )
        assert usual == pytest.approx(fine, rel=5e-3)
    orders = range(0, 49)
    usual, fine = (shell.rim_stiffness(shape, MATERIAL, orders, 5.0, refine=r).matrix for r in (1.0, 4.0))
    size = np.sqrt(np.einsum("hii->hi", fine))
    assert np.abs((usual - fine) / (size[:, :, None] * size[:, None, :])).max() < 1e-4
