"""Coefficients of friction as intervals: what slides on what in such drives, and how little is known of it.

The ranges are remembered from the trade and from handbooks; published readings that lie in or beside them are told in
``docs/theory/friction_in_mesh.md``. Friction of polymers hangs on load, speed, surface and wear: measure it where it counts.
"""

from __future__ import annotations

from lobewright.design import model as m
from lobewright.sources import Flag
from lobewright.torque.friction import cam_slides
from lobewright.torque.inputs import DriveInput
from lobewright.torque.interval import Interval


def _range(low: float, middle: float, high: float) -> Interval:
    return Interval("friction_coefficient", low, middle, high, False, "memory", Flag.REMEMBERED)


PRINTED_DRY = _range(0.15, 0.35, 0.75)
"""Printed polymer on printed polymer, dry."""
PRINTED_GREASED = _range(0.05, 0.12, 0.25)
"""The same with grease that the polymer bears."""
FABRIC_DRY = _range(0.15, 0.3, 0.6)
"""The fabric on a belt's teeth on plastic, dry."""
RUBBER_DRY = _range(0.4, 0.8, 1.3)
"""The rubber back of a belt on plastic, dry."""
RUBBER_GREASED = _range(0.1, 0.25, 0.6)
"""The same with grease; few rubbers bear mineral grease."""
STEEL_GREASED = _range(0.05, 0.1, 0.16)
"""Steel on steel, greased, creeping."""
BALL_BEARING = Interval("bearing_friction", 0.001, 0.002, 0.004, False, "memory", Flag.REMEMBERED)
"""A deep-groove ball bearing without rubbing seals, referred to its bore."""


def flank_friction(drive: DriveInput, *, greased: bool) -> Interval:
    """Coefficient between the flexible teeth and the rigid ring. Steel is taken as greased: dry it would seize."""
    ring = drive.design.flexible_ring
    if isinstance(ring, m.MetalCup):
        return STEEL_GREASED
    if isinstance(ring, m.Belt):
        return PRINTED_GREASED if greased else FABRIC_DRY
    return PRINTED_GREASED if greased else PRINTED_DRY


def cam_friction(drive: DriveInput, *, greased: bool) -> Interval | None:
    """Coefficient between the flexible ring and a plain cam; None where the generator rolls and nothing slides."""
    if not cam_slides(drive):
        return None
    ring = drive.design.flexible_ring
    if isinstance(ring, m.MetalCup):
        return STEEL_GREASED
    if isinstance(ring, m.Belt):
        return RUBBER_GREASED if greased else RUBBER_DRY
    return PRINTED_GREASED if greased else PRINTED_DRY
