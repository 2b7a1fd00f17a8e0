"""The tooth cell: what one pitch of a printed or metal flexible ring adds to its plain wall.

One pitch is solved in two dimensions by finite elements, as a repeating strip (stiffness, neutral line, root stress) and
held at its ends (tooth under a flank force). Everything is per unit width and per unit modulus, so answers scale with
Young's modulus and width exactly. Heights are tooth coordinates: above the neutral line that the ring's geometry assumes.

Assumptions: plane stress or plane strain, linear, isotropic, small strain; the pitch is drawn straight (errors of the order
of wall over radius); faces of the width are alike. Belts are refused: their cord and rubber are measured, not computed.
Sources: plane elasticity and beam theory, derived; figures it was checked with are listed in the theory page.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Protocol

import numpy as np

from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.errors import DesignFault, Fault
from lobewright.ring.cell_mesh import CellPlan, plan_cell
from lobewright.ring.cell_outline import SmoothOutline
from lobewright.ring.cell_solve import (
    CellModel,
    HeldFields,
    Plane,
    SectionFields,
    rim_share,
    solve_held,
    solve_repeating,
    solve_twist,
    uneven_rim_share,
)
from lobewright.ring.geometry import ring_geometry

Array = np.ndarray

PATCH_SHARE = 0.25
"""Half height of the flank patch that carries the unit force, of the tooth's height."""
LOAD_FROM, LOAD_TO = 0.3, 0.75
"""Where in the tooth's height the middle of that patch may lie."""
SEEN_EDGE_RAD = math.radians(3.0)
"""Turn between one pitch and the next from which a caution is given."""
KEPT = 64
"""Cells kept in memory."""


class Outline(Protocol):
    """What the cell needs of a tooth outline; the outlines of the room ``mesh`` have it."""

    @property
    def teeth(self) -> int: ...
    @property
    def pitch_mm(self) -> float: ...
    @property
    def points_mm(self) -> Array: ...


@dataclass(frozen=True)
class SurfaceStress:
    """Stress along one surface of the cell, tension positive; arrays read-only, same order, left to right.

    ``points_mm`` (P, 2) in tooth coordinates. Stress [MPa] for a load of one per unit width: ``per_moment_1_per_mm2`` (P,) for
    1 N·mm/mm about the neutral line, positive where the ring is bent sharper; ``per_force_1_per_mm`` (P,) for 1 N/mm of hoop
    tension in the neutral line; ``per_flank_1_per_mm`` (P, 2) for 1 N/mm on the right flank, tangential (anticlockwise) and
    radial (outward), rim held: to be added to the stresses of the *mean* moment and tension over the pitch. Under the loaded
    patch the last lacks the part that the flank's own pressure makes.
    """

    points_mm: Array
    per_moment_1_per_mm2: Array
    per_force_1_per_mm: Array
    per_flank_1_per_mm: Array

    def stress_mpa(self, moment_nmm: float, tension_n: float, flank_n: tuple[float, float], width_mm: float) -> Array:
        """Surface stress (P,) of a ring of some width under moment, hoop tension and flank force."""
        loads = self.per_moment_1_per_mm2 * moment_nmm + self.per_force_1_per_mm * tension_n
        return (loads + self.per_flank_1_per_mm @ np.asarray(flank_n)) / width_mm


@dataclass(frozen=True)
class RootStress:
    """Peak stress at the tooth side over the plain wall's nominal stress.

    ``bending``: peak |σ| in pure bending over 6 M/t², M about the neutral line. ``stretch``: peak |σ| under tension in the
    neutral line over N/t. ``flank`` (2,): peak |σ|, away from the loaded patch, under a tangential and a radial
    flank force over force/(width·pitch).
    ``bending_inner``, ``stretch_inner``: the same for the inner surface. ``bending_at_mm``, ``stretch_at_mm``: places (x, y).
    """

    bending: float
    stretch: float
    flank: tuple[float, float]
    bending_inner: float
    stretch_inner: float
    bending_at_mm: tuple[float, float]
    stretch_at_mm: tuple[float, float]


