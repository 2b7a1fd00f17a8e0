"""The inputs of a loaded drive that are not well known, each as a factor with a 90 % interval, and the drive at any factors.

A factor is read as two halves of a log-normal that meet in its middle, so that low, middle and high are its 5, 50 and 95 %
points whether or not they lie evenly. Stiffness factors act on the given stiffnesses; the factors of ``set_deflection``,
``clearance`` and ``ring_length`` make another drive: the generator, the teeth or the ring as they may turn out.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.errors import DesignFault, Fault
from lobewright.mesh.teeth import ToothOutline
from lobewright.ring.generator import set_deflection_mm, setting_for, shape_on
from lobewright.ring.shell import RimStiffness
from lobewright.sources import Flag
from lobewright.torque import measured
from lobewright.torque.belt import belt_stiffness
from lobewright.torque.inputs import DriveInput, LoadInputs
from lobewright.torque.interval import NORMAL_95, Interval
from lobewright.torque.rim_section import RimGive

PRINTED_ARM, METAL_ARM = (0.3, 3.0), (0.5, 2.0)
"""Unmeasured arms over their estimate: a printed arm is a lever, a pin and a bearing seat of unknown infill."""
TOOTH, TWICE, THRICE, WEB = 0.3, 2.0, 3.0, 2.0
SMALLEST_CLEARANCE = 0.1
"""Of the stated clearance: a process tolerance as large as the clearance leaves a tight mesh, not a negative one."""
GEOMETRY = ("set_deflection", "clearance", "ring_length")
"""Names of the factors that make another drive."""


@dataclass(frozen=True)
class Weak:
    """One weak input: ``name``, ``words`` that say what it is and why it is so wide, ``factor`` (5, 50 and 95 % points)."""

    name: str
    words: str
    factor: Interval

    @property
    def measured(self) -> bool:
        """Whether the owner's readings made it."""
        return self.factor.measured

    @property
    def tolerance(self) -> bool:
        """Whether it is a stated tolerance of what is made or set, and no stiffness."""
        return self.name in GEOMETRY

    def at(self, deviation: float) -> float:
        """The factor a number of standard deviations from its middle; ±1.645 are its ends."""
        end = self.factor.high if deviation > 0.0 else self.factor.low
        return float(self.factor.middle * (end / self.factor.middle) ** (abs(deviation) / NORMAL_95))


def weak_inputs(drive: DriveInput, base: LoadInputs) -> tuple[Weak, ...]:
    """The weak inputs of a drive whose stiffnesses are ``base`` at all factors 1.

    Sources: material ranges of the catalogue, tolerances of the design, readings in the workshop file; the widths of arms, beds,
    carrier and web are estimates of ours (remembered). Raises DesignFault where readings of the workshop are unusable.
    """
    belt = isinstance(drive.design.flexible_ring, m.Belt)
    found = [*(_belt(drive) if belt else _ring(drive, base)), *_generator(drive, base), *_tolerances(drive)]
    return tuple(one for one in found if one.factor.high > one.factor.low)


def inputs_at(drive: DriveInput, base: LoadInputs, factors: Mapping[str, float]) -> tuple[DriveInput, LoadInputs]:
    """Drive and stiffnesses at factors by name of the weak inputs; names that are not given stay at 1.

    Raises DesignFault (unknown name, factor not above 0, a generator that does not fit the ring) and ConvergenceFault.
    """
    for name, factor in factors.items():
        if name not in KNOWN:
            raise DesignFault([Fault("no weak input has this name", "factors", 0, name, ", ".join(KNOWN))])
        if not (math.isfinite(factor) and factor > 0.0):
            raise DesignFault([Fault("a factor must be positive", f"factors.{name}", 0, f"{factor:g}", "above 0")])
    return _drive_at(drive, factors), _stiffness_at(base, factors)


def stiffer_rim(rim: RimStiffness, factor: float) -> RimStiffness:
    """The same barrel of a material ``factor`` times as stiff."""
    return replace(rim, matrix=factor * rim.matrix, compliance=rim.compliance / factor)


# --- which inputs are weak ------------------------------------------------------------------------------------------


def _guess(name: str, low: float, high: float) -> Interval:
    return Interval(name, low, 1.0, high, False, "memory", Flag.REMEMBERED)


def _around(name: str, times: float) -> Interval:
    return _guess(name, 1.0 / times, times)


def _over(one: Interval, value: float, name: str) -> Interval:
    """A known interval as a factor on the value that stands in the inputs."""
    return one.scaled(1.0 / value, name)


