"""The tube on the axle between both roller carriers: it keeps them apart when the axle's nuts are drawn, and turns them.

It is a hexagon whose ends lie in pockets of the carriers, so that both carriers turn with it by form. Where there is room, a nut
of the axle lies in a pocket of the tube: it could turn on the axle only by moving along it, which the axle's nuts at both ends
forbid, so that the torque does not hang on how hard printed parts are clamped. Where parts are machined the tube is round and
lies between flat carriers: a hexagon pocket cannot be milled, and metal keeps its clamp. Common practice, no source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from lobewright.assessment.results import Assessment
from lobewright.design import catalogue
from lobewright.design.holding import GAP_MM, SHAFT_MM
from lobewright.make.bodies import Body, Feature, Group, Loop, Part, Slab, exact, made_of
from lobewright.make.bought import hexagon, nut_part
from lobewright.make.outlines import circle
from lobewright.make.standards import NUT_PLAY_MM, trap_depth_mm

AXLE_NUT = "M8"
KEY_MM = 2.0
"""How deep each end lies in its carrier."""
WALL_MM = 3.0
FRICTION = 0.15
"""Between tube and carrier, assumed where only the clamp turns them (common practice)."""
TUBE_PLAY_MM = 0.2
"""Of the bore on the axle."""
TURN_RAD = math.pi / 6
"""Flats, not corners, look along the first major axis."""
RETIGHTEN = "retighten its screws and nuts after a day and after a month: plastics creep under a clamp"
"""For printed parts that stand under a clamp."""


@dataclass(frozen=True)
class TubeSize:
    """``flats_mm``: width across flats, of a round one its diameter; ``length_mm`` with both ends; ``locked``: with a pocket
    for a nut of the axle; ``key_mm``: how deep each end lies in its carrier, 0 for a round one."""

    flats_mm: float
    length_mm: float
    locked: bool
    key_mm: float

    @property
    def corner_mm(self) -> float:
        """Radius of the corners."""
        return self.flats_mm / math.sqrt(3) if self.key_mm else self.flats_mm / 2


def tube_size(between_mm: float, free_mm: float, printed: bool) -> TubeSize | None:
    """The tube for carriers whose plates are ``between_mm`` apart, with ``free_mm`` round the axis; None where none has room."""
    if not printed:
        turned = TubeSize(SHAFT_MM + TUBE_PLAY_MM + 2 * WALL_MM, between_mm, False, 0.0)
        return turned if turned.corner_mm + GAP_MM <= free_mm else None
    nut, length = catalogue.bolt(AXLE_NUT), between_mm + 2 * KEY_MM
    held = TubeSize(nut.nut_across_flats_mm + NUT_PLAY_MM + 2 * WALL_MM, length, True, KEY_MM)
    plain = TubeSize(SHAFT_MM + TUBE_PLAY_MM + 2 * WALL_MM, length, False, KEY_MM)
    if length >= trap_depth_mm(nut) + WALL_MM and held.corner_mm + GAP_MM <= free_mm:
        return held
    return plain if plain.corner_mm + GAP_MM <= free_mm else None


def _bore() -> Loop:
    return exact(circle((SHAFT_MM + TUBE_PLAY_MM) / 2), Feature.BOLT_HOLE)


def key_pocket(size: TubeSize, bore: Loop, plate_mm: float) -> Slab:
    """In the face of a carrier that looks inward: where an end of the tube lies."""
    outer = exact(hexagon(size.flats_mm + NUT_PLAY_MM, turn_rad=TURN_RAD))
    return Slab(outer, (bore,), plate_mm - KEY_MM, plate_mm)


def peak_turning_nm(a: Assessment) -> float:
    """What the axle has to bring at the peak of the duty, losses left out, N·m; 0 without a duty."""
    peak = max((max(step.torque_Nm, step.peak_torque_Nm) for step in a.design.duty), default=0.0)
    return peak / abs(float(a.motion.ratio))


def clamp_words(a: Assessment, outside_mm: float) -> str:
    """How hard the axle's nuts have to clamp where their friction alone turns the generator, on a face of that diameter."""
    clamp = 1e3 * peak_turning_nm(a) / (FRICTION * (outside_mm + SHAFT_MM) / 4)
    return (
        f"the axle's nuts alone turn it: they have to clamp with {clamp:.0f} N at a friction of {FRICTION:g} (assumed)"
    )


def tube_part(a: Assessment, size: TubeSize) -> Part:
    """The tube, standing as it prints, its nut's pocket at the top."""
    nut, bore = catalogue.bolt(AXLE_NUT), _bore()
    outer = exact(hexagon(size.flats_mm, turn_rad=TURN_RAD) if size.key_mm else circle(size.flats_mm / 2))
    pockets: tuple[Slab, ...] = ()
    note = "keeps the carriers apart under the axle's nuts"
    if size.key_mm:
        note += f", {size.key_mm:g} mm of either end lie in them"
    need = f"at the peak the axle brings {peak_turning_nm(a):.2g} N·m, losses left out"
    if size.locked:
        trap = exact(hexagon(nut.nut_across_flats_mm + NUT_PLAY_MM, turn_rad=TURN_RAD), Feature.NUT)
        pockets = (Slab(trap, (bore,), size.length_mm - trap_depth_mm(nut), size.length_mm),)
        note += (
            f"; an {AXLE_NUT} nut lies in its pocket: screw the finished generator onto the axle down to its seat, then "
            f"draw nut and lock nut; {need}, through that nut"
        )
    else:
        note += f"; {need}; {clamp_words(a, size.flats_mm)}"
    body = Body((Slab(outer, (bore,), 0.0, size.length_mm),), pockets)
    made = f"{note}; {RETIGHTEN}" if made_of(a.design) else note
    return Part("generator_tube", "tube between the carriers", 1, body, made_of(a.design), made, group=Group.GENERATOR)


def tube_nut() -> Part:
    """The axle's nut inside the tube."""
    return replace(
        nut_part(catalogue.bolt(AXLE_NUT), 1, "generator_held_nut", "nut in the generator's tube"), sunk=True
    )


def tube_note(size: TubeSize | None) -> str:
    """What a carrier's note says of the tube."""
    if size is None:
        return "NO TUBE between the carriers, rollers leave no room: draw the axle's nuts only so far that the plates stay flat"
    if not size.key_mm:
        return "a turned tube stands between the carriers"
    return f"a hexagon pocket {size.key_mm:g} mm deep takes the tube between the carriers"
