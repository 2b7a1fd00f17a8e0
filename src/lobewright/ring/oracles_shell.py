"""Closed forms for thin shells of revolution and plates, to check solvers against. Imports nothing of this package.

Common symbols: R radius of the middle surface, h wall, E Young's modulus [MPa], ν Poisson's ratio, D = E h³/(12(1 − ν²))
[N·mm], G = E/(2(1 + ν)). Lengths in mm, line loads in N/mm. Harmonic k: radial, axial as cos kφ, tangential as sin kφ.
Thin-shell and thin-plate (Kirchhoff) theory unless a docstring says otherwise: errors of order h/R and (h/a)².
"""

import math
from typing import NamedTuple

import numpy as np

Array = np.ndarray


def plate_stiffness(modulus_mpa: float, wall_mm: float, poisson: float) -> float:
    """D = E h³/(12(1 − ν²)) [N·mm]. Source: any handbook (remembered)."""
    return modulus_mpa * wall_mm**3 / (12.0 * (1.0 - poisson**2))


class EdgeBending(NamedTuple):
    """Long cylinder, unit edge shear V [N/mm] or edge moment M [N·mm/mm]; ring load P [N/mm] far from its ends."""

    decay_per_mm: float
    deflection_by_shear: float
    turn_by_shear: float
    deflection_by_moment: float
    turn_by_moment: float
    deflection_under_ring_load: float
    moment_under_ring_load: float


def edge_bending(radius_mm: float, wall_mm: float, modulus_mpa: float, poisson: float) -> EdgeBending:
    """λ = [3(1 − ν²)]^¼/√(R h), V/(2Dλ³), V/(2Dλ²), M/(2Dλ²), M/(Dλ), P R² λ/(2 E h), P/(4λ).

    Source: Timoshenko and Woinowsky-Krieger, Theory of Plates and Shells, chapter 15 (remembered).

    >>> steel = edge_bending(25.0, 0.5, 206e3, 0.3)
    >>> [float(f"{v:.6g}") for v in steel]
    [0.363568, 0.00441223, 0.00160415, 0.00160415, 0.00116643, 0.00110306, 0.687629]
    """
    stiffness = plate_stiffness(modulus_mpa, wall_mm, poisson)
    decay = (3.0 * (1.0 - poisson**2)) ** 0.25 / math.sqrt(radius_mm * wall_mm)
    return EdgeBending(
        decay,
        0.5 / (stiffness * decay**3),
        0.5 / (stiffness * decay**2),
        0.5 / (stiffness * decay**2),
        1.0 / (stiffness * decay),
        radius_mm**2 * decay / (2.0 * modulus_mpa * wall_mm),
        0.25 / decay,
    )


class LinearMode(NamedTuple):
    """Inextensional cylinder whose deflection grows linearly from z = 0 to w0 cos kφ at z = L.

    Amplitudes at z = L per unit w0: tangential and axial displacement, hoop and meridional stress on the outside, shear
    stress on the outside (sin kφ), radial line load at z = L that holds it [N/mm per mm].
    """

    tangential: float
    axial: float
    hoop_mpa: float
    meridional_mpa: float
    shear_mpa: float
    line_load: float


def linear_mode(
    radius_mm: float, wall_mm: float, length_mm: float, modulus_mpa: float, poisson: float, order: int = 2
) -> LinearMode:
    """v = −w/k, u = −R w0/(k² L), σ_φ = (k² − 1) E h w0/(2(1 − ν²) R²), σ_z = ν σ_φ, τ = (k − 1/k) G h w0/(R L).

    Holds for an end that keeps its circle (w = v = 0) but neither warping nor turning: a diaphragm stiff in its plane
    and limp across it, and away from the free edge, where σ_z dies out within a few √(R h). Line load from the energy:
    q = [D (k² − 1)² L/(3 R⁴) + G h³ (k − 1/k)²/(3 L R²)] w0.
    Source: Love, A Treatise on the Mathematical Theory of Elasticity, inextensional shells (remembered); derived.

    >>> mode = linear_mode(25.0, 0.4, 40.0, 206e3, 0.3)
    >>> mode.hoop_mpa == 3 * 206e3 * 0.4 / (2 * (1 - 0.3**2) * 25**2)
    True
    >>> round(mode.axial, 6) == -round(25 / (4 * 40), 6)
    True
    """
    k, shear = float(order), modulus_mpa / (2.0 * (1.0 + poisson))
    hoop = (k * k - 1.0) * modulus_mpa * wall_mm / (2.0 * (1.0 - poisson**2) * radius_mm**2)
    bend = plate_stiffness(modulus_mpa, wall_mm, poisson) * (k * k - 1.0) ** 2 * length_mm / (3.0 * radius_mm**4)
    twist = shear * wall_mm**3 * (k - 1.0 / k) ** 2 / (3.0 * length_mm * radius_mm**2)
    return LinearMode(
        -1.0 / k,
        -radius_mm / (k * k * length_mm),
        hoop,
        poisson * hoop,
        (k - 1.0 / k) * shear * wall_mm / (radius_mm * length_mm),
        bend + twist,
    )


