"""How long ring and bearings would last if the drive ran on and on, over torque and speed."""

from __future__ import annotations

import math

import numpy as np

from lobewright.assessment.loaded_states import LoadedStates
from lobewright.assessment.results import Assessment
from lobewright.assessment.ring_places import surface_of, wall_at
from lobewright.motion import FLEXIBLE, GENERATOR
from lobewright.strength.bearing_items import roller_hours_at
from lobewright.strength.duty import Duty
from lobewright.strength.items import Span
from lobewright.strength.point import LifeMap, PointLife
from lobewright.strength.ring_life import cycles_at

TORQUES = 13
SPEEDS = (0.25, 1.0, 4.0)
"""Over the duty's fastest step, or the mean speed of its recorded motion where that is faster."""


def life_map(a: Assessment, states: LoadedStates, points: tuple[PointLife, ...], duty: Duty) -> LifeMap | None:
    """Hours of ring and generator bearings from no torque to the largest that was solved; None where neither is known or
    nothing turns.

    The ring's is that of the place that the duty harms most; its hours go as one over the speed, for speed itself is not in
    the S–N curves (a fast printed ring warms and bears less).
    """
    read = a.motion.turns[a.motion.read]
    against_ring = abs(float((a.motion.turns[GENERATOR] - a.motion.turns[FLEXIBLE]) / read))
    fastest = max((step.speed_rpm for step in a.design.duty), default=0.0)
    if duty.record is not None and against_ring > 0.0:
        turns = float(np.abs(np.diff(duty.record.bend_rad)).sum()) / (2.0 * math.pi * against_ring)
        fastest = max(fastest, 60.0 * turns / float(duty.record.time_s[-1] - duty.record.time_s[0]))
    if fastest <= 0.0 or against_ring == 0.0:
        return None
    torque = np.linspace(0.0, states.told_nmm, TORQUES)
    speed = fastest * np.array(SPEEDS)
    found: dict[str, list[list[Span]]] = {}
    if points:
        worst = min(points, key=lambda one: (one.duties.low, one.duties.middle))
        finish, wall = surface_of(a.design), wall_at(a.design, worst.course)
        bends = [
            cycles_at(worst.course, worst.data, worst.criterion, finish, wall, float(one), duty.lobes) for one in torque
        ]
        found["ring"] = [[span.scaled(1.0 / (60.0 * v * against_ring * duty.lobes)) for span in bends] for v in speed]
    hours = [
        [roller_hours_at(states.drive, states.shares, float(t), v * against_ring, states.force_factor) for t in torque]
        for v in speed
    ]
    known = [[one for one in row if one is not None] for row in hours]
    if all(len(row) == TORQUES for row in known):
        found["bearings"] = known
    if not found:
        return None
    values = np.array([[[(one.low, one.middle, one.high) for one in row] for row in part] for part in found.values()])
    for array in (torque, speed, values):
        array.setflags(write=False)
    return LifeMap(tuple(found), torque, speed, values)
