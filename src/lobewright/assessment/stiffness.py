"""Which drive is solved under torque, and with which stiffnesses."""

from __future__ import annotations

from dataclasses import dataclass, replace

from lobewright.assessment.results import Assessment
from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.ring.cell import ToothCell, plane_advice, tooth_cell
from lobewright.ring.shell import CupMaterial, RimStiffness, cup_geometry, rim_stiffness
from lobewright.ring.shell_band import band_factors
from lobewright.torque.belt import belt_inputs
from lobewright.torque.inputs import DriveInput, LoadInputs, RowInput, estimated_inputs
from lobewright.torque.measured import modulus_range
from lobewright.torque.rim import estimated_rims

BOLTED = 3.0
"""Stiffness of a rim that is bolted to its housing over the bare one: an estimate of ours, not measured."""
HARMONICS = range(25)
"""Harmonics of a cup's barrel that the rim feels: narrow rollers need up to 24."""


@dataclass(frozen=True)
class Stiffnesses:
    """What the loaded drive is solved from: ``inputs`` at the middle of every range, and the tooth cells behind them (one a
    row of teeth; none for belts, whose stiffness is a range or the owner's readings)."""

    inputs: LoadInputs
    cells: tuple[ToothCell, ...]


def loaded_drive(a: Assessment) -> DriveInput:
    """The unloaded drive of an assessment, as the loaded ring takes it."""
    rows = tuple(
        RowInput(mesh.name, mesh.outline, mesh.space, made.width_mm)
        for mesh, made in zip(a.rings, a.design.rigid_ring, strict=True)
    )
    return DriveInput(a.design, a.geometry, a.setting, a.set_shape, rows)


def stiffnesses(drive: DriveInput, coarse: bool = False) -> Stiffnesses:
    """Stiffnesses of a drive at the middle of every range; ``coarse`` with coarse tooth cells, while a design is being moved.

    Raises DesignFault (a tooth that cannot be meshed) and PlatformFault (no finite elements for the tooth cell).
    """
    design = drive.design
    rims = tuple(rim.stiffer(BOLTED) for rim in estimated_rims(drive))
    if isinstance(design.flexible_ring, m.Belt):
        return Stiffnesses(replace(belt_inputs(drive), rims=rims), ())
    plane = plane_advice(design).plane
    cells = tuple(tooth_cell(design, row.outline, plane=plane, coarse=coarse) for row in drive.rows)
    barrel = _barrel(drive, cells[0]) if design.is_cup else None
    return Stiffnesses(replace(estimated_inputs(drive, cells=cells, barrel=barrel), rims=rims), cells)


def _barrel(drive: DriveInput, cell: ToothCell) -> RimStiffness:
    """The shell of a cup as its rim feels it, as a mean over the face in mesh."""
    design = drive.design
    ring, made = design.flexible_ring, design.rigid_ring[0]
    assert isinstance(ring, m.Cup)
    material = catalogue.material(ring.material)
    cup = cup_geometry(design, band_factors(cell, drive.rows[0].outline))
    middle = made.offset_mm + 0.5 * made.width_mm
    return rim_stiffness(
        cup,
        CupMaterial(0.5 * sum(modulus_range(design, ring.material)), 0.5 * sum(material.poisson)),
        HARMONICS,
        middle,
        made.width_mm,
    )
