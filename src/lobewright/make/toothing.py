"""Toothed outlines: one tooth space (or tooth) fitted with arcs, then copied round the ring."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely

from lobewright.errors import DesignFault, Fault
from lobewright.make.bodies import Loop
from lobewright.make.fitting import fit_arcs
from lobewright.make.outlines import Chain, joined, round_arc, sample, turn
from lobewright.mesh.space import ToothSpace
from lobewright.mesh.teeth import ToothOutline

Array = np.ndarray
MOST_EDGES = 12
"""Edges of one tooth space with its land, at most."""
LAND_SLOPE = 0.1


def space_pitch(space: ToothSpace) -> tuple[Array, Chain]:
    """One tooth space as points, and the land after it as an arc on the tip circle.

    Raises DesignFault when neighbouring spaces meet and leave no land.
    """
    start, end = float(space.right_rad[0]), float(space.left_rad[0]) + space.pitch_rad
    if end <= start:
        value = f"{(end - start) * space.tip_radius_mm:.4g} mm"
        what = f"the tooth spaces of ring {space.name} meet at the tip circle: no teeth are left to make"
        raise DesignFault([Fault(what, "rigid_ring", value=value, allowed="a land of more than 0 mm")])
    return space.outline_mm(), round_arc(space.tip_radius_mm, start, end)


def tooth_pitch(outline: ToothOutline, neutral_radius_mm: float) -> tuple[Array, Chain]:
    """One tooth of the undeformed ring, foot to foot, as points round the positive x axis, and the land after it.

    The tooth is a rigid body at the neutral radius. The land bends with the ring: an arc from foot to foot through
    the land's height in the middle, or nearly straight where the land is short.
    """
    points = outline.points_mm
    above = np.flatnonzero(points[:, 1] > outline.land_height_mm + 1e-5)
    first, last = max(above[0] - 1, 0), min(above[-1] + 1, len(points) - 1)
    tooth = points[first : last + 1]
    placed = np.column_stack((neutral_radius_mm + tooth[:, 1], tooth[:, 0]))
    half = math.pi / outline.teeth
    foot, follower = placed[-1], turn(placed[:1], 2 * half)[0]
    chord = math.hypot(*(follower - foot))
    middle = (foot + follower) / 2
    wanted = neutral_radius_mm + outline.land_height_mm - math.hypot(*middle)
    bow = max(wanted, -LAND_SLOPE * chord / 2)
    return placed, Chain(np.array([foot, follower]), np.array([2 * bow / chord]))


@dataclass(frozen=True)
class Pitch:
    """One pitch of a toothed outline, fitted, at the positive x axis.

    ``chains``: space (or tooth), and the land after it; ``points_mm`` (N, 2) is what they stand for and ``error_mm`` the
    largest distance between both.
    """

    name: str
    count: int
    points_mm: Array
    chains: tuple[Chain, Chain]
    error_mm: float

    @property
    def edges(self) -> int:
        return sum(len(chain.bulges) for chain in self.chains)

    def loop(self) -> Loop:
        """The closed outline, all pitches."""
        step = 2 * math.pi / self.count
        contour = joined([chain.turned(k * step) for k in range(self.count) for chain in self.chains])
        points = np.vstack([turn(self.points_mm, k * step) for k in range(self.count)])
        return Loop(contour, shapely.Polygon(points).area, self.edges, self.error_mm)

    def run(self, pitches: int) -> Chain:
        """A run of some pitches, laid evenly about the positive x axis, from middle of land to middle of land."""
        step = 2 * math.pi / self.count
        chains = [piece.turned(k * step) for k in range(pitches) for piece in self.chains]
        before, after = _halves(self.chains[1])
        chains = [after.turned(-step), *chains[:-1], before.turned((pitches - 1) * step)]
        joint = Chain(
            np.vstack([*(chain.points_mm[:-1] for chain in chains), chains[-1].points_mm[-1:]]),
            np.concatenate([chain.bulges for chain in chains]),
        )
        return joint.turned(-(pitches - 1) / 2 * step)


def _halves(arc: Chain) -> tuple[Chain, Chain]:
    """An arc of one edge cut at its middle."""
    (a, b), bulge = arc.points_mm, float(arc.bulges[0])
    half = (b - a) / 2
    top = (a + b) / 2 + bulge * np.array([half[1], -half[0]])
    part = np.array([math.tan(math.atan(bulge) / 2)])
    return Chain(np.array([a, top]), part), Chain(np.array([top, b]), part)


def _fitted(name: str, pitch: tuple[Array, Chain], count: int) -> Pitch:
    """One pitch with arcs for points."""
    points, land = pitch
    fit = fit_arcs(points, name, MOST_EDGES - 1)
    return Pitch(name, count, np.vstack((points[:-1], sample(land)[:-1])), (fit.chain, land), fit.error_mm)


def rigid_pitch(space: ToothSpace) -> Pitch:
    """A rigid ring's tooth space and tip land."""
    return _fitted(f"ring {space.name}", space_pitch(space), space.teeth)


def flexible_pitch(outline: ToothOutline, neutral_radius_mm: float) -> Pitch:
    """A tooth and land of the undeformed flexible ring."""
    return _fitted("the flexible ring", tooth_pitch(outline, neutral_radius_mm), outline.teeth)
