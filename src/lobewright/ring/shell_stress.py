"""Stresses and section forces of a solved shell, from the strains at the Gauss points where they are best."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numba import njit

from lobewright.ring.shell_element import DOFS, LEVEL, lagrange, lobatto, stiffen, strain_rows
from lobewright.ring.shell_mesh import Array
from lobewright.ring.shell_model import ShellModel

INSIDE, OUTSIDE = 0, 1
MERIDIONAL, HOOP, SHEAR = 0, 1, 2


@dataclass(frozen=True)
class Recovered:
    """Amplitudes at the stations, the nodes of every element (E·(p+1), with both sides of each shared node).

    ``displacement_mm`` (m, H, S, 5): of the wall's middle (radial, tangential, axial [mm], turn, twist [rad]).
    ``resultant`` (m, H, S, 6): N_s, N_φ, N_sφ [N/mm], M_s, M_φ, M_sφ [N·mm/mm], M positive where the outside is
    pulled. ``stress_mpa`` (m, H, S, 2, 3): σ_s, σ_φ, τ_sφ on the inside and the outside of the plain wall.
    """

    displacement_mm: Array
    resultant: Array
    stress_mpa: Array


@njit(cache=True, error_model="numpy")
def _point_rows(shape, slope, place, normal, half, offset, tension, bending, rows0, rows1, measure):
    """Strain rows (5, 5, nodes·5) at both Gauss levels (stiffened), the inside, the outside and the middle of a point.

    measure (5, 2): radius and length of the tangent at each.
    """
    heights = (LEVEL, -LEVEL, -1.0, 1.0, 0.0)
    for level in range(5):
        radius, _, length = strain_rows(
            shape, slope, place, normal, half, offset, heights[level], rows0[level], rows1[level]
        )
        measure[level, 0], measure[level, 1] = radius, length
    stiffen(rows0[0], rows0[1], tension, bending)
    stiffen(rows1[0], rows1[1], tension, bending)


@njit(cache=True, error_model="numpy")
def _plane_stress(elastic, rows0, rows1, harmonic, x):
    """σ_s, σ_φ, τ of one point for the unknowns x of its element."""
    e_s = e_p = e_t = 0.0
    for i in range(len(x)):
        e_s += (rows0[0, i] + harmonic * rows1[0, i]) * x[i]
        e_p += (rows0[1, i] + harmonic * rows1[1, i]) * x[i]
        e_t += (rows0[2, i] + harmonic * rows1[2, i]) * x[i]
    return (
        elastic[0, 0] * e_s + elastic[0, 1] * e_p,
        elastic[1, 0] * e_s + elastic[1, 1] * e_p,
        elastic[2, 2] * e_t,
    )


@njit(cache=True, error_model="numpy")
def _at_gauss(shape, slope, place, normal, half, offset, tension, bending, elastic, harmonics, x):
    """Resultants (m, H, E, G, 6) and surface stresses (m, H, E, G, 2, 3) at the Gauss points; x (m, H, n)."""
    columns, orders, _ = x.shape
    elements, count = half.shape
    width, points = DOFS * count, shape.shape[0]
    resultant = np.zeros((columns, orders, elements, points, 6))
    stress = np.zeros((columns, orders, elements, points, 2, 3))
    rows0, rows1 = np.zeros((5, 5, width)), np.zeros((5, 5, width))
    measure = np.zeros((5, 2))
    for e in range(elements):
        first = DOFS * e * (count - 1)
        for g in range(points):
            _point_rows(
                shape[g],
                slope[g],
                place[e],
                normal[e],
                half[e],
                offset[e],
                tension[e],
                bending[e],
                rows0,
                rows1,
                measure,
            )
            thick = 0.0  # no library product: compiling it would ask for another package
            for i in range(count):
                thick += shape[g, i] * half[e, i]
            for c in range(columns):
                for h in range(orders):
                    own = x[c, h, first : first + width]
                    for level in range(4):
                        found = _plane_stress(elastic, rows0[level], rows1[level], harmonics[h], own)
                        if level >= 2:
                            for row in range(3):
                                stress[c, h, e, g, level - 2, row] = found[row]
                            continue
                        wide, tall = measure[level, 0] / measure[4, 0], measure[level, 1] / measure[4, 1]
                        share = (thick * wide, thick * tall, 0.5 * thick * (wide + tall))
                        arm = thick * LEVEL if level == 0 else -thick * LEVEL
                        for row in range(3):
                            part = found[row] * share[row]
                            resultant[c, h, e, g, row] += tension[e, row] * part
                            resultant[c, h, e, g, 3 + row] += bending[e, row] * part * arm
                        # a scaled hoop strain that is part of the meridional one takes its share of that one's stress
                        part = found[0] * share[0]
                        resultant[c, h, e, g, 1] += tension[e, 5] * part
                        resultant[c, h, e, g, 4] += bending[e, 5] * part * arm
    return resultant, stress


def recover(model: ShellModel, harmonics: Array, x: Array) -> Recovered:
    """Displacements, section forces and surface stresses for unknowns x (m, H, n)."""
    line = model.meridian
    points, _ = np.polynomial.legendre.leggauss(line.degree)
    shape, slope = lagrange(lobatto(line.degree), points)
    resultant, stress = _at_gauss(
        shape,
        slope,
        line.place_mm,
        line.normal,
        line.half_mm,
        line.offset_mm,
        line.tension,
        line.bending,
        model.material.elastic(),
        np.asarray(harmonics, dtype=float),
        np.ascontiguousarray(x),
    )
    outward, _ = lagrange(points, lobatto(line.degree))
    columns, orders = x.shape[:2]
    stations = line.half_mm.size
    nodal = x.reshape(columns, orders, line.nodes, DOFS)[:, :, line.element_nodes()].copy()
    lever, normal = line.offset_mm, line.normal
    nodal[..., 0] += nodal[..., 3] * lever * normal[..., 1]
    nodal[..., 1] += nodal[..., 4] * lever
    nodal[..., 2] -= nodal[..., 3] * lever * normal[..., 0]
    return Recovered(
        nodal.reshape(columns, orders, stations, DOFS),
        np.einsum("ig,mhegr->mheir", outward, resultant).reshape(columns, orders, stations, 6),
        np.einsum("ig,mhegfr->mheifr", outward, stress).reshape(columns, orders, stations, 2, 3),
    )


def around(even: Array, odd: Array, harmonics: Array, angle_rad: Array, swapped: bool) -> Array:
    """Sum of harmonics: amplitudes (H, ...) of both families → values (A, ...) at the angles.

    Quantities of the even family go as cos kφ, of the odd as sin kφ; `swapped` ones (tangential displacement, twist,
    shear) as sin kφ and −cos kφ.
    """
    phase = np.outer(angle_rad, harmonics)
    first, second = (np.sin(phase), -np.cos(phase)) if swapped else (np.cos(phase), np.sin(phase))
    return np.tensordot(first, even, axes=(1, 0)) + np.tensordot(second, odd, axes=(1, 0))


def von_mises(stress: Array) -> Array:
    """Equivalent stress of (…, 3) plane stresses σ_s, σ_φ, τ."""
    s, p, t = stress[..., 0], stress[..., 1], stress[..., 2]
    return np.sqrt(np.maximum(s * s + p * p - s * p + 3.0 * t * t, 0.0))
