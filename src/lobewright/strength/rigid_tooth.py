"""Teeth of a rigid ring as short cantilevers of their own outline, and its rim as a bare thin ring.

The tooth is the land between two spaces. At every depth below its tip it is a beam section of the land's thickness: bending
from the sideways push, pressure and bending from the push along the tooth, mean shear; the worst section counts. Where on its
flank the push acts is not known to a point: it lies between the ring's tip (or the lowest place that the flexible tooth's flank
covers) and as deep as the flexible tip reaches, and this range is part of the band. Left out: the notch of the root fillet,
uneven load along the face (part of the load's band), wear. Source: beam theory, derived.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lobewright.design import model as m
from lobewright.errors import DesignFault, Fault
from lobewright.mesh.space import ToothSpace
from lobewright.strength.items import NotMade, SafetyItem, Span
from lobewright.strength.material import StrengthData
from lobewright.strength.rigid_part import STANDING_LOAD, Check, exactly, joined
from lobewright.torque.inputs import RowInput
from lobewright.torque.results import LoadShare, RowLoad

Array = NDArray[np.float64]

TOOTH_SPREAD = 1.3
"""Factor either way, 90 %, of the most loaded tooth's force: between that of the teeth in load (1.15) and of the flank pressure
(1.5) of the loaded ring; a judgement, nothing of it is measured."""
FLANK_FROM, TIP_FROM = 0.05, 0.85
"""Shares of the flexible tooth's height from which a contact is told as on the flank and at the tip (as in the loaded ring)."""
DERIVED = ("derived_here",)


@dataclass(frozen=True)
class ToothSections:
    """A tooth from its tip to its root: ``depth_mm`` (K,) rising, ``thickness_mm`` (K,) there, face ``width_mm``.

    Raises DesignFault unless depths rise and everything else is above 0.
    """

    depth_mm: Array
    thickness_mm: Array
    width_mm: float

    def __post_init__(self) -> None:
        depth, thick = np.asarray(self.depth_mm, float), np.asarray(self.thickness_mm, float)
        good = depth.ndim == 1 and depth.shape == thick.shape and len(depth) >= 2 and self.width_mm > 0.0
        good = good and bool((np.diff(depth) > 0.0).all() and (thick > 0.0).all() and np.isfinite(thick).all())
        if not good:
            allowed = "rising depths, thicknesses and a face above 0 mm"
            raise DesignFault([Fault("this is no tooth", "sections", 0, f"{len(depth)} sections", allowed)])


@dataclass(frozen=True)
class ToothStress:
    """The worst section: ``equivalent_mpa`` (von Mises) at its worse edge, of ``edge_mpa`` (size of the stress along the tooth)
    and ``shear_mpa`` (mean); where it lies."""

    equivalent_mpa: float
    edge_mpa: float
    shear_mpa: float
    depth_mm: float
    thickness_mm: float


def sections_of(space: ToothSpace, width_mm: float) -> ToothSections:
    """The tooth between two spaces: its chord at every radius from the tip circle to where the flanks turn into the root."""
    angle = space.land_mm / space.radius_mm
    return ToothSections(space.radius_mm - space.tip_radius_mm, 2.0 * space.radius_mm * np.sin(0.5 * angle), width_mm)


