"""Largest tension in the root of rigid rings' teeth by finite elements, and the formula that is fitted to it.

    python benchmarks/fe/rigid_tooth_root.py    # solve again and rewrite rigid_tooth_root.json beside it, then print the fit

The tooth between two tooth spaces of the starters' rigid rings, unrolled, on a block of some pitches that is held at its bottom;
plane stress, second-order triangles (scikit-fem), linear. A smooth patch of force on one flank, 1 N a mm of face sideways, and
along the tooth into its root the shares ``PRESSES`` of it. Read is the stress along the free surface (the sum of both normal
stresses there) below the patch, its largest tension on either side.
"""

from __future__ import annotations

import json
import logging
import math
from pathlib import Path

import numpy as np
from skfem import Basis, ElementTriP1, ElementTriP2, ElementVector, MeshTri, condense, solve
from skfem.helpers import sym_grad
from skfem.models.elasticity import lame_parameters, linear_elasticity

from lobewright.assessment.run import assess
from lobewright.design.files import design_from_data
from lobewright.design.starters import starter_data
from lobewright.mesh.space import ToothSpace
from lobewright.strength.rigid_tooth import sections_of

KEPT = Path(__file__).with_suffix(".json")
STARTERS = (
    "belt-rollers",
    "belt-paired_rollers",
    "printed_ring-rollers",
    "printed_ring-paired_rollers",
    "printed_ring-cam_thin_bearing",
    "printed_cup-rollers",
    "metal_cup-rollers",
)
LEVELS = (0.1, 0.3, 0.5, 0.7)
"""Middle of the force over the depth at which the flanks turn into the root."""
PRESSES = (0.0, 0.25, 0.5)
PATCH, CLEAR = 0.12, 0.3
"""Half height of the patch over the tooth's depth; share of the way from its middle to the root that is not read."""
DOWN, ACROSS, SIDE, BELOW = 160, 18, 16, 22
MODULUS_MPA, POISSON = 2000.0, 0.38


