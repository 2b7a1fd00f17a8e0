"""Closed forms for rings and slender beams, to check solvers against. Imports nothing of this package.

Common assumptions unless a docstring says otherwise: plane, thin ring (straight-beam bending, no curvature correction),
linear elastic, small displacements, inextensible and shear-rigid, stress-free as a circle of radius R.
Common symbols: R radius of the neutral line [mm], EI bending stiffness [N·mm²], P or W one force [N], M moment
[N·mm], w radial displacement, outward positive [mm]. **M is positive where the ring is bent sharper**; forces are
outward, so an inward load changes every sign. Angles are counted from a load (or the major axis), in rad.
"""

import math
from collections.abc import Callable
from itertools import pairwise
from typing import NamedTuple

import numpy as np

PAIR_FORCE_FACTOR = 1.0 / (math.pi / 8.0 - 1.0 / math.pi)
"""P R³/(EI w0) of two opposite narrow rollers, 13.4428."""


class LoadedShape(NamedTuple):
    """Answers for a ring under equal radial loads; moments [N·mm] and outward displacements [mm], at a load and midway
    between two."""

    moment_at_load_nmm: float
    moment_midway_nmm: float
    deflection_at_load_mm: float
    deflection_midway_mm: float


def two_loads_diameter_change(force_n: float, radius_mm: float, stiffness_nmm2: float) -> tuple[float, float]:
    """Changes [mm] of the loaded and of the free diameter of a ring pulled by two opposite outward forces.

    (π/4 − 2/π) P R³/EI = 0.14878 and −(2/π − 1/2) P R³/EI = −0.13662.
    Source: Timoshenko, Strength of Materials, ring under two opposite forces (remembered); derived again by series.

    >>> loaded, free = two_loads_diameter_change(1.0, 1.0, 1.0)
    >>> round(loaded, 5), round(free, 5)
    (0.14878, -0.13662)
    """
    unit = force_n * radius_mm**3 / stiffness_nmm2
    return (math.pi / 4.0 - 2.0 / math.pi) * unit, -(2.0 / math.pi - 0.5) * unit


def two_loads_moment(force_n: float, radius_mm: float, angle_rad: float) -> float:
    """Moment [N·mm] of a ring pulled by two opposite outward forces: M = P R (1/π − |sin φ|/2), φ from a force.

    Source: Roark, Formulas for Stress and Strain, circular ring case 1, thin-ring terms (remembered); derived.
    """
    return force_n * radius_mm * (1.0 / math.pi - 0.5 * abs(math.sin(angle_rad)))


def equal_loads(loads: int, force_n: float, radius_mm: float, stiffness_nmm2: float) -> LoadedShape:
    """Ring under n ≥ 2 equal, evenly spaced outward loads W. With θ = π/n, s = sin θ, c = cos θ:

    M_load = WR/2 (1/θ − c/s), M_mid = −WR/2 (1/s − 1/θ), w_load = WR³/(2EI) [(θ + s c)/(2s²) − 1/θ],
    w_mid = −WR³/(2EI) [1/θ − 1/(2s) − θ c/(2s²)].
    Source: Roark, Formulas for Stress and Strain, ring under n equal radial loads (remembered); derived.
    """
    theta = math.pi / loads
    s, c = math.sin(theta), math.cos(theta)
    arm, unit = 0.5 * force_n * radius_mm, 0.5 * force_n * radius_mm**3 / stiffness_nmm2
    return LoadedShape(
        arm * (1.0 / theta - c / s),
        arm * (1.0 / theta - 1.0 / s),
        unit * ((theta + s * c) / (2.0 * s * s) - 1.0 / theta),
        -unit * (1.0 / theta - 1.0 / (2.0 * s) - theta * c / (2.0 * s * s)),
    )


