"""Teeth of a rigid ring as short cantilevers of their own outline, and its rim as a bare thin ring.

The tooth is the land between two spaces. At every depth below its tip it is a beam section of the land's thickness: bending
from the sideways push, pressure and bending from the push along the tooth, mean shear; the worst section counts. Where on its
flank the push acts is not known to a point: it lies between the ring's tip (or the lowest place that the flexible tooth's flank
covers) and as deep as the flexible tip reaches, and this range is part of the band. Metals yield at a notch and are judged by
this beam; everything else counts the peak of tension in the root's fillet, by a formula fitted to finite elements. Left out:
tilt along the face (part of the load's band), wear. Source: beam theory and finite elements, derived.
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
from lobewright.strength.remark import joined
from lobewright.strength.rigid_part import STANDING_LOAD, Check, exactly
from lobewright.torque.inputs import RowInput
from lobewright.torque.results import LoadShare, RowLoad

Array = NDArray[np.float64]

TOOTH_SPREAD = 1.3
"""Factor either way, 90 %, of the most loaded tooth's force: between that of the teeth in load (1.15) and of the flank pressure
(1.5) of the loaded ring; a judgement, nothing of it is measured."""
FLANK_FROM, TIP_FROM = 0.05, 0.85
"""Shares of the flexible tooth's height from which a contact is told as on the flank and at the tip (as in the loaded ring)."""
FILLET = (4.9, 0.5, 4.9)
"""σ·b·t/F = 4.9 + 0.5·6h/t − 4.9·N/F of the largest tension in a root's fillet, fitted to finite elements of 48 loaded teeth of
the starters (benchmarks/fe/rigid_tooth_root.py): h from the load to the root of thickness t, 0.07 < h/t < 0.55, N/F up to 0.5."""
FILLET_SPREAD = 1.3
"""Factor either way, 90 %: solved over fitted lies between 0.82 and 1.32."""
FILLET_PRESS = 0.5
"""Largest N/F that is counted: tension falls further beyond, but this was not solved."""
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


def fillet_tension_mpa(sections: ToothSections, sideways_n: float, along_n: float, load_depth_mm: float) -> float:
    """Largest tension in the fillet of the root, by :data:`FILLET`; arguments as for :func:`tooth_stress`.

    The root's thickness is that of the last section. Raises DesignFault for a load below it.
    """
    root, lever = float(sections.thickness_mm[-1]), float(sections.depth_mm[-1]) - load_depth_mm
    if not lever > 0.0 or not sideways_n >= 0.0:
        value, allowed = (
            f"{load_depth_mm:g} mm deep, {sideways_n:g} N",
            f"above {sections.depth_mm[-1]:g} mm, 0 N or more",
        )
        raise DesignFault([Fault("this load does not bend the tooth", "load_depth_mm", 0, value, allowed)])
    direct, bent, pressed = FILLET
    press = min(along_n, FILLET_PRESS * sideways_n)
    return (sideways_n * (direct + bent * 6.0 * lever / root) - pressed * press) / (sections.width_mm * root)


@dataclass(frozen=True)
class WorstTooth:
    """The worst tooth of a row with its load as deep as it may lie, half way, and as near the tip as it may lie.

    ``stress_mpa`` that is judged, and the beam's ``middle`` section half way; ``by_fillet``: half way, the fillet's tension is
    the larger one. ``label_deg`` of the tooth from the lobe.
    """

    stress_mpa: tuple[float, float, float]
    middle: ToothStress
    by_fillet: bool
    depths_mm: tuple[float, float, float]
    sideways_n: float
    along_n: float
    label_deg: float

    @property
    def span_mpa(self) -> Span:
        """Band of the stress over the load's place."""
        return Span(min(self.stress_mpa), self.stress_mpa[1], max(self.stress_mpa))


def _neutral_mm(load: RowLoad) -> Array:
    """Radius of the flexible ring's neutral line at every tooth."""
    label = np.asarray(load.section_label_deg)
    order = np.argsort(label)
    radius = np.hypot(load.positions_mm[:, 0], load.positions_mm[:, 1])[order]
    return np.interp(load.label_deg, label[order], radius, period=360.0)


def _depths(row: RowInput, neutral_mm: float, place: str, last: float) -> tuple[float, float, float]:
    """Depths below the ring's tip at which a tooth's push may act: deepest, middle, nearest to the tip."""
    outline, tip = row.outline, row.space.tip_radius_mm
    least = {"tip": TIP_FROM, "land": 0.0}.get(place, FLANK_FROM)
    most = 0.0 if place == "land" else 1.0
    ground = neutral_mm + outline.land_height_mm - tip
    near = min(max(ground + least * outline.height_mm, 0.0), last)
    deep = min(max(ground + most * outline.height_mm, near), last)
    return deep, 0.5 * (deep + near), near


