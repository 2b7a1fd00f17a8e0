"""Ring element: two-node, shear-rigid, extensible, co-rotational beam that is born curved.

Everything here is dimensionless: length over the radius R, force over EI/R², moment over EI/R. A node has three
unknowns (u, v, φ): displacement from the stress-free circle and turn of its section.

Energy of an element of undeformed arc h between nodes i and j, chord length l, chord turned by γ:

    U = (φ_j − φ_i)²/(2h) + 6a²/h + ½ A h ε²,   a = (φ_i + φ_j)/2 − γ,   ε = l/G − 1,
    G = h · sin(ψ/2)/(ψ/2) · exp(−a²/10),        ψ = h + φ_j − φ_i,       A = EA·R²/EI.

G is the chord of an unstretched element whose direction runs quadratically from end to end; the circle is met
exactly, and the energy of a smooth state is right to O(h⁴).
Source: derived (docs/theory/ring_beam.md); splitting off chord and end turns is common practice in co-rotation.
"""

import math

import numpy as np
from numba import njit


@njit(cache=True, error_model="numpy")
def log_chord_slope(psi):
    """First and second derivative of ln(sin(ψ/2)/(ψ/2)); the series, because the closed form cancels near 0."""
    q = psi * psi
    first = -psi * (
        1 / 12 + q * (1 / 720 + q * (1 / 30240 + q * (1 / 1209600 + q * (1 / 47900160 + q * 691 / 1307674368000))))
    )
    second = -(
        1 / 12 + q * (3 / 720 + q * (5 / 30240 + q * (7 / 1209600 + q * (9 / 47900160 + q * 7601 / 1307674368000))))
    )
    return first, second


@njit(cache=True, error_model="numpy")
def element_terms(qi, qj, angle_mid, arc, axial):
    """One element: energy, forces at the chord and local derivatives.

    qi, qj: (u, v, φ) of the ends; angle_mid: direction of the stress-free chord [rad]; arc: h; axial: A.
    Returns (U, strain, l, ex, ey), (U_l, U_ψ, U_a) and the second derivatives (ll, lψ, la, ψψ, ψa, aa).
    """
    cm, sm = math.cos(angle_mid), math.sin(angle_mid)
    du, dv = qj[0] - qi[0], qj[1] - qi[1]
    along, across = cm * du + sm * dv, -sm * du + cm * dv
    chord0 = 2.0 * math.sin(0.5 * arc)
    chord = math.hypot(chord0 + along, across)
    mean = 0.5 * (qi[2] + qj[2])
    cf, sf = math.cos(mean), math.sin(mean)
    # seen from the mean section turn, so that no angle wraps however far the ring has turned
    skew = -math.atan2(cf * across - sf * (chord0 + along), cf * (chord0 + along) + sf * across)
    growth = (2.0 * chord0 * along + along * along + across * across) / (chord + chord0)
    bend = qj[2] - qi[2]
    psi = arc + bend
    free_chord = arc * math.sin(0.5 * psi) / (0.5 * psi) * math.exp(-0.1 * skew * skew)
    strain = (growth + (chord0 - free_chord)) / free_chord
    slope, slope2 = log_chord_slope(psi)
    stretch = 1.0 + strain
    wl, wp, wa = 1.0 / chord, -slope, 0.2 * skew
    pull = axial * arc * strain * stretch
    first = (pull * wl, pull * wp + bend / arc, pull * wa + 12.0 * skew / arc)
    stiff = axial * arc * stretch * stretch + pull
    second = (
        stiff * wl * wl - pull * wl * wl,
        stiff * wl * wp,
        stiff * wl * wa,
        stiff * wp * wp - pull * slope2 + 1.0 / arc,
        stiff * wp * wa,
        stiff * wa * wa + 0.2 * pull + 12.0 / arc,
    )
    energy = 0.5 * bend * bend / arc + 6.0 * skew * skew / arc + 0.5 * axial * arc * strain * strain
    ex, ey = (cm * (chord0 + along) - sm * across) / chord, (sm * (chord0 + along) + cm * across) / chord
    return (energy, strain, chord, ex, ey), first, second


