"""What the loaded ring answers: frozen results in mm, N, N·mm, MPa, rad, read off settled states."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from lobewright.motion import FLEXIBLE, GENERATOR
from lobewright.ring.beam_element import section_forces
from lobewright.torque import kernel
from lobewright.torque.model import Drive
from lobewright.torque.path import Place

Array = NDArray[np.float64]

NOTICED = 0.01
"""Share of the ratcheting torque below which a fall is teeth brushing past."""
TIP_FROM = 0.85
"""Share of the tooth's height above which a contact counts as at its tip."""

Kind = TypeVar("Kind", bound=np.generic)


@dataclass(frozen=True)
class Health:
    """How well the equations are met. ``torque_error_nmm``: sum of the outside torques on rings, generator and cup;
    ``torque_error_share``: over the largest of |torque| and 0.001 of the reference torque; ``force_error_n``: sum of the
    outside forces. ``residual`` is the largest unbalanced nodal force over the acting forces. ``solves`` and
    ``iterations`` of the path that led here."""

    nodes: int
    solves: int
    iterations: int
    residual: float
    torque_error_nmm: float
    torque_error_share: float
    force_error_n: float


@dataclass(frozen=True)
class RowLoad:
    """One row of flexible teeth against its rigid ring; arrays by tooth (T,) unless said.

    ``label_deg``: the tooth's material label from the first lobe, −180 … 180. ``force_n``: size of the ring's force on it;
    ``tangential_n`` and ``outward_n`` seen from the tooth; ``torque_nmm`` about the axis; ``pressure_mpa`` the largest flank
    pressure; ``place``: "" (free), "right" or "left" flank, "tip" or "land"; ``lean_mm``: shift of the tooth at its pitch
    height. Sections by node (N,): ``moment_nmm``, ``normal_n``, ``inner_stress_mpa``, ``outer_stress_mpa`` of the plain wall.
    """

    name: str
    label_deg: Array
    force_n: Array
    tangential_n: Array
    outward_n: Array
    torque_nmm: Array
    pressure_mpa: Array
    place: tuple[str, ...]
    lean_mm: Array
    section_label_deg: Array
    moment_nmm: Array
    normal_n: Array
    inner_stress_mpa: Array
    outer_stress_mpa: Array
    positions_mm: Array

    @property
    def teeth_in_load(self) -> int:
        """Teeth that carry at least a hundredth of the most loaded one's force."""
        most = float(self.force_n.max(initial=0.0))
        return int((self.force_n > 0.01 * most).sum()) if most > 0.0 else 0

    @property
    def largest_share(self) -> float:
        """Tangential force of the most loaded tooth over the sum of all."""
        total = float(np.abs(self.tangential_n).sum())
        return float(np.abs(self.tangential_n).max()) / total if total > 0.0 else 0.0


@dataclass(frozen=True)
class LoadShare:
    """The drive at one torque. ``torque_nmm`` and ``windup_rad`` of the slow member; ``member_torque_nmm``: outside torque
    on every member, they sum to zero. ``body_force_n`` (B, rows, 2): of each roller, disc or cam on each row;
    ``arm_mm`` (A,): outward shift of each arm from where it was set; ``carrier_force_n`` (2,) of the carrier's bearing on the
    generator, ``carrier_mm`` (2,). ``skew_mm``, ``roll_mm`` (N,): tangential and radial shift of the second row against the
    first (zero for a cup). ``rim_mm`` (rows, 5): what each rigid ring's rim gives, outward: breathing, cos 2φ, sin 2φ, cos 4φ,
    sin 4φ in the ring's frame; (rows, 0) where rims are stiff."""

    torque_nmm: float
    windup_rad: float
    member_torque_nmm: dict[str, float]
    rows: tuple[RowLoad, ...]
    body_force_n: Array
    arm_mm: Array
    carrier_force_n: Array
    carrier_mm: Array
    skew_mm: Array
    roll_mm: Array
    rim_mm: Array
    health: Health

    @property
    def largest_push_n(self) -> float:
        """Largest force of a roller, disc or cam on all rows together."""
        return float(np.hypot(*self.body_force_n.sum(axis=1).T).max())


@dataclass(frozen=True)
class Windup:
    """Torque of the slow member against its rotation, from −T to T. ``windup_rad``, ``torque_nmm`` (K,), both ascending.

    ``stiffness_nmm_per_rad``: mean slope of both sides over the bands of |torque| ``bands`` (shares of T);
    ``free_play_rad``: rotation over which no torque acts (|torque| below 1e-4 T); ``lost_motion_rad``: between
    ± ``lost_motion_share`` of T. ``snaps``: how often the drive fell into another state on the way at held rotation.
    """

    windup_rad: Array
    torque_nmm: Array
    reach_nmm: float
    bands: tuple[tuple[float, float], ...]
    stiffness_nmm_per_rad: tuple[float, ...]
    free_play_rad: float
    lost_motion_rad: float
    lost_motion_share: float
    snaps: int
    health: Health


