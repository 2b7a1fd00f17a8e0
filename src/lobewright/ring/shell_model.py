"""A shell of revolution ready to be solved: meridian, material and the stiffness that serves every harmonic."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lobewright.errors import ConvergenceFault, DesignFault, Fault
from lobewright.ring.shell_condense import harmonic_forces, solve_harmonics
from lobewright.ring.shell_element import DOFS, SHEAR_FACTOR, assemble, lagrange, lobatto
from lobewright.ring.shell_mesh import DEGREE, Array, Meridian, Segment, mesh

RADIAL, TANGENTIAL, AXIAL, TURN, TWIST = range(DOFS)
"""Unknowns of a node. A section's four are the first four."""

LEAST_PIVOT = 1e-13
"""A pivot this small against its diagonal entry is rounding: nothing holds the shell."""


@dataclass(frozen=True)
class CupMaterial:
    """Isotropic, linear elastic: Young's modulus [MPa] and Poisson's ratio [-], above 0 and in 0 … 0.49."""

    modulus_mpa: float
    poisson: float

    def __post_init__(self) -> None:
        if not self.modulus_mpa > 0.0:
            found = f"{self.modulus_mpa:g} MPa"
            raise DesignFault([Fault("Young's modulus must be positive", "modulus_mpa", 0, found, "above 0 MPa")])
        if not 0.0 <= self.poisson <= 0.49:
            raise DesignFault(
                [Fault("Poisson's ratio is out of range", "poisson", 0, f"{self.poisson:g}", "0 to 0.49")]
            )

    def elastic(self) -> Array:
        """Stress per strain (5, 5) [MPa] for ε_s, ε_φ, γ_sφ, γ_sn, γ_φn: plane stress, shear factor 5/6 across the wall."""
        out = np.zeros((DOFS, DOFS))
        plane = self.modulus_mpa / (1.0 - self.poisson**2)
        shear = 0.5 * self.modulus_mpa / (1.0 + self.poisson)
        out[0, 0] = out[1, 1] = plane
        out[0, 1] = out[1, 0] = self.poisson * plane
        out[2, 2] = shear
        out[3, 3] = out[4, 4] = SHEAR_FACTOR * shear
        return out


@dataclass(frozen=True)
class ShellModel:
    """``parts`` (3, n, width): banded K0, K1, K2 per radian of circumference [N·mm] (see `shell_element.assemble`)."""

    meridian: Meridian
    material: CupMaterial
    parts: Array


def build_model(
    segments: tuple[Segment, ...], material: CupMaterial, refine: float = 1.0, degree: int = DEGREE
) -> ShellModel:
    """Mesh the segments and assemble. `refine` 2 halves the elements (see `shell_mesh.mesh`)."""
    line = mesh(segments, material.poisson, refine, degree)
    points, weights = np.polynomial.legendre.leggauss(degree)
    shape, slope = lagrange(lobatto(degree), points)
    parts = assemble(
        shape,
        slope,
        weights,
        line.place_mm,
        line.normal,
        line.half_mm,
        line.offset_mm,
        line.tension,
        line.bending,
        material.elastic(),
    )
    return ShellModel(line, material, parts)


def solve_held(model: ShellModel, harmonics: Array, held: Array, values: Array | None, loads: Array) -> Array:
    """Unknowns (H, n, m) for held unknowns (n,) with values (H, n, m; None is zero) under loads (H, n, m).

    Loads are amplitudes per radian: a line load q at radius r is q·r. Raises ConvergenceFault where the held unknowns
    leave a rigid motion free.
    """
    orders = np.asarray(harmonics, dtype=float)
    given = np.ascontiguousarray(loads, dtype=float)
    x, pivot = solve_harmonics(model.parts, orders, held, np.zeros_like(given) if values is None else values, given)
    loose = ~(pivot > LEAST_PIVOT)
    if loose.any():
        order = f"{orders[loose][0]:g}"
        raise ConvergenceFault([Fault("nothing holds the shell in this harmonic", "harmonics", 0, order)])
    return x


def forces(model: ShellModel, harmonics: Array, x: Array) -> Array:
    """Loads and reactions per radian (H, n, m) that belong to unknowns (H, n, m)."""
    return harmonic_forces(model.parts, np.asarray(harmonics, dtype=float), np.ascontiguousarray(x))


def node_stiffness(
    model: ShellModel, harmonics: Array, node: int, kinds: tuple[int, ...], clamped: tuple[int, ...] = ()
) -> Array:
    """Forces per radian on some unknowns of a node for unit values of them, all other nodes unloaded: (H, m, m).

    `kinds` lists the unknowns (RADIAL …); unknowns of the node that are not listed are free. `clamped` nodes are fixed.
    """
    held = np.zeros(model.meridian.unknowns, dtype=bool)
    for fixed in clamped:
        held[DOFS * fixed : DOFS * fixed + DOFS] = True
    rows = DOFS * node + np.array(kinds)
    held[rows] = True
    values = np.zeros((len(harmonics), model.meridian.unknowns, len(kinds)))
    values[:, rows, np.arange(len(kinds))] = 1.0
    x = solve_held(model, harmonics, held, values, np.zeros_like(values))
    return forces(model, harmonics, x)[:, rows, :]


def band_load(model: ShellModel, low_mm: float, high_mm: float) -> Array:
    """Nodal loads (n, 4) of unit line loads (radial, tangential, axial, moment) at the wall's middle of a barrel.

    The load acts evenly between the heights low_mm and high_mm, both of which are ends of elements; on one circle when
    they are equal. The transpose takes unknowns to the mean displacements of the band.
    """
    line = model.meridian
    heights, numbers = line.place_mm[:, :, 1], line.element_nodes()
    out = np.zeros((line.unknowns, 4))
    barrel = np.abs(line.normal[:, 0, 0] - 1.0) < 1e-12
    slack = 1e-9 * (high_mm - low_mm) + 1e-9 * line.half_mm.max()
    if high_mm - low_mm <= slack:
        # a section at the step of the wall belongs to the later segment, the rim
        element, i = np.argwhere(barrel[:, None] & (np.abs(heights - low_mm) < slack))[-1]
        shares = [(int(element), np.eye(line.degree + 1)[i])]
    else:
        inside = barrel & (heights[:, 0] > low_mm - slack) & (heights[:, -1] < high_mm + slack)
        points, weights = np.polynomial.legendre.leggauss(line.degree)
        part = weights @ lagrange(lobatto(line.degree), points)[0] / 2.0
        shares = [
            (int(e), part * (heights[e, -1] - heights[e, 0]) / (high_mm - low_mm)) for e in np.flatnonzero(inside)
        ]
    for element, share in shares:
        for i, amount in enumerate(share):
            row, lever = DOFS * numbers[element, i], line.offset_mm[element, i]
            out[row + RADIAL, 0] += amount
            out[row + TANGENTIAL, 1] += amount
            out[row + TWIST, 1] += amount * lever
            out[row + AXIAL, 2] += amount
            out[row + TURN, 2] -= amount * lever
            out[row + TURN, 3] += amount
    return out