@dataclass(frozen=True)
class ToothGive:
    """What a tooth gives under a force on its right flank, per unit width and modulus (dimensionless, arrays (2, 2), symmetric).

    Rows and columns: tangential, radial. Displacement in mm = matrix · force / (modulus · width). ``held``: whole cell, end
    sections held. ``body``: less the same with a rigid tooth on the same wall; never negative. ``beam``: what a slender beam of
    the cell's own EI and EA, clamped at both ends, gives to a rigid tooth on its middle. ``series`` = held − beam, with
    directions in which it is negative set to zero: what to put between a beam ring and a flank. ``below_beam`` is the most
    negative value that was set to zero (0 when none was). ``load_height_mm``, ``load_x_mm``: where the force acts.
    ``lacking`` = held − the same beam with its bending spread along the pitch as the cell's is (:meth:`ToothCell.turn_shares`):
    what an uneven beam ring lacks. ``push`` (2,): direction in which a flank is pushed there, inward and across.
    """

    held: Array
    body: Array
    beam: Array
    series: Array
    below_beam: float
    load_height_mm: float
    load_x_mm: float
    lacking: Array
    push: Array

    @property
    def shift_give(self) -> float:
        """Tangential shift of a whole tooth that frees its flank as much as ``lacking`` does under a push square to the
        flank, per force across the tooth: dimensionless, over modulus and width."""
        return float(self.push @ self.lacking @ self.push / self.push[0] ** 2)


@dataclass(frozen=True)
class CellErrors:
    """Refinement error estimates of the finer mesh, relative except ``neutral_mm``.

    Two meshes, one with elements half the size of the other, differ by d. Stiffness and give take d/3 (second order; smooth
    outlines converge at fourth), or d where a sharp hollow makes it first order. Stresses take d: ``stress`` of the bending and
    stretch peaks, ``flank_stress`` of the peaks under a flank force.
    """

    axial: float
    bending: float
    neutral_mm: float
    stress: float
    flank_stress: float
    give: float


@dataclass(frozen=True)
class ToothCell:
    """One pitch of the flexible ring as a section.

    ``axial_ratio`` and ``bending_ratio``: EA and EI over the plain wall's t and t³/12 (same plane state on both sides, so the
    ratios do not depend on ν). ``twist_ratio``: stiffness against twist along the teeth, free of shear, over the plain wall's
    G t³/3. ``neutral_height_mm``: where pure bending gives no stretch, above mid-wall;
    ``mid_wall_mm``: height of mid-wall in tooth coordinates. ``section`` (2, 2): N, M about mid-wall from strain, curvature, per
    unit width and wall modulus: [[mm, mm²], [mm², mm³]]. ``turn_place``, ``turn_share`` (K,), both −½ … ½: how much of the turn
    under an even moment lies below a place in the pitch, counted from the tooth's middle. ``root`` is None where a hollow of
    the outline is sharp: its peak stress has no bound. ``residual``: largest of the linear solutions; ``unknowns``: of the
    finer mesh.
    """

    teeth: int
    pitch_mm: float
    wall_mm: float
    tooth_height_mm: float
    mid_wall_mm: float
    plane: Plane
    poisson: float
    axial_ratio: float
    bending_ratio: float
    twist_ratio: float
    neutral_height_mm: float
    section: Array
    outer: SurfaceStress
    inner: SurfaceStress
    root: RootStress | None
    tooth: ToothGive
    turn_place: Array
    turn_share: Array
    errors: CellErrors
    residual: float
    unknowns: int
    cautions: tuple[str, ...]

    def wall_modulus_mpa(self, modulus_mpa: float) -> float:
        """E in plane stress, E/(1 − ν²) in plane strain."""
        return modulus_mpa * self.plane.modulus_factor(self.poisson)

    def axial_stiffness_n(self, modulus_mpa: float, width_mm: float) -> float:
        """EA of a ring of this width."""
        return self.wall_modulus_mpa(modulus_mpa) * width_mm * self.wall_mm * self.axial_ratio

    def bending_stiffness_nmm2(self, modulus_mpa: float, width_mm: float) -> float:
        """EI of a ring of this width about the neutral line."""
        return self.wall_modulus_mpa(modulus_mpa) * width_mm * self.wall_mm**3 / 12 * self.bending_ratio

    def bending_shares(self, parts: int) -> Array:
        """Bending stiffness (parts,) of equal parts of a pitch over its mean, from one tooth's middle to the next."""
        edge = np.arange(parts + 1) / parts
        lap = np.floor(edge + 0.5)
        turn = np.interp(edge - lap, self.turn_place, self.turn_share) + lap
        return 1.0 / (parts * np.diff(turn))

    def series_give_mm_per_n(self, modulus_mpa: float, width_mm: float) -> Array:
        """Tooth give (2, 2) to put in series with a beam ring, tangential and radial."""
        return self.tooth.series / (modulus_mpa * width_mm)


@dataclass(frozen=True)
class PlaneAdvice:
    """Which plane state fits a ring: ``figure`` is b²/(R t), ``reason`` one sentence."""

    plane: Plane
    figure: float
    reason: str


