"""Plane elasticity of one pitch of the flexible ring, for a modulus of one: repeating cell and held cell.

**Repeating cell.** An endless strip of equal pitches, stretched by ε along mid-wall and bent by κ, moves by
u = ε·(x, 0) + κ·(x·h, −x²/2) + a field that repeats from pitch to pitch (h the height above mid-wall). Energy gives

    N = A ε + B κ,   M = B ε + C κ   (per unit width, M about mid-wall, positive where the ring is bent sharper).

**Held cell.** Both end sections keep their mean place and mean slope (the reactions are a beam's own: linear direct
stress, parabolic shear), and one flank carries a unit force. What the rim alone would give as a slender beam is taken
off, so that what is left can stand in series with a beam ring whose teeth are rigid.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

import numpy as np

from lobewright.errors import Fault, PlatformFault
from lobewright.ring.cell_mesh import CellMesh

Array = np.ndarray


class Plane(StrEnum):
    """How the ring's width answers bending: free to change (stress) or kept (strain)."""

    STRESS = "plane_stress"
    STRAIN = "plane_strain"

    def modulus_factor(self, poisson: float) -> float:
        """Modulus of a plain wall over Young's modulus: 1 or 1/(1 − ν²)."""
        return 1.0 if self is Plane.STRESS else 1 / (1 - poisson**2)


@dataclass(frozen=True)
class SectionFields:
    """Answers of the repeating cell for a wall modulus of one.

    ``stiffness`` (2, 2): [[A, B], [B, C]] in mm, mm², mm³. ``outer_mm`` (P, 2) and ``inner_mm`` (Q, 2): Gauss points along the
    outline and the inner surface; ``outer_stress`` (P, 2) and ``inner_stress`` (Q, 2): surface stress there for ε = 1 and for
    κ = 1/mm; ``inner_turn`` (Q, 2): turn of the inner surface, positive where it is bent sharper to the right.
    """

    stiffness: Array
    outer_mm: Array
    outer_stress: Array
    inner_mm: Array
    inner_stress: Array
    inner_turn: Array
    residual: float


@dataclass(frozen=True)
class HeldFields:
    """Answers of the held cell for Young's modulus one and forces per unit width; columns: tangential, radial force.

    ``displacement`` (2, 2): work-conjugate mean displacement under the force, dimensionless; ``rigid`` (2, 2): the same with a
    rigid tooth, which leaves only the wall to give. ``arm_mm`` (2,): mean x and height of
    the loaded patch, ``push`` (2,) the unit vector into the flank there; ``outer_stress`` (P, 2), ``inner_stress`` (Q, 2):
    surface stress, 1/mm.
    """

    displacement: Array
    rigid: Array
    arm_mm: Array
    push: Array
    outer_stress: Array
    inner_stress: Array
    residual: float


def _library() -> tuple[Any, Any, Any]:
    """scikit-fem and SciPy's sparse matrices. Raises PlatformFault when they are not installed."""
    try:
        import scipy.sparse
        import scipy.sparse.linalg
        import skfem
    except ImportError as error:
        what = f"the tooth cell needs the finite element library scikit-fem, which cannot be loaded here ({error})"
        allowed = 'install the extra "fe": pip install "lobewright[fe]"'
        raise PlatformFault([Fault(what, allowed=allowed)]) from None
    return skfem, scipy.sparse, scipy.sparse.linalg


