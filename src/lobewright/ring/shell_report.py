"""Reading a solved cup: stresses around it, the places where cups break, coning of the rim."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from lobewright.ring.shell_cup import BARREL, CORNER, DIAPHRAGM, RIM, CupGeometry
from lobewright.ring.shell_mesh import Array
from lobewright.ring.shell_model import CupMaterial
from lobewright.ring.shell_stress import HOOP, INSIDE, MERIDIONAL, SHEAR, Recovered, around, von_mises

ANGLES_PER_WAVE = 6
"""Angles at which stresses are read, per wave of the highest harmonic."""
LEAST_ANGLES = 72


@dataclass(frozen=True)
class CupResponse:
    """Amplitudes per harmonic along the meridian, from the boss to the open edge.

    Stations are the nodes of every element, so a node between two elements stands twice (stress may jump at a step of
    the wall). ``segment`` (S,) names, ``from_edge_mm``, ``radius_mm``, ``arc_mm`` (S,): middle of the wall and length
    along the meridian from the boss. ``fields``: even and odd family in its first axis.
    """

    cup: CupGeometry
    material: CupMaterial
    harmonics: Array
    segment: tuple[str, ...]
    from_edge_mm: Array
    radius_mm: Array
    arc_mm: Array
    fields: Recovered


@dataclass(frozen=True)
class CriticalPoint:
    """Highest equivalent stress of a region of the cup and what its point goes through in a turn of the generator.

    ``name``: rim, transition, mid_barrel, corner, diaphragm (its outer half) or boss (the inner half). ``surface``:
    inside or outside. Pairs are (meridional, hoop, shear) [MPa] over all angles at that station: the middle of the
    range and half of it.
    """

    name: str
    from_edge_mm: float
    radius_mm: float
    surface: str
    angle_rad: float
    von_mises_mpa: float
    mean_mpa: tuple[float, float, float]
    alternating_mpa: tuple[float, float, float]


@dataclass(frozen=True)
class Coning:
    """Radial displacement along the cup at one angle against a straight line from the diaphragm.

    ``from_edge_mm``, ``deflection_mm``, ``linear_mm`` (n,) over barrel and rim; the line passes through zero at the
    middle of the diaphragm and through the deflection at the place. ``tilt_rad`` is the slope of the rim there,
    d(radial)/d(axial), ``linear_tilt_rad`` that of the line.
    """

    place_from_edge_mm: float
    from_edge_mm: Array
    deflection_mm: Array
    linear_mm: Array
    tilt_rad: float
    linear_tilt_rad: float


def surface_stress(response: CupResponse, angle_rad: Array) -> Array:
    """Stresses (A, S, 2, 3) [MPa] at angles (A,): inside and outside; meridional, hoop, shear."""
    even, odd = response.fields.stress_mpa
    angles = np.asarray(angle_rad, dtype=float)
    out = around(even, odd, response.harmonics, angles, swapped=False)
    out[..., SHEAR] = around(even[..., SHEAR], odd[..., SHEAR], response.harmonics, angles, swapped=True)
    return out


def displacement(response: CupResponse, angle_rad: Array) -> Array:
    """Displacements (A, S, 5) at angles (A,): radial, tangential, axial [mm], turn, twist [rad]."""
    even, odd = response.fields.displacement_mm
    angles = np.asarray(angle_rad, dtype=float)
    out = around(even, odd, response.harmonics, angles, swapped=False)
    for column in (1, 4):
        out[..., column] = around(even[..., column], odd[..., column], response.harmonics, angles, swapped=True)
    return out


def _angles(response: CupResponse) -> Array:
    """Angles of one period that show every wave."""
    orders = response.harmonics
    period = 2.0 * math.pi / max(1, int(np.gcd.reduce(orders)))
    count = max(LEAST_ANGLES, ANGLES_PER_WAVE * int(orders.max()) // max(1, int(np.gcd.reduce(orders))))
    return period * np.arange(count) / count


def peak_stress_mpa(response: CupResponse) -> float:
    """Highest equivalent stress of the whole cup."""
    return float(von_mises(surface_stress(response, _angles(response))).max())


def _regions(response: CupResponse) -> dict[str, Array]:
    """Stations (indices) of every named region."""
    names, from_edge, cup = np.array(response.segment), response.from_edge_mm, response.cup
    barrel = np.flatnonzero(names == BARREL)
    step = np.abs(from_edge - cup.rim_width_mm) < 1e-9 * cup.length_mm
    middle = 0.5 * (from_edge[barrel].min() + from_edge[barrel].max())
    distance = np.abs(from_edge[barrel] - middle)
    flat = np.flatnonzero(names == DIAPHRAGM)
    radius, half = response.radius_mm[flat], 0.5 * (cup.boss_radius_mm + response.radius_mm[flat].max())
    slack = 1e-9 * half
    return {
        "rim": np.flatnonzero((names == RIM) & ~step),
        "transition": np.flatnonzero(step),
        "mid_barrel": barrel[distance <= distance.min() + 1e-9 * cup.length_mm],
        "corner": np.flatnonzero(names == CORNER),
        "diaphragm": flat[radius > half - slack],
        "boss": flat[radius < half + slack],
    }


def critical_points(response: CupResponse) -> tuple[CriticalPoint, ...]:
    """The worst point of each region (see `CriticalPoint`) over all angles.

    Stresses are those of the plain wall as a shell: roots of teeth, fillets at the step and at the boss are not in it.
    """
    angles = _angles(response)
    stress = surface_stress(response, angles)
    equivalent = von_mises(stress)
    out = []
    for name, stations in _regions(response).items():
        part = equivalent[:, stations]
        turn, index, surface = np.unravel_index(int(part.argmax()), part.shape)
        station = stations[index]
        course = stress[:, station, surface]
        low, high = course.min(axis=0), course.max(axis=0)
        out.append(
            CriticalPoint(
                name,
                float(response.from_edge_mm[station]),
                float(response.radius_mm[station]),
                "inside" if surface == INSIDE else "outside",
                float(angles[turn]),
                float(part.max()),
                _three(0.5 * (low + high)),
                _three(0.5 * (high - low)),
            )
        )
    return tuple(out)


def _three(values: Array) -> tuple[float, float, float]:
    return float(values[MERIDIONAL]), float(values[HOOP]), float(values[SHEAR])


def coning(response: CupResponse, place_from_edge_mm: float, angle_rad: float = 0.0) -> Coning:
    """How the rim leans at an angle (0: the major axis of the even family)."""
    straight = np.isin(np.array(response.segment), (BARREL, RIM))
    moved = displacement(response, np.array([angle_rad]))[0][straight]
    from_edge = response.from_edge_mm[straight]
    reach = response.cup.length_mm - 0.5 * response.cup.diaphragm_mm
    at = int(np.flatnonzero(np.abs(from_edge - place_from_edge_mm) <= np.abs(from_edge - place_from_edge_mm).min())[-1])
    order = np.argsort(from_edge, kind="stable")
    deflection = float(np.interp(place_from_edge_mm, from_edge[order], moved[order, 0]))
    slope = deflection / (reach - place_from_edge_mm)
    return Coning(place_from_edge_mm, from_edge, moved[:, 0], slope * (reach - from_edge), float(moved[at, 3]), slope)