@dataclass(frozen=True)
class Skip:
    """The ratcheting torque: the largest of the path until the torque has fallen from it by the share ``fall`` for good.

    ``torque_nmm`` (size) and ``windup_rad`` at the limit, in ``direction`` +1 or −1. ``gives_way`` names the largest part of
    the radial retreat of the loaded teeth at the limit, weighted by their forces (``retreat_mm``): "arm gives", "carrier
    shifts", "rim gives" (it bends inward between or off the bodies), "teeth lean" (their lean, as the radial retreat that
    frees a flank as much). "teeth break" with ``lower_bound``: a tooth leans by more than the inputs' limit before the
    torque falls, so strength ends the drive first and the torque is only a lower bound. ``generator_share``: arms and
    carrier over all. ``lifted_bodies``: contacts of rollers, discs or cams that a row has left. Path arrays (K,);
    ``by_arc_length``: whether its end was followed so; ``snaps``: how often it fell from one state to another at held
    rotation, because no path led on.
    """

    torque_nmm: float
    windup_rad: float
    direction: int
    fall: float
    gives_way: str
    lower_bound: bool
    retreat_mm: dict[str, float]
    generator_share: float
    lifted_bodies: int
    path_windup_rad: Array
    path_torque_nmm: Array
    by_arc_length: bool
    snaps: int
    at_limit: LoadShare

    @property
    def first_fall_nmm(self) -> float:
        """Torque before the first fall of the path by the share ``fall``; ``torque_nmm`` where there is none before the limit.

        Up to here the drive follows one path. What it falls into beyond depends on little things (which lobe lets go first),
        so the torque that it carries at last is known less well than its digits say.
        """
        torque = self.direction * self.path_torque_nmm[: int(np.argmax(self.direction * self.path_torque_nmm)) + 1]
        most = np.maximum.accumulate(torque)
        fallen = np.flatnonzero((torque < (1.0 - self.fall) * most) & (most > NOTICED * self.torque_nmm))
        return float(most[fallen[0]]) if len(fallen) else self.torque_nmm

    @property
    def health(self) -> Health:
        """Health at the limit, with the solves and iterations of the whole path."""
        return self.at_limit.health


def sealed(values: NDArray[Kind]) -> NDArray[Kind]:
    """The array, read-only."""
    values = np.ascontiguousarray(values)
    values.setflags(write=False)
    return values


def member_torques(drive: Drive, place: Place) -> tuple[dict[str, float], float, float]:
    """Outside torque on every member [N·mm], their sum, and the size of the sum of outside forces [N]."""
    state, numbers = place.state, drive.numbers
    teeth = kernel.tooth_forces(state.q, state.lean, state.extra, numbers)
    force, _, moment = kernel.body_forces(state.q, state.extra, state.near, numbers)
    unit = drive.torque_unit_nmm
    out = {row.name: float(teeth[r, :, 2].sum()) * unit for r, row in enumerate(drive.drive.rows)}
    out[GENERATOR] = float(moment.sum()) * unit
    total = teeth[:, :, :2].sum(axis=(0, 1)) + force.sum(axis=(0, 1))
    if drive.barrel is not None and drive.boss_at is not None:
        load = drive.barrel.load(state.q, float(state.extra[drive.boss_at]))
        out[FLEXIBLE] = load.torque * unit
        total = total - load.force[:, :2].sum(axis=0)
    return out, sum(out.values()), float(np.hypot(*total)) * drive.force_unit_n


def health_of(drive: Drive, place: Place, solves: int, iterations: int, reference_nmm: float) -> Health:
    """Health of a place; ``reference_nmm``: the torque whose thousandth is the least that errors are told relative to."""
    _, error, force = member_torques(drive, place)
    over = max(abs(place.torque_nmm), 1e-3 * abs(reference_nmm), 1e-30)
    return Health(drive.nodes, solves, iterations, place.outcome.residual, error, abs(error) / over, force)