class CellModel:
    """Assembled stiffness of a meshed pitch for Young's modulus one; holds nothing that changes."""

    def __init__(self, mesh: CellMesh, poisson: float, plane: Plane) -> None:
        self.skfem, self.sparse, self.solver = _library()
        self.mesh = mesh
        self.wall_modulus = plane.modulus_factor(poisson)
        used = np.unique(np.vstack([mesh.cells + corner for corner in ((0, 0), (1, 0), (1, 1), (0, 1))]), axis=0)
        rows = mesh.places_mm.shape[1]
        key = used[:, 0] * rows + used[:, 1]
        corners = [mesh.cells + corner for corner in ((0, 0), (1, 0), (1, 1), (0, 1))]
        joints = np.array([np.searchsorted(key, c[:, 0] * rows + c[:, 1]) for c in corners])
        lattice = self.skfem.MeshQuad2.from_mesh(self.skfem.MeshQuad(np.ascontiguousarray(used.T, dtype=float), joints))
        half = np.rint(2 * lattice.doflocs).astype(int)
        self.fe_mesh = self.skfem.MeshQuad2(np.ascontiguousarray(mesh.places_mm[half[0], half[1]].T), lattice.t)
        self.element = self.skfem.ElementVector(self.skfem.ElementQuad2())
        self.basis = self.skfem.Basis(self.fe_mesh, self.element, intorder=5)
        dofs = np.hstack([self.basis.nodal_dofs, self.basis.facet_dofs, self.basis.interior_dofs])
        self.dof = np.full((*mesh.places_mm.shape[:2], 2), -1)
        self.dof[half[0], half[1]] = dofs.T
        self.xy = np.empty((self.basis.N, 2))
        self.xy[self.dof[half[0], half[1]].ravel()] = np.repeat(mesh.places_mm[half[0], half[1]], 2, axis=0)
        self.matrix = self._stiffness(poisson, plane)

    def _stiffness(self, poisson: float, plane: Plane) -> Any:
        from skfem.models.elasticity import lame_parameters, linear_elasticity, plane_stress

        lame = plane_stress if plane is Plane.STRESS else lame_parameters
        return linear_elasticity(*lame(1.0, poisson)).assemble(self.basis).tocsr()

    def dofs(self, track: Array) -> Array:
        """Unknowns (len, 2) of a list of half-step positions."""
        return self.dof[track[:, 0], track[:, 1]]

    def surface_mm(self, track: Array) -> Array:
        """The two Gauss points of every element side along a track."""
        return _along_sides(self.mesh.along_mm(track), _SHAPE)

    def surface_strain(self, track: Array, displacement: Array) -> Array:
        """Strain along a free surface at the Gauss points, from displacements (N,) of all unknowns."""
        stretch = _along_sides(self.mesh.along_mm(track), _SLOPE)
        moved = _along_sides(displacement[self.dofs(track)], _SLOPE)
        return (stretch * moved).sum(axis=1) / (stretch**2).sum(axis=1)

    def surface_turn(self, track: Array, displacement: Array) -> Array:
        """Clockwise turn of a surface at the Gauss points, from displacements (N,) of all unknowns."""
        stretch = _along_sides(self.mesh.along_mm(track), _SLOPE)
        moved = _along_sides(displacement[self.dofs(track)], _SLOPE)
        return (stretch[:, 1] * moved[:, 0] - stretch[:, 0] * moved[:, 1]) / (stretch**2).sum(axis=1)

    def line_load(
        self, track: Array, component: int, weight: Callable[[Array], Array], per_height: bool = False
    ) -> Array:
        """Assembled ∫ weight·v ds along a track, v the displacement's ``component``; per height: ∫ … dy instead."""
        points, out = self.mesh.along_mm(track), np.zeros(self.basis.N)
        gauss, share = np.polynomial.legendre.leggauss(10)
        shape = np.column_stack((gauss * (gauss - 1) / 2, 1 - gauss**2, gauss * (gauss + 1) / 2))
        slope = np.column_stack((gauss - 0.5, -2 * gauss, gauss + 0.5))
        rate = _along_sides(points, slope)
        length = rate[:, 1] if per_height else np.hypot(*rate.T)
        part = (weight(_along_sides(points, shape)) * length).reshape(-1, len(gauss)) * share
        side = np.arange(len(part))[:, None] * 2 + np.arange(3)
        np.add.at(out, self.dofs(track)[side, component], part @ shape)
        return out


_GAUSS = np.array([-1.0, 1.0]) / np.sqrt(3.0)
_SHAPE = np.column_stack((_GAUSS * (_GAUSS - 1) / 2, 1 - _GAUSS**2, _GAUSS * (_GAUSS + 1) / 2))
_SLOPE = np.column_stack((_GAUSS - 0.5, -2 * _GAUSS, _GAUSS + 0.5))


