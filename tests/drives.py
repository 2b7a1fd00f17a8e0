"""From an assessment to the drive that the loaded ring is asked about."""

from __future__ import annotations

from lobewright.assessment.results import Assessment
from lobewright.torque.inputs import DriveInput, RowInput


def drive_of(assessment: Assessment) -> DriveInput:
    """The drive with its rows as the assessment made them."""
    rows = zip(assessment.rings, assessment.design.rigid_ring, strict=True)
    row_inputs = tuple(RowInput(r.name, r.outline, r.space, ring.width_mm) for r, ring in rows)
    return DriveInput(assessment.design, assessment.geometry, assessment.setting, assessment.set_shape, row_inputs)