@njit(cache=True, error_model="numpy")
def element(qi, qj, angle_mid, arc, axial):
    """As :func:`element_terms` in one row, the second derivatives as a matrix (3, 3) in (l, ψ, a)."""
    (energy, strain, chord, ex, ey), first, (ll, lp, la, pp, pa, aa) = element_terms(qi, qj, angle_mid, arc, axial)
    hess = np.array([[ll, lp, la], [lp, pp, pa], [la, pa, aa]])
    return energy, strain, chord, ex, ey, first[0], first[1], first[2], hess


@njit(cache=True, error_model="numpy")
def element_into(qi, qj, angle_mid, arc, axial, grad, tangent):
    """Energy of one element; its gradient (6,) and tangent (6, 6) in (u_i, v_i, φ_i, u_j, v_j, φ_j) into the arrays."""
    (energy, _, chord, ex, ey), (u_l, u_psi, u_a), (ll, lp, la, pp, pa, aa) = element_terms(
        qi, qj, angle_mid, arc, axial
    )
    nx, ny = -ey / chord, ex / chord
    # the ends' displacements enter with opposite signs, the chord's turn half with each section's
    gx, gy = u_l * ex - u_a * nx, u_l * ey - u_a * ny
    grad[0], grad[1], grad[2] = -gx, -gy, 0.5 * u_a - u_psi
    grad[3], grad[4], grad[5] = gx, gy, 0.5 * u_a + u_psi
    dxx = u_l * nx * nx * chord + 2.0 * u_a * ex * nx / chord
    dyy = u_l * ny * ny * chord + 2.0 * u_a * ey * ny / chord
    dxy = u_l * nx * ny * chord + u_a * (ex * ny + ey * nx) / chord
    xx = ll * ex * ex - 2.0 * la * ex * nx + aa * nx * nx + dxx
    yy = ll * ey * ey - 2.0 * la * ey * ny + aa * ny * ny + dyy
    xy = ll * ex * ey - la * (ex * ny + ey * nx) + aa * nx * ny + dxy
    # of the second end's place and of each end's turn
    mean_x, mean_y = 0.5 * (la * ex - aa * nx), 0.5 * (la * ey - aa * ny)
    apart_x, apart_y = lp * ex - pa * nx, lp * ey - pa * ny
    ix, iy, jx, jy = mean_x - apart_x, mean_y - apart_y, mean_x + apart_x, mean_y + apart_y
    tangent[0, 0] = tangent[3, 3] = xx
    tangent[1, 1] = tangent[4, 4] = yy
    tangent[0, 1] = tangent[1, 0] = tangent[3, 4] = tangent[4, 3] = xy
    tangent[0, 3] = tangent[3, 0] = -xx
    tangent[1, 4] = tangent[4, 1] = -yy
    tangent[0, 4] = tangent[4, 0] = tangent[1, 3] = tangent[3, 1] = -xy
    tangent[0, 2] = tangent[2, 0] = -ix
    tangent[1, 2] = tangent[2, 1] = -iy
    tangent[0, 5] = tangent[5, 0] = -jx
    tangent[1, 5] = tangent[5, 1] = -jy
    tangent[3, 2] = tangent[2, 3] = ix
    tangent[4, 2] = tangent[2, 4] = iy
    tangent[3, 5] = tangent[5, 3] = jx
    tangent[4, 5] = tangent[5, 4] = jy
    tangent[2, 2] = pp - pa + 0.25 * aa
    tangent[5, 5] = pp + pa + 0.25 * aa
    tangent[2, 5] = tangent[5, 2] = 0.25 * aa - pp
    return energy


@njit(cache=True, error_model="numpy")
def element_force_tangent(qi, qj, angle_mid, arc, axial):
    """Energy, gradient (6,) and tangent (6, 6) of one element in (u_i, v_i, φ_i, u_j, v_j, φ_j)."""
    grad, tangent = np.empty(6), np.empty((6, 6))
    energy = element_into(qi, qj, angle_mid, arc, axial, grad, tangent)
    return energy, grad, tangent