def _along_sides(values: Array, weights: Array) -> Array:
    """Values (2E + 1, 2) at side nodes combined at two points a side, shape (2E, 2)."""
    triples = np.stack((values[:-2:2], values[1:-1:2], values[2::2]), axis=1)
    return np.einsum("gk,ekc->egc", weights, triples).reshape(-1, 2)


def solve_repeating(model: CellModel, pitch_mm: float, mid_mm: float) -> SectionFields:
    """Stretch and bend an endless strip of this cell; ``mid_mm`` is the height of mid-wall."""
    mesh, count = model.mesh, model.basis.N
    left, right = model.dofs(mesh.left), model.dofs(mesh.right)
    master = np.arange(count)
    master[right.ravel()] = left.ravel()
    kept = np.setdiff1d(np.arange(count), np.concatenate((right.ravel(), left[0])))
    column = np.full(count, -1)
    column[kept] = np.arange(len(kept))
    target = column[master]
    there = target >= 0
    spread = model.sparse.csr_matrix(
        (np.ones(there.sum()), (np.flatnonzero(there), target[there])), shape=(count, len(kept))
    )
    horizontal = np.zeros(count, dtype=bool)
    horizontal[model.dof[..., 0][model.dof[..., 0] >= 0]] = True
    x, height = model.xy[:, 0], model.xy[:, 1] - mid_mm
    given = np.column_stack((np.where(horizontal, x, 0.0), np.where(horizontal, x * height, -(x**2) / 2)))
    inside = (spread.T @ model.matrix @ spread).tocsc()
    load = -(spread.T @ (model.matrix @ given))
    repeat = model.solver.splu(inside, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0).solve(load)
    residual = float(np.abs(inside @ repeat - load).max() / np.abs(load).max())
    moved = given + spread @ repeat
    stiffness = moved.T @ (model.matrix @ moved) / (pitch_mm * model.wall_modulus)
    outer, inner = (
        np.column_stack([model.surface_strain(track, moved[:, k]) for k in (0, 1)])
        for track in (mesh.outer, mesh.inner)
    )
    return SectionFields(
        _even(stiffness),
        model.surface_mm(mesh.outer),
        outer,
        model.surface_mm(mesh.inner),
        inner,
        np.column_stack([model.surface_turn(mesh.inner, moved[:, k]) for k in (0, 1)]),
        residual,
    )


def solve_twist(model: CellModel, pitch_mm: float, mid_mm: float) -> Array:
    """Shear and twist of an endless plate of such pitches, teeth along its axis, for a shear modulus of one: (2, 2), per pitch.

    The plate is sheared by γ and twisted by κ along its axis: γ_xs = γ − 2 κ h + ∂φ/∂x, γ_ys = ∂φ/∂y with h the height above
    mid-wall and φ the axial displacement, which repeats from pitch to pitch. A plain wall has t and t³/3. Ends of the teeth
    are not in it. Source: Saint-Venant's torsion with a repeating warp, derived.
    """
    skfem = model.skfem
    basis = skfem.Basis(model.fe_mesh, skfem.ElementQuad2(), intorder=5)
    stiffness = skfem.BilinearForm(lambda u, v, w: u.grad[0] * v.grad[0] + u.grad[1] * v.grad[1]).assemble(basis)
    cases = (lambda w: 1.0 + 0.0 * w.x[1], lambda w: -2.0 * (w.x[1] - mid_mm))
    load = np.column_stack([skfem.LinearForm(lambda v, w, f=f: f(w) * v.grad[0]).assemble(basis) for f in cases])
    plain = np.array(
        [[skfem.Functional(lambda w, f=f, g=g: f(w) * g(w)).assemble(basis) for g in cases] for f in cases]
    )
    x, y = basis.doflocs
    ends = [np.flatnonzero(np.abs(x - end) < 1e-9 * pitch_mm) for end in (x.min(), x.max())]
    left, right = (end[np.argsort(y[end])] for end in ends)
    target = np.arange(len(x))
    target[right] = left
    kept = np.setdiff1d(np.arange(len(x)), np.append(right, left[0]))
    column = np.full(len(x), -1)
    column[kept] = np.arange(len(kept))
    there = column[target] >= 0
    shape = (len(x), len(kept))
    spread = model.sparse.csr_matrix(
        (np.ones(there.sum()), (np.flatnonzero(there), column[target][there])), shape=shape
    )
    pushed = spread.T @ load
    warp = model.solver.splu((spread.T @ stiffness @ spread).tocsc()).solve(pushed)
    return _even(plain - pushed.T @ warp) / pitch_mm


