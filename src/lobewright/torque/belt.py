"""How stiff a timing belt is, each figure with its 90 % interval: from little, or from the owner's readings.

Makers print no bending stiffness and hardly any stretch for small belts, so the ranges are wide and say so. A body of nearly
incompressible rubber or polyurethane bends, shears and is pressed in; cords carry the tension and are the neutral line.
Readings of a belt of the same designation take the place of a range, scaled to the width in proportion.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields

import numpy as np

from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.design.workshop import MeasuredBeltStiffness
from lobewright.errors import DesignFault, Fault
from lobewright.mesh.teeth import ToothOutline, tooth_outline
from lobewright.ring.geometry import belt_heights
from lobewright.sources import Flag
from lobewright.torque import measured
from lobewright.torque.inputs import BEARING_N_PER_MM, PRINTED_ARM_N_PER_MM, DriveInput, LoadInputs
from lobewright.torque.interval import NORMAL_95, Interval

POISSON = 0.49
PLATE = 1.0 / (1.0 - POISSON**2)
"""Plane strain of a body that hardly changes its volume: belts are wider than they are thick."""
TEETH_BEND = 1.25
"""EI of the body with its teeth over that of the body between them: 1.14 to 1.45 for whole tooth cells (computed)."""
FACING = 1.5
"""Stiffness of a tooth with its fabric facing over that of bare rubber, middle; the facing's weave is not known."""
CONFINED = 1.5
"""Bed of a layer held between cords and roller over that of a free one, middle; grows with the width of the touch."""
BEND_SPREAD, TOOTH_SPREAD, BED_SPREAD, WEB_SPREAD = 4.0, 2.0, 2.0, 1.5
"""Factors either way at 90 %: of EI as a whole, and of what the plain formulas leave out beyond the body's modulus."""
RADIAL_SPREAD = 1.5
"""Factor either way by which the web's radial stiffness departs from 1/1.2 of the tangential."""
BELT_LEAN = 0.12
"""Lean of a belt tooth at a fifth of its height over its height: its tip has shifted by 0.6 of the height."""
LEVER_SHARE, HALF = 0.2, 0.5
"""Heights over the tooth's height: where the loaded ring counts a belt tooth's lean, and where its stiffness is told."""

FACTORS = ("bending", "axial", "tooth", "flank_bed", "back_bed", "web_tangential", "web_radial", "arm", "carrier")
"""Names that :func:`belt_inputs` takes factors for."""


@dataclass(frozen=True)
class BeltStiffness:
    """Intervals, each a mm of belt width where its name says so.

    ``bending_nmm2_per_mm`` EI; ``axial_n_per_mm`` EA; ``tooth_n_per_mm2`` force a mm of width over a tooth's shift at half
    its height above the land; ``bed_n_per_mm3`` flank pressure over depth; ``back_bed_n_per_mm3`` the back on a roller;
    ``web_tangential_n_per_mm2`` and ``web_radial_n_per_mm2`` force a mm of circumference between the two tooth rows of this
    design over their shift.
    """

    bending_nmm2_per_mm: Interval
    axial_n_per_mm: Interval
    tooth_n_per_mm2: Interval
    bed_n_per_mm3: Interval
    back_bed_n_per_mm3: Interval
    web_tangential_n_per_mm2: Interval
    web_radial_n_per_mm2: Interval

    @property
    def unmeasured(self) -> tuple[str, ...]:
        """Names of the figures that still stand on a range."""
        return tuple(field.name for field in fields(self) if not getattr(self, field.name).measured)


def belt_stiffness(design: m.Design) -> BeltStiffness:
    """Stiffness of the belt of a design, measured where its workshop holds readings of the same designation.

    Raises DesignFault where the flexible ring is no belt or readings are unusable, CatalogueFault for an unknown designation.
    """
    ring = _belt(design)
    ranges = _ranges(design, ring)
    found = _readings(design, ring)
    apart = rows_apart_mm(design)
    if "web" in found:
        web = found["web"].scaled(1.0 / apart, "web_tangential_n_per_mm2")
        radial = _widened(web.scaled(1.0 / 1.2, "web_radial_n_per_mm2"), RADIAL_SPREAD)
        found |= {"web_tangential_n_per_mm2": web, "web_radial_n_per_mm2": radial}
    return BeltStiffness(**{name: found.get(name, one) for name, one in ranges.items()})