def outline(space: ToothSpace) -> tuple[np.ndarray, np.ndarray]:
    """Depths and thicknesses of the tooth down to the middle of the space's root, even along its edge."""
    sections = sections_of(space, 1.0)
    half = space.root_mm[: len(space.root_mm) // 2]
    radius, angle = np.hypot(*half.T), np.abs(np.arctan2(half[:, 1], half[:, 0]))
    depth = np.concatenate((sections.depth_mm, radius - space.tip_radius_mm))
    thick = np.concatenate((sections.thickness_mm, (space.pitch_rad - 2.0 * angle) * radius))
    rising = np.concatenate(([True], depth[1:] > np.maximum.accumulate(depth)[:-1] + 1e-5))
    depth, thick = depth[rising], thick[rising]
    way = np.concatenate(([0.0], np.cumsum(np.hypot(np.diff(depth), 0.5 * np.diff(thick)))))
    even = np.linspace(0.0, way[-1], DOWN)
    return np.interp(even, way, depth) + 1e-7 * np.arange(DOWN), np.interp(even, way, thick)


def meshed(depth: np.ndarray, thick: np.ndarray, pitch: float) -> tuple[MeshTri, np.ndarray, np.ndarray]:
    """Mesh of tooth and block; nodes of the loaded (right) and of the free flank."""
    across = np.linspace(-1.0, 1.0, ACROSS + 1)
    across = np.sign(across) * (1.0 - (1.0 - np.abs(across)) ** 1.6)
    points = [(0.5 * s * x, -d) for d, s in zip(depth, thick, strict=True) for x in across]
    tooth = np.arange(len(points)).reshape(DOWN, ACROSS + 1)
    side = 2.0 * pitch * np.geomspace(0.01, 1.0, SIDE)
    edge = 0.5 * thick[-1]
    columns = np.concatenate((-edge - side[::-1], 0.5 * thick[-1] * across, edge + side))
    block = np.empty((BELOW + 1, len(columns)), dtype=int)
    for j, low in enumerate(np.concatenate(([0.0], 2.5 * pitch * np.geomspace(0.004, 1.0, BELOW)))):
        for i, x in enumerate(columns):
            if j == 0 and SIDE <= i <= SIDE + ACROSS:
                block[j, i] = tooth[-1, i - SIDE]
                continue
            block[j, i] = len(points)
            points.append((x, -depth[-1] - low))
    triangles = []
    for grid in (tooth, block):
        a, b, c, d = grid[:-1, :-1], grid[:-1, 1:], grid[1:, 1:], grid[1:, :-1]
        triangles += [np.stack((a, b, c), -1).reshape(-1, 3), np.stack((a, c, d), -1).reshape(-1, 3)]
    mesh = MeshTri(np.ascontiguousarray(np.array(points).T), np.ascontiguousarray(np.vstack(triangles).T))
    return mesh, tooth[:, -1], tooth[:, 0]


def tensions(space: ToothSpace, level: float) -> dict:
    """One loaded tooth: where its force acts, and its largest tension at each of ``PRESSES``, MPa under 1 N a mm."""
    depth, thick = outline(space)
    mesh, loaded, free = meshed(depth, thick, space.pitch_rad * space.root_radius_mm)
    basis = Basis(mesh, ElementVector(ElementTriP2()), intorder=4)
    lame, shear = lame_parameters(MODULUS_MPA, POISSON)
    lame = 2.0 * lame * shear / (lame + 2.0 * shear)
    stiffness = linear_elasticity(lame, shear).assemble(basis)
    bottom = mesh.p[1].min()
    held = basis.get_dofs(lambda x: np.abs(x[1] - bottom) < 1e-9)
    off = depth - level * float(sections_of(space, 1.0).depth_mm[-1])
    patch = PATCH * depth[-1]
    weight = np.where(np.abs(off) < patch, np.cos(0.5 * math.pi * off / patch) ** 2, 0.0)
    weight *= np.hypot(np.gradient(depth), 0.5 * np.gradient(thick))
    weight /= weight.sum()
    scalar = Basis(mesh, ElementTriP1(), intorder=4)
    sums = []
    for force in ((-1.0, 0.0), (0.0, -1.0)):
        right = np.zeros(basis.N)
        for node, share in zip(loaded, weight, strict=True):
            right[basis.nodal_dofs[:, node]] += share * np.array(force)
        strain = sym_grad(basis.interpolate(solve(*condense(stiffness, right, D=held))))
        sums.append(scalar.project(2.0 * (shear + lame) * (strain[0, 0] + strain[1, 1])))
    middle = float((weight * depth).sum())
    read = depth > middle + CLEAR * (depth[-1] - middle)
    surface = np.concatenate((loaded[read], free[read]))
    found = [float((sums[0] + press * sums[1])[surface].max()) for press in PRESSES]
    return {"load_depth_mm": round(middle, 5), "tension_mpa": [round(one, 4) for one in found]}


def rows() -> list[dict]:
    """All teeth and loads."""
    out = []
    for starter in STARTERS:
        for mesh in assess(design_from_data(starter_data(starter))).rings:
            sections = sections_of(mesh.space, 1.0)
            root = {"depth_mm": float(sections.depth_mm[-1]), "thickness_mm": float(sections.thickness_mm[-1])}
            head = {"starter": starter, "ring": mesh.space.name} | {key: round(one, 5) for key, one in root.items()}
            out += [head | {"level": level} | tensions(mesh.space, level) for level in LEVELS]
    return out


def fit(solved: list[dict]) -> tuple[np.ndarray, np.ndarray]:
    """Coefficients of σ·b·t/F = a + b·6h/t − c·N/F, least relative squares, and solved over fitted."""
    table = [
        (
            1.0,
            6.0 * (row["depth_mm"] - row["load_depth_mm"]) / row["thickness_mm"],
            -press,
            row["thickness_mm"] * tension,
        )
        for row in solved
        for press, tension in zip(PRESSES, row["tension_mpa"], strict=True)
    ]
    *terms, wanted = np.array(table).T
    over = np.column_stack(terms) / wanted[:, None]
    found, *_ = np.linalg.lstsq(over, np.ones(len(wanted)), rcond=None)
    return found, 1.0 / (over @ found)


if __name__ == "__main__":
    logging.disable(logging.WARNING)
    solved = rows()
    KEPT.write_text(json.dumps({"presses": PRESSES, "rows": solved}, indent=1) + "\n", encoding="utf-8")
    coefficients, ratios = fit(solved)
    print("a, b, c:", np.round(coefficients, 3), "over", len(ratios), "loads of", len(solved), "teeth")
    print("solved over fitted, 0 5 50 95 100 %:", np.round(np.quantile(ratios, (0.0, 0.05, 0.5, 0.95, 1.0)), 3))
