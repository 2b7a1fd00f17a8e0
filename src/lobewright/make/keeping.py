"""What keeps a belt or a short flexible ring from wandering out along the axis: four ears in the openings beside it.

The openings of the distance plate and of the output's distance ring are wider than the teeth. Ears reach in from them over the
spokes of the rear plate, so that they hide nothing of the mesh. They end a millimetre outside all that the generator turns
there and a fraction of a millimetre beside the flexible ring's edge. At every angle of the generator at least two of them
stand where the ring is no nearer to the axis than its round form, so that is where their hold is measured. A cup needs none.
Common practice, no source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely

from lobewright.assessment.results import Assessment
from lobewright.design import model as m
from lobewright.design.holding import face_mm
from lobewright.make.bodies import Loop, exact
from lobewright.make.layout import Layout
from lobewright.make.levels import levels, placed_level
from lobewright.make.outlines import circle, joined, round_arc
from lobewright.make.parts_generator_placed import generator_placed

EARS, EAR_MM = 4, 12.0
"""How many ears there are, and how wide each is: as the spokes of the rear plate."""
PLAY_MM, MOST_PLAY_MM = 0.4, 0.5
"""Between an ear and the edge of the flexible ring."""
EAR_ROOM_MM = 1.0
"""Between an ear and what the generator turns beside it."""
HOLD_MM = 0.8
"""The least that an ear reaches over the edge of the ring."""
CHORD_MM = 0.02


@dataclass(frozen=True)
class Keeper:
    """Ears of an opening: its outline with them, how far their faces lie back from the rigid ring's, how far they reach over the
    flexible ring's edge, and the play between."""

    opening: Loop
    back_mm: float
    hold_mm: float
    play_mm: float


def flexible_ends_mm(a: Assessment, l: Layout) -> tuple[float, float]:  # noqa: E741 - as all such functions
    """The flexible ring's teeth along the axis, from and to."""
    face = face_mm(a.design)
    low = l.flexible_open_z_mm - face if l.flexible_over else l.flexible_open_z_mm
    return low, low + face


def generator_reach_between_mm(a: Assessment, l: Layout, low_mm: float, high_mm: float) -> float:  # noqa: E741
    """Largest radius at which the generator turns anything between two heights; 0 for nothing."""
    most = 0.0
    for one in generator_placed(a, l):
        cut = levels(one.part.body, CHORD_MM)
        for level in (placed_level(level, place) for level in cut for place in one.places):
            if level.bottom_mm < high_mm and level.top_mm > low_mm:
                most = max(most, float(np.hypot(*shapely.get_coordinates(level.area).T).max()) + CHORD_MM)
    return most


def _band_mm(a: Assessment, l: Layout, front: bool) -> tuple[float, float, float]:  # noqa: E741
    """Heights between which the ears stand, and how far their faces lie back from that of the rigid ring."""
    low, top = flexible_ends_mm(a, l)
    if front:
        back = max(top + PLAY_MM - l.output_z_mm, 0.0)
        return l.output_z_mm + back, l.output_z_mm + l.output_distance_mm, back
    back = max(PLAY_MM - low, 0.0)
    return l.sheet_mm - l.distance_mm, -back, back


def _opening(open_mm: float, reach_mm: float) -> Loop:
    step = 2 * math.pi / EARS
    arcs = []
    for k in range(EARS):
        wide, narrow = math.asin(EAR_MM / 2 / open_mm), math.asin(EAR_MM / 2 / reach_mm)
        arcs.append(round_arc(open_mm, k * step + wide, (k + 1) * step - wide))
        arcs.append(round_arc(reach_mm, (k + 1) * step - narrow, (k + 1) * step + narrow))
    return exact(joined(arcs))


def keeper(a: Assessment, l: Layout, front: bool, open_mm: float) -> tuple[Keeper | None, str]:  # noqa: E741
    """Ears in the opening of radius ``open_mm`` beside the held ring, or with ``front`` beside the read one; or None and a
    caution where they have no room, None and nothing for a cup."""
    if isinstance(a.design.flexible_ring, m.Cup) or (front and l.front_ring is None):
        return None, ""
    where = "front" if front else "rear"
    nothing = f"nothing keeps the flexible ring from wandering to the {where}: watch it, and push it back"
    low, high, back = _band_mm(a, l, front)
    ends = flexible_ends_mm(a, l)
    play = low - ends[1] if front else ends[0] - high
    ring = l.front_ring if front else l.rear_ring
    tip = next(
        a.geometry.neutral_radius_mm + float(mesh.outline.points_mm[:, 1].max())
        for one, mesh in zip(a.design.rigid_ring, a.rings, strict=True)
        if one is ring
    )
    if high - low < 1.0:
        return None, nothing
    # Deeper than the ring's inside ever comes they would hold nothing more.
    deep = a.geometry.inner_radius_mm - (tip - a.geometry.neutral_radius_mm)
    reach = max(generator_reach_between_mm(a, l, low - PLAY_MM, high + PLAY_MM) + EAR_ROOM_MM, deep)
    hold = tip - reach
    if hold < HOLD_MM or reach >= open_mm - CHORD_MM:
        return None, nothing
    more = f"the flexible ring has {play:.1f} mm of play to the {where}" if play > MOST_PLAY_MM + 1e-9 else ""
    return Keeper(_opening(open_mm, reach), back, hold, play), more


def plain(open_mm: float) -> Loop:
    """The opening without ears."""
    return exact(circle(open_mm))
