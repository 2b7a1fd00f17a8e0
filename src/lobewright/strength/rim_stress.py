"""Stress courses of a toothed rim: the root of its teeth and its inner surface, over the wave and the torque.

A settled drive is a picture of the whole ring at one moment. It is taken as the course of every one of its points: each goes
through all labels while the generator turns once against the ring (a wave that travels without changing its shape). What the
meshing of single teeth makes ripple is in the band.

Hoop stress only, and with it the axial stress of a rim that keeps its width; torque enters a rim gradually along its teeth, so
its shear is left out here. Stresses belong to the stiffnesses that the drive was solved with. Sources: :mod:`rim_field`; bands
by comparison with the cases told on the theory page of ring stress.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lobewright.design import model as m
from lobewright.errors import DesignFault, Fault
from lobewright.ring.cell import ToothCell, plane_advice
from lobewright.ring.cell_outline import smooth_outline
from lobewright.ring.cell_solve import Plane
from lobewright.strength.course import StressCourse
from lobewright.strength.items import NotMade
from lobewright.strength.material import Direction
from lobewright.strength.rim_field import SurfaceAnswer, hoop_stress_mpa, pitch_loads, surface_answers
from lobewright.torque.inputs import DriveInput
from lobewright.torque.results import LoadShare

Array = NDArray[np.float64]

NEAR_WALLS = 0.1
"""Walls to either side of a place within which the sharpest hollow of the outline is its notch."""
CELL_SPREAD = 0.03
"""Peak and flank stress of a tooth cell against whole rings by finite elements, of the largest stress."""
SECTION_SPREAD = 0.03
"""Section moments and tensions of the loaded ring against finite elements."""
FLANK_SPREAD = 0.2
"""Of the stress that a tooth's own force makes: how the load is shared depends on the flanks' bed, which is known poorly."""
CONE_SHARE = 0.5
"""Of how much more the open edge of a cup is bent than the middle of the face: what it adds to the stress of the root over the
middle of the face, or to that of the inside over the cone's own factor, found with the shell of two cups."""
RIPPLE_SPREAD = 0.06
"""Of the range of stress: one picture of the ring against others with the generator a part of a pitch further (found 2 to
8 %)."""


@dataclass(frozen=True)
class RimPlace:
    """What the courses of one row share."""

    suffix: str
    words: str
    from_edge_mm: float
    direction: Direction
    cell: ToothCell
    torque_nmm: Array


def rim_courses(
    drive: DriveInput, cells: tuple[ToothCell, ...], shares: tuple[LoadShare, ...]
) -> tuple[StressCourse | NotMade, ...]:
    """Courses "rim_root" and "rim_inside" of every row of teeth, named with the rigid ring (":name") where there are two.

    ``cells`` are those the ``shares`` were solved with; shares rise in torque from rest. One point of each
    surface is followed: the one whose hoop stress ranges most at any torque; the root's in the middle of the face in mesh, the
    inside's there for a ring and at the open edge for a cup. A sharp hollow has no largest stress: its course
    is not made. Belts have no courses here: (). Raises DesignFault where torques do not rise from 0.
    """
    ring = drive.design.flexible_ring
    if isinstance(ring, m.Belt):
        return ()
    torque = _rising([share.torque_nmm for share in shares])
    bodies = body_widths_mm(drive)
    out: list[StressCourse | NotMade] = []
    for r, (row, cell) in enumerate(zip(drive.rows, cells, strict=True)):
        made = drive.design.rigid_ring[r]
        alone = len(drive.rows) == 1
        place = RimPlace(
            "" if alone else f":{row.name}",
            "" if alone else f", row of {row.name}",
            made.offset_mm + 0.5 * made.width_mm,
            _direction(ring),
            cell,
            torque,
        )
        outer, inner = surface_answers(cell, row.outline.points_mm)
        loads = [pitch_loads(share.rows[r], cell) for share in shares]
        label = loads[0].label_deg
        found = [
            np.stack([np.stack(hoop_stress_mpa(side, one, bodies[r], row.width_mm)) for one in loads])
            for side in (outer, inner)
        ]
        out.append(_root(drive, place, row.outline.points_mm, outer, label, found[0]))
        out.append(_inside(drive, place, inner, label, found[1]))
    return tuple(out)


def body_widths_mm(drive: DriveInput) -> tuple[float, ...]:
    """Width of the ring's body that bends with each row: its face, and its share of the strips beside and between."""
    ring = drive.design.flexible_ring
    total = ring.width_mm + (ring.second_row.width_mm if isinstance(ring, m.PrintedRing) and ring.second_row else 0.0)
    face = sum(row.width_mm for row in drive.rows)
    return tuple(row.width_mm * max(1.0, total / face) for row in drive.rows)


def _rising(torques: list[float]) -> Array:
    torque = np.array(torques)
    largest = float(np.abs(torque).max(initial=0.0))
    torque[np.abs(torque) < 1e-6 * largest] = 0.0
    if len(torque) == 0 or torque[0] < 0.0 or (np.diff(torque) <= 0.0).any():
        found = ", ".join(f"{value:.6g}" for value in torques)
        raise DesignFault([Fault("a stress course needs torques that rise from 0", "shares", 0, found, "rising, N·mm")])
    return torque


