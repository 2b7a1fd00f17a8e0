"""Element of a shell of revolution: straight normals, curved meridian, one circumferential harmonic at a time.

A node on the meridian has five unknowns (radial u, tangential v, axial a, turn χ, twist θ). Harmonic k of the even
family is u, a, χ · cos kφ and v, θ · sin kφ; the odd family (sin kφ and −cos kφ) has the same matrices. The point at
height ζ above the meridian's middle moves by u + ζ·(χ n_z), v + ζ·θ, a − ζ·(χ n_r), with n = (n_r, n_z) the outward
normal, so χ turns the section about the tangential axis (χ = du/dz on a barrel) and θ about the meridian.

Strains are those of the solid of revolution at that point, not of a thin-shell theory: a rigid motion strains nothing
and the terms in thickness/radius are kept. Stress normal to the wall is zero (plane stress), shear across the wall
carries the factor 5/6. Through the thickness two Gauss points; along the meridian Lagrange polynomials of degree p on
Gauss–Lobatto points, integrated with p Gauss points (one fewer than full: that keeps thin walls from locking).

The strain is linear in k, so the stiffness of any harmonic is K0 + k·K1 + k²·K2, assembled once.
Source: straight-normal shells cut from the solid and reduced integration are common practice; the formulas are derived
(docs/theory/cup_shell.md).
"""

import math

import numpy as np
from numba import njit

DOFS = 5
SHEAR_FACTOR = 5.0 / 6.0
LEVEL = 1.0 / math.sqrt(3.0)
"""Height of the two Gauss points, as a share of half the wall."""


def lobatto(degree: int) -> np.ndarray:
    """Gauss–Lobatto points of the interval (−1, 1), p + 1 of them, rising.

    >>> lobatto(2).tolist()
    [-1.0, 0.0, 1.0]
    """
    legendre = np.polynomial.legendre.Legendre.basis(degree)
    inner = np.sort(legendre.deriv().roots().real)
    points = np.concatenate([[-1.0], inner, [1.0]])
    return 0.5 * (points - points[::-1])