def tooth_stress(sections: ToothSections, sideways_n: float, along_n: float, load_depth_mm: float) -> ToothStress:
    """Worst section of a tooth under a push on its flank at a depth below its tip.

    ``sideways_n`` ≥ 0 bends it; ``along_n`` is positive into the root and acts on the loaded flank, half a thickness off the
    middle: it presses the section and takes bending away, or pulls and adds to it. A load above the tip (negative depth) is a
    force with a couple. Raises DesignFault for a load below the last section.
    """
    depth, thick = sections.depth_mm, sections.thickness_mm
    if not load_depth_mm < depth[-1] or not sideways_n >= 0.0:
        value, allowed = f"{load_depth_mm:g} mm deep, {sideways_n:g} N", f"above {depth[-1]:g} mm, 0 N or more"
        raise DesignFault([Fault("this load does not bend the tooth", "load_depth_mm", 0, value, allowed)])
    below = depth >= load_depth_mm
    arm, thick, depth = depth[below] - load_depth_mm, thick[below], depth[below]
    offset = 0.5 * float(np.interp(max(load_depth_mm, 0.0), sections.depth_mm, sections.thickness_mm))
    moment = sideways_n * arm - along_n * offset
    bending = 6.0 * moment / (sections.width_mm * thick**2)
    press = along_n / (sections.width_mm * thick)
    edge = np.maximum(np.abs(bending - press), np.abs(bending + press))
    shear = sideways_n / (sections.width_mm * thick)
    equivalent = np.hypot(edge, math.sqrt(3.0) * shear)
    worst = int(equivalent.argmax())
    return ToothStress(*(float(one[worst]) for one in (equivalent, edge, shear, depth, thick)))


@dataclass(frozen=True)
class _Worst:
    """Stress of the worst tooth with the load as deep as it may lie, half way, and as near the tip as it may lie."""

    stresses: tuple[ToothStress, ToothStress, ToothStress]
    depths_mm: tuple[float, float, float]
    sideways_n: float
    along_n: float
    label_deg: float

    @property
    def span_mpa(self) -> Span:
        """Band of the equivalent stress over the load's place; the largest of the three bounds it above."""
        low, middle, high = (one.equivalent_mpa for one in self.stresses)
        return Span(min(low, middle), middle, max(low, middle, high))


def _depths(row: RowInput, load: RowLoad, tooth: int, last: float) -> tuple[float, float, float]:
    """Depths below the ring's tip at which a tooth's push may act: deepest, middle, nearest to the tip."""
    outline, tip = row.outline, row.space.tip_radius_mm
    label = np.asarray(load.section_label_deg)
    order = np.argsort(label)
    radius = np.hypot(load.positions_mm[:, 0], load.positions_mm[:, 1])[order]
    neutral = float(np.interp(load.label_deg[tooth], label[order], radius, period=360.0))
    place = load.place[tooth]
    least = {"tip": TIP_FROM, "land": 0.0}.get(place, FLANK_FROM)
    most = 0.0 if place == "land" else 1.0
    ground = neutral + outline.land_height_mm - tip
    near = min(max(ground + least * outline.height_mm, 0.0), last)
    deep = min(max(ground + most * outline.height_mm, near), last)
    return deep, 0.5 * (deep + near), near


def worst_tooth(row: RowInput, load: RowLoad) -> _Worst | None:
    """The tooth of a row that suffers most, None where none is loaded."""
    sections = sections_of(row.space, row.width_mm)
    last = float(sections.depth_mm[-2])
    found = None
    for tooth in np.flatnonzero(load.force_n > 0.01 * load.force_n.max(initial=0.0)):
        # a push inward on the flexible tooth is one outward on the rigid one: into its root
        sideways, along = abs(float(load.tangential_n[tooth])), -float(load.outward_n[tooth])
        depths = _depths(row, load, int(tooth), last)
        stresses = tuple(tooth_stress(sections, sideways, along, depth) for depth in depths)
        one = _Worst(stresses, depths, sideways, along, float(load.label_deg[tooth]))  # type: ignore[arg-type]
        if found is None or one.span_mpa.middle > found.span_mpa.middle:
            found = one
    return found


