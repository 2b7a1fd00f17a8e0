"""Which members stand where in an assembly, and which way the rigid rings' nuts look."""

from __future__ import annotations

from enum import StrEnum

from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.design.holding import LEAST_WALL_MM, no_bolt_holes
from lobewright.make.standards import NUT_PLAY_MM, trap_depth_mm


class Arrangement(StrEnum):
    """Which members stand where."""

    TWO_RINGS = "two_rings"
    CUP_READ = "cup_read"


def arrangement(design: m.Design) -> tuple[Arrangement | None, str]:
    """How the members stand, or None and the reason why no assembly is laid out."""
    rings = {ring.name for ring in design.rigid_ring}
    motion = design.motion
    if motion.driven != "generator":
        return None, f"only drives whose generator is driven are laid out, {motion.driven} is driven here"
    if motion.fixed in rings and motion.read in rings:
        return Arrangement.TWO_RINGS, ""
    if motion.fixed in rings and motion.read == "flexible_ring" and design.is_cup:
        return Arrangement.CUP_READ, ""
    what = f"no assembly is laid out where {motion.fixed} is held and {motion.read} is read"
    return None, f"{what}: laid out are two rigid rings, and a held rigid ring with a cup that is read"


def ring_named(design: m.Design, name: str) -> m.RigidRing:
    return next(ring for ring in design.rigid_ring if ring.name == name)


def sunk_nut_fault(design: m.Design, ring: m.RigidRing, root_mm: float) -> str:
    """Why a rigid ring cannot take the nuts of its bolts in pockets, in words; empty where it can."""
    missing = no_bolt_holes(design, ring, root_mm)
    if missing:
        return missing
    bolt = catalogue.bolt(ring.bolt)
    width = bolt.nut_across_flats_mm + NUT_PLAY_MM + 2 * LEAST_WALL_MM
    height = trap_depth_mm(bolt) + LEAST_WALL_MM
    if ring.rim_mm < width or ring.width_mm < height:
        return f"nuts {bolt.size} cannot be sunk: they need a rim of {width:.1f} mm and a width of {height:.1f} mm"
    return ""


def sinks_nuts(design: m.Design, ring: m.RigidRing) -> bool:
    """Whether a rigid ring has pockets for its nuts: both rings of a pair do, since they stand too close for heads."""
    return arrangement(design)[0] is Arrangement.TWO_RINGS and ring.name in (design.motion.fixed, design.motion.read)


def nuts_on_top(design: m.Design, ring: m.RigidRing) -> bool:
    """Whether the pockets open at the ring's top as it lies: toward the other ring."""
    other = design.motion.read if ring.name == design.motion.fixed else design.motion.fixed
    return ring.offset_mm < ring_named(design, other).offset_mm