def _ring(drive: DriveInput, base: LoadInputs) -> Iterator[Weak]:
    """A printed or metal ring: its modulus, its teeth and what two rows feel of each other."""
    ring = drive.design.flexible_ring
    assert not isinstance(ring, m.Belt)
    material = catalogue.material(ring.material)
    low, high = measured.modulus_range(drive.design, ring.material)
    middle = 0.5 * (low + high)
    origin = material.origin("modulus_mpa")
    coupons = measured.owned_modulus(drive.design, ring.material)
    squeezed = measured.measured_bending(drive.design) if isinstance(ring, m.PrintedRing) else None
    if squeezed is not None:
        # an open ring between plates is its own test piece: EI over the estimate is E over the estimate
        own = _over(squeezed, sum(base.bending_stiffness_nmm2), "modulus")
        yield Weak("modulus", "Young's modulus of this ring, from squeezing it between plates", own)
    elif coupons is not None:
        words = f"Young's modulus of the ring's material, {low:.4g} to {high:.4g} MPa by your own test pieces"
        yield Weak("modulus", words, _over(coupons, middle, "modulus"))
    else:
        factor = Interval("modulus", low / middle, 1.0, high / middle, False, origin.source.key, origin.flag)
        words = f"Young's modulus of the ring's material, {low:g} to {high:g} MPa in the catalogue"
        yield Weak("modulus", words, factor)
    yield Weak("tooth", "stiffness of a tooth beside its modulus", _guess("tooth", 1.0 - TOOTH, 1.0 + TOOTH))
    if len(drive.rows) == 2:
        yield Weak("web", "shear of the wall between the two rows, a rough estimate", _around("web", WEB))
    yield from _beds()


def _beds() -> Iterator[Weak]:
    yield Weak("flank_bed", "local give of the flanks, a rough estimate", _around("flank_bed", TWICE))
    yield Weak("roller_bed", "local give of ring and generator where they touch", _around("roller_bed", TWICE))


def _belt(drive: DriveInput) -> Iterator[Weak]:
    """A belt: every figure of its own, from ranges or readings."""
    belt = belt_stiffness(drive.design)
    rows = (
        ("bending", belt.bending_nmm2_per_mm, "bending stiffness of the belt"),
        ("axial", belt.axial_n_per_mm, "stretch of the belt's cords"),
        ("tooth", belt.tooth_n_per_mm2, "stiffness of a belt tooth"),
        ("flank_bed", belt.bed_n_per_mm3, "local give of a belt tooth's flank"),
        ("roller_bed", belt.back_bed_n_per_mm3, "give of the belt's back on the generator"),
        ("web", belt.web_tangential_n_per_mm2, "shear of the belt between its two rows"),
    )
    for name, one, words in rows:
        if name != "web" or len(drive.rows) == 2:
            how = "measured" if one.measured else "not measured"
            yield Weak(name, f"{words}, {how}", _over(one, one.middle, name))


def _generator(drive: DriveInput, base: LoadInputs) -> Iterator[Weak]:
    design = drive.design
    if not isinstance(design.generator, m.Cam):
        pushed = measured.measured_arm(design)
        metal = isinstance(design.flexible_ring, m.MetalCup)
        if pushed is not None:
            value = base.arm_stiffness_n_per_mm
            yield Weak("arm", "stiffness of an arm, pushed and measured", _over(pushed, value, "arm"))
        else:
            low, high = METAL_ARM if metal else PRINTED_ARM
            words = f"stiffness of an arm with its pin and bearing, {base.arm_stiffness_n_per_mm:g} N/mm, not measured"
            yield Weak("arm", words, _guess("arm", low, high))
    carrier = f"radial stiffness of the generator's own bearing, {base.carrier_stiffness_n_per_mm:g} N/mm, not measured"
    yield Weak("carrier", carrier, _around("carrier", THRICE))
    if base.rims:
        words = "how much bolts and housing stiffen the rims of the rigid rings, not measured"
        yield Weak("rim", words, _around("rim", THRICE))


def _tolerances(drive: DriveInput) -> Iterator[Weak]:
    """What is set and made within stated tolerances, read as 90 % intervals."""
    design, generator = drive.design, drive.design.generator
    screwed = set_deflection_mm(design, drive.geometry)
    step = generator.set_deflection_tolerance_mm
    words = f"deflection as set, {screwed:.3g} ± {step:g} mm"
    yield Weak("set_deflection", words, _tolerance("set_deflection", step / screwed))
    gap = _clearance_mm(drive)
    made = 1 if isinstance(design.flexible_ring, m.Belt) else 2
    slack = math.sqrt(made) * design.process.tolerance_mm
    words = f"clearance of the teeth as made, {gap:.3g} ± {slack:.2g} mm"
    yield Weak("clearance", words, _tolerance("clearance", slack / gap))
    fit = generator.fit_tolerance_mm if isinstance(generator, m.Cam) else 0.0
    longer = math.hypot(design.flexible_ring.length_tolerance_mm, fit)
    words = f"length of the ring against its generator, ± {longer:.2g} mm"
    yield Weak("ring_length", words, _tolerance("ring_length", longer / drive.geometry.length_mm))


