"""Stress courses of a cup's wall: barrel, step to the rim, corner, diaphragm and boss, while the wave passes under torque.

The rim is pushed out as the loaded ring says and carries the sideways forces of its teeth; the shell of revolution behind
it answers, harmonic by harmonic. Roots of teeth are not in it. Assumptions and limits: docs/theory/cup_stress.md.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.ring.cell import ToothCell
from lobewright.ring.shell import CupGeometry, CupMaterial, CupResponse, cup_geometry, hold_driven, surface_stress
from lobewright.ring.shell_band import band_factors
from lobewright.ring.shell_cup import BARREL, CORNER, DIAPHRAGM
from lobewright.ring.shell_stress import HOOP, INSIDE, MERIDIONAL, OUTSIDE, SHEAR, von_mises
from lobewright.strength.course import CupProfile, StressCourse
from lobewright.strength.items import NotMade
from lobewright.strength.material import Direction
from lobewright.strength.rim_waves import rim_waves
from lobewright.strength.shoulder import shoulder_factor
from lobewright.torque.inputs import DriveInput, LoadInputs
from lobewright.torque.results import LoadShare

Array = NDArray[np.float64]

LABELS = 360
"""Places of the lobe at which the stress is told: 7.5 a wave of the highest harmonic."""
ACROSS_FROM = 1.0 / 3.0
"""Share of a place's stress from which its part across the layers of a print is told as well: prints bear half to two thirds
across their layers of what they bear in them (common practice), and some less."""
MET_BY_BRICKS, AT_STEP, IN_CORNER = 1.05, 1.10, 1.12
"""90 % bands of the shell against solid elements: wall, step, corner and boss (docs/theory/cup_stress.md)."""
NO_FILLET = 2.0
"""An unknown fillet may have half or twice the radius that is assumed."""

WHOLE, ACROSS = np.ones(3), np.array([1.0, 0.0, 1.0])
"""What is kept of meridional, hoop and shear stress."""


@dataclass(frozen=True)
class _Place:
    """A region of the cup: its stations, at one of which (``edge``, None where smooth) a fillet of radius ``radius_mm``
    bears ``factor`` times the bending stress on ``surface`` of a wall of ``wall_mm``, with a band of ``spread``."""

    name: str
    title: str
    stations: NDArray[np.intp]
    spread: float
    words: str
    surface: int = OUTSIDE
    edge: int | None = None
    factor: float = 1.0
    radius_mm: float = math.inf
    wall_mm: float = 0.0


@dataclass(frozen=True)
class _Solved:
    """Cup, its answers at every torque (K,), labels [deg] (L,) and stresses (K, L, S, 2, 3) without notches."""

    cup: CupGeometry
    material: CupMaterial
    first: CupResponse
    torque_nmm: Array
    label_deg: Array
    stress_mpa: Array


def cup_courses(
    drive: DriveInput, inputs: LoadInputs, cells: tuple[ToothCell, ...], shares: tuple[LoadShare, ...]
) -> tuple[StressCourse | NotMade, ...]:
    """Stress courses of a printed or steel cup over the torques of ``shares``; nothing for other flexible rings.

    Each place is the station and surface of its region that is worst over all torques, by the sum of the largest von Mises
    stress and that of the half ranges (twice the amplitude and the mean, as an endurance limit of half the strength weighs
    them). Places: "mid_barrel", "transition", "corner", "diaphragm", "boss"; of a print that stands on its diaphragm also
    "…_across" with the meridional and shear stresses alone, where these are more than a third. ``cells`` as in the stiffnesses
    that the shares were solved with. Raises DesignFault for torques that do not differ.
    """
    ring = drive.design.flexible_ring
    if not isinstance(ring, m.Cup):
        return ()
    solved = _solve(drive, ring, inputs, cells[0], tuple(sorted(shares, key=lambda share: share.torque_nmm)))
    out: list[StressCourse | NotMade] = []
    for place in _places(drive.design, ring, solved):
        if place.name == "corner" and ring.corner_radius_mm == 0.0:
            why = "the inside corner is drawn sharp, and the stress in a sharp corner has no bound: give it a radius"
            out.append(NotMade(place.name, f"Stress in the {place.title}", "ring", why, of_life=True))
            continue
        out += _courses_of(place, solved, _lying(ring, place.name))
    return tuple(out)


def cup_profile(
    drive: DriveInput, inputs: LoadInputs, cells: tuple[ToothCell, ...], share: LoadShare
) -> CupProfile | None:
    """Largest stresses along a cup at one torque, teeth and fillets apart; None for other flexible rings."""
    ring = drive.design.flexible_ring
    if not isinstance(ring, m.Cup):
        return None
    solved = _solve(drive, ring, inputs, cells[0], (share,))
    peak, half = _sizes(solved.stress_mpa[0])
    first = solved.first
    return CupProfile(share.torque_nmm, first.arc_mm, first.from_edge_mm, first.segment, peak, half)


def _solve(drive: DriveInput, ring: m.Cup, inputs: LoadInputs, cell: ToothCell, shares: Sequence[LoadShare]) -> _Solved:
    """The cup driven as the loaded rim of every share is; its modulus is the one behind the inputs' EA."""
    made = drive.design.rigid_ring[0]
    modulus = inputs.axial_stiffness_n[0] / cell.axial_stiffness_n(1.0, max(ring.width_mm, made.width_mm))
    cup = cup_geometry(drive.design, band_factors(cell, drive.rows[0].outline))
    material = CupMaterial(modulus, 0.5 * sum(catalogue.material(ring.material).poisson))
    waves = [rim_waves(share, inputs, cup.rim_radius_mm) for share in shares]
    answers = hold_driven(
        cup,
        material,
        waves[0].harmonics,
        np.stack([wave.radial_mm for wave in waves]),
        np.stack([wave.tangential_n_per_mm for wave in waves]),
        made.offset_mm + 0.5 * made.width_mm,
        made.width_mm,
    )
    torque = np.array([share.torque_nmm for share in shares])
    # a drive at rest is found to rounding
    torque[np.abs(torque) < 1e-6 * np.abs(torque).max(initial=0.0)] = 0.0
    label = -180.0 + 360.0 / LABELS * np.arange(LABELS, dtype=np.float64)
    stress = np.stack([surface_stress(answer, np.radians(label)) for answer in answers])
    _meet(answers[0], stress)
    return _Solved(cup, material, answers[0], torque, label, stress)