def _section_means(model: CellModel, track: Array) -> Array:
    """Columns (N, 3) that read a section's mean displacement along x, its slope (anticlockwise turn) and its displacement
    along y weighted by a beam's shear stress."""
    heights = model.mesh.along_mm(track)[:, 1]
    low, size = heights[0], heights[-1] - heights[0]

    def eta(points: Array) -> Array:
        return 2 * (points[:, 1] - low) / size - 1

    return np.column_stack(
        (
            model.line_load(track, 0, lambda p: np.full(len(p), 1 / size), per_height=True),
            model.line_load(track, 0, lambda p: -6 * eta(p) / size**2, per_height=True),
            model.line_load(track, 1, lambda p: 1.5 * (1 - eta(p) ** 2) / size, per_height=True),
        )
    )


def solve_held(model: CellModel, load_height_mm: float, half_mm: float) -> HeldFields:
    """Unit forces on the right flank, spread smoothly over ``load_height_mm`` ± ``half_mm``, ends held."""
    mesh = model.mesh
    load, push = _flank_forces(model, load_height_mm, half_mm)
    across, up = model.xy.T
    arm = np.array([load[:, 0] @ across, load[:, 0] @ up])
    ends = np.hstack([_section_means(model, track) for track in (mesh.left, mesh.right)])
    moved, residual = _held(model, model.matrix, ends, load)
    outer, inner = (
        np.column_stack([model.surface_strain(one, moved[:, k]) for k in (0, 1)]) * model.wall_modulus
        for one in (mesh.outer, mesh.inner)
    )
    tie = _rigid_tooth(model)
    stiff, more = _held(model, tie.T @ model.matrix @ tie, tie.T @ ends, tie.T @ load)
    rigid = (tie.T @ load).T @ stiff
    return HeldFields(_even(load.T @ moved), _even(rigid), arm, push, outer, inner, max(residual, more))


def solve_sheared(model: CellModel) -> tuple[Array, Array]:
    """Stress along outline (P,) and inner surface (Q,) of a pitch whose right end is shifted outward against its left one by one,
    both unturned: its moment rises evenly from end to end and has no mean."""
    mesh = model.mesh
    ends = np.hstack([_section_means(model, track) for track in (mesh.left, mesh.right)])
    shift = np.zeros((ends.shape[1], 1))
    shift[[2, 5], 0] = -0.5, 0.5
    moved, _ = _held(model, model.matrix, ends, np.zeros((model.basis.N, 1)), shift)
    outer, inner = (model.surface_strain(track, moved[:, 0]) * model.wall_modulus for track in (mesh.outer, mesh.inner))
    return outer, inner


def _flank_forces(model: CellModel, load_height_mm: float, half_mm: float) -> tuple[Array, Array]:
    """Unit tangential and radial force on the right flank, (N, 2), with the weight (1 − z²)² over the patch's height, and the
    mean direction (2,) into the flank with the same weight."""
    track = model.mesh.outer
    heights = model.mesh.along_mm(track)[:, 1]
    crest = int(np.flatnonzero(heights >= heights.max() - 1e-9)[-1])
    flank = track[crest - crest % 2 :]

    def weight(points: Array) -> Array:
        z = (points[:, 1] - load_height_mm) / half_mm
        return np.where(np.abs(z) < 1, (1 - z**2) ** 2, 0.0)

    load = np.column_stack([model.line_load(flank, component, weight) for component in (0, 1)])
    points = model.mesh.along_mm(flank)
    along = weight(_along_sides(points, _SHAPE)) @ _along_sides(points, _SLOPE)
    return load / load[:, 0].sum(), np.array([along[1], -along[0]]) / float(np.hypot(*along))