def equal_loads_moment(loads: int, force_n: float, radius_mm: float, angle_rad: float) -> float:
    """Moment [N·mm] at an angle φ from one of n equal outward loads: M = WR/2 [1/θ − cos(θ − φ)/sin θ], 0 ≤ φ ≤ 2θ.

    θ = π/n. Source: derived (equilibrium of one bay, ends that do not turn); ends are the handbook's M_load and M_mid.
    """
    theta = math.pi / loads
    phase = math.fmod(math.fmod(angle_rad, 2.0 * theta) + 2.0 * theta, 2.0 * theta)
    return 0.5 * force_n * radius_mm * (1.0 / theta - math.cos(theta - phase) / math.sin(theta))


def chord_loads_moment(force_n: float, radius_mm: float, load_angle_rad: float, angle_rad: float) -> float:
    """Moment [N·mm] of a ring pulled apart along one chord by two opposite forces W, at ±θ from the point A.

    The chord is square to the radius of A; φ is counted from A. With u = cos φ, c = cos θ, s = sin θ:
    M = M_A − N_A R (1 − u) − W R (c − u)⟨φ > θ⟩, M_A = −(WR/π)[(π − θ)(1 − c) − s(1 − c)], N_A = −(W/π)(π − θ + s c).
    Source: Roark, Formulas for Stress and Strain, circular ring case 2, thin-ring terms (form read in a copy whose
    edition was not noted: remembered); there loads are inward and M positive flattens, which is the same number.
    """
    theta, s, c = load_angle_rad, math.sin(load_angle_rad), math.cos(load_angle_rad)
    phase = abs(math.remainder(angle_rad, 2.0 * math.pi))
    u = math.cos(phase)
    unit = force_n * radius_mm
    at_a = -(unit / math.pi) * ((math.pi - theta) * (1.0 - c) - s * (1.0 - c))
    normal = -(force_n / math.pi) * (math.pi - theta + s * c)
    beyond = -unit * (c - u) if phase > theta else 0.0
    return at_a - normal * radius_mm * (1.0 - u) + beyond


def paired_rollers_moment(force_n: float, radius_mm: float, pair_angle_rad: float, angle_rad: float) -> float:
    """Moment [N·mm] under four outward radial forces P at ±β and π ± β; φ from the major axis.

    Superposition of four chord cases: P cos β along the chords at 90° ± β from the minor axis and P sin β along the
    chords at β and 180° − β from the major axis. Source: derived from `chord_loads_moment`.
    """
    along, across = force_n * math.cos(pair_angle_rad), force_n * math.sin(pair_angle_rad)
    from_minor = angle_rad - 0.5 * math.pi
    return (
        chord_loads_moment(along, radius_mm, 0.5 * math.pi - pair_angle_rad, from_minor)
        + chord_loads_moment(along, radius_mm, 0.5 * math.pi + pair_angle_rad, from_minor)
        + chord_loads_moment(across, radius_mm, pair_angle_rad, angle_rad)
        + chord_loads_moment(across, radius_mm, math.pi - pair_angle_rad, angle_rad)
    )


def paired_rollers_deflection(
    force_n: float, radius_mm: float, stiffness_nmm2: float, pair_angle_rad: float
) -> tuple[float, float]:
    """Outward displacements [mm] at a roller and on the major axis under four outward radial forces at ±β, π ± β.

    Virtual work: w_roller = R ∮ M² dφ/(4 P EI), w_major = R ∮ M m dφ/(2 EI) with m the moment of a unit pair on the
    major axis. The quadrature is exact to rounding (Gauss points between the kinks). w_major passes through zero near
    β = 43.89°: no force then gives a deflection on the axis. Source: derived.
    """
    kinks = (0.0, pair_angle_rad, 0.5 * math.pi)

    def moment(phi: float) -> float:
        return paired_rollers_moment(force_n, radius_mm, pair_angle_rad, phi)

    own = 4.0 * _piecewise(lambda phi: moment(phi) ** 2, kinks)
    axis = 4.0 * _piecewise(lambda phi: moment(phi) * two_loads_moment(1.0, radius_mm, phi), kinks)
    share = radius_mm / stiffness_nmm2
    return share * own / (4.0 * force_n), share * axis / 2.0


