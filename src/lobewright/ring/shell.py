"""The cup as a shell of revolution: what its rim feels, and what the whole cup does under given loads.

Places on the rim are counted from the open edge. Displacements: radial outward, tangential anticlockwise seen from the
open edge, axial toward the open edge, turn = d(radial)/d(axial). Harmonic k of the even family: radial, axial and turn
go as cos kφ, tangential as sin kφ; of the odd family: sin kφ and −cos kφ. So torsion is the odd family of harmonic 0, a
line load t anticlockwise being the amplitude −t. Loads are line loads along the circle of the middle of the rim's wall:
N/mm, and N·mm/mm for the turn.

Assumptions: linear elastic, small displacements, round when free, boss rigid and held. See docs/theory/cup_shell.md.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import IntEnum

import numpy as np

from lobewright.errors import ConvergenceFault, DesignFault, Fault
from lobewright.ring.shell_cup import CupGeometry, check_in_rim, cup_geometry, cup_segments
from lobewright.ring.shell_element import DOFS
from lobewright.ring.shell_mesh import Array, BandFactors
from lobewright.ring.shell_model import CupMaterial, ShellModel, band_load, build_model, solve_held
from lobewright.ring.shell_report import (
    Coning,
    CriticalPoint,
    CupResponse,
    coning,
    critical_points,
    displacement,
    peak_stress_mpa,
    surface_stress,
)
from lobewright.ring.shell_stress import Recovered, recover

__all__ = [
    "BandFactors",
    "Coning",
    "CriticalPoint",
    "CupGeometry",
    "CupMaterial",
    "CupResponse",
    "Rim",
    "RimLoad",
    "RimStiffness",
    "RollerResponse",
    "coning",
    "critical_points",
    "cup_geometry",
    "displacement",
    "hold",
    "hold_driven",
    "hold_on_rollers",
    "peak_stress_mpa",
    "respond",
    "rim_stiffness",
    "roller_load",
    "surface_stress",
    "torque_load",
    "torsional_stiffness",
]

LEAST_HARMONIC = 24
"""Rollers are resolved at least up to this harmonic."""
MOST_HARMONIC = 768
SETTLED = 0.01
"""A peak stress has settled when twice the harmonics change it by less than this share."""
DECAYS_PER_ELEMENT = 2.0
"""Length of the elements beside a load over the decay length R/k of the highest harmonic."""


class Rim(IntEnum):
    """Rows of the stiffness of a rim section."""

    RADIAL = 0
    TANGENTIAL = 1
    AXIAL = 2
    TURN = 3


@dataclass(frozen=True)
class RimStiffness:
    """Line load amplitudes for unit displacement amplitudes of the middle of the rim's wall at one place.

    ``matrix`` (H, 4, 4), rows as `Rim`: N/mm per mm, turn rows per rad and N·mm/mm. Symmetric, positive definite, the
    same for both families; what is not prescribed is free. ``compliance`` (H, 4, 4) is its inverse.
    """

    place_from_edge_mm: float
    spread_mm: float
    radius_mm: float
    harmonics: Array
    matrix: Array
    compliance: Array


@dataclass(frozen=True)
class RimLoad:
    """Line load amplitudes on the rim: ``even``, ``odd`` (H, 4), columns as `Rim`, for ``harmonics`` (H,).

    It acts evenly over ``spread_mm`` along the axis about the place; 0 is a single circle.
    """

    place_from_edge_mm: float
    harmonics: Array
    even: Array
    odd: Array
    spread_mm: float = 0.0


@dataclass(frozen=True)
class RollerResponse:
    """A cup on equal rollers: ``force_n`` on each, the ``load`` it stands for and the ``response`` of the cup.

    ``peak_change`` is the relative change of the highest stress when the harmonics were last doubled.
    """

    force_n: float
    load: RimLoad
    response: CupResponse
    peak_change: float


def rim_stiffness(
    cup: CupGeometry,
    material: CupMaterial,
    harmonics: Sequence[int],
    place_from_edge_mm: float,
    spread_mm: float = 0.0,
    refine: float = 1.0,
) -> RimStiffness:
    """Stiffness of the cup at a section (or band) of the rim, per harmonic.

    With a spread the displacements are means over the band. Raises DesignFault for a place off the rim.
    """
    orders = _orders(harmonics)
    model, bands = _loaded_model(cup, material, ((place_from_edge_mm, spread_mm),), math.inf, refine)
    load = np.repeat(cup.rim_radius_mm * bands[0][None], len(orders), axis=0)
    x = solve_held(model, orders, _boss(model), None, load)
    rows = np.flatnonzero(bands[0].any(axis=1))
    compliance = bands[0][rows].T @ x[:, rows]
    compliance = 0.5 * (compliance + compliance.transpose(0, 2, 1))
    return RimStiffness(place_from_edge_mm, spread_mm, cup.rim_radius_mm, orders, np.linalg.inv(compliance), compliance)


def torsional_stiffness(cup: CupGeometry, material: CupMaterial, place_from_edge_mm: float) -> float:
    """Torque on the rim per turn of it against the boss [N·mm/rad]."""
    rim = rim_stiffness(cup, material, (0,), place_from_edge_mm)
    return float(2.0 * math.pi * rim.radius_mm**3 / rim.compliance[0, Rim.TANGENTIAL, Rim.TANGENTIAL])


def torque_load(cup: CupGeometry, place_from_edge_mm: float, torque_nmm: float, spread_mm: float = 0.0) -> RimLoad:
    """A torque on the rim, anticlockwise seen from the open edge, spread evenly around it."""
    odd = np.zeros((1, 4))
    odd[0, Rim.TANGENTIAL] = -torque_nmm / (2.0 * math.pi * cup.rim_radius_mm**2)
    return RimLoad(place_from_edge_mm, np.array([0]), np.zeros((1, 4)), odd, spread_mm)


def respond(cup: CupGeometry, material: CupMaterial, loads: Sequence[RimLoad], refine: float = 1.0) -> CupResponse:
    """Displacements, section forces and stresses of the cup under loads on its rim.

    Loads may act at several places and hold different harmonics. Raises DesignFault for a load off the rim.
    """
    orders = np.unique(np.concatenate([_orders(load.harmonics) for load in loads]))
    places = tuple((load.place_from_edge_mm, load.spread_mm) for load in loads)
    model, bands = _loaded_model(cup, material, places, _finest(cup, orders), refine)
    rhs = np.zeros((len(orders), model.meridian.unknowns, 2))
    for load, band in zip(loads, bands, strict=True):
        rows = np.searchsorted(orders, load.harmonics)
        for family, amplitude in enumerate((load.even, load.odd)):
            np.add.at(rhs[:, :, family], rows, cup.rim_radius_mm * amplitude @ band.T)
    x = solve_held(model, orders, _boss(model), None, rhs)
    return _response(cup, model, orders, np.moveaxis(x, 2, 0))


def hold(
    cup: CupGeometry,
    material: CupMaterial,
    harmonics: Sequence[int],
    radial_even_mm: Array,
    place_from_edge_mm: float,
    radial_odd_mm: Array | None = None,
    spread_mm: float = 0.0,
) -> tuple[CupResponse, RimLoad]:
    """The cup with its radial deflection prescribed at a place of the rim, as a tight smooth cam does.

    radial_even_mm, radial_odd_mm (H,): amplitudes, means over the band. Tangential, axial and turning motion is free.
    Returns the response and the generator's reaction (radial line load amplitudes). A negative pressure anywhere means
    that a real generator would be left there; that is not followed here.
    """
    orders = _orders(harmonics)
    wanted = np.zeros((2, len(orders)))
    wanted[0] = radial_even_mm
    if radial_odd_mm is not None:
        wanted[1] = radial_odd_mm
    model, bands = _loaded_model(cup, material, ((place_from_edge_mm, spread_mm),), _finest(cup, orders), 1.0)
    x, own = _radial_unit(cup, model, bands[0], orders)
    line_load = wanted / own
    amplitude = np.zeros((2, len(orders), 4))
    amplitude[:, :, Rim.RADIAL] = line_load
    reaction = RimLoad(place_from_edge_mm, orders, amplitude[0], amplitude[1], spread_mm)
    return _response(cup, model, orders, line_load[:, :, None] * x), reaction


def hold_driven(
    cup: CupGeometry,
    material: CupMaterial,
    harmonics: Sequence[int] | Array,
    radial_mm: Array,
    tangential_n_per_mm: Array,
    place_from_edge_mm: float,
    spread_mm: float = 0.0,
) -> tuple[CupResponse, ...]:
    """The cup under a generator and teeth: radial deflection prescribed and tangential line load given, state by state.

    radial_mm, tangential_n_per_mm (K, 2, H): amplitudes of K states, even and odd family, the deflection as a mean over the
    band about the place, the load spread evenly over it. Tangential, axial and turning motion is free, so that the rim
    stretches only as its loads stretch it: a deflection prescribed in both directions would stretch it by what large turns
    shorten. A torque is the odd tangential amplitude of harmonic 0 (see `torque_load`). Raises DesignFault as `respond`.
    """
    orders = _orders(harmonics)
    model, bands = _loaded_model(cup, material, ((place_from_edge_mm, spread_mm),), _finest(cup, orders), 1.0)
    band = bands[0][:, : Rim.AXIAL]
    load = np.repeat(cup.rim_radius_mm * band[None], len(orders), axis=0)
    unit = solve_held(model, orders, _boss(model), None, load)
    moved = np.einsum("nd,hnc->hdc", band, unit)
    radial = (radial_mm - moved[:, Rim.RADIAL, Rim.TANGENTIAL] * tangential_n_per_mm) / moved[:, Rim.RADIAL, Rim.RADIAL]
    # fields are linear in the two line loads
    alone = _response(cup, model, orders, np.moveaxis(unit, 2, 0))
    return tuple(
        replace(alone, fields=_combined(alone.fields, np.stack((out, around), axis=1)))
        for out, around in zip(radial, np.asarray(tangential_n_per_mm), strict=True)
    )


def _combined(unit: Recovered, amount: Array) -> Recovered:
    """Fields of both families (2, H, …) from those of unit loads and their amounts (2, loads, H)."""
    parts = (unit.displacement_mm, unit.resultant, unit.stress_mpa)
    return Recovered(*(np.einsum("flh,lh...->fh...", amount, part) for part in parts))


def roller_load(
    cup: CupGeometry,
    place_from_edge_mm: float,
    force_n: float,
    lobes: int,
    half_width_mm: float,
    highest: int,
    pair_half_angle_rad: float = 0.0,
    spread_mm: float = 0.0,
) -> RimLoad:
    """Equal outward forces of rollers, one a lobe or two at ± the pair's half angle, a lobe at φ = 0.

    Each force is spread evenly over ± half_width_mm around the rim. Harmonics are the multiples of `lobes` up to
    `highest`. Raises DesignFault for a contact without width: its stress would grow with every harmonic.
    """
    if not half_width_mm > 0.0:
        found = f"{half_width_mm:g} mm"
        raise DesignFault([Fault("a roller's contact needs a width", "half_width_mm", 0, found, "above 0 mm")])
    orders = np.arange(0, highest + 1, lobes)
    even = np.zeros((len(orders), 4))
    even[:, Rim.RADIAL] = force_n * _roller_weights(cup, orders, lobes, half_width_mm, pair_half_angle_rad)
    return RimLoad(place_from_edge_mm, orders, even, np.zeros_like(even), spread_mm)


def hold_on_rollers(
    cup: CupGeometry,
    material: CupMaterial,
    place_from_edge_mm: float,
    deflection_mm: float,
    lobes: int,
    half_width_mm: float,
    pair_half_angle_rad: float = 0.0,
    spread_mm: float = 0.0,
) -> RollerResponse:
    """The cup pushed out by `deflection_mm` at each roller (mean over the contact), see `roller_load`.

    Harmonics are doubled, from 24 on, until the highest equivalent stress changes by less than 1 %. Its tail falls
    about as the inverse of their number, so the last change is also what may still be missing.
    Raises ConvergenceFault when 768 harmonics are not enough: the contact is then too narrow for a shell.
    """
    highest, before, last = LEAST_HARMONIC, 0.0, None
    while highest <= MOST_HARMONIC:
        unit = roller_load(cup, place_from_edge_mm, 1.0, lobes, half_width_mm, highest, pair_half_angle_rad, spread_mm)
        weights = unit.even[:, Rim.RADIAL]
        place = ((place_from_edge_mm, spread_mm),)
        model, bands = _loaded_model(cup, material, place, _finest(cup, unit.harmonics), 1.0)
        x, own = _radial_unit(cup, model, bands[0], unit.harmonics)
        # work of a unit force on every roller = 2πR Σ q_k w_k /2 (k = 0: 2πR q w)
        counted = np.where(unit.harmonics == 0, 2.0, 1.0) * math.pi * cup.rim_radius_mm
        rollers = lobes * (1 if pair_half_angle_rad == 0.0 else 2)
        force = deflection_mm * rollers / float(counted @ (weights**2 * own))
        load = RimLoad(place_from_edge_mm, unit.harmonics, force * unit.even, unit.odd, spread_mm)
        both = np.stack([(force * weights)[:, None] * x, np.zeros_like(x)])
        response = _response(cup, model, unit.harmonics, both)
        peak = peak_stress_mpa(response)
        last = RollerResponse(force, load, response, abs(peak - before) / peak)
        if last.peak_change < SETTLED:
            return last
        before, highest = peak, 2 * highest
    found, allowed = f"{half_width_mm:g} mm", f"a wider contact, or {MOST_HARMONIC} harmonics would have to do"
    raise ConvergenceFault(
        [Fault("the stress under a roller does not settle", "half_width_mm", 0, found, allowed)], last
    )


def _roller_weights(
    cup: CupGeometry, orders: Array, lobes: int, half_width_mm: float, pair_half_angle_rad: float
) -> Array:
    """Radial line load amplitudes [N/mm] of a unit force on every roller."""
    width = np.sinc(orders * half_width_mm / (cup.rim_radius_mm * math.pi))
    pair = 1.0 if pair_half_angle_rad == 0.0 else 2.0 * np.cos(orders * pair_half_angle_rad)
    return np.where(orders == 0, 0.5, 1.0) * lobes * pair * width / (math.pi * cup.rim_radius_mm)


def _orders(harmonics: Sequence[int] | Array) -> Array:
    """Harmonics as rising integers (H,); DesignFault for negative, repeated or fractional ones."""
    given = np.asarray(harmonics)
    orders = given.astype(int)
    if given.ndim != 1 or not len(given) or (orders != given).any() or orders[0] < 0 or (np.diff(orders) <= 0).any():
        found = np.array2string(given, threshold=8)
        raise DesignFault([Fault("harmonics are not a rising list", "harmonics", 0, found, "whole numbers from 0 up")])
    return orders


def _finest(cup: CupGeometry, orders: Array) -> float:
    """Element length beside a load that resolves the highest harmonic."""
    return DECAYS_PER_ELEMENT * cup.rim_radius_mm / max(1.0, float(orders.max()))


def _boss(model: ShellModel) -> Array:
    """The clamped unknowns (n,): all five of the first node."""
    held = np.zeros(model.meridian.unknowns, dtype=bool)
    held[:DOFS] = True
    return held


def _loaded_model(
    cup: CupGeometry,
    material: CupMaterial,
    places: tuple[tuple[float, float], ...],
    finest_mm: float,
    refine: float,
) -> tuple[ShellModel, list[Array]]:
    """Model with element ends at the ends of every loaded band (place, spread), and the bands' nodal loads."""
    ends = []
    for place, spread in places:
        low, high = place - 0.5 * spread, place + 0.5 * spread
        check_in_rim(cup, low, high)
        ends.append((low, high))
    marks = tuple(mark for pair in ends for mark in pair)
    model = build_model(cup_segments(cup, marks, finest_mm), material, refine)
    return model, [band_load(model, cup.height_mm(high), cup.height_mm(low)) for low, high in ends]


def _radial_unit(cup: CupGeometry, model: ShellModel, band: Array, orders: Array) -> tuple[Array, Array]:
    """Unknowns (H, n) under a unit radial line load on the band, and its own deflection (H,)."""
    load = np.zeros((len(orders), model.meridian.unknowns, 1))
    load[:, :, 0] = cup.rim_radius_mm * band[:, Rim.RADIAL]
    x = solve_held(model, orders, _boss(model), None, load)
    return x[:, :, 0], x[:, :, 0] @ band[:, Rim.RADIAL]


def _response(cup: CupGeometry, model: ShellModel, orders: Array, x: Array) -> CupResponse:
    """Recover everything along the meridian for unknowns x (2, H, n)."""
    line = model.meridian
    fields: Recovered = recover(model, orders, x)
    per_node = line.degree + 1
    return CupResponse(
        cup,
        model.material,
        orders,
        tuple(line.segments[s].name for s in np.repeat(line.segment, per_node)),
        cup.length_mm - line.place_mm[:, :, 1].ravel(),
        line.place_mm[:, :, 0].ravel(),
        line.arc_mm.ravel(),
        fields,
    )