@njit(cache=True, error_model="numpy")
def assemble_ring(q, axial, residual, diagonal, upper, lower):
    """Add the elastic gradient and tangent of the whole ring; returns its energy.

    q (N, 3); residual (N, 3); diagonal, upper, lower (N, 3, 3): blocks (i, i), (i, i+1), (i+1, i), indices modulo N.
    """
    count = q.shape[0]
    arc = 2.0 * math.pi / count
    total = 0.0
    grad, tangent = np.empty(6), np.empty((6, 6))
    for i in range(count):
        j = i + 1 if i + 1 < count else 0
        total += element_into(q[i], q[j], (i + 0.5) * arc + 0.5 * math.pi, arc, axial, grad, tangent)
        add_element(i, j, grad, tangent, residual, diagonal, upper, lower)
    return total


@njit(cache=True, error_model="numpy")
def add_element(i, j, grad, tangent, residual, diagonal, upper, lower):
    """Scatter a six-vector and a 6 × 6 block of the element between nodes i and j = i + 1 (modulo N)."""
    for r in range(3):
        residual[i, r] += grad[r]
        residual[j, r] += grad[3 + r]
        for c in range(3):
            diagonal[i, r, c] += tangent[r, c]
            diagonal[j, r, c] += tangent[3 + r, 3 + c]
            upper[i, r, c] += tangent[r, 3 + c]
            lower[i, r, c] += tangent[3 + r, c]


@njit(cache=True, error_model="numpy")
def section_forces(q, axial):
    """Section force vector (N, 2), end moments (N, 2) and axial strain (N,) of the elements, before nodal shares
    of loads that act inside an element are taken off."""
    count = q.shape[0]
    arc = 2.0 * math.pi / count
    force = np.empty((count, 2))
    moment = np.empty((count, 2))
    strain = np.empty(count)
    for i in range(count):
        j = i + 1 if i + 1 < count else 0
        (_, eps, chord, ex, ey), (u_l, u_psi, u_a), _ = element_terms(
            q[i], q[j], (i + 0.5) * arc + 0.5 * math.pi, arc, axial
        )
        force[i, 0] = u_l * ex + u_a / chord * ey
        force[i, 1] = u_l * ey - u_a / chord * ex
        moment[i, 0] = u_psi - 0.5 * u_a
        moment[i, 1] = u_psi + 0.5 * u_a
        strain[i] = eps
    return force, moment, strain


@njit(cache=True, error_model="numpy")
def node_place(q, i, count):
    """Position and direction angle of node i (dimensionless, rad)."""
    label = 2.0 * math.pi * i / count
    return math.cos(label) + q[i, 0], math.sin(label) + q[i, 1], label + 0.5 * math.pi + q[i, 2]


@njit(cache=True, error_model="numpy")
def line_ends(q, i):
    """What the smooth line inside element i hangs on: its first end (x, y), chord (x, y) and end tangents (x, y, x, y), all
    but the first scaled for :func:`line_place`."""
    count = q.shape[0]
    ax, ay, ai = node_place(q, i, count)
    bx, by, aj = node_place(q, i + 1 if i + 1 < count else 0, count)
    dx, dy = bx - ax, by - ay
    chord = math.hypot(dx, dy)
    return ax, ay, dx, dy, chord * math.cos(ai), chord * math.sin(ai), chord * math.cos(aj), chord * math.sin(aj)


@njit(cache=True, error_model="numpy")
def line_place(ends, xi):
    """Where the smooth line is at xi in 0…1, as in :func:`line_point`."""
    ax, ay, dx, dy, tix, tiy, tjx, tjy = ends
    h01, h10, h11 = xi * xi * (3 - 2 * xi), xi * (1 - xi) * (1 - xi), xi * xi * (xi - 1)
    return ax + h01 * dx + h10 * tix + h11 * tjx, ay + h01 * dy + h10 * tiy + h11 * tjy