def harmonic_deflection(line_load_n_per_mm: float, order: int, radius_mm: float, stiffness_nmm2: float) -> float:
    """Amplitude [mm] of w under the radial line load q cos nφ [N/mm], n ≥ 2: w_n = q_n R⁴/(EI (n² − 1)²).

    Source: derived from the inextensible ring equation; textbook form remembered.
    """
    return line_load_n_per_mm * radius_mm**4 / (stiffness_nmm2 * (order**2 - 1) ** 2)


def cosine_line_load(deflection_mm: float, lobes: int, radius_mm: float, stiffness_nmm2: float) -> float:
    """Amplitude [N/mm] of the line load that holds w = w0 cos nφ: (n² − 1)² EI w0/R⁴, 9 EI w0/R⁴ for two lobes.

    It acts as q cos nφ, inward near the minor axis: a generator that only pushes cannot give it to a loose ring.
    Source: derived.
    """
    return (lobes**2 - 1) ** 2 * stiffness_nmm2 * deflection_mm / radius_mm**4


def cosine_moment(deflection_mm: float, lobes: int, radius_mm: float, stiffness_nmm2: float) -> float:
    """Amplitude [N·mm] of the moment of w = w0 cos nφ: M = EI Δκ = (n² − 1) EI w0/R². Source: derived."""
    return (lobes**2 - 1) * stiffness_nmm2 * deflection_mm / radius_mm**2


def roller_pair(deflection_mm: float, radius_mm: float, stiffness_nmm2: float) -> tuple[float, float, float, float]:
    """Two opposite narrow rollers: force [N], moment at a roller and at 90° [N·mm], w at 90° [mm].

    13.4428 EI w0/R³, 4.27898 and −2.44243 EI w0/R², −0.91828 w0. Source: derived from `two_loads_diameter_change`.

    >>> tuple(round(v, 5) for v in roller_pair(1.0, 1.0, 1.0))
    (13.44281, 4.27898, -2.44243, -0.91828)
    """
    force = PAIR_FORCE_FACTOR * stiffness_nmm2 * deflection_mm / radius_mm**3
    minor = -PAIR_FORCE_FACTOR * (1.0 / math.pi - 0.25) * deflection_mm
    return (
        force,
        two_loads_moment(force, radius_mm, 0.0),
        two_loads_moment(force, radius_mm, 0.5 * math.pi),
        minor,
    )


def pressure_ring(line_load_n_per_mm: float, radius_mm: float, axial_stiffness_n: float) -> tuple[float, float]:
    """Hoop tension N = q R [N] and growth of the radius q R²/EA [mm] under a uniform outward line load q.

    Small strain: q acts on the undeformed circle. Source: any handbook (remembered); derived.
    """
    return line_load_n_per_mm * radius_mm, line_load_n_per_mm * radius_mm**2 / axial_stiffness_n


def ellipse_perimeter(semi_major: float, semi_minor: float) -> float:
    """Perimeter of an ellipse by the arithmetic–geometric mean, to rounding; the unit is that of the semi-axes.

    Source: Gauss's iteration for the complete elliptic integral E, textbook (remembered); derived check: circle 2πr.
    """
    a, b = semi_major, semi_minor
    weight, total = 1.0, 0.5 * (a * a + b * b)
    while abs(a - b) > 1e-12 * semi_major:
        a, b, c = 0.5 * (a + b), math.sqrt(a * b), 0.5 * (a - b)
        total -= weight * c * c
        weight *= 2.0
    return 4.0 * math.pi * total / (a + b)