def belt_inputs(drive: DriveInput, factors: Mapping[str, float] | None = None) -> LoadInputs:
    """Inputs of a belt drive from the middle values, each times its factor (1 where none is given).

    ``factors`` by names of :data:`FACTORS`. The whole belt bends and stretches, also the strip between and beside the rows:
    it is shared between the rows as their faces are. Raises DesignFault (no belt, unknown name, unusable readings).
    """
    factors = factors or {}
    for name in factors:
        if name not in FACTORS:
            raise DesignFault([Fault("no stiffness of a belt has this name", "factors", 0, name, ", ".join(FACTORS))])
    belt = belt_stiffness(drive.design)
    widths = shared_widths_mm(drive.design, [row.width_mm for row in drive.rows])

    def value(name: str, one: float) -> float:
        return one * factors.get(name, 1.0)

    bending = value("bending", belt.bending_nmm2_per_mm.middle)
    axial = value("axial", belt.axial_n_per_mm.middle)
    tooth = value("tooth", belt.tooth_n_per_mm2.middle)
    two = len(drive.rows) == 2
    return LoadInputs(
        bending_stiffness_nmm2=tuple(bending * width for width in widths),
        axial_stiffness_n=tuple(axial * width for width in widths),
        # a belt has no wall of one material: its stretch spread over its thickness
        wall_modulus_mpa=tuple(axial / (drive.geometry.fibre_in_mm + drive.geometry.fibre_out_mm) for _ in widths),
        tooth_stiffness_n_per_mm2=tuple(tooth * (HALF / LEVER_SHARE) ** 2 for _ in drive.rows),
        flank_bed_n_per_mm3=value("flank_bed", belt.bed_n_per_mm3.middle),
        arm_stiffness_n_per_mm=value("arm", arm_middle_n_per_mm(drive.design)),
        bed_n_per_mm3=value("back_bed", belt.back_bed_n_per_mm3.middle),
        carrier_stiffness_n_per_mm=value("carrier", BEARING_N_PER_MM),
        web_tangential_n_per_mm2=value("web_tangential", belt.web_tangential_n_per_mm2.middle) if two else 0.0,
        web_radial_n_per_mm2=value("web_radial", belt.web_radial_n_per_mm2.middle) if two else 0.0,
        lean_limit_share=BELT_LEAN,
    )


def arm_middle_n_per_mm(design: m.Design) -> float:
    """Stiffness of an arm: as measured, or the printed arm's estimate."""
    found = measured.measured_arm(design)
    return PRINTED_ARM_N_PER_MM if found is None else found.middle


def shared_widths_mm(design: m.Design, faces_mm: Iterable[float]) -> tuple[float, ...]:
    """Width of belt that goes with each row: the whole belt shared as the faces in mesh are."""
    faces = tuple(faces_mm)
    return tuple(face * max(1.0, _belt(design).width_mm / sum(faces)) for face in faces)


def rows_apart_mm(design: m.Design) -> float:
    """Distance between the middles of the two shares of the belt."""
    return 0.5 * sum(shared_widths_mm(design, (ring.width_mm for ring in design.rigid_ring)))


def _belt(design: m.Design) -> m.Belt:
    if not isinstance(design.flexible_ring, m.Belt):
        raise DesignFault(
            [Fault("the flexible ring is no belt", "flexible_ring.kind", 0, design.flexible_ring.kind, '"belt"')]
        )
    return design.flexible_ring


# --- ranges -------------------------------------------------------------------------------------------------------


def _around(name: str, middle: float, spread: float, key: str = "memory", flag: Flag = Flag.REMEMBERED) -> Interval:
    return Interval(name, middle / spread, middle, middle * spread, False, key, flag)


def _joined(*spreads: float) -> float:
    """One factor for independent factors either way."""
    return math.exp(math.hypot(*(math.log(one) for one in spreads)))


def _widened(one: Interval, factor: float) -> Interval:
    wide = math.exp(math.hypot(NORMAL_95 * one.log_spread, math.log(factor)))
    return Interval(one.name, one.middle / wide, one.middle, one.middle * wide, one.measured, one.source_key, one.flag)


