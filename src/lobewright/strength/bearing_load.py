"""Loads on the bearings that are a generator's rollers or carry its discs, from the solved ring, and how fast they turn."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.errors import DesignFault, Fault
from lobewright.ring.generator import Contact
from lobewright.torque.inputs import DriveInput
from lobewright.torque.results import LoadShare

Array = NDArray[np.float64]

SAME_TORQUE = 1e-6
"""Torques closer than this share of the largest are one state."""
DISC_GAP_MM, DISC_LIP_MM = 1.0, 0.6
"""Kept beside a disc's bearings, and between both discs: as the parts are made (common practice)."""


@dataclass(frozen=True)
class Forces:
    """Forces (K, B) of B bodies at K rising torques, straight between them; ``mirror`` (B,): which body takes a body's place
    when the torque turns round. Beyond the last torque they go on as they came, never below 0."""

    torque_nmm: Array
    force_n: Array
    mirror: tuple[int, ...]

    def at(self, torque_nmm: Array) -> Array:
        """Forces (T, B) at signed torques (T,)."""
        torque = np.atleast_1d(np.asarray(torque_nmm, dtype=float))
        size, known = np.abs(torque), self.torque_nmm
        if len(known) == 1:
            found = np.repeat(self.force_n, len(size), axis=0)
        else:
            upper = np.clip(np.searchsorted(known, size), 1, len(known) - 1)
            share = np.maximum(size - known[0], 0.0) - (known[upper - 1] - known[0])
            share = (share / (known[upper] - known[upper - 1]))[:, None]
            found = (1.0 - share) * self.force_n[upper - 1] + share * self.force_n[upper]
        found = np.maximum(found, 0.0)
        return np.where((torque < 0.0)[:, None], found[:, list(self.mirror)], found)


@dataclass(frozen=True)
class RollerBearings:
    """The bearings under a generator's rollers or discs. ``count``: side by side on each axle. ``forces``: of each axle, its most
    loaded bearing times ``count``. ``turns_factor``: turns of a roller for one of the generator against the ring."""

    bearing: catalogue.Bearing
    count: int
    forces: Forces
    turns_factor: float


def roller_bearings(drive: DriveInput, shares: Sequence[LoadShare]) -> RollerBearings:
    """Bearings of rollers, paired rollers or discs, and their forces in the solved states ``shares``.

    Raises DesignFault for a cam and without any state.
    """
    generator = drive.design.generator
    if isinstance(generator, m.Cam):
        allowed = "rollers, paired_rollers or discs"
        raise DesignFault([Fault("a cam has no roller bearings", "generator.kind", 0, "cam", allowed)])
    bearing = catalogue.bearing(generator.bearing)
    count = side_by_side(drive, bearing)
    return RollerBearings(bearing, count, roller_forces(drive, shares, bearing, count), turns_factor(drive))


def turns_factor(drive: DriveInput) -> float:
    """Turns of a roller or disc on its axle for one turn of the generator against the flexible ring.

    The neutral line runs past the generator with R_n·ω and keeps its length; the back, h inside, with R_n·ω·(1 − κh), κ the
    curvature at the contact. The roller takes that on. A disc turns on its eccentric alike. Derived; no slip.
    """
    generator = drive.design.generator
    assert not isinstance(generator, m.Cam)
    radius = generator.disc_radius_mm if isinstance(generator, m.Discs) else 0.5 * _outer_mm(generator.bearing)
    shape = drive.shape
    label = shape.contact_rad if drive.setting.contact is Contact.PAIRED else 0.0
    curvature = float(np.interp(label, shape.arc_mm / shape.radius_mm, shape.curvature_1_per_mm))
    return shape.radius_mm * (1.0 - curvature * drive.geometry.inner_offset_mm) / radius


def side_by_side(drive: DriveInput, bearing: catalogue.Bearing) -> int:
    """How many bearings share an axle: as many as the ring's face has room for, under a disc those in its half of the face."""
    design = drive.design
    face = _face_mm(design)
    if not isinstance(design.generator, m.Discs):
        return max(1, int(face / bearing.width_mm + 1e-9))
    height = max(bearing.width_mm + DISC_GAP_MM, 0.5 * (face - DISC_LIP_MM))
    return max(1, int((height - DISC_GAP_MM) / bearing.width_mm + 1e-9))


def roller_forces(drive: DriveInput, shares: Sequence[LoadShare], bearing: catalogue.Bearing, count: int) -> Forces:
    """Forces of all rows together on each roller or disc, times how unevenly the rows load the bearings side by side.

    Bearings on a stiff axle take F/n + M·x/Σx², M the rows' moment about the middle of the face; under discs evenly.
    """
    design = drive.design
    rings = {ring.name: ring for ring in design.rigid_ring}
    places = [rings[row.name].offset_mm + 0.5 * row.width_mm - 0.5 * _face_mm(design) for row in drive.rows]
    at = (np.arange(count) - 0.5 * (count - 1)) * bearing.width_mm
    discs = isinstance(design.generator, m.Discs)

    def forces(share: LoadShare) -> Array:
        total = share.body_force_n.sum(axis=1)
        size = np.hypot(total[:, 0], total[:, 1])
        if discs or count == 1:
            return size
        along = np.einsum("brc,bc->br", share.body_force_n, total) / np.maximum(size, 1e-30)[:, None]
        moment = along @ np.array(places)
        return size + count * np.abs(moment) * float(at[-1]) / float((at**2).sum())

    return forces_of(shares, forces, _mirror(drive))


def forces_of(shares: Sequence[LoadShare], read: Callable[[LoadShare], Array], mirror: tuple[int, ...]) -> Forces:
    """Forces read from the states by rising size of torque. Raises DesignFault without any state."""
    states = sorted(shares, key=lambda share: abs(share.torque_nmm))
    if not states:
        raise DesignFault([Fault("no solved state of the drive is given", "shares", 0, "none", "at least one")])
    least = SAME_TORQUE * max(abs(states[-1].torque_nmm), 1.0)
    kept = [states[0]]
    for state in states[1:]:
        if abs(state.torque_nmm) - abs(kept[-1].torque_nmm) > least:
            kept.append(state)
    values = np.array([read(state) for state in kept], dtype=float)
    # states of a torque that pulls the other way stand for their mirror image
    for k, state in enumerate(kept):
        if state.torque_nmm < -least:
            values[k] = values[k][list(mirror)]
    return Forces(np.array([abs(state.torque_nmm) for state in kept]), values, mirror)


def _mirror(drive: DriveInput) -> tuple[int, ...]:
    """Body that stands where each body's mirror image in the first lobe's axis is."""
    lobes, pairs = drive.setting.lobes, drive.setting.contact is Contact.PAIRED
    if not pairs:
        return tuple(-k % lobes for k in range(lobes))
    return tuple(2 * (-k % lobes) + 1 - side for k in range(lobes) for side in (0, 1))


def _outer_mm(designation: str) -> float:
    return catalogue.bearing(designation).outer_mm


def _face_mm(design: m.Design) -> float:
    """Width of the flexible ring's teeth, all rows."""
    second = getattr(design.flexible_ring, "second_row", None)
    return design.flexible_ring.width_mm + (second.width_mm if second else 0.0)