def plane_advice(design: m.Design) -> PlaneAdvice:
    """Plane state of the ring's rim from b²/(R t); b width, R radius, t wall.

    Source: bending of wide strips (beam below about 1, plate above about 10), common practice; a rim tied to a barrel
    keeps its width.
    """
    ring = _toothed(design)
    geometry = ring_geometry(design)
    figure = ring.width_mm**2 / (geometry.neutral_radius_mm * ring.wall_mm)
    if isinstance(ring, m.Cup):
        return PlaneAdvice(
            Plane.STRAIN, figure, "the rim is tied to the barrel, which keeps its width: it bends as a plate"
        )
    number = f"b²/(R·t) = {figure:.2g}"
    if figure >= 10:
        return PlaneAdvice(Plane.STRAIN, figure, f"{number}, above 10: a wide ring bends as a plate")
    if figure <= 1:
        return PlaneAdvice(Plane.STRESS, figure, f"{number}, below 1: a narrow ring bends as a beam")
    plane = Plane.STRAIN if figure > math.sqrt(10) else Plane.STRESS
    return PlaneAdvice(plane, figure, f"{number}, between 1 and 10: neither beam nor plate, the nearer is taken")


def _toothed(design: m.Design) -> m.ModuleRing:
    ring = design.flexible_ring
    if isinstance(ring, m.ModuleRing):
        return ring
    what = "a belt has no tooth cell: its stiffness comes from cord and rubber and is measured or given as a range"
    raise DesignFault(
        [Fault(what, "flexible_ring.kind", value="belt", allowed="printed_ring, printed_cup or metal_cup")]
    )


def tooth_cell(
    design: m.Design,
    outline: Outline,
    plane: Plane = Plane.STRESS,
    poisson: float | None = None,
    coarse: bool = False,
) -> ToothCell:
    """Cell of the tooth row whose outline is given (``mesh.teeth.tooth_outline(design, row)``).

    ``poisson`` is taken from the middle of the material's range unless given; only the tooth's give depends on it. The same
    content is solved once and kept in memory. A sixth of a second; a third of that ``coarse``, see :func:`solve_cell`.

    Raises DesignFault for a belt, or an outline that cannot be meshed; PlatformFault without the extra ``fe``.
    """
    ring = _toothed(design)
    geometry = ring_geometry(design)
    ratio = sum(_poisson_range(ring)) / 2 if poisson is None else poisson
    return cell_of_outline(
        outline.points_mm,
        outline.teeth,
        -geometry.inner_offset_mm,
        geometry.pitch_height_mm,
        float(ratio),
        Plane(plane),
        coarse,
    )


def cell_of_outline(
    points_mm: Array,
    teeth: int,
    bottom_mm: float,
    force_height_mm: float,
    poisson: float,
    plane: Plane,
    coarse: bool = False,
) -> ToothCell:
    """As :func:`solve_cell`; the same content is solved once and kept in memory."""
    points = np.ascontiguousarray(points_mm, dtype=float)
    return _kept_cell(points.tobytes(), teeth, bottom_mm, force_height_mm, poisson, plane, coarse)


def _poisson_range(ring: m.ModuleRing) -> tuple[float, float]:
    found = catalogue.material(ring.material).poisson
    return (found[0], found[1])


@lru_cache(maxsize=KEPT)
def _kept_cell(
    points: bytes, teeth: int, bottom_mm: float, pitch_mm: float, poisson: float, plane: Plane, coarse: bool
) -> ToothCell:
    return solve_cell(np.frombuffer(points).reshape(-1, 2), teeth, bottom_mm, pitch_mm, poisson, plane, coarse)


