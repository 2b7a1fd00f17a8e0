"""All strength checks of what does not bend: rigid rings, what holds them, and the generator's carrier."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

from lobewright.design import model as m
from lobewright.errors import DesignFault, Fault
from lobewright.strength.carrier import carrier_items
from lobewright.strength.fasteners import ring_pins
from lobewright.strength.items import Item, NotMade
from lobewright.strength.material import Direction, StrengthData
from lobewright.strength.remark import joined
from lobewright.strength.rigid_part import RIGID
from lobewright.strength.rigid_tooth import rim_item, tooth_item
from lobewright.torque.inputs import DriveInput
from lobewright.torque.results import LoadShare

StrengthOf = Callable[[m.RigidRing | None, Direction], StrengthData | None]
BEYOND = 1.02
"""How far a peak may lie above the largest torque that was solved before forces are drawn out to it."""
UNKNOWN = "the material of this ring is not known: name it as rigid_ring.material"


def rigid_items(
    drive: DriveInput, shares: tuple[LoadShare, ...], peak_nmm: float, strength_of: StrengthOf
) -> tuple[Item, ...]:
    """Static checks at the duty's peak torque of the slow member.

    ``shares``: the drive at some torques; those up to the peak count, and where the peak lies above all of them their forces
    are drawn out to it in proportion (too much for forces that stand without torque: on the safe side), which the remark tells.
    ``strength_of(ring, direction)``: material of a rigid ring, of the generator's parts for None; None where it is not known,
    which leaves out what is made of it and nothing else. Raises DesignFault without shares or for a peak that is negative or
    not finite.
    """
    if not shares or not 0.0 <= peak_nmm < math.inf:
        value, allowed = f"{len(shares)} solved torques, peak {peak_nmm:g} N·mm", "1 or more, a peak of 0 N·mm or more"
        raise DesignFault([Fault("there is no load to check rigid parts under", "duty", 0, value, allowed)])
    used, factor = _up_to(shares, peak_nmm)
    items: list[Item] = []
    for index, (ring, row) in enumerate(zip(drive.design.rigid_ring, drive.rows, strict=True)):
        flat = ring.layers is m.Layers.ACROSS_AXIS
        data = strength_of(ring, Direction.IN_LAYERS if flat else Direction.ACROSS_LAYERS)
        if data is None:
            items.append(NotMade(f"rigid_ring:{ring.name}", f"Rigid ring {ring.name}", RIGID, UNKNOWN))
            continue
        torque = factor * max(abs(share.member_torque_nmm[ring.name]) for share in used)
        items.append(tooth_item(ring, row, used, index, factor, data))
        items.append(rim_item(ring, row, used, index, factor, data))
        items.extend(ring_pins(drive.design, ring, row.space.root_radius_mm, torque, data))
    # carrier plates are printed flat
    items.extend(carrier_items(drive, used, factor, strength_of(None, Direction.IN_LAYERS)))
    if factor == 1.0:
        return tuple(items)
    largest = max(abs(share.torque_nmm) for share in used) / 1000.0
    note = f"forces drawn out from {largest:.3g} N·m, the largest torque that was solved"
    return tuple(item if isinstance(item, NotMade) else replace(item, noted=joined(item.noted, note)) for item in items)


def _up_to(shares: tuple[LoadShare, ...], peak_nmm: float) -> tuple[tuple[LoadShare, ...], float]:
    """The shares that count for a peak, and by what their forces are drawn out to it."""
    used = tuple(share for share in shares if abs(share.torque_nmm) <= BEYOND * peak_nmm)
    if not used:
        # a load above the peak is on the safe side
        used = (min(shares, key=lambda share: abs(share.torque_nmm)),)
    largest = max(abs(share.torque_nmm) for share in used)
    above = [share for share in shares if abs(share.torque_nmm) > BEYOND * peak_nmm]
    if largest * BEYOND < peak_nmm and above:
        return (*used, min(above, key=lambda share: abs(share.torque_nmm))), 1.0
    drawn = largest > 0.0 and peak_nmm > BEYOND * largest
    return used, peak_nmm / largest if drawn else 1.0
