"""What of a design lies in the drawer already, by the workshop file."""

from __future__ import annotations

from lobewright.design import catalogue
from lobewright.design import model as m


def owned_belts(design: m.Design) -> int:
    """How many belts of this profile and tooth count, at least as wide, the workshop owns; 0 for other rings."""
    ring = design.flexible_ring
    if not isinstance(ring, m.Belt) or design.owned is None:
        return 0
    profile = catalogue.belt_profile(ring.designation).designation
    return sum(
        belt.count
        for belt in design.owned.belts
        if catalogue.belt_profile(belt.designation).designation == profile
        and belt.teeth == ring.teeth
        and belt.width_mm >= ring.width_mm
    )