def _held(model: CellModel, matrix: Any, ends: Array, load: Array, shift: Array | None = None) -> tuple[Array, float]:
    """Displacements under loads with the six end means kept at zero, or at ``shift``, and the largest residual."""
    columns = model.sparse.csc_matrix(ends)
    whole = model.sparse.bmat([[matrix, columns], [columns.T, None]]).tocsc()
    right = np.vstack((load, np.zeros((ends.shape[1], load.shape[1])) if shift is None else shift))
    answer = model.solver.splu(whole).solve(right)
    return answer[: len(load)], float(np.abs(whole @ answer - right).max() / np.abs(right).max())


def _rigid_tooth(model: CellModel) -> Any:
    """Columns that move the wall freely and the tooth, its seam included, as one rigid body."""
    tooth = model.dofs(model.mesh.tooth)
    free = np.setdiff1d(np.arange(model.basis.N), tooth.ravel())
    places = model.mesh.along_mm(model.mesh.tooth)
    one, none = np.ones(len(places)), np.zeros(len(places))
    turn = places - places.mean(axis=0)
    body = np.stack((np.column_stack((one, none, -turn[:, 1])), np.column_stack((none, one, turn[:, 0]))), axis=1)
    rows = np.concatenate((free, np.repeat(tooth.ravel(), 3)))
    columns = np.concatenate((np.arange(len(free)), len(free) + np.tile(np.arange(3), tooth.size)))
    values = np.concatenate((np.ones(len(free)), body.ravel()))
    return model.sparse.csr_matrix((values, (rows, columns)), shape=(model.basis.N, len(free) + 3))


def _even(matrix: Array) -> Array:
    """A matrix that is symmetric but for rounding, made exactly so."""
    return (matrix + matrix.T) / 2


def uneven_rim_share(
    arm_mm: Array, neutral_mm: float, span_mm: float, axial_mm: float, bending_mm3: float, place_mm: Array, turn: Array
) -> Array:
    """As :func:`rim_share` for a beam that bends unevenly: ``turn`` (K,) its sections' turn under an even moment at
    ``place_mm`` (K,) −L/2 … L/2, rising by ``span_mm`` in all. Source: force method, derived.
    """
    middle, give = 0.5 * (place_mm[1:] + place_mm[:-1]), np.diff(turn) / bending_mm3
    behind = (middle < 0.0).astype(float)
    # moments in a beam clamped on the left: lift and couple at its middle, lift and couple at its right end
    moment = np.stack((-middle * behind, behind, 0.5 * span_mm - middle, np.ones(len(middle))))
    whole = (moment * give) @ moment.T
    middle_give = whole[:2, :2] - whole[:2, 2:] @ np.linalg.solve(whole[2:, 2:], whole[2:, :2])
    # a force (tangential, radial) on the arm as lift and couple
    spread = np.array([[0.0, 1.0], [-(arm_mm[1] - neutral_mm), arm_mm[0]]])
    return np.diag([span_mm / (4 * axial_mm), 0.0]) + spread.T @ middle_give @ spread


def rim_share(arm_mm: Array, neutral_mm: float, span_mm: float, axial_mm: float, bending_mm3: float) -> Array:
    """Displacement (2, 2) that a slender clamped beam gives at a rigid arm on its middle, per unit force and modulus one.

    Clamped at both ends over ``span_mm``: u = F L/(4 EA), w = F L³/(192 EI), slope = m L/(16 EI) (textbook beam tables,
    derived again from the beam equation). ``axial_mm`` and ``bending_mm3`` are EA and EI over Young's modulus.
    """
    turn_arm = np.array([-(arm_mm[1] - neutral_mm), arm_mm[0]])
    straight = np.diag([span_mm / (4 * axial_mm), span_mm**3 / (192 * bending_mm3)])
    return straight + np.outer(turn_arm, turn_arm) * span_mm / (16 * bending_mm3)