def solve_cell(
    points_mm: Array,
    teeth: int,
    bottom_mm: float,
    force_height_mm: float,
    poisson: float,
    plane: Plane,
    coarse: bool = False,
) -> ToothCell:
    """Cell between an outline (N, 2) of one pitch and the inner surface at height ``bottom_mm``; nothing is kept.

    ``coarse`` keeps to the first of the two meshes, for looks while a design is being moved: its errors are not known (NaN).
    """
    plan = plan_cell(points_mm, bottom_mm)
    if plan.blocks is None:
        what = "the outline has no tooth: no flank rises more steeply than 40° on both sides"
        raise DesignFault([Fault(what, "tooth", allowed="an outline with one tooth a pitch")])
    heights = plan.curve.place_mm[:, 1]
    land, tip = float(heights.min()), float(heights.max())
    height = min(max(force_height_mm, land + LOAD_FROM * (tip - land)), land + LOAD_TO * (tip - land))
    levels = [
        _solved(plan, cut, (land + bottom_mm) / 2, height, PATCH_SHARE * (tip - land), poisson, plane)
        for cut in ((1,) if coarse else (1, 2))
    ]
    fine = levels[-1]
    first_order = plan.curve.sharpest_hollow_rad > 0.0
    cautions = _cautions(plan.curve, fine, force_height_mm, height)
    wall = land - bottom_mm
    turn_place, turn_share = fine.turn_shares
    return ToothCell(
        teeth,
        fine.pitch_mm,
        wall,
        tip - land,
        (land + bottom_mm) / 2,
        plane,
        poisson,
        fine.axial_mm / wall,
        fine.bending_mm3 * 12 / wall**3,
        fine.twist_mm3 * 3 / wall**3,
        fine.neutral_mm,
        _sealed(fine.repeating.stiffness),
        fine.surface(outer=True),
        fine.surface(outer=False),
        _root(fine, wall) if plan.curve.sharpest_hollow_rad == 0.0 else None,
        fine.give,
        _sealed(turn_place),
        _sealed(turn_share),
        CellErrors(*[math.nan] * 6) if coarse else _errors(levels[0], fine, first_order),
        max(fine.repeating.residual, fine.held.residual),
        fine.unknowns,
        cautions,
    )


@dataclass(frozen=True)
class _Level:
    """Answers of one mesh."""

    pitch_mm: float
    mid_mm: float
    repeating: SectionFields
    twist: Array
    held: HeldFields
    unknowns: int
    plane: Plane
    poisson: float
    clear_below_mm: float

    @property
    def axial_mm(self) -> float:
        return float(self.repeating.stiffness[0, 0])

    @property
    def neutral_mm(self) -> float:
        """Height of the neutral line above mid-wall: moment of a pure stretch over its force."""
        return float(self.repeating.stiffness[0, 1]) / self.axial_mm

    @property
    def bending_mm3(self) -> float:
        return float(self.repeating.stiffness[1, 1]) - self.neutral_mm**2 * self.axial_mm

    @property
    def twist_mm3(self) -> float:
        """Twist that shears the plate as a whole not at all."""
        return float(self.twist[1, 1] - self.twist[0, 1] ** 2 / self.twist[0, 0])

    @property
    def give(self) -> ToothGive:
        factor = self.plane.modulus_factor(self.poisson)
        neutral = self.mid_mm + self.neutral_mm
        beam = rim_share(self.held.arm_mm, neutral, self.pitch_mm, self.axial_mm * factor, self.bending_mm3 * factor)
        left = self.held.displacement - beam
        values, directions = np.linalg.eigh(left)
        place, turn = (self.pitch_mm * share for share in self.turn_shares)
        axial, bending = self.axial_mm * factor, self.bending_mm3 * factor
        uneven = uneven_rim_share(self.held.arm_mm, neutral, self.pitch_mm, axial, bending, place, turn)
        series = directions @ np.diag(np.maximum(values, 0.0)) @ directions.T
        return ToothGive(
            _sealed(self.held.displacement),
            _sealed(self.held.displacement - self.held.rigid),
            _sealed(beam),
            _sealed(series),
            float(min(values[0], 0.0)),
            float(self.held.arm_mm[1]),
            float(self.held.arm_mm[0]),
            _sealed(self.held.displacement - uneven),
            _sealed(self.held.push),
        )

    @property
    def turn_shares(self) -> tuple[Array, Array]:
        """Where in the pitch (−½ … ½ from the tooth's middle) an even moment turns it, as shares of its whole turn.

        Read off the inner surface, on which a generator bears.
        """
        fields = self.repeating
        turn = fields.inner_turn[:, 1] - self.neutral_mm * fields.inner_turn[:, 0]
        place = (fields.inner_mm[:, 0] - fields.inner_mm[:, 0].mean()) / self.pitch_mm
        ends = 0.5 * (turn[0] + turn[-1] - self.pitch_mm * (place[0] + place[-1]))
        share = (turn - ends) / self.pitch_mm
        return np.concatenate(([-0.5], place, [0.5])), np.concatenate(([-0.5], share, [0.5]))

    def surface(self, outer: bool) -> SurfaceStress:
        """Stresses along the outline or the inner surface, for loads of one."""
        fields, held = self.repeating, self.held
        points = fields.outer_mm if outer else fields.inner_mm
        unit = fields.outer_stress if outer else fields.inner_stress
        bent = (unit[:, 1] - self.neutral_mm * unit[:, 0]) / self.bending_mm3
        flank = held.outer_stress if outer else held.inner_stress
        return SurfaceStress(_sealed(points), _sealed(bent), _sealed(unit[:, 0] / self.axial_mm), _sealed(flank))


