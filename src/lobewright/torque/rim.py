"""The give of a rigid ring's own rim: it breathes (n = 0), goes oval (n = 2) and four-cornered (n = 4) under its teeth.

Thin-ring theory on the rim's neutral line, radius R_c: energy ½·2πEA/R_c·a² for a breathing a, ½·πEI(n²−1)²/R_c³·a² for
w = a cos nφ without stretch, v = −(a/n) sin nφ, sections square to the line. Left out: shear (for n = 2 softer by about
2.6·1.2·(h/R)²·n²/12, 3 % at h/R = 0.16; for n = 4 four times that), other waves, bolts and housing, which make a rim stiffer.
Source: thin-ring bending and stretch, derived.
"""

from __future__ import annotations

from lobewright.design import model as m
from lobewright.errors import DesignFault, Fault
from lobewright.torque.inputs import DriveInput
from lobewright.torque.measured import modulus_range
from lobewright.torque.rim_section import RimGive


def estimated_rims(drive: DriveInput, modulus_mpa: float | None = None) -> tuple[RimGive, ...]:
    """The rims of a design's rigid rings as bare rings of thickness ``rim_mm``, free of bolts and housing: an upper bound of
    their give.

    Without a modulus it is the middle of the range, of the owner's test pieces or the catalogue's, for the ring's own material,
    else for what the process prints, else for the flexible ring's. Raises DesignFault where neither is known.
    """
    rims = []
    for row, ring in zip(drive.rows, drive.design.rigid_ring, strict=True):
        modulus = modulus_mpa if modulus_mpa is not None else _modulus(drive.design, ring)
        radius = row.space.root_radius_mm + 0.5 * ring.rim_mm
        touch = 0.5 * (row.space.root_radius_mm + row.space.tip_radius_mm)
        area = ring.width_mm * ring.rim_mm
        rims.append(RimGive(radius, radius - touch, modulus * area * ring.rim_mm**2 / 12.0, modulus * area))
    return tuple(rims)


def _modulus(design: m.Design, ring: m.RigidRing) -> float:
    name = ring.material or (design.process.material if isinstance(design.process, m.Printer) else "")
    if not name:
        name = getattr(design.flexible_ring, "material", "")
    if not name:
        what = "the material of the rigid rings is not known"
        raise DesignFault([Fault(what, "process.material", 0, "", "a material, or the modulus of the rims in MPa")])
    return 0.5 * sum(modulus_range(design, name))
