"""Openings that show the mesh from behind, and the clear sheet over them.

The rear plate's openings are sectors between the boss and the held ring's bolts, with straight-sided spokes between them.
"""

from __future__ import annotations

import math

from lobewright.assessment.results import Assessment
from lobewright.design import model as m
from lobewright.errors import DesignFault, Fault
from lobewright.make.bodies import Body, Group, Loop, Part, Slab, exact
from lobewright.make.frame_plates import ring_holes, square, tie_holes
from lobewright.make.layout import Layout, boss_radius_mm
from lobewright.make.order import Side, Step
from lobewright.make.outlines import circle, joined, round_arc
from lobewright.make.placing import Member, Place, Placed
from lobewright.make.registering import dowel_passes, ring_dowels

SPOKES, SPOKE_MM = 4, 12.0
"""Spokes that carry the boss, and how wide each is at its root."""
BOSS_RIM_MM, OUTER_RIM_MM = 3.0, 1.0
"""Left round the boss, and inside the distance plate's opening."""
LEAST_HIGH_MM = 5.0


def window_radii_mm(l: Layout) -> tuple[float, float]:  # noqa: E741 - as all such functions
    """Inside and outside of the openings."""
    return boss_radius_mm(l.input_bearing) + BOSS_RIM_MM, l.open_radius_mm - OUTER_RIM_MM


def sectors(a: Assessment, l: Layout) -> tuple[Loop, ...]:  # noqa: E741
    """Outlines of the openings; none where the design is closed.

    Raises DesignFault where boss and ring leave no opening worth the name.
    """
    if a.design.assembly.view is m.View.CLOSED:
        return ()
    low, high = window_radii_mm(l)
    if high - low < LEAST_HIGH_MM:
        what = "there is no room for windows between the rear boss and the held ring"
        value, allowed = f"{high - low:.1f} mm", f'at least {LEAST_HIGH_MM:g} mm, or assembly.view = "closed"'
        raise DesignFault([Fault(what, "assembly.view", value=value, allowed=allowed)])
    found = []
    for k in range(SPOKES):
        start, end = 2 * math.pi * k / SPOKES, 2 * math.pi * (k + 1) / SPOKES
        inner, outer = (math.asin(SPOKE_MM / 2 / r) for r in (low, high))
        arcs = [round_arc(high, start + outer, end - outer), round_arc(low, end - inner, start + inner)]
        found.append(exact(joined(arcs)))
    return tuple(found)


def cover_parts(a: Assessment, l: Layout) -> tuple[Placed, ...]:  # noqa: E741
    """The clear sheet of a drive with windows, between rear and distance plate; nothing for the other views."""
    if not l.sheet_mm:
        return ()
    # The nuts of the cap stand within this opening.
    opening = exact(circle(window_radii_mm(l)[0] - BOSS_RIM_MM + 1.0))
    ring = l.rear_ring
    bored = (*tie_holes(l), *ring_holes(a, ring), *dowel_passes(ring, ring_dowels(a, ring)))
    slab = Slab(square(l.half_side_mm), (opening, *bored), 0.0, l.sheet_mm)
    note = f"cut from clear sheet {l.sheet_mm:g} mm thick; the ring's bolts and the tie rods hold it"
    part = Part("cover", "clear cover", 1, Body((slab,)), "", note, drawn=True, group=Group.FRAME)
    return (Placed(part, (Place(z_mm=-l.distance_mm),), Member.HELD, Step.BEHIND, Side.FRONT),)


def behind(a: Assessment) -> tuple[str, ...]:
    """What to heed behind a rear plate that is open."""
    open_view = a.design.assembly.view is m.View.OPEN
    return ("the mesh can be reached through the rear plate: keep fingers out while it turns",) if open_view else ()


def cautions(a: Assessment) -> tuple[str, ...]:
    """What to heed where turning parts can be reached."""
    side = (
        "between the plates the sides are open and the turning rings can be reached: keep fingers, hair and sleeves out"
    )
    return (*behind(a), side)
