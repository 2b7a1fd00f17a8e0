"""A wedge, a tooth and a flank: travel and force, without friction and with it.

The wedge goes on by x and presses a tooth down by y = s·tan θ, s being its travel past the tooth; the tooth slides down a flank
that leans by α from the vertical, which parts tooth and rack by z = y·tan α. The tooth counts give z/x, and the flank gives α, so

    tan θ · tan α = (Z_r − Z_s)/Z_r

is the slope of a wedge that does just what the drive does. A force is turned out of the normal of each contact by its angle of
friction ρ = arctan μ. On the tooth the forces of wedge and flank and the load stand in balance:

    V = F_in / tan(θ + ρ₁)      H = V / tan(α + ρ₂)      F_out = H − F_in (rack held), H (strip held)

with V down and H sideways. Without friction F_out/F_in = x/z: what is gained in force is lost in travel. Derived from that
balance; tan(θ + ρ) is the textbook equation of wedge and screw (docs/theory/wedge.md). Nothing below zero is told: there it
locks.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

from lobewright.assessment.stiffness import loaded_drive
from lobewright.design import model as m
from lobewright.make.rack_mesh import half_angle_rad
from lobewright.motion import FLEXIBLE
from lobewright.teach import shown
from lobewright.teach.subject import Subject
from lobewright.torque.friction_data import BALL_BEARING, cam_friction, flank_friction


@dataclass(frozen=True)
class WedgePair:
    """A pair of racks as wedges. ``ratio`` is wedge travel over travel of what moves, exact, signed; ``strip_moves``: the rack is
    held; ``slope_rad`` θ, ``flank_rad`` α."""

    ratio: Fraction
    strip_moves: bool
    slope_rad: float
    flank_rad: float

    def gain(self, wedge_friction: float, flank_friction: float) -> float:
        """Force out for one unit of force in, with these coefficients of friction."""
        down = 1.0 / math.tan(self.slope_rad + math.atan(wedge_friction))
        side = down / math.tan(self.flank_rad + math.atan(flank_friction))
        # Where the strip moves the flank takes the push in besides the load.
        return max(0.0, side - 1.0 if self.strip_moves else side)


@dataclass(frozen=True)
class Rubbing:
    """Coefficients of friction, each low, middle, high: between wedge and tooth, and at the flank."""

    wedge: tuple[float, float, float]
    flank: tuple[float, float, float]


def wedge_pair(subject: Subject, pair: shown.Pair) -> WedgePair:
    """The pair as wedges: the strip moves unless it is held."""
    turns = shown.usual(subject).turns
    row = pair.row
    strip_moves = turns[FLEXIBLE] != 0
    teeth = row.flexible_teeth if strip_moves else row.ring_teeth
    ratio = Fraction(teeth, -pair.difference if strip_moves else pair.difference)
    flank = half_angle_rad(subject.found.design)
    slope = math.atan(pair.difference / row.ring_teeth / math.tan(flank))
    return WedgePair(ratio, strip_moves, slope, flank)


def rubbing(subject: Subject) -> tuple[Rubbing, Rubbing | None]:
    """Friction of the drive as it is, and as it would be if the generator slid where it rolls; None where it slides anyway.

    Belts run dry, the rest greased, as under torque. A rolling generator counts as a ball bearing.
    """
    drive = loaded_drive(subject.found)
    greased = not isinstance(drive.design.flexible_ring, m.Belt)
    flank = flank_friction(drive, greased=greased)
    cam = cam_friction(drive, greased=greased)
    own = BALL_BEARING if cam is None else cam
    teeth = (flank.low, flank.middle, flank.high)
    rolls = Rubbing((own.low, own.middle, own.high), teeth)
    return rolls, Rubbing(teeth, teeth) if cam is None else None
