"""What a solved ring is, in mm, N and rad, and how it is read off the dimensionless unknowns."""

import math
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from lobewright.errors import DesignFault, Fault
from lobewright.ring.beam_element import section_forces

Array = NDArray[np.float64]
Indices = NDArray[np.int64]
Kind = TypeVar("Kind", bound=np.generic)


@dataclass(frozen=True)
class RingSection:
    """The ring: radius of the stress-free neutral line R [mm], EI [N·mm²], EA [N], and how far the inner surface lies
    inside the neutral line [mm]."""

    radius_mm: float
    bending_stiffness_nmm2: float
    axial_stiffness_n: float
    inner_offset_mm: float = 0.0

    def __post_init__(self) -> None:
        positive = (
            ("radius_mm", "mm"),
            ("bending_stiffness_nmm2", "N·mm²"),
            ("axial_stiffness_n", "N"),
        )
        faults = [
            Fault("the value is not positive", f"RingSection.{name}", 0, f"{getattr(self, name):g}", f"> 0 {unit}")
            for name, unit in positive
            if not (math.isfinite(getattr(self, name)) and getattr(self, name) > 0.0)
        ]
        if not 0.0 <= self.inner_offset_mm < self.radius_mm:
            faults.append(
                Fault(
                    "the inner surface must lie inside the neutral line",
                    "RingSection.inner_offset_mm",
                    0,
                    f"{self.inner_offset_mm:g} mm",
                    f"0 to {self.radius_mm:g} mm",
                )
            )
        if faults:
            raise DesignFault(faults)

    @property
    def force_scale_n(self) -> float:
        """EI/R²: one dimensionless force."""
        return self.bending_stiffness_nmm2 / self.radius_mm**2

    @property
    def axial_ratio(self) -> float:
        """EA·R²/EI."""
        return self.axial_stiffness_n * self.radius_mm**2 / self.bending_stiffness_nmm2


@dataclass(frozen=True)
class RingLine:
    """The bent neutral line at its N nodes; arrays are read-only, index = node, anticlockwise.

    label_rad φ = s/R; positions_mm (N, 2); normal_angle_rad direction of the outward normal; curvature_per_mm dθ/ds
    over undeformed length; moment_nmm EI times the change of curvature, positive where the ring is bent sharper;
    normal_force_n positive in tension; shear_force_n along the outward normal on the face that looks anticlockwise
    (dM/ds = shear). At a node that carries a force, normal and shear force are the mean of both sides.
    """

    label_rad: Array
    positions_mm: Array
    normal_angle_rad: Array
    curvature_per_mm: Array
    moment_nmm: Array
    normal_force_n: Array
    shear_force_n: Array
    axial_strain: Array
    energy_nmm: float


@dataclass(frozen=True)
class Contacts:
    """K places where a body pushes: body index (K,), material label_rad (K,), position on the neutral line (K, 2),
    force on the ring (K, 2), gap left (K,), ring moment there (K,), and whether it is one sliding point or one station
    of a contact arc."""

    body: Indices
    label_rad: Array
    positions_mm: Array
    force_n: Array
    gap_mm: Array
    moment_nmm: Array
    single_point: NDArray[np.bool_]


@dataclass(frozen=True)
class SolveHealth:
    """How well the equations are met. Relative to the sum of contact forces (or loads) where it says so.

    holding_torque_nmm: torque of the constraint that keeps the ring from creeping round (mean section turn = 0); zero
    but for discretisation when nothing rubs. force_balance_n: sum of outside forces (2,); moment_balance_nmm: their
    moment about the origin with the holding torque. complementarity: largest gap × force over R × the sum of forces.
    """

    nodes: int
    load_steps: int
    iterations: int
    force_residual_relative: float
    gap_residual_mm: float
    complementarity: float
    force_balance_n: Array
    moment_balance_nmm: float
    holding_torque_nmm: float


@dataclass(frozen=True)
class RingState:
    """A ring on its generator. clearance_mm (N,): gap of every node to the nearest body; body_force_n (B, 2): force of
    each body on the ring; body_moment_nmm (B,): its moment about the origin."""

    section: RingSection
    line: RingLine
    contacts: Contacts
    clearance_mm: Array
    body_force_n: Array
    body_moment_nmm: Array
    health: SolveHealth


@dataclass(frozen=True)
class LoadedRing:
    """A free ring under given forces; load_positions_mm (K, 2) and load_moment_nmm (K,) where they act."""

    section: RingSection
    line: RingLine
    load_positions_mm: Array
    load_moment_nmm: Array
    health: SolveHealth


def frozen(values: NDArray[Kind]) -> NDArray[Kind]:
    """The array, made read-only."""
    values = np.asarray(values)
    values.setflags(write=False)
    return values


def node_places(q: Array) -> tuple[Array, Array, Array]:
    """Labels (N,), positions (N, 2) over R and normal angles (N,) of dimensionless unknowns q (N, 3)."""
    label = 2.0 * math.pi * np.arange(len(q)) / len(q)
    return label, np.column_stack([np.cos(label), np.sin(label)]) + q[:, :2], label + q[:, 2]


def read_line(
    section: RingSection, q: Array, energy: float, element: Indices, share: Array, place: Array, spread: Array
) -> tuple[RingLine, Array]:
    """The line in mm and N, and the moment (K,) [N·mm] at K forces inside elements.

    element (K,), share (K, 6): nodal share of each force; place (K, 2): where it acts, over R; spread (N,): the part of
    each node's outward force that stands for a pressure along the line. Lumped at the node it lifts the moment there by
    force × arc/12 over that of the pressure and lowers the tension by as much (over R); both are set right.
    """
    label, position, normal = node_places(q)
    cut, moment, strain = section_forces(q, section.axial_ratio)
    force_start, force_end = cut.copy(), cut.copy()
    np.add.at(force_start, element, share[:, :2])
    np.subtract.at(force_end, element, share[:, 3:5])
    np.add.at(moment[:, 0], element, share[:, 2])
    np.subtract.at(moment[:, 1], element, share[:, 5])
    node_force = 0.5 * (force_start + np.roll(force_end, 1, axis=0))
    node_moment = 0.5 * (moment[:, 0] + np.roll(moment[:, 1], 1))
    arc = 2.0 * math.pi / len(q)
    node_moment -= spread * arc / 12.0
    lever = place - position[element]
    start = force_start[element]
    at_force = moment[element, 0] - (lever[:, 0] * start[:, 1] - lever[:, 1] * start[:, 0])
    outward = np.column_stack([np.cos(normal), np.sin(normal)])
    tangent = np.column_stack([-outward[:, 1], outward[:, 0]])
    unit, radius = section.force_scale_n, section.radius_mm
    line = RingLine(
        label_rad=frozen(label),
        positions_mm=frozen(position * radius),
        normal_angle_rad=frozen(normal),
        curvature_per_mm=frozen((1.0 + node_moment) / radius),
        moment_nmm=frozen(node_moment * unit * radius),
        normal_force_n=frozen((np.einsum("ij,ij->i", node_force, tangent) + spread * arc / 12.0) * unit),
        shear_force_n=frozen(np.einsum("ij,ij->i", node_force, outward) * unit),
        axial_strain=frozen(0.5 * (strain + np.roll(strain, 1))),
        energy_nmm=energy * unit * radius,
    )
    return line, at_force * unit * radius