def load_share_of(drive: Drive, place: Place, solves: int, iterations: int, reference_nmm: float) -> LoadShare:
    """Everything about one settled place."""
    state, numbers, radius = place.state, drive.numbers, drive.radius_mm
    torques, _, _ = member_torques(drive, place)
    force, _, _ = kernel.body_forces(state.q, state.extra, state.near, numbers)
    shift = state.extra[:2]
    carrier = -numbers.carrier_stiffness * (shift - numbers.carrier_home)
    skew, roll = _skew_and_roll(drive, place)
    arms = state.extra[2 : 2 + len(numbers.arm_stiffness)]
    return LoadShare(
        torque_nmm=place.torque_nmm,
        windup_rad=place.windup_rad,
        member_torque_nmm=torques,
        rows=tuple(_row_load(drive, place, r) for r in range(drive.rows)),
        body_force_n=sealed(force * drive.force_unit_n),
        arm_mm=sealed(arms * radius),
        carrier_force_n=sealed(carrier * drive.force_unit_n),
        carrier_mm=sealed(shift * radius),
        skew_mm=sealed(skew * radius),
        roll_mm=sealed(roll * radius),
        rim_mm=sealed(np.array([state.extra[list(drive.lean_extras(r)[1:])] for r in range(drive.rows)]) * radius),
        health=health_of(drive, place, solves, iterations, reference_nmm),
    )


def _skew_and_roll(drive: Drive, place: Place) -> tuple[Array, Array]:
    q = place.state.q
    if drive.rows == 1:
        return np.zeros(drive.nodes), np.zeros(drive.nodes)
    label = np.arange(drive.nodes) * (2.0 * math.pi / drive.nodes)
    turn = label + 0.5 * (q[:, 2] + q[:, 5])
    dx, dy = q[:, 3] - q[:, 0], q[:, 4] - q[:, 1]
    c, s = np.cos(turn), np.sin(turn)
    return -dx * s + dy * c, dx * c + dy * s


def _row_load(drive: Drive, place: Place, r: int) -> RowLoad:
    state, numbers, inputs, geometry = place.state, drive.numbers, drive.inputs, drive.drive.geometry
    row = drive.drive.rows[r]
    count = row.outline.teeth
    found = kernel.tooth_forces(state.q, state.lean, state.extra, numbers)[r, :count]
    unit, radius = drive.force_unit_n, drive.radius_mm
    q = np.ascontiguousarray(state.q[:, 3 * r : 3 * r + 3])
    share = numbers.share[r]
    cut, moment, _ = section_forces(q, numbers.axial[r])
    node_moment = 0.5 * (moment[:, 0] + np.roll(moment[:, 1], 1)) * share * unit * radius
    node_force = 0.5 * (cut + np.roll(cut, 1, axis=0)) * share * unit
    label = np.arange(drive.nodes, dtype=np.float64) * (2.0 * math.pi / drive.nodes)
    direction = label + 0.5 * math.pi + q[:, 2]
    normal = node_force[:, 0] * np.cos(direction) + node_force[:, 1] * np.sin(direction)
    bending, area = inputs.bending_stiffness_nmm2[r], inputs.axial_stiffness_n[r]
    modulus = inputs.wall_modulus_mpa[r]
    stretch, curve = normal / area, node_moment / bending
    return RowLoad(
        name=row.name,
        label_deg=sealed(
            _seen_from_lobe(np.arange(count, dtype=np.float64) * (2.0 * math.pi / count) - drive.turn_rad)
        ),
        force_n=sealed(np.hypot(found[:, 0], found[:, 1]) * unit),
        tangential_n=sealed(found[:, 7] * unit),
        outward_n=sealed(found[:, 6] * unit),
        torque_nmm=sealed(found[:, 2] * unit * radius),
        pressure_mpa=sealed(found[:, 4] * radius * inputs.flank_bed_n_per_mm3),
        place=tuple(_contact_place(drive, r, deep, at) for deep, at in found[:, 4:6]),
        lean_mm=sealed(state.lean[r, :count] * radius),
        section_label_deg=sealed(_seen_from_lobe(label - drive.turn_rad)),
        moment_nmm=sealed(node_moment),
        normal_n=sealed(normal),
        inner_stress_mpa=sealed(modulus * (stretch - curve * geometry.fibre_in_mm)),
        outer_stress_mpa=sealed(modulus * (stretch + curve * geometry.fibre_out_mm)),
        positions_mm=sealed(radius * np.column_stack((np.cos(label) + q[:, 0], np.sin(label) + q[:, 1]))),
    )


def _seen_from_lobe(label: Array) -> Array:
    return np.degrees(np.mod(label + math.pi, 2.0 * math.pi) - math.pi)


def _contact_place(drive: Drive, r: int, deep: float, at: float) -> str:
    """Where on a tooth its deepest contact lies."""
    if deep <= 0.0:
        return ""
    outline = drive.drive.rows[r].outline
    x, y = drive.numbers.feeler[r, int(at), :2] * drive.radius_mm
    level = (y - outline.land_height_mm) / outline.height_mm
    if level > TIP_FROM:
        return "tip"
    if level < 0.05:
        return "land"
    # x runs anticlockwise; seen from the axis outward the clockwise flank is on the right
    return "left" if x > 0.0 else "right"