def _tolerance(name: str, share: float) -> Interval:
    low = max(1.0 - share, SMALLEST_CLEARANCE)
    return Interval(name, low, 1.0, 1.0 + share, False, "trade_practice", Flag.COMMON_PRACTICE)


def _clearance_mm(drive: DriveInput) -> float:
    """The smallest clearance of the rings, at least a hundredth of a tooth's height where rings are given without one."""
    least = 0.01 * max(row.outline.height_mm for row in drive.rows)
    return max(least, min(ring.clearance_mm for ring in drive.design.rigid_ring))


# --- the drive at given factors -----------------------------------------------------------------------------------------

ACTS_ON: dict[str, tuple[str, ...]] = {
    "modulus": (
        "bending_stiffness_nmm2",
        "axial_stiffness_n",
        "wall_modulus_mpa",
        "tooth_stiffness_n_per_mm2",
        "flank_bed_n_per_mm3",
        "bed_n_per_mm3",
        "web_tangential_n_per_mm2",
        "web_radial_n_per_mm2",
        "barrel",
    ),
    "bending": ("bending_stiffness_nmm2",),
    "axial": ("axial_stiffness_n", "wall_modulus_mpa"),
    "tooth": ("tooth_stiffness_n_per_mm2",),
    "flank_bed": ("flank_bed_n_per_mm3",),
    "roller_bed": ("bed_n_per_mm3",),
    "web": ("web_tangential_n_per_mm2", "web_radial_n_per_mm2"),
    "arm": ("arm_stiffness_n_per_mm",),
    "carrier": ("carrier_stiffness_n_per_mm",),
    "rim": ("rims",),
}
"""Which stiffnesses a factor multiplies."""
KNOWN = (*ACTS_ON, *GEOMETRY)


def _stiffness_at(base: LoadInputs, factors: Mapping[str, float]) -> LoadInputs:
    changes: dict[str, Any] = {}
    for name, factor in factors.items():
        for field in ACTS_ON.get(name, ()):
            value = changes.get(field, getattr(base, field))
            if isinstance(value, tuple):
                changes[field] = tuple(
                    part.stiffer(factor) if isinstance(part, RimGive) else factor * part for part in value
                )
            elif isinstance(value, RimStiffness):
                changes[field] = stiffer_rim(value, factor)
            elif value is not None:
                changes[field] = factor * value
    return replace(base, **changes)


def _drive_at(drive: DriveInput, factors: Mapping[str, float]) -> DriveInput:
    """Generator set elsewhere, teeth grown or shrunk, ring longer: each only where its factor is not 1."""
    deflection, gap, length = (factors.get(name, 1.0) for name in GEOMETRY)
    if gap != 1.0:
        wider = (gap - 1.0) * _clearance_mm(drive)
        drive = replace(drive, rows=tuple(replace(row, outline=offset(row.outline, -wider)) for row in drive.rows))
    if deflection == 1.0 and length == 1.0:
        return drive
    design, geometry, setting = drive.design, drive.geometry, drive.setting
    if deflection != 1.0:
        setting = setting_for(design, geometry, deflection * set_deflection_mm(design, geometry))
    geometry = replace(geometry, neutral_radius_mm=length * geometry.neutral_radius_mm)
    fitted = setting.shrunk(design.generator.fit_mm / (2.0 * math.pi))
    shape = shape_on(fitted, geometry.neutral_radius_mm)
    return replace(drive, geometry=geometry, setting=setting, shape=shape)


def offset(outline: ToothOutline, outward_mm: float) -> ToothOutline:
    """The outline with every point moved along its normal; land and tip heights are told as before.

    The free gap to a rigid ring is then smaller by as much, to second order in the offset over the roundings' radii.
    """
    points = outline.points_mm
    along = np.gradient(points, axis=0)
    along /= np.hypot(*along.T)[:, None]
    moved = points + outward_mm * _left(along)
    moved[:, 0] = np.clip(moved[:, 0], points[0, 0], points[-1, 0])
    moved.setflags(write=False)
    return replace(outline, points_mm=moved)


def _left(along: NDArray[np.float64]) -> NDArray[np.float64]:
    """Normals that point out of the tooth: the outline runs from left to right over the tip."""
    return np.column_stack((-along[:, 1], along[:, 0]))
