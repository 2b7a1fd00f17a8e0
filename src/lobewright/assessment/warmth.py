"""What warmth does to a drive that is solved with the moduli of a room, in words."""

from __future__ import annotations

from lobewright.design import model as m
from lobewright.design.catalogue_strength import ROOM_K
from lobewright.errors import DesignFault
from lobewright.strength.material import Direction
from lobewright.strength.material_data import ring_strength, strength_data
from lobewright.units import ZERO_CELSIUS_K

FELT = 0.03
"""Loss of stiffness, as a share, below which nothing is said."""


def warm_share(design: m.Design) -> float | None:
    """How many times as stiff as in a room the flexible ring is in the design's warmest air; None where that is little less, for
    belts, and where the material is not known so warm (its life says so)."""
    ring = design.flexible_ring
    if isinstance(ring, m.Belt):
        return None
    try:
        warm = ring_strength(design, Direction.IN_LAYERS)
        room = strength_data(design, ring.material, Direction.IN_LAYERS, ROOM_K)
    except DesignFault:
        return None
    assert warm is not None
    share = warm.modulus_mpa.middle / room.modulus_mpa.middle
    return None if share > 1.0 - FELT else float(share)


def warmth_words(design: m.Design) -> str:
    """The same in one sentence; empty where nothing is to be said."""
    share = warm_share(design)
    warm = None if share is None else ring_strength(design, Direction.IN_LAYERS)
    if warm is None:
        return ""
    return (
        f"Moduli are those of {ROOM_K - ZERO_CELSIUS_K:.0f} °C: at {design.ambient_temperature_C:g} °C {warm.words} is about "
        f"{share:.2f} times as stiff, and stiffness and skip torque are lower about as much."
    )
