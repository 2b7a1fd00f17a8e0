"""Radii and heights of the flexible ring, measured from its neutral line.

A belt bends about its cord: R_n = p·Z/(2π). A printed or metal ring is taken to bend about the middle of its plain
wall. Teeth stiffen the wall and lift the true neutral line a little; that is left to the tooth cell of a later model,
so strains here are an estimate and stiffness a lower bound.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from lobewright.design import catalogue
from lobewright.design import model as m


@dataclass(frozen=True)
class RingGeometry:
    """Lengths in mm, all heights counted outward from the neutral line.

    ``inner_offset_mm`` is the depth of the inner surface below the neutral line (positive), ``land_height_mm`` the
    height of the surface between teeth, ``pitch_height_mm`` the height at which the tooth's pitch is stated,
    ``fibre_in_mm`` and ``fibre_out_mm`` the distances of the extreme fibres that carry bending.
    """

    teeth: int
    neutral_radius_mm: float
    inner_offset_mm: float
    land_height_mm: float
    pitch_height_mm: float
    fibre_in_mm: float
    fibre_out_mm: float

    @property
    def length_mm(self) -> float:
        """Length of the neutral line."""
        return 2 * math.pi * self.neutral_radius_mm

    @property
    def inner_radius_mm(self) -> float:
        return self.neutral_radius_mm - self.inner_offset_mm

    def neutral_pitch_mm(self, teeth: int) -> float:
        """Spacing of ``teeth`` teeth on the neutral line."""
        return self.length_mm / teeth


def belt_heights(belt: m.Belt) -> tuple[catalogue.BeltProfile, float, float, float]:
    """Catalogue profile, cord offset, tooth height and total thickness of a belt, readings before catalogue, in mm."""
    profile = catalogue.belt_profile(belt.designation)
    typed = belt.measured
    cord = profile.cord_offset_mm if typed.cord_offset_mm is None else typed.cord_offset_mm
    height = profile.tooth_height_mm if typed.tooth_height_mm is None else typed.tooth_height_mm
    total = profile.total_thickness_mm if typed.total_thickness_mm is None else typed.total_thickness_mm
    return profile, cord, height, total


def ring_geometry(design: m.Design) -> RingGeometry:
    """Heights and radii of the flexible ring of a design."""
    ring = design.flexible_ring
    if isinstance(ring, m.Belt):
        profile, cord, height, total = belt_heights(ring)
        back = total - height - cord
        radius = profile.pitch_mm * ring.teeth / (2 * math.pi)
        return RingGeometry(ring.teeth, radius, back, cord, 0.0, back, cord)
    pitch_radius = ring.module_mm * ring.teeth / 2
    tooth = design.tooth
    if isinstance(tooth, m.OutlineTooth):
        land = min(y for _, y in tooth.points)
        radius = pitch_radius - land - 0.5 * ring.module_mm
        return RingGeometry(
            ring.teeth, radius, ring.wall_mm - land, land, pitch_radius - radius, ring.wall_mm - land, land
        )
    assert isinstance(tooth, m.ModuleTooth)
    dedendum = tooth.dedendum_factor * ring.module_mm
    half = ring.wall_mm / 2
    radius = pitch_radius - dedendum - half
    return RingGeometry(ring.teeth, radius, half, half, dedendum + half, half, half)


def nominal_deflection_mm(design: m.Design) -> float:
    """Deflection at which the pitch lines of flexible and rigid teeth would just roll: p·(Z_c − Z_f)/(2π).

    ``p`` is the stated pitch (π·module, or the belt's). With several rings the largest difference counts.
    """
    ring = design.flexible_ring
    pitch = catalogue.belt_profile(ring.designation).pitch_mm if isinstance(ring, m.Belt) else math.pi * ring.module_mm
    around = pitch * ring.teeth
    rows = ((r.teeth, design.row_teeth(r.row)) for r in design.rigid_ring)
    return max(around / own * (teeth - own) / (2 * math.pi) for teeth, own in rows)
