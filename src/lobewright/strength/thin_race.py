"""A thin bearing under a cam: its races are bent with the wave, and its balls carry what the cam pushes at each lobe.

The outer race goes round with the ring, so each of its points is bent to and fro; the inner race is bent once, on the cam. Both
run parallel to the neutral line. Left out: the groove, the balls' own pressure, residual stress, and that a wide race is stiffer.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lobewright.design import model as m
from lobewright.errors import DesignFault, Fault
from lobewright.ring.shape import RingShape
from lobewright.sources import Flag
from lobewright.strength.bearing_load import Forces, forces_of
from lobewright.torque.inputs import DriveInput
from lobewright.torque.interval import Interval
from lobewright.torque.results import LoadShare

Array = NDArray[np.float64]

RACE_MODULUS_MPA = 208_000.0
"""Hardened bearing steel, remembered."""
BENDING_ENDURANCE = Interval(
    "race_endurance_mpa", 588.0, math.sqrt(588.0 * 858.0), 858.0, False, "li_sakai_2011", Flag.READ
)
"""Fully reversed amplitude that through-hardened bearing steel bore 1e9 times: 588 MPa along its axis, about 858 MPa in
rotating bending; a thin wall under bending lies between."""
BREAKING = Interval("race_strength_mpa", 1500.0, 1900.0, 2300.0, False, "memory", Flag.REMEMBERED)
"""Standing tensile stress that hardened bearing steel bears."""
LEFT_OUT = Interval("lobe_force_factor", 1.0, 1.2, 1.45, False, "derived_here", Flag.DERIVED)
"""Force of a lobe over what the cut gives: the pull of a cup's barrel and the sideways part are not in it; on a printed cup's
rollers, whose forces are known, they were 15 to 26 %."""


@dataclass(frozen=True)
class RaceBending:
    """Largest bending stress of the outer race, taken as fully reversed, and the standing one of the inner race."""

    outer_mpa: float
    inner_mpa: float


def race_bending(shape: RingShape, inner_offset_mm: float, race_height_mm: float, race_wall_mm: float) -> RaceBending:
    """Bending of two races of one wall between cam and ring: E·t/2·|κ_d − 1/(R − d)|, κ_d = κ/(1 − κd) the curvature of the
    line d inside the neutral one. Raises DesignFault for a wall that has no room."""
    if not 0.0 < race_wall_mm < 0.5 * race_height_mm:
        found, allowed = (
            f"{race_wall_mm:g} mm",
            f"more than 0, less than half of race_height_mm, {0.5 * race_height_mm:g} mm",
        )
        raise DesignFault([Fault("two races of this wall do not fit", "generator.race_wall_mm", 0, found, allowed)])
    depths = (inner_offset_mm + 0.5 * race_wall_mm, inner_offset_mm + race_height_mm - 0.5 * race_wall_mm)
    outer, inner = (_bent(shape, depth, race_wall_mm) for depth in depths)
    return RaceBending(outer, inner)


def _bent(shape: RingShape, depth_mm: float, wall_mm: float) -> float:
    curvature = shape.curvature_1_per_mm
    parallel = curvature / (1.0 - curvature * depth_mm)
    change = float(np.abs(parallel - 1.0 / (shape.radius_mm - depth_mm)).max())
    return RACE_MODULUS_MPA * 0.5 * wall_mm * change


def lobe_forces(drive: DriveInput, shares: Sequence[LoadShare]) -> Forces:
    """Force of the cam on the ring at each lobe along the lobe's axis, (K, lobes).

    The ring is cut halfway to the next lobes; what teeth and sections push and pull there the cam must bear (statics, derived).
    """
    lobes = drive.setting.lobes
    mirror = tuple(-k % lobes for k in range(lobes))
    return forces_of(shares, lambda share: np.array([lobe_force_n(share, lobes, k) for k in range(lobes)]), mirror)


def lobe_force_n(share: LoadShare, lobes: int, lobe: int) -> float:
    """The same in one state at one lobe; all rows together, inward forces on the cam positive."""
    half, centre = math.pi / lobes, 2.0 * math.pi * lobe / lobes
    total = 0.0
    for row in share.rows:
        label = np.radians(row.label_deg)
        from_lobe = np.mod(label - centre + math.pi, 2.0 * math.pi) - math.pi
        inside = np.abs(from_lobe) < half
        outward, along = row.outward_n[inside], row.tangential_n[inside]
        teeth = outward * np.cos(from_lobe[inside]) - along * np.sin(from_lobe[inside])
        pull = sum(_section(row.section_label_deg, row.normal_n, centre + side * half) for side in (-1.0, 1.0))
        total += math.sin(half) * pull - float(teeth.sum())
    return max(total, 0.0)


def _section(label_deg: Array, values: Array, angle_rad: float) -> float:
    order = np.argsort(label_deg)
    at = math.degrees(math.remainder(angle_rad, 2.0 * math.pi))
    return float(np.interp(at, label_deg[order], values[order], period=360.0))


def lacking(cam: m.Cam, names: tuple[str, ...]) -> str:
    """Which keys of a cam must be named before its thin bearing can be judged; empty where all are."""
    missing = [name for name in names if not getattr(cam, name)]
    return f"the design's [generator] names no {' and no '.join(missing)}" if missing else ""