def tooth_item(
    ring: m.RigidRing, row: RowInput, shares: tuple[LoadShare, ...], index: int, factor: float, data: StrengthData
) -> SafetyItem | NotMade:
    """The most loaded tooth of one ring (row ``index``) over all shares, forces times ``factor``; ``data`` in the direction in
    which the tooth is bent."""
    name, title = f"rigid_tooth:{ring.name}", f"Teeth of rigid ring {ring.name}"
    nothing = Check(name, title, "", "", ())
    if row.space.least_land_mm <= 0.0:
        return nothing.not_made("neighbouring tooth spaces run into each other, there is no tooth to judge")
    found = [worst for share in shares if (worst := worst_tooth(row, share.rows[index])) is not None]
    if not found:
        return nothing.not_made("no tooth is loaded at any torque that was solved")
    worst = max(found, key=lambda one: one.span_mpa.middle)
    span, middle = worst.span_mpa.scaled(factor), worst.stresses[1]
    low = span.middle / math.exp(math.hypot(math.log(span.middle / span.low), math.log(TOOTH_SPREAD)))
    high = span.middle * math.exp(math.hypot(math.log(span.high / span.middle), math.log(TOOTH_SPREAD)))
    check = Check(
        name,
        title,
        "σ = √((6·(F·a − N·o)/(b·s²) ± N/(b·s))² + 3·(F/(b·s))²), worst depth; F sideways, N along the tooth",
        f"F {factor * worst.sideways_n:.3g} N, N {factor * worst.along_n:.3g} N, {worst.label_deg:.0f}° from the lobe, acting "
        f"{worst.depths_mm[2]:.2f} to {worst.depths_mm[0]:.2f} mm below the tip (middle taken); section {middle.depth_mm:.2f} mm "
        f"deep: s {middle.thickness_mm:.2f} mm, b {row.width_mm:g} mm, along it {factor * middle.edge_mpa:.3g} MPa, shear "
        f"{factor * middle.shear_mpa:.3g} MPa",
        DERIVED,
        "once, at the duty's peak; its fatigue is not counted and the notch of the root is left out",
    )
    return check.in_material(data, Span(low, span.middle, high))


def rim_stress_mpa(rim_mm: Array, radius_mm: float, thickness_mm: float, modulus_mpa: float) -> float:
    """Largest stress of a rim that is shifted outward by ``rim_mm``: (5,) breathing, cos 2φ, sin 2φ, cos 4φ, sin 4φ.

    A bare thin ring: hoop E·w₀/R and bending E·(t/2)·(n² − 1)·w_n/R² of each wave, added up as if their worst places met.
    """
    oval, corners = math.hypot(rim_mm[1], rim_mm[2]), math.hypot(rim_mm[3], rim_mm[4])
    bending = 0.5 * thickness_mm * (3.0 * oval + 15.0 * corners) / radius_mm**2
    return modulus_mpa * (abs(float(rim_mm[0])) / radius_mm + bending)


def rim_item(
    ring: m.RigidRing, row: RowInput, shares: tuple[LoadShare, ...], index: int, factor: float, data: StrengthData
) -> SafetyItem | NotMade:
    """The rim of one ring over all shares, as a bare ring; ``data`` in the direction of its hoop stress."""
    name, title = f"rigid_rim:{ring.name}", f"Rim of rigid ring {ring.name}"
    shifts = [share.rim_mm[index] for share in shares if share.rim_mm.shape[1] == 5]
    if not shifts:
        return Check(name, title, "", "", ()).not_made("the load was solved with rims that do not give")
    radius, modulus = row.space.root_radius_mm + 0.5 * ring.rim_mm, data.modulus_mpa.middle
    stress = factor * max(_rim_stresses(shifts, radius, ring.rim_mm, modulus))
    check = Check(
        name,
        title,
        "σ = E·(w₀/R + (t/2)·(3·w₂ + 15·w₄)/R²), amplitudes of the rim's shift",
        f"E {modulus:.0f} MPa, R {radius:.2f} mm, t {ring.rim_mm:g} mm",
        DERIVED,
        joined(
            "a bare ring without bolt holes; what it is screwed to relieves it", "" if data.metal else STANDING_LOAD
        ),
    )
    # shift times modulus: nearly the same whatever the modulus, for the shift was solved with it
    return check.in_material(
        data, Span(stress / TOOTH_SPREAD, stress, stress * TOOTH_SPREAD) if stress else exactly(0.0)
    )


def _rim_stresses(shifts: list[Array], radius: float, thickness: float, modulus: float) -> Iterator[float]:
    return (rim_stress_mpa(shift, radius, thickness, modulus) for shift in shifts)
