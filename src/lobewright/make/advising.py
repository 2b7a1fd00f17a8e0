"""What cut parts are advised to be made of where the design leaves it free. Common practice, no source."""

from __future__ import annotations

from dataclasses import replace

from lobewright.assessment.results import Assessment
from lobewright.design import model as m
from lobewright.make.bodies import Group, Part
from lobewright.make.hub import METAL, peak_torque_nmm

WEARS = "steel"
"""What rolls, rubs or meshes."""
ARM_NMM = 3000.0
"""Arms for a test bear less than this in whatever is at hand."""


def advised(part: Part, a: Assessment) -> str:
    """Words for the material of a part; empty where any will do, or where the part tells its own."""
    free = not (part.designation or part.material or part.advised_material or part.may_skip)
    if not free or not isinstance(a.design.process, m.Machined):
        return part.advised_material
    if part.group in (Group.RIGID_RING, Group.GENERATOR):
        return WEARS
    if part.group in (Group.FRAME, Group.OUTPUT):
        return METAL
    return METAL if part.group is Group.TEST and peak_torque_nmm(a.design) > ARM_NMM else ""


def with_advice(part: Part, a: Assessment) -> Part:
    """The part with the material it is advised to be made of."""
    return replace(part, advised_material=advised(part, a))