def _sealed(values: Array) -> Array:
    """A copy that cannot be written to."""
    out = np.array(values)
    out.setflags(write=False)
    return out


def _solved(
    plan: CellPlan, cut: int, mid_mm: float, height_mm: float, half_mm: float, poisson: float, plane: Plane
) -> _Level:
    model = CellModel(plan.mesh(cut), poisson, plane)
    ends = plan.curve.points_mm[[0, -1], 0]
    pitch = float(ends[1] - ends[0])
    repeating = solve_repeating(model, pitch, mid_mm)
    held = solve_held(model, height_mm, half_mm)
    twist = solve_twist(model, pitch, mid_mm)
    return _Level(pitch, mid_mm, repeating, twist, held, model.basis.N, plane, poisson, height_mm - 1.5 * half_mm)


def _flank_peaks(level: _Level) -> Array:
    """Largest stress on the outline under each flank force, on the other flank's side and well below the loaded patch."""
    outer = level.surface(outer=True)
    x, y = outer.points_mm.T
    apart = (y < level.clear_below_mm) | ((x < x[y.argmax()]) & (y < level.held.arm_mm[1]))
    return np.abs(outer.per_flank_1_per_mm[apart]).max(axis=0)


def _root(level: _Level, wall_mm: float) -> RootStress:
    outer, inner = level.surface(outer=True), level.surface(outer=False)
    bent, pulled = np.abs(outer.per_moment_1_per_mm2), np.abs(outer.per_force_1_per_mm)
    flank = _flank_peaks(level) * level.pitch_mm
    nominal = wall_mm**2 / 6
    at, over = outer.points_mm[bent.argmax()], outer.points_mm[pulled.argmax()]
    return RootStress(
        float(bent.max()) * nominal,
        float(pulled.max()) * wall_mm,
        (float(flank[0]), float(flank[1])),
        float(np.abs(inner.per_moment_1_per_mm2).max()) * nominal,
        float(np.abs(inner.per_force_1_per_mm).max()) * wall_mm,
        (float(at[0]), float(at[1])),
        (float(over[0]), float(over[1])),
    )


def _errors(coarse: _Level, fine: _Level, first_order: bool) -> CellErrors:
    share = 1.0 if first_order else 1 / 3

    def peaks(level: _Level) -> Array:
        outer = level.surface(outer=True)
        return np.abs([outer.per_moment_1_per_mm2, outer.per_force_1_per_mm]).max(axis=1)

    def change(a: Array, b: Array) -> float:
        return float(np.abs(a / b - 1).max())

    give = np.abs(coarse.give.held - fine.give.held).max() / np.abs(fine.give.held).max()
    return CellErrors(
        share * abs(coarse.axial_mm / fine.axial_mm - 1),
        share * abs(coarse.bending_mm3 / fine.bending_mm3 - 1),
        share * abs(coarse.neutral_mm - fine.neutral_mm),
        change(peaks(coarse), peaks(fine)),
        change(_flank_peaks(coarse), _flank_peaks(fine)),
        share * float(give),
    )


def _cautions(curve: SmoothOutline, fine: _Level, wanted_mm: float, height_mm: float) -> tuple[str, ...]:
    out = []
    if curve.sharpest_hollow_rad > 0.0:
        turn = math.degrees(curve.sharpest_hollow_rad)
        out.append(
            f"a hollow of the tooth outline is sharp (turn {turn:.0f}°): its peak stress has no bound and none is given"
        )
    elif curve.edge_between_rad > SEEN_EDGE_RAD:
        turn = math.degrees(curve.edge_between_rad)
        out.append(
            f"root roundings of neighbouring teeth meet at an edge (turn {turn:.0f}°) in the middle of the space: "
            f"the peak stress there has no bound, though it grows slowly as the mesh gets finer"
        )
    if abs(wanted_mm - height_mm) > 1e-9:
        out.append(
            f"the flank force stands at height {height_mm:.4g} mm, not at the pitch height {wanted_mm:.4g} mm, "
            f"which is too near to the tooth's end"
        )
    if fine.give.below_beam < 0.0:
        out.append(
            "the tooth's foot stiffens so much of the pitch that a beam ring with rigid teeth already gives more than the cell "
            "in one direction; the tooth's own give is taken as zero there"
        )
    return tuple(out)