def _ranges(design: m.Design, ring: m.Belt) -> dict[str, Interval]:
    """All figures from the catalogue's ranges: moduli and cord sizes are remembered, so nothing derived from them is more."""
    known = catalogue.belt_elasticity(ring.designation)
    body = catalogue.material(known.body)
    profile, cord, height, total = belt_heights(ring)
    back = total - height - cord
    modulus = math.sqrt(body.modulus_mpa[0] * body.modulus_mpa[1])
    of_modulus = math.sqrt(body.modulus_mpa[1] / body.modulus_mpa[0])
    bends = PLATE * TEETH_BEND * modulus * (back**3 + cord**3) / 3.0 + known.cord_bending_nmm2_per_mm
    low, middle, high = known.axial_n_per_mm
    outline = tooth_outline(design)
    tooth = FACING * modulus * tooth_per_modulus(outline, cord)
    # a flank takes up load over about a quarter of the pitch of rubber behind it
    flank = PLATE * modulus / (0.25 * profile.pitch_mm)
    # shear of the body between the cords' planes and half of the teeth, which run across both rows
    web = modulus / 3.0 * (back + cord + 0.5 * height) / rows_apart_mm(design)
    sides = _joined(of_modulus, WEB_SPREAD)
    axial = known.row_origin
    return {
        "bending_nmm2_per_mm": _around("bending_nmm2_per_mm", bends, BEND_SPREAD),
        "axial_n_per_mm": Interval("axial_n_per_mm", low, middle, high, False, axial.source.key, axial.flag),
        "tooth_n_per_mm2": _around("tooth_n_per_mm2", tooth, _joined(of_modulus, TOOTH_SPREAD)),
        "bed_n_per_mm3": _around("bed_n_per_mm3", flank, _joined(of_modulus, BED_SPREAD)),
        "back_bed_n_per_mm3": _around(
            "back_bed_n_per_mm3", CONFINED * PLATE * modulus / back, _joined(of_modulus, BED_SPREAD)
        ),
        "web_tangential_n_per_mm2": _around("web_tangential_n_per_mm2", web, sides),
        "web_radial_n_per_mm2": _around("web_radial_n_per_mm2", web / 1.2, _joined(sides, RADIAL_SPREAD)),
    }


def tooth_per_modulus(outline: ToothOutline, cord_offset_mm: float) -> float:
    """Force a mm of width and modulus over the shift at half height of a belt tooth that stands on its cords.

    A short beam in plane strain from the cords, which do not give, to half height: bending and shear (factor 1.2) of the
    tooth as it narrows; below the land it is as wide as at its root. Source: beam theory (derived); coarse, as short beams are.
    """
    x, y = outline.points_mm.T
    land, top = outline.land_height_mm, outline.land_height_mm + HALF * outline.height_mm
    levels = np.linspace(land - cord_offset_mm, top, 65)
    peak = int(np.argmax(y))
    least = land + 0.02 * outline.height_mm
    seen = np.maximum(levels, least)
    thick = np.interp(seen, y[peak:][::-1], x[peak:][::-1]) - np.interp(seen, y[: peak + 1], x[: peak + 1])
    bending = np.trapezoid(12.0 * (top - levels) ** 2 / thick**3, levels) / PLATE
    shear = np.trapezoid(1.2 * 2.0 * (1.0 + POISSON) / thick, levels)
    return float(1.0 / (bending + shear))


# --- readings -----------------------------------------------------------------------------------------------------


def _readings(design: m.Design, ring: m.Belt) -> dict[str, Interval]:
    """What the workshop has measured of belts of this designation, pooled."""
    if design.owned is None:
        return {}
    name = catalogue.belt_profile(ring.designation).designation

    def same(designation: str) -> bool:
        return bool(designation) and catalogue.belt_profile(designation).designation == name

    owned = design.owned
    worked_out = [one for one in owned.belt_stiffness if same(one.designation)]
    bending = [_stated(one, "bending_stiffness_Nmm2", "bending_nmm2_per_mm") for one in worked_out]
    axial = [_stated(one, "axial_stiffness_N", "axial_n_per_mm") for one in worked_out]
    for squeeze in owned.squeeze_test:
        if same(squeeze.designation):
            bending.append(measured.bending_stiffness(squeeze).scaled(1.0 / squeeze.width_mm, "bending_nmm2_per_mm"))
    for stretch in owned.stretch_test:
        if same(stretch.designation):
            axial.append(measured.axial_stiffness(stretch).scaled(1.0 / stretch.width_mm, "axial_n_per_mm"))
    half = HALF * belt_heights(ring)[2]
    tooth = [
        measured.tooth_stiffness(push).scaled((push.push_height_mm / half) ** 2, "tooth_n_per_mm2")
        for push in owned.tooth_push
        if same(push.designation)
    ]
    web = [measured.web_shear(skew) for skew in owned.skew_test if same(skew.designation)]
    found = {
        "bending_nmm2_per_mm": measured.pooled(bending),
        "axial_n_per_mm": measured.pooled(axial),
        "tooth_n_per_mm2": measured.pooled(tooth),
        "web": measured.pooled(web),
    }
    return {key: one for key, one in found.items() if one is not None}


def _stated(row: MeasuredBeltStiffness, key: str, name: str) -> Interval:
    """A figure that the owner worked out, with its standard uncertainty, a mm of width."""
    middle = getattr(row, key) / row.width_mm
    before, _, unit = key.rpartition("_")
    relative = getattr(row, f"{before}_uncertainty_{unit}") / getattr(row, key)
    wide = math.exp(NORMAL_95 * max(relative, 1e-6))
    return Interval(name, middle / wide, middle, middle * wide, True, "derived_here", Flag.DERIVED)
