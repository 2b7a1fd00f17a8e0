"""Size over two pins, or between them: what a micrometer can tell of teeth of any form.

A pin lies in a tooth space and touches both flanks. How far from the axis its middle stands is found on the outline as it
is, whatever made it: it is the innermost (external teeth) or outermost (internal teeth) place where a circle of the pin's
size fits. Two such pins in spaces as nearly opposite as the count allows give the size. Derived; see docs/theory/over_pins.md.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely

from lobewright.errors import DesignFault, Fault

Array = np.ndarray
STEPS = 240
"""Places along the radius that are looked at for the first touch."""
HALVINGS = 50
GOLDEN = (math.sqrt(5) - 1) / 2
TURN_STEPS = 40
ALIKE_MM = 3e-4
"""A space that differs from its mirror image by less, the error of outlines by points, counts as symmetrical."""


@dataclass(frozen=True)
class PinSeat:
    """A pin resting in a tooth space. ``centre_radius_mm``: of its middle; ``contact_radius_mm``: of the lower of both touches.

    ``touches_mm`` (2, 2): where it touches the right and the left flank, the space round the positive x axis.
    """

    pin_mm: float
    internal: bool
    teeth: int
    centre_radius_mm: float
    contact_radius_mm: float
    touches_mm: Array

    @property
    def opposite(self) -> float:
        """Distance of both middles over the diameter of their circle: 1 for even counts, cos(90°/z) for odd ones."""
        return 1.0 if self.teeth % 2 == 0 else math.cos(math.pi / (2 * self.teeth))

    @property
    def size_mm(self) -> float:
        """Over both pins of external teeth, between both pins of internal ones."""
        return 2 * self.centre_radius_mm * self.opposite + (-self.pin_mm if self.internal else self.pin_mm)

    @property
    def outermost_mm(self) -> float:
        """How far from the axis the pin's free side stands."""
        return self.centre_radius_mm + (-0.5 if self.internal else 0.5) * self.pin_mm


def _fits_to(line: shapely.LineString, angle: float, gap_mm: float, free_mm: float, shut_mm: float) -> float:
    """Radius of the first touch on the way from the free side to the shut side at one angle; the shut side if there is none."""
    c, s = math.cos(angle), math.sin(angle)
    radii = np.linspace(free_mm, shut_mm, STEPS)
    far = shapely.distance(line, shapely.points(np.column_stack((radii * c, radii * s)))) - gap_mm
    shut = np.flatnonzero(far <= 0)
    if not len(shut):
        return shut_mm
    if shut[0] == 0:
        return free_mm
    good, bad = float(radii[shut[0] - 1]), float(radii[shut[0]])
    for _ in range(HALVINGS):
        middle = (good + bad) / 2
        if float(line.distance(shapely.Point(middle * c, middle * s))) > gap_mm:
            good = middle
        else:
            bad = middle
    return (good + bad) / 2


def _deepest_angle(line: shapely.LineString, gap: float, free: float, shut: float, half_rad: float) -> float:
    """Angle within ±``half_rad`` at which the pin goes deepest: the space need not be symmetrical."""
    sign = 1.0 if shut > free else -1.0

    def depth(angle: float) -> float:
        return sign * _fits_to(line, angle, gap, free, shut)

    low, high = -half_rad, half_rad
    a, b = high - GOLDEN * (high - low), low + GOLDEN * (high - low)
    at_a, at_b = depth(a), depth(b)
    for _ in range(TURN_STEPS):
        if at_a > at_b:
            high, b, at_b = b, a, at_a
            a = high - GOLDEN * (high - low)
            at_a = depth(a)
        else:
            low, a, at_a = a, b, at_b
            b = low + GOLDEN * (high - low)
            at_b = depth(b)
    return (low + high) / 2


def pin_seat(space_mm: Array, teeth: int, pin_mm: float, internal: bool, grown_mm: float = 0.0) -> PinSeat:
    """Where a pin rests in a tooth space.

    ``space_mm`` (N, 2): the space round the positive x axis of the ring's frame as an open line in mm, from the middle of one
    tooth's tip over the root to the next; for ``internal`` teeth the tips are nearer to the axis. ``grown_mm``: the teeth's
    material is thicker by so much everywhere (negative: thinner), which is a pin so much larger in the same space. Assumes a
    rigid space and a pin that is longer than the teeth are wide.

    Raises DesignFault where the pin falls through to the root, or rides on the tips.
    """
    radius = np.hypot(*space_mm.T)
    tip, root = (float(radius.min()), float(radius.max())) if internal else (float(radius.max()), float(radius.min()))
    gap = pin_mm / 2 + grown_mm
    out = -1.0 if internal else 1.0
    free, shut = tip + out * 1.05 * gap, root
    line = shapely.LineString(space_mm)
    turned = np.arctan2(space_mm[:, 1], space_mm[:, 0])
    mirrored = shapely.LineString(space_mm[::-1] * (1.0, -1.0))
    symmetric = float(line.hausdorff_distance(mirrored)) < ALIKE_MM
    angle = 0.0 if symmetric else _deepest_angle(line, gap, free, shut, 0.25 * float(np.ptp(turned)))
    centre = _fits_to(line, angle, gap, free, shut)
    middle = centre * np.array([math.cos(angle), math.sin(angle)])
    touches = _touches(space_mm, middle, angle)
    contact = np.hypot(*touches.T)
    depth = out * (tip - contact) / abs(tip - root)
    place, value = "pin", f"ø{pin_mm:g} mm"
    if float(depth.min()) < 1e-3:
        raise DesignFault([Fault("the pin rides on the tips", place, value=value, allowed="a thinner pin")])
    around = np.abs(np.arctan2(touches[:, 1], touches[:, 0]) - angle)
    away = np.abs(np.hypot(*(touches - middle).T) - gap)
    if float(around.min()) * centre < 0.05 * pin_mm or float(away.max()) > 0.005 * pin_mm:
        raise DesignFault([Fault("the pin rests on the root", place, value=value, allowed="a thicker pin")])
    return PinSeat(pin_mm, internal, teeth, centre, float(contact.min() if internal else contact.max()), touches)


def _touches(space_mm: Array, middle: Array, angle: float) -> Array:
    """Nearest points of the right and the left half of the space to the pin's middle."""
    sides = np.arctan2(space_mm[:, 1], space_mm[:, 0]) - angle
    found = []
    for half in (space_mm[sides <= 0], space_mm[sides >= 0]):
        line = shapely.shortest_line(shapely.LineString(half), shapely.Point(*middle))
        found.append(shapely.get_coordinates(line)[0])
    return np.array(found)