def _meet(answer: CupResponse, stress_mpa: Array) -> None:
    """Where two elements of one wall meet both stand at the mean of what they say; stresses (K, L, S, 2, 3) in place."""
    segment = np.array(answer.segment)
    first = np.flatnonzero((np.diff(answer.arc_mm) < 1e-9) & (segment[1:] == segment[:-1]))
    mean = 0.5 * (stress_mpa[:, :, first] + stress_mpa[:, :, first + 1])
    stress_mpa[:, :, first] = stress_mpa[:, :, first + 1] = mean


def _places(design: m.Design, ring: m.Cup, solved: _Solved) -> tuple[_Place, ...]:
    """The regions of a cup: everything but its rim."""
    first, cup = solved.first, solved.cup
    segment, from_edge, radius = np.array(first.segment), first.from_edge_mm, first.radius_mm
    barrel = np.flatnonzero(segment == BARREL)
    top, bottom = float(from_edge[barrel].min()), float(from_edge[barrel].max())
    reach = min(math.sqrt(cup.barrel_radius_mm * cup.barrel_wall_mm), (bottom - top) / 3.0)
    above, below = from_edge[barrel] <= top + reach, from_edge[barrel] >= bottom - reach
    flat = np.flatnonzero(segment == DIAPHRAGM)
    outer = radius[flat] > 0.5 * (cup.boss_radius_mm + float(radius[flat].max()))
    bend = np.concatenate((np.flatnonzero(segment == CORNER), barrel[below & ~above]))
    bricks = "within 3 % of solid elements"
    places = [
        _Place("mid_barrel", "barrel", barrel[~above & ~below], MET_BY_BRICKS, bricks),
        _fillet("transition", "step from rim to barrel", barrel[above], int(barrel[-1]), ring, design, cup),
        _Place("corner", "corner", bend, IN_CORNER, "a shell is coarse in a corner: up to 10 % off solid elements"),
        _Place("diaphragm", "diaphragm", flat[outer], MET_BY_BRICKS, bricks),
        _fillet("boss", "diaphragm at the boss", flat[~outer], int(flat[0]), ring, design, cup),
    ]
    return tuple(places)


def _fillet(
    name: str, title: str, stations: NDArray[np.intp], edge: int, ring: m.Cup, design: m.Design, cup: CupGeometry
) -> _Place:
    """A region that ends in a step of the wall: rim on the outside of the barrel, boss on the inside of the diaphragm."""
    at_boss = name == "boss"
    wall = cup.diaphragm_mm if at_boss else cup.barrel_wall_mm
    # the boss is as good as solid; the rim's teeth end at the step and stiffen it
    step = 2.0 * wall if at_boss else max(cup.rim_wall_mm - cup.barrel_wall_mm, 0.0)
    width = getattr(design.process, "extrusion_width_mm", None) if isinstance(ring, m.PrintedCup) else None
    radius, origin = (0.5 * width, "half an extrusion's width") if width else (0.5 * wall, "half the wall")
    if step == 0.0:
        words = "the barrel is no thinner than the rim, so there is no fillet; the ends of the teeth are not in it"
        return _Place(name, title, stations, AT_STEP, words)
    factor, blunt, sharp = (shoulder_factor(wall, step, by * radius) for by in (1.0, NO_FILLET, 1.0 / NO_FILLET))
    unknown = max(sharp / factor, factor / blunt)
    spread = math.exp(math.hypot(math.log(IN_CORNER if at_boss else AT_STEP), math.log(unknown)))
    words = f"the design names no fillet here: a radius of {radius:.2g} mm is assumed ({origin}), half or twice of it in the band"
    return _Place(name, title, stations, spread, words, INSIDE if at_boss else OUTSIDE, edge, factor, radius, wall)