def tube_torsion(radius_mm: float, wall_mm: float, shear_modulus_mpa: float, torque_nmm: float) -> tuple[float, float]:
    """Shear stress at the outer fibre [MPa] and twist [rad/mm] of a round tube, exact: T r_o/J, T/(G J).

    J = π(r_o⁴ − r_i⁴)/2; thin walls: T/(2πR²h) and T/(2πR³hG). Source: Saint-Venant torsion, textbook (remembered).

    >>> stress, _ = tube_torsion(25.0, 0.5, 79e3, 50e3)
    >>> round(stress, 3)
    25.717
    """
    outer, inner = radius_mm + 0.5 * wall_mm, radius_mm - 0.5 * wall_mm
    polar = 0.5 * math.pi * (outer**4 - inner**4)
    return torque_nmm * outer / polar, torque_nmm / (shear_modulus_mpa * polar)


def guided_annulus(outer_mm: float, inner_mm: float) -> float:
    """w D/(P a²) of an annular plate with its outer edge clamped and its inner edge on a rigid boss with a force P.

    [1 − b² − 4 b² ln²b/(1 − b²)]/(16π), b = r_i/a. Source: derived.

    >>> round(guided_annulus(1.0, 0.4), 9)
    0.003985108
    """
    b = inner_mm / outer_mm
    return (1.0 - b * b - 4.0 * b * b * math.log(b) ** 2 / (1.0 - b * b)) / (16.0 * math.pi)


def annulus_shear(outer_mm: float, inner_mm: float, wall_mm: float, shear_modulus_mpa: float) -> float:
    """Deflection by shear [mm/N] between the edges of an annular plate: ln(a/b)/(2π (5/6) G h). Source: derived."""
    return math.log(outer_mm / inner_mm) / (2.0 * math.pi * 5.0 / 6.0 * shear_modulus_mpa * wall_mm)


def clamped_patch_plate(
    outer_mm: float, patch_mm: float, wall_mm: float, modulus_mpa: float, poisson: float, force_n: float
) -> tuple[float, float, float]:
    """Clamped solid plate, force spread evenly over a central patch: centre deflection, centre and edge moment.

    W[4a² − 4c² ln(a/c) − 3c²]/(64πD), W(1+ν)[4 ln(a/c) + c²/a²]/(16π), −W[2 − c²/a²]/(8π); moments in N·mm/mm, the
    centre's positive. Source: Timoshenko and Woinowsky-Krieger, Theory of Plates and Shells, chapter 3 (remembered);
    derived.
    """
    a, c = outer_mm, patch_mm
    stiffness = plate_stiffness(modulus_mpa, wall_mm, poisson)
    ratio = (c / a) ** 2
    return (
        force_n * (4 * a * a - 4 * c * c * math.log(a / c) - 3 * c * c) / (64 * math.pi * stiffness),
        force_n * (1 + poisson) * (4 * math.log(a / c) + ratio) / (16 * math.pi),
        -force_n * (2 - ratio) / (8 * math.pi),
    )


def supported_plate(
    outer_mm: float, wall_mm: float, modulus_mpa: float, poisson: float, pressure_mpa: float
) -> tuple[float, float]:
    """Simply supported solid plate under even pressure: centre deflection and moment.

    q a⁴(5 + ν)/(64 D(1 + ν)), (3 + ν) q a²/16. Source: any handbook (remembered).
    """
    stiffness = plate_stiffness(modulus_mpa, wall_mm, poisson)
    deflection = pressure_mpa * outer_mm**4 * (5 + poisson) / (64 * stiffness * (1 + poisson))
    return deflection, (3 + poisson) * pressure_mpa * outer_mm**2 / 16


