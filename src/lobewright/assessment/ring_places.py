"""What the design says of a critical place of the flexible ring: its finish and its wall."""

from __future__ import annotations

from lobewright.design import model as m
from lobewright.strength.course import StressCourse


def surface_of(design: m.Design) -> m.Surface | None:
    """Finish of a metal flexible ring, None for prints and belts."""
    ring = design.flexible_ring
    return ring.surface if isinstance(ring, m.MetalCup) else None


def wall_at(design: m.Design, course: StressCourse) -> float:
    """Thickness of the wall [mm] at a place of a printed or metal ring."""
    ring = design.flexible_ring
    assert isinstance(ring, m.ModuleRing)
    if not isinstance(ring, m.Cup) or course.name.startswith("rim"):
        return ring.wall_mm
    return ring.diaphragm_mm if course.name.startswith(("diaphragm", "boss")) else ring.barrel_wall_mm