def worst_tooth(row: RowInput, load: RowLoad, fillet: bool) -> WorstTooth | None:
    """The tooth of a row that suffers most, None where none is loaded; ``fillet``: count the tension in the root's fillet."""
    sections = sections_of(row.space, row.width_mm)
    last, neutral = float(sections.depth_mm[-2]), _neutral_mm(load)

    def stress(tooth: int, depth: float) -> tuple[float, ToothStress, float]:
        """What is judged of a tooth with its load at a depth: by the beam and by the fillet."""
        # a push inward on the flexible tooth is one outward on the rigid one: into its root
        sideways, along = abs(float(load.tangential_n[tooth])), -float(load.outward_n[tooth])
        beam = tooth_stress(sections, sideways, along, depth)
        peak = fillet_tension_mpa(sections, sideways, along, depth) if fillet else 0.0
        return max(beam.equivalent_mpa, peak), beam, peak

    found, most = None, 0.0
    for tooth in map(int, np.flatnonzero(load.force_n > 0.01 * load.force_n.max(initial=0.0))):
        depths = _depths(row, float(neutral[tooth]), load.place[tooth], last)
        judged = stress(tooth, depths[1])
        if found is None or judged[0] > most:
            found, most = (tooth, depths, judged), judged[0]
    if found is None:
        return None
    tooth, depths, (middle, beam, peak) = found
    return WorstTooth(
        (stress(tooth, depths[0])[0], middle, stress(tooth, depths[2])[0]),
        beam,
        peak > beam.equivalent_mpa,
        depths,
        abs(float(load.tangential_n[tooth])),
        -float(load.outward_n[tooth]),
        float(load.label_deg[tooth]),
    )


def tooth_item(
    ring: m.RigidRing, row: RowInput, shares: tuple[LoadShare, ...], index: int, factor: float, data: StrengthData
) -> SafetyItem | NotMade:
    """The most loaded tooth of one ring (row ``index``) over all shares, forces times ``factor``; ``data`` in the direction in
    which the tooth is bent."""
    name, title = f"rigid_tooth:{ring.name}", f"Teeth of rigid ring {ring.name}"
    nothing = Check(name, title, "", "", ())
    if row.space.least_land_mm <= 0.0:
        return nothing.not_made("neighbouring tooth spaces run into each other, there is no tooth to judge")
    every = (worst_tooth(row, share.rows[index], not data.metal) for share in shares)
    found = [worst for worst in every if worst is not None]
    if not found:
        return nothing.not_made("no tooth is loaded at any torque that was solved")
    worst = max(found, key=lambda one: one.span_mpa.middle)
    spread = math.hypot(math.log(TOOTH_SPREAD), math.log(FILLET_SPREAD) if worst.by_fillet else 0.0)
    span = worst.span_mpa.scaled(factor)
    low = span.middle * math.exp(-math.hypot(math.log(span.middle / span.low), spread))
    high = span.middle * math.exp(math.hypot(math.log(span.high / span.middle), spread))
    equation, numbers = _tooth_words(worst, row, factor)
    check = Check(name, title, equation, numbers, DERIVED, "once, at the duty's peak; its fatigue is not counted")
    return check.in_material(data, Span(low, span.middle, high))


def _tooth_words(worst: WorstTooth, row: RowInput, factor: float) -> tuple[str, str]:
    """Equation and numbers."""
    beam = worst.middle
    place = (
        f"F {factor * worst.sideways_n:.3g} N, N {factor * worst.along_n:.3g} N, {worst.label_deg:.0f}° from the lobe, acting "
        f"{worst.depths_mm[2]:.2f} to {worst.depths_mm[0]:.2f} mm below the tip (middle taken), b {row.width_mm:g} mm"
    )
    plain = (
        f"as a beam {factor * beam.edge_mpa:.3g} MPa along it and {factor * beam.shear_mpa:.3g} MPa of shear, "
        f"{beam.depth_mm:.2f} mm deep where s is {beam.thickness_mm:.2f} mm"
    )
    if not worst.by_fillet:
        equation = "σ = √((6·(F·a − N·o)/(b·s²) ± N/(b·s))² + 3·(F/(b·s))²), worst depth; F sideways, N along the tooth"
        return equation, f"{place}; {plain}"
    sections = sections_of(row.space, row.width_mm)
    lever, root = sections.depth_mm[-1] - worst.depths_mm[1], sections.thickness_mm[-1]
    direct, bent, pressed = FILLET
    equation = f"σ = (F·({direct:g} + {bent:g}·6h/t) − {pressed:g}·N)/(b·t), N at most {FILLET_PRESS:g}·F"
    return f"{equation}; tension in the root's fillet", f"{place}, h {lever:.2f} mm, t {root:.2f} mm; {plain}"


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
