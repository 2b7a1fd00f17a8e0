"""Printed rings whose clearance is less than the gap that the printer's own flanks needed on the coupons."""

from __future__ import annotations

import math
from collections.abc import Iterator

from lobewright.assessment.results import Assessment
from lobewright.design import model as m
from lobewright.make.bodies import made_of
from lobewright.make.coupon_parts import module_mm


def clearance_notes(a: Assessment) -> Iterator[str]:
    """One sentence for each such ring, or why the coupons do not tell. Only where both flanks of a mesh are printed."""
    printer = a.design.process
    if not isinstance(printer, m.Printer) or printer.least_clearance_mm == 0.0:
        return
    if getattr(a.design.flexible_ring, "material", "") != made_of(a.design):
        return
    least, finest = printer.least_clearance_mm, math.pi * module_mm(printer.extrusion_width_mm)
    for ring, mesh in zip(a.design.rigid_ring, a.rings, strict=True):
        if ring.material and ring.material != made_of(a.design):
            continue
        pitch = mesh.space.pitch_rad * mesh.space.root_radius_mm
        if pitch < finest:
            yield (
                f"not made: whether ring {ring.name} has the clearance that your printer needs; its pitch of {pitch:.2f} mm is "
                f"finer than the {finest:.2f} mm of the coupons"
            )
        elif ring.clearance_mm < least:
            yield (
                f"rigid_ring {ring.name}: clearance_mm of {ring.clearance_mm:g} is less than the {least:.2f} ± "
                f"{printer.least_clearance_uncertainty_mm:.2f} mm a flank at which your printer's teeth just seated"
            )