def ellipse_semi_minor(radius_mm: float, deflection_mm: float) -> float:
    """Semi-minor axis [mm] of the ellipse with semi-major axis R + w0 and the length 2πR of the circle.

    (R − b)/w0 ≈ 1 + w0/(2R). Source: derived (bisection on `ellipse_perimeter`).

    >>> round(ellipse_semi_minor(30.0, 0.375), 6), round(ellipse_semi_minor(20.0, 1.0), 6)
    (29.622641, 18.974334)
    """
    major, target = radius_mm + deflection_mm, 2.0 * math.pi * radius_mm
    return _root(
        lambda b: ellipse_perimeter(major, b) - target,
        radius_mm - 2.0 * deflection_mm,
        radius_mm,
    )


def rolled_cantilever(length_mm: float, curvature_per_mm: float) -> tuple[float, float, float]:
    """End (x, y) [mm] and turn [rad] of a clamped line of constant curvature κ that starts along x.

    x = sin(κL)/κ, y = (1 − cos κL)/κ; a straight beam rolls to a circle under M = 2π EI/L. Any deflection.
    Source: derived.
    """
    turn = curvature_per_mm * length_mm
    if turn == 0.0:
        return length_mm, 0.0, 0.0
    return math.sin(turn) / curvature_per_mm, (1.0 - math.cos(turn)) / curvature_per_mm, turn


def end_loaded_cantilever(force_n: float, length_mm: float, stiffness_nmm2: float) -> tuple[float, float, float]:
    """Deflection, shortening [mm] and turn [rad] at the end of a straight cantilever under a dead force square to it.

    Inextensible, any deflection, elliptic integrals: with α² = P L²/EI and k² = (1 + sin θ_L)/2, sin φ₁ = 1/(k√2):
    α = K(k) − F(φ₁, k), δ/L = 1 − (2/α)(E(k) − E(φ₁, k)), 1 − shortening/L = √(2 sin θ_L)/α.
    Source: Bisshopp and Drucker, Large deflection of cantilever beams, Quarterly of Applied Mathematics 3 (1945)
    272–275 (remembered); table by Mattiasson, Int. J. Numerical Methods in Engineering 17 (1981) 145–153 (read_second).
    """
    alpha = math.sqrt(force_n * length_mm**2 / stiffness_nmm2)

    def start(turn: float) -> tuple[float, float]:
        k2 = 0.5 * (1.0 + math.sin(turn))
        return k2, math.asin(min(1.0, math.sqrt(0.5 / k2)))

    def reach(turn: float) -> float:
        k2, first = start(turn)
        return _piecewise(lambda f: 1.0 / math.sqrt(1.0 - k2 * math.sin(f) ** 2), (first, 0.5 * math.pi), 8)

    turn = _root(lambda t: reach(t) - alpha, 1e-12, 0.5 * math.pi - 1e-9)
    k2, first = start(turn)
    second = _piecewise(lambda f: math.sqrt(1.0 - k2 * math.sin(f) ** 2), (first, 0.5 * math.pi), 8)
    return (
        length_mm * (1.0 - 2.0 / alpha * second),
        length_mm * (1.0 - math.sqrt(2.0 * math.sin(turn)) / alpha),
        turn,
    )


def _piecewise(f: Callable[[float], float], kinks: tuple[float, ...], parts: int = 1) -> float:
    """Integral of f over the kinks' intervals, each cut into parts with 20 Gauss points."""
    nodes, weights = np.polynomial.legendre.leggauss(20)
    total = 0.0
    for low, high in pairwise(kinks):
        edges = np.linspace(low, high, parts + 1)
        for a, b in pairwise(edges):
            half, middle = 0.5 * (b - a), 0.5 * (a + b)
            total += half * sum(w * f(middle + half * n) for n, w in zip(nodes, weights, strict=True))
    return float(total)


def _root(f: Callable[[float], float], low: float, high: float) -> float:
    """Root of f between low and high, where it changes sign, by halving down to rounding."""
    rising = f(high) > 0.0
    for _ in range(120):
        middle = 0.5 * (low + high)
        if middle in (low, high):
            break
        if (f(middle) > 0.0) == rising:
            high = middle
        else:
            low = middle
    return 0.5 * (low + high)