@njit(cache=True, error_model="numpy")
def line_point(q, i, xi):
    """The smooth line inside element i at xi in 0…1 (cubic through both ends, tangent there, scaled by the chord).

    Returns x (2,), dx/dξ (2,), d²x/dξ² (2,), jac (2, 6) = ∂x/∂q, jac_xi (2, 6) = ∂²x/∂q∂ξ and what `line_bend`
    needs: (ex, ey, chord, h10, h11, ti, tj).
    """
    count = q.shape[0]
    j = i + 1 if i + 1 < count else 0
    ax, ay, ai = node_place(q, i, count)
    bx, by, aj = node_place(q, j, count)
    dx, dy = bx - ax, by - ay
    chord = math.hypot(dx, dy)
    ex, ey = dx / chord, dy / chord
    tix, tiy, tjx, tjy = math.cos(ai), math.sin(ai), math.cos(aj), math.sin(aj)
    shape = np.array(
        [
            [xi * xi * (3 - 2 * xi), xi * (1 - xi) * (1 - xi), xi * xi * (xi - 1)],
            [6 * xi * (1 - xi), (1 - xi) * (1 - 3 * xi), xi * (3 * xi - 2)],
            [6 - 12 * xi, 6 * xi - 4, 6 * xi - 2],
        ]
    )
    place = np.empty((3, 2))
    jac = np.zeros((2, 2, 6))
    for k in range(3):
        h01, h10, h11 = shape[k]
        wx, wy = h10 * tix + h11 * tjx, h10 * tiy + h11 * tjy
        place[k, 0] = h01 * dx + chord * wx + (ax if k == 0 else 0.0)
        place[k, 1] = h01 * dy + chord * wy + (ay if k == 0 else 0.0)
        if k < 2:
            own = 1.0 if k == 0 else 0.0
            jac[k, 0, 3], jac[k, 0, 4] = h01 + wx * ex, wx * ey
            jac[k, 1, 3], jac[k, 1, 4] = wy * ex, h01 + wy * ey
            jac[k, 0, 0], jac[k, 0, 1] = own - jac[k, 0, 3], -jac[k, 0, 4]
            jac[k, 1, 0], jac[k, 1, 1] = -jac[k, 1, 3], own - jac[k, 1, 4]
            jac[k, 0, 2], jac[k, 1, 2] = -chord * h10 * tiy, chord * h10 * tix
            jac[k, 0, 5], jac[k, 1, 5] = -chord * h11 * tjy, chord * h11 * tjx
    return place, jac, np.array([ex, ey, chord, shape[0, 1], shape[0, 2], tix, tiy, tjx, tjy])


@njit(cache=True, error_model="numpy")
def line_bend(fx, fy, ends):
    """Second derivative (6, 6) of f·x(q) for a fixed vector f; `ends` from `line_point`."""
    ex, ey, chord, h10, h11, tix, tiy, tjx, tjy = ends
    out = np.zeros((6, 6))
    lean = (h10 * (fx * tix + fy * tiy) + h11 * (fx * tjx + fy * tjy)) / chord
    block = ((lean * ey * ey, -lean * ex * ey), (-lean * ex * ey, lean * ex * ex))
    turn_i, turn_j = h10 * (fy * tix - fx * tiy), h11 * (fy * tjx - fx * tjy)
    edge = (ex, ey)
    for p in range(2):
        sign_p = -1.0 if p == 0 else 1.0
        for a in range(2):
            row = 3 * p + a
            for q in range(2):
                sign_q = -1.0 if q == 0 else 1.0
                for b in range(2):
                    out[row, 3 * q + b] = sign_p * sign_q * block[a][b]
            out[row, 2] = out[2, row] = sign_p * edge[a] * turn_i
            out[row, 5] = out[5, row] = sign_p * edge[a] * turn_j
    out[2, 2] = -chord * h10 * (fx * tix + fy * tiy)
    out[5, 5] = -chord * h11 * (fx * tjx + fy * tjy)
    return out