def _direction(ring: m.ModuleRing) -> Direction:
    """Hoop stress of a ring printed standing lies in its layers; in one printed lying it crosses them twice a turn."""
    crosses = isinstance(ring, m.PrintedRing | m.PrintedCup) and ring.layers is m.Layers.ALONG_AXIS
    return Direction.ACROSS_LAYERS if crosses else Direction.IN_LAYERS


def _root(
    drive: DriveInput, place: RimPlace, points_mm: Array, answer: SurfaceAnswer, label: Array, found: Array
) -> StressCourse | NotMade:
    name, title = f"rim_root{place.suffix}", f"root of the flexible teeth{place.words}"
    if place.cell.root is None:
        why = "a hollow of the tooth outline is sharp, so its peak stress has no bound; give the root a rounding"
        return NotMade(name, title, "ring", why, of_life=True)
    worst = _worst(found)
    factor = abs(float(answer.per_moment[worst])) * place.cell.wall_mm**2 / 6.0
    radius = hollow_radius_mm(points_mm, answer.points_mm[worst], place.cell.wall_mm)
    return _course(drive, place, name, title, "outside", label, found[..., worst], max(1.0, factor), radius)


def _inside(drive: DriveInput, place: RimPlace, answer: SurfaceAnswer, label: Array, found: Array) -> StressCourse:
    name, title = f"rim_inside{place.suffix}", f"inner surface under the teeth{place.words}"
    ring = drive.design.flexible_ring
    if isinstance(ring, m.Cup):
        # outside the cone's own axial bending takes off what its opening adds, inside both add up to the open edge
        found = found * ring.length_mm / (ring.length_mm - place.from_edge_mm)
        place = replace(place, from_edge_mm=0.0)
    return _course(drive, place, name, title, "inside", label, found[..., _worst(found)], 1.0, math.inf)


def _worst(found: Array) -> int:
    """Point whose stress (K, 2, T, P) ranges most over the labels, at any torque."""
    whole = found[:, 0]
    return int((whole.max(axis=1) - whole.min(axis=1)).max(axis=0).argmax())


def hollow_radius_mm(points_mm: Array, at_mm: Array, wall_mm: float) -> float:
    """Radius of the sharpest hollow of an outline (N, 2) near a place; ``math.inf`` where none is near."""
    curve = smooth_outline(points_mm)
    near = np.hypot(*(curve.place_mm - at_mm).T) < NEAR_WALLS * wall_mm
    sharpest = float(curve.bend_1_per_mm[near].max(initial=0.0))
    return 1.0 / sharpest if sharpest > 0.0 else math.inf


def _course(
    drive: DriveInput,
    place: RimPlace,
    name: str,
    title: str,
    surface: str,
    label: Array,
    found: Array,
    factor: float,
    radius: float,
) -> StressCourse:
    """``found`` (K, 2, T): stress of the point, and what of it the tooth's own force makes."""
    even = np.arange(2 * len(label), dtype=np.float64) * (180.0 / len(label)) - 180.0
    hoop = np.array([np.interp(even, label, one, period=360.0) for one in found[:, 0]])
    axial = place.cell.poisson * hoop if place.cell.plane is Plane.STRAIN else np.zeros_like(hoop)
    spread, words = _spread(drive, place.cell, found)
    return StressCourse(
        name=name,
        title=title,
        surface=surface,
        from_edge_mm=place.from_edge_mm,
        torque_nmm=place.torque_nmm,
        label_deg=even,
        stress_mpa=np.stack((axial, hoop, np.zeros_like(hoop)), axis=-1),
        notch_factor=factor,
        notch_radius_mm=radius,
        direction=place.direction,
        model_spread=spread,
        model_words=words,
    )


def _spread(drive: DriveInput, cell: ToothCell, found: Array) -> tuple[float, str]:
    """90 % band of the stress and what it is made of, parts of their own added by squares."""
    hardest = found[int(np.ptp(found[:, 0], axis=1).argmax())]
    flank = float(np.ptp(hardest[1]) / np.ptp(hardest[0])) if np.ptp(hardest[0]) > 0.0 else 0.0
    parts = [
        ("peak stress of the tooth cell", max(CELL_SPREAD, cell.errors.stress)),
        ("sections of the loaded ring", SECTION_SPREAD),
        ("ripple from tooth to tooth", RIPPLE_SPREAD),
        ("force of a single tooth", FLANK_SPREAD * flank),
        ("curved wall drawn straight", 0.5 * cell.wall_mm / drive.geometry.neutral_radius_mm),
    ]
    ring = drive.design.flexible_ring
    if isinstance(ring, m.Cup):
        made = drive.design.rigid_ring[0]
        middle = made.offset_mm + 0.5 * made.width_mm
        parts.append(("cup opens like a cone", CONE_SHARE * middle / (ring.length_mm - middle)))
    elif 1.0 < plane_advice(drive.design).figure < 10.0:
        parts.append(("ring neither narrow nor wide", 0.5 * cell.poisson**2))
    share = math.sqrt(math.fsum(part**2 for _, part in parts))
    words = ", ".join(f"{what} {100.0 * part:.1f} %" for what, part in parts)
    return 1.0 + share, words