def bent_annulus(
    outer_mm: float, inner_mm: float, wall_mm: float, modulus_mpa: float, poisson: float
) -> tuple[float, float]:
    """Annular plate, inner edge clamped, outer edge warped by w0 cos 2φ: edge load and inner moment per unit w0.

    w = (A r² + B r⁴ + C r⁻² + F) cos 2φ with w = w,r = 0 at r_i, w = w0 and M_r = 0 at a. Returns the effective shear
    V = Q_r + ∂M_rφ/(r ∂φ) at a [N/mm per mm, along w] and M_r at r_i [N·mm/mm per mm], both amplitudes.
    Source: derived from D∇⁴w = 0 for k = 2.
    """
    powers = np.array([2.0, 4.0, -2.0, 0.0])
    stiffness = plate_stiffness(modulus_mpa, wall_mm, poisson)

    def deflection(r: float) -> Array:
        return r**powers

    def slope(r: float) -> Array:
        return powers * r ** (powers - 1.0)

    def moment(r: float) -> Array:
        second = powers * (powers - 1.0) * r ** (powers - 2.0)
        around = powers * r ** (powers - 2.0) - 4.0 * r ** (powers - 2.0)
        return -stiffness * (second + poisson * around)

    def shear(r: float) -> Array:
        # r^p cos 2φ: ∇²w = (p² − 4) r^(p−2) cos 2φ, Q_r = −D ∂(∇²w)/∂r, M_rφ = −D(1 − ν) ∂/∂r(∂w/(r ∂φ))
        laplace = -stiffness * (powers**2 - 4.0) * (powers - 2.0) * r ** (powers - 3.0)
        twist = 4.0 * stiffness * (1.0 - poisson) * (powers - 1.0) * r ** (powers - 3.0)
        return laplace + twist

    system = np.array([deflection(inner_mm), slope(inner_mm), deflection(outer_mm), moment(outer_mm)])
    terms = np.linalg.solve(system, np.array([0.0, 0.0, 1.0, 0.0]))
    return float(shear(outer_mm) @ terms), float(moment(inner_mm) @ terms)


def stretched_annulus(
    outer_mm: float, inner_mm: float, modulus_mpa: float, poisson: float
) -> tuple[float, float, Array]:
    """Annulus in its plane, inner edge held, outer edge pulled by σ_r = cos 2φ [MPa]; plane stress, exact.

    Returns radial (cos) and tangential (sin) displacement amplitudes of the outer edge [mm] and the stresses (σ_r, σ_φ,
    τ_rφ) at the inner edge. Source: Michell's stress function (A r² + B r⁴ + C r⁻² + F) cos 2φ; derived.
    """
    e, nu = modulus_mpa, poisson

    def displacement(r: float) -> Array:
        radial = [-2 * (1 + nu) * r, -4 * nu * r**3, 2 * (1 + nu) / r**3, 4 / r]
        around = [2 * (1 + nu) * r, 2 * (3 + nu) * r**3, 2 * (1 + nu) / r**3, -2 * (1 - nu) / r]
        return np.array([radial, around]) / e

    def stress(r: float) -> Array:
        return np.array(
            [
                [-2.0, 0.0, -6 / r**4, -4 / r**2],
                [2.0, 12 * r**2, 6 / r**4, 0.0],
                [2.0, 6 * r**2, -6 / r**4, -2 / r**2],
            ]
        )

    at_edge = stress(outer_mm)
    system = np.vstack([displacement(inner_mm), at_edge[[0, 2]]])
    # scaled columns, because r⁴ and r⁻² are far apart
    scale = np.abs(system).max(axis=0)
    terms = np.linalg.solve(system / scale, np.array([0.0, 0.0, 1.0, 0.0])) / scale
    radial, around = displacement(outer_mm) @ terms
    return float(radial), float(around), stress(inner_mm) @ terms


def ring_stiffness(radius_mm: float, stiffness_nmm2: float, order: int) -> float:
    """Radial line load per deflection of a free thin ring, k ≥ 2: EI(k² − 1)²/R⁴ [N/mm²].

    Inextensible, free of tangential load. Source: derived; textbook form remembered.
    """
    return stiffness_nmm2 * (order**2 - 1) ** 2 / radius_mm**4


def tube_cantilever(radius_mm: float, wall_mm: float, length_mm: float, modulus_mpa: float, poisson: float) -> float:
    """End deflection per transverse end force [mm/N] of a thin tube as a beam: L³/(3EI) + L/(G A/2).

    I = πR³h(1 + h²/(4R²)), A = 2πRh; shear flow V sin φ/(πR) stores the energy of half the area. Source: derived.
    """
    area = 2.0 * math.pi * radius_mm * wall_mm
    second = math.pi * radius_mm**3 * wall_mm * (1.0 + 0.25 * (wall_mm / radius_mm) ** 2)
    shear = modulus_mpa / (2.0 * (1.0 + poisson))
    return length_mm**3 / (3.0 * modulus_mpa * second) + 2.0 * length_mm / (shear * area)