def lagrange(nodes: np.ndarray, at: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Values and slopes (len(at), len(nodes)) of the Lagrange polynomials on the nodes."""
    vander = np.linalg.inv(np.vander(nodes, increasing=True))
    power = np.vander(at, len(nodes), increasing=True)
    slope = np.zeros_like(power)
    slope[:, 1:] = power[:, :-1] * np.arange(1, len(nodes))
    return power @ vander, slope @ vander


@njit(cache=True, error_model="numpy")
def strain_rows(shape, slope, place, normal, half, offset, height, rows0, rows1):
    """Strain at one point of an element: rows0 + k·rows1, each (5, nodes·5), are filled in place.

    shape, slope: polynomials of the element's nodes and their derivatives at the point. place, normal (nodes, 2): (r, z)
    of the wall's middle and the outward normal. half: half thickness; offset: height of the wall's middle above the
    node that carries the unknowns; height: −1 … 1 through the wall.
    Rows: ε_s, ε_φ, γ_sφ, γ_sn, γ_φn. Returns (radius, volume per dξ dη dφ, length of the tangent per dξ).
    """
    r = r_x = z_x = r_e = z_e = 0.0
    count = len(shape)
    for i in range(count):
        reach = height * half[i]
        pr, pz = place[i, 0] + reach * normal[i, 0], place[i, 1] + reach * normal[i, 1]
        r += shape[i] * pr
        r_x += slope[i] * pr
        z_x += slope[i] * pz
        r_e += shape[i] * half[i] * normal[i, 0]
        z_e += shape[i] * half[i] * normal[i, 1]
    jacobian = r_x * z_e - z_x * r_e
    length = math.hypot(r_x, z_x)
    t_r, t_z = r_x / length, z_x / length
    n_r, n_z = t_z, -t_r
    along = (n_r * z_e - n_z * r_e) / jacobian
    across = (n_z * r_x - n_r * z_x) / jacobian
    rows0[:] = 0.0
    rows1[:] = 0.0
    for i in range(count):
        lever = offset[i] + height * half[i]
        for kind in range(5):
            # what the unknown does to (U_r, V, U_z) and to its derivative through the wall
            u = v = a = u_e = v_e = a_e = 0.0
            if kind == 0:
                u = 1.0
            elif kind == 1:
                v = 1.0
            elif kind == 2:
                a = 1.0
            elif kind == 3:
                u, a = lever * normal[i, 1], -lever * normal[i, 0]
                u_e, a_e = half[i] * normal[i, 1], -half[i] * normal[i, 0]
            else:
                v, v_e = lever, half[i]
            c = DOFS * i + kind
            s, d = shape[i], slope[i]
            tangential, normal_part = t_r * u + t_z * a, n_r * u + n_z * a
            rows0[0, c] = d * tangential / length
            rows0[1, c] = s * u / r
            rows1[1, c] = s * v / r
            rows0[2, c] = d * v / length - s * v * t_r / r
            rows1[2, c] = -s * tangential / r
            rows0[3, c] = d * normal_part / length + along * d * tangential + across * s * (t_r * u_e + t_z * a_e)
            rows0[4, c] = along * d * v + across * s * v_e - s * v * n_r / r
            rows1[4, c] = -s * normal_part / r
    return r, r * abs(jacobian), length


@njit(cache=True, error_model="numpy")
def stiffen(upper, lower, tension, bending):
    """Scale the mean of the strain rows at the two Gauss levels by `tension`, half their difference by `bending`.

    Both (6,) hold a factor for each row and what the hoop strain adds to the meridional one; in place.
    """
    for c in range(upper.shape[1]):
        around_mean, around_half = 0.5 * (upper[1, c] + lower[1, c]), 0.5 * (upper[1, c] - lower[1, c])
        for row in range(upper.shape[0]):
            mean, half = 0.5 * (upper[row, c] + lower[row, c]), 0.5 * (upper[row, c] - lower[row, c])
            mean, half = tension[row] * mean, bending[row] * half
            if row == 0:
                mean += tension[5] * around_mean
                half += bending[5] * around_half
            upper[row, c] = mean + half
            lower[row, c] = mean - half


@njit(cache=True, error_model="numpy")
def assemble(shape, slope, weight, place, normal, half, offset, tension, bending, elastic):
    """Banded stiffness of all elements for K0, K1, K2: (3, nodes·5, (p + 1)·5), entry [:, i, d] couples i with i − d.

    shape, slope (points, p + 1), weight (points,): quadrature along an element. place, normal (elements, p + 1, 2),
    half, offset (elements, p + 1), tension, bending (elements, 6): see `strain_rows`, `stiffen`. elastic (5, 5).
    Per radian of circumference and unit amplitude: line load amplitudes times radius follow from it for every k.
    """
    elements, count = half.shape
    width = DOFS * count
    band = np.zeros((3, DOFS * (elements * (count - 1) + 1), width))
    rows0, rows1 = np.zeros((2, 5, width)), np.zeros((2, 5, width))
    stress0, stress1 = np.zeros((5, width)), np.zeros((5, width))
    volume = np.zeros(2)
    for e in range(elements):
        first = DOFS * e * (count - 1)
        for g in range(len(weight)):
            for level in range(2):
                height = LEVEL if level == 0 else -LEVEL
                _, volume[level], _ = strain_rows(
                    shape[g], slope[g], place[e], normal[e], half[e], offset[e], height, rows0[level], rows1[level]
                )
            stiffen(rows0[0], rows0[1], tension[e], bending[e])
            stiffen(rows1[0], rows1[1], tension[e], bending[e])
            for level in range(2):
                share = volume[level] * weight[g]
                _multiply(elastic, rows0[level], share, stress0)
                _multiply(elastic, rows1[level], share, stress1)
                _add_products(band, first, rows0[level], rows1[level], stress0, stress1)
    return band


@njit(cache=True, error_model="numpy")
def _multiply(elastic, rows, share, out):
    """out = share · elastic · rows, for an elastic matrix that couples the first two rows only."""
    for c in range(rows.shape[1]):
        out[0, c] = share * (elastic[0, 0] * rows[0, c] + elastic[0, 1] * rows[1, c])
        out[1, c] = share * (elastic[1, 0] * rows[0, c] + elastic[1, 1] * rows[1, c])
        for row in range(2, 5):
            out[row, c] = share * elastic[row, row] * rows[row, c]


@njit(cache=True, error_model="numpy")
def _add_products(band, first, rows0, rows1, stress0, stress1):
    """Add rowsᵀ·stress, split by powers of k, to the band from equation `first` on."""
    for i in range(rows0.shape[1]):
        for j in range(i + 1):
            k0 = k1 = k2 = 0.0
            for row in range(5):
                k0 += rows0[row, i] * stress0[row, j]
                k1 += rows0[row, i] * stress1[row, j] + rows1[row, i] * stress0[row, j]
                k2 += rows1[row, i] * stress1[row, j]
            band[0, first + i, i - j] += k0
            band[1, first + i, i - j] += k1
            band[2, first + i, i - j] += k2