def _lying(ring: m.Cup, place: str) -> tuple[tuple[str, Direction, Array], ...]:
    """What is told of a place: ending of its name, direction to the layers, and the stresses that are kept."""
    if not isinstance(ring, m.PrintedCup):
        return (("", Direction.IN_LAYERS, WHOLE),)
    if ring.layers is m.Layers.ALONG_AXIS:
        # somewhere round the cup every direction of its wall but the axis crosses the layers
        return (("", Direction.ACROSS_LAYERS, WHOLE),)
    whole = ("", Direction.IN_LAYERS, WHOLE)
    if place in ("diaphragm", "boss"):
        return (whole,)
    return (whole, ("_across", Direction.ACROSS_LAYERS, ACROSS))


def _with_fillet(place: _Place, solved: _Solved) -> Array:
    """Stresses (K, L, stations, 2, 3) of a region, at its fillet those of the fillet's ground."""
    stress = solved.stress_mpa[:, :, place.stations].copy()
    if place.edge is None:
        return stress
    arc, side = solved.first.arc_mm, place.surface
    beside = wall_away(solved.first, place.stations, place.edge, place.wall_mm)
    shear = solved.stress_mpa[:, :, beside, :, SHEAR]
    # within a wall of a step the shear is that of the shell, not of the part
    near = np.abs(arc[place.stations] - arc[place.edge]) < abs(arc[beside] - arc[place.edge])
    stress[..., SHEAR][:, :, near] = shear[:, :, None]
    at = int(np.flatnonzero(place.stations == place.edge)[0])
    smooth = stress[:, :, at, side]
    stress[:, :, at, side] = notched(smooth, shear[:, :, side], place.factor, solved.material.poisson)
    return stress


def _courses_of(
    place: _Place, solved: _Solved, lying: tuple[tuple[str, Direction, Array], ...]
) -> list[StressCourse | NotMade]:
    stress = _with_fillet(place, solved)
    out: list[StressCourse | NotMade] = []
    most = 0.0
    for ending, direction, kept in lying:
        part = stress * kept
        harm = np.max([largest + ranging for largest, ranging in map(_sizes, part)], axis=0)
        most = max(most, float(harm.max()))
        if harm.max() < ACROSS_FROM * most:
            continue
        index, surface = np.unravel_index(int(harm.argmax()), harm.shape)
        station = int(place.stations[index])
        fillet = station == place.edge and surface == place.surface
        out.append(
            StressCourse(
                place.name + ending,
                place.title + (", across the layers" if ending else ""),
                "inside" if surface == INSIDE else "outside",
                float(solved.first.from_edge_mm[station]),
                solved.torque_nmm,
                solved.label_deg,
                part[:, :, index, surface],
                place.factor if fillet else 1.0,
                place.radius_mm if fillet else math.inf,
                direction,
                place.spread if fillet or place.edge is None else AT_STEP,
                place.words,
            )
        )
    return out


def wall_away(answer: CupResponse, stations: NDArray[np.intp], edge: int, wall_mm: float) -> int:
    """The nearest of some stations that is at least a wall away from one of them along the meridian, or the farthest."""
    away = np.abs(answer.arc_mm[stations] - answer.arc_mm[edge])
    far = np.where(away >= wall_mm, away, math.inf)
    return int(stations[far.argmin() if np.isfinite(far).any() else away.argmax()])


def notched(stress_mpa: Array, shear_beside_mpa: Array, factor: float, poisson: float) -> Array:
    """Stress (…, 3) at a fillet that runs round the cup, from that of the shell at the step and its shear (…) a wall beside it.

    Meridional stress times the factor; the hoop stress is raised by what the ground of the fillet, which cannot contract, adds
    (plane strain, derived). Shear: the factor times the one beside, because a shell's own shear rises within a wall of a step.
    """
    out = np.array(stress_mpa)
    out[..., MERIDIONAL] *= factor
    out[..., HOOP] += poisson * (factor - 1.0) * stress_mpa[..., MERIDIONAL]
    out[..., SHEAR] = factor * shear_beside_mpa
    return out


def _sizes(stress: Array) -> tuple[Array, Array]:
    """Largest von Mises stress and that of the half ranges (S, 2) of stresses (L, S, 2, 3)."""
    half = 0.5 * (stress.max(axis=0) - stress.min(axis=0))
    return von_mises(stress).max(axis=0), von_mises(half)
